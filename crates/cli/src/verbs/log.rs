//! `storypole log`: one line of the day log, with the hours of everyone.

use storypole_desk::{Desk, Known};
use storypole_journal::RecordId;
use storypole_notebook::Value;

use crate::called;
use crate::context::Context;
use crate::draft::Writing;
use crate::refused::{Outcome, Refused};

/// Write a line into the day log, with hours.
///
/// Site and job are those of the line before unless you say otherwise.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole log \"Channel and first board up\" --job J1 --hours lead=6 --hours helper=5
  storypole log \"P02 came, one sheet short\" --kind delivery --date yesterday
  storypole log \"Filter of the dust extractor burst\" --kind delay --lost 2
  storypole log \"Boxes looked at before cover\" --kind inspection --outcome passed")]
pub struct Args {
    /// What happened.
    #[arg(required = true, value_name = "TEXT")]
    text: Vec<String>,
    /// Site.
    #[arg(long)]
    site: Option<String>,
    /// Job.
    #[arg(long)]
    job: Option<String>,
    /// work, delivery, delay, inspection, decision, safety, snag, visitor or note.
    #[arg(long, default_value = "work")]
    kind: String,
    /// Day, like 2025-03-04, today or yesterday.
    #[arg(long, default_value = "today", value_name = "DAY")]
    date: String,
    /// Hours of one person; may be given for each.
    #[arg(long, value_name = "PERSON=HOURS")]
    hours: Vec<String>,
    /// Room.
    #[arg(long)]
    room: Option<String>,
    /// Assembly.
    #[arg(long)]
    assembly: Option<String>,
    /// Lowest temperature of the day, like "38 F".
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    low: Option<String>,
    /// Highest temperature of the day.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    high: Option<String>,
    /// Rain, snow, wind.
    #[arg(long)]
    weather: Option<String>,
    /// Hours lost by a delay.
    #[arg(long, value_name = "HOURS")]
    lost: Option<String>,
    /// Outcome of an inspection: passed, failed, partly or not-done.
    #[arg(long)]
    outcome: Option<String>,
    /// What a decision costs, or saves with a minus.
    #[arg(long, value_name = "MONEY", allow_hyphen_values = true)]
    cost_effect: Option<String>,
    /// Short name of the line.
    #[arg(long)]
    label: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Writes the line.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let place = Place::of(&desk, args.site.as_deref(), args.job.as_deref())?;
    let mut writing = Writing::start(context, &desk, args.by.as_deref())?;
    let (id, label) = writing.add("entry", args.label.as_deref())?;
    writing.set_value(id, "entry", "site", &Value::Record(place.site))?;
    if let Some(job) = place.job {
        writing.set_value(id, "entry", "job", &Value::Record(job))?;
    }
    let date = writing.value("entry", "date", &args.date)?;
    writing.set_value(id, "entry", "date", &date)?;
    writing.set(id, "entry", "entry_kind", &args.kind)?;
    writing.set(id, "entry", "text", &args.text.join(" "))?;
    for (field, typed) in [
        ("room", &args.room),
        ("assembly", &args.assembly),
        ("low", &args.low),
        ("high", &args.high),
        ("weather", &args.weather),
        ("hours_lost", &args.lost),
        ("outcome", &args.outcome),
        ("cost_effect", &args.cost_effect),
    ] {
        writing.set_some(id, "entry", field, typed.as_deref())?;
    }
    for odd in odd(args) {
        eprintln!("note: {odd}");
    }
    let mut hours = Vec::new();
    for one in &args.hours {
        hours.push(write_hours(&mut writing, id, place.job, &date, one)?);
    }
    let told = if hours.is_empty() { String::new() } else { format!(", {}", hours.join(", ")) };
    let kind = args.kind.trim().to_lowercase();
    let said = format!("{label} recorded: {kind} on {date} at {}{told}", place.words(&desk));
    writing.finish("entry", id, &said)
}

