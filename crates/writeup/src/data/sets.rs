//! What each set shows.

use storypole_findings::{Regime, SetFinding};

use super::cell::{BOUND, count, number, row, text};
use super::{DataTable, From};

pub(super) fn results(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("set", "The set"),
        number("source_mean_db", "dB", "Mean over the source positions by energy"),
        number("receive_mean_db", "dB", "Mean over the receive positions by energy, as read"),
        count("source_positions", "Source positions in the mean"),
        count("receive_positions", "Receive positions in the mean"),
        number("background_db", "dB", "The room's own noise, the highest of its readings"),
        number("margin_db", "dB", "Receive mean less background"),
        text(
            "regime",
            "What the rule did: clear took nothing off, corrected took the background's energy off, limit left a bound",
        ),
        number("corrected_receive_db", "dB", "Receive mean after the rule"),
        number("level_difference_db", "dB", "Source mean less corrected receive mean, or mean of the runs"),
        text("bound", BOUND),
        text("absent", "Why there is no level difference"),
    ];
    let levels = from.sets.iter().filter(|set| is_of_levels(set));
    DataTable::new("set-results", "Level differences, one set a row", columns)
        .refers("set", "sets", "set")
        .rows(levels.map(|set| {
            let (source, receive) = (set.source.as_ref(), set.receive.as_ref());
            let regime = set.background.map(|background| match background.regime {
                Regime::Clear => "clear",
                Regime::Corrected => "corrected",
                Regime::Limit => "limit",
            });
            let corrected = set.background.map(|background| background.corrected_db);
            row![
                from.names.get(set.set),
                source.map(|side| side.mean_db),
                receive.map(|side| side.mean_db),
                source.map(|side| side.positions.len()),
                receive.map(|side| side.positions.len()),
                set.background_db,
                set.margin_db(),
                regime,
                corrected.or(receive.map(|side| side.mean_db)),
                set.level_difference.map(|difference| difference.value),
                set.level_difference.map(|difference| difference.bound),
                set.absent.map(|absent| absent.to_string()),
            ]
        }))
}

/// Whether anything of a level was read in it.
fn is_of_levels(set: &SetFinding) -> bool {
    set.level_difference.is_some() || set.source.is_some() || set.receive.is_some()
}
