//! `storypole assembly`: walls, ceilings, floors and doors as built, in seven parts.

use clap::Subcommand;
use storypole_desk::{Desk, Known};
use storypole_journal::RecordId;
use storypole_notebook::Value;

use crate::called;
use crate::context::Context;
use crate::draft::{Writing, filled, record_json, words};
use crate::print::say;
use crate::refused::{Outcome, Refused};

mod framing;

use framing::Framing;

/// Describe a wall as it was found or built; a rebuild is a new version that replaces the old.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole assembly add A20 --job J1 --room-a R2 --room-b R1 --length \"150 in\" --height \"97 1/8 in\" \\
      --leaf-a \"gypsum 12.7 x1\" --frame \"single wood 38x89@406\" --cavity \"89 clear, empty\" --leaf-b \"gypsum 12.7 x1\"
  storypole assembly replace A20 A21 --cavity \"89 clear, glass fibre 89, 10 kg/m3, 100%\"
  storypole assembly show A04")]
pub struct Args {
    #[command(subcommand)]
    deed: Deed,
}

#[derive(Debug, Subcommand)]
enum Deed {
    /// Describe a wall.
    Add(Box<Add>),
    /// Describe the version that takes its place; what is not said stays as it was.
    Replace(Box<Replace>),
    /// Show a wall part by part, and what it replaced.
    Show(Show),
}

#[derive(Debug, clap::Args)]
#[command(after_help = PARTS)]
struct Add {
    /// Short name; the next free one if none is given.
    label: Option<String>,
    /// The version it replaces.
    #[arg(long, value_name = "ASSEMBLY")]
    replaces: Option<String>,
    #[command(flatten)]
    parts: Parts,
    #[command(flatten)]
    framing: Framing,
}

#[derive(Debug, clap::Args)]
#[command(after_help = PARTS)]
struct Replace {
    /// The version that was there.
    old: String,
    /// Short name of the new one; the next free one if none is given.
    new: Option<String>,
    #[command(flatten)]
    parts: Parts,
    #[command(flatten)]
    framing: Framing,
}

#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  storypole assembly show A04")]
struct Show {
    /// The assembly.
    assembly: String,
}

const PARTS: &str = "\
Sizes in the parts are millimetres; a part that is not there is \"none\", one nobody looked at \"unknown\".
  leaf      gypsum 15.9 x2, 22 kg/m2, channel 13@566, damping
  frame     single wood 38x89@406   staggered wood 38x89@610 on 38x140   double wood 38x89@406, gap 25
  cavity    89 clear, glass fibre 89, 10 kg/m3, 100%   or   89 clear, empty
  openings  door hollow-core 1.65 m2, unsealed, undercut 15; boxes 2 tight, offset 610
  seals     A 1, B 2, top 2, bottom 2   or   A gasket        numbers are beads

Examples:
  storypole assembly add --job J1 --room-a R2 --room-b R1 --leaf-a \"gypsum 12.7 x1\" --frame \"single wood 38x89@406\"
  storypole assembly add --job J1 --length \"150 in\" --height \"97 1/8 in\" --studs \"1 1/2 in @ 16 in\" --plates 3 \\
      --rough-opening \"door at 104 in, 32 1/2 in wide, head 82 1/2 in, header 3 in\"
  storypole assembly replace A03 A04 --openings \"door solid-core 1.65 m2, gasket\"";

