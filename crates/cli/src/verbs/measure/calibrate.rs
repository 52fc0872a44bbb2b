//! The recording of a calibrator: what full scale is, noted for a meter.

use std::path::Path;

use serde_json::json;
use storypole_acoustics::calibration::{Calibration, Tone};
use storypole_desk::recording;

use super::{Args, keep, listened};
use crate::called;
use crate::context::Context;
use crate::draft::{Writing, record_json};
use crate::page::{self, Page};
use crate::refused::{Outcome, Refused};

/// Listens to a calibrator.
pub fn listen(file: &Path, args: &Args, level_db: f64) -> Result<Calibration, Refused> {
    let tone = match args.tone {
        1000 => Tone::Hz1000,
        250 => Tone::Hz250,
        other => {
            return Err(Refused::new(
                format!("no calibrator has {other} Hz"),
                "it is --tone 1000 or --tone 250",
            ));
        }
    };
    listened(|progress| recording::calibrate(file, args.channel - 1, tone, level_db, progress))
}

/// Notes full scale for a meter.
pub fn run(context: &Context, args: &Args, meter: &str) -> Outcome {
    let level_db = args.calibrator.ok_or_else(|| {
        Refused::new("the level of the calibrator is not told", "add --calibrator 94; it stands on its label")
    })?;
    let desk = context.open()?;
    let id = called::find(&desk, "meter", meter)?;
    let calibration = listen(&args.file, args, level_db)?;
    let sine_db = calibration.full_scale.of_sine_db();
    let before = called::text(&desk, "meter", id, "full_scale");
    let mut writing = Writing::start(context, &desk, args.by.as_deref())?;
    let is_new = writing.change(id, "meter", "full_scale", Some(&format!("{sine_db:.2}")), None)?;
    let photo = keep::file(&desk, &args.file, id, &mut writing)?;
    let caption = format!("calibrator of {level_db} dB, full-scale sine = {sine_db:.2} dB");
    writing.set(photo, "photo", "caption", &caption)?;
    writing.take()?;
    if context.json() {
        return page::json(&json!({
            "recorded": record_json(&desk, "meter", id),
            "full_scale_sine_db": sine_db,
            "tone_hz": calibration.found_hz,
            "spread_db": calibration.spread_db,
            "distortion_percent": calibration.distortion_percent,
            "duration_s": calibration.duration_s,
        }));
    }
    let mut page = Page::default();
    page.say(&format!(
        "{meter}: a full-scale sine in its recordings is {sine_db:.2} dB. The tone is at {:.1} Hz, steady within {:.2} dB, with {:.1} % \
         of distortion.",
        calibration.found_hz, calibration.spread_db, calibration.distortion_percent
    ));
    if let Some(before) = before.filter(|_| is_new) {
        page.say(&format!("It was {before} dB before: readings of one set must not mix the two."));
    }
    page.say("It holds while device, gain and settings stay as they are. Record the calibrator again at the end of the day.");
    page.print()
}
