//! The peers: full-text SQLite, and tantivy with a field for the text and one for the day, as its documentation shows.
//!
//! Neither knows word forms or synonyms. Both are joined into one piece after they are filled, as the product is.

use std::fs;
use std::ops::Bound;
use std::path::Path;

use rusqlite::{Connection, params};
use tantivy::collector::{Count, TopDocs};
use tantivy::merge_policy::NoMergePolicy;
use tantivy::query::{BooleanQuery, Query, RangeQuery, TermQuery};
use tantivy::schema::{FAST, Field, INDEXED, IndexRecordOption, STORED, Schema, TEXT};
use tantivy::{Index, IndexWriter, Order, Searcher, Term, doc};

use super::notebook::Text;
use super::{Asked, LIMIT};

/// SQLite with FTS5; its texts lie in a table beside, with an index by day.
pub struct FullText(Connection);

impl FullText {
    /// Fills a new database.
    pub fn make(path: &Path, texts: &[Text]) -> Self {
        let mut connection = Connection::open(path).expect("a database");
        // Room for all of it in memory, as the others have by way of the system.
        let start = "PRAGMA journal_mode = OFF; PRAGMA cache_size = -1000000;
             CREATE TABLE note (id INTEGER PRIMARY KEY, text TEXT, day INTEGER);
             CREATE VIRTUAL TABLE words USING fts5(text, content = 'note', content_rowid = 'id');";
        connection.execute_batch(start).expect("tables");
        let transaction = connection.transaction().expect("a transaction");
        for (id, text) in (1_i64..).zip(texts) {
            let day = i64::try_from(text.day).expect("days are few");
            let mut row = transaction.prepare_cached("INSERT INTO note VALUES (?1, ?2, ?3)").expect("SQL");
            row.execute(params![id, text.words, day]).expect("an insert");
            let mut row =
                transaction.prepare_cached("INSERT INTO words (rowid, text) VALUES (?1, ?2)").expect("SQL");
            row.execute(params![id, text.words]).expect("an insert");
        }
        transaction.commit().expect("a commit");
        let end =
            "CREATE INDEX note_by_day ON note (day); INSERT INTO words (words) VALUES ('optimize'); ANALYZE;";
        connection.execute_batch(end).expect("indexes");
        Self(connection)
    }

    pub fn count(&self) -> u64 {
        self.number("SELECT count(*) FROM note", params![])
    }

    /// Reads twenty texts and counts all.
    pub fn find(&self, asked: &Asked) -> u64 {
        let word = asked.word.as_ref().map(|word| format!("\"{word}\""));
        let days =
            asked.days.map(|days| [days.0, days.1].map(|day| i64::try_from(day).expect("days are few")));
        match (word, days) {
            (Some(word), None) => {
                self.read(
                    "SELECT note.text, note.day FROM (SELECT rowid AS id FROM words WHERE words MATCH ?1 ORDER BY bm25(words)
                     LIMIT 20) JOIN note USING (id)",
                    params![word],
                );
                self.number("SELECT count(*) FROM words WHERE words MATCH ?1", params![word])
            }
            (Some(word), Some([first, last])) => {
                self.read(
                    "SELECT note.text, note.day FROM words JOIN note ON note.id = words.rowid WHERE words MATCH ?1
                     AND note.day BETWEEN ?2 AND ?3 ORDER BY bm25(words) LIMIT 20",
                    params![word, first, last],
                );
                self.number(
                    "SELECT count(*) FROM words JOIN note ON note.id = words.rowid WHERE words MATCH ?1
                     AND note.day BETWEEN ?2 AND ?3",
                    params![word, first, last],
                )
            }
            (None, Some([first, last])) => {
                self.read(
                    "SELECT text, day FROM note WHERE day BETWEEN ?1 AND ?2 ORDER BY day DESC LIMIT 20",
                    params![first, last],
                );
                self.number("SELECT count(*) FROM note WHERE day BETWEEN ?1 AND ?2", params![first, last])
            }
            (None, None) => 0,
        }
    }

    fn read(&self, sql: &str, parameters: impl rusqlite::Params) {
        let mut statement = self.0.prepare_cached(sql).expect("SQL");
        let read =
            statement.query_map(parameters, |row| Ok((row.get::<_, String>(0)?, row.get::<_, i64>(1)?)));
        let texts: Vec<(String, i64)> = read.and_then(Iterator::collect).expect("rows");
        std::hint::black_box(texts);
    }

    fn number(&self, sql: &str, parameters: impl rusqlite::Params) -> u64 {
        let mut statement = self.0.prepare_cached(sql).expect("SQL");
        let number: i64 = statement.query_row(parameters, |row| row.get(0)).expect("a number");
        u64::try_from(number).expect("counts are not negative")
    }
}

