//! Files on their way in from another device: they grow part by part, each verified before it is written, and are
//! taken up again where they stopped.
//!
//! Of each there are up to three files in `arriving/`: `HASH.parts` is its list, `HASH` the whole parts that came, one
//! after the other, and `HASH.tail` the beginning of the next, as it came and verified by nobody yet. Nothing is
//! synced before the end: after a crash the parts are checked against the list again, and what does not fit is cut
//! off. Leaves out whom to ask, and which files are wanted.

use std::collections::HashMap;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use super::parts::{PART_BYTES, Parts};
use super::{AttachmentError, Attachments, Shared, failed, remove_if_there};

/// Files on their way in, as this process knows them; each is checked when it is met first.
pub(super) type Arrivals = Mutex<HashMap<[u8; 32], Arc<Mutex<Option<Arrival>>>>>;

/// One file on its way in.
#[derive(Debug)]
pub(super) struct Arrival {
    parts: Arc<Parts>,
    /// Whole parts that are here, from the first on.
    held: u64,
}

/// How far a file has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arrived {
    /// It is here, whole and under its name.
    Here,
    /// These of its bytes are here, in whole parts.
    Lacks { held_bytes: u64, bytes: u64 },
}

/// Why a part is not taken.
#[derive(Debug, thiserror::Error)]
pub enum ArriveError {
    /// Nobody gave the list first.
    #[error("the list of the file's parts is not here: send it first")]
    NoList,
    /// Parts came under another list, which leads to the same hash.
    #[error("the file is arriving under another list of parts: ask this device for what it lacks")]
    OtherList,
    /// It is not what the list says.
    #[error("part {index} is not what the file's hash asks for: ask another device for it")]
    FalsePart { index: u64 },
    /// Parts before it are missing.
    #[error("part {index} came before part {expected}: send that one first")]
    Gap { expected: u64, index: u64 },
    /// The folder.
    #[error(transparent)]
    Attachment(#[from] AttachmentError),
}

/// The fetching of one file, which nobody else begins meanwhile. Those who bring it unasked are not kept from it.
#[derive(Debug)]
pub struct Claim {
    shared: Arc<Shared>,
    hash: [u8; 32],
}

impl Drop for Claim {
    fn drop(&mut self) {
        self.shared.claims().remove(&self.hash);
    }
}

impl Arrival {
    fn held_bytes(&self) -> u64 {
        (self.held * PART_BYTES).min(self.parts.bytes())
    }

    fn progress(&self) -> Arrived {
        Arrived::Lacks { held_bytes: self.held_bytes(), bytes: self.parts.bytes() }
    }
}

impl Attachments {
    /// Lets a file arrive under a list of its parts, or takes up one that stopped. The same again changes nothing.
    ///
    /// # Errors
    /// [`ArriveError::OtherList`] when parts are here under another list.
    pub fn begin(&self, hash: &[u8; 32], parts: Parts) -> Result<Arrived, ArriveError> {
        let slot = self.slot(hash);
        let mut slot = slot.lock().unwrap_or_else(PoisonError::into_inner);
        if self.has(hash) {
            *slot = None;
            self.clear_arrival(hash)?;
            return Ok(Arrived::Here);
        }
        self.look_up(hash, &mut slot)?;
        // A list under which nothing ever came may be a false one: it stands in nobody's way. One that differs in
        // the length of the last part alone shares all parts before it.
        let is_replaced = match slot.as_ref() {
            Some(arrival) if *arrival.parts == parts => false,
            Some(arrival) if arrival.held == 0 || arrival.parts.has_values_of(&parts) => true,
            Some(_) => return Err(ArriveError::OtherList),
            None => true,
        };
        if is_replaced {
            let held = slot.as_ref().map_or(0, |arrival| arrival.held);
            self.write_list(hash, &parts)?;
            *slot = Some(Arrival { parts: Arc::new(parts), held });
        }
        self.advance(hash, &mut slot)
    }

