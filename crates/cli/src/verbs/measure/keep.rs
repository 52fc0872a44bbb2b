//! A measured number and its bands as a reading, with the recording kept beside it.

use std::fs::File;
use std::path::Path;

use storypole_desk::recording::kept;
use storypole_desk::{Desk, edge};
use storypole_journal::RecordId;
use storypole_notebook::bands::Bands;
use storypole_notebook::{Quantity, Unit, Value};
use storypole_units::Decimal;

use super::{Args, Place};
use crate::called;
use crate::context::Context;
use crate::draft::Writing;
use crate::refused::{Outcome, Refused};
use crate::verbs::attach::media_type;
use crate::verbs::test::reading::Planned;

/// A reading about to be kept.
pub struct Reading<'a> {
    /// What the number is: `level` or `reverberation`.
    pub subject: &'a str,
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: Unit,
    /// Averaging time, s; `None` where nothing is averaged.
    pub seconds: Option<f64>,
    /// By band.
    pub bands: Option<Bands>,
    /// Further fields, as typed.
    pub more: Vec<(&'static str, String)>,
}

/// Looks whether the place is free, before anything takes long.
///
/// # Errors
/// A reading stands there.
pub fn check_free(desk: &Desk, args: &Args, place: &Place, subject: &str, unit: Unit) -> Outcome {
    let planned = planned(args, place, subject, Quantity::new(Decimal::from_int(1), unit)?, None);
    let Some(there) = planned.standing(desk) else { return Ok(()) };
    let held = called::text(desk, "reading", there, "value").unwrap_or_default();
    let next = format!(
        "strike it with `storypole test strike {} {} --reason ...`, or add --replicate {} for a repeat",
        place.set_name,
        place.position_name,
        args.replicate + 1
    );
    Err(Refused::new(format!("{} {} stands already with {held}", place.set_name, place.position_name), next))
}

fn planned(args: &Args, place: &Place, subject: &str, value: Quantity, seconds: Option<f64>) -> Planned {
    Planned {
        set: place.set,
        position: place.position,
        role: place.role.clone(),
        subject: Some(subject.to_owned()),
        value,
        response: seconds.map(|_| "leq".to_owned()),
        seconds: seconds.map(kept::seconds),
        replicate: args.replicate,
    }
}

/// Keeps the recording and writes the reading, in one draft.
///
/// # Errors
/// The number is out of what the unit takes, the file cannot be kept, the desk refuses.
pub fn keep(
    context: &Context,
    desk: &Desk,
    args: &Args,
    place: &Place,
    reading: Reading<'_>,
) -> Result<RecordId, Refused> {
    let value = kept::number(reading.value, reading.unit).map_err(|error| {
        let next = error.next_step();
        Refused::from(error).next(next)
    })?;
    let mut writing = Writing::start(context, desk, args.by.as_deref())?;
    let id = planned(args, place, reading.subject, value, reading.seconds).write(&mut writing)?;
    if let Some(bands) = &reading.bands {
        writing.set(id, "reading", "bands", &bands.to_string())?;
    }
    for (field, typed) in &reading.more {
        writing.set(id, "reading", field, typed)?;
    }
    let photo = file(desk, &args.file, id, &mut writing)?;
    writing.set_value(id, "reading", "recording", &Value::Record(photo))?;
    let warnings = writing.take()?;
    crate::draft::warn(&warnings);
    Ok(id)
}

/// Keeps a recording and pins it to a record; gives the record of the file.
///
/// # Errors
/// The file cannot be read or kept.
pub fn file(
    desk: &Desk,
    path: &Path,
    about: RecordId,
    writing: &mut Writing<'_>,
) -> Result<RecordId, Refused> {
    let held = desk.keep_file(&mut File::open(path)?)?;
    let photo = edge::record_id();
    let bytes = i64::try_from(held.bytes).unwrap_or(i64::MAX);
    writing.set_value(photo, "photo", "about", &Value::Record(about))?;
    writing.set_value(photo, "photo", "hash", &Value::Hash(held.hash))?;
    writing.set_value(photo, "photo", "bytes", &Value::Integer(bytes))?;
    if let Some(name) = path.file_name() {
        writing.set(photo, "photo", "name", &name.to_string_lossy())?;
    }
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    writing.set_some(photo, "photo", "media_type", ending.as_deref().and_then(media_type))?;
    Ok(photo)
}
