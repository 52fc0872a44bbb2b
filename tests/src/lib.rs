//! End-to-end tests live in `tests/`; here is only what they share: the real program, built once.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

/// The program `storypole`, built from this checkout with the profile of the running test.
///
/// # Panics
/// It does not compile.
pub fn binary() -> &'static Path {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT.get_or_init(build)
}

fn build() -> PathBuf {
    let test = std::env::current_exe().expect("a running test has a path");
    // The test lies in `<target>/<profile>/deps`, the program in `<target>/<profile>`.
    let profile = test.parent().and_then(Path::parent).expect("cargo puts tests into a folder of the profile");
    let target = profile.parent().expect("the profile lies in the target folder");
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    command.args(["build", "--quiet", "--package", "storypole", "--bin", "storypole"]);
    command.args(["--manifest-path", concat!(env!("CARGO_MANIFEST_DIR"), "/../Cargo.toml")]);
    command.arg("--target-dir").arg(target);
    if profile.ends_with("release") {
        command.arg("--release");
    }
    let status = command.status().expect("cargo runs, as it ran this test");
    assert!(status.success(), "the program does not compile");
    profile.join(format!("storypole{}", std::env::consts::EXE_SUFFIX))
}
