//! The document as Markdown with front matter.
//!
//! Headings, lists, quotes and emphasis are CommonMark. Tables are not part of CommonMark: they are written with pipes, the
//! extension most readers know, and stay legible as plain text where it is missing. Front matter is YAML between two lines
//! of three hyphens, strings always quoted. Nothing of the notebook becomes markup: see [`escape`].

use crate::document::{Block, Caution, Cell, Document, Table};

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
            out.push_str(&written(block));
        }
    }
    out
}

/// A heading is never empty, so that it stays a heading.
fn heading(title: &str) -> String {
    let title = inline(title);
    if title.is_empty() { "Write-up".to_owned() } else { title }
}

fn written(block: &Block) -> String {
    match block {
        Block::Paragraph(text) => {
            paragraphs(text).iter().map(|one| format!("{one}\n")).collect::<Vec<_>>().join("\n")
        }
        Block::List(points) => points.iter().map(|point| format!("- {}\n", inline(point))).collect(),
        Block::Table(table) => pipes(table),
        Block::Caution(caution) => quoted(caution),
        Block::Note(text) => format!("> {}\n", inline(text)),
        Block::Figure(_) | Block::Photo(_) => String::new(),
    }
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
