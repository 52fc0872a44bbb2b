//! What an effect costs: ratios with their ranges, options in order, and what an increment is worth.

use serde_json::{Value, json};
use storypole_statistics::frontier::{self, CostEffect, FrontierError, Increment};
use storypole_statistics::ratio::{self, NormalRatio, RatioError, RatioParts, RatioRange};
use storypole_statistics::{Dof, Probability};

use super::at_least_zero;
use crate::answering::{Answering, confidence, of_freedom};
use crate::single::LEVEL;
use crate::{Answer, Calc, Field, Fields, Refused};

/// Above this chance of an effect of 0 or less no upper limit is printed. Convention of this project.
const MOST_NOT_POSITIVE: f64 = 0.025;

/// Quantiles that one request may ask for.
const MOST_QUANTILES: usize = 100;

const ABSENT: Field = Field { name: "absent", about: "for each field that does not exist, why" };

pub(super) const FIELLER: Calc = Calc {
    name: "cost_effectiveness.fieller",
    about: "Range of a ratio such as cost over effect: Fieller 1954, in three kinds.",
    takes: &[
        Field { name: "numerator", about: "such as a cost" },
        Field { name: "denominator", about: "such as a reduction" },
        Field { name: "var_num", about: "variance of the numerator" },
        Field { name: "var_den", about: "variance of the denominator" },
        Field { name: "cov", about: "covariance of both; 0 when left out" },
        Field { name: "df", about: "degrees of freedom of the denominator; null or left out: normal" },
        LEVEL,
    ],
    gives: &[
        Field { name: "ratio", about: "numerator over denominator; null over 0" },
        Field { name: "t", about: "standard deviations that the range spans" },
        Field {
            name: "g",
            about: "from 1 on the denominator is not clear of 0; null for a denominator of 0",
        },
        Field {
            name: "kind",
            about: "bounded: lower to upper; outside: up to below, and from above on; all",
        },
        Field { name: "lower", about: "lower end; null unless bounded" },
        Field { name: "upper", about: "upper end; null unless bounded" },
        Field { name: "below", about: "every ratio up to this; null unless outside" },
        Field { name: "above", about: "every ratio from this on; null unless outside" },
        Field {
            name: "printable",
            about: "whether the denominator is clearly above 0, so that the ratio may be told",
        },
        ABSENT,
    ],
    example: r#"{"numerator": 26, "denominator": 5.6, "var_num": 2.25, "var_den": 0.3844, "cov": 0, "df": 4, "level": 0.95}"#,
    run: fieller,
};

pub(super) const NET_BENEFIT: Calc = Calc {
    name: "cost_effectiveness.net_benefit",
    about: "What an increment is worth beyond its cost, and the chance that it is: Stinnett and Mullahy 1998.",
    takes: &[
        Field { name: "delta_cost", about: "additional cost" },
        Field { name: "delta_effect", about: "additional effect, dB" },
        Field { name: "sd_cost", about: "standard deviation of the cost" },
        Field { name: "sd_effect", about: "standard deviation of the effect, dB" },
        Field { name: "willing_to_pay_per_db", about: "what 1 dB is worth to the user, 0 or more" },
    ],
    gives: &[
        Field { name: "net_benefit", about: "worth of the effect less the cost" },
        Field { name: "sd", about: "its standard deviation" },
        Field { name: "p_worth_it", about: "chance that it is above 0; null where all is known outright" },
    ],
    example: r#"{"delta_cost": 18, "delta_effect": 2.1, "sd_cost": 3, "sd_effect": 0.7, "willing_to_pay_per_db": 12}"#,
    run: net_benefit,
};

