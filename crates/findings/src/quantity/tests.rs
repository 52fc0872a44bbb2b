//! Checks of the frame and of every quantity, against values computed independently with numpy 2.4 and scipy 1.17: a script of
//! its own that takes the readings below and nothing of this project.

mod air;
mod heat;

use storypole_notebook::Meta;

use super::*;
use crate::fixture::{self, Builder};
use crate::flags::Effect;
use crate::grade::Letter;
use crate::print;

/// A reading: subject, value, repeat number, position, moment; empty where there is none.
type Row<'a> = (&'a str, &'a str, &'a str, &'a str, &'a str);

/// A set: label, stage, day, assembly.
type SetOf<'a> = (&'a str, &'a str, &'a str, &'a str);

const BEFORE: SetOf<'static> = ("S1", "before", "2025-02-08", "A15");
const AFTER: SetOf<'static> = ("S2", "after", "2025-02-22", "A16");

fn test(measures: &str) -> Builder {
    let mut builder = Builder::default();
    builder.put("test", "X1", &[("question", "X1"), ("measures", measures), ("job", "job:J8")]);
    builder.put("job", "J8", &[("title", "J8"), ("site", "site:H1")]);
    builder
}

fn set(builder: &mut Builder, (label, stage, date, assembly): SetOf<'_>, rows: &[Row<'_>]) {
    let assembly = format!("assembly:{assembly}");
    let fields =
        [("test", "test:X1"), ("job", "job:J8"), ("stage", stage), ("date", date), ("assembly", &assembly)];
    builder.put("set", label, &fields);
    for (index, (subject, value, replicate, position, taken_at)) in rows.iter().enumerate() {
        let (set, place) = (format!("set:{label}"), format!("position:X1/{position}"));
        let mut fields = vec![("set", set.as_str()), ("role", "direct"), ("value", value)];
        for (field, text) in [("subject", subject), ("replicate", replicate), ("taken_at", taken_at)] {
            fields.extend((!text.is_empty()).then_some((field, *text)));
        }
        if !position.is_empty() {
            builder.put("position", &format!("X1/{position}"), &[("test", "test:X1")]);
            fields.push(("position", &place));
        }
        builder.put("reading", &format!("{label}/{index}"), &fields);
    }
}

fn find(builder: &Builder) -> QuantityFinding {
    crate::test_finding(&builder.book, fixture::id("test", "X1")).unwrap().quantity.unwrap()
}

#[track_caller]
fn close(got: Option<f64>, expected: f64) {
    let got = got.expect("a number");
    assert!((got - expected).abs() <= 1e-7 * expected.abs().max(1e-3), "{got} instead of {expected}");
}

#[track_caller]
fn ends(interval: Option<Interval>, (low, high): (f64, f64)) {
    close(interval.map(|interval| interval.low), low);
    close(interval.map(|interval| interval.high), high);
}

fn flags(finding: &QuantityFinding) -> Vec<&'static str> {
    finding.flags.iter().map(|odd| odd.flag.name()).collect()
}

/// Pressures and flows with repeat numbers from one, as rows.
fn fan(pressure_pa: &[&str], flow: &[&str]) -> Vec<[String; 3]> {
    let numbered = |subject: &str, unit: &str, values: &[&str]| -> Vec<[String; 3]> {
        let row = |(index, value): (usize, &&str)| {
            [subject.to_owned(), format!("{value} {unit}"), (index + 1).to_string()]
        };
        values.iter().enumerate().map(row).collect()
    };
    [numbered("pressure", "Pa", pressure_pa), numbered("flow", "m3/h", flow)].concat()
}

fn fan_set(builder: &mut Builder, of: SetOf<'_>, pressure_pa: &[&str], flow: &[&str], more: &[Row<'_>]) {
    let rows = fan(pressure_pa, flow);
    let rows: Vec<Row<'_>> =
        rows.iter().map(|row| (row[0].as_str(), row[1].as_str(), row[2].as_str(), "", "")).collect();
    set(builder, of, &[&rows, more].concat());
}

const PA: [&str; 6] = ["10", "20", "30", "40", "50", "60"];
const BEFORE_M3_H: [&str; 6] = ["237", "364", "444", "625", "688", "704"];
const AFTER_M3_H: [&str; 6] = ["170", "255", "330", "420", "470", "500"];

fn leakage() -> Builder {
    let mut builder = test("air-leakage");
    builder.put("site", "H1", &[("name", "H1"), ("volume_m3", "300"), ("envelope_m2", "250")]);
    fan_set(&mut builder, BEFORE, &PA, &BEFORE_M3_H, &[]);
    fan_set(&mut builder, AFTER, &PA, &AFTER_M3_H, &[]);
    builder
}

