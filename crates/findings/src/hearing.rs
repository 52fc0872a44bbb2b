//! How long the level of a test may be borne, for whoever stands beside the source.
//!
//! Guidance with its basis named, never a clearance. Leaves out the day's other noise, which adds to it.

use storypole_acoustics::exposure::{self, Rule, allowed_hours, ceilings_passed};
use storypole_notebook::Unit;

use crate::print;
use crate::set_finding::SetFinding;

/// From this level on it is said, dBA. NIOSH 98-126: the recommended limit over eight hours.
pub const FROM_DBA: f64 = 85.0;

/// Whether a level lies where the table of OSHA has ended.
fn allows_no_time(level_dba: f64) -> bool {
    !ceilings_passed(&[level_dba], None).is_empty()
}

/// The level of a source room and what two rules say of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hearing {
    /// The loudest source reading, dBA.
    pub level_dba: f64,
    /// Hours a day by the limit NIOSH recommends.
    pub niosh_hours: f64,
    /// Hours a day by the limit of OSHA; `None` below what it counts and above 115 dBA, where it allows none.
    pub osha_hours: Option<f64>,
}

impl Hearing {
    /// What two rules say of a level in dBA; `None` where it is quiet there, or beyond what they tell.
    pub fn of_level(level_dba: f64) -> Option<Self> {
        if level_dba < FROM_DBA {
            return None;
        }
        Some(Self {
            level_dba,
            niosh_hours: allowed_hours(Rule::Niosh, level_dba).ok().flatten()?,
            osha_hours: allowed_hours(Rule::OshaPermissible, level_dba)
                .ok()
                .flatten()
                .filter(|_| !allows_no_time(level_dba)),
        })
    }

    /// What is said of it.
    pub fn sentence(&self) -> String {
        self.sentence_of("in the source room")
    }

    /// The same of another place, as `where it was recorded`.
    pub fn sentence_of(&self, place: &str) -> String {
        let osha = match self.osha_hours {
            _ if allows_no_time(self.level_dba) => "allows no time at all above 115 dBA".to_owned(),
            Some(hours) => format!("allows {}", time(hours)),
            None => "does not count it".to_owned(),
        };
        format!(
            "Hearing: {} dBA {place}. NIOSH limits it to {} a day, OSHA's limit {osha} \
             (29 CFR 1910.95); all other noise of the day counts too. Start low, wear protectors, and let nobody stay in there \
             who need not. {}",
            print::decimals(self.level_dba, 0),
            time(self.niosh_hours),
            exposure::CAUTION,
        )
    }
}

/// Hours as people say them, rounded down: a limit is not rounded up.
pub fn time(hours: f64) -> String {
    let minutes = (hours * 60.0 + 1e-9).floor();
    if minutes < 1.0 {
        "less than a minute".to_owned()
    } else if minutes < 120.0 {
        format!("{} min", print::decimals(minutes, 0))
    } else {
        format!("{} h", print::decimals((hours * 10.0).floor() / 10.0, 1))
    }
}

/// What a set says of the ears in its source room; `None` where it was quiet there, or not measured in dBA.
pub(crate) fn of_set(set: &SetFinding) -> Option<Hearing> {
    if set.unit != Some(Unit::DbA) {
        return None;
    }
    let levels = set.source.as_ref()?.positions.iter().map(|place| place.level_db);
    Hearing::of_level(levels.reduce(f64::max)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Findings;
    use crate::fixture::{demo, id};

    #[test]
    fn limits_are_those_of_the_tables() {
        // NIOSH 98-126: 94 dBA for an hour, 100 dBA for a quarter; 29 CFR 1910.95 table G-16: 100 dBA for 2 h.
        let at = |level_dba| {
            let hours = |rule| allowed_hours(rule, level_dba).unwrap();
            (hours(Rule::Niosh).map(time), hours(Rule::OshaPermissible).map(time))
        };
        assert_eq!(at(94.0), (Some("60 min".to_owned()), Some("4.5 h".to_owned())));
        assert_eq!(at(100.0), (Some("15 min".to_owned()), Some("2.0 h".to_owned())));
        assert_eq!(at(85.0), (Some("8.0 h".to_owned()), None));
        assert_eq!(at(130.0).0, Some("less than a minute".to_owned()));
    }

    #[test]
    fn above_115_dba_no_time_is_allowed() {
        // 29 CFR 1910.95 table G-16 ends at 115 dBA for a quarter of an hour.
        let loud = Hearing { level_dba: 118.0, niosh_hours: 0.004, osha_hours: None };
        assert!(loud.sentence().contains("allows no time at all above 115 dBA"), "{}", loud.sentence());
        assert_eq!((Hearing::of_level(84.9), Hearing::of_level(f64::NAN)), (None, None));
        let faint = Hearing { level_dba: 87.0, niosh_hours: 5.0, osha_hours: None };
        assert!(faint.sentence().contains("does not count it"), "{}", faint.sentence());
    }

    #[test]
    fn a_loud_source_room_is_told_and_nothing_is_called_safe() {
        let book = demo();
        let findings = Findings::new(&book);
        let set = findings.set(id("set", "T01")).unwrap();
        let hearing = set.hearing.unwrap();
        assert!(hearing.level_dba >= 94.0 && hearing.niosh_hours <= 1.0);
        let words = hearing.sentence();
        assert!(words.contains("NIOSH") && words.contains("not a clearance"), "{words}");
        assert!(!words.contains("safe"), "{words}");
    }
}
