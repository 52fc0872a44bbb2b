//! Recordings being measured: one at a time, and what was measured last is kept, so that an answer that was lost on its way is not
//! worked out anew.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use crate::ApiError;
use crate::problem::Code;

/// Answers that are kept.
const KEPT: usize = 8;

/// How long one waits for its turn.
const TURN: Duration = Duration::from_secs(60);

/// Whose turn it is, and what came of it.
pub(crate) struct Measuring {
    turn: Arc<Semaphore>,
    last: Mutex<VecDeque<(String, Arc<str>)>>,
}

impl Default for Measuring {
    fn default() -> Self {
        Self { turn: Arc::new(Semaphore::new(1)), last: Mutex::default() }
    }
}

impl Measuring {
    /// Waits for the turn; it is handed on when what is given is dropped, which a thread that works does last.
    ///
    /// # Errors
    /// Another recording takes too long.
    pub(crate) async fn turn(&self) -> Result<OwnedSemaphorePermit, ApiError> {
        match tokio::time::timeout(TURN, Arc::clone(&self.turn).acquire_owned()).await {
            Ok(turn) => turn.map_err(|_| ApiError::closing()),
            Err(_) => Err(ApiError::new(Code::Busy, "another recording is being measured")),
        }
    }

    /// What was worked out for a question.
    pub(crate) fn known(&self, question: &str) -> Option<Arc<str>> {
        let last = self.last();
        last.iter().find(|(asked, _)| asked == question).map(|(_, answer)| Arc::clone(answer))
    }

    /// Keeps what was worked out, in the place of the oldest.
    pub(crate) fn keep(&self, question: String, answer: Arc<str>) {
        let mut last = self.last();
        last.truncate(KEPT - 1);
        last.push_front((question, answer));
    }

    fn last(&self) -> MutexGuard<'_, VecDeque<(String, Arc<str>)>> {
        self.last.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oldest_answer_makes_room() {
        let measuring = Measuring::default();
        for number in 0..=KEPT {
            measuring.keep(number.to_string(), format!("answer {number}").into());
        }
        assert_eq!(measuring.known("0"), None);
        assert_eq!(measuring.known("1").as_deref(), Some("answer 1"));
        assert_eq!(measuring.known(&KEPT.to_string()).as_deref(), Some("answer 8"));
    }
}
