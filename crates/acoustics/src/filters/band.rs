//! One octave or third-octave filter.

use std::f64::consts::PI;

use super::FilterError;
use super::biquad::{self, Biquad};
use crate::Band;

/// Pole pairs of every band filter. Three fall short of class 1 where a band lies above a quarter of the rate, four nowhere.
pub(super) const PAIRS: usize = 4;

/// Rates beyond this are a slip of the pen.
const HIGHEST_RATE_HZ: f64 = 1e6;

/// An octave or third-octave filter: a Butterworth band-pass of four pole pairs, as sections.
///
/// Its response lies within class 1 of IEC 61260-1 for every band whose upper edge is below half the rate. A noise reads
/// 0.112 dB more than through an ideal filter, `(π/2N)/sin(π/2N)` in power, in every band alike: it cancels in a
/// difference and is left in.
///
/// # Source
/// IEC 61260-1:2014 for the edges and the mask; the band-pass is the bilinear transform with both edges prewarped, in
/// every textbook of digital filters.
#[derive(Debug, Clone, PartialEq)]
pub struct BandFilter {
    band: Band,
    sample_rate_hz: f64,
    sections: [Biquad; PAIRS],
}

impl BandFilter {
    /// Makes the filter of a band, at rest.
    ///
    /// # Units and shape
    /// `sample_rate_hz`: Hz, whole or not, up to 1 MHz.
    ///
    /// # Errors
    /// [`FilterError`].
    pub fn new(band: Band, sample_rate_hz: f64) -> Result<Self, FilterError> {
        if !(sample_rate_hz.is_finite() && sample_rate_hz > 0.0 && sample_rate_hz <= HIGHEST_RATE_HZ) {
            return Err(FilterError::SampleRate { sample_rate_hz });
        }
        if band.upper_hz() >= sample_rate_hz / 2.0 {
            return Err(FilterError::BandAboveHalfRate { band, sample_rate_hz });
        }
        Ok(Self { band, sample_rate_hz, sections: sections(band, sample_rate_hz) })
    }

    /// Filters samples in place, taking up where the last call left off.
    pub fn process(&mut self, samples: &mut [f64]) {
        biquad::run(&mut self.sections, samples);
    }

    /// Forgets what went through: at rest again.
    pub fn reset(&mut self) {
        biquad::reset(&mut self.sections);
    }

    /// Returns the attenuation at a frequency, dB, from the coefficients; at most 1000.
    pub fn response(&self, hz: f64) -> f64 {
        biquad::attenuation_db(&self.sections, hz, self.sample_rate_hz)
    }

    /// The band.
    pub fn band(&self) -> Band {
        self.band
    }

    pub(super) fn sections(&self) -> &[Biquad; PAIRS] {
        &self.sections
    }
}

/// A point of the complex plane.
type Complex = (f64, f64);

fn product((a, b): Complex, (c, d): Complex) -> Complex {
    (a * c - b * d, a * d + b * c)
}

/// The root with the real part that is not negative.
fn square_root((real, imaginary): Complex) -> Complex {
    let size = real.hypot(imaginary);
    let root = ((size + real) / 2.0).max(0.0).sqrt();
    (root, ((size - real) / 2.0).max(0.0).sqrt().copysign(imaginary))
}

/// Sections in the order of their pole radius, each of gain 1 at the middle of the band.
///
/// In the plane of `s = (z-1)/(z+1)` the edges lie at `tan(π·f/fs)`; each pole p of the low-pass prototype becomes two,
/// the roots of `s² - p·B·s + Ω₁Ω₂`. Two zeros of each section lie at 0 Hz and at half the rate.
fn sections(band: Band, sample_rate_hz: f64) -> [Biquad; PAIRS] {
    let edge = |hz: f64| (PI * hz / sample_rate_hz).tan();
    let (lower, upper) = (edge(band.lower_hz()), edge(band.upper_hz()));
    let middle_squared = lower * upper;
    let middle = {
        let s = middle_squared.sqrt();
        let size = 1.0 + s * s;
        ((1.0 - s * s) / size, 2.0 * s / size)
    };
    let mut poles = Vec::with_capacity(PAIRS);
    for index in 0..PAIRS / 2 {
        let angle = PI * (2 * index + PAIRS + 1) as f64 / (2 * PAIRS) as f64;
        let half = (angle.cos() * (upper - lower) / 2.0, angle.sin() * (upper - lower) / 2.0);
        let square = product(half, half);
        let root = square_root((square.0 - middle_squared, square.1));
        for s in [(half.0 + root.0, half.1 + root.1), (half.0 - root.0, half.1 - root.1)] {
            // z = (1 + s)/(1 - s).
            let size = (1.0 - s.0).powi(2) + s.1 * s.1;
            poles.push(((1.0 - s.0 * s.0 - s.1 * s.1) / size, 2.0 * s.1 / size));
        }
    }
    poles.sort_by(|one, other| one.0.hypot(one.1).total_cmp(&other.0.hypot(other.1)));
    let section = |(real, imaginary): Complex| {
        // |z - pole| and |z - its mirror| at the middle: differences of points, so no digits are lost at low bands.
        let reach =
            (middle.0 - real).hypot(middle.1 - imaginary) * (middle.0 - real).hypot(middle.1 + imaginary);
        // |1 - z⁻²| is twice the sine of the angle.
        let gain = reach / (2.0 * middle.1);
        Biquad::new([gain, 0.0, -gain], [-2.0 * real, real * real + imaginary * imaginary])
    };
    std::array::from_fn(|index| section(poles[index]))
}
