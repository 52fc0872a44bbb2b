//! Puts a document together: title, summary and tags, and the sections in their order.
//!
//! Leaves out what each part holds: see `sections`, `figures`, `headline` and `stale`.

use std::collections::{BTreeMap, BTreeSet};

use storypole_findings::{Findings, Told};
use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::matching::Parts;

use crate::data::{self, Data};
use crate::document::{Block, Document, Section, Stale, Topic};
use crate::figures::{Figures, WALLS};
use crate::parts::{self, Out};
use crate::privacy::{self, Cleaner};
use crate::scope::Scope;
use crate::stale;
use crate::subject::{Choices, Correction, ReadingHistory, Subject, WriteUpError};
use crate::words::{self, Words};
use crate::{clips, headline, sections, stored, telling};

/// Writes up what a job, a test, several of them or a comparison showed.
///
/// Title, opening and other words come from `choices`, or else from the `writeup` record asked for, or else from the youngest
/// records about just this subject that have them. Addresses, names of sites and devices, serial numbers and short names of persons
/// are taken out.
///
/// # Errors
/// [`WriteUpError`]: no such record, a struck one, nothing measured yet, a choice that cannot be kept; each with what to do next.
pub fn document(book: &Book, subject: Subject, choices: &Choices) -> Result<Document, WriteUpError> {
    let records = stored::records(book, &subject, choices.writeup)?;
    let suppliers = words::suppliers_told(&records, choices);
    let cleaner = Cleaner::telling(book, suppliers);
    let published = privacy::published(book, &cleaner);
    let ids: Vec<RecordId> = records.iter().map(|record| record.id).collect();
    let words = Words::of(&published, &ids, choices, &cleaner)?;
    // Labels are read as they stand in the notebook, or else as they are printed.
    let read = Out::read(book, &words.out);
    let out = read.or_else(|error| Out::read(&published, &words.out).map_err(|_| error))?;
    out.check(words.disclosure.is_some())?;
    let printed = stored::editions(&published, &subject, &records);
    let told = told(&choices.told, &cleaner);
    let scope = Scope::with(&published, cleaned_subject(subject, &cleaner), told.clone(), out)?;
    let numbers = stale::numbers(&scope);
    // An amount that was printed once is not printed again to say that cost is left out.
    let kept = stale::kept(&printed, &scope.out);
    let printed: Vec<_> = kept.iter().collect();
    // What the author leaves out has not changed by that, so editions are held against everything there is.
    let whole = if printed.is_empty() || scope.out == Out::default() {
        numbers.clone()
    } else {
        stale::numbers(&Scope::with(&published, scope.subject.clone(), told, Out::default())?)
    };
    let stale = stale::stale(&printed, &whole);
    let mut document = written(&scope, &words, choices, &cleaner, &stale)?;
    document.numbers = numbers;
    document.updated = stale::updated(&printed, &whole, choices.date);
    document.stale_since_last = stale::stale(&printed[printed.len().saturating_sub(1)..], &whole);
    document.stale = stale;
    document.told = telling::told(book, &scope, &document, &cleaner);
    Ok(document)
}

/// Write-ups of which the newest edition printed numbers that are otherwise now, each by the record it is of: its `writeup` record, or
/// else its job or test. Records are cleaned and findings made once for all of them, and nothing is drawn.
pub fn stale_write_ups(book: &Book) -> Vec<(RecordId, Vec<Stale>)> {
    let stands = |id: &RecordId| book.writeups.get(*id).is_some_and(|one| one.meta.struck.is_none());
    let mut seen = BTreeSet::new();
    let of_editions = book.editions.live().filter_map(|one| one.writeup.filter(stands).or(one.about));
    let about: Vec<RecordId> = of_editions.filter(|about| seen.insert(*about)).collect();
    if about.is_empty() {
        return Vec::new();
    }
    let cleaner = Cleaner::telling(book, false);
    let published = privacy::published(book, &cleaner);
    let findings = Findings::new(&published);
    let stale = |about: RecordId| -> Option<(RecordId, Vec<Stale>)> {
        let writeup = book.writeups.get(about).map(|one| one.id);
        let subject = match writeup {
            Some(writeup) => Subject::of_writeup(book, writeup).ok()?.0,
            None if book.jobs.get(about).is_some() => Subject::Job(about),
            None => Subject::Test(about),
        };
        let records = stored::records(book, &subject, writeup).ok()?;
        let newest = *stored::editions(&published, &subject, &records).last()?;
        let subject = cleaned_subject(subject, &cleaner);
        let scope = match subject {
            Subject::Comparison(_) => Scope::with(&published, subject, Told::default(), Out::default()),
            _ => Scope::over(&published, &findings, subject, BTreeSet::new(), Out::default()),
        };
        let stale = stale::stale(&[newest], &stale::numbers(&scope.ok()?));
        (!stale.is_empty()).then_some((about, stale))
    };
    about.into_iter().filter_map(stale).collect()
}

