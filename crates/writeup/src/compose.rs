//! Puts a document together: title, summary and tags, and the sections in their order.

use std::collections::{BTreeMap, BTreeSet};

use storypole_findings::Told;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::WriteUp;
use storypole_notebook::matching::Parts;

use crate::data;
use crate::document::{Block, Document, Section, Topic};
use crate::privacy::{self, Cleaner};
use crate::scope::Scope;
use crate::sections;
use crate::subject::{Choices, Correction, Subject, WriteUpError};

/// Writes up what a job or a test showed.
///
/// Title, opening, conclusion and disclosure come from `choices`, or else from the youngest `writeup` record about the
/// subject that has them. Addresses, serial numbers and short names of persons are taken out.
///
/// # Errors
/// [`WriteUpError`]: no such record, a struck one, or nothing measured yet, with what to do next.
pub fn document(book: &Book, subject: Subject, choices: &Choices) -> Result<Document, WriteUpError> {
    let cleaner = Cleaner::of(book);
    let published = privacy::published(book, &cleaner);
    let scope = Scope::with(&published, subject, told(&choices.told, &cleaner))?;
    let words = Words::of(&published, subject.record(), choices, &cleaner);
    let corrections: Vec<Correction> = choices.corrections.iter().map(|one| cleaned(one, &cleaner)).collect();
    let title = words.title.clone().unwrap_or_else(|| own_title(&scope));
    let sections = [
        (Topic::Question, sections::question(&scope, &words)),
        (Topic::Built, sections::built(&scope)),
        (Topic::Method, sections::method(&scope)),
        (Topic::Conditions, sections::conditions(&scope)),
        (Topic::Results, sections::results(&scope)),
        (Topic::LeftOut, sections::left_out(&scope, &corrections)),
        (Topic::Cost, sections::cost(&scope)),
        (Topic::Conclusion, words.conclusion.iter().cloned().map(Block::Paragraph).collect()),
        (Topic::Limits, sections::limits(&scope)),
        (Topic::Cautions, sections::cautions(&scope)),
        (Topic::Disclosure, sections::disclosure(words.disclosure.as_deref())),
        (Topic::Versions, sections::versions(&scope, choices)),
    ];
    let sections = sections.into_iter().filter(|(_, blocks)| !blocks.is_empty());
    let labels = |labels: Vec<Option<&String>>| labels.into_iter().flatten().cloned().collect();
    let slug = slug(&title, &scope.label);
    Ok(Document {
        summary: sections::answers(&scope).join(" "),
        tags: tags(&scope),
        data: data::of(&scope),
        disclosure: words.disclosure,
        jobs: labels(scope.jobs.iter().map(|job| job.label.as_ref()).collect()),
        tests: labels(scope.test_records().map(|test| test.label.as_ref()).collect()),
        sections: sections.map(|(topic, blocks)| Section { topic, blocks }).collect(),
        ..Document::new(title, slug, choices.date, &choices.program_version)
    })
}

/// What the author wrote.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Words {
    pub(crate) title: Option<String>,
    pub(crate) intro: Option<String>,
    pub(crate) conclusion: Option<String>,
    pub(crate) disclosure: Option<String>,
}

impl Words {
    fn of(book: &Book, about: RecordId, choices: &Choices, cleaner: &Cleaner) -> Self {
        let records: Vec<&WriteUp> =
            book.writeups.live().filter(|record| record.about == Some(about)).collect();
        let pick = |given: &Option<String>, of: fn(&WriteUp) -> &Option<String>| {
            let recorded = records.iter().rev().find_map(|record| of(record).clone());
            let words = given.as_ref().map(|text| cleaner.clean(text)).or(recorded);
            words.filter(|text| !text.trim().is_empty())
        };
        Self {
            title: pick(&choices.title, |record| &record.title),
            intro: pick(&choices.intro, |record| &record.intro),
            conclusion: pick(&choices.conclusion, |record| &record.conclusion),
            disclosure: pick(&choices.disclosure, |record| &record.disclosure),
        }
    }
}

