//! What was achieved with a wall, and how the sound divides between wall and openings.

use super::called::Called;
use super::change::{Change, Prediction};
use super::number::{Estimate, Number};
use super::word::{Day, Id};

words! {
    /// Tells an assembly's finding from others.
    enum OfAssembly {
        /// An assembly.
        Assembly = "assembly",
    }
}

answers! {
    /// The seven parts of an assembly, in their notation.
    struct Parts {
        /// Leaf A, from its room inward.
        leaf_a: Option<String>,
        /// Frame.
        frame: Option<String>,
        /// Cavity and fill.
        cavity: Option<String>,
        /// Leaf B, from its room inward.
        leaf_b: Option<String>,
        /// Doors, windows, boxes.
        openings: Option<String>,
        /// Perimeter seals.
        seals: Option<String>,
        /// State of the work.
        state: Option<String>,
    }
    /// An assembly as built.
    struct Built {
        /// What it is: one of the choices of the field in `/api/kinds`.
        element: Option<String>,
        /// The job that built or found it.
        job: Option<Called>,
        /// Room on the side of leaf A.
        room_a: Option<Called>,
        /// Room on the side of leaf B.
        room_b: Option<Called>,
        /// The version it replaces.
        replaces: Option<Called>,
        /// Day it was built or found.
        since: Option<Day>,
        /// Its length, as people read it.
        #[schema(examples("12' 6\""))]
        length: Option<String>,
        /// Its height, as people read it.
        #[schema(examples("8' 1 1/8\""))]
        height: Option<String>,
        /// Its parts.
        parts: Parts,
        /// Anything else.
        note: Option<String>,
    }
    /// A level difference measured with it.
    struct Achieved {
        /// The set.
        set: Called,
        /// The job it was taken in.
        job: Option<Called>,
        /// Which way the sound went, in words.
        direction: String,
        /// Weighting of the readings.
        unit: Option<String>,
        /// Level difference, dB.
        level_difference: Estimate,
        /// Whether the set takes part in results.
        is_in_results: bool,
        /// Whether it is a small panel on a bench.
        bench_rig: bool,
    }
    /// What one opening lets through.
    struct OpeningPath {
        /// The opening, in words.
        words: String,
        /// Its area, m².
        area_m2: Number,
        /// Its typical loss, dB.
        loss: Number,
        /// Where the loss comes from.
        loss_source: String,
        /// Its share of the sound, 0 to 1.
        share: f64,
        /// The share, as people see it.
        printed: String,
    }
    /// What the wall itself is expected to lose, dB.
    struct WallLoss {
        /// Low.
        low: Number,
        /// Typical.
        typical: Number,
        /// High.
        high: Number,
        /// Where the values come from.
        source: String,
    }
    /// How the sound divides between wall and openings.
    struct Paths {
        /// Face that the sound meets, m².
        face_m2: Option<Number>,
        /// What the wall itself is expected to lose.
        wall: Option<WallLoss>,
        /// The wall's share of the sound, 0 to 1.
        wall_share: Option<f64>,
        /// Opening by opening.
        openings: Vec<OpeningPath>,
        /// Whether one opening lets over half of the sound through.
        opening_is_the_limit: bool,
        /// What wall and openings give together, dB.
        formula: Option<Prediction>,
        /// Why there is nothing to say.
        absent: Option<String>,
        /// In a sentence.
        sentence: Option<String>,
    }
    /// One band of a prediction.
    struct PredictedBand {
        /// Its nominal mid-band frequency, Hz.
        band: f64,
        /// The same, as people read it.
        label: String,
        /// The laboratory wall without openings, dB.
        wall_alone: Number,
        /// The wall with its openings, no more than sound round it lets through in a house, dB.
        with_openings: Number,
    }
    /// One way through a predicted wall.
    struct PredictedPath {
        /// What it is, in words.
        words: String,
        /// Its area, m².
        area_m2: Option<Number>,
        /// Where its loss comes from.
        source: String,
        /// Its share of A-weighted pink noise, 0 to 1.
        share: f64,
        /// The share, as people see it.
        printed: String,
    }
    /// What a model says a wall should give, with how far it may be off.
    struct Predicted {
        /// In plain sentences.
        sentence: String,
        /// The class of ASTM E413 that the wall without openings would get in a laboratory, dB.
        laboratory_class: i64,
        /// How far the class may be off, dB either way.
        class_spread: f64,
        /// How far a band may be off, dB either way.
        band_spread: f64,
        /// The most that a band gives in a house before sound goes round the wall, dB.
        house_cap: f64,
        /// What the wall without openings takes off A-weighted pink noise, dB.
        pink_wall_alone: Number,
        /// What it takes off with its openings, dB.
        pink_with_openings: Number,
        /// Published laboratory range of such walls, dB.
        published: Option<WallLoss>,
        /// Lowest band first.
        bands: Vec<PredictedBand>,
        /// The wall itself, then its openings.
        paths: Vec<PredictedPath>,
        /// What was taken for granted.
        assumptions: Vec<String>,
    }
    /// What was achieved with an assembly.
    struct AssemblyFinding {
        /// The assembly.
        id: Id,
        /// Always `assembly`.
        kind: OfAssembly,
        /// Its label.
        label: String,
        /// In a sentence or two.
        sentence: String,
        /// As built.
        built: Option<Built>,
        /// Level differences measured with it.
        achieved: Vec<Achieved>,
        /// What building it changed.
        changes: Vec<Change>,
        /// How the sound divides.
        paths: Option<Paths>,
        /// What a model says such a wall should give.
        predicted: Option<Predicted>,
        /// Why it says nothing.
        not_predicted_because: Option<String>,
    }
}
