//! Texts and names that come again and again: once on a shelf, after that a small number.

use std::collections::HashMap;
use std::rc::Rc;

use storypole_journal::Name;

use super::BatchError;
use super::lane::{Lane, Shelf};
use super::model::{Number, Numbers};

/// Texts of one kind.
#[derive(Debug)]
pub(super) struct Texts {
    shelf: Option<Shelf>,
    list: Vec<Rc<[u8]>>,
    places: HashMap<Rc<[u8]>, u32>,
    /// 0: on the shelf; else 1 + the place in `list`.
    codes: Numbers,
    last: usize,
    lengths: Number,
}

impl Texts {
    pub(super) const BYTES: usize = 2 * Number::BYTES;

    /// Longer ones are not kept for repeats.
    const LONGEST: usize = 1_024;

    pub(super) fn new() -> Self {
        Self {
            shelf: None,
            list: Vec::new(),
            places: HashMap::new(),
            codes: Numbers::default(),
            last: 0,
            lengths: Number::default(),
        }
    }

    /// Passes a text; the caller checks that it is one.
    pub(super) fn pass(
        &mut self,
        lane: &mut impl Lane,
        given: Option<&[u8]>,
    ) -> Result<Rc<[u8]>, BatchError> {
        let code = given.map(|given| self.places.get(given).map_or(0, |place| u64::from(*place) + 1));
        let code = self.codes.pass(lane, self.last, code)? as usize;
        self.last = code.min(15);
        if code > 0 {
            let known = self.list.get(code - 1).ok_or(BatchError::Illegal { what: "the place of a text" })?;
            return Ok(known.clone());
        }
        let length = self.lengths.pass(lane, given.map(|given| given.len() as u64))?;
        let length = usize::try_from(length).map_err(|_| BatchError::Short)?;
        lane.spend(length.saturating_add(64))?;
        let shelf = *self.shelf.get_or_insert_with(|| lane.open_shelf());
        let text: Rc<[u8]> = lane.text(shelf, length, given)?.into();
        if length <= Self::LONGEST {
            self.places.insert(text.clone(), self.list.len() as u32);
            self.list.push(text.clone());
        }
        Ok(text)
    }
}

/// Names of kinds and fields that need not be spelled. They are a part of the format: the order never
/// changes and nothing is added, or it is another version. Others may occur; they are spelled once.
const WORDS: &str = "membership key role invited_by revoked struck label name note text date job site room \
    assembly material unit quantity person task entry hours supplier receipt line use waste move meter check \
    signal test set condition found position reading photo finding mark acknowledgement writeup attachment \
    title state started finished estimate goal address description built_year length width height volume_m3 \
    blocked_by waits_for owner due evidence element room_a room_b replaces design since face_m2 leaf_a frame \
    cavity leaf_b openings seals entry_kind low high weather hours_lost outcome cost_effect pack_unit \
    pack_size thickness division valued number tax_rate printed_tax printed_total returns memo place item \
    unit_price discount taxed cost_group from_site from_job to_site to_job meter_kind class serial nominal \
    before after hash duration_s question measures bench_rig planned method stage from_room to_room operator \
    started_at response included left_out variable wanted value status side x y z subject replicate";

/// Names of kinds and fields.
#[derive(Debug)]
pub(super) struct Names {
    list: Vec<Name>,
    places: HashMap<Name, u32>,
    codes: Number,
    spelled: Texts,
}

impl Names {
    pub(super) fn new() -> Self {
        let mut names = Self {
            list: Vec::new(),
            places: HashMap::new(),
            codes: Number::default(),
            spelled: Texts::new(),
        };
        WORDS.split_whitespace().for_each(|word| names.add(Name::new(word).expect("the words are names")));
        names
    }

    /// Returns the name at a place that [`Names::pass`] gave.
    pub(super) fn at(&self, place: u32) -> &Name {
        &self.list[place as usize]
    }

    /// Passes a name; returns its place.
    pub(super) fn pass(&mut self, lane: &mut impl Lane, given: Option<&Name>) -> Result<u32, BatchError> {
        let code = given.map(|given| self.places.get(given).map_or(0, |place| u64::from(*place) + 1));
        match self.codes.pass(lane, code)? {
            0 => {
                let text = self.spelled.pass(lane, given.map(|name| name.as_str().as_bytes()))?;
                let name = std::str::from_utf8(&text).ok().and_then(|text| Name::new(text).ok());
                self.add(name.ok_or(BatchError::Illegal { what: "a name" })?);
                Ok(self.list.len() as u32 - 1)
            }
            code if code <= self.list.len() as u64 => Ok(code as u32 - 1),
            _ => Err(BatchError::Illegal { what: "the place of a name" }),
        }
    }

    fn add(&mut self, name: Name) {
        self.places.insert(name.clone(), self.list.len() as u32);
        self.list.push(name);
    }
}