fn cleaned_subject(subject: Subject, cleaner: &Cleaner) -> Subject {
    match subject {
        Subject::Comparison(question) => Subject::Comparison(cleaner.clean(&question)),
        other => other,
    }
}

/// The document but for what only comparing it with its editions tells.
fn written(
    scope: &Scope<'_>,
    words: &Words,
    choices: &Choices,
    cleaner: &Cleaner,
    stale: &[Stale],
) -> Result<Document, WriteUpError> {
    let histories: Vec<ReadingHistory> =
        choices.histories.iter().map(|one| cleaned_history(one, cleaner)).collect();
    let mut figures = Figures::of(scope, &histories);
    scope.out.check_figures(&figures.names())?;
    let choosable = scope.results.iter().cloned().chain(figures.parts(&scope.out.figures)).collect();
    figures.leave_out(&scope.out.figures, &scope.out.topics);
    let headlines = headline::headlines(scope, &figures);
    let chosen = words.figure.iter().map(|name| name.trim().to_owned()).collect::<Vec<_>>();
    Out::of_figures(&chosen).check_figures(&figures.names())?;
    let first = headlines.iter().find_map(|headline| headline.figure.clone());
    let photos = clips::photos(scope.book, choices, cleaner)?;
    let data = without_costs(data::of(scope), scope);
    let corrections: Vec<Correction> = choices.corrections.iter().map(|one| cleaned(one, cleaner)).collect();
    let parts =
        Composed { scope, words, choices, figures: &figures, stale, data: &data, corrections: &corrections };
    let mut sections = parts.sections();
    place_photos(&mut sections, photos.len());
    let title = words.title.clone().unwrap_or_else(|| own_title(scope));
    let labels = |labels: Vec<Option<&String>>| labels.into_iter().flatten().cloned().collect();
    let slug = slug(&title, &scope.label);
    Ok(Document {
        summary: summary(scope),
        tags: tags(scope),
        disclosure: words.disclosure.clone(),
        jobs: labels(scope.jobs.iter().map(|job| job.label.as_ref()).collect()),
        tests: labels(scope.test_records().map(|test| test.label.as_ref()).collect()),
        sections,
        link: words.link.clone(),
        licence: words.licence.clone(),
        cover: chosen
            .into_iter()
            .next()
            .or_else(|| walls_of_chosen(scope, &figures))
            .or(first)
            .or_else(|| figures.names().into_iter().next()),
        headlines,
        clips: clips::clips(scope),
        photos,
        data,
        parts: choosable,
        ..Document::new(title, slug, choices.date, &choices.program_version)
    })
}

/// What sections are made of.
struct Composed<'a> {
    scope: &'a Scope<'a>,
    words: &'a Words,
    choices: &'a Choices,
    figures: &'a Figures,
    stale: &'a [Stale],
    data: &'a Data,
    corrections: &'a [Correction],
}

impl Composed<'_> {
    /// The sections that have something to say, in the author's order.
    fn sections(&self) -> Vec<Section> {
        let topics = parts::in_order(&self.words.order).into_iter();
        let stays = topics.filter(|topic| !self.scope.out.topics.contains(topic));
        let sections = stays.map(|topic| Section { topic, blocks: self.blocks(topic) });
        sections.filter(|section| !section.blocks.is_empty()).collect()
    }

    fn blocks(&self, topic: Topic) -> Vec<Block> {
        let (scope, words, stale) = (self.scope, self.words, self.stale);
        let mut blocks = match topic {
            Topic::Question => sections::question(scope, words, stale),
            Topic::Built => sections::built(scope),
            Topic::Method => sections::method(scope),
            Topic::Conditions => sections::conditions(scope),
            Topic::Results => return sections::results(scope, self.figures, stale),
            Topic::Others => sections::others(scope),
            Topic::LeftOut => sections::left_out(scope, self.corrections),
            Topic::Cost => sections::cost(scope),
            Topic::Conclusion => {
                words.conclusion.iter().flat_map(|text| stale::paragraphs(text, stale)).collect()
            }
            Topic::Limits => sections::limits(scope),
            Topic::Cautions => sections::cautions(scope),
            Topic::Disclosure => sections::disclosure(words.disclosure.as_deref(), stale),
            Topic::Versions => sections::versions(scope, self.choices),
            Topic::Data => sections::data(self.data, &words.licence, scope.has_costs()),
        };
        blocks.extend(self.figures.blocks(topic, None));
        blocks
    }
}

