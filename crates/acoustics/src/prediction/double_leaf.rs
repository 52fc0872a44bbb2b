//! Two leaves with a cavity between them, and what ties them: Sharp's model with springy ties.
//!
//! Leaves out a third leaf: board on the inner faces of two frames makes a small third cavity and a worse wall than this
//! model would say.

use std::f64::consts::PI;

use super::leaf::field_db;
use super::{
    AIR_DENSITY_KG_M3, Leaf, Measure, PredictionError, SPEED_OF_SOUND_M_S, above_zero, computed, within,
};
use crate::levels::power_ratio;

/// How stiff the air of a cavity is, as the constant K of the mass-air-mass resonance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stiffness {
    /// An empty cavity, K = 60: air is squeezed without time to lose its heat.
    Air,
    /// A cavity full of porous absorber, K = 50.75: the fibres keep the air at one temperature, which is softer by 1.4.
    Isothermal,
    /// The same as a rule of thumb, K = 50.
    IsothermalRule,
}

impl Stiffness {
    fn constant(self) -> f64 {
        match self {
            Self::Air => AIR_CONSTANT,
            Self::Isothermal => {
                (AIR_DENSITY_KG_M3 * SPEED_OF_SOUND_M_S.powi(2) / HEAT_CAPACITY_RATIO).sqrt() / (2.0 * PI)
            }
            Self::IsothermalRule => 50.0,
        }
    }
}

/// K of an empty cavity; `√(ρ₀c₀²)/2π` is 60.05.
const AIR_CONSTANT: f64 = 60.0;

/// Ratio of the heat capacities of air.
const HEAT_CAPACITY_RATIO: f64 = 1.4;

/// Returns the mass-air-mass resonance `K·√[(m₁ + m₂)/(m₁·m₂·d)]`, Hz.
///
/// There the leaves swing against each other on the air between them, and the wall is no better than its mass or worse.
///
/// # Units and shape
/// Masses of the leaves, kg/m², and clear depth of the cavity, m, above zero. Returns Hz.
///
/// # Errors
/// [`PredictionError::NotAboveZero`], [`PredictionError::TooFarApart`].
///
/// # Source
/// Bies, Hansen & Howard, Engineering Noise Control; constants 60 and 50 as rules of thumb in every handbook. This project's
/// double leaf uses 60 also where the cavity is filled, as Sharp does.
pub fn mass_air_mass_hz(
    first_kg_m2: f64,
    second_kg_m2: f64,
    depth_m: f64,
    stiffness: Stiffness,
) -> Result<f64, PredictionError> {
    let first = above_zero(Measure::SurfaceMass, first_kg_m2)?;
    let second = above_zero(Measure::SurfaceMass, second_kg_m2)?;
    let depth = above_zero(Measure::CavityDepth, depth_m)?;
    computed(stiffness.constant() * ((first.recip() + second.recip()) / depth).sqrt())
}

/// The space between two leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cavity {
    depth_m: f64,
    absorbed: bool,
}

impl Cavity {
    /// Takes a depth, board to board, and whether porous absorber fills most of it.
    ///
    /// # Errors
    /// [`PredictionError::OutOfRange`]: 1 mm to 10 m.
    pub fn new(depth_m: f64, absorbed: bool) -> Result<Self, PredictionError> {
        Ok(Self { depth_m: within(Measure::CavityDepth, depth_m, 0.001, 10.0)?, absorbed })
    }

    /// Depth, board to board, m.
    pub fn depth_m(&self) -> f64 {
        self.depth_m
    }

    /// Whether porous absorber fills it.
    pub fn absorbed(&self) -> bool {
        self.absorbed
    }

    /// The limiting frequency `c₀/(2πd)`, Hz, above which the cavity is deep against the wave.
    pub fn limiting_hz(&self) -> f64 {
        SPEED_OF_SOUND_M_S / (2.0 * PI * self.depth_m)
    }
}

/// What holds two leaves together. All values checked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tie {
    /// Nothing: two frames that do not touch.
    None,
    /// Both leaves along the same studs.
    Line(LineTie),
    /// A leaf at points: on channel or clips.
    Point(PointTie),
}

/// Studs with both leaves on them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineTie {
    spacing_m: f64,
    compliance_m2_n: f64,
}

