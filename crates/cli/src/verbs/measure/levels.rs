//! Levels and bands of a recording.

use serde_json::{Value as Json, json};
use storypole_acoustics::meter::{CurveLevels, random_error_db};
use storypole_desk::Desk;
use storypole_desk::recording;
use storypole_desk::recording::account::{Account, NoAccount};
use storypole_desk::recording::cuts::{self, NoCut, Reasoned};
use storypole_findings::hearing::Hearing;
use storypole_findings::print::decimals;
use storypole_notebook::Unit;

use super::{Args, Place, keep, listened, scale};
use crate::context::Context;
use crate::draft::record_json;
use crate::page::{self, Page};
use crate::print::Table;
use crate::refused::{Outcome, Refused};
use crate::verbs::test_set::manner;

/// Measures, keeps where that is wanted, and tells.
pub fn run(context: &Context, args: &Args, kept: Option<(&Desk, &Place)>) -> Outcome {
    let cuts: Vec<Reasoned> =
        args.cut.iter().map(|typed| cuts::read(typed).map_err(no_cut)).collect::<Result<_, _>>()?;
    let unit = unit(args, kept)?;
    if let Some((desk, place)) = kept {
        keep::check_free(desk, args, place, "level", unit)?;
    }
    let scale = scale(args, kept)?;
    let (whole, about) =
        listened(|progress| recording::measure(&args.file, args.channel - 1, scale.full_scale, progress))?;
    let heard = Account::new(whole, about, cuts, scale).map_err(refused)?;
    if kept.is_some() {
        heard.check_rate().map_err(refused)?;
    }
    let level_db = heard.level_db(unit).map_err(refused)?;
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

fn no_cut(error: NoCut) -> Refused {
    Refused::from(error).next("write it like --cut \"12-15 a truck passed\", in seconds or minutes:seconds")
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

fn reading(heard: &Account, unit: Unit, level_db: f64) -> keep::Reading<'static> {
    keep::Reading {
        subject: "level",
        value: level_db,
        unit,
        seconds: Some(heard.rest.duration_s),
        bands: heard.bands(),
        more: heard.more(unit),
    }
}

fn json(args: &Args, heard: &Account) -> Json {
    let mut json = heard.json(args.channel);
    json["file"] = json!(args.file.display().to_string());
    if args.history {
        json["history"] = heard.history();
    }
    json
}

fn refused(error: NoAccount) -> Refused {
    let next = error.next_step();
    Refused::from(error).next(next)
}

fn shown(level: Option<f64>) -> String {
    level.map_or_else(|| "-".to_owned(), |level| decimals(level, 1))
}

fn write(page: &mut Page, args: &Args, heard: &Account) {
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
    let odd = heard.oddities();
    if !odd.is_empty() {
        page.heading("What to know about it").items(&odd);
    }
    let level_db = rest.a.leq_db.filter(|_| heard.scale.words.is_some());
    if let Some(hearing) = level_db.and_then(Hearing::of_level) {
        page.blank().say(&hearing.sentence_of("where it was recorded"));
    }
}

fn history(page: &mut Page, heard: &Account) {
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
