//! Cautions as the screens translate them: `web-ui/unit/vectors/cautions.json`.
//!
//! The screens say every caution in Spanish too. This test fails while the file is not the table; `unit/model/caution.test.ts` fails
//! while a Spanish text was written from another English one.

use serde_json::{Value, json};

use crate::caution::caution_rules;

#[test]
fn the_screens_translate_the_table_as_it_stands() {
    let rows: Value = caution_rules()
        .iter()
        .map(|rule| json!({ "name": rule.name, "subject": rule.subject, "text": rule.words() }))
        .collect();
    let text = format!("{rows:#}\n");
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../web-ui/unit/vectors/cautions.json");
    if std::env::var_os("STORYPOLE_ACCEPT").is_some() {
        std::fs::write(path, &text).unwrap();
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    assert!(
        kept == text,
        "web-ui/unit/vectors/cautions.json is not the table of cautions; look at the difference after \
         `STORYPOLE_ACCEPT=1 cargo test -p storypole-ledger screens`, and put the Spanish beside it right"
    );
}
