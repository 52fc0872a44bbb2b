//! From plans to drafts: texts become values, labels become records, and what is held already is left alone.

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::tz::Offset;
use storypole_journal::{Draft, DraftId, RecordId, WrittenAt};
use storypole_notebook::compose::{ComposeError, Composer, STRUCK};
use storypole_notebook::field::{self, parse_moment};
use storypole_notebook::kinds::{Line, NotebookSettings, Reading};
use storypole_notebook::{FieldSpec, FieldType, KindSpec, Refusal, Value};

use super::held::{Held, label_field};
use super::plan::{Cell, DAY_FIELDS, Deed, Fault, Ids, Part, Plan};
use super::reason::Reason;
use super::refer::{self, Beside, as_record};
use crate::known::Known;

/// A record is taken to be written at this hour of the day it is about.
const EVENING_HOUR: i8 = 19;

/// Fields and values.
type Values = Vec<(&'static str, Value)>;

/// Makes drafts of the plans of one file.
pub(super) struct Taker<'k> {
    held: Held<'k>,
    author: RecordId,
    written_at: WrittenAt,
    occurrences: BTreeMap<[u8; 32], u64>,
    pub(super) drafts: Vec<Draft>,
    pub(super) faults: Vec<Fault>,
    pub(super) already_held: usize,
}

impl<'k> Taker<'k> {
    pub(super) fn new(known: &'k dyn Known, author: RecordId, written_at: WrittenAt) -> Self {
        Self {
            held: Held::over(known),
            author,
            written_at,
            occurrences: BTreeMap::new(),
            drafts: Vec::new(),
            faults: Vec::new(),
            already_held: 0,
        }
    }

    /// Takes one plan: a draft, a fault, or nothing where it is held already.
    pub(super) fn take(&mut self, plan: &Plan) {
        let content = plan.content();
        let occurrence = self.occurrences.entry(*content.as_bytes()).or_default();
        *occurrence += 1;
        let ids = Ids::of(plan, &content, *occurrence);
        if self.held.holds(ids.draft()) {
            self.already_held += 1;
            return;
        }
        let draft = match &plan.deed {
            Deed::Add(parts) => self.add(plan, parts, &ids),
            Deed::Change { kind, wanted, set, reason } => {
                self.change(plan, kind, wanted, set, reason.as_deref(), ids.draft())
            }
            Deed::Strike { kind, wanted, reason } => self.strike(plan, kind, wanted, reason, ids.draft()),
        };
        match draft {
            Ok(Some((draft, adds))) => match draft.check() {
                Ok(()) => {
                    self.held.take_in(&draft, adds);
                    self.drafts.push(draft);
                }
                Err(error) => self.faults.push(Fault::line(plan.line, error)),
            },
            Ok(None) => self.already_held += 1,
            Err(faults) => self.faults.extend(faults),
        }
    }

    fn add(&self, plan: &Plan, parts: &[Part], ids: &Ids) -> Result<Option<(Draft, bool)>, Vec<Fault>> {
        let mut faults = Vec::new();
        let mut records: Vec<Values> = Vec::new();
        for (part, place) in parts.iter().zip(0..) {
            let owner = part.within.map(|field| (field, Value::Record(ids.record(0))));
            match self.values(part, owner) {
                Ok(values) => records.push(placed(part, place, values)),
                Err(more) => faults.extend(more),
            }
        }
        if !faults.is_empty() {
            faults.extend(left_out(parts));
            return Err(faults);
        }
        let first = &parts[0];
        let standing = self.standing(first.kind, &records[0]);
        let mut composer = self.composer(plan, &records[0], ids.draft())?;
        if let Some(record) = standing.first() {
            if parts.len() > 1 {
                let label = plan_label(&records[0]);
                return Err(vec![Fault::line(
                    plan.line,
                    Reason::PartsThere { kind: first.kind.name, label },
                )]);
            }
            self.agree(first, &records[0], *record, &mut composer)?;
            return Ok((!composer.is_empty()).then(|| (composer.finish(), false)));
        }
        for (index, (part, values)) in parts.iter().zip(&records).enumerate() {
            for (field, value) in values {
                let composed = composer.set(ids.record(index), part.kind.name, field, value);
                composed.map_err(|error| vec![Fault::cell(part.line, field, error)])?;
            }
        }
        Ok(Some((composer.finish(), true)))
    }

