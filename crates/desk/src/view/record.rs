//! One record of any kind, field by field, ready to be shown and to be written over.
//!
//! Each field tells its heads, so that a form can say what it showed. Leaves out what was there before, which
//! [`super::history`] tells.

use std::convert::Infallible;

use serde_json::{Map, Value, json};
use storypole_journal::{RecordId, WriteId};
use storypole_notebook::compose::STRUCK;
use storypole_notebook::field::{FieldSpec, FieldType};
use storypole_notebook::kinds::KINDS;
use storypole_notebook::value::print_moment;
use storypole_notebook::{Book, KindSpec, Row, Value as Stored};
use storypole_store::{Reader, StoreError};

use super::{called, past};
use crate::Known;

/// Gives the JSON of a record by kind and id, as [`json()`] makes it, for views that hold whole records. Where rows
/// and heads are read from is the caller's.
pub type RecordOf<'a, E> = dyn FnMut(&'static str, RecordId) -> Result<Value, E> + 'a;

/// A record as JSON. `heads` are the heads of its registers by field, [`STRUCK`] among them.
///
/// A field in which nothing stands is left out. One that was cleared has no value but heads; so has one whose value
/// this version cannot read, which is listed as well.
pub fn json(book: &Book, row: &Row, heads: &[(String, Vec<WriteId>)]) -> Value {
    let mut json = called(book, row.kind.name, row.id).json();
    let fields = row.kind.fields.iter().filter_map(|spec| {
        let heads = heads_of(heads, spec.name);
        let value = row.value(spec.name);
        (value.is_some() || !heads.is_empty()).then(|| (spec.name.to_owned(), field(book, row, spec, heads)))
    });
    json["fields"] = Value::Object(fields.collect::<Map<_, _>>());
    json["unreadable"] = json!(row.meta.unreadable);
    json["struck"] = json!(row.meta.struck);
    json["struck_heads"] = names(heads_of(heads, STRUCK));
    json["written_at"] = json!(row.meta.written_at.map(print_moment));
    json["author"] = called::json(book, "person", row.meta.author);
    json
}

fn field(book: &Book, row: &Row, spec: &FieldSpec, heads: &[WriteId]) -> Value {
    let value = row.value(spec.name);
    let record = match value {
        Some(Stored::Record(id)) => Some(past::target(book, row.kind.name, spec.name, *id)),
        _ => None,
    };
    let typed = value.map(ToString::to_string);
    let shown = record.as_ref().map(called::Called::short).or_else(|| typed.clone());
    json!({
        "value": typed,
        "shown": shown,
        "record": record.map(|record| record.json()),
        "heads": names(heads),
        "corrected": row.meta.corrected.contains(&spec.name),
        "conflict": row.meta.conflict.contains(&spec.name),
    })
}

fn heads_of<'a>(heads: &'a [(String, Vec<WriteId>)], field: &str) -> &'a [WriteId] {
    heads.iter().find(|(name, _)| name == field).map_or(&[], |(_, heads)| heads)
}

/// The name of a write, as forms send it back.
pub fn write_name(write: &WriteId) -> String {
    format!("{}/{}", write.draft, write.index)
}

fn names(writes: &[WriteId]) -> Value {
    writes.iter().map(write_name).collect()
}

/// How many records of each kind point to this one, in the order of the kinds; struck ones left out.
pub fn linked(known: &dyn Known, kind: &str, id: RecordId) -> Vec<(&'static str, usize)> {
    let count = |other: &KindSpec, field: &[(&str, Stored)]| {
        Ok::<_, Infallible>(known.matching(other.name, field).len())
    };
    let Ok(counts) = count_linked(kind, id, count);
    counts
}

/// The same in the one state that a reader sees.
///
/// # Errors
/// The database failed.
pub fn linked_in(
    reader: &Reader,
    kind: &str,
    id: RecordId,
) -> Result<Vec<(&'static str, usize)>, StoreError> {
    count_linked(kind, id, |other, field| Ok(reader.matching(other, field)?.len()))
}

fn count_linked<E>(
    kind: &str,
    id: RecordId,
    count: impl Fn(&'static KindSpec, &[(&str, Stored)]) -> Result<usize, E>,
) -> Result<Vec<(&'static str, usize)>, E> {
    let mut counts = Vec::new();
    for other in KINDS {
        let points =
            |takes: FieldType| matches!(takes, FieldType::Reference(to) if to == kind || to.is_empty());
        let fields = other.fields.iter().filter(|field| points(field.takes));
        let counted = fields.map(|field| count(other, &[(field.name, Stored::Record(id))]));
        let count = counted.sum::<Result<usize, E>>()?;
        if count > 0 {
            counts.push((other.name, count));
        }
    }
    Ok(counts)
}

/// What points to a record as JSON.
pub fn linked_json(linked: &[(&'static str, usize)]) -> Value {
    linked.iter().map(|(kind, count)| json!({ "kind": kind, "count": count })).collect()
}
