//! Chapters of films: WebVTT, and a list of time marks to paste under a film.
//!
//! A chapter ends where the next one begins. How long a film is stands nowhere in a notebook, so its last chapter is written as
//! ten seconds long, and a note in the file says so. Leaves out captions of speech, and what a film shows between two marks.
//!
//! # Source
//! WebVTT: The Web Video Text Tracks Format, W3C, sections 4.1 (file structure), 4.2.2 (cue text), 4.6 (chapter titles). The
//! list of marks and its limits of three marks and ten seconds: common practice, no source.

use super::File;
use crate::compose::slug;
use crate::document::{ClipMark, Document};
use crate::markdown::escape::plain_line;

/// How long the last chapter is written, and the least that two marks are apart in a list, milliseconds.
const TEN_SECONDS_MS: u64 = 10_000;
/// Fewest marks in a list that film sites make chapters of.
const LEAST_MARKS: usize = 3;

/// One film with its marks, the earliest first.
struct Film<'a> {
    file: &'a str,
    stem: String,
    marks: Vec<(u64, String)>,
}

/// Two files for each film, at `chapters/`: `.vtt`, and `.txt` with a line for each mark.
pub fn chapters(document: &Document) -> Vec<File> {
    films(&document.clips)
        .iter()
        .flat_map(|film| {
            let file = |ending: &str, media_type, text: String| File {
                path: format!("chapters/{}.{ending}", film.stem),
                media_type,
                bytes: text.into_bytes(),
            };
            [
                file("txt", "text/plain; charset=utf-8", list(film)),
                file("vtt", "text/vtt; charset=utf-8", vtt(film)),
            ]
        })
        .collect()
}

/// What to mind before the list of marks is pasted under a film: too few marks, or marks too close. Every mark is written
/// all the same.
pub fn chapter_warnings(document: &Document) -> Vec<String> {
    let mut warnings = Vec::new();
    for film in films(&document.clips) {
        let (file, marks) = (plain_line(film.file), listed(&film));
        if marks.len() < LEAST_MARKS {
            warnings.push(format!(
                "{file}: {} in its list of chapters, and film sites want at least {LEAST_MARKS}: note more places of it",
                if marks.len() == 1 { "1 mark".to_owned() } else { format!("{} marks", marks.len()) }
            ));
        }
        for pair in marks.windows(2) {
            if (pair[1].0 - pair[0].0) * 1000 < TEN_SECONDS_MS {
                warnings.push(format!(
                    "{file}: {} and {} are less than 10 s apart, and film sites want 10 s or more: keep one of them",
                    clock(pair[0].0),
                    clock(pair[1].0)
                ));
            }
        }
    }
    warnings
}

/// Gathers marks by film; films come in the order they are first named, and no two share a stem.
fn films(clips: &[ClipMark]) -> Vec<Film<'_>> {
    let mut films: Vec<Film<'_>> = Vec::new();
    for clip in clips {
        let mark = (clip.at_ms, words(&clip.subject));
        match films.iter_mut().find(|film| film.file == clip.file) {
            Some(film) => film.marks.push(mark),
            None => {
                let stem = free_stem(&clip.file, &films);
                films.push(Film { file: &clip.file, stem, marks: vec![mark] });
            }
        }
    }
    for film in &mut films {
        film.marks.sort_by_key(|(at, _)| *at);
        film.marks = merged(&film.marks, |at_ms| at_ms);
    }
    films
}

fn words(subject: &str) -> String {
    let words = plain_line(subject);
    if words.is_empty() { "Not named".to_owned() } else { words }
}

