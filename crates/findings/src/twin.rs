//! Rows that the screens' own small copy of these rules is held against, worked out here: `web-ui/unit/vectors/twin.json`.
//!
//! The screens judge readings where no notebook answers. They must say what findings say later, so both sides are held to one
//! file: this test fails while the file is not what the crate gives, `unit/model/twin.test.ts` while the copy gives another.

use std::fmt::Write as _;

use serde_json::{Value, json};
use storypole_acoustics::{Regime, Sense};
use storypole_notebook::Unit;
use storypole_statistics::{Confidence, Dof, Probability, distributions, outliers, repeatability};

use crate::change::{self, Change};
use crate::fixture::{self, Builder};
use crate::flags::Flag;
use crate::plan::spread;
use crate::set_finding::{Estimate, SetFinding, Side};
use crate::{Findings, Interval, print, rules};

/// How many pairs of sets are drawn beside the ones written out.
const DRAWN: usize = 220;
/// Every so many of them stand in the demo notebook, whose tests lend their spread.
const IN_DEMO: usize = 4;
const RULES: [&str; 3] = ["astm_e336", "iso16283", "astm_e336_19a"];

/// Readings of one round in tenths of a decibel: place by place, repeats within.
#[derive(Debug, Clone, Default)]
struct Round {
    source: Vec<Vec<i64>>,
    receive: Vec<Vec<i64>>,
    background: Vec<i64>,
}

/// Two rounds and the rule they are judged by.
#[derive(Debug, Clone)]
struct Case {
    rule: &'static str,
    in_demo: bool,
    /// Whole decibels only: a meter with coarse steps.
    coarse: bool,
    before: Round,
    after: Round,
}

/// Numbers that are drawn alike on every machine: the linear congruence of Knuth's MMIX, its upper half.
struct Draw(u64);

impl Draw {
    fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end
    }

    fn tenths(&mut self, from: i64, to: i64) -> i64 {
        from + i64::try_from(self.below(u64::try_from(to - from).unwrap())).unwrap()
    }
}

fn levels(places: &[i64]) -> Vec<Vec<i64>> {
    places.iter().map(|level| vec![*level]).collect()
}

/// Cases at the edges of the rules, written out.
fn edges() -> Vec<Case> {
    let round = |source: &[i64], receive: &[i64], background: &[i64]| Round {
        source: levels(source),
        receive: levels(receive),
        background: background.to_vec(),
    };
    let before = || round(&[942, 936, 949], &[691, 684, 702, 696], &[335]);
    let mut cases = Vec::new();
    let mut add = |before: Round, after: Round| {
        cases.extend(RULES.map(|rule| Case {
            rule,
            in_demo: false,
            coarse: false,
            before: before.clone(),
            after: after.clone(),
        }));
    };
    // Margins at, beside and far from every limit; the mean of equal readings is that reading.
    for margin in [150, 101, 100, 99, 61, 60, 59, 51, 50, 49, 30, 10, 1, 0, -1, -29, -30, -31] {
        add(before(), round(&[943, 935, 947], &[500, 500, 500, 500], &[500 - margin]));
    }
    add(round(&[900], &[600, 610], &[590]), round(&[900], &[550, 560], &[545]));
    add(round(&[900], &[600, 610], &[590]), round(&[900], &[550, 560], &[300]));
    add(round(&[900, 900], &[640], &[300]), round(&[900, 900], &[580], &[300]));
    add(round(&[900], &[640, 631], &[300]), round(&[900], &[589, 570], &[300]));
    add(round(&[900, 900], &[600, 610, 620, 630], &[200]), round(&[900, 900], &[550, 560, 570, 580], &[200]));
    add(round(&[], &[600, 610, 620], &[]), round(&[], &[550, 561, 572], &[]));
    add(round(&[900], &[600, 610, 620], &[200]), round(&[], &[550, 561, 572], &[200]));
    add(round(&[900], &[], &[]), round(&[], &[], &[300]));
    add(round(&[900], &[783, 783, 783, 900], &[300]), round(&[900], &[700, 701, 702, 703], &[300]));
    add(
        round(&[900], &[642, 631, 650, 628, 645, 630], &[200]),
        round(&[900], &[589, 570, 601, 579, 582, 618], &[200]),
    );
    // A position that does not rise above the noise while the mean does: it is shifted with the rest.
    add(before(), round(&[942, 936], &[380, 520, 525, 510], &[440]));
    // The highest noise counts; repeats are averaged by energy at their place; a place only one of the sets has.
    let mut repeated = round(&[942, 936], &[600, 605, 610], &[350, 372, 361]);
    repeated.receive[1] = vec![605, 623, 607];
    repeated.receive[2] = Vec::new();
    add(before(), repeated);
    cases
}

