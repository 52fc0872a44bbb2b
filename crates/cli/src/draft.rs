//! One draft from what a person typed: texts become values, names become records, and what is written is said.
//!
//! Everything of one command goes into one draft, so it is there as a whole or not at all. Leaves out which
//! fields a verb asks for.

use std::collections::BTreeSet;

use serde_json::{Map, Value as Json, json};
use storypole_desk::names::a;
use storypole_desk::{Desk, Known, edge};
use storypole_journal::RecordId;
use storypole_ledger::{Mark, marks};
use storypole_notebook::compose::{ComposeError, Composer, STRUCK};
use storypole_notebook::{FieldSpec, FieldType, KindSpec, Refusal, Row, Value};

use crate::called;
use crate::context::Context;
use crate::print::{plainly, say};
use crate::refused::{Outcome, Refused};
use crate::typing;

/// Most letters of a reason.
const REASON_LETTERS: usize = storypole_journal::Draft::MAX_REASON_LETTERS;

/// A draft in the making.
pub struct Writing<'a> {
    context: &'a Context,
    desk: &'a Desk,
    composer: Composer,
    records: BTreeSet<RecordId>,
}

impl<'a> Writing<'a> {
    /// Starts a draft by the person at this device, or by the one named in `by`.
    ///
    /// # Errors
    /// There is no such person.
    pub fn start(context: &'a Context, desk: &'a Desk, by: Option<&str>) -> Result<Self, Refused> {
        let composer = match by {
            Some(label) => {
                Composer::new(edge::draft_id(), called::find(desk, "person", label)?, context.now())
            }
            None => desk.compose(context.now()),
        };
        Ok(Self { context, desk, composer, records: BTreeSet::new() })
    }

    /// A new record with the label given, or the next free one.
    ///
    /// # Errors
    /// The label is in use.
    pub fn add(&mut self, kind: &str, label: Option<&str>) -> Result<(RecordId, String), Refused> {
        let spec = called::kind(kind)?;
        let label = match label {
            Some(label) => label.trim().to_owned(),
            None => called::next_label(self.desk, spec)?.ok_or_else(|| {
                Refused::new(
                    format!("{} needs a short name", a(kind)),
                    "say which, like `glue-pl` or `north-room`",
                )
            })?,
        };
        let holder = self.desk.labelled(kind, &label);
        if holder
            .iter()
            .any(|id| called::text(self.desk, kind, *id, "label").is_some_and(|held| same(&held, &label)))
        {
            let next = format!(
                "choose another label, look with `storypole show {label}`, or alter it with `storypole change`"
            );
            return Err(Refused::new(format!("there is {} {label} already", a(kind)), next));
        }
        let id = edge::record_id();
        self.set(id, kind, "label", &label)?;
        Ok((id, label))
    }

    /// Writes the first value of a field from what was typed.
    ///
    /// # Errors
    /// The value is refused, or the record it names is not there.
    pub fn set(&mut self, id: RecordId, kind: &str, field: &str, typed: &str) -> Result<(), Refused> {
        let value = self.value(kind, field, typed)?;
        self.set_value(id, kind, field, &value)
    }

    /// Writes the first value of a field where one was typed.
    ///
    /// # Errors
    /// As [`Self::set`].
    pub fn set_some(
        &mut self,
        id: RecordId,
        kind: &str,
        field: &str,
        typed: Option<&str>,
    ) -> Result<(), Refused> {
        typed.map_or(Ok(()), |typed| self.set(id, kind, field, typed))
    }

    /// Writes the first value of a field.
    ///
    /// # Errors
    /// The value is refused.
    pub fn set_value(&mut self, id: RecordId, kind: &str, field: &str, value: &Value) -> Result<(), Refused> {
        self.records.insert(id);
        self.composer.set(id, kind, field, value)?;
        Ok(())
    }

