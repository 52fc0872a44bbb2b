//! The invented example: jobs, receipts and readings to look around in, for a notebook that holds nothing yet.

use storypole_journal::WrittenAt;
use storypole_notebook::kinds::KINDS;

use crate::intake::{self, File, Problem};
use crate::{Desk, DeskError};

/// Files a person could have written, in the order in which they refer to each other.
const FILES: &[(&str, &str)] = &[
    ("01-notebook.jsonl", include_str!("../../../seed-data/01-notebook.jsonl")),
    ("02-jobs.jsonl", include_str!("../../../seed-data/02-jobs.jsonl")),
    ("03-receipts.csv", include_str!("../../../seed-data/03-receipts.csv")),
    ("04-log.csv", include_str!("../../../seed-data/04-log.csv")),
    ("05-stock.csv", include_str!("../../../seed-data/05-stock.csv")),
    ("06-tests.jsonl", include_str!("../../../seed-data/06-tests.jsonl")),
    ("07-readings.csv", include_str!("../../../seed-data/07-readings.csv")),
    ("08-corrections.jsonl", include_str!("../../../seed-data/08-corrections.jsonl")),
    ("09-clips.jsonl", include_str!("../../../seed-data/09-clips.jsonl")),
    ("10-cautions.jsonl", include_str!("../../../seed-data/10-cautions.jsonl")),
];

/// Kinds of which a notebook has records from its founding on, or from letting others in.
const FOUNDING: &[&str] = &["notebook", "person", "device"];

/// Why the example is not in.
#[derive(Debug, thiserror::Error)]
pub enum ExampleError {
    /// The notebook holds work of its own.
    #[error("the notebook holds {records} records of its own, of kind {kind} among them")]
    NotEmpty {
        /// How many, struck ones too.
        records: u64,
        /// The first kind of which there are any.
        kind: &'static str,
    },
    /// The example itself cannot be taken: a fault of this program.
    #[error("this program's own example is broken: {0}")]
    Broken(Box<Problem>),
    /// The desk failed.
    #[error(transparent)]
    Desk(#[from] DeskError),
}

/// Fills a notebook that holds nothing of its own; gives how many rows that were.
///
/// The notebook takes the example's name and currency. Rows of its site lead are those of the person labelled `lead`,
/// others are written by the person at this device.
///
/// # Errors
/// [`ExampleError::NotEmpty`] before anything is written.
pub fn fill(desk: &Desk, now: WrittenAt) -> Result<usize, ExampleError> {
    check_empty(desk)?;
    let mut rows = 0;
    for (name, text) in FILES {
        let file = File { name, bytes: text.as_bytes() };
        let brought = intake::bring(desk, &file, desk.author(), now, &mut |_| ())?;
        if let Some(problem) = brought.problems.into_iter().next() {
            return Err(ExampleError::Broken(Box::new(problem)));
        }
        if let Some(error) = brought.refused.into_iter().next() {
            return Err(error.into());
        }
        rows += brought.new;
    }
    Ok(rows)
}

fn check_empty(desk: &Desk) -> Result<(), ExampleError> {
    let found = desk.read(|reader| {
        let mut found = None;
        for kind in KINDS.iter().filter(|kind| !FOUNDING.contains(&kind.name)) {
            let (records, first) = found.unwrap_or((0, kind.name));
            let more = reader.count(kind, true)?;
            if records + more > 0 {
                found = Some((records + more, first));
            }
        }
        Ok(found)
    })?;
    found.map_or(Ok(()), |(records, kind)| Err(ExampleError::NotEmpty { records, kind }))
}

#[cfg(test)]
mod tests {
    use storypole_units::Currency;

    use super::*;
    use crate::Founding;

    const NOW: WrittenAt = WrittenAt { unix_ms: 1_750_000_000_000, offset_min: -300 };

    fn founded(folder: &std::path::Path, label: &str, currency: &str) -> Desk {
        let founding = Founding {
            name: "Own work".to_owned(),
            currency: Currency::parse(currency).unwrap(),
            role: "site lead".to_owned(),
            label: label.to_owned(),
            device_label: "box".to_owned(),
            written_at: NOW,
        };
        Desk::found(folder, &founding).unwrap()
    }

    #[test]
    fn goes_once_into_a_notebook_that_holds_nothing() {
        for (label, currency) in [("lead", "USD"), ("boss", "CAD")] {
            let folder = tempfile::tempdir().unwrap();
            let desk = founded(&folder.path().join("notebook"), label, currency);
            let rows = fill(&desk, NOW).unwrap();
            assert!(rows > 300, "{rows} rows");
            let before = desk.digest().unwrap();
            let again = fill(&desk, NOW).unwrap_err();
            assert!(matches!(again, ExampleError::NotEmpty { records: 301.., .. }), "{again}");
            assert_eq!(desk.digest().unwrap(), before, "a refusal writes nothing");
            assert_eq!(desk.book().unwrap().currency().code(), "USD");
        }
    }

    #[test]
    fn work_of_ones_own_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let desk = founded(&folder.path().join("notebook"), "lead", "USD");
        let mut compose = desk.compose(NOW);
        let site = crate::edge::record_id();
        compose.set(site, "site", "label", &storypole_notebook::Value::Text("S1".to_owned())).unwrap();
        desk.take(compose.finish()).unwrap();
        let refused = fill(&desk, NOW).unwrap_err();
        assert_eq!(refused.to_string(), "the notebook holds 1 records of its own, of kind site among them");
    }
}