fn with_meters(mut builder: Builder, meters: [&str; 2]) -> QuantityFinding {
    for (set, meter) in ["S1", "S2"].into_iter().zip(meters) {
        builder.amend("set", set, "meter", &format!("meter:{meter}"));
    }
    find(&builder)
}

#[test]
fn wood_dries_and_settles() {
    let mut builder = test("moisture");
    let pins = |values: [&'static str; 4]| {
        let places = ["P1", "P2", "P3", "P4"];
        std::array::from_fn::<Row<'static>, 4, _>(|at| ("moisture", values[at], "", places[at], ""))
    };
    let air = [("inside-air", "22 °C", "", "", ""), ("humidity", "45 %", "", "", "")];
    set(&mut builder, BEFORE, &pins(["12.6 %", "13.1 %", "12.2 %", "12.9 %"]));
    set(&mut builder, AFTER, &[&pins(["8.9 %", "9.2 %", "8.6 %", "9.0 %"])[..], &air].concat());
    let unknown = find(&builder);
    // A point for either of two meters, limits taken as equally likely within.
    ends(unknown.headline().unwrap().interval, (-5.382_086_383_299_775, -2.167_913_616_700_224_6));
    let finding = with_meters(builder, ["M3", "M3"]);
    let change = finding.headline().unwrap();
    close(change.value, -3.775);
    ends(change.interval, (-4.013_683_472_896_279, -3.536_316_527_103_721));
    assert!(
        change.sentence.ends_with("about 3.8 points drier, very likely between 3.5 and 4.0 points."),
        "{}",
        change.sentence
    );
    // Equilibrium by Simpson 1998: 8.437 % at 22 °C and 45 %; 8.925 is 0.49 points above, shown to be within 2 (p 0.0006).
    let settles = &finding.states[1].values[1];
    close(settles.value, 8.437_431_301_715_89);
    let said = finding.sentences.join(" ");
    assert!(
        said.contains(
            "settles at 8.4 %; its mean is +0.5 points from that, and it is shown to be within 2 points"
        ),
        "{said}"
    );
    assert!(said.contains("as is usual indoors"), "{said}");
}

#[test]
fn days_until_wood_is_near_are_told() {
    let mut builder = test("moisture");
    for (label, date, value) in
        [("S1", "2025-02-01", "14.4 %"), ("S2", "2025-02-08", "12.2 %"), ("S3", "2025-02-15", "10.9 %")]
    {
        let rows = [
            ("moisture", value, "", "P1", ""),
            ("inside-air", "22 °C", "", "", ""),
            ("humidity", "45 %", "", "", ""),
        ];
        set(&mut builder, (label, "before", date, "A15"), &rows);
    }
    let finding = find(&builder);
    // Time constant 16.51 days, 3.44 days left, slope -0.25 points a day: computed independently.
    let said = finding.sentences.join(" ");
    assert!(said.contains("It moves by -0.25 points a day; at the pace of the last two readings it comes within 2 points in about 4 days."), "{said}");
    let labels: Vec<String> =
        finding.changes.iter().map(|change| format!("{} {}", change.from.label, change.to.label)).collect();
    assert_eq!(labels, ["S1 S2", "S1 S3", "S2 S3"]);
    assert!(finding.changes.iter().all(|change| !change.again), "moments of one thing, not repeats");
    assert!(said.contains("With one spot there is no telling how far off that is: no claim."), "{said}");
}

fn grid(builder: &mut Builder, of: SetOf<'_>, values: [&str; 5]) {
    let values = values.map(|value| format!("{value} lx"));
    let places = ["P1", "P2", "P3", "P4", "P5"];
    let rows = std::array::from_fn::<Row<'_>, 5, _>(|at| ("light", values[at].as_str(), "", places[at], ""));
    set(builder, of, &rows);
}

