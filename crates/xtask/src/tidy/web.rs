//! Rules for the web client's files: nothing that lets a text become a page's own code, nothing that the server's
//! content security policy forbids, no download address in the lock file.

use super::fault::{Fault, Kind};

/// Where the client lies.
const FOLDER: &str = "web-ui/";

/// Which packages, in which versions, and from wherever the reader's own registry is.
const LOCK: &str = "web-ui/package-lock.json";

/// Endings of files that hold templates.
const TEMPLATES: &[&str] = &[".svelte", ".html"];

/// Puts a text into a page as it is, whoever wrote it.
const RAW: &str = concat!("{@", "html");

/// Members of the lock file that tell people something and are never downloaded.
const TOLD: &[&str] = &["url", "funding", "deprecated"];

/// Checks the rules for one file.
pub fn check(path: &str, text: &str) -> Vec<Fault> {
    if path == LOCK {
        return lines_with(path, text, is_download, || Kind::Download);
    }
    if !path.starts_with(FOLDER) || !TEMPLATES.iter().any(|ending| path.ends_with(ending)) {
        return Vec::new();
    }
    let mut faults = lines_with(path, text, |line| line.contains(RAW), || Kind::RawMarkup);
    faults.extend(lines_with(path, text, has_static_style, || Kind::StaticStyle));
    faults
}

fn lines_with(path: &str, text: &str, is_wrong: fn(&str) -> bool, kind: fn() -> Kind) -> Vec<Fault> {
    let wrong = text.lines().enumerate().filter(|(_, line)| is_wrong(line));
    wrong.map(|(index, _)| Fault::in_line(path, index + 1, kind())).collect()
}

/// Whether an attribute `style="…"` stands in the line; `style:width={…}` and `font-style="…"` are others.
fn has_static_style(line: &str) -> bool {
    line.match_indices("style=").any(|(at, word)| {
        let starts = line[..at].chars().next_back().is_none_or(char::is_whitespace);
        starts && line[at + word.len()..].starts_with(['"', '\''])
    })
}

/// Whether a member of the lock file says where from a package is fetched.
fn is_download(line: &str) -> bool {
    let Some((name, value)) = line.trim().split_once("\": \"") else { return false };
    value.contains("://") && !TOLD.contains(&name.trim_start_matches('"'))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults(path: &str, text: &str) -> Vec<(Option<usize>, Kind)> {
        check(path, text).into_iter().map(|fault| (fault.line, fault.kind)).collect()
    }

    #[test]
    fn planted_faults_are_found_in_templates() {
        let raw = format!("<p>\n  {RAW} text}}\n</p>\n");
        let cases = [
            (raw.as_str(), Kind::RawMarkup),
            ("<p>\n<b style=\"color: red\">x</b>\n</p>\n", Kind::StaticStyle),
            ("<p\n  style='color: red'>x</p>\n", Kind::StaticStyle),
        ];
        for (text, kind) in cases {
            let expected = [(Some(2), kind)];
            assert_eq!(faults("web-ui/src/App.svelte", text), expected, "{text}");
            assert_eq!(faults("web-ui/index.html", text), expected, "{text}");
            assert_eq!(faults("web-ui/unit/form.test.ts", text), [], "{text}");
            assert_eq!(faults("crates/writeup/src/page.html", text), [], "{text}");
        }
    }

    #[test]
    fn other_styles_are_fine() {
        let text = "<i style:width={wide}></i>\n<text font-style=\"italic\"></text>\n<style>\n</style>\n<b {style}></b>\n";
        assert_eq!(faults("web-ui/src/look/Rows.svelte", text), []);
    }

    #[test]
    fn the_lock_file_names_no_place_to_download_from() {
        let cases = [
            ("      \"resolved\": \"https://packages.example/a/-/a-1.0.0.tgz\",", true),
            ("        \"b\": \"git+ssh://code.example/b.git\"", true),
            ("        \"url\": \"https://example.org/sponsor\"", false),
            ("      \"funding\": \"https://example.org/sponsor\",", false),
            ("      \"deprecated\": \"see https://example.org\",", false),
            ("    \"node_modules/https-agent\": {", false),
            ("      \"integrity\": \"sha512-//8=\",", false),
        ];
        for (line, expected) in cases {
            let found = faults(LOCK, &format!("{{\n{line}\n}}\n"));
            let expected = if expected { vec![(Some(2), Kind::Download)] } else { Vec::new() };
            assert_eq!(found, expected, "{line}");
        }
    }
}
