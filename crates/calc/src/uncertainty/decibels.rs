//! Uncertainty of levels: energy means, the background, and reductions of which some are only bounds.

use serde_json::json;
use storypole_statistics::background::{self, LevelError, Margin, UncertainLevel};
use storypole_statistics::censored::{self, Reading};
use storypole_statistics::{Absent, Confidence, Dof, Probability, decibels};

use crate::answering::{Answering, measured, refused_sample};
use crate::{Answer, Calc, Field, Fields, Refused};

pub(super) const ENERGY_MEAN: Calc = Calc {
    name: "decibels.energy_mean",
    about: "Energy mean of levels with its uncertainty: ISO 16283-1 and first-order propagation (GUM clause 5.1.2).",
    takes: &[Field { name: "levels", about: "one for each position, dB" }],
    gives: &[
        Field { name: "n", about: "levels" },
        Field { name: "energy_mean", about: "mean by energy, dB" },
        Field { name: "arithmetic_mean", about: "mean as numbers, dB" },
        Field { name: "u_delta", about: "standard uncertainty of the energy mean, dB" },
        Field { name: "sd_levels", about: "standard deviation of the levels, dB" },
        Field {
            name: "lognormal_approx",
            about: "arithmetic mean + ln 10/20 sd^2: the energy mean of normal levels, dB",
        },
        Field { name: "one_dominates", about: "one of several positions holds 80 % of all energy or more" },
    ],
    example: r#"{"levels": [64.2, 63.1, 65.0, 62.8, 64.5]}"#,
    run: energy_mean,
};

pub(super) const ENERGY_DIFFERENCE: Calc = Calc {
    name: "decibels.energy_difference",
    about: "Fall of the energy mean over the same positions, what they share cancelled: GUM clause 5.1.2.",
    takes: &[
        Field { name: "before", about: "level at each position before, dB" },
        Field { name: "after", about: "level at the same positions after, dB" },
    ],
    gives: &[
        Field { name: "D_energy", about: "energy mean before less after, dB: change of the room's sound" },
        Field { name: "u", about: "its standard uncertainty, dB" },
        Field { name: "df", about: "degrees of freedom, n - 1" },
        Field { name: "ci", about: "its 95 % interval, dB" },
        Field { name: "D_arithmetic", about: "mean of the differences, dB: the typical change at a spot" },
    ],
    example: r#"{"before": [64.2, 63.1, 65.0, 62.8, 64.5], "after": [58.9, 57.0, 60.1, 57.9, 58.2]}"#,
    run: energy_difference,
};

const LEVEL: Field = Field { name: "level", about: "source and background together, dB" };
const BACKGROUND: Field = Field { name: "background", about: "background alone, dB" };
const U_LEVEL: Field = Field { name: "u_level", about: "standard uncertainty of the level, dB" };
const U_BACKGROUND: Field =
    Field { name: "u_background", about: "standard uncertainty of the background, dB" };

pub(super) const BACKGROUND_CORRECTION: Calc = Calc {
    name: "decibels.background_correction",
    about: "Level less the background's energy, with its uncertainty: ISO 16283-1 clause 9.2 (from memory), GUM clause 5.2.2.",
    takes: &[
        LEVEL,
        BACKGROUND,
        U_LEVEL,
        U_BACKGROUND,
        Field { name: "correlation", about: "of the two errors, -1 to 1" },
    ],
    gives: &[
        Field { name: "margin", about: "level less background, dB" },
        Field { name: "regime", about: "clear from 10 dB, correct from 6 dB, else limit" },
        Field { name: "reported", about: "the level, the corrected one, or 1.3 dB below the level, dB" },
        Field {
            name: "corrected",
            about: "by energy whatever the regime, dB; null with the background at or above the level",
        },
        Field { name: "c1", about: "sensitivity of the corrected level to the level" },
        Field { name: "cb", about: "sensitivity to the background; c1 + cb = 1" },
        Field { name: "u", about: "standard uncertainty of the corrected level, dB" },
    ],
    example: r#"{"level": 48.3, "background": 41.2, "u_level": 0.5, "u_background": 0.7, "correlation": 0}"#,
    run: background_correction,
};

