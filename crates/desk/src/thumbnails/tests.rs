//! Pictures made small: large, turned, transparent, broken, and what is no picture.

use image::{ImageEncoder, RgbImage, RgbaImage};
use storypole_journal::WrittenAt;
use storypole_units::Currency;

use super::*;
use crate::Founding;

fn found(path: &Path) -> Desk {
    let founding = Founding {
        name: "Millrace house".to_owned(),
        currency: Currency::parse("USD").unwrap(),
        role: "site lead".to_owned(),
        label: "lead".to_owned(),
        device_label: "box".to_owned(),
        written_at: WrittenAt { unix_ms: 1_741_100_400_000, offset_min: -300 },
    };
    Desk::found(path, &founding).unwrap()
}

/// Left half red, right half blue.
fn halves(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, _| {
        image::Rgb(if x < width / 2 { [220, 20, 20] } else { [20, 20, 220] })
    })
}

fn jpeg(picture: &RgbImage, exif: Option<Vec<u8>>) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut bytes, 90);
    if let Some(exif) = exif {
        encoder.set_exif_metadata(exif).unwrap();
    }
    encoder.encode_image(picture).unwrap();
    bytes
}

fn png(picture: &DynamicImage) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, ImageFormat::Png).unwrap();
    bytes.into_inner()
}

/// The orientation as a camera writes it: a TIFF block with the one tag 0x0112 (Exif 2.32, section 4.6.4).
fn turned(orientation: u8) -> Vec<u8> {
    let mut exif = b"II*\0\x08\0\0\0\x01\0".to_vec();
    exif.extend([0x12, 0x01, 3, 0, 1, 0, 0, 0, orientation, 0, 0, 0, 0, 0, 0, 0]);
    exif
}

fn made_of(bytes: &[u8]) -> RgbImage {
    let made = small(Cursor::new(bytes), format_of(bytes).unwrap()).unwrap();
    image::load_from_memory_with_format(&made, ImageFormat::Jpeg).unwrap().to_rgb8()
}

#[test]
fn the_longest_side_is_320() {
    for (size, expected) in
        [((1600, 800), (320, 160)), ((90, 3000), (10, 320)), ((321, 10), (320, 10)), ((40, 30), (40, 30))]
    {
        let picture = halves(size.0, size.1);
        assert_eq!(made_of(&jpeg(&picture, None)).dimensions(), expected, "{size:?}");
        assert_eq!(made_of(&png(&picture.into())).dimensions(), expected, "{size:?}");
    }
}

#[test]
fn a_picture_stands_upright() {
    let is_red = |picture: &RgbImage, x: u32, y: u32| picture.get_pixel(x, y)[0] > 128;
    let picture = halves(800, 400);
    let as_it_lies = made_of(&jpeg(&picture, Some(turned(1))));
    assert!(is_red(&as_it_lies, 20, 80) && !is_red(&as_it_lies, 300, 80));
    let on_its_head = made_of(&jpeg(&picture, Some(turned(3))));
    assert!(!is_red(&on_its_head, 20, 80) && is_red(&on_its_head, 300, 80));
    // Orientation 6: the camera was turned, the first column is the top (Exif 2.32, section 4.6.4).
    let quarter = made_of(&jpeg(&picture, Some(turned(6))));
    assert_eq!(quarter.dimensions(), (160, 320));
    assert!(is_red(&quarter, 80, 20) && !is_red(&quarter, 80, 300));
}

#[test]
fn what_is_seen_through_becomes_white() {
    let clear = RgbaImage::from_pixel(400, 400, image::Rgba([0, 0, 0, 0]));
    let pixel = *made_of(&png(&clear.into())).get_pixel(100, 100);
    assert!(pixel.0.iter().all(|colour| *colour > 250), "{pixel:?}");
}

#[test]
fn a_small_copy_is_made_once() {
    let folder = tempfile::tempdir().unwrap();
    let desk = found(folder.path());
    let hash = desk.keep_file(&mut &jpeg(&halves(900, 600), None)[..]).unwrap().hash;
    let made = desk.thumbnail(&hash).unwrap();
    let kept = fs::read_dir(folder.path().join("thumbnails")).unwrap().next().unwrap().unwrap().path();
    assert_eq!(fs::read(&kept).unwrap(), made);
    // What is kept is what is given; half a copy is not.
    let other = jpeg(&halves(9, 6), None);
    fs::write(&kept, &other).unwrap();
    assert_eq!(desk.thumbnail(&hash).unwrap(), other);
    fs::write(&kept, &other[..other.len() / 2]).unwrap();
    assert_eq!(desk.thumbnail(&hash).unwrap(), made);
    fs::remove_dir_all(folder.path().join("thumbnails")).unwrap();
    assert_eq!(desk.thumbnail(&hash).unwrap(), made);
}

#[test]
fn what_is_no_picture_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let desk = found(folder.path());
    let thumbnail = |content: &[u8]| desk.thumbnail(&desk.keep_file(&mut &content[..]).unwrap().hash);
    for content in [&b"a receipt"[..], b"GIF89a\x01\0\x01\0\0\0\0", b"RIFF\x24\0\0\0WAVEfmt ", b"x"] {
        assert!(matches!(thumbnail(content), Err(ThumbnailError::NoPicture)), "{content:?}");
    }
    assert!(matches!(thumbnail(b"\xff\xd8\xff\xe0 and no more"), Err(ThumbnailError::Broken { .. })));
    let missing = desk.thumbnail(&[7; 32]);
    assert!(matches!(missing, Err(ThumbnailError::File(AttachmentError::Missing))));
}

/// A picture may say that it is as large as it likes: nothing is set aside for it.
#[test]
fn a_huge_picture_is_not_looked_at() {
    let mut huge = png(&halves(8, 8).into());
    huge[16..20].copy_from_slice(&60_000u32.to_be_bytes());
    huge[20..24].copy_from_slice(&60_000u32.to_be_bytes());
    let sum = crc(&huge[12..29]);
    huge[29..33].copy_from_slice(&sum.to_be_bytes());
    let refused = small(Cursor::new(&huge), ImageFormat::Png).unwrap_err();
    assert!(matches!(refused, ThumbnailError::TooLarge { pixels: 3_600_000_000 }), "{refused:?}");
}

/// The check of a PNG chunk (ISO/IEC 15948, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |sum, byte| {
        (0..8).fold(
            sum ^ u32::from(*byte),
            |sum, _| if sum & 1 == 1 { sum >> 1 ^ 0xedb8_8320 } else { sum >> 1 },
        )
    })
}

/// Pictures broken at a few hundred places, always the same ones: each is made small or refused.
#[test]
fn broken_pictures_are_refused_or_made_and_nothing_else() {
    let picture = halves(40, 30);
    let (mut refused, mut state) = (0, 17u64);
    for good in [jpeg(&picture, Some(turned(6))), png(&picture.into())] {
        let format = format_of(&good).unwrap();
        for cut in 0..good.len() {
            refused += u32::from(small(Cursor::new(&good[..cut]), format).is_err());
        }
        for _ in 0..400 {
            let mut broken = good.clone();
            for _ in 0..3 {
                // Numbers of Knuth's MMIX generator.
                state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                let at = usize::try_from(state >> 33).unwrap() % broken.len();
                broken[at] ^= (state >> 20) as u8 | 1;
            }
            refused += u32::from(small(Cursor::new(&broken), format).is_err());
        }
    }
    assert!(refused > 400, "{refused}");
}
