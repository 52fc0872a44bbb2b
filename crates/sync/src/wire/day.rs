//! Days as numbers: a day of the log is mostly the day on which it was written.

use storypole_journal::WrittenAt;

/// Days of 400 years of the Gregorian calendar: 400 · 365 + 97 leap days.
const DAYS_OF_CYCLE: i64 = 146_097;
/// Days from 0000-03-01 to 1970-01-01.
const DAYS_TO_1970: i64 = 719_468;

/// Returns the local day of a moment, days since 1970-01-01.
pub(super) fn written(at: WrittenAt) -> i64 {
    at.unix_ms.saturating_add(i64::from(at.offset_min) * 60_000).div_euclid(86_400_000)
}

/// Reads `YYYY-MM-DD`; `None` unless [`print()`] gives the same bytes again.
pub(super) fn parse(text: &[u8]) -> Option<i64> {
    let number =
        |part: &[u8]| part.iter().try_fold(0, |sum, byte| digit(*byte).map(|digit| 10 * sum + digit));
    let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = *text else { return None };
    let (year, month, date) = (number(&[y1, y2, y3, y4])?, number(&[m1, m2])?, number(&[d1, d2])?);
    if !(1..=12).contains(&month) || !(1..=31).contains(&date) {
        return None;
    }
    // Years begin in March here, so that the leap day is their last.
    let year = if month < 3 { year - 1 } else { year };
    let days = (153 * ((month + 9) % 12) + 2) / 5 + date - 1;
    let leap_days = year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400);
    let day = 365 * year + leap_days + days - DAYS_TO_1970;
    print(day).filter(|printed| printed.as_bytes() == text).map(|_| day)
}

/// Writes a day as `YYYY-MM-DD`; `None` outside the years 0 to 9999.
pub(super) fn print(day: i64) -> Option<String> {
    let day = day.checked_add(DAYS_TO_1970)?;
    let (cycle, day) = (day.div_euclid(DAYS_OF_CYCLE), day.rem_euclid(DAYS_OF_CYCLE));
    // Of the cycle's days, those of whole years: leap days of 4 years taken out, of 100 put back, of 400 out.
    let year = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let days = day - (365 * year + year / 4 - year / 100);
    let month = (5 * days + 2) / 153;
    let date = days - (153 * month + 2) / 5 + 1;
    let month = if month < 10 { month + 3 } else { month - 9 };
    let year = cycle.checked_mul(400)?.checked_add(year)? + i64::from(month < 3);
    (0..=9_999).contains(&year).then(|| format!("{year:04}-{month:02}-{date:02}"))
}

fn digit(byte: u8) -> Option<i64> {
    byte.is_ascii_digit().then(|| i64::from(byte - b'0'))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Days since 1970 as POSIX counts seconds (1e9 s is 2001-09-09, 2^31 s 2038-01-19), the rest counted on.
    #[test]
    fn days_have_the_numbers_of_the_calendar() {
        for (text, day) in [
            ("1970-01-01", 0),
            ("1969-12-31", -1),
            ("2000-02-29", 11_016),
            ("2000-03-01", 11_017),
            ("2001-09-09", 1_000_000_000 / 86_400),
            ("2038-01-19", 2_147_483_648 / 86_400),
        ] {
            assert_eq!(parse(text.as_bytes()), Some(day), "{text}");
            assert_eq!(print(day).as_deref(), Some(text));
        }
    }

    #[test]
    fn every_day_comes_back_and_follows_the_one_before() {
        let (first, last) = (parse(b"0000-01-01").unwrap(), parse(b"9999-12-31").unwrap());
        // 10,000 years are 25 cycles.
        assert_eq!(last - first + 1, 25 * DAYS_OF_CYCLE);
        let mut before = String::new();
        for day in first..=last {
            let text = print(day).unwrap();
            assert!(text > before);
            assert_eq!(parse(text.as_bytes()), Some(day));
            before = text;
        }
        assert_eq!((print(first - 1), print(last + 1), print(i64::MAX)), (None, None, None));
    }

    #[test]
    fn what_is_no_day_is_none() {
        for text in
            ["2025-02-29", "1900-02-29", "2025-13-01", "2025-00-01", "2025-04-31", "2025-4-1", "today"]
        {
            assert_eq!(parse(text.as_bytes()), None, "{text}");
        }
    }

    /// 2025-03-04T00:30+01:00 is 2025-03-03T23:30Z.
    #[test]
    fn the_day_of_writing_is_the_local_one() {
        let unix_ms = parse(b"2025-03-03").unwrap() * 86_400_000 + 84_600_000;
        let day = |offset_min| print(written(WrittenAt { unix_ms, offset_min })).unwrap();
        assert_eq!((day(60), day(0)), ("2025-03-04".to_owned(), "2025-03-03".to_owned()));
    }
}
