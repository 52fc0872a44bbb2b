//! Values apart: the form, which most values of a field share, and the numbers, ids and texts in it.
//!
//! Knows CBOR and no field: what a value means is not looked at. A value of no simple form travels whole.

use std::rc::Rc;

use storypole_journal::cbor::Writer;
use storypole_journal::{Payload, WrittenAt};

use super::BatchError;
use super::day;
use super::ids::{Id, IdColumn, Ids, Neighbour};
use super::lane::Lane;
use super::model::{Near, Number};
use super::texts::Texts;

/// Steps of a form.
mod step {
    pub(super) const INTEGER: u8 = 0;
    pub(super) const ID: u8 = 1;
    pub(super) const BYTES: u8 = 2;
    pub(super) const HASH: u8 = 3;
    pub(super) const TEXT: u8 = 4;
    pub(super) const DAY: u8 = 5;
    pub(super) const ARRAY: u8 = 6;
    pub(super) const TAG: u8 = 7;
    pub(super) const FALSE: u8 = 8;
    pub(super) const TRUE: u8 = 9;
    pub(super) const NULL: u8 = 10;
    pub(super) const WHOLE: u8 = 11;
    pub(super) const COUNT: u8 = 12;
}

/// The tag of a day as text (RFC 8943).
const TAG_DAY: u64 = 1004;

/// The most steps of a form; a longer one travels whole.
const MOST_STEPS: usize = 12;
/// The most forms that the values of one field have; more travel whole.
const MOST_FORMS: usize = 16;

/// A step with the argument of an array or tag.
type Step = (u8, u64);

/// Forms that need not be spelled, the likeliest first. They are a part of the format like the words known
/// beforehand: the order never changes and nothing is added, or it is another version. Others may occur.
const FORMS: &[&[Step]] = {
    const DECIMAL: [Step; 4] = [(step::TAG, 4), (step::ARRAY, 2), (step::INTEGER, 0), (step::INTEGER, 0)];
    const fn pair(tag: u64) -> [Step; 7] {
        let [tagged, array, exponent, mantissa] = DECIMAL;
        [(step::TAG, tag), (step::ARRAY, 2), tagged, array, exponent, mantissa, (step::TEXT, 0)]
    }
    &[
        &[(step::TEXT, 0)],
        &[(step::TAG, 37), (step::ID, 0)],
        &DECIMAL,
        &pair(60_201),
        &pair(60_202),
        &[(step::TAG, 60_203), (step::INTEGER, 0)],
        &[(step::TAG, TAG_DAY), (step::DAY, 0)],
        &[(step::INTEGER, 0)],
        &[(step::TRUE, 0)],
        &[(step::FALSE, 0)],
        &[(step::NULL, 0)],
        &[(step::TAG, 60_204), (step::ARRAY, 2), (step::INTEGER, 0), (step::INTEGER, 0)],
        &[(step::HASH, 0)],
        &[(step::ID, 0)],
        &[(step::BYTES, 0)],
        &[(step::WHOLE, 0)],
    ]
};

/// Which form a value has that is the first of its form in a column. For all columns of a batch.
#[derive(Debug, Default)]
pub(super) struct NewForms {
    /// 0: none of [`FORMS`]; else 1 + its place there.
    codes: Number,
    arguments: Number,
}

impl NewForms {
    fn pass(&mut self, lane: &mut impl Lane, given: Option<&[Step]>) -> Result<Vec<Step>, BatchError> {
        let place = given.map(|given| FORMS.iter().position(|form| *form == given));
        match self.codes.pass(lane, place.map(|place| place.map_or(0, |place| place as u64 + 1)))? {
            0 => self.spell(lane, given),
            code => match FORMS.get(usize::try_from(code - 1).unwrap_or(usize::MAX)) {
                Some(steps) => Ok(steps.to_vec()),
                None => Err(BatchError::Illegal { what: "the form of a value" }),
            },
        }
    }

    fn spell(&mut self, lane: &mut impl Lane, given: Option<&[Step]>) -> Result<Vec<Step>, BatchError> {
        let count = lane.raw(4, given.map(|given| given.len() as u64))? as usize;
        let mut steps = Vec::with_capacity(count);
        for at in 0..count {
            let given = given.map(|given| given[at]);
            let step = lane.raw(4, given.map(|(step, _)| u64::from(step)))? as u8;
            let argument = match step {
                step::ARRAY | step::TAG => self.arguments.pass(lane, given.map(|(_, argument)| argument))?,
                step::COUNT.. => return Err(BatchError::Illegal { what: "the form of a value" }),
                _ => 0,
            };
            steps.push((step, argument));
        }
        Ok(steps)
    }
}

/// What a form leaves open.
#[derive(Debug, Clone)]
enum Leaf<'a> {
    Integer(i64),
    Id(Id),
    Hash([u8; 32]),
    Bytes(&'a [u8]),
    Day(i64),
}

