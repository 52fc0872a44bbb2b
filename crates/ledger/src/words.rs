//! A count with its unit in words: `1 piece`, `2 packs`, `3 boxes`, `77.5 lb`.
//!
//! Leaves out numbers themselves: they are printed as they are held.

use storypole_units::Decimal;

/// Units that are written alike for one and for many: symbols, and a word that is no noun.
const ALIKE: &[&str] = &[
    "each", "lb", "oz", "kg", "g", "in", "ft", "yd", "mm", "cm", "m", "ft2", "yd2", "m2", "ft3", "yd3", "m3",
    "gal", "qt", "ml", "l", "fl oz",
];

/// Returns a number with its unit, the unit in the plural where the number is not one.
pub fn counted(number: Decimal, unit: &str) -> String {
    let (number, unit) = (number.normalized(), unit.trim());
    let word = unit.to_lowercase();
    if number == Decimal::from_int(1) || ALIKE.contains(&word.as_str()) || word.ends_with('s') {
        return format!("{number} {unit}");
    }
    let hissing = ["x", "z", "ch", "sh"].iter().any(|end| word.ends_with(end));
    format!("{number} {unit}{}", if hissing { "es" } else { "s" })
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
            ("2", "batch", "2 batches"),
            ("1.00", "sheet", "1 sheet"),
        ] {
            assert_eq!(counted(Decimal::parse(number).unwrap(), unit), words);
        }
    }
}
