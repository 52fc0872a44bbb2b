//! The chore `screens`: what the browser shows, made from `web-ui` into `web-ui/dist`, which the server takes in
//! when it is built.
//!
//! Packages are installed only when the lock file changed, and the screens built only when a source is newer than
//! they are.

use std::env;
use std::fs;
use std::io;
use std::path::Path;
use std::process::Command;
use std::time::SystemTime;

use crate::Stop;
use crate::call::Call;

/// Folder of the client's sources.
const FOLDER: &str = "web-ui";

/// Which packages, in which versions.
const LOCK: &str = "web-ui/package-lock.json";

/// A copy of the lock file that was installed last; it goes away with the packages.
const INSTALLED: &str = "web-ui/node_modules/.installed-lock.json";

/// Written last by the build.
const BUILT: &str = "web-ui/dist/build-id.txt";

/// What the build reads: folders with all that is in them, and files.
const SOURCES: &[&str] = &["src", "public", "scripts", "index.html", "package.json", "package-lock.json"];

/// Files beside them that set up the tools, by their endings.
const SETTINGS: &[&str] = &[".config.ts", ".config.js", ".config.mjs", "tsconfig.json"];

/// The oldest Node that the build tools run on: major, minor.
const NODE_LEAST: (u32, u32) = (20, 19);

/// Set by those who want a program without screens.
const WITHOUT: &str = "STORYPOLE_WITHOUT_SCREENS";

/// Brings the screens up to date and says where they are.
pub fn run(root: &Path, _arguments: &[String]) -> Result<(), Stop> {
    prepare(root)?;
    println!("{FOLDER}/dist is up to date");
    Ok(())
}

/// Brings the screens up to date, for chores that build the program.
pub fn prepare(root: &Path) -> Result<(), Stop> {
    if env::var_os(WITHOUT).is_some() {
        println!("{WITHOUT} is set: the program is built without screens");
        return Ok(());
    }
    install(root)?;
    build(root)
}

/// Installs the packages of the lock file, unless they are there.
pub fn install(root: &Path) -> Result<(), Stop> {
    need_node()?;
    let wanted = fs::read(root.join(LOCK)).map_err(Stop::io(format!("read {LOCK}")))?;
    if fs::read(root.join(INSTALLED)).is_ok_and(|installed| installed == wanted) {
        println!("{FOLDER}/node_modules is as {LOCK} says");
        return Ok(());
    }
    npm(&["ci"]).run_or_stop(root)?;
    fs::write(root.join(INSTALLED), wanted).map_err(Stop::io(format!("write {INSTALLED}")))
}

/// Builds the screens, unless no source changed since.
pub fn build(root: &Path) -> Result<(), Stop> {
    need_node()?;
    let newest = newest_source(&root.join(FOLDER)).map_err(Stop::io(format!("look through {FOLDER}")))?;
    let built = fs::metadata(root.join(BUILT)).and_then(|found| found.modified()).ok();
    if built.is_some_and(|built| newest < built) {
        println!("{FOLDER}/dist is newer than its sources");
        return Ok(());
    }
    npm(&["run", "build"]).run_or_stop(root)?;
    // Without the file the next call would build again, and the server could not tell versions apart.
    let built = fs::metadata(root.join(BUILT));
    built.map(|_| ()).map_err(|_| Stop::Refused(format!("the build of {FOLDER} did not write {BUILT}")))
}

/// A call of npm in the client's folder, shown as it is typed in the project's root.
pub fn npm(words: &[&str]) -> Call {
    let mut all = vec!["npm", "--prefix", FOLDER];
    all.extend_from_slice(words);
    Call::new(&all)
}

/// Refuses where Node or npm is missing, or Node too old.
pub fn need_node() -> Result<(), Stop> {
    let (major, minor) = NODE_LEAST;
    let how = format!(
        "the screens are built with Node {major}.{minor} or newer in the {major} line and its npm: install them, or set \
         {WITHOUT}=1 to build the program without screens"
    );
    let answer = |program: &str| {
        let said = Command::new(program).arg("--version").output().ok()?;
        said.status.success().then(|| String::from_utf8_lossy(&said.stdout).trim().to_owned())
    };
    let Some(node) = answer("node") else {
        return Err(Stop::Refused(format!("there is no `node` here; {how}")));
    };
    if !is_new_enough(&node) {
        return Err(Stop::Refused(format!("`node` here is {node}; {how}")));
    }
    match answer("npm") {
        Some(_) => Ok(()),
        None => Err(Stop::Refused(format!("there is no `npm` beside `node`; {how}"))),
    }
}