fn drawn() -> Vec<Case> {
    let mut draw = Draw(20_250_304);
    (0..DRAWN).map(|index| one(&mut draw, index)).collect()
}

fn one(draw: &mut Draw, index: usize) -> Case {
    let (sources, places) = (draw.below(4), 1 + draw.below(7));
    let coarse = draw.below(8) == 0;
    let source = draw.tenths(850, 1000);
    let step = |draw: &mut Draw, from: i64, to: i64| {
        let level = draw.tenths(from, to);
        if coarse { level / 10 * 10 } else { level }
    };
    let mut round = |receive: i64, spread: i64| {
        let mut round = Round::default();
        for _ in 0..sources {
            round.source.push(vec![step(draw, source - 8, source + 8)]);
        }
        for _ in 0..places {
            let repeats = if draw.below(6) == 0 { 1 + draw.below(3) } else { 1 };
            let level = step(draw, receive - spread, receive + spread);
            let own = (0..repeats).map(|_| step(draw, level - 4, level + 5)).collect();
            // Now and then a place was not read.
            round.receive.push(if draw.below(20) == 0 { Vec::new() } else { own });
        }
        for _ in 0..draw.below(3) {
            round.background.push(step(draw, receive - 260, receive + 10));
        }
        round
    };
    let (before, after) = (round(660, 30), round(620 - 10 * (i64::try_from(index).unwrap() % 12), 25));
    let rule = RULES[index % RULES.len()];
    Case { rule, in_demo: index.is_multiple_of(IN_DEMO), coarse, before, after }
}

/// A level as it is typed; a coarse meter shows no decimal.
fn typed(tenths: i64, coarse: bool) -> String {
    if coarse { (tenths / 10).to_string() } else { format!("{}.{}", tenths / 10, tenths % 10) }
}

fn put_rule(builder: &mut Builder, rule: &str) {
    builder.put("notebook", "N1", &[("name", "twin"), ("currency", "USD"), ("background_rule", rule)]);
}

fn put_round(builder: &mut Builder, label: &str, stage: &str, date: &str, round: &Round, coarse: bool) {
    let fields = [("test", "test:X1"), ("job", "job:J9"), ("stage", stage), ("date", date)];
    builder.put("set", label, &[&fields[..], &[("from_room", "room:R1"), ("to_room", "room:R2")]].concat());
    for (role, side, places) in [("source", "S", &round.source), ("receive", "R", &round.receive)] {
        for (index, levels) in places.iter().enumerate() {
            let position = format!("X1/{side}{}", index + 1);
            builder.put("position", &position, &[("test", "test:X1"), ("side", role)]);
            for (repeat, level) in levels.iter().enumerate() {
                let name = format!("{side}{}/{repeat}", index + 1);
                builder.reading(
                    label,
                    &name,
                    role,
                    Some(&position),
                    &format!("{} dBA", typed(*level, coarse)),
                );
            }
        }
    }
    for (repeat, level) in round.background.iter().enumerate() {
        let value = format!("{} dBA", typed(*level, coarse));
        builder.reading(label, &format!("background/{repeat}"), "background", None, &value);
    }
}