/// Tantivy, bare.
pub struct Tantivy {
    searcher: Searcher,
    text: Field,
    day: Field,
}

const DAY: &str = "day";
/// Memory of the writer over all threads, and how many of these there are: as the product has.
const WRITER_BYTES: usize = 96_000_000;
const THREADS: usize = 2;

impl Tantivy {
    /// Fills a new folder.
    pub fn make(path: &Path, texts: &[Text]) -> Self {
        fs::create_dir_all(path).expect("a folder");
        let mut schema = Schema::builder();
        let text = schema.add_text_field("text", TEXT | STORED);
        let day = schema.add_u64_field(DAY, INDEXED | FAST | STORED);
        let index = Index::create_in_dir(path, schema.build()).expect("an index");
        let mut writer: IndexWriter = index.writer_with_num_threads(THREADS, WRITER_BYTES).expect("a writer");
        // All segments are joined at the end; merging some of them meanwhile would take them away from that.
        writer.set_merge_policy(Box::new(NoMergePolicy));
        for one in texts {
            writer.add_document(doc!(text => one.words.as_str(), day => one.day)).expect("a document");
        }
        writer.commit().expect("a commit");
        let segments = index.searchable_segment_ids().expect("segments");
        if segments.len() > 1 {
            writer.merge(&segments).wait().expect("one segment");
        }
        writer.wait_merging_threads().expect("an end");
        let searcher = index.reader().expect("a reader").searcher();
        Self { searcher, text, day }
    }

    pub fn count(&self) -> u64 {
        self.searcher.num_docs()
    }

    /// Only the best twenty, or the newest where there is no word.
    pub fn top(&self, asked: &Asked) -> u64 {
        let query = self.query(asked);
        let top = TopDocs::with_limit(LIMIT);
        let found = match asked.word {
            Some(_) => self.searcher.search(&query, &top.order_by_score()).expect("an answer").len(),
            None => self
                .searcher
                .search(&query, &top.order_by_u64_field(DAY, Order::Desc))
                .expect("an answer")
                .len(),
        };
        found as u64
    }

    /// The same with a count of all.
    pub fn top_and_count(&self, asked: &Asked) -> u64 {
        let query = self.query(asked);
        let top = TopDocs::with_limit(LIMIT);
        let count = match asked.word {
            Some(_) => self.searcher.search(&query, &(top.order_by_score(), Count)).expect("an answer").1,
            None => {
                self.searcher
                    .search(&query, &(top.order_by_u64_field(DAY, Order::Desc), Count))
                    .expect("an answer")
                    .1
            }
        };
        count as u64
    }

    fn query(&self, asked: &Asked) -> Box<dyn Query> {
        let word = asked.word.as_ref().map(|word| -> Box<dyn Query> {
            let term = Term::from_field_text(self.text, word);
            Box::new(TermQuery::new(term, IndexRecordOption::WithFreqs))
        });
        let days = asked.days.map(|(first, last)| -> Box<dyn Query> {
            let bound = |day| Bound::Included(Term::from_field_u64(self.day, day));
            Box::new(RangeQuery::new(bound(first), bound(last)))
        });
        let mut queries: Vec<Box<dyn Query>> = word.into_iter().chain(days).collect();
        if queries.len() == 1 { queries.remove(0) } else { Box::new(BooleanQuery::intersection(queries)) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(words: &str, day: u64) -> Text {
        Text { words: words.to_owned(), day }
    }

    #[test]
    fn both_find_what_was_written() {
        let folder = tempfile::tempdir().unwrap();
        let texts = [text("Cut the studs.", 10), text("The door. The seal.", 20), text("Caulk", 30)];
        let full_text = FullText::make(&folder.path().join("full-text.db"), &texts);
        let tantivy = Tantivy::make(&folder.path().join("tantivy"), &texts);
        assert_eq!((full_text.count(), tantivy.count()), (3, 3));
        // Counted by eye in the three texts above.
        for (word, days, hits) in [
            (Some("the"), None, 2),
            (Some("stud"), None, 0),
            (Some("the"), Some((15, 40)), 1),
            (None, Some((10, 20)), 2),
            (None, Some((31, 40)), 0),
        ] {
            let asked = Asked { typed: String::new(), word: word.map(str::to_owned), days };
            let found = [full_text.find(&asked), tantivy.top(&asked), tantivy.top_and_count(&asked)];
            assert_eq!(found, [hits; 3], "{asked:?}");
        }
    }
}
