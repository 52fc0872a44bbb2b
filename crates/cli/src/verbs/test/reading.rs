//! One reading: written down, corrected, struck.

use storypole_desk::{Desk, Known, edge};
use storypole_journal::RecordId;
use storypole_notebook::kinds::SUBJECTS;
use storypole_notebook::{Quantity, Unit, Value};

use crate::called;
use crate::context::Context;
use crate::draft::Writing;
use crate::refused::{Outcome, Refused};
use crate::typing;
use crate::verbs::test_set::manner::Manner;

mod beside;

/// Write down one reading.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
The place is a position of the test, \"background\" for the room's own noise, or \"-\" where there is no position.
What the reading is of follows from the place: source, receive, background, direct.

Examples:
  storypole test reading T30 S1 94.2 dBA
  storypole test reading T30 R2 69.1 dBA --response leq --seconds 30
  storypole test reading T30 background 33.5 dBA
  storypole test reading T20 - 32.2 dB              a run in a test box
  storypole test reading T26 - 49.8 F --subject surface
  storypole test reading T26 P2 12.6 % --subject moisture   at a spot of its own
  storypole test reading T40 - 8.4 W/m2 --at 06:30          one moment of a run of days
  storypole test reading T40 - 3 m/s                        the wind")]
pub struct Args {
    /// The set.
    set: String,
    /// Position, background, or - for none.
    place: String,
    /// The number with its unit, like 69.1 dBA.
    #[arg(required = true, num_args = 1..=2, allow_negative_numbers = true, value_name = "NUMBER UNIT")]
    value: Vec<String>,
    /// source, receive, background or direct, where it does not follow from the place.
    #[arg(long)]
    role: Option<String>,
    /// What the number is: level, level-difference, surface, inside-air, ...
    #[arg(long)]
    subject: Option<String>,
    /// leq, fast-max, slow-max, fast, slow or spot; as before in this set or test if not told.
    #[arg(long)]
    response: Option<String>,
    /// Averaging time; as before in this set or test if not told.
    #[arg(long)]
    seconds: Option<String>,
    /// Which repeat at this place.
    #[arg(long)]
    replicate: Option<i64>,
    /// When it was read: 06:30 on the day of the set, 2025-02-08 06:30, or now.
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Anything else.
    #[arg(long)]
    note: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Correct a reading.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole test correct T18 R2 78.3 dBA --reason \"digits swapped, photo of the display shows 78.3\"
  storypole test correct T30 background 34.0 dBA --reason \"the worse of two\"")]
pub struct Correct {
    #[command(flatten)]
    which: Which,
    /// What the number is, like surface, where several stand at the place.
    #[arg(long)]
    subject: Option<String>,
    /// The number with its unit, like 78.3 dBA.
    #[arg(required = true, num_args = 1..=2, allow_negative_numbers = true, value_name = "NUMBER UNIT")]
    value: Vec<String>,
    /// Why; the old value stays in the history.
    #[arg(long)]
    reason: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Strike a reading or a set.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole test strike T30 R2 --reason \"the meter had fallen over\"
  storypole test strike T31 --reason \"written twice\"         the whole set")]
pub struct Strike {
    /// The set.
    set: String,
    /// Position or background; without it the whole set.
    place: Option<String>,
    /// Its role, where several readings stand at the place.
    #[arg(long)]
    role: Option<String>,
    /// Which repeat, where there are several.
    #[arg(long)]
    replicate: Option<i64>,
    /// What the number is, like reverberation; a level if not told.
    #[arg(long)]
    subject: Option<String>,
    /// Why.
    #[arg(long)]
    reason: Option<String>,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Which reading of a set.
#[derive(Debug, clap::Args)]
struct Which {
    /// The set.
    set: String,
    /// Position, background, or - for none.
    place: String,
    /// Its role, where several readings stand at the place.
    #[arg(long)]
    role: Option<String>,
    /// Which repeat, where there are several.
    #[arg(long)]
    replicate: Option<i64>,
}

/// A reading about to be written.
#[derive(Debug)]
pub struct Planned {
    /// Its set.
    pub set: RecordId,
    /// Where, if at a position.
    pub position: Option<RecordId>,
    /// What of.
    pub role: String,
    /// What the number is; nothing for the wind, which its unit tells.
    pub subject: Option<String>,
    /// The number.
    pub value: Quantity,
    /// How the meter averaged.
    pub response: Option<String>,
    /// Averaging time, s.
    pub seconds: Option<String>,
    /// Which repeat.
    pub replicate: i64,
}

impl Planned {
    /// What tells it from other readings.
    fn key(&self) -> Vec<(&'static str, Value)> {
        let mut key = vec![("set", Value::Record(self.set)), ("role", Value::Text(self.role.clone()))];
        key.extend(self.position.map(|position| ("position", Value::Record(position))));
        key.extend(self.subject.clone().map(|subject| ("subject", Value::Text(subject))));
        key.push(("replicate", Value::Integer(self.replicate)));
        key
    }