fn estimate(of: Estimate, signed: bool) -> Value {
    let bound = match of.bound {
        Sense::Exact => "exact",
        Sense::AtLeast => "at-least",
        Sense::AtMost => "at-most",
        Sense::Undetermined => "undetermined",
    };
    let printed = if signed { print::signed(of.value, 1) } else { print::decimals(of.value, 1) };
    json!({ "value": of.value, "printed": printed, "bound": bound })
}

fn number(value: f64) -> Value {
    json!({ "value": value, "printed": print::decimals(value, 1) })
}

fn interval(of: Interval) -> Value {
    json!({ "low": of.low, "high": of.high, "printed": print::range(&of, 1) })
}

fn set_row(found: &SetFinding) -> Value {
    let effect = found.background.map(|background| match background.regime {
        Regime::Clear => "none",
        Regime::Corrected => "subtracted",
        Regime::Limit => "limit",
    });
    let words = |flag: Flag| {
        let raised = found.flags.iter().filter(|raised| raised.flag == flag);
        raised.map(|raised| raised.words.clone()).collect::<Vec<_>>()
    };
    let mean = |side: &Option<Side>| side.as_ref().map(|side| number(side.mean_db));
    json!({
        "source": mean(&found.source),
        "receive": mean(&found.receive),
        "spread": found.receive.as_ref().map(|side| number(side.spread_db)),
        "margin": found.margin_db().map(number),
        "effect": effect,
        "corrected": found.background.map(|background| number(background.corrected_db)),
        "difference": found.level_difference.map(|of| estimate(of, false)),
        "outliers": words(Flag::PositionOutlier),
        "louder": words(Flag::BackgroundLouder),
        "low_margin": words(Flag::BackgroundLowMargin),
    })
}

fn change_row(change: &Change) -> Value {
    json!({
        "value": change.value.map(|of| estimate(of, true)),
        "interval": change.interval.map(interval),
        "positions_only": change.position_interval.map(interval),
        "mean": change.position_mean_db.map(|mean| json!({ "value": mean, "printed": print::signed(mean, 1) })),
        "averages_differ": change.averages_differ(),
        "compared_on": change.compared_on,
        "pooled": change.budget.pooled,
        "least_claimed": number(change.limit_db),
        "claim": change.claim.word(),
        "odd": change.odd.as_ref().map(|odd| json!({ "place": odd.label, "off": number(odd.off_db.abs()) })),
    })
}

fn case_row(case: &Case) -> Value {
    let mut builder = if case.in_demo { fixture::builder() } else { Builder::default() };
    put_rule(&mut builder, case.rule);
    builder.test("X1", false);
    put_round(&mut builder, "U1", "before", "2025-03-04", &case.before, case.coarse);
    put_round(&mut builder, "U2", "after", "2025-03-19", &case.after, case.coarse);
    let findings = Findings::new(&builder.book);
    let set = |label: &str| findings.set(fixture::id("set", label)).unwrap();
    let change = change::between(&findings, set("U1"), set("U2"), None);
    let texts = |places: &[Vec<i64>]| -> Vec<Vec<String>> {
        let place = |levels: &Vec<i64>| levels.iter().map(|level| typed(*level, case.coarse)).collect();
        places.iter().map(place).collect()
    };
    let round = |round: &Round| {
        let background = std::slice::from_ref(&round.background);
        json!({ "source": texts(&round.source), "receive": texts(&round.receive), "background": texts(background)[0] })
    };
    json!({
        "rule": case.rule,
        "in_demo": case.in_demo,
        "rounds": [round(&case.before), round(&case.after)],
        "sets": [set_row(set("U1")), set_row(set("U2"))],
        "change": change_row(&change),
    })
}

