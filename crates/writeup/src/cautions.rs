//! Cautions: when one is shown, what it says, and who says so.
//!
//! A caution tells what can hurt someone and whom to ask. It never tells that something may be done without harm, and its
//! absence tells nothing: the list is short, and it knows only what is written down. Leaves out acknowledgements.

use std::collections::BTreeSet;

use storypole_journal::RecordId;
use storypole_notebook::Unit;
use storypole_notebook::assembly::{Opening, Openings};
use storypole_notebook::kinds::Assembly;
use storypole_notebook::matching::Parts;

use crate::document::Caution;
use crate::scope::Scope;

/// How every caution ends.
pub const ASK: &str = "Ask your local building department or a licensed trade.";

/// One caution of the table.
pub struct CautionRule {
    /// Its name, the one an acknowledgement gives.
    pub name: &'static str,
    /// What it is about.
    pub subject: &'static str,
    /// What to mind.
    pub text: &'static str,
    /// Who says so, with edition or year.
    pub source: &'static str,
    /// The facts that show it; `None` where they are not met.
    applies: fn(&Scope<'_>) -> Option<String>,
}

/// Every caution known here, in the order they are shown.
pub fn caution_rules() -> &'static [CautionRule] {
    RULES
}

/// Cautions whose condition is met.
pub(crate) fn shown(scope: &Scope<'_>) -> Vec<Caution> {
    let caution = |rule: &CautionRule| {
        let facts = (rule.applies)(scope)?;
        let text = format!("{} {ASK}", rule.text);
        Some(Caution { name: rule.name, subject: rule.subject, facts, text, source: rule.source })
    };
    RULES.iter().filter_map(caution).collect()
}

const RULES: &[CautionRule] = &[
    CautionRule {
        name: "noise",
        subject: "Loud test sound",
        text: "Sound this loud wears hearing down. The recommended limit is 85 dBA over 8 hours in a day, and every 3 dB more halves \
               the time: 94 dBA for 1 hour, 100 dBA for 15 minutes. Wear hearing protection, keep everyone else out, and warn \
               neighbours first.",
        source: "NIOSH publication 98-126, 1998",
        applies: noise,
    },
    CautionRule {
        name: "combustion-air",
        subject: "Air for a burner",
        text: "A burner may take its air through louvres, a grille or the gap below a door. Never close or cover them to gain quiet: \
               carbon monoxide kills without a smell. Have the air supply checked, and keep a working carbon monoxide alarm.",
        source: "air for combustion in the national fuel gas code, NFPA 54, from memory, edition not checked",
        applies: combustion_air,
    },
    CautionRule {
        name: "dwellings",
        subject: "Wall between dwellings",
        text: "A wall between dwellings usually has to hold back fire as well as sound. Make no new holes in it, keep listed parts as \
               they were found, and have every opening through it closed with a listed system. Work on it and testing through it \
               need the neighbour's consent.",
        source: "sections R302.3 and R302.4 of the International Residential Code, from memory, edition not checked",
        applies: dwellings,
    },
    CautionRule {
        name: "boxes",
        subject: "Electrical boxes",
        text: "Boxes that are opened, moved or extended hold live parts. The circuit has to be off and proven dead, by a licensed person \
               where that is required. No box may end up buried, and its front has to come up to the new surface.",
        source: "article 314 of the National Electrical Code, NFPA 70, from memory, edition not checked",
        applies: boxes,
    },
    CautionRule {
        name: "lead",
        subject: "Old paint",
        text: "Paint in houses built before 1978 may hold lead. Have it tested before it is disturbed; no open flame, no sander without \
               capture; keep children and food away. Where someone is paid to disturb it, United States rules ask for trained \
               people and a certified firm.",
        source: "United States EPA, 40 CFR 745 subpart E, 2008",
        applies: old_house,
    },
    CautionRule {
        name: "asbestos",
        subject: "Old building material",
        text: "Texture, joint compound, tile, vermiculite and pipe wrap of older houses may hold asbestos, which nobody can tell by \
               eye. Leave what is whole alone, and have a trained person take samples before anything is cut or torn out.",
        source: "United States EPA advice to owners of older houses, second hand, year not checked",
        applies: old_house,
    },
    CautionRule {
        name: "fibre",
        subject: "Mineral fibre",
        text: "Glass and stone fibres make skin, eyes and airways itch and sting for a while. Wear gloves, long sleeves, eye protection \
               and a suitable respirator, and take dust up with a vacuum or a damp cloth, not a dry broom.",
        source: "United States ATSDR fact sheet on synthetic vitreous fibers, 2004, year from memory",
        applies: fibre,
    },
];

/// Level from which the recommended limit counts, dBA. NIOSH publication 98-126.
const LOUD_DBA: f64 = 85.0;
/// Before this year paint may hold lead: 40 CFR 745.103, target housing.
const OLD_BEFORE: i64 = 1978;

