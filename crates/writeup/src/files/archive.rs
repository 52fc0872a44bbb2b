//! Files in one zip archive, to hand on or keep.
//!
//! Every file has the time 1980-01-01, the earliest a zip holds, and the same rights, so that the same files give the same
//! bytes. Leaves out folders as entries of their own: whoever unpacks makes them.
//!
//! # Source
//! APPNOTE.TXT, the published description of the zip format.

use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, System, ZipWriter};

use super::File;

/// Packs files into one folder, in order of their paths. Pictures that are packed already are stored as they are.
///
/// `folder` is the name before each path; with an empty one, paths stand alone. Paths are unique, as [`files`](super::files())
/// makes them.
pub fn archive(files: &[File], folder: &str) -> Vec<u8> {
    let mut files: Vec<&File> = files.iter().collect();
    files.sort_by(|one, other| one.path.cmp(&other.path));
    let folder = folder.trim_matches('/');
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for file in files {
        let name = if folder.is_empty() { file.path.clone() } else { format!("{folder}/{}", file.path) };
        zip.start_file(name, options(file)).expect("paths are unique, and memory takes any write");
        zip.write_all(&file.bytes).expect("memory takes any write");
    }
    zip.finish().expect("memory takes any write").into_inner()
}

fn options(file: &File) -> SimpleFileOptions {
    let is_packed = matches!(file.media_type, "image/png" | "image/jpeg");
    let method = if is_packed { CompressionMethod::Stored } else { CompressionMethod::Deflated };
    SimpleFileOptions::default()
        .compression_method(method)
        .compression_level((!is_packed).then_some(6))
        .last_modified_time(DateTime::DEFAULT)
        .system(System::Unix)
        .unix_permissions(0o644)
        .large_file(u32::try_from(file.bytes.len()).is_err())
}

#[cfg(test)]
mod tests {
    use std::io::Read;

    use zip::ZipArchive;

    use super::*;

    fn file(path: &str, media_type: &'static str, bytes: &[u8]) -> File {
        File { path: path.to_owned(), media_type, bytes: bytes.to_vec() }
    }

    fn some() -> Vec<File> {
        let long = "24.9 dB then 36.1 dB\n".repeat(400);
        vec![
            file("pictures/a.png", "image/png", &[7; 4000]),
            file("index.md", "text/markdown; charset=utf-8", long.as_bytes()),
            file("empty.txt", "text/plain; charset=utf-8", b""),
        ]
    }

    /// Goal: what goes in comes out. Source: the reader of the `zip` library.
    #[test]
    fn an_archive_reads_back() {
        let files = some();
        let bytes = archive(&files, "a-slug");
        let mut read = ZipArchive::new(Cursor::new(&bytes)).unwrap();
        let names: Vec<String> = read.file_names().map(|name| name.unwrap().into_owned()).collect();
        assert_eq!(names, ["a-slug/empty.txt", "a-slug/index.md", "a-slug/pictures/a.png"]);
        for file in &files {
            let mut entry = read.by_name(&format!("a-slug/{}", file.path)).unwrap();
            let mut content = Vec::new();
            entry.read_to_end(&mut content).unwrap();
            assert_eq!(content, file.bytes);
            let packed = file.media_type != "image/png";
            let method = if packed { CompressionMethod::Deflated } else { CompressionMethod::Stored };
            assert_eq!(entry.compression(), method);
            assert_eq!(entry.unix_mode(), Some(0o100_644));
            assert_eq!(entry.last_modified().unwrap().to_string(), "1980-01-01 00:00:00");
        }
        assert!(bytes.len() < 6000, "texts are packed: {}", bytes.len());
    }

    #[test]
    fn the_same_files_in_any_order_give_the_same_bytes() {
        let mut files = some();
        let once = archive(&files, "x");
        files.reverse();
        assert_eq!(archive(&files, "/x/"), once);
        assert_ne!(archive(&files, "y"), once);
        let bare = archive(&files, "");
        assert!(ZipArchive::new(Cursor::new(bare)).unwrap().by_name("index.md").is_ok());
    }
}
