//! The restore pass: a keeper's key that no device writes with. It lies in the data folder and in each backup, and
//! vouches for the new device that a restored copy becomes.
//!
//! Whoever holds a backup can therefore let a copy in as a keeper, as whoever holds a device can. Revoking the pass
//! ends that, for every backup that holds it; the next backup then makes another.

use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::PoisonError;

use storypole_journal::membership::{self, Limit, Role};
use storypole_journal::{DeviceId, DeviceKey, Draft, Standing, WrittenAt};
use storypole_notebook::Value;
use storypole_notebook::door;
use storypole_store::{Anew, Begun, Reader};

use crate::backup::{label_of, restore};
use crate::folder::FolderError;
use crate::members::RESTORE_PASS;
use crate::{Desk, DeskError, edge};

/// Name of its file in the data folder.
pub const FILE: &str = "restore.key";

/// Letters of a device's label that fit behind it: 32 in all.
const LABEL_LETTERS: usize = 16;

/// What vouches for a restored copy.
#[derive(Clone, PartialEq, Eq)]
pub struct RestorePass {
    /// The device it stands for, which has no series.
    pub device: DeviceId,
    /// Its secret key.
    pub secret: [u8; 32],
}

/// The secret is not printed.
impl std::fmt::Debug for RestorePass {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "RestorePass({})", self.device)
    }
}

impl RestorePass {
    /// As it is kept: the device, then the secret.
    pub fn to_bytes(&self) -> Vec<u8> {
        [&self.device.as_bytes()[..], &self.secret].concat()
    }

    /// Reads what [`Self::to_bytes`] gives.
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let (device, secret) = bytes.split_at_checked(16)?;
        let device = DeviceId::from_bytes(device.try_into().ok()?);
        Some(Self { device, secret: secret.try_into().ok()? })
    }

    /// Its key.
    pub fn key(&self) -> DeviceKey {
        DeviceKey::from_bytes(&self.secret)
    }

    /// Whether it may vouch: a keeper's that no revocation limits, by the very key that was invited.
    pub fn counts(&self, standing: &Standing) -> bool {
        standing.role(self.device) == Some(Role::Keeper)
            && standing.limit(self.device) == Limit::Whole
            && standing.key(self.device) == Some(self.key().public())
    }
}

/// Why a pass lets nobody in.
#[derive(Debug, thiserror::Error)]
pub enum PassError {
    /// It cannot be read.
    #[error("{path} cannot be read: check its name and that you may read it")]
    Read { path: PathBuf, source: io::Error },
    /// It is something else.
    #[error("{0} is not a restore pass: name the file restore.key of a keeper's data folder, or of a backup")]
    NotAPass(PathBuf),
    /// It is of another notebook, was revoked, or is not known here yet.
    #[error(
        "the pass in {0} does not count in this copy: it was revoked, or made after what this copy holds; use a newer export, or ask a keeper to invite this device"
    )]
    DoesNotCount(PathBuf),
    /// The notebook.
    #[error(transparent)]
    Desk(#[from] DeskError),
}

impl Desk {
    /// The pass that goes into backups, made and invited at first use; `None` where this device is no keeper in good
    /// standing and none is there that counts.
    ///
    /// # Errors
    /// [`DeskError::OnlyReading`] where one would have to be made; the database or the folder failed.
    pub fn restore_pass(&self) -> Result<Option<RestorePass>, DeskError> {
        let standing = self.read(Reader::standing)?;
        let held = self.held_pass()?;
        if let Some(pass) = held.as_ref().filter(|pass| pass.counts(&standing)) {
            return Ok(Some(pass.clone()));
        }
        let is_keeper = standing.role(self.device()) == Some(Role::Keeper)
            && standing.limit(self.device()) == Limit::Whole;
        if !is_keeper {
            return Ok(None);
        }
        self.writer()?;
        // One that was written and, after a crash, never invited is used; one that was revoked never again.
        let pass = match held.filter(|pass| standing.key(pass.device).is_none()) {
            Some(pass) => pass,
            None => {
                let pass = RestorePass { device: edge::device_id(), secret: edge::random() };
                self.folder.write_private(FILE, &pass.to_bytes())?;
                pass
            }
        };
        self.take_unchecked(self.invitation(&pass)?)?;
        Ok(Some(pass))
    }

