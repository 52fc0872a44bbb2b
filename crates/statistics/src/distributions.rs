//! Quantiles and tails of the distributions the rest is built on.
//!
//! The special functions come from `statrs`; what is added here is accuracy where it has gaps (Student t far out, near its middle
//! and with very many degrees of freedom, χ² near zero) and arguments that cannot be out of range.

use statrs::distribution::{ChiSquared, Continuous, ContinuousCDF, StudentsT};
use statrs::function::beta::{beta_reg, ln_beta};
use statrs::function::erf::{erfc, erfc_inv};
use statrs::function::gamma::ln_gamma;

use crate::scale::{Confidence, Dof, Probability};

/// From here on the expansions around the normal distribution are exact to double precision, and the beta function is not.
const MANY_DOF: f64 = 10_000.0;

/// A tail above this is solved for from the middle: its distance from one half keeps more digits than it does itself.
const MIDDLE_TAIL: f64 = 0.3;

/// Newton's method settles in ten steps at most; this many show that it does not.
const MOST_STEPS: usize = 100;

/// After a step of this share, squared, nothing is left of the error.
const LAST_STEP: f64 = 1e-8;

/// Returns the p-quantile of the standard normal distribution.
pub fn normal_quantile(p: Probability) -> f64 {
    // Work from the smaller tail: `1 - p` of a probability near one has lost its digits.
    let p = p.value();
    if p <= 0.5 {
        -std::f64::consts::SQRT_2 * erfc_inv(2.0 * p)
    } else {
        std::f64::consts::SQRT_2 * erfc_inv(2.0 * (1.0 - p))
    }
}

/// Returns the probability that a standard normal value is at most `z`.
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * erfc(-z / std::f64::consts::SQRT_2)
}

/// Returns the p-quantile of Student's t; fractional and infinite degrees of freedom are fine.
///
/// Below a degree of freedom quantiles may outgrow all numbers; then it is the largest one.
///
/// # Source
/// Inverse of the regularised incomplete beta function by Newton's method; beyond 10 000 degrees of freedom the expansion of
/// Abramowitz and Stegun 26.7.5.
pub fn t_quantile(p: Probability, dof: Dof) -> f64 {
    let Some(nu) = dof.finite() else { return normal_quantile(p) };
    if nu > MANY_DOF {
        return t_expansion(normal_quantile(p), nu);
    }
    let p = p.value();
    if p < 0.5 { -t_with_tail(p, nu) } else { t_with_tail(1.0 - p, nu) }
}

/// The t with a z's probability, to the third power of 1/ν.
fn t_expansion(z: f64, nu: f64) -> f64 {
    let z2 = z * z;
    let first = (z2 + 1.0) * z / 4.0;
    let second = ((5.0 * z2 + 16.0) * z2 + 3.0) * z / 96.0;
    let third = (((3.0 * z2 + 19.0) * z2 + 17.0) * z2 - 15.0) * z / 384.0;
    z + (first + (second + third / nu) / nu) / nu
}

/// The t, 0 or above, that is exceeded with probability `tail`, at most one half.
fn t_with_tail(tail: f64, nu: f64) -> f64 {
    let student = StudentsT::new(0.0, 1.0, nu).expect("degrees of freedom are above zero");
    if tail >= 0.5 {
        return 0.0;
    }
    if tail > MIDDLE_TAIL && nu >= 1.0 {
        // The probability between 0 and t is concave: from the left no step goes too far.
        let middle = 0.5 - tail;
        let between = |t: f64| 0.5 * beta_reg(0.5, nu / 2.0, t * t / (nu + t * t));
        return settle(middle / student.pdf(0.0), |t| (middle - between(t)) / (t * student.pdf(t)));
    }
    // The tail is at least the first term of its series, which is all of it where ν/(ν + t²) is lost beside one.
    let half = nu / 2.0;
    let ln_share = ((2.0 * tail * half).ln() + ln_beta(half, 0.5)) / half;
    if ln_share < f64::EPSILON.ln() {
        return (0.5 * (nu.ln() - ln_share)).exp().min(f64::MAX);
    }
    let at_least = (nu * (-ln_share).exp_m1().max(0.0)).sqrt();
    let z = -normal_quantile(Probability::new(tail).expect("a tail is a probability"));
    // Whichever side this is on; only with hardly a degree of freedom the expansion is worthless.
    let start = at_least.max(t_expansion(z, nu)).max(0.5);
    // ln tail over ln t is concave as well: after one step at most it is approached from the right.
    settle(start, |t| {
        let reached = 0.5 * t_two_sided_p_few(t, nu);
        (reached / tail).ln() * reached / (t * student.pdf(t))
    })
}

