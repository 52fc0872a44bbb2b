//! Which part of a file is asked for (RFC 9110 section 14).

/// What is to be sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// All of it.
    Whole,
    /// These bytes, both ends included.
    Of {
        /// The first.
        first: u64,
        /// The last.
        last: u64,
    },
    /// Nothing: the file has no such part.
    Outside,
}

/// Reads a Range header over a file of `size` bytes.
///
/// A header of another unit or form is ignored, and several parts are answered with the whole file, as section 14.2
/// allows: only one legal part that starts behind the end is refused.
pub fn asked(range: Option<&str>, size: u64) -> Part {
    let Some((first, last)) = range.and_then(one) else { return Part::Whole };
    match (first, last) {
        (Some(first), Some(last)) if last < first => Part::Whole,
        (Some(first), _) if first >= size => Part::Outside,
        (Some(first), last) => Part::Of { first, last: last.map_or(size - 1, |last| last.min(size - 1)) },
        (None, Some(0)) => Part::Outside,
        (None, Some(_)) if size == 0 => Part::Outside,
        (None, Some(length)) => Part::Of { first: size.saturating_sub(length), last: size - 1 },
        (None, None) => Part::Whole,
    }
}

/// The two numbers of a single range.
fn one(range: &str) -> Option<(Option<u64>, Option<u64>)> {
    let (unit, set) = range.split_once('=')?;
    let (first, last) = set.trim_matches([' ', '\t']).split_once('-')?;
    if !unit.eq_ignore_ascii_case("bytes") {
        return None;
    }
    Some((number(first)?, number(last)?))
}

/// Digits or nothing; more digits than a number holds lie behind any end.
fn number(digits: &str) -> Option<Option<u64>> {
    if digits.is_empty() {
        return Some(None);
    }
    let is_number = digits.bytes().all(|digit| digit.is_ascii_digit());
    is_number.then(|| Some(digits.parse().unwrap_or(u64::MAX)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The rows over 10,000 bytes are the examples of RFC 9110 sections 14.1.2 and 14.4; the others by its grammar.
    #[test]
    fn parts_as_published() {
        let of = |first, last| Part::Of { first, last };
        for (range, size, expected) in [
            (Some("bytes=0-499"), 10_000, of(0, 499)),
            (Some("bytes=500-999"), 10_000, of(500, 999)),
            (Some("bytes=-500"), 10_000, of(9_500, 9_999)),
            (Some("bytes=9500-"), 10_000, of(9_500, 9_999)),
            (Some("bytes=0-0,-1"), 10_000, Part::Whole),
            (Some("bytes= 0-999, 4500-5499, -1000"), 10_000, Part::Whole),
            (Some("bytes=500-600,601-999"), 10_000, Part::Whole),
            (Some("bytes=0-499"), 1_234, of(0, 499)),
            (Some("bytes=500-1233"), 1_234, of(500, 1_233)),
            (Some("bytes=734-1233"), 1_234, of(734, 1_233)),
            (None, 10, Part::Whole),
            (Some("bytes=0-"), 10, of(0, 9)),
            (Some("BYTES=0-1"), 10, of(0, 1)),
            (Some("bytes=9-9"), 10, of(9, 9)),
            (Some("bytes=9-1000"), 10, of(9, 9)),
            (Some("bytes=-1000"), 10, of(0, 9)),
            (Some("bytes=10-"), 10, Part::Outside),
            (Some("bytes=10-20"), 10, Part::Outside),
            (Some("bytes=-0"), 10, Part::Outside),
            (Some("bytes=99999999999999999999999-"), 10, Part::Outside),
            (Some("bytes=5-4"), 10, Part::Whole),
            (Some("bytes=-"), 10, Part::Whole),
            (Some("bytes="), 10, Part::Whole),
            (Some("bytes=a-b"), 10, Part::Whole),
            (Some("bytes=+1-2"), 10, Part::Whole),
            (Some("bytes=1-2-3"), 10, Part::Whole),
            (Some("lines=0-1"), 10, Part::Whole),
            (Some(""), 10, Part::Whole),
        ] {
            assert_eq!(asked(range, size), expected, "{range:?} of {size}");
        }
    }
}
