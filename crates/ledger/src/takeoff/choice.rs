//! Which material of the notebook is meant by a part of an assembly.
//!
//! What a person names comes first; else what this wall used or its job bought; else the only one that fits. Where
//! several fit and none is nearer, none is taken and the choice is left to the person.

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::Material;

use crate::amount::Unread;
use storypole_takeoff::Waste;

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
    let is_named = |material: &&&Material| ask.materials.contains(&material.id);
    let used_here = |material: &&&Material| {
        book.uses.live().any(|used| used.material == Some(material.id) && used.assembly == Some(assembly))
    };
    let of_job = |material: &&&Material| job.is_some() && is_of_job(book, material.id, job);
    let mut nearest: Vec<&Material> = fitting.iter().filter(is_named).copied().collect();
    for near in [&used_here as &dyn Fn(&&&Material) -> bool, &of_job] {
        if nearest.is_empty() {
            nearest = fitting.iter().filter(near).copied().collect();
        }
    }
    if nearest.is_empty() {
        nearest = fitting;
    }
    match nearest[..] {
        [one] => Chosen::One(one),
        [] => Chosen::None,
        _ => Chosen::Several(nearest.iter().map(|one| short(one)).collect()),
    }
}

fn is_of_job(book: &Book, material: RecordId, job: Option<RecordId>) -> bool {
    let bought = |line: &storypole_notebook::kinds::Line| {
        let receipt = line.receipt.and_then(|receipt| book.receipts.get(receipt));
        line.material == Some(material) && line.job.or(receipt.and_then(|receipt| receipt.job)) == job
    };
    book.lines.live().any(bought)
        || book.uses.live().any(|used| used.material == Some(material) && used.job == job)
        || book.moves.live().any(|moved| moved.material == Some(material) && moved.to_job == job)
}

/// Its short name.
pub(super) fn short(material: &Material) -> String {
    material.label.clone().or_else(|| material.name.clone()).unwrap_or_else(|| "a material".to_owned())
}

/// How many of its units a pack holds; `None` where it is not sold in packs.
pub(super) fn pack_size(material: &Material) -> Result<Option<u32>, Unread> {
    let Some(size) = material.pack_size.filter(|_| material.pack_unit.is_some()) else { return Ok(None) };
    let whole = size.normalized();
    match u32::try_from(whole.mantissa()) {
        Ok(count) if whole.scale() == 0 && count > 0 => Ok(Some(count)),
        _ => Err(Unread::NoPackSize),
    }
}
