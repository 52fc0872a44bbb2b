//! A write-up before it goes out: what is in it, what leaves the notebook with it, and what its author should know.

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_writeup::document::Stale;
use storypole_writeup::files::{post, sha256};
use storypole_writeup::{Block, Document, File, Headline};

use super::past;
use crate::handout::HASHES;
use crate::hex;
use crate::publish::Published;

/// What a write-up holds and tells, with the files that were made of it.
pub fn preview(book: &Book, published: &Published, files: &[File]) -> Value {
    let document = &published.document;
    let figures: Vec<Value> =
        document.figures().map(|figure| json!({ "name": figure.name, "caption": figure.caption })).collect();
    json!({
        "title": document.title,
        "slug": document.slug,
        "date": document.date.to_string(),
        "updated": document.updated.map(|day| day.to_string()),
        "summary": document.summary,
        "writeup": published.writeup.map(|id| past::anywhere(book, id).json()),
        "about": published.subject.records().iter().map(|id| past::anywhere(book, *id).json()).collect::<Vec<_>>(),
        "words_from": published.words_from,
        "jobs": document.jobs,
        "tests": document.tests,
        "disclosure": document.disclosure,
        "licence": document.licence,
        "link": document.link,
        "headlines": document.headlines.iter().map(headline).collect::<Vec<_>>(),
        "sections": sections(document),
        "figures": figures,
        "parts": document.parts.iter().map(|part| json!({
            "name": part.name, "words": part.words, "left_out": part.is_out,
        })).collect::<Vec<_>>(),
        "photos": document.photos.iter().map(|photo| json!({
            "name": photo.name, "caption": photo.caption, "bytes": photo.bytes.len(), "taken_out_bytes": photo.stripped,
        })).collect::<Vec<_>>(),
        "pictures": published.pinned.iter().filter_map(|id| picture(book, *id)).collect::<Vec<_>>(),
        "stale": document.stale_since_last.iter().map(stale).collect::<Vec<_>>(),
        "told": document.told.told.iter().map(|(what, words)| json!({ "what": what, "words": words })).collect::<Vec<_>>(),
        "kept_back": document.told.kept_back.iter().map(|(what, count)| json!({ "what": what, "count": count })).collect::<Vec<_>>(),
        "warnings": published.warnings,
        "numbers": storypole_writeup::numbers_text(&document.numbers),
        "post": post::text(document, post::POST_LIMIT),
        "hash": files.iter().find(|file| file.path == HASHES).map(|file| sha256(&file.bytes)),
        "files": files.iter().map(|file| json!({
            "path": file.path, "media_type": file.media_type, "bytes": file.bytes.len(),
        })).collect::<Vec<_>>(),
    })
}

/// A photograph that could go along; its file may still be on another device.
fn picture(book: &Book, id: RecordId) -> Option<Value> {
    let photo = book.photos.get(id)?;
    Some(json!({
        "id": id.to_string(), "name": photo.name, "caption": photo.caption, "hash": photo.hash.map(|hash| hex::print(&hash)),
    }))
}

fn headline(of: &Headline) -> Value {
    json!({
        "label": of.label,
        "title": of.title,
        "big": of.big,
        "range": of.range,
        "sentence": of.sentence,
        "grade": of.grade.map(|grade| grade.to_string()),
        "claimed": of.claimed,
        "figure": of.figure,
        "conditions": of.conditions,
        "cost": of.cost,
        "limits": of.limits,
    })
}

/// Sections in their order, with how many tables, figures and notes of the program each holds.
fn sections(document: &Document) -> Vec<Value> {
    let count = |blocks: &[Block], of: fn(&Block) -> bool| blocks.iter().filter(|block| of(block)).count();
    let one = |section: &storypole_writeup::Section| {
        json!({
            "name": section.topic.word(),
            "heading": section.topic.heading(),
            "tables": count(&section.blocks, |block| matches!(block, Block::Table(_))),
            "figures": count(&section.blocks, |block| matches!(block, Block::Figure(_))),
            "notes": count(&section.blocks, |block| matches!(block, Block::Note(_))),
            "stays_because": section.topic.stays(document.disclosure.is_some()),
        })
    };
    document.sections.iter().map(one).collect()
}

fn stale(of: &Stale) -> Value {
    json!({ "what": of.what, "printed_on": of.printed_on.to_string(), "was": of.was, "now": of.now })
}
