//! Moments for people, and clocks that do not agree. No time that orders changes comes from here.

use storypole_desk::edge;
use storypole_journal::WrittenAt;
use storypole_notebook::value::print_moment;

use crate::wire::device::ClockDiffers;
use crate::wire::word::Moment;

/// From where on two clocks differ so much that a person should look at them (convention of this project).
const FAR_MS: u64 = 24 * 60 * 60 * 1000;

/// 2020-01-01T00:00:00Z, ms since 1970: a clock before that was never set (this program is younger).
pub const YEAR_2020_MS: u64 = 1_577_836_800_000;

/// Now, by this computer's clock and with its offset.
pub fn written_now() -> WrittenAt {
    edge::written_now(offset_min())
}

/// A moment of this computer's clock as people read it, with the offset of now.
pub fn moment(unix_ms: u64) -> Moment {
    let unix_ms = i64::try_from(unix_ms).unwrap_or(i64::MAX);
    Moment(print_moment(WrittenAt { unix_ms, offset_min: offset_min() }))
}

/// Whether this computer's clock stands where no clock can.
pub fn is_before_2020(now_ms: u64) -> bool {
    now_ms < YEAR_2020_MS
}

/// What to say where another clock is more than a day off this one.
pub fn differs(here: WrittenAt, theirs: WrittenAt) -> Option<ClockDiffers> {
    let is_far = here.unix_ms.abs_diff(theirs.unix_ms) > FAR_MS;
    let shown = |at| Moment(print_moment(at));
    is_far.then(|| ClockDiffers { server: shown(here), asking: shown(theirs) })
}

fn offset_min() -> i16 {
    i16::try_from(jiff::ZonedDateTime::now().offset().seconds() / 60).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(unix_ms: i64) -> WrittenAt {
        WrittenAt { unix_ms, offset_min: 0 }
    }

    /// By hand: a day has 86,400,000 ms.
    #[test]
    fn a_day_off_is_still_near() {
        let here = at(1_746_914_400_000);
        for (theirs_ms, is_far) in [
            (1_746_914_400_000, false),
            (1_747_000_800_000, false),
            (1_746_828_000_000, false),
            (1_747_000_800_001, true),
            (1_746_827_999_999, true),
            (0, true),
            (i64::MIN, true),
            (i64::MAX, true),
        ] {
            assert_eq!(differs(here, at(theirs_ms)).is_some(), is_far, "{theirs_ms}");
        }
        let both = differs(here, at(0)).unwrap();
        assert_eq!(
            (both.server.0.as_str(), both.asking.0.as_str()),
            ("2025-05-10T22:00:00+00:00", "1970-01-01T00:00:00+00:00")
        );
    }

    /// RFC 3339 spells the moment; its number is by hand: 50 years of 365 days and 12 leap days.
    #[test]
    fn a_clock_that_was_never_set_is_told_apart() {
        assert_eq!(YEAR_2020_MS, (50 * 365 + 12) * 86_400_000);
        assert!(is_before_2020(0) && is_before_2020(YEAR_2020_MS - 1) && !is_before_2020(YEAR_2020_MS));
    }
}