/// The time a day after which the recommended limit of exposure is reached, `480/2^((L - 85)/3)`.
///
/// # Units and shape
/// `level_dba` in dBA, finite; minutes. Defined from 80 dBA up by the source; lower levels give more than a day.
///
/// # Source
/// NIOSH publication 98-126, 1998, section 1.1: 85 dBA over 8 h, exchange rate 3 dB.
pub fn recommended_minutes(level_dba: f64) -> f64 {
    480.0 / 2f64.powf((level_dba - LOUD_DBA) / 3.0)
}

fn noise(scope: &Scope<'_>) -> Option<String> {
    let sources = scope
        .readings()
        .filter(|reading| reading.role.as_deref() == Some("source") && reading.meta.struck.is_none());
    let levels = sources.filter_map(|reading| reading.value).filter(|value| value.unit() == Unit::DbA);
    let loudest = levels.max_by_key(|value| value.number()).filter(|value| value.to_f64() >= LOUD_DBA)?;
    let minutes = recommended_minutes(loudest.to_f64()).floor();
    let time = if minutes < 1.0 { "under a minute".to_owned() } else { format!("about {minutes} minutes") };
    Some(format!(
        "The source room was read at up to {loudest}, where the recommended daily limit is reached after {time}."
    ))
}

fn combustion_air(scope: &Scope<'_>) -> Option<String> {
    let is_louvred = |opening: &Opening| match opening {
        Opening::Hole { kind, slab, .. } => kind == "grille" || slab.contains("louv"),
        Opening::Boxes { .. } => false,
    };
    let louvred: Vec<String> = scope
        .assemblies
        .iter()
        .filter(|one| openings(one).iter().any(is_louvred))
        .map(|one| one.label.clone().unwrap_or_else(|| "an assembly".to_owned()))
        .collect();
    let burner = BURNERS.iter().find(|burner| says(scope, burner));
    match (louvred.is_empty(), burner) {
        (false, Some(burner)) => {
            Some(format!("Louvres or a grille in {}, and the notes name a {burner}.", louvred.join(", ")))
        }
        (false, None) => Some(format!("Louvres or a grille in {}.", louvred.join(", "))),
        (true, Some(burner)) => Some(format!("The notes name a {burner}.")),
        (true, None) => None,
    }
}

/// Words for what burns fuel.
const BURNERS: &[&str] = &["water heater", "furnace", "boiler", "fireplace", "gas stove", "wood stove"];
/// Words for a wall between dwellings.
const PARTY_WALLS: &[&str] = &["party wall", "between dwellings"];

fn dwellings(scope: &Scope<'_>) -> Option<String> {
    for one in &scope.assemblies {
        let units = [one.room_a, one.room_b].map(|room| scope.room_name(room).and_then(unit_of));
        if let [Some(first), Some(second)] = units
            && first != second
        {
            let label = one.label.clone().unwrap_or_else(|| "An assembly".to_owned());
            return Some(format!("{label} stands between unit {first} and unit {second}."));
        }
    }
    let words = PARTY_WALLS.iter().find(|words| says(scope, words))?;
    Some(format!("The notes say \"{words}\"."))
}

/// The dwelling a room's name puts it in: `a` for `unit A living room`.
fn unit_of(room: &str) -> Option<String> {
    let mut words = room.split_whitespace().map(str::to_lowercase);
    words.find(|word| matches!(word.as_str(), "unit" | "apartment" | "flat"))?;
    words.next()
}

fn boxes(scope: &Scope<'_>) -> Option<String> {
    let of = |one: &Assembly| -> Vec<Opening> {
        openings(one).into_iter().filter(|opening| matches!(opening, Opening::Boxes { .. })).collect()
    };
    let moved = scope
        .assemblies
        .iter()
        .find(|one| scope.book.assemblies.of(one.replaces).is_some_and(|before| of(before) != of(one)))?;
    let label = |one: Option<&Assembly>| one.and_then(|one| one.label.clone()).unwrap_or_default();
    let before = label(scope.book.assemblies.of(moved.replaces));
    Some(format!("The boxes of {} are not those of {before}.", label(Some(moved))))
}

fn old_house(scope: &Scope<'_>) -> Option<String> {
    if scope.is_bench() {
        return None;
    }
    let of_rooms = scope.sets().flat_map(|set| [set.direction.from, set.direction.to]);
    let of_rooms = of_rooms.filter_map(|room| scope.book.rooms.of(room)?.site);
    let sites: BTreeSet<RecordId> = scope.jobs.iter().filter_map(|job| job.site).chain(of_rooms).collect();
    let years: Vec<Option<i64>> = sites.iter().map(|site| scope.book.sites.get(*site)?.built_year).collect();
    match years.iter().flatten().min() {
        Some(year) if *year < OLD_BEFORE => Some(format!("The house was built in {year}.")),
        Some(_) if years.iter().all(Option::is_some) => None,
        _ => Some("The year the house was built is not written down.".to_owned()),
    }
}

