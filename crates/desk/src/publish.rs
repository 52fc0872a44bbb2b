//! A write-up made from an open notebook: what only its log and its files know is gathered here and handed to `writeup`.
//!
//! Reading order: [`wishes`] (lists of words as typed), `press` (what is kept for the next who asks). Leaves out what a write-up
//! says, and where its files go: see [`crate::handout`].

use std::collections::BTreeSet;
use std::io::{BufReader, Read};
use std::sync::Arc;

use storypole_acoustics::meter::{Cut, Measurement, SecondLevels};
use storypole_drawing::chart::History;
use storypole_drawing::chart::history::CutOut;
use storypole_journal::RecordId;
use storypole_notebook::kinds::{Photo, Reading};
use storypole_notebook::{Book, cuts};
use storypole_writeup::{
    Choices, ChosenPhoto, Document, FileError, ReadingHistory, Subject, WriteUpError, document,
};

use crate::view::past;
use crate::{Desk, DeskError, recording};

mod press;
pub mod wishes;

use press::Made;
pub(crate) use press::Press;

/// Largest photograph that is taken into memory.
pub const LARGEST_PHOTO_BYTES: u64 = 64 << 20;
/// So many recordings are drawn second by second; more would make a page nobody reads.
const MOST_HISTORIES: usize = 6;
/// Longest recording that is drawn, by the size of its file.
const LARGEST_RECORDING_BYTES: u64 = 200 << 20;

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Records it is about, with their kinds: jobs and tests, or one stored write-up.
    pub about: Vec<(&'static str, RecordId)>,
    /// A question in plain words, in place of records.
    pub question: Option<String>,
    /// Which photographs go along.
    pub photos: Photos,
    /// Words and choices of the author, with day and version; what the log and the files know is filled in.
    pub choices: Choices,
}

/// Which photographs go along with a write-up.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum Photos {
    /// Those the stored write-up names; none where there is no such.
    #[default]
    Stored,
    /// None.
    None,
    /// All that are pinned to what it is about.
    All,
    /// These, in this order.
    These(Vec<RecordId>),
}

/// A write-up, with what belongs beside it.
#[derive(Debug, Clone)]
pub struct Published {
    /// What it is about.
    pub subject: Subject,
    /// The stored write-up it was made from.
    pub writeup: Option<RecordId>,
    /// Photographs that were asked for.
    pub photos: Vec<RecordId>,
    /// Photographs that could go along: those pinned to what it is about, in order of their age.
    pub pinned: Vec<RecordId>,
    /// Stored write-ups whose words were used, by label, though none was named.
    pub words_from: Vec<String>,
    /// The document.
    pub document: Document,
    /// What its author should know before it goes out.
    pub warnings: Vec<String>,
}

