//! Levels and bands of a recording.

use serde_json::{Value as Json, json};
use storypole_acoustics::meter::{CurveLevels, Cut, Measurement, random_error_db};
use storypole_acoustics::{Band, Spectrum};
use storypole_desk::Desk;
use storypole_desk::recording::{self, About};
use storypole_findings::hearing::Hearing;
use storypole_findings::print::{decimals, list};
use storypole_notebook::Unit;
use storypole_notebook::bands::Of;
use storypole_notebook::cuts::CutOut;

use super::cuts;
use super::{Args, Place, Scale, keep, listened, scale};
use crate::context::Context;
use crate::draft::record_json;
use crate::page::{self, Page};
use crate::print::Table;
use crate::refused::{Outcome, Refused};
use crate::verbs::test_set::manner;

/// Fewer samples a second than this give no reading that can be set beside others.
const LOWEST_RATE_HZ: u32 = 22_050;

/// Everything a recording gave.
struct Heard {
    whole: Measurement,
    rest: Measurement,
    cuts: Vec<CutOut>,
    about: About,
    scale: Scale,
}

/// Measures, keeps where that is wanted, and tells.
pub fn run(context: &Context, args: &Args, kept: Option<(&Desk, &Place)>) -> Outcome {
    let cuts: Vec<CutOut> = args.cut.iter().map(|typed| cuts::read(typed)).collect::<Result<_, _>>()?;
    let unit = unit(args, kept)?;
    if let Some((desk, place)) = kept {
        keep::check_free(desk, args, place, "level", unit)?;
    }
    let scale = scale(args, kept)?;
    let (whole, about) =
        listened(|progress| recording::measure(&args.file, args.channel - 1, scale.full_scale, progress))?;
    if let Some(past) = cuts.iter().find(|one| one.to_s > whole.duration_s + 1.0) {
        let length = decimals(whole.duration_s, 1);
        let reason = format!("the cut to {} s ends after the recording, which is {length} s long", past.to_s);
        return Err(Refused::new(reason, "say where it ends within the recording; nothing was written"));
    }
    if kept.is_some() && about.sample_rate_hz < LOWEST_RATE_HZ {
        let reason = format!(
            "at {} samples a second the recording lacks the high sounds: its dBA itself reads low",
            about.sample_rate_hz
        );
        return Err(Refused::new(
            reason,
            "record with 44100 or 48000 samples a second; without --set it can be looked at",
        ));
    }
    let spans: Vec<_> = cuts.iter().map(|one| Cut { from_s: one.from_s, to_s: one.to_s }).collect();
    let rest = if spans.is_empty() { whole.clone() } else { whole.without(&spans)? };
    let heard = Heard { whole, rest, cuts, about, scale };
    let Some(level_db) = level_of(&heard.rest, unit) else {
        return Err(Refused::new(
            format!(
                "{} is silent: nothing but the recorder's own steps, or a constant, is in it",
                args.file.display()
            ),
            "check the channel with --channel, the gain and that the microphone was on",
        ));
    };
    let recorded = match kept {
        Some((desk, place)) => {
            let id = keep::keep(context, desk, args, place, reading(&heard, unit, level_db))?;
            Some((record_json(desk, "reading", id), place))
        }
        None => None,
    };
    if context.json() {
        let mut json = json(args, &heard);
        json["recorded"] = recorded.map_or(Json::Null, |recorded| recorded.0);
        return page::json(&json);
    }
    let mut page = Page::default();
    if let Some((_, place)) = recorded {
        let at = if place.position.is_some() {
            format!("{} {}", place.role, place.position_name)
        } else {
            place.role.clone()
        };
        let number = format!("{} {unit}", decimals(level_db, 1));
        page.say(&format!(
            "{}: {at} {number} (leq, {} s) recorded with its bands",
            place.set_name,
            decimals(heard.rest.duration_s, 0)
        ));
        page.blank();
    }
    write(&mut page, args, &heard);
    page.print()
}

