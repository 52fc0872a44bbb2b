//! One leaf: mass law, coincidence, and Sharp's single leaf.
//!
//! Leaves out layered boards as such: boards laid loose or screwed add their masses and keep their own critical frequency,
//! and that is for the caller to say.

use std::f64::consts::PI;

use super::{AIR_DENSITY_KG_M3, Measure, PredictionError, SPEED_OF_SOUND_M_S, above_zero, computed, within};
use crate::bands::Fraction;

/// How sound meets a wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Incidence {
    /// At right angles.
    Normal,
    /// From all sides, grazing ones left out, as in a room.
    Field,
}

/// Returns the mass law as a rule of thumb, `20·lg(m·f) - 42` at right angles, `- 47` in a room, dB.
///
/// Not clamped: far below one cycle of a light board it is negative.
///
/// # Units and shape
/// `mass_kg_m2` of the whole leaf, `frequency_hz`, both above zero.
///
/// # Errors
/// [`PredictionError::NotAboveZero`].
///
/// # Source
/// Common practice: the mass law with its constants rounded, in every handbook of building acoustics.
pub fn rule_of_mass_db(
    mass_kg_m2: f64,
    frequency_hz: f64,
    incidence: Incidence,
) -> Result<f64, PredictionError> {
    let mass = above_zero(Measure::SurfaceMass, mass_kg_m2)?;
    let frequency = above_zero(Measure::Frequency, frequency_hz)?;
    let constant_db = match incidence {
        Incidence::Normal => 42.0,
        Incidence::Field => 47.0,
    };
    // A sum of logarithms: the product of two extreme numbers could overflow.
    Ok(20.0 * (mass.log10() + frequency.log10()) - constant_db)
}

/// Returns the mass law at right angles, `10·lg[1 + (π·f·m/(ρ₀·c₀))²]`, dB.
///
/// # Units and shape
/// `mass_kg_m2` and `frequency_hz`, both above zero. Returns dB, never negative.
///
/// # Errors
/// [`PredictionError::NotAboveZero`]; [`PredictionError::TooFarApart`] beyond what a number holds.
///
/// # Source
/// Bies, Hansen & Howard, Engineering Noise Control, 5th edition, equation 7.40.
pub fn normal_incidence_db(mass_kg_m2: f64, frequency_hz: f64) -> Result<f64, PredictionError> {
    let mass = above_zero(Measure::SurfaceMass, mass_kg_m2)?;
    computed(normal_db(mass, above_zero(Measure::Frequency, frequency_hz)?))
}

/// Returns the mass law in a room, the one at right angles less 5.5 dB (third octaves) or 4.0 dB (octaves).
///
/// # Units and shape
/// `mass_kg_m2` and `frequency_hz`, both above zero. Returns dB, negative for very light leaves.
///
/// # Errors
/// Those of [`normal_incidence_db`].
///
/// # Source
/// Bies, Hansen & Howard, Engineering Noise Control, 5th edition, equation 7.42.
pub fn field_incidence_db(
    mass_kg_m2: f64,
    frequency_hz: f64,
    fraction: Fraction,
) -> Result<f64, PredictionError> {
    let less_db = match fraction {
        Fraction::Third => THIRDS_FIELD_DB,
        Fraction::Octave => 4.0,
    };
    Ok(normal_incidence_db(mass_kg_m2, frequency_hz)? - less_db)
}

/// Returns the mass law of a truly diffuse field, `Rₙ - 10·lg(0.23·Rₙ)`, dB.
///
/// Reads lower than a laboratory does. Where `0.23·Rₙ` is under 1 the step would turn into a gain and is left out.
///
/// # Units and shape
/// `mass_kg_m2` and `frequency_hz`, both above zero. Returns dB.
///
/// # Errors
/// Those of [`normal_incidence_db`].
///
/// # Source
/// From memory: in several handbooks of building acoustics.
pub fn diffuse_incidence_db(mass_kg_m2: f64, frequency_hz: f64) -> Result<f64, PredictionError> {
    let normal_db = normal_incidence_db(mass_kg_m2, frequency_hz)?;
    Ok(normal_db - 10.0 * (0.23 * normal_db).max(1.0).log10())
}

/// Field incidence in third octaves against right angles, dB.
const THIRDS_FIELD_DB: f64 = 5.5;

fn normal_db(mass_kg_m2: f64, frequency_hz: f64) -> f64 {
    let ratio = PI * frequency_hz * mass_kg_m2 / (AIR_DENSITY_KG_M3 * SPEED_OF_SOUND_M_S);
    10.0 * (1.0 + ratio * ratio).log10()
}