/// What helps to foresee a value.
pub(super) struct Around<'a> {
    /// All ids of the batch.
    pub(super) ids: &'a mut Ids,
    /// The id before.
    pub(super) neighbour: Neighbour,
    /// When the draft was written.
    pub(super) written_at: WrittenAt,
    /// Forms that are new to a column.
    pub(super) new_forms: &'a mut NewForms,
}

/// The values of one field.
#[derive(Debug, Default)]
pub(super) struct Column {
    forms: Vec<Form>,
    /// 0: of a form that is new here; else 1 + its place in `forms`.
    codes: Number,
}

#[derive(Debug)]
struct Form {
    steps: Vec<Step>,
    slots: Vec<Slot>,
}

/// Where the leaves of one step of a form go.
#[derive(Debug)]
enum Slot {
    Integer(Near),
    Id(Box<IdColumn>),
    Hash,
    Bytes(Box<Texts>),
    Day(Near),
}

impl Column {
    pub(super) const BYTES: usize = Number::BYTES;

    /// Passes a value.
    pub(super) fn pass(
        &mut self,
        lane: &mut impl Lane,
        around: &mut Around<'_>,
        given: Option<&Payload>,
    ) -> Result<Payload, BatchError> {
        let given = given.map(|given| self.part(given.as_bytes()));
        let form = self.pass_form(lane, around, given.as_ref().map(|(steps, _)| steps.as_slice()))?;
        let Form { steps, slots } = &mut self.forms[form];
        let mut leaves = given.map(|(_, leaves)| leaves.into_iter());
        let mut slots = slots.iter_mut();
        let mut bytes = Writer::with_capacity(24);
        for (step, argument) in steps {
            match *step {
                step::ARRAY => _ = bytes.array(*argument as usize),
                // The head of a tag is that of an array but for the major type.
                step::TAG => push_tag(&mut bytes, *argument),
                step::FALSE => _ = bytes.raw(&[0xF4]),
                step::TRUE => _ = bytes.raw(&[0xF5]),
                step::NULL => _ = bytes.raw(&[0xF6]),
                step => {
                    let leaf =
                        leaves.as_mut().map(|leaves| leaves.next().expect("a leaf for each open step"));
                    let slot = slots.next().expect("a slot for each open step");
                    pass_leaf(lane, around, slot, step, leaf, &mut bytes)?;
                }
            }
        }
        let bytes = bytes.into_bytes();
        lane.spend(bytes.len())?;
        Payload::from_slice(&bytes).map_err(|_| BatchError::Illegal { what: "a value" })
    }

    /// Parts a value; one of a new form that finds no room, or of none, is one whole.
    fn part<'a>(&self, bytes: &'a [u8]) -> (Vec<Step>, Vec<Leaf<'a>>) {
        let parted = part(bytes).filter(|(steps, _)| {
            self.forms.len() + 1 < MOST_FORMS || self.forms.iter().any(|form| form.steps == *steps)
        });
        parted.unwrap_or_else(|| (vec![(step::WHOLE, 0)], vec![Leaf::Bytes(bytes)]))
    }

    /// Passes a form and returns its place.
    fn pass_form(
        &mut self,
        lane: &mut impl Lane,
        around: &mut Around<'_>,
        given: Option<&[Step]>,
    ) -> Result<usize, BatchError> {
        let place = given.map(|given| self.forms.iter().position(|form| form.steps == given));
        let code = self.codes.pass(lane, place.map(|place| place.map_or(0, |place| place as u64 + 1)))?;
        if code > 0 {
            let place = code as usize - 1;
            let is_known = place < self.forms.len();
            return if is_known {
                Ok(place)
            } else {
                Err(BatchError::Illegal { what: "the form of a value" })
            };
        }
        if self.forms.len() >= MOST_FORMS {
            return Err(BatchError::Illegal { what: "the forms of a field" });
        }
        let mut form = Form { steps: around.new_forms.pass(lane, given)?, slots: Vec::new() };
        for (slot, bytes) in form.steps.iter().filter_map(|(step, _)| slot_for(*step)) {
            lane.spend(bytes)?;
            form.slots.push(slot);
        }
        self.forms.push(form);
        Ok(self.forms.len() - 1)
    }
}

fn slot_for(step: u8) -> Option<(Slot, usize)> {
    match step {
        step::INTEGER => Some((Slot::Integer(Near::default()), Near::BYTES)),
        step::ID => Some((Slot::Id(Box::new(IdColumn::new())), IdColumn::BYTES)),
        step::HASH => Some((Slot::Hash, 0)),
        step::BYTES | step::TEXT | step::WHOLE => Some((Slot::Bytes(Box::new(Texts::new())), Texts::BYTES)),
        step::DAY => Some((Slot::Day(Near::default()), Near::BYTES)),
        _ => None,
    }
}