/// Newton's method for a positive root: `step` says by what share to grow, on a scale of logarithms.
fn settle(start: f64, step: impl Fn(f64) -> f64) -> f64 {
    let mut at = start;
    for _ in 0..MOST_STEPS {
        let share = step(at).clamp(-5.0, 5.0);
        // Nothing is left to divide by only where no digit is left to gain.
        if share.is_nan() || at == 0.0 {
            break;
        }
        at *= share.exp();
        if share.abs() <= LAST_STEP {
            break;
        }
    }
    at
}

/// Returns the factor that turns a standard uncertainty into half of a two-sided interval.
pub fn coverage_factor(confidence: Confidence, dof: Dof) -> f64 {
    -t_quantile(confidence.one_tail(), dof)
}

/// Returns the probability of a t at least as far from zero as `t`, both sides together.
///
/// # Source
/// Regularised incomplete beta function; beyond 10 000 degrees of freedom the normal deviate of Hill 1970, Algorithm 395.
pub fn t_two_sided_p(t: f64, dof: Dof) -> f64 {
    match dof.finite() {
        Some(nu) if nu <= MANY_DOF => t_two_sided_p_few(t, nu),
        Some(nu) => {
            let (a, z2) = (nu - 0.5, (nu - 0.5) * (t / nu.sqrt()).powi(2).ln_1p());
            let (b, z) = (48.0 * a * a, z2.sqrt());
            let second =
                (((4.0 * z2 + 33.0) * z2 + 240.0) * z2 + 855.0) / (10.0 * b * (b + 0.8 * z2 * z2 + 100.0));
            2.0 * normal_cdf(-(z + z * ((z2 + 3.0) / b - second)))
        }
        None => 2.0 * normal_cdf(-t.abs()),
    }
}

fn t_two_sided_p_few(t: f64, nu: f64) -> f64 {
    let square = t * t;
    // Near the middle the share of t keeps the digits, farther out that of ν.
    if square < 1.0 {
        1.0 - beta_reg(0.5, nu / 2.0, square / (nu + square))
    } else {
        beta_reg(nu / 2.0, 0.5, nu / (nu + square))
    }
}

/// Returns the p-quantile of χ² with `dof` degrees of freedom, which are finite.
///
/// # Source
/// Inverse of the regularised incomplete gamma function by Newton's method, from the approximation of Wilson and Hilferty 1931.
pub(crate) fn chi_squared_quantile(p: Probability, dof: f64) -> f64 {
    let (chi_squared, half) = (chi_squared(dof), dof / 2.0);
    // Near zero χ² is a plain power, and nowhere less.
    let at_least = 2.0 * ((p.value().ln() + ln_gamma(half + 1.0)) / half).exp();
    let spread = 2.0 / (9.0 * dof);
    let start = dof * (1.0 - spread + normal_quantile(p) * spread.sqrt()).max(0.0).powi(3);
    let p = p.value();
    settle(start.max(at_least), |at| {
        if p <= 0.5 {
            let reached = chi_squared.cdf(at);
            (p / reached).ln() * reached / (at * chi_squared.pdf(at))
        } else {
            let reached = chi_squared.sf(at);
            (reached / (1.0 - p)).ln() * reached / (at * chi_squared.pdf(at))
        }
    })
}

/// Returns the probability of a χ² above `value`.
pub(crate) fn chi_squared_upper(value: f64, dof: f64) -> f64 {
    chi_squared(dof).sf(value)
}

/// Returns the probability of an F above `value`, which is not negative.
pub(crate) fn f_upper(value: f64, dof_above: f64, dof_below: f64) -> f64 {
    beta_reg(dof_below / 2.0, dof_above / 2.0, dof_below / (dof_below + dof_above * value))
}

