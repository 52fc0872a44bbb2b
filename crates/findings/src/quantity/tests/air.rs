//! Air leakage, against a course book and against values computed independently with numpy 2.4 and scipy 1.17.

use super::*;

#[test]
fn a_leakage_test_matches_a_course_book() {
    // Readings of the first state: C. Ghiaus, open course book on energy modelling, air-leakage tutorial; layout of ASTM E779 and
    // ISO 9972. Readings of the second are invented. Exponent 0.643, 662 m³/h; with 300 m³ 2.21 air changes an hour.
    let finding = with_meters(leakage(), ["M1", "M1"]);
    let before = &finding.states[0];
    let value = |name: &str| before.values.iter().find(|value| value.name == name).unwrap();
    close(before.values[0].value, 661.768_131_943_486);
    close(before.values[0].u, 40.408_834_060_962_65);
    close(before.values[0].dof, 36.842_603_967_933_71);
    ends(before.values[0].interval, (584.744_026_917_665_8, 748.938_065_711_331));
    close(value("exponent").value, 0.643_448_788_946_807_5);
    close(value("air changes at 50 Pa").value, 2.205_893_773_144_953);
    close(value("air flow at 50 Pa by envelope").value, 661.768_131_943_486 / 250.0);
    close(value("effective leakage area at 4 Pa, extrapolated").value, 140.399_699_807_887_32);
    let change = finding.headline().unwrap();
    close(change.relative_percent, -30.271_582_664_990_543);
    ends(change.relative_interval, (-36.675_489_495_034_14, -23.220_058_942_832_74));
    close(change.value, -200.327_687_111_836_04);
    close(change.u, 26.519_464_011_346_432);
    // The points alone have 4.95 degrees of freedom instead of 6.74, and so the wider range.
    ends(change.interval, (-263.635_113_600_689_35, -137.020_260_622_982_73));
    assert_eq!(change.claim, QuantityClaim::Claimed);
    assert_eq!(
        change.sentence,
        "Air flow at 50 Pa was 662 m3/h (390 cfm), then 461 m3/h (272 cfm), 2.21 then 1.54 air changes an hour: about \
         30 % tighter, very likely between 23 and 37 %."
    );
    assert!(finding.notes.iter().any(|note| note.contains("cancels in the ratio")), "{:?}", finding.notes);
    assert_eq!(flags(&finding), [""; 0]);
}

#[test]
fn two_fans_or_an_unknown_one_do_not_cancel() {
    let other = with_meters(leakage(), ["M1", "M2"]);
    ends(other.headline().unwrap().relative_interval, (-40.595_817_111_063_354, -18.153_033_210_886_075));
    let unknown = find(&leakage());
    assert_eq!(
        unknown.headline().unwrap().relative_interval,
        other.headline().unwrap().relative_interval,
        "unknown is not the same"
    );
    assert!(unknown.notes.iter().any(|note| note.contains("is not noted in both")));
    let shares = &other.headline().unwrap().shares;
    assert!((shares.iter().map(|share| share.share).sum::<f64>() - 1.0).abs() < 1e-12);
    assert_eq!(shares.len(), 3);
}

