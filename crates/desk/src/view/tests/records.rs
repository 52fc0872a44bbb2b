//! Records of any kind, their history and files, and the table of kinds.

use storypole_journal::WriteId;
use storypole_notebook::KindSpec;
use storypole_notebook::compose::STRUCK;
use storypole_notebook::field::FieldType;
use storypole_notebook::kinds::KINDS;

use super::*;
use crate::attached::FileState;
use crate::{DeskError, Known};

/// The JSON of a record with its heads, as a server reads it.
pub fn record_of(kind: &'static str, id: RecordId) -> Result<Value, DeskError> {
    of_desk(&demo().desk, kind, id)
}

fn of_desk(desk: &Desk, kind: &'static str, id: RecordId) -> Result<Value, DeskError> {
    let kind = KindSpec::find(kind).unwrap();
    let row = desk.read(|reader| reader.row(kind, id))?.unwrap();
    let fields = kind.fields.iter().map(|field| field.name).chain([STRUCK]);
    let heads: Vec<(String, Vec<WriteId>)> =
        fields.map(|field| (field.to_owned(), desk.heads(id, kind.name, field))).collect();
    Ok(record::json(&*desk.book()?, &row, &heads))
}

#[test]
fn a_record_tells_what_is_typed_what_is_shown_and_what_stands() {
    let json = record_of("receipt", id("receipt", "P02")).unwrap();
    assert_eq!((&json["kind"], &json["label"]), (&"receipt".into(), &"P02".into()));
    let supplier = &json["fields"]["supplier"];
    assert_eq!(supplier["value"], id("supplier", "tin-heron").to_string());
    assert_eq!((&supplier["shown"], &supplier["record"]["kind"]), (&"tin-heron".into(), &"supplier".into()));
    let total = &json["fields"]["printed_total"];
    assert_eq!((&total["value"], &total["record"]), (&"377.28 USD".into(), &Value::Null));
    let heads = total["heads"].as_array().unwrap();
    let (draft, index) = heads[0].as_str().unwrap().split_once('/').unwrap();
    assert!(draft.parse::<storypole_journal::DraftId>().is_ok() && index.parse::<u32>().is_ok());
    assert_eq!((heads.len(), &json["fields"]["memo"]), (1, &Value::Null), "nothing stands in the memo");
    assert!(json["fields"].get("memo").is_none());
    assert_eq!(json["struck"], Value::Null);
    assert!(json["written_at"].as_str().unwrap().starts_with("20"));
    assert_eq!(json["author"]["kind"], "person");
}

#[test]
fn a_corrected_and_a_struck_record_say_so() {
    let book = book();
    let reading = |reading: &&storypole_notebook::kinds::Reading| !reading.meta.corrected.is_empty();
    let corrected = book.readings.live().find(reading).unwrap().id;
    let json = record_of("reading", corrected).unwrap();
    let value = &json["fields"]["value"];
    assert_eq!((&value["value"], &value["corrected"]), (&"78.3 dBA".into(), &true.into()));
    assert_eq!(json["fields"]["set"]["corrected"], false);
    assert_eq!((&json["label"], &json["name"]), (&Value::Null, &"reading of T18 at R2".into()));
    let again = book.entries.all().find(|entry| entry.meta.struck.is_some()).unwrap().id;
    let json = record_of("entry", again).unwrap();
    assert_eq!(json["label"], "E-P12-again");
    assert!(json["struck"].as_str().unwrap().contains("both devices"));
    assert_eq!(json["struck_heads"].as_array().unwrap().len(), 1);
}

#[test]
fn a_cleared_field_has_heads_and_no_value() {
    let folder = tempfile::tempdir().unwrap();
    let desk = empty(folder.path());
    let site = crate::edge::record_id();
    let mut compose = desk.compose(NOW);
    compose.set(site, "site", "label", &storypole_notebook::Value::Text("S1".into())).unwrap();
    compose.set(site, "site", "address", &storypole_notebook::Value::Text("behind the mill".into())).unwrap();
    desk.take(compose.finish()).unwrap();
    let seen = desk.heads(site, "site", "address");
    let mut compose = desk.compose(NOW);
    compose.change(site, "site", "address", None, seen, None).unwrap();
    desk.take(compose.finish()).unwrap();
    let json = of_desk(&desk, "site", site).unwrap();
    let address = &json["fields"]["address"];
    assert_eq!((&address["value"], &address["shown"]), (&Value::Null, &Value::Null));
    assert_eq!(address["heads"].as_array().unwrap().len(), 1);
    assert!(json["fields"].get("name").is_none());
}

/// What is shown in a form can be sent back as it is.
#[test]
fn every_value_of_the_demo_is_read_back_from_its_text() {
    let demo = demo();
    let mut count = 0;
    for kind in KINDS {
        for row in demo.desk.read(|reader| reader.rows(kind)).unwrap() {
            let json = record::json(&demo.book, &row, &[]);
            for (spec, value) in kind.fields.iter().zip(&row.values) {
                let Some(value) = value else { continue };
                let text = json["fields"][spec.name]["value"].as_str().unwrap();
                assert_eq!(spec.takes.parse(text, demo.book.currency()).as_ref(), Ok(value), "{text}");
                count += 1;
            }
        }
    }
    assert!(count > 2_000, "{count} values");
}

