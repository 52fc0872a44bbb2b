//! Whether a device may come in: a member that was not revoked, or one that such a member vouches for, as the log
//! stands now.

use std::sync::{Arc, Mutex};

use storypole_desk::partners::Vouch;
use storypole_desk::{Desk, DeskError};
use storypole_journal::{DeviceId, NotebookId, PublicKey, Role, Standing};
use storypole_notebook::value::print_moment;
use storypole_store::{MembershipMark, Reader};

use crate::access::lock;
use crate::problem::Code;
use crate::{ApiError, App};

/// What membership says, as it was when it changed last. Judging it anew takes reading every invitation.
#[derive(Default)]
pub struct Known(Mutex<Option<(MembershipMark, Arc<Standing>)>>);

impl Known {
    fn now(&self, desk: &Desk) -> Result<Arc<Standing>, DeskError> {
        let kept = lock(&self.0).clone();
        let ask = |reader: &Reader| {
            let mark = reader.membership_mark()?;
            match kept {
                Some((known, standing)) if known == mark => Ok((mark, standing)),
                _ => Ok((mark, Arc::new(reader.standing()?))),
            }
        };
        let (mark, standing) = desk.read(|reader| reader.snapshot(ask))?;
        *lock(&self.0) = Some((mark, Arc::clone(&standing)));
        Ok(standing)
    }
}

/// What a device that may come in has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Admitted {
    /// What it may do.
    pub role: Role,
    /// What its proofs are verified with.
    pub key: PublicKey,
}

/// A member's word for a device whose own first change, which holds that word, has not come yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Word {
    /// The key of the device.
    pub key: PublicKey,
    /// Whose word, and what it says.
    pub vouch: Vouch,
}

/// What a device has, if it is a member that was not revoked, or enters on the word of one. Otherwise its keys are
/// void from now on.
///
/// # Errors
/// [`Code::NotAMember`], [`Code::DeviceRevoked`].
pub(crate) async fn in_good_standing(
    app: &App,
    device: DeviceId,
    word: Option<Word>,
) -> Result<Admitted, ApiError> {
    let asked = app.clone();
    let found = app.read(move |desk| judged(&asked, desk, device, word)).await;
    if let Err(refused) = &found
        && matches!(refused.code(), Code::NotAMember | Code::DeviceRevoked)
    {
        app.devices().void(device);
    }
    found
}

fn judged(app: &App, desk: &Desk, device: DeviceId, word: Option<Word>) -> Result<Admitted, ApiError> {
    let standing = app.devices().known.now(desk)?;
    if standing.revocation(device).is_some() {
        let when = revoked_at(desk, device)?.map_or_else(String::new, |when| format!(" on {when}"));
        return Err(ApiError::new(Code::DeviceRevoked, format!("device {device} was revoked{when}")));
    }
    let member = standing.member(device).map(|member| Admitted { role: member.role, key: member.key });
    let by_word = || word.and_then(|word| vouched(&standing, desk.notebook(), device, word));
    let stranger =
        || ApiError::new(Code::NotAMember, format!("device {device} is no member of the notebook"));
    member.or_else(by_word).ok_or_else(stranger)
}

/// The same rule as for a word within the log: the voucher is a member without a limit, and gives no more than it has.
fn vouched(standing: &Standing, notebook: NotebookId, device: DeviceId, word: Word) -> Option<Admitted> {
    let Word { key, vouch: Vouch { voucher, role, signature } } = word;
    let by = standing.member(voucher)?;
    // Roles are in the order of what they may do, the most first.
    let may = standing.revocation(voucher).is_none() && role >= by.role;
    let holds = may && by.key.vouched(notebook, voucher, device, key, role, &signature);
    holds.then_some(Admitted { role, key })
}

/// When a device was revoked, by the clock of whoever did it.
fn revoked_at(desk: &Desk, device: DeviceId) -> Result<Option<String>, DeskError> {
    let history = desk.read(|reader| reader.history(device.membership_record()))?;
    let revoked =
        history.iter().filter(|item| item.is_head && item.field == "revoked" && !item.payload.is_null());
    Ok(revoked.map(|item| item.written_at).max_by_key(|at| at.unix_ms).map(print_moment))
}
