//! Leads through a round of readings: conditions, then source, receive and background, place by place.
//!
//! Every answer is a draft of its own and on disk before the next question, so nothing is lost when the terminal
//! goes. Numbers of other sets are never shown here: who knows them reads the meter with other eyes.

use serde_json::json;
use storypole_desk::{Desk, Known};
use storypole_journal::RecordId;
use storypole_notebook::{Quantity, Unit, Value};

use super::manner::{self, Manner};
use super::{check, conditions};
use crate::ask;
use crate::called;
use crate::context::Context;
use crate::draft::{Writing, warn};
use crate::print::say;
use crate::refused::{Outcome, Refused};
use crate::verbs::test::reading::Planned;

/// Reason written where a reading is replaced within its round.
const AGAIN: &str = storypole_desk::view::past::TAKEN_AGAIN;

/// Why a round ended before its end.
#[derive(Debug)]
pub enum Stopped {
    /// The person left, or the input ended.
    ByPerson,
    /// A write was refused.
    Refused(Refused),
}

impl From<Refused> for Stopped {
    fn from(refused: Refused) -> Self {
        Self::Refused(refused)
    }
}

/// Leads through the round.
pub fn run(context: &Context, desk: &Desk, set: RecordId, by: Option<&str>, manner: Manner) -> Outcome {
    let label = called::name(desk, "set", set);
    let steps = steps(desk, set)?;
    let mut round = Round { context, desk, set, by, manner, steps, unit: None };
    round.unit = manner::unit_of(desk, set);
    let is_over = match round.lead() {
        Ok(()) => true,
        Err(Stopped::ByPerson) => {
            eprintln!();
            false
        }
        Err(Stopped::Refused(refused)) => return Err(refused),
    };
    round.report(&label, is_over);
    Ok(())
}

/// One place to take a reading at.
#[derive(Debug, Clone)]
struct Step {
    position: Option<RecordId>,
    label: String,
    role: &'static str,
    replicate: i64,
    reading: Option<RecordId>,
    value: Option<Quantity>,
    is_open: bool,
    /// The person was told that it is close to the background and kept it.
    is_kept: bool,
}

impl Step {
    fn new(position: Option<RecordId>, label: String, role: &'static str) -> Self {
        Self {
            position,
            label,
            role,
            replicate: 1,
            reading: None,
            value: None,
            is_open: true,
            is_kept: false,
        }
    }

    fn words(&self) -> String {
        match self.role {
            "background" => "background, source off (the worse of before and after)".to_owned(),
            "direct" => format!("run {}", self.replicate),
            role => format!("{role} {}", self.label),
        }
    }
}

/// Places of a set in the order they are read; those with a reading are done.
fn steps(desk: &Desk, set: RecordId) -> Result<Vec<Step>, Refused> {
    let test = called::reference(desk, "set", set, "test").ok_or_else(|| {
        Refused::new("the set belongs to no test", "say which with `storypole change set ... test=Q1`")
    })?;
    let name = called::name(desk, "test", test);
    if !called::is_of_sound(desk, test) {
        let next = "write its readings down one by one with `storypole test reading`";
        return Err(Refused::new(
            format!("{name} does not measure a level difference, which this round is for"),
            next,
        ));
    }
    let mut steps = Vec::new();
    if desk.value(test, "test", "bench_rig") == Some(Value::Flag(true)) {
        steps.push(Step::new(None, String::new(), "direct"));
        return Ok(with_runs(desk, set, steps));
    }
    for (role, room) in [("source", "from_room"), ("receive", "to_room")] {
        let room = called::reference(desk, "set", set, room);
        let of_side = [("test", Value::Record(test)), ("side", Value::Text(role.to_owned()))];
        let mut positions = desk.matching("position", &of_side);
        positions.sort_by_cached_key(|id| called::text(desk, "position", *id, "label"));
        for position in positions {
            let stands_in = called::reference(desk, "position", position, "room");
            if room.is_none() || stands_in.is_none() || room == stands_in {
                let label = called::text(desk, "position", position, "label").unwrap_or_default();
                steps.push(Step::new(Some(position), label, role));
            }
        }
    }
    if !steps.iter().any(|step| step.role == "receive") {
        let next =
            format!("name some first, like `storypole test position {name} R1 --side receive --room R2`");
        return Err(Refused::new(format!("{name} has no receive positions for this set"), next));
    }
    steps.push(Step::new(None, String::new(), "background"));
    for step in &mut steps {
        let mut fields = vec![("set", Value::Record(set)), ("role", Value::Text(step.role.to_owned()))];
        fields.extend(step.position.map(|position| ("position", Value::Record(position))));
        step.reading = desk.matching("reading", &fields).first().copied();
        step.value = step.reading.and_then(|reading| held(desk, reading));
        step.is_open = step.reading.is_none();
    }
    Ok(steps)
}

