//! Recordings on this computer's disk, listened to from start to end: levels, a calibrator, a room's decay.
//!
//! Leaves out every formula: those are the acoustics crate's. One channel is listened to, never a mix. [`scale`] says what full
//! scale is, [`cuts`] what is cut out, [`account`] what follows, [`kept`] in which form it is stored.

use std::fs::File;
use std::io::{self, BufReader, Read, Seek};
use std::path::{Path, PathBuf};

use storypole_acoustics::calibration::{Calibration, CalibrationError, Calibrator, FullScale, Tone};
use storypole_acoustics::meter::{self, Detail, Measurement, Meter, MeterError, Oddities, Settings};
use storypole_acoustics::recording::{self, Damage, Kind, Recording, RecordingError};
use storypole_acoustics::wav::LengthLie;

pub mod account;
pub mod cuts;
pub mod kept;
pub mod scale;

/// Samples handed on at once.
const BLOCK: usize = 16_384;

/// The longest recording that is kept and listened to at once, hours.
pub const LONGEST_KEPT_H: u64 = 2;

/// What recorders mostly take, samples a second.
const USUAL_RATE_HZ: u32 = 48_000;

/// The longest recording whose decay is looked at, s: it is held in memory as a whole.
const LONGEST_DECAY_S: u64 = 600;

/// The most samples of such a recording: ten minutes at 48 kHz, whatever its rate is.
const MOST_DECAY_SAMPLES: usize = 600 * 48_000;