fn fibre(scope: &Scope<'_>) -> Option<String> {
    let has_fibre = |one: &&&Assembly| {
        let fill = Parts::of(one).ok().and_then(|parts| parts.fill().map(|fill| fill.kind.clone()));
        fill.is_some_and(|kind| matches!(kind.as_str(), "glass fibre" | "stone wool"))
    };
    let labels: Vec<String> =
        scope.assemblies.iter().filter(has_fibre).map(|one| one.label.clone().unwrap_or_default()).collect();
    (!labels.is_empty()).then(|| format!("Glass fibre or stone wool is in {}.", labels.join(", ")))
}

/// Openings that can be read.
fn openings(one: &Assembly) -> Vec<Opening> {
    let text = one.openings.as_deref().unwrap_or("unknown");
    match Openings::parse(text) {
        Ok(Openings::List(list)) => list,
        Ok(Openings::None | Openings::Unknown) | Err(_) => Vec::new(),
    }
}

/// Whether jobs, assemblies or tests in question say these words.
fn says(scope: &Scope<'_>, words: &str) -> bool {
    let jobs = scope.jobs.iter().flat_map(|job| [&job.title, &job.goal, &job.note]);
    let assemblies = scope.assemblies.iter().map(|one| &one.note);
    let tests = scope.test_records().flat_map(|test| [&test.question, &test.method, &test.note]);
    jobs.chain(assemblies).chain(tests).flatten().any(|text| text.to_lowercase().contains(words))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Fixture, demo, small};
    use crate::subject::Subject;

    fn names(all: &Fixture, test: &str) -> Vec<&'static str> {
        let scope = Scope::of(&all.book, Subject::Test(all.id("test", test))).unwrap();
        shown(&scope).iter().map(|caution| caution.name).collect()
    }

    /// Source: NIOSH publication 98-126, table 1-1 (durations for levels from 85 to 100 dBA), from memory.
    #[test]
    fn exposure_times_are_the_published_ones() {
        for (level_dba, minutes) in
            [(85.0, 480.0), (88.0, 240.0), (91.0, 120.0), (94.0, 60.0), (97.0, 30.0), (100.0, 15.0)]
        {
            assert!((recommended_minutes(level_dba) - minutes).abs() < 1e-9, "{level_dba}");
        }
    }

    #[test]
    fn cautions_ask_and_never_promise() {
        for rule in caution_rules() {
            let all = format!("{} {} {}", rule.subject, rule.text, rule.source).to_lowercase();
            for word in all.split(|letter: char| !letter.is_alphabetic()) {
                assert!(!matches!(word, "safe" | "safely" | "compliant" | "rated"), "{}: {word}", rule.name);
            }
            assert!(!rule.source.is_empty() && rule.text.ends_with('.'), "{}", rule.name);
        }
        let all = demo();
        let scope = Scope::of(&all.book, Subject::Test(all.id("test", "Q1"))).unwrap();
        assert!(shown(&scope).iter().all(|caution| caution.text.ends_with(ASK)));
    }

    /// Source: the demo scenario, invented.
    #[test]
    fn each_job_shows_what_applies() {
        let all = demo();
        assert_eq!(names(&all, "Q1"), ["noise", "boxes", "lead", "asbestos", "fibre"]);
        assert_eq!(names(&all, "Q2"), ["noise", "dwellings", "fibre"]);
        assert_eq!(names(&all, "Q4"), ["noise", "combustion-air", "fibre"]);
        assert_eq!(names(&all, "Q5"), ["fibre"]);
        assert_eq!(names(&all, "Q7"), ["lead", "asbestos"]);
    }

    #[test]
    fn conditions_turn_on_their_facts() {
        let mut all = small();
        assert_eq!(names(&all, "Q1"), ["noise"]);
        for reading in ["T01/S1", "T01/S2", "T01/S3", "T02/S1", "T02/S2", "T02/S3"] {
            all.change("reading", reading, &[("value", "84.9 dBA")]);
        }
        assert_eq!(names(&all, "Q1"), [] as [&str; 0]);
        all.change("reading", "T01/S1", &[("value", "85.0 dBA")]);
        assert_eq!(names(&all, "Q1"), ["noise"]);
        all.change("site", "S1", &[("built_year", "1977")]);
        assert_eq!(names(&all, "Q1"), ["noise", "lead", "asbestos"]);
        all.clear("site", "S1", "built_year");
        assert_eq!(names(&all, "Q1"), ["noise", "lead", "asbestos"]);
        all.change("site", "S1", &[("built_year", "1978")]);
        all.change("job", "J1", &[("note", "The boiler stays.")]);
        assert_eq!(names(&all, "Q1"), ["noise", "combustion-air"]);
    }
}
