//! What a file is, by its first bytes alone. What is sent along with a file is not asked: it could be anything.

/// How many of its first bytes tell.
pub const FIRST: usize = 16;

/// What a browser may do with a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileKind {
    /// A picture of the Portable Network Graphics format.
    Png,
    /// A photo.
    Jpeg,
    /// A picture of the WebP format.
    Webp,
    /// A picture of the Graphics Interchange Format.
    Gif,
    /// Sound.
    Wav,
    /// Anything else, which is saved and never shown.
    Other,
}

/// Tells by its first bytes what a file is.
pub fn of(first: &[u8]) -> FileKind {
    let riff = |form: &[u8]| first.starts_with(b"RIFF") && first.get(8..12) == Some(form);
    if first.starts_with(b"\x89PNG\r\n\x1a\n") {
        FileKind::Png
    } else if first.starts_with(b"\xff\xd8\xff") {
        FileKind::Jpeg
    } else if first.starts_with(b"GIF87a") || first.starts_with(b"GIF89a") {
        FileKind::Gif
    } else if riff(b"WEBP") {
        FileKind::Webp
    } else if riff(b"WAVE") {
        FileKind::Wav
    } else {
        FileKind::Other
    }
}

impl FileKind {
    /// Its media type.
    pub fn media_type(self) -> &'static str {
        match self {
            Self::Png => "image/png",
            Self::Jpeg => "image/jpeg",
            Self::Webp => "image/webp",
            Self::Gif => "image/gif",
            Self::Wav => "audio/wav",
            Self::Other => "application/octet-stream",
        }
    }

    /// How the name of such a file ends.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Png => "png",
            Self::Jpeg => "jpg",
            Self::Webp => "webp",
            Self::Gif => "gif",
            Self::Wav => "wav",
            Self::Other => "bin",
        }
    }

    /// Whether a browser shows it in place.
    pub fn is_shown(self) -> bool {
        self != Self::Other
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First bytes from the formats' own specifications: PNG (RFC 2083 section 3.1), JPEG (ISO/IEC 10918-1, SOI and
    /// a marker), GIF89a, WebP (RFC 9649), RIFF WAVE.
    #[test]
    fn first_bytes_tell() {
        for (first, expected) in [
            (&b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"[..], FileKind::Png),
            (b"\xff\xd8\xff\xe0\0\x10JFIF\0", FileKind::Jpeg),
            (b"GIF89a\x01\0\x01\0", FileKind::Gif),
            (b"GIF87a\x01\0\x01\0", FileKind::Gif),
            (b"RIFF\x24\0\0\0WEBPVP8 ", FileKind::Webp),
            (b"RIFF\x24\0\0\0WAVEfmt ", FileKind::Wav),
            (b"RIFF\x24\0\0\0AVI LIST", FileKind::Other),
            (b"RIFF", FileKind::Other),
            (b"<svg xmlns=", FileKind::Other),
            (b"<!doctype html>", FileKind::Other),
            (b"%PDF-1.7", FileKind::Other),
            (b"\x89PNG", FileKind::Other),
            (b"", FileKind::Other),
        ] {
            assert_eq!(of(first), expected, "{first:?}");
        }
    }
}
