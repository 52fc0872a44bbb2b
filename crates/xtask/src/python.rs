//! Environments of Python for tests that hold the program against published tools, below the target folder.

use std::fs;
use std::path::{Path, PathBuf};

use crate::Stop;
use crate::call::Call;

/// How it is got, for people who lack it.
pub const BY_HAND: &str = "`python3` with its modules `venv` and `ensurepip` is not here, which the steps `reference` and \
                           `schema` need: install it (on Debian: `apt-get install python3 python3-venv`)";

/// Whether an environment can be made.
pub fn is_possible(root: &Path) -> bool {
    Call::new(&["python3", "-c", "import ensurepip, venv"]).works(root)
}

/// Makes the environment `name` in `folder` with what `pip install ARGUMENTS` gives, unless it is there.
///
/// The name tells versions, so that another version makes another environment.
pub fn environment(root: &Path, folder: &Path, name: &str, arguments: &[&str]) -> Result<PathBuf, Stop> {
    let environment = folder.join(name);
    let done = environment.join("installed");
    if done.exists() {
        return Ok(environment);
    }
    fs::create_dir_all(folder).map_err(Stop::io(format!("make {}", folder.display())))?;
    let shown = environment.to_string_lossy();
    Call::new(&["python3", "-m", "venv", "--clear", &shown]).run_or_stop(root)?;
    let mut words =
        vec!["install".to_owned(), "--quiet".to_owned(), "--disable-pip-version-check".to_owned()];
    words.extend(arguments.iter().map(|&word| word.to_owned()));
    let pip = environment.join("bin").join("pip");
    Call::new(&[pip.to_string_lossy().as_ref()]).and(&words).run_or_stop(root)?;
    fs::write(&done, "").map_err(Stop::io(format!("write {}", done.display())))?;
    Ok(environment)
}