fn told(told: &Told, cleaner: &Cleaner) -> Told {
    let cleaned = |reasons: &BTreeMap<RecordId, String>| {
        reasons.iter().map(|(set, reason)| (*set, cleaner.clean(reason))).collect()
    };
    Told {
        left_out: cleaned(&told.left_out),
        included: cleaned(&told.included),
        retaken: told.retaken.clone(),
    }
}

fn cleaned(correction: &Correction, cleaner: &Cleaner) -> Correction {
    Correction {
        record: correction.record,
        field: correction.field.clone(),
        old: cleaner.clean(&correction.old),
        new: cleaner.clean(&correction.new),
        reason: cleaner.clean(&correction.reason),
    }
}

fn own_title(scope: &Scope<'_>) -> String {
    let own = match scope.subject {
        Subject::Job(id) => scope.book.jobs.get(id).and_then(|job| job.title.clone()),
        Subject::Test(id) => scope.book.tests.get(id).and_then(|test| test.question.clone()),
    };
    own.unwrap_or_else(|| scope.label.clone())
}

/// Longest slug, in letters: room for an ending within what file systems take. Convention of this project.
const SLUG_LIMIT: usize = 80;
/// File names one system keeps for itself, whatever their ending.
const RESERVED: &[&str] = &["con", "prn", "aux", "nul", "com", "lpt"];

