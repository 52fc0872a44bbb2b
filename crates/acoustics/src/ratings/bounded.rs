//! How a rating stands to the truth when some of its bands are only bounds.

use super::{LARGEST_DB, RatingError};
use crate::bands::Spectrum;
use crate::bounds::Sense;

/// Says how the true rating stands to the one computed from stated values, some of which are bounds.
///
/// The rating is made again with every "at least" as high, and every "at most" as low, as a band can be. A rating that
/// neither moves is exact: the bounded bands do not decide it. One that could only be higher is a lower bound, and so on.
///
/// # Units and shape
/// `spectrum`: dB. `senses`: one for each of its bands, in order; a band beyond the end of the list counts as exact. `rate`: a
/// number that never falls when a band rises, such as a rating, a rating plus its term, or a class. A term alone is none.
///
/// # Errors
/// Whatever `rate` refuses.
///
/// # Source
/// Follows from ratings never falling when a band rises; no standard says it.
pub fn rating_sense<N: PartialOrd>(
    spectrum: &Spectrum,
    senses: &[Sense],
    rate: impl Fn(&Spectrum) -> Result<N, RatingError>,
) -> Result<Sense, RatingError> {
    let stated = rate(spectrum)?;
    let could_be_higher = |sense: Sense| matches!(sense, Sense::AtLeast | Sense::Undetermined);
    let could_be_lower = |sense: Sense| matches!(sense, Sense::AtMost | Sense::Undetermined);
    let higher = rate(&with_extreme(spectrum, senses, could_be_higher, LARGEST_DB))? > stated;
    let lower = rate(&with_extreme(spectrum, senses, could_be_lower, -LARGEST_DB))? < stated;
    Ok(match (higher, lower) {
        (false, false) => Sense::Exact,
        (true, false) => Sense::AtLeast,
        (false, true) => Sense::AtMost,
        (true, true) => Sense::Undetermined,
    })
}

/// The same bands, those that `is_open` put at an extreme.
fn with_extreme(
    spectrum: &Spectrum,
    senses: &[Sense],
    is_open: impl Fn(Sense) -> bool,
    extreme_db: f64,
) -> Spectrum {
    let value = |(index, (band, value_db)): (usize, &(crate::Band, f64))| {
        let sense = senses.get(index).copied().unwrap_or(Sense::Exact);
        (*band, if is_open(sense) { extreme_db } else { *value_db })
    };
    Spectrum::of(spectrum.values().iter().enumerate().map(value).collect())
        .expect("the bands are those of a spectrum and the values are finite")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::Fraction;
    use crate::ratings::{Rounding, iso717, oitc, stc};

    const THIRDS_HZ: [f64; 16] = [
        125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0,
        2500.0, 3150.0, 4000.0,
    ];

    /// The senses with one at a place.
    fn with(place: usize, sense: Sense) -> Vec<Sense> {
        (0..16).map(|index| if index == place { sense } else { Sense::Exact }).collect()
    }

    #[test]
    fn only_bands_that_decide_bound_a_class() {
        // By hand: the leak at 4 kHz alone decides (34 with, 41 without it), so a bound there bounds the class, one at
        // 1 kHz does not; a value at 1 kHz that may be lower makes it an upper bound.
        let values_db = [24., 27., 30., 33., 36., 39., 40., 41., 42., 43., 44., 44., 44., 44., 44., 30.];
        let spectrum = Spectrum::new(Fraction::Third, &THIRDS_HZ, &values_db).unwrap();
        let rate = |spectrum: &Spectrum| stc(spectrum, Rounding::WholeDb).map(|class| class.rating_db);
        let sense = |senses: &[Sense]| rating_sense(&spectrum, senses, rate).unwrap();
        assert_eq!(sense(&[]), Sense::Exact);
        assert_eq!(sense(&with(15, Sense::AtLeast)), Sense::AtLeast);
        assert_eq!(sense(&with(9, Sense::AtLeast)), Sense::Exact);
        assert_eq!(sense(&with(9, Sense::AtMost)), Sense::AtMost);
        let mut both = with(15, Sense::AtLeast);
        both[9] = Sense::AtMost;
        assert_eq!(sense(&both), Sense::Undetermined);
        assert_eq!(sense(&with(15, Sense::Undetermined)), Sense::Undetermined);
    }

    #[test]
    fn refusals_come_through() {
        let spectrum = Spectrum::new(Fraction::Third, &THIRDS_HZ, &[30.0; 16]).unwrap();
        assert!(rating_sense(&spectrum, &[], |bands| iso717(bands).map(|iso| iso.rating_db)).is_err());
        assert!(rating_sense(&spectrum, &[], |bands| oitc(bands).map(|class| class.unrounded_db)).is_err());
    }
}