/// Points in a square grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointTie {
    grid_m: f64,
}

impl Tie {
    /// Takes studs by their spacing and their compliance over length: 0 for wood, about 10⁻⁶ m²/N for thin steel (from memory;
    /// 5·10⁻⁶ was fitted in one published case).
    ///
    /// # Errors
    /// [`PredictionError::OutOfRange`]: spacing 0.01 to 100 m, compliance 0 to 1 m²/N.
    pub fn line(spacing_m: f64, compliance_m2_n: f64) -> Result<Self, PredictionError> {
        Ok(Self::Line(LineTie {
            spacing_m: within(Measure::TieSpacing, spacing_m, 0.01, 100.0)?,
            compliance_m2_n: within(Measure::TieCompliance, compliance_m2_n, 0.0, 1.0)?,
        }))
    }

    /// Takes points in a square grid. A line on one side and points on the other count as points, a rule of this project.
    ///
    /// # Errors
    /// [`PredictionError::OutOfRange`]: 0.01 to 100 m.
    pub fn point(grid_m: f64) -> Result<Self, PredictionError> {
        Ok(Self::Point(PointTie { grid_m: within(Measure::TieGrid, grid_m, 0.01, 100.0)? }))
    }
}

/// Two leaves, their cavity and their ties.
///
/// # Source
/// Sharp 1978, as in Bies, Hansen & Howard, Engineering Noise Control, 5th edition, equation 7.64, and Long, Architectural
/// Acoustics, equations 9.46 to 9.51; ties in Vigran, Building Acoustics, equations 8.20 to 8.26. Rules of this project: K = 60
/// for every cavity, the springy factor, and the dip (Sharp's tie formulas hold below fc/2; above it the deeper dip of the
/// two leaves is added). An empty cavity gives no more than the mass law of both leaves, from memory of a design chart
/// of Bies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DoubleLeaf {
    a: Leaf,
    b: Leaf,
    cavity: Cavity,
    tie: Tie,
    resonance_hz: f64,
}

impl DoubleLeaf {
    /// Puts a wall together.
    pub fn new(a: Leaf, b: Leaf, cavity: Cavity, tie: Tie) -> Self {
        let masses = a.mass_kg_m2().recip() + b.mass_kg_m2().recip();
        let resonance_hz = Stiffness::Air.constant() * (masses / cavity.depth_m).sqrt();
        Self { a, b, cavity, tie, resonance_hz }
    }

    /// The mass-air-mass resonance the model takes, Hz.
    pub fn resonance_hz(&self) -> f64 {
        self.resonance_hz
    }

    /// Its cavity.
    pub fn cavity(&self) -> Cavity {
        self.cavity
    }

    /// How much better than the mass law of both leaves a rigid tie lets the wall become, dB; `None` without ties.
    ///
    /// Lines: `10·lg(b·fcl) - 23` with `fcl = [(m₁√fc₂ + m₂√fc₁)/(m₁ + m₂)]²`. Points: `20·lg(a·fcp) - 45` with
    /// `fcp = (m₁fc₂ + m₂fc₁)/(m₁ + m₂)`.
    ///
    /// # Source
    /// Vigran, Building Acoustics, equations 8.20 and 8.22, after Sharp.
    pub fn tie_gain_db(&self) -> Option<f64> {
        let (m1, m2) = (self.a.mass_kg_m2(), self.b.mass_kg_m2());
        let (fc1, fc2) = (self.a.critical_hz(), self.b.critical_hz());
        match self.tie {
            Tie::None => None,
            Tie::Line(line) => {
                let critical_hz = ((m1 * fc2.sqrt() + m2 * fc1.sqrt()) / (m1 + m2)).powi(2);
                Some(10.0 * (line.spacing_m * critical_hz).log10() - 23.0)
            }
            Tie::Point(point) => {
                let critical_hz = (m1 * fc2 + m2 * fc1) / (m1 + m2);
                Some(20.0 * (point.grid_m * critical_hz).log10() - 45.0)
            }
        }
    }

