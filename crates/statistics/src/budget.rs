//! An uncertainty budget: terms, how they join, and which one to improve.
//!
//! What cancels between before and after is decided by the caller: a term that both share does not enter.

use crate::absent::{Absent, Known};
use crate::distributions::coverage_factor;
use crate::scale::{BadDof, Confidence, Dof, Interval};

/// One source of uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// ∂f/∂x, how much the result moves per unit of this quantity.
    pub sensitivity: f64,
    /// Standard uncertainty of the quantity, not negative.
    pub u: f64,
    /// How well that uncertainty is itself known.
    pub dof: Dof,
}

impl Term {
    /// A term that enters the result as it is.
    pub fn new(u: f64, dof: Dof) -> Self {
        Self { sensitivity: 1.0, u, dof }
    }

    fn contribution(&self) -> f64 {
        (self.sensitivity * self.u).abs()
    }
}

/// Why terms make no budget.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum BudgetError {
    /// A budget has at least one term.
    #[error("no terms were given")]
    Empty,
    /// An uncertainty is finite and not negative, a sensitivity and their product finite.
    #[error("term {index} has uncertainty {u} and sensitivity {sensitivity}")]
    Term { index: usize, u: f64, sensitivity: f64 },
    /// A correlation joins two different terms and lies in [-1, 1].
    #[error("correlation {correlation} between terms {first} and {second} cannot be")]
    Correlation { first: usize, second: usize, correlation: f64 },
    /// The correlations contradict each other: the variance comes out below zero.
    #[error("the correlations cannot hold together")]
    ImpossibleCorrelations,
}

/// Terms joined.
#[derive(Debug, Clone, PartialEq)]
pub struct Combined {
    /// Combined standard uncertainty, u_c.
    pub u: f64,
    /// Effective degrees of freedom, fractional; absent without spread or with correlations.
    pub dof: Known<Dof>,
    /// Share of each term in u_c², in order; they add up to 1. All 0 without spread; signed parts with correlations.
    pub shares: Vec<f64>,
}

/// A standard uncertainty widened to a level of confidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expanded {
    /// Coverage factor k.
    pub factor: f64,
    /// U = k·u_c, half of the interval.
    pub u: f64,
}

impl Combined {
    /// Widens to a level of confidence with the fractional degrees of freedom.
    pub fn expanded(&self, confidence: Confidence) -> Known<Expanded> {
        self.dof.map(|dof| self.with_dof(dof, confidence))
    }

    /// Widens with the degrees of freedom cut to a whole number, as the GUM prints it. Absent where nothing is left.
    pub fn expanded_truncated(&self, confidence: Confidence) -> Known<Expanded> {
        // Six are six however the last digit of the division fell.
        let whole = Dof::new((self.dof?.raw() + 1e-9).floor())
            .map_err(|_| Absent::TooFewPositions { found: 1, needed: 2 })?;
        Ok(self.with_dof(whole, confidence))
    }

    /// The interval around a result.
    pub fn interval(&self, result: f64, confidence: Confidence) -> Known<Interval> {
        self.expanded(confidence).map(|expanded| Interval::around(result, expanded.u))
    }

    fn with_dof(&self, dof: Dof, confidence: Confidence) -> Expanded {
        let factor = coverage_factor(confidence, dof);
        Expanded { factor, u: factor * self.u }
    }
}

/// Joins uncorrelated terms, `u_c² = Σ cᵢ²uᵢ²`, with `ν_eff = u_c⁴/Σ(|cᵢuᵢ|⁴/νᵢ)`.
///
/// # Units and shape
/// `terms`: at least one; every `sensitivity·u` in the unit of the result.
///
/// # Errors
/// [`BudgetError`].
///
/// # Source
/// JCGM 100:2008 (GUM) clauses 5.1.2 and G.4.1 (Welch-Satterthwaite).
pub fn combine(terms: &[Term]) -> Result<Combined, BudgetError> {
    check(terms)?;
    let largest = terms.iter().map(Term::contribution).fold(0.0, f64::max);
    if largest == 0.0 {
        return Ok(Combined { u: 0.0, dof: Err(Absent::ZeroSpread), shares: vec![0.0; terms.len()] });
    }
    // Relative to the largest term, no fourth power leaves the range of a float.
    let squares: Vec<f64> = terms.iter().map(|term| (term.contribution() / largest).powi(2)).collect();
    let total: f64 = squares.iter().sum();
    let doubt: f64 = squares.iter().zip(terms).map(|(square, term)| square * square / term.dof.raw()).sum();
    let dof = Dof::new(total * total / doubt).expect("a positive number over one that is not negative");
    Ok(Combined {
        u: largest * total.sqrt(),
        dof: Ok(dof),
        shares: squares.iter().map(|square| square / total).collect(),
    })
}

