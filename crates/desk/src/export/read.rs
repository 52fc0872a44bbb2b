//! Taking an export in: into a new folder, which becomes a copy of the notebook, or into one of the same notebook,
//! which gets what it lacks. The checks are those of a change that another device sends.
//!
//! Where a line is bad, it is named and what came before it is kept; the same file, mended, goes on from there.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

use serde_json::Value as Json;
use storypole_journal::{DeviceId, NotebookId, SeriesSignature};
use storypole_store::attachments::AttachmentError;
use storypole_store::error::ReceiveError;
use storypole_store::{Parcel, Reader, Received};

use super::line::{self, End, Header, Line, LineFault};
use super::{FILES, LINES};
use crate::desk::Joining;
use crate::{Desk, DeskError, hex};

/// Longest line read, bytes: the largest change, written out, with room to spare.
const LINE_BYTES: u64 = 128 << 20;

/// Longest first line, bytes: whether a file is an export is told by it.
const HEADER_BYTES: u64 = 64 << 10;

/// Changes and bytes taken in one transaction.
const BATCH: usize = 2_000;
const BATCH_BYTES: usize = 4 << 20;

/// Why an export is not taken.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// It cannot be read.
    #[error("{path} cannot be read: check its name and that you may read it")]
    Read { path: PathBuf, source: io::Error },
    /// It is something else.
    #[error("{0} is not an export of a whole notebook: name a file that `storypole export --all` wrote")]
    NotAnExport(PathBuf),
    /// Its header cannot be read.
    #[error("the first line of {path} cannot be read")]
    Header { path: PathBuf, source: LineFault },
    /// It is of another notebook.
    #[error(
        "{path} is an export of the notebook \"{name}\", which is another one: name a new folder with --data to make a copy of it"
    )]
    OtherNotebook { path: PathBuf, name: String },
    /// It says to be of this notebook, and names another founding key.
    #[error("{0} names another founding key than this notebook has: it was altered, use another export")]
    OtherFounder(PathBuf),
    /// The notebook.
    #[error(transparent)]
    Desk(#[from] DeskError),
}

/// A line that was not taken, nor anything after it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Its number, from 1.
    pub line: u64,
    /// Why.
    pub reason: Reason,
}

/// Why a line was not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Reason {
    /// It cannot be read.
    #[error(transparent)]
    Line(#[from] LineFault),
    /// It is longer than any line that is written.
    #[error("it is longer than {LINE_BYTES} bytes: check that the file is as it was exported")]
    TooLong,
    /// The change does not fit behind what is held.
    #[error(transparent)]
    Change(#[from] ReceiveError),
    /// A file or a piece of one stands where it does not belong.
    #[error("the pieces of an attached file are not whole: check that the file is as it was exported")]
    Pieces,
    /// The attached file is not what its hash says.
    #[error("the attached file does not give its hash: take it from another export")]
    OtherFile,
    /// The file ends without its last line.
    #[error("the file ends before its end: it was cut short, use another export")]
    Cut,
    /// Other numbers than the last line counts.
    #[error("lines are missing: the last line counts {counted}, there are {found}")]
    Missing { counted: u64, found: u64 },
    /// Something follows the end.
    #[error("something follows the end: check that the file is as it was exported")]
    Behind,
}

/// What became of an export.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Imported {
    /// Its first line.
    pub header: Header,
    /// Changes new here.
    pub new: u64,
    /// Changes held before.
    pub repeated: u64,
    /// Changes kept aside for a fork.
    pub forked: u64,
    /// Attached files new here.
    pub files: u64,
    /// The line that was not taken, if any; what came before is kept.
    pub problem: Option<Problem>,
    /// Whether this copy now holds exactly what the header says.
    pub equal: bool,
}

/// A copy made from an export.
pub struct Replica {
    /// The copy, open.
    pub desk: Desk,
    /// What was taken.
    pub imported: Imported,
}