#[test]
fn light_is_compared_by_ratio_under_the_same_sky() {
    let mut builder = test("light");
    grid(&mut builder, BEFORE, ["120", "150", "180", "90", "200"]);
    grid(&mut builder, AFTER, ["180", "210", "260", "150", "270"]);
    let unknown = find(&builder);
    assert_eq!(flags(&unknown), ["sky-not-noted"; 2]);
    let change = unknown.headline().unwrap();
    // Paired logarithms and paired differences, computed independently with scipy 1.17.
    close(change.relative_percent, 46.831_938_055_356_85);
    ends(change.relative_interval, (32.817_434_959_650_846, 62.325_210_087_379_23));
    close(change.value, 66.0);
    ends(change.interval, (54.894_219_579_208_82, 77.105_780_420_791_18));
    close(unknown.states[0].values[1].value, 0.608_108_108_108_108_1);
    assert!(
        change.sentence.starts_with("Light was 148 lx, then 214 lx: about 47 % brighter"),
        "{}",
        change.sentence
    );
    assert!(change.grade.letter >= Letter::C);
    builder.put("condition", "X1/sky", &[("test", "test:X1"), ("variable", "sky"), ("class", "important")]);
    builder.found("X1", "S1", "sky", "overcast", "same");
    builder.found("X1", "S2", "sky", "overcast", "same");
    assert_eq!(flags(&find(&builder)), [""; 0]);
    builder.found("X1", "S2", "sky", "sunny", "changed");
    let other = find(&builder);
    assert_eq!(other.headline().unwrap().claim, QuantityClaim::NoClaim(vec![Doubt::OtherSky]));
    grid(&mut builder, AFTER, ["0", "210", "260", "150", "270"]);
    let dark = find(&builder);
    assert_eq!(dark.headline().unwrap().relative_percent, None, "a dark spot has no ratio");
}

#[test]
fn other_quantities_are_means_and_units_meet() {
    let mut builder = test("other");
    let flow = |value, place| ("flow", value, "", place, "");
    set(
        &mut builder,
        BEFORE,
        &[flow("2100 cfm", "P1"), flow("2000 cfm", "P2"), ("light", "7 Pa", "", "", "")],
    );
    set(&mut builder, AFTER, &[flow("1500 cfm", "P1"), flow("2548.52 m3/h", "P2")]);
    let finding = find(&builder);
    // 1 cfm is 1.699010796 m³/h by the international foot.
    close(finding.changes[0].before, 2_050.0 * 1.699_010_795_52);
    close(finding.changes[0].value.map(|value| (value / 10.0).round()), -93.0);
    assert!(
        finding.sentences[0].starts_with("Mean flow: 3483 m3/h (2050 cfm), then 2549 m3/h (1500 cfm)"),
        "{:?}",
        finding.sentences
    );
    assert!(
        finding.sentences[0]
            .ends_with("Two spots cannot do better; two more would cut that range to about a fifth.")
    );
    let left_out = finding.flags.iter().find(|odd| odd.flag == Oddity::ReadingLeftOut).unwrap();
    assert_eq!(left_out.words, "S1: S1: 7 Pa is out, light is worked out in lx");
}

#[test]
fn conflicts_strikes_and_controls_are_out() {
    let mut builder = test("other");
    let level = |value| [("light", value, "", "P1", ""), ("light", "100 lx", "", "P2", "")];
    set(&mut builder, BEFORE, &level("100 lx"));
    set(&mut builder, AFTER, &level("180 lx"));
    set(&mut builder, ("S3", "after", "2025-03-01", "A16"), &level("300 lx"));
    let labels = |finding: &QuantityFinding| -> Vec<String> {
        finding.states.iter().map(|state| state.label.clone()).collect()
    };
    builder.amend("set", "S3", "control", "yes");
    let finding = find(&builder);
    assert_eq!(labels(&finding), ["S1", "S2"]);
    assert!(finding.notes.contains(&"S3 is of an untouched place and stands aside.".to_owned()));
    builder.mark("set", "S2", Meta { struck: Some("typed twice".into()), ..Meta::default() });
    let one = find(&builder);
    assert_eq!(
        (labels(&one), one.sentences[0].as_str()),
        (vec!["S1".to_owned()], "One state only: nothing to compare with yet.")
    );
    builder.mark("reading", "S1/0", Meta { conflict: vec!["value"], ..Meta::default() });
    assert_eq!(find(&builder).sentences, ["No readings in results."]);
    builder.amend("set", "S1", "included", "yes");
    let included = find(&builder);
    assert_eq!(included.states[0].values[0].value, Some(100.0), "without the one in conflict");
    assert!(included.flags[0].words.contains("stands in conflict"), "{:?}", included.flags);
}

#[test]
fn dates_that_contradict_the_stages_are_said_and_nothing_is_claimed() {
    let mut builder = leakage();
    builder.amend("set", "S1", "date", "2025-03-01");
    let finding = find(&builder);
    assert_eq!(finding.states[0].label, "S2", "in the order of their dates");
    assert_eq!(flags(&finding), ["dates-odd"]);
    let change = finding.headline().unwrap();
    assert_eq!(change.claim, QuantityClaim::NoClaim(vec![Doubt::DatesOdd]));
    assert!(change.sentence.contains("the dates contradict the stages"), "{}", change.sentence);
    for set in ["S1", "S2"] {
        builder.amend("set", set, "included", "yes");
    }
    let looked_at = find(&builder);
    assert_eq!(looked_at.headline().unwrap().claim, QuantityClaim::Claimed, "a person let them in");
    assert_eq!(flags(&looked_at), ["dates-odd"], "it stays flagged");
}