/// Everything that may be said of a wall; the names are those of the fields.
#[derive(Debug, clap::Args)]
struct Parts {
    /// wall, ceiling, floor, door, rim or panel.
    #[arg(long)]
    element: Option<String>,
    /// Job that built or found it.
    #[arg(long)]
    job: Option<String>,
    /// Room on the side of leaf A.
    #[arg(long, value_name = "ROOM")]
    room_a: Option<String>,
    /// Room on the side of leaf B.
    #[arg(long, value_name = "ROOM")]
    room_b: Option<String>,
    /// Versions that count as one design share this word.
    #[arg(long)]
    design: Option<String>,
    /// Day it was built or found.
    #[arg(long, value_name = "DAY")]
    since: Option<String>,
    /// Length, like "12 ft 6 in" or "3.81 m".
    #[arg(long)]
    length: Option<String>,
    /// Height.
    #[arg(long)]
    height: Option<String>,
    /// Leaf A, from its room inward.
    #[arg(long, value_name = "PART")]
    leaf_a: Option<String>,
    /// Frame.
    #[arg(long, value_name = "PART")]
    frame: Option<String>,
    /// Cavity and fill.
    #[arg(long, value_name = "PART")]
    cavity: Option<String>,
    /// Leaf B, from its room inward.
    #[arg(long, value_name = "PART")]
    leaf_b: Option<String>,
    /// Doors, windows, boxes.
    #[arg(long, value_name = "PART")]
    openings: Option<String>,
    /// Perimeter seals.
    #[arg(long, value_name = "PART")]
    seals: Option<String>,
    /// bare-studs, boarded-a, boarded-both or finished.
    #[arg(long)]
    state: Option<String>,
    /// Anything else.
    #[arg(long)]
    note: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

impl Parts {
    fn typed(&self) -> [(&'static str, Option<&str>); 16] {
        [
            ("element", self.element.as_deref()),
            ("job", self.job.as_deref()),
            ("room_a", self.room_a.as_deref()),
            ("room_b", self.room_b.as_deref()),
            ("design", self.design.as_deref()),
            ("since", self.since.as_deref()),
            ("length", self.length.as_deref()),
            ("height", self.height.as_deref()),
            ("leaf_a", self.leaf_a.as_deref()),
            ("frame", self.frame.as_deref()),
            ("cavity", self.cavity.as_deref()),
            ("leaf_b", self.leaf_b.as_deref()),
            ("openings", self.openings.as_deref()),
            ("seals", self.seals.as_deref()),
            ("state", self.state.as_deref()),
            ("note", self.note.as_deref()),
        ]
    }
}

/// Carries out one deed.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    match &args.deed {
        Deed::Add(add) => run_add(context, &desk, add),
        Deed::Replace(replace) => run_replace(context, &desk, replace),
        Deed::Show(show) => {
            let id = called::find(&desk, "assembly", &show.assembly)?;
            print(context, &desk, id);
            Ok(())
        }
    }
}

fn run_add(context: &Context, desk: &Desk, add: &Add) -> Outcome {
    let mut writing = Writing::start(context, desk, add.parts.by.as_deref())?;
    let (id, label) = writing.add("assembly", add.label.as_deref())?;
    for (field, typed) in add.parts.typed().into_iter().chain(add.framing.stands()) {
        writing.set_some(id, "assembly", field, typed)?;
    }
    if add.parts.element.is_none() {
        writing.set(id, "assembly", "element", "wall")?;
    }
    writing.set_some(id, "assembly", "replaces", add.replaces.as_deref())?;
    add.framing.write(&mut writing, id, &label)?;
    writing.finish(
        "assembly",
        id,
        &format!("{label} recorded; look at it with storypole assembly show {label}"),
    )
}

/// Fields that belong to one version only.
const OF_ONE_VERSION: &[&str] = &["label", "replaces", "since", "note"];