/// The weighting of the reading: as told, as in the set so far, else A.
fn unit(args: &Args, kept: Option<(&Desk, &Place)>) -> Result<Unit, Refused> {
    let told = args.unit.as_deref().map(str::parse::<Unit>).transpose()?;
    let unit =
        told.or_else(|| kept.and_then(|(desk, place)| manner::unit_of(desk, place.set))).unwrap_or(Unit::DbA);
    if unit.is_level() {
        Ok(unit)
    } else {
        Err(Refused::new(format!("a recording gives no {unit}"), "say --unit dBA, dBC or dBZ"))
    }
}

fn level_of(measured: &Measurement, unit: Unit) -> Option<f64> {
    match unit {
        Unit::DbC => measured.c.leq_db,
        Unit::DbZ => measured.z.leq_db,
        _ => measured.a.leq_db,
    }
}

fn reading(heard: &Heard, unit: Unit, level_db: f64) -> keep::Reading<'static> {
    let mut more = Vec::new();
    more.extend(heard.scale.words.clone().map(|words| ("calibration", words)));
    if !heard.cuts.is_empty() {
        more.push(("cut_out", cut_words(heard, unit)));
    }
    if let Some(clipping) = &heard.rest.oddities.clipping {
        more.push(("clipped", clipping.count.to_string()));
    }
    if heard.about.kind.is_lossy() {
        more.push(("lossy", "yes".to_owned()));
    }
    keep::Reading {
        subject: "level",
        value: level_db,
        unit,
        seconds: Some(heard.rest.duration_s),
        bands: usable(&heard.rest).and_then(|thirds| keep::bands(&thirds, Of::Level)),
        more,
    }
}

/// What was cut out, whole seconds as they were taken, why, and what the level was with it.
fn cut_words(heard: &Heard, unit: Unit) -> String {
    let uncut = level_of(&heard.whole, unit).map(|level_db| format!("{} {unit}", decimals(level_db, 1)));
    storypole_notebook::cuts::print(&heard.cuts, uncut.as_deref())
}

/// The thirds whose filters had time to rise.
fn usable(measured: &Measurement) -> Option<Spectrum> {
    let thirds = measured.thirds.as_ref()?.values().iter();
    Spectrum::of(thirds.filter(|(band, _)| !measured.oddities.too_short.contains(band)).copied().collect())
        .ok()
}

/// What is odd about the recording, in words.
fn oddities(heard: &Heard) -> Vec<String> {
    let odd = &heard.rest.oddities;
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
        words.push(format!("it has a constant offset of {:.3} of full scale, which was taken off", offset));
    }
    if odd.not_numbers_count > 0 {
        words.push(format!("{} samples are no numbers and were taken as zero", odd.not_numbers_count));
    }
    if !odd.too_short.is_empty() {
        words.push(format!("it is too short for {}: record longer", span(&odd.too_short)));
    }
    if !heard.rest.missing.is_empty() {
        words.push(format!(
            "at {} samples a second it does not hold {}",
            heard.about.sample_rate_hz,
            span(&heard.rest.missing)
        ));
    }
    words.extend(about_words(&heard.about));
    words
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
    let words = [
        of(storypole_acoustics::Fraction::Third, "third octave"),
        of(storypole_acoustics::Fraction::Octave, "octave"),
    ];
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

fn json(args: &Args, heard: &Heard) -> Json {
    let rest = &heard.rest;
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
    let mut json = json!({
        "file": args.file.display().to_string(),
        "format": heard.about.kind.to_string(),
        "sample_rate_hz": heard.about.sample_rate_hz,
        "channels": heard.about.channels,
        "channel": args.channel,
        "duration_s": rest.duration_s,
        "calibrated": heard.scale.words.is_some(),
        "calibration": heard.scale.words,
        "levels": levels_json(rest),
        "third_octaves": bands(&rest.thirds),
        "octaves": bands(&rest.octaves),
        "missing_bands": rest.missing.iter().map(|band| band.nominal_hz()).collect::<Vec<_>>(),
        "oddities": oddities(heard),
        "cut_out": heard.cuts.iter().map(CutOut::words).collect::<Vec<_>>(),
        "levels_uncut": if heard.cuts.is_empty() { Json::Null } else { levels_json(&heard.whole) },
    });
    if args.history {
        let second = |second: storypole_acoustics::meter::SecondLevels| {
            json!({
                "from_s": second.from_s, "duration_s": second.duration_s, "LAeq": second.laeq_db, "LCeq": second.lceq_db,
                "LZeq": second.lzeq_db, "LAFmax": second.la_fast_max_db,
            })
        };
        json["history"] = heard.whole.levels_by_second().into_iter().map(second).collect();
    }
    json
}

