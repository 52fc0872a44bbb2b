//! Records read together, as the tables hold them. Leaves out how they were read.

use std::collections::BTreeMap;
use std::sync::Arc;

use storypole_journal::{RecordId, WrittenAt};
use storypole_units::{Currency, Decimal, Length, Money};

use crate::kinds::{KindSpec, Tables};
use crate::quantity::Quantity;
use crate::value::Value;

/// What is known of a record beside its fields.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Meta {
    /// Why it was struck, if it was.
    pub struck: Option<String>,
    /// Fields corrected with a reason, by name.
    pub corrected: Vec<&'static str>,
    /// Fields in conflict, by name; the value shown is the latest.
    pub conflict: Vec<&'static str>,
    /// Fields that hold a value this version cannot read, by name.
    pub unreadable: Vec<&'static str>,
    /// When its first write was written.
    pub written_at: Option<WrittenAt>,
    /// Who wrote it first.
    pub author: Option<RecordId>,
}

/// One record as a row: values in the order of the kind's fields.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its id.
    pub id: RecordId,
    /// Its kind.
    pub kind: &'static KindSpec,
    /// A value for each field; `None` where nothing is written or the value cannot be read.
    pub values: Vec<Option<Value>>,
    /// What is known beside the fields.
    pub meta: Meta,
}

impl Row {
    /// The value of a field by name.
    pub fn value(&self, field: &str) -> Option<&Value> {
        let (index, _) = self.kind.field(field)?;
        self.values.get(index)?.as_ref()
    }
}

/// Turns a stored value into the type a field has in its struct.
pub trait FromValue: Sized {
    /// The value, or `None` where it is of another type.
    fn from_value(value: Value) -> Option<Self>;
}

macro_rules! from_value {
    ($($type:ty: $variant:ident),* $(,)?) => {
        $(impl FromValue for $type {
            fn from_value(value: Value) -> Option<Self> {
                if let Value::$variant(inner) = value { Some(inner) } else { None }
            }
        })*
    };
}

from_value! {
    String: Text, i64: Integer, Decimal: Decimal, Length: Length, Money: Money, Quantity: Quantity,
    jiff::civil::Date: Date, WrittenAt: Moment, bool: Flag, RecordId: Record, [u8; 32]: Hash,
}

/// The records of one kind, by id. Ids are time-ordered, so iteration is by age.
///
/// A clone shares every record. A change to a table that is shared copies its list of records first, not the
/// records; one to a table that is not shared copies nothing.
#[derive(Debug, PartialEq)]
pub struct Table<T> {
    records: Arc<BTreeMap<RecordId, Arc<T>>>,
}

impl<T> Default for Table<T> {
    fn default() -> Self {
        Self { records: Arc::default() }
    }
}

impl<T> Clone for Table<T> {
    fn clone(&self) -> Self {
        Self { records: Arc::clone(&self.records) }
    }
}

/// What every record has.
pub trait Recorded {
    /// What is known beside the fields.
    fn meta(&self) -> &Meta;
}

impl<T> Table<T> {
    /// Puts a record in, over an older state of it.
    pub fn insert(&mut self, id: RecordId, record: T) {
        Arc::make_mut(&mut self.records).insert(id, Arc::new(record));
    }

    /// Takes a record out.
    pub fn remove(&mut self, id: RecordId) {
        if self.records.contains_key(&id) {
            Arc::make_mut(&mut self.records).remove(&id);
        }
    }

    /// A record by id, struck or not.
    pub fn get(&self, id: RecordId) -> Option<&T> {
        self.records.get(&id).map(Arc::as_ref)
    }

    /// The record a field points to, struck or not.
    pub fn of(&self, id: Option<RecordId>) -> Option<&T> {
        self.get(id?)
    }

    /// Every record, struck ones too, oldest first.
    pub fn all(&self) -> impl Iterator<Item = &T> {
        self.records.values().map(Arc::as_ref)
    }

    /// How many, struck ones too.
    pub fn len(&self) -> usize {
        self.records.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.records.is_empty()
    }
}

impl<T: Recorded> Table<T> {
    /// Records that are not struck, oldest first.
    pub fn live(&self) -> impl Iterator<Item = &T> {
        self.all().filter(|record| record.meta().struck.is_none())
    }
}

/// Everything findings, ledger and write-ups look at.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Book {
    /// The records, a table for each kind.
    pub tables: Tables,
}

impl std::ops::Deref for Book {
    type Target = Tables;

    fn deref(&self) -> &Tables {
        &self.tables
    }
}

impl Book {
    /// Takes in one row, over an older state of it.
    pub fn insert(&mut self, row: Row) {
        self.tables.insert(row);
    }

    /// Takes a record out.
    pub fn remove(&mut self, kind: &str, id: RecordId) {
        self.tables.remove(kind, id);
    }

    /// The notebook's currency; US dollars until one is written.
    pub fn currency(&self) -> Currency {
        self.tables
            .notebooks
            .live()
            .find_map(|settings| Currency::parse(settings.currency.as_deref()?).ok())
            .unwrap_or_else(|| Currency::parse("USD").expect("a code of ISO 4217"))
    }

    /// The notebook's background rule; the field standard's older form until one is written.
    pub fn background_rule(&self) -> &str {
        self.tables
            .notebooks
            .live()
            .find_map(|settings| settings.background_rule.as_deref())
            .unwrap_or(crate::kinds::BACKGROUND_RULES[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site(number: u8, name: &str) -> Row {
        let kind = KindSpec::find("site").unwrap();
        let mut values = vec![None; kind.fields.len()];
        values[kind.field("name").unwrap().0] = Some(Value::Text(name.to_owned()));
        Row { id: RecordId::from_bytes([number; 16]), kind, values, meta: Meta::default() }
    }

    #[test]
    fn a_clone_shares_records_and_keeps_what_it_shows() {
        let mut book = Book::default();
        book.insert(site(1, "Mill house"));
        book.insert(site(2, "Orchard house"));
        let before = book.clone();
        assert!(Arc::ptr_eq(&before.sites.records, &book.sites.records));
        book.insert(site(2, "Orchard barn"));
        book.remove("site", RecordId::from_bytes([1; 16]));
        book.remove("site", RecordId::from_bytes([9; 16]));
        let names =
            |book: &Book| -> Vec<String> { book.sites.all().filter_map(|site| site.name.clone()).collect() };
        assert_eq!(names(&book), ["Orchard barn"]);
        assert_eq!(names(&before), ["Mill house", "Orchard house"]);
        assert!(Arc::ptr_eq(&before.rooms.records, &book.rooms.records), "other tables stay shared");
    }

    #[test]
    fn a_table_that_is_not_shared_is_changed_in_place() {
        let mut book = Book::default();
        book.insert(site(1, "Mill house"));
        let at = Arc::as_ptr(&book.sites.records);
        book.insert(site(2, "Orchard house"));
        assert_eq!(Arc::as_ptr(&book.sites.records), at);
    }
}
