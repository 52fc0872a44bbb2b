//! `storypole signal FILE`: makes a test sound that is the same on every computer, and writes down which it is.

use std::fs::OpenOptions;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

use serde_json::json;
use storypole_acoustics::decay;
use storypole_acoustics::test_signal::{CAUTION, Pink, SignalError, Sweep, Written};
use storypole_notebook::Value;

use crate::bar::Bar;
use crate::context::Context;
use crate::draft::{Writing, record_json, warn};
use crate::page::{self, Page};
use crate::refused::{Outcome, Refused, cause, plain};

/// Make a test sound as a WAV file, the same bytes on every computer, and write down which it is.
///
/// Pink noise for levels; a sweep for reverberation. The same settings and seed give the same file, so that before and after
/// are played the same sound, and its hash says so.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole signal pink-60s.wav --label pink-60s
  storypole signal pink.wav --seconds 120 --seed 2 --level -23 --file-only
  storypole signal sweep.wav --sweep --seconds 10 --tail 3")]
pub struct Args {
    /// The file to make; it must not be there yet.
    file: PathBuf,
    /// A sweep from low to high in place of noise.
    #[arg(long)]
    sweep: bool,
    /// How long it sounds; 60 for noise and 10 for a sweep if not told.
    #[arg(long)]
    seconds: Option<f64>,
    /// Silence after a sweep, seconds: at least as long as the room rings.
    #[arg(long, requires = "sweep", default_value_t = 3.0)]
    tail: f64,
    /// Which noise: another number is another noise.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Lowest frequency, Hz.
    #[arg(long = "low", default_value_t = 40.0, value_name = "HZ")]
    from_hz: f64,
    /// Highest frequency, Hz.
    #[arg(long = "high", default_value_t = 18_000.0, value_name = "HZ")]
    to_hz: f64,
    /// Level of the file, dB below full scale: of noise its average (-20), of a sweep its peak (-3).
    #[arg(long, allow_negative_numbers = true, value_name = "DB")]
    level: Option<f64>,
    /// Fade at both ends, seconds.
    #[arg(long)]
    fade: Option<f64>,
    /// Samples a second.
    #[arg(long, default_value_t = 48_000, value_name = "HZ")]
    rate: u32,
    /// Short name to type.
    #[arg(long)]
    label: Option<String>,
    /// Make the file alone, without a notebook.
    #[arg(long, conflicts_with = "label")]
    file_only: bool,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// A sound to be made.
enum Sound {
    Pink(Pink),
    Sweep(Sweep),
}

impl Args {
    fn sound(&self) -> Sound {
        let (sample_rate_hz, from_hz, to_hz) = (self.rate, self.from_hz, self.to_hz);
        if self.sweep {
            let duration_s = self.seconds.unwrap_or(10.0);
            let (fade_s, peak_dbfs) = (self.fade.unwrap_or(0.05), self.level.unwrap_or(-3.0));
            return Sound::Sweep(Sweep {
                sample_rate_hz,
                duration_s,
                from_hz,
                to_hz,
                fade_s,
                tail_s: self.tail,
                peak_dbfs,
            });
        }
        let duration_s = self.seconds.unwrap_or(60.0);
        let (fade_s, rms_dbfs) = (self.fade.unwrap_or(0.5), self.level.unwrap_or(-20.0));
        Sound::Pink(Pink { sample_rate_hz, duration_s, seed: self.seed, from_hz, to_hz, fade_s, rms_dbfs })
    }
}

impl Sound {
    fn write(&self, output: impl Write, bar: &mut Bar) -> Result<Written, SignalError> {
        let progress = |done, of| bar.show("making", done, of);
        match self {
            Self::Pink(pink) => pink.write(output, progress),
            Self::Sweep(sweep) => sweep.write(output, progress),
        }
    }

