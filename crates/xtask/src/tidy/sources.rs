//! Rules for single Rust files: header, length, printing, and what the pure layers must not see.

use super::fault::{Fault, Kind};
use super::layers::{Place, place};
use super::scan::{find_word, line_of};
use super::source::{Area, Source};

/// Most lines a file may have before its tests.
const LINES_MOST: usize = 700;

/// Macros that write to the terminal.
const PRINTING: &[&str] = &["print!", "println!", "eprint!", "eprintln!", "dbg!"];

/// Crates that talk to people.
const PRINTERS: &[&str] = &["cli", "xtask", "bench", "tests"];

/// The highest layer that sees nothing but its arguments.
const PURE_MOST: u8 = 2;

/// The outside world: files, sockets, threads, environment, clocks, randomness without a given start, and the
/// libraries that bring them in.
const OUTSIDE: &[&str] = &[
    "std::fs",
    "std::net",
    "std::thread",
    "std::env",
    "SystemTime::now",
    "Instant::now",
    "Timestamp::now",
    "Zoned::now",
    "getrandom",
    "tokio",
    "rusqlite",
];

/// Checks every rule for one file.
pub fn check(source: &Source<'_>) -> Vec<Fault> {
    let mut faults = Vec::new();
    faults.extend(header(source));
    faults.extend(length(source));
    faults.extend(printing(source));
    faults.extend(outside(source));
    faults
}

fn header(source: &Source<'_>) -> Option<Fault> {
    let is_missing = source.area != Area::BuildScript && !source.text.starts_with("//!");
    is_missing.then(|| Fault::in_line(source.path, 1, Kind::NoHeader))
}

fn length(source: &Source<'_>) -> Option<Fault> {
    let is_too_long = source.area != Area::Tests && source.lines > LINES_MOST;
    is_too_long.then(|| Fault::of_file(source.path, Kind::TooLong { lines: source.lines, most: LINES_MOST }))
}

fn printing(source: &Source<'_>) -> Vec<Fault> {
    if source.area != Area::Library || PRINTERS.contains(&source.folder) {
        return Vec::new();
    }
    found(source, PRINTING, |word| Kind::Prints { word })
}

fn outside(source: &Source<'_>) -> Vec<Fault> {
    let layer = match place(source.folder) {
        Some(Place::Layer(layer)) if layer <= PURE_MOST && source.area == Area::Library => layer,
        _ => return Vec::new(),
    };
    let mut faults = found(source, OUTSIDE, |word| Kind::Reaches { word, layer });
    for (at, word) in grouped(&source.code) {
        faults.push(Fault::in_line(source.path, line_of(&source.code, at), Kind::Reaches { word, layer }));
    }
    faults
}

fn found(source: &Source<'_>, words: &[&'static str], kind: impl Fn(&'static str) -> Kind) -> Vec<Fault> {
    let places = words.iter().flat_map(|&word| find_word(&source.code, word).map(move |at| (at, word)));
    places.map(|(at, word)| Fault::in_line(source.path, line_of(&source.code, at), kind(word))).collect()
}

