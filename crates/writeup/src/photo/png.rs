//! The chunks of a PNG that decoding needs.
//!
//! # Source
//! PNG Specification, third edition (W3C): clauses 5 (structure and checksums), 11 (chunks) and annex D (checksum).

use super::{PhotoError, orientation};

/// How every PNG begins.
pub(super) const SIGNATURE: [u8; 8] = [0x89, b'P', b'N', b'G', 0x0D, 0x0A, 0x1A, 0x0A];

/// Chunks of the picture, with their length where it is always the same.
const KEPT: &[(&[u8; 4], Option<usize>)] = &[
    (b"IHDR", Some(13)),
    (b"PLTE", None),
    (b"tRNS", None),
    (b"gAMA", Some(4)),
    (b"cHRM", Some(32)),
    (b"sRGB", Some(1)),
    (b"cICP", Some(4)),
    (b"IDAT", None),
];

/// The picture with what belongs to it.
///
/// # Errors
/// [`PhotoError::Broken`].
pub(super) fn picture(bytes: &[u8]) -> Result<Vec<u8>, PhotoError> {
    let mut at = SIGNATURE.len();
    let (mut head, mut body) = (None, Vec::with_capacity(bytes.len()));
    let mut turned = None;
    loop {
        let (name, content, after) = chunk(bytes, at)?;
        at = after;
        let kept = KEPT.iter().find(|(known, _)| *known == name);
        match (name, kept) {
            (b"IEND", _) => break,
            (b"IHDR", _) if head.is_some() => return Err(PhotoError::broken("it begins twice")),
            (b"IHDR", _) => head = Some(content),
            (b"eXIf", _) => turned = turned.or_else(|| orientation::read(content)),
            (_, Some((_, length))) if length.is_none_or(|length| length == content.len()) => {
                write(&mut body, name, content);
            }
            // A capital first letter says that the picture cannot be read without it.
            _ if name[0].is_ascii_uppercase() => {
                return Err(PhotoError::broken(
                    "it holds a part that is not known here; save it again as a plain picture",
                ));
            }
            _ => (),
        }
    }
    let head = head
        .filter(|head| head.len() == 13)
        .ok_or_else(|| PhotoError::broken("it does not say how large it is"))?;
    let mut all = SIGNATURE.to_vec();
    write(&mut all, b"IHDR", head);
    if let Some(turned) = turned.filter(|turned| *turned != 1) {
        write(&mut all, b"eXIf", &orientation::written(turned));
    }
    all.append(&mut body);
    write(&mut all, b"IEND", &[]);
    Ok(all)
}

/// Name, content and end of the chunk at a place.
fn chunk(bytes: &[u8], at: usize) -> Result<(&[u8; 4], &[u8], usize), PhotoError> {
    let rest = bytes.get(at..).unwrap_or_default();
    let (length, rest) = rest.split_first_chunk::<4>().ok_or_else(PhotoError::ends)?;
    let length = usize::try_from(u32::from_be_bytes(*length)).map_err(|_| PhotoError::ends())?;
    let (name, rest) = rest.split_first_chunk::<4>().ok_or_else(PhotoError::ends)?;
    let content = rest.get(..length).ok_or_else(PhotoError::ends)?;
    let (sum, _) = rest[length..].split_first_chunk::<4>().ok_or_else(PhotoError::ends)?;
    if u32::from_be_bytes(*sum) != checksum(name, content) {
        return Err(PhotoError::broken(
            "a part is damaged: its checksum does not fit; copy it again from the camera",
        ));
    }
    Ok((name, content, at + 12 + length))
}

fn write(out: &mut Vec<u8>, name: &[u8; 4], content: &[u8]) {
    let length = u32::try_from(content.len())
        .expect("it was read from a length of four bytes, or is a few bytes long");
    out.extend(length.to_be_bytes());
    out.extend(name);
    out.extend(content);
    out.extend(checksum(name, content).to_be_bytes());
}

/// CRC-32 as the specification has it, reflected, polynomial 0xEDB88320.
pub(super) fn checksum(name: &[u8; 4], content: &[u8]) -> u32 {
    let step = |sum: u32, byte: &u8| (sum >> 8) ^ TABLE[usize::from(sum.to_le_bytes()[0] ^ byte)];
    !name.iter().chain(content).fold(u32::MAX, step)
}

/// What each byte does to a checksum.
const TABLE: [u32; 256] = {
    let mut table = [0; 256];
    let mut index = 0;
    while index < 256 {
        let mut sum = index as u32;
        let mut bit = 0;
        while bit < 8 {
            sum = if sum & 1 == 1 { 0xEDB8_8320 ^ (sum >> 1) } else { sum >> 1 };
            bit += 1;
        }
        table[index] = sum;
        index += 1;
    }
    table
};
