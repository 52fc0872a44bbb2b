//! The archive of a backup: plain tar (POSIX.1-2017, pax interchange format), so that any program for such files
//! can take it apart.
//!
//! The last member, `seal`, is the BLAKE3 of every byte before it. Written here and read here: of the many forms
//! that are legal only the one that is written is read, so that no altered byte passes for another spelling.

use std::io::{self, Read, Write};

/// The archive is a row of blocks of this size, bytes.
const BLOCK: usize = 512;

/// Largest size that the eleven octal digits of a header can tell, bytes.
const MOST_IN_HEADER: u64 = 0o777_7777_7777;

/// Name of the last member.
pub(crate) const SEAL: &str = "seal";

/// Bytes moved at once.
const CHUNK: usize = 64 << 10;

/// What stands before the content of a member.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Head {
    pub(crate) name: String,
    pub(crate) bytes: u64,
    pub(crate) written_s: u64,
}

impl Head {
    /// The header blocks; sizes that a header cannot tell have a pax record before it.
    fn blocks(&self) -> Vec<u8> {
        if self.bytes <= MOST_IN_HEADER {
            return header(&self.name, self.bytes, self.written_s, b'0');
        }
        let record = size_record(self.bytes);
        let mut blocks = header("pax", record.len() as u64, self.written_s, b'x');
        blocks.extend(record.as_bytes());
        blocks.resize(2 * BLOCK, 0);
        blocks.extend(header(&self.name, 0, self.written_s, b'0'));
        blocks
    }
}

/// `LENGTH size=BYTES`, where the length counts itself (POSIX.1-2017, pax, "pax Extended Header").
fn size_record(bytes: u64) -> String {
    let rest = format!(" size={bytes}\n");
    // The length has two digits: the rest has between 16 and 27 letters.
    format!("{}{rest}", rest.len() + 2)
}

fn header(name: &str, bytes: u64, written_s: u64, kind: u8) -> Vec<u8> {
    let mut block = vec![0; BLOCK];
    let mut put = |at: usize, text: &str| block[at..at + text.len()].copy_from_slice(text.as_bytes());
    put(0, name);
    put(100, "0000600\0");
    put(108, "0000000\0");
    put(116, "0000000\0");
    put(124, &format!("{bytes:011o}\0"));
    put(136, &format!("{:011o}\0", written_s.min(MOST_IN_HEADER)));
    put(148, "        ");
    put(257, "ustar\0");
    put(263, "00");
    block[156] = kind;
    let sum: u32 = block.iter().map(|byte| u32::from(*byte)).sum();
    block[148..156].copy_from_slice(format!("{sum:06o}\0 ").as_bytes());
    block
}

fn padding(bytes: u64) -> usize {
    let over = (bytes % BLOCK as u64) as usize;
    if over == 0 { 0 } else { BLOCK - over }
}

/// Which end of a copy failed, or that the source was not as long as it said.
#[derive(Debug)]
pub(crate) enum PackFault {
    Source(io::Error),
    Sink(io::Error),
    Length,
}

/// Writes members one after the other.
pub(crate) struct Packing<W> {
    sink: W,
    hasher: blake3::Hasher,
    written_s: u64,
    written_bytes: u64,
}

impl<W: Write> Packing<W> {
    pub(crate) fn new(sink: W, written_s: u64) -> Self {
        Self { sink, hasher: blake3::Hasher::new(), written_s, written_bytes: 0 }
    }

