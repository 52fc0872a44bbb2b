//! Photographs made here: pictures of the image library, with all the notes a camera writes put in by hand.

use std::io::Cursor;

use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Rgb, RgbImage};
use proptest::prelude::*;

use super::*;

/// Words that must not get out; invented.
pub(crate) const SECRETS: [&[u8]; 7] = [
    b"SERIAL-00417-X",
    b"GPSLatitude",
    b"Maker notes of nobody",
    b"http://ns.adobe.com/xap/1.0/",
    b"A comment with a name",
    b"behind the picture",
    b"profile of a screen",
];

fn pixels() -> RgbImage {
    RgbImage::from_fn(37, 23, |x, y| Rgb([(x * 6) as u8, (y * 11) as u8, (x * y) as u8]))
}

fn encoded(format: ImageFormat) -> Vec<u8> {
    let mut out = Cursor::new(Vec::new());
    DynamicImage::ImageRgb8(pixels()).write_to(&mut out, format).unwrap();
    out.into_inner()
}

fn decoded(bytes: &[u8]) -> (RgbImage, image::metadata::Orientation) {
    let format = image::guess_format(bytes).unwrap();
    let mut decoder = ImageReader::with_format(Cursor::new(bytes), format).into_decoder().unwrap();
    let orientation = decoder.orientation().unwrap();
    (DynamicImage::from_decoder(decoder).unwrap().into_rgb8(), orientation)
}

fn has(bytes: &[u8], wanted: &[u8]) -> bool {
    bytes.windows(wanted.len()).any(|part| part == wanted)
}

/// An Exif block as cameras write it: the orientation between a serial, a place and notes; Exif 2.32 tags 0xA431, 0x8825, 0x927C.
fn exif(orientation: u16, little: bool) -> Vec<u8> {
    let two = |value: u16| if little { value.to_le_bytes() } else { value.to_be_bytes() };
    let four = |value: u32| if little { value.to_le_bytes() } else { value.to_be_bytes() };
    let mut block = if little { b"II\x2a\0".to_vec() } else { b"MM\0\x2a".to_vec() };
    block.extend(four(8));
    let entries: [(u16, u16, u32, Vec<u8>); 4] = [
        (0x0112, 3, 1, [two(orientation).to_vec(), vec![0, 0]].concat()),
        (0x8825, 4, 1, four(62).to_vec()),
        (0x927C, 7, 21, four(62).to_vec()),
        (0xA431, 2, 14, four(62).to_vec()),
    ];
    block.extend(two(u16::try_from(entries.len()).unwrap()));
    for (tag, kind, count, value) in entries {
        block.extend([two(tag), two(kind)].concat());
        block.extend(four(count));
        block.extend(value);
    }
    block.extend(four(0));
    for secret in &SECRETS[..3] {
        block.extend(*secret);
    }
    block
}

fn segment(marker: u8, content: &[u8]) -> Vec<u8> {
    let length = u16::try_from(content.len() + 2).unwrap().to_be_bytes();
    [&[0xFF, marker], length.as_slice(), content].concat()
}

/// A JPEG with everything in it that cameras and programs write.
pub(crate) fn noted_jpeg(orientation: u16, little: bool) -> Vec<u8> {
    let plain = encoded(ImageFormat::Jpeg);
    let exif = [b"Exif\0\0".as_slice(), &exif(orientation, little)].concat();
    let notes = [
        segment(0xE1, &exif),
        segment(0xE1, &[SECRETS[3], b"\0<x:xmpmeta>", SECRETS[0], b"</x:xmpmeta>"].concat()),
        segment(0xE2, &[b"ICC_PROFILE\0\x01\x01".as_slice(), SECRETS[6]].concat()),
        segment(0xED, &[b"Photoshop 3.0\0".as_slice(), SECRETS[0]].concat()),
        segment(0xFE, SECRETS[4]),
        segment(0xE0, &[b"JFXX\0\x10".as_slice(), SECRETS[5]].concat()),
    ];
    [&plain[..2], &notes.concat(), &plain[2..], SECRETS[5]].concat()
}

fn chunk(name: &[u8; 4], content: &[u8]) -> Vec<u8> {
    let length = u32::try_from(content.len()).unwrap().to_be_bytes();
    [&length, name.as_slice(), content, &png::checksum(name, content).to_be_bytes()].concat()
}

