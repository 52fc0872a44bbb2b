//! `storypole takeoff`: what a wall, ceiling or floor takes, what to buy for it, and how to cut it.

use std::path::PathBuf;

use storypole_desk::view::takeoff::{self as view, Cut};
use storypole_ledger::takeoff::{Ask, BattPlan, BoardPlan, Need, Sheet, takeoff};
use storypole_ledger::words::counted;
use storypole_notebook::Book;
use storypole_takeoff::Waste;
use storypole_takeoff::cuts::Placement;
use storypole_units::Decimal;

use crate::context::Context;
use crate::page::Page;
use crate::print::Table;
use crate::refused::{Outcome, Refused};
use crate::{called, page};

/// Count what an assembly takes: bays and their clear sizes, batts with their cuts, boards, channel, sealant.
#[derive(Debug, clap::Args)]
#[command(
    allow_negative_numbers = true,
    after_help = "\
Of a rebuild only what is new is counted; --whole counts all of it. What lies at the site is taken off.
The framing is measured once: storypole assembly add --help shows how it is written down.

Examples:
  storypole takeoff A03
  storypole takeoff A12 --with batt-r13 --by-plan
  storypole takeoff A03 --cuts                     the list to cut by, largest first, and every batt
  storypole takeoff A03 --drawing wall.svg --section section.svg"
)]
pub struct Args {
    /// Label of the wall, ceiling or floor.
    assembly: String,
    /// A material to take; may be given for each.
    #[arg(long = "with", value_name = "MATERIAL")]
    with: Vec<String>,
    /// Waste as a fraction in place of the usual: 0.05 for fill, 0.10 for what covers it.
    #[arg(long, value_name = "FRACTION")]
    waste: Option<String>,
    /// Count all of the assembly, not only what it adds to the version it replaces.
    #[arg(long)]
    whole: bool,
    /// Buy batts by the cut plan, offcuts used, not by the count from whole ones.
    #[arg(long)]
    by_plan: bool,
    /// Print the list to cut by, and how each batt is cut.
    #[arg(long)]
    cuts: bool,
    /// Write a drawing of the framed wall with its bays to a file.
    #[arg(long, value_name = "FILE.svg")]
    drawing: Option<PathBuf>,
    /// Write a section of the assembly to a file.
    #[arg(long, value_name = "FILE.svg")]
    section: Option<PathBuf>,
}

/// Prints a take-off.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let assembly = called::find(&desk, "assembly", &args.assembly)?;
    let materials = args.with.iter().map(|name| called::find(&desk, "material", name));
    let ask = Ask {
        materials: materials.collect::<Result<_, _>>()?,
        waste: args.waste.as_deref().map(waste).transpose()?,
        whole: args.whole,
        by_plan: args.by_plan,
    };
    let book = desk.book()?;
    let sheet = takeoff(&book, assembly, &ask)?;
    super::drawing::write(&book, &sheet, args.drawing.as_deref(), args.section.as_deref())?;
    if context.json() {
        return page::json(&view::json(&book, &sheet));
    }
    let mut page = Page::default();
    write_walls(&mut page, &book, &sheet);
    write_bays(&mut page, &sheet);
    write_needs(&mut page, &sheet);
    if let Some(plan) = &sheet.batts {
        write_plan(&mut page, &book, plan, args.cuts);
    }
    if args.cuts {
        for plan in &sheet.boards {
            write_boards(&mut page, plan);
        }
    }
    if let Some(resistance) = &sheet.resistance {
        page.blank().say(&view::resistance_words(resistance));
    }
    if !sheet.notes.is_empty() {
        page.heading("Look").items(&sheet.notes);
    }
    page.print()
}

fn waste(typed: &str) -> Result<Waste, Refused> {
    let fraction = Decimal::parse(typed.trim()).map_err(|_| {
        Refused::new(format!("\"{typed}\" is no fraction"), "write it like 0.10 for ten percent")
    })?;
    Ok(Waste::from_fraction(fraction)?)
}

