//! Figures of one test: positions before and after, the wall step by step, frequency bands, states, recordings.

use storypole_drawing::Chart;
use storypole_drawing::chart::Bound;
use storypole_drawing::chart::bands::{BandCurve, Bands, Contour};
use storypole_drawing::chart::forest::{Forest, ForestRow};
use storypole_drawing::chart::positions::{Each, PositionRow, Positions};
use storypole_drawing::chart::stages::{StageRow, Stages as StagesChart};
use storypole_findings::bands::{BandChange, BandRating};
use storypole_findings::change::PositionChange;
use storypole_findings::quantity::{Measured, State};
use storypole_findings::set_finding::PositionLevel;
use storypole_findings::stages::{Stages, Step};
use storypole_findings::{Change, Estimate, Interval, Sense, SetFinding, TestFinding, print};
use storypole_notebook::matching::Parts;
use storypole_statistics::decibels::energy_mean;

use super::{Figures, Of, value};
use crate::document::Topic;
use crate::scope::Scope;
use crate::sections::numbers::{between, change as change_words, level_difference};
use crate::subject::ReadingHistory;

/// From so many walls on, a rebuild is shown step by step.
const FEWEST_STEPS: usize = 3;

pub(super) fn add(scope: &Scope<'_>, figures: &mut Figures) {
    for change in scope.headlines() {
        let test = scope.test_of(change.to.set).map(|test| test.test);
        let of = Of::Change(change.from.set, change.to.set);
        let pair = format!("{}-{}", change.from.label, change.to.label);
        if let Some(chart) = positions(scope, change) {
            let caption =
                format!("{} at each position, before and after: {}.", chart.quantity, between(change));
            figures.add(
                Topic::Results,
                test,
                of,
                &format!("positions-{pair}"),
                Chart::Positions(chart),
                caption,
            );
        }
        if let Some(chart) = change.bands.as_ref().and_then(|bands| of_bands(scope, change, bands)) {
            let caption =
                format!("Level difference by frequency band, before and after: {}.", between(change));
            figures.add(Topic::Results, test, of, &format!("bands-{pair}"), Chart::Bands(chart), caption);
        }
    }
    for (test, stages) in scope.stages.iter().filter(|(_, stages)| stages.steps.len() >= FEWEST_STEPS) {
        let Some(of) = scope.tests.iter().find(|one| one.test == *test) else { continue };
        if let Some(chart) = of_stages(scope, of, stages) {
            let unit = stages.unit.map(|unit| unit.to_string()).unwrap_or_default();
            let name = format!("stages-{}-{}-{unit}", of.label, stages.direction.words);
            let caption = format!("{}: the wall step by step, {}, {unit}.", of.label, stages.direction.words);
            figures.add(Topic::Results, Some(*test), Of::Test(*test), &name, Chart::Stages(chart), caption);
        }
    }
    for test in &scope.tests {
        let chart = of_bench(test).map(Chart::Forest).or_else(|| of_states(test).map(Chart::Stages));
        if let Some(chart) = chart {
            let (name, caption) = match chart {
                Chart::Forest(_) => {
                    ("fills", format!("{}: each fill against the first state of the panel.", test.label))
                }
                _ => ("states", format!("{}: the states in the order they were taken.", test.label)),
            };
            let name = format!("{name}-{}", test.label);
            figures.add(Topic::Results, Some(test.test), Of::Test(test.test), &name, chart, caption);
        }
    }
}

/// Recordings the caller hands over, of readings of these sets.
pub(super) fn add_histories(scope: &Scope<'_>, histories: &[ReadingHistory], figures: &mut Figures) {
    for one in histories {
        let Some(reading) = scope.readings().find(|reading| reading.id == one.reading) else { continue };
        let Some(set) = reading.set.and_then(|set| scope.set(set)) else { continue };
        let place = scope.book.positions.of(reading.position).and_then(|place| place.label.clone());
        let place = place.or_else(|| reading.role.clone()).unwrap_or_else(|| "one reading".to_owned());
        let name = format!("history-{}-{place}", set.label);
        let caption = format!("The recording of {}, {place}, second by second.", set.label);
        let chart = Chart::History(one.history.clone());
        figures.add(Topic::Results, set.test, Of::Test(one.reading), &name, chart, caption);
    }
}

