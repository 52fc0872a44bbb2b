//! `storypole measure FILE`: makes readings from a recording: levels and bands, a calibrator, a room's decay.

use std::path::PathBuf;

use storypole_acoustics::recording::RecordingError;
use storypole_desk::recording::scale::{NoScale, Scale};
use storypole_desk::{Desk, recording};
use storypole_journal::RecordId;

use crate::bar::Bar;
use crate::called;
use crate::context::Context;
use crate::refused::{Outcome, Refused, cause, plain};
use crate::verbs::test::reading;

mod calibrate;
mod decay;
mod keep;
mod levels;

/// Measure a recording: a reading with its bands for a set, or only shown.
///
/// Reads WAV, FLAC, MP3 and AAC (M4A); the last two lose quiet and high sounds. A level needs to know what full scale is: from a
/// recording of a calibrator, from its level, or noted for the meter. A telephone must have its automatic gain off.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole measure calibrator.wav --calibrate M1 --calibrator 94
  storypole measure music-room.wav --set T30 --position S1
  storypole measure hall-1.wav --test Q1 --position R1 --cut \"12-15 a truck passed\"
  storypole measure hall-quiet.wav --set T30 --background
  storypole measure clap.wav --set T30 --position R1 --reverberation clap
  storypole measure sweep-back.wav --reverberation sweep --low 40 --high 18000 --seconds 10
  storypole measure hall-1.wav --full-scale 117 --history          only shown")]
