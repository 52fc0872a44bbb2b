//! Writing generated records into one draft.

use jiff::civil::Date;
use storypole_journal::{Draft, DraftId, RecordId, WrittenAt};
use storypole_notebook::Value;
use storypole_notebook::compose::Composer;
use storypole_units::Currency;

use crate::Chance;

/// A draft in the making and the chance it is made with.
pub(super) struct Pen<'c> {
    pub(super) chance: &'c mut Chance,
    compose: Composer,
    unix_ms: u64,
}

impl<'c> Pen<'c> {
    /// A draft written on this day, at six in the evening by its own clock.
    pub(super) fn new(chance: &'c mut Chance, author: RecordId, day: Date) -> Self {
        let unix_ms = evening_ms(day);
        let id = DraftId::from_parts(unix_ms, chance.id());
        let at = WrittenAt { unix_ms: i64::try_from(unix_ms).unwrap_or(0), offset_min: -300 };
        Self { chance, compose: Composer::new(id, author, at), unix_ms }
    }

    /// An id for a record to come.
    pub(super) fn id(&mut self) -> RecordId {
        RecordId::from_parts(self.unix_ms, self.chance.id())
    }

    /// Writes a record.
    pub(super) fn write(&mut self, kind: &str, fields: &[(&str, Value)]) -> RecordId {
        let id = self.id();
        self.write_as(id, kind, fields);
        id
    }

    /// Writes a record under an id made before.
    pub(super) fn write_as(&mut self, id: RecordId, kind: &str, fields: &[(&str, Value)]) {
        for (field, value) in fields {
            self.compose.set(id, kind, field, value).expect("generated values are legal");
        }
    }

    pub(super) fn finish(self) -> Draft {
        self.compose.finish()
    }
}

/// Six in the evening five hours west of Greenwich, ms since 1970.
pub(super) fn evening_ms(day: Date) -> u64 {
    let epoch = jiff::civil::date(1970, 1, 1);
    let days = epoch.until(day).expect("days of this century lie in range").get_days();
    u64::try_from(days).unwrap_or(0) * 86_400_000 + 23 * 3_600_000
}

/// So many days later.
pub(super) fn later(day: Date, days: u64) -> Date {
    let days = i64::try_from(days).unwrap_or(0);
    day.checked_add(jiff::Span::new().days(days)).expect("days of this century lie in range")
}

pub(super) fn text(words: &str) -> Value {
    Value::Text(words.to_owned())
}

pub(super) fn currency() -> Currency {
    Currency::parse("USD").expect("a code of ISO 4217")
}
