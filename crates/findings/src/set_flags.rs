//! What is odd about one set: its positions, its conditions, its records, and why it is out of results.

use storypole_acoustics::Regime;
use storypole_journal::RecordId;
use storypole_notebook::kinds::{Reading, Set};

use crate::flags::{Effect, Flag, Raised};
use crate::joins::recording_of;
use crate::set_finding::{SetFinding, Side, in_conflict};
use crate::{Findings, paths, print, rules};

pub(crate) fn flag_sides(finding: &mut SetFinding) {
    let mut flags = Vec::new();
    if !finding.missing.is_empty() {
        flags
            .push(Raised::new(Flag::MissingPosition, format!("{} not taken", print::list(&finding.missing))));
    }
    if let Some(receive) = &finding.receive {
        flags.extend(outliers(receive));
        if finding.background_db.is_none() {
            flags.push(Raised::new(Flag::BackgroundNotMeasured, "the room's own noise was not measured"));
        }
        if receive.positions.iter().all(|place| place.counted < 2) {
            flags.push(Raised::new(
                Flag::SingleRun,
                "every position was read once, and not as a long average",
            ));
        }
    }
    flags.extend(finding.source.iter().flat_map(outliers));
    if let Some(background) =
        finding.background.filter(|background| background.margin_db <= -rules::BACKGROUND_LOUDER_DB)
    {
        let louder = print::decimals(-background.margin_db, 1);
        flags.push(Raised::new(
            Flag::BackgroundLouder,
            format!("the room's own noise reads {louder} dB louder than the room with the source on: one of the two is wrong"),
        ));
    }
    if let Some(background) = finding.background.filter(|background| background.regime == Regime::Limit) {
        let margin = print::decimals(background.margin_db, 1);
        flags.push(Raised::new(
            Flag::BackgroundLowMargin,
            format!("only {margin} dB over the room's own noise"),
        ));
    }
    finding.flags.extend(flags);
}

/// What the recordings behind the readings say of themselves.
pub(crate) fn flag_recordings(
    joins: &Findings<'_>,
    readings: &[&Reading],
    place: &dyn Fn(&Reading) -> String,
    finding: &mut SetFinding,
) {
    finding.flags.extend(full_scales(readings));
    for reading in readings {
        let (what, place) = (reading.role.as_deref().unwrap_or("a"), place(reading));
        if let Some(words) = reused(joins, finding.signal, reading, place.as_str()) {
            finding.flags.push(Raised::new(Flag::RecordingReused, words));
        }
        if reading.clipped.is_some_and(|times| times > 0) {
            let words = format!("the {what} recording at {place} is clipped: the true level is higher");
            finding.flags.push(Raised::new(Flag::RecordingClipped, words));
        }
        if let Some(cut) = &reading.cut_out {
            finding.flags.push(Raised::new(Flag::EventCutOut, format!("{what} at {place}: {cut}")));
        }
        if reading.lossy == Some(true) {
            let words = format!(
                "the {what} recording at {place} is of a format that drops quiet and high sounds: mind the top bands"
            );
            finding.flags.push(Raised::new(Flag::RecordingLossy, words));
        }
    }
}

/// Readings of one set that take full scale for different levels: the gain or the calibration changed in between.
fn full_scales(readings: &[&Reading]) -> Option<Raised> {
    let level = |reading: &&Reading| {
        let words = reading.calibration.as_deref()?;
        words.split_once("= ")?.1.split(' ').next()?.parse::<f64>().ok()
    };
    let levels: Vec<f64> = readings.iter().filter_map(level).collect();
    let (low, high) = (levels.iter().copied().reduce(f64::min)?, levels.iter().copied().reduce(f64::max)?);
    (high - low > rules::DRIFT_VOIDS_DB + 1e-9).then(|| {
        let words = format!(
            "readings take full scale for {} to {} dB: the calibration changed within the set",
            print::decimals(low, 1),
            print::decimals(high, 1)
        );
        Raised::new(Flag::CalibrationDrift, words)
    })
}

/// Why a recording cannot stand for this reading, where it is that of another one, or no recording at all.
fn reused(joins: &Findings<'_>, signal: Option<RecordId>, reading: &Reading, place: &str) -> Option<String> {
    let own = recording_of(joins.book, reading)?;
    if joins.book.signals.of(signal).and_then(|signal| signal.hash) == Some(own) {
        return Some(format!(
            "the reading at {place} is of the test sound's own file, not of a recording of it"
        ));
    }
    let other = joins.same_recording(reading.id).find(|other| other.id != reading.id)?;
    let set = joins.book.sets.of(other.set).and_then(|set| set.label.clone()).unwrap_or_default();
    Some(format!("the recording at {place} is that of another reading too, in {set}"))
}

/// Positions far from the mean of the others.
fn outliers(side: &Side) -> Vec<Raised> {
    let levels: Vec<f64> = side.positions.iter().map(|place| place.level_db).collect();
    if levels.len() < 2 {
        return Vec::new();
    }
    let total: f64 = levels.iter().sum();
    let others = (levels.len() - 1) as f64;
    let off = side.positions.iter().map(|place| (place, place.level_db - (total - place.level_db) / others));
    // One bad position also pulls the others' means: only the farthest is named.
    let farthest = off.max_by(|one, other| one.1.abs().total_cmp(&other.1.abs()));
    farthest
        .filter(|(_, off_db)| off_db.abs() > rules::OUTLIER_DB)
        .map(|(place, off_db)| {
            let (off, spread) = (print::decimals(off_db.abs(), 1), print::decimals(side.spread_db, 1));
            let words = match side.positions.as_slice() {
                [one, other] => {
                    format!("{} and {} lie {off} dB apart: check door, gap, display", one.label, other.label)
                }
                _ => format!(
                    "{} lies {off} dB from the others, {spread} dB between loudest and quietest: check door, gap, \
                     display",
                    place.label
                ),
            };
            Raised::new(Flag::PositionOutlier, words)
        })
        .into_iter()
        .collect()
}

