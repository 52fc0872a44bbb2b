//! Several comparisons at once: p values that stay honest when the most striking one is picked.
//!
//! Leaves out the comparisons themselves.

/// Why p values cannot be adjusted.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum PValueError {
    /// Without a comparison there is nothing to adjust.
    #[error("no p values were given")]
    Empty,
    /// A p value is a probability.
    #[error("p value {index} is {p}, not from 0 to 1")]
    OutOfRange { index: usize, p: f64 },
}

/// Adjusts for the chance of any false claim, `p·(m-i+1)` over the sorted values, running maximum, at most 1.
///
/// # Units and shape
/// `p`: m ≥ 1 probabilities. Returns one for each, in the order given.
///
/// # Errors
/// [`PValueError`].
///
/// # Source
/// Holm 1979.
pub fn holm(p: &[f64]) -> Result<Vec<f64>, PValueError> {
    let order = ascending(p)?;
    let mut adjusted = vec![0.0; p.len()];
    let mut highest = 0.0f64;
    for (place, &index) in order.iter().enumerate() {
        highest = highest.max(p[index] * (p.len() - place) as f64).min(1.0);
        adjusted[index] = highest;
    }
    Ok(adjusted)
}

/// Adjusts for the share of false claims among all claims, `p·m/i` over the sorted values, running minimum from the largest.
///
/// # Units and shape
/// As [`holm`].
///
/// # Errors
/// [`PValueError`].
///
/// # Source
/// Benjamini and Hochberg 1995.
pub fn benjamini_hochberg(p: &[f64]) -> Result<Vec<f64>, PValueError> {
    let order = ascending(p)?;
    let mut adjusted = vec![0.0; p.len()];
    let mut lowest = 1.0f64;
    for (place, &index) in order.iter().enumerate().rev() {
        lowest = lowest.min(p[index] * p.len() as f64 / (place + 1) as f64);
        adjusted[index] = lowest;
    }
    Ok(adjusted)
}

/// Adjusts for the chance of any false claim the plain way, `p·m`, at most 1.
///
/// # Units and shape
/// As [`holm`], which never claims less.
///
/// # Errors
/// [`PValueError`].
///
/// # Source
/// Bonferroni's inequality, common practice.
pub fn bonferroni(p: &[f64]) -> Result<Vec<f64>, PValueError> {
    ascending(p)?;
    Ok(p.iter().map(|value| (value * p.len() as f64).min(1.0)).collect())
}

/// The places of checked p values, smallest first.
fn ascending(p: &[f64]) -> Result<Vec<usize>, PValueError> {
    if p.is_empty() {
        return Err(PValueError::Empty);
    }
    if let Some(index) = p.iter().position(|value| !(0.0..=1.0).contains(value)) {
        return Err(PValueError::OutOfRange { index, p: p[index] });
    }
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    Ok(order)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check(got: &[f64], expected: &[f64]) {
        let close = got.iter().zip(expected).all(|(got, expected)| (got - expected).abs() < 1e-12);
        assert!(close && got.len() == expected.len(), "{got:?} instead of {expected:?}");
    }

    #[test]
    fn five_comparisons_match() {
        // Holm and Bonferroni by hand; Benjamini and Hochberg computed independently with scipy 1.17.
        let p = [0.01, 0.04, 0.03, 0.005, 0.6];
        check(&holm(&p).unwrap(), &[0.04, 0.09, 0.09, 0.025, 0.6]);
        check(&benjamini_hochberg(&p).unwrap(), &[0.025, 0.05, 0.05, 0.025, 0.6]);
        check(&bonferroni(&p).unwrap(), &[0.05, 0.2, 0.15, 0.025, 1.0]);
        // Ties share a value.
        check(&holm(&[0.02, 0.02, 0.9]).unwrap(), &[0.06, 0.06, 0.9]);
        check(&benjamini_hochberg(&[0.02, 0.02, 0.9]).unwrap(), &[0.03, 0.03, 0.9]);
    }

    #[test]
    fn fifteen_endpoints_match() {
        // Endpoints of a trial of two clot-dissolving drugs, the example of Benjamini and Hochberg 1995: at 5 % Bonferroni's way claims
        // the first three and theirs the first four (from memory); adjusted values computed independently with scipy 1.17.
        let p = [
            0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719,
            0.6528, 0.7590, 1.0,
        ];
        let claims = |adjusted: Vec<f64>| adjusted.iter().filter(|p| **p <= 0.05).count();
        assert_eq!(claims(bonferroni(&p).unwrap()), 3);
        assert_eq!(claims(holm(&p).unwrap()), 3);
        assert_eq!(claims(benjamini_hochberg(&p).unwrap()), 4);
        check(&holm(&p).unwrap()[..5], &[0.0015, 0.0056, 0.0247, 0.114, 0.2211]);
        check(&benjamini_hochberg(&p).unwrap()[..5], &[0.0015, 0.003, 0.0095, 0.035625, 0.0603]);
    }

    #[test]
    fn what_is_no_probability_is_refused() {
        for adjust in [holm, benjamini_hochberg, bonferroni] {
            assert_eq!(adjust(&[]), Err(PValueError::Empty));
            assert_eq!(adjust(&[0.1, 1.1]), Err(PValueError::OutOfRange { index: 1, p: 1.1 }));
            assert!(adjust(&[f64::NAN]).is_err());
        }
    }

    proptest! {
        #[test]
        fn the_plain_way_is_the_strictest(p in prop::collection::vec(0.0..=1.0f64, 1..12)) {
            let (holm, plain) = (holm(&p).unwrap(), bonferroni(&p).unwrap());
            let shares = benjamini_hochberg(&p).unwrap();
            for index in 0..p.len() {
                prop_assert!(p[index] <= shares[index] + 1e-15 && shares[index] <= holm[index] + 1e-15);
                prop_assert!(holm[index] <= plain[index] + 1e-15);
            }
        }
    }
}
