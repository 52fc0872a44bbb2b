//! What every verb needs: where the notebook is, how to print, what time it is here.

use std::path::PathBuf;

use storypole_desk::{Desk, edge};
use storypole_journal::WrittenAt;
use storypole_server::health::look_at_clock;

use crate::refused::Refused;

/// The setting a command runs in.
pub struct Context {
    data: Option<PathBuf>,
    json: bool,
    only_reads: bool,
}

impl Context {
    /// A context for the folder named on the command line or in the environment, if any.
    pub fn new(data: Option<PathBuf>, json: bool, only_reads: bool) -> Self {
        Self { data, json, only_reads }
    }

    /// Whether JSON is asked for.
    pub fn json(&self) -> bool {
        self.json
    }

    /// The data folder: named, or the system's usual place for a program's data.
    ///
    /// # Errors
    /// None is named and the system has no such place.
    pub fn folder(&self) -> Result<PathBuf, Refused> {
        if let Some(data) = &self.data {
            return Ok(data.clone());
        }
        let var = |name| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
        let base = if cfg!(windows) {
            var("APPDATA")
        } else if cfg!(target_os = "macos") {
            var("HOME").map(|home| home.join("Library/Application Support"))
        } else {
            var("XDG_DATA_HOME").or_else(|| var("HOME").map(|home| home.join(".local/share")))
        };
        base.map(|base| base.join("storypole")).ok_or_else(|| {
            Refused::new(
                "no folder is named for the notebook",
                "name one with --data DIR or in STORYPOLE_DATA",
            )
        })
    }

    /// Opens the notebook.
    ///
    /// # Errors
    /// As the desk says: no notebook, in use, damaged.
    pub fn open(&self) -> Result<Desk, Refused> {
        let folder = self.folder()?;
        let desk = if self.only_reads { Desk::open_to_read(&folder)? } else { Desk::open(&folder)? };
        if let Some(mark) = look_at_clock(edge::now_ms()) {
            eprintln!("look: {}", mark.words);
            eprintln!("      {}", mark.next);
        }
        if desk.key_is_open() {
            eprintln!(
                "note: other users of this computer can read the key of this device; make device.key readable by you only"
            );
        }
        Ok(desk)
    }

    /// Opens the notebook to look at it, while another process works with it.
    ///
    /// # Errors
    /// As the desk says.
    pub fn look(&self) -> Result<Desk, Refused> {
        Ok(Desk::open_to_read(&self.folder()?)?)
    }

    /// This moment with this computer's offset.
    pub fn now(&self) -> WrittenAt {
        let zoned = jiff::ZonedDateTime::now();
        edge::written_now(i16::try_from(zoned.offset().seconds() / 60).unwrap_or(0))
    }

    /// Today by this computer's clock.
    pub fn today(&self) -> jiff::civil::Date {
        jiff::ZonedDateTime::now().date()
    }
}