/// The header of an export; `None` where the file is none.
///
/// # Errors
/// The file cannot be read, or it is an export of a version that cannot.
pub fn header_of(path: &Path) -> Result<Option<Header>, ImportError> {
    let lines = lines_in(path);
    let failed = |source| ImportError::Read { path: lines.clone(), source };
    let file = File::open(&lines).map_err(failed)?;
    let mut first = Vec::new();
    BufReader::new(file).take(HEADER_BYTES).read_until(b'\n', &mut first).map_err(failed)?;
    let Ok(json) = serde_json::from_slice::<Json>(&first) else { return Ok(None) };
    if !Header::is_one(&json) {
        return Ok(None);
    }
    Header::parse(&json).map(Some).map_err(|source| ImportError::Header { path: lines, source })
}

/// The lines of an export that is a folder.
fn lines_in(path: &Path) -> PathBuf {
    if path.is_dir() { path.join(LINES) } else { path.to_owned() }
}

/// Makes a copy of the exported notebook in a new folder. It may read; a keeper must let it in before it can write.
///
/// # Errors
/// As [`Desk::import`]; the folder holds a notebook already.
pub fn make_replica(
    path: &Path,
    folder: &Path,
    heard: &mut dyn FnMut(u64, u64),
) -> Result<Replica, ImportError> {
    let header = header_of(path)?.ok_or_else(|| ImportError::NotAnExport(path.to_owned()))?;
    let joining =
        Joining { notebook: header.notebook, founder_key: header.founder_key, author: header.author };
    let desk = Desk::join(folder, &joining)?;
    let imported = desk.import(path, heard)?;
    Ok(Replica { desk, imported })
}

impl Desk {
    /// Takes what an export holds and this copy lacks; `heard` hears how many changes of how many were read.
    ///
    /// # Errors
    /// [`ImportError`]: it is no export, of another notebook, or the database failed. A bad line is no error but a
    /// [`Problem`].
    pub fn import(&self, path: &Path, heard: &mut dyn FnMut(u64, u64)) -> Result<Imported, ImportError> {
        let header = header_of(path)?.ok_or_else(|| ImportError::NotAnExport(path.to_owned()))?;
        self.check_same(path, &header)?;
        let lines = lines_in(path);
        let failed = |source| ImportError::Read { path: lines.clone(), source };
        let file = File::open(&lines).map_err(failed)?;
        let mut taking = Taking {
            desk: self,
            folder: path.is_dir().then(|| path.join(FILES)),
            lines: Lines { source: BufReader::with_capacity(1 << 20, file), number: 0 },
            batch: Parcel::default(),
            batch_bytes: 0,
            numbers: Vec::new(),
            last: BTreeMap::new(),
            counted: End::default(),
            imported: Imported {
                header,
                new: 0,
                repeated: 0,
                forked: 0,
                files: 0,
                problem: None,
                equal: false,
            },
        };
        let ended = taking.run(heard);
        taking.finish(ended, &lines)
    }

    fn check_same(&self, path: &Path, header: &Header) -> Result<(), ImportError> {
        let own: NotebookId = self.notebook();
        if header.notebook != own {
            return Err(ImportError::OtherNotebook { path: path.to_owned(), name: header.name.clone() });
        }
        if header.founder_key != self.read(Reader::founder_key)? {
            return Err(ImportError::OtherFounder(path.to_owned()));
        }
        Ok(())
    }
}

/// Why taking ended before the end.
enum Ended {
    Problem(Problem),
    Io(io::Error),
    Desk(DeskError),
}

impl From<DeskError> for Ended {
    fn from(error: DeskError) -> Self {
        Self::Desk(error)
    }
}

struct Taking<'a> {
    desk: &'a Desk,
    /// Where the attached files lie beside the lines.
    folder: Option<PathBuf>,
    lines: Lines,
    batch: Parcel,
    batch_bytes: usize,
    /// The line of each change in the batch.
    numbers: Vec<u64>,
    /// The last signature of each series, and of branches that do not count: they are handed in once more when every
    /// key is known.
    last: BTreeMap<(DeviceId, bool), SeriesSignature>,
    counted: End,
    imported: Imported,
}

