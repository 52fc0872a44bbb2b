//! Going through the documents that have one word, a block at a time: the commonest question, and the largest answers.
//!
//! Scores are to the bit what the general way gives. Leaves out everything else: see the parent.

use tantivy::fieldnorm::FieldNormReader;
use tantivy::query::{Bm25StatisticsProvider, Bm25Weight};
use tantivy::schema::IndexRecordOption;
use tantivy::{SegmentReader, Term};

use super::{BLOCK, Scored, Teller};

/// One word to look for, weighed over the whole view.
pub(super) struct OneWord {
    term: Term,
    weight: Bm25Weight,
    scored: Scored,
}

impl OneWord {
    pub(super) fn new(
        term: Term,
        boost: f32,
        scored: Scored,
        statistics: &dyn Bm25StatisticsProvider,
    ) -> tantivy::Result<Self> {
        let weight = Bm25Weight::for_terms(statistics, std::slice::from_ref(&term))?.boost_by(boost);
        Ok(Self { term, weight, scored })
    }

    /// Tells every document of a segment that has the word.
    pub(super) fn scan(&self, reader: &SegmentReader, teller: &mut Teller<'_, '_>) -> tantivy::Result<()> {
        let field = self.term.field();
        let index = reader.inverted_index(field)?;
        let Some(mut postings) = index.read_block_postings(&self.term, IndexRecordOption::WithFreqs)? else {
            return Ok(());
        };
        let lengths = reader.fieldnorms_readers().get_field(field)?;
        // As in tantivy: without lengths all are alike.
        let lengths = lengths.unwrap_or_else(|| FieldNormReader::constant(reader.max_doc(), 1));
        let mut scores = [0.0; BLOCK];
        while !postings.docs().is_empty() {
            if self.scored == Scored::Yes {
                let counted = postings.docs().iter().zip(postings.freqs());
                for (score, (document, count)) in scores.iter_mut().zip(counted) {
                    *score = self.weight.score(lengths.fieldnorm_id(*document), *count);
                }
            }
            teller.tell_block(postings.docs(), &scores[..postings.docs().len()]);
            postings.advance();
        }
        Ok(())
    }
}
