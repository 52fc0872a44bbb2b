//! What the rules need from a `Cargo.toml`: the package's name and what it depends on.
//!
//! Reads the shapes that cargo manifests take, line by line. It is no TOML parser: multi-line strings and escaped
//! quotes are not understood.

use std::collections::BTreeMap;

/// The manifest of one member of the workspace.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Manifest {
    /// Name of the folder it lies in.
    pub folder: String,
    /// From the workspace's root, with `/`.
    pub path: String,
    /// Empty if the manifest names none.
    pub package: String,
    /// Of every kind: ordinary, for tests, for build scripts, for single platforms.
    pub dependencies: Vec<Dependency>,
}

/// One dependency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dependency {
    /// What the manifest calls it.
    pub name: String,
    /// What its package is called; the same unless it is renamed.
    pub package: String,
    /// From 1.
    pub line: usize,
}

impl Manifest {
    /// Reads a member's manifest. `renames` are the workspace's, see [`renames`].
    pub fn parse(folder: &str, path: &str, text: &str, renames: &BTreeMap<String, String>) -> Self {
        let mut dependencies = dependencies(text);
        for dependency in &mut dependencies {
            let inherits = dependency.package == dependency.name;
            if let Some(package) = renames.get(&dependency.name).filter(|_| inherits) {
                dependency.package.clone_from(package);
            }
        }
        let package = package_name(text).unwrap_or_default();
        Self { folder: folder.to_owned(), path: path.to_owned(), package, dependencies }
    }
}

/// Reads which packages hide behind which names in the workspace's root manifest.
pub fn renames(root_text: &str) -> BTreeMap<String, String> {
    let renamed = dependencies(root_text).into_iter().filter(|d| d.package != d.name);
    renamed.map(|d| (d.name, d.package)).collect()
}

/// What a line stands in.
enum Table {
    /// One dependency per key.
    Dependencies,
    /// The fields of the dependency found last.
    Dependency,
    Other,
}

fn dependencies(text: &str) -> Vec<Dependency> {
    let mut found: Vec<Dependency> = Vec::new();
    let mut table = Table::Other;
    for (line, content) in numbered(text) {
        if let Some(header) = table_name(content) {
            table = match header.rsplit_once('.') {
                _ if is_dependency_table(header) => Table::Dependencies,
                Some((outer, name)) if is_dependency_table(outer) => {
                    let name = unquoted(name);
                    found.push(Dependency { package: name.clone(), name, line });
                    Table::Dependency
                }
                _ => Table::Other,
            };
        } else if let Some((key, value)) = content.split_once('=') {
            let key = key.trim();
            match (&table, found.last_mut()) {
                (Table::Dependencies, _) => found.extend(dependency(key, value, line)),
                (Table::Dependency, Some(last)) if key == "package" => last.package = unquoted(value),
                _ => (),
            }
        }
    }
    found
}

/// Reads `name = "1"`, `name.workspace = true`, `name = { package = "other", .. }`, `name.package = "other"`.
fn dependency(key: &str, value: &str, line: usize) -> Option<Dependency> {
    if key.matches(['"', '\'']).count() % 2 == 1 {
        return None; // The equals sign stands inside a string.
    }
    let (name, field) = key.split_once('.').unwrap_or((key, ""));
    let name = unquoted(name);
    // Anything else is the rest of a list that began on an earlier line.
    if name.is_empty() || !name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_') {
        return None;
    }
    let renamed = if field == "package" { Some(unquoted(value)) } else { inline_package(value) };
    Some(Dependency { package: renamed.unwrap_or_else(|| name.clone()), name, line })
}

fn inline_package(value: &str) -> Option<String> {
    let fields = value.trim().strip_prefix('{')?.split([',', '}']);
    let mut pairs = fields.filter_map(|field| field.split_once('='));
    pairs.find(|(key, _)| key.trim() == "package").map(|(_, package)| unquoted(package))
}

