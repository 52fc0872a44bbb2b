//! Records by the name they are asked for, and what the whole notebook shows.

use serde_json::Value;
use storypole_desk::{Desk, names, view};
use storypole_findings::Findings;
use storypole_journal::RecordId;
use storypole_notebook::{Book, KindSpec};
use storypole_store::{Reader, StoreError};

use crate::ApiError;
use crate::problem::Code;

/// The record of a kind that a label or id means; it is there.
///
/// # Errors
/// None, or several.
pub fn named(desk: &Desk, kind: &str, name: &str) -> Result<RecordId, ApiError> {
    let spec = kind_of(kind)?;
    let id = names::find(desk, kind, name)?;
    let is_there = desk.read(|reader| reader.row(spec, id))?.is_some();
    if is_there { Ok(id) } else { Err(ApiError::no_such_record(kind, name)) }
}

/// The same where a name may be left out.
///
/// # Errors
/// None, or several.
pub fn maybe_named(desk: &Desk, kind: &str, name: Option<&str>) -> Result<Option<RecordId>, ApiError> {
    name.map(|name| named(desk, kind, name)).transpose()
}

/// The record of any kind that a label, an id or `kind:label` means.
///
/// # Errors
/// None, or several.
pub fn anything(desk: &Desk, name: &str) -> Result<(&'static str, RecordId), ApiError> {
    let none = || ApiError::no_such_record("record", name);
    if let Ok(id) = name.parse::<RecordId>() {
        let kind = desk.read(|reader| reader.kind_of(id))?;
        return kind.map(|kind| (kind.name, id)).ok_or_else(none);
    }
    let (kind, id) = names::find_any(desk, name)?;
    let spec = kind_of(kind)?;
    let is_there = desk.read(|reader| reader.row(spec, id))?.is_some();
    if is_there { Ok((kind, id)) } else { Err(none()) }
}

/// A kind by its name.
///
/// # Errors
/// There is none.
pub fn kind_of(kind: &str) -> Result<&'static KindSpec, ApiError> {
    KindSpec::find(kind).ok_or_else(|| {
        ApiError::new(Code::NoSuchRecord, format!("there is no kind of record called \"{kind}\""))
            .next("every kind is listed at /api/kinds")
    })
}

/// A whole record; null where it is not there.
///
/// # Errors
/// The database failed.
pub fn record(reader: &Reader, book: &Book, kind: &str, id: RecordId) -> Result<Value, StoreError> {
    let Some(spec) = KindSpec::find(kind) else { return Ok(Value::Null) };
    let Some(row) = reader.row(spec, id)? else { return Ok(Value::Null) };
    Ok(view::record::json(book, &row, &reader.heads_of(id, spec)?))
}

/// Looks at the findings of the whole notebook.
///
/// # Errors
/// What `look` says, or the database failed.
pub fn findings<T>(
    desk: &Desk,
    look: impl FnOnce(&Book, &Findings<'_>) -> Result<T, ApiError>,
) -> Result<T, ApiError> {
    findings_with(desk, |_, book, findings| look(book, findings))
}

/// Looks at the findings of the whole notebook with a reader of the same state.
///
/// # Errors
/// What `look` says, or the database failed.
pub fn findings_with<T>(
    desk: &Desk,
    look: impl FnOnce(&Reader, &Book, &Findings<'_>) -> Result<T, ApiError>,
) -> Result<T, ApiError> {
    desk.read_with_findings(|reader, book, findings| Ok(look(reader, book, findings)))?
}

/// There is nothing to compute a finding of `name` from.
pub fn no_finding(name: &str) -> ApiError {
    ApiError::new(Code::NoFinding, format!("nothing can be computed of {name}"))
}
