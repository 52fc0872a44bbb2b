//! What is held, with what this file brings so far laid over it. Leaves out what is done with it.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use storypole_journal::{Draft, DraftId, RecordId, WriteId};
use storypole_notebook::compose::STRUCK;
use storypole_notebook::kinds::NotebookSettings;
use storypole_notebook::{FieldType, KindSpec, Value};
use storypole_units::Currency;

use crate::known::Known;

/// One register as this file leaves it.
#[derive(Debug)]
struct Written {
    value: Option<Value>,
    write: WriteId,
}

/// Records held, and over them the drafts made from this file.
pub(super) struct Held<'k> {
    known: &'k dyn Known,
    written: BTreeMap<(RecordId, String), Written>,
    /// Records that this file adds, by kind, and by what they are looked up by: a field and its value as text.
    added: BTreeMap<String, BTreeSet<RecordId>>,
    index: BTreeMap<(String, String, String), Vec<RecordId>>,
    /// Records held before that this file changes, by kind.
    touched: BTreeMap<String, BTreeSet<RecordId>>,
    currency: Currency,
    /// Answers of `known`, which stands still while a file is read: rows ask for the same sets again and again.
    labels: RefCell<BTreeMap<(String, String), Vec<RecordId>>>,
    values: RefCell<BTreeMap<(RecordId, String), Option<Value>>>,
}

impl<'k> Held<'k> {
    pub(super) fn over(known: &'k dyn Known) -> Self {
        Self {
            known,
            written: BTreeMap::new(),
            added: BTreeMap::new(),
            index: BTreeMap::new(),
            touched: BTreeMap::new(),
            currency: known.currency(),
            labels: RefCell::default(),
            values: RefCell::default(),
        }
    }

    /// Takes in a draft made from this file. `adds` tells whether its records are new.
    pub(super) fn take_in(&mut self, draft: &Draft, adds: bool) {
        for (write_id, write) in draft.numbered() {
            let (kind, field) = (write.kind.as_str().to_owned(), write.field.as_str().to_owned());
            let value = Value::from_payload(&write.value).expect("the importer wrote the value");
            if kind == NotebookSettings::KIND
                && field == "currency"
                && let Some(Value::Text(code)) = &value
                && let Ok(currency) = Currency::parse(code)
            {
                self.currency = currency;
            }
            if !adds {
                self.touched.entry(kind).or_default().insert(write.record);
            } else {
                self.added.entry(kind.clone()).or_default().insert(write.record);
                if is_indexed(&kind, &field)
                    && let Some(value) = &value
                {
                    let key = (kind, field.clone(), value.to_string());
                    self.index.entry(key).or_default().push(write.record);
                }
            }
            self.written.insert((write.record, field), Written { value, write: write_id });
        }
    }

    pub(super) fn holds(&self, draft: DraftId) -> bool {
        self.known.holds(draft)
    }

    pub(super) fn currency(&self) -> Currency {
        self.currency
    }

    /// Records of a kind with this label, or name where the kind has no label.
    pub(super) fn labelled(&self, kind: &str, label: &str) -> Vec<RecordId> {
        let Some(field) = label_field(kind) else { return Vec::new() };
        let fields = [(field, Value::Text(label.to_owned()))];
        let key = (kind.to_owned(), label.to_owned());
        let held =
            self.labels.borrow_mut().entry(key).or_insert_with(|| self.known.labelled(kind, label)).clone();
        self.with_overlay(kind, &fields, held)
    }

    /// Records of a kind whose fields hold these values.
    pub(super) fn matching(&self, kind: &str, fields: &[(&str, Value)]) -> Vec<RecordId> {
        self.with_overlay(kind, fields, self.known.matching(kind, fields))
    }

    /// The value a field shows.
    pub(super) fn value(&self, record: RecordId, kind: &str, field: &str) -> Option<Value> {
        let key = (record, field.to_owned());
        match self.written.get(&key) {
            Some(written) => written.value.clone(),
            None => {
                let mut values = self.values.borrow_mut();
                values.entry(key).or_insert_with(|| self.known.value(record, kind, field)).clone()
            }
        }
    }

    /// The heads of a register.
    pub(super) fn heads(&self, record: RecordId, kind: &str, field: &str) -> Vec<WriteId> {
        match self.written.get(&(record, field.to_owned())) {
            // A write of this file has seen all that was held.
            Some(written) => vec![written.write],
            None => self.known.heads(record, kind, field),
        }
    }

    /// A value in words: another record by its label where it has one.
    pub(super) fn words(&self, takes: FieldType, value: &Value) -> String {
        if let (FieldType::Reference(kind), Value::Record(id)) = (takes, value)
            && let Some(field) = label_field(kind)
            && let Some(label) = self.value(*id, kind, field)
        {
            return label.to_string();
        }
        value.to_string()
    }

    /// Leaves out what this file struck or changed away, and adds what it brought in.
    fn with_overlay(&self, kind: &str, fields: &[(&str, Value)], held: Vec<RecordId>) -> Vec<RecordId> {
        let struck = |id: RecordId| self.written.contains_key(&(id, STRUCK.to_owned()));
        let changed_away = |id: RecordId| {
            fields.iter().any(|(field, value)| {
                let written = self.written.get(&(id, (*field).to_owned()));
                written.is_some_and(|written| written.value.as_ref() != Some(value))
            })
        };
        let matches = |id: RecordId| {
            fields.iter().all(|(field, value)| self.value(id, kind, field).as_ref() == Some(value))
        };
        let mut found: BTreeSet<RecordId> = held.into_iter().filter(|id| !changed_away(*id)).collect();
        let touched = self.touched.get(kind).into_iter().flatten().copied();
        found.extend(touched.chain(self.candidates(kind, fields)).filter(|id| matches(*id)));
        found.into_iter().filter(|id| !struck(*id)).collect()
    }

    /// Added records that may match: the shortest list the index has, else all of the kind.
    fn candidates(&self, kind: &str, fields: &[(&str, Value)]) -> Vec<RecordId> {
        let listed = |(field, value): &(&str, Value)| {
            let key = (kind.to_owned(), (*field).to_owned(), value.to_string());
            is_indexed(kind, field).then(|| self.index.get(&key).map_or(&[][..], Vec::as_slice))
        };
        match fields.iter().filter_map(listed).min_by_key(|list| list.len()) {
            Some(list) => list.to_vec(),
            None => self.added.get(kind).into_iter().flatten().copied().collect(),
        }
    }
}

/// The field a kind is called by.
pub(super) fn label_field(kind: &str) -> Option<&'static str> {
    let spec = KindSpec::find(kind)?;
    ["label", "name"].into_iter().find(|field| spec.field(field).is_some())
}

fn is_indexed(kind: &str, field: &str) -> bool {
    let takes = KindSpec::find(kind).and_then(|spec| spec.field(field)).map(|(_, spec)| spec.takes);
    matches!(field, "label" | "name" | "variable" | "replicate" | "taken_at")
        || matches!(takes, Some(FieldType::Reference(_)))
}