pub(super) const PARETO: Calc = Calc {
    name: "cost_effectiveness.pareto",
    about: "Options by cost and effect: who is dominated, and what each further step costs per unit of effect.",
    takes: &[
        Field { name: "options", about: "name, cost and effect of each; names differ" },
        Field { name: "cost_unit", about: "what costs are in, for people; may be left out" },
    ],
    gives: &[
        Field { name: "pareto", about: "names that none beats in cost and effect, cheapest first" },
        Field { name: "dominated", about: "names that another beats: dearer or equal, not better" },
        Field { name: "extended_dominated", about: "in pareto, yet a step beyond has its effect cheaper" },
        Field { name: "identical_to_previous", about: "twins of a name in pareto in cost and effect" },
        Field { name: "frontier", about: "name and icer, cost per unit of effect from the one before" },
    ],
    example: r#"{"options": [{"name": "bare", "cost": 0, "effect": 0}, {"name": "fill", "cost": 14, "effect": 3.5}, {"name": "fill and seal", "cost": 19, "effect": 4.4}, {"name": "second board", "cost": 25, "effect": 4.2}, {"name": "new wall", "cost": 70, "effect": 10}], "cost_unit": "per m2"}"#,
    run: pareto,
};

pub(super) const RATIO_QUANTILES: Calc = Calc {
    name: "cost_effectiveness.ratio_quantiles",
    about: "Quantiles of the ratio of two independent normal values, by quadrature: Hinkley 1969. It has no mean.",
    takes: &[
        Field { name: "numerator", about: "such as a cost" },
        Field { name: "denominator", about: "such as a reduction" },
        Field { name: "sd_num", about: "standard deviation of the numerator, 0 where known" },
        Field { name: "sd_den", about: "standard deviation of the denominator, 0 where known" },
        Field { name: "probabilities", about: "each from 0.000001 to 0.999999, at most 100" },
    ],
    gives: &[
        Field { name: "quantiles", about: "one for each probability" },
        Field { name: "p_denominator_not_positive", about: "chance of a denominator of 0 or less" },
        Field { name: "no_upper_limit", about: "whether that chance is above 2.5 %: print no upper limit" },
    ],
    example: r#"{"numerator": 26, "denominator": 5.6, "sd_num": 1.5, "sd_den": 0.62, "probabilities": [0.025, 0.5, 0.975]}"#,
    run: ratio_quantiles,
};

fn fieller(fields: &Fields<'_>) -> Answer {
    let parts = RatioParts {
        numerator: fields.number("numerator")?,
        denominator: fields.number("denominator")?,
        var_numerator: at_least_zero(fields, "var_num", true)?,
        var_denominator: at_least_zero(fields, "var_den", true)?,
        covariance: fields.number_or_none("cov")?.unwrap_or(0.0),
    };
    let dof = match fields.number_or_none("df")? {
        Some(df) => of_freedom("df", df)?,
        None => Dof::INFINITE,
    };
    let got = ratio::fieller(&parts, dof, confidence(fields, LEVEL.name)?)
        .map_err(|error| refused_ratio(&error))?;
    let mut given = Answering::default();
    let mut optional = |name, number: Option<f64>, reason: &str| {
        match number {
            Some(number) => given.give(name, number),
            None => given.missing(name, reason),
        };
    };
    optional("ratio", got.ratio, "the denominator is 0");
    optional("g", got.g, "the denominator is 0");
    let (kind, lower, upper, below, above) = match got.range {
        RatioRange::Bounded(range) => ("bounded", Some(range.low), Some(range.high), None, None),
        RatioRange::Outside { below, above } => ("outside", None, None, below, above),
        RatioRange::All => ("all", None, None, None, None),
    };
    let open = if kind == "all" { "every ratio agrees: it cannot be told" } else { "there is no limit here" };
    for (name, number, its_kind) in [
        ("lower", lower, "bounded"),
        ("upper", upper, "bounded"),
        ("below", below, "outside"),
        ("above", above, "outside"),
    ] {
        let reason = if kind == "bounded" && its_kind == "outside" { "the range is bounded" } else { open };
        optional(name, number, reason);
    }
    given.give("t", got.t);
    given.give("kind", json!(kind));
    given.give("printable", json!(parts.denominator > 0.0 && got.g.is_some_and(|g| g < 1.0)));
    given.done()
}