/// The field mass law in third octaves of checked numbers.
pub(super) fn field_db(mass_kg_m2: f64, frequency_hz: f64) -> f64 {
    normal_db(mass_kg_m2, frequency_hz) - THIRDS_FIELD_DB
}

/// A plate of one material, for its critical frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plate {
    /// Mass over area, kg/m².
    pub mass_kg_m2: f64,
    /// Young's modulus, Pa: gypsum board about 2e9, plywood 6e9, glass 70e9 (from memory).
    pub youngs_modulus_pa: f64,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Poisson's ratio, 0 up to 0.5; about 0.3.
    pub poisson: f64,
}

/// Returns the critical frequency `c₀²/(2π)·√(m/B)`, with `B = E·h³/(12·(1 - ν²))`, Hz.
///
/// There bending waves in the plate run as fast as sound in air, and the plate lets more through.
///
/// # Units and shape
/// SI, as [`Plate`] says. Returns Hz.
///
/// # Errors
/// [`PredictionError::NotAboveZero`]; [`PredictionError::OutOfRange`] for a Poisson's ratio outside 0 to 0.5 (0.5 itself
/// left out); [`PredictionError::TooFarApart`].
///
/// # Source
/// Theory of thin plates, in every handbook of building acoustics.
pub fn critical_frequency_hz(plate: &Plate) -> Result<f64, PredictionError> {
    let mass = above_zero(Measure::SurfaceMass, plate.mass_kg_m2)?;
    let modulus = above_zero(Measure::YoungsModulus, plate.youngs_modulus_pa)?;
    let thickness = above_zero(Measure::Thickness, plate.thickness_m)?;
    let poisson = plate.poisson;
    if !(0.0..0.5).contains(&poisson) {
        let (least, most) = (0.0, 0.5);
        return Err(PredictionError::OutOfRange { measure: Measure::Poisson, value: poisson, least, most });
    }
    let stiffness = modulus * thickness.powi(3) / (12.0 * (1.0 - poisson * poisson));
    computed(SPEED_OF_SOUND_M_S.powi(2) / (2.0 * PI) * (mass / stiffness).sqrt())
}

/// A board by material, for the critical frequency of a thickness. Ranges from memory of handbooks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Board {
    /// Gypsum board.
    Gypsum,
    /// Plywood.
    Plywood,
    /// Oriented strand board.
    StrandBoard,
    /// Medium-density fibreboard.
    Fibreboard,
    /// Glass.
    Glass,
    /// Concrete.
    Concrete,
}

impl Board {
    /// Critical frequency times thickness, least and most, Hz·m. From memory of handbooks.
    pub fn critical_product_hz_m(self) -> (f64, f64) {
        match self {
            Self::Gypsum => (36.0, 40.0),
            Self::Plywood => (19.0, 25.0),
            Self::StrandBoard => (22.0, 22.0),
            Self::Fibreboard => (29.0, 29.0),
            Self::Glass => (12.0, 13.0),
            Self::Concrete => (17.0, 19.0),
        }
    }

    /// Returns a likely critical frequency for a thickness, Hz.
    ///
    /// The middle of the range; for gypsum board 36.8 Hz·m, which is 2900 Hz at 12.7 mm, where tests of walls show the dip.
    ///
    /// # Errors
    /// [`PredictionError::NotAboveZero`], [`PredictionError::TooFarApart`].
    ///
    /// # Source
    /// From memory of handbooks; the choice within the range is this project's.
    pub fn critical_hz(self, thickness_m: f64) -> Result<f64, PredictionError> {
        let (least, most) = self.critical_product_hz_m();
        let product = if self == Self::Gypsum { 36.8 } else { f64::midpoint(least, most) };
        computed(product / above_zero(Measure::Thickness, thickness_m)?)
    }
}

/// One leaf: all boards on one side of a frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leaf {
    mass_kg_m2: f64,
    critical_hz: f64,
    loss_factor: f64,
}

impl Leaf {
    /// Takes a leaf's mass, critical frequency and loss factor (0.01 to 0.03 for installed gypsum board, from memory).
    ///
    /// # Errors
    /// [`PredictionError::OutOfRange`]: mass 0.01 to 10,000 kg/m², critical frequency 10 to 1,000,000 Hz, loss factor 0.0001 to 1.
    pub fn new(mass_kg_m2: f64, critical_hz: f64, loss_factor: f64) -> Result<Self, PredictionError> {
        Ok(Self {
            mass_kg_m2: within(Measure::SurfaceMass, mass_kg_m2, 0.01, 10_000.0)?,
            critical_hz: within(Measure::CriticalFrequency, critical_hz, 10.0, 1e6)?,
            loss_factor: within(Measure::LossFactor, loss_factor, 1e-4, 1.0)?,
        })
    }

