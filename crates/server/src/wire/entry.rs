//! Lines of the day log.

use super::called::Called;
use super::number::Amount;
use super::word::{Cursor, Day, Decimal, Id};

answers! {
    /// One line of the day log.
    struct Entry {
        /// The entry.
        id: Id,
        /// Its short name.
        label: Option<String>,
        /// Its day.
        date: Option<Day>,
        /// Its site.
        site: Option<Called>,
        /// Its job.
        job: Option<Called>,
        /// Its room.
        room: Option<Called>,
        /// Its assembly.
        assembly: Option<Called>,
        /// What kind of line: one of the choices of the field in `/api/kinds`.
        #[schema(examples("work"))]
        entry_kind: Option<String>,
        /// What happened.
        text: Option<String>,
        /// Lowest temperature of the day with its unit.
        #[schema(examples("38 °F"))]
        low: Option<String>,
        /// Highest temperature of the day with its unit.
        high: Option<String>,
        /// Rain, snow, wind.
        weather: Option<String>,
        /// Hours lost by a delay.
        hours_lost: Option<Decimal>,
        /// Outcome of an inspection.
        outcome: Option<String>,
        /// What a decision costs or saves.
        cost_effect: Option<Amount>,
    }
    /// Hours that belong to an entry.
    struct EntryHours {
        /// Who; null where nobody is named.
        person: Option<Called>,
        /// Hours; null where none are noted yet.
        hours: Option<Decimal>,
    }
    /// One line of the day log, with what belongs to it.
    struct EntryRow {
        /// The entry.
        id: Id,
        /// Its short name.
        label: Option<String>,
        /// Its day.
        date: Option<Day>,
        /// Its site.
        site: Option<Called>,
        /// Its job.
        job: Option<Called>,
        /// Its room.
        room: Option<Called>,
        /// Its assembly.
        assembly: Option<Called>,
        /// What kind of line: one of the choices of the field in `/api/kinds`.
        #[schema(examples("work"))]
        entry_kind: Option<String>,
        /// What happened.
        text: Option<String>,
        /// Lowest temperature of the day with its unit.
        #[schema(examples("38 °F"))]
        low: Option<String>,
        /// Highest temperature of the day with its unit.
        high: Option<String>,
        /// Rain, snow, wind.
        weather: Option<String>,
        /// Hours lost by a delay.
        hours_lost: Option<Decimal>,
        /// Outcome of an inspection.
        outcome: Option<String>,
        /// What a decision costs or saves.
        cost_effect: Option<Amount>,
        /// Hours that belong to it.
        hours: Vec<EntryHours>,
        /// How many photos and files are pinned to it.
        photos: u64,
    }
    /// A page of the day log, newest day first.
    struct EntryPage {
        /// Entry by entry.
        items: Vec<EntryRow>,
        /// Where the next page begins; null on the last.
        next: Option<Cursor>,
        /// How many entries match on all pages.
        total: u64,
    }
}
