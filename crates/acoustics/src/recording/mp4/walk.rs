//! The way through the boxes to the first track of AAC.

use std::io::{self, Read, Seek, SeekFrom};

use super::{Chunks, Config, Mp4Error, Rows, Sizes, Tables};
use crate::recording::RecordingError;

/// Boxes looked at in all, so that a file of empty boxes does not keep anyone busy.
const BOXES_MOST: u32 = 100_000;

/// Boxes within boxes.
const DEPTH_MOST: u32 = 8;

/// Most of a description of coding that is looked at, bytes.
const ENTRY_BYTES_MOST: u64 = 4096;

/// Finds the first track of AAC; leaves the source anywhere.
pub(super) fn find<S: Read + Seek>(source: &mut S, length: u64) -> Result<(Tables, Config), RecordingError> {
    let mut walk = Walk {
        source,
        boxes_left: BOXES_MOST,
        movie_seen: false,
        track: Parts::default(),
        found: None,
        other: "what it holds",
    };
    walk.level(0, length, 0)?;
    match walk.found {
        Some(found) => Ok(found),
        None if walk.movie_seen => Err(Mp4Error::NoAac { found: walk.other }.into()),
        None => Err(Mp4Error::NoMovie.into()),
    }
}

struct Walk<'a, S> {
    source: &'a mut S,
    boxes_left: u32,
    movie_seen: bool,
    /// What the track being looked at has shown so far.
    track: Parts,
    found: Option<(Tables, Config)>,
    /// What tracks without AAC hold.
    other: &'static str,
}

#[derive(Default)]
struct Parts {
    config: Option<Config>,
    sizes: Option<Sizes>,
    chunks: Option<Chunks>,
    runs: Option<Rows<12>>,
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
    fn level(&mut self, start: u64, end: u64, depth: u32) -> Result<(), RecordingError> {
        if depth > DEPTH_MOST {
            return Err(Mp4Error::TooManyBoxes.into());
        }
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

    fn header(&mut self, at: u64, end: u64, depth: u32) -> Result<Placed, RecordingError> {
        self.source.seek(SeekFrom::Start(at))?;
        let short = u64::from(self.read_u32()?);
        let name = self.read_u32()?.to_be_bytes();
        let (size, header) = match short {
            // The last box of a file may reach to its end.
            0 if depth == 0 => (end - at, 8),
            1 if end - at >= 16 => (u64::from(self.read_u32()?) << 32 | u64::from(self.read_u32()?), 16),
            short => (short, 8),
        };
        let told_end = at.checked_add(size).filter(|_| size >= header).ok_or(Mp4Error::BoxSize { at })?;
        // The sound itself may be cut: then what is there is read. Everything else must be whole.
        if told_end > end && !(depth == 0 && name == *b"mdat") {
            return Err(Mp4Error::BoxSize { at }.into());
        }
        Ok(Placed { name, at, content: at + header, end: told_end.min(end) })
    }

    fn look(&mut self, found: &Placed, depth: u32) -> Result<(), RecordingError> {
        match (&found.name, depth) {
            (b"moof" | b"mvex" | b"sidx", _) => return Err(Mp4Error::Fragmented.into()),
            (b"moov", 0) => {
                self.movie_seen = true;
                self.level(found.content, found.end, 1)?;
            }
            (b"trak", 1) if self.found.is_none() => self.track(found)?,
            (b"mdia" | b"minf" | b"stbl", 2..) => self.level(found.content, found.end, depth + 1)?,
            (b"stsd", 2..) => self.coding(found)?,
            (b"stsz", 2..) => self.track.sizes = Some(self.sizes(found)?),
            (b"stsc", 2..) => self.track.runs = Some(self.rows(found, 8)?),
            (b"stco", 2..) => self.track.chunks = Some(Chunks::Short(self.rows(found, 8)?)),
            (b"co64", 2..) => self.track.chunks = Some(Chunks::Long(self.rows(found, 8)?)),
            _ => {}
        }
        Ok(())
    }

    /// Looks into a track and keeps it if it is of AAC.
    fn track(&mut self, found: &Placed) -> Result<(), RecordingError> {
        self.track = Parts::default();
        self.level(found.content, found.end, 2)?;
        let Parts { config, sizes, chunks, runs } = std::mem::take(&mut self.track);
        let Some(config) = config else { return Ok(()) };
        let (Some(sizes), Some(chunks), Some(runs)) = (sizes, chunks, runs) else {
            return Err(Mp4Error::NoTables.into());
        };
        self.found = Some((Tables { sizes, chunks, runs }, config));
        Ok(())
    }

    /// Reads the description of the coding, the first entry behind version, flags and count.
    fn coding(&mut self, found: &Placed) -> Result<(), RecordingError> {
        let room = found.end - found.content;
        if room < 16 {
            return Err(Mp4Error::BoxSize { at: found.at }.into());
        }
        self.source.seek(SeekFrom::Start(found.content + 8))?;
        let entry_bytes = u64::from(self.read_u32()?);
        if entry_bytes < 8 || entry_bytes > room - 8 {
            return Err(Mp4Error::BoxSize { at: found.at }.into());
        }
        match &self.read_u32()?.to_be_bytes() {
            b"mp4a" => {
                let mut entry = Vec::new();
                let content = self.source.by_ref().take((entry_bytes - 8).min(ENTRY_BYTES_MOST));
                { content }.read_to_end(&mut entry)?;
                self.track.config = Some(Config::of_entry(&entry)?);
            }
            b"alac" => self.other = "ALAC",
            b"samr" | b"sawb" => self.other = "AMR",
            b"Opus" => self.other = "Opus",
            b"fLaC" => self.other = "FLAC inside MP4",
            b"ac-3" | b"ec-3" => self.other = "Dolby sound",
            b"lpcm" | b"sowt" | b"twos" | b"ipcm" | b"in24" => self.other = "PCM inside MP4",
            _ => {}
        }
        Ok(())
    }

    /// The sizes of packets: one for all, or a row for each.
    fn sizes(&mut self, found: &Placed) -> Result<Sizes, RecordingError> {
        if found.end - found.content < 12 {
            return Err(Mp4Error::BoxSize { at: found.at }.into());
        }
        self.source.seek(SeekFrom::Start(found.content + 4))?;
        let bytes = self.read_u32()?;
        if bytes != 0 {
            return Ok(Sizes::All { bytes, left: self.read_u32()? });
        }
        Ok(Sizes::Each(self.rows(found, 12)?))
    }

    /// A table whose rows begin at `offset` in its box, their count just before.
    fn rows<const W: usize>(&mut self, found: &Placed, offset: u64) -> Result<Rows<W>, RecordingError> {
        let room = (found.end - found.content).checked_sub(offset);
        let room = room.ok_or(Mp4Error::BoxSize { at: found.at })?;
        self.source.seek(SeekFrom::Start(found.content + offset - 4))?;
        let rows = self.read_u32()?;
        if u64::from(rows) * W as u64 > room {
            return Err(Mp4Error::TableRows { at: found.at, rows }.into());
        }
        Ok(Rows::new(found.content + offset, rows))
    }

    fn read_u32(&mut self) -> io::Result<u32> {
        let mut bytes = [0; 4];
        self.source.read_exact(&mut bytes)?;
        Ok(u32::from_be_bytes(bytes))
    }
}
