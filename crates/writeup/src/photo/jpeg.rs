//! The segments of a JPEG that decoding needs.
//!
//! # Source
//! ITU-T T.81 annex B for the markers; ITU-T T.871 for JFIF. The colour mark of APP14 is common practice: decoders take
//! it to tell how three or four parts are to be read.

use super::{PhotoError, orientation};

/// How every JPEG begins.
pub(super) const START: [u8; 3] = [0xFF, 0xD8, 0xFF];

const MARK: u8 = 0xFF;
const START_OF_IMAGE: u8 = 0xD8;
const END_OF_IMAGE: u8 = 0xD9;
const START_OF_SCAN: u8 = 0xDA;
const APP0: u8 = 0xE0;
const APP1: u8 = 0xE1;
const APP14: u8 = 0xEE;
/// What a marker of an application begins with, as cameras write it.
const EXIF: &[u8] = b"Exif\0\0";
const JFIF: &[u8] = b"JFIF\0";
const ADOBE: &[u8] = b"Adobe";

/// What stands before the picture proper.
#[derive(Default)]
struct Head {
    /// Width and height of a pixel, where JFIF says anything.
    pixel: Option<[u16; 2]>,
    /// How the parts of a colour are meant.
    colour: Option<u8>,
    orientation: Option<u8>,
}

/// The picture with what belongs to it.
///
/// # Errors
/// [`PhotoError::Broken`].
pub(super) fn picture(bytes: &[u8]) -> Result<Vec<u8>, PhotoError> {
    let mut head = Head::default();
    let mut body = Vec::with_capacity(bytes.len());
    let mut at = 2;
    let mut has_scan = false;
    loop {
        let (marker, after) = marker(bytes, at)?;
        at = after;
        if marker == END_OF_IMAGE {
            break;
        }
        // A marker on its own, of no use: TEM.
        if marker == 0x01 {
            continue;
        }
        let content = segment(bytes, at)?;
        at += 2 + content.len();
        if is_of_picture(marker) {
            check(marker, content)?;
            write(&mut body, marker, content);
        } else {
            head.learn(marker, content);
        }
        if marker == START_OF_SCAN {
            has_scan = true;
            let end = scan_end(bytes, at)?;
            body.extend(&bytes[at..end]);
            at = end;
        }
    }
    if !has_scan {
        return Err(PhotoError::broken("it holds no picture"));
    }
    let mut all = vec![MARK, START_OF_IMAGE];
    head.write(&mut all);
    all.append(&mut body);
    all.extend([MARK, END_OF_IMAGE]);
    Ok(all)
}

/// The marker at a place, and where it ends; any number of 0xFF may stand before it.
fn marker(bytes: &[u8], at: usize) -> Result<(u8, usize), PhotoError> {
    let rest = bytes.get(at..).unwrap_or_default();
    if rest.first().is_some_and(|first| *first != MARK) {
        return Err(PhotoError::broken("something stands where a segment should begin"));
    }
    let fill = rest.iter().take_while(|byte| **byte == MARK).count();
    match rest.get(fill).copied() {
        Some(0 | START_OF_IMAGE | 0xD0..=0xD7) => {
            Err(PhotoError::broken("a segment has a mark it cannot have"))
        }
        Some(marker) => Ok((marker, at + fill + 1)),
        None => Err(PhotoError::ends()),
    }
}

/// The content of a segment whose length stands at a place.
fn segment(bytes: &[u8], at: usize) -> Result<&[u8], PhotoError> {
    let length = bytes.get(at..at + 2).ok_or_else(PhotoError::ends)?;
    let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
    if length < 2 {
        return Err(PhotoError::broken("a segment is shorter than its own length"));
    }
    bytes.get(at + 2..at + length).ok_or_else(PhotoError::ends)
}

/// Frames, tables, scans, restarts and the number of lines.
fn is_of_picture(marker: u8) -> bool {
    matches!(marker, 0xC0..=0xC7 | 0xC9..=0xCF | 0xDA..=0xDD)
}

/// Frames and scans say how long they are: nothing may hide behind what they need.
fn check(marker: u8, content: &[u8]) -> Result<(), PhotoError> {
    let (count_at, fixed, each) = match marker {
        0xC4 | 0xCC => return Ok(()),
        0xC0..=0xCF => (5, 6, 3),
        START_OF_SCAN => (0, 4, 2),
        _ => return Ok(()),
    };
    let count = content.get(count_at).copied().map_or(0, usize::from);
    if content.len() == fixed + each * count {
        Ok(())
    } else {
        Err(PhotoError::broken("a frame or scan is not as long as it says"))
    }
}

fn write(out: &mut Vec<u8>, marker: u8, content: &[u8]) {
    let length = u16::try_from(content.len() + 2)
        .expect("it was read from a length of two bytes, or is a few bytes long");
    out.extend([MARK, marker]);
    out.extend(length.to_be_bytes());
    out.extend(content);
}

/// Where the coded picture of a scan ends: at the next marker that is neither a restart nor a stuffed zero.
fn scan_end(bytes: &[u8], from: usize) -> Result<usize, PhotoError> {
    let mut at = from;
    loop {
        let rest = bytes.get(at..).unwrap_or_default();
        let mark = rest.iter().position(|byte| *byte == MARK).ok_or_else(PhotoError::ends)?;
        match rest.get(mark + 1) {
            None => return Err(PhotoError::ends()),
            Some(0 | 0xD0..=0xD7) => at += mark + 2,
            Some(_) => return Ok(at + mark),
        }
    }
}

impl Head {
    /// Takes from a segment that goes what the picture needs of it. The first of a kind counts.
    fn learn(&mut self, marker: u8, content: &[u8]) {
        let after = |name: &[u8]| content.strip_prefix(name);
        match marker {
            APP0 => {
                if let (None, Some([_, _, _, x0, x1, y0, y1, ..])) = (self.pixel, after(JFIF)) {
                    let (x, y) = (u16::from_be_bytes([*x0, *x1]), u16::from_be_bytes([*y0, *y1]));
                    // Dots for each inch tell a device; only that pixels are not square belongs to the picture.
                    self.pixel = Some(if x == y || x == 0 || y == 0 { [1, 1] } else { [x, y] });
                }
            }
            APP1 => self.orientation = self.orientation.or_else(|| orientation::read(after(EXIF)?)),
            APP14 => {
                if let (None, Some([_, _, _, _, _, _, colour, ..])) = (self.colour, after(ADOBE)) {
                    self.colour = Some(*colour);
                }
            }
            _ => (),
        }
    }

    fn write(&self, out: &mut Vec<u8>) {
        if let Some([x, y]) = self.pixel {
            let sides = [x.to_be_bytes(), y.to_be_bytes()].concat();
            // Version 1.01, a ratio and no size, no thumbnail.
            write(out, APP0, &[JFIF, &[1, 1, 0], &sides, &[0, 0]].concat());
        }
        if let Some(orientation) = self.orientation.filter(|orientation| *orientation != 1) {
            write(out, APP1, &[EXIF, &orientation::written(orientation)].concat());
        }
        if let Some(colour) = self.colour {
            write(out, APP14, &[ADOBE, &[0, 100, 0, 0, 0, 0, colour]].concat());
        }
    }
}
