//! The layer table: which crate may import which, and which crates may know which outside library.
//!
//! Read from manifests, dependencies for tests and build scripts included: an arrow for a test is an arrow too.

use super::fault::{Fault, Kind};
use super::manifest::Manifest;

/// Where a crate stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Imports lower layers only.
    Layer(u8),
    /// The simulated world: may see all that lies below the program, seen by end-to-end tests and benchmarks alone.
    Testkit,
    /// End-to-end tests, benchmarks, chores: imported by nobody.
    Top,
}

const PLACES: &[(&str, Place)] = &[
    ("units", Place::Layer(0)),
    ("journal", Place::Layer(0)),
    ("notebook", Place::Layer(1)),
    ("acoustics", Place::Layer(1)),
    ("statistics", Place::Layer(1)),
    ("takeoff", Place::Layer(1)),
    ("drawing", Place::Layer(1)),
    ("sync", Place::Layer(1)),
    ("calc", Place::Layer(2)),
    ("ledger", Place::Layer(2)),
    ("findings", Place::Layer(2)),
    ("writeup", Place::Layer(2)),
    ("store", Place::Layer(3)),
    ("search", Place::Layer(4)),
    ("desk", Place::Layer(5)),
    ("server", Place::Layer(6)),
    ("cli", Place::Layer(CLI)),
    ("testkit", Place::Testkit),
    ("bench", Place::Top),
    ("xtask", Place::Top),
    ("tests", Place::Top),
];

const CLI: u8 = 7;

/// Arrows within one layer.
const SIDEWAYS: &[(&str, &str)] = &[("writeup", "ledger"), ("writeup", "findings")];

/// Who may import `testkit`.
const TESTKIT_USERS: &[&str] = &["tests", "bench"];

/// Outside libraries that few crates may know, with all packages whose names start with theirs and a dash.
const LIBRARIES: &[(&str, &[&str])] = &[
    ("rusqlite", &["store", "testkit", "bench", "tests"]),
    ("tantivy", &["search", "bench"]),
    ("axum", &["server"]),
    ("hyper", &["server"]),
    ("tower", &["server"]),
    ("tokio", &["server", "cli", "bench"]),
    ("rustls", &["server"]),
    ("rcgen", &["server"]),
    ("spake2", &["server"]),
    ("symphonia", &["acoustics"]),
];

/// Where the crate in `folder` stands, if the table has it.
pub fn place(folder: &str) -> Option<Place> {
    PLACES.iter().find(|(name, _)| *name == folder).map(|(_, place)| *place)
}

/// Checks names, arrows and libraries of all manifests.
pub fn check(manifests: &[Manifest]) -> Vec<Fault> {
    manifests.iter().flat_map(check_one).collect()
}

fn check_one(manifest: &Manifest) -> Vec<Fault> {
    let folder = manifest.folder.as_str();
    let mut faults = Vec::new();
    if place(folder).is_none() {
        faults.push(Fault::of_file(&manifest.path, Kind::UnknownCrate { folder: folder.to_owned() }));
    }
    let expected = package_name(folder);
    if manifest.package != expected {
        let kind = Kind::PackageName { got: manifest.package.clone(), expected };
        faults.push(Fault::of_file(&manifest.path, kind));
    }
    for dependency in &manifest.dependencies {
        let kind = match own_folder(&dependency.package) {
            Some(to) if may_import(folder, to) => None,
            Some(to) => Some(Kind::Arrow { from: folder.to_owned(), to: to.to_owned() }),
            None => forbidden_library(folder, &dependency.package),
        };
        faults.extend(kind.map(|kind| Fault::in_line(&manifest.path, dependency.line, kind)));
    }
    faults
}

/// Whether the crate in folder `from` may import the one in folder `to`.
///
/// False as long as the table lacks one of them.
fn may_import(from: &str, to: &str) -> bool {
    let (Some(from_place), Some(to_place)) = (place(from), place(to)) else { return false };
    match (from_place, to_place) {
        (Place::Layer(upper), Place::Layer(lower)) => lower < upper || SIDEWAYS.contains(&(from, to)),
        (Place::Testkit, Place::Layer(lower)) => lower < CLI,
        (Place::Top, Place::Layer(_)) => true,
        (Place::Top, Place::Testkit) => TESTKIT_USERS.contains(&from),
        (Place::Layer(_) | Place::Testkit, Place::Testkit) | (_, Place::Top) => false,
    }
}

fn forbidden_library(folder: &str, package: &str) -> Option<Kind> {
    let is_family =
        |name: &str| package.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('-'));
    let (_, allowed) = *LIBRARIES.iter().find(|(name, _)| is_family(name))?;
    let kind = Kind::Library { name: package.to_owned(), allowed };
    (!allowed.contains(&folder)).then_some(kind)
}

/// The folder of one of our own packages; none for an outside library.
fn own_folder(package: &str) -> Option<&str> {
    if package == "storypole" { Some("cli") } else { package.strip_prefix("storypole-") }
}