fn chi_squared(dof: f64) -> ChiSquared {
    ChiSquared::new(dof).expect("degrees of freedom are a count above zero")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(value: f64) -> Probability {
        Probability::new(value).unwrap()
    }

    fn dof(value: f64) -> Dof {
        Dof::new(value).unwrap()
    }

    fn close(got: f64, expected: f64, relative: f64) -> bool {
        (got - expected).abs() <= relative * expected.abs()
    }

    #[test]
    fn t_quantiles_match_the_printed_table() {
        // The table every statistics book prints, three decimals.
        let rows = [
            (1.0, 12.706),
            (2.0, 4.303),
            (3.0, 3.182),
            (4.0, 2.776),
            (5.0, 2.571),
            (7.0, 2.365),
            (9.0, 2.262),
            (30.0, 2.042),
            (120.0, 1.980),
        ];
        for (nu, expected) in rows {
            let got = coverage_factor(Confidence::P95, dof(nu));
            assert!((got - expected).abs() < 0.0005001, "{nu}: {got}");
        }
        assert!((coverage_factor(Confidence::P95, Dof::INFINITE) - 1.959963984540).abs() < 1e-11);
    }

    #[test]
    fn t_quantiles_match_to_ten_digits() {
        // Computed independently with scipy 1.17.
        let rows = [
            (0.975, 1.0, 12.706204736175),
            (0.975, 4.0, 2.776445105198),
            (0.975, 2.5, 3.574654842),
            (0.975, 17.776, 2.10282131038),
            (0.995, 16.0, 2.92078162243),
            (0.95, 0.7, 13.5871213475),
            (0.9995, 3.0, 12.9239786367),
            (0.975, 10_000.0, 1.960201239891),
            (0.975, 1e6, 1.95996635681),
            (0.975, 1e7, 1.959964221767),
        ];
        for (probability, nu, expected) in rows {
            let got = t_quantile(p(probability), dof(nu));
            assert!(close(got, expected, 5e-11), "t({probability}; {nu}): {got}");
            let mirrored = t_quantile(p(1.0 - probability), dof(nu));
            assert!(close(mirrored, -expected, 1e-10), "t(1 - {probability}; {nu}): {mirrored}");
        }
    }

    #[test]
    fn quantiles_of_t_hold_far_out_and_near_the_middle() {
        // Computed independently with mpmath 1.4 at 50 digits, the incomplete beta function inverted by bisection.
        let tails = [1e-12, 1e-6, 0.025, 0.31, 0.499];
        let rows = [
            (
                0.3,
                [3.007185808791e38, 3.007185808791e18, 6582.0356994008, 1.4344570893829, 0.0043607927440738],
            ),
            (1.0, [318309886183.79, 318309.88618274, 12.706204736175, 0.67959929822453, 0.0031416029890562]),
            (1.5, [52194694.273446, 5219.4693247069, 6.0166631044279, 0.61236986914521, 0.0029348392372057]),
            (4.0, [1316.0727465593, 41.577854150451, 2.7764451051978, 0.53659660268442, 0.0026666706172941]),
            (5.07, [368.90959344279, 24.092024905016, 2.559943460832, 0.52766693289056, 0.0026325246325405]),
            (30.8, [11.238212781543, 5.8368459313256, 2.0400503566281, 0.50090363092745, 0.0025270562580874]),
            (
                9999.5,
                [7.0433720469453, 4.7562298254049, 1.9602012517554, 0.49586579259012, 0.0025066935696548],
            ),
        ];
        for (nu, expected) in rows {
            for (tail, expected) in tails.into_iter().zip(expected) {
                let got = t_quantile(p(tail), dof(nu));
                assert!(close(got, -expected, 1e-11), "t({tail}; {nu}): {got}");
            }
            let above = t_quantile(p(1.0 - 1e-6), dof(nu));
            // 1 - 1e-6 is a double 3e-11 of the tail away from it.
            assert!(close(above, expected[1], 2e-10 / nu.min(1.0)), "t(1 - 1e-6; {nu}): {above}");
        }
        assert_eq!(t_quantile(p(0.5), dof(3.0)), 0.0);
        // With a hundredth of a degree of freedom quantiles outgrow all numbers (10^368 here), but not to infinity.
        assert_eq!(t_quantile(p(1e-4), dof(0.01)), -f64::MAX);
    }

    #[test]
    fn quantiles_of_one_and_two_degrees_of_freedom_match_their_formulas() {
        // In closed form: tan(π(p - ½)), and (2p - 1)·√(1/(2p(1 - p))).
        for tail in [1e-9, 1e-4, 0.02, 0.2, 0.3, 0.301, 0.4] {
            let one = 1.0 / (std::f64::consts::PI * tail).tan();
            assert!(close(t_quantile(p(tail), dof(1.0)), -one, 1e-12), "{tail}");
            let two = (1.0 - 2.0 * tail) / (2.0 * tail * (1.0 - tail)).sqrt();
            assert!(close(t_quantile(p(tail), dof(2.0)), -two, 1e-12), "{tail}");
        }
    }

    #[test]
    fn tails_of_t_match_for_few_and_for_very_many() {
        // Computed independently with mpmath 1.4 at 50 digits, the many by integrating the density.
        let rows = [
            (1.0, 1e8, 6.3661977236758e-9),
            (1.5, 1e-4, 0.99993185300393),
            (5.07, 40.0, 1.5485121781567e-7),
            (30.8, 10.0, 3.4385347111375e-11),
            (3000.0, 10.0, 3.5004890570646e-23),
            (9999.5, 1e-4, 0.99992021353884),
            (20_000.0, 5.0, 5.7815141476581e-7),
            (20_000.0, 10.0, 1.7304582473067e-23),
            (1e6, 10.0, 1.5278610768178e-23),
            (1e9, 2.0, 0.045500264166313),
        ];
        for (nu, t, expected) in rows {
            let got = t_two_sided_p(t, dof(nu));
            assert!(close(got, expected, 2e-9), "{t} with {nu}: {got}");
        }
    }

    #[test]
    fn quantiles_of_chi_squared_match_down_to_nothing() {
        // Computed independently with mpmath 1.4 at 50 digits, the incomplete gamma function inverted by bisection.
        let shares = [1e-12, 1e-6, 0.025, 0.975, 0.999999];
        let rows = [
            (
                1.0,
                [
                    1.5707963267949e-24,
                    1.5707963267957e-12,
                    0.00098206911717526,
                    5.0238861873149,
                    23.928126976879,
                ],
            ),
            (
                2.0,
                [2.000000000001e-12, 2.0000010000007e-6, 0.05063561596858, 7.3777589082279, 27.631021115871],
            ),
            (
                4.0,
                [2.8284284580804e-6, 0.0028297613229587, 0.48441855708793, 11.143286781878, 33.376841581659],
            ),
            (9.0, [0.010393020876469, 0.22838484007345, 2.7003894999804, 19.022767798642, 44.81093787062]),
            (99.0, [29.566787721521, 45.834423983696, 73.361080191284, 128.42198864384, 180.79201532578]),
        ];
        for (nu, expected) in rows {
            for (share, expected) in shares.into_iter().zip(expected) {
                let got = chi_squared_quantile(p(share), nu);
                assert!(close(got, expected, 1e-11), "χ²({share}; {nu}): {got}");
            }
        }
        let tails = [
            (60.0, 4.0, 2.9008631203405e-12),
            (100.0, 4.0, 9.836624224616e-21),
            (1.0, 1.0, 0.31731050786291),
            (30.0, 9.0, 0.00043872177097948),
            (300.0, 99.0, 4.2266534644196e-22),
            (1e-6, 3.0, 0.99999999973404),
        ];
        for (value, nu, expected) in tails {
            let got = chi_squared_upper(value, nu);
            assert!(close(got, expected, 1e-11), "above {value} with {nu}: {got}");
        }
    }

    #[test]
    fn the_normal_distribution_holds_far_out() {
        // Computed independently with mpmath 1.4 at 50 digits.
        for (z, expected) in [
            (-7.034483825301131, 1e-12),
            (-4.7, 1.3008074539173e-6),
            (-0.5, 0.30853753872599),
            (1.5, 0.93319279873114),
        ] {
            assert!(close(normal_cdf(z), expected, 1e-10), "{z}: {}", normal_cdf(z));
        }
        for (share, expected) in [
            (1e-12, -7.03448382530113),
            (1e-6, -4.7534243088229),
            (0.025, -1.95996398454005),
            (0.3, -0.524400512708041),
        ] {
            assert!(close(normal_quantile(p(share)), expected, 1e-14), "{share}");
        }
    }

    #[test]
    fn quantiles_do_not_jump_where_the_method_changes() {
        for probability in [0.6, 0.975, 0.99999] {
            let below = t_quantile(p(probability), dof(MANY_DOF));
            let above = t_quantile(p(probability), dof(MANY_DOF * (1.0 + 1e-12)));
            assert!(close(above, below, 1e-9), "{probability}: {below} {above}");
        }
        let (below, above) =
            (t_two_sided_p(2.0, dof(MANY_DOF)), t_two_sided_p(2.0, dof(MANY_DOF * (1.0 + 1e-12))));
        assert!(close(above, below, 1e-7), "{below} {above}");
    }

    #[test]
    fn tails_match() {
        // Computed independently with scipy 1.17.
        let rows = [
            ("t", t_two_sided_p(2.5, dof(4.0)), 0.066766544812),
            ("t", t_two_sided_p(0.3, dof(2.5)), 0.787342371495),
            ("t", t_two_sided_p(-12.0, dof(1.0)), 0.0529293521192),
            ("t", t_two_sided_p(1.0, dof(7.0)), 0.35061666282),
            ("chi2", chi_squared_upper(20.34, 4.0), 0.000427836952563),
            ("F", f_upper(3.5, 2.0, 7.0), 0.0883883476483),
            ("F", f_upper(19.9877, 3.0, 8.0), 0.000449642418919),
            ("chi2 quantile", chi_squared_quantile(p(0.975), 4.0), 11.1432867819),
            ("chi2 quantile", chi_squared_quantile(p(0.025), 4.0), 0.484418557088),
            ("chi2 quantile", chi_squared_quantile(p(0.975), 12.0), 23.3366641586),
            ("normal", normal_cdf(-8.0), 6.220_960_574_271_784e-16),
            ("normal quantile", normal_quantile(p(0.025)), -1.959963984540),
        ];
        for (name, got, expected) in rows {
            assert!(close(got, expected, 1e-9), "{name}: {got} instead of {expected}");
        }
    }
}
