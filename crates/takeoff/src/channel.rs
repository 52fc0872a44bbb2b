//! Rows of resilient channel across one side of a wall.
//!
//! Leaves out windows, clips, and where pieces lap.

use storypole_units::Length;

use crate::waste::{Waste, divided_up};

/// Most rows on a wall. Convention of this project: more are a slip of the unit.
const MOST_ROWS: i128 = 10_000;

/// A side of a wall to line with channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ChannelNeed {
    /// From end to end.
    pub length: Length,
    /// From floor to ceiling.
    pub height: Length,
    /// The lowest row, from the floor; commonly 2 in.
    pub first_above_floor: Length,
    /// The highest row, from the ceiling; commonly 6 in.
    pub last_below_ceiling: Length,
    /// The most between two rows; commonly 24 in.
    pub max_spacing: Length,
    /// A door in this wall.
    pub door: Option<DoorCut>,
    /// Length of the pieces sold.
    pub piece: Length,
    /// Added for waste.
    pub waste: Waste,
}

/// What a door takes out of the rows below its head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct DoorCut {
    /// Of the rough opening.
    pub width: Length,
    /// Upper edge of the rough opening, from the floor.
    pub head: Length,
}

/// What to buy, and where it goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChannelRows {
    /// Rows, the lowest and the highest included.
    pub rows: u32,
    /// From row to row, to the nanometre below; `None` for a single row.
    pub row_spacing: Option<Length>,
    /// Rows that the door interrupts.
    pub rows_crossing_door: u32,
    /// All rows, without waste.
    pub channel: Length,
    /// Pieces with waste, before rounding up.
    pub needed: f64,
    /// Whole pieces.
    pub pieces: u32,
}

/// Why channel cannot be counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum ChannelError {
    /// A wall has a length.
    #[error("the wall has no length: measure it from end to end")]
    NoLength,
    /// The first row would be above the last.
    #[error(
        "a wall {height} high has no room for rows {first} above the floor and {last} below the ceiling: check them"
    )]
    NoRoom { height: Length, first: Length, last: Length },
    /// Rows have a distance.
    #[error("rows without a distance: give the most between two rows, commonly 24 in")]
    NoSpacing,
    /// More rows than any wall has.
    #[error("rows {spacing} apart are more than 10000: check the unit of the distance")]
    TooManyRows { spacing: Length },
    /// A piece has a length.
    #[error("the pieces have no length: read it from the label, commonly 12 ft")]
    NoPiece,
    /// The door is larger than the wall.
    #[error("a door {width} wide with its head at {head} is larger than the wall: check both")]
    DoorTooLarge { width: Length, head: Length },
    /// A length or a count is beyond what is counted.
    #[error("the channel is more than can be counted: check the sizes and their units")]
    TooMuch,
}

/// Spaces rows evenly, `⌈(height - first - last) / most⌉ + 1` of them, and counts pieces.
///
/// A row lower than the door's head loses the door's width.
///
/// # Errors
/// [`ChannelError`].
///
/// # Source
/// Common practice, no source; a tested assembly's listing comes first.
pub fn channel(need: &ChannelNeed) -> Result<ChannelRows, ChannelError> {
    let span = check(need)?;
    let gaps = divided_up(i128::from(span.nm()), i128::from(need.max_spacing.nm()));
    if gaps >= MOST_ROWS {
        return Err(ChannelError::TooManyRows { spacing: need.max_spacing });
    }
    let crossing = need.door.map_or(0, |door| rows_below(door.head, need.first_above_floor, span, gaps));
    let lost = need.door.map_or(0, |door| crossing * i128::from(door.width.nm()));
    let channel_nm = (gaps + 1) * i128::from(need.length.nm()) - lost;
    let counted =
        need.waste.count_up(channel_nm, i128::from(need.piece.nm())).ok_or(ChannelError::TooMuch)?;
    let row_nm = i128::from(span.nm()).checked_div(gaps);
    Ok(ChannelRows {
        rows: row_count(gaps + 1),
        row_spacing: row_nm.and_then(length),
        rows_crossing_door: row_count(crossing),
        channel: length(channel_nm).ok_or(ChannelError::TooMuch)?,
        needed: counted.needed,
        pieces: counted.whole,
    })
}

/// Checks the measures and returns the distance from the lowest row to the highest.
fn check(need: &ChannelNeed) -> Result<Length, ChannelError> {
    let &ChannelNeed { length, height, first_above_floor: first, last_below_ceiling: last, .. } = need;
    if length == Length::ZERO {
        return Err(ChannelError::NoLength);
    }
    if need.max_spacing == Length::ZERO {
        return Err(ChannelError::NoSpacing);
    }
    if need.piece == Length::ZERO {
        return Err(ChannelError::NoPiece);
    }
    if let Some(DoorCut { width, head }) = need.door
        && (width > length || head > height)
    {
        return Err(ChannelError::DoorTooLarge { width, head });
    }
    let span = height.checked_sub(first).and_then(|room| room.checked_sub(last));
    span.ok_or(ChannelError::NoRoom { height, first, last })
}