    /// Takes one part. One that is here already changes nothing.
    ///
    /// # Errors
    /// [`ArriveError`]; what came before stays.
    pub fn arrive(&self, hash: &[u8; 32], index: u64, part: &[u8]) -> Result<Arrived, ArriveError> {
        let slot = self.slot(hash);
        let mut slot = slot.lock().unwrap_or_else(PoisonError::into_inner);
        if self.has(hash) {
            *slot = None;
            self.clear_arrival(hash)?;
            return Ok(Arrived::Here);
        }
        self.look_up(hash, &mut slot)?;
        let arrival = slot.as_mut().ok_or(ArriveError::NoList)?;
        if !arrival.parts.fits(index, part) {
            return Err(ArriveError::FalsePart { index });
        }
        if index > arrival.held {
            return Err(ArriveError::Gap { expected: arrival.held, index });
        }
        if index == arrival.held {
            self.append(hash, arrival.held, part)?;
            arrival.held += 1;
            remove_if_there(&self.tail_path(hash))?;
        }
        self.advance(hash, &mut slot)
    }

    /// The list of a file on its way in, and how many of its bytes are here in whole parts.
    ///
    /// # Errors
    /// [`AttachmentError::Io`].
    pub fn arrival(&self, hash: &[u8; 32]) -> Result<Option<(Arc<Parts>, u64)>, AttachmentError> {
        if self.arriving_bytes(hash).is_none() {
            return Ok(None);
        }
        let slot = self.slot(hash);
        let mut slot = slot.lock().unwrap_or_else(PoisonError::into_inner);
        self.look_up(hash, &mut slot)?;
        Ok(slot.as_ref().map(|arrival| (Arc::clone(&arrival.parts), arrival.held_bytes())))
    }

    /// How many bytes of a file on its way in are here, by the size of what lies there; `None` when it is not on
    /// its way.
    pub fn arriving_bytes(&self, hash: &[u8; 32]) -> Option<u64> {
        let is_listed = self.list_path(hash).is_file();
        is_listed.then(|| fs::metadata(self.arriving_path(hash)).map_or(0, |file| file.len()))
    }

    /// Keeps the beginning of the next part, which was cut off: whoever fetches it next need not fetch that again.
    /// Nobody has verified it.
    ///
    /// # Errors
    /// [`AttachmentError::Io`].
    pub fn keep_tail(&self, hash: &[u8; 32], index: u64, begun: &[u8]) -> Result<(), AttachmentError> {
        let slot = self.slot(hash);
        let slot = slot.lock().unwrap_or_else(PoisonError::into_inner);
        let is_next = slot.as_ref().is_some_and(|arrival| arrival.held == index);
        let path = self.tail_path(hash);
        let is_longer = fs::metadata(&path).map_or(0, |tail| tail.len()) < begun.len() as u64;
        if !is_next || !is_longer {
            return Ok(());
        }
        fs::write(&path, begun).map_err(|source| {
            // Half of it is of no use to anybody.
            let _ = fs::remove_file(&path);
            failed(&path, source)
        })
    }

    /// The beginning of a part that came before, if it is the next one due; shorter than the part.
    pub fn tail(&self, hash: &[u8; 32], index: u64) -> Vec<u8> {
        let slot = self.slot(hash);
        let slot = slot.lock().unwrap_or_else(PoisonError::into_inner);
        let Some(arrival) = slot.as_ref().filter(|arrival| arrival.held == index) else { return Vec::new() };
        let tail = fs::read(self.tail_path(hash)).unwrap_or_default();
        // A tail is a courtesy: one that cannot be read, or is no beginning, is fetched again.
        if (tail.len() as u64) < arrival.parts.bytes_of(index) { tail } else { Vec::new() }
    }

    /// Drops the beginning of a part that turned out not to fit.
    ///
    /// # Errors
    /// [`AttachmentError::Io`].
    pub fn drop_tail(&self, hash: &[u8; 32]) -> Result<(), AttachmentError> {
        remove_if_there(&self.tail_path(hash))
    }

