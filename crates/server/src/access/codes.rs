//! The one-time code that lets one more device or browser in: one at a time, for ten minutes, five wrong tries.
//!
//! Eight letters of Crockford's base32 are 40 random bits: with five tries a guess hits once in 2e11. A browser hands
//! the code itself in; a device only proves that it knows it, see [`crate::join`]. Time is an argument.

use std::time::Duration;

use storypole_desk::edge;
use storypole_journal::{RecordId, Role};
use storypole_store::SessionHash;
use tokio::time::Instant;

use crate::join::Pending;

/// Crockford's base32 of 2002: no I, L, O and U. Those who read I or L type 1, those who read O type 0.
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Letters of a code.
const LENGTH: usize = 8;

/// How long a code is good.
pub const LASTS: Duration = Duration::from_secs(600);

/// Wrong tries that void it.
pub const MOST_WRONG: u32 = 5;

/// Proofs that may be under way for one code.
const MOST_PENDING: usize = 32;

/// A code as it is compared: eight letters, capital, without the dash.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct OneTimeCode([u8; LENGTH]);

/// It must not get into a log.
impl std::fmt::Debug for OneTimeCode {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("OneTimeCode(..)")
    }
}

/// A text that is no code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a code has eight letters and digits, like 7KQ2-M9XD, and no U")]
pub struct NotACode;

impl OneTimeCode {
    /// A new code.
    fn new() -> Self {
        // 256 is a multiple of 32: every letter is as likely as any other.
        Self(edge::random::<LENGTH>().map(|byte| LETTERS[usize::from(byte % 32)]))
    }

    /// Reads what a person typed: any case, with or without dash and spaces, and letters that look like digits.
    ///
    /// # Errors
    /// [`NotACode`].
    pub fn parse(typed: &str) -> Result<Self, NotACode> {
        let mut letters =
            typed.chars().filter(|letter| !matches!(letter, '-' | ' ' | '\u{2010}'..='\u{2014}'));
        let mut code = [0; LENGTH];
        for place in &mut code {
            let letter = letters.next().ok_or(NotACode)?.to_ascii_uppercase();
            let letter = match letter {
                'O' => '0',
                'I' | 'L' => '1',
                other => other,
            };
            *place = u8::try_from(letter).ok().filter(|letter| LETTERS.contains(letter)).ok_or(NotACode)?;
        }
        if letters.next().is_some() { Err(NotACode) } else { Ok(Self(code)) }
    }

    /// As it is shown: `XXXX-XXXX`.
    pub fn shown(&self) -> String {
        let letters: String = self.0.iter().copied().map(char::from).collect();
        format!("{}-{}", &letters[..LENGTH / 2], &letters[LENGTH / 2..])
    }

    /// What is kept of a code that was used. A key has no colon, so no key has the same.
    pub fn hash(&self) -> SessionHash {
        SessionHash::of(&[b"code:", &self.0[..]].concat())
    }

    /// The letters, as what is proven.
    pub fn as_bytes(&self) -> &[u8] {
        &self.0
    }

    /// Whether another is the same; how long it takes says nothing about where they differ.
    fn is(&self, other: &Self) -> bool {
        blake3::hash(&self.0) == blake3::hash(&other.0)
    }
}

/// Whom a code lets in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum For {
    /// A device, with a copy of its own.
    Device,
    /// A browser.
    Browser,
}

/// What a code gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grant {
    /// Whom it lets in.
    pub who: For,
    /// What they may do.
    pub role: Role,
    /// The person who works there.
    pub person: RecordId,
    /// What people call it, where the inviting one said so.
    pub label: Option<String>,
}

/// A code that is out.
pub struct Invitation {
    /// Tells this invitation from another.
    pub id: String,
    code: OneTimeCode,
    /// What it gives.
    pub grant: Grant,
    /// Who invited.
    pub by: SessionHash,
    ends: Instant,
    /// When it ends, by this device's clock, ms since 1970.
    pub ends_ms: u64,
    /// Wrong tries so far.
    pub wrong: u32,
    pending: Vec<Pending>,
}

/// What became of a code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// It let someone in.
    Used,
    /// Too many wrong tries came.
    Voided,
    /// Nobody used it in time.
    RanOut,
    /// It was taken back, or another was made in its place.
    TakenBack,
}

