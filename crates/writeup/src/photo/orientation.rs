//! Which way up a picture stands, as Exif says it: read out of all that a camera wrote, and written as nothing else.
//!
//! # Source
//! CIPA DC-008 (Exif 2.32): tag 0x0112, and the layout of TIFF 6.0 it rests on.

/// Tag of the orientation.
const TAG: u16 = 0x0112;
/// Type of a whole number of two bytes.
const SHORT: u16 = 3;
/// Bytes of one entry of a directory.
const ENTRY: usize = 12;

/// The orientation in an Exif block, without its `Exif` mark: 1 as it lies, 2 to 8 mirrored or turned; `None` where it says none.
pub(super) fn read(exif: &[u8]) -> Option<u8> {
    let is_little = match exif.get(..4)? {
        [b'I', b'I', 42, 0] => true,
        [b'M', b'M', 0, 42] => false,
        _ => return None,
    };
    let short = |at: usize| -> Option<u16> {
        let bytes = exif.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if is_little { u16::from_le_bytes(bytes) } else { u16::from_be_bytes(bytes) })
    };
    let long = |at: usize| -> Option<usize> {
        let bytes = exif.get(at..at.checked_add(4)?)?.try_into().ok()?;
        let value = if is_little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) };
        usize::try_from(value).ok()
    };
    let directory = long(4)?;
    let count = usize::from(short(directory)?);
    let mut entries = (0..count).map_while(|index| directory.checked_add(2 + index * ENTRY));
    let entry = entries.find(|at| short(*at) == Some(TAG))?;
    let value = (short(entry + 2) == Some(SHORT)).then(|| short(entry + 8)).flatten()?;
    u8::try_from(value).ok().filter(|value| (1..=8).contains(value))
}

/// An Exif block that holds the orientation and nothing else.
pub(super) fn written(orientation: u8) -> Vec<u8> {
    let mut block = b"MM\0\x2a\0\0\0\x08".to_vec();
    block.extend(1u16.to_be_bytes());
    block.extend(TAG.to_be_bytes());
    block.extend(SHORT.to_be_bytes());
    block.extend(1u32.to_be_bytes());
    block.extend([0, orientation, 0, 0]);
    // No directory after this one.
    block.extend(0u32.to_be_bytes());
    block
}
