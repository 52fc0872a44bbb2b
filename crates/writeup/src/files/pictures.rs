//! The text as Markdown with its pictures and photographs beside it.
//!
//! Each figure is there three times: on paper, for a dark ground, and narrow for a phone. The text names the first.

use storypole_drawing::{Look, Room};

use super::{File, FileError};
use crate::document::{Document, Figure};
use crate::markdown::{markdown as text, photo_path, picture_path};

/// `index.md`, the figures at `pictures/` and the photographs at `photos/`.
///
/// # Errors
/// [`FileError`] where a figure cannot be drawn.
pub fn markdown(document: &Document) -> Result<Vec<File>, FileError> {
    let bytes = text(document).into_bytes();
    let mut files =
        vec![File { path: "index.md".to_owned(), media_type: "text/markdown; charset=utf-8", bytes }];
    for figure in document.figures() {
        files.extend(pictures(figure)?);
    }
    files.extend(document.photos.iter().map(|photo| File {
        path: photo_path(photo),
        media_type: photo.media_type,
        bytes: photo.bytes.to_vec(),
    }));
    Ok(files)
}

fn pictures(figure: &Figure) -> Result<Vec<File>, FileError> {
    let kinds = [
        (figure.name.clone(), Room::SHEET, Look::LIGHT),
        (format!("{}-dark", figure.name), Room::SHEET, Look::DARK),
        (format!("{}-phone", figure.name), Room::PHONE, Look::LIGHT),
    ];
    let drawn = kinds.into_iter().map(|(name, room, look)| {
        let picture = figure
            .chart
            .draw(room, look)
            .map_err(|source| FileError::Figure { name: figure.name.clone(), source })?;
        let bytes = picture.svg.into_bytes();
        Ok(File { path: picture_path(&name), media_type: "image/svg+xml", bytes })
    });
    drawn.collect()
}

#[cfg(test)]
mod tests {
    use storypole_drawing::ChartError;

    use super::*;
    use crate::files::html::tests::{full, undrawable};

    /// Goal: every file the text names lies beside it. Method: read the addresses of all pictures in the text.
    #[test]
    fn what_the_text_names_is_there() {
        let files = markdown(&full()).unwrap();
        let paths: Vec<&str> = files.iter().map(|file| file.path.as_str()).collect();
        assert_eq!(
            paths,
            [
                "index.md",
                "pictures/section.svg",
                "pictures/section-dark.svg",
                "pictures/section-phone.svg",
                "photos/boxes.png"
            ]
        );
        let text = String::from_utf8(files[0].bytes.clone()).unwrap();
        let named: Vec<&str> = text.split("](").skip(1).map(|rest| rest.split(')').next().unwrap()).collect();
        assert_eq!(named, ["pictures/section.svg", "photos/boxes.png"]);
        assert!(text.contains("*Section of A03 \\[cut\\], to scale*\n"), "{text}");
        assert!(text.contains("> Note of the program: "), "{text}");
    }

    #[test]
    fn a_figure_that_cannot_be_drawn_is_an_error_with_its_name() {
        let error = markdown(&undrawable()).unwrap_err();
        assert_eq!(error, FileError::Figure { name: "stages".into(), source: ChartError::Nothing });
    }
}
