//! What a question found, with names, results and cost: one shape for command line, server and screens.

use jiff::civil::Date;
use serde_json::{Value, json};
use storypole_findings::{Estimate, Findings, Interval, Letter, print};
use storypole_journal::RecordId;
use storypole_notebook::{Book, Unit};
use storypole_search::answer::{
    Answer, Cursor, Filter, Found, HitGroup, Order, UnknownFilter, kind_title, name_words,
};
use storypole_search::facts::{FactBook, Facts};
use storypole_search::suggest::Suggestion;
use storypole_search::vocabulary::ConceptClass;
use storypole_search::{Matched, Piece};
use storypole_units::Money;

use super::achieved::{place, sentence};
use super::{Called, amount, called, estimate, interval};

/// An answer as people read it.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// The question as typed.
    pub asked: String,
    /// How it was understood.
    pub parts: Vec<PartTold>,
    /// What to know about the answer.
    pub notes: Vec<String>,
    /// Whether each hit has all that was asked for.
    pub all_words_matched: bool,
    /// How many records there are.
    pub total: usize,
    /// The order within a kind.
    pub order: Order,
    /// Kind by kind.
    pub groups: Vec<GroupTold>,
    /// What it can be narrowed by.
    pub filters: Vec<Filter>,
    /// Filters that were left out because they mean nothing here.
    pub unknown_filters: Vec<UnknownFilter>,
    /// Said while the index is made anew.
    pub making: Option<&'static str>,
}

/// A part of the question as it was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct PartTold {
    /// As typed.
    pub typed: String,
    /// What it says, in a word.
    pub kind: &'static str,
    /// What it says, in words.
    pub words: String,
    /// What to know about it.
    pub note: Option<String>,
    /// Whether it must not hold.
    pub is_unwanted: bool,
    /// The question without it.
    pub without: String,
}

/// What was found of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupTold {
    /// The kind.
    pub kind: &'static str,
    /// How many there are.
    pub count: usize,
    /// How many stand behind this page.
    pub more: usize,
    /// A page of them.
    pub hits: Vec<HitTold>,
    /// Where the next page begins.
    pub next: Option<Cursor>,
}

/// A record that was found, with what stands beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct HitTold {
    /// The record.
    pub record: Called,
    /// What it is called in the index, with what was looked for told apart.
    pub title: Vec<Piece>,
    /// Where the words stand.
    pub snippet: Option<Vec<Piece>>,
    /// Its site.
    pub site: Option<Called>,
    /// Its job.
    pub job: Option<Called>,
    /// Its day.
    pub date: Option<String>,
    /// How it is built, in a few words: only of walls.
    pub built: Option<String>,
    /// What was achieved, in a sentence or two.
    pub achieved: Option<String>,
    /// Whether it is of a bench rig, which rates no wall.
    pub is_bench: bool,
    /// Its result in short.
    pub finding: Option<InShort>,
    /// Cost of a square foot of its job.
    pub per_ft2: Option<Money>,
    /// What the job cost, or what the receipt says.
    pub cost: Option<Money>,
    /// Whether it stands apart because its result may not be claimed.
    pub is_apart: bool,
}

/// A result in short.
#[derive(Debug, Clone, PartialEq)]
pub struct InShort {
    /// Whether it is a change or a level difference.
    pub is_change: bool,
    /// The number, dB.
    pub value: Estimate,
    /// Its interval, dB.
    pub interval: Option<Interval>,
    /// Weighting of the readings.
    pub unit: Option<Unit>,
    /// Whether it may be claimed; a level difference claims nothing.
    pub is_claimed: bool,
    /// The same in a word.
    pub claim: Option<&'static str>,
    /// How good the comparison was.
    pub grade: Letter,
    /// Jobs in which such a wall was measured.
    pub jobs: usize,
}

/// What names and numbers are looked up in.
pub struct Looked<'a, 'b> {
    /// Every record.
    pub book: &'b Book,
    /// What they show.
    pub findings: &'a Findings<'b>,
    /// What is known of them beside words.
    pub facts: &'a FactBook,
}

