//! Everything that moves stock, in the order in which it counts, and what the goods cost.
//!
//! A place is a site and a job. A line puts goods there (or, on a return, takes them back to the shop), a use
//! and a waste take them away, a move takes them from one place and puts them at another.
//!
//! Only days are known, not hours. So on one day all that came in counts before anything that left: goods bought
//! and used on one day are no fault. Within that, order is by record id.

use std::collections::BTreeMap;

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Line, Material, Move, Receipt, Use, Waste};
use storypole_units::{Currency, Decimal, Money};

use crate::amount::{self, Unread};
use crate::receipt::{LineSum, ReceiptSum, receipt_sums};

mod worth;

/// Cost groups whose lines are goods.
const GOODS: &[&str] = &["material", "credit"];

/// Where one material lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The site.
    pub site: Option<RecordId>,
    /// The job it is booked to.
    pub job: Option<RecordId>,
    /// The material.
    pub material: RecordId,
}

/// What happened to goods at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Way {
    /// A line with a quantity above zero.
    Bought,
    /// Carried here.
    MovedIn,
    /// A line with a quantity below zero.
    Returned,
    /// Used on the job.
    Used,
    /// Thrown away.
    Wasted,
    /// Carried to another place.
    MovedOut,
}

impl Way {
    /// Whether goods came in.
    pub fn comes_in(self) -> bool {
        matches!(self, Self::Bought | Self::MovedIn)
    }

    /// The kind of record that says so.
    pub fn kind(self) -> &'static str {
        match self {
            Self::Bought | Self::Returned => Line::KIND,
            Self::MovedIn | Self::MovedOut => Move::KIND,
            Self::Used => Use::KIND,
            Self::Wasted => Waste::KIND,
        }
    }
}

/// What goods cost: an amount for a count of units. Kept as a fraction, because a pack of 11 has no
/// finite price for a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct UnitCost {
    /// The cost, not rounded.
    pub amount: Decimal,
    /// Units of the material for that cost, above zero.
    pub units: Decimal,
}

impl UnitCost {
    /// The cost of one unit, to 28 digits.
    pub fn per_unit(self) -> Option<Decimal> {
        self.amount.checked_div(self.units)
    }

    /// The cost of one unit as it is printed: four places, half away from zero.
    pub fn to_four_places(self) -> Option<Decimal> {
        self.per_unit()?.round_half_away(4).padded(4)
    }

    /// The cost of a count of units, rounded once to the minor unit.
    ///
    /// # Errors
    /// [`Unread::TooLarge`] past any amount that counts.
    pub fn value(self, units: Decimal, currency: Currency) -> Result<Money, Unread> {
        amount::to_money(self.exactly(units), currency)
    }

    /// The cost of a count of units, not rounded; `None` past 28 digits.
    pub(crate) fn exactly(self, units: Decimal) -> Option<Decimal> {
        if units == self.units {
            return Some(self.amount);
        }
        // Multiplying first keeps a tie a tie; past 28 digits the order no longer matters.
        let exact = units.checked_mul(self.amount).and_then(|total| total.checked_div(self.units));
        exact.or_else(|| self.per_unit()?.checked_mul(units))
    }
}

/// One movement at one place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Movement {
    pub(crate) place: Place,
    pub(crate) way: Way,
    /// In the material's unit, not below zero.
    pub(crate) units: Decimal,
    /// How many packs, where it is written in packs; not below zero.
    pub(crate) packs: Option<Decimal>,
    pub(crate) day: Option<Date>,
    pub(crate) record: RecordId,
}

impl Movement {
    /// What it adds to the stock of its place.
    pub(crate) fn signed(&self) -> Decimal {
        if self.way.comes_in() { self.units } else { -self.units }
    }

    /// The day on which it counts: what came in without a day was always there, what left without one leaves last.
    pub(crate) fn counts_on(&self) -> Date {
        self.day.unwrap_or(if self.way.comes_in() { Date::MIN } else { Date::MAX })
    }

    fn order(&self) -> (Date, bool, RecordId) {
        (self.counts_on(), !self.way.comes_in(), self.record)
    }
}

/// A move that can be read: what is carried, from where to where, at the average of the place it leaves.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Carried {
    pub(crate) record: RecordId,
    pub(crate) from: Place,
    pub(crate) to: Place,
    pub(crate) units: Decimal,
    pub(crate) day: Option<Date>,
    pub(crate) cost: Option<UnitCost>,
}

