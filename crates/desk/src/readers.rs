//! Readers of the notebook's database, lent to whoever asks, so that questions are answered side by side.

use std::path::PathBuf;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use storypole_store::{Reader, StoreError};

/// Readers at most; who asks for one more waits for one to come back.
const MOST: usize = 8;

/// The readers of one database, made when they are needed.
pub(crate) struct Readers {
    database: PathBuf,
    shared: Mutex<Shared>,
    came_back: Condvar,
}

struct Shared {
    idle: Vec<Reader>,
    /// Idle and lent ones.
    made: usize,
}

impl Readers {
    /// Begins with a reader of the database that is there already.
    pub(crate) fn new(database: PathBuf, first: Reader) -> Self {
        let shared = Mutex::new(Shared { idle: vec![first], made: 1 });
        Self { database, shared, came_back: Condvar::new() }
    }

    /// Reads one state with one of them. A reading inside another takes two, so it may wait for itself: do not.
    pub(crate) fn read<T>(
        &self,
        read: impl FnOnce(&Reader) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let lent = Lent { readers: self, reader: Some(self.take()?) };
        lent.reader.as_ref().expect("it is given back when this ends").snapshot(read)
    }

    fn take(&self) -> Result<Reader, StoreError> {
        let mut shared = self.lock();
        loop {
            if let Some(reader) = shared.idle.pop() {
                return Ok(reader);
            }
            if shared.made < MOST {
                break;
            }
            shared = self.came_back.wait(shared).unwrap_or_else(PoisonError::into_inner);
        }
        shared.made += 1;
        drop(shared);
        Reader::open(&self.database).inspect_err(|_| {
            self.lock().made -= 1;
            self.came_back.notify_one();
        })
    }

    fn lock(&self) -> MutexGuard<'_, Shared> {
        self.shared.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A reader that goes back when it is dropped, also by a panic.
struct Lent<'a> {
    readers: &'a Readers,
    reader: Option<Reader>,
}

impl Drop for Lent<'_> {
    fn drop(&mut self) {
        self.readers.lock().idle.extend(self.reader.take());
        self.readers.came_back.notify_one();
    }
}
