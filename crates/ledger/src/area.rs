//! The area that jobs treated, and cost for each unit of it or for each decibel gained.
//!
//! Left out: net areas of boards and batts, and whether a change in decibels may be claimed.

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::Assembly;
use storypole_units::{Area, Decimal, Money};

/// One square foot, m²: the international foot of 0.3048 m, squared (agreement of 1959).
const M2_PER_FT2: (i128, u32) = (9_290_304, 8);

/// Adds up the walls, ceilings and floors that these jobs built or found, length x height, each surface once.
///
/// Versions of one surface count once, also across the jobs of a chain (wall rebuilt, then its door replaced).
/// Two versions are of one surface if one replaces the other, if they share a design, or if they are the same
/// kind of element of the same size between the same two rooms. The newest version that none of the others
/// replaces gives the size. Panels of a bench rig are no surface of a house and do not count. `None` where no
/// version with both sizes is known.
pub fn treated_area(book: &Book, jobs: &[RecordId]) -> Option<Area> {
    let is_of_jobs = |version: &&Assembly| version.job.is_some_and(|job| jobs.contains(&job));
    let is_surface = |version: &&Assembly| version.element.as_deref() != Some("panel");
    let versions: Vec<&Assembly> = book.assemblies.live().filter(is_of_jobs).filter(is_surface).collect();
    let mut total = None;
    for surface in surfaces(&versions) {
        let replaced = |version: &Assembly| surface.iter().any(|other| other.replaces == Some(version.id));
        let sized = surface.iter().filter_map(|version| Some((version, area_of(version)?)));
        let newest = sized.max_by_key(|(version, _)| (!replaced(version), version.since, version.id));
        let Some((_, area)) = newest else { continue };
        total = Some(total.unwrap_or(Area::ZERO).checked_add(area)?);
    }
    total
}

/// Cost of a square metre, rounded to the minor unit. `None` without an area.
pub fn per_m2(cost: Money, area: Area) -> Option<Money> {
    Some(cost.divided_by(square_metres(area)?).ok()?.rounded())
}

/// Cost of a square foot, rounded to the minor unit. `None` without an area.
pub fn per_ft2(cost: Money, area: Area) -> Option<Money> {
    let (mantissa, scale) = M2_PER_FT2;
    let m2_per_ft2 = Decimal::from_parts(mantissa, scale).expect("seven digits");
    Some(cost.times(m2_per_ft2).ok()?.divided_by(square_metres(area)?).ok()?.rounded())
}

/// Cost of a decibel gained, rounded to the minor unit: a teaching line, never a ranking.
///
/// `claimed_change_db` is the change in dB where it may be claimed, and `None` where it may not: then there is
/// no cost either. It counts as printed, to one decimal, so that a reader can check the division. A change that
/// prints as zero or less gives no cost, and neither does a job that nothing is booked to.
pub fn per_db(cost: Money, claimed_change_db: Option<f64>) -> Option<Money> {
    let change_db = Decimal::from_f64_rounded(claimed_change_db?, 1)?;
    if change_db <= Decimal::ZERO || cost.amount == Decimal::ZERO {
        return None;
    }
    Some(cost.divided_by(change_db).ok()?.rounded())
}

fn area_of(version: &Assembly) -> Option<Area> {
    let area = Area::of(version.length?, version.height?);
    (area > Area::ZERO).then_some(area)
}

fn square_metres(area: Area) -> Option<Decimal> {
    Decimal::from_parts(area.nm2(), 18).ok()
}

/// Groups versions by the surface they are of, in the order of each surface's oldest version.
fn surfaces<'a>(versions: &[&'a Assembly]) -> Vec<Vec<&'a Assembly>> {
    // The group of each version: the index of a version that stands for it.
    let mut group: Vec<usize> = (0..versions.len()).collect();
    let mut seen: BTreeMap<Sign, usize> = BTreeMap::new();
    for (index, version) in versions.iter().enumerate() {
        for sign in signs(version) {
            let other = *seen.entry(sign).or_insert(index);
            let (kept, joined) = (root(&group, other), root(&group, index));
            group[kept.max(joined)] = kept.min(joined);
        }
    }
    let mut surfaces: BTreeMap<usize, Vec<&Assembly>> = BTreeMap::new();
    for (index, version) in versions.iter().enumerate() {
        surfaces.entry(root(&group, index)).or_default().push(version);
    }
    surfaces.into_values().collect()
}

