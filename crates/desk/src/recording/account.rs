//! A recording with what was cut out of it: its levels, what is odd about it, and what a reading from it holds.
//!
//! One account for command line and server, so that both tell the same numbers in the same words.

use serde_json::{Value as Json, json};
use storypole_acoustics::meter::{CurveLevels, CutError, Measurement, random_error_db};
use storypole_acoustics::{Band, Fraction, Spectrum};
use storypole_findings::print::{decimals, list};
use storypole_notebook::Unit;
use storypole_notebook::bands::{Bands, Of};

use super::About;
use super::cuts::Reasoned;
use super::kept::{self, NoReading};
use super::scale::Scale;

/// Fewer samples a second than this give no reading that can be set beside others.
const LOWEST_RATE_HZ: u32 = 22_050;

/// Why an account is not given, or is no reading.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoAccount {
    /// The end of a cut is not in the recording.
    #[error("the cut to {to_s} s ends after the recording, which is {} s long", decimals(*duration_s, 1))]
    CutPast {
        /// Where it ends, s.
        to_s: f64,
        /// How long the recording is, s.
        duration_s: f64,
    },
    /// Nothing is left, or the cut lies outside.
    #[error(transparent)]
    Cut(#[from] CutError),
    /// The high sounds are missing.
    #[error(
        "at {sample_rate_hz} samples a second the recording lacks the high sounds: its dBA itself reads low"
    )]
    LowRate {
        /// Samples a second.
        sample_rate_hz: u32,
    },
    /// It has no level at all.
    #[error("the recording is silent: nothing but the recorder's own steps, or a constant, is in it")]
    Silent,
    /// The number is none that is kept.
    #[error(transparent)]
    Number(#[from] NoReading),
}

impl NoAccount {
    /// What to do about it.
    pub fn next_step(&self) -> &'static str {
        match self {
            Self::CutPast { .. } => "say where it ends within the recording; nothing was written",
            Self::Cut(_) => "say from where to where within the recording, and cut less",
            Self::LowRate { .. } => {
                "record with 44100 or 48000 samples a second; without --set it can be looked at"
            }
            Self::Silent => "check the channel, the gain and that the microphone was on",
            Self::Number(error) => error.next_step(),
        }
    }
}

/// Everything a recording gave.
#[derive(Debug, Clone)]
pub struct Account {
    /// The whole of it.
    pub whole: Measurement,
    /// Without what was cut out.
    pub rest: Measurement,
    /// What was cut out.
    pub cuts: Vec<Reasoned>,
    /// What the file is.
    pub about: About,
    /// What full scale is.
    pub scale: Scale,
}

impl Account {
    /// Cuts out what is to be.
    ///
    /// # Errors
    /// A cut does not lie within the recording, or nothing is left.
    pub fn new(
        whole: Measurement,
        about: About,
        cuts: Vec<Reasoned>,
        scale: Scale,
    ) -> Result<Self, NoAccount> {
        if let Some(past) = cuts.iter().find(|one| one.cut.to_s > whole.duration_s + 1.0) {
            return Err(NoAccount::CutPast { to_s: past.cut.to_s, duration_s: whole.duration_s });
        }
        let spans: Vec<_> = cuts.iter().map(|one| one.cut).collect();
        let rest = if spans.is_empty() { whole.clone() } else { whole.without(&spans)? };
        Ok(Self { whole, rest, cuts, about, scale })
    }

    /// Sees that a reading of it could stand beside others.
    ///
    /// # Errors
    /// [`NoAccount::LowRate`].
    pub fn check_rate(&self) -> Result<(), NoAccount> {
        let sample_rate_hz = self.about.sample_rate_hz;
        if sample_rate_hz < LOWEST_RATE_HZ { Err(NoAccount::LowRate { sample_rate_hz }) } else { Ok(()) }
    }

    /// The average of what was not cut out, in dBA, dBC or dBZ.
    ///
    /// # Errors
    /// [`NoAccount::Silent`].
    pub fn level_db(&self, unit: Unit) -> Result<f64, NoAccount> {
        level_of(&self.rest, unit).ok_or(NoAccount::Silent)
    }