    /// Adds a member of exactly so many bytes; gives the hash of its content. `moved` hears how many bytes went
    /// and says whether to go on; where it does not, the archive is of no use.
    pub(crate) fn member(
        &mut self,
        name: &str,
        bytes: u64,
        source: &mut dyn Read,
        moved: &mut dyn FnMut(u64) -> bool,
    ) -> Result<Option<[u8; 32]>, PackFault> {
        let head = Head { name: name.to_owned(), bytes, written_s: self.written_s };
        self.put(&head.blocks())?;
        let mut content = blake3::Hasher::new();
        let mut buffer = vec![0; CHUNK];
        let mut left = bytes;
        while left > 0 {
            let most = usize::try_from(left).map_or(CHUNK, |left| left.min(CHUNK));
            let read = read_some(source, &mut buffer[..most]).map_err(PackFault::Source)?;
            if read == 0 {
                return Err(PackFault::Length);
            }
            content.update(&buffer[..read]);
            self.put(&buffer[..read])?;
            left -= read as u64;
            if !moved(read as u64) {
                return Ok(None);
            }
        }
        if read_some(source, &mut buffer[..1]).map_err(PackFault::Source)? > 0 {
            return Err(PackFault::Length);
        }
        self.put(&[0; BLOCK][..padding(bytes)])?;
        Ok(Some(*content.finalize().as_bytes()))
    }

    /// Adds the seal and the end; gives the sink and how many bytes were written.
    pub(crate) fn seal(mut self) -> Result<(W, u64), PackFault> {
        let seal = seal_text(&self.hasher);
        let head = Head { name: SEAL.to_owned(), bytes: seal.len() as u64, written_s: self.written_s };
        self.put(&head.blocks())?;
        self.put(seal.as_bytes())?;
        self.put(&[0; BLOCK][..padding(seal.len() as u64)])?;
        self.put(&[0; 2 * BLOCK])?;
        Ok((self.sink, self.written_bytes))
    }

    fn put(&mut self, bytes: &[u8]) -> Result<(), PackFault> {
        self.hasher.update(bytes);
        self.written_bytes += bytes.len() as u64;
        self.sink.write_all(bytes).map_err(PackFault::Sink)
    }
}

fn seal_text(hasher: &blake3::Hasher) -> String {
    format!("blake3 {}\n", hasher.finalize().to_hex())
}

/// What is wrong with an archive.
#[derive(Debug, thiserror::Error)]
pub enum ArchiveFault {
    /// It ends too early.
    #[error("it is cut short at byte {at}")]
    Cut { at: u64 },
    /// What should be the head of a member is none, or in another form than this program writes.
    #[error("at byte {at} it is not what was written")]
    Head { at: u64 },
    /// Everything before the seal does not give its hash.
    #[error("its content, up to byte {at}, is not what was sealed")]
    Seal { at: u64 },
    /// Something follows the end, or the end is not empty.
    #[error("something was added or changed behind the seal, at byte {at}")]
    Behind { at: u64 },
    /// It cannot be read.
    #[error("it could not be read at byte {at}: check the disk it lies on")]
    Read { at: u64, source: io::Error },
}

/// Reads members one after the other.
pub(crate) struct Unpacking<R> {
    source: R,
    hasher: blake3::Hasher,
    at: u64,
}

impl<R: Read> Unpacking<R> {
    pub(crate) fn new(source: R) -> Self {
        Self { source, hasher: blake3::Hasher::new(), at: 0 }
    }

    /// Where in the archive it stands, bytes.
    pub(crate) fn at(&self) -> u64 {
        self.at
    }

    /// The head of the next member; `None` after the seal, which was checked then, as was the end.
    pub(crate) fn next(&mut self) -> Result<Option<Head>, ArchiveFault> {
        let sealed = seal_text(&self.hasher);
        let at = self.at;
        let first = self.block()?;
        let (blocks, head) = match first[156] {
            b'x' => self.large(first, at)?,
            _ => {
                let head = parse(&first).ok_or(ArchiveFault::Head { at })?;
                (first.to_vec(), head)
            }
        };
        if head.blocks() != blocks {
            return Err(ArchiveFault::Head { at });
        }
        if head.name != SEAL {
            return Ok(Some(head));
        }
        let content = self.block()?;
        let mut expected = sealed.into_bytes();
        expected.resize(BLOCK, 0);
        if content[..] != expected[..] || head.bytes != (seal_text(&self.hasher).len() as u64) {
            return Err(ArchiveFault::Seal { at });
        }
        self.end()?;
        Ok(None)
    }

