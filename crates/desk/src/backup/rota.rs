//! Many backups in one folder: how they are named, when the next is due, which of them go.
//!
//! Kept are the newest few, and of each of the last twelve months the first. The clock is not trusted: a backup from
//! the future neither counts as the last one nor is removed.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use storypole_journal::NotebookId;

use super::manifest_of;

/// How the name of every backup that is made by itself ends.
pub const ENDING: &str = ".storypole.tar";

/// Months of which the first backup is kept.
const MONTHS: i32 = 12;

/// How far a clock may run ahead before a backup counts as one from the future, ms: an hour.
const AHEAD_MS: u64 = 60 * 60 * 1000;

/// A backup that lies in the folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lying {
    /// Where.
    pub path: PathBuf,
    /// When it was made, by the clock of the device that made it, ms since 1970.
    pub made_ms: u64,
    /// Its size.
    pub bytes: u64,
}

/// `mill-house-20250304-145320.storypole.tar`, in UTC.
pub fn file_name(notebook: &str, made_ms: u64) -> String {
    let mut slug = String::new();
    for letter in notebook.to_lowercase().chars() {
        match letter {
            'a'..='z' | '0'..='9' => slug.push(letter),
            _ if slug.ends_with('-') || slug.is_empty() => (),
            _ => slug.push('-'),
        }
    }
    let slug: String = slug.chars().take(40).collect();
    let slug = slug.trim_end_matches('-');
    let slug = if slug.is_empty() { "notebook" } else { slug };
    let at = date_time(made_ms);
    format!("{slug}-{}{ENDING}", at.strftime("%Y%m%d-%H%M%S"))
}

fn date_time(unix_ms: u64) -> jiff::civil::DateTime {
    let second = i64::try_from(unix_ms / 1000).unwrap_or(i64::MAX);
    let at = jiff::Timestamp::from_second(second).unwrap_or(jiff::Timestamp::MAX);
    jiff::tz::Offset::UTC.to_datetime(at)
}

/// The backups of a notebook that lie in a folder under such names, oldest first. What is no backup, of another
/// notebook, or named by a person is passed over.
///
/// # Errors
/// The folder cannot be read.
pub fn lying(folder: &Path, notebook: NotebookId) -> io::Result<Vec<Lying>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        if !is_own_name(name) {
            continue;
        }
        // One that cannot be read is not ours to judge.
        let Ok(manifest) = manifest_of(&path) else { continue };
        if manifest.notebook == notebook {
            let bytes = fs::metadata(&path).map_or(0, |file| file.len());
            found.push(Lying { path, made_ms: manifest.made_ms, bytes });
        }
    }
    found.sort_by(|a, b| (a.made_ms, &a.path).cmp(&(b.made_ms, &b.path)));
    Ok(found)
}

/// `…-YYYYMMDD-HHMMSS` and the ending.
fn is_own_name(name: &str) -> bool {
    let Some(stem) = name.strip_suffix(ENDING) else { return false };
    let mut parts = stem.rsplit('-');
    let mut digits = |count: usize| {
        parts.next().is_some_and(|part| part.len() == count && part.bytes().all(|b| b.is_ascii_digit()))
    };
    digits(6) && digits(8)
}

/// Whether the next backup is due: none was made within the interval, as far as this clock can tell.
pub fn is_due(lying: &[Lying], now_ms: u64, every_ms: u64) -> bool {
    let past = lying.iter().filter(|lying| lying.made_ms <= now_ms.saturating_add(AHEAD_MS));
    past.map(|lying| lying.made_ms).max().is_none_or(|last| now_ms.saturating_sub(last) >= every_ms)
}

