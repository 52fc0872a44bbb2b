//! Assemblies read once: their parts as typed values and what they are matched by. Leaves out what was measured with them.

use std::collections::HashMap;
use std::sync::{Arc, PoisonError, RwLock};

use storypole_journal::RecordId;
use storypole_notebook::assembly::PartError;
use storypole_notebook::kinds::Assembly;
use storypole_notebook::matching::{MatchKey, Parts};

/// An assembly as it was read, with the fields it was read from.
#[derive(Debug)]
pub(crate) struct Wall {
    /// The assembly.
    pub(crate) id: RecordId,
    /// Whether it was struck.
    pub(crate) is_struck: bool,
    /// Its job.
    pub(crate) job: Option<RecordId>,
    /// The version it replaces.
    pub(crate) replaces: Option<RecordId>,
    /// Its parts, or why they cannot be read.
    pub(crate) parts: Result<Parts, PartError>,
    /// What it is matched by, where its parts can be read.
    pub(crate) key: Option<MatchKey>,
    texts: [Option<String>; 8],
}

/// What is read of an assembly: its parts, its state and what it is.
fn texts(of: &Assembly) -> [Option<&str>; 8] {
    [&of.leaf_a, &of.frame, &of.cavity, &of.leaf_b, &of.openings, &of.seals, &of.state, &of.element]
        .map(|text| text.as_deref())
}

impl Wall {
    fn read(assembly: &Assembly) -> Self {
        let parts = Parts::of(assembly);
        Self {
            id: assembly.id,
            is_struck: assembly.meta.struck.is_some(),
            job: assembly.job,
            replaces: assembly.replaces,
            key: parts.as_ref().ok().map(Parts::key),
            parts,
            texts: texts(assembly).map(|text| text.map(str::to_owned)),
        }
    }

    /// Whether the record still says what was read.
    fn is_of(&self, assembly: &Assembly) -> bool {
        self.is_struck == assembly.meta.struck.is_some()
            && self.job == assembly.job
            && self.replaces == assembly.replaces
            && self.texts.each_ref().map(Option::as_deref) == texts(assembly)
    }

    /// Its seals as written.
    pub(crate) fn seals(&self) -> &str {
        self.texts[5].as_deref().unwrap_or("unknown")
    }

    /// What it is: `wall`, `ceiling` ...
    pub(crate) fn element(&self) -> &str {
        self.texts[7].as_deref().unwrap_or("unknown")
    }

    /// Whether it is a small panel for a bench rig.
    pub(crate) fn is_panel(&self) -> bool {
        self.element() == "panel"
    }
}

/// Assemblies that were read, so that only a changed one is read again.
///
/// Whatever book it is asked with, it answers what that book's record says: what was read is held against the record.
#[derive(Debug, Default)]
pub struct Walls {
    known: RwLock<HashMap<RecordId, Arc<Wall>>>,
}

impl Clone for Walls {
    fn clone(&self) -> Self {
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner).clone();
        Self { known: RwLock::new(known) }
    }
}

impl Walls {
    /// An assembly as its record says.
    pub(crate) fn of(&self, assembly: &Assembly) -> Arc<Wall> {
        // A map of finished values is whole even where another thread panicked.
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner).get(&assembly.id).cloned();
        if let Some(wall) = known.filter(|wall| wall.is_of(assembly)) {
            return wall;
        }
        let wall = Arc::new(Wall::read(assembly));
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        known.insert(assembly.id, Arc::clone(&wall));
        wall
    }

    /// Forgets one that may be gone.
    pub(crate) fn forget(&mut self, assembly: RecordId) {
        self.known.get_mut().unwrap_or_else(PoisonError::into_inner).remove(&assembly);
    }
}
