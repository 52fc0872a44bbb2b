//! `storypole task`: pieces of work and how far they are.

use clap::Subcommand;
use storypole_desk::Desk;
use storypole_notebook::kinds::Task;

use crate::called;
use crate::context::Context;
use crate::draft::{Writing, record_json, tell};
use crate::print::Table;
use crate::print::say;
use crate::refused::Outcome;

/// Plan pieces of work and tell how far they are.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole task add \"Seal the perimeter\" --job J1 --owner helper --hours 2 --due 2025-03-12
  storypole task done K03
  storypole task block K05 --by \"damping compound is not here\"
  storypole task list --job J1")]
pub struct Args {
    #[command(subcommand)]
    deed: Deed,
}

#[derive(Debug, Subcommand)]
enum Deed {
    /// Plan a piece of work.
    Add(Add),
    /// It is under way.
    Do(Step),
    /// It is done.
    Done(Step),
    /// Somebody has looked at it and it is right.
    Check(Step),
    /// Something stands in its way.
    Block(Block),
    /// List what is open.
    List(List),
}

#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole task add \"Seal the perimeter\" --job J1
  storypole task add \"Second board\" --job J1 --waits-for K03 --owner lead")]
struct Add {
    /// What is to be done.
    #[arg(required = true, value_name = "TITLE")]
    title: Vec<String>,
    /// Job.
    #[arg(long)]
    job: String,
    /// Room.
    #[arg(long)]
    room: Option<String>,
    /// Who does it.
    #[arg(long, value_name = "PERSON")]
    owner: Option<String>,
    /// Hours expected.
    #[arg(long)]
    hours: Option<String>,
    /// Day it is due.
    #[arg(long, value_name = "DAY")]
    due: Option<String>,
    /// Task that must be done before.
    #[arg(long, value_name = "TASK")]
    waits_for: Option<String>,
    /// Short name.
    #[arg(long)]
    label: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  storypole task done K03\n  storypole task check K03 --evidence T04")]
struct Step {
    /// The task.
    task: String,
    /// Record that shows it: a set, an entry, a photo.
    #[arg(long, value_name = "RECORD")]
    evidence: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  storypole task block K05 --by \"inspector comes on Tuesday\"")]
struct Block {
    /// The task.
    task: String,
    /// What blocks it.
    #[arg(long = "by", value_name = "WHAT")]
    what: String,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  storypole task list\n  storypole task list --job J3 --all")]
struct List {
    /// Only of this job.
    #[arg(long)]
    job: Option<String>,
    /// Done and checked ones too.
    #[arg(long)]
    all: bool,
}

/// Carries out one deed.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    match &args.deed {
        Deed::Add(add) => run_add(context, &desk, add),
        Deed::Do(step) => run_step(context, &desk, step, "doing", "under way"),
        Deed::Done(step) => run_step(context, &desk, step, "done", "done"),
        Deed::Check(step) => run_step(context, &desk, step, "checked", "checked"),
        Deed::Block(block) => run_block(context, &desk, block),
        Deed::List(list) => run_list(context, &desk, list),
    }
}

fn run_add(context: &Context, desk: &Desk, add: &Add) -> Outcome {
    let mut writing = Writing::start(context, desk, add.by.as_deref())?;
    let (id, label) = writing.add("task", add.label.as_deref())?;
    let title = add.title.join(" ");
    writing.set(id, "task", "job", &add.job)?;
    writing.set(id, "task", "title", &title)?;
    writing.set(id, "task", "state", "to-do")?;
    for (field, typed) in [
        ("room", &add.room),
        ("owner", &add.owner),
        ("hours", &add.hours),
        ("due", &add.due),
        ("waits_for", &add.waits_for),
    ] {
        writing.set_some(id, "task", field, typed.as_deref())?;
    }
    writing.finish("task", id, &format!("{label} planned for {}: {title}", add.job))
}

