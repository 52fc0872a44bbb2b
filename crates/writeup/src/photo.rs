//! Photographs without what cameras hide in them: place, time, device, serial, thumbnails, comments, colour profiles.
//!
//! What is left is what a decoder needs for the same pixels, and which way up they stand. Nothing is compressed again. Leaves out
//! what can be seen in the picture itself: that is for the author to look at.

mod jpeg;
mod orientation;
mod png;

use std::io::Cursor;

use image::{ImageFormat, ImageReader, Limits};

/// The most pixels a photograph may have, so that a small file cannot fill the memory. Convention of this project: twice what
/// large cameras make.
const MOST_PIXELS: u64 = 100_000_000;
/// The longest side a photograph may have: what JPEG can say, ITU-T T.81 B.2.2.
const LONGEST_SIDE: u32 = 65_535;
/// The most memory decoding may ask for: the most pixels with two bytes for each of four parts.
const MOST_MEMORY: u64 = MOST_PIXELS * 8;

/// Why a photograph cannot go out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// Neither JPEG nor PNG.
    #[error("it is neither JPEG nor PNG")]
    OtherKind,
    /// The picture cannot be read.
    #[error("it cannot be decoded: {why}")]
    Broken {
        /// What is wrong.
        why: String,
    },
}

impl PhotoError {
    fn broken(why: impl Into<String>) -> Self {
        Self::Broken { why: why.into() }
    }

    /// The commonest of all: a copy that was cut off.
    fn ends() -> Self {
        Self::broken("the file ends in the middle; copy it again from the camera")
    }
}

/// A photograph without the notes of its camera.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stripped {
    /// `image/jpeg` or `image/png`.
    pub media_type: &'static str,
    /// What is left.
    pub bytes: Vec<u8>,
    /// How many bytes went.
    pub gone: usize,
}

/// Takes everything out of a photograph but the picture.
///
/// Only parts that are known to belong to the picture are kept, so what a maker of cameras thinks of next year is left out too.
/// Which way up the picture stands is written anew, where it is not as it lies. A colour profile goes: it can name the device, and
/// without it wide colours look a little flatter. Pixels stay as they are. The result is decoded once, so it surely can be.
///
/// # Errors
/// [`PhotoError`]: another kind of file, one that ends early or is damaged, one with over 100 million pixels.
///
/// # Source
/// ITU-T T.81 annex B (JPEG), ITU-T T.871 (JFIF), PNG Specification third edition (W3C), CIPA DC-008 (Exif) for the orientation.
pub fn stripped(bytes: &[u8]) -> Result<Stripped, PhotoError> {
    let (media_type, format, left) = if bytes.starts_with(&jpeg::START) {
        ("image/jpeg", ImageFormat::Jpeg, jpeg::picture(bytes)?)
    } else if bytes.starts_with(&png::SIGNATURE) {
        ("image/png", ImageFormat::Png, png::picture(bytes)?)
    } else {
        return Err(PhotoError::OtherKind);
    };
    decode(&left, format)?;
    Ok(Stripped { media_type, gone: bytes.len().saturating_sub(left.len()), bytes: left })
}

/// Decodes a picture, to see that it can be.
fn decode(bytes: &[u8], format: ImageFormat) -> Result<(), PhotoError> {
    let reader = || ImageReader::with_format(Cursor::new(bytes), format);
    let told = |error: image::ImageError| PhotoError::broken(error.to_string());
    let (width, height) = reader().into_dimensions().map_err(told)?;
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        let why = format!("it has {width} by {height} pixels, over 100 million; make a smaller copy");
        return Err(PhotoError::Broken { why });
    }
    let mut limits = Limits::default();
    (limits.max_image_width, limits.max_image_height) = (Some(LONGEST_SIDE), Some(LONGEST_SIDE));
    limits.max_alloc = Some(MOST_MEMORY);
    let mut reader = reader();
    reader.limits(limits);
    reader.decode().map(|_| ()).map_err(told)
}

#[cfg(test)]
mod tests;