/// Makes a name for files and addresses from a title, or else from a label.
pub(crate) fn slug(title: &str, label: &str) -> String {
    let plain = |text: &str| -> String {
        let words =
            text.split(|letter: char| !letter.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
        let mut slug = words.map(str::to_ascii_lowercase).collect::<Vec<_>>().join("-");
        slug.truncate(SLUG_LIMIT);
        slug.trim_end_matches('-').to_owned()
    };
    let slug = [plain(title), plain(label)].into_iter().find(|slug| !slug.is_empty()).unwrap_or_default();
    if slug.is_empty() || RESERVED.contains(&slug.trim_end_matches(|letter: char| letter.is_ascii_digit())) {
        let ending = if slug.is_empty() { String::new() } else { format!("-{slug}") };
        return format!("write-up{ending}");
    }
    slug
}

fn tags(scope: &Scope<'_>) -> Vec<String> {
    let mut tags = BTreeSet::new();
    for test in &scope.tests {
        tags.insert(match test.measures.as_str() {
            "level-difference" => "sound".to_owned(),
            other => other.to_owned(),
        });
        if test.bench.is_some() {
            tags.insert("bench rig".to_owned());
        }
    }
    for assembly in &scope.assemblies {
        tags.extend(assembly.element.clone());
        tags.extend(Parts::of(assembly).ok().and_then(|parts| parts.fill().map(|fill| fill.kind.clone())));
    }
    tags.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{demo, small};
    use crate::subject::NextStep;

    fn choices() -> Choices {
        Choices::new("2025-05-24".parse().unwrap(), "0.1.0")
    }

    #[test]
    fn slugs_are_plain_names() {
        let cases = [
            ("Music room: the door was the problem", "J1", "music-room-the-door-was-the-problem"),
            ("../../etc/passwd", "J1", "etc-passwd"),
            ("墙", "J1", "j1"),
            ("墙", "墙", "write-up"),
            ("COM1", "J1", "write-up-com1"),
            ("  a--b  ", "J1", "a-b"),
        ];
        for (title, label, expected) in cases {
            assert_eq!(slug(title, label), expected, "{title}");
        }
        assert_eq!(slug(&"ab ".repeat(60), "J1").len(), 80);
    }

    proptest::proptest! {
        #[test]
        fn any_title_gives_a_plain_slug(title in proptest::prelude::any::<String>()) {
            let slug = slug(&title, "J1");
            proptest::prop_assert!(!slug.is_empty() && !slug.starts_with('-') && !slug.ends_with('-'));
            let is_plain = |letter: char| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == '-';
            proptest::prop_assert!(slug.chars().all(is_plain) && slug.len() <= SLUG_LIMIT + 9);
        }
    }

    #[test]
    fn sections_stand_in_their_order() {
        let all = demo();
        let written = document(&all.book, Subject::Job(all.id("job", "J1")), &choices()).unwrap();
        let topics: Vec<Topic> = written.sections.iter().map(|section| section.topic).collect();
        assert!(topics.is_sorted(), "{topics:?}");
        assert!(written.sections.iter().all(|section| !section.blocks.is_empty()));
        assert_eq!(
            (written.jobs, written.tests),
            (vec!["J1".to_owned(), "J2".into()], vec!["Q1".to_owned()])
        );
        assert_eq!(written.tags, ["glass fibre", "sound", "wall"]);
        assert!(written.sections.iter().flat_map(|section| &section.blocks).all(|block| match block {
            Block::Table(table) => table.rows.iter().all(|row| row.len() == table.heads.len()),
            _ => true,
        }));
    }

    #[test]
    fn the_authors_words_come_from_the_record_or_the_choices() {
        let all = demo();
        let subject = Subject::Job(all.id("job", "J1"));
        let written = document(&all.book, subject, &choices()).unwrap();
        assert_eq!(written.title, "Music room: the door was the problem");
        assert_eq!(written.disclosure.as_deref(), Some("Own money, no gifts."));
        let given = Choices { title: Some("Mine".into()), disclosure: Some(" ".into()), ..choices() };
        let written = document(&all.book, subject, &given).unwrap();
        assert_eq!(
            (written.title.as_str(), written.slug.as_str(), written.disclosure),
            ("Mine", "mine", None)
        );
        let other = document(&all.book, Subject::Test(all.id("test", "Q2")), &choices()).unwrap();
        assert_eq!((other.disclosure, other.title.as_str()), (None, "Does sealing come first?"));
    }

    #[test]
    fn without_measurements_there_is_a_next_step() {
        let mut all = small();
        all.put("job", "J9", &[("title", "Nothing yet")]);
        all.put("test", "Q9", &[("question", "Will it?")]);
        let refused =
            |all: &crate::fixture::Fixture, subject| document(&all.book, subject, &choices()).unwrap_err();
        let (job, test) = (Subject::Job(all.id("job", "J9")), Subject::Test(all.id("test", "Q9")));
        let nothing = |label: &str, next| WriteUpError::NothingMeasured { label: label.into(), next };
        assert_eq!(refused(&all, job), nothing("J9", NextStep::PlanTest));
        assert_eq!(refused(&all, test), nothing("Q9", NextStep::TakeSet));
        all.put("set", "T90", &[("test", "Q9"), ("job", "J9"), ("stage", "before")]);
        assert_eq!(refused(&all, job), nothing("J9", NextStep::TypeReadings));
        assert_eq!(refused(&all, test), nothing("Q9", NextStep::TypeReadings));
        assert_eq!(
            refused(&all, test).to_string(),
            "nothing was measured in Q9 yet: type the readings of its sets"
        );
        all.strike("test", "Q9", "planned twice");
        assert_eq!(
            refused(&all, test),
            WriteUpError::Struck { label: "Q9".into(), reason: "planned twice".into() }
        );
        let nowhere = Subject::Job(storypole_journal::RecordId::from_parts(1, [9; 10]));
        assert_eq!(refused(&all, nowhere), WriteUpError::NotHeld { subject: nowhere });
    }

    #[test]
    fn the_same_records_give_the_same_document() {
        let all = demo();
        for subject in [Subject::Job(all.id("job", "J1")), Subject::Test(all.id("test", "Q5"))] {
            let once = document(&all.book, subject, &choices()).unwrap();
            let again = document(&demo().book, subject, &choices()).unwrap();
            assert_eq!(once, again);
        }
    }
}
