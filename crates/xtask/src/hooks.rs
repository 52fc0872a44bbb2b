//! The chore `hooks`: a git hook that formats the crates of staged Rust files before a commit.
//!
//! A hook that somebody else put there is never overwritten. Checks stay out of the hook: they are CI's.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::Stop;

/// A hook with this line is ours and may be replaced.
const OURS: &str =
    "# storypole hook, written by `cargo xtask hooks`, which replaces only a file with this line.";

const SCRIPT: &str = include_str!("pre-commit.sh");

/// Installs the hook where git looks for it.
pub fn run(root: &Path, _arguments: &[String]) -> Result<(), Stop> {
    let folder = hooks_folder(root)?;
    let hook = folder.join("pre-commit");
    let shown = hook.display();
    let existing = match fs::read(&hook) {
        Ok(bytes) => Some(String::from_utf8_lossy(&bytes).into_owned()),
        Err(error) if error.kind() == ErrorKind::NotFound => None,
        Err(error) => return Err(Stop::io(format!("read {shown}"))(error)),
    };
    if !may_write(existing.as_deref()) {
        return Err(Stop::Refused(format!(
            "{shown} is not ours and stays as it is; to use both, call crates/xtask/src/pre-commit.sh from it"
        )));
    }
    fs::create_dir_all(&folder).map_err(Stop::io(format!("make {}", folder.display())))?;
    fs::write(&hook, SCRIPT).map_err(Stop::io(format!("write {shown}")))?;
    make_executable(&hook)?;
    println!("{shown} formats the crates of staged Rust files before each commit");
    Ok(())
}

/// Whether the hook may be written over what is there.
fn may_write(existing: Option<&str>) -> bool {
    existing.is_none_or(|text| text.lines().any(|line| line == OURS))
}

/// Asks git, which knows of worktrees and of a hooks folder set elsewhere.
fn hooks_folder(root: &Path) -> Result<PathBuf, Stop> {
    let mut ask = Command::new("git");
    ask.args(["rev-parse", "--git-path", "hooks"]).current_dir(root);
    let answer = ask.output().map_err(Stop::io("start `git`"))?;
    let text = String::from_utf8_lossy(&answer.stdout);
    if !answer.status.success() || text.trim().is_empty() {
        let reason = String::from_utf8_lossy(&answer.stderr);
        return Err(Stop::Refused(format!("git does not say where hooks go: {}", reason.trim())));
    }
    Ok(root.join(text.trim_end_matches(['\n', '\r'])))
}

#[cfg(unix)]
fn make_executable(hook: &Path) -> Result<(), Stop> {
    use std::os::unix::fs::PermissionsExt;

    let everybody = fs::Permissions::from_mode(0o755);
    fs::set_permissions(hook, everybody).map_err(Stop::io(format!("make {} executable", hook.display())))
}

#[cfg(not(unix))]
fn make_executable(_hook: &Path) -> Result<(), Stop> {
    Ok(()) // Git runs hooks through its own shell there.
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_nothing_or_our_own_hook_is_written_over() {
        assert!(may_write(None));
        assert!(may_write(Some(SCRIPT)));
        assert!(may_write(Some(&format!("#!/bin/sh\n{OURS}\necho an older one\n"))));
        assert!(!may_write(Some("#!/bin/sh\nmake check\n")));
        assert!(!may_write(Some("")));
    }

    #[test]
    fn the_script_carries_the_line_that_lets_it_be_replaced() {
        assert!(SCRIPT.starts_with("#!/bin/sh\n"));
        assert_eq!(SCRIPT.lines().filter(|line| *line == OURS).count(), 1);
    }
}