    /// The reading that stands in its place.
    pub fn standing(&self, desk: &Desk) -> Option<RecordId> {
        let mut found = desk.matching("reading", &self.key());
        found.retain(|id| {
            called::reference(desk, "reading", *id, "position") == self.position
                && called::text(desk, "reading", *id, "subject") == self.subject
        });
        found.first().copied()
    }

    /// Puts it into a draft.
    ///
    /// # Errors
    /// A value is refused.
    pub fn write(&self, writing: &mut Writing<'_>) -> Result<RecordId, Refused> {
        let id = edge::record_id();
        for (field, value) in self.key() {
            writing.set_value(id, "reading", field, &value)?;
        }
        writing.set_value(id, "reading", "value", &Value::Quantity(self.value))?;
        writing.set_some(id, "reading", "response", self.response.as_deref())?;
        writing.set_some(id, "reading", "duration_s", self.seconds.as_deref())?;
        Ok(id)
    }
}

/// Writes down a reading.
pub fn run(context: &Context, desk: &Desk, args: &Args) -> Outcome {
    let set = called::find(desk, "set", &args.set)?;
    let value = quantity(&args.value.join(" "))?;
    let (position, of_place) = place(desk, set, &args.place, args.role.as_deref())?;
    let subject = match &args.subject {
        Some(subject) => Some(subject.trim().to_lowercase()),
        None => subject_of(value.unit())?.map(str::to_owned),
    };
    let is_sound = subject.as_deref().is_some_and(is_of_sound);
    // Source and receive are sides of a wall for sound; a surface or a moisture is read where it is.
    let implied = if is_sound { of_place } else { Some("direct".to_owned()) };
    let role = match &args.role {
        Some(role) => role.trim().to_lowercase(),
        None => implied.ok_or_else(|| {
            let next = "say --role source, receive or direct, or give the position a side with `storypole change position`";
            Refused::new(format!("what the reading at {} is of does not follow from its place", args.place), next)
        })?,
    };
    let told = Manner::told(args.response.as_deref(), args.seconds.as_deref());
    // Only levels are averaged by the meter; a temperature is read off.
    let is_level = subject.as_deref().is_some_and(|subject| subject.starts_with("level"));
    let (manner, like) = if is_level { told.settled(desk, set) } else { (told, None) };
    let mut planned = Planned {
        set,
        position,
        role,
        subject,
        value,
        response: manner.response.clone(),
        seconds: manner.seconds.clone(),
        replicate: args.replicate.unwrap_or(1),
    };
    // Runs in a box have no place that tells them apart: the next run is the next repeat.
    while args.replicate.is_none()
        && planned.role == "direct"
        && planned.position.is_none()
        && planned.standing(desk).is_some()
    {
        planned.replicate += 1;
    }
    if let Some(there) = planned.standing(desk) {
        let held = called::text(desk, "reading", there, "value").unwrap_or_default();
        let next = format!(
            "correct it with `storypole test correct {} {} {value} --reason ...`, or add --replicate {} for a repeat",
            args.set,
            args.place,
            planned.replicate + 1
        );
        return Err(Refused::new(format!("{} {} stands already with {held}", args.set, args.place), next));
    }
    let mut writing = Writing::start(context, desk, args.by.as_deref())?;
    let id = planned.write(&mut writing)?;
    writing.set_some(id, "reading", "note", args.note.as_deref())?;
    let day = called::text(desk, "set", set, "date");
    let at = args.at.as_deref().map(|typed| typing::moment(typed, day.as_deref(), context.now()));
    writing.set_some(id, "reading", "taken_at", at.as_deref())?;
    let said = format!("{}: {}", called::name(desk, "set", set), words(&planned, &args.place));
    writing.finish("reading", id, &said)?;
    if let Some(like) = like {
        eprintln!("note: {}, as in {like}; say --response and --seconds where it is not", manner.words());
    }
    beside::look(desk, id, &planned, &args.set, &args.place);
    if planned.subject.as_deref() == Some("level") && !manner.is_whole() {
        let missing = if manner.response.is_none() { "response=leq seconds=30" } else { "seconds=30" };
        eprintln!(
            "note: how the meter averaged is not noted, so this counts as a glance, not as a long average"
        );
        eprintln!("      add it, like: storypole change reading {id} {missing}");
    }
    Ok(())
}

fn words(planned: &Planned, place: &str) -> String {
    let place =
        if planned.position.is_some() { format!("{} {place}", planned.role) } else { planned.role.clone() };
    let seconds = planned.seconds.as_ref().map(|seconds| format!("{seconds} s"));
    let repeat = (planned.replicate > 1).then(|| format!("repeat {}", planned.replicate));
    let subject = planned.subject.clone().filter(|subject| !subject.starts_with("level"));
    let beside: Vec<String> =
        [subject, planned.response.clone(), seconds, repeat].into_iter().flatten().collect();
    let beside = if beside.is_empty() { String::new() } else { format!(" ({})", beside.join(", ")) };
    format!("{place} {}{beside}", planned.value)
}

/// Corrects a reading.
pub fn run_correct(context: &Context, desk: &Desk, args: &Correct) -> Outcome {
    let which = &args.which;
    let value = quantity(&args.value.join(" "))?;
    let told = args.subject.as_ref().map(|subject| subject.trim().to_lowercase());
    let subject = told.as_deref().or(subject_of(value.unit()).ok().flatten());
    let id = find(desk, &which.set, &which.place, which.role.as_deref(), which.replicate, subject)?;
    let reason = args.reason.as_deref().ok_or_else(|| {
        Refused::new(
            "correcting a reading needs a reason",
            "add --reason \"...\"; the old value stays in the history",
        )
    })?;
    let held = called::text(desk, "reading", id, "value").unwrap_or_default();
    let mut writing = Writing::start(context, desk, args.by.as_deref())?;
    let name = format!("{} {}", which.set, which.place);
    if !writing.change(id, "reading", "value", Some(&value.to_string()), Some(reason))? {
        let json = crate::draft::record_json(desk, "reading", id);
        crate::draft::tell(context, &[json], &format!("{name} says {held} already"), &[]);
        return Ok(());
    }
    writing.finish("reading", id, &format!("{name} corrected from {held} to {value}: {reason}"))
}

/// Strikes a reading or a set.
pub fn run_strike(context: &Context, desk: &Desk, args: &Strike) -> Outcome {
    let (kind, id, name) = match &args.place {
        Some(place) => {
            let id =
                find(desk, &args.set, place, args.role.as_deref(), args.replicate, args.subject.as_deref())?;
            ("reading", id, format!("reading {} {place}", args.set))
        }
        None => ("set", called::find(desk, "set", &args.set)?, format!("set {}", args.set)),
    };
    let mut writing = Writing::start(context, desk, args.by.as_deref())?;
    writing.strike(id, kind, args.reason.as_deref())?;
    writing.finish(kind, id, &format!("{name} is struck"))
}

/// Reads a number with its unit.
///
/// # Errors
/// No unit, no number, or outside what the unit allows.
pub fn quantity(typed: &str) -> Result<Quantity, Refused> {
    Ok(Quantity::parse(typed)?)
}

/// Where a reading stands and what it is of, as far as the place tells.
pub fn place(
    desk: &Desk,
    set: RecordId,
    place: &str,
    role: Option<&str>,
) -> Result<(Option<RecordId>, Option<String>), Refused> {
    match place.trim() {
        "background" => Ok((None, Some("background".to_owned()))),
        "-" | "run" => Ok((None, Some("direct".to_owned()))),
        label => {
            let position = position(desk, set, label, role)?;
            Ok((Some(position), called::text(desk, "position", position, "side")))
        }
    }
}

fn position(desk: &Desk, set: RecordId, label: &str, role: Option<&str>) -> Result<RecordId, Refused> {
    if label.contains('/') || label.parse::<RecordId>().is_ok() {
        return called::find(desk, "position", label);
    }
    let test = called::reference(desk, "set", set, "test");
    let test = test.map(|test| called::name(desk, "test", test)).unwrap_or_default();
    match called::positions_of_set(desk, set, label, role)[..] {
        [id] => Ok(id),
        [] => Err(beside::unknown_position(desk, set, &test, label, role)),
        _ => {
            let next = format!("say which room, like {test}/R2/{label}");
            Err(Refused::new(format!("{test} has several positions {label}"), next))
        }
    }
}

/// What a number of this unit is, where the unit alone tells.
///
/// The wind has no subject: its unit says it.
fn subject_of(unit: Unit) -> Result<Option<&'static str>, Refused> {
    let subject = match unit {
        unit if unit.is_level() => "level",
        Unit::Db => "level-difference",
        Unit::Lux => "light",
        Unit::Pascal => "pressure",
        Unit::Cfm | Unit::CubicMetresPerHour => "flow",
        Unit::WattPerSquareMetre => "heat-flow",
        Unit::Count => "smoke-paths",
        Unit::Second => "reverberation",
        Unit::MetrePerSecond => return Ok(None),
        _ => {
            let next = format!("say --subject and one of: {}", SUBJECTS.join(", "));
            return Err(Refused::new(
                format!("a number in {unit} alone does not say what was measured"),
                next,
            ));
        }
    };
    Ok(Some(subject))
}

