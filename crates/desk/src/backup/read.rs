//! Reading a backup: whole, to see that nothing was cut or altered; or its manifest alone. Writes nothing.

use std::fs::File;
use std::io::{self, BufReader, Read};
use std::path::{Path, PathBuf};

use super::manifest::{MOST_BYTES, Manifest, ManifestFault, Member};
use super::tar::{ArchiveFault, Head, Unpacking};
use super::{ATTACHMENT, DATABASE, MANIFEST, PASS};
use crate::hex;

/// Why a file is not a whole backup.
#[derive(Debug, thiserror::Error)]
pub enum Damage {
    /// It cannot be opened.
    #[error("{path} cannot be opened: check its name and that you may read it")]
    Open { path: PathBuf, source: io::Error },
    /// It is something else.
    #[error("{path} is not a backup of this program: name a file that `storypole backup` wrote")]
    Foreign { path: PathBuf },
    /// Its manifest cannot be read.
    #[error("{path} has no manifest that this program can read: use another backup, or a newer program")]
    Manifest { path: PathBuf, source: ManifestFault },
    /// It was cut or altered.
    #[error("{path} is damaged{}: use another backup", in_member(member))]
    Archive { path: PathBuf, member: Option<String>, source: ArchiveFault },
    /// A member is not what the manifest says.
    #[error("{path} is damaged: {name}, before byte {at}, is not what was backed up: use another backup")]
    Member { path: PathBuf, name: String, at: u64 },
}

fn in_member(member: &Option<String>) -> String {
    member.as_ref().map_or_else(String::new, |name| format!(" in {name}"))
}

/// A backup that is being read.
pub(crate) struct Reading {
    path: PathBuf,
    unpacking: Unpacking<BufReader<File>>,
    pub(crate) manifest: Manifest,
    pub(crate) of: u64,
}

impl Reading {
    /// Opens it and reads its manifest.
    pub(crate) fn open(path: &Path) -> Result<Self, Damage> {
        let failed = |source| Damage::Open { path: path.to_owned(), source };
        let file = File::open(path).map_err(failed)?;
        let metadata = file.metadata().map_err(failed)?;
        if !metadata.is_file() {
            return Err(Damage::Foreign { path: path.to_owned() });
        }
        let mut unpacking = Unpacking::new(BufReader::with_capacity(1 << 20, file));
        let first = unpacking.next().map_err(|fault| match fault {
            ArchiveFault::Read { at, source } => {
                let source = ArchiveFault::Read { at, source };
                Damage::Archive { path: path.to_owned(), member: None, source }
            }
            _ => Damage::Foreign { path: path.to_owned() },
        })?;
        let head = first.filter(|head| head.name == MANIFEST && head.bytes <= MOST_BYTES);
        let head = head.ok_or_else(|| Damage::Foreign { path: path.to_owned() })?;
        let text = unpacking.content(&head).map_err(|source| archive(path, MANIFEST, source))?;
        let manifest = Manifest::parse(&text).map_err(|source| match source {
            ManifestFault::Foreign => Damage::Foreign { path: path.to_owned() },
            source => Damage::Manifest { path: path.to_owned(), source },
        })?;
        Ok(Self { path: path.to_owned(), unpacking, manifest, of: metadata.len() })
    }

    /// Hands over member after member to `take`, which must read each to its end, and checks each against the
    /// manifest, then the seal.
    pub(crate) fn each<E: From<Damage>>(
        mut self,
        take: &mut dyn FnMut(&Member, &mut dyn Read) -> Result<(), E>,
    ) -> Result<Manifest, E> {
        for member in &self.manifest.members {
            let head = next(&mut self.unpacking, &self.path, Some(&member.name))?;
            let is_next = |head: &Head| head.name == member.name && head.bytes == member.bytes;
            let at = self.unpacking.at();
            let wrong = || Damage::Member { path: self.path.clone(), name: member.name.clone(), at };
            if !is_known(&member.name) || !head.as_ref().is_some_and(is_next) {
                return Err(wrong().into());
            }
            let mut content = Content::new(&mut self.unpacking, member.bytes);
            let taken = take(member, &mut content);
            if let Some(source) = content.fault.take() {
                return Err(archive(&self.path, &member.name, source).into());
            }
            taken?;
            let hash = content.end().map_err(|source| archive(&self.path, &member.name, source))?;
            if hash != member.blake3 {
                let at = self.unpacking.at();
                let (path, name) = (self.path.clone(), member.name.clone());
                return Err(Damage::Member { path, name, at }.into());
            }
        }
        match next(&mut self.unpacking, &self.path, None)? {
            None => Ok(self.manifest),
            Some(head) => {
                let at = self.unpacking.at();
                Err(Damage::Member { path: self.path.clone(), name: head.name, at }.into())
            }
        }
    }
}