/// What a set is called in a chart: `T05, after`.
pub(super) fn state_words(set: &SetFinding) -> String {
    match &set.stage {
        Some(stage) => format!("{}, {stage}", set.label),
        None => set.label.clone(),
    }
}

fn positions(scope: &Scope<'_>, change: &Change) -> Option<Positions> {
    let (before, after) = (scope.set(change.from.set)?, scope.set(change.to.set)?);
    let has_source = !change.receive_only;
    let rows: Vec<PositionRow> = rows(change, [before, after]);
    let levels = |of: fn(&PositionChange) -> f64| -> Vec<f64> { change.by_position.iter().map(of).collect() };
    let (first, second) = (levels(|place| place.before_db), levels(|place| place.after_db));
    let mean = |levels: &[f64]| energy_mean(levels).ok().map(|mean| turned(mean.mean_db, has_source));
    let (quantity, unit) = if has_source {
        (level_difference(change.unit), "dB".to_owned())
    } else {
        let unit = change.unit.map_or_else(|| "dB".to_owned(), |unit| unit.to_string());
        ("Level in the receiving room".to_owned(), unit)
    };
    (!rows.is_empty()).then(|| Positions {
        title: between(change),
        finding: change.sentence.clone(),
        quantity,
        unit,
        states: (state_words(before), state_words(after)),
        each: Each::Position,
        rows,
        average: (mean(&first), mean(&second)),
        average_bounds: bounds(change, [before, after]),
        more_is_better: has_source,
    })
}

/// A level less the source's as a level difference; without a source the level itself.
fn turned(level_db: f64, has_source: bool) -> f64 {
    if has_source { -level_db } else { level_db }
}

/// How the true numbers of both sets stand to those shown: where the room's own noise hid the sound they are only bounds.
fn bounds(change: &Change, sets: [&SetFinding; 2]) -> (Bound, Bound) {
    let senses = if change.receive_only {
        sets.map(|set| set.background.map(|background| background.sense()))
    } else {
        [change.before, change.after].map(|estimate| estimate.map(|estimate| estimate.bound))
    };
    let [before, after] = senses.map(|sense| match sense {
        Some(Sense::AtLeast) => Bound::AtLeast,
        Some(Sense::AtMost) => Bound::AtMost,
        _ => Bound::Exact,
    });
    (before, after)
}

/// The positions both sets have, as the change counts them, then those that one of them lacks.
fn rows(change: &Change, sets: [&SetFinding; 2]) -> Vec<PositionRow> {
    let has_source = !change.receive_only;
    let both = bounds(change, sets);
    let is_odd = |label: &str| change.odd.as_ref().is_some_and(|odd| odd.label == label);
    let shared = change.by_position.iter().map(|place| PositionRow {
        label: place.label.clone(),
        before: Some(turned(place.before_db, has_source)),
        after: Some(turned(place.after_db, has_source)),
        bounds: both,
        note: is_odd(&place.label).then(|| "far from the others: look twice".to_owned()),
    });
    let mut rows: Vec<PositionRow> = shared.collect();
    let [before, after] = sets;
    rows.extend(alone(before, after, has_source).map(|(label, value)| PositionRow {
        label,
        before: Some(value),
        bounds: both,
        note: Some(format!("not taken in {}", after.label)),
        ..PositionRow::default()
    }));
    rows.extend(alone(after, before, has_source).map(|(label, value)| PositionRow {
        label,
        after: Some(value),
        bounds: both,
        note: Some(format!("not taken in {}", before.label)),
        ..PositionRow::default()
    }));
    rows.sort_by_key(|row| natural(&row.label));
    rows
}

