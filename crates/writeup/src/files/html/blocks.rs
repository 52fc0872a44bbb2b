//! Sections and their blocks, and the contents that lead to them.

use super::escape::{auto, span, text};
use super::figures;
use crate::document::{Block, Caution, Cell, Document, Section, Table};
use crate::files::FileError;
use crate::markdown::escape::plain_paragraphs;

/// The sections with their ids.
pub(super) struct Contents<'a> {
    sections: Vec<(String, &'a Section)>,
}

impl<'a> Contents<'a> {
    /// Gives each section an id from its heading; a second one of the same heading gets a number.
    pub(super) fn of(document: &'a Document) -> Self {
        let mut sections: Vec<(String, &Section)> = Vec::new();
        for section in &document.sections {
            let earlier = sections.iter().filter(|(_, other)| other.topic == section.topic).count();
            let heading = section.topic.heading().to_ascii_lowercase();
            let words: Vec<&str> = heading.split(|letter: char| !letter.is_ascii_alphanumeric()).collect();
            let words: Vec<&str> = words.into_iter().filter(|word| !word.is_empty()).collect();
            let id = words.join("-");
            sections.push((if earlier == 0 { id } else { format!("{id}-{}", earlier + 1) }, section));
        }
        Self { sections }
    }

    /// The list of sections; nothing where there are none.
    pub(super) fn list(&self) -> String {
        if self.sections.is_empty() {
            return String::new();
        }
        let mut out =
            "<nav aria-labelledby=\"contents\">\n<h2 id=\"contents\">Contents</h2>\n<ol>\n".to_owned();
        for (id, section) in &self.sections {
            out.push_str(&format!("<li><a href=\"#{id}\">{}</a></li>\n", text(section.topic.heading())));
        }
        out.push_str("</ol>\n</nav>\n");
        out
    }

    /// All sections.
    pub(super) fn sections(&self, document: &Document) -> Result<String, FileError> {
        let mut out = String::new();
        let mut tables = 0;
        for (id, section) in &self.sections {
            let heading = text(section.topic.heading());
            out.push_str(&format!("<section>\n<h2 id=\"{id}\">{heading}</h2>\n"));
            for block in &section.blocks {
                out.push_str(&written(document, block, &mut tables)?);
            }
            out.push_str("</section>\n");
        }
        Ok(out)
    }
}

/// Writes a block. Tables are counted through the page, so that no two have the same name.
fn written(document: &Document, block: &Block, tables: &mut usize) -> Result<String, FileError> {
    Ok(match block {
        Block::Paragraph(text) => {
            plain_paragraphs(text).iter().map(|paragraph| auto("p", "", paragraph)).collect()
        }
        Block::List(points) => {
            let points: String = points.iter().map(|point| auto("li", "", point)).collect();
            if points.is_empty() { points } else { format!("<ul>\n{points}</ul>\n") }
        }
        Block::Table(written) => {
            *tables += 1;
            table(written, *tables)
        }
        Block::Caution(shown) => caution(shown),
        Block::Figure(figure) => figures::figure(figure)?,
        Block::Photo(index) => document.photos.get(*index).map(figures::photo).unwrap_or_default(),
        Block::Note(note) => {
            format!("<div class=\"note\"><p><strong>Note of the program:</strong> {}</p></div>\n", span(note))
        }
    })
}

/// More columns than this are printed small and with words broken, so that none is cut off. By trial, on A4.
const MANY_COLUMNS: usize = 12;

/// More columns than this reach beyond the text on a wide screen. By trial, at 1366 pixels.
const BROAD_COLUMNS: usize = 8;

/// A table with its caption, in a part of the page that is moved sideways where it has no room.
fn table(table: &Table, number: usize) -> String {
    let name = text(&table.caption);
    let name = if name.is_empty() { name } else { format!(" <bdi>{name}</bdi>") };
    let columns = table.heads.len();
    let class = if columns > MANY_COLUMNS {
        "wide broad many"
    } else if columns > BROAD_COLUMNS {
        "wide broad"
    } else {
        "wide"
    };
    let mut out = format!(
        "<section class=\"{class}\" tabindex=\"0\" aria-labelledby=\"table-{number}\">\n<table>\n\
         <caption><span id=\"table-{number}\">Table {number}.{name}</span></caption>\n<thead>\n<tr>"
    );
    for head in &table.heads {
        out.push_str(&cell("th", " scope=\"col\"", &Cell::plain(head)));
    }
    out.push_str("</tr>\n</thead>\n<tbody>\n");
    for row in &table.rows {
        out.push_str("<tr>");
        for (index, one) in row.iter().enumerate() {
            out.push_str(&if index == 0 { cell("th", " scope=\"row\"", one) } else { cell("td", "", one) });
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n</section>\n");
    out
}

/// A cell; one without words is no head of anything.
fn cell(name: &str, scope: &str, cell: &Cell) -> String {
    match text(&cell.text) {
        words if words.is_empty() => "<td></td>".to_owned(),
        words if cell.is_bold => format!("<{name}{scope} dir=\"auto\"><strong>{words}</strong></{name}>"),
        words => format!("<{name}{scope} dir=\"auto\">{words}</{name}>"),
    }
}

fn caution(caution: &Caution) -> String {
    let mut out = format!(
        "<div class=\"caution\">\n<p><strong>Caution: {}.</strong> {}</p>\n",
        text(caution.subject),
        span(&caution.facts)
    );
    out.push_str(&auto("p", "", &caution.text));
    out.push_str(&auto("p", "source", &format!("Source: {}.", caution.source)));
    if !caution.read_by.is_empty() {
        out.push_str(&auto("p", "source", &format!("Read by: {}.", caution.read_by.join(", "))));
    }
    out.push_str("</div>\n");
    out
}
