//! What writes have seen: mostly the last write on their register, or none where there is none.

use std::collections::HashMap;

use storypole_journal::{Draft, DraftId, WriteId, WrittenAt};

use super::BatchError;
use super::coder::Chance;
use super::ids::{Fresh, Id, Neighbour};
use super::lane::Lane;
use super::model::Number;

/// A record by its place among the ids, and the name of a field.
pub(super) type Register = (u32, u32);

/// What writes have seen.
pub(super) struct Seen {
    latest: HashMap<Register, WriteId>,
    drafts: Vec<DraftId>,
    places: HashMap<DraftId, usize>,
    /// Whether a write has seen the last one on its register in this batch, or none where there is none.
    as_expected: [Chance; 2],
    counts: Number,
    /// 0: a draft from before the batch; else how many drafts ago.
    ages: Number,
    indexes: Number,
    fresh: Fresh,
}

impl Seen {
    pub(super) fn new() -> Self {
        Self {
            latest: HashMap::new(),
            drafts: Vec::new(),
            places: HashMap::new(),
            as_expected: [Chance::of(60_000); 2],
            counts: Number::default(),
            ages: Number::default(),
            indexes: Number::default(),
            fresh: Fresh::new(),
        }
    }

    /// Takes note of a draft.
    pub(super) fn add(&mut self, draft: DraftId) {
        self.places.insert(draft, self.drafts.len());
        self.drafts.push(draft);
    }

    /// Takes note of a write.
    pub(super) fn note(&mut self, register: Register, write: WriteId) {
        self.latest.insert(register, write);
    }

    /// Passes what a write on a register has seen.
    pub(super) fn pass(
        &mut self,
        lane: &mut impl Lane,
        register: Register,
        given: Option<&[WriteId]>,
        written_at: WrittenAt,
    ) -> Result<Vec<WriteId>, BatchError> {
        let latest = self.latest.get(&register).copied();
        let expected = latest.as_slice();
        let chance = &mut self.as_expected[expected.len()];
        if lane.bit(chance, given.map(|given| given == expected))? {
            return Ok(expected.to_vec());
        }
        let count = self.counts.pass(lane, given.map(|given| given.len() as u64))?;
        if count > Draft::MAX_SEEN as u64 {
            return Err(BatchError::Illegal { what: "the number of writes seen" });
        }
        let mut seen = Vec::new();
        for at in 0..count as usize {
            lane.spend(24)?;
            let given = given.map(|given| given[at]);
            let draft = self.draft(lane, given.map(|write| write.draft), written_at)?;
            let index = self.indexes.pass(lane, given.map(|write| u64::from(write.index)))?;
            let index = u32::try_from(index).map_err(|_| BatchError::Illegal { what: "a write seen" })?;
            seen.push(WriteId { draft, index });
        }
        Ok(seen)
    }

    fn draft(
        &mut self,
        lane: &mut impl Lane,
        given: Option<DraftId>,
        written_at: WrittenAt,
    ) -> Result<DraftId, BatchError> {
        let count = self.drafts.len() as u64;
        let age = given.map(|given| self.places.get(&given).map_or(0, |place| count - *place as u64));
        let age = self.ages.pass(lane, age)?;
        if age == 0 {
            lane.spend(80)?;
            let mut neighbour = Neighbour::at(written_at.unix_ms);
            let id: Id = self.fresh.pass(lane, &mut neighbour, given.map(|given| *given.as_bytes()))?;
            self.add(DraftId::from_bytes(id));
            return Ok(DraftId::from_bytes(id));
        }
        let place = count.checked_sub(age).ok_or(BatchError::Illegal { what: "the age of a draft" })?;
        Ok(self.drafts[place as usize])
    }
}