/// A name for the files of a film that no film before it has.
fn free_stem(file: &str, films: &[Film<'_>]) -> String {
    let name = file.rsplit(['/', '\\']).next().unwrap_or_default();
    let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    let own = slug(stem, "film");
    let numbered = (2..).map(|number| format!("{own}-{number}"));
    let mut names = std::iter::once(own.clone()).chain(numbered);
    names.find(|name| films.iter().all(|film| film.stem != *name)).expect("there are more numbers than films")
}

/// Joins the words of marks that stand at the same time, as `time` counts it.
fn merged(marks: &[(u64, String)], time: impl Fn(u64) -> u64) -> Vec<(u64, String)> {
    let mut out: Vec<(u64, String)> = Vec::new();
    for (at, words) in marks {
        match out.last_mut() {
            Some((last, joined)) if *last == time(*at) => {
                joined.push_str(" / ");
                joined.push_str(words);
            }
            _ => out.push((time(*at), words.clone())),
        }
    }
    out
}

fn vtt(film: &Film<'_>) -> String {
    let mut out = "WEBVTT\n\nNOTE\nThe length of the film is not known here: its last chapter is written as 10 seconds long.\n"
        .to_owned();
    for (index, (at_ms, words)) in film.marks.iter().enumerate() {
        let end_ms = film.marks.get(index + 1).map_or(at_ms.saturating_add(TEN_SECONDS_MS), |next| next.0);
        out.push_str(&format!("\n{} --> {}\n{}\n", stamp(*at_ms), stamp(end_ms), escaped(words)));
    }
    out
}

/// `hh:mm:ss.mmm`; hours take more digits where they need them.
fn stamp(at_ms: u64) -> String {
    let (s, ms) = (at_ms / 1000, at_ms % 1000);
    format!("{:02}:{:02}:{:02}.{ms:03}", s / 3600, s / 60 % 60, s % 60)
}

/// Without `>` no text holds the arrow between two times.
fn escaped(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// Marks of the list, in whole seconds; the first stands at 0.
fn listed(film: &Film<'_>) -> Vec<(u64, String)> {
    let mut marks = merged(&film.marks, |at_ms| at_ms / 1000);
    match marks.first_mut() {
        // Too close for a chapter of its own before it: the list begins with it.
        Some((at_s, _)) if *at_s * 1000 < TEN_SECONDS_MS => *at_s = 0,
        Some(_) => marks.insert(0, (0, "Start".to_owned())),
        None => (),
    }
    marks
}

fn list(film: &Film<'_>) -> String {
    listed(film).iter().map(|(at_s, words)| format!("{} {words}\n", clock(*at_s))).collect()
}

/// A time in a film: `m:ss`, and `h:mm:ss` from an hour on.
pub fn clock(at_s: u64) -> String {
    match at_s / 3600 {
        0 => format!("{}:{:02}", at_s / 60, at_s % 60),
        hours => format!("{hours}:{:02}:{:02}", at_s / 60 % 60, at_s % 60),
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;
    use proptest::prelude::*;

    use super::*;

    fn of(clips: &[(&str, u64, &str)]) -> Document {
        let clips = clips.iter().map(|(file, at_ms, subject)| ClipMark {
            file: (*file).into(),
            at_ms: *at_ms,
            subject: (*subject).into(),
        });
        let day = "2025-05-24".parse().unwrap();
        Document { clips: clips.collect(), ..Document::new("Walls", "walls", day, "0.1.0") }
    }

    fn text(document: &Document, path: &str) -> String {
        let files = chapters(document);
        let file = files.into_iter().find(|file| file.path == path);
        String::from_utf8(file.unwrap_or_else(|| panic!("no {path}")).bytes).unwrap()
    }

    fn film() -> Document {
        of(&[
            ("Walls Final.MP4", 40_000, "The three walls"),
            ("Walls Final.MP4", 130_000, "How we measured: <dBA> & --> more"),
            ("Walls Final.MP4", 130_000, "Meter\non its tripod"),
            ("Walls Final.MP4", 3_730_250, "Limits"),
        ])
    }

    #[test]
    fn a_film_letter_by_letter() {
        expect![[r"
            WEBVTT

            NOTE
            The length of the film is not known here: its last chapter is written as 10 seconds long.

            00:00:40.000 --> 00:02:10.000
            The three walls

            00:02:10.000 --> 01:02:10.250
            How we measured: &lt;dBA&gt; &amp; --&gt; more / Meter on its tripod

            01:02:10.250 --> 01:02:20.250
            Limits
        "]]
        .assert_eq(&text(&film(), "chapters/walls-final.vtt"));
        expect![[r"
            0:00 Start
            0:40 The three walls
            2:10 How we measured: <dBA> & --> more / Meter on its tripod
            1:02:10 Limits
        "]]
        .assert_eq(&text(&film(), "chapters/walls-final.txt"));
        assert_eq!(chapter_warnings(&film()), [] as [&str; 0]);
    }

    #[test]
    fn films_keep_apart_whatever_they_are_called() {
        let document = of(&[
            ("a b.mov", 0, "x"),
            ("A_B.mp4", 0, "x"),
            ("a-b-2.mp4", 0, "x"),
            ("in/folder/\u{5d0}.mp4", 0, "x"),
            (".mp4", 0, " "),
        ]);
        let files = chapters(&document);
        let paths: Vec<&str> =
            files.iter().map(|file| file.path.as_str()).filter(|path| path.ends_with(".vtt")).collect();
        let names = ["a-b", "a-b-2", "a-b-2-2", "film", "film-2"];
        assert_eq!(paths, names.map(|name| format!("chapters/{name}.vtt")));
        assert_eq!(text(&document, "chapters/film-2.txt"), "0:00 Not named\n");
        assert_eq!(chapters(&of(&[])), []);
    }

    #[test]
    fn what_film_sites_do_not_take_is_told_and_still_written() {
        let close = of(&[("a.mp4", 0, "one"), ("a.mp4", 9_900, "two"), ("a.mp4", 60_000, "three")]);
        let warning = "a.mp4: 0:00 and 0:09 are less than 10 s apart, and film sites want 10 s or more: keep one of them";
        assert_eq!(chapter_warnings(&close), [warning]);
        assert_eq!(text(&close, "chapters/a.txt").lines().count(), 3);
        let few = of(&[("a.mp4", 0, "one")]);
        let warning =
            "a.mp4: 1 mark in its list of chapters, and film sites want at least 3: note more places of it";
        assert_eq!(chapter_warnings(&few), [warning]);
    }

    /// Milliseconds of `hh:mm:ss.mmm`, by the grammar of WebVTT section 4.1.
    fn read_stamp(stamp: &str) -> Option<u64> {
        let (hours, rest) = stamp.split_once(':')?;
        let (minutes, rest) = rest.split_once(':')?;
        let (seconds, ms) = rest.split_once('.')?;
        let shapes = hours.len() >= 2 && minutes.len() == 2 && seconds.len() == 2 && ms.len() == 3;
        let [hours, minutes, seconds, ms] =
            [hours, minutes, seconds, ms].map(|part| part.parse::<u64>().ok());
        (shapes && minutes? < 60 && seconds? < 60)
            .then_some(((hours? * 60 + minutes?) * 60 + seconds?) * 1000 + ms?)
    }

    proptest! {
        /// Goal: any film gives a file that WebVTT's grammar takes, and a list that ascends from 0. Method: read both back.
        #[test]
        fn any_marks_read_back(marks in prop::collection::vec((0u64..20_000_000, prop_oneof![any::<String>(), "[-<>&\n\r a]{0,12}"]), 1..12)) {
            let marks: Vec<(&str, u64, &str)> = marks.iter().map(|(at, words)| ("a.mp4", *at, words.as_str())).collect();
            let document = of(&marks);
            let file = text(&document, "chapters/a.vtt");
            let blocks: Vec<&str> = file.trim_end_matches('\n').split("\n\n").collect();
            prop_assert_eq!(blocks[0], "WEBVTT");
            prop_assert!(blocks[1].starts_with("NOTE\n"));
            let mut before = None;
            for block in &blocks[2..] {
                let lines: Vec<&str> = block.split('\n').collect();
                prop_assert_eq!(lines.len(), 2, "{}", block);
                let (begin, end) = lines[0].split_once(" --> ").unwrap();
                let (begin, end) = (read_stamp(begin).unwrap(), read_stamp(end).unwrap());
                prop_assert!(begin < end && before.is_none_or(|before| before == begin));
                before = Some(end);
                prop_assert!(!lines[1].is_empty() && !lines[1].contains(['<', '>', '\r']));
            }
            let times: std::collections::BTreeSet<u64> = marks.iter().map(|mark| mark.1).collect();
            prop_assert_eq!(blocks.len() - 2, times.len());
            let list = text(&document, "chapters/a.txt");
            prop_assert!(list.starts_with("0:00 "));
            let seconds: Vec<u64> = list.lines().map(|line| {
                let parts = line.split(' ').next().unwrap().split(':');
                parts.fold(0, |sum, part| sum * 60 + part.parse::<u64>().unwrap())
            }).collect();
            prop_assert!(seconds.windows(2).all(|pair| pair[0] < pair[1]));
        }
    }
}
