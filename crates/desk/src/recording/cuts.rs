//! What is cut out of a recording: from, to and why, as typed. Leaves out how a reading keeps it.

use storypole_notebook::cuts::CutOut;

/// What was typed is no cut.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{typed}\" cannot be cut out: {why}")]
pub struct NoCut {
    /// As it was typed.
    pub typed: String,
    /// What it lacks.
    pub why: &'static str,
}

/// Reads `12-15 a truck passed`, `1:02-1:05.5 the dog`.
///
/// # Errors
/// No such form, no reason, or the end before the start.
pub fn read(typed: &str) -> Result<CutOut, NoCut> {
    let refused = |why| NoCut { typed: typed.trim().to_owned(), why };
    let (span, why) =
        typed.trim().split_once(char::is_whitespace).ok_or_else(|| refused("a reason is missing"))?;
    let (from, to) = span.split_once('-').ok_or_else(|| refused("it does not say from where to where"))?;
    let (from_s, to_s) = seconds(from)
        .zip(seconds(to))
        .ok_or_else(|| refused("it does not say from where to where in seconds"))?;
    if from_s >= to_s {
        return Err(refused("it ends before it starts"));
    }
    Ok(CutOut { from_s, to_s, why: why.trim().to_owned() })
}

fn seconds(typed: &str) -> Option<f64> {
    let (minutes, seconds) = typed.split_once(':').unwrap_or(("0", typed));
    let plain = |text: &str| {
        let is_plain =
            !text.is_empty() && text.chars().all(|letter| letter.is_ascii_digit() || letter == '.');
        text.parse::<f64>().ok().filter(|_| is_plain)
    };
    Some(60.0 * plain(minutes)? + plain(seconds)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cuts_are_read_with_their_reason() {
        let cut = |typed: &str| read(typed).map(|one| (one.from_s, one.to_s, one.why)).unwrap();
        assert_eq!(cut("12-15 a truck passed"), (12.0, 15.0, "a truck passed".to_owned()));
        assert_eq!(cut(" 1:02-1:05.5  the dog "), (62.0, 65.5, "the dog".to_owned()));
        assert_eq!(read("12-15 a truck").unwrap().words(), "12 to 15 s: a truck");
        assert_eq!(read("2.4-2.6 a click").unwrap().words(), "2 to 3 s: a click");
        for (typed, why) in [
            ("12-15", "a reason is missing"),
            ("12 a truck", "from where to where"),
            ("15-12 a truck", "ends before it starts"),
            ("a-b truck", "in seconds"),
            ("-3-5 truck", "in seconds"),
            ("1e3-2e3 truck", "in seconds"),
            ("", "a reason is missing"),
        ] {
            let said = read(typed).unwrap_err().to_string();
            assert!(said.contains(why), "{typed}: {said}");
        }
    }
}
