//! An assembly that is not written yet: layers, mass, prediction, and what in it cannot be read.

use super::assembly::{Parts, Predicted};
use super::number::Number;

words! {
    /// What a row of the layers is.
    enum LayerKind {
        /// Boards.
        Board = "board",
        /// The space from board to board.
        Cavity = "cavity",
        /// Resilient channel, within the cavity.
        Channel = "channel",
        /// Channel on isolation clips, within the cavity.
        Clips = "clips",
        /// A row of studs, within the cavity.
        Studs = "studs",
        /// Fill, within the cavity.
        Fill = "fill",
    }
    /// Where a mass comes from.
    enum MassFrom {
        /// It is written down, or its share of what is.
        Written = "written",
        /// A table of the trade.
        Table = "table",
    }
}

answers! {
    /// A thickness or a spacing either way.
    struct Thickness {
        /// Millimetres.
        mm: Number,
        /// Inches.
        inches: Number,
    }
    /// A mass over area either way.
    struct AreaMass {
        /// kg/m².
        kg_m2: Number,
        /// lb/ft².
        lb_ft2: Number,
    }
    /// One layer, or one thing within the cavity.
    struct SketchLayer {
        /// Which of the seven parts it comes from.
        #[schema(examples("leaf_a"))]
        part: String,
        /// What it is.
        kind: LayerKind,
        /// What it is made of, as in the notation.
        name: String,
        /// How many, one behind another.
        count: u8,
        /// Thickness of one.
        each: Thickness,
        /// Thickness of all of them.
        thickness: Thickness,
        /// From centre to centre along the wall.
        spacing: Option<Thickness>,
        /// Whether it lies within the cavity, whose thickness counts it already.
        within_cavity: bool,
        /// Mass of all of them, where it is known.
        mass: Option<AreaMass>,
        /// Where the mass comes from.
        mass_from: Option<MassFrom>,
    }
    /// A field that cannot be read.
    struct SketchProblem {
        /// The field, as in the kind `assembly`.
        field: String,
        /// Why.
        why: String,
        /// What to do.
        next: String,
    }
    /// What an assembly would be that is not written yet.
    struct Sketch {
        /// Its parts as they would be stored; null where nothing is given or it cannot be read.
        parts: Parts,
        /// From side A to side B; what lies within the cavity follows the cavity.
        layers: Vec<SketchLayer>,
        /// From face to face.
        thickness: Option<Thickness>,
        /// Of all whose mass is known.
        mass: Option<AreaMass>,
        /// What the mass leaves out, in words.
        not_weighed: Vec<String>,
        /// What to look at again, in sentences.
        notes: Vec<String>,
        /// What a model says such a wall should give.
        predicted: Option<Predicted>,
        /// Why it says nothing.
        not_predicted_because: Option<String>,
        /// Why there is no drawing; null where there is one.
        not_drawn_because: Option<String>,
        /// Field by field; the rest is worked out without them.
        problems: Vec<SketchProblem>,
    }
}
