//! The browser that the browser tests drive: found, or installed from the system's own packages.
//!
//! No browser is ever downloaded from anywhere else.

use std::env;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::Stop;
use crate::call::Call;

const PROGRAM: &str = "chromium";

/// With a font whose widths do not depend on the machine.
const PACKAGES: &[&str] = &["chromium", "fonts-liberation"];

const BY_HAND: &str = "there is no `chromium` here, which the browser tests drive: install it (on Debian, as root: \
                       `apt-get install --no-install-recommends chromium fonts-liberation`), or leave them out with \
                       `cargo xtask test --without-browser`";

/// Sees to it that there is a browser.
///
/// # Errors
/// There is none and it cannot be installed: not root, no Debian, no network.
pub fn set_up(root: &Path) -> Result<(), Stop> {
    if let Some(found) = on_path(PROGRAM) {
        println!("{}", found.display());
        return Ok(());
    }
    if !may_install() {
        return Err(Stop::Refused(BY_HAND.to_owned()));
    }
    Call::new(&["apt-get", "update"]).run_or_stop(root)?;
    let words = ["apt-get", "install", "-y", "--no-install-recommends"];
    let packages: Vec<String> = PACKAGES.iter().map(|&package| package.to_owned()).collect();
    Call::new(&words).and(&packages).with("DEBIAN_FRONTEND", "noninteractive").run_or_stop(root)?;
    on_path(PROGRAM).map(|_| ()).ok_or_else(|| Stop::Refused(BY_HAND.to_owned()))
}

/// Where a program lies, by the search path.
fn on_path(program: &str) -> Option<PathBuf> {
    let folders = env::var_os("PATH")?;
    env::split_paths(&folders).map(|folder| folder.join(program)).find(|file| file.is_file())
}

fn may_install() -> bool {
    let is_root = Command::new("id").arg("-u").output().is_ok_and(|said| said.stdout.trim_ascii() == b"0");
    is_root && Path::new("/etc/debian_version").exists() && on_path("apt-get").is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn programs_are_found_on_the_path_and_others_are_not() {
        assert!(on_path("sh").is_some_and(|found| found.ends_with("sh")));
        assert_eq!(on_path("storypole-no-such-program"), None);
    }

    #[test]
    fn the_way_out_is_named() {
        assert!(PACKAGES.iter().all(|package| BY_HAND.contains(package)));
        assert!(BY_HAND.contains("--without-browser"));
    }
}