/// Whether a subject is of sound, which has a source and a receiving side.
fn is_of_sound(subject: &str) -> bool {
    matches!(subject, "level" | "level-difference" | "reverberation")
}

/// The one reading of a set at a place.
fn find(
    desk: &Desk,
    set: &str,
    at: &str,
    role: Option<&str>,
    replicate: Option<i64>,
    subject: Option<&str>,
) -> Result<RecordId, Refused> {
    let id = called::find(desk, "set", set)?;
    let (position, implied) = place(desk, id, at, role)?;
    let mut found = desk.matching("reading", &[("set", Value::Record(id))]);
    found.retain(|reading| {
        let of = |field: &str| called::text(desk, "reading", *reading, field);
        called::reference(desk, "reading", *reading, "position") == position
            && (position.is_some() || of("role") == implied)
            && role.is_none_or(|role| of("role").as_deref() == Some(role))
            && replicate.is_none_or(|number| of("replicate") == Some(number.to_string()))
    });
    // A room's decay may stand at the same spot as a level.
    let is_of = |reading: &RecordId, subject: &str| {
        called::text(desk, "reading", *reading, "subject").is_some_and(|its| its == subject)
    };
    let wanted = subject.unwrap_or("level");
    if subject.is_some() || found.iter().any(|reading| is_of(reading, wanted)) {
        let is_told = subject.is_some_and(|subject| found.iter().any(|reading| is_of(reading, subject)));
        found.retain(|reading| is_of(reading, wanted) || (subject.is_some() && !is_told));
    }
    match found[..] {
        [reading] => Ok(reading),
        [] => {
            let next = format!("write it down with `storypole test reading {set} {at} ...`");
            Err(Refused::new(format!("{set} has no reading at {at}"), next))
        }
        _ => {
            let next = "say which with --replicate, or --role";
            Err(Refused::new(format!("{set} has {} readings at {at}", found.len()), next))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_tells_what_was_measured_or_the_person_must() {
        for (unit, expected) in [
            (Unit::DbC, Some("level")),
            (Unit::Db, Some("level-difference")),
            (Unit::WattPerSquareMetre, Some("heat-flow")),
            (Unit::Count, Some("smoke-paths")),
            (Unit::MetrePerSecond, None),
        ] {
            assert_eq!(subject_of(unit).unwrap(), expected, "{unit}");
        }
        assert!(subject_of(Unit::Fahrenheit).unwrap_err().reason().contains("°F alone does not say"));
    }

    #[test]
    fn readings_are_said_with_how_they_were_taken() {
        let id = RecordId::from_parts(1, [1; 10]);
        let planned = Planned {
            set: id,
            position: Some(id),
            role: "receive".to_owned(),
            subject: Some("level".to_owned()),
            value: quantity("69.1dBA").unwrap(),
            response: Some("leq".to_owned()),
            seconds: Some("30".to_owned()),
            replicate: 2,
        };
        assert_eq!(words(&planned, "R2"), "receive R2 69.1 dBA (leq, 30 s, repeat 2)");
    }
}