fn refused_ratio(error: &RatioError) -> Refused {
    let (reason, field) = match error {
        RatioError::TooLarge => ("too_large", "numerator"),
        RatioError::NotFinite { .. } => ("out_of_range", "numerator"),
        RatioError::Spread { .. } => ("out_of_range", "var_num"),
        RatioError::Covariance { .. } => ("out_of_range", "cov"),
        RatioError::ZeroDenominator => ("out_of_range", "denominator"),
        RatioError::Tail { .. } => ("out_of_range", "probabilities"),
    };
    Refused::from_error(reason, field, error)
}

fn ratio_quantiles(fields: &Fields<'_>) -> Answer {
    let ratio = NormalRatio::new(
        fields.number("numerator")?,
        fields.number("denominator")?,
        at_least_zero(fields, "sd_num", true)?,
        at_least_zero(fields, "sd_den", true)?,
    )
    .map_err(|error| refused_ratio(&error))?;
    let probabilities = fields.numbers("probabilities")?;
    if probabilities.len() > MOST_QUANTILES {
        let message = format!("{} probabilities are too many: give at most 100", probabilities.len());
        return Err(Refused::of("too_much_work", "probabilities", message));
    }
    let quantile = |p: f64| {
        let p = Probability::new(p)
            .map_err(|error| Refused::from_error("out_of_range", "probabilities", &error))?;
        ratio.quantile(p).map_err(|error| refused_ratio(&error))
    };
    let quantiles: Vec<f64> = probabilities.into_iter().map(quantile).collect::<Result<_, _>>()?;
    let chance = ratio.chance_denominator_not_positive();
    let mut given = Answering::default();
    given.give("quantiles", quantiles);
    given.give("p_denominator_not_positive", chance);
    given.give("no_upper_limit", json!(chance > MOST_NOT_POSITIVE));
    given.done()
}

fn pareto(fields: &Fields<'_>) -> Answer {
    let (mut names, mut options) = (Vec::new(), Vec::new());
    for option in fields.objects("options")? {
        let name = option.text("name")?;
        if names.contains(&name) {
            return Err(Refused::of(
                "double_name",
                "options",
                format!("two options are called {name:?}: give each its own name"),
            ));
        }
        names.push(name);
        options.push(CostEffect { cost: option.number("cost")?, effect: option.number("effect")? });
    }
    let found = frontier::frontier(&options).map_err(|error| match error {
        FrontierError::Empty => Refused::from_error("no_options", "options", &error),
        _ => Refused::from_error("out_of_range", "options", &error),
    })?;
    let list = |indexes: &[usize]| json!(indexes.iter().map(|index| names[*index]).collect::<Vec<_>>());
    let prices: Vec<f64> = found.steps.iter().filter_map(|step| step.cost_per_effect).collect();
    let step = |step: &frontier::Step| match step.cost_per_effect {
        Some(icer) => json!({"name": names[step.option], "icer": icer}),
        None => {
            let absent = json!({"icer": "the cheapest has none before it"});
            json!({"name": names[step.option], "icer": null, "absent": absent})
        }
    };
    let steps: Vec<Value> = found.steps.iter().map(step).collect();
    let mut given = Answering::default();
    given.give("pareto", list(&found.pareto));
    given.give("dominated", list(&found.dominated));
    given.give("extended_dominated", list(&found.extended_dominated));
    given.give("identical_to_previous", list(&found.identical));
    given.give_finite("frontier", &prices, json!(steps));
    given.done()
}