    pub(super) fn reduction_at(&self, frequency_hz: f64) -> f64 {
        let dip_db = self.a.dip_db(frequency_hz).min(self.b.dip_db(frequency_hz));
        let mass_db = field_db(self.a.mass_kg_m2() + self.b.mass_kg_m2(), frequency_hz) + dip_db;
        if frequency_hz <= self.resonance_hz {
            return mass_db;
        }
        let through_air_db = self.through_air_db(frequency_hz, mass_db);
        let Some(gain_db) = self.tie_gain_db() else { return through_air_db };
        let through_tie = power_ratio(-mass_db - gain_db) * self.springiness(frequency_hz);
        -10.0 * (power_ratio(-through_air_db) + through_tie).log10()
    }

    /// What goes leaf, air, leaf, above the resonance.
    fn through_air_db(&self, frequency_hz: f64, mass_db: f64) -> f64 {
        let depth = 2.0 * (2.0 * PI * frequency_hz / SPEED_OF_SOUND_M_S) * self.cavity.depth_m;
        let cavity_db = if frequency_hz < self.cavity.limiting_hz() { 20.0 * depth.log10() } else { 6.0 };
        let filled_db = self.a.reduction_at(frequency_hz) + self.b.reduction_at(frequency_hz) + cavity_db;
        if self.cavity.absorbed { filled_db } else { filled_db.min(mass_db) }
    }

