//! What a search found, with what was achieved there.

use serde_json::{Value, json};
use storypole_notebook::Book;
use storypole_search::{Hit, Matched, Piece};

use super::achieved::Achieved;
use super::called;

/// Hits with what stands beside them, best first.
pub fn json(book: &Book, words: &str, found: &[(Hit, Achieved)]) -> Value {
    let piece = |piece: &Piece| json!({ "text": piece.text, "is_match": piece.is_match });
    let hits = found.iter().map(|(hit, beside)| {
        json!({
            "record": called(book, &hit.kind, hit.record).json(),
            "title": hit.title,
            "snippet": hit.snippet.as_ref().map(|pieces| pieces.iter().map(piece).collect::<Value>()),
            "beside": beside.json(book),
        })
    });
    let all = found.first().is_none_or(|(hit, _)| hit.matched == Matched::All);
    json!({ "words": words, "all_words_matched": all, "hits": hits.collect::<Value>() })
}
