//! A count with its unit in words: `1 piece`, `2 packs`, `3 boxes`, `77.5 lb`.
//!
//! Leaves out numbers themselves: they are printed as they are held.

use storypole_units::Decimal;

/// Units that stay as they are, however many.
const UNCHANGED: &[&str] = &["lb", "kg", "g", "oz", "ft", "in", "m", "mm", "ft2", "m2", "each", "fl oz", "ml", "l"];

/// Returns a number with its unit, the unit in the plural where the number is not one.
pub fn counted(number: Decimal, unit: &str) -> String {
    let number = number.normalized();
    let is_one = number.abs() == Decimal::from_int(1);
    if is_one || UNCHANGED.contains(&unit.to_lowercase().as_str()) || unit.ends_with('s') {
        return format!("{number} {unit}");
    }
    let ending = if ["x", "ch", "sh"].iter().any(|end| unit.ends_with(end)) { "es" } else { "s" };
    format!("{number} {unit}{ending}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_follow_their_number() {
        for (number, unit, words) in [
            ("1", "piece", "1 piece"),
            ("2", "pack", "2 packs"),
            ("0", "sheet", "0 sheets"),
            ("-18", "piece", "-18 pieces"),
            ("1.0", "pack", "1 pack"),
            ("0.9", "bag", "0.9 bags"),
            ("3", "box", "3 boxes"),
            ("77.5", "lb", "77.5 lb"),
            ("12", "each", "12 each"),
            ("2", "units", "2 units"),
        ] {
            assert_eq!(counted(Decimal::parse(number).unwrap(), unit), words);
        }
    }
}
