//! Which material of the notebook is meant by a part of an assembly.
//!
//! What a person names comes first; else what this wall used or its job bought; else the only one that fits. Where
//! several fit and none is nearer, none is taken and the choice is left to the person.

use std::collections::BTreeSet;

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::{Line, Material};
use storypole_takeoff::Waste;
use storypole_units::Decimal;

use crate::amount::{self, Unread};

/// What a person says about a take-off. Everything may be left out.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Ask {
    /// Materials to take, each for what its form and substance fit.
    pub materials: Vec<RecordId>,
    /// Waste in place of the usual allowance.
    pub waste: Option<Waste>,
    /// Count all of the assembly, not only what it adds to the version it replaces.
    pub whole: bool,
    /// Buy pieces by the cut plan, not by the count without offcuts.
    pub by_plan: bool,
}

/// A choice among materials.
#[derive(Debug, Clone, PartialEq)]
pub enum Chosen<'a> {
    /// This one.
    One(&'a Material),
    /// None fits.
    None,
    /// Several fit; their short names.
    Several(Vec<String>),
}

/// Chooses among the materials that `fits` takes.
pub(super) fn choose<'a>(
    book: &'a Book,
    ask: &Ask,
    (assembly, job): (RecordId, Option<RecordId>),
    fits: impl Fn(&Material) -> bool,
) -> Chosen<'a> {
    let fitting: Vec<&Material> = book.materials.live().filter(|material| fits(material)).collect();
    if fitting.len() < 2 {
        return one_of(fitting);
    }
    let among = |ids: &BTreeSet<RecordId>| -> Vec<&Material> {
        fitting.iter().filter(|material| ids.contains(&material.id)).copied().collect()
    };
    let mut nearest = among(&ask.materials.iter().copied().collect());
    if nearest.is_empty() {
        nearest = among(&used_in(book, assembly));
    }
    if nearest.is_empty() {
        nearest = job.map_or_else(Vec::new, |job| among(&of_job(book, job)));
    }
    one_of(if nearest.is_empty() { fitting } else { nearest })
}

fn one_of(nearest: Vec<&Material>) -> Chosen<'_> {
    match nearest[..] {
        [one] => Chosen::One(one),
        [] => Chosen::None,
        _ => Chosen::Several(nearest.iter().map(|one| short(one)).collect()),
    }
}

/// Materials used in an assembly.
fn used_in(book: &Book, assembly: RecordId) -> BTreeSet<RecordId> {
    let here = book.uses.live().filter(|used| used.assembly == Some(assembly));
    here.filter_map(|used| used.material).collect()
}

/// Materials that were bought for a job, used on it or carried to it.
fn of_job(book: &Book, job: RecordId) -> BTreeSet<RecordId> {
    let is_bought = |line: &&Line| {
        let receipt = book.receipts.of(line.receipt);
        let is_struck = receipt.is_some_and(|receipt| receipt.meta.struck.is_some());
        !is_struck && line.job.or(receipt.and_then(|receipt| receipt.job)) == Some(job)
    };
    let bought = book.lines.live().filter(is_bought).filter_map(|line| line.material);
    let used = book.uses.live().filter(|used| used.job == Some(job)).filter_map(|used| used.material);
    let moved =
        book.moves.live().filter(|moved| moved.to_job == Some(job)).filter_map(|moved| moved.material);
    bought.chain(used).chain(moved).collect()
}

/// Its short name.
pub(super) fn short(material: &Material) -> String {
    material.label.clone().or_else(|| material.name.clone()).unwrap_or_else(|| "a material".to_owned())
}

/// How many of its units a pack holds; `None` where it is not sold in packs. Bags by weight may hold a part of a unit.
pub(super) fn pack_size(material: &Material) -> Result<Option<Decimal>, Unread> {
    let Some(size) = material.pack_size.filter(|_| material.pack_unit.is_some()) else { return Ok(None) };
    match amount::quantity(Some(size))? {
        size if size > Decimal::ZERO => Ok(Some(size)),
        _ => Err(Unread::NoPackSize),
    }
}
