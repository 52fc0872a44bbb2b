//! Tests of other quantities than sound, in the units their readings were typed in; what stands beside a change.

use storypole_findings::quantity::{Input, Measured};
use storypole_findings::{Interval, Told};

use super::super::quantity::{Shown, Typed, doubts};
use super::*;

const INCH: Typed = Typed { fahrenheit: true, cfm: true };

fn measured(value: f64, half: f64, unit: &'static str) -> Measured {
    let interval = Some(Interval { low: value - half, high: value + half });
    Measured {
        name: "x".into(),
        unit,
        value: Some(value),
        u: None,
        dof: None,
        interval,
        count: 5,
        absent: None,
    }
}

/// NIST SP 811 appendix B: 1 ft3/min is 4.719 474 E-04 m3/s, 1 ft2 is 9.290 304 E-02 m2, 1 in2 is 6.4516 cm2,
/// t/°C = (t/°F - 32)/1.8.
#[test]
fn numbers_turn_into_the_units_a_crew_reads() {
    let cfm_m3_h = 4.719_474e-4 * 3_600.0;
    for (value, unit, expected, turned_unit) in [
        (100.0 * cfm_m3_h, "m3/h", 100.0, "cfm"),
        (2.0 * cfm_m3_h / 9.290_304e-2, "m3/(h m2)", 2.0, "cfm/ft2"),
        (6.4516 * 30.0, "cm2", 30.0, "in2"),
        (-40.0, "°C", -40.0, "°F"),
        (100.0, "°C", 212.0, "°F"),
        (12.5, "%", 12.5, "%"),
    ] {
        let turned = INCH.measured(&measured(value, 1.0, unit)).unwrap();
        assert!((turned.value - expected).abs() < 1e-5 * expected.abs(), "{unit}: {}", turned.value);
        assert_eq!(turned.unit, turned_unit);
        let kept = Typed::default().measured(&measured(value, 1.0, unit)).unwrap();
        assert_eq!((kept.value, kept.unit), (value, unit), "nothing turns where nothing was typed so");
    }
}

/// Digits by the interval: GUM clause 7.2.6, and this project's convention of one digit, or two from a 1 on.
#[test]
fn digits_follow_the_interval_in_the_unit_shown() {
    let text = |value, half, unit| {
        let shown = Typed { fahrenheit: false, cfm: true }.measured(&measured(value, half, unit)).unwrap();
        (shown.text(), shown.range().unwrap())
    };
    assert_eq!(text(671.0, 90.0, "m3/h"), ("395 cfm".into(), "342 to 448".into()));
    assert_eq!(text(0.5433, 0.042, ""), ("0.54".into(), "0.50 to 0.59".into()));
    let without = Input { name: "surface".into(), value: 9.85, unit: "°C", count: 3 };
    let shown = |typed: Typed| typed.input(&without);
    assert_eq!((shown(INCH).text(), shown(INCH).range()), ("49.7 °F".into(), None));
    assert_eq!(shown(Typed::default()).text(), "9.9 °C");
    let signs: Vec<String> = [Shown::signed].map(|print| print(&shown(INCH))).into();
    assert_eq!(signs, ["+49.7 °F"]);
}

/// Demo scenario, invented: its thermal test was read in °F.
#[test]
fn a_thermal_test_is_told_as_it_was_read() {
    let book = book();
    let findings = Findings::new(&book);
    let found = findings.test(id("test", "Q7")).unwrap();
    let json = test::json(&book, &findings, &found);
    let quantity = &json["quantity"];
    assert_eq!((&quantity["measures"], &quantity["counted"]), (&"thermal".into(), &"spots".into()));
    let first = &quantity["states"][0];
    assert_eq!((&first["label"], &first["assembly"]["label"]), (&"T26".into(), &"A15".into()));
    let inside = &first["inputs"][0];
    assert_eq!((&inside["value"]["printed"], &inside["unit"]), (&"20.0".into(), &"°C".into()));
    assert_eq!(
        (&inside["as_typed"]["value"]["printed"], &inside["as_typed"]["unit"]),
        (&"68.0".into(), &"°F".into())
    );
    let headline = &quantity["headline"];
    assert_eq!((&headline["change"]["printed"], &headline["claim"]), (&"+0.21".into(), &"claimed".into()));
    assert_eq!(headline["interval"]["printed"], "0.15 to 0.26");
    assert_eq!((&headline["change_as_typed"], &headline["percent"]), (&Value::Null, &Value::Null));
    assert_eq!(headline["before"]["printed"], "0.543");
    assert_eq!(quantity["beside"][0]["after"]["printed"], "1");
    assert_eq!(json["thermal"]["surface_factor_change"]["printed"], "+0.208", "the older shape stays");
    assert!(doubts(&found.quantity.as_ref().unwrap().headline().unwrap().claim).is_empty());
    let job = findings.job(id("job", "J8")).unwrap();
    let of_job = job::json(&book, &findings, &job);
    assert_eq!(&of_job["quantity"][0], quantity);
    let sound = test::json(&book, &findings, &findings.test(id("test", "Q1")).unwrap());
    assert_eq!(sound["quantity"], Value::Null);
}

/// Demo scenario, invented.
#[test]
fn a_change_is_told_position_by_position() {
    let book = book();
    let findings = Findings::new(&book);
    let json = test::json(&book, &findings, &findings.test(id("test", "Q1")).unwrap());
    let headline = &json["headline"];
    let places = headline["by_position"].as_array().unwrap();
    let of = |field: &str| places.iter().map(|place| place[field].clone()).collect::<Vec<_>>();
    assert_eq!(of("position"), ["R1", "R2", "R3", "R4"]);
    assert_eq!(headline["heard"], "To the ear 10 dB less is about half as loud.");
    assert_eq!(headline["resampled"], Value::Null, "four positions are too few");
    assert_eq!(
        (&headline["odd_position"], &headline["two_more_positions_leave"]),
        (&Value::Null, &Value::Null)
    );
    let bass = json["groups"].as_array().unwrap().iter().find(|group| group["unit"] == "dBC").unwrap();
    assert_eq!(bass["headline"]["heard"], Value::Null, "only dBA is weighted like the ear");
    let party = test::json(&book, &findings, &findings.test(id("test", "Q2")).unwrap());
    assert_eq!(party["out"][0]["set"], "T12");
}

#[test]
fn who_let_a_set_in_and_who_struck_one_is_told_with_the_reason() {
    let mut book = (*book()).clone();
    let set = id("set", "T12");
    let mut record = book.sets.get(set).unwrap().clone();
    record.included = Some(true);
    book.tables.sets.insert(set, record);
    let struck = id("set", "T11");
    let mut record = book.sets.get(struck).unwrap().clone();
    record.meta.struck = Some("written twice".into());
    book.tables.sets.insert(struck, record);
    let told = Told { included: [(set, "the window was shut".to_owned())].into(), ..Told::default() };
    let findings = Findings::with(&book, told);
    let json = set::json(&book, findings.set(set).unwrap());
    assert_eq!(
        (&json["included_by_a_person"], &json["included_because"]),
        (&true.into(), &"the window was shut".into())
    );
    let test = test::json(&book, &findings, &findings.test(id("test", "Q2")).unwrap());
    assert_eq!(
        (&test["struck_sets"][0]["set"], &test["struck_sets"][0]["because"][0]),
        (&"T11".into(), &"written twice".into())
    );
    assert!(test["out"].as_array().unwrap().is_empty());
}