/// All movements of a book.
#[derive(Debug, Clone)]
pub(crate) struct Movements {
    /// By place, each in order.
    pub(crate) at: BTreeMap<Place, Vec<Movement>>,
    /// Moves in order.
    pub(crate) carried: Vec<Carried>,
    /// What the goods at a place cost on average; where nothing is left, what they cost last.
    pub(crate) unit_costs: BTreeMap<Place, UnitCost>,
    /// Records whose quantity cannot be read, with the reason.
    pub(crate) unread: Vec<(&'static str, RecordId, Unread)>,
}

impl Movements {
    /// Reads every line, use, waste and move that is not struck.
    pub(crate) fn of(book: &Book) -> Self {
        Self::with_sums(book, &receipt_sums(book))
    }

    pub(crate) fn with_sums(book: &Book, sums: &[ReceiptSum]) -> Self {
        let reader = Reader::read(book, sums);
        let worth = worth::follow(&reader.movements, &reader.carried, &reader.paid);
        let Reader { movements, mut carried, unread, .. } = reader;
        for moved in &mut carried {
            moved.cost = worth.taken_at.get(&(Way::MovedOut, moved.record)).copied();
        }
        carried.sort_by_key(|moved| (moved.day.unwrap_or(Date::MAX), moved.record));
        let averages = worth.piles.into_iter().filter_map(|(place, pile)| Some((place, pile.average?)));
        let mut at: BTreeMap<Place, Vec<Movement>> = BTreeMap::new();
        for movement in movements {
            at.entry(movement.place).or_default().push(movement);
        }
        for movements in at.values_mut() {
            movements.sort_by_key(Movement::order);
        }
        Self { at, carried, unit_costs: averages.collect(), unread }
    }
}

struct Reader<'a> {
    book: &'a Book,
    movements: Vec<Movement>,
    /// What was paid for goods by line, with tax, not rounded; below zero for a return. Absent where it cannot be read.
    paid: BTreeMap<RecordId, Decimal>,
    carried: Vec<Carried>,
    unread: Vec<(&'static str, RecordId, Unread)>,
}

impl<'a> Reader<'a> {
    fn read(book: &'a Book, sums: &[ReceiptSum]) -> Self {
        let mut reader = Reader {
            book,
            movements: Vec::new(),
            paid: BTreeMap::new(),
            carried: Vec::new(),
            unread: Vec::new(),
        };
        reader.read_lines(sums);
        reader.read_uses();
        reader.read_moves();
        reader
    }

    fn read_lines(&mut self, sums: &[ReceiptSum]) {
        for sum in sums {
            let receipt = self.book.receipts.get(sum.receipt);
            for line_sum in &sum.lines {
                let Some(line) = self.book.lines.get(line_sum.line).filter(|line| is_goods(line)) else {
                    continue;
                };
                let (Some(id), Some(material)) = (line.material, self.book.materials.of(line.material))
                else {
                    continue;
                };
                let read = match Read::of(material, line.unit.as_deref(), line.quantity) {
                    Ok(read) => read,
                    Err(reason) => {
                        self.unread.push((Line::KIND, line.id, reason));
                        continue;
                    }
                };
                let place = Place { site: site_of(self.book, line_sum.job), job: line_sum.job, material: id };
                let day = receipt.and_then(|receipt: &Receipt| receipt.date);
                let way = if read.units.is_negative() { Way::Returned } else { Way::Bought };
                let (units, packs) = (read.units.abs(), read.packs.map(Decimal::abs));
                self.movements.push(Movement { place, way, units, packs, day, record: line.id });
                if let Some(paid) = line_sum.paid.and_then(|paid| with_tax(paid, line_sum)) {
                    self.paid.insert(line.id, paid);
                }
            }
        }
    }

    fn read_uses(&mut self) {
        for used in self.book.uses.live() {
            let place = place_of(self.book, used.site, used.job, used.material);
            self.take(place, Way::Used, used.unit.as_deref(), used.quantity, used.date, used.id);
        }
        for wasted in self.book.wastes.live() {
            let place = place_of(self.book, wasted.site, wasted.job, wasted.material);
            self.take(place, Way::Wasted, wasted.unit.as_deref(), wasted.quantity, wasted.date, wasted.id);
        }
    }