fn pass_leaf(
    lane: &mut impl Lane,
    around: &mut Around<'_>,
    slot: &mut Slot,
    step: u8,
    given: Option<Leaf<'_>>,
    bytes: &mut Writer,
) -> Result<(), BatchError> {
    match slot {
        Slot::Integer(near) => {
            let given =
                given.and_then(|leaf| if let Leaf::Integer(value) = leaf { Some(value) } else { None });
            bytes.int(near.pass(lane, around.written_at.unix_ms, given)?);
        }
        Slot::Id(column) => {
            let given = given.and_then(|leaf| if let Leaf::Id(id) = leaf { Some(id) } else { None });
            let (id, _) = column.pass(lane, around.ids, &mut around.neighbour.clone(), given)?;
            bytes.bytes(&id);
        }
        Slot::Hash => {
            let given = given.and_then(|leaf| if let Leaf::Hash(hash) = leaf { Some(hash) } else { None });
            bytes.bytes(&lane.noise(given)?);
        }
        Slot::Bytes(texts) => {
            let given = given.and_then(|leaf| if let Leaf::Bytes(text) = leaf { Some(text) } else { None });
            let text: Rc<[u8]> = texts.pass(lane, given)?;
            match step {
                step::TEXT => {
                    let text = std::str::from_utf8(&text);
                    bytes.text(text.map_err(|_| BatchError::Illegal { what: "a text" })?);
                }
                step::BYTES => _ = bytes.bytes(&text),
                _ => _ = bytes.raw(&text),
            }
        }
        Slot::Day(near) => {
            let given = given.and_then(|leaf| if let Leaf::Day(day) = leaf { Some(day) } else { None });
            let day = near.pass(lane, day::written(around.written_at), given)?;
            bytes.text(&day::print(day).ok_or(BatchError::Illegal { what: "a day" })?);
        }
    }
    Ok(())
}

fn push_tag(bytes: &mut Writer, tag: u64) {
    let mut head = Writer::with_capacity(9);
    head.uint(tag);
    let mut head = head.into_bytes();
    head[0] |= 6 << 5;
    bytes.raw(&head);
}

/// Parts the bytes of a payload; `None` if they are of no simple form.
fn part(mut bytes: &[u8]) -> Option<(Vec<Step>, Vec<Leaf<'_>>)> {
    let (mut steps, mut leaves) = (Vec::new(), Vec::new());
    while !bytes.is_empty() {
        let (major, value) = take_head(&mut bytes)?;
        let mut open = |step, leaf| {
            steps.push((step, 0));
            leaves.push(leaf);
        };
        match (major, value) {
            (0, value) => open(step::INTEGER, Leaf::Integer(i64::try_from(value).ok()?)),
            (1, value) => open(step::INTEGER, Leaf::Integer(-1 - i64::try_from(value).ok()?)),
            (2 | 3, length) => {
                let (text, rest) = bytes.split_at_checked(usize::try_from(length).ok()?)?;
                bytes = rest;
                let is_day = steps.last() == Some(&(step::TAG, TAG_DAY));
                let (step, leaf) = part_string(major, text, is_day);
                steps.push((step, 0));
                leaves.push(leaf);
            }
            (4, count) => steps.push((step::ARRAY, count)),
            (6, tag) => steps.push((step::TAG, tag)),
            (7, 20) => steps.push((step::FALSE, 0)),
            (7, 21) => steps.push((step::TRUE, 0)),
            (7, 22) => steps.push((step::NULL, 0)),
            _ => return None,
        }
        if steps.len() > MOST_STEPS {
            return None;
        }
    }
    Some((steps, leaves))
}

fn part_string(major: u8, text: &[u8], is_day: bool) -> (u8, Leaf<'_>) {
    if major == 3 {
        let day = if is_day { day::parse(text) } else { None };
        return day.map_or((step::TEXT, Leaf::Bytes(text)), |day| (step::DAY, Leaf::Day(day)));
    }
    if let Ok(id) = text.try_into() {
        return (step::ID, Leaf::Id(id));
    }
    text.try_into().map_or((step::BYTES, Leaf::Bytes(text)), |hash| (step::HASH, Leaf::Hash(hash)))
}

/// Takes the head of an item, which is in its shortest form; `None` for floats.
fn take_head(bytes: &mut &[u8]) -> Option<(u8, u64)> {
    let (first, mut rest) = bytes.split_first()?;
    let (major, info) = (first >> 5, first & 0x1F);
    let value = match info {
        0..=23 => u64::from(info),
        24..=27 if major < 7 => {
            let (argument, after) = rest.split_at_checked(1 << (info - 24))?;
            rest = after;
            argument.iter().fold(0, |value, byte| value << 8 | u64::from(*byte))
        }
        _ => return None,
    };
    *bytes = rest;
    Some((major, value))
}
