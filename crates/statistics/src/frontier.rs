//! Options by cost and effect: which are worth a look, what each further step costs, and whether one pays.
//!
//! Decibels do not add: parts measured apart are never summed here, and a cost per decibel ranks weak, cheap measures first.

use crate::absent::{Absent, Known};
use crate::distributions::normal_cdf;

/// Steps whose costs differ by less than this share cost the same.
const STEP_ROUNDING: f64 = 1e-12;

/// What an option costs and does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CostEffect {
    /// Cost, in any unit of money.
    pub cost: f64,
    /// Effect, more is better.
    pub effect: f64,
}

/// Why options cannot be weighed.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum FrontierError {
    /// There is nothing to choose from.
    #[error("no options were given")]
    Empty,
    /// Correct the option or leave it out.
    #[error("option {index} has a cost of {cost} and an effect of {effect}, not both finite")]
    NotFinite { index: usize, cost: f64, effect: f64 },
    /// Every part of a net benefit is finite.
    #[error("{value} is not a finite number")]
    Value { value: f64 },
    /// Standard deviations and the worth of an effect are not negative.
    #[error("{value} is below zero")]
    Negative { value: f64 },
}

/// An option on the frontier.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Index of the option.
    pub option: usize,
    /// ICER, what one more unit of effect costs from the step before to this one; `None` for the first.
    pub cost_per_effect: Option<f64>,
}

/// Options sorted into those worth a look and those that are not; indexes ascend with cost.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Frontier {
    /// No other option is cheaper and as good, or as cheap and better.
    pub pareto: Vec<usize>,
    /// Another option is no dearer and no worse, and better in one.
    pub dominated: Vec<usize>,
    /// Twins of an option in `pareto` in cost and effect.
    pub identical: Vec<usize>,
    /// In `pareto`, yet a step beyond has its effect cheaper.
    pub extended_dominated: Vec<usize>,
    /// The rest of `pareto`: each step costs at least as much per effect as the one before.
    pub steps: Vec<Step>,
}

/// Sorts options by cost and effect, and prices each further step, `ICER = ΔC/ΔE`.
///
/// # Units and shape
/// At least one option, costs in one unit, effects in one.
///
/// # Errors
/// [`FrontierError::Empty`], [`FrontierError::NotFinite`].
///
/// # Source
/// Incremental cost-effectiveness with simple and extended dominance, as in Drummond et al., Methods for the Economic
/// Evaluation of Health Care Programmes (from memory).
pub fn frontier(options: &[CostEffect]) -> Result<Frontier, FrontierError> {
    if options.is_empty() {
        return Err(FrontierError::Empty);
    }
    for (index, CostEffect { cost, effect }) in options.iter().copied().enumerate() {
        if !(cost.is_finite() && effect.is_finite()) {
            return Err(FrontierError::NotFinite { index, cost, effect });
        }
    }
    let mut found = Frontier::default();
    for index in by_cost(options) {
        let option = options[index];
        match found.pareto.last().map(|last| options[*last]) {
            Some(last) if option == last => found.identical.push(index),
            Some(last) if option.effect <= last.effect => found.dominated.push(index),
            _ => found.pareto.push(index),
        }
    }
    let price = |from: usize, to: usize| {
        (options[to].cost - options[from].cost) / (options[to].effect - options[from].effect)
    };
    let mut kept: Vec<usize> = Vec::new();
    for &next in &found.pareto {
        while let [.., before, last] = kept[..] {
            let (step, beyond) = (price(before, last), price(last, next));
            if step - beyond <= STEP_ROUNDING * step.abs() {
                break;
            }
            kept.pop();
        }
        kept.push(next);
    }
    found.extended_dominated = found.pareto.iter().copied().filter(|index| !kept.contains(index)).collect();
    found.steps = (0..kept.len())
        .map(|at| Step {
            option: kept[at],
            cost_per_effect: at.checked_sub(1).map(|before| price(kept[before], kept[at])),
        })
        .collect();
    Ok(found)
}

/// Cheapest first; of equal cost the best first, of equal options the first.
fn by_cost(options: &[CostEffect]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..options.len()).collect();
    order.sort_by(|&a, &b| {
        let (a, b) = (options[a], options[b]);
        a.cost.total_cmp(&b.cost).then(b.effect.total_cmp(&a.effect))
    });
    order
}

/// Two options against each other: the dearer less the cheaper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Increment {
    /// ΔC, additional cost.
    pub cost: f64,
    /// Its standard deviation.
    pub sd_cost: f64,
    /// ΔE, additional effect.
    pub effect: f64,
    /// Its standard deviation.
    pub sd_effect: f64,
}

/// What an increment is worth to somebody beyond its cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NetBenefit {
    /// NB, in money.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// Chance that it is above 0; absent where everything is known outright.
    pub chance_worth_it: Known<f64>,
}