    /// What springy studs let through against rigid ones: 1 for wood, up to 2 where the studs resonate, then ever less.
    ///
    /// `κ = 2g²/[g² + (4ω^1.5·m₁m₂c₀·C - g)²]` with `g = m₁√(2πfc₂) + m₂√(2πfc₁)`. The form is that of Davy's line-tie
    /// transmission (1991; Vigran, Building Acoustics, equation 8.27), which without compliance is 2.1 dB milder than Sharp's;
    /// taking Sharp's and this factor is a rule of this project.
    fn springiness(&self, frequency_hz: f64) -> f64 {
        let Tie::Line(line) = self.tie else { return 1.0 };
        let (m1, m2) = (self.a.mass_kg_m2(), self.b.mass_kg_m2());
        let root = |critical_hz: f64| (2.0 * PI * critical_hz).sqrt();
        let g = m1 * root(self.b.critical_hz()) + m2 * root(self.a.critical_hz());
        let omega = 2.0 * PI * frequency_hz;
        let spring = 4.0 * omega.powf(1.5) * m1 * m2 * SPEED_OF_SOUND_M_S * line.compliance_m2_n;
        2.0 * g * g / (g * g + (spring - g).powi(2))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(got: f64, expected: f64, tolerance: f64, what: &str) {
        assert!((got - expected).abs() <= tolerance, "{what}: {got} against {expected}");
    }

    fn leaf(mass: f64) -> Leaf {
        Leaf::new(mass, 2900.0, 0.03).unwrap()
    }

    fn wall(mass: f64, tie: Tie) -> DoubleLeaf {
        DoubleLeaf::new(leaf(mass), leaf(mass), Cavity::new(0.089, true).unwrap(), tie)
    }

    #[test]
    fn resonances_match() {
        // 8.5 kg/m² twice, 89 mm: 97.6 Hz empty, 82.52 Hz isothermal; 9.0 kg/m² twice: 94.81 Hz (94.89 with K = 60.05). Computed independently with
        // mpmath 1.3.
        near(mass_air_mass_hz(8.5, 8.5, 0.089, Stiffness::Air).unwrap(), 97.557751466, 1e-6, "air");
        near(mass_air_mass_hz(8.5, 8.5, 0.089, Stiffness::Isothermal).unwrap(), 82.52, 0.005, "isothermal");
        near(
            mass_air_mass_hz(8.5, 8.5, 0.089, Stiffness::IsothermalRule).unwrap(),
            81.298126222,
            1e-6,
            "rule",
        );
        near(wall(9.0, Tie::None).resonance_hz(), 94.809_092_628, 1e-6, "9 kg/m²");
        // Theory: the exact constant of air is √(ρ₀c₀²)/2π, which the rule rounds.
        let exact = (AIR_DENSITY_KG_M3 * SPEED_OF_SOUND_M_S.powi(2)).sqrt() / (2.0 * PI);
        near(exact, AIR_CONSTANT, 0.06, "K");
        for (first, second, depth) in
            [(0.0, 9.0, 0.1), (9.0, -1.0, 0.1), (9.0, 9.0, 0.0), (f64::NAN, 9.0, 0.1)]
        {
            assert!(mass_air_mass_hz(first, second, depth, Stiffness::Air).is_err());
        }
        let extreme = mass_air_mass_hz(1e-200, 1e-200, 1e-200, Stiffness::Air);
        assert_eq!(extreme, Err(PredictionError::TooFarApart));
    }

    #[test]
    fn ties_and_limits_match() {
        // Computed independently with mpmath 1.3: 8.5 kg/m² at 406 mm; 9.0 kg/m² at 400 mm and at points of 600 mm.
        near(wall(8.5, Tie::line(0.406, 0.0).unwrap()).tie_gain_db().unwrap(), 7.71, 0.005, "406 mm");
        near(wall(9.0, Tie::line(0.4, 0.0).unwrap()).tie_gain_db().unwrap(), 7.645, 0.0005, "400 mm");
        near(wall(9.0, Tie::point(0.6).unwrap()).tie_gain_db().unwrap(), 19.811, 0.0005, "points");
        assert_eq!(wall(9.0, Tie::None).tie_gain_db(), None);
        near(Cavity::new(0.089, true).unwrap().limiting_hz(), 613.4, 0.05, "limiting frequency");
    }

    #[test]
    fn walls_without_a_dip_match() {
        // 9.0 kg/m² twice, 89 mm, filled, below fc/2, at nominal frequencies; computed independently with mpmath 1.3.
        let hz = [63.0, 125.0, 250.0, 500.0, 1000.0];
        let rows = [
            ("untied", Tie::None, [13.23, 18.53, 36.50, 54.54, 68.33]),
            ("lines", Tie::line(0.4, 0.0).unwrap(), [13.23, 17.93, 31.25, 38.70, 44.81]),
        ];
        for (name, tie, expected) in rows {
            for (hz, expected_db) in hz.into_iter().zip(expected) {
                near(wall(9.0, tie).reduction_at(hz), expected_db, 0.0051, &format!("{name}, {hz} Hz"));
            }
        }
        // 2 kHz lies above fc/2 = 1450 Hz: with fc moved up to 5800 Hz there is no dip, and the tie gains 10 lg 2 more.
        let high = Leaf::new(9.0, 5800.0, 0.03).unwrap();
        let cavity = Cavity::new(0.089, true).unwrap();
        near(
            DoubleLeaf::new(high, high, cavity, Tie::None).reduction_at(2000.0),
            80.37,
            0.0051,
            "untied, 2 kHz",
        );
        let tied = DoubleLeaf::new(high, high, cavity, Tie::line(0.2, 0.0).unwrap());
        near(tied.reduction_at(2000.0), 50.85, 0.0051, "lines, 2 kHz");
    }

    #[test]
    fn springy_studs_resonate_and_then_part_the_leaves() {
        let kappa =
            |compliance: f64, hz: f64| wall(8.5, Tie::line(0.406, compliance).unwrap()).springiness(hz);
        // By the formula: no compliance is 1; where 4ω^1.5·m₁m₂c₀C = g it is 2, at 2g again 1.
        assert_eq!(kappa(0.0, 500.0), 1.0);
        let g = 2.0 * 8.5 * (2.0 * PI * 2900.0_f64).sqrt();
        let resonance_hz = (g / (4.0 * 8.5 * 8.5 * 343.0 * 1e-6)).powf(2.0 / 3.0) / (2.0 * PI);
        near(kappa(1e-6, resonance_hz), 2.0, 1e-9, "at resonance");
        near(kappa(1e-6, resonance_hz * 2f64.powf(2.0 / 3.0)), 1.0, 1e-9, "at 2g");
        assert!(kappa(1e-6, 4000.0) < 0.01);
    }

    #[test]
    fn cavities_and_ties_that_cannot_be_are_refused() {
        assert!(Cavity::new(0.0, true).is_err());
        assert!(Cavity::new(f64::INFINITY, true).is_err());
        assert!(Tie::line(0.0, 0.0).is_err());
        assert!(Tie::line(0.4, -1e-9).is_err());
        assert!(Tie::point(f64::NAN).is_err());
    }
}