pub(super) const SIGNAL_UPPER_BOUND: Calc = Calc {
    name: "decibels.signal_upper_bound",
    about: "The most that a source hidden by the background can have been: propagation in power, a convention of ours.",
    takes: &[
        LEVEL,
        BACKGROUND,
        U_LEVEL,
        U_BACKGROUND,
        Field { name: "p", about: "probability that the true level lies below, 0.5 to 1" },
    ],
    gives: &[
        Field { name: "upper_uncapped", about: "bound from both readings, dB; null where they contradict" },
        Field { name: "cap", about: "bound from the level alone, dB" },
        Field { name: "upper", about: "the lower of the two, dB" },
        Field {
            name: "contradiction",
            about: "the background was read louder than the whole by more than the uncertainties allow",
        },
    ],
    example: r#"{"level": 43.1, "background": 42.0, "u_level": 0.5, "u_background": 0.6, "p": 0.975}"#,
    run: signal_upper_bound,
};

pub(super) const RIGHT_CENSORED_NORMAL: Calc = Calc {
    name: "decibels.right_censored_normal",
    about: "Mean of reductions of which some are only bounds, by maximum likelihood: Tobin 1958.",
    takes: &[
        Field { name: "reductions", about: "one for each position, dB" },
        Field { name: "is_lower_bound", about: "true where the background hid the rest" },
    ],
    gives: &[
        Field { name: "mu", about: "likeliest mean, dB; null with nothing but bounds" },
        Field { name: "sigma", about: "likeliest standard deviation, dB" },
        Field { name: "mean_of_bounds", about: "mean with bounds taken as values, dB: at least this" },
        Field { name: "loglik", about: "logarithm of the likelihood" },
    ],
    example: r#"{"reductions": [5.1, 6.0, 4.7, 5.5], "is_lower_bound": [false, false, false, true]}"#,
    run: right_censored_normal,
};

fn energy_mean(fields: &Fields<'_>) -> Answer {
    let got = decibels::energy_mean(&measured(fields, "levels")?)
        .map_err(|error| refused_sample("levels", &error))?;
    Answering::default()
        .give("n", got.n)
        .give("energy_mean", got.mean_db)
        .give("arithmetic_mean", got.arithmetic_mean_db)
        .known("u_delta", got.u_db)
        .known("sd_levels", got.sd_db)
        .known("lognormal_approx", got.if_normal_db)
        .give("one_dominates", got.dominated())
        .done()
}

fn energy_difference(fields: &Fields<'_>) -> Answer {
    let (before, after) = (measured(fields, "before")?, measured(fields, "after")?);
    let got = decibels::paired_energy_difference(&before, &after, Confidence::P95)
        .map_err(|error| refused_sample("after", &error))?;
    Answering::default()
        .give("D_energy", got.difference_db)
        .known("u", got.u_db)
        .known("df", got.dof.map(Dof::finite).map(|dof| json!(dof)))
        .interval("ci", got.interval_db)
        .give("D_arithmetic", got.arithmetic_difference_db)
        .done()
}

/// Reads a level and the field that holds its uncertainty.
fn uncertain(fields: &Fields<'_>, level: &str, u: &str) -> Result<UncertainLevel, Refused> {
    UncertainLevel::new(fields.number(level)?, fields.number(u)?)
        .map_err(|error| Refused::from_error("out_of_range", u, &error))
}

fn both(fields: &Fields<'_>) -> Result<(UncertainLevel, UncertainLevel), Refused> {
    Ok((uncertain(fields, "level", "u_level")?, uncertain(fields, "background", "u_background")?))
}