/// A label so that R2 stands before R10.
fn natural(label: &str) -> (String, u64, String) {
    let start = label.find(|letter: char| letter.is_ascii_digit()).unwrap_or(label.len());
    let digits: String = label[start..].chars().take_while(char::is_ascii_digit).collect();
    (label[..start].to_owned(), digits.parse().unwrap_or(0), label.to_owned())
}

/// Positions one set has and the other lacks, with what the rule makes of their levels by the correction of the whole set.
fn alone<'a>(
    set: &'a SetFinding,
    other: &'a SetFinding,
    has_source: bool,
) -> impl Iterator<Item = (String, f64)> + 'a {
    let source_db = set.source.as_ref().filter(|_| has_source).map_or(0.0, |side| side.mean_db);
    let off_db = set.background.map_or(0.0, |background| background.correction_db);
    let lacks = |place: &&PositionLevel| {
        let others = other.receive.iter().flat_map(|side| &side.positions);
        place.position.is_none() || others.into_iter().all(|one| one.position != place.position)
    };
    let places = set.receive.iter().flat_map(|side| &side.positions).filter(lacks);
    places.map(move |place| (place.label.clone(), turned(place.level_db - off_db - source_db, has_source)))
}

fn of_bands(scope: &Scope<'_>, change: &Change, bands: &BandChange) -> Option<Bands> {
    let curve = |set: &SetFinding, of: fn(&storypole_findings::bands::BandChangeRow) -> Estimate| BandCurve {
        label: state_words(set),
        values: bands.rows.iter().map(|row| Some(of(row).value).filter(|value| value.is_finite())).collect(),
        at_least: bands.rows.iter().map(|row| of(row).bound == Sense::AtLeast).collect(),
    };
    let centres_hz: Vec<f64> = bands.rows.iter().map(|row| row.band.nominal_hz()).collect();
    let rating = bands.ratings.first().map(|rating| &rating.after);
    (!centres_hz.is_empty()).then_some(())?;
    Some(Bands {
        title: between(change),
        finding: change.sentence.clone(),
        quantity: "Level difference".to_owned(),
        unit: "dB".to_owned(),
        before: Some(curve(scope.set(change.from.set)?, |row| row.before)),
        after: curve(scope.set(change.to.set)?, |row| row.after),
        contour: rating.map(|rating| contour(rating, &centres_hz)),
        centres_hz,
    })
}

fn contour(rating: &BandRating, centres_hz: &[f64]) -> Contour {
    let at =
        |hz: f64| rating.curve_db.iter().find(|(band, _)| band.nominal_hz() == hz).map(|(_, value)| *value);
    let decides = |hz: f64| rating.deciding.iter().any(|band| band.nominal_hz() == hz);
    Contour {
        label: rating.stated(),
        values: centres_hz.iter().map(|hz| at(*hz)).collect(),
        deciding: (0..centres_hz.len()).filter(|index| decides(centres_hz[*index])).collect(),
    }
}

/// The steps, with sets that are out of results in between.
fn of_stages(scope: &Scope<'_>, test: &TestFinding, stages: &Stages) -> Option<StagesChart> {
    let group = test
        .groups
        .iter()
        .find(|group| (&group.direction, group.unit) == (&stages.direction, stages.unit))?;
    let rows: Vec<StageRow> = group
        .sets
        .iter()
        .filter_map(|set| match stages.steps.iter().find(|step| step.set == set.set) {
            Some(step) => Some(step_row(step)),
            None if !set.is_in() => Some(StageRow {
                label: format!("{}, {}", set.label, set.assembly_label),
                value: None,
                step: None,
                note: Some(format!("out of results: {}", set.excluded.join("; "))),
            }),
            None => None,
        })
        .collect();
    let last = stages.steps.last()?;
    let whole =
        |change: &Change| format!("{} to {}: {}", change.from.label, change.to.label, change.sentence);
    let finding = last.to_first.as_ref().map_or_else(|| stages.words.clone(), whole);
    Some(StagesChart {
        title: format!("{}: step by step, {}", test.label, stages.direction.words),
        finding,
        quantity: level_difference(stages.unit),
        unit: "dB".to_owned(),
        rows,
        published: published(scope, last),
    })
}

