//! The chore `build`: the release binary with its screens, where it lies and how large it is.

use std::env::{self, consts::EXE_SUFFIX};
use std::fs;
use std::path::{Path, PathBuf};

use crate::Stop;
use crate::call::Call;
use crate::screens;

/// Builds the release binary and prints its path and size.
pub fn run(root: &Path, _arguments: &[String]) -> Result<(), Stop> {
    let binary = build(root)?;
    let size =
        fs::metadata(root.join(&binary)).map_err(Stop::io(format!("look at {}", binary.display())))?.len();
    println!("{}  {}", binary.display(), size_text(size));
    Ok(())
}

/// Builds screens and release binary. Returns its path, from the workspace's root where it lies inside.
pub fn build(root: &Path) -> Result<PathBuf, Stop> {
    screens::prepare(root)?;
    Call::new(&["cargo", "build", "--release", "-p", "storypole"]).run_or_stop(root)?;
    let binary = target()?.join("release").join(program());
    Ok(binary.strip_prefix(root).map(Path::to_path_buf).unwrap_or(binary))
}

/// Where the binary lies that tests are run against.
pub fn debug_binary() -> Result<PathBuf, Stop> {
    Ok(target()?.join("debug").join(program()))
}

/// The target folder of the running program.
pub fn target() -> Result<PathBuf, Stop> {
    let this = env::current_exe().map_err(Stop::io("find the running program"))?;
    Ok(target_of(&this))
}

/// The target folder, told from where this program lies.
///
/// It lies two folders below what the target folder and a `--target` triple make together, so no setting of
/// either has to be read.
fn target_of(this: &Path) -> PathBuf {
    this.ancestors().nth(2).unwrap_or(this).to_path_buf()
}

fn program() -> String {
    format!("storypole{EXE_SUFFIX}")
}

/// A file size in bytes for people: MB of 10^6 bytes with one decimal, and the bytes.
fn size_text(size_bytes: u64) -> String {
    format!("{:.1} MB ({size_bytes} bytes)", size_bytes as f64 / 1e6)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_target_folder_is_the_one_this_program_lies_in() {
        let cases = [
            ("p/target/debug/xtask", "p/target"),
            ("p/target/release/xtask", "p/target"),
            ("elsewhere/some-triple/debug/xtask", "elsewhere/some-triple"),
        ];
        for (this, folder) in cases {
            assert_eq!(target_of(Path::new(this)), Path::new(folder), "{this}");
        }
    }

    #[test]
    fn sizes_are_in_decimal_megabytes() {
        // SI prefixes (BIPM, The International System of Units): 1 MB is 10^6 bytes.
        assert_eq!(size_text(0), "0.0 MB (0 bytes)");
        assert_eq!(size_text(12_345_678), "12.3 MB (12345678 bytes)");
    }
}