fn run_replace(context: &Context, desk: &Desk, replace: &Replace) -> Outcome {
    let old = called::find(desk, "assembly", &replace.old)?;
    let row = called::row(desk, "assembly", old).ok_or_else(|| {
        Refused::new(
            format!("assembly {} holds nothing", replace.old),
            "describe it with storypole assembly add",
        )
    })?;
    let mut writing = Writing::start(context, desk, replace.parts.by.as_deref())?;
    let (id, label) = writing.add("assembly", replace.new.as_deref())?;
    writing.set_value(id, "assembly", "replaces", &Value::Record(old))?;
    let mut changed = Vec::new();
    // The studs stay those of the version before: they are read from there.
    for (field, typed) in replace.parts.typed().into_iter().chain(replace.framing.stands()) {
        let held = row.value(field).filter(|_| !OF_ONE_VERSION.contains(&field));
        let value = typed.map(|typed| writing.value("assembly", field, typed)).transpose()?;
        if value.is_some() && value.as_ref() != held && !OF_ONE_VERSION.contains(&field) {
            changed.push(field.replace('_', " "));
        }
        if let Some(value) = value.as_ref().or(held) {
            writing.set_value(id, "assembly", field, value)?;
        }
    }
    replace.framing.write(&mut writing, id, &label)?;
    if replace.parts.since.is_none() {
        writing.set(id, "assembly", "since", "today")?;
    }
    if changed.is_empty() {
        eprintln!(
            "note: {label} is built like the one it replaces; say what is different, like --cavity \"...\""
        );
    }
    let what = if changed.is_empty() {
        "nothing is different".to_owned()
    } else {
        format!("different: {}", changed.join(", "))
    };
    let old = called::name(desk, "assembly", old);
    if replace.parts.job.is_none()
        && let Some(job) = row.value("job")
    {
        let job = if let Value::Record(job) = job { called::name(desk, "job", *job) } else { String::new() };
        eprintln!("note: it counts for job {job}, as {old} does; say --job if another built it");
    }
    writing.finish("assembly", id, &format!("{label} replaces {old}; {what}"))
}

fn print(context: &Context, desk: &Desk, id: RecordId) {
    if context.json() {
        let mut json = record_json(desk, "assembly", id);
        json["replaced_by"] = replaced_by(desk, id).into();
        say!("{json}");
        return;
    }
    let Some(row) = called::row(desk, "assembly", id) else { return };
    for (spec, value) in filled(&row) {
        let told = match spec.name {
            "room_a" | "room_b" => room(desk, value),
            _ => words(desk, spec, value),
        };
        say!("{:<10} {told}", spec.name.replace('_', " "));
    }
    for words in framing_rows(desk, id) {
        say!("{words}");
    }
    for by in replaced_by(desk, id) {
        say!("replaced by {by}");
    }
}

/// Rough openings and rows of blocking, each with the label that it is changed by.
fn framing_rows(desk: &Desk, id: RecordId) -> Vec<String> {
    let Ok(book) = desk.book() else { return Vec::new() };
    let size = |name: &str, length: Option<storypole_units::Length>| {
        length.map(|length| format!("{name} {}", storypole_desk::view::takeoff::printed(length)))
    };
    let joined = |parts: Vec<Option<String>>| parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
    let openings = book.openings.live().filter(|row| row.assembly == Some(id)).map(|row| {
        let kind = row.opening_kind.clone().unwrap_or_else(|| "opening".to_owned());
        let sizes = joined(vec![
            size("at", row.left),
            size("wide", row.width),
            size("sill", row.sill),
            size("head", row.head),
            size("header", row.header_depth),
        ]);
        format!("{:<10} {} {kind}: {sizes}", "opening", called::name(desk, "opening", row.id))
    });
    let blocking = book.blockings.live().filter(|row| row.assembly == Some(id)).map(|row| {
        let sizes =
            joined(vec![size("centre at", row.height), size("from", row.left), size("to", row.right)]);
        format!("{:<10} {}: {sizes}", "blocking", called::name(desk, "blocking", row.id))
    });
    openings.chain(blocking).collect()
}

fn room(desk: &Desk, value: &Value) -> String {
    let Value::Record(id) = value else { return value.to_string() };
    let name = called::text(desk, "room", *id, "name").unwrap_or_default();
    format!("{} ({name})", called::name(desk, "room", *id))
}

fn replaced_by(desk: &Desk, id: RecordId) -> Vec<String> {
    let later = desk.matching("assembly", &[("replaces", Value::Record(id))]);
    later.into_iter().map(|id| called::name(desk, "assembly", id)).collect()
}
