//! The meter on a signal made from a description, so that it can be checked without a file.

use std::f64::consts::PI;

use serde_json::{Map, Value, json};
use storypole_acoustics::calibration::FullScale;
use storypole_acoustics::meter::{Detail, Measurement, Meter, Settings};

use crate::curves::third;
use crate::{Answer, Calc, Field, Fields, Refused, output};

const SAMPLE_RATE: Field = Field { name: "sample_rate_hz", about: "samples a second, 4000 to 400000" };
const FULL_SCALE: Field = Field {
    name: "full_scale_db_spl",
    about: "level of a sine whose peak is digital full scale, dB re 20 uPa",
};
const SEGMENTS: Field = Field {
    name: "segments",
    about: "played one after the other: duration_s, tones with frequency_hz and amplitude_fs (peak); no tones: silence",
};

pub(crate) const CALCS: &[Calc] = &[
    Calc {
        name: "recording.signal_levels",
        about: "Levels of a made-up recording through the meter: IEC 61672-1.",
        takes: &[SAMPLE_RATE, FULL_SCALE, SEGMENTS],
        gives: &[
            Field { name: "LZeq", about: "unweighted equivalent level, dB" },
            Field { name: "LCeq", about: "C-weighted equivalent level, dB" },
            Field { name: "LAeq", about: "A-weighted equivalent level, dB" },
            Field { name: "LAE", about: "A-weighted sound exposure level, dB" },
            Field {
                name: "LAFmax",
                about: "highest A-weighted Fast level, the detector at rest at the start, dB",
            },
            Field { name: "LASmax", about: "highest A-weighted Slow level, dB" },
            Field { name: "LCpeak", about: "C-weighted peak, dB" },
            Field {
                name: "LA10",
                about: "A-weighted Fast level exceeded 10 % of the time, read every 0.05 s, dB",
            },
            Field { name: "LA50", about: "exceeded half of the time, dB" },
            Field { name: "LA90", about: "exceeded 90 % of the time, dB" },
            Field { name: "duration_s", about: "how long the recording is, s" },
        ],
        example: r#"{"sample_rate_hz": 48000, "full_scale_db_spl": 117, "segments": [{"duration_s": 2, "tones": [{"frequency_hz": 1000, "amplitude_fs": 0.1}]}, {"duration_s": 1, "tones": [{"frequency_hz": 100, "amplitude_fs": 0.2}, {"frequency_hz": 2000, "amplitude_fs": 0.01}]}]}"#,
        run: signal_levels,
    },
    Calc {
        name: "recording.third_octave",
        about: "One third octave of a made-up recording through the meter, and whether others stay quiet: IEC 61260-1.",
        takes: &[
            SAMPLE_RATE,
            FULL_SCALE,
            SEGMENTS,
            Field { name: "band_hz", about: "nominal third-octave mid-band, Hz" },
            Field {
                name: "at_most",
                about: "other bands with a bound each: band_hz, level_db; left out: none",
            },
        ],
        gives: &[
            Field { name: "band_db", about: "unweighted equivalent level of the band, dB" },
            Field {
                name: "at_most_met",
                about: "for each other band, whether its level is at or below its bound",
            },
            Field {
                name: "at_most_db",
                about: "for each other band, its level, dB; null without any energy",
            },
        ],
        example: r#"{"sample_rate_hz": 48000, "full_scale_db_spl": 117, "segments": [{"duration_s": 2, "tones": [{"frequency_hz": 1000, "amplitude_fs": 0.1}]}], "band_hz": 1000, "at_most": [{"band_hz": 1250, "level_db": 84}]}"#,
        run: third_octave,
    },
];

/// Work that one request may ask for, samples times one more than its tones: half an hour of one tone at 48 kHz.
const MOST_WORK: f64 = 2e8;

/// Samples made at once.
const BLOCK: u64 = 4096;

struct Tone {
    frequency_hz: f64,
    amplitude: f64,
}

struct Segment {
    duration_s: f64,
    tones: Vec<Tone>,
}

/// A recording that is described and not yet made.
struct Described {
    sample_rate_hz: u32,
    full_scale: FullScale,
    segments: Vec<Segment>,
}

