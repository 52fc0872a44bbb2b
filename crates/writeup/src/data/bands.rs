//! Results by frequency band, and single numbers made from them.

use storypole_findings::bands::BandRating;

use super::cell::{BOUND, count, number, row, text};
use super::{DataTable, From};

pub(super) fn results(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("set", "The set"),
        number("band_hz", "Hz", "Middle of the band, as bands are named"),
        number("source_mean_db", "dB", "Mean over the source positions by energy"),
        number("receive_mean_db", "dB", "Mean over the receive positions by energy, as read"),
        number("background_db", "dB", "The room's own noise, the highest of its readings"),
        number("level_difference_db", "dB", "Source mean less corrected receive mean"),
        text("bound", BOUND),
    ];
    let sets = from.sets.iter().filter_map(|set| Some((set, set.bands.as_ref()?)));
    let rows = sets.flat_map(|(set, bands)| {
        let name = from.names.get(set.set);
        bands.rows.iter().map(move |band| {
            row![
                name,
                band.band.nominal_hz(),
                band.source_db,
                band.receive_db,
                band.background_db,
                band.difference.value,
                band.difference.bound,
            ]
        })
    });
    DataTable::new("band-results", "Level differences by frequency band", columns)
        .keyed(&["set", "band_hz"])
        .refers("set", "sets", "set")
        .rows(rows)
}

pub(super) fn ratings(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("set", "The set"),
        count("place", "Its place"),
        text("rating", "Its name"),
        text("by", "The standard it follows"),
        number("value_db", "dB", "The number"),
        text("bound", BOUND),
        number("c_db", "dB", "Spectrum term C"),
        number("ctr_db", "dB", "Spectrum term Ctr"),
    ];
    let sets = from.sets.iter().filter_map(|set| Some((set, set.bands.as_ref()?)));
    let rows = sets.flat_map(|(set, bands)| {
        let name = from.names.get(set.set);
        bands.ratings.iter().enumerate().map(move |(index, rating)| {
            let BandRating { name: rating_name, by, value_db, bound, terms_db, .. } = rating;
            let (c_db, ctr_db) = (terms_db.map(|terms| terms.0), terms_db.map(|terms| terms.1));
            row![name, index + 1, *rating_name, *by, *value_db, *bound, c_db, ctr_db]
        })
    });
    DataTable::new("ratings", "Single numbers made from bands; never those of a laboratory", columns)
        .keyed(&["set", "place"])
        .refers("set", "sets", "set")
        .rows(rows)
}

pub(super) fn changes(from: &From<'_, '_>) -> DataTable {
    let columns = vec![
        text("from", "The first set"),
        text("to", "The second set"),
        number("band_hz", "Hz", "Middle of the band, as bands are named"),
        number("before_db", "dB", "Level difference of the first set on the shared positions"),
        number("after_db", "dB", "Level difference of the second set on the shared positions"),
        number("change_db", "dB", "After less before; positive is quieter"),
        text("bound", BOUND),
    ];
    let changes = from.scope.tests.iter().flat_map(|test| &test.groups).flat_map(|group| &group.changes);
    let changes = changes.filter_map(|change| Some((change, change.bands.as_ref()?)));
    let rows = changes.flat_map(|(change, bands)| {
        let ends = (from.names.get(change.from.set), from.names.get(change.to.set));
        bands.rows.iter().map(move |band| {
            row![
                ends.0,
                ends.1,
                band.band.nominal_hz(),
                band.before.value,
                band.after.value,
                band.change.value,
                band.change.bound,
            ]
        })
    });
    DataTable::new("band-changes", "What changed by frequency band", columns)
        .keyed(&["from", "to", "band_hz"])
        .refers("from", "sets", "set")
        .refers("to", "sets", "set")
        .rows(rows)
}