    fn read_moves(&mut self) {
        for moved in self.book.moves.live() {
            let from = place_of(self.book, moved.from_site, moved.from_job, moved.material);
            let to = place_of(self.book, moved.to_site, moved.to_job, moved.material);
            let (Some(from), Some(to)) = (from, to) else { continue };
            let taken = self.take(
                Some(from),
                Way::MovedOut,
                moved.unit.as_deref(),
                moved.quantity,
                moved.date,
                moved.id,
            );
            let Some(Read { units, packs }) = taken else { continue };
            let (day, record) = (moved.date, moved.id);
            self.movements.push(Movement { place: to, way: Way::MovedIn, units, packs, day, record });
            self.carried.push(Carried { record, from, to, units, day, cost: None });
        }
    }

    /// Notes a movement and returns what it says, or lists the record as unread.
    fn take(
        &mut self,
        place: Option<Place>,
        way: Way,
        unit: Option<&str>,
        quantity: Option<Decimal>,
        day: Option<Date>,
        record: RecordId,
    ) -> Option<Read> {
        let place = place?;
        let material = self.book.materials.get(place.material)?;
        match Read::of(material, unit, quantity) {
            Ok(read) if !read.units.is_negative() => {
                let Read { units, packs } = read;
                self.movements.push(Movement { place, way, units, packs, day, record });
                Some(read)
            }
            // The door refuses it; a record that holds it came in another way.
            Ok(_) => {
                self.unread.push((way.kind(), record, Unread::BelowZero));
                None
            }
            Err(reason) => {
                self.unread.push((way.kind(), record, reason));
                None
            }
        }
    }
}

/// The place of a record that names site, job and material; the job's site where it names none.
pub(crate) fn place_of(
    book: &Book,
    site: Option<RecordId>,
    job: Option<RecordId>,
    material: Option<RecordId>,
) -> Option<Place> {
    let material = book.materials.of(material)?.id;
    Some(Place { site: site.or_else(|| site_of(book, job)), job, material })
}

/// A line has no site of its own: its goods lie at the site of its job.
fn site_of(book: &Book, job: Option<RecordId>) -> Option<RecordId> {
    book.jobs.of(job)?.site
}

/// Whether a line is of goods that lie somewhere.
pub(crate) fn is_goods(line: &Line) -> bool {
    line.cost_group.as_deref().is_none_or(|group| GOODS.contains(&group))
}

/// A quantity as written, in the material's unit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Read {
    pub(crate) units: Decimal,
    /// How many packs, where it is written in packs.
    pub(crate) packs: Option<Decimal>,
}

impl Read {
    /// Takes a quantity as it stands, or times the pack size if it counts packs.
    pub(crate) fn of(
        material: &Material,
        unit: Option<&str>,
        quantity: Option<Decimal>,
    ) -> Result<Self, Unread> {
        let quantity = amount::quantity(quantity)?;
        let is = |known: &Option<String>, unit| known.as_deref().is_some_and(|known| same_unit(known, unit));
        match unit {
            None => return Ok(Self { units: quantity, packs: None }),
            Some(unit) if is(&material.unit, unit) => return Ok(Self { units: quantity, packs: None }),
            Some(unit) if is(&material.pack_unit, unit) => (),
            Some(_) => return Err(Unread::UnknownUnit),
        }
        let units = in_packs(material, quantity)?;
        Ok(Self { units, packs: Some(quantity) })
    }
}

/// Packs in the material's unit.
pub(crate) fn in_packs(material: &Material, packs: Decimal) -> Result<Decimal, Unread> {
    let pack_size = amount::quantity(Some(material.pack_size.ok_or(Unread::NoPackSize)?))?;
    if pack_size <= Decimal::ZERO {
        return Err(Unread::NoPackSize);
    }
    packs.checked_mul(pack_size).ok_or(Unread::TooLarge)
}

/// `pack`, `Pack` and `packs` are one unit; so are `box` and `boxes`.
fn same_unit(known: &str, written: &str) -> bool {
    let (known, written) = (known.trim().to_lowercase(), written.trim().to_lowercase());
    let plural = |one: &str, many: &str| many.strip_prefix(one).is_some_and(|end| matches!(end, "s" | "es"));
    known == written || plural(&known, &written) || plural(&written, &known)
}

/// Adds the tax of a line to an amount of it, not rounded.
pub(crate) fn with_tax(amount: Decimal, line: &LineSum) -> Option<Decimal> {
    let hundred = Decimal::from_int(100);
    amount.checked_mul(hundred.checked_add(line.rate_percent)?)?.checked_div(hundred)
}