/// What is kept as typed and may be a slip: nobody is stopped for it.
fn odd(args: &Args) -> Vec<String> {
    let mut odd = Vec::new();
    let kind = args.kind.trim().to_lowercase();
    if args.outcome.is_some() && kind != "inspection" {
        odd.push(format!(
            "an outcome belongs to an inspection, this is kept as {kind}; say --kind inspection"
        ));
    }
    if args.lost.is_some() && kind != "delay" {
        odd.push(format!("hours lost belong to a delay, this is kept as {kind}; say --kind delay"));
    }
    let typed = args.hours.iter().filter_map(|one| one.split_once(['=', ' ']));
    let typed: Vec<(String, &str)> =
        typed.map(|(person, hours)| (person.trim().to_lowercase(), hours)).collect();
    for (index, (person, hours)) in typed.iter().enumerate() {
        if typed[..index].iter().any(|(before, _)| before == person) {
            odd.push(format!("{person} is there twice; both count"));
        }
        let hours =
            crate::typing::hours(hours).and_then(|hours| storypole_units::Decimal::parse(&hours).ok());
        if hours.is_some_and(storypole_units::Decimal::is_zero) {
            odd.push(format!("{person} has 0 hours"));
        }
    }
    odd
}

fn write_hours(
    writing: &mut Writing<'_>,
    entry: RecordId,
    job: Option<RecordId>,
    date: &Value,
    typed: &str,
) -> Result<String, Refused> {
    let form =
        || Refused::new(format!("\"{typed}\" is not a person and hours"), "write it like --hours lead=6.5");
    let (person, number) = typed.split_once(['=', ' ']).ok_or_else(form)?;
    let job = job.ok_or_else(|| Refused::new("hours are booked to a job", "say which with --job"))?;
    let id = storypole_desk::edge::record_id();
    writing.set(id, "hours", "person", person)?;
    writing.set_value(id, "hours", "job", &Value::Record(job))?;
    writing.set_value(id, "hours", "entry", &Value::Record(entry))?;
    writing.set_value(id, "hours", "date", date)?;
    let number = writing.value("hours", "hours", number)?;
    writing.set_value(id, "hours", "hours", &number)?;
    Ok(format!("{} {number} h", person.trim()))
}

/// Where a line belongs.
struct Place {
    site: RecordId,
    job: Option<RecordId>,
}

impl Place {
    /// As told; else the site of the job told; else site and job of the line written last, which is said.
    fn of(desk: &Desk, site: Option<&str>, job: Option<&str>) -> Result<Self, Refused> {
        let site = site.map(|name| called::find(desk, "site", name)).transpose()?;
        let job = job.map(|name| called::find(desk, "job", name)).transpose()?;
        let of_job = job.and_then(|job| called::reference(desk, "job", job, "site"));
        if let Some(site) = site.or(of_job) {
            return Ok(Self { site, job });
        }
        let next = "say where with --job or --site; `storypole jobs` lists them";
        let last = last_place(desk)?
            .ok_or_else(|| Refused::new("there is no line before to take the site from", next))?;
        let place = Self { site: last.site, job: job.or(last.job) };
        eprintln!("note: {}, as in the line before", place.words(desk));
        Ok(place)
    }

    fn words(&self, desk: &Desk) -> String {
        let site = called::name(desk, "site", self.site);
        let job = self.job.map(|job| format!(", job {}", called::name(desk, "job", job)));
        format!("site {site}{}", job.unwrap_or_default())
    }
}

/// Site and job of the line that was written last.
fn last_place(desk: &Desk) -> Result<Option<Place>, Refused> {
    let book = desk.book()?;
    let written = |entry: &storypole_notebook::kinds::Entry| {
        (entry.meta.written_at.map_or(i64::MIN, |at| at.unix_ms), entry.id)
    };
    let last = book.entries.live().filter(|entry| entry.site.is_some()).max_by_key(|entry| written(entry));
    let site_of =
        |job| if let Some(Value::Record(site)) = desk.value(job, "job", "site") { Some(site) } else { None };
    Ok(last.and_then(|entry| {
        let site = entry.site.or_else(|| entry.job.and_then(site_of))?;
        Some(Place { site, job: entry.job })
    }))
}