/// Weighs an increment, `NB = λ·ΔE - ΔC` and `P(NB > 0) = Φ(NB/√(λ²·v_ΔE + v_ΔC))`.
///
/// No ratio, so nothing blows up where the effect is unclear.
///
/// # Units and shape
/// `worth`: λ, what one unit of effect is worth to the user, money, not negative. Cost and effect independent.
///
/// # Errors
/// [`FrontierError::Value`], [`FrontierError::Negative`].
///
/// # Source
/// Stinnett and Mullahy 1998, net health benefits.
pub fn net_benefit(increment: &Increment, worth: f64) -> Result<NetBenefit, FrontierError> {
    let Increment { cost, sd_cost, effect, sd_effect } = *increment;
    for value in [cost, effect, sd_cost, sd_effect, worth] {
        if !value.is_finite() {
            return Err(FrontierError::Value { value });
        }
    }
    if let Some(value) = [sd_cost, sd_effect, worth].into_iter().find(|value| *value < 0.0) {
        return Err(FrontierError::Negative { value });
    }
    let (value, sd) = (worth * effect - cost, (worth * sd_effect).hypot(sd_cost));
    let chance_worth_it = if sd > 0.0 { Ok(normal_cdf(value / sd)) } else { Err(Absent::ZeroSpread) };
    Ok(NetBenefit { value, sd, chance_worth_it })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn options(pairs: &[(f64, f64)]) -> Vec<CostEffect> {
        pairs.iter().map(|&(cost, effect)| CostEffect { cost, effect }).collect()
    }

    fn prices(found: &Frontier) -> Vec<f64> {
        found.steps.iter().filter_map(|step| step.cost_per_effect).collect()
    }

    #[test]
    fn frontiers_match() {
        // By hand: steps 14/3.5, 5/0.9 and 51/5.6; 25 for 4.2 is dearer and worse than 19 for 4.4.
        let found =
            frontier(&options(&[(70.0, 10.0), (0.0, 0.0), (25.0, 4.2), (14.0, 3.5), (19.0, 4.4)])).unwrap();
        assert_eq!(found.pareto, [1, 3, 4, 0]);
        assert_eq!((&found.dominated[..], &found.extended_dominated[..]), (&[2][..], &[][..]));
        for (got, expected) in prices(&found).into_iter().zip([4.0, 5.0 / 0.9, 51.0 / 5.6]) {
            assert!((got - expected).abs() < 1e-12, "{got}");
        }
        assert_eq!(found.steps[0], Step { option: 1, cost_per_effect: None });
    }

    #[test]
    fn a_step_beyond_may_rule_out_several() {
        // By hand: to the last 10 per unit; the ones between cost 20, then 12, then 3.3 from there.
        let found = frontier(&options(&[(0.0, 0.0), (20.0, 1.0), (44.0, 3.0), (60.0, 6.0)])).unwrap();
        assert_eq!(found.extended_dominated, [1, 2]);
        assert_eq!(prices(&found), [10.0]);
        // Steps of equal price are both kept, though binary fractions differ.
        let found = frontier(&options(&[(0.0, 0.0), (1.0, 0.1), (2.0, 0.2), (3.0, 0.3)])).unwrap();
        assert_eq!((found.steps.len(), found.extended_dominated.len()), (4, 0));
    }

    #[test]
    fn twins_and_equal_costs_are_told() {
        let found = frontier(&options(&[(5.0, 2.0), (5.0, 2.0), (5.0, 1.0), (7.0, 2.0)])).unwrap();
        assert_eq!((found.pareto, found.identical, found.dominated), (vec![0], vec![1], vec![2, 3]));
        assert_eq!(frontier(&[]), Err(FrontierError::Empty));
        assert!(matches!(
            frontier(&options(&[(f64::NAN, 1.0)])),
            Err(FrontierError::NotFinite { index: 0, .. })
        ));
    }

    #[test]
    fn net_benefits_match() {
        // By hand 12·2.1 - 18 and √(144·0.49 + 9); the chance computed independently with scipy 1.17.
        let increment = Increment { cost: 18.0, sd_cost: 3.0, effect: 2.1, sd_effect: 0.7 };
        let got = net_benefit(&increment, 12.0).unwrap();
        assert!((got.value - 7.2).abs() < 1e-12 && (got.sd - 8.919641248391104).abs() < 1e-12);
        assert!((got.chance_worth_it.unwrap() - 0.7902264848738735).abs() < 1e-10);
        let known = Increment { sd_cost: 0.0, sd_effect: 0.0, ..increment };
        assert_eq!(net_benefit(&known, 12.0).unwrap().chance_worth_it, Err(Absent::ZeroSpread));
        assert_eq!(net_benefit(&increment, -1.0), Err(FrontierError::Negative { value: -1.0 }));
        assert!(net_benefit(&Increment { cost: f64::NAN, ..increment }, 1.0).is_err());
    }

    proptest! {
        #[test]
        fn prices_rise_and_every_option_has_a_place(
            pairs in prop::collection::vec((0.0..50.0f64, 0.0..20.0f64), 1..12)
        ) {
            let found = frontier(&options(&pairs)).unwrap();
            prop_assert!(prices(&found).windows(2).all(|pair| pair[0] <= pair[1] * (1.0 + 1e-9)));
            prop_assert_eq!(found.pareto.len() + found.dominated.len() + found.identical.len(), pairs.len());
            prop_assert_eq!(found.steps.len() + found.extended_dominated.len(), found.pareto.len());
        }
    }
}
