//! The last write-ups made and recordings heard, kept in memory for the next who asks.
//!
//! A page of a write-up asks for its preview, its cards and its figures one by one, and each would make the whole document anew. A
//! document counts as long as the log stands where it stood; what was heard in a recording counts for ever, since a file is named
//! by its content. Leaves out how either is made.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use storypole_acoustics::meter::Measurement;
use storypole_store::read::Position;

use super::{PublishError, Published, Request};

/// So many documents are kept: a person looks at one, and the crew is few.
const MOST_DOCUMENTS: usize = 4;
/// So many recordings: those of two write-ups.
const MOST_RECORDINGS: usize = 12;
/// A document with more bytes of photographs than this is made anew each time.
const LARGEST_PHOTOS_BYTES: usize = 32 << 20;

/// A recording by the hash of its content and the name that tells its format.
type RecordingKey = ([u8; 32], Option<String>);

/// What is kept.
#[derive(Default)]
pub(crate) struct Press {
    documents: Mutex<VecDeque<Kept>>,
    /// Held by the one who makes a document; whoever waits shares it where it is the same.
    making: Mutex<()>,
    /// Newest last. `None` is a file that is no recording.
    recordings: Mutex<VecDeque<(RecordingKey, Option<Arc<Measurement>>)>>,
}

struct Kept {
    at: Position,
    request: Request,
    published: Arc<Published>,
}

/// A write-up just made.
pub(super) struct Made {
    /// Where the log stood.
    pub(super) at: Position,
    /// The write-up.
    pub(super) published: Published,
    /// Whether every file it looked for was here: one that comes later moves no log.
    pub(super) is_whole: bool,
}

impl Press {
    /// The write-up of a request where the log stands, made only where none is kept.
    pub(super) fn document(
        &self,
        request: &Request,
        position: impl Fn() -> Result<Position, PublishError>,
        make: impl FnOnce() -> Result<Made, PublishError>,
    ) -> Result<Arc<Published>, PublishError> {
        if let Some(kept) = self.kept(&position()?, request) {
            return Ok(kept);
        }
        let _making = self.making.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(kept) = self.kept(&position()?, request) {
            return Ok(kept);
        }
        let Made { at, published, is_whole } = make()?;
        let published = Arc::new(published);
        let photos: usize = published.document.photos.iter().map(|photo| photo.bytes.len()).sum();
        if is_whole && photos <= LARGEST_PHOTOS_BYTES {
            let mut documents = locked(&self.documents);
            // The log never goes back to where it stood.
            documents.retain(|kept| kept.at == at && kept.request != *request);
            let kept = Kept { at, request: request.clone(), published: Arc::clone(&published) };
            push(&mut documents, kept, MOST_DOCUMENTS);
        }
        Ok(published)
    }

    fn kept(&self, at: &Position, request: &Request) -> Option<Arc<Published>> {
        let mut documents = locked(&self.documents);
        let found = documents.iter().position(|kept| kept.at == *at && kept.request == *request)?;
        let kept = documents.remove(found)?;
        let published = Arc::clone(&kept.published);
        documents.push_back(kept);
        Some(published)
    }

    /// What is heard in a recording, listened to only where that was not done.
    pub(super) fn recording(
        &self,
        key: RecordingKey,
        listen: impl FnOnce() -> Option<Measurement>,
    ) -> Option<Arc<Measurement>> {
        let held =
            locked(&self.recordings).iter().find(|(own, _)| *own == key).map(|(_, heard)| heard.clone());
        if let Some(heard) = held {
            return heard;
        }
        let heard = listen().map(Arc::new);
        push(&mut locked(&self.recordings), (key, heard.clone()), MOST_RECORDINGS);
        heard
    }
}

fn locked<T>(kept: &Mutex<T>) -> MutexGuard<'_, T> {
    kept.lock().unwrap_or_else(PoisonError::into_inner)
}

