//! What a recorded assembly takes: its bays, what fills and covers them, less what lies in stock.
//!
//! Reading order: [`framing`] (records to framed walls), [`added`] (what a rebuild adds to the version it replaces),
//! [`choice`] (which material is meant), [`buy`] (from what is wanted to what is bought), `depth` (of the cavities), [`fill`]
//! and [`cover`] (how much of each), [`layout`] (how boards are cut).
//!
//! Quantities follow the crate of take-off; here they meet records and stock. Left out: whether a wall may be filled,
//! boarded or loaded so, which is for local code and licensed practice.

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::Assembly;
use storypole_units::Area;

pub mod added;
pub mod buy;
pub mod choice;
pub mod cover;
mod depth;
pub mod fill;
pub mod framing;
pub mod layout;

pub use buy::{Need, Part};
pub use choice::Ask;
pub use fill::{BattPlan, Resistance};
pub use framing::{FramingError, Run, framed_by, runs};
pub use layout::BoardPlan;

/// What an assembly takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The assembly.
    pub assembly: RecordId,
    /// The version its framing was written on.
    pub framed_by: RecordId,
    /// The version it is counted against: only what is new is needed. `None` where all of it is counted.
    pub against: Option<RecordId>,
    /// Its walls, mostly one.
    pub runs: Vec<Run>,
    /// Cavities of all walls and frames.
    pub net_area: Area,
    /// Faces of all walls, openings included.
    pub gross_area: Area,
    /// Share of the face, openings left out, that is wood.
    pub framed: Option<f64>,
    /// How batts are cut, where the cavities get batts.
    pub batts: Option<BattPlan>,
    /// How boards are cut, kind by kind.
    pub boards: Vec<BoardPlan>,
    /// What the cavities resist as built, where that is known.
    pub resistance: Option<Resistance>,
    /// Material by material.
    pub needs: Vec<Need>,
    /// What could not be counted, with what to write.
    pub notes: Vec<String>,
}

/// Counts what an assembly takes.
///
/// # Errors
/// [`FramingError`] where its walls are not measured or cannot stand. What cannot be counted for another reason stands
/// in [`Sheet::notes`].
pub fn takeoff(book: &Book, assembly: RecordId, ask: &Ask) -> Result<Sheet, FramingError> {
    let runs = runs(book, assembly)?;
    let one = book.assemblies.get(assembly).ok_or(FramingError::NotHeld)?;
    let before = framing::versions(book, assembly).into_iter().nth(1).filter(|_| !ask.whole);
    let area = |of: &dyn Fn(&Run) -> Area| {
        runs.iter().map(of).try_fold(Area::ZERO, Area::checked_add).unwrap_or(Area::MAX)
    };
    let mut sheet = Sheet {
        assembly,
        framed_by: framed_by(book, assembly).map_or(assembly, |framed| framed.id),
        against: before.map(|before| before.id),
        net_area: area(&|run| run.frame.net_area_all_frames),
        gross_area: area(&|run| run.frame.gross_area),
        framed: framed_share(&runs),
        runs,
        batts: None,
        boards: Vec::new(),
        resistance: None,
        needs: Vec::new(),
        notes: Vec::new(),
    };
    let added = added::added(one, before);
    sheet.notes.extend(notes(one, before, &added));
    let mut counting = buy::Counting::new(book, ask, one, sheet);
    fill::count(&mut counting, &added);
    cover::count(&mut counting, &added);
    for words in framing::taken_as_usual(book, assembly) {
        counting.note(words);
    }
    for material in &ask.materials {
        if !counting.sheet.needs.iter().any(|need| need.material == Some(*material))
            && let Some(material) = book.materials.get(*material)
        {
            counting.note(format!(
                "{} is nothing that is counted here, so it was left out.",
                choice::short(material)
            ));
        }
    }
    Ok(counting.sheet)
}

/// Which parts cannot be read, and which sides cannot be compared.
fn notes(one: &Assembly, before: Option<&Assembly>, added: &added::Added) -> Vec<String> {
    let label = |of: &Assembly| of.label.clone().unwrap_or_else(|| "the assembly".to_owned());
    let now = label(one);
    let unread =
        |part: &&str| format!("The {part} of {now} cannot be read: look at it with storypole show {now}.");
    let mut notes: Vec<String> = added.unread.iter().map(unread).collect();
    if let Some(before) = before.map(label) {
        notes.extend(added.not_known_before.iter().map(|side| {
            format!(
                "Leaf {side} of {before} is not written, so all boards on that side of {now} count as new."
            )
        }));
    }
    notes
}

/// Wood of all walls over their faces without openings.
fn framed_share(runs: &[Run]) -> Option<f64> {
    let face: f64 = runs.iter().map(|run| run.closed_area().m2()).sum();
    let open: f64 = runs.iter().map(|run| run.frame.net_area.m2()).sum();
    (face > 0.0).then(|| (1.0 - open / face).max(0.0))
}

#[cfg(test)]
mod tests;
