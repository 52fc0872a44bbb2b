//! What a search finds.

use super::called::Called;
use super::number::Amount;
use super::word::Day;

answers! {
    /// A piece of the text in which words were found.
    struct Piece {
        /// The text.
        text: String,
        /// Whether it is one of the words.
        is_match: bool,
    }
    /// What stands beside a record: where, when, what was achieved, what it cost.
    struct Beside {
        /// Its site.
        site: Option<Called>,
        /// Its job.
        job: Option<Called>,
        /// Its day.
        date: Option<Day>,
        /// What was achieved, in a sentence or two.
        achieved: Option<String>,
        /// Cost of a square foot of its job.
        job_per_ft2: Option<Amount>,
    }
    /// A record that was found.
    struct Hit {
        /// The record.
        record: Called,
        /// What it is called in the index.
        title: String,
        /// Where the words stand; null where they stand in the title.
        snippet: Option<Vec<Piece>>,
        /// What stands beside it.
        beside: Beside,
    }
    /// What a search finds, best first.
    struct Found {
        /// The words asked for.
        words: String,
        /// Whether all words stand in each hit; else each has some of them.
        all_words_matched: bool,
        /// Hit by hit.
        hits: Vec<Hit>,
    }
}
