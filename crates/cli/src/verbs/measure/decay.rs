//! A room's decay from a recording: reverberation time by band.

use serde_json::{Value as Json, json};
use storypole_acoustics::decay::curve::{Fit, NoFit, Range};
use storypole_acoustics::decay::quality::Flag;
use storypole_acoustics::decay::recording::{BandDecay, Measured, Source, reverberation};
use storypole_acoustics::decay::sweep::Sweep;
use storypole_acoustics::{Band, Fraction, Spectrum};
use storypole_desk::Desk;
use storypole_desk::recording::account::about_words;
use storypole_desk::recording::{self, About, kept};
use storypole_findings::print::decimals;
use storypole_notebook::Unit;
use storypole_notebook::bands::Of;

use super::{Args, Place, keep, listened};
use crate::context::Context;
use crate::draft::record_json;
use crate::page::{self, Page};
use crate::print::Table;
use crate::refused::{Outcome, Refused};

/// Measures the decay, keeps it where that is wanted, and tells.
pub fn run(context: &Context, args: &Args, kept: Option<(&Desk, &Place)>) -> Outcome {
    if let Some((desk, place)) = kept {
        keep::check_free(desk, args, place, "reverberation", Unit::Second)?;
    }
    let source = match args.reverberation.as_deref() {
        Some("sweep") => Source::Sweep(Sweep::new(args.from_hz, args.to_hz, args.seconds)?),
        Some("noise") => Source::Interrupted,
        _ => Source::Impulse,
    };
    let (samples, about) = listened(|progress| recording::samples(&args.file, args.channel - 1, progress))?;
    let rate_hz = f64::from(about.sample_rate_hz);
    let (fraction, low_hz, high_hz) =
        if args.octaves { (Fraction::Octave, 125.0, 4000.0) } else { (Fraction::Third, 100.0, 5000.0) };
    let bands = Band::range(fraction, low_hz, high_hz).expect("these are labels");
    let decays = reverberation(&samples, rate_hz, source, &bands).map_err(|error| {
        Refused::from(error).next("look at what was played and told: clap, noise that stops, or a sweep with its own --low, --high and --seconds")
    })?;
    let usable = usable(&decays);
    let clipped = recording::oddities(&samples, &about)?.clipping.map(|clipping| clipping.count);
    let recorded = match (kept, &usable) {
        (Some((desk, place)), Some((mean_s, spectrum))) => {
            let mut more = vec![("note", note(args, &decays))];
            more.extend(clipped.map(|count| ("clipped", count.to_string())));
            if about.kind.is_lossy() {
                more.push(("lossy", "yes".to_owned()));
            }
            let reading = keep::Reading {
                subject: "reverberation",
                value: *mean_s,
                unit: Unit::Second,
                seconds: None,
                bands: kept::bands(spectrum, Of::Time),
                more,
            };
            let id = keep::keep(context, desk, args, place, reading)?;
            Some((record_json(desk, "reading", id), place, *mean_s))
        }
        (Some(_), None) => {
            return Err(Refused::new(
                "no band of the recording gives a reverberation time",
                "look why without --set, then make the sound louder than the room's noise and record again",
            ));
        }
        (None, _) => None,
    };
    if context.json() {
        return page::json(&json!({
            "file": args.file.display().to_string(),
            "sample_rate_hz": about.sample_rate_hz,
            "reverberation": decays.iter().map(row_json).collect::<Json>(),
            "oddities": odd(&about, clipped),
            "recorded": recorded.map(|recorded| recorded.0),
        }));
    }
    let mut page = Page::default();
    if let Some((_, place, mean_s)) = recorded {
        let (set, at) = (&place.set_name, &place.position_name);
        page.say(&format!(
            "{set}: reverberation at {at} {} s (T20, mean of its bands from 400 to 1250 Hz) recorded",
            decimals(mean_s, 2)
        ));
        page.blank();
    }
    write(&mut page, &decays);
    let odd = odd(&about, clipped);
    if !odd.is_empty() {
        page.heading("What to know about it").items(&odd);
    }
    page.print()
}

/// What is odd about the recording, in words.
fn odd(about: &About, clipped: Option<u64>) -> Vec<String> {
    let mut words = about_words(about);
    if let Some(count) = clipped {
        let times = if count == 1 { "once".to_owned() } else { format!("{count} times") };
        words.push(format!(
            "it is clipped {times}: the early decay reads wrong, and the times are not used for results; clap farther off"
        ));
    }
    words
}

/// How the times came about, and what was suspect about them, kept with the reading.
fn note(args: &Args, decays: &[BandDecay]) -> String {
    let source = args.reverberation.as_deref().unwrap_or("clap");
    let suspect = decays.iter().filter_map(|decay| Some((decay.band?, decay.measured.as_ref().ok()?)));
    let suspect: Vec<String> =
        suspect.filter(|(_, measured)| touches_t20(measured)).map(|(band, _)| band.to_string()).collect();
    if suspect.is_empty() {
        return format!("T20 from {source}");
    }
    let words = format!("T20 from {source}; suspect at {}", suspect.join(", "));
    words.chars().take(500).collect()
}