fn described(fields: &Fields<'_>) -> Result<Described, Refused> {
    let rate = fields.whole("sample_rate_hz")?;
    let sample_rate_hz = u32::try_from(rate).ok().filter(|rate| *rate > 0).ok_or_else(|| {
        let message = format!("a sample rate of {rate} Hz is none: give one like 48000");
        Refused::of("sample_rate", "sample_rate_hz", message)
    })?;
    let full_scale = FullScale::of_sine(fields.number("full_scale_db_spl")?)
        .map_err(|error| Refused::from_error("not_a_number", "full_scale_db_spl", &error))?;
    let segments: Result<Vec<Segment>, Refused> =
        fields.objects("segments")?.iter().map(|fields| segment(fields, sample_rate_hz)).collect();
    let segments = segments?;
    if segments.is_empty() {
        return Err(Refused::of("no_segments", "segments", "no segments were given: give at least one"));
    }
    let work =
        |segment: &Segment| segment.duration_s * f64::from(sample_rate_hz) * (1 + segment.tones.len()) as f64;
    if segments.iter().map(work).sum::<f64>() > MOST_WORK {
        let message = "the recording is too long to be made up: half an hour of one tone at 48000 samples a second is the most, less with more";
        return Err(Refused::of("too_long", "segments", message));
    }
    Ok(Described { sample_rate_hz, full_scale, segments })
}

fn segment(fields: &Fields<'_>, sample_rate_hz: u32) -> Result<Segment, Refused> {
    let duration_s = fields.number("duration_s")?;
    if duration_s * f64::from(sample_rate_hz) < 0.5 {
        let message = format!("a segment of {duration_s} s has no length: give a duration above 0");
        return Err(Refused::of("no_length", "duration_s", message));
    }
    let tone = |fields: &Fields<'_>| {
        let (frequency_hz, amplitude) = (fields.number("frequency_hz")?, fields.number("amplitude_fs")?);
        if !(frequency_hz > 0.0 && 2.0 * frequency_hz < f64::from(sample_rate_hz)) {
            let message =
                format!("a tone at {frequency_hz} Hz does not lie between 0 and half of {sample_rate_hz} Hz");
            return Err(Refused::of("tone_out_of_reach", "frequency_hz", message));
        }
        if !(0.0..=1.0).contains(&amplitude) {
            let message = format!("an amplitude of {amplitude} is not a part of full scale: give 0 to 1");
            return Err(Refused::of("amplitude", "amplitude_fs", message));
        }
        Ok(Tone { frequency_hz, amplitude })
    };
    let tones: Result<Vec<Tone>, Refused> = fields.objects("tones")?.iter().map(tone).collect();
    Ok(Segment { duration_s, tones: tones? })
}

impl Described {
    /// Makes the recording and measures it.
    fn measure(&self, detail: Detail) -> Result<Measurement, Refused> {
        let Self { sample_rate_hz, full_scale, .. } = *self;
        let settings = Settings { sample_rate_hz, full_scale, full_scale_step: 0.0, detail };
        let mut meter = Meter::new(settings)
            .map_err(|error| Refused::from_error("sample_rate", "sample_rate_hz", &error))?;
        let (mut index, mut end_s) = (0u64, 0.0);
        for segment in &self.segments {
            end_s += segment.duration_s;
            // Limits of segments are rounded to samples, each from the start, so that they do not drift.
            let end = (end_s * f64::from(sample_rate_hz)).round() as u64;
            while index < end {
                let next = end.min(index + BLOCK);
                meter.push(&segment.samples(index..next, sample_rate_hz));
                index = next;
            }
        }
        Ok(meter.finish())
    }
}

impl Segment {
    fn samples(&self, indexes: std::ops::Range<u64>, sample_rate_hz: u32) -> Vec<f64> {
        let sample = |index: u64| {
            let wave = |tone: &Tone| {
                // Whole turns are taken off first, so that a late sample is as exact as an early one.
                let turns = (tone.frequency_hz * index as f64 / f64::from(sample_rate_hz)).fract();
                tone.amplitude * (2.0 * PI * turns).sin()
            };
            self.tones.iter().map(wave).sum()
        };
        indexes.map(sample).collect()
    }
}

fn signal_levels(fields: &Fields<'_>) -> Answer {
    let measurement = described(fields)?.measure(Detail::Levels)?;
    let percentile_db = |percent: f64| measurement.percentile_db(percent);
    let levels = [
        ("LZeq", measurement.z.leq_db),
        ("LCeq", measurement.c.leq_db),
        ("LAeq", measurement.a.leq_db),
        ("LAE", measurement.lae_db),
        ("LAFmax", measurement.a.fast_max_db),
        ("LASmax", measurement.a.slow_max_db),
        ("LCpeak", measurement.c_peak_db),
        ("LA10", percentile_db(10.0)),
        ("LA50", percentile_db(50.0)),
        ("LA90", percentile_db(90.0)),
    ];
    let mut given = output(levels.map(|(name, level_db)| (name, json!(level_db))));
    given.insert("duration_s".to_owned(), json!(measurement.duration_s));
    let is_silent = measurement.oddities.is_silent;
    tell_absent(
        &mut given,
        levels.iter().filter(|(_, level_db)| level_db.is_none()).map(|(name, _)| *name),
        is_silent,
    );
    Ok(given)
}