    /// Lets this copy in as a keeper with the pass in a file: it goes on as a new device, of that label.
    ///
    /// # Errors
    /// [`PassError`]: no pass, or one that does not count here; this copy stays what it was.
    pub fn let_itself_in(&self, file: &Path, label: &str, written_at: WrittenAt) -> Result<Begun, PassError> {
        let failed = |source| PassError::Read { path: file.to_owned(), source };
        let mut bytes = Vec::new();
        // One byte more than a pass has tells that it is something else.
        fs::File::open(file).and_then(|open| open.take(49).read_to_end(&mut bytes)).map_err(failed)?;
        let pass = RestorePass::from_bytes(&bytes).ok_or_else(|| PassError::NotAPass(file.to_owned()))?;
        if !pass.counts(&self.read(Reader::standing)?) {
            return Err(PassError::DoesNotCount(file.to_owned()));
        }
        // As long as this is held, nothing else makes it another device.
        let _alone = self.mended.lock().unwrap_or_else(PoisonError::into_inner);
        let (device, key) = (edge::device_id(), edge::device_key());
        let note = Some(restore::name(self.author(), device, label, written_at)?);
        let voucher = Some(restore::vouched(&pass, self.notebook(), device, &key));
        Ok(self.go_on(Anew { device, key, instance: edge::random(), voucher, note })?)
    }

    /// The pass in the data folder, whether or not it counts.
    pub(crate) fn held_pass(&self) -> Result<Option<RestorePass>, DeskError> {
        let path = self.pass_path();
        match fs::read(&path) {
            // A damaged one is replaced; it could vouch for nothing.
            Ok(bytes) => Ok(RestorePass::from_bytes(&bytes)),
            Err(source) if source.kind() == io::ErrorKind::NotFound => Ok(None),
            // Another user's notebook that may be looked at: its pass may not.
            Err(source) if source.kind() == io::ErrorKind::PermissionDenied && self.only_reads() => Ok(None),
            Err(source) => Err(FolderError::Io { path, source }.into()),
        }
    }

    fn pass_path(&self) -> PathBuf {
        self.path().join(FILE)
    }

    /// The draft that makes the pass a keeper and gives it a name.
    fn invitation(&self, pass: &RestorePass) -> Result<Draft, DeskError> {
        let label = label_of(&*self.book()?, self.device()).unwrap_or_else(|| "a device".to_owned());
        let label: String = label.chars().take(LABEL_LETTERS).collect();
        let mut compose = self.compose(edge::written_now(0));
        let record = edge::record_id();
        let text = |text: String| Value::Text(text);
        compose.set(record, "device", "label", &text(format!("{RESTORE_PASS}{}", label.trim_end())))?;
        compose.set(record, "device", "device", &text(pass.device.to_string()))?;
        let mut draft = compose.finish();
        door::check(&draft).map_err(|source| DeskError::Door { draft: draft.id, source })?;
        let invitation = membership::invite(pass.device, pass.key().public(), Role::Keeper, self.device());
        draft.writes.splice(0..0, invitation);
        Ok(draft)
    }
}

#[cfg(test)]
mod tests {
    use storypole_journal::WrittenAt;
    use storypole_units::Currency;

    use super::*;
    use crate::Founding;

    fn founded(folder: &std::path::Path) -> Desk {
        let founding = Founding {
            name: "Mill house".to_owned(),
            currency: Currency::parse("USD").unwrap(),
            role: "site lead".to_owned(),
            label: "lead".to_owned(),
            device_label: "workshop computer by the door".to_owned(),
            written_at: WrittenAt { unix_ms: 1_741_100_000_000, offset_min: -300 },
        };
        Desk::found(folder, &founding).unwrap()
    }

    #[test]
    fn a_pass_is_made_once_and_is_a_keeper() {
        let folder = tempfile::tempdir().unwrap();
        let desk = founded(folder.path());
        let pass = desk.restore_pass().unwrap().unwrap();
        let before = desk.digest().unwrap();
        assert_eq!(desk.restore_pass().unwrap(), Some(pass.clone()));
        assert_eq!(desk.digest().unwrap(), before, "asking again writes nothing");
        assert!(pass.counts(&desk.read(Reader::standing).unwrap()));
        let book = desk.book().unwrap();
        assert_eq!(label_of(&book, pass.device).as_deref(), Some("restore pass of workshop compute"));
        assert!(!format!("{pass:?}").contains(&format!("{:02x}", pass.secret[0]).repeat(2)));
    }

    #[test]
    fn a_pass_that_was_never_invited_is_invited_and_a_damaged_one_is_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let desk = founded(folder.path());
        let left = RestorePass { device: edge::device_id(), secret: [9; 32] };
        desk.folder.write_private(FILE, &left.to_bytes()).unwrap();
        assert_eq!(desk.restore_pass().unwrap(), Some(left.clone()));
        fs::write(desk.pass_path(), b"short").unwrap();
        let next = desk.restore_pass().unwrap().unwrap();
        assert_ne!(next, left);
        assert_eq!(desk.held_pass().unwrap(), Some(next));
    }
}