fn step_row(step: &Step) -> StageRow {
    let stage = step.stage.as_deref().map_or_else(String::new, |stage| format!(", {stage}"));
    let parts: Vec<&str> = step.what_changed.iter().map(|part| part.part).collect();
    let added = step.to_before.as_ref().and_then(|change| change.value).map(|value| {
        let from = if parts.is_empty() { String::new() } else { format!(" from {}", print::list(&parts)) };
        format!("{}{from}", change_words(value))
    });
    let bound = step.level_difference.filter(|value| value.bound != Sense::Exact);
    StageRow {
        label: format!("{}, {}{stage}", step.label, step.assembly_label),
        value: step.level_difference.and_then(|estimate| value(estimate, None)),
        step: added,
        note: bound.map(|_| "the room's own noise hid the rest".to_owned()),
    }
}

/// The published range of the last wall, where it has no opening that the range leaves out.
fn published(scope: &Scope<'_>, last: &Step) -> Option<(f64, f64, String)> {
    let wall = scope.book.assemblies.of(last.assembly)?;
    let shares = storypole_findings::paths::path_shares(wall)?;
    let parts = Parts::of(wall).ok().filter(|_| shares.openings.is_empty())?;
    let range = storypole_findings::paths::wall_range(&parts)?;
    Some((range.low_db, range.high_db, range.source.to_owned()))
}

/// States of a panel against its first.
fn of_bench(test: &TestFinding) -> Option<Forest> {
    let bench = test.bench.as_ref()?;
    let rows = bench.rows.iter().filter_map(|row| {
        let apart = row.to_first.as_ref()?;
        let estimate = Estimate { value: apart.difference_db, bound: Sense::Exact };
        Some(ForestRow {
            label: format!("{} {}", row.label, row.fill),
            detail: format!("{} runs, mean {} dB", row.n, print::decimals(row.mean_db, 1)),
            value: value(estimate, apart.interval.as_ref())?,
            grade: None,
            weight: None,
            claimed: apart.told_apart,
        })
    });
    let rows: Vec<ForestRow> = rows.collect();
    let first = bench.rows.first()?;
    (!rows.is_empty()).then(|| Forest {
        title: format!("{}: against {} ({})", test.label, first.label, first.fill),
        finding: bench.sentences.first().cloned().unwrap_or_default(),
        quantity: "Change on the bench rig".to_owned(),
        is_change: true,
        unit: "dB".to_owned(),
        rows,
        average: None,
        next_job: None,
    })
}

/// States of another quantity than sound: the number the test asks for. A plain factor is shown in percent, for a scale that can be
/// read.
fn of_states(test: &TestFinding) -> Option<StagesChart> {
    let quantity = test.quantity.as_ref()?;
    let asked = quantity.states.iter().find_map(|state| state.values.first())?;
    // The sentence has the plain factor: the axis says what its hundred is.
    let (times, unit) = if asked.unit.is_empty() { (100.0, "% of 1") } else { (1.0, asked.unit) };
    let row = |state: &State| {
        let is_asked = |value: &&Measured| (&value.name, value.unit) == (&asked.name, asked.unit);
        let measured = state.values.iter().find(is_asked);
        let stage = state.stage.as_deref().map_or_else(String::new, |stage| format!(", {stage}"));
        let shown = measured.and_then(|of| {
            let interval =
                of.interval.map(|ends| Interval { low: ends.low * times, high: ends.high * times });
            value(Estimate { value: of.value? * times, bound: Sense::Exact }, interval.as_ref())
        });
        StageRow {
            label: format!("{}{stage}", state.label),
            note: measured.and_then(|of| of.absent).filter(|_| shown.is_none()).map(|why| why.to_string()),
            value: shown,
            step: None,
        }
    };
    let rows: Vec<StageRow> = quantity.states.iter().map(row).collect();
    let shown = rows.iter().filter(|row| row.value.is_some()).count();
    (shown > 1).then(|| StagesChart {
        title: format!("{}: {}", test.label, asked.name),
        finding: quantity.sentences.first().cloned().unwrap_or_default(),
        quantity: print::capital(&asked.name),
        unit: unit.to_owned(),
        rows,
        published: None,
    })
}