fn package_name(text: &str) -> Option<String> {
    let mut inside = false;
    for (_, content) in numbered(text) {
        if let Some(header) = table_name(content) {
            inside = header == "package";
        } else if let Some((key, value)) = content.split_once('=')
            && inside
            && key.trim() == "name"
        {
            return Some(unquoted(value));
        }
    }
    None
}

fn is_dependency_table(header: &str) -> bool {
    let last = header.rsplit('.').next().unwrap_or(header);
    matches!(last, "dependencies" | "dev-dependencies" | "build-dependencies")
}

fn table_name(content: &str) -> Option<&str> {
    let inner = content.strip_prefix('[')?.strip_suffix(']')?;
    // A list's own lines may look like that too, but hold quotes or commas where a table's name holds neither.
    let is_name = !inner.contains(',') && !inner.starts_with('"');
    is_name.then(|| inner.trim_matches(['[', ']']).trim())
}

/// Lines with their numbers from 1, without comments and outer space.
fn numbered(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines().enumerate().map(|(index, line)| (index + 1, without_comment(line).trim()))
}

fn without_comment(line: &str) -> &str {
    let mut quote = None;
    for (at, c) in line.char_indices() {
        match (quote, c) {
            (None, '#') => return &line[..at],
            (None, '"' | '\'') => quote = Some(c),
            (Some(open), _) if open == c => quote = None,
            _ => (),
        }
    }
    line
}

fn unquoted(value: &str) -> String {
    value.trim().trim_matches(['"', '\'']).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, renames: &BTreeMap<String, String>) -> Vec<(String, usize)> {
        let manifest = Manifest::parse("desk", "crates/desk/Cargo.toml", text, renames);
        manifest.dependencies.into_iter().map(|d| (d.package, d.line)).collect()
    }

    #[test]
    fn every_shape_of_a_dependency_is_read() {
        let cases: [(&str, &[(&str, usize)]); 10] = [
            ("[dependencies]\ncsv = \"1\"\n", &[("csv", 2)]),
            ("[dependencies]\ncsv.workspace = true # plain\n", &[("csv", 2)]),
            ("[dev-dependencies]\ncsv = { workspace = true }\n", &[("csv", 2)]),
            ("[build-dependencies]\n\"csv\" = '1'\n", &[("csv", 2)]),
            ("[target.'cfg(target_os = \"linux\")'.dependencies]\ncsv = \"1\"\n", &[("csv", 2)]),
            ("[dependencies.csv]\nversion = \"1\"\nfeatures = []\n", &[("csv", 1)]),
            ("[dependencies]\ntables = { version = \"1\", package = \"csv\" }\n", &[("csv", 2)]),
            ("[dependencies.tables]\nversion = \"1\"\npackage = \"csv\"\n", &[("csv", 1)]),
            (
                "[dependencies]\ncsv = { version = \"1\", features = [\n  \"a=b\",\n] }\nuuid = \"1\"\n",
                &[("csv", 2), ("uuid", 5)],
            ),
            ("[package]\ncsv = \"1\"\n[features]\nuuid = []\n# [dependencies]\n# tar = \"1\"\n", &[]),
        ];
        for (text, expected) in cases {
            let expected: Vec<(String, usize)> =
                expected.iter().map(|&(name, line)| (name.to_owned(), line)).collect();
            assert_eq!(read(text, &BTreeMap::new()), expected, "{text}");
        }
    }

    #[test]
    fn names_of_the_workspace_are_followed() {
        let renames = renames("[workspace.dependencies]\nsql = { package = \"rusqlite\" }\ncsv = \"1\"\n");
        let text = "[dependencies]\nsql.workspace = true\ncsv.workspace = true\n";
        assert_eq!(read(text, &renames), [("rusqlite".to_owned(), 2), ("csv".to_owned(), 3)]);
    }

    #[test]
    fn the_name_is_the_packages_and_not_a_binarys() {
        let text = "[[bin]]\nname = \"xtask\"\n\n[package]\nname = \"storypole-xtask\" # chores\n";
        assert_eq!(package_name(text).as_deref(), Some("storypole-xtask"));
        assert_eq!(package_name("[[bin]]\nname = \"xtask\"\n"), None);
    }
}
