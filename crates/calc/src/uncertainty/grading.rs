//! Grades of designs, and the control wall that takes the drift out.

use serde_json::{Map, Value, json};
use storypole_statistics::fairness::{self, Criterion, Design, Grade, Problems, Wall};
use storypole_statistics::paired::{self, PairedDifferences};
use storypole_statistics::{Confidence, Dof, compare};

use crate::answering::{Answering, measured, refused_sample};
use crate::{Answer, Calc, Field, Fields, Refused};

pub(super) const GRADING_CONTROLS: Calc = Calc {
    name: "grading_controls",
    about: "Grade of a comparison's design, A to D; the worst row wins. A convention of ours.",
    takes: &[
        Field { name: "positions", about: "positions that both sets have, 1 or more" },
        Field { name: "replicates", about: "readings at each position in each state, 1 or more" },
        Field {
            name: "min_background_margin_db",
            about: "smallest margin over the background, dB; null: not measured",
        },
        Field {
            name: "conditions",
            about: "critical, important, minor: how many of each were changed and how many are unknown",
        },
        Field { name: "wall_before", about: "covered, open or unknown" },
        Field { name: "wall_after", about: "covered, open or unknown" },
        Field {
            name: "drift_check_db",
            about: "change of the first state measured again, or of a control wall, dB; null: not done",
        },
    ],
    gives: &[
        Field { name: "grade", about: "A, B, C or D" },
        Field {
            name: "per_criterion",
            about: "the same for positions, replicates, background, conditions, wall and drift",
        },
        Field { name: "limited_by", about: "the criteria at that level; for A all of them" },
    ],
    example: r#"{"positions": 4, "replicates": 3, "min_background_margin_db": 12, "conditions": {"critical": {"changed": 0, "unknown": 0}, "important": {"changed": 0, "unknown": 0}, "minor": {"changed": 0, "unknown": 0}}, "wall_before": "covered", "wall_after": "covered", "drift_check_db": 0.3}"#,
    run: grading_controls,
};

pub(super) const DIFFERENCE_IN_DIFFERENCES: Calc = Calc {
    name: "grading_controls.difference_in_differences",
    about: "Change of a wall less that of an untouched one, with Welch's degrees of freedom (Welch 1947).",
    takes: &[
        Field { name: "test_before", about: "wall under test, level at each position before, dB" },
        Field { name: "test_after", about: "the same after, dB" },
        Field { name: "control_before", about: "untouched wall, level at each position before, dB" },
        Field { name: "control_after", about: "the same after, dB" },
    ],
    gives: &[
        Field { name: "effect", about: "reduction of the test less that of the control, dB" },
        Field { name: "se", about: "its standard error, dB" },
        Field { name: "nu", about: "its effective degrees of freedom" },
        Field { name: "ci", about: "its 95 % interval, dB" },
        Field { name: "control_drift", about: "reduction of the control, dB; beyond 1 dB ask why first" },
    ],
    example: r#"{"test_before": [64.2, 63.1, 65.0, 62.8, 64.5], "test_after": [58.9, 57.0, 60.1, 57.9, 58.2], "control_before": [60.6, 61.2, 59.4], "control_after": [60.0, 61.0, 59.0]}"#,
    run: difference_in_differences,
};

const WALLS: &[(&str, Wall)] =
    &[("covered", Wall::Covered), ("open", Wall::Open), ("unknown", Wall::Unknown)];

fn criterion_word(criterion: Criterion) -> &'static str {
    match criterion {
        Criterion::Positions => "positions",
        Criterion::Replicates => "replicates",
        Criterion::Background => "background",
        Criterion::Conditions => "conditions",
        Criterion::Wall => "wall",
        Criterion::Drift => "drift",
    }
}

fn grade_word(grade: Grade) -> &'static str {
    match grade {
        Grade::A => "A",
        Grade::B => "B",
        Grade::C => "C",
        Grade::D => "D",
    }
}

fn count(fields: &Fields<'_>, name: &str, least: u64) -> Result<u64, Refused> {
    let number = fields.whole(name)?;
    u64::try_from(number)
        .ok()
        .filter(|number| *number >= least)
        .ok_or_else(|| Refused::of("out_of_range", name, format!("{name} is {number}: give {least} or more")))
}

fn problems(conditions: &Map<String, Value>, class: &str) -> Result<Problems, Refused> {
    let within = |refused: Refused| Refused {
        message: format!("conditions.{class}: {}", refused.message),
        field: Some("conditions".to_owned()),
        ..refused
    };
    let object = conditions.get(class).and_then(Value::as_object).ok_or_else(|| {
        within(Refused::of("missing", class, "give how many were changed and how many are unknown"))
    })?;
    let fields = Fields::new(object);
    Ok(Problems {
        changed: count(&fields, "changed", 0).map_err(within)?,
        unknown: count(&fields, "unknown", 0).map_err(within)?,
    })
}

