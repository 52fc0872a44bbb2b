//! The data with a description that programs read: a Frictionless Data Package.
//!
//! Leaves out the tables themselves: see [`mod@crate::data`].
//!
//! # Source
//! Data Package, Tabular Data Package, Tabular Data Resource, Table Schema and CSV Dialect, version 1 (Frictionless standards,
//! specs.frictionlessdata.io); `unit` of a field is an addition of ours, which these allow.

use serde_json::{Map, Value, json};

use super::File;
use super::tables::{LINE_END, csv};
use crate::data::{Column, ColumnKind, Data, DataTable};
use crate::document::Document;

mod readme;

/// Licences with a page of their own: SPDX name, page, title.
pub(super) const LICENCES: &[(&str, &str, &str)] = &[
    (
        "CC-BY-4.0",
        "https://creativecommons.org/licenses/by/4.0/",
        "Creative Commons Attribution 4.0 International",
    ),
    ("CC0-1.0", "https://creativecommons.org/publicdomain/zero/1.0/", "Creative Commons Zero v1.0 Universal"),
    (
        "CC-BY-SA-4.0",
        "https://creativecommons.org/licenses/by-sa/4.0/",
        "Creative Commons Attribution Share Alike 4.0 International",
    ),
    (
        "ODbL-1.0",
        "https://opendatacommons.org/licenses/odbl/1-0/",
        "Open Data Commons Open Database License v1.0",
    ),
];

/// The description, a short text beside it, and one CSV file for each table, at `data/`; nothing where there are no tables.
pub fn package(document: &Document) -> Vec<File> {
    if document.data.tables.is_empty() {
        return Vec::new();
    }
    let tables: Vec<(&DataTable, Vec<u8>)> =
        document.data.tables.iter().map(|table| (table, csv(table))).collect();
    let mut described = serde_json::to_string_pretty(&description(document, &tables))
        .expect("text and numbers can always be written as JSON");
    described.push('\n');
    let file = |name: &str, media_type, bytes| File { path: format!("data/{name}"), media_type, bytes };
    let mut files = vec![
        file("datapackage.json", "application/json", described.into_bytes()),
        file("README.md", "text/markdown; charset=utf-8", readme::readme(document).into_bytes()),
    ];
    let tables = tables.into_iter();
    files.extend(tables.map(|(table, bytes)| file(&path(table), "text/csv; charset=utf-8", bytes)));
    files
}

/// Where a table lies beside its description.
fn path(table: &DataTable) -> String {
    format!("{}.csv", table.name)
}

fn description(document: &Document, tables: &[(&DataTable, Vec<u8>)]) -> Value {
    let edition = document.updated.unwrap_or(document.date);
    let resources: Vec<Value> =
        tables.iter().map(|(table, bytes)| resource(&document.data, table, bytes)).collect();
    let mut package = json!({
        "profile": "tabular-data-package",
        "name": document.slug,
        "title": document.title,
        "description": document.summary,
        // The day of the edition, as a version that sorts.
        "version": format!("{}.{}.{}", edition.year(), edition.month(), edition.day()),
        "created": format!("{edition}T00:00:00Z"),
        "keywords": document.tags,
        "licenses": [licence(&document.licence)],
        "sources": [{ "title": "The crew's own readings and records" }],
        "resources": resources,
    });
    if let (Some(link), Some(package)) = (&document.link, package.as_object_mut()) {
        package.insert("homepage".to_owned(), json!(link));
    }
    package
}

/// A licence by its SPDX name. One that is not known here has only its name, and where that cannot be a name, its words as title.
fn licence(name: &str) -> Value {
    if let Some((name, path, title)) = LICENCES.iter().find(|known| known.0 == name) {
        return json!({ "name": name, "path": path, "title": title });
    }
    let is_plain = |letter: char| letter.is_ascii_alphanumeric() || matches!(letter, '-' | '.' | '_');
    if !name.is_empty() && name.chars().all(is_plain) {
        return json!({ "name": name });
    }
    json!({ "name": "other", "title": name })
}

fn resource(data: &Data, table: &DataTable, bytes: &[u8]) -> Value {
    json!({
        "profile": "tabular-data-resource",
        "name": table.name,
        "path": path(table),
        "title": table.about,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": bytes.len(),
        "hash": format!("sha256:{}", super::sha256(bytes)),
        "dialect": {
            "delimiter": ",",
            "lineTerminator": LINE_END,
            "quoteChar": "\"",
            "doubleQuote": true,
            "skipInitialSpace": false,
            "header": true,
        },
        "schema": schema(data, table),
    })
}

fn schema(data: &Data, table: &DataTable) -> Value {
    let fields: Vec<Value> = table.columns.iter().map(|column| field(table, column)).collect();
    let mut schema = json!({ "fields": fields, "missingValues": [""], "primaryKey": table.key });
    // A table that was left out, because it has no rows, cannot be referred to.
    let is_held = |name: &str| name.is_empty() || data.table(name).is_some();
    let foreign: Vec<Value> = table
        .refers
        .iter()
        .filter(|(_, other, _)| is_held(other))
        .map(|(own, other, its)| json!({ "fields": own, "reference": { "resource": other, "fields": its } }))
        .collect();
    if let Some(schema) = schema.as_object_mut().filter(|_| !foreign.is_empty()) {
        schema.insert("foreignKeys".to_owned(), Value::Array(foreign));
    }
    schema
}

fn field(table: &DataTable, column: &Column) -> Value {
    let mut field = Map::new();
    let kind = match column.kind {
        ColumnKind::Text => "string",
        ColumnKind::Number => "number",
        ColumnKind::Integer => "integer",
        ColumnKind::Day => "date",
        ColumnKind::Flag => "boolean",
    };
    field.insert("name".to_owned(), json!(column.name));
    field.insert("type".to_owned(), json!(kind));
    field.insert("format".to_owned(), json!("default"));
    field.insert("description".to_owned(), json!(column.about));
    if let Some(unit) = column.unit {
        field.insert("unit".to_owned(), json!(unit));
    }
    if column.kind == ColumnKind::Flag {
        field.insert("trueValues".to_owned(), json!(["true"]));
        field.insert("falseValues".to_owned(), json!(["false"]));
    }
    if table.key.contains(&column.name) {
        field.insert("constraints".to_owned(), json!({ "required": true }));
    }
    Value::Object(field)
}

#[cfg(test)]
mod tests;
