//! Pictures inside the page, as data in their own addresses: each is a document of its own, so that no two share an id.
//!
//! A figure is drawn for a light and a dark screen, and once more as narrow as charts can be, because twelve units of text
//! must be twelve pixels on a phone of 360. Which ground is shown is for the style, because a browser that prints
//! keeps the pictures it has chosen for the screen. Every figure has a layout for a phone, so none is moved sideways.

use data_encoding::BASE64;
use storypole_drawing::{Look, Picture, Room};

use super::escape::{attribute, auto};
use crate::document::{Figure, Photo};
use crate::files::FileError;

/// A window below this width has no room for a sheet with its margins, CSS pixels.
pub(super) const NARROW_PX: u32 = 840;
/// The room of a phone of 360 pixels within its margins of 20.
const NARROW: Room = Room { width: Room::LEAST_WIDTH, height: None };

/// The id of a figure.
pub(super) fn id(name: &str) -> String {
    let is_plain = |letter: char| letter.is_ascii_alphanumeric() || letter == '-';
    let name: String = name.chars().map(|letter| if is_plain(letter) { letter } else { '-' }).collect();
    format!("figure-{name}")
}

/// Writes a figure with its caption.
pub(super) fn figure(figure: &Figure) -> Result<String, FileError> {
    let draw = |room, look| {
        figure
            .chart
            .draw(room, look)
            .map_err(|source| FileError::Figure { name: figure.name.clone(), source })
    };
    let (light, dark) = (draw(Room::SHEET, Look::LIGHT)?, draw(Room::SHEET, Look::DARK)?);
    let (small, small_dark) = (draw(NARROW, Look::LIGHT)?, draw(NARROW, Look::DARK)?);
    let picture = [("light", light, small), ("dark", dark, small_dark)];
    let picture: String = picture.iter().map(|(class, sheet, small)| shown(class, sheet, small)).collect();
    let id = id(&figure.name);
    let caption = auto("figcaption", "", &figure.caption);
    Ok(format!("<figure id=\"{id}\">\n{picture}{caption}</figure>\n"))
}

/// One picture for one ground; the style shows that of the reader's ground, and on paper the light one.
fn shown(class: &str, sheet: &Picture, small: &Picture) -> String {
    let size = |picture: &Picture| {
        format!("width=\"{}\" height=\"{}\"", picture.width.round(), picture.height.round())
    };
    let media = format!("screen and (max-width: {}.98px)", NARROW_PX - 1);
    let source = format!("<source media=\"{media}\" srcset=\"{}\" {}>\n", address(small), size(small));
    format!(
        "<picture class=\"{class}\">\n{source}<img src=\"{}\" {} alt=\"{}\">\n</picture>\n",
        address(sheet),
        size(sheet),
        attribute(&sheet.alt)
    )
}

fn address(picture: &Picture) -> String {
    format!("data:image/svg+xml;base64,{}", BASE64.encode(picture.svg.as_bytes()))
}

/// Writes a photograph with its caption.
pub(super) fn photo(photo: &Photo) -> String {
    let alt = attribute(&photo.caption);
    let alt = if alt.is_empty() { "A photograph without a caption".to_owned() } else { alt };
    let data = BASE64.encode(&photo.bytes);
    let caption = auto("figcaption", "", &photo.caption);
    format!(
        "<figure class=\"photo\">\n<img src=\"data:{};base64,{data}\" alt=\"{alt}\">\n{caption}</figure>\n",
        photo.media_type
    )
}