fn run_step(context: &Context, desk: &Desk, step: &Step, state: &str, words: &str) -> Outcome {
    let id = called::find(desk, "task", &step.task)?;
    let title = called::text(desk, "task", id, "title").unwrap_or_default();
    let mut writing = Writing::start(context, desk, step.by.as_deref())?;
    writing.change(id, "task", "state", Some(state), None)?;
    writing.change(id, "task", "blocked_by", None, None)?;
    if let Some(evidence) = &step.evidence {
        writing.change(id, "task", "evidence", Some(evidence), None)?;
    }
    let label = called::name(desk, "task", id);
    let waiting_for = called::reference(desk, "task", id, "waits_for").filter(|_| state != "to-do");
    if let Some(open) = waiting_for.and_then(|before| still_open(desk, before)) {
        eprintln!("look: {label} was to wait for {open}, which is not done");
    }
    if writing.is_empty() {
        tell(
            context,
            &[record_json(desk, "task", id)],
            &format!("{label} was {words} already: {title}"),
            &[],
        );
        return Ok(());
    }
    writing.finish("task", id, &format!("{label} is {words}: {title}"))
}

fn still_open(desk: &Desk, task: storypole_journal::RecordId) -> Option<String> {
    let state = called::text(desk, "task", task, "state")?;
    (!matches!(state.as_str(), "done" | "checked")).then(|| called::name(desk, "task", task))
}

fn run_block(context: &Context, desk: &Desk, block: &Block) -> Outcome {
    let id = called::find(desk, "task", &block.task)?;
    let before = called::text(desk, "task", id, "state").unwrap_or_default();
    if matches!(before.as_str(), "done" | "checked") {
        eprintln!("note: it was {before} before; `storypole task done {}` takes that up again", block.task);
    }
    let mut writing = Writing::start(context, desk, block.by.as_deref())?;
    writing.change(id, "task", "state", Some("blocked"), None)?;
    writing.change(id, "task", "blocked_by", Some(&block.what), None)?;
    let label = called::name(desk, "task", id);
    let said = format!("{label} is blocked: {}", block.what);
    if writing.is_empty() {
        tell(context, &[record_json(desk, "task", id)], &said, &[]);
        return Ok(());
    }
    writing.finish("task", id, &said)
}

fn run_list(context: &Context, desk: &Desk, list: &List) -> Outcome {
    let job = list.job.as_deref().map(|name| called::find(desk, "job", name)).transpose()?;
    let book = desk.book()?;
    let is_over = |task: &Task| matches!(task.state.as_deref(), Some("done" | "checked"));
    let listed: Vec<&Task> = book
        .tasks
        .live()
        .filter(|task| job.is_none() || task.job == job)
        .filter(|task| list.all || !is_over(task))
        .collect();
    if context.json() {
        let tasks: Vec<_> = listed.iter().map(|task| record_json(desk, "task", task.id)).collect();
        say!("{}", serde_json::json!({ "tasks": tasks }));
        return Ok(());
    }
    if listed.is_empty() {
        say!("Nothing is open.");
        return Ok(());
    }
    let mut table = Table::new(&["task", "job", "state", "due", "who", "what"]);
    for task in listed {
        table.row(cells(desk, task));
    }
    print!("{}", table.text());
    Ok(())
}

fn cells(desk: &Desk, task: &Task) -> [String; 6] {
    let named = |kind: &str, id| Option::map_or(id, String::new(), |id| called::name(desk, kind, id));
    let mut title = task.title.clone().unwrap_or_default();
    if let Some(what) = &task.blocked_by {
        title.push_str(&format!(" (blocked: {what})"));
    }
    if let Some(before) = task.waits_for.and_then(|before| still_open(desk, before)) {
        title.push_str(&format!(" (waits for {before})"));
    }
    [
        called::name(desk, "task", task.id),
        named("job", task.job),
        task.state.clone().unwrap_or_default(),
        task.due.map(|due| due.to_string()).unwrap_or_default(),
        named("person", task.owner),
        title,
    ]
}
