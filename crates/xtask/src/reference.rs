//! The acoustics held against general libraries of another language: weightings, bands of noise, ratings, decays.
//!
//! The script asks the program itself, through `calc` and `measure`, so that what people run is what is compared.

use std::path::{Path, PathBuf};

use crate::Stop;
use crate::call::Call;
use crate::python;
use crate::release;

/// What is installed, one exact version a line.
const TOOLS: &str = "crates/xtask/src/reference-tools.txt";

/// The environment's name; another list is another environment.
const ENVIRONMENT: &str = "numpy-2.4.6-octave-2.0.0-toolbox-0.2.2";

/// A Python that has the libraries.
pub fn python(root: &Path) -> Result<PathBuf, Stop> {
    if !python::is_possible(root) {
        return Err(Stop::Refused(python::BY_HAND.to_owned()));
    }
    let folder = release::target()?.join("reference");
    let arguments = ["--no-deps", "--requirement", TOOLS];
    Ok(python::environment(root, &folder, ENVIRONMENT, &arguments)?.join("bin").join("python"))
}

/// The call that compares, and counts as it goes.
pub fn call(root: &Path) -> Result<Call, Stop> {
    let python = python(root)?;
    let binary = release::debug_binary()?;
    Ok(Call::new(&[
        python.to_string_lossy().as_ref(),
        "tests/reference/compare.py",
        binary.to_string_lossy().as_ref(),
    ]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_environment_is_named_after_what_is_in_it() {
        let tools = include_str!("reference-tools.txt");
        for (package, word) in
            [("numpy==", "numpy-"), ("PyOctaveBand==", "octave-"), ("acoustic-toolbox==", "toolbox-")]
        {
            let line = tools.lines().find(|line| line.starts_with(package)).unwrap();
            assert!(ENVIRONMENT.contains(&line.replace(package, word)), "{line}");
        }
    }
}