/// Finds members of `use std::{..}` that are forbidden as `std::member`.
fn grouped(code: &str) -> Vec<(usize, &'static str)> {
    let mut members = Vec::new();
    for opening in find_word(code, "std::{") {
        let mut depth = 0_usize;
        let mut at_start = false; // Of a member of the group itself, not of a group inside.
        for (at, c) in code[opening..].char_indices().map(|(at, c)| (opening + at, c)) {
            match c {
                '{' => {
                    depth += 1;
                    at_start = depth == 1;
                }
                '}' => depth = depth.saturating_sub(1),
                ',' => at_start = depth == 1,
                _ if at_start && !c.is_whitespace() => {
                    let is_member = |path: &&&str| {
                        let member = path.strip_prefix("std::");
                        member.is_some_and(|member| find_word(&code[at..], member).next() == Some(0))
                    };
                    members.extend(OUTSIDE.iter().find(is_member).map(|&word| (at, word)));
                    at_start = false;
                }
                _ => (),
            }
            if c == '}' && depth == 0 {
                break;
            }
        }
    }
    members
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    fn faults(path: &str, text: &str) -> Vec<(Option<usize>, Kind)> {
        let source = Source::new(path, text, &BTreeSet::new());
        check(&source).into_iter().map(|fault| (fault.line, fault.kind)).collect()
    }

    #[test]
    fn a_file_starts_with_its_purpose() {
        let missing = [(Some(1), Kind::NoHeader)];
        assert_eq!(faults("crates/desk/src/lib.rs", "// Desk.\n"), missing);
        assert_eq!(faults("crates/desk/src/lib.rs", ""), missing);
        assert_eq!(faults("crates/desk/tests/open.rs", "\n//! Late.\n"), missing);
        assert_eq!(faults("tests/tests/kill.rs", "use x;\n"), missing);
        assert_eq!(faults("crates/desk/src/lib.rs", "//! Desk.\n"), []);
        assert_eq!(faults("crates/desk/build.rs", "fn main() {}\n"), []);
    }

    #[test]
    fn length_counts_what_lies_before_the_tests() {
        let tests = format!("#[cfg(test)]\nmod tests {{\n{}}}\n", "// line\n".repeat(900));
        let file = |lines: usize| format!("//! Long.\n{}{tests}", "// line\n".repeat(lines - 1));
        assert_eq!(faults("crates/desk/src/lib.rs", &file(700)), []);
        let too_long = [(None, Kind::TooLong { lines: 701, most: 700 })];
        assert_eq!(faults("crates/desk/src/lib.rs", &file(701)), too_long);
        assert_eq!(faults("tests/tests/kill.rs", &file(900)), []);
    }

    #[test]
    fn printing_is_left_to_those_who_talk_to_people() {
        for word in PRINTING {
            let text = format!("//! X.\n\nfn f() {{\n    {word}(\"x\");\n}}\n");
            let printed = [(Some(4), Kind::Prints { word })];
            assert_eq!(faults("crates/store/src/lib.rs", &text), printed);
            assert_eq!(faults("crates/testkit/src/lib.rs", &text), printed);
            for path in [
                "crates/cli/src/main.rs",
                "crates/xtask/src/main.rs",
                "crates/bench/src/main.rs",
                "crates/store/tests/open.rs",
                "crates/store/build.rs",
                "tests/tests/kill.rs",
            ] {
                assert_eq!(faults(path, &text), [], "{word} in {path}");
            }
        }
    }

    #[test]
    fn comments_literals_and_tests_do_not_print() {
        let text = "//! Not `println!`.\n\n/// Nor println!(\"x\").\nfn f() -> &'static str {\n    \"println!()\"\n}\n\n\
                    #[cfg(test)]\nmod tests {\n    fn g() {\n        println!();\n    }\n}\n";
        assert_eq!(faults("crates/store/src/lib.rs", text), []);
    }

    #[test]
    fn pure_layers_see_nothing_outside() {
        for word in OUTSIDE {
            let text = format!("//! X.\n\nfn f() {{\n    {word}();\n}}\n");
            assert_eq!(
                faults("crates/units/src/lib.rs", &text),
                [(Some(4), Kind::Reaches { word, layer: 0 })]
            );
            assert_eq!(
                faults("crates/sync/src/lib.rs", &text),
                [(Some(4), Kind::Reaches { word, layer: 1 })]
            );
            assert_eq!(
                faults("crates/writeup/src/lib.rs", &text),
                [(Some(4), Kind::Reaches { word, layer: 2 })]
            );
            assert_eq!(faults("crates/store/src/lib.rs", &text), []);
            assert_eq!(faults("crates/units/tests/parse.rs", &text), []);
        }
    }

    #[test]
    fn grouped_imports_hide_nothing() {
        let text = "//! X.\n\nuse std::{\n    collections::{BTreeMap, fs},\n    fs,\n    net::{IpAddr, env},\n};\nuse std::{fmt};\n";
        let reaches = |line, word| (Some(line), Kind::Reaches { word, layer: 0 });
        assert_eq!(
            faults("crates/journal/src/lib.rs", text),
            [reaches(5, "std::fs"), reaches(6, "std::net")]
        );
    }

    #[test]
    fn comments_and_tests_may_name_the_outside() {
        let text = "//! Driven with tokio elsewhere, no std::fs here.\n\n#[cfg(test)]\nmod tests {\n    use std::env;\n}\n";
        assert_eq!(faults("crates/journal/src/lib.rs", text), []);
    }
}