fn shown(level: Option<f64>) -> String {
    level.map_or_else(|| "-".to_owned(), |level| decimals(level, 1))
}

fn write(page: &mut Page, args: &Args, heard: &Heard) {
    let rest = &heard.rest;
    page.say(&format!(
        "{}: {}, {} Hz, channel {} of {}, {} s",
        args.file.display(),
        heard.about.kind,
        heard.about.sample_rate_hz,
        args.channel,
        heard.about.channels,
        decimals(rest.duration_s, 1)
    ));
    match &heard.scale.words {
        Some(words) => page.say(&format!("Levels in dB re 20 µPa; {words}.")),
        None => page.say(
            "What full scale is, is not known: levels are in dB re a full-scale sine. Compare them only with others of the same device and \
             gain.",
        ),
    };
    page.blank();
    let mut table = Table::new(&["", ">A", ">C", ">Z"]);
    let three =
        |of: fn(&CurveLevels) -> Option<f64>| [shown(of(&rest.a)), shown(of(&rest.c)), shown(of(&rest.z))];
    for (name, of) in [
        ("average, Leq", (|levels| levels.leq_db) as fn(&CurveLevels) -> Option<f64>),
        ("loudest, Fast", |levels| levels.fast_max_db),
        ("faintest, Fast", |levels| levels.fast_min_db),
        ("loudest, Slow", |levels| levels.slow_max_db),
    ] {
        let [a, c, z] = three(of);
        table.row([name.to_owned(), a, c, z]);
    }
    for percent in [10, 50, 90] {
        let level = shown(rest.percentile_db(f64::from(percent)));
        table.row([
            format!("louder {percent} % of the time, L{percent}"),
            level,
            String::new(),
            String::new(),
        ]);
    }
    table.row(["whole event in one second, LE".to_owned(), shown(rest.lae_db), String::new(), String::new()]);
    table.row(["highest peak".to_owned(), String::new(), shown(rest.c_peak_db), String::new()]);
    page.table(&table);
    if let Some(thirds) = &rest.thirds {
        page.heading("By third octave, unweighted");
        let mut table = Table::new(&["band", ">dB", ">± by chance"]);
        for (band, level_db) in thirds.values() {
            let error_db = random_error_db(*band, rest.duration_s);
            let error_db = error_db.filter(|_| !rest.oddities.too_short.contains(band));
            let chance =
                error_db.map_or_else(|| "too short".to_owned(), |error_db| decimals(1.96 * error_db, 1));
            table.row([band.to_string(), decimals(*level_db, 1), chance]);
        }
        page.table(&table);
    }
    if args.history {
        history(page, heard);
    }
    if !heard.cuts.is_empty() {
        page.heading("Cut out");
        for cut in &heard.cuts {
            page.item(&cut.words());
        }
        page.say(&format!("Uncut the average is {} dBA.", shown(heard.whole.a.leq_db)));
    }
    let odd = oddities(heard);
    if !odd.is_empty() {
        page.heading("What to know about it").items(&odd);
    }
    let level_db = rest.a.leq_db.filter(|_| heard.scale.words.is_some());
    if let Some(hearing) = level_db.and_then(Hearing::of_level) {
        page.blank().say(&hearing.sentence_of("where it was recorded"));
    }
}

fn history(page: &mut Page, heard: &Heard) {
    page.heading("Second by second");
    let mut table = Table::new(&[">from s", ">LAeq", ">LCeq", ">LAFmax"]);
    for second in heard.whole.levels_by_second() {
        table.row([
            decimals(second.from_s, 0),
            shown(second.laeq_db),
            shown(second.lceq_db),
            shown(second.la_fast_max_db),
        ]);
    }
    page.table(&table);
}
