//! Cautions: when one is shown, what it says, who says so, and who has read it.
//!
//! A caution tells what can hurt someone and whom to ask. It never tells that something may be done without harm, and its
//! absence tells nothing: the list is short, and it knows only what is written down. A caution that was read is still
//! listed; when the facts it was shown for change, it comes back.
//!
//! Reading order: `rules` (the table), `index` and `scope` (the records of a job, a wall, a test), `words` (what texts speak of),
//! `noise`, `walls`, `house` and `goods` (which facts meet a rule), `reading` (acknowledgements).
//!
//! Left out: whether a person did what a caution asks for, attached pictures, and the memo of a receipt.

use std::collections::BTreeSet;

use storypole_journal::{RecordId, WrittenAt};
use storypole_notebook::Book;
use storypole_notebook::kinds::{Assembly, Job, Site, Test};

use index::Index;
use reading::Readers;
use scope::Scope;

mod goods;
mod house;
mod index;
mod noise;
mod reading;
mod rules;
mod scope;
#[cfg(test)]
mod tests;
mod walls;
mod words;

pub use noise::recommended_minutes;
pub use rules::{ASK, caution_rules};

/// One caution of the table. Two are the same when their names are.
#[derive(Debug, Clone, Copy)]
pub struct CautionRule {
    /// Its name, the one an acknowledgement gives.
    pub name: &'static str,
    /// What it is about.
    pub subject: &'static str,
    /// What can hurt and what to do before; [`CautionRule::words`] adds whom to ask.
    pub text: &'static str,
    /// Who says so, with edition or year, or that it is from memory.
    pub source: &'static str,
    /// Hazards of a record of kind `hazard` that show it.
    hazards: &'static [&'static str],
    /// Words that show it wherever they are written.
    says: &'static [&'static str],
    /// Words that show it where one of each list stands in one sentence: a thing, and what is done to it.
    pairs: (&'static [&'static str], &'static [&'static str]),
    /// Words that only `met` asks for.
    asks_for: &'static [&'static str],
    /// What else shows it, a sentence for each fact; none where nothing does.
    met: fn(&Scope<'_>) -> Vec<String>,
}

impl PartialEq for CautionRule {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

impl Eq for CautionRule {}

impl CautionRule {
    /// The caution of that name.
    pub fn find(name: &str) -> Option<&'static Self> {
        caution_rules().iter().find(|rule| rule.name == name)
    }

    /// What it says, ending with whom to ask.
    pub fn words(&self) -> String {
        format!("{} {ASK}", self.text)
    }

    /// The facts of a scope that meet it, in sentences; `None` where nothing does.
    fn facts(&self, scope: &Scope<'_>) -> Option<String> {
        let mut facts = (self.met)(scope);
        facts.extend(scope.hazards_written(self.hazards));
        facts.extend(scope.words_written(self.says));
        facts.extend(scope.pairs_written(self.pairs));
        (!facts.is_empty()).then(|| facts.join(" "))
    }
}

/// What cautions are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum About {
    /// Every job, and what is written down with no job.
    Notebook,
    /// Every job of a site, and what is written down there with no job.
    Site(RecordId),
    /// A job: its walls, sets, goods, hours, tasks and the lines of its log.
    Job(RecordId),
    /// A wall: its versions with their sets, and of its job what does not belong to another wall.
    Assembly(RecordId),
    /// A test: its sets with their walls, and the jobs they were taken in.
    Test(RecordId),
}

impl About {
    /// What a record is asked about by its kind; `None` for kinds that cautions are not about.
    pub fn record(kind: &str, id: RecordId) -> Option<Self> {
        match kind {
            Site::KIND => Some(Self::Site(id)),
            Job::KIND => Some(Self::Job(id)),
            Assembly::KIND => Some(Self::Assembly(id)),
            Test::KIND => Some(Self::Test(id)),
            _ => None,
        }
    }
}

/// A caution whose condition is met.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// Which one.
    pub rule: &'static CautionRule,
    /// The record the facts belong to; what an acknowledgement is about.
    pub about: RecordId,
    /// The kind of that record.
    pub about_kind: &'static str,
    /// The facts it is shown for, in sentences.
    pub facts: String,
    /// What can hurt, what to do before, whom to ask.
    pub text: String,
    /// Who has read it for these facts, oldest first.
    pub read: Vec<Read>,
    /// Who read it for other facts, or for facts that were not written down, oldest first.
    pub read_before: Vec<Read>,
    /// Whether it was read once and has to be read again, because the facts are other ones now.
    pub came_back: bool,
}

