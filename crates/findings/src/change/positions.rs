//! What single positions say of a change: each of them, the one unlike the others, the one that holds the sound.
//!
//! Nothing is left out for it: both lines are shown, and leaving a position out is for a person with a reason.

use storypole_statistics::bootstrap::{self, Bca, Draws};
use storypole_statistics::{Confidence, Probability, decibels, outliers, sample};

use super::Change;
use crate::budget::Interval;
use crate::compared::Compared;
use crate::{print, rules};

/// What one position changed.
#[derive(Debug, Clone, PartialEq)]
pub struct PositionChange {
    /// Its label.
    pub label: String,
    /// Level less source level, before minus after, dB; positive is quieter.
    pub change_db: f64,
    /// Level less source level of the first set, the background taken off by the rule, dB; without a source in both sets the level.
    pub before_db: f64,
    /// The same of the second set, dB.
    pub after_db: f64,
}

/// A position that changed unlike the others, with the change as it is and as it would be without it.
#[derive(Debug, Clone, PartialEq)]
pub struct OddPosition {
    /// Its label.
    pub label: String,
    /// What it changed, dB.
    pub change_db: f64,
    /// How far that is from the middle one of all, dB.
    pub off_db: f64,
    /// The change with it, by energy, and its interval from the positions alone.
    pub with_it: (f64, Option<Interval>),
    /// The same without it.
    pub without_it: (f64, Option<Interval>),
}

impl OddPosition {
    /// Both lines in words.
    pub fn sentence(&self) -> String {
        let line = |(value, interval): (f64, Option<Interval>)| {
            let range =
                interval.map_or_else(String::new, |interval| format!(" ({})", print::range(&interval, 1)));
            format!("{}{range}", print::signed(value, 1))
        };
        format!(
            "{} changed by {} dB, far from the others. Check it: door, gap, outlet? With it {} dB, without it {}.",
            self.label,
            print::signed(self.change_db, 1),
            line(self.with_it),
            line(self.without_it)
        )
    }
}

/// A position that holds nearly all the sound of a set, so that the average is that position.
#[derive(Debug, Clone, PartialEq)]
pub struct Dominant {
    /// Its label.
    pub label: String,
    /// Label of the set.
    pub set: String,
    /// Its share of the energy at the positions compared.
    pub share: f64,
}

impl Dominant {
    /// In words.
    pub fn sentence(&self) -> String {
        format!(
            "One position dominates: {} holds {} of the sound in {}, so the average says little of the rest of the room.",
            self.label,
            print::percent(self.share),
            self.set
        )
    }
}

/// Draws of the bootstrap where resamples are not counted out. Any number does; the same one on every device.
const DRAWS: Draws = Draws { resamples: bootstrap::FEWEST_RESAMPLES, seed: 0x5706_7901 };

impl Change {
    /// Resamples the differences by position, for six positions or more; `None` below, or where they do not scatter.
    ///
    /// Worked out when asked, since it costs thousands of resamples. It stands beside the interval and is never chosen instead of it: from so few positions it is rather too narrow.
    pub fn bootstrap(&self) -> Option<Bca> {
        let values: Vec<f64> = self.by_position.iter().map(|place| place.change_db).collect();
        bootstrap::bca(&values, Confidence::P95, DRAWS).ok()?.ok()
    }

    /// The bootstrap in words.
    pub fn bootstrap_words(&self) -> Option<String> {
        let found = self.bootstrap()?;
        Some(format!(
            "Mean of the position differences {} dB; by resampling {} positions {}, shown beside and never chosen for being narrower.",
            print::signed(found.mean, 1),
            self.by_position.len(),
            print::range(&Interval::from(found.interval), 1)
        ))
    }
}

pub(super) fn by_position(compared: &Compared) -> Vec<PositionChange> {
    let (before, after) = &compared.normal_db;
    let places = compared.labels.iter().zip(before.iter().zip(after));
    let change = |(label, (before_db, after_db)): (&String, (&f64, &f64))| PositionChange {
        label: label.clone(),
        change_db: before_db - after_db,
        before_db: *before_db,
        after_db: *after_db,
    };
    places.map(change).collect()
}

/// A position that changed unlike the others: by the outlier test and by more than is worth claiming.
pub(super) fn odd(compared: &Compared) -> Option<OddPosition> {
    let differences_db = compared.differences_db();
    let alpha = Probability::new(rules::OUTLIER_ALPHA).ok()?;
    let found = outliers::grubbs(&differences_db, alpha).ok()?.ok().filter(|found| found.flagged)?;
    let change_db = *differences_db.get(found.index)?;
    let off_db = change_db - sample::median(&differences_db).ok()?;
    if off_db.abs() <= rules::SMALLEST_CLAIM_DB {
        return None;
    }
    let without = |levels_db: &[f64]| -> Vec<f64> {
        let others = levels_db.iter().enumerate().filter(|(index, _)| *index != found.index);
        others.map(|(_, level_db)| *level_db).collect()
    };
    let (before_db, after_db) = (without(&compared.normal_db.0), without(&compared.normal_db.1));
    let rest = decibels::paired_energy_difference(&before_db, &after_db, Confidence::P95).ok()?;
    Some(OddPosition {
        label: compared.labels.get(found.index)?.clone(),
        change_db,
        off_db,
        with_it: (compared.difference_db?, compared.interval),
        without_it: (rest.difference_db, rest.interval_db.ok().map(Interval::from)),
    })
}

/// The position that holds nearly all the sound of the first or of the second set.
pub(super) fn dominant(compared: &Compared, sets: [&str; 2]) -> Option<Dominant> {
    let levels = [&compared.normal_db.0, &compared.normal_db.1];
    sets.into_iter().zip(levels).find_map(|(set, levels_db)| {
        let mean = decibels::energy_mean(levels_db).ok().filter(decibels::EnergyMean::dominated)?;
        let loudest = levels_db.iter().enumerate().max_by(|one, other| one.1.total_cmp(other.1))?.0;
        Some(Dominant {
            label: compared.labels.get(loudest)?.clone(),
            set: set.to_owned(),
            share: mean.largest_share,
        })
    })
}
