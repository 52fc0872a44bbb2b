//! Files that changed on the disk: moved aside, so that their place is free for a whole copy. Leaves out where that
//! copy comes from.

use std::fs;
use std::path::PathBuf;
use std::sync::PoisonError;

use super::{AttachmentError, Attachments, failed, remove_if_there};

/// How a file was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Checked {
    /// As it was kept; so many bytes.
    Whole(u64),
    /// It had changed, and lies in `damaged/` now.
    SetAside,
    /// It is not here.
    Missing,
}

impl Attachments {
    /// Reads a file to its end, and moves it aside if it is not what was kept.
    ///
    /// # Errors
    /// [`AttachmentError::Io`].
    pub fn check(&self, hash: &[u8; 32]) -> Result<Checked, AttachmentError> {
        match self.verify(hash) {
            Ok(bytes) => return Ok(Checked::Whole(bytes)),
            Err(AttachmentError::Missing) => return Ok(Checked::Missing),
            Err(AttachmentError::Altered) => (),
            Err(error) => return Err(error),
        }
        let _naming = self.shared.naming.lock().unwrap_or_else(PoisonError::into_inner);
        // A whole copy may have come into its place meanwhile.
        if let Ok(bytes) = self.verify(hash) {
            return Ok(Checked::Whole(bytes));
        }
        let (place, aside) = (self.path(hash), self.damaged_path(hash));
        let folder = aside.parent().expect("a file lies in a folder");
        fs::create_dir_all(folder).map_err(|source| failed(folder, source))?;
        fs::rename(&place, &aside).map_err(|source| failed(&place, source))?;
        self.sync_folders(&place)?;
        self.sync_folders(&aside)?;
        Ok(Checked::SetAside)
    }

    /// Whether a damaged copy lies aside and no whole one is here.
    pub fn is_damaged(&self, hash: &[u8; 32]) -> bool {
        !self.has(hash) && self.damaged_path(hash).is_file()
    }

    /// Removes the damaged copy of a file whose whole one is here; true when there was one.
    ///
    /// # Errors
    /// [`AttachmentError::Io`].
    pub fn drop_damaged(&self, hash: &[u8; 32]) -> Result<bool, AttachmentError> {
        let aside = self.damaged_path(hash);
        let is_settled = self.has(hash) && aside.is_file();
        if is_settled {
            remove_if_there(&aside)?;
        }
        Ok(is_settled)
    }

    fn damaged_path(&self, hash: &[u8; 32]) -> PathBuf {
        self.folder.join("damaged").join(blake3::Hash::from_bytes(*hash).to_hex().as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_rotted_is_moved_aside_and_makes_room_for_a_whole_copy() {
        let folder = tempfile::tempdir().unwrap();
        let attachments = Attachments::open(folder.path()).unwrap();
        let hash = attachments.keep(&mut &b"the wall before"[..]).unwrap().hash;
        assert_eq!(attachments.check(&hash).unwrap(), Checked::Whole(15));
        assert_eq!(attachments.check(&[7; 32]).unwrap(), Checked::Missing);
        let mut bytes = fs::read(attachments.path(&hash)).unwrap();
        bytes[3] ^= 0x10;
        fs::write(attachments.path(&hash), &bytes).unwrap();
        assert_eq!(attachments.check(&hash).unwrap(), Checked::SetAside);
        assert!(attachments.is_damaged(&hash) && !attachments.has(&hash));
        assert_eq!(fs::read(attachments.damaged_path(&hash)).unwrap(), bytes, "nothing is thrown away");
        assert_eq!(attachments.check(&hash).unwrap(), Checked::Missing);
        assert!(!attachments.drop_damaged(&hash).unwrap(), "not before a whole copy is here");
        assert_eq!(attachments.all().unwrap(), Vec::<[u8; 32]>::new());
        attachments.keep(&mut &b"the wall before"[..]).unwrap();
        assert!(!attachments.is_damaged(&hash) && attachments.drop_damaged(&hash).unwrap());
        assert!(!attachments.damaged_path(&hash).exists());
    }
}
