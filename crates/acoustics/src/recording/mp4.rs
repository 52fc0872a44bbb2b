//! A look at the boxes of an MP4 file before anyone believes them.
//!
//! Tables in these files say how long they are, and a reader that reserves memory by that number can be brought down by
//! twelve bytes. Here every box must lie within its parent, every table within its box, and every packet within reason.
//!
//! # Source
//! ISO/IEC 14496-12, ISO base media file format: box header (4.2), sample tables (8.6 to 8.7).

use std::io::{self, Read, Seek, SeekFrom};

/// Largest description of a file: tables of 24 hours of AAC take 20 MB.
const MOVIE_BYTES_MOST: u64 = 64 << 20;

/// Largest packet of any track; one of AAC has 6144 bits a channel.
const PACKET_BYTES_MOST: u32 = 16 << 20;

/// Boxes looked at in all, so that a file of empty boxes does not keep anyone busy.
const BOXES_MOST: u32 = 100_000;

/// Boxes within boxes.
const DEPTH_MOST: u32 = 8;

/// Why the boxes of an MP4 file are not believed. Copy or export the file again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum Mp4Error {
    /// A size that is smaller than the header or larger than what it lies in.
    #[error("the MP4 file is damaged: a box at byte {at} does not fit into its place")]
    BoxSize { at: u64 },
    /// Copied before the telephone had finished writing, mostly.
    #[error("the MP4 file is not complete: it lacks the description of its sound (moov)")]
    NoMovie,
    /// Larger than any recording needs.
    #[error("the MP4 file describes itself in {bytes} bytes, more than is read")]
    MovieTooLarge { bytes: u64 },
    /// A table that promises more rows than it holds.
    #[error("the MP4 file is damaged: a table at byte {at} tells of {rows} rows and holds fewer")]
    TableRows { at: u64, rows: u32 },
    /// A packet that no sound has.
    #[error("the MP4 file is damaged: it tells of a packet of {bytes} bytes")]
    PacketTooLarge { bytes: u32 },
    /// Deep nesting or very many boxes.
    #[error("the MP4 file has more boxes than any recording")]
    TooManyBoxes,
    /// Written for streaming, in pieces: export it as one.
    #[error("the MP4 file is in fragments, which are not read; export it as WAV, FLAC or a plain M4A")]
    Fragmented,
    /// A film, or sound in another coding: export the sound.
    #[error("the MP4 file holds no AAC sound, and {found} is not read; export the recording as WAV or FLAC")]
    NoAac { found: &'static str },
}

/// Looks through the boxes; leaves the source anywhere.
pub(super) fn check<S: Read + Seek>(source: &mut S, length: u64) -> Result<(), super::RecordingError> {
    let mut walk = Walk { source, boxes_left: BOXES_MOST, movies: 0, aac: false, other: "what it holds" };
    walk.level(0, length, 0)?;
    if walk.movies == 0 {
        return Err(Mp4Error::NoMovie.into());
    }
    if walk.aac { Ok(()) } else { Err(Mp4Error::NoAac { found: walk.other }.into()) }
}

struct Walk<'a, S> {
    source: &'a mut S,
    boxes_left: u32,
    movies: u32,
    /// Whether a track of AAC was seen, and what else was.
    aac: bool,
    other: &'static str,
}

/// One box: where its content lies.
struct Placed {
    name: [u8; 4],
    at: u64,
    content: u64,
    end: u64,
}

