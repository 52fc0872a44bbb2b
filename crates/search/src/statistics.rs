//! One set of statistics for the two parts of the index, so that a score means the same in both.

use tantivy::Searcher;
use tantivy::query::Bm25StatisticsProvider;
use tantivy::schema::{Field, Term};

/// The sums over several searchers. Like those of one, they count documents that are replaced but not yet merged away.
pub(crate) struct Sums<'s>(pub(crate) Vec<&'s Searcher>);

impl Sums<'_> {
    fn sum(&self, one: impl Fn(&Searcher) -> tantivy::Result<u64>) -> tantivy::Result<u64> {
        self.0.iter().map(|searcher| one(searcher)).sum()
    }
}

impl Bm25StatisticsProvider for Sums<'_> {
    fn total_num_tokens(&self, field: Field) -> tantivy::Result<u64> {
        self.sum(|searcher| searcher.total_num_tokens(field))
    }

    fn total_num_docs(&self) -> tantivy::Result<u64> {
        self.sum(Bm25StatisticsProvider::total_num_docs)
    }

    fn doc_freq(&self, term: &Term) -> tantivy::Result<u64> {
        self.sum(|searcher| searcher.doc_freq(term))
    }
}