#[cfg(test)]
mod tests {
    use super::super::tests::figures;
    use super::*;
    use crate::fixture::{Fixture, demo, small};
    use crate::subject::Subject;

    fn chart(all: &Fixture, test: &str, name: &str) -> Chart {
        let found = figures(all, Subject::Test(all.id("test", test)));
        let names: Vec<String> = found.iter().map(|placed| placed.figure.name.clone()).collect();
        let one = found.into_iter().find(|placed| placed.figure.name == name);
        one.unwrap_or_else(|| panic!("{name}: {names:?}")).figure.chart
    }

    /// Source: the demo scenario, invented: T01 has a source mean of 94.26 by energy and 69.1 at R1; worked out outside of this
    /// program as 10 lg of the mean of powers.
    #[test]
    fn positions_are_freed_of_each_sets_own_source() {
        let Chart::Positions(chart) = chart(&demo(), "Q1", "positions-t01-t05") else { panic!() };
        assert_eq!((chart.rows.len(), chart.more_is_better, chart.unit.as_str()), (4, true, "dBA"));
        assert_eq!(print::decimals(chart.rows[0].before.unwrap(), 1), "25.2");
        assert_eq!(chart.states, ("T01, before".to_owned(), "T05, after".to_owned()));
        assert_eq!(chart.average.1.map(|value| print::decimals(value, 1)).as_deref(), Some("36.1"));
    }

    #[test]
    fn without_a_source_the_level_is_shown_and_less_is_better() {
        let mut all = small();
        for reading in ["T02/S1", "T02/S2", "T02/S3"] {
            all.strike("reading", reading, "the meter was off");
        }
        let Chart::Positions(chart) = chart(&all, "Q1", "positions-t01-t02") else { panic!() };
        assert_eq!((chart.more_is_better, chart.rows[0].before), (false, Some(57.5)));
    }

    #[test]
    fn a_position_taken_once_says_so() {
        let mut all = small();
        all.strike("reading", "T02/R4", "read twice");
        let Chart::Positions(chart) = chart(&all, "Q1", "positions-t01-t02") else { panic!() };
        assert_eq!((chart.rows[3].after, chart.rows[3].note.as_deref()), (None, Some("not taken in T02")));
        let alt = chart.draw(storypole_drawing::Room::SHEET, Default::default()).unwrap().alt;
        // By hand: 88.38 less 57.54, the mean by energy of 57.5, 56.8 and 58.2; R4 is in no average.
        assert!(alt.contains("; average of the 3 positions both have 30.8 then "), "{alt}");
    }

    /// Source: 10·lg(10^(L/10) − 10^(B/10)) by ISO 16283-1:2014, 9.2, worked out outside of this program with T02's levels of 53.6,
    /// 52.9, 54.3 and 53.4 over a background of 50 (R1: 51.11); 88.344 is their source by energy, and 36.8 what the mean gives.
    #[test]
    fn rows_and_average_rest_on_the_same_levels() {
        let mut all = small();
        all.change("reading", "T02/background", &[("value", "46.0 dBA")]);
        let Chart::Positions(chart) = chart(&all, "Q1", "positions-t01-t02") else { panic!() };
        let after: Vec<f64> = chart.rows.iter().filter_map(|row| row.after).collect();
        let power: f64 = after.iter().map(|value| 10_f64.powf(-value / 10.0)).sum();
        let mean = -10.0 * (power / after.len() as f64).log10();
        assert!((mean - chart.average.1.unwrap()).abs() < 1e-9, "{chart:?}");
        // By hand: R1 is 53.6 over 46.0, 0.83 dB are the background's: 88.34 less 52.77.
        assert_eq!(print::decimals(chart.rows[0].after.unwrap(), 1), "35.6");
        assert_eq!(chart.rows[0].bounds, (Bound::Exact, Bound::Exact));
    }

