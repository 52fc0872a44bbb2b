//! What jobs paid for lines of receipts, by cost group and by division number.
//!
//! The numbers are tags on lines and materials, with their two digits only. Left out: labour and goods moved between
//! jobs, which no line pays (see [`crate::job`]), and any finer section of a division.

use std::collections::{BTreeMap, BTreeSet};

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{COST_GROUPS, Line};
use storypole_units::{Decimal, Money};

use crate::amount;
use crate::receipt::receipt_sums;

/// Numbers and titles of the divisions.
///
/// # Source
/// Numbers and titles as commonly used for tags in the building trade of North America, from public lists of them.
const DIVISIONS: &[(&str, &str)] = &[
    ("00", "Procurement and Contracting"),
    ("01", "General Requirements"),
    ("02", "Existing Conditions"),
    ("03", "Concrete"),
    ("04", "Masonry"),
    ("05", "Metals"),
    ("06", "Wood, Plastics, Composites"),
    ("07", "Thermal and Moisture Protection"),
    ("08", "Openings"),
    ("09", "Finishes"),
    ("10", "Specialties"),
    ("11", "Equipment"),
    ("12", "Furnishings"),
    ("13", "Special Construction"),
    ("14", "Conveying"),
    ("21", "Fire Suppression"),
    ("22", "Plumbing"),
    ("23", "HVAC"),
    ("25", "Integrated Automation"),
    ("26", "Electrical"),
    ("27", "Communications"),
    ("28", "Electronic Safety and Security"),
    ("31", "Earthwork"),
    ("32", "Exterior Improvements"),
    ("33", "Utilities"),
];

/// What was paid for one division, with tax.
#[derive(Debug, Clone, PartialEq)]
pub struct DivisionSum {
    /// Its number, of two digits. `None` for lines that name none.
    pub division: Option<String>,
    /// Its title. `None` where the number has none, or none is named.
    pub title: Option<&'static str>,
    /// Lines with their share of the tax, returns taken off.
    pub amount: Money,
}

/// What was paid for one cost group, with tax.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupSum {
    /// Its name. A line without a group is material.
    pub group: String,
    /// Lines with their share of the tax, returns taken off.
    pub amount: Money,
}

/// Returns the title of a division by its number.
pub fn division_title(number: &str) -> Option<&'static str> {
    DIVISIONS.iter().find(|(known, _)| *known == number).map(|(_, title)| *title)
}

/// Adds up what these jobs paid by division, ordered by number; lines without one come last.
///
/// A line's division is its own, else its material's. All sums together are what the jobs paid for lines of receipts, to
/// the cent.
pub fn by_division(book: &Book, jobs: &[RecordId]) -> Vec<DivisionSum> {
    // None would stand first, and what names no division is listed behind those that do.
    let key = |line: &Line| {
        let number = division(book, line);
        (number.is_none(), number)
    };
    let sum = |((_, division), amount): ((bool, Option<String>), Money)| DivisionSum {
        title: division.as_deref().and_then(division_title),
        division,
        amount,
    };
    paid_by(book, jobs, key).into_iter().map(sum).collect()
}

/// Adds up what these jobs paid by cost group, in the order in which groups are listed.
///
/// All sums together are what the jobs paid for lines of receipts, to the cent.
pub fn by_group(book: &Book, jobs: &[RecordId]) -> Vec<GroupSum> {
    let key = |line: &Line| {
        let group = line.cost_group.as_deref().unwrap_or("material");
        let place = COST_GROUPS.iter().position(|known| *known == group).unwrap_or(COST_GROUPS.len());
        (place, group.to_owned())
    };
    let sums = paid_by(book, jobs, key).into_iter();
    sums.map(|((_, group), amount)| GroupSum { group, amount }).collect()
}

fn paid_by<K: Ord>(book: &Book, jobs: &[RecordId], key: impl Fn(&Line) -> K) -> BTreeMap<K, Money> {
    let jobs: BTreeSet<RecordId> = jobs.iter().copied().collect();
    let mut sums: BTreeMap<K, Decimal> = BTreeMap::new();
    for paid in receipt_sums(book).into_iter().flat_map(|sum| sum.lines) {
        if !paid.job.is_some_and(|job| jobs.contains(&job)) {
            continue;
        }
        let Some(line) = book.lines.get(paid.line) else { continue };
        let sum = sums.entry(key(line)).or_default();
        *sum = *sum + paid.amount() + paid.tax.amount;
    }
    let money = |(key, sum)| (key, amount::summed(sum, book.currency()));
    sums.into_iter().map(money).collect()
}

