//! `storypole clip`: a place in a film, noted while filming or cutting, for chapters. Alone it lists what was noted.

use std::collections::BTreeMap;

use serde_json::json;
use storypole_desk::Desk;
use storypole_journal::RecordId;
use storypole_notebook::Value;
use storypole_notebook::kinds::Clip;
use storypole_writeup::files::chapters;

use crate::context::Context;
use crate::draft::Writing;
use crate::page::Page;
use crate::refused::{Outcome, Refused};
use crate::{called, page, typing};

/// Note a place in a film: its time and what is shown. Without words: list what was noted.
///
/// The film is that of the note before unless you say which.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole clip four-walls.mp4 0:00 Question     a film, a time, what is shown
  storypole clip 3:30 The door was the problem    the film of the note before
  storypole clip 5:50 Seal first --about Q2       what it is about
  storypole clip --strike 3:30                    a note written by mistake
  storypole clip                                  everything noted, film by film")]
pub struct Args {
    /// The film, where it is another than before; the time, like 3:30, 1:02:03 or 90 s; what is shown.
    #[arg(value_name = "[FILM] TIME SUBJECT")]
    words: Vec<String>,
    /// Record it shows: a test, a set, an assembly.
    #[arg(long, value_name = "RECORD")]
    about: Option<String>,
    /// Job it shows.
    #[arg(long)]
    job: Option<String>,
    /// Strike the note at this time, written by mistake.
    #[arg(long)]
    strike: bool,
    /// Day of filming, like 2025-05-24, today or yesterday.
    #[arg(long, default_value = "today", value_name = "DAY")]
    date: String,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Notes the place, or lists all.
pub fn run(context: &Context, args: &Args) -> Outcome {
    if args.words.is_empty() {
        return list(context);
    }
    let desk = context.open()?;
    if args.strike {
        return strike(context, &desk, args);
    }
    let typed = Typed::of(&args.words)?;
    let film = match typed.film {
        Some(film) => same_film(&desk, film)?,
        None => last_film(&desk)?.ok_or_else(|| {
            Refused::new(
                "there is no note before to take the film from",
                "say which film: storypole clip walls.mp4 3:30 Door",
            )
        })?,
    };
    let mut writing = Writing::start(context, &desk, args.by.as_deref())?;
    let id = storypole_desk::edge::record_id();
    writing.set(id, "clip", "file", &film)?;
    writing.set(id, "clip", "at_s", &typed.at_s)?;
    writing.set(id, "clip", "subject", &typed.subject)?;
    writing.set_some(id, "clip", "about", args.about.as_deref())?;
    writing.set_some(id, "clip", "job", args.job.as_deref())?;
    let date = writing.value("clip", "date", &args.date)?;
    writing.set_value(id, "clip", "date", &date)?;
    if args.job.is_none()
        && args.about.is_none()
        && let Some(job) = job_of_day(&desk, &date)?
    {
        writing.set_value(id, "clip", "job", &Value::Record(job))?;
        eprintln!("note: job {}, as in the log of that day", called::name(&desk, "job", job));
    }
    writing.finish("clip", id, &format!("noted: {film} at {}, {}", clock(&typed.at_s), typed.subject))
}

/// What was typed, taken apart.
#[derive(Debug, PartialEq, Eq)]
struct Typed<'a> {
    film: Option<&'a str>,
    at_s: String,
    subject: String,
}

impl<'a> Typed<'a> {
    /// The first word that reads as a time parts the film from the subject.
    fn of(words: &'a [String]) -> Result<Self, Refused> {
        let next = "write it like: storypole clip walls.mp4 3:30 The door was the problem";
        let (film, rest) = match words {
            // `90 s Subject`: the unit stands by itself.
            [time, unit, rest @ ..] if is_decimal(time) && matches!(unit.as_str(), "s" | "sec") => {
                (None, (time, rest))
            }
            [film, time, unit, rest @ ..]
                if seconds(film).is_none() && is_decimal(time) && matches!(unit.as_str(), "s" | "sec") =>
            {
                (Some(film.trim()), (time, rest))
            }
            [time, rest @ ..] if seconds(time).is_some() => (None, (time, rest)),
            [film, time, rest @ ..] if seconds(time).is_some() => (Some(film.trim()), (time, rest)),
            [film, ..] => {
                return Err(Refused::new(
                    format!("there is no time behind \"{film}\""),
                    "write it like 3:30, 1:02:03 or 90s: storypole clip walls.mp4 3:30 The door was the problem",
                ));
            }
            [] => return Err(Refused::new("there is nothing to note", next)),
        };
        let (time, subject) = rest;
        let subject = subject.join(" ").trim().to_owned();
        if subject.is_empty() {
            return Err(Refused::new("what is shown there was not said", next));
        }
        let at_s = seconds(time).unwrap_or_default();
        Ok(Self { film: film.filter(|film| !film.is_empty()), at_s, subject })
    }
}