fn background_correction(fields: &Fields<'_>) -> Answer {
    let (signal, background) = both(fields)?;
    let subtracted = background::subtract_background(&signal, &background, fields.number("correlation")?)
        .map_err(|error: LevelError| Refused::from_error("out_of_range", "correlation", &error))?;
    let margin = Margin::of(&signal, &background);
    let regime = match margin {
        Margin::Clear => "clear",
        Margin::Correct => "correct",
        Margin::Limit => "limit",
    };
    Answering::default()
        .give("margin", signal.level_db() - background.level_db())
        .give("regime", regime)
        .give("reported", margin.reported_db(&signal, &subtracted))
        .known("corrected", subtracted.map(|subtracted| subtracted.level_db))
        .known("c1", subtracted.map(|subtracted| subtracted.signal_sensitivity))
        .known("cb", subtracted.map(|subtracted| subtracted.background_sensitivity))
        .known("u", subtracted.map(|subtracted| subtracted.u_db))
        .done()
}

fn signal_upper_bound(fields: &Fields<'_>) -> Answer {
    let (signal, background) = both(fields)?;
    let p = fields.number("p")?;
    let probability = Probability::new(p)
        .ok()
        .filter(|_| p >= 0.5)
        .ok_or_else(|| Refused::of("out_of_range", "p", format!("p is {p}: give 0.5 or more, below 1")))?;
    let got = background::signal_upper_bound(&signal, &background, probability);
    Answering::default()
        .known("upper_uncapped", got.from_powers_db)
        .give("cap", got.cap_db)
        .give("upper", got.upper_db)
        .give("contradiction", got.from_powers_db == Err(Absent::Contradiction))
        .done()
}