/// Runs that are held, and one more.
fn with_runs(desk: &Desk, set: RecordId, mut steps: Vec<Step>) -> Vec<Step> {
    let fields = [("set", Value::Record(set)), ("role", Value::Text("direct".to_owned()))];
    let held_runs = desk.matching("reading", &fields);
    let next = steps.remove(0);
    for (reading, replicate) in held_runs.into_iter().zip(1..) {
        let value = held(desk, reading);
        steps.push(Step { replicate, reading: Some(reading), value, is_open: false, ..next.clone() });
    }
    let replicate = i64::try_from(steps.len()).unwrap_or(i64::MAX - 1) + 1;
    steps.push(Step { replicate, ..next });
    steps
}

fn held(desk: &Desk, reading: RecordId) -> Option<Quantity> {
    if let Some(Value::Quantity(value)) = desk.value(reading, "reading", "value") {
        Some(value)
    } else {
        None
    }
}

/// A round under way.
struct Round<'a> {
    context: &'a Context,
    desk: &'a Desk,
    set: RecordId,
    by: Option<&'a str>,
    manner: Manner,
    steps: Vec<Step>,
    unit: Option<Unit>,
}

impl Round<'_> {
    fn lead(&mut self) -> Result<(), Stopped> {
        conditions::ask_all(self.context, self.desk, self.set, self.by)?;
        if !self.steps.iter().any(|step| step.is_open) {
            return Ok(());
        }
        self.settle_manner()?;
        match self.unit {
            Some(unit) => {
                eprintln!("\nNow the readings; a bare number is in {unit}, as in this test before.")
            }
            None => eprintln!("\nNow the readings, the first with its unit, like 94.2 dBA."),
        }
        eprintln!(
            "Blank: leave it out. x: the display cannot be read. redo: the one before again. stop: go on another time."
        );
        while let Some(index) = self.steps.iter().position(|step| step.is_open) {
            self.ask(index)?;
        }
        Ok(())
    }

    /// How the meter averages: as told, as in earlier readings of the test, else asked; kept at once.
    fn settle_manner(&mut self) -> Result<(), Stopped> {
        let (manner, like) = self.manner.clone().settled(self.desk, self.set);
        self.manner = manner.ask()?;
        self.manner.keep(self.context, self.desk, self.set, self.by)?;
        let like = like.map_or_else(String::new, |set| format!(", as in {set}"));
        eprintln!("\nThe meter averages: {}{like}.", self.manner.words());
        Ok(())
    }

    fn ask(&mut self, index: usize) -> Result<(), Stopped> {
        let step = &self.steps[index];
        let unit = self.unit.map_or_else(String::new, |unit| format!(" [{unit}]"));
        let question = match step.value {
            Some(value) => format!("{} again (blank keeps {value}){unit}:", step.words()),
            None => format!("{}{unit}:", step.words()),
        };
        match ask::line(&question).ok_or(Stopped::ByPerson)?.as_str() {
            "stop" => return Err(Stopped::ByPerson),
            "" => self.leave(index),
            "x" => eprintln!("  take that one again: a reading that nobody could read is none"),
            "redo" => self.reopen_before(index),
            typed => match self.read(typed) {
                Ok(value) => self.keep(index, value)?,
                Err(refused) => eprintln!("  {}", refused.reason()),
            },
        }
        Ok(())
    }

    fn leave(&mut self, index: usize) {
        let step = &mut self.steps[index];
        step.is_open = false;
        match step.value {
            Some(value) => {
                step.is_kept = true;
                eprintln!("  kept: {value}");
            }
            None if step.role == "direct" => (),
            None => eprintln!("  left out; the result will say that it is missing"),
        }
    }

    fn reopen_before(&mut self, index: usize) {
        match self.steps[..index].iter_mut().rev().find(|step| step.value.is_some()) {
            Some(step) => step.is_open = true,
            None => eprintln!("  there is none before this one"),
        }
    }

    /// A bare number has the unit that stands in the question.
    fn read(&self, typed: &str) -> Result<Quantity, Refused> {
        let is_bare =
            typed.chars().all(|letter| letter.is_ascii_digit() || matches!(letter, '.' | '-' | '+'));
        match self.unit.filter(|_| is_bare) {
            Some(unit) => crate::verbs::test::reading::quantity(&format!("{typed} {unit}")),
            None => crate::verbs::test::reading::quantity(typed),
        }
    }

    fn keep(&mut self, index: usize, value: Quantity) -> Result<(), Stopped> {
        let is_confirmed = self.steps[index].value == Some(value);
        if !is_confirmed {
            self.write(index, value)?;
        }
        self.unit = self.unit.or(Some(value.unit()));
        let step = &mut self.steps[index];
        step.value = Some(value);
        step.is_open = false;
        step.is_kept |= is_confirmed;
        match step.role {
            "background" => self.look_at_margins(),
            "direct" => self.one_more_run(index),
            _ => self.look_at(index),
        }
        Ok(())
    }

    fn write(&mut self, index: usize, value: Quantity) -> Result<(), Refused> {
        let step = &self.steps[index];
        let mut writing = Writing::start(self.context, self.desk, self.by)?;
        let reading = match step.reading {
            Some(reading) => {
                writing.change(reading, "reading", "value", Some(&value.to_string()), Some(AGAIN))?;
                reading
            }
            None => {
                let subject = if step.role == "direct" { "level-difference" } else { "level" };
                let planned = Planned {
                    set: self.set,
                    position: step.position,
                    role: step.role.to_owned(),
                    subject: Some(subject.to_owned()),
                    value,
                    response: self.manner.response.clone(),
                    seconds: self.manner.seconds.clone(),
                    replicate: step.replicate,
                };
                let reading = planned.write(&mut writing)?;
                writing.set_value(reading, "reading", "taken_at", &Value::Moment(self.context.now()))?;
                reading
            }
        };
        warn(&writing.take()?);
        self.steps[index].reading = Some(reading);
        Ok(())
    }

    /// Says what is odd about a reading while the meter still stands there, and asks for it again.
    fn look_at(&mut self, index: usize) {
        let Some(value) = self.steps[index].value else { return };
        let background_db = self.background_db(value.unit());
        let mut odd = Vec::new();
        if let Some(unit) = self.unit.filter(|unit| *unit != value.unit()) {
            odd.push(format!("in {}, the others are in {unit}", value.unit()));
        }
        // A source reads far over the background anyhow; beside each other its spots must agree as well.
        let is_receive = self.steps[index].role == "receive";
        let others_db = self.others_db(value.unit(), index);
        odd.extend(check::odd_db(value.to_f64(), &others_db, background_db.filter(|_| is_receive)));
        if let Some(background_db) = background_db
            && self.steps[index].role == "receive"
        {
            eprintln!("  margin {:.1} dB over the background", value.to_f64() - background_db);
        }
        let step = &mut self.steps[index];
        if !odd.is_empty() && !step.is_kept {
            eprintln!("  take that one again: {}", odd.join("; "));
            step.is_open = true;
        }
    }

    /// Once the background is known, every receive reading is looked at for its margin.
    fn look_at_margins(&mut self) {
        let mut margins = Vec::new();
        for step in self.steps.clone().iter().filter(|step| step.role == "receive") {
            let background_db = step.value.and_then(|value| self.background_db(value.unit()));
            if let (Some(value), Some(background_db)) = (step.value, background_db) {
                margins.push(format!("{} {:.1}", step.label, value.to_f64() - background_db));
            }
        }
        if !margins.is_empty() {
            eprintln!("  margin over the background, dB: {}", margins.join(", "));
        }
        for index in 0..self.steps.len() {
            let step = &self.steps[index];
            let Some(value) = step.value.filter(|_| step.role == "receive" && !step.is_kept) else {
                continue;
            };
            let odd = check::odd_db(value.to_f64(), &[], self.background_db(value.unit()));
            if !odd.is_empty() {
                eprintln!("  take {} again: {}", self.steps[index].label, odd.join("; "));
                self.steps[index].is_open = true;
            }
        }
    }

    fn one_more_run(&mut self, index: usize) {
        if index + 1 == self.steps.len() {
            let replicate = self.steps[index].replicate + 1;
            let mut next = Step::new(None, String::new(), "direct");
            next.replicate = replicate;
            self.steps.push(next);
        }
    }

    fn background_db(&self, unit: Unit) -> Option<f64> {
        let step = self.steps.iter().find(|step| step.role == "background")?;
        step.value.filter(|value| value.unit() == unit).map(Quantity::to_f64)
    }

    /// Levels at the other spots on the same side, dB.
    fn others_db(&self, unit: Unit, index: usize) -> Vec<f64> {
        let role = self.steps[index].role;
        let of_side = |(other, step): (usize, &Step)| {
            let value = step.value.filter(|value| value.unit() == unit)?;
            (step.role == role && other != index).then(|| value.to_f64())
        };
        self.steps.iter().enumerate().filter_map(of_side).collect()
    }

    fn report(&self, label: &str, is_over: bool) {
        let taken = self.steps.iter().filter(|step| step.value.is_some()).count();
        let missing: Vec<String> = self
            .steps
            .iter()
            .filter(|step| step.value.is_none() && step.role != "direct")
            .map(|step| step.name())
            .collect();
        if self.context.json() {
            let json = json!({ "set": label, "readings": taken, "missing": missing, "finished": is_over });
            say!("{json}");
            return;
        }
        let readings = if taken == 1 { "1 reading is".to_owned() } else { format!("{taken} readings are") };
        say!("{label}: {readings} kept");
        if !missing.is_empty() {
            say!("missing: {}", missing.join(", "));
        }
        if is_over {
            say!("see what it shows: storypole finding {label}");
        } else {
            say!("go on with: storypole test set {label} --guide");
        }
    }
}

impl Step {
    fn name(&self) -> String {
        if self.position.is_some() { format!("{} {}", self.role, self.label) } else { self.role.to_owned() }
    }
}