    /// Gives up a file on its way in: what came of it is removed.
    ///
    /// # Errors
    /// [`AttachmentError::Io`].
    pub fn give_up(&self, hash: &[u8; 32]) -> Result<(), AttachmentError> {
        let slot = self.slot(hash);
        let mut slot = slot.lock().unwrap_or_else(PoisonError::into_inner);
        *slot = None;
        self.clear_arrival(hash)
    }

    /// Every hash on its way in, in order.
    ///
    /// # Errors
    /// [`AttachmentError::Io`].
    pub fn all_arriving(&self) -> Result<Vec<[u8; 32]>, AttachmentError> {
        let folder = self.folder.join("arriving");
        let mut hashes = Vec::new();
        for path in super::listed(&folder)? {
            let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
            let hash = name.strip_suffix(".parts").and_then(|name| blake3::Hash::from_hex(name).ok());
            hashes.extend(hash.map(|hash| *hash.as_bytes()));
        }
        hashes.sort_unstable();
        Ok(hashes)
    }

    /// Takes the fetching of a file upon oneself, until the claim is dropped; none while somebody else does.
    pub fn claim(&self, hash: &[u8; 32]) -> Option<Claim> {
        let is_free = self.shared.claims().insert(*hash);
        is_free.then(|| Claim { shared: Arc::clone(&self.shared), hash: *hash })
    }

    fn slot(&self, hash: &[u8; 32]) -> Arc<Mutex<Option<Arrival>>> {
        let mut arrivals = self.shared.arrivals.lock().unwrap_or_else(PoisonError::into_inner);
        // Those that nobody works on and that hold nothing need no place.
        arrivals.retain(|held, slot| {
            held == hash
                || Arc::strong_count(slot) > 1
                || slot.try_lock().map_or(true, |arrival| arrival.is_some())
        });
        Arc::clone(arrivals.entry(*hash).or_default())
    }

    /// Meets a file on its way in that an earlier run of the program left: its parts are checked again.
    fn look_up(&self, hash: &[u8; 32], slot: &mut Option<Arrival>) -> Result<(), AttachmentError> {
        if slot.is_some() {
            return Ok(());
        }
        let list = self.list_path(hash);
        let bytes = match fs::read(&list) {
            Err(source) if source.kind() == io::ErrorKind::NotFound => return Ok(()),
            read => read.map_err(|source| failed(&list, source))?,
        };
        match Parts::decode(&bytes, hash) {
            Ok(parts) => {
                let held = self.checked(hash, &parts)?;
                *slot = Some(Arrival { parts: Arc::new(parts), held });
                Ok(())
            }
            // A list that a crash tore proves nothing; the next one starts anew.
            Err(_) => self.clear_arrival(hash),
        }
    }

    /// Counts the whole parts that are here and fit; what lies behind them is cut off.
    fn checked(&self, hash: &[u8; 32], parts: &Parts) -> Result<u64, AttachmentError> {
        let path = self.arriving_path(hash);
        let file = match OpenOptions::new().read(true).write(true).open(&path) {
            Err(source) if source.kind() == io::ErrorKind::NotFound => return Ok(0),
            opened => opened.map_err(|source| failed(&path, source))?,
        };
        let (mut held, mut part) = (0, Vec::new());
        while held < parts.count() {
            part.clear();
            let read = (&file).take(parts.bytes_of(held)).read_to_end(&mut part);
            read.map_err(|source| failed(&path, source))?;
            if !parts.fits(held, &part) {
                break;
            }
            held += 1;
        }
        let whole = (held * PART_BYTES).min(parts.bytes());
        file.set_len(whole).map_err(|source| failed(&path, source))?;
        Ok(held)
    }