fn next(
    unpacking: &mut Unpacking<BufReader<File>>,
    path: &Path,
    member: Option<&str>,
) -> Result<Option<Head>, Damage> {
    let member = member.map(str::to_owned);
    unpacking.next().map_err(|source| Damage::Archive { path: path.to_owned(), member, source })
}

fn archive(path: &Path, member: &str, source: ArchiveFault) -> Damage {
    Damage::Archive { path: path.to_owned(), member: Some(member.to_owned()), source }
}

/// Whether a member of that name belongs into a backup. Names lead to no paths.
fn is_known(name: &str) -> bool {
    let is_file = || name.strip_prefix(ATTACHMENT).is_some_and(|hash| hex::parse::<32>(hash).is_some());
    name == DATABASE || name == PASS || is_file()
}

/// The content of one member, to be read to its end.
struct Content<'a> {
    unpacking: &'a mut Unpacking<BufReader<File>>,
    left: u64,
    bytes: u64,
    hasher: blake3::Hasher,
    fault: Option<ArchiveFault>,
}

impl<'a> Content<'a> {
    fn new(unpacking: &'a mut Unpacking<BufReader<File>>, bytes: u64) -> Self {
        Self { unpacking, left: bytes, bytes, hasher: blake3::Hasher::new(), fault: None }
    }

    /// Reads what the taker left, and what fills the last block.
    fn end(mut self) -> Result<[u8; 32], ArchiveFault> {
        // Reading fails only with a fault, which is looked at next.
        let _ = io::copy(&mut self, &mut io::sink());
        if let Some(fault) = self.fault {
            return Err(fault);
        }
        self.unpacking.padding(self.bytes)?;
        Ok(*self.hasher.finalize().as_bytes())
    }
}

impl Read for Content<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let most = usize::try_from(self.left).map_or(buffer.len(), |left| left.min(buffer.len()));
        if most == 0 {
            return Ok(0);
        }
        if let Err(fault) = self.unpacking.fill(&mut buffer[..most]) {
            let error = io::Error::new(io::ErrorKind::UnexpectedEof, fault.to_string());
            self.fault = Some(fault);
            return Err(error);
        }
        self.hasher.update(&buffer[..most]);
        self.left -= most as u64;
        Ok(most)
    }
}

/// Reads a whole backup and says what is in it; `moved` hears how many bytes of how many were read and says
/// whether to go on, and there is no answer where it does not.
///
/// # Errors
/// [`Damage`]: what, and where.
pub fn check(file: &Path, moved: &mut dyn FnMut(u64, u64) -> bool) -> Result<Option<Manifest>, Damage> {
    let reading = Reading::open(file)?;
    let (mut done, of) = (0, reading.of);
    let mut buffer = vec![0; 64 << 10];
    let checked = reading.each(&mut |_, content| {
        loop {
            // A fault of the archive is told by the reading itself.
            let read = content.read(&mut buffer).unwrap_or(0);
            if read == 0 {
                return Ok(());
            }
            done += read as u64;
            if !moved(done, of) {
                return Err(Ended::Stopped);
            }
        }
    });
    match checked {
        Ok(manifest) => {
            moved(of, of);
            Ok(Some(manifest))
        }
        Err(Ended::Stopped) => Ok(None),
        Err(Ended::Damaged(damage)) => Err(damage),
    }
}

enum Ended {
    Stopped,
    Damaged(Damage),
}

impl From<Damage> for Ended {
    fn from(damage: Damage) -> Self {
        Self::Damaged(damage)
    }
}

/// What a backup says to hold, without looking whether it does.
///
/// # Errors
/// [`Damage`]: it is no backup, or its first member is damaged.
pub fn manifest_of(file: &Path) -> Result<Manifest, Damage> {
    Ok(Reading::open(file)?.manifest)
}
