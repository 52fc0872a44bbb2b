//! What was written on a record, write by write, and the fields whose heads differ.
//!
//! Leaves out what the values mean, and how a conflict is settled: by one more write.

use storypole_journal::{DeviceId, Payload, Place, RecordId, RecordState, WriteId, WrittenAt};
use storypole_notebook::kinds::KINDS;

use crate::{Reader, StoreError, project};

/// One write in the history of a record.
#[derive(Debug, Clone)]
pub struct HistoryItem {
    /// Which write.
    pub id: WriteId,
    /// The device whose series carries it.
    pub device: DeviceId,
    /// The kind of record.
    pub kind: String,
    /// The field.
    pub field: String,
    /// What was written; `None` cleared the field.
    pub payload: Payload,
    /// Why, where a reason was given.
    pub reason: Option<String>,
    /// Who.
    pub author: RecordId,
    /// When, by the writer's own clock.
    pub written_at: WrittenAt,
    /// Whether it is a head: no other write has seen it.
    pub is_head: bool,
    /// What its form showed.
    pub seen: Vec<WriteId>,
}

/// A field whose heads differ.
#[derive(Debug, Clone)]
pub struct Conflict {
    /// The record.
    pub record: RecordId,
    /// Its kind.
    pub kind: String,
    /// The field.
    pub field: String,
    /// The heads, the one shown first.
    pub heads: Vec<HistoryItem>,
}

impl Reader {
    /// Every write on a record that counts, oldest first.
    pub fn history(&self, record: RecordId) -> Result<Vec<HistoryItem>, StoreError> {
        let _one_state = self.one_state()?;
        let mut history = Vec::new();
        for kind in project::kinds_of(self.connection(), record)? {
            history.extend(self.history_of_kind(record, &kind)?);
        }
        history.sort_by_key(|(place, item): &(Place, HistoryItem)| (*place, item.id));
        Ok(history.into_iter().map(|(_, item)| item).collect())
    }

    fn history_of_kind(&self, record: RecordId, kind: &str) -> Result<Vec<(Place, HistoryItem)>, StoreError> {
        let placed = project::placed_writes(self.connection(), record, kind, &[])?;
        let state = RecordState::fold(
            placed
                .iter()
                .map(|placed| (placed.id, placed.place, placed.written_at, placed.author, &placed.write)),
        );
        Ok(placed
            .into_iter()
            .map(|placed| {
                (
                    placed.place,
                    HistoryItem {
                        is_head: state
                            .field(placed.write.field.as_str())
                            .is_some_and(|field| field.heads.iter().any(|head| head.write == placed.id)),
                        id: placed.id,
                        device: placed.place.device,
                        kind: placed.write.kind.as_str().to_owned(),
                        field: placed.write.field.as_str().to_owned(),
                        payload: placed.write.value,
                        reason: placed.write.reason,
                        author: placed.author,
                        written_at: placed.written_at,
                        seen: placed.write.seen,
                    },
                )
            })
            .collect())
    }

    /// Every field whose heads differ, oldest record first.
    pub fn conflicts(&self) -> Result<Vec<Conflict>, StoreError> {
        let _one_state = self.one_state()?;
        let mut conflicts = Vec::new();
        for kind in KINDS {
            let sql = format!(
                "SELECT record, conflict FROM \"{}\" WHERE conflict IS NOT NULL ORDER BY record",
                kind.name
            );
            let mut statement = self.connection().prepare_cached(&sql)?;
            let found: Vec<([u8; 16], String)> =
                statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
            for (record, fields) in found {
                let record = RecordId::from_bytes(record);
                let history = self.history(record)?;
                for field in fields.split_whitespace() {
                    let mut heads: Vec<HistoryItem> =
                        history.iter().filter(|item| item.is_head && item.field == field).cloned().collect();
                    heads.reverse();
                    conflicts.push(Conflict {
                        record,
                        kind: kind.name.to_owned(),
                        field: field.to_owned(),
                        heads,
                    });
                }
            }
        }
        Ok(conflicts)
    }
}
