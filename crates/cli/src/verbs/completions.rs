//! `storypole completions`: what a shell needs to complete words of the command line.

use clap::CommandFactory;
use clap_complete::Shell;

use crate::refused::Outcome;

/// Print the completions of a shell.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole completions bash > ~/.local/share/bash-completion/completions/storypole
  storypole completions fish > ~/.config/fish/completions/storypole.fish")]
pub struct Args {
    /// bash, elvish, fish, powershell or zsh.
    shell: Shell,
}

/// Prints the completions.
pub fn run(args: &Args) -> Outcome {
    clap_complete::generate(args.shell, &mut crate::Cli::command(), "storypole", &mut std::io::stdout());
    Ok(())
}
