//! Every kind of record with its fields, for programs that make forms.

use serde_json::{Value, json};
use storypole_notebook::KindSpec;
use storypole_notebook::field::{FieldSpec, FieldType};
use storypole_notebook::kinds::KINDS;

/// Every kind, in the order they are shown.
pub fn json() -> Value {
    json!({ "kinds": KINDS.iter().map(kind).collect::<Value>() })
}

fn kind(kind: &KindSpec) -> Value {
    json!({
        "name": kind.name,
        "doc": kind.doc,
        "fields": kind.fields.iter().map(field).collect::<Value>(),
    })
}

fn field(field: &FieldSpec) -> Value {
    let choices = if let FieldType::Choice(words) = field.takes { Some(words) } else { None };
    let letters = if let FieldType::Text(limit) = field.takes { Some(limit) } else { None };
    let of = if let FieldType::Reference(kind) = field.takes { Some(kind) } else { None };
    json!({
        "name": field.name,
        "takes": takes(field.takes),
        "doc": field.doc,
        "required": field.required,
        "reason_on_change": field.reason_on_change,
        "choices": choices,
        // A record of any kind is of none in particular.
        "of": of.filter(|kind| !kind.is_empty()),
        "letters": letters,
    })
}

/// What a field takes, in a word.
pub fn takes(takes: FieldType) -> &'static str {
    match takes {
        FieldType::Text(_) => "text",
        FieldType::Choice(_) => "choice",
        FieldType::Integer(..) => "integer",
        FieldType::Decimal(..) => "decimal",
        FieldType::Length => "length",
        FieldType::Money => "money",
        FieldType::Quantity => "quantity",
        FieldType::Temperature => "temperature",
        FieldType::Date => "date",
        FieldType::Moment => "moment",
        FieldType::Flag => "flag",
        FieldType::Reference(_) => "reference",
        FieldType::Hash => "hash",
        FieldType::Part(_) => "part",
        FieldType::Bands => "bands",
    }
}
