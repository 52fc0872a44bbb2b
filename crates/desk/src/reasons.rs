//! An error with its causes, as words for people. Leaves out codes and next steps, which are of the edge.

use std::error::Error;

/// What an error and its causes say, the outermost first.
pub fn of(error: &dyn Error) -> Vec<String> {
    let mut reasons = vec![error.to_string()];
    let mut source = error.source();
    while let Some(cause) = source {
        let words = cause.to_string();
        // A transparent error says what its cause says; once is enough.
        if reasons.last() != Some(&words) {
            reasons.push(words);
        }
        source = cause.source();
    }
    reasons
}