    /// The bands a reading keeps: thirds whose filters had time to rise.
    pub fn bands(&self) -> Option<Bands> {
        let thirds = self.rest.thirds.as_ref()?.values().iter();
        let rose = thirds.filter(|(band, _)| !self.rest.oddities.too_short.contains(band));
        kept::bands(&Spectrum::of(rose.copied().collect()).ok()?, Of::Level)
    }

    /// What a reading keeps beside its number and bands, by field and as typed.
    pub fn more(&self, unit: Unit) -> Vec<(&'static str, String)> {
        let mut more = Vec::new();
        more.extend(self.scale.words.clone().map(|words| ("calibration", words)));
        if !self.cuts.is_empty() {
            more.push(("cut_out", self.cut_words(unit)));
        }
        if let Some(clipping) = &self.rest.oddities.clipping {
            more.push(("clipped", clipping.count.to_string()));
        }
        if self.about.kind.is_lossy() {
            more.push(("lossy", "yes".to_owned()));
        }
        more
    }

    /// Every field of a reading that follows from the recording, as typed. Where it belongs is not among them.
    ///
    /// # Errors
    /// [`NoAccount`].
    pub fn reading(&self, unit: Unit) -> Result<Vec<(&'static str, String)>, NoAccount> {
        self.check_rate()?;
        let value = kept::number(self.level_db(unit)?, unit)?;
        let mut fields = vec![
            ("subject", "level".to_owned()),
            ("value", value.to_string()),
            ("response", "leq".to_owned()),
            ("duration_s", kept::seconds(self.rest.duration_s)),
        ];
        fields.extend(self.bands().map(|bands| ("bands", bands.to_string())));
        fields.extend(self.more(unit));
        Ok(fields)
    }

    /// What was cut out, whole seconds as they were taken, why, and what the level was with it.
    fn cut_words(&self, unit: Unit) -> String {
        let words: Vec<String> = self.cuts.iter().map(Reasoned::words).collect();
        let uncut = level_of(&self.whole, unit)
            .map_or_else(String::new, |level_db| format!("; with it {} {unit}", decimals(level_db, 1)));
        format!("{}{uncut}", words.join("; "))
    }

    /// What is odd about the recording, in words.
    pub fn oddities(&self) -> Vec<String> {
        let odd = &self.rest.oddities;
        let mut words = Vec::new();
        if let Some(clipping) = &odd.clipping {
            let mut first: Vec<String> = clipping.times_s.iter().map(|time| format!("{time:.1} s")).collect();
            first.dedup();
            first.truncate(5);
            words.push(format!(
                "it is clipped {} {}, at {}{}: it was too loud for the recorder, and true levels are higher than shown; turn the gain \
                 down, calibrate anew and take it again",
                clipping.count,
                if clipping.count == 1 { "time" } else { "times" },
                list(&first),
                if clipping.count > 5 { " and more" } else { "" },
            ));
        } else if odd.near_full_scale_count > 0 {
            words.push("its peaks come within 1 dB of full scale: turn the gain down a little".to_owned());
        }
        if let Some(offset) = odd.offset {
            words.push(format!(
                "it has a constant offset of {:.3} of full scale, which was taken off",
                offset
            ));
        }
        if odd.not_numbers_count > 0 {
            words.push(format!("{} samples are no numbers and were taken as zero", odd.not_numbers_count));
        }
        if !odd.too_short.is_empty() {
            words.push(format!("it is too short for {}: record longer", span(&odd.too_short)));
        }
        if !self.rest.missing.is_empty() {
            words.push(format!(
                "at {} samples a second it does not hold {}",
                self.about.sample_rate_hz,
                span(&self.rest.missing)
            ));
        }
        words.extend(about_words(&self.about));
        words
    }

