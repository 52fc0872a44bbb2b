//! The program held against general libraries of another language: weightings, bands of noise, ratings, decays, statistics, and the
//! data packages of write-ups.
//!
//! The scripts ask the program itself, so that what people run is what is compared.

use std::path::{Path, PathBuf};

use crate::Stop;
use crate::call::Call;
use crate::python;
use crate::release;

/// What is installed, one exact version a line.
const TOOLS: &str = "crates/xtask/src/reference-tools.txt";

/// The environment's name; another list is another environment.
const ENVIRONMENT: &str = "numpy-2.4.6-octave-2.0.0-toolbox-0.2.2-frictionless-5.21.0";

/// A Python that has the libraries.
pub fn python(root: &Path) -> Result<PathBuf, Stop> {
    if !python::is_possible(root) {
        return Err(Stop::Refused(python::BY_HAND.to_owned()));
    }
    let folder = release::target()?.join("reference");
    let arguments = ["--no-deps", "--requirement", TOOLS];
    Ok(python::environment(root, &folder, ENVIRONMENT, &arguments)?.join("bin").join("python"))
}

/// The scripts that compare.
const SCRIPTS: [&str; 2] = ["tests/reference/compare.py", "tests/reference/writeups.py"];

/// The calls that compare, and count as they go.
pub fn calls(root: &Path) -> Result<Vec<Call>, Stop> {
    let python = python(root)?;
    let binary = release::debug_binary()?;
    let (python, binary) = (python.to_string_lossy(), binary.to_string_lossy());
    Ok(SCRIPTS.iter().map(|script| Call::new(&[&python, script, &binary])).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_environment_is_named_after_what_is_in_it() {
        let tools = include_str!("reference-tools.txt");
        for (package, word) in [
            ("numpy==", "numpy-"),
            ("PyOctaveBand==", "octave-"),
            ("acoustic-toolbox==", "toolbox-"),
            ("frictionless==", "frictionless-"),
        ] {
            let line = tools.lines().find(|line| line.starts_with(package)).unwrap();
            assert!(ENVIRONMENT.contains(&line.replace(package, word)), "{line}");
        }
    }
}