impl Shown {
    /// Whether someone has read it for the facts as they are.
    pub fn is_read(&self) -> bool {
        !self.read.is_empty()
    }

    /// The facts as an acknowledgement keeps them, cut to the length its field takes.
    pub fn facts_to_keep(&self) -> String {
        kept(&self.facts)
    }
}

/// One person's acknowledgement.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Read {
    /// The record.
    pub acknowledgement: RecordId,
    /// Who.
    pub person: Option<RecordId>,
    /// When it was written down.
    pub written_at: Option<WrittenAt>,
    /// The person's note.
    pub note: Option<String>,
    /// The facts it was shown for then; `None` where nobody wrote them down.
    pub facts_then: Option<String>,
}

/// Finds the cautions of a record, in the order of the table; of a notebook or a site job by job, oldest first.
///
/// Struck records count for nothing, and so does a record that is not there.
pub fn cautions(book: &Book, of: About) -> Vec<Shown> {
    let index = Index::of(book);
    let jobs = |is_asked: &dyn Fn(&Job) -> bool| -> Vec<About> {
        book.jobs.live().filter(|job| is_asked(job)).map(|job| About::Job(job.id)).collect()
    };
    let each = match of {
        About::Notebook => {
            let sites = book.sites.live().map(|site| About::Site(site.id));
            let of_no_job = index.tests_of_no_job().map(About::Test);
            jobs(&|_| true).into_iter().chain(sites).chain(of_no_job).collect()
        }
        About::Site(site) => {
            let mut each = jobs(&|job| job.site == Some(site));
            each.push(About::Site(site));
            each
        }
        one => vec![one],
    };
    each.into_iter().flat_map(|one| shown(&index, &[one])).collect()
}

/// Finds the cautions of several jobs, walls or tests as one list, each caution once with the facts of all of them.
///
/// They are about the first record. One counts as read when it was read for all the jobs it is shown for.
pub fn cautions_together(book: &Book, of: &[About]) -> Vec<Shown> {
    shown(&Index::of(book), of)
}

fn shown(index: &Index<'_>, of: &[About]) -> Vec<Shown> {
    let Some((about, about_kind)) = of.first().and_then(|about| subject(*about)) else { return Vec::new() };
    let scope = Scope::of(index, of);
    let subjects: BTreeSet<RecordId> =
        of.iter().filter_map(|about| subject(*about)).map(|(id, _)| id).collect();
    let readers = Readers::of(index, &scope, subjects);
    let mut all = Vec::new();
    for rule in caution_rules() {
        let Some(facts) = rule.facts(&scope) else { continue };
        let (read, read_before) = readers.read(rule, &facts);
        let came_back = read.is_empty() && !read_before.is_empty();
        let text = rule.words();
        all.push(Shown { rule, about, about_kind, facts, text, read, read_before, came_back });
    }
    all
}

fn subject(about: About) -> Option<(RecordId, &'static str)> {
    match about {
        About::Notebook => None,
        About::Site(id) => Some((id, Site::KIND)),
        About::Job(id) => Some((id, Job::KIND)),
        About::Assembly(id) => Some((id, Assembly::KIND)),
        About::Test(id) => Some((id, Test::KIND)),
    }
}

/// Most letters of the facts that an acknowledgement keeps: what its field takes.
const FACTS_LIMIT: usize = 2_000;

/// The facts as they are kept. Longer ones end in their count of letters and a checksum, so that another end is told apart.
fn kept(facts: &str) -> String {
    let facts = facts.trim();
    let count = facts.chars().count();
    if count <= FACTS_LIMIT {
        return facts.to_owned();
    }
    let end = format!(" ... ({count} letters, {:016x})", checksum(facts));
    let room = FACTS_LIMIT.saturating_sub(end.chars().count());
    facts.chars().take(room).chain(end.chars()).collect()
}

/// Tells texts apart, not for secrets.
///
/// # Source
/// FNV-1a of 64 bits, public domain, its two numbers from memory.
fn checksum(text: &str) -> u64 {
    text.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |sum, byte| (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}
