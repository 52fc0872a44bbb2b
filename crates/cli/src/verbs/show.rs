//! `storypole show`: any record, with what was corrected, struck or is in conflict.

use storypole_desk::view;
use storypole_notebook::Meta;

use crate::called;
use crate::context::Context;
use crate::draft::{filled, record_json, words};
use crate::print::say;
use crate::refused::{Outcome, Refused};

/// Show any record, field by field.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole show J1
  storypole show T18/R2          a reading
  storypole show material:batt-r13")]
pub struct Args {
    /// Its label, kind:label, or its id.
    name: String,
}

/// Shows the record.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let (kind, id) = called::find_any_struck_too(&desk, &args.name)?;
    let row = called::row(&desk, kind, id)
        .ok_or_else(|| Refused::new(format!("{} holds nothing", args.name), "check the spelling"))?;
    let linked = view::record::linked(&desk, kind, id);
    if context.json() {
        let mut json = record_json(&desk, kind, id);
        json["struck"] = row.meta.struck.clone().into();
        json["corrected"] = row.meta.corrected.clone().into();
        json["conflict"] = row.meta.conflict.clone().into();
        json["unreadable"] = row.meta.unreadable.clone().into();
        json["linked"] = view::record::linked_json(&linked);
        say!("{json}");
        return Ok(());
    }
    say!("{kind} {}", called::name(&desk, kind, id));
    if let Some(why) = &row.meta.struck {
        say!("struck: {why}");
        say!("bring it back with storypole reinstate {kind} {id} --reason ...");
    }
    let width = filled(&row).map(|(spec, _)| spec.name.len()).max().unwrap_or(0);
    for (spec, value) in filled(&row).filter(|(spec, _)| spec.name != "label") {
        say!("  {:<width$}  {}{}", spec.name, words(&desk, spec, value), remark(&row.meta, spec.name));
    }
    for field in &row.meta.unreadable {
        say!("  {field}: holds a value that this version cannot read");
    }
    if !linked.is_empty() {
        let told: Vec<String> = linked.iter().map(|(kind, count)| format!("{kind} {count}")).collect();
        say!("  linked to it: {}", told.join(", "));
    }
    say!("  id {id}");
    if !row.meta.corrected.is_empty() || !row.meta.conflict.is_empty() || row.meta.struck.is_some() {
        say!("what stood there before: storypole history {}", args.name);
    }
    Ok(())
}

fn remark(meta: &Meta, field: &str) -> &'static str {
    if meta.conflict.contains(&field) {
        "   (two devices wrote different values: storypole conflicts)"
    } else if meta.corrected.contains(&field) {
        "   (corrected)"
    } else {
        ""
    }
}
