//! Grades: "grade A", "graded B or better", "at least grade B". Leaves out what earns a grade.

use super::Says;
use super::quantity::goes_on;
use super::text::Text;

/// What a comparison does to the range of a grade.
#[derive(Clone, Copy)]
enum Bound {
    Better,
    BetterOrSame,
    Worse,
    WorseOrSame,
}

const BEFORE: &[(&str, Bound)] = &[
    ("at least", Bound::BetterOrSame),
    ("no worse than", Bound::BetterOrSame),
    ("not worse than", Bound::BetterOrSame),
    ("not under", Bound::BetterOrSame),
    ("not below", Bound::BetterOrSame),
    ("better than", Bound::Better),
    ("over", Bound::Better),
    ("above", Bound::Better),
    ("at most", Bound::WorseOrSame),
    ("no better than", Bound::WorseOrSame),
    ("worse than", Bound::Worse),
    ("under", Bound::Worse),
    ("below", Bound::Worse),
];

const BEHIND: &[(&str, Bound)] = &[
    ("or better", Bound::BetterOrSame),
    ("and better", Bound::BetterOrSame),
    ("or above", Bound::BetterOrSame),
    ("or more", Bound::BetterOrSame),
    ("and up", Bound::BetterOrSame),
    ("or worse", Bound::WorseOrSame),
    ("or below", Bound::WorseOrSame),
    ("or less", Bound::WorseOrSame),
];

const NAMES: &[&str] = &["grade", "grades", "graded"];

/// Reads grades that begin here: what is asked and the piece behind it.
pub(super) fn grades(text: &Text<'_>, at: usize) -> Option<(Says, usize)> {
    // "Graded at least B" and "at least grade B" are both said.
    let named = text.past_any(at, NAMES);
    let (bound, next) = match text.phrase(named, BEFORE) {
        Some((bound, next)) => (Some(bound), next),
        None => (None, text.past_any(named, &["between"])),
    };
    let grade_at = if named > at { next } else { text.past_any(next, NAMES) };
    let (one, next) = letter(text, grade_at)?;
    // Without the word, a letter is a grade only where "or better" says so, and then only a capital.
    let is_named = named > at || grade_at > next_of(text, at);
    if !is_named && (bound.is_some() || !is_capital(text, grade_at)) {
        return None;
    }
    match bound {
        Some(bound) => Some((bounded(bound, one)?, next)),
        None => behind(text, next, one, is_named),
    }
}

/// Behind the comparison that begins here, or here.
fn next_of(text: &Text<'_>, at: usize) -> usize {
    text.phrase(at, BEFORE).map_or(at, |(_, next)| next)
}

fn behind(text: &Text<'_>, next: usize, one: char, is_named: bool) -> Option<(Says, usize)> {
    if let Some((bound, next)) = text.phrase(next, BEHIND).filter(|(_, end)| !goes_on(text, *end)) {
        return Some((bounded(bound, one)?, next));
    }
    if !is_named {
        return None;
    }
    let after = text.past_any(next, &["or", "and", "to", "-", "–"]);
    match letter(text, text.past_any(after, NAMES)).filter(|_| after > next) {
        Some((other, next)) => Some((Says::Grades { best: one.min(other), worst: one.max(other) }, next)),
        None => Some((Says::Grades { best: one, worst: one }, next)),
    }
}

fn letter(text: &Text<'_>, at: usize) -> Option<(char, usize)> {
    let grade = match text.word(at) {
        "a" => 'A',
        "b" => 'B',
        "c" => 'C',
        "d" => 'D',
        _ => return None,
    };
    Some((grade, at + 1))
}

fn is_capital(text: &Text<'_>, at: usize) -> bool {
    text.slice(at..at + 1).starts_with(char::is_uppercase)
}

fn bounded(bound: Bound, grade: char) -> Option<Says> {
    let beside = |step: i32| char::from_u32((grade as u32).checked_add_signed(step)?);
    let (best, worst) = match bound {
        Bound::BetterOrSame => ('A', grade),
        Bound::Better => ('A', beside(-1)?),
        Bound::WorseOrSame => (grade, 'D'),
        Bound::Worse => (beside(1)?, 'D'),
    };
    // Nothing is better than A or worse than D.
    (best <= worst).then_some(Says::Grades { best, worst })
}
