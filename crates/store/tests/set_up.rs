//! What stands beside the log, and which files the log has ever named.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use storypole_notebook::Value;
use storypole_notebook::compose::Composer;

mod world;

use world::*;

#[test]
fn settings_last_through_a_rebuild() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    let held = |one: &storypole_store::Store| one.reader().unwrap().setting("files").unwrap();
    assert_eq!(held(&one), None);
    one.setting_set("files", "asked").unwrap();
    one.setting_set("files", "all").unwrap();
    one.setting_set("another", "x").unwrap();
    one.rebuild(&mut |_| ()).unwrap();
    assert_eq!(held(&one).as_deref(), Some("all"), "the last one, and no projection");
}

#[test]
fn every_hash_that_was_written_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    take(&mut one, site(10, "house"));
    let mut compose = Composer::new(draft_id(20), record(1), AT);
    compose.set(record(30), "photo", "hash", &Value::Hash([7; 32])).unwrap();
    compose.set(record(30), "photo", "about", &Value::Record(record(10))).unwrap();
    take(&mut one, compose.finish());
    let mut compose = Composer::new(draft_id(21), record(1), AT);
    let seen = one
        .reader()
        .unwrap()
        .heads(record(30), storypole_notebook::KindSpec::find("photo").unwrap(), "hash")
        .unwrap();
    compose.change(record(30), "photo", "hash", Some(&Value::Hash([8; 32])), seen, None).unwrap();
    compose.strike(record(30), "photo", Vec::new(), "another wall".to_owned());
    take(&mut one, compose.finish());
    let named = one.reader().unwrap().hashes_written().unwrap();
    assert!(named.contains(&[7; 32]), "what was corrected can still be read in the history");
    assert!(named.contains(&[8; 32]), "so can what was struck");
    assert!(!named.contains(&[9; 32]));
}
