//! Numbers as people say them, turned into the form that fields take: hours with minutes, seconds with their unit; and moments.

use storypole_journal::WrittenAt;
use storypole_notebook::value::print_moment;
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

/// A moment in full from `06:30` of a day, `2025-02-08 06:30` or `now`, by this computer's clock; anything else as it was
/// typed, so that the field refuses it with its own words.
pub fn moment(typed: &str, day: Option<&str>, now: WrittenAt) -> String {
    let typed = typed.trim();
    if typed == "now" {
        return print_moment(now);
    }
    let civil = match (typed.contains('-'), day) {
        (false, Some(day)) => format!("{day}T{typed}"),
        _ => typed.replace(' ', "T"),
    };
    let zoned = civil
        .parse::<jiff::civil::DateTime>()
        .ok()
        .filter(|_| !has_offset(typed))
        .and_then(|at| at.to_zoned_datetime(jiff::tz::TimeZone::system()).ok());
    zoned.map_or_else(|| typed.to_owned(), |at| at.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string())
}

/// Whether a moment says how far its clock is off the world's.
fn has_offset(typed: &str) -> bool {
    let time = typed.split_once(['T', ' ']).map_or(typed, |(_, time)| time);
    time.contains(['Z', 'z', '+', '-'])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_may_leave_out_their_day_and_offset() {
        let now = WrittenAt { unix_ms: 0, offset_min: 0 };
        let of = |typed| moment(typed, Some("2025-02-08"), now);
        assert!(of("06:30").starts_with("2025-02-08T06:30:00"), "{}", of("06:30"));
        assert!(of("2025-02-09 14:05").starts_with("2025-02-09T14:05:00"));
        let whole = "2025-02-08T06:30:00-05:00";
        assert_eq!((of(whole), of("soon"), of("25:00")), (whole.into(), "soon".into(), "25:00".into()));
        assert!(of("now").starts_with("1970-01-01T00:00"), "{}", of("now"));
    }

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
