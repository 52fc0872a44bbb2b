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
        let link = choices.link.clone().or_else(|| recorded(|record| &record.link));
        let licence = pick(&choices.licence, |record| &record.licence);
        Ok(Self {
            title: pick(&choices.title, |record| &record.title),
            intro: pick(&choices.intro, |record| &record.intro),
            conclusion: pick(&choices.conclusion, |record| &record.conclusion),
            disclosure: pick(&choices.disclosure, |record| &record.disclosure),
            link: checked_link(link, cleaner)?,
            licence: licence.unwrap_or_else(|| LICENCE.to_owned()),
            figure: pick(&choices.figure, |record| &record.figure),
            order,
            out: out.unwrap_or_else(|| recorded(|record| &record.left_out).into_iter().collect()),
        })
    }
}

/// An address on the web stays as it is: written otherwise it would lead nowhere.
fn checked_link(link: Option<String>, cleaner: &Cleaner) -> Result<Option<String>, WriteUpError> {
    let link = link.map(|link| link.trim().to_owned()).filter(|link| !link.is_empty());
    match link {
        Some(link) if cleaner.finds(&link) || cleaner.finds(&unescaped(&link)) => {
            Err(WriteUpError::TellingLink { link })
        }
        link => Ok(link),
    }
}

/// A web address with its percent signs read, RFC 3986 section 2.1.
fn unescaped(link: &str) -> String {
    let mut bytes = Vec::with_capacity(link.len());
    let mut rest = link.as_bytes();
    while let Some((first, behind)) = rest.split_first() {
        let digits = behind.split_first_chunk::<2>().filter(|_| *first == b'%');
        let read = digits.and_then(|(digits, behind)| {
            let byte = u8::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok()?;
            Some((byte, behind))
        });
        let (byte, behind) = read.unwrap_or((*first, behind));
        bytes.push(byte);
        rest = behind;
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Whether names of suppliers may be told: as the choices say, or else the last record that says so.
pub(crate) fn suppliers_told(records: &[&WriteUp], choices: &Choices) -> bool {
    let recorded = || records.iter().rev().find_map(|record| record.suppliers);
    choices.suppliers.or_else(recorded).unwrap_or(false)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::demo;

    #[test]
    fn a_link_stays_as_it_is_or_is_refused() {
        let mut all = demo();
        all.put("person", "zz-nick", &[("role", "helper")]);
        let cleaner = Cleaner::of(&all.book);
        let link = |link: &str| {
            let choices =
                Choices { link: Some(link.into()), ..Choices::new("2025-05-24".parse().unwrap(), "0.1.0") };
            Words::of(&all.book, &[], &choices, &cleaner).map(|words| words.link)
        };
        assert_eq!(link(" https://e.org/walls "), Ok(Some("https://e.org/walls".to_owned())));
        assert_eq!(link(""), Ok(None));
        // RFC 3986 section 2.1: %20 is a blank, %2D a hyphen.
        for telling in
            ["https://e.org/zz-nick", "https://e.org/12%20invented%20row", "https://e.org/ZZ%2dNICK?a=%"]
        {
            let refused = link(telling).unwrap_err();
            assert_eq!(refused, WriteUpError::TellingLink { link: telling.into() });
            let said = refused.to_string();
            assert!(said.contains(telling) && said.ends_with("or take the link out"), "{said}");
        }
    }
}