/// Whether a flag says something about T20.
fn touches_t20(measured: &Measured) -> bool {
    measured.flags.iter().any(concerns_t20)
}

fn concerns_t20(flag: &Flag) -> bool {
    match flag {
        Flag::NotStraight { range, .. } => *range == Range::T20,
        Flag::Sagging { .. } | Flag::Hollow { .. } | Flag::Ringing { .. } => true,
        Flag::CutShort | Flag::FewDecays { .. } => true,
        Flag::LittleRange { .. } | Flag::ArrivalUnsure => false,
    }
}

/// T20 of the bands that have one, and its mean in the middle of the range. A band whose filter rings as long as the room says
/// nothing about the room.
fn usable(decays: &[BandDecay]) -> Option<(f64, Spectrum)> {
    let time = |decay: &BandDecay| {
        let measured = decay.measured.as_ref().ok()?;
        let rings = measured.flags.iter().any(|flag| matches!(flag, Flag::Ringing { .. }));
        Some((decay.band?, measured.times.t20.as_ref().ok().filter(|_| !rings)?.time_s))
    };
    let spectrum = Spectrum::of(decays.iter().filter_map(time).collect()).ok()?;
    // ISO 3382-2: the single number is the mean of the two octaves 500 and 1000 Hz, or of their six thirds.
    let middle: Vec<f64> = spectrum
        .values()
        .iter()
        .filter(|(band, _)| (400.0..=1250.0).contains(&band.nominal_hz()))
        .map(|(_, time_s)| *time_s)
        .collect();
    let mean_s = (!middle.is_empty()).then(|| middle.iter().sum::<f64>() / middle.len() as f64)?;
    Some((mean_s, spectrum))
}

fn name(decay: &BandDecay) -> String {
    decay.band.map_or_else(|| "whole".to_owned(), |band| band.to_string())
}

fn row_json(decay: &BandDecay) -> Json {
    let mut row = json!({ "band": decay.band.map(Band::nominal_hz), "label": name(decay) });
    let measured = match &decay.measured {
        Ok(measured) => measured,
        Err(why) => {
            row["absent"] = json!({ "EDT": why.to_string(), "T20": why.to_string(), "T30": why.to_string() });
            return row;
        }
    };
    let mut absent = json!({});
    for (field, time) in
        [("EDT", &measured.times.edt), ("T20", &measured.times.t20), ("T30", &measured.times.t30)]
    {
        row[field] = json!(time.as_ref().ok().map(|fit| fit.time_s));
        if let Err(why) = time {
            absent[field] = json!(why.to_string());
        }
    }
    row["curvature_percent"] = json!(measured.times.curvature_percent);
    row["margin"] = json!(measured.margin_db);
    row["decays"] = json!(measured.decays);
    row["flags"] = measured.flags.iter().map(|flag| json!(flag.to_string())).collect();
    row["absent"] = absent;
    row
}

fn write(page: &mut Page, decays: &[BandDecay]) {
    let mut table = Table::new(&["band", ">EDT s", ">T20 s", ">T30 s", ">over noise dB", ""]);
    let mut told = Vec::new();
    for decay in decays {
        match &decay.measured {
            Ok(measured) => {
                let mark = if touches_t20(measured) { "suspect, see below" } else { "" }.to_owned();
                table.row([
                    name(decay),
                    time(&measured.times.edt),
                    time(&measured.times.t20),
                    time(&measured.times.t30),
                    measured.margin_db.map_or_else(|| "-".to_owned(), |margin| decimals(margin, 0)),
                    mark,
                ]);
                if touches_t20(measured) {
                    let flags = measured.flags.iter().filter(|flag| concerns_t20(flag));
                    told.extend(flags.map(|flag| (flag.to_string(), name(decay))));
                }
                told.extend(measured.times.t20.as_ref().err().map(|why| (why.to_string(), name(decay))));
            }
            Err(why) => {
                let blank = || "-".to_owned();
                table.row([name(decay), blank(), blank(), blank(), blank(), String::new()]);
                told.push((why.to_string(), name(decay)));
            }
        }
    }
    page.table(&table);
    if !told.is_empty() {
        page.heading("What to know about the decays").items(&by_words(&told));
    }
}

/// The same words once, with all the bands they are said of.
fn by_words(told: &[(String, String)]) -> Vec<String> {
    let is_first = |(index, (words, _)): &(usize, &(String, String))| {
        !told[..*index].iter().any(|(before, _)| before == words)
    };
    let of = |words: &str| -> Vec<&str> {
        told.iter().filter(|(other, _)| other == words).map(|(_, band)| band.as_str()).collect()
    };
    told.iter()
        .enumerate()
        .filter(is_first)
        .map(|(_, (words, _))| format!("{}: {words}", storypole_findings::print::list(&of(words))))
        .collect()
}

fn time(time: &Result<Fit, NoFit>) -> String {
    time.as_ref().map_or_else(|_| "-".to_owned(), |fit| decimals(fit.time_s, 2))
}