/// What the demo's own tests lend to the pooled spreads under a rule, beside the test that is drawn.
fn lent(rule: &str) -> Value {
    let mut builder = fixture::builder();
    put_rule(&mut builder, rule);
    let findings = Findings::new(&builder.book);
    let is_a = |unit: &Unit| *unit == Unit::DbA;
    let of = findings.contributions();
    let row = |one: &crate::Contribution| {
        let scatter = one.scatter.iter().filter(|row| is_a(&row.0));
        let repeats = one.repeats.iter().filter(|row| is_a(&row.0));
        json!({
            "test": one.test.to_string(),
            "scatter": scatter.map(|row| json!({ "unit": "dBA", "positions": row.1, "sd_db": row.2 })).collect::<Value>(),
            "repeats": repeats.map(|row| json!({ "unit": "dBA", "values_db": row.1 })).collect::<Value>(),
        })
    };
    of.iter().map(row).collect()
}

/// Numbers of the rules, and of Student's t where intervals and the outlier test need it.
fn head() -> Value {
    let nus =
        [1.0, 1.5, 2.0, 2.7, 3.0, 4.0, 5.0, 7.3, 12.0, 17.776, 30.0, 59.04, 240.5, 9_000.0, 20_000.0, 1e7];
    let factor = |nu: f64| distributions::coverage_factor(Confidence::P95, Dof::new(nu).unwrap());
    let critical = |n: usize| {
        let alpha = Probability::new(rules::OUTLIER_ALPHA).unwrap();
        outliers::grubbs_critical(n, alpha, outliers::Sides::Two).unwrap()
    };
    json!({
        "smallest_claim_db": rules::SMALLEST_CLAIM_DB,
        "repeat_factor": rules::REPEAT_FACTOR,
        "setup_u_db": rules::SETUP_U_DB,
        "day_u_db": rules::DAY_U_DB,
        "own_repeats": rules::OWN_REPEATS,
        "pooled_tests": rules::POOLED_TESTS,
        "averages_differ_db": rules::AVERAGES_DIFFER_DB,
        "outlier_db": rules::OUTLIER_DB,
        "background_louder_db": rules::BACKGROUND_LOUDER_DB,
        "repeats_apart_db": repeatability::LIMIT_FACTOR * spread::REPEAT_DB,
        "coverage": nus.map(|nu| json!([nu, factor(nu)])),
        "grubbs": (3..=12).map(|n| json!([n, critical(n)])).collect::<Value>(),
        "lent": RULES.map(|rule| json!({ "rule": rule, "tests": lent(rule) })),
    })
}

#[test]
fn the_screens_rows_are_what_findings_say() {
    let cases: Vec<Case> = edges().into_iter().chain(drawn()).collect();
    let mut text = format!("{{\"head\": {},\n\"cases\": [\n", head());
    for (index, case) in cases.iter().enumerate() {
        let end = if index + 1 == cases.len() { "\n" } else { ",\n" };
        write!(text, "{}{end}", case_row(case)).unwrap();
    }
    text.push_str("]}\n");
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../web-ui/unit/vectors/twin.json");
    if std::env::var_os("STORYPOLE_ACCEPT").is_some() {
        std::fs::create_dir_all(concat!(env!("CARGO_MANIFEST_DIR"), "/../../web-ui/unit/vectors")).unwrap();
        std::fs::write(path, &text).unwrap();
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    let differs = kept.lines().zip(text.lines()).position(|(kept, made)| kept != made);
    assert!(
        kept == text,
        "web-ui/unit/vectors/twin.json is not what findings say, first in line {differs:?}; look at the difference after \
         `STORYPOLE_ACCEPT=1 cargo test -p storypole-findings twin`"
    );
    // Edges that the rows are there for.
    for wanted in
        ["\"at-least\"", "\"at-most\"", "\"undetermined\"", "\"no claim\"", "\"claimed\"", "\"pooled\":true"]
    {
        assert!(text.contains(wanted), "no row with {wanted}");
    }
}