#[test]
fn a_leakage_test_tells_what_it_lacks() {
    let mut builder = test("air-leakage");
    fan_set(&mut builder, BEFORE, &["42", "42", "42"], &["600", "610", "590"], &[]);
    let finding = find(&builder);
    // 600, 610, 590 at 42 Pa with an exponent of 0.65 ± 0.05.
    let flow = &finding.states[0].values[0];
    close(flow.value, 671.938_454_931_206_7);
    close(flow.u, 34.711_391_361_310_01);
    ends(flow.interval, (607.191_319_823_619, 743.589_824_944_290_2));
    assert_eq!(flags(&finding), ["single-point"]);
    let absent = |name: &str| {
        let value = finding.states[0].values.iter().find(|value| value.name == name).unwrap();
        (value.value, value.absent)
    };
    assert_eq!(absent("air changes at 50 Pa"), (None, Some(Missing::NoSite)));
    assert_eq!(absent("exponent"), (None, Some(Missing::OnePressure)));
    builder.put("site", "H1", &[("name", "H1")]);
    let one = find(&builder).sentences.join(" ");
    assert!(one.contains("No air changes at 50 Pa: the volume of the site is not noted"), "{one}");
    fan_set(&mut builder, AFTER, &["42", "42"], &["500", "505"], &[]);
    let two = find(&builder);
    assert!(two.sentences[1].contains("write down the volume inside its air barrier"), "{:?}", two.sentences);
    let assumed = two.changes[0].shares.iter().find(|share| share.name == "assumed exponent").unwrap();
    assert_eq!(assumed.u, 0.0, "the same exponent assumed at the same pressure cancels");
}

#[test]
fn leakage_is_flagged() {
    let flagged = |pressure_pa: &[&str], flow: &[&str], more: &[Row<'_>]| {
        let mut builder = test("air-leakage");
        fan_set(&mut builder, BEFORE, pressure_pa, flow, more);
        flags(&find(&builder))
    };
    // An exponent of 2 and one of 0; four points; r2 of a zigzag.
    assert_eq!(
        flagged(&["10", "20", "40", "50", "60"], &["10", "40", "160", "250", "360"], &[]),
        ["exponent-odd"]
    );
    assert_eq!(flagged(&["10", "20", "40", "60"], &["100", "157", "246", "320"], &[]), ["few-points"]);
    let zigzag = ["100", "220", "190", "420", "300"];
    assert_eq!(flagged(&["10", "20", "30", "40", "50"], &zigzag, &[]), ["poor-fit"]);
    let windy = [("resting-pressure", "6 Pa", "", "", ""), ("", "6.5 m/s", "", "", "")];
    let over_resting = ["16", "26", "36", "46", "56", "66"];
    assert_eq!(flagged(&over_resting, &AFTER_M3_H, &windy), ["resting-pressure", "windy"]);
    let alone = [("flow", "500 m3/h", "7", "", "")];
    assert_eq!(flagged(&PA, &AFTER_M3_H, &alone), ["reading-left-out"]);
    let shut = [("flow", "0 m3/h", "7", "", ""), ("pressure", "70 Pa", "7", "", "")];
    assert_eq!(flagged(&PA, &AFTER_M3_H, &shut), ["reading-left-out"]);
}

#[test]
fn a_flow_that_no_number_holds_is_absent() {
    let mut builder = test("air-leakage");
    fan_set(&mut builder, BEFORE, &["850", "930", "1000"], &["0.1", "100000", "0.1"], &[]);
    fan_set(&mut builder, AFTER, &PA, &AFTER_M3_H, &[]);
    let finding = find(&builder);
    assert_eq!(finding.states[0].values[0].absent, Some(Missing::OutOfRange));
    let change = finding.headline().unwrap();
    assert_eq!(
        (change.value, &change.claim, change.grade.letter),
        (None, &QuantityClaim::Undetermined, Letter::D)
    );
    assert!(change.sentence.contains("S1: the result is too large to be written"), "{}", change.sentence);
}

#[test]
fn the_resting_pressure_is_taken_off_and_the_sign_does_not_matter() {
    // The points of the course book read 2 Pa lower from a house that stands at -2 Pa, its fan drawing.
    let mut builder = test("air-leakage");
    let drawn = ["-12", "-22", "-32", "-42", "-52", "-62"];
    let resting = [("resting-pressure", "-1.5 Pa", "", "", ""), ("resting-pressure", "-2.5 Pa", "", "", "")];
    fan_set(&mut builder, BEFORE, &drawn, &BEFORE_M3_H, &resting);
    close(find(&builder).states[0].values[0].value, 661.768_131_943_486);
}