/// Reads `v20.19.0`.
fn is_new_enough(version: &str) -> bool {
    let mut parts = version.trim_start_matches('v').split('.').map(|part| part.parse::<u32>().ok());
    match (parts.next().flatten(), parts.next().flatten()) {
        (Some(major), Some(minor)) => (major, minor) >= NODE_LEAST,
        _ => false,
    }
}

/// When a source was changed last. Folders count too, since a file that is gone shows only there.
fn newest_source(folder: &Path) -> io::Result<SystemTime> {
    let mut newest = SystemTime::UNIX_EPOCH;
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name();
        let name = name.to_string_lossy();
        if SOURCES.contains(&name.as_ref()) || SETTINGS.iter().any(|ending| name.ends_with(ending)) {
            newest = newest.max(newest_below(&entry.path())?);
        }
    }
    Ok(newest)
}

fn newest_below(path: &Path) -> io::Result<SystemTime> {
    let found = fs::metadata(path)?;
    let mut newest = found.modified()?;
    if found.is_dir() {
        for entry in fs::read_dir(path)? {
            newest = newest.max(newest_below(&entry?.path())?);
        }
    }
    Ok(newest)
}

#[cfg(test)]
mod tests {
    use std::fs::File;
    use std::path::PathBuf;
    use std::time::Duration;

    use super::*;

    #[test]
    fn node_is_judged_by_major_and_minor() {
        let cases = [
            ("v20.19.0", true),
            ("v20.20.2", true),
            ("v22.12.0", true),
            ("v20.18.3", false),
            ("v18.20.4", false),
            ("v8.19.0", false),
            ("20.19", true),
            ("v20", false),
            ("", false),
        ];
        for (version, expected) in cases {
            assert_eq!(is_new_enough(version), expected, "{version}");
        }
    }

    #[test]
    fn npm_is_shown_as_typed_in_the_root() {
        assert_eq!(npm(&["run", "check"]).to_string(), "npm --prefix web-ui run check");
    }

    /// A folder of this test alone, below the one that holds the running test.
    fn folder(name: &str) -> PathBuf {
        let this = env::current_exe().expect("a running test has a path");
        let folder = this.with_file_name(format!("screens-test-{name}-{}", std::process::id()));
        fs::create_dir_all(&folder).expect("the target folder takes another");
        folder
    }

    fn set_time(path: &Path, seconds: u64) {
        let time = SystemTime::UNIX_EPOCH + Duration::from_secs(seconds);
        File::open(path).and_then(|file| file.set_modified(time)).expect("the file is ours");
    }

    #[test]
    fn every_source_counts_and_nothing_else() {
        let folder = folder("newest");
        fs::create_dir_all(folder.join("src/deep")).expect("a new folder takes another");
        fs::create_dir_all(folder.join("dist")).expect("a new folder takes another");
        let files = ["src/deep/a.ts", "index.html", "vite.config.ts", "dist/build-id.txt", "notes.md"];
        for file in files {
            fs::write(folder.join(file), "x").expect("a new folder takes a file");
            set_time(&folder.join(file), 100);
        }
        set_time(&folder.join("src/deep"), 100);
        set_time(&folder.join("src"), 100);
        let newest = || {
            let newest = newest_source(&folder).expect("the folder can be read");
            newest.duration_since(SystemTime::UNIX_EPOCH).expect("it is no older").as_secs()
        };
        assert_eq!(newest(), 100);
        for (path, seconds, expected) in [
            ("dist/build-id.txt", 900, 100),
            ("notes.md", 900, 100),
            ("vite.config.ts", 200, 200),
            ("src/deep/a.ts", 300, 300),
            ("src/deep", 400, 400),
        ] {
            set_time(&folder.join(path), seconds);
            assert_eq!(newest(), expected, "{path}");
        }
        fs::remove_dir_all(&folder).expect("the folder is ours");
    }
}
