//! What a recording gave: levels, bands, a history, and the reading that could be kept of it.

use super::word::Hash;

answers! {
    /// Levels of a recording, dB re 20 µPa where it is calibrated, else re a full-scale sine. Null for silence.
    struct RecordedLevels {
        /// A-weighted equivalent level.
        #[serde(rename = "LAeq")] la_eq: Option<f64>,
        /// Highest A-weighted level, Fast.
        #[serde(rename = "LAFmax")] la_fast_max: Option<f64>,
        /// Lowest A-weighted level, Fast.
        #[serde(rename = "LAFmin")] la_fast_min: Option<f64>,
        /// Highest A-weighted level, Slow.
        #[serde(rename = "LASmax")] la_slow_max: Option<f64>,
        /// Lowest A-weighted level, Slow.
        #[serde(rename = "LASmin")] la_slow_min: Option<f64>,
        /// C-weighted equivalent level.
        #[serde(rename = "LCeq")] lc_eq: Option<f64>,
        /// Highest C-weighted level, Fast.
        #[serde(rename = "LCFmax")] lc_fast_max: Option<f64>,
        /// Lowest C-weighted level, Fast.
        #[serde(rename = "LCFmin")] lc_fast_min: Option<f64>,
        /// Highest C-weighted level, Slow.
        #[serde(rename = "LCSmax")] lc_slow_max: Option<f64>,
        /// Lowest C-weighted level, Slow.
        #[serde(rename = "LCSmin")] lc_slow_min: Option<f64>,
        /// Unweighted equivalent level, from 10 Hz up.
        #[serde(rename = "LZeq")] lz_eq: Option<f64>,
        /// Highest unweighted level, Fast.
        #[serde(rename = "LZFmax")] lz_fast_max: Option<f64>,
        /// Lowest unweighted level, Fast.
        #[serde(rename = "LZFmin")] lz_fast_min: Option<f64>,
        /// Highest unweighted level, Slow.
        #[serde(rename = "LZSmax")] lz_slow_max: Option<f64>,
        /// Lowest unweighted level, Slow.
        #[serde(rename = "LZSmin")] lz_slow_min: Option<f64>,
        /// A-weighted sound exposure level.
        #[serde(rename = "LAE")] lae: Option<f64>,
        /// C-weighted peak.
        #[serde(rename = "LCpeak")] lc_peak: Option<f64>,
        /// A-weighted level exceeded for 5 % of the time, Fast.
        #[serde(rename = "LA5")] la5: Option<f64>,
        /// The same for 10 %.
        #[serde(rename = "LA10")] la10: Option<f64>,
        /// The same for 50 %.
        #[serde(rename = "LA50")] la50: Option<f64>,
        /// The same for 90 %.
        #[serde(rename = "LA90")] la90: Option<f64>,
        /// The same for 95 %.
        #[serde(rename = "LA95")] la95: Option<f64>,
    }
    /// One band of a recording, unweighted.
    struct RecordedBand {
        /// Its nominal mid-band frequency, Hz.
        band: f64,
        /// Its equivalent level, dB.
        level: f64,
        /// Standard deviation that noise has from the length of the recording alone, dB.
        random_error: Option<f64>,
        /// Whether the recording is too short for it, so that it is in no reading.
        too_short: bool,
    }
    /// One second of a recording.
    struct RecordedSecond {
        /// When it starts, s.
        from_s: f64,
        /// How long it is, s: 1, or less for the last.
        duration_s: f64,
        /// A-weighted equivalent level, dB.
        #[serde(rename = "LAeq")] la_eq: Option<f64>,
        /// C-weighted equivalent level, dB.
        #[serde(rename = "LCeq")] lc_eq: Option<f64>,
        /// Unweighted equivalent level, dB.
        #[serde(rename = "LZeq")] lz_eq: Option<f64>,
        /// Highest A-weighted level, Fast, dB.
        #[serde(rename = "LAFmax")] la_fast_max: Option<f64>,
    }
    /// What follows from the recording for a reading, field by field as a draft takes it. Set, position, role and recording are
    /// the writer's to add.
    struct RecordedReading {
        /// What the number is.
        subject: String,
        /// The number with its unit.
        value: String,
        /// How it is averaged.
        response: String,
        /// Averaging time, s.
        duration_s: String,
        /// Unweighted levels by third octave.
        bands: Option<String>,
        /// How levels follow from the recording.
        calibration: Option<String>,
        /// What was cut out, why, and the level with it.
        cut_out: Option<String>,
        /// How many times it is clipped.
        clipped: Option<String>,
        /// `yes` where its format loses sound.
        lossy: Option<String>,
    }
    /// A recording, measured.
    struct RecordingMeasured {
        /// The recording.
        hash: Hash,
        /// Its format.
        format: String,
        /// Samples a second.
        sample_rate_hz: u32,
        /// Channels in it.
        channels: u16,
        /// The channel that was measured, counted from 1.
        channel: u16,
        /// How long it is without what was cut out, s.
        duration_s: f64,
        /// Whether full scale is known, so that levels are re 20 µPa.
        calibrated: bool,
        /// How it is known, in words.
        calibration: Option<String>,
        /// Levels without what was cut out.
        levels: RecordedLevels,
        /// Third octaves, lowest first.
        third_octaves: Vec<RecordedBand>,
        /// Octaves, lowest first.
        octaves: Vec<RecordedBand>,
        /// Bands that the sample rate does not reach, Hz.
        missing_bands: Vec<f64>,
        /// What is odd about it, in words.
        oddities: Vec<String>,
        /// What was cut out, in words.
        cut_out: Vec<String>,
        /// Levels of the whole, where something was cut out.
        levels_uncut: Option<RecordedLevels>,
        /// Every second of the whole.
        history: Vec<RecordedSecond>,
        /// What is said of so loud a place, for whoever stands there.
        hearing: Option<String>,
        /// The reading that could be kept.
        reading: Option<RecordedReading>,
        /// Why there is none, in words.
        no_reading_because: Option<String>,
    }
}