fn net_benefit(fields: &Fields<'_>) -> Answer {
    let increment = Increment {
        cost: fields.number("delta_cost")?,
        sd_cost: at_least_zero(fields, "sd_cost", true)?,
        effect: fields.number("delta_effect")?,
        sd_effect: at_least_zero(fields, "sd_effect", true)?,
    };
    let worth = at_least_zero(fields, "willing_to_pay_per_db", true)?;
    let got = frontier::net_benefit(&increment, worth)
        .map_err(|error| Refused::from_error("out_of_range", "delta_cost", &error))?;
    let mut given = Answering::default();
    given.give("net_benefit", got.value);
    given.give("sd", got.sd);
    given.known("p_worth_it", got.chance_worth_it);
    given.done()
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use serde_json::{Value, json};

    fn check(name: &str, input: &Value, rows: &[(&str, f64)]) {
        let given = Value::Object(answer(name, input).unwrap());
        for (pointer, expected) in rows {
            let got = given.pointer(pointer).and_then(Value::as_f64);
            let got = got.unwrap_or_else(|| panic!("{pointer}: {given}"));
            assert!((got - expected).abs() <= 1e-8 * expected.abs(), "{name} {input}: {pointer} is {got}");
        }
    }

    #[test]
    fn fieller_matches() {
        // Computed independently with numpy 2.4 and scipy 1.17.
        let mut input = json!({
            "numerator": 26, "denominator": 5.6, "var_num": 2.25, "var_den": 0.3844, "cov": 0, "df": 4, "level": 0.95
        });
        let rows = [
            ("/ratio", 4.642857142857143),
            ("/t", 2.7764451051977934),
            ("/g", 0.09448992567234557),
            ("/lower", 3.3681084888796233),
            ("/upper", 6.886569563828927),
        ];
        check("cost_effectiveness.fieller", &input, &rows);
        let got = answer("cost_effectiveness.fieller", &input).unwrap();
        assert_eq!(
            (&got["kind"], &got["below"], &got["printable"]),
            (&json!("bounded"), &Value::Null, &json!(true))
        );
        input["denominator"] = json!(1.1);
        let rows = [("/below", -41.64676930890729), ("/above", 9.020789818761191)];
        check("cost_effectiveness.fieller", &input, &rows);
        let got = answer("cost_effectiveness.fieller", &input).unwrap();
        assert_eq!(
            (&got["kind"], &got["upper"], &got["printable"]),
            (&json!("outside"), &Value::Null, &json!(false))
        );
        assert!(got["absent"]["upper"].as_str().unwrap().contains("no limit"));
        let input = json!({"numerator": 1, "denominator": 0, "var_num": 4, "var_den": 4, "df": null});
        let got = answer("cost_effectiveness.fieller", &input).unwrap();
        assert_eq!((&got["kind"], &got["ratio"], &got["g"]), (&json!("all"), &Value::Null, &Value::Null));
    }

    #[test]
    fn ratio_quantiles_match() {
        // Computed independently with scipy 1.17 (brentq over quad).
        let mut input = json!({
            "numerator": 26, "denominator": 5.6, "sd_num": 1.5, "sd_den": 0.62, "probabilities": [0.025, 0.5, 0.975]
        });
        let rows = [
            ("/quantiles/0", 3.686090683863645),
            ("/quantiles/1", 4.642857142857143),
            ("/quantiles/2", 6.058468275464549),
        ];
        check("cost_effectiveness.ratio_quantiles", &input, &rows);
        input["sd_den"] = json!(3);
        let rows = [("/quantiles/1", 4.456160651808991), ("/p_denominator_not_positive", 0.0309740757067406)];
        check("cost_effectiveness.ratio_quantiles", &input, &rows);
        let got = answer("cost_effectiveness.ratio_quantiles", &input).unwrap();
        assert_eq!(got["no_upper_limit"], json!(true));
    }

    #[test]
    fn fronts_match() {
        // By hand: steps 14/3.5, 5/0.9 and 51/5.6.
        let input = json!({"options": [
            {"name": "d", "cost": 25, "effect": 4.2}, {"name": "a", "cost": 0, "effect": 0},
            {"name": "b", "cost": 14, "effect": 3.5}, {"name": "c", "cost": 19, "effect": 4.4},
            {"name": "e", "cost": 70, "effect": 10}, {"name": "b again", "cost": 14, "effect": 3.5}
        ]});
        let rows =
            [("/frontier/1/icer", 4.0), ("/frontier/2/icer", 5.0 / 0.9), ("/frontier/3/icer", 51.0 / 5.6)];
        check("cost_effectiveness.pareto", &input, &rows);
        let got = answer("cost_effectiveness.pareto", &input).unwrap();
        assert_eq!((&got["pareto"], &got["dominated"]), (&json!(["a", "b", "c", "e"]), &json!(["d"])));
        assert_eq!(
            (&got["identical_to_previous"], &got["frontier"][0]["icer"]),
            (&json!(["b again"]), &Value::Null)
        );
        // By hand: 20 for the first, then 4; both together 12 for the step.
        let input = json!({"options": [
            {"name": "a", "cost": 0, "effect": 0}, {"name": "b", "cost": 20, "effect": 1}, {"name": "c", "cost": 24, "effect": 2}
        ]});
        let got = answer("cost_effectiveness.pareto", &input).unwrap();
        assert_eq!((&got["extended_dominated"], &got["frontier"][1]["icer"]), (&json!(["b"]), &json!(12.0)));
    }

    #[test]
    fn net_benefits_match() {
        // By hand, the chance computed independently with scipy 1.17.
        let input = json!({
            "delta_cost": 18, "delta_effect": 2.1, "sd_cost": 3, "sd_effect": 0.7, "willing_to_pay_per_db": 12
        });
        let rows = [("/net_benefit", 7.2), ("/sd", 8.919641248391104), ("/p_worth_it", 0.7902264848738735)];
        check("cost_effectiveness.net_benefit", &input, &rows);
        let known = json!({
            "delta_cost": 18, "delta_effect": 2.1, "sd_cost": 0, "sd_effect": 0, "willing_to_pay_per_db": 12
        });
        let got = answer("cost_effectiveness.net_benefit", &known).unwrap();
        assert!(got["p_worth_it"].is_null() && got["absent"]["p_worth_it"].is_string());
    }

    #[test]
    fn bad_costs_are_refused_by_field() {
        let fieller = |extra: Value| {
            let mut input = json!({"numerator": 26, "denominator": 5.6, "var_num": 2.25, "var_den": 0.3844});
            input.as_object_mut().unwrap().extend(extra.as_object().unwrap().clone());
            ("cost_effectiveness.fieller", input)
        };
        let quantiles = |sd_den: f64, p: f64| {
            let input = json!({
                "numerator": 26, "denominator": 0, "sd_num": 1.5, "sd_den": sd_den, "probabilities": [p]
            });
            ("cost_effectiveness.ratio_quantiles", input)
        };
        let option = json!({"name": "a", "cost": 1, "effect": 1});
        let rows = [
            (fieller(json!({"var_den": -1})), ("out_of_range", "var_den")),
            (fieller(json!({"cov": 5})), ("out_of_range", "cov")),
            (fieller(json!({"df": 0})), ("out_of_range", "df")),
            // So few that the search for their quantile never ended.
            (fieller(json!({"df": 1e-320})), ("out_of_range", "df")),
            (fieller(json!({"numerator": 1e300})), ("too_large", "numerator")),
            (quantiles(0.0, 0.5), ("out_of_range", "denominator")),
            (quantiles(1.0, 0.0), ("out_of_range", "probabilities")),
            (quantiles(1.0, 1e-9), ("out_of_range", "probabilities")),
            (("cost_effectiveness.pareto", json!({"options": []})), ("no_options", "options")),
            (("cost_effectiveness.pareto", json!({"options": [option, option]})), ("double_name", "options")),
            (("cost_effectiveness.pareto", json!({"options": [{"name": "a"}]})), ("missing", "cost")),
            (
                (
                    "cost_effectiveness.net_benefit",
                    json!({
                        "delta_cost": 18, "delta_effect": 2.1, "sd_cost": 3, "sd_effect": 0.7, "willing_to_pay_per_db": -1
                    }),
                ),
                ("out_of_range", "willing_to_pay_per_db"),
            ),
        ];
        for ((name, input), (reason, field)) in rows {
            let refused = answer(name, &input).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)), "{name} {input}");
        }
    }
}