impl<S: Read + Seek> Walk<'_, S> {
    /// Looks at the boxes between two places.
    fn level(&mut self, start: u64, end: u64, depth: u32) -> Result<(), super::RecordingError> {
        let mut at = start;
        // Fewer bytes than a header are padding.
        while end.saturating_sub(at) >= 8 {
            self.boxes_left = self.boxes_left.checked_sub(1).ok_or(Mp4Error::TooManyBoxes)?;
            let found = self.header(at, end, depth)?;
            self.look(&found, depth)?;
            at = found.end;
        }
        Ok(())
    }

    fn header(&mut self, at: u64, end: u64, depth: u32) -> Result<Placed, super::RecordingError> {
        self.source.seek(SeekFrom::Start(at))?;
        let short = u64::from(self.read_u32()?);
        let name = self.read_u32()?.to_be_bytes();
        let (size, header) = match short {
            // The last box of a file may reach to its end.
            0 if depth == 0 => (end - at, 8),
            1 if end - at >= 16 => (u64::from(self.read_u32()?) << 32 | u64::from(self.read_u32()?), 16),
            short => (short, 8),
        };
        if size < header {
            return Err(Mp4Error::BoxSize { at }.into());
        }
        let told_end = at.checked_add(size).ok_or(Mp4Error::BoxSize { at })?;
        // The sound itself may be cut: then what is there is read. Everything else must be whole.
        let cut = told_end > end;
        if cut && !(depth == 0 && name == *b"mdat") {
            return Err(Mp4Error::BoxSize { at }.into());
        }
        Ok(Placed { name, at, content: at + header, end: told_end.min(end) })
    }

    fn look(&mut self, found: &Placed, depth: u32) -> Result<(), super::RecordingError> {
        match &found.name {
            b"moov" if depth == 0 => {
                self.movies += 1;
                let bytes = found.end - found.at;
                if bytes > MOVIE_BYTES_MOST {
                    return Err(Mp4Error::MovieTooLarge { bytes }.into());
                }
                self.level(found.content, found.end, depth + 1)
            }
            b"mvex" | b"moof" | b"sidx" => Err(Mp4Error::Fragmented.into()),
            b"trak" | b"mdia" | b"minf" | b"stbl" | b"edts" if depth > 0 => {
                if depth >= DEPTH_MOST {
                    return Err(Mp4Error::TooManyBoxes.into());
                }
                self.level(found.content, found.end, depth + 1)
            }
            b"stts" | b"ctts" | b"co64" => self.table(found, 8),
            b"stco" => self.table(found, 4),
            b"stsc" => self.table(found, 12),
            b"stsz" => self.sizes(found),
            b"stsd" => self.coding(found),
            _ => Ok(()),
        }
    }

    /// A table of four bytes of version and flags, a count, and rows.
    fn table(&mut self, found: &Placed, row_bytes: u64) -> Result<(), super::RecordingError> {
        self.source.seek(SeekFrom::Start(found.content))?;
        let room = found.end - found.content;
        if room < 8 {
            return Err(Mp4Error::BoxSize { at: found.at }.into());
        }
        let _version = self.read_u32()?;
        let rows = self.read_u32()?;
        if u64::from(rows) * row_bytes > room - 8 {
            return Err(Mp4Error::TableRows { at: found.at, rows }.into());
        }
        Ok(())
    }

    /// The coding of a track, named by the box behind version, flags and count.
    fn coding(&mut self, found: &Placed) -> Result<(), super::RecordingError> {
        if found.end - found.content < 16 {
            return Err(Mp4Error::BoxSize { at: found.at }.into());
        }
        self.source.seek(SeekFrom::Start(found.content + 12))?;
        match &self.read_u32()?.to_be_bytes() {
            b"mp4a" => self.aac = true,
            b"alac" => self.other = "ALAC",
            b"samr" | b"sawb" => self.other = "AMR",
            b"Opus" => self.other = "Opus",
            b"fLaC" => self.other = "FLAC in MP4",
            b"ac-3" | b"ec-3" => self.other = "Dolby sound",
            b"lpcm" | b"sowt" | b"twos" | b"ipcm" | b"in24" => self.other = "PCM in MP4",
            _ => {}
        }
        Ok(())
    }

    /// The sizes of packets: one for all, or a row for each.
    fn sizes(&mut self, found: &Placed) -> Result<(), super::RecordingError> {
        self.source.seek(SeekFrom::Start(found.content))?;
        let room = found.end - found.content;
        if room < 12 {
            return Err(Mp4Error::BoxSize { at: found.at }.into());
        }
        let _version = self.read_u32()?;
        let size_of_all = self.read_u32()?;
        let rows = self.read_u32()?;
        if size_of_all != 0 {
            return within_reason(size_of_all);
        }
        if u64::from(rows) * 4 > room - 12 {
            return Err(Mp4Error::TableRows { at: found.at, rows }.into());
        }
        let mut block = [0; 4096];
        let mut left = u64::from(rows) * 4;
        while left > 0 {
            let bytes = left.min(block.len() as u64) as usize;
            self.source.read_exact(&mut block[..bytes])?;
            for row in block[..bytes].as_chunks::<4>().0 {
                within_reason(u32::from_be_bytes(*row))?;
            }
            left -= bytes as u64;
        }
        Ok(())
    }

    fn read_u32(&mut self) -> io::Result<u32> {
        let mut bytes = [0; 4];
        self.source.read_exact(&mut bytes)?;
        Ok(u32::from_be_bytes(bytes))
    }
}

fn within_reason(bytes: u32) -> Result<(), super::RecordingError> {
    if bytes > PACKET_BYTES_MOST { Err(Mp4Error::PacketTooLarge { bytes }.into()) } else { Ok(()) }
}
