//! From what is wanted of a material to what is bought: less what lies at the site, in whole packs, at its last price.

use std::cell::OnceCell;

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Assembly, Material};
use storypole_units::{Decimal, Money};

use super::Sheet;
use super::choice::{Ask, Chosen, choose, pack_size, short};
use crate::condition::packs_for;
use crate::movement::Movements;
use crate::price::price_points;
use crate::receipt::{ReceiptSum, receipt_sums};
use crate::stock::{StockRow, rows};
use crate::words::counted;

/// What part of the work a material is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// Batts in the cavities.
    Batts,
    /// Loose fill in the cavities.
    LooseFill,
    /// Boards of one kind.
    Boards,
    /// Screws for them.
    Screws,
    /// Tape over their joints.
    Tape,
    /// Compound between two boards.
    Damping,
    /// Channel under the boards.
    Channel,
    /// Beads at the edges.
    Sealant,
}

impl Part {
    /// Its name in API and lists.
    pub fn name(self) -> &'static str {
        match self {
            Self::Batts => "batts",
            Self::LooseFill => "loose-fill",
            Self::Boards => "boards",
            Self::Screws => "screws",
            Self::Tape => "tape",
            Self::Damping => "damping",
            Self::Channel => "channel",
            Self::Sealant => "sealant",
        }
    }
}

/// How much of one material is needed.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// For what.
    pub part: Part,
    /// The material; `None` where none of the notebook is meant for sure.
    pub material: Option<RecordId>,
    /// What it is called, or what kind it is.
    pub name: String,
    /// The unit it is counted in.
    pub unit: String,
    /// How it was counted, in words.
    pub how: String,
    /// Units before waste and rounding.
    pub exact: f64,
    /// Whole units with waste; for goods by weight not rounded.
    pub wanted: Decimal,
    /// Units that lie at the site of the job, less what needs above take of the same material.
    pub at_hand: Decimal,
    /// Units beyond those.
    pub to_buy: Decimal,
    /// The name of a pack and how many to buy, where it is sold in packs.
    pub packs: Option<(String, u32)>,
    /// What they cost at the last price paid, with tax.
    pub price: Option<Money>,
    /// What lies elsewhere, in words.
    pub elsewhere: Option<String>,
}

/// A count before stock.
pub(super) struct Wanted {
    pub(super) part: Part,
    /// Units before waste and rounding.
    pub(super) exact: f64,
    /// Units with waste.
    pub(super) units: Decimal,
    pub(super) how: String,
}

/// A take-off in the making.
pub(super) struct Counting<'a> {
    pub(super) book: &'a Book,
    pub(super) ask: &'a Ask,
    pub(super) one: &'a Assembly,
    pub(super) sheet: Sheet,
    /// Receipts and stock of the whole book, added up once and only where something is needed.
    sums: OnceCell<Vec<ReceiptSum>>,
    stock: OnceCell<Vec<StockRow>>,
}

impl<'a> Counting<'a> {
    pub(super) fn new(book: &'a Book, ask: &'a Ask, one: &'a Assembly, sheet: Sheet) -> Self {
        Self { book, ask, one, sheet, sums: OnceCell::new(), stock: OnceCell::new() }
    }