#[test]
fn repeats_limit_what_is_claimed_and_check_for_drift() {
    let mut builder = leakage();
    let scaled = |by: f64| AFTER_M3_H.map(|flow| print::decimals(flow.parse::<f64>().unwrap() * by, 1));
    let again = scaled(1.25);
    let again: Vec<&str> = again.iter().map(String::as_str).collect();
    fan_set(&mut builder, ("S3", "repeat", "2025-02-23", "A16"), &PA, &again, &[]);
    let finding = with_meters(builder, ["M1", "M1"]);
    // Two flows at 50 Pa, 461.44 and 1.25 times that: standard deviation 81.57, three of them 244.7.
    let change = finding.changes.iter().find(|change| change.to.label == "S2").unwrap();
    assert_eq!(print::decimals(change.limit.unwrap(), 1), "244.7");
    let expected = Doubt::WithinRepeats { limit: change.limit.unwrap(), unit: "m3/h" };
    assert_eq!(change.claim, QuantityClaim::NoClaim(vec![expected]));
    assert!(
        change.sentence.contains("is not claimed (under three times the spread of repeats"),
        "{}",
        change.sentence
    );
    assert!(finding.changes.iter().any(|change| change.again && change.from.label == "S2"));
    assert_eq!(finding.headline().unwrap().to.label, "S3");
}

#[test]
fn grades_judge_the_design() {
    // Limits: convention of this project. Six points, all conditions held, the first state measured again or not.
    let graded = |again: Option<f64>| {
        let mut builder = leakage();
        let mut sets = vec!["S1", "S2"];
        let scaled = |by: f64| BEFORE_M3_H.map(|flow| print::decimals(flow.parse::<f64>().unwrap() * by, 1));
        if let Some(by) = again {
            let flows = scaled(by);
            let flows: Vec<&str> = flows.iter().map(String::as_str).collect();
            fan_set(&mut builder, ("S0", "before", "2025-02-09", "A15"), &PA, &flows, &[]);
            sets.push("S0");
        }
        builder.conditions("X1", &sets);
        let finding = with_meters(builder, ["M1", "M1"]);
        let change =
            finding.changes.iter().find(|change| change.from.label == "S1" && change.to.label == "S2");
        let grade = change.unwrap().grade.clone();
        format!("{}: {}", grade.letter, grade.reasons().join("; "))
    };
    assert_eq!(graded(None), "B: the first state was not measured again");
    assert_eq!(graded(Some(1.02)), "A: 6 points; all conditions held; first state again: 13 m3/h apart");
    assert_eq!(graded(Some(1.2)), "C: first state again: 132 m3/h apart");
    assert_eq!(graded(Some(1.5)), "D: first state again: 331 m3/h apart");
}

