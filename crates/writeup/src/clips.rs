//! Notes for films and photographs that go along. Leaves out files: content comes from whoever has them.

use std::collections::BTreeSet;

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::kinds::Clip;
use storypole_units::Decimal;

use crate::document::{ClipMark, Photo};
use crate::photo::stripped;
use crate::privacy::Cleaner;
use crate::scope::Scope;
use crate::subject::{Choices, ChosenPhoto, WriteUpError};

/// Every note on each film that shows something of the write-up, file by file, in order of time.
pub(crate) fn clips(scope: &Scope<'_>) -> Vec<ClipMark> {
    let mut about: BTreeSet<RecordId> = scope.jobs.iter().map(|job| job.id).collect();
    about.extend(scope.tests.iter().map(|test| test.test));
    about.extend(scope.sets().map(|set| set.set));
    about.extend(scope.assemblies.iter().map(|assembly| assembly.id));
    let shows = |id: Option<RecordId>| id.is_some_and(|id| about.contains(&id));
    let is_about = |clip: &&Clip| shows(clip.about) || (clip.about.is_none() && shows(clip.job));
    let files: BTreeSet<&String> =
        scope.book.clips.live().filter(is_about).filter_map(|clip| clip.file.as_ref()).collect();
    let mark = |clip: &Clip| {
        let file = clip.file.clone().filter(|file| files.contains(file))?;
        Some(ClipMark { file, at_ms: milliseconds(clip.at_s?)?, subject: clip.subject.clone()? })
    };
    let mut marks: Vec<ClipMark> = scope.book.clips.live().filter_map(mark).collect();
    marks.sort_by(|one, other| (&one.file, one.at_ms).cmp(&(&other.file, other.at_ms)));
    marks
}

/// Seconds as milliseconds, rounded; `None` below zero and beyond any film.
fn milliseconds(seconds: Decimal) -> Option<u64> {
    let ms = (seconds.to_f64() * 1000.0).round();
    (0.0..=1e15).contains(&ms).then_some(ms as u64)
}

/// Photographs without what cameras hide in them, with plain names and clean captions.
pub(crate) fn photos(
    published: &Book,
    choices: &Choices,
    cleaner: &Cleaner,
) -> Result<Vec<Photo>, WriteUpError> {
    let mut names = BTreeSet::new();
    let mut found = Vec::new();
    for one in &choices.photos {
        let name = cleaner.clean(&one.name);
        let done = stripped(&one.bytes).map_err(|why| WriteUpError::Photo { name: name.clone(), why })?;
        let ending = if done.media_type == "image/png" { "png" } else { "jpg" };
        let stem = name.rsplit_once('.').map_or(name.as_str(), |(stem, _)| stem);
        found.push(Photo {
            name: format!("{}.{ending}", crate::figures::unique(&mut names, stem, "photo")),
            caption: caption(published, one, cleaner),
            media_type: done.media_type,
            bytes: done.bytes.into(),
            stripped: done.gone,
        });
    }
    Ok(found)
}

fn caption(published: &Book, one: &ChosenPhoto, cleaner: &Cleaner) -> String {
    let given = cleaner.clean(one.caption.trim());
    let recorded = || published.photos.get(one.record).and_then(|photo| photo.caption.clone());
    let caption = if given.is_empty() { recorded() } else { Some(given) };
    caption.unwrap_or_else(|| "A photograph of the work.".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::demo;
    use crate::subject::Subject;

    #[test]
    fn all_notes_of_a_film_come_in_order_of_time() {
        let mut all = demo();
        for (key, fields) in [
            (
                "c1",
                [("file", "GX01.mp4"), ("at_s", "12.5"), ("subject", "the old door"), ("about", "set:T01")],
            ),
            ("c2", [("file", "GX01.mp4"), ("at_s", "3"), ("subject", "the hall"), ("about", "job:J6")]),
            ("c3", [("file", "GX02.mp4"), ("at_s", "1"), ("subject", "the box"), ("about", "job:J6")]),
            ("c4", [("file", "A.mp4"), ("at_s", "0.0005"), ("subject", "the new door"), ("about", "job:J2")]),
        ] {
            all.put("clip", key, &fields);
        }
        let scope = Scope::of(&all.book, Subject::Job(all.id("job", "J1"))).unwrap();
        let marks: Vec<(String, u64, String)> =
            clips(&scope).into_iter().map(|mark| (mark.file, mark.at_ms, mark.subject)).collect();
        let expected = [
            ("A.mp4", 1, "the new door"),
            ("GX01.mp4", 3_000, "the hall"),
            ("GX01.mp4", 12_500, "the old door"),
        ];
        assert_eq!(marks, expected.map(|(file, at, subject)| (file.to_owned(), at, subject.to_owned())));
    }

    #[test]
    fn a_photograph_that_is_none_is_named() {
        let all = demo();
        let photo = ChosenPhoto {
            record: all.id("job", "J1"),
            name: "wall.heic".into(),
            caption: String::new(),
            bytes: b"no picture"[..].into(),
        };
        let mut choices = Choices::new("2025-05-24".parse().unwrap(), "0.1.0");
        choices.photos.push(photo);
        let refused = photos(&all.book, &choices, &Cleaner::default()).unwrap_err();
        let said = refused.to_string();
        assert!(said.starts_with("photograph wall.heic cannot go along"), "{said}");
        assert!(said.ends_with("leave it out or choose another file"), "{said}");
    }
}