    /// What it is, so that it could be made again.
    fn description(&self, written: &Written) -> String {
        match self {
            Self::Pink(pink) => format!(
                "pink noise {} to {} Hz, seed {}, {:.1} dB below full scale, {} Hz, 24 bit",
                pink.from_hz, pink.to_hz, pink.seed, -written.rms_dbfs, pink.sample_rate_hz
            ),
            Self::Sweep(sweep) => format!(
                "exponential sweep {} to {} Hz in {} s, then {} s of silence, peak {} dB, {} Hz, 24 bit",
                sweep.from_hz,
                sweep.to_hz,
                sweep.duration_s,
                sweep.tail_s,
                sweep.peak_dbfs,
                sweep.sample_rate_hz
            ),
        }
    }

    fn duration_s(&self) -> f64 {
        match self {
            Self::Pink(pink) => pink.duration_s,
            Self::Sweep(sweep) => sweep.duration_s + sweep.tail_s,
        }
    }
}

/// Makes the sound.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let sound = args.sound();
    if let Sound::Sweep(sweep) = &sound {
        // What cannot be worked out again is not made.
        decay::sweep::Sweep::new(sweep.from_hz, sweep.to_hz, sweep.duration_s)?;
    }
    // Opened first: without a notebook nothing is made either.
    let desk = if args.file_only { None } else { Some(context.open()?) };
    let mut writing =
        desk.as_ref().map(|desk| Writing::start(context, desk, args.by.as_deref())).transpose()?;
    let label = label(args);
    let id =
        writing.as_mut().map(|writing| writing.add("signal", Some(&label))).transpose()?.map(|added| added.0);
    let written = make(&args.file, &sound)?;
    let description = sound.description(&written);
    let mut warnings = Vec::new();
    if let (Some(mut writing), Some(id)) = (writing, id) {
        writing.set(id, "signal", "description", &description)?;
        writing.set_value(id, "signal", "hash", &Value::Hash(*written.hash.as_bytes()))?;
        writing.set(id, "signal", "duration_s", &format!("{}", sound.duration_s()))?;
        warnings = writing.take()?;
    }
    if context.json() {
        let recorded = desk.as_ref().zip(id).map(|(desk, id)| record_json(desk, "signal", id));
        return page::json(&json!({
            "file": args.file.display().to_string(),
            "hash": written.hash.to_hex().to_string(),
            "description": description,
            "rms_dbfs": written.rms_dbfs,
            "true_peak_dbfs": written.true_peak_dbfs,
            "lowered_db": written.lowered_db,
            "frames": written.frames,
            "recorded": recorded,
            "caution": CAUTION,
        }));
    }
    let mut page = Page::default();
    page.say(&format!("made {}: {description}", args.file.display()));
    page.say(&format!("hash {}", written.hash.to_hex()));
    if written.lowered_db > 0.0 {
        let down = format!("{:.1}", written.lowered_db);
        page.say(&format!("It is {down} dB quieter than asked, so that no peak passes -1 dB."));
    }
    if id.is_some() {
        page.say(&format!("recorded as signal {label}"));
    }
    page.blank().say(CAUTION);
    page.print()?;
    warn(&warnings);
    Ok(())
}

/// The label told, or one after the file.
fn label(args: &Args) -> String {
    let stem = args.file.file_stem().map(|stem| stem.to_string_lossy().into_owned());
    args.label.clone().or(stem).unwrap_or_default()
}

fn make(file: &Path, sound: &Sound) -> Result<Written, Refused> {
    let shown = file.display();
    let opened = OpenOptions::new().write(true).create_new(true).open(file).map_err(|error| {
        Refused::new(format!("{shown} cannot be made: {}", plain(&error)), "choose another name or folder")
    })?;
    let mut output = BufWriter::new(&opened);
    let mut bar = Bar::new();
    let made = sound.write(&mut output, &mut bar).and_then(|written| {
        let stored = output.flush().and_then(|()| opened.sync_all());
        stored.map(|()| written).map_err(|source| SignalError::Write(source.into()))
    });
    drop(bar);
    made.map_err(|error| {
        // Half a sound is no test sound.
        let _ = std::fs::remove_file(file);
        let next = match cause(&error) {
            Some(_) => "look whether the disk has room; nothing was left behind",
            None => "choose other numbers; see `storypole signal --help`",
        };
        Refused::from(error).next(next)
    })
}
