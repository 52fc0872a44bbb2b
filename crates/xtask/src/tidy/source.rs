//! One Rust file as the rules see it: where it stands, its text, its code, its code without tests.

use std::collections::BTreeSet;

use super::scan;

/// What a file is part of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Area {
    /// Compiled into the crate.
    Library,
    /// Compiled only to test: `tests/` of a crate, the package of end-to-end tests, a module under `#[cfg(test)]`.
    Tests,
    /// `build.rs`, which talks to cargo by printing.
    BuildScript,
}

/// A Rust file.
pub struct Source<'a> {
    /// From the workspace's root, with `/`.
    pub path: &'a str,
    pub text: &'a str,
    /// Folder of its crate; empty if it lies in none.
    pub folder: &'a str,
    pub area: Area,
    /// Without comments, literals and test items; places and lines as in `text`.
    pub code: String,
    /// How many lines lie outside test items.
    pub lines: usize,
}

impl<'a> Source<'a> {
    /// Looks at a file. `test_modules` are the paths that [`test_modules`] found.
    pub fn new(path: &'a str, text: &'a str, test_modules: &BTreeSet<String>) -> Self {
        let (folder, inside) = split(path);
        let area = if inside == "build.rs" && folder != "tests" {
            Area::BuildScript
        } else if folder == "tests" || inside.starts_with("tests/") || is_below(path, test_modules) {
            Area::Tests
        } else {
            Area::Library
        };
        let code = scan::without_comments_and_literals(text);
        let tests = scan::test_items(&code);
        let in_tests: usize = tests.iter().map(|range| text[range.clone()].lines().count()).sum();
        let lines = text.lines().count().saturating_sub(in_tests);
        Self { path, text, folder, area, code: scan::without(&code, &tests), lines }
    }
}

/// Finds the files that a `#[cfg(test)] mod name;` declares, as paths without `.rs`.
///
/// Takes pairs of path and text. A `#[path]` attribute is not followed.
pub fn test_modules<'a>(files: impl Iterator<Item = (&'a str, &'a str)>) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (path, text) in files.filter(|(path, _)| path.ends_with(".rs")) {
        let code = scan::without_comments_and_literals(text);
        for range in scan::test_items(&code) {
            let item = code[range].rsplit(']').next().unwrap_or_default().trim();
            if let Some(name) =
                item.strip_suffix(';').and_then(|item| item.rsplit_once("mod ")).map(|(_, n)| n)
            {
                found.insert(format!("{}/{}", module_folder(path), name.trim()));
            }
        }
    }
    found
}

/// The folder in which the modules that a file declares lie.
fn module_folder(path: &str) -> &str {
    let (parent, file) = path.rsplit_once('/').unwrap_or(("", path));
    if matches!(file, "lib.rs" | "main.rs" | "mod.rs") { parent } else { path.trim_end_matches(".rs") }
}

fn is_below(path: &str, modules: &BTreeSet<String>) -> bool {
    let stem = path.trim_end_matches(".rs");
    modules.iter().any(|module| {
        stem.strip_prefix(module.as_str()).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
    })
}

/// The crate's folder and the path inside it.
fn split(path: &str) -> (&str, &str) {
    if let Some(rest) = path.strip_prefix("crates/") {
        return rest.split_once('/').unwrap_or((rest, ""));
    }
    path.strip_prefix("tests/").map_or(("", path), |rest| ("tests", rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_told_apart_by_path() {
        let modules = BTreeSet::from(["crates/units/src/length/tests".to_owned()]);
        let cases = [
            ("crates/units/src/lib.rs", "units", Area::Library),
            ("crates/units/src/length/tests.rs", "units", Area::Tests),
            ("crates/units/src/length/tests/more.rs", "units", Area::Tests),
            ("crates/units/src/length/tests_of_water.rs", "units", Area::Library),
            ("crates/units/src/tests.rs", "units", Area::Library),
            ("crates/units/tests/parse.rs", "units", Area::Tests),
            ("crates/store/build.rs", "store", Area::BuildScript),
            ("crates/store/src/build.rs", "store", Area::Library),
            ("tests/src/lib.rs", "tests", Area::Tests),
            ("tests/tests/kill.rs", "tests", Area::Tests),
            ("elsewhere.rs", "", Area::Library),
        ];
        for (path, folder, area) in cases {
            let source = Source::new(path, "", &modules);
            assert_eq!((source.folder, source.area), (folder, area), "{path}");
        }
    }

    #[test]
    fn test_modules_in_files_of_their_own_are_found() {
        let files = [
            ("crates/a/src/lib.rs", "mod x;\n#[cfg(test)]\nmod tests;\n#[cfg(test)]\nmod inline {}\n"),
            ("crates/a/src/x.rs", "#[cfg(test)]\n#[allow(unused)]\npub(crate) mod cases;\n"),
            ("crates/a/src/y/mod.rs", "#[cfg(test)] use z;\n// #[cfg(test)] mod no;\n#[cfg(test)] mod t;"),
        ];
        let found: Vec<String> = test_modules(files.into_iter()).into_iter().collect();
        assert_eq!(found, ["crates/a/src/tests", "crates/a/src/x/cases", "crates/a/src/y/t"]);
    }

    #[test]
    fn lines_of_tests_are_not_counted() {
        let text = "//! A.\n\nfn a() {}\n\n#[cfg(test)]\nmod tests {\n    fn b() {}\n}\n";
        assert_eq!(Source::new("crates/a/src/lib.rs", text, &BTreeSet::new()).lines, 4);
    }
}
