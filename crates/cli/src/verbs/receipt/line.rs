//! One line of a receipt as it is typed: `2 pack glass-fibre batt @ 62.40; material batt-r13`.

use storypole_units::Decimal;

use crate::refused::Refused;

/// Words that count as a unit behind the number; anything else belongs to the item. Common words of the trade.
pub const UNITS: &[&str] = &[
    "each", "piece", "pack", "box", "bag", "sheet", "roll", "tube", "can", "day", "hour", "week", "kit",
    "lb", "kg", "oz", "ft", "in", "m", "ft2", "m2", "ft3", "m3", "yd3", "gal", "qt", "l", "pair", "load",
    "trip", "bundle", "pail", "batt",
];

/// A line, as fields of the kind `line` and what was typed for them.
#[derive(Debug, PartialEq, Eq)]
pub struct Line {
    /// Field and text, in the order typed.
    pub fields: Vec<(&'static str, String)>,
}

impl Line {
    /// Reads a line; `units` are the words that may stand as a unit.
    ///
    /// # Errors
    /// It has no number, no price, or says something behind a semicolon that is not known.
    pub fn parse(typed: &str, units: &[String]) -> Result<Self, Refused> {
        let refuse = |why: &str| {
            let next = "write it like --line \"2 pack glass-fibre batt @ 62.40; material batt-r13\"";
            Refused::new(format!("the line \"{typed}\" {why}"), next)
        };
        let (goods, rest) = typed.rsplit_once('@').ok_or_else(|| refuse("has no price: put it behind @"))?;
        let (quantity, words) = goods
            .trim()
            .split_once(char::is_whitespace)
            .ok_or_else(|| refuse("does not say how many of what"))?;
        if Decimal::parse(quantity).is_err() {
            return Err(refuse("does not start with how many"));
        }
        let mut fields = vec![("quantity", quantity.to_owned())];
        let words = words.trim();
        match words.split_once(char::is_whitespace) {
            Some((unit, item)) if is_unit(unit, units) => {
                fields.push(("unit", unit.to_owned()));
                fields.push(("item", item.trim().to_owned()));
            }
            _ => fields.push(("item", words.to_owned())),
        }
        let mut pieces = rest.split(';').map(str::trim);
        let price =
            pieces.next().filter(|price| !price.is_empty()).ok_or_else(|| refuse("has no price behind @"))?;
        fields.push(("unit_price", price.to_owned()));
        for piece in pieces.filter(|piece| !piece.is_empty()) {
            let field = option(piece).ok_or_else(|| {
                refuse(&format!("says \"{piece}\"; known are material, job, group, division, discount, tax, unit, taxed, untaxed"))
            })?;
            fields.push(field);
        }
        Ok(Self { fields })
    }
}

/// `pack` and `packs` alike.
fn is_unit(word: &str, units: &[String]) -> bool {
    let word = word.to_lowercase();
    let singular = word.strip_suffix('s').unwrap_or(&word);
    units.iter().any(|unit| *unit == word || unit == singular)
}

fn option(piece: &str) -> Option<(&'static str, String)> {
    let (word, value) = piece.split_once(char::is_whitespace).unwrap_or((piece, ""));
    let value = value.trim().to_owned();
    let field = match word {
        "untaxed" => return value.is_empty().then(|| ("taxed", "no".to_owned())),
        "taxed" => return value.is_empty().then(|| ("taxed", "yes".to_owned())),
        "material" => "material",
        "job" => "job",
        "group" => "cost_group",
        "division" => "division",
        "discount" => "discount",
        "tax" => "tax_rate",
        "unit" => "unit",
        _ => return None,
    };
    (!value.is_empty()).then_some((field, value))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(typed: &str) -> Result<String, Refused> {
        let units: Vec<String> = UNITS.iter().map(|unit| (*unit).to_owned()).collect();
        let fields = Line::parse(typed, &units)?.fields;
        Ok(fields.iter().map(|(field, text)| format!("{field}={text}")).collect::<Vec<_>>().join("|"))
    }

    #[test]
    fn lines_are_read() {
        for (typed, expected) in [
            (
                "2 pack glass-fibre batt @ 62.40",
                "quantity=2|unit=pack|item=glass-fibre batt|unit_price=62.40",
            ),
            ("2 Sheets board 5/8 @17.85", "quantity=2|unit=Sheets|item=board 5/8|unit_price=17.85"),
            (
                "1 permit @ 145; group permit; untaxed",
                "quantity=1|item=permit|unit_price=145|cost_group=permit|taxed=no",
            ),
            ("2 drywall screws @ 8.60", "quantity=2|item=drywall screws|unit_price=8.60"),
            ("1 batt @ 3; tax 7.0", "quantity=1|item=batt|unit_price=3|tax_rate=7.0"),
            ("1 can @ 3", "quantity=1|item=can|unit_price=3"),
            (
                "-1 sheet board @ 17.85; material board-58x; job J3",
                "quantity=-1|unit=sheet|item=board|unit_price=17.85|material=board-58x|job=J3",
            ),
        ] {
            assert_eq!(read(typed).unwrap(), expected);
        }
    }

    #[test]
    fn lines_that_cannot_be_read_are_refused() {
        for (typed, why) in [
            ("2 pack batt 62.40", "has no price: put it behind @"),
            ("2 pack batt @", "has no price behind @"),
            ("pack batt @ 3", "does not start with how many"),
            ("2 @ 3", "does not say how many of what"),
            ("2 pack batt @ 3; colour pink", "says \"colour pink\""),
            ("2 pack batt @ 3; job", "says \"job\""),
        ] {
            assert!(read(typed).unwrap_err().reason().contains(why), "{typed}");
        }
    }
}