/// Names everything in an answer.
pub fn told(asked: &str, answer: &Answer, looked: &Looked<'_, '_>, making: Option<&'static str>) -> Told {
    Told {
        asked: asked.to_owned(),
        parts: parts(answer),
        notes: answer.notes.clone(),
        all_words_matched: answer.matched == Matched::All,
        total: answer.total,
        order: answer.order,
        groups: answer.groups.iter().map(|group| looked.group(group)).collect(),
        filters: answer.filters.clone(),
        unknown_filters: answer.unknown_filters.clone(),
        making,
    }
}

fn parts(answer: &Answer) -> Vec<PartTold> {
    let question = &answer.question;
    let words = |number, part: &storypole_search::question::Part| {
        // The name of a kind among other words is a word.
        let is_kind = part.kind() == "kind" && answer.kind_of(number) == "word";
        if is_kind { part.typed.clone() } else { part.words(&answer.names) }
    };
    let part = |(number, part): (usize, &storypole_search::question::Part)| PartTold {
        typed: question.text[part.span.clone()].to_owned(),
        kind: answer.kind_of(number),
        words: words(number, part),
        note: answer.part_notes.iter().find(|(of, _)| *of == number).map(|(_, note)| note.clone()),
        is_unwanted: part.is_unwanted,
        without: question.without(number),
    };
    question.parts.iter().enumerate().map(part).collect()
}

impl Looked<'_, '_> {
    fn group(&self, group: &HitGroup) -> GroupTold {
        GroupTold {
            kind: group.kind,
            count: group.count,
            more: group.more,
            hits: group.hits.iter().map(|hit| self.hit(hit)).collect(),
            next: group.next,
        }
    }

    fn hit(&self, hit: &Found) -> HitTold {
        HitTold {
            title: hit.title.clone(),
            snippet: hit.snippet.clone(),
            is_apart: hit.is_apart,
            // As the index knows them, by which it was narrowed and put in order.
            site: hit.site.map(|site| called(self.book, "site", site)),
            date: hit.date.clone(),
            ..self.beside(&hit.kind, hit.record, &hit.facts)
        }
    }

    /// What stands beside a record, however it was found.
    pub fn beside(&self, kind: &str, id: RecordId, facts: &Facts) -> HitTold {
        let book = self.book;
        let record = called(book, kind, id);
        let at = place(book, kind, id).unwrap_or_default();
        let site = at.site.or_else(|| book.jobs.of(at.job)?.site);
        HitTold {
            title: vec![Piece { text: record.full(), is_match: false }],
            snippet: None,
            site: site.map(|site| called(book, "site", site)),
            job: at.job.map(|job| called(book, "job", job)),
            date: at.date.map(|date: Date| date.to_string()),
            built: (kind == "assembly").then(|| built(facts)).filter(|built| !built.is_empty()),
            achieved: sentence(self.findings, kind, id),
            is_bench: facts.is_bench,
            finding: self.in_short(facts),
            per_ft2: facts.cost_per_ft2,
            cost: facts.cost,
            is_apart: false,
            record,
        }
    }

    fn in_short(&self, facts: &Facts) -> Option<InShort> {
        let jobs = |wall: Option<RecordId>| self.facts.jobs_measured(self.book, self.findings, wall);
        if let Some(change) = &facts.reduction {
            return Some(InShort {
                is_change: true,
                value: Estimate { value: change.value_db, bound: change.bound },
                interval: change.interval,
                unit: change.unit,
                is_claimed: change.claim.holds(),
                claim: Some(change.claim.word()),
                grade: change.grade,
                jobs: jobs(change.to),
            });
        }
        let through = facts.difference.as_ref()?;
        Some(InShort {
            is_change: false,
            value: Estimate { value: through.value_db, bound: through.bound },
            interval: through.interval,
            unit: through.unit,
            is_claimed: false,
            claim: None,
            grade: through.grade,
            jobs: jobs(through.assembly),
        })
    }
}

/// Frame and fill: `single wood studs, cellulose`.
fn built(facts: &Facts) -> String {
    let words = |class| {
        let names = facts.names(class).names(class);
        names.map(move |name| name_words(class, name)).collect::<Vec<_>>()
    };
    [words(ConceptClass::Frame), words(ConceptClass::Fill)].concat().join(", ")
}