    /// The material meant by a part, or a note about why none is.
    pub(super) fn material(&mut self, what: &str, fits: impl Fn(&Material) -> bool) -> Option<&'a Material> {
        match choose(self.book, self.ask, (self.one.id, self.one.job), fits) {
            Chosen::One(material) => Some(material),
            Chosen::None => {
                self.note(format!(
                    "No material of the notebook is {what}: add it with its form and sizes, storypole add material."
                ));
                None
            }
            Chosen::Several(names) => {
                let names = names.join(", ");
                self.note(format!("Several materials are {what}: {names}. Name one with --with."));
                None
            }
        }
    }

    pub(super) fn note(&mut self, words: String) {
        if !self.sheet.notes.contains(&words) {
            self.sheet.notes.push(words);
        }
    }

    /// Notes why something could not be counted.
    pub(super) fn not_counted(&mut self, what: &str, why: impl std::fmt::Display) {
        self.note(format!("{what} could not be counted: {why}."));
    }

    /// Adds a need of a material, less what lies at the site.
    pub(super) fn need(&mut self, material: &Material, wanted: Wanted) {
        let (at_hand, elsewhere) = self.stock_of(material);
        let to_buy = (wanted.units - at_hand).max(Decimal::ZERO).normalized();
        let packs = self.packs(material, to_buy);
        let bought = match (&packs, material.pack_size) {
            (Some((_, count)), Some(size)) => size.checked_mul(Decimal::from_int(i64::from(*count))),
            _ => Some(to_buy),
        };
        let price = bought.and_then(|units| self.last_price(material.id, units));
        self.sheet.needs.push(Need {
            part: wanted.part,
            material: Some(material.id),
            name: short(material),
            unit: material.unit.clone().unwrap_or_else(|| "units".to_owned()),
            how: wanted.how,
            exact: wanted.exact,
            wanted: wanted.units.normalized(),
            at_hand,
            to_buy,
            packs,
            price,
            elsewhere,
        });
    }

    /// Packs that hold so many units, where it is sold in packs; or a note why they are not counted.
    fn packs(&mut self, material: &Material, units: Decimal) -> Option<(String, u32)> {
        let what = format!("Packs of {}", short(material));
        let size = match pack_size(material) {
            Ok(size) => size?,
            Err(reason) => {
                self.not_counted(&what, reason);
                return None;
            }
        };
        let Some(count) = packs_of(units, size) else {
            self.not_counted(&what, "they are more than can be counted; check the pack size");
            return None;
        };
        Some((material.pack_unit.clone()?, count))
    }

    /// Adds a need of a material, or, where none is meant for sure, the count alone under a plain name and unit.
    pub(super) fn need_or(
        &mut self,
        material: Option<&Material>,
        (name, unit): (&str, &str),
        wanted: Wanted,
    ) {
        if let Some(material) = material {
            return self.need(material, wanted);
        }
        let units = wanted.units.normalized();
        self.sheet.needs.push(Need {
            part: wanted.part,
            material: None,
            name: name.to_owned(),
            unit: unit.to_owned(),
            how: wanted.how,
            exact: wanted.exact,
            wanted: units,
            at_hand: Decimal::ZERO,
            to_buy: units,
            packs: None,
            price: None,
            elsewhere: None,
        });
    }

    /// Units at the site of the job, and what lies elsewhere in words.
    fn stock_of(&self, material: &Material) -> (Decimal, Option<String>) {
        let site = self.book.jobs.of(self.one.job).and_then(|job| job.site);
        let rows = self.stock().iter().filter(|row| row.material == material.id);
        let (here, there): (Vec<_>, Vec<_>) = rows
            .filter(|row| row.whole() > Decimal::ZERO)
            .partition(|row| site.is_some() && row.site == site);
        let unit = material.unit.as_deref().unwrap_or("units");
        let elsewhere: Vec<String> = there.iter().map(|row| self.place(row, unit)).collect();
        let at_hand: Decimal = here.into_iter().map(StockRow::whole).sum();
        let at_hand = (at_hand - self.taken(material)).max(Decimal::ZERO).normalized();
        (at_hand, (!elsewhere.is_empty()).then(|| elsewhere.join(", ")))
    }

    /// What needs counted before take of the stock at the site.
    fn taken(&self, material: &Material) -> Decimal {
        let same = self.sheet.needs.iter().filter(|need| need.material == Some(material.id));
        same.map(|need| need.at_hand.min(need.wanted)).sum()
    }

    /// `12 pieces at S1 for J1`
    fn place(&self, row: &StockRow, unit: &str) -> String {
        let site = self.book.sites.of(row.site).and_then(|site| site.label.clone());
        let job = self.book.jobs.of(row.job).and_then(|job| job.label.clone());
        let site = site.unwrap_or_else(|| "no site".to_owned());
        let of_job = job.map_or_else(String::new, |job| format!(" for {job}"));
        format!("{} at {site}{of_job}", counted(row.whole(), unit))
    }

    /// What so many units cost at the price paid last.
    fn last_price(&self, material: RecordId, units: Decimal) -> Option<Money> {
        let latest = price_points(self.book, material, self.sums()).pop()?;
        latest.with_tax.value(units, self.book.currency()).ok()
    }

    fn sums(&self) -> &[ReceiptSum] {
        self.sums.get_or_init(|| receipt_sums(self.book))
    }

    fn stock(&self) -> &[StockRow] {
        self.stock.get_or_init(|| rows(self.book, &Movements::with_sums(self.book, self.sums())))
    }
}

/// Whole packs that hold so many units. `None` past 32 bits.
fn packs_of(units: Decimal, size: Decimal) -> Option<u32> {
    units.checked_div(size)?;
    let packs = packs_for(units, Some(size)).normalized();
    u32::try_from(packs.mantissa()).ok().filter(|_| packs.scale() == 0)
}
