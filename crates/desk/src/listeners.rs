//! Who hears that the log has moved. Leaves out what moved: listeners ask.

use std::sync::{Arc, Mutex, PoisonError};

use storypole_store::read::Position;

/// What is called with where the log stands now.
pub type Listener = Box<dyn Fn(Position) + Send + Sync>;

/// Those who hear, in the order in which they came.
#[derive(Default)]
pub(crate) struct Listeners {
    listeners: Mutex<Vec<Arc<Listener>>>,
}

impl Listeners {
    pub(crate) fn add(&self, listener: Listener) {
        self.listeners.lock().unwrap_or_else(PoisonError::into_inner).push(Arc::new(listener));
    }

    /// Calls them, while no lock is held: a listener may add another.
    pub(crate) fn tell(&self, position: Position) {
        let listeners = self.listeners.lock().unwrap_or_else(PoisonError::into_inner).clone();
        for listener in listeners {
            listener(position);
        }
    }
}
