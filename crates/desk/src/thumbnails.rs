//! Small copies of pictures: made once, when they are asked for first, and kept beside the notebook. They can be
//! deleted at any time and are in no backup. Leaves out pictures of other formats than JPEG and PNG.

use std::fs;
use std::io::{BufReader, Cursor};
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits, Rgba};
use storypole_store::attachments::AttachmentError;

use crate::Desk;

/// The longest side, pixels (convention of this project: a row of three fits a phone).
pub const LONGEST_PX: u32 = 320;

/// The largest picture that is looked at, pixels: more than cameras of phones make.
const MOST_PX: u64 = 64_000_000;

/// Bytes that a picture may take while it is made small: four times [`MOST_PX`], and as much again to work with.
const MOST_BYTES: u64 = 8 * MOST_PX;

/// How good the small copy is, of 100 (convention of this project).
const QUALITY: u8 = 80;

/// First bytes that tell a format.
const FIRST: u64 = 16;

/// One picture is made small at a time: a large one takes much memory.
static MAKING: Mutex<()> = Mutex::new(());

/// Why there is no small copy.
#[derive(Debug, thiserror::Error)]
pub enum ThumbnailError {
    /// It is of no format that is looked at.
    #[error("the file is no picture of the formats JPEG and PNG: open the file itself")]
    NoPicture,
    /// It is broken.
    #[error("the picture cannot be read: open the file itself, and see whether its original is whole")]
    Broken { source: image::ImageError },
    /// It is too large to look at.
    #[error(
        "the picture has {pixels} pixels, more than the {MOST_PX} that are looked at: open the file itself"
    )]
    TooLarge { pixels: u64 },
    /// The file.
    #[error(transparent)]
    File(#[from] AttachmentError),
}

impl Desk {
    /// A small copy of a picture, as JPEG, upright.
    ///
    /// # Errors
    /// [`ThumbnailError`].
    pub fn thumbnail(&self, hash: &[u8; 32]) -> Result<Vec<u8>, ThumbnailError> {
        let name = format!("{}.jpg", blake3::Hash::from_bytes(*hash).to_hex());
        let place = self.thumbnails().join(name);
        if let Some(made) = fs::read(&place).ok().filter(|made| is_whole(made)) {
            return Ok(made);
        }
        let _one_at_a_time = MAKING.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(made) = fs::read(&place).ok().filter(|made| is_whole(made)) {
            return Ok(made);
        }
        // What is no picture is not read to its end: it may be a long video.
        let format = format_of(&self.attachments().beginning(hash, FIRST)?)?;
        let (file, _) = self.attachments().open_verified(hash)?;
        let made = small(BufReader::new(file), format)?;
        if !self.only_reads() {
            // Only a courtesy to the next who asks: one that cannot be kept is made again.
            let _ = keep(&place, &made);
        }
        Ok(made)
    }
}

fn format_of(first: &[u8]) -> Result<ImageFormat, ThumbnailError> {
    let format = image::guess_format(first).map_err(|_| ThumbnailError::NoPicture)?;
    let is_read = matches!(format, ImageFormat::Jpeg | ImageFormat::Png);
    is_read.then_some(format).ok_or(ThumbnailError::NoPicture)
}

/// Makes a picture small and upright.
fn small(
    picture: impl std::io::BufRead + std::io::Seek,
    format: ImageFormat,
) -> Result<Vec<u8>, ThumbnailError> {
    let broken = |source| ThumbnailError::Broken { source };
    let mut reader = ImageReader::with_format(picture, format);
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MOST_BYTES);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(broken)?;
    let (width, height) = decoder.dimensions();
    let pixels = u64::from(width) * u64::from(height);
    if pixels > MOST_PX {
        return Err(ThumbnailError::TooLarge { pixels });
    }
    // A picture without a word on which side is up is taken as it lies.
    let orientation = decoder.orientation().unwrap_or(image::metadata::Orientation::NoTransforms);
    let whole = DynamicImage::from_decoder(decoder).map_err(broken)?;
    let mut small =
        if width.max(height) > LONGEST_PX { whole.thumbnail(LONGEST_PX, LONGEST_PX) } else { whole };
    small.apply_orientation(orientation);
    let mut made = Cursor::new(Vec::new());
    on_white(&small).write_with_encoder(JpegEncoder::new_with_quality(&mut made, QUALITY)).map_err(broken)?;
    Ok(made.into_inner())
}

/// JPEG knows no transparency: what is seen through becomes white.
fn on_white(picture: &DynamicImage) -> DynamicImage {
    if !picture.color().has_alpha() {
        return DynamicImage::ImageRgb8(picture.to_rgb8());
    }
    let mut pixels = picture.to_rgba8();
    for Rgba([red, green, blue, alpha]) in pixels.pixels_mut() {
        for colour in [red, green, blue] {
            let shown = (u32::from(*colour) * u32::from(*alpha) + 255 * (255 - u32::from(*alpha))) / 255;
            *colour = u8::try_from(shown).unwrap_or(u8::MAX);
        }
    }
    DynamicImage::ImageRgb8(DynamicImage::ImageRgba8(pixels).to_rgb8())
}

/// Whether a small copy was written to its end: it begins and ends as a JPEG does (ITU-T T.81, table B.1).
fn is_whole(made: &[u8]) -> bool {
    made.starts_with(&[0xff, 0xd8]) && made.ends_with(&[0xff, 0xd9])
}

fn keep(place: &Path, made: &[u8]) -> std::io::Result<()> {
    let new = place.with_extension("new");
    fs::create_dir_all(place.parent().unwrap_or(place))?;
    fs::write(&new, made).and_then(|()| fs::rename(&new, place)).inspect_err(|_| {
        let _ = fs::remove_file(&new);
    })
}

#[cfg(test)]
mod tests;
