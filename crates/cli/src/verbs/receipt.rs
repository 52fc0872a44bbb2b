//! `storypole receipt`: purchases and returns, and at once whether they add up.

use clap::Subcommand;
use serde_json::json;
use storypole_desk::{Desk, edge};
use storypole_journal::RecordId;
use storypole_ledger::{ReceiptSum, receipt_sum};
use storypole_notebook::{Book, Value};
use storypole_units::Money;

use crate::called;
use crate::context::Context;
use crate::draft::{Writing, record_json, warn, warnings_json};
use crate::print::Table;
use crate::print::say;
use crate::refused::{Outcome, Refused};

mod line;

use line::Line;

/// Write down receipts and see whether they add up.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole receipt add --supplier tin-heron --job J1 --tax-rate 6.5 --tax 9.23 --total 151.23 \\
      --line \"2 pack glass-fibre batt @ 62.40; material batt-r13\" --line \"2 box drywall screws 1 lb @ 8.60\"
  storypole receipt add --returns P06 --job J3 --line \"-1 sheet board 5/8 @ 17.85; material board-58x\"
  storypole receipt show P02")]
pub struct Args {
    #[command(subcommand)]
    deed: Deed,
}

#[derive(Debug, Subcommand)]
enum Deed {
    /// Write down a receipt with its lines.
    Add(Box<Add>),
    /// Show a receipt line by line, added up.
    Show(Show),
}

#[derive(Debug, clap::Args)]
#[command(after_help = "\
A line is: HOW MANY, the unit, WHAT @ THE PRICE OF ONE, and behind semicolons what else there is to say:
  --line \"2 pack glass-fibre batt @ 62.40; material batt-r13\"
  --line \"1 day insulation blower @ 85; group rental\"
  --line \"1 permit @ 145; group permit; untaxed\"
  --line \"3 tube sealant @ 9.25; discount 2.00; job J2; division 07\"
A line whose tax rate is not the receipt's says so: --line \"1 pack batt @ 62.40; tax 4.0\"
A receipt in another currency states what one unit of it cost: --exchange-rate 1.08 with prices like \"62.40 EUR\"
A return has lines with a minus: --line \"-1 sheet board 5/8 @ 17.85\"

Examples:
  storypole receipt add --supplier tin-heron --job J1 --tax-rate 6.5 --total 132.91 --line \"2 pack batt @ 62.40\"
  storypole receipt add --date yesterday --job J3 --line \"1 permit @ 145; group permit\"")]
struct Add {
    /// Who sold it.
    #[arg(long)]
    supplier: Option<String>,
    /// Day.
    #[arg(long, default_value = "today", value_name = "DAY")]
    date: String,
    /// Job its lines are booked to unless they say otherwise.
    #[arg(long)]
    job: Option<String>,
    /// One item; may be given for each.
    #[arg(long = "line", required = true, value_name = "LINE", allow_hyphen_values = true)]
    lines: Vec<String>,
    /// Number printed on it.
    #[arg(long)]
    number: Option<String>,
    /// Tax rate, percent.
    #[arg(long, value_name = "PERCENT")]
    tax_rate: Option<String>,
    /// Tax as printed.
    #[arg(long, value_name = "MONEY", allow_hyphen_values = true)]
    tax: Option<String>,
    /// Total as printed.
    #[arg(long, value_name = "MONEY", allow_hyphen_values = true)]
    total: Option<String>,
    /// The receipt a return belongs to.
    #[arg(long, value_name = "RECEIPT")]
    returns: Option<String>,
    /// What one unit of the receipt's currency cost in the notebook's, where they differ.
    #[arg(long, value_name = "RATE")]
    exchange_rate: Option<String>,
    /// Anything else.
    #[arg(long)]
    memo: Option<String>,
    /// Short name.
    #[arg(long)]
    label: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  storypole receipt show P02")]
struct Show {
    /// The receipt.
    receipt: String,
}

/// Carries out one deed.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    match &args.deed {
        Deed::Add(add) => run_add(context, &desk, add),
        Deed::Show(show) => {
            let id = called::find(&desk, "receipt", &show.receipt)?;
            print(context, &desk, id)
        }
    }
}