/// Why a recording was not listened to.
#[derive(Debug, thiserror::Error)]
pub enum ListenError {
    /// The file cannot be opened.
    #[error("{} cannot be opened", path.display())]
    Open {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The file is no recording, or is damaged.
    #[error("{} cannot be measured", path.display())]
    Recording {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        source: RecordingError,
    },
    /// The file holds no samples.
    #[error("{} holds no sound at all: it is empty", path.display())]
    Empty {
        /// The file.
        path: PathBuf,
    },
    /// It cannot be metered.
    #[error(transparent)]
    Meter(#[from] MeterError),
    /// It is no recording of a calibrator that can be believed.
    #[error(transparent)]
    Calibration(#[from] CalibrationError),
    /// Longer than is listened to at once.
    #[error("the recording is longer than {hours} hours: cut out the part that counts and send that")]
    Endless {
        /// What is listened to, hours.
        hours: u64,
    },
    /// Too long to be held as a whole.
    #[error("the recording is longer than ten minutes at 48 kHz: cut out the part with the decay")]
    TooLong,
}

/// What a recording is, beside its sound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct About {
    /// Its format.
    pub kind: Kind,
    /// Samples a second.
    pub sample_rate_hz: u32,
    /// Channels in it.
    pub channels: u16,
    /// The least step of its format, full scales; 0 where it has none.
    pub step: f64,
    /// The header tells another length than the file holds.
    pub length_lie: Option<LengthLie>,
    /// What could not be decoded.
    pub damage: Damage,
}

/// A recording that is open.
struct Open {
    path: PathBuf,
    recording: Recording,
    channel: u16,
    /// How much of it is listened to, samples of one channel.
    most_samples: u64,
}

impl Open {
    fn new(path: &Path, channel: u16) -> Result<Self, ListenError> {
        let file = File::open(path).map_err(|source| ListenError::Open { path: path.to_owned(), source })?;
        let is_empty = file.metadata().is_ok_and(|about| about.is_file() && about.len() == 0);
        if is_empty {
            return Err(ListenError::Empty { path: path.to_owned() });
        }
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned());
        Self::of(BufReader::new(file), path.to_owned(), name.as_deref(), channel)
    }

    /// Of what is kept, under the name it was kept by: up to [`LONGEST_KEPT_H`] of it. No rate buys more work than the usual one.
    fn kept(
        source: impl Read + Seek + Send + Sync + 'static,
        name: Option<&str>,
        channel: u16,
    ) -> Result<Self, ListenError> {
        let open = Self::of(source, PathBuf::from(name.unwrap_or("the recording")), name, channel)?;
        let rate_hz = open.recording.sample_rate_hz().min(USUAL_RATE_HZ);
        Ok(Self { most_samples: LONGEST_KEPT_H * 3600 * u64::from(rate_hz), ..open })
    }

    fn of(
        source: impl Read + Seek + Send + Sync + 'static,
        path: PathBuf,
        name: Option<&str>,
        channel: u16,
    ) -> Result<Self, ListenError> {
        match recording::open(source, name) {
            Ok(recording) => Ok(Self { path, recording, channel, most_samples: u64::MAX }),
            Err(source) => Err(ListenError::Recording { path, source }),
        }
    }

    /// Hands every block on, with how many frames were read and how many there should be.
    fn listen(
        &mut self,
        mut take: impl FnMut(&[f64]) -> Result<(), ListenError>,
        progress: &mut dyn FnMut(u64, u64),
    ) -> Result<About, ListenError> {
        let mut block = vec![0.0; BLOCK];
        loop {
            let read = self.recording.read(self.channel, &mut block);
            let count = read.map_err(|source| ListenError::Recording { path: self.path.clone(), source })?;
            if count == 0 {
                break;
            }
            let done = self.recording.position_frames();
            if done > self.most_samples {
                return Err(ListenError::Endless { hours: LONGEST_KEPT_H });
            }
            take(&block[..count])?;
            progress(done, self.recording.frames_told().unwrap_or(done).max(done));
        }
        if self.recording.position_frames() == 0 {
            return Err(ListenError::Empty { path: self.path.clone() });
        }
        Ok(About {
            kind: self.recording.kind(),
            sample_rate_hz: self.recording.sample_rate_hz(),
            channels: self.recording.channels(),
            step: self.recording.step().unwrap_or(0.0),
            length_lie: self.recording.length_lie(),
            damage: self.recording.damage(),
        })
    }
}

/// Measures one channel of a recording from start to end, in constant memory but for a history by the second.
///
/// `channel` counts from 0.
///
/// # Errors
/// [`ListenError`].
pub fn measure(
    path: &Path,
    channel: u16,
    full_scale: FullScale,
    progress: &mut dyn FnMut(u64, u64),
) -> Result<(Measurement, About), ListenError> {
    metered(Open::new(path, channel)?, full_scale, Detail::Bands, progress)
}

/// Measures one channel of a recording that is kept, up to [`LONGEST_KEPT_H`] of it.
///
/// `channel` counts from 0; `name` is what it is kept by.
///
/// # Errors
/// [`ListenError`].
pub fn measure_kept(
    source: impl Read + Seek + Send + Sync + 'static,
    name: Option<&str>,
    channel: u16,
    full_scale: FullScale,
) -> Result<(Measurement, About), ListenError> {
    metered(Open::kept(source, name, channel)?, full_scale, Detail::Bands, &mut |_, _| ())
}

fn metered(
    mut open: Open,
    full_scale: FullScale,
    detail: Detail,
    progress: &mut dyn FnMut(u64, u64),
) -> Result<(Measurement, About), ListenError> {
    let mut meter = Meter::new(Settings {
        sample_rate_hz: open.recording.sample_rate_hz(),
        full_scale,
        full_scale_step: open.recording.step().unwrap_or(0.0),
        detail,
    })?;
    let about = open.listen(
        |samples| {
            meter.push(samples);
            Ok(())
        },
        progress,
    )?;
    Ok((meter.finish(), about))
}

/// Measures the first channel of a recording that is kept, however long, in levels below full scale: its history has a shape and no height.
///
/// # Errors
/// It cannot be read as a recording, or is too short to be measured.
pub fn heard(
    source: impl Read + Seek + Send + Sync + 'static,
    name: Option<&str>,
) -> Result<Measurement, ListenError> {
    let full_scale = FullScale::of_rms(0.0).expect("zero is finite");
    let open = Open { most_samples: u64::MAX, ..Open::kept(source, name, 0)? };
    Ok(metered(open, full_scale, Detail::Levels, &mut |_, _| ())?.0)
}

/// Listens to the recording of a calibrator.
///
/// # Errors
/// [`ListenError`]; the recording is checked before it is believed.
pub fn calibrate(
    path: &Path,
    channel: u16,
    tone: Tone,
    level_db: f64,
    progress: &mut dyn FnMut(u64, u64),
) -> Result<Calibration, ListenError> {
    calibrated(Open::new(path, channel)?, tone, level_db, progress)
}

/// Listens to the recording of a calibrator that is kept, up to [`LONGEST_KEPT_H`] of it.
///
/// # Errors
/// [`ListenError`]; the recording is checked before it is believed.
pub fn calibrate_kept(
    source: impl Read + Seek + Send + Sync + 'static,
    name: Option<&str>,
    channel: u16,
    tone: Tone,
    level_db: f64,
) -> Result<Calibration, ListenError> {
    calibrated(Open::kept(source, name, channel)?, tone, level_db, &mut |_, _| ())
}

fn calibrated(
    mut open: Open,
    tone: Tone,
    level_db: f64,
    progress: &mut dyn FnMut(u64, u64),
) -> Result<Calibration, ListenError> {
    let step = open.recording.step().unwrap_or(0.0);
    let mut calibrator = Calibrator::new(tone, level_db, open.recording.sample_rate_hz(), step)?;
    open.listen(
        |samples| {
            calibrator.push(samples);
            Ok(())
        },
        progress,
    )?;
    Ok(calibrator.finish()?)
}

/// Reads one channel as a whole, for what cannot be done block by block.
///
/// # Errors
/// [`ListenError::TooLong`] beyond ten minutes, and the others.
pub fn samples(
    path: &Path,
    channel: u16,
    progress: &mut dyn FnMut(u64, u64),
) -> Result<(Vec<f64>, About), ListenError> {
    let mut open = Open::new(path, channel)?;
    let most = LONGEST_DECAY_S * u64::from(open.recording.sample_rate_hz());
    let mut all = Vec::new();
    let about = open.listen(
        |samples| {
            all.extend_from_slice(samples);
            let is_long = all.len() as u64 > most || all.len() > MOST_DECAY_SAMPLES;
            if is_long { Err(ListenError::TooLong) } else { Ok(()) }
        },
        progress,
    )?;
    Ok((all, about))
}

/// What is odd about samples that were read as a whole: clipping, silence, an offset.
///
/// # Errors
/// [`ListenError::Meter`] for a step that no format has.
pub fn oddities(samples: &[f64], about: &About) -> Result<Oddities, ListenError> {
    Ok(meter::look_over(samples, about.sample_rate_hz, about.step)?)
}