#[test]
fn no_sentence_promises_or_breaks() {
    let rest = |builder: &Builder| {
        let finding = find(builder);
        let changes = finding.changes.iter().map(|change| change.sentence.clone()).collect::<Vec<_>>();
        let flags = finding.flags.iter().map(|odd| odd.words.clone()).collect::<Vec<_>>();
        let rules = finding.states.iter().flat_map(|state| state.rules.iter().map(|rule| rule.words.clone()));
        [finding.sentences, changes, flags, finding.notes, finding.cautions, rules.collect()].concat()
    };
    let mut said = rest(&leakage());
    for measures in
        ["thermal", "thermal-resistance", "temperature", "moisture", "light", "air-leakage", "other"]
    {
        let mut builder = test(measures);
        assert_eq!(find(&builder).sentences, ["No readings in results."], "{measures}");
        set(&mut builder, BEFORE, &[]);
        set(&mut builder, AFTER, &[]);
        said.extend(rest(&builder));
        let every = [
            ("inside-air", "20 °C"),
            ("outside-air", "5 °C"),
            ("surface", "15 °C"),
            ("outside-surface", "6 °C"),
            ("heat-flow", "8 W/m2"),
            ("moisture", "19.5 %"),
            ("humidity", "100 %"),
            ("light", "0 lx"),
            ("flow", "0 m3/h"),
            ("pressure", "0 Pa"),
            ("level", "60 dBA"),
        ];
        let rows: Vec<Row<'_>> =
            every.iter().map(|(subject, value)| (*subject, *value, "1", "", "")).collect();
        set(&mut builder, BEFORE, &rows);
        set(&mut builder, AFTER, &rows);
        let finding = find(&builder);
        assert!(!finding.sentences.is_empty());
        for value in finding.states.iter().flat_map(|state| &state.values) {
            assert!(
                value.value.is_none_or(f64::is_finite) && value.value.is_some() != value.absent.is_some(),
                "{value:?}"
            );
        }
        said.extend(rest(&builder));
    }
    assert!(said.len() > 60);
    for sentence in said {
        for never in crate::words::NEVER.iter().chain(&["NaN", "inf ", " p ", "I2"]) {
            assert!(!sentence.contains(never), "\"{never}\" in: {sentence}");
        }
    }
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(150))]

    /// Goal: whatever is typed, no number leaves the range of numbers and no interval misses its middle.
    #[test]
    fn whatever_is_read_gives_numbers_or_reasons(
        kind in 1..storypole_notebook::kinds::TEST_QUANTITIES.len(),
        rows in proptest::collection::vec((0..13usize, 0.0..1.0f64, 0..4u8, 0..4u8, 0..3usize, 0..4u8), 0..40),
    ) {
        let subjects = storypole_notebook::kinds::SUBJECTS;
        let units = ["°C", "°F", "%", "count", "m3/h", "cfm", "Pa", "lx", "W/m2", "m/s", "dBA", "m2K/W", "s"];
        let mut builder = test(storypole_notebook::kinds::TEST_QUANTITIES[kind]);
        builder.put("site", "H1", &[("name", "H1"), ("volume_m3", "0.01")]);
        let mut texts: [Vec<[String; 5]>; 3] = Default::default();
        for (unit, share, replicate, place, set, day) in rows {
            let fitting: usize = [1, 1, 5, 6, 9, 9, 10, 11, 13, 2, 0, 4, 11][unit];
            let subject = subjects[(fitting + usize::from(day == 0) * 3) % subjects.len()];
            let (low, high) = units[unit].parse::<storypole_notebook::Unit>().unwrap().range();
            let value = low as f64 + share * share * share * (high - low) as f64;
            let replicate = if replicate == 0 { String::new() } else { replicate.to_string() };
            let place = if place == 0 { String::new() } else { format!("P{place}") };
            let at = if day == 0 { String::new() } else { format!("2025-02-0{day}T{:02}:00:00Z", 6 * day) };
            texts[set].push([subject.to_owned(), format!("{value:.1} {}", units[unit]), replicate, place, at]);
        }
        for (of, rows) in [BEFORE, AFTER, ("S3", "after", "2025-02-23", "A16")].into_iter().zip(&texts) {
            let rows: Vec<Row<'_>> = rows.iter().map(|[a, b, c, d, e]| (&a[..], &b[..], &c[..], &d[..], &e[..])).collect();
            set(&mut builder, of, &rows);
        }
        let finding = find(&builder);
        for value in finding.states.iter().flat_map(|state| &state.values) {
            proptest::prop_assert!(value.value.is_some() != value.absent.is_some(), "{value:?}");
            let numbers = [value.value, value.u, value.interval.map(|interval| interval.high)];
            proptest::prop_assert!(numbers.iter().flatten().all(|number| number.is_finite()), "{value:?}");
        }
        for change in &finding.changes {
            let ends = [change.interval, change.relative_interval].into_iter().flatten();
            let numbers = [change.value, change.before, change.after, change.u, change.relative_percent];
            let numbers = numbers.into_iter().flatten().chain(ends.flat_map(|interval| [interval.low, interval.high]));
            proptest::prop_assert!(numbers.into_iter().all(f64::is_finite), "{change:?}");
            if let (Some(value), Some(interval)) = (change.value, change.interval) {
                proptest::prop_assert!(interval.low <= value && value <= interval.high, "{change:?}");
            }
            proptest::prop_assert!(!change.sentence.contains("NaN") && !change.sentence.contains("inf "));
        }
    }
}

#[test]
fn words_of_effects_and_kinds_are_complete() {
    for measures in storypole_notebook::kinds::TEST_QUANTITIES {
        match QuantityKind::of(measures) {
            Some(kind) => assert_eq!(kind.word(), *measures),
            None => assert_eq!(*measures, "level-difference"),
        }
    }
    assert_eq!(QuantityKind::of("vibration"), Some(QuantityKind::Other), "a word of a later version");
    assert!(Oddity::all().all(|odd| odd.effect() != Effect::Out));
}
