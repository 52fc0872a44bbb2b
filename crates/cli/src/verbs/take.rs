//! `storypole use` and `storypole move`: material that is used, thrown away or carried to another job.
//!
//! More than is there is written all the same and said at once: the goods went somewhere, and it is the notebook that
//! lacks a receipt or holds a slip.

use storypole_desk::Desk;
use storypole_desk::view::stock::words_of_place;
use storypole_journal::RecordId;
use storypole_ledger::words::counted;
use storypole_notebook::Value;
use storypole_units::Decimal;

use crate::called;
use crate::context::Context;
use crate::draft::Writing;
use crate::refused::{Outcome, Refused};

/// Write down material that was used, or thrown away.
#[derive(Debug, clap::Args)]
#[command(
    allow_negative_numbers = true,
    after_help = "\
Examples:
  storypole use batt-r13 6 --job J5 --wall A12
  storypole use cellulose 77.5 lb --job J4 --wall A09 --date 2025-04-16
  storypole use batt-r13 1 pack --job J1
  storypole use board-58x 1 --job J3 --thrown-away --note \"broken corner\""
)]
pub struct UseArgs {
    /// Label of the material.
    material: String,
    /// How many, and of what where it is not the material's unit: 6, \"1 pack\", 77.5 lb.
    #[arg(required = true, value_name = "HOW MANY", num_args = 1..=3)]
    quantity: Vec<String>,
    /// The job it lay for and was used on.
    #[arg(long)]
    job: String,
    /// The wall, ceiling or floor it went into.
    #[arg(long, value_name = "ASSEMBLY", conflicts_with = "thrown_away")]
    wall: Option<String>,
    /// Where, if not at the site of the job.
    #[arg(long)]
    site: Option<String>,
    /// Thrown away instead of used.
    #[arg(long)]
    thrown_away: bool,
    /// Day.
    #[arg(long, default_value = "today", value_name = "DAY")]
    date: String,
    /// Anything else.
    #[arg(long)]
    note: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Write down material carried from one job to another, at the same site or not.
#[derive(Debug, clap::Args)]
#[command(
    allow_negative_numbers = true,
    after_help = "\
Examples:
  storypole move board-58x 2 --from J1 --to J4
  storypole move batt-r13 1 pack --from J1 --to J5 --date yesterday
  storypole move cellulose 22.5 lb --from J4 --to J6 --note \"0.9 bag\"
One record is written; both jobs show it, at what the goods cost when they were bought."
)]
pub struct MoveArgs {
    /// Label of the material.
    material: String,
    /// How many, and of what where it is not the material's unit: 2, \"1 pack\", 22.5 lb.
    #[arg(required = true, value_name = "HOW MANY", num_args = 1..=3)]
    quantity: Vec<String>,
    /// Job it lay for.
    #[arg(long, value_name = "JOB")]
    from: String,
    /// Job it is for now.
    #[arg(long, value_name = "JOB")]
    to: String,
    /// Where it lay, if not at the site of its job.
    #[arg(long, value_name = "SITE")]
    from_site: Option<String>,
    /// Where it lies now, if not at the site of its job.
    #[arg(long, value_name = "SITE")]
    to_site: Option<String>,
    /// Day.
    #[arg(long, default_value = "today", value_name = "DAY")]
    date: String,
    /// Short name of the move.
    #[arg(long)]
    label: Option<String>,
    /// Anything else.
    #[arg(long)]
    note: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Writes a use or a waste.
pub fn run_use(context: &Context, args: &UseArgs) -> Outcome {
    let desk = context.open()?;
    let material = called::find(&desk, "material", &args.material)?;
    let job = called::find(&desk, "job", &args.job)?;
    let site = site_of(&desk, job, args.site.as_deref(), "--site")?;
    let taken = Taken::parse(&desk, material, &args.quantity)?;
    let kind = if args.thrown_away { "waste" } else { "use" };
    let mut writing = Writing::start(context, &desk, args.by.as_deref())?;
    let (id, label) = writing.add(kind, None)?;
    writing.set_value(id, kind, "material", &Value::Record(material))?;
    writing.set_value(id, kind, "site", &Value::Record(site))?;
    writing.set_value(id, kind, "job", &Value::Record(job))?;
    taken.write(&mut writing, id, kind)?;
    writing.set(id, kind, "date", &args.date)?;
    writing.set_some(id, kind, "note", args.note.as_deref())?;
    if !args.thrown_away {
        writing.set_some(id, kind, "assembly", args.wall.as_deref())?;
    }
    let done = if args.thrown_away { "thrown away" } else { "used" };
    let what = called::name(&desk, "material", material);
    let place = words_of_place(&*desk.book()?, Some(site), Some(job));
    finish(
        &desk,
        writing,
        (kind, id),
        &format!("{label}: {} of {what} {done} {place}", taken.words()),
        material,
    )
}

/// Writes a move.
pub fn run_move(context: &Context, args: &MoveArgs) -> Outcome {
    let desk = context.open()?;
    let material = called::find(&desk, "material", &args.material)?;
    let from = called::find(&desk, "job", &args.from)?;
    let to = called::find(&desk, "job", &args.to)?;
    let from_site = site_of(&desk, from, args.from_site.as_deref(), "--from-site")?;
    let to_site = site_of(&desk, to, args.to_site.as_deref(), "--to-site")?;
    if (from, from_site) == (to, to_site) {
        let name = called::name(&desk, "job", from);
        return Err(Refused::new(
            format!("nothing moves from {name} to {name}"),
            "name another job with --to, or another place with --to-site",
        ));
    }
    let taken = Taken::parse(&desk, material, &args.quantity)?;
    let mut writing = Writing::start(context, &desk, args.by.as_deref())?;
    let (id, label) = writing.add("move", args.label.as_deref())?;
    for (field, record) in [
        ("material", material),
        ("from_site", from_site),
        ("from_job", from),
        ("to_site", to_site),
        ("to_job", to),
    ] {
        writing.set_value(id, "move", field, &Value::Record(record))?;
    }
    taken.write(&mut writing, id, "move")?;
    writing.set(id, "move", "date", &args.date)?;
    writing.set_some(id, "move", "note", args.note.as_deref())?;
    let book = desk.book()?;
    let what = called::name(&desk, "material", material);
    let said = format!(
        "{label}: {} of {what} moved, from {} to {}",
        taken.words(),
        words_of_place(&book, Some(from_site), Some(from)).trim_start_matches("at "),
        words_of_place(&book, Some(to_site), Some(to)).trim_start_matches("at ")
    );
    drop(book);
    finish(&desk, writing, ("move", id), &said, material)
}

fn finish(
    desk: &Desk,
    writing: Writing<'_>,
    (kind, id): (&'static str, RecordId),
    said: &str,
    material: RecordId,
) -> Outcome {
    let context = writing.context();
    let warnings = writing.take()?;
    let book = desk.book()?;
    let left = storypole_desk::view::stock::left_words(&book, material);
    let said = format!("{said}. {left}");
    crate::draft::tell(context, &[crate::draft::record_json(desk, kind, id)], &said, &warnings);
    Ok(())
}

/// The site named, else that of the job.
pub fn site_of(desk: &Desk, job: RecordId, named: Option<&str>, flag: &str) -> Result<RecordId, Refused> {
    if let Some(name) = named {
        return called::find(desk, "site", name);
    }
    called::reference(desk, "job", job, "site").ok_or_else(|| {
        Refused::new(
            format!("job {} has no site", called::name(desk, "job", job)),
            format!("say where with {flag}, or give the job its site with `storypole change job`"),
        )
    })
}

/// A quantity as typed, with its unit.
struct Taken {
    number: String,
    unit: Option<String>,
}

impl Taken {
    /// Reads `6`, `1 pack` or `77.5lb`; a unit has to be the material's unit or its pack.
    fn parse(desk: &Desk, material: RecordId, typed: &[String]) -> Result<Self, Refused> {
        let typed = typed.join(" ");
        let typed = typed.trim();
        let split = typed.find(|letter: char| letter.is_alphabetic()).unwrap_or(typed.len());
        let (number, unit) = (typed[..split].trim().to_owned(), typed[split..].trim().to_lowercase());
        let known: Vec<String> = ["unit", "pack_unit"]
            .iter()
            .filter_map(|field| called::text(desk, "material", material, field))
            .collect();
        if unit.is_empty() {
            return Ok(Self { number, unit: known.first().cloned() });
        }
        let forms = [Some(unit.as_str()), unit.strip_suffix('s'), unit.strip_suffix("es")];
        let found = known.iter().find(|known| forms.contains(&Some(known.to_lowercase().as_str())));
        let found = found.cloned().ok_or_else(|| {
            let name = called::name(desk, "material", material);
            Refused::new(
                format!("{name} is not counted in \"{unit}\""),
                format!("write how many {}", known.join(" or ")),
            )
        })?;
        Ok(Self { number, unit: Some(found) })
    }

    fn write(&self, writing: &mut Writing<'_>, id: RecordId, kind: &str) -> Result<(), Refused> {
        writing.set(id, kind, "quantity", &self.number)?;
        writing.set_some(id, kind, "unit", self.unit.as_deref())
    }

    fn words(&self) -> String {
        match (Decimal::parse(&self.number), &self.unit) {
            (Ok(number), Some(unit)) => counted(number, unit),
            _ => self.number.clone(),
        }
    }
}