fn write_walls(page: &mut Page, book: &Book, sheet: &Sheet) {
    let name = |id| storypole_desk::view::called(book, "assembly", id).short();
    let label = name(sheet.assembly);
    match sheet.against {
        Some(before) => page.line(&format!("{label}: what it takes beyond {}", name(before))),
        None => page.line(&format!("{label}: what it takes, all of it")),
    };
    for (index, run) in sheet.runs.iter().enumerate() {
        let wall = &run.wall;
        let which = if sheet.runs.len() > 1 { format!("Wall {}: ", index + 1) } else { String::new() };
        let studs = if wall.studs_at.is_empty() {
            format!("studs {} every {}", view::printed(wall.stud), view::printed(wall.spacing))
        } else {
            format!("studs {} where they were measured", view::printed(wall.stud))
        };
        let openings = match wall.openings.len() {
            0 => String::new(),
            1 => ", 1 opening".to_owned(),
            count => format!(", {count} openings"),
        };
        page.say(&format!(
            "{which}{} long, {} high, {studs}, {} plates{openings}; cavities {} high.",
            view::printed(wall.length),
            view::printed(wall.height),
            wall.plates,
            view::printed(run.frame.cavity_height)
        ));
    }
    if sheet.framed_by != sheet.assembly {
        page.say(&format!("The framing is that of {}.", name(sheet.framed_by)));
    }
    let framed = sheet
        .framed
        .map_or_else(String::new, |share| format!(", {:.1} % of the face is wood", share * 100.0));
    page.say(&format!(
        "Cavities {:.2} ft2 ({:.2} m2) of {:.2} ft2 ({:.2} m2){framed}.",
        sheet.net_area.ft2(),
        sheet.net_area.m2(),
        sheet.gross_area.ft2(),
        sheet.gross_area.m2()
    ));
}

fn write_bays(page: &mut Page, sheet: &Sheet) {
    let has_batts = sheet.batts.is_some();
    let mut heads = vec![">cell", "where", ">clear width", ">clear height"];
    heads.extend(has_batts.then_some(">batts"));
    if sheet.runs.len() > 1 {
        heads.insert(1, ">wall");
    }
    let mut table = Table::new(&heads);
    for bay in view::cells(sheet) {
        let place = match bay.place {
            "full" => "full height",
            "part" => "beside blocking",
            "above" => "over an opening",
            _ => "under an opening",
        };
        let mut row = vec![bay.number.to_string()];
        if sheet.runs.len() > 1 {
            row.push(bay.wall.to_string());
        }
        row.extend([place.to_owned(), view::printed(bay.width), view::printed(bay.height)]);
        row.extend(
            bay.pieces.map(|pieces| if pieces == 0 { "rip waste".to_owned() } else { pieces.to_string() }),
        );
        table.row(row);
    }
    page.heading("Cells, from the left").table(&table);
}

fn write_needs(page: &mut Page, sheet: &Sheet) {
    if sheet.needs.is_empty() {
        page.heading("Nothing to buy was counted.");
        return;
    }
    let mut table = Table::new(&["for", "material", ">takes", ">at hand", ">buy", ">about"]);
    let mut hows = Vec::new();
    for need in &sheet.needs {
        table.row([
            need.part.name().replace('-', " "),
            need.name.clone(),
            counted(need.wanted, &need.unit),
            if need.at_hand.is_zero() { "none".to_owned() } else { counted(need.at_hand, &need.unit) },
            buy(need),
            need.price.map_or_else(|| "-".to_owned(), |price| price.amount_text()),
        ]);
        let elsewhere =
            need.elsewhere.as_ref().map(|where_| format!(" Elsewhere lie {where_}.")).unwrap_or_default();
        hows.push(format!("{}: {}.{elsewhere}", need.name, need.how));
    }
    page.heading("What it takes").table(&table);
    page.items(&hows);
    let prices: Option<Vec<_>> =
        sheet.needs.iter().filter(|need| need.material.is_some()).map(|need| need.price).collect();
    if let Some(prices) = prices.filter(|prices| !prices.is_empty()) {
        let sum: Decimal = prices.iter().map(|price| price.amount).sum();
        page.say(&format!(
            "Together about {} at the prices paid last, with tax.",
            storypole_units::Money::new(sum, prices[0].currency)
        ));
    }
}

fn buy(need: &Need) -> String {
    match &need.packs {
        Some((_, 0)) => "none".to_owned(),
        Some((unit, count)) => counted(Decimal::from_int(i64::from(*count)), unit),
        None if need.to_buy.is_zero() => "none".to_owned(),
        None => counted(need.to_buy, &need.unit),
    }
}

