//! The conventions that decide what counts as a result, in one place, so that every screen and write-up agrees.
//!
//! Constants are used by the code; [`rules`] lists them in words for people. They are conventions of this project
//! unless a source is named.

/// Smallest change ever claimed, dB.
pub const SMALLEST_CLAIM_DB: f64 = 2.0;
/// Smallest difference of two results that tells them apart, dB.
pub const SMALLEST_APART_DB: f64 = 1.0;
/// A claim or a difference must reach this many standard deviations of repeats.
pub const REPEAT_FACTOR: f64 = 3.0;
/// Standard uncertainty of a change from setting up again, dB.
pub const SETUP_U_DB: f64 = 0.4;
/// Standard uncertainty of a change from another day, dB.
pub const DAY_U_DB: f64 = 0.3;
/// The crew's own repeats replace setup and day from this many on.
pub const OWN_REPEATS: usize = 3;
/// Position scatter is pooled over tests of the kind from this many on.
pub const POOLED_TESTS: usize = 3;
/// A difference between the two averages above this is shown, dB.
pub const AVERAGES_DIFFER_DB: f64 = 0.5;
/// Half-width above which a headline shows no decimals, dB.
pub const HEADLINE_HALF_WIDTH_DB: f64 = 1.0;
/// A long average counts as two readings from this many seconds on.
pub const LONG_AVERAGE_S: f64 = 30.0;
/// Readings one long average counts as.
pub const LONG_AVERAGE_READINGS: usize = 2;
/// A position farther from the mean of the others is an outlier, dB. Common practice, no source.
pub const OUTLIER_DB: f64 = 6.0;
/// Chance of a false alarm of the outlier test on differences.
pub const OUTLIER_ALPHA: f64 = 0.05;
/// A meter that drifted more between its checks voids the set, dB. Common practice, no source.
pub const DRIFT_VOIDS_DB: f64 = 0.5;
/// A background reading this much louder than the reading with the source on is a slip of one of them, dB. Common practice, no
/// source: the two are taken at different moments, so a little may be chance.
pub const BACKGROUND_LOUDER_DB: f64 = 3.0;
/// Receive positions that spread more than this are said to, dB. Common practice, no source: below it even the plain mean of
/// levels is near the energy mean.
pub const WIDE_SPREAD_DB: f64 = 3.0;
/// An opening with more than this share of the sound limits the wall.
pub const LIMITING_SHARE: f64 = 0.5;
/// Changes measured both ways should agree within this, dB. Common practice, no source.
pub const BOTH_WAYS_DB: f64 = 2.0;
/// The first state measured again should agree within this, dB.
pub const DRIFT_CHECK_DB: f64 = 1.0;

/// A control wall that moved more than this wants an explanation before anything is claimed, dB.
pub const CONTROL_MOVED_DB: f64 = DRIFT_CHECK_DB;

/// One convention, for people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Short name.
    pub name: &'static str,
    /// What is decided.
    pub words: &'static str,
}

/// Every convention, in the order findings apply them.
pub fn rules() -> &'static [Rule] {
    RULES
}