/// Counts rows strictly below `head`; row i of `gaps + 1` is `first + i·span/gaps` above the floor.
fn rows_below(head: Length, first: Length, span: Length, gaps: i128) -> i128 {
    let room_nm = i128::from(head.nm() - first.nm());
    if room_nm <= 0 {
        return 0;
    }
    // i·span < room·gaps; a single row stands at the lowest place.
    let below = if span == Length::ZERO { 1 } else { divided_up(room_nm * gaps, i128::from(span.nm())) };
    below.min(gaps + 1)
}

fn row_count(rows: i128) -> u32 {
    u32::try_from(rows).expect("rows were limited before")
}

fn length(nm: i128) -> Option<Length> {
    Length::from_nm(i64::try_from(nm).ok()?).ok()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{inches, waste};

    fn need() -> ChannelNeed {
        ChannelNeed {
            length: inches("144"),
            height: inches("97.125"),
            first_above_floor: inches("2"),
            last_below_ceiling: inches("6"),
            max_spacing: inches("24"),
            door: None,
            piece: inches("144"),
            waste: waste("0.10"),
        }
    }

    /// Source: a worked example, ceil(89.125/24) + 1 = 5 rows, 60 ft, 66/12 = 5.5 up to 6 pieces.
    #[test]
    fn rows_match_a_worked_example() {
        let got = channel(&need()).unwrap();
        assert_eq!((got.rows, got.rows_crossing_door, got.pieces), (5, 0, 6));
        assert_eq!(got.channel, inches("720"));
        assert!((got.needed - 5.5).abs() < 1e-12, "{got:?}");
        // 89.125 / 4, by hand.
        assert_eq!(got.row_spacing, Some(inches("22.28125")));
    }

    /// Source: by hand; rows at 2, 24.28, 46.56, 68.84 and 91.125 in.
    #[test]
    fn rows_below_the_head_lose_the_door() {
        for (head, crossing, total) in [
            ("82.5", 4, "566"),
            ("46.5625", 2, "643"),
            ("46.57", 3, "604.5"),
            ("2", 0, "720"),
            ("97", 5, "527.5"),
        ] {
            let door = Some(DoorCut { width: inches("38.5"), head: inches(head) });
            let got = channel(&ChannelNeed { door, ..need() }).unwrap();
            assert_eq!((got.rows_crossing_door, got.channel), (crossing, inches(total)), "{head}");
        }
    }

    #[test]
    fn one_row_has_no_spacing() {
        let door = Some(DoorCut { width: inches("30"), head: inches("80") });
        let low = ChannelNeed {
            height: inches("100"),
            first_above_floor: inches("50"),
            last_below_ceiling: inches("50"),
            ..need()
        };
        let got = channel(&low).unwrap();
        assert_eq!((got.rows, got.row_spacing, got.channel), (1, None, inches("144")));
        assert_eq!(channel(&ChannelNeed { door, ..low }).unwrap().rows_crossing_door, 1);
    }

    #[test]
    fn refuses_with_the_reason() {
        let door = |width, head| Some(DoorCut { width: inches(width), head: inches(head) });
        let cases = [
            (
                ChannelNeed { length: Length::ZERO, ..need() },
                "the wall has no length: measure it from end to end",
            ),
            (
                ChannelNeed { height: inches("7"), ..need() },
                "a wall 7\" high has no room for rows 2\" above the floor and 6\" below the ceiling: check them",
            ),
            (
                ChannelNeed { max_spacing: Length::ZERO, ..need() },
                "rows without a distance: give the most between two rows, commonly 24 in",
            ),
            (
                ChannelNeed { max_spacing: inches("0.001"), ..need() },
                "rows 0.0254 mm apart are more than 10000: check the unit of the distance",
            ),
            (
                ChannelNeed { piece: Length::ZERO, ..need() },
                "the pieces have no length: read it from the label, commonly 12 ft",
            ),
            (
                ChannelNeed { door: door("150", "80"), ..need() },
                "a door 12' 6\" wide with its head at 6' 8\" is larger than the wall: check both",
            ),
            (
                ChannelNeed { length: Length::MAX, ..need() },
                "the channel is more than can be counted: check the sizes and their units",
            ),
        ];
        for (need, reason) in cases {
            assert_eq!(channel(&need).unwrap_err().to_string(), reason);
        }
    }

    proptest! {
        /// Goal: rows are never further apart than allowed, and one row fewer would be.
        #[test]
        fn rows_keep_their_distance(height_mm in 300i64..6000, spacing_mm in 50i64..900) {
            let (height, max_spacing) = (height_mm * 1_000_000, spacing_mm * 1_000_000);
            let (height, max_spacing) = (Length::from_nm(height).unwrap(), Length::from_nm(max_spacing).unwrap());
            let got = channel(&ChannelNeed { height, max_spacing, ..need() }).unwrap();
            let span = height.nm() - inches("8").nm();
            let gaps = i64::from(got.rows) - 1;
            prop_assert!(gaps * max_spacing.nm() >= span);
            prop_assert!((gaps - 1) * max_spacing.nm() < span);
        }
    }
}