fn right_censored_normal(fields: &Fields<'_>) -> Answer {
    let (reductions, is_bound) = (measured(fields, "reductions")?, fields.flags("is_lower_bound")?);
    if reductions.len() != is_bound.len() {
        let words = format!("{} flags for {} reductions: give one each", is_bound.len(), reductions.len());
        return Err(Refused::of("unequal_lengths", "is_lower_bound", words));
    }
    let reading = |(value, is_bound): (f64, bool)| {
        if is_bound { Reading::AtLeast(value) } else { Reading::Known(value) }
    };
    let readings: Vec<Reading> = reductions.into_iter().zip(is_bound).map(reading).collect();
    let got =
        censored::right_censored_normal(&readings).map_err(|error| refused_sample("reductions", &error))?;
    Answering::default()
        .known("mu", got.fit.map(|fit| fit.mean))
        .known("sigma", got.fit.map(|fit| fit.sd))
        .give("mean_of_bounds", got.mean_of_bounds)
        .known("loglik", got.fit.map(|fit| fit.log_likelihood))
        .done()
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use crate::answering::checks::{check, refusal};
    use serde_json::{Value, json};

    #[test]
    fn means_and_differences_match() {
        // Computed independently with numpy 2.4 and scipy 1.17.
        let before = [64.2, 63.1, 65.0, 62.8, 64.5];
        check(
            "decibels.energy_mean",
            &json!({"levels": before}),
            &[
                ("n", 5.0),
                ("energy_mean", 63.9995487492292),
                ("arithmetic_mean", 63.92),
                ("u_delta", 0.4091436712577208),
                ("sd_levels", 0.9364827814754532),
                ("lognormal_approx", 64.02096835632778),
            ],
        );
        check(
            "decibels.energy_difference",
            &json!({"before": before, "after": [58.9, 57.0, 60.1, 57.9, 58.2]}),
            &[
                ("D_energy", 5.452826261635381),
                ("u", 0.2968492646887418),
                ("df", 4.0),
                ("ci/0", 4.6286405737087595),
                ("ci/1", 6.277011949562002),
                ("D_arithmetic", 5.5),
            ],
        );
        let one = answer("decibels.energy_mean", &json!({"levels": [60]})).unwrap();
        assert_eq!((&one["u_delta"], &one["energy_mean"]), (&Value::Null, &json!(60.0)));
    }

    #[test]
    fn backgrounds_match() {
        // Computed independently with mpmath (40 digits) and scipy 1.17.
        let input = |background: f64, u: f64, correlation: f64| {
            json!({"level": 48.3, "background": background, "u_level": 0.5, "u_background": u,
                "correlation": correlation})
        };
        let expected = [("corrected", 47.3580426407), ("c1", 1.24221204471), ("cb", -0.242212044714)];
        check("decibels.background_correction", &input(41.2, 0.7, 0.0), &expected);
        check("decibels.background_correction", &input(41.2, 0.7, 0.0), &[("u", 0.643831780486)]);
        check("decibels.background_correction", &input(41.2, 0.5, 1.0), &[("u", 0.5)]);
        let rows = [(38.3, "clear", 48.3), (45.0, "limit", 47.0), (49.0, "limit", 47.0)];
        for (background, regime, reported) in rows {
            let got = answer("decibels.background_correction", &input(background, 0.5, 0.0)).unwrap();
            assert_eq!((&got["regime"], &got["reported"]), (&json!(regime), &json!(reported)));
            assert_eq!(got["corrected"].is_null(), background > 48.3);
        }
        let hidden =
            json!({"level": 43.1, "background": 42.0, "u_level": 0.5, "u_background": 0.6, "p": 0.975});
        let expected = [("upper_uncapped", 40.3601980094), ("upper", 40.3601980094), ("cap", 44.0799819923)];
        check("decibels.signal_upper_bound", &hidden, &expected);
        let against = json!({"level": 40, "background": 45, "u_level": 0.2, "u_background": 0.2, "p": 0.975});
        let got = answer("decibels.signal_upper_bound", &against).unwrap();
        assert_eq!((&got["contradiction"], &got["upper"]), (&json!(true), &got["cap"]));
        assert!(got["absent"]["upper_uncapped"].as_str().unwrap().contains("contradict"));
    }

    #[test]
    fn bounds_among_reductions_match() {
        // Computed independently with scipy 1.17 (BFGS on norm.logpdf and norm.logsf), which gives seven digits.
        let input =
            json!({"reductions": [5.1, 6.0, 4.7, 5.5], "is_lower_bound": [false, false, false, true]});
        let got = answer("decibels.right_censored_normal", &input).unwrap();
        for (field, expected) in
            [("mu", 5.43467275), ("sigma", 0.57858186), ("loglik", -3.353455998), ("mean_of_bounds", 5.325)]
        {
            assert!((got[field].as_f64().unwrap() - expected).abs() < 1e-7, "{got:?}");
        }
        let only = json!({"reductions": [5.0, 6.0], "is_lower_bound": [true, true]});
        let got = answer("decibels.right_censored_normal", &only).unwrap();
        assert_eq!((&got["mu"], &got["mean_of_bounds"]), (&Value::Null, &json!(5.5)));
    }

    #[test]
    fn bad_input_is_refused_by_field() {
        let level =
            json!({"level": 48, "background": 41, "u_level": -0.5, "u_background": 0.7, "correlation": 0});
        let correlation =
            json!({"level": 48, "background": 41, "u_level": 0.5, "u_background": 0.7, "correlation": 2});
        let p = json!({"level": 43, "background": 42, "u_level": 0.5, "u_background": 0.6, "p": 0.1});
        let rows = [
            ("decibels.energy_mean", json!({"levels": []}), ("no_values", "levels")),
            (
                "decibels.energy_difference",
                json!({"before": [1], "after": [1, 2]}),
                ("unequal_lengths", "after"),
            ),
            ("decibels.background_correction", level, ("out_of_range", "u_level")),
            ("decibels.background_correction", correlation, ("out_of_range", "correlation")),
            ("decibels.signal_upper_bound", p, ("out_of_range", "p")),
            (
                "decibels.right_censored_normal",
                json!({"reductions": [5], "is_lower_bound": [0]}),
                ("not_a_flag", "is_lower_bound"),
            ),
            (
                "decibels.right_censored_normal",
                json!({"reductions": [5], "is_lower_bound": []}),
                ("unequal_lengths", "is_lower_bound"),
            ),
        ];
        for (name, input, (reason, field)) in rows {
            assert_eq!(refusal(name, &input), (reason, field.to_owned()), "{name} {input}");
        }
    }
}