    /// Writes over what a field shows; nothing typed clears it. Gives whether that is a change.
    ///
    /// # Errors
    /// The value is refused, or a value that stands would change without a reason.
    pub fn change(
        &mut self,
        id: RecordId,
        kind: &str,
        field: &str,
        typed: Option<&str>,
        reason: Option<&str>,
    ) -> Result<bool, Refused> {
        let spec = field_of(kind, field)?;
        let value = typed.map(|typed| self.value(kind, field, typed)).transpose()?;
        let seen = self.desk.heads(id, kind, field);
        if self.desk.value(id, kind, field) == value && seen.len() < 2 {
            return Ok(false);
        }
        let reason = reason.map(check_reason).transpose()?;
        if spec.reason_on_change && !seen.is_empty() && reason.is_none() {
            let next = "add --reason \"...\"; the old value stays in the history";
            return Err(Refused::new(
                format!("changing {kind} {} needs a reason", field.replace('_', " ")),
                next,
            ));
        }
        self.records.insert(id);
        self.composer.change(id, kind, field, value.as_ref(), seen, reason)?;
        Ok(true)
    }

    /// Strikes a record.
    ///
    /// # Errors
    /// There is no reason, or the record is struck already.
    pub fn strike(&mut self, id: RecordId, kind: &str, reason: Option<&str>) -> Result<(), Refused> {
        let reason = reason.map(check_reason).transpose()?.ok_or_else(|| {
            Refused::new("striking a record needs a reason", "add --reason \"...\"; its fields stay readable")
        })?;
        if let Some(why) = called::row(self.desk, kind, id).and_then(|row| row.meta.struck) {
            let name = called::name(self.desk, kind, id);
            return Err(Refused::new(
                format!("{kind} {name} is struck already: {why}"),
                format!("see `storypole history {id}`"),
            ));
        }
        self.records.insert(id);
        self.composer.strike(id, kind, self.desk.heads(id, kind, STRUCK), reason);
        Ok(())
    }

    /// Brings a struck record back.
    ///
    /// # Errors
    /// There is no reason, or the record is not struck.
    pub fn restore(&mut self, id: RecordId, kind: &str, reason: Option<&str>) -> Result<(), Refused> {
        let reason = reason
            .map(check_reason)
            .transpose()?
            .ok_or_else(|| Refused::new("bringing a record back needs a reason", "add --reason \"...\""))?;
        if called::row(self.desk, kind, id).is_none_or(|row| row.meta.struck.is_none()) {
            let name = called::name(self.desk, kind, id);
            return Err(Refused::new(
                format!("{kind} {name} is not struck"),
                format!("look at it with `storypole show {kind}:{name}`"),
            ));
        }
        self.records.insert(id);
        self.composer.restore(id, kind, self.desk.heads(id, kind, STRUCK), reason);
        Ok(())
    }

    /// What was typed as a value of a field.
    ///
    /// # Errors
    /// The value is refused, or the record it names is not there.
    pub fn value(&self, kind: &str, field: &str, typed: &str) -> Result<Value, Refused> {
        if field == "label" {
            check_label(kind, typed)?;
        }
        if is_hours(kind, field) {
            let hours = typing::hours(typed).ok_or_else(|| {
                let reason = format!("\"{}\" is not a number of hours", typed.trim());
                Refused::new(reason, "write them like 3.5, 3:30 or 3h30")
            })?;
            let parsed = field_of(kind, field)?.takes.parse(&hours, self.desk.currency());
            return Ok(parsed.map_err(|source| in_field(kind, field, source))?);
        }
        match field_of(kind, field)?.takes {
            FieldType::Reference("") => Ok(Value::Record(called::find_any(self.desk, typed)?.1)),
            FieldType::Reference(to) => Ok(Value::Record(called::find(self.desk, to, typed)?)),
            FieldType::Date => self.day(kind, field, typed),
            takes => {
                let parsed = takes.parse(typed, self.desk.currency());
                let value = parsed.map_err(|source| in_field(kind, field, source))?;
                if let (("person", "rate"), Value::Money(money)) = ((kind, field), &value)
                    && money.amount.is_negative()
                {
                    eprintln!(
                        "note: the rate {money} is below nothing; hours of this person make a job cheaper"
                    );
                }
                Ok(value)
            }
        }
    }