    /// Source: 2 dB off and a bound below 5 dB of margin, ASTM E336-20 as the notebook's rule takes it: 88.34 - (53.6 - 2) = 36.7.
    #[test]
    fn a_bound_is_shown_as_one_at_every_position() {
        let mut all = small();
        all.change("reading", "T02/background", &[("value", "50.0 dBA")]);
        let Chart::Positions(chart) = chart(&all, "Q1", "positions-t01-t02") else { panic!() };
        assert_eq!(print::decimals(chart.rows[0].after.unwrap(), 1), "36.7");
        assert_eq!(chart.average_bounds, (Bound::Exact, Bound::AtLeast));
        assert!(chart.rows.iter().all(|row| row.bounds == (Bound::Exact, Bound::AtLeast)));
        let alt = chart.draw(storypole_drawing::Room::SHEET, Default::default()).unwrap().alt;
        assert!(alt.contains("R1 30.9 then at least 36.7") && alt.contains("at least 36.8"), "{alt}");
        assert!(chart.finding.contains("At least"), "{}", chart.finding);
    }

    /// Source: the demo scenario, invented: T12 is out of results, its window was ajar.
    #[test]
    fn sets_out_of_results_stand_among_the_stages() {
        let Chart::Stages(chart) =
            chart(&demo(), "Q2", "stages-q2-unit-a-living-room-to-unit-b-living-room-dba")
        else {
            panic!()
        };
        let rows: Vec<(&str, bool)> =
            chart.rows.iter().map(|row| (row.label.as_str(), row.value.is_some())).collect();
        let expected = [
            ("T10, A05, before", true),
            ("T11, A06, after", true),
            ("T12, A07", false),
            ("T13, A07, repeat", true),
        ];
        assert_eq!(rows, expected);
        assert!(chart.rows[1].step.as_deref().is_some_and(|step| step.ends_with("from seals")));
        assert!(chart.published.is_some());
    }

    #[test]
    fn benches_and_other_quantities_have_a_figure() {
        let Chart::Forest(fills) = chart(&demo(), "Q5", "fills-q5") else { panic!() };
        assert_eq!(fills.rows.len(), 3);
        let Chart::Stages(states) = chart(&demo(), "Q7", "states-q7") else { panic!() };
        let shown: Vec<Option<String>> =
            states.rows.iter().map(|row| row.value.map(|value| print::decimals(value.value, 1))).collect();
        // Source: the demo scenario, invented: surface factors 0.543 and 0.752.
        assert_eq!(shown, [Some("54.3".to_owned()), Some("75.2".to_owned())]);
    }

    /// A recording of one reading is shown with its test; one of another test is not.
    #[test]
    fn recordings_stand_with_their_readings() {
        let all = demo();
        let history = storypole_drawing::chart::History {
            title: "T01, S1".into(),
            finding: "Steady.".into(),
            unit: "dBA".into(),
            levels: vec![Some(94.0), Some(94.2)],
            step_s: 1.0,
            cuts: vec![],
            average_db: Some(94.1),
            background_db: None,
        };
        let of =
            |reading: &str| ReadingHistory { reading: all.id("reading", reading), history: history.clone() };
        let scope = Scope::of(&all.book, Subject::Test(all.id("test", "Q1"))).unwrap();
        let mut figures = Figures::default();
        add_histories(&scope, &[of("T01/S1"), of("T10/S1")], &mut figures);
        assert_eq!(figures.names(), ["history-t01-s1"]);
    }
}
