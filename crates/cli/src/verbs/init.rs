//! `storypole init`: starts a notebook, empty or filled with an invented example.

use std::fs;
use std::path::Path;

use serde_json::json;
use storypole_desk::{Desk, Founding, example};
use storypole_units::Currency;

use crate::context::Context;
use crate::draft::check_label;
use crate::print::say;
use crate::refused::{Outcome, Refused, plain};

/// Start a notebook on this computer.
///
/// The person who starts it is the first of the crew; this computer may invite others.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole init --name \"Quiet rooms\" --role \"site lead\" --label lead
  storypole init --currency CAD --device-label shop-laptop
  storypole --data ./try-out init --demo     an invented example to look around in")]
pub struct Args {
    /// Name of the notebook.
    #[arg(long, default_value = "Job diary")]
    name: String,
    /// Currency of all prices, a code of three letters.
    #[arg(long, default_value = "USD", value_name = "CODE")]
    currency: String,
    /// Role of the person who starts it; write-ups show roles, never names.
    #[arg(long, default_value = "site lead")]
    role: String,
    /// Short name of that person.
    #[arg(long, default_value = "lead")]
    label: String,
    /// Short name of this computer.
    #[arg(long, default_value = "this-computer", value_name = "LABEL")]
    device_label: String,
    /// Fill it with an invented example.
    #[arg(long, conflicts_with_all = ["name", "currency", "role", "label"])]
    demo: bool,
}

/// Starts the notebook.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let currency = Currency::parse(&args.currency.trim().to_uppercase()).map_err(|error| {
        Refused::from(error).next("name the currency by its code of three letters, like --currency USD")
    })?;
    check_label("person", &args.label)?;
    check_label("device", &args.device_label)?;
    let founding = Founding {
        name: args.name.clone(),
        currency,
        role: args.role.clone(),
        label: args.label.clone(),
        device_label: args.device_label.clone(),
        written_at: context.now(),
    };
    let folder = context.folder()?;
    let strangers = look_at(&folder)?;
    let desk = Desk::found(&folder, &founding)?;
    if strangers > 0 {
        let files =
            if strangers == 1 { "1 other thing".to_owned() } else { format!("{strangers} other things") };
        eprintln!("note: {} holds {files} beside the notebook; they are left alone", folder.display());
    }
    // Its site lead is the person who starts the notebook.
    let rows = if args.demo { example::fill(&desk, context.now())? } else { 0 };
    if context.json() {
        let json = json!({
            "notebook": desk.notebook().to_string(),
            "device": desk.device().to_string(),
            "folder": folder.display().to_string(),
            "example_rows": rows,
        });
        say!("{json}");
        return Ok(());
    }
    if args.demo {
        say!(
            "A notebook with an invented example ({rows} rows of jobs, receipts and readings) is in {}",
            folder.display()
        );
        say!("Look around: storypole today, storypole jobs, storypole finding Q1");
    } else {
        say!("The notebook \"{}\" is in {}", args.name, folder.display());
        say!(
            "Next: storypole change person {} rate=40        what an hour costs, if labour counts",
            args.label
        );
        say!("      storypole add site S1 name=\"Mill house\"");
        say!("      storypole add job J1 site=S1 title=\"Office wall\"");
        say!("      storypole log \"First look at the wall\" --job J1 --hours {}=1", args.label);
    }
    Ok(())
}

/// Looks whether a notebook can go into the folder; gives how many other things it holds.
fn look_at(folder: &Path) -> Result<usize, Refused> {
    let next = "name a folder of your own with --data DIR; it is made if it is not there";
    if folder.is_file() {
        return Err(Refused::new(format!("{} is a file, not a folder", folder.display()), next));
    }
    if !folder.exists() {
        fs::create_dir_all(folder).map_err(|error| {
            Refused::new(format!("{} cannot be made: {}", folder.display(), plain(&error)), next)
        })?;
    }
    let entries = fs::read_dir(folder).map_err(|error| {
        Refused::new(format!("{} cannot be looked into: {}", folder.display(), plain(&error)), next)
    })?;
    Ok(entries.count())
}
