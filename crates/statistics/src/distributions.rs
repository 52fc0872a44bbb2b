//! Quantiles and tails of the distributions the rest is built on.
//!
//! The special functions come from `statrs`; what is added here is accuracy where it has gaps (Student t with very many
//! degrees of freedom) and arguments that cannot be out of range.

use statrs::distribution::{ChiSquared, ContinuousCDF, StudentsT};
use statrs::function::beta::beta_reg;
use statrs::function::erf::{erfc, erfc_inv};

use crate::scale::{Confidence, Dof, Probability};

/// From here on the expansion around the normal quantile is exact to double precision, and inversion is not.
const MANY_DOF: f64 = 10_000.0;

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
/// # Source
/// Inverse of the regularised incomplete beta function; beyond 10 000 degrees of freedom the expansion of Abramowitz and Stegun
/// 26.7.5.
pub fn t_quantile(p: Probability, dof: Dof) -> f64 {
    let z = normal_quantile(p);
    match dof.finite() {
        None => z,
        Some(nu) if nu > MANY_DOF => {
            let z2 = z * z;
            let first = (z2 + 1.0) * z / 4.0;
            let second = ((5.0 * z2 + 16.0) * z2 + 3.0) * z / 96.0;
            let third = (((3.0 * z2 + 19.0) * z2 + 17.0) * z2 - 15.0) * z / 384.0;
            z + (first + (second + third / nu) / nu) / nu
        }
        Some(nu) => {
            StudentsT::new(0.0, 1.0, nu).expect("degrees of freedom are above zero").inverse_cdf(p.value())
        }
    }
}

/// Returns the factor that turns a standard uncertainty into half of a two-sided interval.
pub fn coverage_factor(confidence: Confidence, dof: Dof) -> f64 {
    -t_quantile(confidence.one_tail(), dof)
}

/// Returns the probability of a t at least as far from zero as `t`, both sides together.
pub fn t_two_sided_p(t: f64, dof: Dof) -> f64 {
    match dof.finite() {
        Some(nu) if nu <= MANY_DOF => beta_reg(nu / 2.0, 0.5, nu / (nu + t * t)),
        // The expansion for many degrees of freedom, Abramowitz and Stegun 26.7.8.
        _ => {
            let nu = dof.raw();
            2.0 * normal_cdf(-t.abs() * (1.0 - 1.0 / (4.0 * nu)) / (1.0 + t * t / (2.0 * nu)).sqrt())
        }
    }
}

/// Returns the p-quantile of χ² with `dof` degrees of freedom, which are finite.
pub(crate) fn chi_squared_quantile(p: Probability, dof: f64) -> f64 {
    chi_squared(dof).inverse_cdf(p.value())
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