/// Photographs stand where the walls are told, or else where the question is; or else at the end of what comes first.
fn place_photos(sections: &mut [Section], count: usize) {
    let place = |topic: Topic| sections.iter().position(|section| section.topic == topic);
    let at = place(Topic::Built).or_else(|| place(Topic::Question)).unwrap_or(0);
    if let Some(section) = sections.get_mut(at) {
        section.blocks.extend((0..count).map(Block::Photo));
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

fn cleaned_history(one: &ReadingHistory, cleaner: &Cleaner) -> ReadingHistory {
    let mut history = one.history.clone();
    history.title = cleaner.clean(&history.title);
    history.finding = cleaner.clean(&history.finding);
    for cut in &mut history.cuts {
        cut.reason = cleaner.clean(&cut.reason);
    }
    ReadingHistory { reading: one.reading, history }
}

/// Tables of money, and of goods that money was paid for.
const MONEY_TABLES: &[&str] = &["costs", "stock-left"];

/// The data, without what jobs cost where the author leaves that out.
fn without_costs(mut data: Data, scope: &Scope<'_>) -> Data {
    if scope.out.topics.contains(&Topic::Cost) {
        data.tables.retain(|table| !MONEY_TABLES.contains(&table.name));
        data.tables
            .iter_mut()
            .for_each(|table| table.refers.retain(|(_, other, _)| !MONEY_TABLES.contains(other)));
    }
    data
}

/// The answer in short: of a comparison one or two sentences for each pair.
fn summary(scope: &Scope<'_>) -> String {
    let pairs: Vec<String> =
        scope.answer.iter().flat_map(|answer| &answer.pairs).map(|pair| pair.sentence.clone()).collect();
    if pairs.is_empty() { sections::answers(scope).join(" ") } else { pairs.join(" ") }
}

/// Of a chosen set the figure with all its walls stands for the whole.
fn walls_of_chosen(scope: &Scope<'_>, figures: &Figures) -> Option<String> {
    let is_chosen = matches!(scope.subject, Subject::Chosen(_));
    figures.names().into_iter().find(|name| is_chosen && name == WALLS)
}

fn own_title(scope: &Scope<'_>) -> String {
    let titles: Vec<String> = match &scope.subject {
        Subject::Comparison(question) => vec![question.trim().to_owned()],
        _ => scope.subject.records().iter().filter_map(|id| record_title(scope, *id)).collect(),
    };
    let title = titles.join("; ");
    if title.is_empty() { scope.label.clone() } else { title }
}

fn record_title(scope: &Scope<'_>, id: RecordId) -> Option<String> {
    let job = scope.book.jobs.get(id).and_then(|job| job.title.clone());
    job.or_else(|| scope.book.tests.get(id).and_then(|test| test.question.clone()))
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
mod authored;

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
        assert!(topics.is_sorted() && topics.contains(&Topic::Others), "{topics:?}");
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
        let written = document(&all.book, subject.clone(), &choices()).unwrap();
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
        assert_eq!(refused(&all, job.clone()), nothing("J9", NextStep::PlanTest));
        assert_eq!(refused(&all, test.clone()), nothing("Q9", NextStep::TakeSet));
        all.put("set", "T90", &[("test", "Q9"), ("job", "J9"), ("stage", "before")]);
        assert_eq!(refused(&all, job), nothing("J9", NextStep::TypeReadings));
        assert_eq!(refused(&all, test.clone()), nothing("Q9", NextStep::TypeReadings));
        assert_eq!(
            refused(&all, test.clone()).to_string(),
            "nothing was measured in Q9 yet: type the readings of its sets"
        );
        all.strike("test", "Q9", "planned twice");
        assert_eq!(
            refused(&all, test),
            WriteUpError::Struck { label: "Q9".into(), reason: "planned twice".into() }
        );
        let nowhere = Subject::Job(storypole_journal::RecordId::from_parts(1, [9; 10]));
        assert_eq!(refused(&all, nowhere.clone()), WriteUpError::NotHeld { subject: nowhere });
    }

    #[test]
    fn the_same_records_give_the_same_document() {
        let all = demo();
        for subject in [Subject::Job(all.id("job", "J1")), Subject::Test(all.id("test", "Q5"))] {
            let once = document(&all.book, subject.clone(), &choices()).unwrap();
            let again = document(&demo().book, subject, &choices()).unwrap();
            assert_eq!(once, again);
        }
    }
}
