//! Results by frequency band: rows for a table, curves for a chart.

use super::number::{Bound, Estimate, Number};
use super::set::BackgroundEffect;

words! {
    /// How wide the bands are.
    enum BandWidth {
        /// One octave.
        Octave = "octave",
        /// A third of an octave.
        Third = "third",
    }
}

answers! {
    /// One band of a set.
    struct BandRow {
        /// Its nominal mid-band frequency, Hz.
        band: f64,
        /// The same, as people read it.
        label: String,
        /// Mean of the source room, dB.
        source: Number,
        /// Mean of the receiving room as read, dB.
        receive: Number,
        /// The receiving room's own noise, dB.
        background: Option<Number>,
        /// What the rule did with it.
        background_effect: Option<BackgroundEffect>,
        /// Source less corrected receive, dB.
        level_difference: Estimate,
        /// Reverberation time of the receiving room, s.
        reverberation: Option<Number>,
        /// The level difference at a reverberation time of 0.5 s, dB.
        standardised: Option<Estimate>,
    }
    /// One band of a rating's curve.
    struct CurvePoint {
        /// Nominal mid-band frequency, Hz.
        band: f64,
        /// The curve where it came to rest, dB.
        curve: Number,
        /// How far the band falls short of it, dB.
        short: Number,
    }
    /// A single number made from bands, named after what the bands are: never a laboratory's.
    struct BandRating {
        /// Its name: `NIC`, `Dw`, `NNIC` or `DnT,w`.
        name: String,
        /// The standard.
        by: String,
        /// The number, dB.
        value: i64,
        /// How the true number stands to it.
        bound: Bound,
        /// The term C, dB, where the standard has it.
        c: Option<i64>,
        /// The term Ctr, dB, where the standard has it.
        ctr: Option<i64>,
        /// As it is written.
        stated: String,
        /// Its curve, for a chart.
        curve: Vec<CurvePoint>,
        /// The bands that hold it down, Hz.
        decided_by: Vec<f64>,
        /// Whether one band alone holds it down: look for a leak or a dip there.
        one_band_decides: bool,
    }
    /// A set by band.
    struct SetBands {
        /// How wide the bands are.
        width: BandWidth,
        /// Labels of the source positions with bands.
        source_positions: Vec<String>,
        /// Labels of the receive positions with bands.
        receive_positions: Vec<String>,
        /// Lowest band first.
        rows: Vec<BandRow>,
        /// Single numbers.
        ratings: Vec<BandRating>,
        /// Why a single number is absent, in words.
        no_rating_because: Vec<String>,
        /// Difference of the A-weighted levels summed from these bands, dB.
        a_weighted: Estimate,
    }
    /// One band of a change.
    struct BandChangeRow {
        /// Its nominal mid-band frequency, Hz.
        band: f64,
        /// The same, as people read it.
        label: String,
        /// Level difference before, dB.
        before: Estimate,
        /// Level difference after, dB.
        after: Estimate,
        /// After less before, dB.
        change: Estimate,
        /// The change at one reverberation time, dB: what the room alone did is taken out.
        standardised: Option<Estimate>,
        /// The least change that two single tests by one crew show in this band, dB.
        least_that_shows: Option<Number>,
        /// Whether the change is at least that; absent where either is not known.
        is_clear: Option<bool>,
    }
    /// A single number before and after.
    struct RatingChange {
        /// Its name.
        name: String,
        /// Before.
        before: BandRating,
        /// After.
        after: BandRating,
        /// After less before, dB, in steps of 0.1 where the standard has them.
        change: Number,
        /// How the true change stands to it.
        bound: Bound,
    }
    /// A change by band.
    struct BandChange {
        /// How wide the bands are.
        width: BandWidth,
        /// Labels of the receive positions that both sets have.
        compared_on: Vec<String>,
        /// Lowest band first.
        rows: Vec<BandChangeRow>,
        /// Single numbers.
        ratings: Vec<RatingChange>,
    }
}
