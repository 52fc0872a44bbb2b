//! Writing the whole log out, into one file or into a folder with the attached files beside it.

use std::fs::{self, File};
use std::io::{self, BufWriter, Read, Write};
use std::path::{Path, PathBuf};

use serde_json::Value as Json;
use storypole_journal::{Change, ChangeHash};
use storypole_store::attachments::AttachmentError;
use storypole_store::snapshot::Item;
use storypole_store::{Reader, StoreError};

use super::line::{self, End, Header};
use super::{FILES, LINES};
use crate::backup::{folder_of, name_of};
use crate::folder::sync_folder;
use crate::{Desk, DeskError, edge, hex};

/// Bytes of an attached file in one line.
const PIECE: usize = 192 << 10;

/// Where it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// One file; the attached files stand in lines of their own if asked for.
    File {
        /// Its name.
        path: PathBuf,
        /// Whether the attached files go in.
        with_files: bool,
    },
    /// A folder, made when it is not there: `log.jsonl`, and the attached files by their hash in `files/`.
    Folder(PathBuf),
}

/// What was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exported {
    /// Where the lines are.
    pub path: PathBuf,
    /// The first line.
    pub header: Header,
    /// What was counted.
    pub end: End,
    /// Attached files that are not whole on this device; they are left out.
    pub not_whole: Vec<[u8; 32]>,
}

/// Why nothing was exported. What was there before is as it was.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// A file of that name is there.
    #[error("{0} is there already: name another place, or remove it first")]
    AlreadyThere(PathBuf),
    /// The notebook.
    #[error(transparent)]
    Desk(#[from] DeskError),
    /// The database.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// It could not be written.
    #[error("{path} could not be written: check the disk, its space and its permissions")]
    Write { path: PathBuf, source: io::Error },
}

impl Desk {
    /// Writes everything out as it stands now; `heard` hears how many changes of how many are written.
    ///
    /// # Errors
    /// [`ExportError`]; a file that is not whole is removed.
    pub fn export(&self, place: &Place, heard: &mut dyn FnMut(u64, u64)) -> Result<Exported, ExportError> {
        let path = match place {
            Place::File { path, .. } => path.clone(),
            Place::Folder(folder) => {
                make_folder(folder)?;
                folder.join(LINES)
            }
        };
        let failed = |source| ExportError::Write { path: path.clone(), source };
        let file = File::create_new(&path).map_err(|source| match source.kind() {
            io::ErrorKind::AlreadyExists => ExportError::AlreadyThere(path.clone()),
            _ => failed(source),
        })?;
        let mut lines = Lines { sink: BufWriter::with_capacity(1 << 20, file), path: path.clone() };
        let written = self.write_lines(&mut lines, place, heard).and_then(|exported| {
            let file = lines.sink.into_inner().map_err(|error| failed(error.into_error()))?;
            file.sync_all().and_then(|()| sync_folder(folder_of(&path))).map_err(failed)?;
            Ok(exported)
        });
        if written.is_err() {
            // What cannot be removed has no end line, so nobody takes it for whole.
            let _ = fs::remove_file(&path);
        }
        written
    }

    fn write_lines(
        &self,
        lines: &mut Lines,
        place: &Place,
        heard: &mut dyn FnMut(u64, u64),
    ) -> Result<Exported, ExportError> {
        let reader = self.reader()?;
        let (header, mut end) = reader.snapshot_with(|reader| {
            let header = self.header(reader)?;
            lines.put(&header.print())?;
            let mut end = End::default();
            reader.everything::<ExportError>(&mut |item| {
                lines.item(&item, &mut end)?;
                heard(end.changes, header.changes);
                Ok(())
            })?;
            Ok::<_, ExportError>((header, end))
        })?;
        let mut not_whole = Vec::new();
        for hash in self.attachments().all().map_err(DeskError::from)? {
            let given = match place {
                Place::File { with_files: false, .. } => continue,
                Place::File { .. } => self.put_file(lines, &hash),
                Place::Folder(folder) => self.copy_file(folder, &hash),
            };
            match given {
                Ok(()) => end.files += 1,
                Err(ExportError::Desk(DeskError::Attachment(
                    AttachmentError::Altered | AttachmentError::Missing,
                ))) => not_whole.push(hash),
                Err(error) => return Err(error),
            }
        }
        lines.put(&end.print())?;
        Ok(Exported { path: lines.path.clone(), header, end, not_whole })
    }

    fn header(&self, reader: &Reader) -> Result<Header, ExportError> {
        let book = reader.book()?;
        Ok(Header {
            notebook: self.notebook(),
            name: name_of(&book),
            founder_key: reader.founder_key()?,
            author: self.author(),
            made_ms: edge::now_ms(),
            program: env!("CARGO_PKG_VERSION").to_owned(),
            devices: reader.vector()?.iter().count() as u64,
            changes: reader.change_count()?,
            log: reader.log_digest()?,
        })
    }

    fn put_file(&self, lines: &mut Lines, hash: &[u8; 32]) -> Result<(), ExportError> {
        let (mut file, bytes) = self.attachments().open_verified(hash).map_err(DeskError::from)?;
        lines.put(&line::print_file(hash, bytes))?;
        let mut left = bytes;
        let mut piece = vec![0; PIECE];
        while left > 0 {
            let most = usize::try_from(left).map_or(PIECE, |left| left.min(PIECE));
            let read = file.read_exact(&mut piece[..most]);
            read.map_err(|source| ExportError::Write { path: PathBuf::from(hex::print(hash)), source })?;
            lines.put(&line::print_piece(&piece[..most]))?;
            left -= most as u64;
        }
        Ok(())
    }

    fn copy_file(&self, folder: &Path, hash: &[u8; 32]) -> Result<(), ExportError> {
        let path = folder.join(FILES).join(hex::print(hash));
        let (mut from, _) = self.attachments().open_verified(hash).map_err(DeskError::from)?;
        let copied = File::create(&path).and_then(|mut to| {
            io::copy(&mut from, &mut to)?;
            to.sync_all()
        });
        copied.map_err(|source| ExportError::Write { path, source })
    }
}

fn make_folder(folder: &Path) -> Result<(), ExportError> {
    let files = folder.join(FILES);
    fs::create_dir_all(&files).map_err(|source| ExportError::Write { path: files, source })
}

struct Lines {
    sink: BufWriter<File>,
    path: PathBuf,
}

impl Lines {
    fn put(&mut self, json: &Json) -> Result<(), ExportError> {
        let written = serde_json::to_writer(&mut self.sink, json).map_err(io::Error::from);
        let written = written.and_then(|()| self.sink.write_all(b"\n"));
        written.map_err(|source| ExportError::Write { path: self.path.clone(), source })
    }

    fn item(&mut self, item: &Item, end: &mut End) -> Result<(), ExportError> {
        let (what, body) = match item {
            Item::Signature(signature) => {
                end.signatures += 1;
                return self.put(&line::print_signature(signature));
            }
            Item::Change(body) => {
                end.changes += 1;
                ("change", body)
            }
            Item::Forked(body) => {
                end.forked += 1;
                ("forked", body)
            }
        };
        let change = Change::decode(body).map_err(|_| StoreError::Undecodable { what: "a change" })?;
        self.put(&line::print_change(what, &change, ChangeHash::of(body)))
    }
}