fn noted_png(orientation: u16) -> Vec<u8> {
    let plain = encoded(ImageFormat::Png);
    // The signature, and 25 bytes of the first chunk.
    let (head, rest) = plain.split_at(33);
    let notes = [
        chunk(b"tEXt", &[b"Comment\0".as_slice(), SECRETS[4]].concat()),
        chunk(b"iTXt", &[b"XML:com.adobe.xmp\0\0\0\0\0".as_slice(), SECRETS[3]].concat()),
        chunk(b"eXIf", &exif(orientation, false)),
        chunk(b"tIME", &[7, 0xE9, 3, 4, 12, 0, 0]),
        chunk(b"pHYs", &[0, 0, 11, 19, 0, 0, 11, 19, 1]),
        chunk(b"gAMA", &[0, 0, 0xB1, 0x8F]),
        chunk(b"prVt", SECRETS[0]),
    ];
    [head, &notes.concat(), rest, SECRETS[5]].concat()
}

/// Whoever looks for the secrets finds none, and the pixels are those of the original, decoded by a library of its own.
fn is_stripped(original: &[u8], orientation: u8) {
    assert!(SECRETS.iter().any(|secret| has(original, secret)), "there is something to take out");
    let left = stripped(original).unwrap();
    for secret in SECRETS.iter().copied().chain([b"GPS".as_slice(), b"ICC", b"tIME", b"Photoshop", b"x:xmp"])
    {
        assert!(!has(&left.bytes, secret), "{}", String::from_utf8_lossy(secret));
    }
    let ((before, _), (after, turned)) = (decoded(original), decoded(&left.bytes));
    assert_eq!(before, after);
    assert_eq!(turned.to_exif(), orientation);
    assert_eq!(left.gone, original.len() - left.bytes.len());
    assert_eq!(stripped(&left.bytes).unwrap().bytes, left.bytes, "once is enough");
}

#[test]
fn a_jpeg_keeps_its_pixels_and_its_turn_and_nothing_else() {
    for (orientation, little) in [(1, true), (6, true), (8, false), (3, false)] {
        is_stripped(&noted_jpeg(orientation, little), u8::try_from(orientation).unwrap());
    }
    // A turn that cannot be is none.
    is_stripped(&noted_jpeg(9, true), 1);
    assert!(!has(&stripped(&noted_jpeg(1, true)).unwrap().bytes, b"Exif"), "nothing to say, nothing said");
}

#[test]
fn a_png_keeps_its_pixels_and_its_turn_and_nothing_else() {
    for orientation in [1, 6, 2] {
        is_stripped(&noted_png(orientation), u8::try_from(orientation).unwrap());
    }
    let left = stripped(&noted_png(1)).unwrap();
    assert_eq!(left.media_type, "image/png");
    assert!(has(&left.bytes, b"gAMA") && !has(&left.bytes, b"pHYs"));
}

#[test]
fn a_wide_pixel_and_the_colour_mark_stay() {
    let plain = encoded(ImageFormat::Jpeg);
    let jfif = segment(0xE0, b"JFIF\0\x01\x02\x01\0\x48\0\x90\x01\x01abc");
    let adobe = segment(0xEE, b"Adobe\0\x64\x80\0\0\0\x01secret");
    let with = [&plain[..2], &jfif, &adobe, &plain[2..]].concat();
    let left = stripped(&with).unwrap();
    assert!(has(&left.bytes, b"JFIF\0\x01\x01\0\0\x48\0\x90\0\0") && !has(&left.bytes, b"abc"));
    assert!(has(&left.bytes, b"Adobe\0\x64\0\0\0\0\x01") && !has(&left.bytes, b"secret"));
}