    /// Mass over area, kg/m².
    pub fn mass_kg_m2(&self) -> f64 {
        self.mass_kg_m2
    }

    /// Critical frequency, Hz.
    pub fn critical_hz(&self) -> f64 {
        self.critical_hz
    }

    /// Loss factor.
    pub fn loss_factor(&self) -> f64 {
        self.loss_factor
    }

    /// Sharp's single leaf: up to fc/2 the field mass law, from fc on `Rₙ + 10·lg(2ηf/(π·fc))`, straight in lg f between.
    ///
    /// Bies, Hansen & Howard, Engineering Noise Control, 5th edition, equation 7.44.
    pub(super) fn reduction_at(&self, frequency_hz: f64) -> f64 {
        let half_hz = self.critical_hz / 2.0;
        if frequency_hz <= half_hz {
            field_db(self.mass_kg_m2, frequency_hz)
        } else if frequency_hz >= self.critical_hz {
            self.above_coincidence_db(frequency_hz)
        } else {
            let (from_db, to_db) =
                (field_db(self.mass_kg_m2, half_hz), self.above_coincidence_db(self.critical_hz));
            from_db + (frequency_hz / half_hz).log2() * (to_db - from_db)
        }
    }

    fn above_coincidence_db(&self, frequency_hz: f64) -> f64 {
        normal_db(self.mass_kg_m2, frequency_hz)
            + 10.0 * (2.0 * self.loss_factor * frequency_hz / (PI * self.critical_hz)).log10()
    }

