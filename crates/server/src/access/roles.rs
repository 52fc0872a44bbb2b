//! Which role the least of a session must be, by method and address, in one table.
//!
//! Reading asks for a viewer, all else for a keeper, unless the table says otherwise: a route that nobody thought of
//! is closed to those who could do harm with it. A session never does more than its device may.

use std::sync::Mutex;

use axum::http::Method;
use storypole_journal::Role;
use storypole_store::MembershipMark;

use super::{Seat, lock};
use crate::problem::Code;
use crate::{ApiError, App};

/// What differs from the rule; a star stands for one part of the address.
const EXCEPTIONS: &[(&Method, &str, Role)] = &[
    // Going out oneself.
    (&Method::DELETE, "/api/session", Role::Viewer),
    // Writing.
    (&Method::PUT, "/api/drafts/*", Role::Crew),
    (&Method::POST, "/api/attachments", Role::Crew),
    (&Method::PUT, "/api/attachments/*/parts", Role::Crew),
    (&Method::PUT, "/api/attachments/*/parts/*", Role::Crew),
    (&Method::POST, "/api/attachments/fetch", Role::Crew),
    (&Method::POST, "/api/attachments/wanted", Role::Crew),
    (&Method::POST, "/api/sync/now", Role::Crew),
    // Whom others have let in, and what a copy of everything holds.
    (&Method::GET, "/api/invitations", Role::Keeper),
    (&Method::GET, "/api/sessions", Role::Keeper),
    (&Method::GET, "/api/backups", Role::Keeper),
];

/// The least role that may ask this.
pub fn least(method: &Method, path: &str) -> Role {
    let asked = if *method == Method::HEAD { &Method::GET } else { method };
    let found = EXCEPTIONS.iter().find(|(of, pattern, _)| *of == asked && is_like(pattern, path));
    match (found, asked) {
        (Some((.., role)), _) => *role,
        (None, &Method::GET) => Role::Viewer,
        (None, _) => Role::Keeper,
    }
}

fn is_like(pattern: &str, path: &str) -> bool {
    let (mut wanted, mut given) = (pattern.split('/'), path.split('/'));
    loop {
        match (wanted.next(), given.next()) {
            (None, None) => return true,
            (Some("*"), Some(part)) if !part.is_empty() => (),
            (Some(one), Some(other)) if one == other => (),
            _ => return false,
        }
    }
}

/// Whether a role may do what asks for `least`.
pub fn may(role: Role, least: Role) -> bool {
    // Roles are ordered from the one that may do everything.
    role <= least
}

/// What this device may do, as it was when membership was looked at last.
#[derive(Default)]
pub struct OwnRole(Mutex<Option<(MembershipMark, Role)>>);

impl OwnRole {
    /// What it may do now.
    ///
    /// # Errors
    /// The notebook cannot be asked.
    pub async fn get(app: &App) -> Result<Role, ApiError> {
        let kept = *lock(&app.access().own.0);
        // As a write: whoever wants to write does not wait for those who read.
        let found = app.write(move |desk| {
            let ask = |reader: &storypole_store::Reader| {
                let mark = reader.membership_mark()?;
                match kept {
                    Some((known, role)) if known == mark => Ok((mark, role)),
                    _ => Ok((mark, reader.own_role()?)),
                }
            };
            Ok(desk.read(ask)?)
        });
        let (mark, role) = found.await?;
        *lock(&app.access().own.0) = Some((mark, role));
        Ok(role)
    }
}

/// Checks that a session may ask this.
///
/// # Errors
/// [`Code::RoleTooLow`].
pub(super) async fn check(app: &App, seat: &Seat, method: &Method, path: &str) -> Result<(), ApiError> {
    let least = least(method, path);
    if !may(seat.role, least) {
        let detail =
            format!("this browser was let in as {}, and that needs {}", word(seat.role), word(least));
        return Err(ApiError::new(Code::RoleTooLow, detail));
    }
    // Every copy may be read by whoever was let in to it.
    if least != Role::Viewer {
        let own = OwnRole::get(app).await?;
        if !may(own, least) {
            let detail =
                format!("this device may do what a {} may, and that needs {}", own.as_str(), word(least));
            return Err(ApiError::new(Code::RoleTooLow, detail)
                .next("ask a keeper of the notebook to invite this device, or do it on a keeper's device"));
        }
    }
    Ok(())
}

fn word(role: Role) -> &'static str {
    match role {
        Role::Keeper => "a keeper",
        Role::Crew => "crew",
        Role::Viewer => "a viewer",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_nobody_thought_of_is_for_keepers() {
        for (method, path, role) in [
            (Method::GET, "/api/today", Role::Viewer),
            (Method::HEAD, "/api/today", Role::Viewer),
            (Method::GET, "/api/sessions", Role::Keeper),
            (Method::HEAD, "/api/sessions", Role::Keeper),
            (Method::PUT, "/api/drafts/1", Role::Crew),
            (Method::PUT, "/api/drafts/", Role::Keeper),
            (Method::PUT, "/api/drafts/1/2", Role::Keeper),
            (Method::POST, "/api/drafts/1", Role::Keeper),
            (Method::DELETE, "/api/session", Role::Viewer),
            (Method::DELETE, "/api/sessions", Role::Keeper),
            (Method::POST, "/api/anything", Role::Keeper),
            (Method::OPTIONS, "/api/today", Role::Keeper),
        ] {
            assert_eq!(least(&method, path), role, "{method} {path}");
        }
    }

    #[test]
    fn a_keeper_may_all_and_a_viewer_only_looks() {
        use Role::{Crew, Keeper, Viewer};
        for (role, may_keep, may_write) in [(Keeper, true, true), (Crew, false, true), (Viewer, false, false)]
        {
            assert_eq!((may(role, Keeper), may(role, Crew), may(role, Viewer)), (may_keep, may_write, true));
        }
    }
}
