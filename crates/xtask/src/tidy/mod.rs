//! The chore `tidy`: rules of the project that no compiler checks.
//!
//! Every rule is a plain function on texts. Reading them from disk is [`tree`]'s, and saying what is wrong is
//! [`fault`]'s.

use std::fs;
use std::path::Path;

use self::fault::Fault;
use self::manifest::Manifest;
use self::migrations::Blessing;
use self::source::Source;
use self::tree::Tree;
use crate::Stop;

mod fault;
mod layers;
mod manifest;
mod migrations;
mod paths;
mod scan;
mod source;
mod sources;
mod tree;
mod web;

/// Checks every rule, or records a new migration with `--bless-migration FILE`.
pub fn run(root: &Path, arguments: &[String]) -> Result<(), Stop> {
    match arguments {
        [] => check_and_print(root),
        [flag, file] if flag == "--bless-migration" => bless(root, file),
        _ => Err(Stop::Usage("cargo xtask tidy [--bless-migration FILE]".to_owned())),
    }
}

fn check_and_print(root: &Path) -> Result<(), Stop> {
    let tree = Tree::read(root).map_err(Stop::io("read the project's files"))?;
    let faults = check(&tree);
    for fault in &faults {
        println!("{fault}");
    }
    println!("tidy: {} files, faults: {}", tree.files().len(), faults.len());
    if faults.is_empty() { Ok(()) } else { Err(Stop::Failed) }
}

/// Applies every rule to every file it concerns, in the order of paths.
fn check(tree: &Tree) -> Vec<Fault> {
    let manifests = manifests(tree);
    let mut faults = layers::check(&manifests);
    faults.extend(migrations::check(&tree.migrations(), tree.text(migrations::CHECKSUMS)));
    for file in tree.files() {
        faults.extend(paths::check(&file.path, &file.text, tree.root()));
        faults.extend(web::check(&file.path, &file.text));
    }
    let test_modules = source::test_modules(tree.files().iter().map(|f| (f.path.as_str(), f.text.as_str())));
    for file in tree.files().iter().filter(|file| file.path.ends_with(".rs")) {
        let source = Source::new(&file.path, &file.text, &test_modules);
        faults.extend(sources::check(&source));
    }
    faults.sort_by(|a, b| (&a.path, a.line).cmp(&(&b.path, b.line)));
    faults
}

/// The manifests of the workspace's members.
fn manifests(tree: &Tree) -> Vec<Manifest> {
    let names = manifest::renames(tree.text("Cargo.toml").unwrap_or_default());
    let member = |path: &str| {
        let folder = path.strip_suffix("/Cargo.toml")?;
        let is_member = folder == "tests" || folder.strip_prefix("crates/").is_some_and(|f| !f.contains('/'));
        is_member.then(|| folder.rsplit('/').next().unwrap_or(folder).to_owned())
    };
    let of_file =
        |file: &tree::File| Some(Manifest::parse(&member(&file.path)?, &file.path, &file.text, &names));
    tree.files().iter().filter_map(of_file).collect()
}

/// Writes the checksum of a migration that has none yet.
fn bless(root: &Path, file: &str) -> Result<(), Stop> {
    let name = Path::new(file).file_name().and_then(|name| name.to_str()).unwrap_or(file);
    let migration = root.join(migrations::FOLDER).join(name);
    let text =
        fs::read_to_string(&migration).map_err(Stop::io(format!("read {}/{name}", migrations::FOLDER)))?;
    let list = root.join(migrations::CHECKSUMS);
    let known = if list.exists() {
        fs::read_to_string(&list).map_err(Stop::io(format!("read {}", migrations::CHECKSUMS)))?
    } else {
        String::new()
    };
    match migrations::bless(&known, name, &text) {
        Blessing::Added(list_text) => {
            fs::write(&list, list_text).map_err(Stop::io(format!("write {}", migrations::CHECKSUMS)))?;
            println!("{name} is recorded in {}", migrations::CHECKSUMS);
            Ok(())
        }
        Blessing::AlreadyThere => {
            println!("{name} was recorded before and has not changed");
            Ok(())
        }
        Blessing::Changed => Err(Stop::Refused(format!(
            "{name} differs from its recorded checksum: a migration never changes once recorded, write a new one"
        ))),
        Blessing::NotAMigration => Err(Stop::Refused(format!(
            "{name} is no migration: its name has to end in .sql and hold no space"
        ))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workspace_root;

    #[test]
    fn the_workspace_keeps_to_the_layer_table() {
        let root = workspace_root().expect("tests run inside the workspace");
        let tree = Tree::read(&root).expect("the checkout can be read");
        let manifests = manifests(&tree);
        assert!(manifests.len() >= 16, "only {} manifests found", manifests.len());
        let faults: Vec<String> = layers::check(&manifests).iter().map(Fault::to_string).collect();
        assert!(faults.is_empty(), "{}", faults.join("\n"));
    }

    /// A project in which every rule is broken once, and each fault is found where it was planted.
    #[test]
    fn each_rule_reaches_the_files_it_concerns() {
        let member =
            |name: &str, rest: &str| format!("[package]\nname = \"{name}\"\n\n[dependencies]\n{rest}");
        let machine = concat!("//", "/ho", "me/someone/notes").replacen("//", "", 1);
        let files = [
            (
                "Cargo.toml",
                "[workspace.dependencies]\nsql = { package = \"rusqlite\", version = \"1\" }\n".to_owned(),
            ),
            ("crates/units/Cargo.toml", member("storypole-units", "storypole-desk.workspace = true\n")),
            ("crates/units/src/lib.rs", "//! Units.\n\nuse std::fs;\n".to_owned()),
            ("crates/desk/Cargo.toml", member("storypole-desk", "sql.workspace = true\n")),
            ("crates/desk/src/lib.rs", "fn say() {\n    println!();\n}\n".to_owned()),
            ("crates/cli/Cargo.toml", member("storypole-cli", "")),
            ("crates/cli/src/main.rs", "//! The program.\n\nfn main() {\n    println!();\n}\n".to_owned()),
            ("migrations/0001_log.sql", "create table log (id integer);\n".to_owned()),
            ("README.md", format!("Look into {machine}.\n")),
            ("web-ui/src/App.svelte", "<p style=\"margin: 0\">Hello.</p>\n".to_owned()),
        ];
        let faults: Vec<String> =
            check(&Tree::from_texts("/some/where", &files)).iter().map(Fault::to_string).collect();
        let places: Vec<&str> = faults.iter().filter_map(|fault| fault.split(": ").next()).collect();
        assert_eq!(
            places,
            [
                "README.md:1",
                "crates/cli/Cargo.toml",
                "crates/desk/Cargo.toml:5",
                "crates/desk/src/lib.rs:1",
                "crates/desk/src/lib.rs:2",
                "crates/units/Cargo.toml:5",
                "crates/units/src/lib.rs:3",
                "migrations/0001_log.sql",
                "web-ui/src/App.svelte:1",
            ],
            "{faults:#?}"
        );
    }
}