fn grading_controls(fields: &Fields<'_>) -> Answer {
    let conditions = fields
        .some("conditions")
        .and_then(Value::as_object)
        .ok_or_else(|| Refused::of("missing", "conditions", "conditions is missing or no object: give it"))?;
    let got = fairness::grade(&Design {
        positions: count(fields, "positions", 1)?,
        replicates: count(fields, "replicates", 1)?,
        margin_db: fields.number_or_none("min_background_margin_db")?,
        critical: problems(conditions, "critical")?,
        important: problems(conditions, "important")?,
        minor: problems(conditions, "minor")?,
        wall: (fields.choice("wall_before", WALLS)?, fields.choice("wall_after", WALLS)?),
        drift_db: fields.number_or_none("drift_check_db")?,
    });
    let per_criterion: Map<String, Value> = got
        .rows
        .iter()
        .map(|(criterion, grade)| (criterion_word(*criterion).to_owned(), json!(grade_word(*grade))))
        .collect();
    let limited_by: Vec<&str> = got.limited_by().into_iter().map(criterion_word).collect();
    Answering::default()
        .give("grade", grade_word(got.grade))
        .give("per_criterion", per_criterion)
        .give("limited_by", limited_by)
        .done()
}

fn pairs(fields: &Fields<'_>, before: &str, after: &str) -> Result<PairedDifferences, Refused> {
    paired::paired(&measured(fields, before)?, &measured(fields, after)?, Confidence::P95)
        .map_err(|error| refused_sample(after, &error))
}

fn difference_in_differences(fields: &Fields<'_>) -> Answer {
    let test = pairs(fields, "test_before", "test_after")?;
    let control = pairs(fields, "control_before", "control_after")?;
    let got = compare::difference_in_differences(&test, &control, Confidence::P95);
    Answering::default()
        .give("effect", got.value)
        .known("se", got.u)
        .known("nu", got.dof.map(Dof::finite).map(|dof| json!(dof)))
        .interval("ci", got.interval)
        .give("control_drift", control.mean)
        .done()
}

#[cfg(test)]
mod tests {
    use crate::answer;
    use crate::answering::checks::{check, refusal};
    use serde_json::{Value, json};

    fn design() -> Value {
        let none = json!({"changed": 0, "unknown": 0});
        json!({"positions": 4, "replicates": 3, "min_background_margin_db": 12,
            "conditions": {"critical": none, "important": none, "minor": none},
            "wall_before": "covered", "wall_after": "covered", "drift_check_db": 0.3})
    }

    #[test]
    fn grades_follow_the_worst_row() {
        // The project's own rule: four positions cap at B, a changed critical condition at D.
        let got = answer("grading_controls", &design()).unwrap();
        assert_eq!((&got["grade"], &got["limited_by"]), (&json!("B"), &json!(["positions"])));
        assert_eq!(got["per_criterion"]["background"], "A");
        let mut worse = design();
        worse["conditions"]["critical"]["changed"] = json!(1);
        worse["wall_after"] = json!("open");
        let got = answer("grading_controls", &worse).unwrap();
        assert_eq!((&got["grade"], &got["limited_by"]), (&json!("D"), &json!(["conditions", "wall"])));
        let mut less = design();
        less["min_background_margin_db"] = Value::Null;
        less["drift_check_db"] = Value::Null;
        let got = answer("grading_controls", &less).unwrap();
        assert_eq!((&got["grade"], &got["limited_by"]), (&json!("C"), &json!(["background"])));
        assert_eq!(got["per_criterion"]["drift"], "B");
    }

    #[test]
    fn differences_in_differences_match() {
        // Computed independently with scipy 1.17, ttest_ind without equal variances.
        let input = json!({
            "test_before": [64.2, 63.1, 65.0, 62.8, 64.5], "test_after": [58.9, 57.0, 60.1, 57.9, 58.2],
            "control_before": [60.6, 61.2, 59.4], "control_after": [60.0, 61.0, 59.0]});
        check(
            "grading_controls.difference_in_differences",
            &input,
            &[
                ("effect", 5.1),
                ("se", 0.3183289703016885),
                ("nu", 5.071115013169448),
                ("ci/0", 4.285148835049696),
                ("ci/1", 5.914851164950304),
                ("control_drift", 0.4),
            ],
        );
        let one = json!({"test_before": [64], "test_after": [58], "control_before": [60, 61],
            "control_after": [60, 60]});
        let got = answer("grading_controls.difference_in_differences", &one).unwrap();
        assert_eq!((&got["effect"], &got["ci"]), (&json!(5.5), &Value::Null));
    }

    #[test]
    fn bad_input_is_refused_by_field() {
        let rows = [
            ("positions", json!(0), ("out_of_range", "positions")),
            ("positions", json!(2.5), ("not_whole", "positions")),
            ("wall_before", json!("glazed"), ("unknown_word", "wall_before")),
            ("conditions", json!([]), ("missing", "conditions")),
            ("conditions", json!({"critical": {"changed": 0, "unknown": 0}}), ("missing", "conditions")),
            (
                "conditions",
                json!({"critical": {"changed": -1, "unknown": 0}}),
                ("out_of_range", "conditions"),
            ),
        ];
        for (field, value, (reason, about)) in rows {
            let mut input = design();
            input[field] = value;
            assert_eq!(refusal("grading_controls", &input), (reason, about.to_owned()), "{input}");
        }
    }
}
