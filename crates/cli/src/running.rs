//! The server that holds the notebook's folder, where one does: commands that must write ask it.

use serde_json::Value as Json;
use storypole_server::running::{Asked, Running, RunningError};
use tokio::runtime::Runtime;

use crate::context::Context;
use crate::refused::Refused;

/// A running server, to be asked.
pub struct Server {
    runtime: Runtime,
    running: Running,
}

impl Server {
    /// The server that holds the folder; none where none does.
    ///
    /// # Errors
    /// One is there and does not answer.
    pub fn find(context: &Context) -> Result<Option<Self>, Refused> {
        let folder = context.folder()?;
        let runtime = runtime()?;
        let found = runtime.block_on(Running::find(&folder)).map_err(refused)?;
        Ok(found.map(|running| Self { runtime, running }))
    }

    /// Asks it, and gives its answer.
    ///
    /// # Errors
    /// What the server says, with its next step.
    pub fn ask(&self, asked: Asked<'_>) -> Result<Json, Refused> {
        self.runtime.block_on(self.running.ask(&asked)).map_err(refused)
    }
}

/// What a command needs that asks over the network.
///
/// # Errors
/// The system gives no threads.
pub fn runtime() -> Result<Runtime, Refused> {
    let failed = |error| Refused::from(error).next("try again; if it fails again, restart this computer");
    tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(failed)
}

fn refused(error: RunningError) -> Refused {
    match error {
        RunningError::Refused { detail, next, .. } => Refused::new(detail, next),
        error => Refused::from(error),
    }
}