fn run_add(context: &Context, desk: &Desk, add: &Add) -> Outcome {
    let units = units(desk)?;
    let mut writing = Writing::start(context, desk, add.by.as_deref())?;
    let (id, label) = writing.add("receipt", add.label.as_deref())?;
    writing.set(id, "receipt", "date", &add.date)?;
    for (field, typed) in [
        ("supplier", &add.supplier),
        ("job", &add.job),
        ("number", &add.number),
        ("tax_rate", &add.tax_rate),
        ("printed_tax", &add.tax),
        ("printed_total", &add.total),
        ("returns", &add.returns),
        ("memo", &add.memo),
        ("exchange_rate", &add.exchange_rate),
    ] {
        writing.set_some(id, "receipt", field, typed.as_deref())?;
    }
    for (typed, place) in add.lines.iter().zip(1..) {
        let line = Line::parse(typed, &units)?;
        let line_id = edge::record_id();
        writing.set_value(line_id, "line", "receipt", &Value::Record(id))?;
        writing.set_value(line_id, "line", "place", &Value::Integer(place))?;
        for (field, typed) in &line.fields {
            writing.set(line_id, "line", field, typed)?;
        }
    }
    let warnings = writing.take()?;
    let book = desk.book()?;
    for odd in odd_lines(&book, id, &label, add.returns.is_some()) {
        eprintln!("note: {odd}");
    }
    let sum = receipt_sum(&book, id);
    if context.json() {
        let json = json!({ "recorded": receipt_json(desk, id, &sum), "warnings": warnings_json(&warnings) });
        say!("{json}");
        return Ok(());
    }
    let lines = if sum.lines.len() == 1 { "1 line".to_owned() } else { format!("{} lines", sum.lines.len()) };
    say!("{label} recorded: {lines}, {}", verdict(&sum));
    warn(&warnings);
    Ok(())
}

/// Lines whose numbers are kept as typed and may be slips.
fn odd_lines(book: &Book, receipt: RecordId, label: &str, is_return: bool) -> Vec<String> {
    let mut lines: Vec<_> = book.lines.live().filter(|line| line.receipt == Some(receipt)).collect();
    lines.sort_by_key(|line| line.order());
    let mut odd = Vec::new();
    for (line, place) in lines.into_iter().zip(1..) {
        let name = format!("line {label}/{place}, {}", line.item.as_deref().unwrap_or("no item"));
        let (Some(quantity), Some(price)) = (line.quantity, line.unit_price) else { continue };
        let is_back = line.cost_group.as_deref() == Some("credit");
        if quantity.is_zero() {
            odd.push(format!("{name}: the quantity is 0, so it costs nothing"));
        } else if quantity.is_negative() && !is_return && !is_back {
            odd.push(format!("{name}: less than none; for goods taken back say --returns and the receipt"));
        }
        if price.amount.is_negative() && !is_back {
            odd.push(format!(
                "{name}: the price is negative; write a discount as discount 2.00, goods taken back with a negative quantity, other money back with group credit"
            ));
        }
    }
    odd
}

/// Unit words that may stand behind the number of a line: those of the trade, and those of the materials held.
fn units(desk: &Desk) -> Result<Vec<String>, Refused> {
    let book = desk.book()?;
    let held = book.materials.live().flat_map(|material| [material.unit.clone(), material.pack_unit.clone()]);
    Ok(line::UNITS
        .iter()
        .map(|unit| (*unit).to_owned())
        .chain(held.flatten().map(|unit| unit.to_lowercase()))
        .collect())
}

