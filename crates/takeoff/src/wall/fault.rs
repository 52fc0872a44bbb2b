//! What can be wrong with the measures of a wall, in words.
//!
//! Leaves out the checks themselves.

use storypole_units::Length;

use super::Surface;

/// Why measures make no wall. Indexes count from 0, in the order given; messages count from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum WallError {
    /// A stud has a thickness.
    #[error("the {}s have no thickness: measure one across its narrow face", .surface.stud())]
    NoStud { surface: Surface },
    /// A wall has a bottom and a top plate.
    #[error(
        "a wall with {plates} plates has no bottom and top: count all plates within the height, mostly 3"
    )]
    TooFewPlates { plates: u32 },
    /// Joists have a rim at both ends or at none.
    #[error("joists with {plates} rims: give 2, or 0 where only the run between supports was measured")]
    Rims { plates: u32 },
    /// The plates take the whole height.
    #[error("a wall {height} high has no room for {plates} plates of {stud}: check the height and its unit")]
    LowerThanPlates { height: Length, plates: u32, stud: Length },
    /// The rims take the whole run.
    #[error(
        "joists over {height} have no room between {plates} rims of {stud}: check that measure and its unit"
    )]
    ShorterThanRims { height: Length, plates: u32, stud: Length },
    /// More plates than any wall has.
    #[error("{plates} plates are more than 100: count the plates of one wall")]
    TooManyPlates { plates: u32 },
    /// The end studs take the whole length.
    #[error(
        "a {surface} {length} long has no room between two end {}s of {stud}: check the length and its unit",
        .surface.stud()
    )]
    NoLongerThanStuds { surface: Surface, length: Length, stud: Length },
    /// Studs would stand side by side.
    #[error("{}s of {stud} every {spacing} leave no bay: measure the spacing from centre to centre", .surface.stud())]
    Spacing { surface: Surface, spacing: Length, stud: Length },
    /// More bays than any wall has.
    #[error(
        "a {surface} {length} long with {}s every {spacing} has more than 10000 bays: check both units",
        .surface.stud()
    )]
    TooManyBays { surface: Surface, length: Length, spacing: Length },
    /// The layout begins outside.
    #[error(
        "the first {} is centred {first} from the end of a {surface} {length} long: measure from the end where the \
         layout begins to the centre of the first {} after the end {}",
        .surface.stud(), .surface.stud(), .surface.stud()
    )]
    FirstOutside { surface: Surface, first: Length, length: Length },
    /// More measured studs than any wall has.
    #[error("{count} measured {}s are more than 10000: give the centres of one {surface}", .surface.stud())]
    TooManyStuds { surface: Surface, count: usize },
    /// A measured stud stands outside.
    #[error(
        "{} {} is centred {centre} from the left end of a {surface} {length} long: measure again",
        .surface.stud(), .index + 1
    )]
    StudOutside { surface: Surface, index: usize, centre: Length, length: Length },
    /// A measured stud reaches into an end stud.
    #[error(
        "{} {} is centred {gap} from an end, where the end {} takes {stud}: leave the end {}s out, or measure again",
        .surface.stud(), .index + 1, .surface.stud(), .surface.stud()
    )]
    StudAtEnd { surface: Surface, index: usize, gap: Length, stud: Length },
    /// Two measured studs share a part of the wall.
    #[error(
        "{}s {} and {} are {apart} apart, and each is {stud} wide: measure again",
        .surface.stud(), .left + 1, .right + 1
    )]
    StudsOverlap { surface: Surface, left: usize, right: usize, apart: Length, stud: Length },
    /// A wall has at least one frame.
    #[error("a {surface} without a frame has no cavities: give 1, or 2 for a double wall")]
    NoFrames { surface: Surface },
    /// The area of all frames is beyond what is counted.
    #[error("{frames} frames are more than any wall has: give 1, or 2 for a double wall")]
    TooManyFrames { frames: u32 },
    /// One opening does not fit.
    #[error("opening {} {fault}", .index + 1)]
    Opening { index: usize, fault: OpeningFault },
    /// Two openings share a part of the wall's length.
    #[error("openings {} and {} overlap: check where they start, or enter a stack as one opening", .left + 1, .right + 1)]
    Overlap { left: usize, right: usize },
    /// No room for jack, king and jack.
    #[error(
        "openings {} and {} are {gap} apart, where a {jack} each and one {king} take {needed}: check both",
        .left + 1, .right + 1, jack = .surface.jack(), king = .surface.king()
    )]
    TooClose { surface: Surface, left: usize, right: usize, gap: Length, needed: Length },
    /// One row of blocking does not fit.
    #[error("blocking row {} {fault}", .index + 1)]
    Blocking { index: usize, fault: BlockingFault },
    /// Two rows share a part of the face.
    #[error("blocking rows {} and {} overlap: check the centre and the depth of both", .lower + 1, .upper + 1)]
    BlockingOverlap { lower: usize, upper: usize },
    /// More rows than any wall has.
    #[error("{count} rows of blocking are more than 100: give the rows of one {surface}")]
    TooManyRows { surface: Surface, count: usize },
}