impl Taking<'_> {
    fn run(&mut self, heard: &mut dyn FnMut(u64, u64)) -> Result<(), Ended> {
        // The header was read before.
        self.lines.next()?;
        loop {
            let line = match self.lines.next()? {
                Some(line) => line,
                None => return Err(self.problem(Reason::Cut)),
            };
            match line::parse(&line).map_err(|fault| self.problem(fault.into()))? {
                Line::Change(bytes) => {
                    self.counted.changes += 1;
                    self.add(bytes)?;
                    heard(self.counted.changes, self.imported.header.changes);
                }
                Line::Forked(bytes) => {
                    self.counted.forked += 1;
                    self.add(bytes)?;
                }
                Line::Signature(signature) => {
                    self.counted.signatures += 1;
                    let key = (signature.device, self.counted.forked > 0);
                    let last = self.last.entry(key).or_insert(signature);
                    if last.count <= signature.count {
                        *last = signature;
                    }
                    self.batch.signatures.push(signature);
                }
                Line::File { hash, bytes } => {
                    self.counted.files += 1;
                    self.keep_pieces(&hash, bytes)?;
                }
                Line::Piece(_) => return Err(self.problem(Reason::Pieces)),
                Line::End(end) => return self.end(&end),
            }
        }
    }

    fn problem(&self, reason: Reason) -> Ended {
        Ended::Problem(Problem { line: self.lines.number, reason })
    }

    fn add(&mut self, bytes: Vec<u8>) -> Result<(), Ended> {
        self.batch_bytes += bytes.len();
        self.batch.changes.push(bytes);
        self.numbers.push(self.lines.number);
        if self.batch.changes.len() >= BATCH || self.batch_bytes >= BATCH_BYTES {
            return self.flush();
        }
        Ok(())
    }

    /// Hands the batch in as another device would.
    fn flush(&mut self) -> Result<(), Ended> {
        let batch = std::mem::take(&mut self.batch);
        let numbers = std::mem::take(&mut self.numbers);
        self.batch_bytes = 0;
        if batch.changes.is_empty() && batch.signatures.is_empty() {
            return Ok(());
        }
        let received = self.desk.receive(batch)?;
        let taken = self.note(&received);
        match received.stopped {
            None => Ok(()),
            Some(stop) => {
                let line = numbers.get(taken).copied().unwrap_or(self.lines.number);
                Err(Ended::Problem(Problem { line, reason: stop.into() }))
            }
        }
    }

    /// Counts what was received; how many changes that were.
    fn note(&mut self, received: &Received) -> usize {
        let aside = received.forked + received.of_this_device;
        self.imported.new += received.new as u64;
        self.imported.repeated += received.repeated as u64;
        self.imported.forked += aside as u64;
        received.new + received.repeated + aside
    }

    fn keep_pieces(&mut self, hash: &[u8; 32], bytes: u64) -> Result<(), Ended> {
        let mut pieces =
            Pieces { lines: &mut self.lines, piece: Vec::new(), at: 0, left: bytes, fault: None };
        let kept = self.desk.attachments().keep(&mut pieces);
        if let Some(ended) = pieces.fault.take() {
            return Err(ended);
        }
        if pieces.left > 0 || pieces.at < pieces.piece.len() {
            return Err(self.problem(Reason::Pieces));
        }
        match kept {
            Ok(kept) if kept.hash == *hash => {
                self.imported.files += u64::from(kept.new);
                Ok(())
            }
            Ok(_) | Err(AttachmentError::Empty) => Err(self.problem(Reason::OtherFile)),
            Err(error) => Err(DeskError::from(error).into()),
        }
    }

    fn end(&mut self, end: &End) -> Result<(), Ended> {
        self.copy_files()?;
        if self.folder.is_some() {
            // They lie beside the lines; one that is lacking comes from a device that has it.
            self.counted.files = end.files;
        }
        let sum = |end: &End| end.changes + end.signatures + end.forked + end.files;
        if *end != self.counted {
            return Err(self.problem(Reason::Missing { counted: sum(end), found: sum(&self.counted) }));
        }
        match self.lines.next()? {
            None => Ok(()),
            Some(_) => Err(self.problem(Reason::Behind)),
        }
    }

    /// Keeps the files of an export that is a folder.
    fn copy_files(&mut self) -> Result<(), Ended> {
        let Some(folder) = self.folder.clone() else { return Ok(()) };
        let entries = match std::fs::read_dir(&folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
            Err(error) => return Err(Ended::Io(error)),
        };
        for entry in entries {
            let path = entry.map_err(Ended::Io)?.path();
            let name = path.file_name().and_then(|name| name.to_str()).and_then(hex::parse::<32>);
            let Some(hash) = name else { continue };
            if self.desk.attachments().verify(&hash).is_ok() {
                continue;
            }
            let mut file = File::open(&path).map_err(Ended::Io)?;
            match self.desk.attachments().keep(&mut file) {
                Ok(kept) if kept.hash == hash => self.imported.files += u64::from(kept.new),
                Ok(_) | Err(AttachmentError::Empty) => return Err(self.problem(Reason::OtherFile)),
                Err(error) => return Err(DeskError::from(error).into()),
            }
        }
        Ok(())
    }

    /// Hands in what waits, however it ended, and says what became of all.
    fn finish(mut self, ended: Result<(), Ended>, path: &Path) -> Result<Imported, ImportError> {
        let rest = self.flush().and_then(|()| {
            self.batch.signatures = std::mem::take(&mut self.last).into_values().collect();
            self.flush()
        });
        // What waited came before the line at which reading ended.
        match rest.and(ended) {
            Ok(()) => (),
            Err(Ended::Problem(problem)) => self.imported.problem = Some(problem),
            Err(Ended::Desk(error)) => return Err(error.into()),
            Err(Ended::Io(source)) => return Err(ImportError::Read { path: path.to_owned(), source }),
        }
        self.imported.equal = self.desk.read(Reader::log_digest)? == self.imported.header.log;
        Ok(self.imported)
    }
}

