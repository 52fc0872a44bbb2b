//! A plan in plain sentences.

use crate::grade::{self, Design, Letter};
use crate::print;
use crate::rules;

use super::numbers::{MOST_IN_A_ROOM, Numbers};
use super::order::Order;
use super::spread::{REPEAT_DB, SCATTER_DB};
use super::{Ask, Plan};

/// What a plan says.
pub(super) fn sentences(plan: &Plan, is_fixed: bool, is_sound: bool) -> Vec<String> {
    let mut said = Vec::new();
    match &plan.numbers {
        Err(missing) => said.push(format!("No numbers yet: {missing}.")),
        Ok(numbers) => {
            said.push(positions(plan, numbers, is_fixed));
            said.push(reckoned(numbers, is_sound));
            said.push(reached(numbers, &plan.ask));
            said.extend(floor(numbers));
            said.extend(width(numbers));
            said.extend(spread_beats_repeats(numbers));
        }
    }
    said.push(effort(plan));
    said.push(order(&plan.order));
    let letter = plan.reachable.letter;
    said.push(format!("At best this gives grade {letter}, with every condition noted and held."));
    said.extend(plan.lifts.iter().cloned());
    said
}

/// A chance in words: `about 9 chances in 10`.
pub(crate) fn chances(chance: f64) -> String {
    if chance > 0.95 {
        "more than 19 chances in 20".to_owned()
    } else if chance < 0.05 {
        "less than 1 chance in 20".to_owned()
    } else {
        let tenths = (chance * 10.0).round().clamp(1.0, 9.0);
        let noun = if tenths < 1.5 { "chance" } else { "chances" };
        format!("about {} {noun} in 10", print::decimals(tenths, 0))
    }
}

/// A number with as many decimals as it takes to tell it from others of its size.
pub(super) fn number(value: f64) -> String {
    let text = print::decimals(value, 1);
    if value != 0.0 && value.abs() < 0.95 {
        let places = usize::try_from((-value.abs().log10()).ceil().max(0.0) as u32).unwrap_or(1);
        return print::decimals(value, places.clamp(1, 6));
    }
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

fn times(count: u32) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        more => format!("{more} times"),
    }
}

fn positions(plan: &Plan, numbers: &Numbers, is_fixed: bool) -> String {
    let unit = &numbers.spread.unit;
    let wanted = number(plan.ask.wanted);
    let (needed, power) = numbers.for_power;
    if is_fixed {
        let taken = numbers.positions;
        let spots =
            if taken == 1 { "1 receive position was" } else { &format!("{taken} receive positions were") };
        let enough = if needed > taken {
            format!(
                "More would be wanted ({needed} for {wanted} {unit}), but only positions read in both states count."
            )
        } else {
            format!("That is enough for {wanted} {unit} as far as positions go ({needed} would do).")
        };
        return format!(
            "{spots} read already: take the same ones again, each {}. {enough}",
            times(numbers.repeats)
        );
    }
    let for_power = format!(
        "{needed} positions would show a change of {wanted} {unit} with {} if nothing but positions differed",
        chances(power)
    );
    let why = if needed > MOST_IN_A_ROOM {
        format!(
            "{for_power}; a room holds {MOST_IN_A_ROOM} at the most, so look for a larger change or take whole setups again"
        )
    } else if needed < numbers.positions {
        format!("{for_power}; a test has {} all the same", numbers.positions)
    } else {
        for_power
    };
    format!(
        "Take {} receive positions, the same before and after, each {} in each state. {why}.",
        numbers.positions,
        times(numbers.repeats)
    )
}

fn reckoned(numbers: &Numbers, is_sound: bool) -> String {
    let spread = &numbers.spread;
    let (scatter, unit) = (print::decimals(spread.scatter, 2), &spread.unit);
    let scatter = if spread.own_scatter() {
        format!("Reckoned with the crew's own spread between positions, {scatter} {unit}")
    } else {
        format!(
            "Reckoned with positions that differ by {SCATTER_DB} dB, a convention of this project until three tests have a spread of \
             their own"
        )
    };
    let repeat = match spread.repeat {
        Some(repeat) if spread.own_repeat => {
            format!(", and its own repeats at one spot, {} {unit}", print::decimals(repeat, 2))
        }
        Some(repeat) if spread.own_scatter() => format!(
            "; the part of single readings in it, {} {unit}, is a guess until some spots were read more than once",
            print::decimals(repeat, 2)
        ),
        Some(_) => format!("; {REPEAT_DB} dB of it for single readings at one spot"),
        None if is_sound => String::new(),
        None => "; no spot was read twice, so nothing is known of repeats".to_owned(),
    };
    format!("{scatter}{repeat}.")
}