    /// What coincidence takes off the mass law, dB: zero up to fc/2, mostly negative above.
    pub(super) fn dip_db(&self, frequency_hz: f64) -> f64 {
        self.reduction_at(frequency_hz) - field_db(self.mass_kg_m2, frequency_hz)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::Band;
    use proptest::prelude::*;

    fn near(got: f64, expected: f64, tolerance: f64, what: &str) {
        assert!((got - expected).abs() <= tolerance, "{what}: {got} against {expected}");
    }

    #[test]
    fn mass_laws_match() {
        // 8.5 kg/m² at the exact mid-band of 500 Hz; computed independently with mpmath 1.3, to two decimals.
        let hz = Band::nominal(Fraction::Third, 500.0).unwrap().exact_hz();
        near(normal_incidence_db(8.5, hz).unwrap(), 30.17, 0.005, "normal");
        near(field_incidence_db(8.5, hz, Fraction::Third).unwrap(), 24.67, 0.005, "field, thirds");
        near(field_incidence_db(8.5, hz, Fraction::Octave).unwrap(), 26.17, 0.005, "field, octaves");
        near(diffuse_incidence_db(8.5, hz).unwrap(), 21.76, 0.005, "diffuse");
    }

    #[test]
    fn field_leaves_match() {
        // 9.0 kg/m² below coincidence, at nominal frequencies; computed independently with mpmath 1.3.
        let rows =
            [(63.0, 7.38), (125.0, 13.16), (250.0, 19.14), (500.0, 25.15), (1000.0, 31.17), (2000.0, 37.19)];
        for (hz, expected_db) in rows {
            near(
                field_incidence_db(9.0, hz, Fraction::Third).unwrap(),
                expected_db,
                0.005,
                &format!("{hz} Hz"),
            );
        }
    }

    #[test]
    fn rules_of_mass_match() {
        // 10 kg/m² at 1 kHz is 20 lg 10^4 = 80 dB less 42 or 47; handbooks: doubling mass or frequency adds 6 dB.
        near(rule_of_mass_db(10.0, 1000.0, Incidence::Normal).unwrap(), 38.0, 1e-9, "normal");
        near(rule_of_mass_db(10.0, 1000.0, Incidence::Field).unwrap(), 33.0, 1e-9, "field");
        let doubled = rule_of_mass_db(20.0, 1000.0, Incidence::Field).unwrap();
        near(doubled - 33.0, 6.020599913280, 1e-9, "twice the mass");
        // Nothing is clamped, and no product overflows.
        near(rule_of_mass_db(1.0, 10.0, Incidence::Field).unwrap(), -27.0, 1e-9, "light and low");
        assert!(rule_of_mass_db(1e300, 1e300, Incidence::Normal).unwrap().is_finite());
        assert!(rule_of_mass_db(0.0, 100.0, Incidence::Normal).is_err());
        assert_eq!(normal_incidence_db(1e300, 1e300), Err(PredictionError::TooFarApart));
    }

    #[test]
    fn critical_frequencies_match() {
        // Products fc·m that handbooks give (from memory): gypsum 24,000 at 2 GPa, plywood 11,700 at 6 GPa, glass 29,000 at
        // 70 GPa, Hz·kg/m²; densities 670, 600 and 2500 kg/m³. The product does not depend on the thickness.
        let rows = [(670.0, 2.0e9, 24_000.0), (600.0, 6.0e9, 11_700.0), (2500.0, 70e9, 29_000.0)];
        for (density, modulus, product) in rows {
            for thickness_m in [0.006, 0.0127] {
                let mass = density * thickness_m;
                let plate = Plate { mass_kg_m2: mass, youngs_modulus_pa: modulus, thickness_m, poisson: 0.3 };
                let got = critical_frequency_hz(&plate).unwrap() * mass;
                near(got, product, 0.01 * product, &format!("{density} kg/m³, {thickness_m} m"));
            }
        }
        // Computed independently with mpmath 1.3: 9 kg/m², 2 GPa, 12.7 mm, ν 0.3.
        let board = Plate { mass_kg_m2: 9.0, youngs_modulus_pa: 2.0e9, thickness_m: 0.0127, poisson: 0.3 };
        near(critical_frequency_hz(&board).unwrap(), 2900.149369209852, 1e-6, "12.7 mm board");
        for bad in [
            Plate { poisson: 0.5, ..board },
            Plate { poisson: -0.1, ..board },
            Plate { poisson: f64::NAN, ..board },
            Plate { thickness_m: 0.0, ..board },
            Plate { youngs_modulus_pa: f64::INFINITY, ..board },
            Plate { mass_kg_m2: -1.0, ..board },
        ] {
            assert!(critical_frequency_hz(&bad).is_err(), "{bad:?}");
        }
        let tiny = Plate { thickness_m: 1e-200, ..board };
        assert_eq!(critical_frequency_hz(&tiny), Err(PredictionError::TooFarApart));
    }

    #[test]
    fn boards_have_their_dip_where_handbooks_say() {
        // From memory of handbooks: 12.7 mm gypsum board 2800 to 3150 Hz, 15.9 mm about 2300 to 2500, 6 mm glass about 2000.
        let hz = |board: Board, thickness_m: f64| board.critical_hz(thickness_m).unwrap();
        assert!((2800.0..3150.0).contains(&hz(Board::Gypsum, 0.0127)));
        assert!((2300.0..2500.0).contains(&hz(Board::Gypsum, 0.0159)));
        assert!((2000.0..2200.0).contains(&hz(Board::Glass, 0.006)));
        for board in [
            Board::Gypsum,
            Board::Plywood,
            Board::StrandBoard,
            Board::Fibreboard,
            Board::Glass,
            Board::Concrete,
        ] {
            let (least, most) = board.critical_product_hz_m();
            assert!((least..=most).contains(&hz(board, 1.0)), "{board:?}");
        }
        assert!(Board::Glass.critical_hz(0.0).is_err());
    }

    #[test]
    fn leaves_that_cannot_be_are_refused() {
        for (mass, critical, loss) in [
            (0.0, 2900.0, 0.03),
            (8.5, 0.0, 0.03),
            (8.5, 2900.0, 0.0),
            (8.5, 2900.0, 1.1),
            (f64::NAN, 1e3, 0.1),
        ] {
            assert!(Leaf::new(mass, critical, loss).is_err(), "{mass} {critical} {loss}");
        }
    }

    proptest! {
        #[test]
        fn the_leaf_is_without_steps(
            mass in 1.0..100.0f64, critical in 200.0..20_000.0f64, loss in 0.005..0.2f64,
        ) {
            let leaf = Leaf::new(mass, critical, loss).unwrap();
            for hz in [critical / 2.0, critical] {
                let step_db = leaf.reduction_at(hz * (1.0 + 1e-9)) - leaf.reduction_at(hz * (1.0 - 1e-9));
                prop_assert!(step_db.abs() < 1e-5, "{step_db} at {hz}");
            }
            prop_assert_eq!(leaf.dip_db(critical / 2.0), 0.0);
        }
    }
}