/// The lines of a file, numbered from 1.
struct Lines {
    source: BufReader<File>,
    number: u64,
}

impl Lines {
    fn next(&mut self) -> Result<Option<Vec<u8>>, Ended> {
        let mut line = Vec::new();
        let read = (&mut self.source).take(LINE_BYTES).read_until(b'\n', &mut line).map_err(Ended::Io)?;
        if read == 0 {
            return Ok(None);
        }
        self.number += 1;
        if line.last() == Some(&b'\n') {
            return Ok(Some(line));
        }
        let reason = if read as u64 == LINE_BYTES { Reason::TooLong } else { Reason::Cut };
        Err(Ended::Problem(Problem { line: self.number, reason }))
    }
}

/// The content of an attached file out of the lines that hold its pieces.
struct Pieces<'a> {
    lines: &'a mut Lines,
    piece: Vec<u8>,
    at: usize,
    left: u64,
    fault: Option<Ended>,
}

impl Pieces<'_> {
    fn fetch(&mut self) -> Result<(), Ended> {
        let problem = |line, reason| Ended::Problem(Problem { line, reason });
        let line = self.lines.next()?.ok_or_else(|| problem(self.lines.number, Reason::Cut))?;
        let number = self.lines.number;
        match line::parse(&line).map_err(|fault| problem(number, fault.into()))? {
            Line::Piece(piece) if !piece.is_empty() && piece.len() as u64 <= self.left => {
                self.left -= piece.len() as u64;
                (self.piece, self.at) = (piece, 0);
                Ok(())
            }
            _ => Err(problem(number, Reason::Pieces)),
        }
    }
}

impl Read for Pieces<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.at == self.piece.len()
            && self.left > 0
            && let Err(ended) = self.fetch()
        {
            self.fault = Some(ended);
            return Err(io::Error::from(io::ErrorKind::InvalidData));
        }
        let rest = &self.piece[self.at..];
        let count = rest.len().min(buffer.len());
        buffer[..count].copy_from_slice(&rest[..count]);
        self.at += count;
        Ok(count)
    }
}