    /// Compares a row with the record that stands: fields nobody wrote are filled in, others must agree.
    fn agree(
        &self,
        part: &Part,
        values: &Values,
        record: RecordId,
        composer: &mut Composer,
    ) -> Result<(), Vec<Fault>> {
        let kind = part.kind;
        for (field, value) in values {
            let held = self.held.value(record, kind.name, field);
            if held.as_ref() == Some(value) {
                continue;
            }
            let heads = self.held.heads(record, kind.name, field);
            // There is one notebook: its line sets what it says.
            if !heads.is_empty() && kind.name != NotebookSettings::KIND {
                let (_, spec) = kind.field(field).expect("values are of the kind's fields");
                let held =
                    held.map_or_else(|| "nothing".to_owned(), |held| self.held.words(spec.takes, &held));
                let reason = match kind.name == Reading::KIND && *field == "value" {
                    true => Reason::ReadingThere { held },
                    false => Reason::AlreadyThere { kind: kind.name, field: (*field).to_owned(), held },
                };
                return Err(vec![Fault::cell(part.line, column_of(&part.cells, field), reason)]);
            }
            let composed = composer.change(record, kind.name, field, Some(value), heads, None);
            composed.map_err(|error| vec![Fault::cell(part.line, field, error)])?;
        }
        Ok(())
    }

    /// Records that are what this row says, by what tells records of the kind apart.
    fn standing(&self, kind: &'static KindSpec, values: &Values) -> Vec<RecordId> {
        let is_numbered = values.iter().any(|(field, _)| *field == "replicate");
        let Some(key) = key_of(kind, is_numbered) else { return Vec::new() };
        let (mut fields, mut without) = (Vec::new(), Vec::new());
        for field in key {
            match values.iter().find(|(name, _)| name == field) {
                Some((name, value)) => fields.push((*name, value.clone())),
                None => without.push(*field),
            }
        }
        if fields.is_empty() && !key.is_empty() {
            return Vec::new();
        }
        let mut found = self.held.matching(kind.name, &fields);
        found.retain(|id| without.iter().all(|field| self.held.value(*id, kind.name, field).is_none()));
        found
    }