/// A code that is out no more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ended {
    /// Which invitation.
    pub id: String,
    /// What it gave.
    pub grant: Grant,
    /// How it ended.
    pub end: End,
    /// When, by this device's clock, ms since 1970.
    pub at_ms: u64,
    /// Who came in, where one did: a device's id.
    pub device: Option<String>,
}

/// Why a code lets nobody in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CodeError {
    /// None like it is out.
    #[error("no such code is out: it was mistyped, used, taken back, or its ten minutes are over")]
    Wrong,
    /// It was the last wrong try.
    #[error("five wrong codes came, so the code that was out is void")]
    Voided,
    /// It is meant for a device.
    #[error("this code is for a device, which joins with `storypole join`")]
    ForDevice,
}

/// The code that is out, if any, and what became of the last one.
#[derive(Default)]
pub struct Codes {
    out: Option<Invitation>,
    last: Option<Ended>,
}

impl Codes {
    /// Makes a code; one that was out is void.
    pub fn issue(
        &mut self,
        grant: Grant,
        by: SessionHash,
        now: Instant,
        now_ms: u64,
    ) -> (OneTimeCode, &Invitation) {
        self.end(End::TakenBack, None, now_ms);
        let code = OneTimeCode::new();
        let ends_ms = now_ms.saturating_add(LASTS.as_millis() as u64);
        let id = edge::record_id().to_string();
        let invitation =
            Invitation { id, code, grant, by, ends: now + LASTS, ends_ms, wrong: 0, pending: Vec::new() };
        (code, self.out.insert(invitation))
    }

    /// The invitation that is out.
    pub fn out(&mut self, now: Instant, now_ms: u64) -> Option<&mut Invitation> {
        if self.out.as_ref().is_some_and(|out| now >= out.ends) {
            self.end(End::RanOut, None, now_ms);
        }
        self.out.as_mut()
    }

    /// What became of the last one that is out no more.
    pub fn last(&self) -> Option<&Ended> {
        self.last.as_ref()
    }

    /// Takes a browser's code: right once.
    ///
    /// # Errors
    /// [`CodeError`]; a wrong one is counted.
    pub fn take(&mut self, code: &OneTimeCode, now: Instant, now_ms: u64) -> Result<Invitation, CodeError> {
        let out = self.out(now, now_ms).ok_or(CodeError::Wrong)?;
        if !out.code.is(code) {
            return Err(self.wrong(now_ms));
        }
        if out.grant.who == For::Device {
            return Err(CodeError::ForDevice);
        }
        self.end(End::Used, None, now_ms).ok_or(CodeError::Wrong)
    }

    /// Counts a wrong try; enough of them void the code.
    pub fn wrong(&mut self, now_ms: u64) -> CodeError {
        let Some(out) = &mut self.out else { return CodeError::Wrong };
        out.wrong += 1;
        if out.wrong < MOST_WRONG {
            return CodeError::Wrong;
        }
        self.end(End::Voided, None, now_ms);
        CodeError::Voided
    }

    /// The code that is out ends so; gives it, where one is.
    pub fn end(&mut self, end: End, device: Option<String>, now_ms: u64) -> Option<Invitation> {
        let out = self.out.take()?;
        let (id, grant) = (out.id.clone(), out.grant.clone());
        self.last = Some(Ended { id, grant, end, at_ms: now_ms, device });
        Some(out)
    }

    /// The invitation of this id let a device in; another that is out by now stays out.
    pub fn joined(&mut self, id: &str, device: String, now_ms: u64) {
        if self.out.as_ref().is_some_and(|out| out.id == id) {
            self.end(End::Used, Some(device), now_ms);
        }
    }

    /// The code of this hash let a browser in after all.
    pub fn use_up(&mut self, hash: &SessionHash, now_ms: u64) {
        if self.out.as_ref().is_some_and(|out| out.code.hash() == *hash) {
            self.end(End::Used, None, now_ms);
        }
    }

    /// Makes a code good again that was used up for nothing, unless another was made or it ended otherwise since.
    pub fn give_back(&mut self, invitation: Invitation) {
        if self.out.is_none() && self.last.as_ref().is_some_and(|last| last.id == invitation.id) {
            self.last = None;
            self.out = Some(invitation);
        }
    }
}

impl Invitation {
    /// What is proven.
    pub fn code(&self) -> &OneTimeCode {
        &self.code
    }