pub struct Args {
    /// The recording.
    file: PathBuf,
    /// The set the reading belongs to.
    #[arg(long)]
    set: Option<String>,
    /// The test, for its newest set.
    #[arg(long, conflicts_with = "set")]
    test: Option<String>,
    /// Where the meter stood: a position of the test.
    #[arg(long, conflicts_with = "background")]
    position: Option<String>,
    /// The room's own noise, with the source off.
    #[arg(long)]
    background: bool,
    /// Which repeat, where there are several at one place.
    #[arg(long, default_value_t = 1)]
    replicate: i64,
    /// Level of a full-scale sine in the recording, dB re 20 µPa.
    #[arg(long, allow_negative_numbers = true, value_name = "DB")]
    full_scale: Option<f64>,
    /// A recording of a calibrator with the same gain, to take full scale from.
    #[arg(long, value_name = "FILE", conflicts_with = "full_scale")]
    calibration: Option<PathBuf>,
    /// Level of the calibrator, dB: mostly 94 or 114.
    #[arg(long, value_name = "DB")]
    calibrator: Option<f64>,
    /// Frequency of the calibrator, Hz: 1000 or 250.
    #[arg(long, value_name = "HZ", default_value_t = 1000)]
    tone: u32,
    /// Take the recording for that of a calibrator, and note full scale for this meter.
    #[arg(long, value_name = "METER", requires = "calibrator", conflicts_with_all = ["set", "test", "position", "background"])]
    calibrate: Option<String>,
    /// Which channel of the recording, from 1.
    #[arg(long, default_value_t = 1)]
    channel: u16,
    /// dBA, dBC or dBZ; as in the set so far, else dBA.
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// Cut something out, with the reason: "12-15 a truck passed", seconds or minutes:seconds.
    #[arg(long, value_name = "FROM-TO WHY")]
    cut: Vec<String>,
    /// Measure the room's decay from a clap, from noise that stops, or from a sweep.
    #[arg(long, value_name = "SOURCE", conflicts_with = "background", value_parser = ["clap", "noise", "sweep"])]
    reverberation: Option<String>,
    /// In octaves in place of thirds, for a room's decay.
    #[arg(long, requires = "reverberation")]
    octaves: bool,
    /// Lowest frequency of the sweep, Hz.
    #[arg(long = "low", default_value_t = 40.0, value_name = "HZ")]
    from_hz: f64,
    /// Highest frequency of the sweep, Hz.
    #[arg(long = "high", default_value_t = 18_000.0, value_name = "HZ")]
    to_hz: f64,
    /// Length of the sweep, without the silence after it.
    #[arg(long, default_value_t = 10.0)]
    seconds: f64,
    /// Show the levels second by second.
    #[arg(long)]
    history: bool,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Where a reading goes.
struct Place {
    set: RecordId,
    set_name: String,
    position: Option<RecordId>,
    position_name: String,
    role: String,
}

/// Measures.
pub fn run(context: &Context, args: &Args) -> Outcome {
    if args.channel == 0 {
        return Err(Refused::new("there is no channel 0", "channels are counted from 1").wrong_usage());
    }
    if let Some(meter) = &args.calibrate {
        return calibrate::run(context, args, meter);
    }
    let is_kept = args.set.is_some() || args.test.is_some();
    if !is_kept && (args.position.is_some() || args.background) {
        return Err(Refused::new(
            "a reading belongs to a set",
            "say which with --set T30, or --test Q1 for its newest",
        )
        .wrong_usage());
    }
    // Without a set the recording is only shown, and no notebook is needed.
    let desk = if is_kept { Some(context.open()?) } else { None };
    let place = desk.as_ref().map(|desk| place(desk, args)).transpose()?;
    if args.reverberation.is_some() {
        if let Some(place) = place.as_ref().filter(|place| place.role != "receive") {
            let reason = format!(
                "{} is not in the receiving room, whose decay it is that counts",
                place.position_name
            );
            return Err(Refused::new(
                reason,
                "record it where the sound arrives, and name a receive position",
            ));
        }
        return decay::run(context, args, desk.as_ref().zip(place.as_ref()));
    }
    levels::run(context, args, desk.as_ref().zip(place.as_ref()))
}

/// The set and place that were told.
fn place(desk: &Desk, args: &Args) -> Result<Place, Refused> {
    let set = match (&args.set, &args.test) {
        (Some(set), _) => called::find(desk, "set", set)?,
        (None, Some(test)) => {
            let of_test = called::sets_of(desk, called::find(desk, "test", test)?);
            *of_test.last().ok_or_else(|| {
                let next = format!("start one with `storypole test set --test {test} --stage before ...`");
                Refused::new(format!("{test} has no set yet"), next)
            })?
        }
        (None, None) => return Err(Refused::new("no set is named", "add --set T30")),
    };
    let set_name = called::name(desk, "set", set);
    if args.background {
        let role = "background".to_owned();
        return Ok(Place { set, set_name, position: None, position_name: role.clone(), role });
    }
    let Some(label) = &args.position else {
        let next = "add --position R1, or --background for the room's own noise";
        return Err(Refused::new(format!("where the meter stood in {set_name} is not told"), next));
    };
    let (position, role) = reading::place(desk, set, label, None)?;
    let role = role.ok_or_else(|| {
        let next = "give the position a side with `storypole change position`";
        Refused::new(format!("whether {label} is in the source or the receiving room is not known"), next)
    })?;
    Ok(Place { set, set_name, position, position_name: label.clone(), role })
}

/// What full scale is: as told, from a calibrator, as noted for the set's meter.
fn scale(args: &Args, kept: Option<(&Desk, &Place)>) -> Result<Scale, Refused> {
    if let Some(level_db) = args.full_scale {
        return Scale::told(level_db).map_err(no_scale);
    }
    if let Some(file) = &args.calibration {
        let level_db = args.calibrator.ok_or_else(|| {
            Refused::new(
                "the level of the calibrator is not told",
                "add --calibrator 94; it stands on its label or certificate",
            )
        })?;
        let calibration = calibrate::listen(file, args, level_db)?;
        let name = file.file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
        return Ok(Scale::of_calibrator(&calibration, level_db, &name));
    }
    let Some((desk, place)) = kept else {
        return Ok(Scale::unknown());
    };
    let meter = called::reference(desk, "set", place.set, "meter");
    let noted = meter.and_then(|meter| called::text(desk, "meter", meter, "full_scale"));
    let level_db = noted.as_deref().and_then(|noted| noted.parse::<f64>().ok());
    let Some(level_db) = level_db else {
        let next = "record a calibrator and run `storypole measure calibrator.wav --calibrate M1 --calibrator 94`, \
                    or tell the level of a full-scale sine with --full-scale";
        return Err(Refused::new(
            format!("what full scale is in the recordings of {}'s meter is not known", place.set_name),
            next,
        ));
    };
    let meter = meter.map(|meter| called::name(desk, "meter", meter)).unwrap_or_default();
    Scale::noted(level_db, &meter).map_err(no_scale)
}

fn no_scale(error: NoScale) -> Refused {
    Refused::from(error).next(NoScale::NEXT)
}

/// Shows how far the listening is.
fn listened<T>(
    work: impl FnOnce(&mut dyn FnMut(u64, u64)) -> Result<T, recording::ListenError>,
) -> Result<T, Refused> {
    let mut bar = Bar::new();
    let done = work(&mut |done, of| bar.show("listening", done, of));
    drop(bar);
    done.map_err(|error| match (&error, cause(&error)) {
        (recording::ListenError::Open { path, .. }, Some(io)) => Refused::new(
            format!("{} cannot be opened: {}", path.display(), plain(io)),
            "check the name and that you may read the file",
        ),
        (
            recording::ListenError::Recording {
                source: RecordingError::NoSuchChannel { channel, channels },
                ..
            },
            _,
        ) => {
            let held = if *channels == 1 { "one channel".to_owned() } else { format!("{channels} channels") };
            Refused::new(
                format!("there is no channel {}: the recording has {held}", channel + 1),
                "channels are counted from 1",
            )
        }
        (recording::ListenError::Calibration(_), _) => Refused::from(error).next("nothing was written"),
        _ => Refused::from(error).next("choose another recording, or make a new one; nothing was written"),
    })
}