/// Why there is no write-up.
#[derive(Debug, thiserror::Error)]
pub enum PublishError {
    /// The records give none.
    #[error(transparent)]
    WriteUp(#[from] WriteUpError),
    /// A file of it could not be made.
    #[error(transparent)]
    File(#[from] FileError),
    /// A record of another kind.
    #[error("{} cannot be written up: name jobs, tests, or one stored write-up", crate::names::a(kind))]
    OtherKind {
        /// Its kind.
        kind: &'static str,
    },
    /// Records and a question together.
    #[error("a question stands for itself: leave out the names, or the question")]
    Both,
    /// A photograph is no picture that can go out, or is not here.
    #[error("photograph {name} cannot go along: {why}")]
    Photo {
        /// Its file name.
        name: String,
        /// Why, with what to do.
        why: &'static str,
    },
    /// The database failed.
    #[error(transparent)]
    Desk(#[from] DeskError),
}

impl Desk {
    /// Makes a write-up.
    ///
    /// # Errors
    /// [`PublishError`].
    pub fn write_up(&self, request: &Request) -> Result<Published, PublishError> {
        Ok(self.made(request)?.published)
    }

    /// The same for one who will ask again: it is kept until the log moves.
    ///
    /// # Errors
    /// [`PublishError`].
    pub fn kept_write_up(&self, request: &Request) -> Result<Arc<Published>, PublishError> {
        self.press().document(request, || Ok(self.position()?), || self.made(request))
    }

    fn made(&self, request: &Request) -> Result<Made, PublishError> {
        self.read_with_book(|reader, book| {
            let history = |record| reader.history(record);
            let (corrections, told) = (past::corrections(book, history)?, past::told(book, history)?);
            let at = reader.position()?;
            let made =
                self.published(book, request, Choices { corrections, told, ..request.choices.clone() });
            Ok(made.map(|(published, is_whole)| Made { at, published, is_whole }))
        })?
    }

    /// A write-up, and whether every file it looked for was here.
    fn published(
        &self,
        book: &Book,
        request: &Request,
        mut choices: Choices,
    ) -> Result<(Published, bool), PublishError> {
        let (subject, writeup) = subject(book, request)?;
        choices.writeup = choices.writeup.or(writeup);
        let wanted = match &request.photos {
            Photos::None => Vec::new(),
            Photos::These(ids) => ids.clone(),
            Photos::All => pinned(book, &subject),
            Photos::Stored => storypole_writeup::stored_photos(book, &subject, choices.writeup)?,
        };
        choices.photos = wanted.iter().map(|id| self.photo(book, *id)).collect::<Result<_, _>>()?;
        let (histories, is_whole) = self.histories(book, &subject);
        choices.histories = histories;
        let document = document(book, subject.clone(), &choices)?;
        let mut warnings = storypole_writeup::files::chapters::chapter_warnings(&document);
        warnings.extend(storypole_writeup::files::card::card_warnings(&document));
        let words_from =
            if writeup.is_some() { Vec::new() } else { storypole_writeup::stored_words(book, &subject) };
        let (writeup, pinned) = (choices.writeup, pinned(book, &subject));
        Ok((Published { subject, writeup, photos: wanted, pinned, words_from, document, warnings }, is_whole))
    }

    fn photo(&self, book: &Book, id: RecordId) -> Result<ChosenPhoto, PublishError> {
        let record = book.photos.get(id).filter(|photo| photo.meta.struck.is_none());
        let name = record.and_then(|photo| photo.name.clone()).unwrap_or_else(|| "photo".to_owned());
        let refused = |why| PublishError::Photo { name: name.clone(), why };
        let gone = "there is no such photograph, or it was struck; leave it out";
        let photo = record.ok_or_else(|| refused(gone))?;
        let hash = photo.hash.ok_or_else(|| refused(gone))?;
        let away = "its file is not on this device, or is damaged; fetch it with `storypole files fetch`, or leave it out";
        let (file, bytes) = self.attachments().open_verified(&hash).map_err(|_| refused(away))?;
        if bytes > LARGEST_PHOTO_BYTES {
            return Err(refused("it is larger than 64 MiB; make it smaller, or leave it out"));
        }
        let mut content = Vec::new();
        file.take(bytes).read_to_end(&mut content).map_err(|_| refused(away))?;
        let caption = photo.caption.clone().unwrap_or_default();
        Ok(ChosenPhoto { record: id, name, caption, bytes: Arc::from(content) })
    }

    /// Recordings of which something was cut out, second by second; one that cannot be heard any more is simply not drawn. And
    /// whether the files of all were here.
    fn histories(&self, book: &Book, subject: &Subject) -> (Vec<ReadingHistory>, bool) {
        let sets = sets_of(book, subject);
        let of_subject = |reading: &&Reading| {
            reading.cut_out.is_some() && reading.set.is_some_and(|set| sets.contains(&set))
        };
        let tried: Vec<&Reading> = book.readings.live().filter(of_subject).take(MOST_HISTORIES).collect();
        let is_here = |reading: &&Reading| {
            let hash = book.photos.of(reading.recording).and_then(|photo| photo.hash);
            hash.is_none_or(|hash| self.attachments().has(&hash))
        };
        let is_whole = tried.iter().all(is_here);
        (tried.into_iter().filter_map(|reading| self.history(book, reading)).collect(), is_whole)
    }

    fn history(&self, book: &Book, reading: &Reading) -> Option<ReadingHistory> {
        let photo = book.photos.of(reading.recording)?;
        let (file, bytes) = self.attachments().open_verified(&photo.hash?).ok()?;
        if bytes > LARGEST_RECORDING_BYTES {
            return None;
        }
        let listen = || recording::heard(BufReader::new(file), photo.name.as_deref()).ok();
        let measured = self.press().recording((photo.hash?, photo.name.clone()), listen)?;
        let history = recorded(book, reading, &measured)?;
        Some(ReadingHistory { reading: reading.id, history })
    }
}

/// What a request is about, and the stored write-up it names.
fn subject(book: &Book, request: &Request) -> Result<(Subject, Option<RecordId>), PublishError> {
    match (&request.question, request.about.as_slice()) {
        (Some(_), [_, ..]) => Err(PublishError::Both),
        (Some(question), []) => Ok((Subject::Comparison(question.clone()), None)),
        (None, [("writeup", id)]) => Ok((Subject::of_writeup(book, *id)?.0, Some(*id))),
        (None, named) => Ok((chosen(named)?, None)),
    }
}

/// Jobs and tests, each once, in the order they were named.
fn chosen(named: &[(&'static str, RecordId)]) -> Result<Subject, PublishError> {
    if let Some((kind, _)) = named.iter().find(|(kind, _)| !matches!(*kind, "job" | "test")) {
        return Err(PublishError::OtherKind { kind });
    }
    let mut ids: Vec<RecordId> = Vec::new();
    for (_, id) in named {
        if !ids.contains(id) {
            ids.push(*id);
        }
    }
    Ok(match (ids.as_slice(), named) {
        ([one], [("job", _), ..]) => Subject::Job(*one),
        ([one], _) => Subject::Test(*one),
        _ => Subject::Chosen(ids),
    })
}

/// Sets of the jobs and tests a write-up is about.
fn sets_of(book: &Book, subject: &Subject) -> BTreeSet<RecordId> {
    let about: BTreeSet<RecordId> = subject.records().iter().copied().collect();
    let is_of = |id: Option<RecordId>| id.is_some_and(|id| about.contains(&id));
    book.sets.live().filter(|set| is_of(set.job) || is_of(set.test)).map(|set| set.id).collect()
}

/// Photographs pinned to jobs and tests, their sets and readings, walls and lines of the log; in order of their age.
fn pinned(book: &Book, subject: &Subject) -> Vec<RecordId> {
    let mut places: BTreeSet<RecordId> = subject.records().iter().copied().collect();
    let sets = sets_of(book, subject);
    let is_of_job = |job: Option<RecordId>| job.is_some_and(|job| subject.records().contains(&job));
    places.extend(book.assemblies.live().filter(|one| is_of_job(one.job)).map(|one| one.id));
    places.extend(book.entries.live().filter(|one| is_of_job(one.job)).map(|one| one.id));
    places.extend(
        book.readings.live().filter(|one| one.set.is_some_and(|set| sets.contains(&set))).map(|one| one.id),
    );
    places.extend(sets);
    let is_picture = |photo: &&Photo| matches!(photo.media_type.as_deref(), Some("image/jpeg" | "image/png"));
    let of_places = |photo: &&Photo| photo.about.is_some_and(|about| places.contains(&about));
    book.photos.live().filter(is_picture).filter(of_places).map(|photo| photo.id).collect()
}

/// The recording by the second, on the scale of the reading that was taken from it.
fn recorded(book: &Book, reading: &Reading, measured: &Measurement) -> Option<History> {
    let cut_out = |cut: cuts::CutOut| CutOut { from_s: cut.from_s, to_s: cut.to_s, reason: cut.why };
    let cuts: Vec<CutOut> = cuts::read(reading.cut_out.as_deref()?).into_iter().map(cut_out).collect();
    let value = reading.value.as_ref()?;
    let unit = value.unit().to_string();
    let spans: Vec<Cut> = cuts.iter().map(|cut| Cut { from_s: cut.from_s, to_s: cut.to_s }).collect();
    let kept = measured.without(&spans).ok()?;
    let of_whole = match unit.as_str() {
        "dBC" => kept.c.leq_db,
        "dBZ" => kept.z.leq_db,
        _ => kept.a.leq_db,
    };
    let of_second = |second: &SecondLevels| match unit.as_str() {
        "dBC" => second.lceq_db,
        "dBZ" => second.lzeq_db,
        _ => second.laeq_db,
    };
    let average_db = value.number().to_f64();
    let shift_db = average_db - of_whole?;
    let shifted = |second: &SecondLevels| of_second(second).map(|level| level + shift_db);
    let levels = measured.levels_by_second().iter().map(shifted).collect();
    let name = |id| book.positions.of(id).and_then(|position| position.label.clone());
    let set = book.sets.of(reading.set).and_then(|set| set.label.clone()).unwrap_or_default();
    let place = name(reading.position).map(|position| format!(" {position}")).unwrap_or_default();
    let gone_s: f64 = cuts.iter().map(|cut| cut.to_s - cut.from_s).sum();
    Some(History {
        title: format!("{set}{place}: the recording second by second"),
        finding: format!("{average_db:.1} {unit} over what was kept; {gone_s:.0} s were cut out."),
        unit,
        levels,
        step_s: 1.0,
        cuts,
        average_db: Some(average_db),
        background_db: None,
    })
}
