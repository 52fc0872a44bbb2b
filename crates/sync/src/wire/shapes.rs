//! The shapes of drafts: which kinds and fields they write to. Most have one that came before.

use std::collections::HashMap;

use storypole_journal::{Draft, Write};

use super::BatchError;
use super::coder::Chance;
use super::ids::IdColumn;
use super::lane::Lane;
use super::model::{Number, Numbers};
use super::texts::Names;
use super::value::Column;

/// The most fields, and kinds, with a column of their own; the others share the last.
const MOST_COLUMNS: usize = 1_024;

/// Which fields of which kind a draft writes to, one shape per group of writes on one record.
#[derive(Default)]
pub(super) struct Shapes {
    list: Vec<Shape>,
    places: HashMap<ShapeKey, usize>,
    /// 0: the draft ends; 1: a new shape; else 2 + the place in `list`.
    codes: Numbers,
    starts: Numbers,
    /// The shape of the group before in this draft, and of the first group of the last draft.
    before: Option<usize>,
    first: usize,
    lengths: Number,
}

pub(super) struct Shape {
    pub(super) kind: u32,
    /// The column of its records.
    pub(super) records: usize,
    pub(super) fields: Vec<ShapeField>,
}

pub(super) struct ShapeField {
    pub(super) name: u32,
    pub(super) column: usize,
    pub(super) has_reason: bool,
}

/// Names of a shape, as text: kind, then fields with a mark where there is a reason.
type ShapeKey = String;

impl Shapes {
    /// Returns the shape at a place that [`Shapes::pass`] gave.
    pub(super) fn at(&self, place: usize) -> &Shape {
        &self.list[place]
    }

    /// Begins a draft.
    pub(super) fn begin(&mut self) {
        self.before = None;
    }

    /// Passes the shape of the next group, given as `Some(None)` at the end; returns its place.
    pub(super) fn pass(
        &mut self,
        lane: &mut impl Lane,
        names: &mut Names,
        columns: &mut Columns,
        given: Option<Option<&[Write]>>,
    ) -> Result<Option<usize>, BatchError> {
        let key = given.map(|group| group.map(key_of));
        let code = key.as_ref().map(|key| match key {
            None => 0,
            Some(key) => self.places.get(key).map_or(1, |place| *place as u64 + 2),
        });
        let code = match self.before {
            None => self.starts.pass(lane, self.first, code)?,
            Some(before) => self.codes.pass(lane, before, code)?,
        };
        let place = match code {
            0 => return Ok(None),
            1 => self.add(lane, names, columns, given.flatten())?,
            code => usize::try_from(code - 2).unwrap_or(usize::MAX),
        };
        if place >= self.list.len() {
            return Err(BatchError::Illegal { what: "the shape of a draft" });
        }
        if self.before.is_none() {
            self.first = place;
        }
        self.before = Some(place);
        Ok(Some(place))
    }

    fn add(
        &mut self,
        lane: &mut impl Lane,
        names: &mut Names,
        columns: &mut Columns,
        given: Option<&[Write]>,
    ) -> Result<usize, BatchError> {
        lane.spend(128)?;
        let kind = names.pass(lane, given.map(|group| &group[0].kind))?;
        let count = self.lengths.pass(lane, given.map(|group| group.len() as u64))?;
        if count == 0 || count > Draft::MAX_WRITES as u64 {
            return Err(BatchError::Illegal { what: "the number of writes" });
        }
        let records = columns.records_of(lane, kind)?;
        let mut fields = Vec::new();
        for at in 0..count as usize {
            lane.spend(96)?;
            let given = given.map(|group| &group[at]);
            let name = names.pass(lane, given.map(|write| &write.field))?;
            let has_reason = lane.bit(&mut columns.has_reason, given.map(|write| write.reason.is_some()))?;
            fields.push(ShapeField { name, column: columns.values_of(lane, kind, name)?, has_reason });
        }
        if let Some(group) = given {
            self.places.insert(key_of(group), self.list.len());
        }
        self.list.push(Shape { kind, records, fields });
        Ok(self.list.len() - 1)
    }
}

fn key_of(group: &[Write]) -> ShapeKey {
    let mut key = group[0].kind.as_str().to_owned();
    for write in group {
        key.push(if write.reason.is_some() { '!' } else { ' ' });
        key.push_str(write.field.as_str());
    }
    key
}

/// The columns of all fields, and of the records of all kinds.
pub(super) struct Columns {
    pub(super) values: Vec<Column>,
    places: HashMap<(u32, u32), usize>,
    pub(super) records: Vec<IdColumn>,
    record_places: HashMap<u32, usize>,
    has_reason: Chance,
}

impl Default for Columns {
    fn default() -> Self {
        Self {
            values: Vec::new(),
            places: HashMap::new(),
            records: Vec::new(),
            record_places: HashMap::new(),
            has_reason: Chance::of(8_000),
        }
    }
}

impl Columns {
    fn values_of(&mut self, lane: &mut impl Lane, kind: u32, field: u32) -> Result<usize, BatchError> {
        if let Some(place) = self.places.get(&(kind, field)) {
            return Ok(*place);
        }
        if self.values.len() < MOST_COLUMNS {
            lane.spend(Column::BYTES)?;
            self.values.push(Column::default());
        }
        let place = self.values.len() - 1;
        self.places.insert((kind, field), place);
        Ok(place)
    }

    fn records_of(&mut self, lane: &mut impl Lane, kind: u32) -> Result<usize, BatchError> {
        if let Some(place) = self.record_places.get(&kind) {
            return Ok(*place);
        }
        if self.records.len() < MOST_COLUMNS {
            lane.spend(IdColumn::BYTES)?;
            self.records.push(IdColumn::new());
        }
        let place = self.records.len() - 1;
        self.record_places.insert(kind, place);
        Ok(place)
    }
}
