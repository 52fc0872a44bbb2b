//! What a purchase costs, what is left of it, and the cost of an area.
//!
//! Money is text with cents. Leaves out currencies: amounts are of one, with two decimals.

use serde_json::{Value, json};
use storypole_takeoff::cost::{CostError, CostLine, Leftover, TaxRate, cost, cost_of_area};
use storypole_units::{Currency, Decimal, Money};

use super::measures::{area_ft2, each, out_of_range, tell_unknown};
use crate::answering::Answering;
use crate::{Answer, Calc, Field, Fields, Refused};

/// Decimals that are read of a quantity: an eleventh of a pack of a hundred dollars stays exact to the cent.
const QUANTITY_PLACES: u32 = 15;

const LINE_NAMES: &[&str] = &["qty", "unit_price"];
const LEFTOVER_NAMES: &[&str] = &["line", "qty"];

pub(super) const COST: Calc = Calc {
    name: "takeoff.cost",
    about: "A receipt added up: lines to the cent, tax once, half away from zero; leftovers at their price with tax.",
    takes: &[
        Field {
            name: "lines",
            about: "qty, a number or text such as \"1/11\", below 0 for a return; unit_price as text, without tax",
        },
        Field { name: "tax_rate", about: "as text: a fraction such as \"0.065\", or \"6.5 %\"" },
        Field { name: "leftover", about: "line, counted from 0, and qty of it that is left" },
        Field { name: "area_ft2", about: "to divide the net cost by; may be left out" },
    ],
    gives: &[
        Field { name: "extensions", about: "quantity times price of each line" },
        Field { name: "subtotal", about: "their sum" },
        Field { name: "tax", about: "on the subtotal" },
        Field { name: "total", about: "both" },
        Field { name: "leftover_credit", about: "what is left, each leftover rounded" },
        Field { name: "net", about: "total less what is left" },
        Field { name: "per_ft2", about: "net by area; null without an area" },
        Field { name: "per_m2", about: "the same" },
        Field { name: "area_m2", about: "the area, a number" },
    ],
    example: r#"{"lines": [{"qty": 2, "unit_price": "62.40"}, {"qty": 6, "unit_price": "6.95"}], "tax_rate": "0.065", "leftover": [{"line": 0, "qty": "1/11"}, {"line": 1, "qty": 1}], "area_ft2": 101.171875}"#,
    run: cost_of_purchase,
};

fn cost_of_purchase(fields: &Fields<'_>) -> Answer {
    let currency = Currency::parse("USD").expect("a currency of two decimals");
    // A list that is left out is a slip here, unlike one that is empty.
    fields.objects("lines")?;
    let lines = each(fields, "lines", "line", |line| read_line(line, currency))?;
    let left = each(fields, "leftover", "leftover", read_leftover)?;
    let got = cost(currency, &lines, tax_rate(fields)?, &left).map_err(|error| refused_cost(&error))?;
    let extensions: Vec<String> = got.extensions.iter().map(|money| money.amount_text()).collect();
    let mut given = Answering::default();
    given.give("extensions", json!(extensions));
    given.give("subtotal", got.subtotal.amount_text());
    given.give("tax", got.tax.amount_text());
    given.give("total", got.total.amount_text());
    given.give("leftover_credit", got.leftover_credit.amount_text());
    given.give("net", got.net.amount_text());
    give_by_area(&mut given, fields, got.net)?;
    tell_unknown(&mut given, fields, &[("lines", LINE_NAMES), ("leftover", LEFTOVER_NAMES)])?;
    given.done()
}

fn give_by_area(given: &mut Answering, fields: &Fields<'_>, net: Money) -> Result<(), Refused> {
    if fields.some("area_ft2").is_none() {
        for name in ["per_ft2", "per_m2", "area_m2"] {
            given.missing(name, "no area was given");
        }
        return Ok(());
    }
    let area = area_ft2(fields, "area_ft2")?;
    let by_area =
        cost_of_area(net, area).map_err(|error| Refused::from_error("out_of_range", "area_ft2", &error))?;
    given.give("per_ft2", by_area.per_ft2.amount_text());
    given.give("per_m2", by_area.per_m2.amount_text());
    given.give("area_m2", area.m2());
    Ok(())
}

fn read_line(line: &Fields<'_>, currency: Currency) -> Result<CostLine, Refused> {
    let price = Money::parse_in(line.text("unit_price")?, currency)
        .map_err(|error| Refused::from_error("not_money", "unit_price", &error))?;
    Ok(CostLine { quantity: quantity(line)?, unit_price: price })
}

fn read_leftover(leftover: &Fields<'_>) -> Result<Leftover, Refused> {
    let line = leftover.whole("line")?;
    let line = usize::try_from(line)
        .map_err(|_| out_of_range("line", format!("line is {line}: count lines from 0")))?;
    Ok(Leftover { line, quantity: quantity(leftover)? })
}

/// A number, or a decimal or fraction as text.
fn quantity(fields: &Fields<'_>) -> Result<Decimal, Refused> {
    let name = "qty";
    let unread = |text: &str| {
        Refused::of("not_a_number", name, format!("qty {text:?} is no quantity: give 2, \"0.5\" or \"1/11\""))
    };
    let Some(Value::String(text)) = fields.some(name) else {
        let value = fields.number(name)?;
        let read = Decimal::from_f64_rounded(value, QUANTITY_PLACES).map(Decimal::normalized);
        return read.ok_or_else(|| out_of_range(name, format!("qty is {value}: give a quantity as sold")));
    };
    let read = match text.split_once('/') {
        None => Decimal::parse(text).ok(),
        Some((over, under)) => {
            let parts = (Decimal::parse(over).ok(), Decimal::parse(under).ok());
            parts.0.zip(parts.1).and_then(|(over, under)| over.checked_div(under))
        }
    };
    read.ok_or_else(|| unread(text))
}

fn tax_rate(fields: &Fields<'_>) -> Result<TaxRate, Refused> {
    let (name, text) = ("tax_rate", fields.text("tax_rate")?);
    let (number, is_percent) = match text.trim().strip_suffix('%') {
        Some(percent) => (percent, true),
        None => (text, false),
    };
    let rate = Decimal::parse(number).map_err(|error| Refused::from_error("not_a_number", name, &error))?;
    let read = if is_percent { TaxRate::from_percent(rate) } else { TaxRate::from_fraction(rate) };
    read.map_err(|error| Refused::from_error("out_of_range", name, &error))
}

fn refused_cost(error: &CostError) -> Refused {
    let field = match error {
        CostError::Money(_) => "lines",
        CostError::NoSuchLine { .. }
        | CostError::NegativeLeftover { .. }
        | CostError::MoreLeftThanBought { .. } => "leftover",
        CostError::NoArea => "area_ft2",
    };
    Refused::from_error("out_of_range", field, error)
}