/// What is wrong with one opening. Prints as the end of a sentence that names the opening.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum OpeningFault {
    /// No width.
    #[error("has no width: measure it between the {}s", .surface.jack())]
    NoWidth { surface: Surface },
    /// No height.
    #[error("has no height: measure its {} edge from {}", .surface.far(), .surface.datum())]
    NoHeight { surface: Surface },
    /// It ends within the bottom plate.
    #[error("has its {} edge at {head}, not beyond a {} of {stud}: measure it from {}",
        .surface.far(), .surface.plate(), .surface.datum())]
    HeadInPlate { surface: Surface, head: Length, stud: Length },
    /// Wider than the wall.
    #[error("is {width} wide in a {surface} {length} long: check both units")]
    WiderThanWall { surface: Surface, width: Length, length: Length },
    /// It starts or ends outside.
    #[error(
        "starts at {left} and is {width} wide, past the end of a {surface} {length} long: check where it starts"
    )]
    OutsideWall { surface: Surface, left: Length, width: Length, length: Length },
    /// No room for the jack and the end stud.
    #[error(
        "is {gap} from the end of the {surface}, where a {} and the end {} take {needed}: measure again",
        .surface.jack(), .surface.stud()
    )]
    TooNearEnd { surface: Surface, gap: Length, needed: Length },
    /// The header reaches into the top plates.
    #[error(
        "has its head at {head} and a header of {header_depth}, above the top plates' lower edge at {room}: measure again"
    )]
    HeaderTooHigh { head: Length, header_depth: Length, room: Length },
    /// The far header of a hatch reaches past the joists.
    #[error(
        "has its far edge at {head} and a header of {header_depth} behind it, past the clear end of the joists at \
         {room}: measure again"
    )]
    HeaderTooFar { head: Length, header_depth: Length, room: Length },
    /// A window without height.
    #[error("has its sill at {sill}, not below its head at {head}: measure both from the floor")]
    SillAboveHead { sill: Length, head: Length },
    /// A hatch without length.
    #[error(
        "has its near edge at {sill}, not before its far edge at {head}: measure both from the near end of the joists"
    )]
    NearEdgeBeyondFar { sill: Length, head: Length },
    /// The sill reaches into the bottom plate.
    #[error(
        "has its sill at {sill}, too low for a bottom plate and {plates} sill plates of {stud}: measure from the floor, \
         or leave the sill out for a door"
    )]
    SillTooLow { sill: Length, plates: u32, stud: Length },
    /// The near headers of a hatch reach past the joists.
    #[error(
        "has its near edge at {sill}, too near the end for {plates} headers of {stud} and the rim: measure from the \
         near end of the joists, or leave the near edge out where it opens to the end"
    )]
    NearEdgeTooNear { sill: Length, plates: u32, stud: Length },
    /// More sill plates than any window has.
    #[error("has {plates} plates under its near edge, more than 100: count those of one opening")]
    TooManySillPlates { plates: u32 },
}

/// What is wrong with one row of blocking. Prints as the end of a sentence that names the row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum BlockingFault {
    /// No height on the face.
    #[error("has no depth: measure one block across its face, mostly the thickness of a {}", .surface.stud())]
    NoDepth { surface: Surface },
    /// It reaches into the plates or past them.
    #[error(
        "is centred at {centre} and {depth} deep, outside the cavity from {bottom} to {top}: measure its centre from {}",
        .surface.datum()
    )]
    OutsideCavity { surface: Surface, centre: Length, depth: Length, bottom: Length, top: Length },
    /// Its ends are in the wrong order, or outside the wall.
    #[error(
        "runs from {left} to {right} in a {surface} {length} long: measure both ends from the left end of the {surface}"
    )]
    Ends { surface: Surface, left: Length, right: Length, length: Length },
    /// It would block nothing.
    #[error("runs from {left} to {right}, where no whole bay lies: measure both ends again")]
    NoBay { left: Length, right: Length },
}

impl Surface {
    fn stud(self) -> &'static str {
        match self {
            Self::Wall => "stud",
            Self::Joists => "joist",
        }
    }

    fn jack(self) -> &'static str {
        match self {
            Self::Wall => "jack",
            Self::Joists => "trimmer",
        }
    }

    fn king(self) -> &'static str {
        match self {
            Self::Wall => "king",
            Self::Joists => "second trimmer",
        }
    }

    fn plate(self) -> &'static str {
        match self {
            Self::Wall => "bottom plate",
            Self::Joists => "rim",
        }
    }

    fn far(self) -> &'static str {
        match self {
            Self::Wall => "upper",
            Self::Joists => "far",
        }
    }

    fn datum(self) -> &'static str {
        match self {
            Self::Wall => "the floor",
            Self::Joists => "the near end of the joists",
        }
    }
}

/// Prints what people call it in a sentence.
impl std::fmt::Display for Surface {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Wall => "wall",
            Self::Joists => "ceiling or floor",
        })
    }
}