fn reached(numbers: &Numbers, ask: &Ask) -> String {
    let spread = &numbers.spread;
    let unit = &spread.unit;
    let counted = if spread.around.is_some() { ", setting up again and another day counted" } else { "" };
    let half = number(numbers.half_width);
    let at = if numbers.positions == 1 {
        "One position has no range at all; two would give".to_owned()
    } else {
        "The change would then be known to".to_owned()
    };
    let mut said = format!("{at} ±{half} {unit}{counted}.");
    let wanted = number(ask.wanted);
    if let Some(limit) = spread.limit {
        said.push_str(&format!(
            " Nothing under {} dB is claimed, so a true change of {wanted} dB would be claimed with {}",
            number(limit),
            chances(numbers.chance)
        ));
        if numbers.chance < ask.chance.value() {
            said.push_str(&format!(
                "; it takes a true change of {} dB for {}",
                number(numbers.least_change),
                chances(ask.chance.value())
            ));
        }
        said.push('.');
    } else {
        said.push_str(" What another day or setting up again adds is not known for this quantity, so that is not in it.");
    }
    said
}

fn floor(numbers: &Numbers) -> Option<String> {
    let floor = numbers.spread.floor()?;
    Some(format!(
        "More positions cannot get below ±{} dB, which is what setting up again and another day add; a second setup on another day could.",
        number(floor)
    ))
}

fn width(numbers: &Numbers) -> Option<String> {
    let precision = numbers.precision?;
    let (unit, wanted) = (&numbers.spread.unit, number(precision.half_width));
    let (alone, _) = precision.alone;
    Some(match precision.in_full {
        Ok(positions) if positions == alone => {
            format!("For ±{wanted} {unit}: {positions} positions.")
        }
        Ok(positions) => format!(
            "For ±{wanted} {unit}: {positions} positions with everything counted, {alone} if nothing but positions differed."
        ),
        Err(unreachable) => {
            let again = match unreachable.setups {
                Some(setups) => format!(
                    "repeat the whole setup {}, before and after, and average",
                    times(u32::try_from(setups).unwrap_or(u32::MAX))
                ),
                None => {
                    "no reasonable number of repeated setups does either; ask for a wider range".to_owned()
                }
            };
            format!(
                "±{wanted} {unit} cannot be reached by positions alone ({alone} if nothing else differed): {again}."
            )
        }
    })
}

/// The same number of readings, spent on positions or on repeats.
fn spread_beats_repeats(numbers: &Numbers) -> Option<String> {
    let find = |positions, repeats| {
        numbers.table.iter().find(|row| (row.positions, row.repeats) == (positions, repeats))
    };
    let (wide, deep) = (find(6, 1)?, find(2, 3)?);
    Some(format!(
        "The same {} readings at 6 positions once give ±{} {unit}, at 2 positions three times ±{} {unit}: new positions tell more than repeats.",
        wide.readings,
        number(wide.half_width),
        number(deep.half_width),
        unit = numbers.spread.unit
    ))
}

fn effort(plan: &Plan) -> String {
    format!(
        "{} readings over all rounds, about {} min with moving and setting up (half a minute a reading, a minute a move, ten a setup: common \
         practice).",
        plan.readings,
        print::decimals((plan.minutes / 5.0).round() * 5.0, 0)
    )
}

fn order(order: &Order) -> String {
    match order {
        Order::ByState(_) => {
            "Take the positions in the drawn order, which differs from round to round; take the first state twice, set up anew, on another day \
             if there is one."
                .to_owned()
        }
        Order::ByPosition { .. } => {
            "Read both states at each position before moving on, in the drawn order, and the first state once more at the end.".to_owned()
        }
    }
}

/// What would lift the grade of a design, criterion by criterion.
pub(super) fn lifts(design: &Design) -> Vec<String> {
    let graded = grade::grade(design);
    let below = graded.criteria.iter().filter(|row| row.letter > Letter::A);
    below.filter_map(|row| lift(row.name, design)).collect()
}

fn lift(name: &str, design: &Design) -> Option<String> {
    Some(match name {
        "positions" => "Five positions would lift the grade to A; three are needed for B.".to_owned(),
        "replicates" => format!(
            "A second average of {} s at each position would lift the grade.",
            print::decimals(rules::LONG_AVERAGE_S, 0)
        ),
        "background" => format!(
            "The background came within {} dB: take it when it is quieter, or play louder.",
            print::decimals(design.margin_db?, 0)
        ),
        "wall" => "A wall with studs showing, or of a state nobody noted, caps the grade: measure it boarded, before and after, or note its state.".to_owned(),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_and_numbers_read_as_people_say_them() {
        let said = [0.5, 0.1, 0.96, 0.01, 0.949].map(chances);
        assert_eq!(
            said,
            [
                "about 5 chances in 10",
                "about 1 chance in 10",
                "more than 19 chances in 20",
                "less than 1 chance in 20",
                "about 9 chances in 10"
            ]
        );
        assert_eq!([2.0, 1.24, 0.3, 0.042, 0.0, 12.0].map(number), ["2", "1.2", "0.3", "0.04", "0", "12"]);
    }
}