fn push<T>(kept: &mut VecDeque<T>, one: T, most: usize) {
    while kept.len() >= most {
        kept.pop_front();
    }
    kept.push_back(one);
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use storypole_writeup::{Choices, Document, Subject};

    use super::super::Photos;
    use super::*;

    fn at(last: i64) -> Position {
        Position { instance: [1; 16], last, generation: 0 }
    }

    fn request(question: &str) -> Request {
        let choices = Choices::new("2025-05-24".parse().unwrap(), "0.1.0");
        Request { about: Vec::new(), question: Some(question.to_owned()), photos: Photos::Stored, choices }
    }

    fn published(title: &str) -> Published {
        let date = "2025-05-24".parse().unwrap();
        Published {
            subject: Subject::Comparison(title.to_owned()),
            writeup: None,
            photos: Vec::new(),
            pinned: Vec::new(),
            words_from: Vec::new(),
            document: Document::new(title, "slug", date, "0.1.0"),
            warnings: Vec::new(),
        }
    }

    /// A press that counts how often a document is made.
    #[derive(Default)]
    struct Counted {
        press: Press,
        made: Cell<usize>,
    }

    impl Counted {
        fn ask(&self, question: &str, last: i64, is_whole: bool) -> (String, usize) {
            let make = || {
                self.made.set(self.made.get() + 1);
                let title = format!("{question} at {last}");
                Ok(Made { at: at(last), published: published(&title), is_whole })
            };
            let given = self.press.document(&request(question), || Ok(at(last)), make).unwrap();
            (given.document.title.clone(), self.made.get())
        }
    }

    #[test]
    fn a_document_is_made_once_for_each_state_of_the_log() {
        let counted = Counted::default();
        assert_eq!(counted.ask("a", 1, true), ("a at 1".to_owned(), 1));
        assert_eq!(counted.ask("a", 1, true), ("a at 1".to_owned(), 1));
        assert_eq!(counted.ask("b", 1, true), ("b at 1".to_owned(), 2));
        assert_eq!(counted.ask("a", 1, true).1, 2, "the other did not put it away");
        assert_eq!(counted.ask("a", 2, true), ("a at 2".to_owned(), 3), "a change shows at once");
        assert_eq!(counted.ask("b", 2, true), ("b at 2".to_owned(), 4));
    }

    #[test]
    fn few_are_kept_and_those_asked_for_last() {
        let counted = Counted::default();
        for question in ["a", "b", "c", "d"] {
            counted.ask(question, 1, true);
        }
        counted.ask("a", 1, true);
        counted.ask("e", 1, true);
        assert_eq!(counted.press.documents.lock().unwrap().len(), MOST_DOCUMENTS);
        assert_eq!(counted.ask("a", 1, true).1, 5, "a was asked for after b");
        assert_eq!(counted.ask("b", 1, true).1, 6);
    }

    #[test]
    fn one_that_waits_for_a_file_is_made_again() {
        let counted = Counted::default();
        assert_eq!(counted.ask("a", 1, false).1, 1);
        assert_eq!(counted.ask("a", 1, true).1, 2);
        assert_eq!(counted.ask("a", 1, true).1, 2);
    }

    #[test]
    fn what_is_refused_is_not_kept() {
        let press = Press::default();
        let refused = press.document(&request("a"), || Ok(at(1)), || Err(PublishError::Both));
        assert!(matches!(refused, Err(PublishError::Both)));
        let make = || Ok(Made { at: at(1), published: published("a"), is_whole: true });
        assert_eq!(press.document(&request("a"), || Ok(at(1)), make).unwrap().document.title, "a");
    }

    #[test]
    fn a_file_is_listened_to_once() {
        let (press, listened) = (Press::default(), Cell::new(0));
        let ask = |hash: u8| {
            press.recording(([hash; 32], None), || {
                listened.set(listened.get() + 1);
                None
            })
        };
        assert_eq!((ask(1), ask(1), listened.get()), (None, None, 1));
        for hash in 2..=13 {
            ask(hash);
        }
        assert_eq!(press.recordings.lock().unwrap().len(), MOST_RECORDINGS);
        ask(1);
        assert_eq!(listened.get(), 14);
    }
}