fn division(book: &Book, line: &Line) -> Option<String> {
    let of_material = || book.materials.of(line.material)?.division.as_deref();
    let number = line.division.as_deref().or_else(of_material)?.trim();
    // A spreadsheet drops the zero in front.
    (!number.is_empty()).then(|| format!("{number:0>2}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Fixture, scenario};
    use crate::job::all_jobs;

    fn ids(all: &Fixture, jobs: &[&str]) -> Vec<RecordId> {
        jobs.iter().map(|job| all.id("job", job)).collect()
    }

    fn divisions(all: &Fixture, jobs: &[&str]) -> Vec<String> {
        let told = |sum: DivisionSum| {
            format!("{} {}", sum.division.as_deref().unwrap_or("none"), sum.amount.amount_text())
        };
        by_division(&all.book, &ids(all, jobs)).into_iter().map(told).collect()
    }

    const ALL: [&str; 8] = ["J1", "J2", "J3", "J4", "J5", "J6", "J7", "J8"];

    /// Source: the demo scenario's receipts with their divisions, invented. J1 by hand at 6.5 %: P02 runs 124.80, 267.60,
    /// 309.30, 337.05, 354.25, with tax up to it 8.11, 17.39, 20.10, 21.91, 23.03.
    #[test]
    fn divisions_of_the_scenario() {
        let all = scenario();
        // 124.80 + 8.11 + 27.75 + 1.81; 142.80 + 9.28 + 41.70 + 2.71 + 17.20 + 1.12; disposal and electrician.
        assert_eq!(divisions(&all, &["J1"]), ["07 162.47", "09 214.81", "none 358.00"]);
        assert_eq!(divisions(&all, &["J2"]), ["08 321.10"]);
        // The blower is tagged itself, the rest by its material.
        assert_eq!(divisions(&all, &["J4"])[0], "01 90.53");
        let everything: Decimal =
            by_division(&all.book, &ids(&all, &ALL)).iter().map(|sum| sum.amount.amount).sum();
        assert_eq!(everything.to_string(), "2392.97");
    }

    #[test]
    fn a_line_says_more_than_its_material() {
        let mut all = scenario();
        all.change("line", "P05/slab", &[("division", "6")]);
        assert_eq!(divisions(&all, &["J2"]), ["06 201.29", "08 119.81"]);
        all.change("line", "P05/slab", &[("division", "99")]);
        let sums = by_division(&all.book, &ids(&all, &["J2"]));
        assert_eq!((sums[0].title, sums[1].title), (Some("Openings"), None), "a number without a title");
    }

    /// Source: the demo scenario's job table, invented: material 1799.44, rental 90.53, fees 145 + 38 + 320 = 503.00.
    #[test]
    fn cost_groups_of_the_scenario() {
        let all = scenario();
        let sums = by_group(&all.book, &ids(&all, &ALL));
        let told: Vec<String> = sums.iter().map(|sum| format!("{} {}", sum.group, sum.amount)).collect();
        assert_eq!(
            told,
            [
                "material 1799.44 USD",
                "rental 90.53 USD",
                "subcontract 320.00 USD",
                "permit 145.00 USD",
                "disposal 38.00 USD"
            ]
        );
        let paid: Decimal = sums.iter().map(|sum| sum.amount.amount).sum();
        let table = all_jobs(&all.book).sum;
        assert_eq!(paid, table.total.amount - table.labour.amount);
    }

    /// Source: public lists of the numbered divisions, in which 07 is thermal and moisture protection and 15 is not used.
    #[test]
    fn divisions_are_told_apart_by_two_digits() {
        assert!(DIVISIONS.iter().all(|(number, _)| number.len() == 2 && number.parse::<u8>().is_ok()));
        assert!(DIVISIONS.is_sorted_by(|one, next| one.0 < next.0));
        assert_eq!(
            (division_title("07"), division_title("15")),
            (Some("Thermal and Moisture Protection"), None)
        );
    }
}
