//! No file names a folder that exists on one machine only.

use std::path::Path;

use super::fault::{Fault, Kind};

/// Where people's and the administrator's files lie on most systems. Put together here, so that this file does
/// not break its own rule.
const HOMES: &[&str] = &[concat!("/ho", "me/"), concat!("/ro", "ot/")];

/// Finds lines that hold an absolute path of one machine, `root` being the checkout's own.
pub fn check(path: &str, text: &str, root: &Path) -> Vec<Fault> {
    let own = own_start(root);
    let starts: Vec<&str> = HOMES.iter().copied().chain(own.as_deref()).collect();
    let mut faults = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let named = starts.iter().find(|start| names(line, start));
        let kind = named.map(|start| Kind::MachinePath { start: (*start).to_owned() });
        faults.extend(kind.map(|kind| Fault::in_line(path, index + 1, kind)));
    }
    faults
}

/// The checkout's own path. None where it is a single folder below `/`, whose name is bound to occur in other roles.
fn own_start(root: &Path) -> Option<String> {
    let is_long_enough = root.is_absolute() && root.components().count() > 2;
    root.to_str().filter(|_| is_long_enough).map(str::to_owned)
}

/// Whether `start` occurs in the line as the start of a path and not in its middle, as in `web-ui/src` + `start`.
fn names(line: &str, start: &str) -> bool {
    line.match_indices(start).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        let after = line[at + start.len()..].chars().next();
        let goes_on_before = |c: char| c.is_alphanumeric() || "._-~*)}]$".contains(c);
        let goes_on_after = |c: char| c.is_alphanumeric() || "_-".contains(c);
        !before.is_some_and(goes_on_before) && (start.ends_with('/') || !after.is_some_and(goes_on_after))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn machine_paths_are_found_at_their_start_only() {
        let [home, admin] = [HOMES[0], HOMES[1]];
        let root = Path::new("/builds/pole");
        let cases = [
            (format!("let data = \"{home}someone/jobs\";"), true),
            (format!("//! See {admin}notes."), true),
            (format!("file://{home}someone"), true),
            ("cargo test --manifest-path /builds/pole/Cargo.toml".to_owned(), true),
            ("cd /builds/pole".to_owned(), true),
            ("cd /builds/poles".to_owned(), false),
            (format!("import '..{home}today'"), false),
            (format!("web-ui/src{home}Today.ts"), false),
            ("crates/units/src/lib.rs and /tmp/x".to_owned(), false),
        ];
        for (line, expected) in cases {
            let text = format!("first line\n{line}\n");
            let lines: Vec<Option<usize>> =
                check("x.md", &text, root).iter().map(|fault| fault.line).collect();
            let expected = if expected { vec![Some(2)] } else { Vec::new() };
            assert_eq!(lines, expected, "{line}");
        }
    }

    #[test]
    fn a_checkout_right_below_the_root_is_not_searched_for() {
        assert_eq!(check("x.md", "see /src/main.rs", Path::new("/src")), []);
        assert_eq!(check("x.md", "see /", Path::new("/")), []);
    }
}