/// What a condition is about, as far as flags tell them apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Topic {
    Openings,
    Furniture,
    WallState,
    SourceLevel,
    Other,
}

fn topic(variable: &str) -> Topic {
    let variable = variable.to_lowercase();
    let about = |words: &[&str]| words.iter().any(|word| variable.contains(word));
    if about(&["furniture", "absorption", "contents"]) {
        Topic::Furniture
    } else if about(&["state of the wall", "wall state"]) {
        Topic::WallState
    } else if about(&["other room"]) {
        Topic::Other
    } else if about(&["door", "window", "opening", "grille", "damper"]) {
        Topic::Openings
    } else if about(&[
        "source level",
        "source setting",
        "source and its setting",
        "source and setting",
        "volume",
    ]) {
        Topic::SourceLevel
    } else {
        Topic::Other
    }
}

pub(crate) fn from_conditions(joins: &Findings<'_>, set: &Set, source_measured: bool) -> Vec<Raised> {
    let mut flags = Vec::new();
    for (condition, found) in joins.conditions_of(set) {
        let variable = condition.variable.as_deref().unwrap_or("a condition");
        let conflict = in_conflict(&condition.meta).or_else(|| in_conflict(&found?.meta));
        if conflict.is_some() {
            flags.push(Raised::new(Flag::InConflict, format!("{variable} stands in conflict: pick one")));
            continue;
        }
        let Some(found) = found.filter(|found| found.status.as_deref() == Some("changed")) else { continue };
        let words = format!("{variable}: {}", found.value.as_deref().unwrap_or("changed"));
        let flag = match (condition.class.as_deref(), topic(variable)) {
            (Some("critical"), _) => Flag::ConditionDrift,
            (_, Topic::Openings) => Flag::OpeningsDiffer,
            (_, Topic::WallState) => Flag::StateDiffers,
            (_, Topic::Furniture) => Flag::FurnitureDiffers,
            (_, Topic::SourceLevel) if !source_measured => Flag::LevelDiffers,
            _ => continue,
        };
        flags.push(Raised::new(flag, words));
    }
    flags
}

pub(crate) fn from_records(joins: &Findings<'_>, set: &Set) -> Vec<Raised> {
    let mut flags = Vec::new();
    if let Some(field) = in_conflict(&set.meta) {
        flags.push(Raised::new(
            Flag::InConflict,
            format!("the {field} of the set stands in conflict: pick one"),
        ));
    }
    flags.extend(drifted(joins, set));
    let Some(assembly) = joins.book.assemblies.of(set.assembly) else { return flags };
    if let Some(field) = in_conflict(&assembly.meta) {
        flags.push(Raised::new(
            Flag::InConflict,
            format!("the {field} of the assembly stands in conflict: pick one"),
        ));
    }
    let (stage, state) =
        (set.stage.as_deref().unwrap_or_default(), assembly.state.as_deref().unwrap_or_default());
    let contradicts = matches!(
        (stage, state),
        ("open-studs", "boarded-both" | "finished") | ("boarded" | "finished", "bare-studs")
    );
    if contradicts {
        flags.push(Raised::new(Flag::StateDiffers, format!("the set says {stage}, the assembly {state}")));
    }
    if let Some(limit) = paths::path_shares(assembly).as_ref().and_then(paths::PathShares::limiting) {
        let share = print::percent(limit.share);
        flags.push(Raised::new(
            Flag::OpeningLimited,
            format!("of the sound that gets through, {share} comes by the {}", limit.words),
        ));
    }
    flags
}

fn drifted(joins: &Findings<'_>, set: &Set) -> Option<Raised> {
    joins.checks_of(set).iter().find_map(|check| {
        let drift_db = (check.after?.to_f64() - check.before?.to_f64()).abs();
        // A hair of binary rounding is no drift.
        (drift_db > rules::DRIFT_VOIDS_DB + 1e-9).then(|| {
            Raised::new(
                Flag::CalibrationDrift,
                format!("the meter drifted {} dB between its checks", print::decimals(drift_db, 1)),
            )
        })
    })
}

pub(crate) fn excluded(joins: &Findings<'_>, set: &Set, flags: &[Raised]) -> Vec<String> {
    if let Some(reason) = &set.meta.struck {
        return vec![format!("struck: {reason}")];
    }
    let mut reasons = Vec::new();
    if set.left_out == Some(true) {
        reasons.push(match joins.told().left_out.get(&set.id) {
            Some(reason) => format!("left out by a person: {}", reason.trim_end_matches('.')),
            None => "left out by a person".to_owned(),
        });
    }
    if set.included != Some(true) {
        let out = flags.iter().filter(|raised| raised.flag.effect() == Effect::Out);
        reasons.extend(out.map(|raised| format!("{}: {}", raised.flag, raised.words)));
    }
    reasons
}