    fn day(&self, kind: &str, field: &str, typed: &str) -> Result<Value, Refused> {
        let today = self.context.today();
        match typed.trim().to_lowercase().as_str() {
            "today" => Ok(Value::Date(today)),
            "tomorrow" => Ok(Value::Date(today.tomorrow().unwrap_or(today))),
            "yesterday" => Ok(Value::Date(today.yesterday().unwrap_or(today))),
            other => {
                let parsed = FieldType::Date.parse(other, self.desk.currency());
                Ok(parsed.map_err(|source| in_field(kind, field, source))?)
            }
        }
    }

    /// The setting the draft is written in.
    pub fn context(&self) -> &'a Context {
        self.context
    }

    /// Whether nothing was written yet.
    pub fn is_empty(&self) -> bool {
        self.composer.is_empty()
    }

    /// Hands the draft to the desk; gives what a person should look at because of it.
    ///
    /// # Errors
    /// The desk refuses it; nothing is written.
    pub fn take(self) -> Result<Vec<Mark>, Refused> {
        let before: BTreeSet<Mark> = marks(&*self.desk.book()?).into_iter().collect();
        self.desk.take(self.composer.finish())?;
        let after = marks(&*self.desk.book()?);
        let concerns = |mark: &Mark| self.records.contains(&mark.about) || !before.contains(mark);
        Ok(after.into_iter().filter(concerns).collect())
    }

    /// Hands the draft to the desk and says what is recorded now, with what to look at.
    ///
    /// # Errors
    /// As [`Self::take`].
    pub fn finish(self, kind: &str, id: RecordId, said: &str) -> Outcome {
        let (context, desk) = (self.context, self.desk);
        let warnings = self.take()?;
        tell(context, &[record_json(desk, kind, id)], said, &warnings);
        Ok(())
    }
}

/// Says what is recorded now: a line for people, an object for programs, warnings to stderr.
pub fn tell(context: &Context, recorded: &[Json], said: &str, warnings: &[Mark]) {
    if context.json() {
        let recorded = if let [one] = recorded { one.clone() } else { Json::from(recorded) };
        say!("{}", json!({ "recorded": recorded, "warnings": warnings_json(warnings) }));
        return;
    }
    say!("{said}");
    warn(warnings);
}

/// Marks for programs.
pub fn warnings_json(warnings: &[Mark]) -> Json {
    let one = |mark: &Mark| {
        json!({
            "mark": mark.kind.name(),
            "about": mark.about.to_string(),
            "about_kind": mark.about_kind,
            "words": mark.words,
            "next_step": mark.next_step,
        })
    };
    warnings.iter().map(one).collect()
}

/// Marks for people.
pub fn warn(warnings: &[Mark]) {
    for mark in warnings {
        eprintln!("look: {}", plainly(&mark.words));
        eprintln!("      {}", plainly(&mark.next_step));
    }
}

/// A record as JSON: kind, id, and its fields by name; a reference is the name of its record.
pub fn record_json(desk: &Desk, kind: &str, id: RecordId) -> Json {
    let mut fields = Map::new();
    fields.insert("kind".to_owned(), kind.into());
    fields.insert("id".to_owned(), id.to_string().into());
    if let Some(row) = called::row(desk, kind, id) {
        for (spec, value) in filled(&row) {
            fields.insert(spec.name.to_owned(), value_json(desk, spec, value));
        }
    }
    Json::Object(fields)
}

/// Fields of a row that hold a value.
pub fn filled(row: &Row) -> impl Iterator<Item = (&'static FieldSpec, &Value)> {
    row.kind.fields.iter().zip(&row.values).filter_map(|(spec, value)| Some((spec, value.as_ref()?)))
}

fn value_json(desk: &Desk, spec: &FieldSpec, value: &Value) -> Json {
    match value {
        Value::Integer(number) => (*number).into(),
        Value::Flag(flag) => (*flag).into(),
        _ => words(desk, spec, value).into(),
    }
}

