//! The document as Markdown with front matter.
//!
//! Headings, lists, quotes and emphasis are CommonMark. Tables are not part of CommonMark: they are written with pipes, the
//! extension most readers know, and stay legible as plain text where it is missing. Pictures and photographs are named as files
//! beside the text; whoever writes those files is elsewhere. Front matter is YAML between two lines
//! of three hyphens, strings always quoted. Nothing of the notebook becomes markup: see [`escape`].

use storypole_drawing::{Look, Room};

use crate::document::{Block, Caution, Cell, Document, Figure, Photo, Table};

pub mod escape;
pub mod front_matter;

use escape::{inline, paragraphs};

/// Writes a document. The same document gives the same text.
pub fn markdown(document: &Document) -> String {
    let mut out = front_matter::write(document);
    out.push_str(&format!("\n# {}\n", heading(&document.title)));
    for section in &document.sections {
        out.push_str(&format!("\n## {}\n", section.topic.heading()));
        for block in &section.blocks {
            out.push('\n');
            out.push_str(&written(document, block));
        }
    }
    out
}

/// A heading is never empty, so that it stays a heading.
fn heading(title: &str) -> String {
    let title = inline(title);
    if title.is_empty() { "Write-up".to_owned() } else { title }
}

fn written(document: &Document, block: &Block) -> String {
    match block {
        Block::Paragraph(text) => {
            paragraphs(text).iter().map(|one| format!("{one}\n")).collect::<Vec<_>>().join("\n")
        }
        Block::List(points) => points.iter().map(|point| format!("- {}\n", inline(point))).collect(),
        Block::Table(table) => pipes(table),
        Block::Caution(caution) => quoted(caution),
        Block::Note(text) => format!("> Note of the program: {}\n", inline(text)),
        Block::Figure(figure) => pictured(figure),
        Block::Photo(index) => document.photos.get(*index).map(photographed).unwrap_or_default(),
    }
}

/// Where the picture of a figure lies.
pub fn picture_path(name: &str) -> String {
    format!("pictures/{name}.svg")
}

/// Where a photograph lies.
pub fn photo_path(photo: &Photo) -> String {
    format!("photos/{}", photo.name)
}

/// A figure that cannot be drawn has its caption alone.
fn pictured(figure: &Figure) -> String {
    let caption = emphasised(&figure.caption);
    match figure.chart.draw(Room::SHEET, Look::LIGHT) {
        Ok(picture) => {
            format!("![{}]({})\n{caption}", inline(&picture.alt), target(&picture_path(&figure.name)))
        }
        Err(_) => caption.trim_start().to_owned(),
    }
}

fn photographed(photo: &Photo) -> String {
    let alt = inline(&photo.caption);
    format!("![{alt}]({})\n{}", target(&photo_path(photo)), emphasised(&photo.caption))
}

/// A line below a picture; nothing where there is no caption.
fn emphasised(caption: &str) -> String {
    let caption = inline(caption);
    if caption.is_empty() { String::new() } else { format!("\n*{caption}*\n") }
}

/// An address in brackets: what could end it or part it is written as bytes of UTF-8 in hexadecimal, RFC 3986 section 2.1.
fn target(path: &str) -> String {
    let is_bare = |byte: u8| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'.' | b'_' | b'/');
    path.bytes()
        .map(|byte| if is_bare(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") })
        .collect()
}

fn pipes(table: &Table) -> String {
    let line = |cells: Vec<String>| format!("| {} |\n", cells.join(" | "));
    let mut out = format!("{}\n\n", inline(&table.caption));
    out.push_str(&line(table.heads.iter().map(|head| inline(head)).collect()));
    out.push_str(&line(table.heads.iter().map(|_| "---".to_owned()).collect()));
    for row in &table.rows {
        out.push_str(&line(row.iter().map(cell).collect()));
    }
    out
}

fn cell(cell: &Cell) -> String {
    let text = inline(&cell.text);
    if cell.is_bold && !text.is_empty() { format!("**{text}**") } else { text }
}

fn quoted(caution: &Caution) -> String {
    let read =
        (!caution.read_by.is_empty()).then(|| format!("Read by: {}.", inline(&caution.read_by.join(", "))));
    let parts = [
        format!("**Caution: {}.** {}", inline(caution.subject), inline(&caution.facts)),
        inline(&caution.text),
        format!("Source: {}.", inline(caution.source)),
    ];
    let parts: Vec<String> = parts.into_iter().chain(read).map(|part| format!("> {part}\n")).collect();
    parts.join(">\n")
}

#[cfg(test)]
mod tests;