fn print(context: &Context, desk: &Desk, id: RecordId) -> Outcome {
    let book = desk.book()?;
    let sum = receipt_sum(&book, id);
    if context.json() {
        say!("{}", receipt_json(desk, id, &sum));
        return Ok(());
    }
    let Some(receipt) = book.receipts.get(id) else { return Ok(()) };
    let of = |kind: &str, id| Option::map_or(id, String::new(), |id| called::name(desk, kind, id));
    let supplier = book
        .suppliers
        .of(receipt.supplier)
        .and_then(|one| one.name.clone())
        .unwrap_or_else(|| "supplier not noted".to_owned());
    let date = receipt.date.map_or_else(|| "day not noted".to_owned(), |date| date.to_string());
    let kind = if receipt.returns.is_some() { "return" } else { "receipt" };
    say!("{kind} {}  {date}  {supplier}  job {}", called::name(desk, "receipt", id), of("job", receipt.job));
    if let Some(why) = &receipt.meta.struck {
        say!("struck: {why}");
    }
    say!();
    let mut heads = vec![">no", ">how many", "unit", "what", ">price"];
    let discount = |line: RecordId| book.lines.get(line)?.discount.filter(|off| !off.amount.is_zero());
    let has_discount = sum.lines.iter().any(|one| discount(one.line).is_some());
    heads.extend(has_discount.then_some(">discount"));
    heads.extend([">amount", "job", ""]);
    let mut table = Table::new(&heads);
    let numbers = called::lines_of(desk, id);
    for one in &sum.lines {
        let Some(line) = book.lines.get(one.line) else { continue };
        let number = numbers.iter().position(|id| *id == one.line).map_or(0, |index| index + 1);
        let amount = one.extension.map_or_else(|why| why.to_string(), Money::amount_text);
        let mut cells = vec![
            number.to_string(),
            line.quantity.map(|number| number.to_string()).unwrap_or_default(),
            line.unit.clone().unwrap_or_default(),
            line.item.clone().unwrap_or_default(),
            line.unit_price.map(Money::amount_text).unwrap_or_default(),
        ];
        cells.extend(has_discount.then(|| discount(one.line).map(Money::amount_text).unwrap_or_default()));
        cells.extend([
            amount,
            of("job", one.job),
            if one.taxed { String::new() } else { "untaxed".to_owned() },
        ]);
        table.row(cells);
    }
    print!("{}", table.text());
    say!();
    if sum.by_rate.len() > 1 {
        for class in &sum.by_rate {
            match class.rate_percent {
                Some(rate) => say!("{} taxed at {} %", class.taxable, rate.normalized()),
                None => say!("{} taxed, and no rate is written", class.taxable),
            }
        }
    }
    if let Some(rate) = sum.exchange_rate {
        let paper = &sum.on_paper;
        say!(
            "on paper: {} and tax {} make {}",
            paper.subtotal.amount_text(),
            paper.tax.amount_text(),
            paper.total
        );
        say!("one {} cost {rate} {}", sum.paid_in.code(), sum.total.currency.code());
    }
    say!("{}", verdict(&sum));
    let photos = book.photos.live().filter(|photo| photo.about == Some(id));
    for photo in photos {
        say!(
            "photo: {}",
            photo.name.clone().or(photo.caption.clone()).unwrap_or_else(|| "without a name".to_owned())
        );
    }
    if let Some(memo) = &receipt.memo {
        say!("memo: {memo}");
    }
    Ok(())
}

/// What the lines come to and whether that is what is printed.
fn verdict(sum: &ReceiptSum) -> String {
    let tax = if sum.computed_tax.is_none() && sum.printed_tax.is_none() {
        "no tax, as no rate is told,".to_owned()
    } else {
        format!("tax {}", sum.tax.amount_text())
    };
    let computed = format!("{} and {tax} make {}", sum.subtotal.amount_text(), sum.total);
    match sum.adds_up {
        Some(true) => format!("{computed}, as printed"),
        None => format!("{computed}; no tax or total is printed to compare with"),
        Some(false) => {
            let tax = sum.printed_tax.map(|tax| format!("tax {}", tax.amount_text()));
            let total = sum.printed_total.map(|total| format!("total {}", total.amount_text()));
            let printed: Vec<String> = [tax, total].into_iter().flatten().collect();
            format!("{computed}, but printed is {}: it does not add up", printed.join(", "))
        }
    }
}

fn receipt_json(desk: &Desk, id: RecordId, sum: &ReceiptSum) -> serde_json::Value {
    let mut json = record_json(desk, "receipt", id);
    let lines = sum.lines.iter().map(|one| {
        let mut line = record_json(desk, "line", one.line);
        line["amount"] = one.extension.ok().map(|money| money.to_string()).into();
        line["taxed"] = one.taxed.into();
        line
    });
    json["lines"] = lines.collect();
    json["subtotal"] = sum.subtotal.to_string().into();
    json["tax"] = sum.tax.to_string().into();
    json["total"] = sum.total.to_string().into();
    json["adds_up"] = sum.adds_up.into();
    json["paid_in"] = sum.paid_in.code().into();
    json["total_on_paper"] = sum.on_paper.total.to_string().into();
    json
}