    fn append(&self, hash: &[u8; 32], held: u64, part: &[u8]) -> Result<(), AttachmentError> {
        let path = self.arriving_path(hash);
        let opened = OpenOptions::new().write(true).create(true).truncate(false).open(&path);
        let mut file = opened.map_err(|source| failed(&path, source))?;
        write_at(&mut file, held * PART_BYTES, part).map_err(|source| failed(&path, source))
    }

    /// Gives a file its name once its last part is here.
    fn advance(&self, hash: &[u8; 32], slot: &mut Option<Arrival>) -> Result<Arrived, ArriveError> {
        let Some(arrival) = slot.as_mut() else { return Err(ArriveError::NoList) };
        if arrival.held < arrival.parts.count() {
            return Ok(arrival.progress());
        }
        let path = self.arriving_path(hash);
        if let Err(error) = self.finish(hash, &path) {
            if matches!(error, AttachmentError::Altered) {
                // It changed on the disk after it was written: what still fits stays.
                arrival.held = self.checked(hash, &arrival.parts)?;
            }
            return Err(error.into());
        }
        *slot = None;
        self.clear_arrival(hash)?;
        Ok(Arrived::Here)
    }

    /// Verifies the whole file, as it lies on the disk, and moves it to its place, durably.
    fn finish(&self, hash: &[u8; 32], path: &Path) -> Result<(), AttachmentError> {
        let io = |source| failed(path, source);
        let opened = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path);
        let file = opened.map_err(io)?;
        file.sync_all().map_err(io)?;
        let (actual, _) = Parts::read(&mut &file).map_err(io)?;
        if actual != *hash {
            return Err(AttachmentError::Altered);
        }
        let place = self.path(hash);
        let folder = place.parent().expect("a file lies in a folder");
        fs::create_dir_all(folder).map_err(|source| failed(folder, source))?;
        {
            let _naming = self.shared.naming.lock().unwrap_or_else(PoisonError::into_inner);
            fs::rename(path, &place).map_err(|source| failed(&place, source))?;
        }
        self.sync_folders(&place)
    }

    /// Removes what lies of a file on its way in. The list goes last: without it nothing else is looked at.
    fn clear_arrival(&self, hash: &[u8; 32]) -> Result<(), AttachmentError> {
        [self.arriving_path(hash), self.tail_path(hash), self.list_path(hash)]
            .iter()
            .try_for_each(|path| remove_if_there(path))
    }

    fn write_list(&self, hash: &[u8; 32], parts: &Parts) -> Result<(), AttachmentError> {
        let (path, new) = (self.list_path(hash), self.arriving_named(hash, ".new"));
        let written = fs::create_dir_all(self.folder.join("arriving"))
            .and_then(|()| File::create(&new))
            .and_then(|mut file| file.write_all(&parts.encode()))
            .and_then(|()| fs::rename(&new, &path));
        written.map_err(|source| {
            let _ = fs::remove_file(&new);
            failed(&path, source)
        })
    }

    fn arriving_path(&self, hash: &[u8; 32]) -> PathBuf {
        self.arriving_named(hash, "")
    }

    fn list_path(&self, hash: &[u8; 32]) -> PathBuf {
        self.arriving_named(hash, ".parts")
    }

    fn tail_path(&self, hash: &[u8; 32]) -> PathBuf {
        self.arriving_named(hash, ".tail")
    }

    fn arriving_named(&self, hash: &[u8; 32], ending: &str) -> PathBuf {
        let name = blake3::Hash::from_bytes(*hash).to_hex();
        self.folder.join("arriving").join(format!("{name}{ending}"))
    }
}

/// Writes at the end of what stands before `start`; what lies behind it is of a write that failed.
fn write_at(file: &mut File, start: u64, part: &[u8]) -> io::Result<()> {
    if file.metadata()?.len() > start {
        file.set_len(start)?;
    }
    file.seek(SeekFrom::Start(start))?;
    file.write_all(part).inspect_err(|_| {
        // The room is of use to others; that it cannot be given back now is made up for by the next write.
        let _ = file.set_len(start);
    })
}

#[cfg(test)]
mod tests;