    /// A size in a pax record, and the header behind it.
    fn large(&mut self, first: [u8; BLOCK], at: u64) -> Result<(Vec<u8>, Head), ArchiveFault> {
        let fault = || ArchiveFault::Head { at };
        let record = self.block()?;
        let length = parse(&first).filter(|head| head.name == "pax").ok_or_else(fault)?.bytes;
        let length = usize::try_from(length).ok().filter(|length| *length <= BLOCK).ok_or_else(fault)?;
        let text = std::str::from_utf8(&record[..length]).map_err(|_| fault())?;
        let size =
            text.split_once(" size=").and_then(|(_, size)| size.strip_suffix('\n')).ok_or_else(fault)?;
        let bytes: u64 = size.parse().map_err(|_| fault())?;
        let second = self.block()?;
        let head = parse(&second).ok_or_else(fault)?;
        Ok(([first, record, second].concat(), Head { bytes, ..head }))
    }

    /// The content of a member whose head was read, for one that fits into memory.
    pub(crate) fn content(&mut self, head: &Head) -> Result<Vec<u8>, ArchiveFault> {
        let mut content = Vec::new();
        let mut buffer = vec![0; CHUNK];
        let mut left = head.bytes;
        // Grown as it comes: the size is only what the head says.
        while left > 0 {
            let most = usize::try_from(left).map_or(CHUNK, |left| left.min(CHUNK));
            self.fill(&mut buffer[..most])?;
            content.extend_from_slice(&buffer[..most]);
            left -= most as u64;
        }
        self.padding(head.bytes)?;
        Ok(content)
    }

    /// Reads what fills the last block of a member of so many bytes.
    pub(crate) fn padding(&mut self, bytes: u64) -> Result<(), ArchiveFault> {
        let mut rest = [0; BLOCK];
        let at = self.at;
        let rest = &mut rest[..padding(bytes)];
        self.fill(rest)?;
        if rest.iter().any(|byte| *byte != 0) {
            return Err(ArchiveFault::Head { at });
        }
        Ok(())
    }

    fn end(&mut self) -> Result<(), ArchiveFault> {
        let at = self.at;
        for _ in 0..2 {
            if self.block()?.iter().any(|byte| *byte != 0) {
                return Err(ArchiveFault::Behind { at });
            }
        }
        let at = self.at;
        match read_some(&mut self.source, &mut [0]) {
            Ok(0) => Ok(()),
            Ok(_) => Err(ArchiveFault::Behind { at }),
            Err(source) => Err(ArchiveFault::Read { at, source }),
        }
    }

    fn block(&mut self) -> Result<[u8; BLOCK], ArchiveFault> {
        let mut block = [0; BLOCK];
        self.fill(&mut block)?;
        Ok(block)
    }

    pub(crate) fn fill(&mut self, buffer: &mut [u8]) -> Result<(), ArchiveFault> {
        let mut filled = 0;
        while filled < buffer.len() {
            let at = self.at;
            let read = read_some(&mut self.source, &mut buffer[filled..])
                .map_err(|source| ArchiveFault::Read { at, source })?;
            if read == 0 {
                return Err(ArchiveFault::Cut { at });
            }
            filled += read;
            self.at += read as u64;
        }
        self.hasher.update(buffer);
        Ok(())
    }
}

/// Reads a header as it is written here; whether it is one the caller finds out by writing it again.
fn parse(block: &[u8; BLOCK]) -> Option<Head> {
    let text = |from: usize, to: usize| {
        let field = &block[from..to];
        let end = field.iter().position(|byte| *byte == 0).unwrap_or(field.len());
        std::str::from_utf8(&field[..end]).ok()
    };
    let octal = |from: usize, to: usize| u64::from_str_radix(text(from, to)?, 8).ok();
    let name = text(0, 100).filter(|name| !name.is_empty())?;
    Some(Head { name: name.to_owned(), bytes: octal(124, 136)?, written_s: octal(136, 148)? })
}

