//! What this very device may do, and when that has to be asked again.
//!
//! Leaves out what other devices may do, which `standing` judges for all of them.

use storypole_journal::{Limit, Role};

use crate::{Reader, StoreError};

/// Where membership stood: as long as it is equal, nobody's standing has changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MembershipMark {
    last: i64,
    generation: i64,
}

impl Reader {
    /// Where membership stands now; costs nothing beside judging it.
    ///
    /// # Errors
    /// SQLite fails, as for every method here.
    pub fn membership_mark(&self) -> Result<MembershipMark, StoreError> {
        Ok(self
            .connection()
            .prepare_cached(
                "SELECT (SELECT coalesce(max(no), 0) FROM membership_changes), (SELECT generation FROM projection)",
            )?
            .query_row([], |row| Ok(MembershipMark { last: row.get(0)?, generation: row.get(1)? }))?)
    }

    /// What this device may do: a viewer's part where it is no member, or was revoked.
    pub fn own_role(&self) -> Result<Role, StoreError> {
        let (_, device) = self.identity()?;
        let standing = self.standing()?;
        let role = standing.role(device).filter(|_| standing.limit(device) == Limit::Whole);
        Ok(role.unwrap_or(Role::Viewer))
    }
}
