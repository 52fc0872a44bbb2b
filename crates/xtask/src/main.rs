//! Project chores, run as `cargo xtask <chore>`.
//!
//! Needs only the standard library, so it is built before anything else is. What a user of the program wants is
//! left out: that is the `storypole` binary.

use std::env;
use std::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

mod bench;
mod call;
mod chromium;
mod demo;
mod hooks;
mod pictures;
mod python;
mod reference;
mod release;
mod schema;
mod screens;
mod served;
mod sim;
mod soak;
mod suite;
mod tally;
mod tidy;

/// One chore: how it is called, what it is for, what it does.
struct Chore {
    name: &'static str,
    arguments: &'static str,
    about: &'static str,
    run: fn(&Path, &[String]) -> Result<(), Stop>,
}

const CHORES: &[Chore] = &[
    Chore {
        name: "demo",
        arguments: "[--no-serve]",
        about: "fill a notebook in .demo/, show what it answers, and serve it to this computer's browser",
        run: demo::run,
    },
    Chore {
        name: "build",
        arguments: "",
        about: "build screens and release binary, print its path and size",
        run: release::run,
    },
    Chore {
        name: "screens",
        arguments: "",
        about: "build the browser's screens from web-ui/, where they changed",
        run: screens::run,
    },
    Chore {
        name: "screenshots",
        arguments: "",
        about: "make the pictures of screens that README.md shows, in web-ui/pictures/",
        run: pictures::run,
    },
    Chore {
        name: "test",
        arguments: "[--only STEP].. [--without-browser]",
        about: "everything that CI runs, or single steps of it",
        run: suite::run,
    },
    Chore {
        name: "bench",
        arguments: "NAME [ARGS]",
        about: "run one benchmark with the release profile",
        run: bench::run,
    },
    Chore { name: "soak", arguments: "[NAME]", about: "run the long tests, or one of them", run: soak::run },
    Chore {
        name: "sim",
        arguments: "[COUNT]",
        about: "run 10,000 simulated worlds of failing disks, clocks and networks, or another number",
        run: sim::run,
    },
    Chore {
        name: "hooks",
        arguments: "",
        about: "install a git hook that formats before a commit",
        run: hooks::run,
    },
    Chore {
        name: "tidy",
        arguments: "[--bless-migration FILE]",
        about: "check layers, headers, migrations, printing, paths; or record a new migration",
        run: tidy::run,
    },
];

/// Why a chore ended early.
#[derive(Debug)]
pub enum Stop {
    /// The chore was called in a way it does not know; exit code 2.
    Usage(String),
    /// The chore ran and something it looked after is not in order; exit code 1.
    Refused(String),
    /// The same, where all that is to be said has been printed; exit code 1.
    Failed,
    /// A file or a program could not be used; exit code 1.
    Io {
        /// Completes "could not ..".
        doing: String,
        /// What the system answered.
        source: io::Error,
    },
}

impl Stop {
    /// Returns a closure for `map_err` that adds what was being done.
    pub fn io(doing: impl Into<String>) -> impl FnOnce(io::Error) -> Self {
        move |source| Self::Io { doing: doing.into(), source }
    }

    fn exit_code(&self) -> ExitCode {
        match self {
            Self::Usage(_) => ExitCode::from(2),
            Self::Refused(_) | Self::Failed | Self::Io { .. } => ExitCode::FAILURE,
        }
    }
}

impl fmt::Display for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Usage(reason) | Self::Refused(reason) => write!(f, "{reason}"),
            Self::Failed => write!(f, "failed"),
            Self::Io { doing, source } => write!(f, "could not {doing}: {source}"),
        }
    }
}

fn main() -> ExitCode {
    let arguments: Vec<String> = env::args().skip(1).collect();
    match dispatch(&arguments) {
        Ok(()) => ExitCode::SUCCESS,
        Err(Stop::Failed) => ExitCode::FAILURE,
        Err(stop) => {
            eprintln!("{stop}");
            stop.exit_code()
        }
    }
}

fn dispatch(arguments: &[String]) -> Result<(), Stop> {
    let Some((name, rest)) = arguments.split_first() else {
        print!("{}", chore_list());
        return Ok(());
    };
    let Some(chore) = CHORES.iter().find(|chore| chore.name == name.as_str()) else {
        return Err(Stop::Usage(format!("there is no chore `{name}`\n\n{}", chore_list().trim_end())));
    };
    if chore.arguments.is_empty() && !rest.is_empty() {
        return Err(Stop::Usage(format!(
            "`cargo xtask {name}` takes no arguments, got `{}`",
            rest.join(" ")
        )));
    }
    (chore.run)(&workspace_root()?, rest)
}

/// One line per chore, under a line that says how to call them.
fn chore_list() -> String {
    let usage = |chore: &Chore| format!("{} {}", chore.name, chore.arguments).trim_end().to_owned();
    let width = CHORES.iter().map(|chore| usage(chore).len()).max().unwrap_or(0);
    let mut list = String::from("cargo xtask <chore>\n");
    for chore in CHORES {
        list.push_str(&format!("  {:<width$}  {}\n", usage(chore), chore.about));
    }
    list
}

/// Finds the workspace's root folder, from wherever inside it the chore was called.
fn workspace_root() -> Result<PathBuf, Stop> {
    let start = env::current_dir().map_err(Stop::io("read the current folder"))?;
    let is_root = |folder: &&Path| {
        fs::read_to_string(folder.join("Cargo.toml")).is_ok_and(|text| text.contains("[workspace]"))
    };
    let root = start.ancestors().find(is_root).map(Path::to_path_buf);
    root.ok_or_else(|| Stop::Refused("no workspace here: call this inside the project's checkout".to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<String> {
        text.split_whitespace().map(str::to_owned).collect()
    }

    #[test]
    fn the_list_has_one_line_per_chore() {
        let list = chore_list();
        assert_eq!(list.lines().count(), CHORES.len() + 1);
        for chore in CHORES {
            let start = format!("  {}", chore.name);
            assert!(list.lines().any(|line| line.starts_with(&start)), "{} is not listed", chore.name);
        }
    }

    #[test]
    fn unknown_chores_and_stray_arguments_are_wrong_usage() {
        for call in [
            "paint",
            "Test",
            "build now",
            "bench",
            "soak nothing-of-the-kind",
            "tidy --bless",
            "demo --serve",
            "test --only",
            "test --only paint",
            "screens now",
            "sim many",
        ] {
            let stop = dispatch(&words(call)).expect_err(call);
            assert!(matches!(stop, Stop::Usage(_)), "`{call}` ended as {stop:?}");
        }
    }

    #[test]
    fn an_unknown_chore_is_answered_with_the_list() {
        let stop = dispatch(&words("paint")).expect_err("no such chore");
        assert!(stop.to_string().contains(chore_list().trim_end()));
    }

    #[test]
    fn no_argument_is_no_fault() {
        assert!(dispatch(&[]).is_ok());
    }
}