/// Says why levels are absent: all of them in silence, percentiles also where silence takes up that part of the time.
fn tell_absent<'a>(given: &mut Map<String, Value>, names: impl Iterator<Item = &'a str>, is_silent: bool) {
    let why = if is_silent { "the recording is silent" } else { "silence has no level" };
    let absent: Map<String, Value> = names.map(|name| (name.to_owned(), json!(why))).collect();
    if !absent.is_empty() {
        given.insert("absent".to_owned(), Value::Object(absent));
    }
}

fn third_octave(fields: &Fields<'_>) -> Answer {
    let described = described(fields)?;
    let band = |field: &'static str, hz: f64| {
        let band = third(field, hz)?;
        if 2.0 * band.upper_hz() < f64::from(described.sample_rate_hz) {
            return Ok(band);
        }
        let message = format!(
            "a recording at {} Hz does not hold the whole band at {band}: raise the rate or take a lower band",
            described.sample_rate_hz
        );
        Err(Refused::of("band_out_of_reach", field, message))
    };
    let wanted = band("band_hz", fields.number("band_hz")?)?;
    let mut others = Vec::new();
    if fields.some("at_most").is_some() {
        for entry in fields.objects("at_most")? {
            others.push((band("at_most", entry.number("band_hz")?)?, entry.number("level_db")?));
        }
    }
    let measurement = described.measure(Detail::Bands)?;
    let band_db = measurement.band_db(wanted);
    let found: Vec<Option<f64>> = others.iter().map(|(band, _)| measurement.band_db(*band)).collect();
    let met: Vec<bool> = others
        .iter()
        .zip(&found)
        .map(|((_, bound_db), level_db)| level_db.is_none_or(|level_db| level_db <= *bound_db))
        .collect();
    let mut given =
        output([("band_db", json!(band_db)), ("at_most_met", json!(met)), ("at_most_db", json!(found))]);
    let is_silent = measurement.oddities.is_silent;
    tell_absent(&mut given, band_db.is_none().then_some("band_db").into_iter(), is_silent);
    Ok(given)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::answer;

    fn recording(rate_hz: u32, segments: &Value) -> Value {
        json!({"sample_rate_hz": rate_hz, "full_scale_db_spl": 100, "segments": segments})
    }

    fn tone(duration_s: f64, hz: f64, amplitude: f64) -> Value {
        json!({"duration_s": duration_s, "tones": [{"frequency_hz": hz, "amplitude_fs": amplitude}]})
    }

    #[track_caller]
    fn close(given: &Map<String, Value>, field: &str, expected_db: f64, tolerance_db: f64) {
        let got_db = given[field].as_f64().unwrap();
        assert!((got_db - expected_db).abs() < tolerance_db, "{field}: {got_db}, not {expected_db}");
    }

    #[test]
    fn levels_of_a_tone_and_a_pause_match() {
        // 80 dB for 2 s, then 6 s of nothing: LZeq 80 + 10 lg(2/8); LAE 80 + 10 lg 2 (definitions of ISO 1996-1).
        // LAFmax 80. LA10: of 160 readings over 8 s the 10 % mark lies within the tone. LA50 lies 2 s after it stops:
        // 80 - 34.74·2 (IEC 61672-1, time constant 0.125 s).
        let silence = json!({"duration_s": 6, "tones": []});
        let given =
            answer("recording.signal_levels", &recording(48_000, &json!([tone(2.0, 1000.0, 0.1), silence])))
                .unwrap();
        close(&given, "LZeq", 80.0 - 6.0206, 0.01);
        close(&given, "LAeq", 80.0 - 6.0206, 0.01);
        close(&given, "LAE", 83.0103, 0.01);
        close(&given, "LAFmax", 80.0, 0.02);
        close(&given, "LA10", 80.0, 0.02);
        close(&given, "LA50", 80.0 - 69.49, 1.0);
        assert!(!given.contains_key("absent"));
    }

    #[test]
    fn phase_runs_on_over_segments() {
        // One tone in two halves is one tone: no click, so a band far away stays as quiet as for one piece.
        let whole = json!([tone(4.0, 1003.0, 0.1)]);
        let halves = json!([tone(1.7, 1003.0, 0.1), tone(2.3, 1003.0, 0.1)]);
        let level = |segments: &Value| {
            let mut input = recording(48_000, segments);
            input["band_hz"] = json!(4000);
            answer("recording.third_octave", &input).unwrap()["band_db"].as_f64().unwrap()
        };
        assert!((level(&whole) - level(&halves)).abs() < 1e-9);
    }

    #[test]
    fn neighbours_stay_below_the_mask() {
        // IEC 61260-1 class 1, least relative attenuation at the mid-bands of neighbours: 13, 29 and 42 dB.
        for hz in [100.0, 1000.0, 8000.0] {
            let exact_hz = third("band_hz", hz).unwrap().exact_hz();
            let label = |steps: i32| {
                let near = exact_hz * 10f64.powf(f64::from(steps) / 10.0);
                let labels =
                    [50.0, 63.0, 80.0, 125.0, 160.0, 200.0, 500.0, 630.0, 800.0, 1250.0, 1600.0, 2000.0];
                let high = [4000.0, 5000.0, 6300.0, 10_000.0, 12_500.0, 16_000.0];
                labels.into_iter().chain(high).find(|label| (label / near - 1.0f64).abs() < 0.03).unwrap()
            };
            let bounds: Vec<Value> = [(-3, 42.0), (-2, 29.0), (-1, 13.0), (1, 13.0), (2, 29.0), (3, 42.0)]
                .iter()
                .map(|(steps, less_db)| json!({"band_hz": label(*steps), "level_db": 80.0 - less_db}))
                .collect();
            let mut input = recording(44_100, &json!([tone(10.0, exact_hz, 0.1)]));
            input["band_hz"] = json!(hz);
            input["at_most"] = json!(bounds);
            let given = answer("recording.third_octave", &input).unwrap();
            close(&given, "band_db", 80.0, 0.05);
            assert_eq!(given["at_most_met"], json!(vec![true; 6]), "{given:?}");
            input["at_most"] = json!([{"band_hz": hz, "level_db": 79.5}]);
            assert_eq!(answer("recording.third_octave", &input).unwrap()["at_most_met"], json!([false]));
        }
    }

    #[test]
    fn silence_is_absent() {
        let silence = recording(48_000, &json!([{"duration_s": 2, "tones": []}]));
        let given = answer("recording.signal_levels", &silence).unwrap();
        assert_eq!(given["LAeq"], Value::Null);
        assert_eq!(given["absent"]["LAeq"], "the recording is silent");
        let mut input = silence;
        input["band_hz"] = json!(1000);
        input["at_most"] = json!([{"band_hz": 500, "level_db": 0}]);
        let given = answer("recording.third_octave", &input).unwrap();
        assert_eq!((&given["band_db"], &given["at_most_met"]), (&Value::Null, &json!([true])));
        assert!(given["absent"]["band_db"].is_string());
    }

    #[test]
    fn impossible_recordings_are_refused() {
        let good = tone(1.0, 1000.0, 0.1);
        let rows = [
            (recording(0, &json!([good])), "sample_rate", "sample_rate_hz"),
            (recording(100, &json!([tone(1.0, 10.0, 0.1)])), "sample_rate", "sample_rate_hz"),
            (recording(48_000, &json!([])), "no_segments", "segments"),
            (recording(48_000, &json!([tone(0.0, 1000.0, 0.1)])), "no_length", "duration_s"),
            (recording(48_000, &json!([tone(-1.0, 1000.0, 0.1)])), "no_length", "duration_s"),
            (recording(48_000, &json!([tone(1.0, 24_000.0, 0.1)])), "tone_out_of_reach", "frequency_hz"),
            (recording(48_000, &json!([tone(1.0, 0.0, 0.1)])), "tone_out_of_reach", "frequency_hz"),
            (recording(48_000, &json!([tone(1.0, 100.0, 1.5)])), "amplitude", "amplitude_fs"),
            (recording(48_000, &json!([tone(1e9, 100.0, 0.5)])), "too_long", "segments"),
            (recording(48_000, &json!([{"duration_s": 1}])), "missing", "tones"),
        ];
        for (input, reason, field) in rows {
            let refused = answer("recording.signal_levels", &input).unwrap_err();
            assert_eq!((refused.reason, refused.field.as_deref()), (reason, Some(field)), "{input}");
        }
        let mut input = recording(44_100, &json!([good]));
        for (band_hz, reason) in [(20_000, "band_out_of_reach"), (1100, "unknown_band")] {
            input["band_hz"] = json!(band_hz);
            assert_eq!(answer("recording.third_octave", &input).unwrap_err().reason, reason);
        }
    }
}