    fn change(
        &self,
        plan: &Plan,
        kind: &'static KindSpec,
        wanted: &[Cell],
        set: &[Cell],
        reason: Option<&str>,
        id: DraftId,
    ) -> Result<Option<(Draft, bool)>, Vec<Fault>> {
        let record = self.the_one(plan.line, kind, wanted)?;
        let reason = reason.map(|text| reason_of(plan.line, text)).transpose()?;
        let mut composer = self.composer(plan, &Vec::new(), id)?;
        let mut faults = Vec::new();
        for cell in set {
            let asked = match &cell.text {
                // Beside the new values stand those that tell the record, so a position is known by its set.
                Some(text) => self.value_of(kind, cell, text, wanted, &self.told(kind, wanted)).map(Some),
                None => spec_of(kind, &cell.field).map(|_| None),
            };
            let outcome = asked.and_then(|value| {
                self.change_field(&mut composer, kind, record, &cell.field, value.as_ref(), reason.clone())
            });
            faults.extend(outcome.err().map(|reason| Fault::cell(plan.line, &cell.column, reason)));
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        Ok((!composer.is_empty()).then(|| (composer.finish(), false)))
    }

    fn change_field(
        &self,
        composer: &mut Composer,
        kind: &'static KindSpec,
        record: RecordId,
        field: &str,
        value: Option<&Value>,
        reason: Option<String>,
    ) -> Result<(), Reason> {
        if self.held.value(record, kind.name, field).as_ref() == value {
            return Ok(());
        }
        let seen = self.held.heads(record, kind.name, field);
        if spec_of(kind, field)?.reason_on_change && !seen.is_empty() && reason.is_none() {
            return Err(Reason::MissingReason { kind: kind.name, field: field.to_owned() });
        }
        composer.change(record, kind.name, field, value, seen, reason)?;
        Ok(())
    }

    fn strike(
        &self,
        plan: &Plan,
        kind: &'static KindSpec,
        wanted: &[Cell],
        reason: &str,
        id: DraftId,
    ) -> Result<Option<(Draft, bool)>, Vec<Fault>> {
        let record = self.the_one(plan.line, kind, wanted)?;
        let reason = reason_of(plan.line, reason)?;
        let mut composer = self.composer(plan, &Vec::new(), id)?;
        composer.strike(record, kind.name, self.held.heads(record, kind.name, STRUCK), reason);
        Ok(Some((composer.finish(), false)))
    }

    /// The one record that `where` tells.
    fn the_one(&self, line: u64, kind: &'static KindSpec, wanted: &[Cell]) -> Result<RecordId, Vec<Fault>> {
        let (mut fields, mut faults) = (Values::new(), Vec::new());
        for cell in in_order(wanted) {
            let text = cell.text.as_deref().ok_or(Reason::Refused(Refusal::Empty));
            match text.and_then(|text| self.value_of(kind, cell, text, wanted, &fields)) {
                Ok(value) => fields.push((spec_name(kind, &cell.field), value)),
                Err(reason) => faults.push(Fault::cell(line, &cell.column, reason)),
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let found = self.held.matching(kind.name, &fields);
        match found[..] {
            [id] => Ok(id),
            [] => Err(vec![Fault::cell(line, "where", Reason::NoMatch { kind: kind.name })]),
            _ => {
                let reason = Reason::SeveralMatch { kind: kind.name, count: found.len() };
                Err(vec![Fault::cell(line, "where", reason)])
            }
        }
    }

    /// What of `where` can be read, for labels that mean something only beside it.
    fn told(&self, kind: &'static KindSpec, wanted: &[Cell]) -> Values {
        let mut values = Values::new();
        for cell in in_order(wanted) {
            let value = cell.text.as_deref().map(|text| self.value_of(kind, cell, text, wanted, &values));
            values.extend(value.and_then(Result::ok).map(|value| (spec_name(kind, &cell.field), value)));
        }
        values
    }

    /// Reads the cells of one new record.
    fn values(&self, part: &Part, owner: Option<(&'static str, Value)>) -> Result<Values, Vec<Fault>> {
        let kind = part.kind;
        let (mut values, mut faults) = (Values::new(), Vec::new());
        for cell in &part.cells {
            if let Err(reason) = spec_of(kind, &cell.field) {
                faults.push(Fault::cell(part.line, &cell.column, reason));
            }
        }
        for spec in fields_in_order(kind) {
            let cell = part.cells.iter().find(|cell| cell.field == spec.name);
            let text = cell.and_then(|cell| cell.text.as_deref());
            match (cell, text, &owner) {
                (Some(cell), Some(text), _) => match self.value_of(kind, cell, text, &part.cells, &values) {
                    Ok(value) => match check_label(spec.name, text) {
                        Ok(()) => values.push((spec.name, value)),
                        Err(refusal) => faults.push(Fault::cell(part.line, &cell.column, refusal)),
                    },
                    Err(reason) => faults.push(Fault::cell(part.line, &cell.column, reason)),
                },
                (_, _, Some((field, value))) if *field == spec.name => {
                    values.push((spec.name, value.clone()))
                }
                // A reading taken once is the first of its repeats; so it is known when it comes again.
                _ if kind.name == Reading::KIND && spec.name == "replicate" && !is_of_a_run(part) => {
                    values.push((spec.name, Value::Integer(1)));
                }
                _ if spec.required => {
                    let reason = Reason::Missing { kind: kind.name, field: spec.name };
                    faults.push(Fault::cell(part.line, spec.name, reason));
                }
                _ => (),
            }
        }
        if faults.is_empty() { Ok(values) } else { Err(faults) }
    }

    fn value_of(
        &self,
        kind: &'static KindSpec,
        cell: &Cell,
        text: &str,
        cells: &[Cell],
        values: &Values,
    ) -> Result<Value, Reason> {
        let spec = spec_of(kind, &cell.field)?;
        match spec.takes {
            FieldType::Reference(to) if !text.trim().is_empty() => {
                refer::find(&self.held, to, text, &Beside { cells, values }).map(Value::Record)
            }
            takes => Ok(takes.parse(text, self.held.currency())?),
        }
    }

    fn composer(&self, plan: &Plan, values: &Values, id: DraftId) -> Result<Composer, Vec<Fault>> {
        let at = |column: &str, reason: Reason| vec![Fault::cell(plan.line, column, reason)];
        let author = match &plan.author {
            Some(label) => {
                let beside = Beside { cells: &[], values: &[] };
                refer::find(&self.held, "person", label, &beside).map_err(|reason| at("author", reason))?
            }
            None => self.author,
        };
        let written_at = match &plan.written_at {
            Some(text) => {
                let value = FieldType::Moment.parse(text, self.held.currency());
                value.map_err(|refusal| at("written_at", refusal.into()))?;
                parse_moment(text.trim()).map_err(|refusal| at("written_at", refusal.into()))?
            }
            None => self.day_of(values).map_or(self.written_at, |day| self.evening_of(day)),
        };
        Ok(Composer::new(id, author, written_at))
    }

    /// The day a record is about: its own, else that of its set, else that of its test.
    fn day_of(&self, values: &Values) -> Option<Date> {
        let value =
            |field: &str| values.iter().find(|(name, _)| *name == field).map(|(_, value)| value.clone());
        let date = |value: Value| if let Value::Date(date) = value { Some(date) } else { None };
        if let Some(day) = DAY_FIELDS.iter().find_map(|field| value(field).and_then(date)) {
            return Some(day);
        }
        let day_at = |of: &str, field: &str| {
            let record = value(of).and_then(as_record)?;
            self.held.value(record, of, field).and_then(date)
        };
        day_at("set", "date").or_else(|| day_at("test", "planned"))
    }

    /// The evening of a day where the file is read, or the moment it is read if that is earlier.
    fn evening_of(&self, day: Date) -> WrittenAt {
        let offset_min = self.written_at.offset_min;
        let evening = Offset::from_seconds(i32::from(offset_min) * 60)
            .and_then(|offset| offset.to_timestamp(day.at(EVENING_HOUR, 0, 0, 0)));
        let unix_ms = evening.map_or(self.written_at.unix_ms, jiff::Timestamp::as_millisecond);
        WrittenAt { unix_ms: unix_ms.min(self.written_at.unix_ms), offset_min }
    }
}

/// Fields that tell records of a kind apart; `None` where rows are never taken to be the same.
fn key_of(kind: &KindSpec, is_numbered: bool) -> Option<&'static [&'static str]> {
    Some(match kind.name {
        "notebook" => &[],
        "position" => &["test", "room", "label"],
        "condition" => &["test", "variable"],
        "found" => &["condition", "set"],
        "reading" if is_numbered => &["set", "position", "role", "subject", "replicate"],
        "reading" => &["set", "position", "role", "subject", "taken_at"],
        _ if kind.field("label").is_some() => &["label"],
        _ => return None,
    })
}

/// Whether a reading is one moment of a run, as a logger writes it: its time tells it from the others, not a number.
fn is_of_a_run(part: &Part) -> bool {
    let text = |field: &str| {
        let cell = part.cells.iter().find(|cell| cell.field == field)?;
        cell.text.as_deref().map(str::trim).filter(|text| !text.is_empty())
    };
    let is_of_sound = |subject: &str| matches!(subject, "level" | "level-difference" | "reverberation");
    text("taken_at").is_some() && text("subject").is_some_and(|subject| !is_of_sound(subject))
}

fn spec_of(kind: &'static KindSpec, field: &str) -> Result<&'static FieldSpec, Reason> {
    kind.field(field).map(|(_, spec)| spec).ok_or_else(|| {
        let known = kind.fields.iter().map(|field| field.name).collect::<Vec<_>>().join(", ");
        let (kind, field) = (kind.name.to_owned(), field.to_owned());
        ComposeError::UnknownField { kind, field, known }.into()
    })
}

/// A new label is one word; other fields hold what they hold.
fn check_label(field: &str, text: &str) -> Result<(), Refusal> {
    if field == "label" { field::check_label(text) } else { Ok(()) }
}

fn spec_name(kind: &'static KindSpec, field: &str) -> &'static str {
    kind.field(field).expect("the value was read for this field").1.name
}

/// The set comes first: the labels of positions and conditions mean something only beside it.
fn fields_in_order(kind: &'static KindSpec) -> impl Iterator<Item = &'static FieldSpec> {
    let (first, rest): (Vec<_>, Vec<_>) = kind.fields.iter().partition(|spec| spec.name == "set");
    first.into_iter().chain(rest)
}

/// Cells with the set first, as in [`fields_in_order`].
fn in_order(cells: &[Cell]) -> impl Iterator<Item = &Cell> {
    let (first, rest): (Vec<_>, Vec<_>) = cells.iter().partition(|cell| cell.field == "set");
    first.into_iter().chain(rest)
}

fn reason_of(line: u64, text: &str) -> Result<String, Vec<Fault>> {
    let takes = FieldType::Text(Draft::MAX_REASON_LETTERS);
    match takes.check(&Value::Text(text.trim().to_owned())) {
        Ok(()) => Ok(text.trim().to_owned()),
        Err(refusal) => Err(vec![Fault::cell(line, "reason", refusal)]),
    }
}

fn column_of<'c>(cells: &'c [Cell], field: &'c str) -> &'c str {
    cells.iter().find(|cell| cell.field == field).map_or(field, |cell| &cell.column)
}

fn plan_label(values: &Values) -> String {
    values
        .iter()
        .find(|(field, _)| *field == "label")
        .map_or_else(String::new, |(_, value)| value.to_string())
}

/// Lines of a receipt keep the order of their rows. Their places are no part of what rows are known by, so a
/// file that was read before there were places is still known.
fn placed(part: &Part, place: i64, mut values: Values) -> Values {
    let place = Value::Integer(place);
    let is_legal = spec_of(part.kind, "place").is_ok_and(|spec| spec.takes.check(&place).is_ok());
    if part.kind.name == Line::KIND && part.within.is_some() && is_legal {
        values.push(("place", place));
    }
    values
}

/// Says of a receipt of several lines that all of it waits.
fn left_out(parts: &[Part]) -> Option<Fault> {
    let first = parts.first().filter(|part| part.kind.name == "receipt" && parts.len() > 2)?;
    let label = first.cells.iter().find(|cell| Some(cell.field.as_str()) == label_field("receipt"))?;
    let receipt = label.text.clone().unwrap_or_default();
    Some(Fault::line(first.line, Reason::LeftOutWhole { receipt }))
}