fn read_some(source: &mut dyn Read, buffer: &mut [u8]) -> io::Result<usize> {
    loop {
        match source.read(buffer) {
            Err(error) if error.kind() == io::ErrorKind::Interrupted => (),
            read => return read,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn archive(members: &[(&str, &[u8])]) -> Vec<u8> {
        let mut packing = Packing::new(Vec::new(), 1_741_100_000);
        for (name, content) in members {
            let hash = packing.member(name, content.len() as u64, &mut &content[..], &mut |_| true).unwrap();
            assert_eq!(hash, Some(*blake3::hash(content).as_bytes()));
        }
        packing.seal().unwrap().0
    }

    fn read(bytes: &[u8]) -> Result<Vec<(String, Vec<u8>)>, ArchiveFault> {
        let mut unpacking = Unpacking::new(bytes);
        let mut members = Vec::new();
        while let Some(head) = unpacking.next()? {
            let content = unpacking.content(&head)?;
            members.push((head.name, content));
        }
        Ok(members)
    }

    /// The fields of a ustar header and the pax size record, as POSIX.1-2017 places them ("pax", "ustar Interchange
    /// Format", "pax Extended Header"); values by hand.
    #[test]
    fn headers_are_those_of_posix() {
        let block = header("attachments/ab", 1025, 8, b'0');
        let field = |at: usize, length: usize| &block[at..at + length];
        assert_eq!(field(0, 15), b"attachments/ab\0");
        assert_eq!(field(124, 12), b"00000002001\0");
        assert_eq!(field(136, 12), b"00000000010\0");
        assert_eq!(field(156, 1), b"0");
        assert_eq!(field(257, 8), b"ustar\x0000");
        let blank = |at: usize| if (148..156).contains(&at) { 32 } else { u32::from(block[at]) };
        let sum: u32 = (0..BLOCK).map(blank).sum();
        assert_eq!(field(148, 8), format!("{sum:06o}\0 ").as_bytes());

        let large = Head { name: "film".to_owned(), bytes: 10_000_000_000, written_s: 0 };
        let blocks = large.blocks();
        assert_eq!(blocks.len(), 3 * BLOCK);
        assert_eq!(blocks[156], b'x');
        assert_eq!(&blocks[BLOCK..BLOCK + 20], b"20 size=10000000000\n");
        let mut unpacking = Unpacking::new(&blocks[..]);
        assert_eq!(unpacking.next().unwrap(), Some(large));
        assert_eq!(size_record(u64::MAX), "29 size=18446744073709551615\n");
    }

    #[test]
    fn what_is_packed_is_read_again() {
        let long = vec![7; 3 * CHUNK + 5];
        let members: [(&str, &[u8]); 4] =
            [("manifest.json", b"{}"), ("empty", b""), ("block", &[1; BLOCK]), ("long", &long)];
        let bytes = archive(&members);
        assert_eq!(bytes.len() % BLOCK, 0);
        let read = read(&bytes).unwrap();
        let expected: Vec<_> =
            members.iter().map(|(name, content)| ((*name).to_owned(), content.to_vec())).collect();
        assert_eq!(read, expected);
    }

    #[test]
    fn a_source_that_is_not_as_long_as_it_said_is_refused() {
        for said in [2, 4] {
            let mut packing = Packing::new(Vec::new(), 0);
            let fault = packing.member("a", said, &mut &b"abc"[..], &mut |_| true).unwrap_err();
            assert!(matches!(fault, PackFault::Length));
        }
    }

    /// Every place, since the archive is small: cut there, or one byte altered there.
    #[test]
    fn whatever_is_cut_or_altered_is_noticed() {
        let bytes = archive(&[("manifest.json", b"{}"), ("notebook.db", &[3; 700])]);
        for at in 0..bytes.len() {
            assert!(read(&bytes[..at]).is_err(), "cut at {at}");
            for flip in [1, 0x80] {
                let mut altered = bytes.clone();
                altered[at] ^= flip;
                assert!(read(&altered).is_err(), "altered at {at}");
            }
        }
        let longer = [&bytes[..], &[0]].concat();
        assert!(matches!(read(&longer), Err(ArchiveFault::Behind { .. })));
    }
}
