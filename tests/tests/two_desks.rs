//! Two devices edit one receipt with no network between them, then meet.
//!
//! The receipt, its prices and its printed total are the demo scenario's (invented).
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::path::Path;

use storypole_desk::desk::Joining;
use storypole_desk::{Desk, Founding, Known, edge, names};
use storypole_journal::WrittenAt;
use storypole_journal::membership::Role;
use storypole_notebook::Value;
use storypole_units::{Currency, Decimal, Money};

const EVENING: WrittenAt = WrittenAt { unix_ms: 1_746_914_400_000, offset_min: -300 };

fn usd() -> Currency {
    Currency::parse("USD").unwrap()
}

fn carry(from: &Desk, to: &Desk) {
    let theirs = to.read(|reader| reader.vector()).unwrap();
    let parcel = from.since(&theirs, usize::MAX).unwrap();
    assert_eq!(to.receive(parcel).unwrap().stopped, None);
}

fn meet(one: &Desk, other: &Desk) {
    carry(one, other);
    carry(other, one);
}

fn two_desks(folder: &Path) -> (Desk, Desk) {
    let founding = Founding {
        name: "two devices".to_owned(),
        currency: usd(),
        role: "site lead".to_owned(),
        label: "lead".to_owned(),
        device_label: "phone-lead".to_owned(),
        written_at: EVENING,
    };
    let phone = Desk::found(&folder.join("phone"), &founding).unwrap();
    let founder_key = phone.public_key().unwrap();
    let joining = Joining { notebook: phone.notebook(), founder_key, author: phone.author() };
    let tablet = Desk::join(&folder.join("tablet"), &joining).unwrap();
    phone.invite(tablet.device(), tablet.public_key().unwrap(), Role::Crew, EVENING).unwrap();
    carry(&phone, &tablet);
    (phone, tablet)
}

fn text(text: &str) -> Value {
    Value::Text(text.to_owned())
}

fn decimal(text: &str) -> Value {
    Value::Decimal(Decimal::parse(text).unwrap())
}

fn price(text: &str) -> Value {
    Value::Money(Money::parse_in(text, usd()).unwrap())
}

/// The receipt as it was saved on both devices before they parted.
fn write_receipt(desk: &Desk) {
    let mut compose = desk.compose(EVENING);
    let receipt = edge::record_id();
    for (field, value) in [
        ("label", text("P12")),
        ("memo", text("box parts")),
        ("tax_rate", decimal("6.50")),
        ("printed_total", price("354.12")),
    ] {
        compose.set(receipt, "receipt", field, &value).unwrap();
    }
    for (item, quantity, unit_price) in [
        ("stud 2x4x8 ft", "12", "4.36"),
        ("board 1/2 4x8", "6", "13.20"),
        ("plywood 3/4 4x8", "2", "58.90"),
        ("stone-wool batt", "1", "71.25"),
    ] {
        let line = edge::record_id();
        compose.set(line, "line", "receipt", &Value::Record(receipt)).unwrap();
        compose.set(line, "line", "item", &text(item)).unwrap();
        compose.set(line, "line", "quantity", &decimal(quantity)).unwrap();
        compose.set(line, "line", "unit_price", &price(unit_price)).unwrap();
        compose.set(line, "line", "taxed", &Value::Flag(true)).unwrap();
    }
    desk.take(compose.finish()).unwrap();
}

/// Changes a field of the board line or of the receipt, over what this desk shows.
fn change(desk: &Desk, kind: &str, field: &str, value: &Value) {
    let record = match kind {
        "line" => desk.matching("line", &[("item", text("board 1/2 4x8"))])[0],
        _ => names::find(desk, "receipt", "P12").unwrap(),
    };
    let mut compose = desk.compose(EVENING);
    let seen = desk.heads(record, kind, field);
    assert!(!seen.is_empty(), "the form showed a value");
    compose.change(record, kind, field, Some(value), seen, None).unwrap();
    desk.take(compose.finish()).unwrap();
}

fn total(desk: &Desk) -> (String, Option<bool>) {
    let book = desk.book().unwrap();
    let receipt = names::find(desk, "receipt", "P12").unwrap();
    let sum = storypole_ledger::receipt_sum(&book, receipt);
    (sum.total.amount_text(), sum.adds_up)
}

#[test]
fn quantity_and_price_merge_and_the_memo_stays_in_conflict_until_settled_by_one_command() {
    let folder = tempfile::tempdir().unwrap();
    let (phone, tablet) = two_desks(folder.path());
    write_receipt(&phone);
    carry(&phone, &tablet);
    assert_eq!(total(&phone).0, "341.41");

    change(&tablet, "line", "quantity", &decimal("7"));
    change(&tablet, "receipt", "memo", &text("box parts, 7 boards counted"));
    change(&phone, "line", "unit_price", &price("13.02"));
    change(&phone, "receipt", "memo", &text("receipt photo checked"));
    assert_eq!(total(&tablet), ("355.47".to_owned(), Some(false)), "alone it does not add up");
    assert_eq!(total(&phone), ("340.26".to_owned(), Some(false)), "alone it does not add up");

    meet(&phone, &tablet);
    for desk in [&phone, &tablet] {
        assert_eq!(total(desk), ("354.12".to_owned(), Some(true)), "merged by field it is what is printed");
        let conflicts = desk.read(|reader| reader.conflicts()).unwrap();
        assert_eq!(conflicts.len(), 1);
        assert_eq!((conflicts[0].field.as_str(), conflicts[0].heads.len()), ("memo", 2));
    }
    assert_eq!(phone.digest().unwrap(), tablet.digest().unwrap());

    // One command at one device settles it for both.
    drop(phone);
    let settled = std::process::Command::new(storypole_tests::binary())
        .args(["--data", folder.path().join("phone").to_str().unwrap()])
        .args(["conflicts", "settle", "P12", "memo"])
        .args(["--value", "box parts, 7 boards counted; receipt photo checked"])
        .output()
        .unwrap();
    assert!(settled.status.success(), "{}", String::from_utf8_lossy(&settled.stderr));
    let phone = Desk::open(&folder.path().join("phone")).unwrap();
    meet(&phone, &tablet);
    for desk in [&phone, &tablet] {
        assert!(desk.read(|reader| reader.conflicts()).unwrap().is_empty());
        let receipt = names::find(desk, "receipt", "P12").unwrap();
        let memo = desk.value(receipt, "receipt", "memo").unwrap().to_string();
        assert_eq!(memo, "box parts, 7 boards counted; receipt photo checked");
    }
    assert_eq!(phone.digest().unwrap(), tablet.digest().unwrap());
}

#[test]
fn while_one_process_works_with_the_notebook_others_can_read_it() {
    let folder = tempfile::tempdir().unwrap();
    let (phone, _tablet) = two_desks(folder.path());
    write_receipt(&phone);
    let storypole = |arguments: &[&str]| {
        let data = folder.path().join("phone");
        let mut command = std::process::Command::new(storypole_tests::binary());
        command.args(["--data", data.to_str().unwrap()]).args(arguments).output().unwrap()
    };
    let shown = storypole(&["show", "P12"]);
    assert!(shown.status.success() && String::from_utf8_lossy(&shown.stdout).contains("box parts"));
    let refused = storypole(&["change", "receipt", "P12", "memo=other"]);
    let said = String::from_utf8_lossy(&refused.stderr);
    assert_eq!(refused.status.code(), Some(1));
    assert!(said.contains("in use by another process"), "{said}");
}
