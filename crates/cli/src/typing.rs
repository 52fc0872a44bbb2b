//! Numbers as people say them, turned into the form that fields take: hours with minutes, seconds with their unit.

use storypole_units::Decimal;

/// Hours as a decimal number from `3.5`, `3:30` or `3h30`; `None` where it is none of them.
///
/// Minutes become four decimals at most: 20 minutes are 0.3333, which is a third of a second off.
pub fn hours(typed: &str) -> Option<String> {
    let typed = typed.trim().trim_end_matches(['h', 'H']).trim_end();
    // Commas and powers of ten are the field's to refuse, with its own words.
    let is_plain = |letter: char| letter.is_ascii_digit() || matches!(letter, '.' | ',' | '-' | '+' | 'e');
    if typed.chars().all(is_plain) {
        return Some(typed.to_owned());
    }
    let (whole, minutes) = typed.split_once([':', 'h', 'H'])?;
    let minutes = minutes.trim().trim_end_matches("min").trim_end();
    let whole: u32 = whole.trim().parse().ok()?;
    let is_two = minutes.len() == 2 && minutes.bytes().all(|digit| digit.is_ascii_digit());
    let minutes: i64 = minutes.parse().ok().filter(|minutes| is_two && *minutes < 60)?;
    let ten_thousandths = (i64::from(whole) * 60 + minutes) * 10_000;
    let rounded = (ten_thousandths + 30) / 60;
    let decimal = Decimal::from_parts(i128::from(rounded), 4).ok()?.to_string();
    Some(decimal.trim_end_matches('0').trim_end_matches('.').to_owned())
}

/// Seconds as a bare number from `30`, `30 s`, `30 sec` or `1 min`; anything else as it was typed.
pub fn seconds(typed: &str) -> String {
    let typed = typed.trim();
    let end = typed.find(|letter: char| !(letter.is_ascii_digit() || letter == '.')).unwrap_or(typed.len());
    let (number, unit) = typed.split_at(end);
    match unit.trim().to_lowercase().as_str() {
        "s" | "sec" | "secs" | "second" | "seconds" => number.to_owned(),
        "min" | "minute" | "minutes" => match number.parse::<u32>() {
            Ok(minutes) => (u64::from(minutes) * 60).to_string(),
            Err(_) => typed.to_owned(),
        },
        _ => typed.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 3 h 30 min are 3.5 h, 20 minutes a third of an hour: by hand.
    #[test]
    fn hours_may_have_minutes() {
        for (typed, expected) in [
            ("3.5", Some("3.5")),
            ("6", Some("6")),
            ("3:30", Some("3.5")),
            ("3h30", Some("3.5")),
            ("3 h 30 min", Some("3.5")),
            ("8h", Some("8")),
            ("0:20", Some("0.3333")),
            ("10:00", Some("10")),
            ("3:5", None),
            ("3:60", None),
            ("3 1/2", None),
            ("three", None),
        ] {
            assert_eq!(hours(typed).as_deref(), expected, "{typed}");
        }
    }

    #[test]
    fn seconds_may_have_their_unit() {
        for (typed, expected) in
            [("30", "30"), ("30 s", "30"), ("30sec", "30"), ("1 min", "60"), ("30 dBA", "30 dBA")]
        {
            assert_eq!(seconds(typed), expected);
        }
    }
}
