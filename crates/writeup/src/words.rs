//! What the author wrote and chose: from the choices given, or else from the stored write-ups.
//!
//! Leaves out what becomes of it: see `compose`.

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::WriteUp;

use crate::document::{LICENCE, Topic};
use crate::privacy::Cleaner;
use crate::subject::{Choices, WriteUpError};

/// What the author wrote and chose.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Words {
    pub(crate) title: Option<String>,
    pub(crate) intro: Option<String>,
    pub(crate) conclusion: Option<String>,
    pub(crate) disclosure: Option<String>,
    pub(crate) link: Option<String>,
    pub(crate) licence: String,
    pub(crate) figure: Option<String>,
    pub(crate) order: Vec<Topic>,
    /// Names of parts left out, as typed.
    pub(crate) out: Vec<String>,
}

impl Words {
    /// Words of these records, the last one first, under those of the choices. `book` is the one fit to be published.
    pub(crate) fn of(
        book: &Book,
        records: &[RecordId],
        choices: &Choices,
        cleaner: &Cleaner,
    ) -> Result<Self, WriteUpError> {
        let records: Vec<&WriteUp> = records.iter().filter_map(|id| book.writeups.get(*id)).collect();
        let recorded =
            |of: fn(&WriteUp) -> &Option<String>| records.iter().rev().find_map(|record| of(record).clone());
        let pick = |given: &Option<String>, of: fn(&WriteUp) -> &Option<String>| {
            let words = given.as_ref().map(|text| cleaner.clean(text)).or_else(|| recorded(of));
            words.filter(|text| !text.trim().is_empty())
        };
        let order = match &choices.order {
            Some(order) => order.clone(),
            None => Topic::list(&recorded(|record| &record.order).unwrap_or_default())?,
        };
        let out = choices.left_out.clone();
        let licence = pick(&choices.licence, |record| &record.licence);
        Ok(Self {
            title: pick(&choices.title, |record| &record.title),
            intro: pick(&choices.intro, |record| &record.intro),
            conclusion: pick(&choices.conclusion, |record| &record.conclusion),
            disclosure: pick(&choices.disclosure, |record| &record.disclosure),
            link: pick(&choices.link, |record| &record.link),
            licence: licence.unwrap_or_else(|| LICENCE.to_owned()),
            figure: pick(&choices.figure, |record| &record.figure),
            order,
            out: out.unwrap_or_else(|| recorded(|record| &record.left_out).into_iter().collect()),
        })
    }
}

/// Whether names of suppliers may be told: as the choices say, or else the last record that says so.
pub(crate) fn suppliers_told(records: &[&WriteUp], choices: &Choices) -> bool {
    let recorded = || records.iter().rev().find_map(|record| record.suppliers);
    choices.suppliers.or_else(recorded).unwrap_or(false)
}
