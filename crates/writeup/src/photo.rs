//! Photographs without what cameras hide in them: place, time, device, serial, thumbnails, comments, colour profiles.
//!
//! What is left is what a decoder needs for the same pixels, and which way up they stand. Nothing is compressed again. Leaves out
//! what can be seen in the picture itself: that is for the author to look at.

mod jpeg;
mod orientation;
mod png;

use std::io::Cursor;

use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};

/// The most pixels a photograph may have, so that a small file cannot fill the memory. Convention of this project: more than a page
/// can show, and room for what most cameras make.
const MOST_PIXELS: u64 = 50_000_000;
/// The longest side a photograph may have: what JPEG can say, ITU-T T.81 B.2.2.
const LONGEST_SIDE: u32 = 65_535;
/// The most bytes its pixels may take in memory: the most pixels with one byte for each of four parts, and some more.
const MOST_MEMORY: u64 = 256 << 20;

/// Why a photograph cannot go out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// Neither JPEG nor PNG.
    #[error("it is neither JPEG nor PNG")]
    OtherKind,
    /// It takes too much memory to be looked through.
    #[error(
        "it has {width} by {height} pixels of {bits} bits, more than can be looked through here (50 million of 32 bits): save a \
         smaller copy"
    )]
    TooLarge {
        /// Pixels across.
        width: u32,
        /// Pixels up and down.
        height: u32,
        /// Bits of one pixel.
        bits: u16,
    },
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
/// [`PhotoError`]: another kind of file, one that ends early or is damaged, one with over 50 million pixels or over 256 MiB of
/// them.
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
    let told = |error: image::ImageError| PhotoError::broken(error.to_string());
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MOST_MEMORY);
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    reader.limits(limits);
    let decoder = reader.into_decoder().map_err(told)?;
    let ((width, height), bits) = (decoder.dimensions(), decoder.color_type().bits_per_pixel());
    let is_many = u64::from(width) * u64::from(height) > MOST_PIXELS || decoder.total_bytes() > MOST_MEMORY;
    if is_many || width.max(height) > LONGEST_SIDE {
        return Err(PhotoError::TooLarge { width, height, bits });
    }
    DynamicImage::from_decoder(decoder).map(|_| ()).map_err(told)
}

#[cfg(test)]
pub(crate) mod tests;