fn package_name(folder: &str) -> String {
    if folder == "cli" { "storypole".to_owned() } else { format!("storypole-{folder}") }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;

    fn faults(folder: &str, text: &str) -> Vec<String> {
        let manifest = Manifest::parse(folder, "Cargo.toml", text, &BTreeMap::new());
        check(&[manifest]).iter().map(Fault::to_string).collect()
    }

    #[test]
    fn arrows_go_down() {
        let allowed = [
            ("notebook", "journal"),
            ("findings", "statistics"),
            ("writeup", "ledger"),
            ("writeup", "findings"),
            ("store", "units"),
            ("desk", "writeup"),
            ("cli", "server"),
            ("testkit", "desk"),
            ("testkit", "server"),
            ("tests", "testkit"),
            ("bench", "testkit"),
            ("bench", "store"),
            ("tests", "cli"),
        ];
        for (from, to) in allowed {
            assert!(may_import(from, to), "{from} -> {to}");
        }
        let forbidden = [
            ("units", "journal"),
            ("journal", "units"),
            ("journal", "notebook"),
            ("acoustics", "statistics"),
            ("sync", "notebook"),
            ("ledger", "findings"),
            ("findings", "ledger"),
            ("findings", "writeup"),
            ("ledger", "store"),
            ("store", "search"),
            ("server", "cli"),
            ("desk", "desk"),
            ("testkit", "cli"),
            ("testkit", "testkit"),
            ("store", "testkit"),
            ("cli", "testkit"),
            ("xtask", "testkit"),
            ("tests", "bench"),
            ("cli", "xtask"),
            ("testkit", "tests"),
            ("desk", "cellar"),
            ("cellar", "units"),
        ];
        for (from, to) in forbidden {
            assert!(!may_import(from, to), "{from} -> {to}");
        }
    }

    #[test]
    fn every_arrow_of_the_table_leads_away_from_the_top() {
        // An order exists: no two crates of the table may import each other.
        for (a, _) in PLACES {
            for (b, _) in PLACES {
                assert!(!(may_import(a, b) && may_import(b, a)), "{a} <-> {b}");
            }
        }
    }

    #[test]
    fn planted_faults_are_found() {
        let cases = [
            (
                "journal",
                "[package]\nname = \"storypole-journal\"\n[dev-dependencies]\nstorypole-testkit.workspace = true\n",
                "Cargo.toml:4: `journal` must not import `testkit`: only lower layers are imported",
            ),
            (
                "units",
                "[package]\nname = \"storypole-units\"\n[build-dependencies]\nstorypole = { path = \"../cli\" }\n",
                "Cargo.toml:4: `units` must not import `cli`: only lower layers are imported",
            ),
            (
                "desk",
                "[package]\nname = \"storypole-desk\"\n[dependencies]\nrusqlite.workspace = true\n",
                "Cargo.toml:4: `rusqlite` is known only to store, testkit, bench, tests",
            ),
            (
                "store",
                "[package]\nname = \"storypole-store\"\n[dependencies.tokio-util]\nversion = \"0.7\"\n",
                "Cargo.toml:3: `tokio-util` is known only to server, cli, bench",
            ),
            (
                "store",
                "[package]\nname = \"storypole-store\"\n[dependencies]\ntext = { package = \"tantivy\" }\n",
                "Cargo.toml:4: `tantivy` is known only to search, bench",
            ),
            (
                "cli",
                "[package]\nname = \"storypole\"\n[target.'cfg(unix)'.dependencies]\naxum = \"0.8\"\n",
                "Cargo.toml:4: `axum` is known only to server",
            ),
            (
                "tests",
                "[package]\nname = \"storypole-tests\"\n[dev-dependencies]\nhyper-util.workspace = true\n",
                "Cargo.toml:4: `hyper-util` is known only to server",
            ),
            (
                "bench",
                "[package]\nname = \"storypole-bench\"\n[dependencies]\ntower-http = \"0.7\"\n",
                "Cargo.toml:4: `tower-http` is known only to server",
            ),
            (
                "cli",
                "[package]\nname = \"storypole-cli\"\n",
                "Cargo.toml: the package is `storypole-cli`, its folder asks for `storypole`",
            ),
            (
                "cellar",
                "[package]\nname = \"storypole-cellar\"\n",
                "Cargo.toml: `cellar` has no layer: add it to the table in crates/xtask/src/tidy/layers.rs",
            ),
        ];
        for (folder, text, expected) in cases {
            assert_eq!(faults(folder, text), [expected], "{folder}");
        }
    }

    #[test]
    fn a_manifest_in_order_has_no_fault() {
        let text = "[package]\nname = \"storypole-store\"\n\n[dependencies]\nstorypole-journal.workspace = true\n\
                    rusqlite.workspace = true\nthiserror.workspace = true\n\n[dev-dependencies]\ntempfile = \"3\"\n";
        assert_eq!(faults("store", text), Vec::<String>::new());
    }
}