fn root(group: &[usize], mut index: usize) -> usize {
    while group[index] != index {
        index = group[index];
    }
    index
}

/// What two versions of one surface have in common.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Sign {
    Version(RecordId),
    Design(String),
    Between { rooms: [RecordId; 2], element: Option<String>, size_nm: (i64, i64) },
}

fn signs(version: &Assembly) -> impl Iterator<Item = Sign> {
    let between = || {
        let mut rooms = [version.room_a?, version.room_b?];
        rooms.sort_unstable();
        let size_nm = (version.length?.nm(), version.height?.nm());
        Some(Sign::Between { rooms, element: version.element.clone(), size_nm })
    };
    let versions = [Some(version.id), version.replaces].into_iter().flatten().map(Sign::Version);
    versions.chain(version.design.clone().map(Sign::Design)).chain(between())
}

#[cfg(test)]
mod tests {
    use storypole_units::Currency;

    use super::*;
    use crate::fixture::scenario;

    fn dollars(text: &str) -> Money {
        Money::parse_in(text, Currency::parse("USD").unwrap()).unwrap()
    }

    /// Source: walls of the demo scenario, invented, inches by hand: 150 x 97.125 / 144 = 101.17 ft2 and so on;
    /// 1 ft2 = 0.09290304 m2.
    #[test]
    fn each_surface_counts_once() {
        let all = scenario();
        let cases: [(&[&str], &str, &str); 6] = [
            (&["J1"], "101.17", "9.399"),
            (&["J2"], "101.17", "9.399"),
            (&["J1", "J2"], "101.17", "9.399"),
            (&["J3"], "159.18", "14.788"),
            (&["J4"], "89.03", "8.271"),
            (&["J5"], "67.45", "6.266"),
        ];
        for (jobs, ft2, m2) in cases {
            let jobs: Vec<RecordId> = jobs.iter().map(|job| all.id("job", job)).collect();
            let area = treated_area(&all.book, &jobs).unwrap();
            assert_eq!((format!("{:.2}", area.ft2()), format!("{:.3}", area.m2())), (ft2.into(), m2.into()));
        }
        assert_eq!(treated_area(&all.book, &[all.id("job", "J7")]), None);
        assert_eq!(
            treated_area(&all.book, &[all.id("job", "J6")]),
            None,
            "bench panels are no wall of a house"
        );
    }

    #[test]
    fn a_longer_rebuild_gives_the_size_and_another_wall_adds() {
        let mut all = scenario();
        all.change("assembly", "A12", &[("length", "120 in")]);
        let j5 = all.id("job", "J5");
        assert_eq!(treated_area(&all.book, &[j5]).unwrap().ft2(), 120.0 * 97.125 / 144.0);
        let side = [("job", "J5"), ("length", "36 in"), ("height", "96 in")];
        all.put("assembly", "A17", &side);
        assert_eq!(treated_area(&all.book, &[j5]).unwrap().ft2(), 120.0 * 97.125 / 144.0 + 24.0);
        all.strike("assembly", "A17");
        assert_eq!(treated_area(&all.book, &[j5]).unwrap().ft2(), 120.0 * 97.125 / 144.0);
    }

    /// Each expected value by hand: cost / (inches / 144), cost / m2, cost / dB.
    #[test]
    fn costs_per_unit() {
        let wall = Area::parse("101.171875 ft2").unwrap();
        assert_eq!(per_ft2(dollars("2705.90"), wall), Some(dollars("26.75")));
        assert_eq!(per_m2(dollars("2705.90"), wall), Some(dollars("287.89")));
        assert_eq!(per_m2(dollars("2705.90"), Area::ZERO), None);
        assert_eq!(per_db(dollars("2705.90"), Some(11.2)), Some(dollars("241.60")));
        assert_eq!(per_db(dollars("1580.92"), Some(5.9)), Some(dollars("267.95")));
        assert_eq!(per_db(dollars("880.67"), Some(6.7)), Some(dollars("131.44")));
    }

    #[test]
    fn a_change_that_is_not_claimed_has_no_cost() {
        let cost = dollars("507.44");
        for change_db in [None, Some(0.0), Some(0.04), Some(-3.0), Some(f64::NAN), Some(f64::INFINITY)] {
            assert_eq!(per_db(cost, change_db), None, "{change_db:?}");
        }
    }
}