impl InShort {
    /// The number with its sign or bound: `+3.9 dB`, `at least 36.2 dB`.
    pub fn number(&self) -> String {
        let bound = match super::sense(self.value.bound) {
            "at-least" => "at least ",
            "at-most" => "at most ",
            _ => "",
        };
        let number = if self.is_change {
            print::signed(self.value.value, 1)
        } else {
            print::decimals(self.value.value, 1)
        };
        // dBA is what is meant where nothing is said.
        let weighting =
            self.unit.filter(|unit| *unit != Unit::DbA).map(|unit| format!(" ({})", unit.symbol()));
        format!("{bound}{number} dB{}", weighting.unwrap_or_default())
    }

    /// All of it: `+3.9 dB (2.8 to 5.0), grade B, 1 job`.
    pub fn words(&self) -> String {
        let mut words = self.number();
        if let Some(interval) = &self.interval {
            words.push_str(&format!(" ({})", print::range(interval, 1)));
        }
        if !self.is_change {
            words.push_str(" kept back");
        }
        match self.claim {
            Some("no claim") => words.push_str(", no claim"),
            Some("undetermined") => words.push_str(", undetermined"),
            _ => (),
        }
        let jobs = if self.jobs == 1 { "1 job".to_owned() } else { format!("{} jobs", self.jobs) };
        words.push_str(&format!(", grade {}, {jobs}", self.grade));
        words
    }

    fn json(&self) -> Value {
        json!({
            "measure": if self.is_change { "change" } else { "level-difference" },
            "value": estimate(&self.value, self.is_change),
            "interval": self.interval.as_ref().map(interval),
            "unit": self.unit.map(Unit::symbol),
            "is_claimed": self.is_claimed,
            "claim": self.claim,
            "grade": self.grade.to_string(),
            "jobs": self.jobs,
            "words": self.words(),
        })
    }
}

fn pieces(pieces: &[Piece]) -> Value {
    pieces.iter().map(|piece| json!({ "text": piece.text, "is_match": piece.is_match })).collect()
}

impl HitTold {
    /// As JSON.
    pub fn json(&self) -> Value {
        json!({
            "record": self.record.json(),
            "title": pieces(&self.title),
            "snippet": self.snippet.as_deref().map(pieces),
            "site": self.site.as_ref().map(Called::json),
            "job": self.job.as_ref().map(Called::json),
            "date": self.date,
            "built": self.built,
            "achieved": self.achieved,
            "is_bench": self.is_bench,
            "finding": self.finding.as_ref().map(InShort::json),
            "per_ft2": self.per_ft2.map(amount),
            "cost": self.cost.map(amount),
            "is_apart": self.is_apart,
        })
    }
}

impl Told {
    /// As JSON.
    pub fn json(&self) -> Value {
        let part = |part: &PartTold| {
            json!({
                "typed": part.typed,
                "kind": part.kind,
                "words": part.words,
                "note": part.note,
                "is_unwanted": part.is_unwanted,
                "without": part.without,
            })
        };
        let group = |group: &GroupTold| {
            json!({
                "kind": group.kind,
                "title": kind_title(group.kind),
                "count": group.count,
                "more": group.more,
                "hits": group.hits.iter().map(HitTold::json).collect::<Value>(),
                "next": group.next.map(|next| next.to_string()),
            })
        };
        json!({
            "asked": self.asked,
            "parts": self.parts.iter().map(part).collect::<Value>(),
            "notes": self.notes,
            "all_words_matched": self.all_words_matched,
            "total": self.total,
            "sort": self.order.word(),
            "groups": self.groups.iter().map(group).collect::<Value>(),
            "filters": self.filters.iter().map(filter).collect::<Value>(),
            "making": self.making,
        })
    }
}

fn filter(filter: &Filter) -> Value {
    let value = |value: &storypole_search::answer::FilterValue| {
        json!({
            "value": value.value,
            "words": value.words,
            "count": value.count,
            "is_chosen": value.is_chosen,
        })
    };
    json!({
        "name": filter.name.word(),
        "title": filter.name.title(),
        "values": filter.values.iter().map(value).collect::<Value>(),
    })
}

/// How a question might go on, as JSON.
pub fn suggested(typed: &str, suggestions: &[Suggestion]) -> Value {
    let one = |one: &Suggestion| json!({ "text": one.text, "words": one.words, "kind": one.kind });
    json!({ "typed": typed, "suggestions": suggestions.iter().map(one).collect::<Value>() })
}