#[test]
fn what_points_to_a_record_is_counted_by_kind() {
    let linked = record::linked(&demo().desk, "job", id("job", "J1"));
    let of = |kind: &str| linked.iter().find(|(name, _)| *name == kind).map(|(_, count)| *count);
    assert_eq!(
        (of("task"), of("receipt"), of("assembly")),
        (Some(3), Some(3), Some(3)),
        "K02 to K04, P02 to P04"
    );
    assert_eq!((of("move"), of("room")), (Some(2), None), "X1 and X2 leave J1");
    assert_eq!(record::linked_json(&[("task", 3)])[0]["count"], 3);
}

#[test]
fn kinds_tell_what_each_field_takes() {
    let json = kinds::json();
    assert_eq!(json["kinds"].as_array().unwrap().len(), KINDS.len());
    let field = |kind: &str, field: &str| {
        let of = |list: &Value, name: &str| {
            list.as_array().unwrap().iter().find(|one| one["name"] == name).cloned().unwrap()
        };
        of(&of(&json["kinds"], kind)["fields"], field)
    };
    let value = field("reading", "value");
    assert_eq!((&value["takes"], &value["required"]), (&"quantity".into(), &true.into()));
    assert_eq!((&value["reason_on_change"], &value["choices"]), (&true.into(), &Value::Null));
    assert_eq!(field("set", "stage")["choices"][0], "before");
    assert_eq!(
        (&field("job", "label")["takes"], &field("job", "label")["letters"]),
        (&"text".into(), &32.into())
    );
    assert_eq!(field("job", "site")["of"], "site");
    let about = field("photo", "about");
    assert_eq!((&about["takes"], &about["of"]), (&"reference".into(), &Value::Null), "any kind");
    assert_eq!(field("assembly", "leaf_a")["takes"], "part");
    assert_eq!(kinds::takes(FieldType::Temperature), "temperature");
}

#[test]
fn the_history_of_a_set_tells_its_corrected_readings() {
    let demo = demo();
    let of = |kind: &str, label: &str, field: Option<&str>| {
        let read = |record| demo.desk.read(|reader| reader.history(record));
        history::of(&demo.book, kind, id(kind, label), field, read).unwrap().json()
    };
    let set = of("set", "T18", None);
    assert_eq!(set["record"]["label"], "T18");
    assert_eq!(set["changed_parts"].as_array().unwrap().len(), 1);
    let part = &set["changed_parts"][0];
    assert_eq!(part["record"]["name"], "reading of T18 at R2");
    assert_eq!(
        (&part["steps"][0]["value"], &part["steps"][0]["written_over"][0]),
        (&"78.3 dBA".into(), &"87.3 dBA".into())
    );
    let quantity = of("move", "X2", Some("quantity"));
    let values: Vec<_> = quantity["steps"].as_array().unwrap().iter().map(|step| &step["value"]).collect();
    assert_eq!(values, ["2", "1"]);
}

#[test]
fn files_tell_whether_this_device_holds_them() {
    let folder = tempfile::tempdir().unwrap();
    let desk = empty(folder.path());
    let (site, photo) = (crate::edge::record_id(), crate::edge::record_id());
    let mut compose = desk.compose(NOW);
    compose.set(site, "site", "label", &storypole_notebook::Value::Text("S1".into())).unwrap();
    compose.set(photo, "photo", "about", &storypole_notebook::Value::Record(site)).unwrap();
    compose.set(photo, "photo", "hash", &storypole_notebook::Value::Hash([0xab; 32])).unwrap();
    compose.set(photo, "photo", "name", &storypole_notebook::Value::Text("wall.jpg".into())).unwrap();
    desk.take(compose.finish()).unwrap();
    let book = desk.book().unwrap();
    let here = |hash: &[u8; 32]| if *hash == [0xab; 32] { FileState::Here } else { FileState::Missing };
    let json = files::json(&book, site, &here);
    assert_eq!((&json["files"][0]["name"], &json["files"][0]["held"]), (&"wall.jpg".into(), &true.into()));
    assert_eq!(json["files"][0]["hash"], "ab".repeat(32));
    for (state, word, held_bytes) in [
        (FileState::Missing, "missing", 0),
        (FileState::Damaged, "damaged", 0),
        (FileState::Arriving { held_bytes: 7 }, "arriving", 7),
    ] {
        let file = files::json(&book, site, &|_| state)["files"][0].clone();
        assert_eq!(
            (&file["state"], &file["held"], &file["held_bytes"]),
            (&json!(word), &json!(false), &json!(held_bytes))
        );
    }
    assert_eq!(files::json(&book, photo, &|_| FileState::Here)["files"].as_array().unwrap().len(), 0);
}