/// Those that may go, of which `just_made` is never one.
pub fn surplus<'a>(lying: &'a [Lying], just_made: &Path, keep: usize, now_ms: u64) -> Vec<&'a Lying> {
    let mut past: Vec<&Lying> =
        lying.iter().filter(|lying| lying.made_ms <= now_ms.saturating_add(AHEAD_MS)).collect();
    past.sort_by(|a, b| (a.made_ms, &a.path).cmp(&(b.made_ms, &b.path)));
    let month = |unix_ms: u64| {
        let at = date_time(unix_ms);
        i32::from(at.year()) * 12 + i32::from(at.month())
    };
    let mut firsts: BTreeMap<i32, &Path> = BTreeMap::new();
    for lying in &past {
        firsts.entry(month(lying.made_ms)).or_insert(&lying.path);
    }
    let oldest = month(now_ms) - MONTHS + 1;
    let is_first = |lying: &Lying| {
        let month = month(lying.made_ms);
        month >= oldest && firsts.get(&month) == Some(&lying.path.as_path())
    };
    let newest = past.len().saturating_sub(keep.max(1));
    past[..newest].iter().copied().filter(|lying| !is_first(lying) && lying.path != just_made).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2026-01-15 12:00 UTC: 20,468 days and 12 hours after 1970-01-01 (by hand).
    const NOW_MS: u64 = 20_468 * DAY_MS + DAY_MS / 2;
    const DAY_MS: u64 = 24 * 60 * 60 * 1000;

    fn made(days_ago: u64) -> Lying {
        Lying { path: PathBuf::from(format!("{days_ago}")), made_ms: NOW_MS - days_ago * DAY_MS, bytes: 1 }
    }

    #[test]
    fn names_are_plain_and_sort_by_time() {
        for (notebook, expected) in [
            ("Millrace house", "millrace-house-20260115-120000.storypole.tar"),
            ("  Büro / 2. Stock!", "b-ro-2-stock-20260115-120000.storypole.tar"),
            ("家", "notebook-20260115-120000.storypole.tar"),
        ] {
            let name = file_name(notebook, NOW_MS);
            assert_eq!(name, expected);
            assert!(is_own_name(&name));
        }
        for other in ["holiday.storypole.tar", "a-2026-120000.storypole.tar", "a-20260115-120000.tar"] {
            assert!(!is_own_name(other), "{other}");
        }
    }

    #[test]
    fn a_backup_is_due_when_the_last_is_old_whatever_the_clock_did() {
        assert!(is_due(&[], NOW_MS, DAY_MS));
        assert!(is_due(&[made(1)], NOW_MS, DAY_MS));
        assert!(!is_due(&[made(9), made(0)], NOW_MS, DAY_MS));
        // The clock was a year ahead when one was made, and was set right.
        let ahead = Lying { made_ms: NOW_MS + 365 * DAY_MS, ..made(0) };
        assert!(is_due(&[made(2), ahead.clone()], NOW_MS, DAY_MS));
        assert!(!is_due(&[made(0), ahead], NOW_MS, DAY_MS));
    }

    #[test]
    fn the_newest_stay_and_the_first_of_each_month_of_a_year() {
        let daily: Vec<Lying> = (0..800).rev().map(made).collect();
        let just_made = made(0).path;
        let gone: Vec<String> = surplus(&daily, &just_made, 14, NOW_MS)
            .iter()
            .map(|lying| lying.path.display().to_string())
            .collect();
        let stays = |days: u64| !gone.contains(&days.to_string());
        assert_eq!(daily.len() - gone.len(), 14 + 12, "the first of January lies 14 days back");
        assert!((0..14).all(stays));
        // Days since the first of January 2026, December, and February 2025 (by hand from the calendar).
        assert!(stays(14) && stays(45) && stays(348));
        assert!(
            !stays(15) && !stays(46) && !stays(379),
            "the first of January 2025 is older than twelve months"
        );
    }

    #[test]
    fn neither_the_one_just_made_nor_one_from_the_future_goes() {
        let mut all: Vec<Lying> = (1..5).rev().map(made).collect();
        let future = Lying { path: PathBuf::from("future"), made_ms: NOW_MS + 400 * DAY_MS, bytes: 1 };
        all.push(future);
        let gone = surplus(&all, &made(4).path, 1, NOW_MS);
        let gone: Vec<_> = gone.iter().map(|lying| lying.path.display().to_string()).collect();
        // The one of four days ago was just made by a clock that runs behind; it is also the month's first.
        assert_eq!(gone, ["3", "2"]);
        assert!(surplus(&all[..1], &all[0].path, 0, NOW_MS).is_empty());
    }
}
