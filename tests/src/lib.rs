//! End-to-end tests live in `tests/`; here is only what they share: the real program, built once, and notebooks.

mod asked;
mod http;
mod notebook;
mod served;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

pub use asked::{contains, demo, done, json, lacks, plain, refused, run};
pub use http::{Answer, Client};
pub use notebook::{Notebook, Said};
pub use served::Served;

/// The program `storypole`: the one that `STORYPOLE_BINARY` names, or built from this checkout with the profile of the
/// running test.
///
/// # Panics
/// It does not compile.
pub fn binary() -> &'static Path {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT.get_or_init(|| std::env::var_os("STORYPOLE_BINARY").map_or_else(build, PathBuf::from))
}

fn build() -> PathBuf {
    let test = std::env::current_exe().expect("a running test has a path");
    // The test lies in `<target>/<profile>/deps`, the program in `<target>/<profile>`.
    let profile =
        test.parent().and_then(Path::parent).expect("cargo puts tests into a folder of the profile");
    let target = profile.parent().expect("the profile lies in the target folder");
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    // With all tests, so that what they were built with serves here too.
    command.args(["build", "--quiet", "--workspace", "--exclude", "storypole-bench"]);
    command.args(["--bin", "storypole", "--lib", "--tests"]);
    command.args(["--manifest-path", concat!(env!("CARGO_MANIFEST_DIR"), "/../Cargo.toml")]);
    command.arg("--target-dir").arg(target);
    if profile.ends_with("release") {
        command.arg("--release");
    }
    let status = command.status().expect("cargo runs, as it ran this test");
    assert!(status.success(), "the program does not compile");
    profile.join(format!("storypole{}", std::env::consts::EXE_SUFFIX))
}

/// A file of so many readings that belong to sets of the demo: no two at one position with one replicate.
///
/// # Panics
/// More are asked for than the demo's sets, three positions and 900 replicates allow.
pub fn readings_csv(count: usize) -> String {
    const SETS: &[&str] = &[
        "T01", "T02", "T03", "T04", "T05", "T07", "T08", "T09", "T10", "T11", "T13", "T14", "T15", "T17",
        "T18",
    ];
    let mut csv = String::from("set,position,role,value [dBA],response,duration_s,replicate\n");
    for index in 0..count {
        let (replicate, place) = (2 + index % 900, index / 900);
        let (set, position, level) = (SETS[place / 3], 1 + place % 3, 500 + index % 100);
        csv.push_str(&format!(
            "{set},R{position},receive,{}.{},leq,30,{replicate}\n",
            level / 10,
            level % 10
        ));
    }
    csv
}
