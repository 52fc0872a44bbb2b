//! `storypole cautions`: what can hurt someone on a job, why it is shown, who has read it.

use storypole_desk::view;
use storypole_desk::{Desk, edge};
use storypole_journal::RecordId;
use storypole_ledger::caution::{About, CautionRule, Shown, cautions};
use storypole_notebook::Value;

use crate::context::Context;
use crate::draft::Writing;
use crate::page::Page;
use crate::refused::{Outcome, Refused};
use crate::{called, page};

/// What to mind on a job, a wall, a test or a site, from what the notebook holds.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
A caution is shown when something written down meets its condition. One that is missing says nothing: the notebook knows
only what it holds. Write down what is met on a job:
  storypole add hazard job=J3 hazard=ladder date=today note=\"two storeys, gravel\"

Examples:
  storypole cautions                       every job
  storypole cautions J5                    one job; a site, a wall or a test likewise
  storypole cautions J5 --read combustion-air --note \"told the tenant: the louvres stay open\"
A caution that was read stays on the list, and counts as new when what it rests on changes.")]
pub struct Args {
    /// Label of a job, site, wall or test.
    name: Option<String>,
    /// Write down that a caution was read; may be given for each.
    #[arg(long, value_name = "CAUTION", requires = "name")]
    read: Vec<String>,
    /// What is to be said about it.
    #[arg(long, requires = "read")]
    note: Option<String>,
    /// Only those that nobody has read as they stand.
    #[arg(long, conflicts_with = "read")]
    unread: bool,
    /// Person who read it, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

impl Args {
    /// Whether nothing is written.
    pub fn only_reads(&self) -> bool {
        self.read.is_empty()
    }
}

/// Prints cautions, or writes down that they were read.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let about = args.name.as_deref().map_or(Ok(About::Notebook), |name| about(&desk, name))?;
    if !args.read.is_empty() {
        return read(context, &desk, about, args);
    }
    let book = desk.book()?;
    let mut shown = cautions(&book, about);
    shown.retain(|one| !args.unread || !one.is_read());
    if context.json() {
        return page::json(&view::cautions::list(&book, &shown));
    }
    let mut page = Page::default();
    if shown.is_empty() {
        page.say(if args.unread {
            "Every caution shown here was read."
        } else {
            "Nothing written down here meets the condition of a caution. That says nothing of what is not written down."
        });
        return page.print();
    }
    for one in &shown {
        view::cautions::told(&book, one).into_iter().enumerate().for_each(|(line, words)| {
            if line == 0 {
                page.heading(&words);
            } else {
                page.say(&words);
            }
        });
    }
    page.print()
}

/// What a name means, among the kinds of records that cautions are about.
fn about(desk: &Desk, name: &str) -> Result<About, Refused> {
    let (kind, id) = called::find_any(desk, name)?;
    About::record(kind, id).ok_or_else(|| {
        Refused::new(
            format!("{name} is a {kind}, and cautions are about sites, jobs, walls and tests"),
            "name one of those, or none for every job",
        )
    })
}

fn read(context: &Context, desk: &Desk, about: About, args: &Args) -> Outcome {
    let book = desk.book()?;
    let shown = cautions(&book, about);
    let mut writing = Writing::start(context, desk, args.by.as_deref())?;
    let person = match args.by.as_deref() {
        Some(label) => called::find(desk, "person", label)?,
        None => desk.author(),
    };
    let mut written: Vec<(RecordId, &Shown)> = Vec::new();
    for name in &args.read {
        let matching: Vec<&Shown> = shown.iter().filter(|one| one.rule.name == name.trim()).collect();
        if matching.is_empty() {
            return Err(not_shown(name, &shown));
        }
        for one in matching {
            let id = edge::record_id();
            writing.set_value(id, "acknowledgement", "caution", &Value::Text(one.rule.name.to_owned()))?;
            writing.set_value(id, "acknowledgement", "about", &Value::Record(one.about))?;
            writing.set_value(id, "acknowledgement", "person", &Value::Record(person))?;
            writing.set_value(id, "acknowledgement", "facts", &Value::Text(one.facts_to_keep()))?;
            writing.set_some(id, "acknowledgement", "note", args.note.as_deref())?;
            written.push((id, one));
        }
    }
    let subjects: Vec<&str> = written.iter().map(|(_, one)| one.rule.subject).collect();
    let said = format!(
        "Read by {}: {}. It counts as new when what it rests on changes",
        called::name(desk, "person", person),
        subjects.join("; ")
    );
    let ids: Vec<RecordId> = written.iter().map(|(id, _)| *id).collect();
    let warnings = writing.take()?;
    let recorded: Vec<_> =
        ids.iter().map(|id| crate::draft::record_json(desk, "acknowledgement", *id)).collect();
    crate::draft::tell(context, &recorded, &said, &warnings);
    Ok(())
}

fn not_shown(name: &str, shown: &[Shown]) -> Refused {
    let mut names: Vec<&str> = shown.iter().map(|one| one.rule.name).collect();
    names.dedup();
    let next = if names.is_empty() {
        "none is shown here".to_owned()
    } else {
        format!("shown are: {}", names.join(", "))
    };
    match CautionRule::find(name.trim()) {
        Some(_) => {
            Refused::new(format!("the caution {name} is not shown here, so there is nothing to read"), next)
        }
        None => Refused::new(format!("there is no caution called \"{name}\""), next),
    }
}