/// Seconds of `3:30`, `1:02:03.5`, `90`, `90s`; `None` for anything else.
fn seconds(time: &str) -> Option<String> {
    let time = time.trim();
    if !time.contains(':') {
        let plain = typing::seconds(time);
        let plain = plain.trim();
        let number = plain.strip_suffix('s').unwrap_or(plain).trim_end();
        return is_decimal(number).then(|| number.to_owned());
    }
    let parts: Vec<&str> = time.split(':').collect();
    let (last, before) = parts.split_last()?;
    if before.len() > 2 || !is_decimal(last) || before.iter().any(|part| !is_whole(part)) {
        return None;
    }
    let is_sixtieth = |part: &str| {
        part.split('.').next().and_then(|whole| whole.parse::<u64>().ok()).is_some_and(|whole| whole < 60)
    };
    if !is_sixtieth(last) || before.get(1).is_some_and(|minutes| !is_sixtieth(minutes)) {
        return None;
    }
    let minutes =
        before.iter().try_fold(0u64, |sum, part| sum.checked_mul(60)?.checked_add(part.parse().ok()?))?;
    let (whole, fraction) =
        last.split_once('.').map_or((*last, None), |(whole, fraction)| (whole, Some(fraction)));
    let whole = minutes.checked_mul(60)?.checked_add(whole.parse().ok()?)?;
    Some(fraction.map_or_else(|| whole.to_string(), |fraction| format!("{whole}.{fraction}")))
}

fn is_whole(text: &str) -> bool {
    !text.is_empty() && text.len() <= 7 && text.bytes().all(|letter| letter.is_ascii_digit())
}

fn is_decimal(text: &str) -> bool {
    match text.split_once('.') {
        Some((whole, fraction)) => is_whole(whole) && is_whole(fraction),
        None => is_whole(text),
    }
}

/// `3:30` of `210`, `1:02:03` of `3723`, with tenths where there are any.
fn clock(at_s: &str) -> String {
    let (whole, fraction) = at_s.split_once('.').map_or((at_s, ""), |(whole, fraction)| (whole, fraction));
    let start = chapters::clock(whole.parse().unwrap_or_default());
    let fraction = fraction.trim_end_matches('0');
    let end = if fraction.is_empty() { String::new() } else { format!(".{fraction}") };
    format!("{start}{end}")
}

/// A film by its file name; one that was noted before keeps its capitals.
fn same_film(desk: &Desk, typed: &str) -> Result<String, Refused> {
    let name = std::path::Path::new(typed).file_name().map_or(typed.into(), |name| name.to_string_lossy());
    let book = desk.book()?;
    let before =
        book.clips.live().filter_map(|clip| clip.file.clone()).find(|film| film.eq_ignore_ascii_case(&name));
    Ok(before.unwrap_or_else(|| name.into_owned()))
}

/// Strikes the note at a time of a film.
fn strike(context: &Context, desk: &Desk, args: &Args) -> Outcome {
    let form = || {
        Refused::new("it was not said which note", "write it like: storypole clip --strike walls.mp4 3:30")
    };
    let (film, time) = match args.words.as_slice() {
        [time] => (last_film(desk)?.ok_or_else(form)?, time),
        [film, time] => (same_film(desk, film)?, time),
        _ => return Err(form()),
    };
    let at_s = seconds(time).ok_or_else(form)?;
    let wanted = clock(&at_s);
    let book = desk.book()?;
    let is_it = |clip: &&Clip| {
        clip.file.as_deref() == Some(&film)
            && clip.at_s.is_some_and(|at_s| clock(&at_s.to_string()) == wanted)
    };
    let found = book.clips.live().find(is_it).map(|clip| clip.id).ok_or_else(|| {
        Refused::new(format!("nothing is noted at {wanted} of {film}"), "see `storypole clip` for what is")
    })?;
    let mut writing = Writing::start(context, desk, args.by.as_deref())?;
    writing.strike(found, "clip", Some("noted by mistake"))?;
    writing.finish("clip", found, &format!("struck: {film} at {wanted}"))
}