/// A correlation between two terms of a budget.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correlation {
    /// Index of one term.
    pub first: usize,
    /// Index of the other.
    pub second: usize,
    /// r in [-1, 1].
    pub coefficient: f64,
}

/// Joins correlated terms, `u_c² = Σ cᵢ²uᵢ² + 2·ΣΣ cᵢcⱼuᵢuⱼrᵢⱼ`.
///
/// Pairs not named are uncorrelated. The result has no degrees of freedom unless no correlation is given.
///
/// # Errors
/// [`BudgetError`].
///
/// # Source
/// JCGM 100:2008 (GUM) clause 5.2.2.
pub fn combine_correlated(terms: &[Term], correlations: &[Correlation]) -> Result<Combined, BudgetError> {
    let independent = combine(terms)?;
    if correlations.is_empty() {
        return Ok(independent);
    }
    // Relative to the largest term, no square leaves the range of a float; without any, 1 does as well.
    let largest = terms.iter().map(Term::contribution).fold(0.0, f64::max);
    let unit = if largest > 0.0 { largest } else { 1.0 };
    let signed = |index: usize| terms[index].sensitivity * terms[index].u / unit;
    let mut parts: Vec<f64> = (0..terms.len()).map(|index| signed(index).powi(2)).collect();
    let scale: f64 = parts.iter().sum();
    for &Correlation { first, second, coefficient } in correlations {
        let possible = first != second && first.max(second) < terms.len() && coefficient.abs() <= 1.0;
        if !possible {
            return Err(BudgetError::Correlation { first, second, correlation: coefficient });
        }
        // Each of the two gets its half of the shared term.
        let shared = coefficient * signed(first) * signed(second);
        parts[first] += shared;
        parts[second] += shared;
    }
    let variance: f64 = parts.iter().sum();
    if variance < -1e-12 * scale {
        return Err(BudgetError::ImpossibleCorrelations);
    }
    if variance <= 1e-12 * scale {
        return Ok(Combined { u: 0.0, dof: Err(Absent::ZeroSpread), shares: vec![0.0; terms.len()] });
    }
    Ok(Combined {
        u: unit * variance.sqrt(),
        dof: Err(Absent::Correlated),
        shares: parts.iter().map(|part| part / variance).collect(),
    })
}

/// Returns the standard uncertainty of a quantity equally likely anywhere within ± `half_width`. GUM clause 4.3.7.
pub fn rectangular(half_width: f64) -> f64 {
    half_width / 3f64.sqrt()
}

/// Returns the standard uncertainty of a quantity likelier near the middle of ± `half_width`. GUM clause 4.3.9.
pub fn triangular(half_width: f64) -> f64 {
    half_width / 6f64.sqrt()
}

/// Returns the degrees of freedom of an uncertainty doubted by the share `doubt` of itself, `1/(2r²)`.
///
/// No doubt gives infinitely many.
///
/// # Errors
/// [`BadDof`] for a doubt that is not a number.
///
/// # Source
/// GUM clause G.4.2: a doubt of a quarter is worth 8 degrees of freedom.
pub fn dof_from_doubt(doubt: f64) -> Result<Dof, BadDof> {
    Dof::new(1.0 / (2.0 * doubt * doubt))
}