#[test]
fn what_cannot_be_read_says_why() {
    let jpeg = noted_jpeg(6, true);
    let png = noted_png(6);
    let why = |bytes: &[u8]| stripped(bytes).unwrap_err().to_string();
    assert_eq!(why(b"GIF89a"), "it is neither JPEG nor PNG");
    assert_eq!(why(b""), "it is neither JPEG nor PNG");
    for cut in [&jpeg[..40], &encoded(ImageFormat::Jpeg)[..600], &png[..60], &png[..9]] {
        assert!(why(cut).contains("ends in the middle"), "{}", why(cut));
    }
    let mut damaged = png.clone();
    damaged[20] ^= 1;
    assert!(why(&damaged).contains("checksum"), "{}", why(&damaged));
    let unknown = [&png[..33], &chunk(b"NEWx", b""), &png[33..]].concat();
    assert!(why(&unknown).contains("not known here"), "{}", why(&unknown));
    assert!(why(&[0xFF, 0xD8, 0xFF, 0xD9]).contains("no picture"));
    // A frame of 65535 by 65535 pixels, in a file of a few hundred bytes.
    let mut huge = encoded(ImageFormat::Jpeg);
    let frame = huge.windows(2).position(|mark| mark == [0xFF, 0xC0]).unwrap();
    huge[frame + 5..frame + 9].fill(0xFF);
    assert!(why(&huge).contains("more than can be looked through"), "{}", why(&huge));
    let mut wide = encoded(ImageFormat::Png);
    wide[16..24].copy_from_slice(&[0, 1, 0, 0, 0, 1, 0, 0]);
    let sum = png::checksum(b"IHDR", &wide[16..29]).to_be_bytes();
    wide[29..33].copy_from_slice(&sum);
    assert!(why(&wide).contains("more than can be looked through"), "{}", why(&wide));
}

/// A PNG that says it is so large, and ends soon after.
fn said_to_be(width: u32, height: u32, depth: u8, colour: u8) -> Vec<u8> {
    let mut large = encoded(ImageFormat::Png);
    large[16..20].copy_from_slice(&width.to_be_bytes());
    large[20..24].copy_from_slice(&height.to_be_bytes());
    (large[24], large[25]) = (depth, colour);
    let sum = png::checksum(b"IHDR", &large[16..29]).to_be_bytes();
    large[29..33].copy_from_slice(&sum);
    large
}

/// PNG Specification 11.2.1: colour 2 has three parts for each pixel, 6 four; depth is bits of a part.
#[test]
fn a_small_file_cannot_ask_for_much_memory() {
    for (width, height, depth, colour, bits) in [
        (10_000, 10_000, 16, 2, 48),
        (8_000, 6_000, 16, 6, 64),
        (7_100, 7_100, 8, 2, 24),
        (70_000, 1, 8, 2, 24),
    ] {
        let refused = stripped(&said_to_be(width, height, depth, colour)).unwrap_err();
        assert_eq!(refused, PhotoError::TooLarge { width, height, bits });
        let said = refused.to_string();
        assert!(
            said.starts_with(&format!("it has {width} by {height} pixels"))
                && said.ends_with("save a smaller copy")
        );
    }
    // Within the limits it is looked through, and found to end too soon.
    let refused = stripped(&said_to_be(2_000, 1_000, 8, 2)).unwrap_err();
    assert!(matches!(refused, PhotoError::Broken { .. }), "{refused}");
}

/// PNG Specification annex D gives the algorithm; 0xAE426082 ends every PNG there is, the checksum of an empty last chunk.
#[test]
fn the_checksum_is_the_published_one() {
    assert_eq!(png::checksum(b"IEND", &[]), 0xAE42_6082);
    // The check value of CRC-32/ISO-HDLC, of the digits 1 to 9, as catalogues of checksums print it.
    assert_eq!(png::checksum(b"1234", b"56789"), 0xCBF4_3926);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn cut_or_changed_files_never_panic(
        is_png in any::<bool>(),
        cut in 0usize..2500,
        changes in proptest::collection::vec((0usize..2500, any::<u8>()), 0..6),
    ) {
        let mut bytes = if is_png { noted_png(6) } else { noted_jpeg(6, true) };
        for (at, to) in changes {
            if let Some(byte) = bytes.get_mut(at) {
                *byte = to;
            }
        }
        bytes.truncate(cut);
        if let Ok(left) = stripped(&bytes) {
            prop_assert!(stripped(&left.bytes).is_ok());
        }
    }

    #[test]
    fn any_bytes_never_panic(rest in proptest::collection::vec(any::<u8>(), 0..400), is_png in any::<bool>()) {
        let start: &[u8] = if is_png { &png::SIGNATURE } else { &jpeg::START };
        let _ = stripped(&[start, &rest].concat());
    }
}