/// A value in words: as it is typed, a reference by the name of its record.
pub fn words(desk: &Desk, spec: &FieldSpec, value: &Value) -> String {
    match (spec.takes, value) {
        (FieldType::Reference(""), Value::Record(id)) => called::name_with_kind(desk, *id),
        (FieldType::Reference(to), Value::Record(id)) => called::name(desk, to, *id),
        _ => value.to_string(),
    }
}

/// One field of a kind.
///
/// # Errors
/// The kind has no such field; the refusal lists those it has.
pub fn field_of(kind: &str, field: &str) -> Result<&'static FieldSpec, Refused> {
    if field == STRUCK {
        return Err(Refused::new(
            "whether a record is struck is no field",
            format!("use `storypole strike {kind} ...` or `storypole reinstate {kind} ...`"),
        ));
    }
    let spec = KindSpec::find(kind).ok_or_else(|| ComposeError::UnknownKind(kind.to_owned()))?;
    let found = spec.field(field).map(|(_, field)| field);
    Ok(found.ok_or_else(|| ComposeError::UnknownField {
        kind: kind.to_owned(),
        field: field.to_owned(),
        known: spec.fields.iter().map(|field| field.name).collect::<Vec<_>>().join(", "),
    })?)
}

fn check_reason(reason: &str) -> Result<String, Refused> {
    let reason = reason.trim().to_owned();
    let checked = FieldType::Text(REASON_LETTERS).check(&Value::Text(reason.clone()));
    checked.map_err(|refusal| Refused::new(format!("the reason: {refusal}"), "say in a few words why"))?;
    Ok(reason)
}

fn in_field(kind: &str, field: &str, source: Refusal) -> ComposeError {
    ComposeError::Refused { kind: kind.to_owned(), field: field.to_owned(), source }
}

/// Looks whether a label can be typed as one word.
///
/// # Errors
/// It has a blank, a slash or a colon.
pub fn check_label(kind: &str, label: &str) -> Result<(), Refused> {
    Ok(storypole_notebook::field::check_label(label).map_err(|source| in_field(kind, "label", source))?)
}

/// Fields that count hours, which people also write with minutes.
fn is_hours(kind: &str, field: &str) -> bool {
    matches!((kind, field), ("hours" | "task", "hours") | ("entry", "hours_lost"))
}

/// The field that a word on the command line means: its name, or the word a flag of another verb has for it.
pub fn field_word<'w>(kind: &str, word: &'w str) -> &'w str {
    match (kind, word) {
        ("receipt", "total") => "printed_total",
        ("receipt", "tax") => "printed_tax",
        ("receipt", "rate") => "tax_rate",
        ("line", "group") => "cost_group",
        ("line", "price") => "unit_price",
        ("entry", "kind") => "entry_kind",
        ("entry", "lost") => "hours_lost",
        ("set", "from") => "from_room",
        ("set", "to") => "to_room",
        ("reading" | "set", "seconds") => "duration_s",
        ("meter", "kind") => "meter_kind",
        ("move", "from") => "from_job",
        ("move", "to") => "to_job",
        _ => word,
    }
}

/// Labels are alike whatever their case.
fn same(one: &str, other: &str) -> bool {
    one.eq_ignore_ascii_case(other)
}

#[cfg(test)]
mod tests {
    use storypole_notebook::kinds::KINDS;

    use super::*;

    #[test]
    fn words_of_flags_mean_fields_that_exist() {
        assert_eq!(field_word("receipt", "total"), "printed_total");
        assert_eq!(field_word("job", "total"), "total", "a job has no such flag");
        for kind in KINDS {
            for word in ["total", "tax", "rate", "group", "price", "kind", "lost", "from", "to", "seconds"] {
                let field = field_word(kind.name, word);
                assert!(field == word || field_of(kind.name, field).is_ok(), "{} {word}", kind.name);
                assert!(field == word || kind.field(word).is_none(), "{} has a field {word}", kind.name);
            }
        }
    }
}
