//! The project's text files, read once.
//!
//! What `.gitignore` names is left out, and so is all that is not UTF-8. Links are not followed.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::migrations;

/// A text file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct File {
    /// From the workspace's root, with `/`.
    pub path: String,
    pub text: String,
}

/// The text files of the project in the order of their paths.
pub struct Tree {
    root: PathBuf,
    files: Vec<File>,
}

impl Tree {
    /// Reads the files below the workspace's root.
    pub fn read(root: &Path) -> io::Result<Self> {
        let ignored = Ignored::parse(&fs::read_to_string(root.join(".gitignore")).unwrap_or_default());
        let mut files = Vec::new();
        read_folder(root, "", &ignored, &mut files)?;
        files.sort_by(|a, b| a.path.cmp(&b.path));
        Ok(Self { root: root.to_path_buf(), files })
    }

    /// A tree that was never on disk.
    #[cfg(test)]
    pub fn from_texts(root: &str, texts: &[(&str, String)]) -> Self {
        let file = |(path, text): &(&str, String)| File { path: (*path).to_owned(), text: text.clone() };
        Self { root: PathBuf::from(root), files: texts.iter().map(file).collect() }
    }

    /// The folder the paths start from.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// All files.
    pub fn files(&self) -> &[File] {
        &self.files
    }

    /// The text of one file.
    pub fn text(&self, path: &str) -> Option<&str> {
        self.files.iter().find(|file| file.path == path).map(|file| file.text.as_str())
    }

    /// Name and text of every migration.
    pub fn migrations<'a>(&'a self) -> Vec<(&'a str, &'a str)> {
        let of_file = |file: &'a File| {
            let name = file.path.strip_prefix(migrations::FOLDER)?.strip_prefix('/')?;
            name.ends_with(".sql").then_some((name, file.text.as_str()))
        };
        self.files.iter().filter_map(of_file).collect()
    }
}

fn read_folder(root: &Path, folder: &str, ignored: &Ignored, files: &mut Vec<File>) -> io::Result<()> {
    for entry in fs::read_dir(root.join(folder))? {
        let entry = entry?;
        let Ok(name) = entry.file_name().into_string() else { continue };
        let path = if folder.is_empty() { name } else { format!("{folder}/{name}") };
        let kind = entry.file_type()?;
        if kind.is_dir() {
            if !ignored.has_folder(&path) {
                read_folder(root, &path, ignored, files)?;
            }
        } else if kind.is_file() && !ignored.has_file(&path) {
            // A file may go away while we read, and what is no text concerns no rule.
            match fs::read(entry.path()) {
                Ok(bytes) => files.extend(String::from_utf8(bytes).ok().map(|text| File { path, text })),
                Err(error) if error.kind() == io::ErrorKind::NotFound => (),
                Err(error) => return Err(error),
            }
        }
    }
    Ok(())
}

/// What `.gitignore` leaves out, as far as this project's file goes: `folder/`, `path/to/folder/`, `*.ending`,
/// `file`.
struct Ignored(Vec<String>);

impl Ignored {
    fn parse(text: &str) -> Self {
        let lines = text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'));
        Self(lines.chain([".git/"]).map(str::to_owned).collect())
    }

    fn has_folder(&self, path: &str) -> bool {
        self.0.iter().any(|pattern| fits(pattern.trim_end_matches('/'), path))
    }

    fn has_file(&self, path: &str) -> bool {
        self.0.iter().any(|pattern| fits(pattern, path))
    }
}

/// A pattern with a slash is a path from the root, any other a name in any folder.
fn fits(pattern: &str, path: &str) -> bool {
    let name = path.rsplit('/').next().unwrap_or(path);
    match pattern.strip_prefix('*') {
        Some(ending) => name.ends_with(ending),
        None if pattern.contains('/') => pattern.trim_start_matches('/') == path,
        None => pattern == name,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ignored_names_are_left_out() {
        let ignored = Ignored::parse("# built\ntarget/\nweb-ui/dist/\n\n*.profraw\nnotes.txt\n");
        for folder in ["target", "crates/x/target", "web-ui/dist", ".git"] {
            assert!(ignored.has_folder(folder), "{folder}");
        }
        for folder in ["crates", "dist", "crates/web-ui/dist", "targets", ".github"] {
            assert!(!ignored.has_folder(folder), "{folder}");
        }
        for (file, expected) in [
            ("a/b.profraw", true),
            ("notes.txt", true),
            ("target", false),
            (".gitignore", false),
            ("a.rs", false),
        ] {
            assert_eq!(ignored.has_file(file), expected, "{file}");
        }
    }

    #[test]
    fn only_sql_files_of_the_folder_are_migrations() {
        let files = [
            "migrations/1.sql",
            "migrations/checksums.txt",
            "crates/store/src/2.sql",
            "migrations_old/3.sql",
        ];
        let files = files.map(|path| (path, path.to_owned()));
        let tree = Tree::from_texts("/some/where", &files);
        assert_eq!(tree.migrations(), [("1.sql", "migrations/1.sql")]);
    }
}
