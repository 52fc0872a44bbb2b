//! This copy becomes a new device by itself, when its folder turns out to have been copied.
//!
//! What is written again and how is the store's affair ([`storypole_store::anew`]); here are the new id and key, the
//! old key's word for them, and the key file, which is never lost and never another device's. A device that was
//! revoked, or is no member, stays as it is: its key must not bring in another one.

use std::sync::PoisonError;

use storypole_journal::{DeviceId, DeviceKey, Draft, Limit};
use storypole_notebook::compose::Composer;
use storypole_notebook::{KindSpec, Value};
use storypole_store::{Anew, Begun, Reader, StoreError};

use crate::folder::{DataFolder, FolderError};
use crate::members::device_record;
use crate::{Desk, DeskError, edge};

/// The longest label of a device, in letters; see the kind `device`.
const LABEL_LETTERS: usize = 32;
const COPY: &str = " (copy)";

impl Desk {
    /// How this copy went on as a new device, if it did since it was opened: to be told to the person.
    pub fn last_anew(&self) -> Option<Begun> {
        *self.mended.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Goes on as a new device where another branch of this device's series counts.
    pub(crate) fn mend_own_fork(&self) -> Result<Option<Begun>, DeskError> {
        // Held to the end: of two that hear of the fork at once, the second finds it mended.
        let mut mended = self.mended.lock().unwrap_or_else(PoisonError::into_inner);
        if self.read(Reader::own_fork)?.is_none() {
            return Ok(None);
        }
        let standing = self.read(Reader::standing)?;
        let was = self.device();
        let Some(member) = standing.member(was).filter(|_| standing.limit(was) == Limit::Whole) else {
            return Ok(None);
        };
        let (device, key) = (edge::device_id(), edge::device_key());
        let old_key = self.folder.read_key()?;
        let signature = old_key.vouch(self.notebook(), was, device, key.public(), member.role);
        let note = Some(self.note_of_copy(was, device)?);
        let voucher = Some((was, signature, member.role));
        let begun = self.go_on(Anew { device, key, instance: edge::random(), voucher, note })?;
        *mended = Some(begun);
        Ok(Some(begun))
    }

    /// Goes on as another device, key file and all. One caller at a time.
    pub(crate) fn go_on(&self, anew: Anew) -> Result<Begun, DeskError> {
        self.folder.write_next_key(&anew.key)?;
        // Should it fail, the new key stays beside the old one: a commit that was told as failed may stand all the same,
        // and the next opening finds out which of them is right.
        let begun = self.writer()?.begin_anew(anew)?;
        *self.device.write().unwrap_or_else(PoisonError::into_inner) = begun.is;
        self.folder.keep_next_key()?;
        Ok(begun)
    }

    /// The record of the new device, named after the old one.
    fn note_of_copy(&self, was: DeviceId, device: DeviceId) -> Result<Draft, DeskError> {
        let kind = KindSpec::find("device").expect("the kind is there");
        let old = self.read(|reader| {
            let record = device_record(reader, was)?;
            record.map(|record| reader.row(kind, record)).transpose().map(Option::flatten)
        })?;
        let value = |field: &str| old.as_ref().and_then(|row| row.value(field).cloned());
        let label = value("label").map_or_else(|| was.to_string(), |label| label.to_string());
        let kept: String = label.chars().take(LABEL_LETTERS - COPY.len()).collect();
        let record = edge::record_id();
        let mut compose = Composer::new(edge::draft_id(), self.author(), edge::written_now(0));
        compose.set(record, "device", "label", &Value::Text(kept.trim_end().to_owned() + COPY))?;
        compose.set(record, "device", "device", &Value::Text(device.to_string()))?;
        let person = value("person").unwrap_or(Value::Record(self.author()));
        compose.set(record, "device", "person", &person)?;
        Ok(compose.finish())
    }
}

/// The key of the device that the database belongs to. A copy that was becoming a new device when the program ended
/// has two: the database knows which of them is right.
pub(crate) fn own_key(folder: &DataFolder) -> Result<DeviceKey, DeskError> {
    let Some(next) = folder.read_next_key()? else {
        folder.drop_next_key()?;
        return Ok(folder.read_key()?);
    };
    let reader = Reader::open(&folder.database())?;
    let is_own = |key: &DeviceKey| -> Result<Option<bool>, StoreError> { reader.is_own_key(&key.public()) };
    // Where nothing is known of the device's key it is the new one's: the old one had written something.
    let has_begun = is_own(&next)?.unwrap_or(true);
    if has_begun {
        folder.keep_next_key()?;
        return Ok(next);
    }
    let key = folder.read_key()?;
    if is_own(&key)? == Some(false) {
        return Err(FolderError::BadKey(folder.path().join("device.key")).into());
    }
    folder.drop_next_key()?;
    Ok(key)
}
