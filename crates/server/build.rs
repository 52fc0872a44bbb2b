//! Takes the built screens into the program: a table of every file in `web-ui/dist`, with its bytes.
//!
//! Without built screens the workspace still compiles, tests and lints; the server then shows how to build them. A
//! release without them would be half a program, so it is refused unless `STORYPOLE_WITHOUT_SCREENS` is set.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

/// Set by those who want a program without screens.
const WITHOUT: &str = "STORYPOLE_WITHOUT_SCREENS";

/// Written by the build of the screens; tells one build from another.
const BUILD_ID: &str = "build-id.txt";

fn main() {
    let here = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets it"));
    let screens = here.join("../../web-ui/dist");
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-env-changed={WITHOUT}");
    let is_unwanted = env::var_os(WITHOUT).is_some();
    // A file that is not there would make every call of cargo build this crate again, so an empty folder stands in
    // for screens that are not built yet. Where it cannot be made, cargo is not asked to watch it.
    if screens.is_dir() || screens.parent().is_some_and(Path::is_dir) && fs::create_dir(&screens).is_ok() {
        println!("cargo::rerun-if-changed={}", screens.display());
    }
    let is_built = screens.join("index.html").is_file() && !is_unwanted;
    if !is_built && !is_unwanted && env::var("PROFILE").is_ok_and(|profile| profile == "release") {
        println!(
            "cargo::error=the screens are not built: run `cargo xtask build` or `cargo xtask demo`, or set \
             {WITHOUT}=1 for a program without screens"
        );
        return;
    }
    let table = if is_built { table(&screens).expect("the built screens can be read") } else { empty() };
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets it"));
    fs::write(out.join("shell.rs"), table).expect("cargo's folder can be written");
}

fn empty() -> String {
    "const BUILD_ID: &str = \"none\";\nconst BUILT: &[Built] = &[];\n".to_owned()
}

/// The table as a piece of Rust: `Built { path, plain, packed }` for every file.
fn table(screens: &Path) -> io::Result<String> {
    let mut files = Vec::new();
    list(screens, screens, &mut files)?;
    files.sort();
    let id = fs::read_to_string(screens.join(BUILD_ID)).unwrap_or_default();
    let id = if id.trim().is_empty() { "none" } else { id.trim() };
    let mut table = format!("const BUILD_ID: &str = {id:?};\nconst BUILT: &[Built] = &[\n");
    for path in files.iter().filter(|path| !path.ends_with(".gz") && *path != BUILD_ID) {
        let bytes = |path: &str| format!("include_bytes!({:?})", screens.join(path).display().to_string());
        let packed = format!("{path}.gz");
        let packed =
            if files.contains(&packed) { format!("Some({})", bytes(&packed)) } else { "None".to_owned() };
        writeln!(
            table,
            "    Built {{ path: {:?}, plain: {}, packed: {packed} }},",
            format!("/{path}"),
            bytes(path)
        )
        .expect("writing to a string cannot fail");
    }
    table.push_str("];\n");
    Ok(table)
}

/// Every file below `folder`, as a path of the web.
fn list(screens: &Path, folder: &Path, files: &mut Vec<String>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            list(screens, &path, files)?;
        } else {
            let own = path.strip_prefix(screens).expect("it lies below");
            let parts: Vec<_> = own.iter().map(|part| part.to_string_lossy()).collect();
            files.push(parts.join("/"));
        }
    }
    Ok(())
}
