//! Loud sound: readings from the level on that a recommended limit counts. Leaves out doses over a day.

use storypole_notebook::kinds::Reading;
use storypole_notebook::{Quantity, Unit};

use super::scope::Scope;

/// Level from which the recommended limit counts, dBA. NIOSH publication 98-126.
const LOUD_DBA: f64 = 85.0;

/// Returns the time a day after which the recommended limit of exposure is reached, `480/2^((L - 85)/3)`.
///
/// # Units and shape
/// `level_dba` in dBA, finite; minutes. Defined from 80 dBA up by the source; lower levels give more than a day.
///
/// # Source
/// NIOSH publication 98-126, 1998, section 1.1: 85 dBA over 8 h, exchange rate 3 dB.
pub fn recommended_minutes(level_dba: f64) -> f64 {
    480.0 / 2f64.powf((level_dba - LOUD_DBA) / 3.0)
}

/// Loud readings of the source room, and beside it: of a tool, in the other room, of what was there before.
pub(super) fn met(scope: &Scope<'_>) -> Vec<String> {
    let is_source = |reading: &Reading| reading.role.as_deref() == Some("source");
    let of_source = loudest(scope, is_source)
        .map(|level| format!("The source room was read at up to {level}, {}.", limit_of(level)));
    let of_others = loudest(scope, |reading| !is_source(reading)).map(|level| {
        format!("A reading elsewhere, as beside a tool, shows up to {level}, {}.", limit_of(level))
    });
    of_source.into_iter().chain(of_others).collect()
}

fn loudest(scope: &Scope<'_>, is_asked: impl Fn(&Reading) -> bool) -> Option<Quantity> {
    let values = scope.readings().filter(|reading| is_asked(reading)).filter_map(|reading| reading.value);
    let levels = values.filter(|value| value.unit() == Unit::DbA);
    levels.max_by_key(|value| value.number()).filter(|value| value.to_f64() >= LOUD_DBA)
}

fn limit_of(level: Quantity) -> String {
    let minutes = recommended_minutes(level.to_f64()).floor();
    let time = if minutes < 1.0 { "under a minute".to_owned() } else { format!("about {minutes} minutes") };
    format!("where the recommended daily limit is reached after {time}")
}
