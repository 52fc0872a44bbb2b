//! Band filters of one rate side by side, so that the processor can work on several at once.

use super::band::{BandFilter, PAIRS};
use super::biquad::TOO_SMALL;

/// `L` band filters that share their input, as structure of arrays.
///
/// The zeros of every section lie at 0 Hz and at half the rate, so with the gain set aside a section is
/// `y = x - x₂ - a1·y₁ - a2·y₂`: two products and three sums. The gain is put on the energy.
#[derive(Debug, Clone)]
pub(super) struct Rack<const L: usize> {
    /// The square of the gain of all sections together.
    power_gain: [f64; L],
    a1: [[f64; L]; PAIRS],
    a2: [[f64; L]; PAIRS],
    s1: [[f64; L]; PAIRS],
    s2: [[f64; L]; PAIRS],
}

impl<const L: usize> Rack<L> {
    /// Lanes beyond the filters repeat the first; their energy is to be left out.
    pub(super) fn new(filters: &[&BandFilter]) -> Self {
        let lane = |lane: usize| filters.get(lane).unwrap_or(&filters[0]).sections();
        let of = |f: fn(&super::biquad::Biquad) -> f64| {
            std::array::from_fn(|section| std::array::from_fn(|index| f(&lane(index)[section])))
        };
        Self {
            power_gain: std::array::from_fn(|index| {
                lane(index).iter().map(|section| section.b[0] * section.b[0]).product()
            }),
            a1: of(|section| section.a[0]),
            a2: of(|section| section.a[1]),
            s1: [[0.0; L]; PAIRS],
            s2: [[0.0; L]; PAIRS],
        }
    }

    /// Filters samples and adds the square of what comes out to `energy`, lane by lane.
    pub(super) fn process(&mut self, samples: &[f64], energy: &mut [f64; L]) {
        let Self { power_gain, a1, a2, .. } = *self;
        let (mut s1, mut s2, mut sum) = (self.s1, self.s2, [0.0; L]);
        for sample in samples {
            let mut x = [*sample; L];
            for section in 0..PAIRS {
                for lane in 0..L {
                    let y = x[lane] - s1[section][lane];
                    s1[section][lane] = s2[section][lane] + a1[section][lane] * y;
                    s2[section][lane] = x[lane] + a2[section][lane] * y;
                    x[lane] = y;
                }
            }
            for lane in 0..L {
                sum[lane] += x[lane] * x[lane];
            }
        }
        for lane in 0..L {
            energy[lane] += power_gain[lane] * sum[lane];
        }
        let settled = |states: [[f64; L]; PAIRS]| {
            states.map(|lanes| lanes.map(|state| if state.abs() < TOO_SMALL { 0.0 } else { state }))
        };
        (self.s1, self.s2) = (settled(s1), settled(s2));
    }
}