/// The film of the note that was written last.
fn last_film(desk: &Desk) -> Result<Option<String>, Refused> {
    let book = desk.book()?;
    let written = |clip: &Clip| (clip.meta.written_at.map_or(i64::MIN, |at| at.unix_ms), clip.id);
    let last = book.clips.live().filter(|clip| clip.file.is_some()).max_by_key(|clip| written(clip));
    Ok(last.and_then(|clip| clip.file.clone()))
}

/// The job of the log line written last on a day; films of work are mostly made on the day of the work.
fn job_of_day(desk: &Desk, date: &Value) -> Result<Option<RecordId>, Refused> {
    let Value::Date(day) = date else { return Ok(None) };
    let book = desk.book()?;
    let of_day = book.entries.live().filter(|entry| entry.date == Some(*day) && entry.job.is_some());
    Ok(of_day.last().and_then(|entry| entry.job))
}

fn list(context: &Context) -> Outcome {
    let desk = context.look()?;
    let book = desk.book()?;
    let mut films: BTreeMap<&str, Vec<&Clip>> = BTreeMap::new();
    for clip in book.clips.live() {
        films.entry(clip.file.as_deref().unwrap_or("film not written")).or_default().push(clip);
    }
    for clips in films.values_mut() {
        clips.sort_by_key(|clip| (clip.at_s, clip.id));
    }
    let at = |clip: &Clip| clip.at_s.map_or_else(String::new, |at_s| at_s.to_string());
    let about = |clip: &Clip| {
        let job = clip.job.map(|job| called::name(&desk, "job", job));
        let about = clip.about.map(|about| called::name_with_kind(&desk, about));
        (job, about)
    };
    if context.json() {
        let films: Vec<_> = films
            .iter()
            .map(|(film, clips)| {
                let marks: Vec<_> = clips
                    .iter()
                    .map(|clip| {
                        let (job, about) = about(clip);
                        json!({ "at_s": at(clip), "subject": clip.subject, "job": job, "about": about, "id": clip.id.to_string() })
                    })
                    .collect();
                json!({ "film": film, "marks": marks })
            })
            .collect();
        return page::json(&json!({ "films": films }));
    }
    let mut out = Page::default();
    if films.is_empty() {
        out.line("Nothing noted yet. Write it like: storypole clip walls.mp4 0:00 Question");
    }
    for (film, clips) in &films {
        out.heading(film);
        for clip in clips {
            let (job, about) = about(clip);
            let beside: Vec<String> = job.into_iter().chain(about).collect();
            let beside = if beside.is_empty() { String::new() } else { format!("  ({})", beside.join(", ")) };
            out.line(&format!(
                "{:>8}  {}{beside}",
                clock(&at(clip)),
                clip.subject.as_deref().unwrap_or_default()
            ));
        }
    }
    out.print()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_as_films_show_them() {
        let cases = [
            ("3:30", Some("210")),
            ("0:00", Some("0")),
            ("1:02:03.5", Some("3723.5")),
            ("90", Some("90")),
            ("90s", Some("90")),
            ("12.25", Some("12.25")),
            ("3:75", None),
            ("1:75:00", None),
            ("1:2:3:4", None),
            ("-1:00", None),
            ("door", None),
            (":30", None),
        ];
        for (time, expected) in cases {
            assert_eq!(seconds(time).as_deref(), expected, "{time}");
        }
        for (at_s, expected) in [("210", "3:30"), ("3723.50", "1:02:03.5"), ("0", "0:00"), ("59", "0:59")] {
            assert_eq!(clock(at_s), expected);
        }
    }

    #[test]
    fn the_time_parts_film_from_subject() {
        let words = |text: &str| -> Vec<String> { text.split(' ').map(str::to_owned).collect() };
        let all = words("walls.mp4 3:30 The 2nd door");
        let typed = Typed::of(&all).unwrap();
        assert_eq!(
            (typed.film, typed.at_s.as_str(), typed.subject.as_str()),
            (Some("walls.mp4"), "210", "The 2nd door")
        );
        let short = words("0:40 Walls");
        assert_eq!(Typed::of(&short).unwrap().film, None);
        let apart = words("90 s Walls");
        let typed = Typed::of(&apart).unwrap();
        assert_eq!((typed.at_s.as_str(), typed.subject.as_str()), ("90", "Walls"));
        for refused in ["walls.mp4", "walls.mp4 Door", "3:30", "walls.mp4 3:30"] {
            assert!(Typed::of(&words(refused)).is_err(), "{refused}");
        }
    }
}