fn write_plan(page: &mut Page, book: &Book, plan: &BattPlan, all: bool) {
    let name = storypole_desk::view::called(book, "material", plan.material).short();
    let mut table = Table::new(&[">count", ">width", ">length", "", "for cell"]);
    for cut in view::cut_list(plan) {
        table.row(row_of(&cut));
    }
    page.heading(&format!("Cut list of {name}, largest first")).table(&table);
    let best = if plan.cuts.bound == plan.cuts.bought {
        "fewer cannot do".to_owned()
    } else if plan.cuts.proven {
        "fewer cannot do with these cuts".to_owned()
    } else {
        format!("at least {} are needed whatever the cuts", plan.cuts.bound)
    };
    page.say(&format!(
        "{} by the plan, {best}; {} by first fit, {} where every cell is cut from whole ones. Pieces are cut {} wider for friction.",
        counted(Decimal::from_int(i64::from(plan.cuts.bought)), "batt"),
        plan.cuts.first_fit,
        plan.without_reuse,
        view::printed(plan.rules.oversize_width)
    ));
    if !all {
        page.say("How each batt is cut: --cuts.");
        return;
    }
    page.heading("Batt by batt").items(&batts(plan));
    page.blank().say(&format!("Found by {}.", plan.cuts.method));
}

/// How sheets of board are cut, like ones together.
fn write_boards(page: &mut Page, plan: &BoardPlan) {
    page.heading(&format!(
        "Sheets of {}, {} by {}, standing upright",
        plan.name,
        view::printed(plan.sheet.width),
        view::printed(plan.sheet.length)
    ));
    let size = |width, length| format!("{} by {}", view::printed(width), view::printed(length));
    let mut alike: Vec<(usize, String)> = Vec::new();
    for sheet in &plan.cuts.pieces {
        let cut: Vec<String> = sheet.placements.iter().map(|one| size(one.width, one.height)).collect();
        let left: Vec<String> = sheet.offcuts.iter().map(|one| size(one.width, one.height)).collect();
        let left = if left.is_empty() { String::new() } else { format!("; left over {}", left.join(", ")) };
        let words = format!("{}{left}", cut.join("; "));
        match alike.iter_mut().find(|(_, known)| *known == words) {
            Some((count, _)) => *count += 1,
            None => alike.push((1, words)),
        }
    }
    for (count, words) in alike {
        page.item(&format!(
            "{}: {words}",
            counted(Decimal::from_int(i64::try_from(count).unwrap_or(i64::MAX)), "sheet")
        ));
    }
}

fn row_of(cut: &Cut) -> Vec<String> {
    let cells: Vec<String> = cut.cells.iter().map(usize::to_string).collect();
    vec![
        cut.count.to_string(),
        view::printed(cut.width),
        view::printed(cut.height),
        if cut.is_whole { "whole" } else { "cut" }.to_owned(),
        cells.join(", "),
    ]
}

/// How each batt is cut: whole ones together, then batt by batt.
fn batts(plan: &BattPlan) -> Vec<String> {
    let parts = plan.fitted.parts.len().max(1);
    let mut whole = Vec::new();
    let mut lines: Vec<String> = Vec::new();
    for piece in &plan.cuts.pieces {
        let part_of = |placed: &Placement| plan.fitted.parts.get(placed.part % parts);
        let cell_of = |placed: &Placement| part_of(placed).map_or(0, |part| part.cell + 1);
        if let [only] = &piece.placements[..]
            && part_of(only).is_some_and(|part| !part.cut_width && !part.cut_length)
        {
            whole.push(cell_of(only).to_string());
            continue;
        }
        let part = |placed: &Placement| {
            let (width, length) = (view::printed(placed.width), view::printed(placed.height));
            format!("{width} by {length} for cell {}", cell_of(placed))
        };
        let placed: Vec<String> = piece.placements.iter().map(part).collect();
        let left = piece
            .offcuts
            .iter()
            .map(|left| format!("{} by {}", view::printed(left.width), view::printed(left.height)));
        let left: Vec<String> = left.collect();
        let left = if left.is_empty() { String::new() } else { format!("; left over {}", left.join(", ")) };
        lines.push(format!("{}{left}", placed.join("; ")));
    }
    if !whole.is_empty() {
        let count = counted(Decimal::from_int(i64::try_from(whole.len()).unwrap_or(i64::MAX)), "whole batt");
        lines.insert(
            0,
            format!("{count} for {} {}", if whole.len() == 1 { "cell" } else { "cells" }, whole.join(", ")),
        );
    }
    lines
}