fn check(terms: &[Term]) -> Result<(), BudgetError> {
    if terms.is_empty() {
        return Err(BudgetError::Empty);
    }
    let bad = |term: &Term| !(term.u.is_finite() && term.u >= 0.0 && term.contribution().is_finite());
    match terms.iter().position(bad) {
        Some(index) => {
            let Term { sensitivity, u, .. } = terms[index];
            Err(BudgetError::Term { index, u, sensitivity })
        }
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn term(u: f64, dof: f64) -> Term {
        Term::new(u, Dof::new(dof).unwrap())
    }

    #[test]
    fn gum_end_gauge_matches() {
        // GUM example H.1: contributions in nm; published u_c = 32 nm, ν_eff = 16, t99(16) = 2.92, U99 = 93 nm
        // (from memory, recomputed with scipy 1.17).
        let terms = [term(25.0, 18.0), term(9.7, 25.6), term(2.9, 50.0), term(16.6, 2.0)];
        let got = combine(&terms).unwrap();
        assert!((got.u - 31.7).abs() < 0.05, "{}", got.u);
        let dof = got.dof.unwrap().finite().unwrap();
        assert_eq!(dof.floor(), 16.0, "{dof}");
        let expanded = got.expanded_truncated(Confidence::new(0.99).unwrap()).unwrap();
        assert!((expanded.factor - 2.92).abs() < 0.005, "{expanded:?}");
        assert!((expanded.u - 93.0).abs() < 0.6, "{expanded:?}");
    }

    #[test]
    fn gum_product_of_three_matches() {
        // GUM clause G.4.1, example: Y = bX₁X₂X₃ with relative uncertainties of 0.25, 0.57 and 0.82 % from 10, 5 and 15 observations;
        // published u_c = 1.03 %, ν_eff = 19.0, t95(19) = 2.09, U95 = 2.2 % (from memory, recomputed with scipy 1.17).
        let got = combine(&[term(0.25, 9.0), term(0.57, 4.0), term(0.82, 14.0)]).unwrap();
        assert!((got.u - 1.0294658809304948).abs() < 1e-12);
        assert!((got.dof.unwrap().finite().unwrap() - 18.998742314267954).abs() < 1e-9);
        let expanded = got.expanded(Confidence::P95).unwrap();
        assert!((expanded.factor - 2.09).abs() < 0.005 && (expanded.u - 2.2).abs() < 0.05, "{expanded:?}");
    }

    #[test]
    fn a_test_with_setup_and_day_matches() {
        // Position scatter, source placement, day; computed independently with scipy 1.17.
        let terms = [term(0.2966479395, 4.0), Term::new(0.35, Dof::INFINITE), term(0.29, 8.0)];
        let got = combine(&terms).unwrap();
        assert!((got.u - 0.542770669813).abs() < 1e-11);
        assert!((got.dof.unwrap().finite().unwrap() - 30.7751929094).abs() < 1e-8);
        let (fractional, whole) =
            (got.expanded(Confidence::P95).unwrap(), got.expanded_truncated(Confidence::P95).unwrap());
        assert!((fractional.factor - 2.040117458).abs() < 1e-9);
        assert!((fractional.u - 1.10731591918).abs() < 1e-9);
        assert!((whole.u - 1.10848558905).abs() < 1e-9);
        for (share, expected) in got.shares.iter().zip([0.298710115434, 0.415818058371, 0.285471826196]) {
            assert!((share - expected).abs() < 1e-11);
        }
    }

    #[test]
    fn what_is_shared_cancels_in_a_difference() {
        // u² = u_b² + u_a² - 2·r·u_b·u_a with both 0.5, by hand.
        for (r, expected) in [(0.0, 0.5f64.sqrt()), (0.8, 0.1f64.sqrt()), (1.0, 0.0)] {
            let after = Term { sensitivity: -1.0, ..Term::new(0.5, Dof::INFINITE) };
            let terms = [Term::new(0.5, Dof::INFINITE), after];
            let got =
                combine_correlated(&terms, &[Correlation { first: 0, second: 1, coefficient: r }]).unwrap();
            assert!((got.u - expected).abs() < 1e-12, "{r}: {}", got.u);
        }
    }

    #[test]
    fn gum_ten_resistors_match() {
        // GUM clause 5.2.2, example: ten 1000 Ω resistors in series compared with one standard, each 100 mΩ, fully correlated:
        // 1 Ω in all; uncorrelated it would be 0.32 Ω (from memory; √10·0.1 and 10·0.1 by hand).
        let terms = [Term::new(0.1, Dof::INFINITE); 10];
        let all_pairs: Vec<Correlation> = (0..10)
            .flat_map(|second| (0..second).map(move |first| Correlation { first, second, coefficient: 1.0 }))
            .collect();
        let got = combine_correlated(&terms, &all_pairs).unwrap();
        assert!((got.u - 1.0).abs() < 1e-12);
        assert_eq!(got.dof, Err(Absent::Correlated));
        assert!((combine(&terms).unwrap().u - 0.32).abs() < 0.005);
    }

    #[test]
    fn type_b_terms_match() {
        // GUM clauses 4.3.7 (0.58 of the half-width), 4.3.9 (0.41) and G.4.2 (a quarter of doubt: 8), from memory.
        assert!((rectangular(1.0) - 0.58).abs() < 0.005);
        assert!((triangular(1.0) - 0.41).abs() < 0.005);
        assert_eq!(dof_from_doubt(0.25).unwrap().finite(), Some(8.0));
        assert_eq!(dof_from_doubt(0.0), Ok(Dof::INFINITE));
        assert!(dof_from_doubt(f64::NAN).is_err());
    }

    #[test]
    fn huge_terms_stay_huge_and_whole_degrees_of_freedom_whole() {
        // √2·1e200 by hand; two equal terms of three degrees of freedom each have six together.
        let huge = [Term::new(1e200, Dof::INFINITE); 2];
        let none = Correlation { first: 0, second: 1, coefficient: 0.0 };
        let got = combine_correlated(&huge, &[none]).unwrap();
        assert!((got.u / 1e200 - 2f64.sqrt()).abs() < 1e-12, "{got:?}");
        let beyond = Term { sensitivity: 1e200, ..huge[0] };
        assert!(matches!(combine(&[beyond]), Err(BudgetError::Term { index: 0, .. })));
        for u in [0.1, 0.3, 0.7, 1.1] {
            let factor = |dof: f64| coverage_factor(Confidence::P95, Dof::new(dof).unwrap());
            let got = combine(&[term(u, 3.0); 2]).unwrap().expanded_truncated(Confidence::P95).unwrap();
            assert_eq!(got.factor, factor(6.0), "{u}");
        }
    }

    #[test]
    fn impossible_budgets_are_refused() {
        assert_eq!(combine(&[]), Err(BudgetError::Empty));
        assert!(matches!(combine(&[term(-0.1, 4.0)]), Err(BudgetError::Term { index: 0, .. })));
        let none = combine(&[term(0.0, 4.0)]).unwrap();
        assert_eq!((none.u, none.dof), (0.0, Err(Absent::ZeroSpread)));
        let three = [Term::new(1.0, Dof::INFINITE); 3];
        let opposed =
            [(0, 1), (0, 2), (1, 2)].map(|(first, second)| Correlation { first, second, coefficient: -1.0 });
        assert_eq!(combine_correlated(&three, &opposed), Err(BudgetError::ImpossibleCorrelations));
        let itself = Correlation { first: 1, second: 1, coefficient: 0.5 };
        assert!(matches!(combine_correlated(&three, &[itself]), Err(BudgetError::Correlation { .. })));
        let too_strong = Correlation { first: 0, second: 1, coefficient: 1.1 };
        assert!(matches!(combine_correlated(&three, &[too_strong]), Err(BudgetError::Correlation { .. })));
    }

    proptest! {
        #[test]
        fn effective_dof_lie_between_the_least_and_the_sum(
            terms in prop::collection::vec((0.001..5.0f64, 1.0..50.0f64), 1..8)
        ) {
            let budget: Vec<Term> = terms.iter().map(|(u, dof)| term(*u, *dof)).collect();
            let got = combine(&budget).unwrap();
            let dof = got.dof.unwrap().finite().unwrap();
            let least = terms.iter().map(|(_, dof)| *dof).fold(f64::INFINITY, f64::min);
            let sum: f64 = terms.iter().map(|(_, dof)| dof).sum();
            prop_assert!(dof >= least * (1.0 - 1e-12) && dof <= sum * (1.0 + 1e-12));
            prop_assert!((got.shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        }
    }
}
