//! Migrations never change once they are recorded in `migrations/checksums.txt`.
//!
//! The checksum is FNV-1a with 128 bits: it notices an accident and is no defence against intent.

use std::collections::BTreeSet;

use super::fault::{Fault, Kind};

/// Where migrations lie, from the workspace's root.
pub const FOLDER: &str = "migrations";

/// The list of checksums, a line `<32 hex digits>  <file>` each, in the order they were recorded.
pub const CHECKSUMS: &str = "migrations/checksums.txt";

/// What came of recording a migration.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Blessing {
    /// The whole list with the new line at its end.
    Added(String),
    AlreadyThere,
    /// Recorded with another text; the list stays as it is.
    Changed,
    /// The name does not fit a line of the list, or is no `.sql` file.
    NotAMigration,
}

/// Checks `migrations`, pairs of file name and text, against the list. No list is the same as an empty one.
pub fn check(migrations: &[(&str, &str)], list: Option<&str>) -> Vec<Fault> {
    let list = list.unwrap_or_default();
    let mut faults = Vec::new();
    let mut recorded = BTreeSet::new();
    for (index, line) in list.lines().enumerate() {
        faults.extend(check_line(line, migrations, &mut recorded).map(|(path, kind)| match path {
            Some(path) => Fault::of_file(&path, kind),
            None => Fault::in_line(CHECKSUMS, index + 1, kind),
        }));
    }
    for (file, _) in migrations.iter().filter(|(file, _)| !recorded.contains(file)) {
        let kind = Kind::MigrationUnknown { file: (*file).to_owned() };
        faults.push(Fault::of_file(&format!("{FOLDER}/{file}"), kind));
    }
    faults
}

/// Checks a line of the list. A fault of the migration itself comes with its path.
fn check_line<'a>(
    line: &'a str,
    migrations: &[(&str, &str)],
    recorded: &mut BTreeSet<&'a str>,
) -> Option<(Option<String>, Kind)> {
    let Some((checksum, file)) = parse(line) else { return Some((None, Kind::ChecksumLine)) };
    if !recorded.insert(file) {
        return Some((None, Kind::MigrationTwice { file: file.to_owned() }));
    }
    match migrations.iter().find(|(name, _)| *name == file) {
        None => Some((None, Kind::MigrationMissing { file: file.to_owned() })),
        Some((_, text)) if checksum_of(text) != checksum => {
            Some((Some(format!("{FOLDER}/{file}")), Kind::MigrationChanged))
        }
        Some(_) => None,
    }
}

/// Records the migration `file` with `text` at the end of `list`. What is recorded is never replaced.
pub fn bless(list: &str, file: &str, text: &str) -> Blessing {
    if !file.ends_with(".sql") || file.contains(char::is_whitespace) {
        return Blessing::NotAMigration;
    }
    let checksum = checksum_of(text);
    match list.lines().filter_map(parse).find(|(_, name)| *name == file) {
        Some((known, _)) if known == checksum => Blessing::AlreadyThere,
        Some(_) => Blessing::Changed,
        None => {
            let gap = if list.is_empty() || list.ends_with('\n') { "" } else { "\n" };
            Blessing::Added(format!("{list}{gap}{checksum:032x}  {file}\n"))
        }
    }
}

fn parse(line: &str) -> Option<(u128, &str)> {
    let (checksum, file) = line.split_once("  ")?;
    let is_whole = checksum.len() == 32 && !checksum.starts_with('+') && !file.is_empty();
    let checksum = u128::from_str_radix(checksum, 16).ok()?;
    is_whole.then_some((checksum, file))
}

/// The checksum of a text, the same whichever line ends a checkout gives it.
fn checksum_of(text: &str) -> u128 {
    fnv1a_128(text.replace("\r\n", "\n").as_bytes())
}

/// FNV-1a with 128 bits: for each byte `hash = (hash xor byte) * prime`, modulo 2^128.
///
/// # Source
/// The FNV non-cryptographic hash algorithm, draft-eastlake-fnv: offset basis and prime for 128 bits.
fn fnv1a_128(bytes: &[u8]) -> u128 {
    const OFFSET_BASIS: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
    const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013b;
    bytes.iter().fold(OFFSET_BASIS, |hash, &byte| (hash ^ u128::from(byte)).wrapping_mul(PRIME))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn checksums_are_the_published_ones() {
        const DRAFT: &str = "test vectors of draft-eastlake-fnv";
        const GO: &str = "tests of hash/fnv in the Go standard library";
        let cases = [
            ("", 0x6c62272e07bb014262b821756295c58d, GO),
            ("a", 0xd228cb696f1a8caf78912b704e4a8964, DRAFT),
            ("ab", 0x08809544bbab1be95aa0733055b69a62, GO),
            ("abc", 0xa68d622cec8b5822836dbc7977af7f3b, GO),
            ("foobar", 0x343e1662793c64bf6f0d3597ba446f18, DRAFT),
        ];
        for (text, expected, source) in cases {
            assert_eq!(fnv1a_128(text.as_bytes()), expected, "{text:?}, {source}");
        }
    }

    #[test]
    fn line_ends_do_not_count() {
        assert_eq!(checksum_of("select 1;\r\nselect 2;\r\n"), checksum_of("select 1;\nselect 2;\n"));
        assert_ne!(checksum_of("select 1;\n"), checksum_of("select 1;"));
    }

    #[test]
    fn what_is_recorded_and_unchanged_passes() {
        assert_eq!(check(&[], None), []);
        let list = format!("{:032x}  0001_log.sql\n", checksum_of("create"));
        assert_eq!(check(&[("0001_log.sql", "create")], Some(&list)), []);
    }

    #[test]
    fn planted_faults_are_found() {
        let line = |file: &str, text: &str| format!("{:032x}  {file}\n", checksum_of(text));
        let one = [("1.sql", "a")];
        let twice = line("1.sql", "a") + &line("1.sql", "b");
        let cases = [
            (
                String::new(),
                "migrations/1.sql: no checksum yet: `cargo xtask tidy --bless-migration 1.sql` records it",
            ),
            (
                line("1.sql", "b"),
                "migrations/1.sql: differs from its recorded checksum: migrations never change, write a new one",
            ),
            (
                line("1.sql", "a") + &line("2.sql", "a"),
                "migrations/checksums.txt:2: `2.sql` is recorded but gone: migrations stay",
            ),
            (twice, "migrations/checksums.txt:2: `1.sql` is recorded twice: keep the first line"),
            (
                line("1.sql", "a") + "12  2.sql\n",
                "migrations/checksums.txt:2: this is not `<32 hex digits>  <file>`",
            ),
        ];
        for (list, expected) in cases {
            let faults: Vec<String> = check(&one, Some(&list)).iter().map(Fault::to_string).collect();
            assert_eq!(faults, [expected], "{list}");
        }
    }

    #[test]
    fn blessing_only_adds() {
        let Blessing::Added(first) = bless("", "1.sql", "a") else { panic!("an empty list takes it") };
        let Blessing::Added(list) = bless(first.trim_end(), "2.sql", "b") else {
            panic!("a new file is taken")
        };
        assert!(list.starts_with(&first), "{list}");
        assert_eq!(check(&[("1.sql", "a"), ("2.sql", "b")], Some(&list)), []);

        assert_eq!(bless(&list, "1.sql", "a"), Blessing::AlreadyThere);
        assert_eq!(bless(&list, "1.sql", "A"), Blessing::Changed);
        assert_eq!(bless(&list, "notes.txt", "a"), Blessing::NotAMigration);
        assert_eq!(bless(&list, "3 new.sql", "a"), Blessing::NotAMigration);
    }
}
