//! Whether a device may come in: a member that was not revoked, as the log stands now.

use std::sync::{Arc, Mutex};

use storypole_desk::{Desk, DeskError};
use storypole_journal::{DeviceId, Member, Standing};
use storypole_notebook::value::print_moment;
use storypole_store::Reader;
use storypole_store::read::Position;

use crate::access::lock;
use crate::problem::Code;
use crate::{ApiError, App};

/// What membership says, as of where the log stood. Judging it anew takes reading every invitation.
#[derive(Default)]
pub struct Known(Mutex<Option<(Position, Arc<Standing>)>>);

impl Known {
    fn now(&self, desk: &Desk) -> Result<Arc<Standing>, DeskError> {
        let at = desk.position()?;
        if let Some((known_at, standing)) = &*lock(&self.0)
            && *known_at == at
        {
            return Ok(Arc::clone(standing));
        }
        let ask = |reader: &Reader| reader.snapshot(|reader| Ok((reader.position()?, reader.standing()?)));
        let (at, standing) = desk.read(ask)?;
        let standing = Arc::new(standing);
        *lock(&self.0) = Some((at, Arc::clone(&standing)));
        Ok(standing)
    }
}

/// The member that a device is, if it is one and was not revoked. Otherwise its keys are void from now on.
///
/// # Errors
/// [`Code::NotAMember`], [`Code::DeviceRevoked`].
pub(crate) async fn in_good_standing(app: &App, device: DeviceId) -> Result<Member, ApiError> {
    let asked = app.clone();
    let found = app.read(move |desk| judged(&asked, desk, device)).await;
    if let Err(refused) = &found
        && matches!(refused.code(), Code::NotAMember | Code::DeviceRevoked)
    {
        app.devices().void(device);
    }
    found
}

fn judged(app: &App, desk: &Desk, device: DeviceId) -> Result<Member, ApiError> {
    let standing = app.devices().known.now(desk)?;
    if standing.revocation(device).is_some() {
        let when = revoked_at(desk, device)?.map_or_else(String::new, |when| format!(" on {when}"));
        return Err(ApiError::new(Code::DeviceRevoked, format!("device {device} was revoked{when}")));
    }
    let stranger =
        || ApiError::new(Code::NotAMember, format!("device {device} is no member of the notebook"));
    standing.member(device).copied().ok_or_else(stranger)
}

/// When a device was revoked, by the clock of whoever did it.
fn revoked_at(desk: &Desk, device: DeviceId) -> Result<Option<String>, DeskError> {
    let history = desk.read(|reader| reader.history(device.membership_record()))?;
    let revoked =
        history.iter().filter(|item| item.is_head && item.field == "revoked" && !item.payload.is_null());
    Ok(revoked.map(|item| item.written_at).max_by_key(|at| at.unix_ms).map(print_moment))
}
