//! Recordings on this computer's disk, listened to from start to end: levels, a calibrator, a room's decay.
//!
//! Leaves out every formula: those are the acoustics crate's. One channel is listened to, never a mix.

use std::fs::File;
use std::io::{self, BufReader, Read, Seek};
use std::path::{Path, PathBuf};

use storypole_acoustics::calibration::{Calibration, CalibrationError, Calibrator, FullScale, Tone};
use storypole_acoustics::meter::{self, Detail, Measurement, Meter, MeterError, Oddities, Settings};
use storypole_acoustics::recording::{self, Damage, Kind, Recording, RecordingError};
use storypole_acoustics::wav::LengthLie;

/// Samples handed on at once.
const BLOCK: usize = 16_384;

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
}

impl Open {
    fn new(path: &Path, channel: u16) -> Result<Self, ListenError> {
        let file = File::open(path).map_err(|source| ListenError::Open { path: path.to_owned(), source })?;
        let is_empty = file.metadata().is_ok_and(|about| about.is_file() && about.len() == 0);
        if is_empty {
            return Err(ListenError::Empty { path: path.to_owned() });
        }
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned());
        let recording = recording::open(BufReader::new(file), name.as_deref())
            .map_err(|source| ListenError::Recording { path: path.to_owned(), source })?;
        Ok(Self { path: path.to_owned(), recording, channel })
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
            take(&block[..count])?;
            let done = self.recording.position_frames();
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
    let mut open = Open::new(path, channel)?;
    let mut meter = Meter::new(Settings {
        sample_rate_hz: open.recording.sample_rate_hz(),
        full_scale,
        full_scale_step: open.recording.step().unwrap_or(0.0),
        detail: Detail::Bands,
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

/// Measures the first channel of a recording that is kept, in levels below full scale: its history has a shape and no height.
///
/// # Errors
/// It cannot be read as a recording, or is too short to be measured.
pub fn heard(
    source: impl Read + Seek + Send + Sync + 'static,
    name: Option<&str>,
) -> Result<Measurement, ListenError> {
    let path = PathBuf::from(name.unwrap_or("recording"));
    let recording = recording::open(source, name)
        .map_err(|source| ListenError::Recording { path: path.clone(), source })?;
    let mut open = Open { path, recording, channel: 0 };
    let mut meter = Meter::new(Settings {
        sample_rate_hz: open.recording.sample_rate_hz(),
        full_scale: FullScale::of_rms(0.0).expect("zero is finite"),
        full_scale_step: open.recording.step().unwrap_or(0.0),
        detail: Detail::Levels,
    })?;
    open.listen(
        |samples| {
            meter.push(samples);
            Ok(())
        },
        &mut |_, _| (),
    )?;
    Ok(meter.finish())
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
    let mut open = Open::new(path, channel)?;
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