const RULES: &[Rule] = &[
    Rule {
        name: "level difference",
        words: "Energy mean of the source readings minus the background-corrected energy mean of the receive readings.",
    },
    Rule {
        name: "background",
        words: "Rule of the notebook, stored with each result: astm_e336 (editions before 2019a) unless another is set. A \
                background at or above the signal leaves only the bound.",
    },
    Rule {
        name: "change",
        words: "Level difference after minus before, each set normalised by its own source level, on the receive positions \
                both sets have. The energy difference leads; the mean of the position differences is shown too where it \
                differs by over 0.5 dB.",
    },
    Rule {
        name: "source not measured",
        words: "Then only the change of the receive level is known. It is said so, and the grade is C at best.",
    },
    Rule {
        name: "uncertainty",
        words: "\"Very likely\" is 95 of 100, by Student's t. Position scatter (pooled over tests of the kind from three on), 0.4 dB \
                for setting up again and 0.3 dB for another day, until three or more repeats of the crew's own replace these \
                two. Shares are shown. Where the scatter is not pooled, the interval is never narrower than the test's own \
                positions make it. A scatter below the step of the meter is held up by that step.",
    },
    Rule {
        name: "claim",
        words: "A change is claimed if it reaches 2 dB and three standard deviations of repeats, and the interval of the full \
                budget excludes zero. While a position lies far from the others nothing is claimed until a person has \
                corrected it or let the set in with a reason.",
    },
    Rule {
        name: "control wall",
        words: "What an untouched wall changed over the same time is told beside and taken off in a second figure. The day drops \
                out where both walls were measured on the same days, setting up too where the source stood in the same room; \
                what does not drop out counts for both walls. The claim stands on the change itself, and not at all while the \
                untouched wall changed by over 1 dB and no person has included its set with a reason.",
    },
    Rule {
        name: "order of sets",
        words: "Sets stand in the order of their days. A set called before that is dated after a later stage of the same job \
                lets nothing be claimed until date or stage are corrected.",
    },
    Rule {
        name: "stages",
        words: "One step for each wall, in the order they were measured. A step belongs to that order: another would have given \
                other steps, and their decibels do not add up. A set that shows an earlier wall again is a check for drift and no \
                step. Money counts by the day it was spent, and what has no day to the first step of its job.",
    },
    Rule {
        name: "other quantities",
        words: "Spots both states have are compared in pairs, others by their means. A change is claimed if its interval excludes \
                zero and it reaches three standard deviations of repeats, where there are repeats. The interval is never narrower \
                than the scatter alone makes it. Dates that contradict the stages, another sky, or a run ended before its rules \
                were kept let nothing be claimed until a person includes the set.",
    },
    Rule {
        name: "air leakage",
        words: "The pressure with the fan off is taken off the others. A change is told as a ratio; the calibration of the fan, \
                5 %, cancels with the same meter before and after, and counts twice otherwise. From one pressure the flow is \
                brought to 50 Pa with an exponent of 0.65 give or take 0.05, and said so.",
    },
    Rule {
        name: "thermal resistance",
        words: "A run may end after 72 hours and whole days, once a day more and the first and last two thirds change it by under \
                5 % (ISO 9869-1). Of the plate's error 0.9 is taken to be the same before and after with one plate; all else \
                counts for both.",
    },
    Rule {
        name: "surface temperature",
        words: "A thermometer is taken to be off by up to 0.5 K (common practice, no source). Under 10 K between inside and outside the \
                grade is C at best.",
    },
    Rule {
        name: "moisture",
        words: "Wood has settled if it moves by 0.1 points a day at most over the last three states and lies within 2 points of what \
                the air asks for; that it is near enough has to be shown, and does not follow from seeing no difference.",
    },
    Rule {
        name: "cannot be told apart",
        words: "The interval of the difference includes zero, or the difference is under 1 dB or under three standard \
                deviations of repeats.",
    },
    Rule {
        name: "bounds",
        words: "At least and at most are carried to the change and never dropped. Between two bounds nothing is determined. A bound \
                is as uncertain as any number, so a headline says at least the lower end of its interval, and at most the upper one.",
    },
    Rule {
        name: "repeats",
        words: "One average of 30 s or longer counts as two readings for the grade; a maximum counts as one.",
    },
    Rule {
        name: "grade",
        words: "A to D for the design of a comparison, never for the size of its result. The worst row wins.",
    },
    Rule {
        name: "flags",
        words: "Each has one effect: said beside the result, lowers the grade, lets nothing be claimed, makes it a bound, keeps it out until a person \
                with a reason includes it, or keeps it apart.",
    },
    Rule {
        name: "values in conflict",
        words: "A reading, condition or part of a wall that stands in conflict or cannot be read is out until a person picks.",
    },
    Rule {
        name: "bench rig",
        words: "Runs take the place of positions. Results of a small panel stand in a table of their own, never beside walls.",
    },
    Rule {
        name: "pools",
        words: "Changes by pair of families before and after; level differences by family; two tables, never mixed. States \
                never mixed, walls limited by an opening apart. Grades A and B in the main pool, C in a second line, D never.",
    },
    Rule {
        name: "likeness of walls",
        words: "Same: all classes, bands and the kind of fill equal. Near: ties, mass bands, filled or not equal; the kind of fill is \
                then what is compared. Family: ties equal. Either way round, a wall of unknown parts in no pool. Bands take in \
                their lower end: leaves 6, 10, 16 and 26 kg/m², cavities 40, 70, 110 and 160 mm, studs 350, 430 and 520 mm apart.",
    },
    Rule {
        name: "rows of jobs",
        words: "One row for each job and wall. Its tests, directions and several walls of one kind are averaged first, their errors \
                correlated by 0.5, and only those of the best grades count. A level difference of one set carries half of the \
                variance that a change has. Of a wall measured again, or changed within its kind, the latest level difference \
                stands.",
    },
    Rule {
        name: "average over jobs",
        words: "Random effects by restricted likelihood, modified Hartung-Knapp interval, next job with one degree of freedom less \
                than jobs. Up to four jobs, and where jobs show no spread, a half-normal prior of scale 2 dB on how jobs differ \
                leads, shown beside scales of 1 and 4 dB. Chances come from that way only. A job is pointed out whose absence \
                moves the average by more than one standard error.",
    },
    Rule {
        name: "cost for each decibel",
        words: "Only of changes, only where the interval of the average lies above zero and two jobs or more have a cost and an area.",
    },
    Rule {
        name: "questions",
        words: "Clearly better: the interval of the difference excludes zero, all pairs of the answer counted, and the difference \
                reaches 1 dB and three standard deviations of repeats. Probably better: large enough, and nine chances in ten. Else \
                it cannot be told. Walls alike in one house count once; with one house each nothing is told. Each side has its \
                own spread between houses from five on, else they share one. A rebuild from one side to the other in one house \
                leads unless jobs in several houses tell more, that house counted with 2 dB for how houses differ.",
    },
    Rule {
        name: "planning",
        words: "Positions differ by 1.2 dB, and single readings by 0.5 dB of it, until three tests have a scatter of their own and \
                three repeats at one spot are there. A room holds twelve positions, a test has four or more. The width counts setting \
                up and the day and is never below what these leave. A reading takes half a minute, a move one, a setup ten.",
    },
    Rule {
        name: "what to test next",
        words: "First what cannot be made up for: a wall about to be closed or changed, a second set of the wall as it was, a set \
                after that is missing. Then information for the hour of measuring; walls behind a weak opening last. An average known \
                to 1 dB and a choice worth under 0.05 dB want no more tests.",
    },
    Rule {
        name: "open studs",
        words: "With studs showing the fill also soaks up sound in the room it faces, so the result belongs to wall and room \
                together. A swap of source and meter, or reverberation times, separate the two.",
    },
    Rule {
        name: "weighted differences",
        words: "Differences of A- or C-weighted levels are not laboratory or field ratings and are never named like one. In \
                headlines they have no decimals when the interval is wider than 1 dB either way.",
    },
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity;

    #[test]
    fn rules_in_words_name_the_constants() {
        let words = |name| rules().iter().find(|rule| rule.name == name).unwrap().words;
        for (name, number) in [
            ("claim", format!("{SMALLEST_CLAIM_DB} dB")),
            ("cannot be told apart", format!("{SMALLEST_APART_DB} dB")),
            ("uncertainty", format!("{SETUP_U_DB} dB")),
            ("uncertainty", format!("{DAY_U_DB} dB")),
            ("change", format!("{AVERAGES_DIFFER_DB} dB")),
            ("repeats", format!("{LONG_AVERAGE_S} s")),
            ("control wall", format!("{CONTROL_MOVED_DB} dB")),
            ("rows of jobs", format!("correlated by {}", crate::across::rows::TESTS_CORRELATION)),
            ("average over jobs", format!("scale {} dB", storypole_statistics::jobs::few::SOUND_SCALE_DB)),
            ("questions", format!("{SMALLEST_APART_DB} dB")),
            ("planning", format!("differ by {} dB", crate::plan::spread::SCATTER_DB)),
            ("planning", format!("readings by {} dB", crate::plan::spread::REPEAT_DB)),
            ("what to test next", format!("known to {SMALLEST_APART_DB} dB")),
            ("air leakage", format!("{} %", quantity::FAN_RELATIVE_U * 100.0)),
            ("air leakage", format!("{} Pa", quantity::REFERENCE_PA)),
            (
                "air leakage",
                format!("{} give or take {}", quantity::ASSUMED_EXPONENT.0, quantity::ASSUMED_EXPONENT.1),
            ),
            ("surface temperature", format!("{} K", quantity::METER_LIMIT_K)),
            ("moisture", format!("within {} points", quantity::NEAR_POINTS)),
        ] {
            assert!(words(name).contains(&number), "{name} does not say {number}");
        }
        assert_eq!(
            (REPEAT_FACTOR, POOLED_TESTS, OWN_REPEATS, LONG_AVERAGE_READINGS),
            (3.0, 3, 3, 2),
            "said as words"
        );
    }
}
