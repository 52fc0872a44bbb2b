//! AAC packets out of an MP4 file: the boxes that say where they lie, and the packets one by one.
//!
//! Tables in these files say how long they are, and a reader that reserves memory by that number can be brought down by
//! twelve bytes. Here every box must lie within its parent and every table within its box, tables stay in the file and
//! are read a block at a time, and a packet has a largest size. Tags, covers, pictures and edit lists are left out;
//! files in fragments are refused.
//!
//! # Source
//! ISO/IEC 14496-12, ISO base media file format: box header (4.2), sample tables (8.5 to 8.7); ISO/IEC 14496-14 for the
//! `esds` box; ISO/IEC 14496-3 for the description of AAC in it.

mod config;
mod walk;

use std::io::{self, Read, Seek, SeekFrom};

use super::RecordingError;
pub(super) use config::Config;

/// Largest packet: AAC has 6144 bits a channel at most, and a coder may not pad beyond reason.
const PACKET_BYTES_MOST: u32 = 1 << 16;

/// Why an MP4 file is not read. Copy or export the file again where nothing else is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum Mp4Error {
    /// A size that is smaller than the header or larger than what it lies in.
    #[error("the MP4 file is damaged: a box at byte {at} does not fit into its place")]
    BoxSize { at: u64 },
    /// Copied before the telephone had finished writing, mostly.
    #[error("the MP4 file is not complete: it lacks the description of its sound (moov)")]
    NoMovie,
    /// A table that promises more rows than it holds.
    #[error("the MP4 file is damaged: a table at byte {at} tells of {rows} rows and holds fewer")]
    TableRows { at: u64, rows: u32 },
    /// Not all of sizes, chunks and runs of packets are there.
    #[error("the MP4 file is damaged: it does not say where its sound lies")]
    NoTables,
    /// The description of the coding cannot be followed.
    #[error("the MP4 file is damaged: it does not say how its sound is coded")]
    NoConfig,
    /// Deep nesting or very many boxes.
    #[error("the MP4 file has more boxes than any recording")]
    TooManyBoxes,
    /// Written for streaming, in pieces.
    #[error("the MP4 file is in fragments, which are not read; export it as WAV, FLAC or a plain M4A")]
    Fragmented,
    /// A film, or sound in another coding: export the sound.
    #[error("the MP4 file holds no AAC sound, and {found} is not read; export the recording as WAV or FLAC")]
    NoAac { found: &'static str },
    /// Plain AAC of one or two channels is read.
    #[error("{found} is not read; export the recording as WAV or FLAC")]
    OtherAac { found: &'static str },
}

/// The first track of AAC, being read packet by packet.
pub(super) struct Track<S> {
    source: S,
    length: u64,
    /// Bytes that packets may still take: no file holds more sound than bytes, whatever its tables repeat.
    bytes_left: u64,
    tables: Tables,
    config: Config,
    /// Number of the chunk being read, from 1, and what is left of it.
    chunk: u32,
    packets_left: u32,
    next_at: u64,
    run: Run,
    next_run: Option<Run>,
}

/// Where the tables of a track stand.
struct Tables {
    sizes: Sizes,
    chunks: Chunks,
    runs: Rows<12>,
}

enum Sizes {
    Each(Rows<4>),
    All { bytes: u32, left: u32 },
}

enum Chunks {
    Short(Rows<4>),
    Long(Rows<8>),
}

/// From which chunk on there are how many packets in each.
#[derive(Debug, Clone, Copy)]
struct Run {
    first_chunk: u32,
    packets: u32,
}

/// What comes next in a track.
pub(super) enum Next {
    Packet(Box<[u8]>),
    /// A packet that lies outside the file or is too large to be one.
    Missing,
    End,
}

impl<S: Read + Seek> Track<S> {
    /// Finds the track.
    pub(super) fn open(mut source: S, length: u64) -> Result<Self, RecordingError> {
        let (mut tables, config) = walk::find(&mut source, length)?;
        let next_run = tables.next_run(&mut source)?;
        let run = Run { first_chunk: 0, packets: 0 };
        Ok(Self {
            source,
            length,
            bytes_left: length,
            tables,
            config,
            chunk: 0,
            packets_left: 0,
            next_at: 0,
            run,
            next_run,
        })
    }

    /// How the sound is coded.
    pub(super) fn config(&self) -> Config {
        self.config
    }

    /// Packets that the table of sizes tells of, those read already left out.
    pub(super) fn packets_told(&self) -> u32 {
        match &self.tables.sizes {
            Sizes::Each(rows) => rows.left(),
            Sizes::All { left, .. } => *left,
        }
    }

    /// Reads the next packet.
    pub(super) fn next(&mut self) -> io::Result<Next> {
        while self.packets_left == 0 {
            if !self.next_chunk()? {
                return Ok(Next::End);
            }
        }
        let Some(bytes) = self.tables.next_size(&mut self.source)? else { return Ok(Next::End) };
        self.packets_left -= 1;
        let at = self.next_at;
        self.next_at = at.saturating_add(u64::from(bytes));
        if bytes > PACKET_BYTES_MOST || self.next_at > self.length {
            return Ok(Next::Missing);
        }
        let Some(bytes_left) = self.bytes_left.checked_sub(u64::from(bytes)) else { return Ok(Next::End) };
        self.bytes_left = bytes_left;
        let mut packet = vec![0; bytes as usize].into_boxed_slice();
        self.source.seek(SeekFrom::Start(at))?;
        self.source.read_exact(&mut packet)?;
        Ok(Next::Packet(packet))
    }

    /// Goes to the next chunk; `false` where there is none.
    fn next_chunk(&mut self) -> io::Result<bool> {
        let Some(at) = self.tables.next_chunk(&mut self.source)? else { return Ok(false) };
        self.chunk = self.chunk.saturating_add(1);
        // Runs begin at higher and higher chunks; one that does not is passed over with the chunk it lies at.
        while let Some(next) = self.next_run.filter(|next| next.first_chunk <= self.chunk) {
            self.run = next;
            self.next_run = self.tables.next_run(&mut self.source)?;
        }
        (self.next_at, self.packets_left) = (at, self.run.packets);
        Ok(true)
    }
}

impl Tables {
    fn next_size<S: Read + Seek>(&mut self, source: &mut S) -> io::Result<Option<u32>> {
        match &mut self.sizes {
            Sizes::Each(rows) => Ok(rows.next(source)?.map(u32::from_be_bytes)),
            Sizes::All { bytes, left } => {
                let Some(fewer) = left.checked_sub(1) else { return Ok(None) };
                *left = fewer;
                Ok(Some(*bytes))
            }
        }
    }

    fn next_chunk<S: Read + Seek>(&mut self, source: &mut S) -> io::Result<Option<u64>> {
        match &mut self.chunks {
            Chunks::Short(rows) => Ok(rows.next(source)?.map(|row| u64::from(u32::from_be_bytes(row)))),
            Chunks::Long(rows) => Ok(rows.next(source)?.map(u64::from_be_bytes)),
        }
    }

    fn next_run<S: Read + Seek>(&mut self, source: &mut S) -> io::Result<Option<Run>> {
        let Some([a, b, c, d, e, f, g, h, ..]) = self.runs.next(source)? else { return Ok(None) };
        let (first_chunk, packets) = (u32::from_be_bytes([a, b, c, d]), u32::from_be_bytes([e, f, g, h]));
        Ok(Some(Run { first_chunk, packets }))
    }
}

/// Bytes of a table held at a time: a whole number of rows of 4, 8 and 12 bytes.
const BLOCK: usize = 3072;

/// Rows of a table in the file, of `W` bytes each.
struct Rows<const W: usize> {
    at: u64,
    /// Rows not yet in the block.
    unread: u32,
    block: Box<[u8; BLOCK]>,
    place: usize,
    filled: usize,
}

impl<const W: usize> Rows<W> {
    /// Rows that are known to lie within the file.
    fn new(at: u64, rows: u32) -> Self {
        Self { at, unread: rows, block: Box::new([0; BLOCK]), place: 0, filled: 0 }
    }

    fn left(&self) -> u32 {
        // A block holds fewer than 3072 rows, so it fits.
        self.unread + ((self.filled - self.place) / W) as u32
    }

    fn next<S: Read + Seek>(&mut self, source: &mut S) -> io::Result<Option<[u8; W]>> {
        if self.place == self.filled {
            let rows = (self.unread as usize).min(BLOCK / W);
            source.seek(SeekFrom::Start(self.at))?;
            source.read_exact(&mut self.block[..rows * W])?;
            (self.place, self.filled) = (0, rows * W);
            self.at += (rows * W) as u64;
            self.unread -= rows as u32;
        }
        let row = self.block[self.place..self.filled].first_chunk::<W>().copied();
        self.place += if row.is_some() { W } else { 0 };
        Ok(row)
    }
}
