//! How long a screw is for a board, and how long it may be at most where it must not reach the stud.
//!
//! Leaves out nails, adhesive, and boards of a thickness without a customary screw.

use storypole_units::Length;

/// What the board is screwed to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Onto {
    /// Studs, with nothing between.
    Studs,
    /// Studs, through a first layer of boards.
    BoardsOnStuds,
    /// Resilient channel or channel on clips.
    Channel {
        /// Boards that lie on the channel already; zero for the first layer.
        boards_below: Length,
        /// Depth of the channel: the room in front of the stud.
        channel_depth: Length,
    },
}

/// How long a screw is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub enum ScrewLength {
    /// The customary length.
    Customary { length: Length },
    /// The customary length or more.
    AtLeast { length: Length },
    /// Through the boards and into the channel, and short of the stud: a screw in the stud ties the boards to it. Fine
    /// thread, as for steel.
    Between { more_than: Length, less_than: Length },
}

/// Why a screw has no length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum ScrewLengthError {
    /// A board has a thickness.
    #[error("the board has no thickness: read it from the label")]
    NoBoard,
    /// Channel has a depth.
    #[error("the channel has no depth: measure it from the stud to its face")]
    NoChannel,
    /// Neither 1/2 nor 5/8 in.
    #[error(
        "a board {board} thick has no customary screw here: read the length from the board's instructions"
    )]
    NoCustom { board: Length },
    /// Beyond a length.
    #[error("the boards are thicker than any wall: check the units")]
    TooThick,
}

/// Returns how long a screw is: 1 1/4 in for a board of 1/2 in, 1 5/8 in for 5/8 in, at least 2 1/4 in for the second
/// layer; on channel, more than the boards and less than boards and channel.
///
/// # Errors
/// [`ScrewLengthError`].
///
/// # Source
/// Common practice, no source.
pub fn screw_length(board: Length, onto: Onto) -> Result<ScrewLength, ScrewLengthError> {
    if board == Length::ZERO {
        return Err(ScrewLengthError::NoBoard);
    }
    match onto {
        Onto::Studs => Ok(ScrewLength::Customary { length: custom(board)? }),
        Onto::BoardsOnStuds => {
            custom(board)?;
            Ok(ScrewLength::AtLeast { length: SECOND_LAYER.length() })
        }
        Onto::Channel { boards_below, channel_depth } => {
            if channel_depth == Length::ZERO {
                return Err(ScrewLengthError::NoChannel);
            }
            let more_than = board.checked_add(boards_below).ok_or(ScrewLengthError::TooThick)?;
            let less_than = more_than.checked_add(channel_depth).ok_or(ScrewLengthError::TooThick)?;
            Ok(ScrewLength::Between { more_than, less_than })
        }
    }
}

/// Eighths of an inch.
struct Eighths(u8);

impl Eighths {
    fn length(&self) -> Length {
        Length::from_nm(i64::from(self.0) * 3_175_000).expect("a few inches are shorter than 1000 km")
    }
}

/// 2 1/4 in.
const SECOND_LAYER: Eighths = Eighths(18);
/// Boards of 1/2 and 5/8 in with screws of 1 1/4 and 1 5/8 in.
const CUSTOM: [(Eighths, Eighths); 2] = [(Eighths(4), Eighths(10)), (Eighths(5), Eighths(13))];
/// Metric lists round to tenths of a millimetre or to halves: 12.5 mm is sold as 1/2 in, 15.9 mm is 5/8 in.
const ROUNDED_NM: i64 = 250_000;

/// Returns the screw of a board in one layer.
fn custom(board: Length) -> Result<Length, ScrewLengthError> {
    let known = CUSTOM.iter().find(|(thick, _)| (thick.length().nm() - board.nm()).abs() <= ROUNDED_NM);
    let (_, screw) = known.ok_or(ScrewLengthError::NoCustom { board })?;
    Ok(screw.length())
}
