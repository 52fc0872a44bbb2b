//! The fields of a document in the index, and how a document is written.

use tantivy::TantivyDocument;
use tantivy::schema::{
    BytesOptions, FAST, Field, INDEXED, IndexRecordOption, STORED, STRING, Schema, TextFieldIndexing,
    TextOptions,
};

use crate::analyse;
use crate::columns::{Sites, day_number, pack};
use crate::document::Document;

/// The fields.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fields {
    /// The record's id, to replace its document.
    pub(crate) record: Field,
    pub(crate) kind: Field,
    /// Ids of every record the document drew on.
    pub(crate) shows: Field,
    pub(crate) title: Field,
    /// What the document says, part by part, for snippets.
    pub(crate) body: Field,
    /// Everything it is found by; what it is called stands there [`CALLED`] times.
    pub(crate) words: Field,
    /// The words as people write them, to complete and correct what is typed.
    pub(crate) said: Field,
    pub(crate) site: Field,
    pub(crate) job: Field,
    pub(crate) date: Field,
    /// The day, to look for a range of days.
    day: Field,
    /// Kind, site and day, packed.
    place: Field,
    /// First half of the record's id, which begins with the time it was made.
    made: Field,
    /// Second half of the record's id.
    key: Field,
}

/// How often a word of the title counts. Fields are weighed by counting a word more often, before the score levels off
/// with its count, as in Robertson, Zaragoza and Taylor, "Simple BM25 extension to multiple weighted fields" (2004,
/// from memory); adding up scores of separate fields ranks worse and takes twice as long. The weight itself is a
/// convention of this project.
const CALLED: usize = 3;

/// Names of the columns that are read for hits.
pub(crate) const PLACE: &str = "place";
pub(crate) const MADE: &str = "made";
pub(crate) const KEY: &str = "key";

impl Fields {
    pub(crate) fn schema() -> (Schema, Self) {
        let mut schema = Schema::builder();
        let indexing = TextFieldIndexing::default()
            .set_tokenizer(analyse::NAME)
            .set_index_option(IndexRecordOption::WithFreqsAndPositions);
        let text = TextOptions::default().set_indexing_options(indexing);
        let list = TextFieldIndexing::default()
            .set_tokenizer("whitespace")
            .set_index_option(IndexRecordOption::Basic)
            .set_fieldnorms(false);
        let id = BytesOptions::default().set_indexed();
        let fields = Self {
            record: schema.add_bytes_field("record", id.clone()),
            kind: schema.add_text_field("kind", STRING | STORED),
            shows: schema.add_bytes_field("shows", id),
            title: schema.add_text_field("title", STORED),
            body: schema.add_text_field("body", STORED),
            words: schema.add_text_field("words", text),
            said: schema.add_text_field("said", TextOptions::default().set_indexing_options(list)),
            site: schema.add_text_field("site", STORED),
            job: schema.add_text_field("job", STORED),
            date: schema.add_text_field("date", STORED),
            day: schema.add_u64_field("day", INDEXED),
            place: schema.add_u64_field(PLACE, FAST),
            made: schema.add_u64_field(MADE, FAST),
            key: schema.add_u64_field(KEY, FAST),
        };
        (schema.build(), fields)
    }

    pub(crate) fn day(&self) -> Field {
        self.day
    }

    /// A document as tantivy takes it; a site that is new gets a number.
    pub(crate) fn written(&self, document: &Document, sites: &mut Sites) -> TantivyDocument {
        let mut written = TantivyDocument::new();
        written.add_bytes(self.record, document.record.as_bytes());
        written.add_text(self.kind, document.kind);
        for id in &document.shows {
            written.add_bytes(self.shows, id.as_bytes());
        }
        written.add_text(self.title, &document.title);
        // Each part is a value of its own, so that no phrase reaches from one into the next.
        let called = [&document.title].into_iter().chain(&document.called);
        let called = called.flat_map(|text| [text; CALLED]);
        for text in called.chain(&document.texts).chain(&document.names) {
            written.add_text(self.words, text);
        }
        for text in &document.texts {
            written.add_text(self.body, text);
        }
        written.add_text(self.said, document.said());
        for (field, text) in
            [(self.site, &document.site), (self.job, &document.job), (self.date, &document.date)]
        {
            if let Some(text) = text {
                written.add_text(field, text);
            }
        }
        let day = document.day().map_or(0, day_number);
        let site = document.site_id.map_or(0, |site| sites.number(site));
        let (made, key) = halves(document.record.as_bytes());
        written.add_u64(self.day, day);
        written.add_u64(self.place, pack(document.kind, site, day));
        written.add_u64(self.made, made);
        written.add_u64(self.key, key);
        written
    }
}

/// An id as two numbers.
fn halves(id: &[u8; 16]) -> (u64, u64) {
    let (first, second) = id.split_at(8);
    let number = |half: &[u8]| half.iter().fold(0, |number, byte| number << 8 | u64::from(*byte));
    (number(first), number(second))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_two_numbers() {
        let id = std::array::from_fn(|at| u8::try_from(at).unwrap());
        assert_eq!(halves(&id), (0x0001_0203_0405_0607, 0x0809_0a0b_0c0d_0e0f));
    }
}