    /// All of it as JSON, but for where the file lies and what was kept. `channel` counts from 1.
    pub fn json(&self, channel: u16) -> Json {
        let rest = &self.rest;
        let bands = |spectrum: &Option<Spectrum>| -> Json {
            let rows = spectrum.iter().flat_map(|spectrum| spectrum.values());
            rows.map(|(band, level_db)| {
                json!({
                    "band": band.nominal_hz(),
                    "level": level_db,
                    "random_error": random_error_db(*band, rest.duration_s),
                    "too_short": rest.oddities.too_short.contains(band),
                })
            })
            .collect()
        };
        json!({
            "format": self.about.kind.to_string(),
            "sample_rate_hz": self.about.sample_rate_hz,
            "channels": self.about.channels,
            "channel": channel,
            "duration_s": rest.duration_s,
            "calibrated": self.scale.words.is_some(),
            "calibration": self.scale.words,
            "levels": levels_json(rest),
            "third_octaves": bands(&rest.thirds),
            "octaves": bands(&rest.octaves),
            "missing_bands": rest.missing.iter().map(|band| band.nominal_hz()).collect::<Vec<_>>(),
            "oddities": self.oddities(),
            "cut_out": self.cuts.iter().map(Reasoned::words).collect::<Vec<_>>(),
            "levels_uncut": if self.cuts.is_empty() { Json::Null } else { levels_json(&self.whole) },
        })
    }

    /// Every second of the whole as JSON, cut out or not.
    pub fn history(&self) -> Json {
        let second = |second: storypole_acoustics::meter::SecondLevels| {
            json!({
                "from_s": second.from_s, "duration_s": second.duration_s, "LAeq": second.laeq_db, "LCeq": second.lceq_db,
                "LZeq": second.lzeq_db, "LAFmax": second.la_fast_max_db,
            })
        };
        self.whole.levels_by_second().into_iter().map(second).collect()
    }
}

fn level_of(measured: &Measurement, unit: Unit) -> Option<f64> {
    match unit {
        Unit::DbC => measured.c.leq_db,
        Unit::DbZ => measured.z.leq_db,
        _ => measured.a.leq_db,
    }
}

/// What the file itself has odd, in words.
pub fn about_words(about: &About) -> Vec<String> {
    let mut words = Vec::new();
    if let Some(lie) = about.length_lie {
        words.push(format!(
            "its header tells {} samples and it holds {}: what is there was measured",
            lie.told_frames, lie.held_frames
        ));
    }
    if about.kind.is_lossy() {
        words.push(format!(
            "{} drops quiet and high sounds: do not trust its top bands; record WAV or FLAC",
            about.kind
        ));
    }
    if about.damage.skipped_packets > 0 {
        words.push(format!("{} damaged pieces were skipped", about.damage.skipped_packets));
    }
    if about.damage.silenced_samples > 0 {
        words.push(format!("{} samples were no sound and were taken as zero", about.damage.silenced_samples));
    }
    words
}

/// Bands in words, thirds and octaves apart: `the third octaves 12.5 kHz and 16 kHz`.
fn span(bands: &[Band]) -> String {
    let of = |fraction, name: &str| {
        let names: Vec<String> =
            bands.iter().filter(|band| band.fraction() == fraction).map(Band::to_string).collect();
        match names.as_slice() {
            [] => None,
            [first, .., last] if names.len() > 4 => Some(format!("the {name}s {first} to {last}")),
            _ => Some(format!("the {name} {}", list(&names))),
        }
    };
    let words = [of(Fraction::Third, "third octave"), of(Fraction::Octave, "octave")];
    words.into_iter().flatten().collect::<Vec<_>>().join(" and ")
}

fn curve(json: &mut Json, name: &str, levels: &CurveLevels) {
    for (kind, level) in [
        ("eq", levels.leq_db),
        ("Fmax", levels.fast_max_db),
        ("Fmin", levels.fast_min_db),
        ("Smax", levels.slow_max_db),
        ("Smin", levels.slow_min_db),
    ] {
        json[format!("L{name}{kind}")] = json!(level);
    }
}

fn levels_json(measured: &Measurement) -> Json {
    let mut levels = json!({});
    curve(&mut levels, "A", &measured.a);
    curve(&mut levels, "C", &measured.c);
    curve(&mut levels, "Z", &measured.z);
    levels["LAE"] = json!(measured.lae_db);
    levels["LCpeak"] = json!(measured.c_peak_db);
    for percent in [5, 10, 50, 90, 95] {
        levels[format!("LA{percent}")] = json!(measured.percentile_db(f64::from(percent)));
    }
    levels
}