    /// Keeps the state of a proof under way; of too many the oldest is given up.
    pub fn begin(&mut self, pending: Pending) {
        if self.pending.len() >= MOST_PENDING {
            self.pending.remove(0);
        }
        self.pending.push(pending);
    }

    /// The proof under way of this name, which is looked at once.
    pub fn finish(&mut self, exchange: &str) -> Option<Pending> {
        let at = self.pending.iter().position(|pending| pending.exchange == exchange)?;
        Some(self.pending.remove(at))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grant(who: For) -> Grant {
        Grant { who, role: Role::Crew, person: RecordId::from_bytes([1; 16]), label: None }
    }

    fn codes(who: For, now: Instant) -> (Codes, OneTimeCode) {
        let mut codes = Codes::default();
        let (code, _) = codes.issue(grant(who), SessionHash([1; 32]), now, 0);
        (codes, code)
    }

    fn another(code: &OneTimeCode) -> OneTimeCode {
        let mut other = *code;
        other.0[0] = if other.0[0] == b'A' { b'B' } else { b'A' };
        other
    }

    /// The alphabet and its readings are Crockford's of 2002 (crockford.com/base32.html).
    #[test]
    fn codes_are_read_as_people_type_them() {
        let code = OneTimeCode(*b"01AV9XYZ");
        for typed in
            ["01AV-9XYZ", "01av9xyz", " 0l AV\u{2013}9xyz", "OIav-9XYZ", "oLAV9XYZ", "0-1-A-V-9-X-Y-Z"]
        {
            assert_eq!(OneTimeCode::parse(typed), Ok(code), "{typed}");
        }
        for typed in
            ["", "01AV-9XY", "01AV-9XYZ0", "01AV-9XYU", "01AV_9XYZ", "01AV-9XY\u{416}", "\u{ff10}1AV-9XYZ"]
        {
            assert_eq!(OneTimeCode::parse(typed), Err(NotACode), "{typed}");
        }
        assert_eq!(code.shown(), "01AV-9XYZ");
        let new = OneTimeCode::new();
        assert_eq!(OneTimeCode::parse(&new.shown()), Ok(new));
        assert_ne!(new, OneTimeCode::new());
    }

    #[test]
    fn a_code_works_once_and_for_ten_minutes() {
        let start = Instant::now();
        let (mut codes, code) = codes(For::Browser, start);
        let taken = codes.take(&code, start + LASTS - Duration::from_secs(1), 1);
        assert_eq!(taken.unwrap().grant, grant(For::Browser));
        assert_eq!(codes.last().map(|last| last.end), Some(End::Used));
        assert_eq!(codes.take(&code, start, 2).err(), Some(CodeError::Wrong));
        let (mut codes, code) = self::codes(For::Browser, start);
        assert_eq!(codes.take(&code, start + LASTS, 3).err(), Some(CodeError::Wrong));
        assert_eq!(codes.last().map(|last| (last.end, last.at_ms)), Some((End::RanOut, 3)));
    }

    #[test]
    fn five_wrong_tries_void_it() {
        let now = Instant::now();
        let (mut codes, code) = codes(For::Browser, now);
        for _ in 1..MOST_WRONG {
            assert_eq!(codes.take(&another(&code), now, 0).err(), Some(CodeError::Wrong));
        }
        assert_eq!(codes.out(now, 0).map(|out| out.wrong), Some(MOST_WRONG - 1));
        assert_eq!(codes.take(&another(&code), now, 0).err(), Some(CodeError::Voided));
        assert_eq!(codes.take(&code, now, 0).err(), Some(CodeError::Wrong));
        assert_eq!(codes.last().map(|last| last.end), Some(End::Voided));
    }

    #[test]
    fn one_is_out_at_a_time_and_a_device_s_lets_no_browser_in() {
        let now = Instant::now();
        let (mut codes, first) = codes(For::Device, now);
        assert_eq!(codes.take(&first, now, 0).err(), Some(CodeError::ForDevice));
        let (second, _) = codes.issue(grant(For::Browser), SessionHash([1; 32]), now, 5);
        assert_eq!(codes.last().map(|last| (last.end, last.at_ms)), Some((End::TakenBack, 5)));
        assert_eq!(codes.take(&first, now, 0).err(), Some(CodeError::Wrong));
        assert!(codes.take(&second, now, 0).is_ok());
    }
}
