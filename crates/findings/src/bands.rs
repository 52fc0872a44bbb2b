//! By frequency band: what a set shows where its readings hold bands, and what changed between two sets.
//!
//! The same steps as for one number: positions averaged by energy, the room's own noise taken off by the notebook's rule, source
//! less receive. A rating is made of bands only, and is named after what its bands are: none of these is a laboratory's. Leaves out
//! the claim: that rests on the headline number, whose uncertainty is known; a band's smallest change is a published default.

use std::collections::BTreeMap;

use storypole_acoustics::absorption::absorption_change;
use storypole_acoustics::background::Background;
use storypole_acoustics::bands::{Band, Fraction, Spectrum};
use storypole_acoustics::decay::positions;
use storypole_acoustics::difference::REFERENCE_DECAY_TIME_S;
use storypole_acoustics::isolation::{Readings, difference_of};
use storypole_acoustics::levels::{energy_mean, octave_levels};
use storypole_acoustics::ratings::{
    AstmQuantity, Iso717, LimitedBy, Quantity, RatingError, Rounding, Situation, band_uncertainty_db, iso717,
    rating_sense, smallest_change_db, stc,
};
use storypole_acoustics::weighting::{Curve, weighted_level_db};
use storypole_acoustics::{BackgroundRule, Sense};
use storypole_journal::RecordId;
use storypole_notebook::bands::{Bands, Of, Width};
use storypole_notebook::kinds::Reading;

use crate::set_finding::Estimate;

/// The levels by band at one position, its repeats averaged by energy.
#[derive(Debug, Clone, PartialEq)]
pub struct BandPlace {
    /// The position; `None` where the reading names none.
    pub position: Option<RecordId>,
    /// Its label.
    pub label: String,
    /// Unweighted levels, dB.
    pub spectrum: Spectrum,
}

/// One band of a set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandRow {
    /// The band.
    pub band: Band,
    /// Mean of the source positions, dB.
    pub source_db: f64,
    /// Mean of the receive positions, as read, dB.
    pub receive_db: f64,
    /// The room's own noise, dB; `None` where it was not measured in this band.
    pub background_db: Option<f64>,
    /// What the rule did.
    pub background: Option<Background>,
    /// Source less corrected receive.
    pub difference: Estimate,
    /// The difference at a reverberation time of 0.5 s, where the time was measured.
    pub standardised: Option<Estimate>,
}

/// A single number made from bands.
#[derive(Debug, Clone, PartialEq)]
pub struct BandRating {
    /// Its name: `NIC`, `Dw`, `NNIC` or `DnT,w`. Never that of a laboratory.
    pub name: &'static str,
    /// The standard and, for the class of ASTM, how values were rounded.
    pub by: &'static str,
    /// The number, dB.
    pub value_db: i32,
    /// How the true number stands to it.
    pub bound: Sense,
    /// C and Ctr, dB, where the standard has them.
    pub terms_db: Option<(i32, i32)>,
    /// The number in steps of 0.1 dB, to compare two tests by; absent where the standard has no such steps.
    pub fine_db: Option<f64>,
    /// How the true number stands to that one: a hidden band can move tenths where it moves no whole number.
    pub fine_bound: Sense,
    /// The rating's curve in each band it looks at, dB, for a chart.
    pub curve_db: Vec<(Band, f64)>,
    /// How far each of those bands falls short of the curve, dB.
    pub short_db: Vec<(Band, f64)>,
    /// The bands to improve first.
    pub deciding: Vec<Band>,
    /// One band alone holds the number down: look for a leak or a dip there.
    pub one_band: bool,
}

/// What one set shows by band.
#[derive(Debug, Clone, PartialEq)]
pub struct SetBands {
    /// How wide the bands are.
    pub fraction: Fraction,
    /// The source positions.
    pub source: Vec<BandPlace>,
    /// The receive positions.
    pub receive: Vec<BandPlace>,
    /// The room's own noise, the highest of its readings in each band, dB.
    pub background: Option<Spectrum>,
    /// Reverberation time of the receiving room, mean over its readings, s.
    pub decay_s: Option<Spectrum>,
    /// The background rule.
    pub rule: BackgroundRule,
    /// Band by band, lowest first.
    pub rows: Vec<BandRow>,
    /// Single numbers.
    pub ratings: Vec<BandRating>,
    /// Why a single number is absent, in words.
    pub unrated: Vec<String>,
    /// A-weighted source level less A-weighted receive level, both summed from these bands; a bound where a band that is a bound
    /// could move it by a tenth.
    pub a_weighted: Estimate,
}

/// One band of a change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandChangeRow {
    /// The band.
    pub band: Band,
    /// Level difference of the first set on the shared positions.
    pub before: Estimate,
    /// Level difference of the second.
    pub after: Estimate,
    /// After less before; positive is quieter.
    pub change: Estimate,
    /// The change at one reverberation time, where it was measured in both sets: what the room alone did is taken out.
    pub standardised: Option<Estimate>,
    /// The least change that two tests on so many positions can show in this band, dB; absent for octaves.
    pub least_db: Option<f64>,
}

/// A single number before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct RatingChange {
    /// Its name.
    pub name: &'static str,
    /// The number before.
    pub before: BandRating,
    /// The number after.
    pub after: BandRating,
    /// After less before, dB: of the fine numbers where there are any, so that rounding does not add to it.
    pub change: Estimate,
}

/// What changed between two sets, by band.
#[derive(Debug, Clone, PartialEq)]
pub struct BandChange {
    /// How wide the bands are.
    pub fraction: Fraction,
    /// Receive positions compared, by label.
    pub compared_on: Vec<String>,
    /// Band by band.
    pub rows: Vec<BandChangeRow>,
    /// Single numbers of the level difference.
    pub ratings: Vec<RatingChange>,
}

/// Lowest and highest band that is looked at, Hz: the widest range of ISO 717-1. Beyond it a house has no sound of its own to measure.
const FIRST_HZ: f64 = 50.0;
const LAST_HZ: f64 = 5000.0;

/// Receive positions of a full test by ISO 16283-1, from memory: what the published repeatability belongs to.
const FULL_TEST_POSITIONS: f64 = 5.0;

/// The bands of a reading that can be read, as a spectrum.
fn spectrum(reading: &Reading, of: Of) -> Option<Spectrum> {
    let bands = Bands::parse(reading.bands.as_deref()?).ok().filter(|bands| bands.of == of)?;
    let fraction = match bands.width {
        Width::Octave => Fraction::Octave,
        Width::Third => Fraction::Third,
    };
    let (labels, values): (Vec<f64>, Vec<f64>) =
        bands.values().iter().map(|(hz, value)| (hz.to_f64(), value.to_f64())).unzip();
    Spectrum::new(fraction, &labels, &values).ok()
}

/// Combines several spectra in the bands they all have.
fn combined(spectra: &[&Spectrum], of: impl Fn(&[f64]) -> Option<f64>) -> Option<Spectrum> {
    let first = spectra.first()?;
    let values = first.values().iter().filter_map(|(band, _)| {
        let values: Option<Vec<f64>> = spectra.iter().map(|spectrum| spectrum.get(*band)).collect();
        Some((*band, of(&values?)?))
    });
    Spectrum::of(values.collect()).ok()
}

fn mean_of(places: &[&BandPlace]) -> Option<Spectrum> {
    let spectra: Vec<&Spectrum> = places.iter().map(|place| &place.spectrum).collect();
    combined(&spectra, |levels_db| energy_mean(levels_db).ok())
}

/// Levels by band, with the reading they are of.
type Heard<'a> = Vec<(&'a Reading, Spectrum)>;

/// The levels of one side by position in bands of one width, each position with its label.
fn places(heard: Heard<'_>, fraction: Fraction, label: &dyn Fn(&Reading) -> String) -> Vec<BandPlace> {
    let mut by_place: BTreeMap<(String, Option<RecordId>), Vec<Spectrum>> = BTreeMap::new();
    for (reading, spectrum) in heard {
        if let Some(spectrum) = in_width(spectrum, fraction) {
            by_place.entry((label(reading), reading.position)).or_default().push(spectrum);
        }
    }
    let place = |((label, position), repeats): ((String, Option<RecordId>), Vec<Spectrum>)| {
        let repeats: Vec<&Spectrum> = repeats.iter().collect();
        let spectrum = combined(&repeats, |levels_db| energy_mean(levels_db).ok())?;
        Some(BandPlace { position, label, spectrum })
    };
    by_place.into_iter().filter_map(place).collect()
}

/// Thirds added up to octaves where octaves are wanted; octaves never become thirds.
fn in_width(spectrum: Spectrum, fraction: Fraction) -> Option<Spectrum> {
    if spectrum.fraction() == fraction { Some(spectrum) } else { octave_levels(&spectrum).ok() }
}

/// The readings of a set by what they are of.
pub(crate) struct ByRole<'a> {
    pub(crate) source: Vec<&'a Reading>,
    pub(crate) receive: Vec<&'a Reading>,
    pub(crate) background: Vec<&'a Reading>,
    pub(crate) decay: Vec<&'a Reading>,
    /// Decays whose recording is clipped: told, and not used.
    pub(crate) clipped_decay: Vec<&'a Reading>,
}

/// Works out a set by band; `None` where one of its sides holds no bands.
pub(crate) fn of_set(
    readings: &ByRole<'_>,
    label: &dyn Fn(&Reading) -> String,
    rule: BackgroundRule,
) -> Option<SetBands> {
    let heard = [&readings.source, &readings.receive, &readings.background].map(|role| -> Heard<'_> {
        role.iter().filter_map(|reading| Some((*reading, spectrum(reading, Of::Level)?))).collect()
    });
    let has = |fraction| heard.iter().flatten().any(|(_, spectrum)| spectrum.fraction() == fraction);
    // Octaves as soon as one reading holds octaves.
    let fraction = if has(Fraction::Octave) { Fraction::Octave } else { Fraction::Third };
    let is_mixed = has(Fraction::Octave) && has(Fraction::Third);
    let [source, receive, noise] = heard.map(|side| places(side, fraction, label));
    let noise: Vec<&Spectrum> = noise.iter().map(|place| &place.spectrum).collect();
    let background = combined(&noise, |levels_db| levels_db.iter().copied().reduce(f64::max));
    let (decay_s, other_width) = decay_times(&readings.decay, fraction);
    let mut bands = SetBands {
        fraction,
        source,
        receive,
        background,
        decay_s,
        rule,
        rows: Vec::new(),
        ratings: Vec::new(),
        unrated: other_width.into_iter().collect(),
        a_weighted: Estimate { value: 0.0, bound: Sense::Exact },
    };
    bands.rows = bands.rows_on(&|_| true)?;
    bands.a_weighted = a_weighted(&bands.rows)?;
    if bands.rows.iter().any(|row| row.background_db.is_none()) {
        bands.unrated.push(
            "the room's own noise was not measured in every band, where nothing is taken off for it"
                .to_owned(),
        );
    }
    if !readings.clipped_decay.is_empty() {
        bands
            .unrated
            .push("a recording of the room's decay is clipped, so its times are not used".to_owned());
    }
    if is_mixed {
        bands
            .unrated
            .push("some readings hold octaves and others thirds, so all are compared in octaves".to_owned());
    }
    rate_all(&mut bands);
    Some(bands)
}

/// Reverberation times of the receiving room by band: repeats averaged at each position, then the positions, as times and not as
/// their logarithms (ISO 3382-2); and a word where times of other bands cannot be used.
fn decay_times(readings: &[&Reading], fraction: Fraction) -> (Option<Spectrum>, Option<String>) {
    let (mut at, mut other) = (BTreeMap::<Band, BTreeMap<Option<RecordId>, Vec<f64>>>::new(), false);
    for reading in readings {
        let Some(times) = spectrum(reading, Of::Time) else { continue };
        other |= times.fraction() != fraction;
        if times.fraction() == fraction {
            for (band, time_s) in times.values() {
                at.entry(*band).or_default().entry(reading.position).or_default().push(*time_s);
            }
        }
    }
    let mean = |times_s: &[f64]| positions::mean(times_s).ok().map(|room| room.time_s);
    let of_band = |places: &BTreeMap<Option<RecordId>, Vec<f64>>| {
        let each: Option<Vec<f64>> = places.values().map(|times_s| mean(times_s)).collect();
        mean(&each?)
    };
    let times = at.iter().filter_map(|(band, places)| Some((*band, of_band(places)?)));
    let times = Spectrum::of(times.collect()).ok();
    let said =
        format!("reverberation times in other bands than {fraction}s cannot be used with these levels");
    (times, other.then_some(said))
}

impl SetBands {
    /// Band by band on some of the receive positions.
    fn rows_on(&self, is_wanted: &dyn Fn(&BandPlace) -> bool) -> Option<Vec<BandRow>> {
        let source = mean_of(&self.source.iter().collect::<Vec<_>>())?;
        let wanted: Vec<&BandPlace> = self.receive.iter().filter(|place| is_wanted(place)).collect();
        let receive = mean_of(&wanted)?;
        let row = |(band, receive_db): &(Band, f64)| self.row(*band, source.get(*band)?, *receive_db);
        let rows: Vec<BandRow> = receive.values().iter().filter_map(row).collect();
        (!rows.is_empty()).then_some(rows)
    }

    fn row(&self, band: Band, source_db: f64, receive_db: f64) -> Option<BandRow> {
        if !(FIRST_HZ..=LAST_HZ).contains(&band.nominal_hz()) {
            return None;
        }
        let background_db = self.background.as_ref().and_then(|noise| noise.get(band));
        let readings = Readings {
            source_db: vec![source_db],
            receive_db: vec![receive_db],
            background_db: background_db.into_iter().collect(),
        };
        let found = difference_of(&readings, self.rule).ok()?;
        let difference = Estimate { value: found.d_db, bound: found.sense };
        let decay_s = self.decay_s.as_ref().and_then(|decay| decay.get(band));
        let room_db = decay_s.and_then(|time_s| absorption_change(REFERENCE_DECAY_TIME_S, time_s).ok());
        let standardised =
            room_db.map(|room_db| Estimate { value: found.d_db + room_db, bound: found.sense });
        let background = found.background;
        Some(BandRow { band, source_db, receive_db, background_db, background, difference, standardised })
    }
}

/// A-weighted levels first, then their difference: a weighting is never put on a difference.
fn a_weighted(rows: &[BandRow]) -> Option<Estimate> {
    let level = |of: &dyn Fn(&BandRow) -> f64| {
        let spectrum = Spectrum::of(rows.iter().map(|row| (row.band, of(row))).collect()).ok()?;
        Some(weighted_level_db(Curve::A, &spectrum))
    };
    let source_db = level(&|row| row.source_db)?;
    let receive_db = level(&|row| row.source_db - row.difference.value)?;
    // What is hidden can at most vanish.
    let quietest_db = level(&|row| match row.difference.bound {
        Sense::Exact => row.source_db - row.difference.value,
        _ => -100.0,
    })?;
    let bound = if receive_db - quietest_db < 0.05 { Sense::Exact } else { Sense::AtLeast };
    Some(Estimate { value: source_db - receive_db, bound })
}

fn rate_all(bands: &mut SetBands) {
    let difference: Vec<(Band, Estimate)> = bands.rows.iter().map(|row| (row.band, row.difference)).collect();
    let standardised: Vec<(Band, Estimate)> =
        bands.rows.iter().filter_map(|row| Some((row.band, row.standardised?))).collect();
    for (quantity, values) in [(Quantity::D, difference), (Quantity::DnT, standardised)] {
        if values.is_empty() {
            continue;
        }
        let (ratings, unrated) = rated(quantity, &values);
        bands.ratings.extend(ratings);
        bands.unrated.extend(unrated);
    }
}

/// Every single number of a quantity, and why one is absent.
fn rated(quantity: Quantity, values: &[(Band, Estimate)]) -> (Vec<BandRating>, Vec<String>) {
    let pairs = values.iter().map(|(band, value)| (*band, value.value)).collect();
    let Ok(spectrum) = Spectrum::of(pairs) else { return (Vec::new(), Vec::new()) };
    let senses: Vec<Sense> = values.iter().map(|(_, value)| value.bound).collect();
    let (mut ratings, mut unrated) = (Vec::new(), Vec::new());
    let class = quantity.astm().map(|class| (class.class_name(), class_of(class, &spectrum, &senses)));
    let weighted = Some((quantity.weighted_name(), weighted(quantity, &spectrum, &senses)));
    for (name, rating) in class.into_iter().chain(weighted) {
        match rating {
            Ok(rating) => ratings.push(rating),
            // Octaves have no class of ASTM: that is no fault of the readings.
            Err(RatingError::WrongFraction { .. }) => (),
            Err(error) => unrated.push(format!("no {name}: {error}")),
        }
    }
    (ratings, unrated)
}

fn class_of(
    quantity: AstmQuantity,
    spectrum: &Spectrum,
    senses: &[Sense],
) -> Result<BandRating, RatingError> {
    let class = stc(spectrum, Rounding::WholeDb)?;
    let bound = rating_sense(spectrum, senses, |spectrum| Ok(stc(spectrum, Rounding::WholeDb)?.rating_db))?;
    Ok(BandRating {
        name: quantity.class_name(),
        by: "ASTM E413, bands rounded to whole dB",
        value_db: class.rating_db,
        bound,
        terms_db: None,
        fine_db: None,
        fine_bound: bound,
        curve_db: class.contour_db(),
        short_db: class.deficiencies_db.clone(),
        deciding: class.deciding.clone(),
        one_band: class.limited_by == LimitedBy::Single,
    })
}

fn weighted(quantity: Quantity, spectrum: &Spectrum, senses: &[Sense]) -> Result<BandRating, RatingError> {
    let rating = iso717(spectrum)?;
    let sense = |number: fn(&Iso717) -> f64| {
        rating_sense(spectrum, senses, |spectrum| Ok(number(&iso717(spectrum)?)))
    };
    let bound = sense(|rating| f64::from(rating.rating_db))?;
    let with_terms = [
        sense(|rating| f64::from(rating.rating_db + rating.c_db))?,
        sense(|rating| f64::from(rating.rating_db + rating.ctr_db))?,
    ];
    // A term is a difference of two numbers: where a hidden band can move one of them, it is not known.
    let terms_hold = bound == Sense::Exact && with_terms == [Sense::Exact; 2];
    Ok(BandRating {
        name: quantity.weighted_name(),
        by: "ISO 717-1",
        value_db: rating.rating_db,
        bound,
        terms_db: terms_hold.then_some((rating.c_db, rating.ctr_db)),
        fine_db: Some(rating.tenths_rating_db),
        fine_bound: sense(|rating| rating.tenths_rating_db)?,
        curve_db: rating.curve_db(),
        short_db: rating
            .deviations_tenth_db
            .iter()
            .map(|(band, tenths)| (*band, f64::from(*tenths) / 10.0))
            .collect(),
        deciding: rating.deciding(),
        one_band: false,
    })
}

/// Compares two sets band by band, on the receive positions and bands that both have.
pub(crate) fn between(first: &SetBands, second: &SetBands) -> Option<BandChange> {
    if first.fraction != second.fraction {
        return None;
    }
    let is_in = |places: &[BandPlace], one: &BandPlace| {
        one.position.is_some() && places.iter().any(|other| other.position == one.position)
    };
    let before = first.rows_on(&|place| is_in(&second.receive, place))?;
    let after = second.rows_on(&|place| is_in(&first.receive, place))?;
    let compared: Vec<String> = first
        .receive
        .iter()
        .filter(|place| is_in(&second.receive, place))
        .map(|place| place.label.clone())
        .collect();
    // The published repeatability is that of a full test; fewer positions scatter more.
    let fewer = (FULL_TEST_POSITIONS / compared.len().max(1) as f64).sqrt().max(1.0);
    let row = |before: &BandRow| {
        let after = after.iter().find(|after| after.band == before.band)?;
        let u_db = band_uncertainty_db(before.band, Situation::SameCrew);
        Some(BandChangeRow {
            band: before.band,
            before: before.difference,
            after: after.difference,
            change: less(after.difference, before.difference),
            standardised: after
                .standardised
                .zip(before.standardised)
                .map(|(after, before)| less(after, before)),
            least_db: u_db.map(|u_db| smallest_change_db(u_db * fewer)),
        })
    };
    let rows: Vec<BandChangeRow> = before.iter().filter_map(row).collect();
    if rows.is_empty() {
        return None;
    }
    let mut ratings = rating_changes(Quantity::D, &before, &after, &|row| Some(row.difference));
    ratings.extend(rating_changes(Quantity::DnT, &before, &after, &|row| row.standardised));
    Some(BandChange { fraction: first.fraction, compared_on: compared, rows, ratings })
}

/// Single numbers of a quantity before and after, on the bands that both have.
fn rating_changes(
    quantity: Quantity,
    before: &[BandRow],
    after: &[BandRow],
    of: &dyn Fn(&BandRow) -> Option<Estimate>,
) -> Vec<RatingChange> {
    let values = |rows: &[BandRow], others: &[BandRow]| -> Vec<(Band, Estimate)> {
        let is_shared = |row: &&BandRow| others.iter().any(|other| other.band == row.band);
        rows.iter().filter(is_shared).filter_map(|row| Some((row.band, of(row)?))).collect()
    };
    let (first, second) = (values(before, after), values(after, before));
    if first.is_empty() || second.is_empty() {
        return Vec::new();
    }
    let (before, _) = rated(quantity, &first);
    let (after, _) = rated(quantity, &second);
    let number = |rating: &BandRating| Estimate {
        value: rating.fine_db.unwrap_or(f64::from(rating.value_db)),
        bound: rating.fine_bound,
    };
    let paired = before.into_iter().filter_map(|before| {
        let after = after.iter().find(|after| after.name == before.name)?.clone();
        let change = less(number(&after), number(&before));
        Some(RatingChange { name: before.name, before, after, change })
    });
    paired.collect()
}

fn less(after: Estimate, before: Estimate) -> Estimate {
    Estimate { value: after.value - before.value, bound: after.bound.minus(before.bound) }
}

impl BandChangeRow {
    /// Whether the change is one that two single tests can show; `None` where that is not known.
    ///
    /// A bound shows something only in its own direction.
    pub fn is_clear(&self) -> Option<bool> {
        let least_db = self.least_db?;
        match self.change.bound {
            Sense::Exact => Some(self.change.value.abs() >= least_db),
            Sense::AtLeast => (self.change.value >= least_db).then_some(true),
            Sense::AtMost => (self.change.value <= -least_db).then_some(true),
            Sense::Undetermined => None,
        }
    }
}

impl BandRating {
    /// The rating as it is written: `Dw (C; Ctr) = 30 (-2; -3) dB`, `NIC = at least 41`.
    pub fn stated(&self) -> String {
        let bound = match self.bound {
            Sense::Exact => "",
            Sense::AtLeast => "at least ",
            Sense::AtMost => "at most ",
            Sense::Undetermined => "undetermined, about ",
        };
        match self.terms_db {
            Some((c, ctr)) => format!("{} (C; Ctr) = {bound}{} ({c}; {ctr}) dB", self.name, self.value_db),
            None => format!("{} = {bound}{} dB", self.name, self.value_db),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Builder, id};
    use crate::{Findings, Flag};

    /// ISO 717-1:2020 Annex C, Table C.1: rated 30 (-2; -3) dB there.
    const ANNEX_C_DB: [(&str, f64); 16] = [
        ("100", 20.4),
        ("125", 16.3),
        ("160", 17.7),
        ("200", 22.6),
        ("250", 22.4),
        ("315", 22.7),
        ("400", 24.8),
        ("500", 26.6),
        ("630", 28.0),
        ("800", 30.5),
        ("1000", 31.8),
        ("1250", 32.5),
        ("1600", 33.4),
        ("2000", 33.0),
        ("2500", 31.0),
        ("3150", 25.5),
    ];

    fn notation(values: impl Iterator<Item = (&'static str, f64)>) -> String {
        let pairs: Vec<String> = values.map(|(hz, value)| format!("{hz} {value:.1}")).collect();
        format!("third dBZ: {}", pairs.join(", "))
    }

    /// A source of 90 dB in every band, heard through the insulation of Annex C and `more_db`.
    fn heard(more_db: f64) -> String {
        notation(ANNEX_C_DB.iter().map(|(hz, d_db)| (*hz, 90.0 - d_db - more_db)))
    }

    fn source() -> String {
        notation(ANNEX_C_DB.iter().map(|(hz, _)| (*hz, 90.0)))
    }

    fn quiet(level_db: f64) -> String {
        notation(ANNEX_C_DB.iter().map(|(hz, _)| (*hz, level_db)))
    }

    fn set(builder: &mut Builder, label: &str, stage: &str) {
        let fields =
            [("test", "test:Q1"), ("stage", stage), ("assembly", "assembly:A1"), ("date", "2025-03-04")];
        builder.put("set", label, &fields);
    }

    fn reading(builder: &mut Builder, set: &str, role: &str, place: &str, level: &str, bands: &str) {
        let (set_ref, position) = (format!("set:{set}"), format!("position:{place}"));
        let mut fields = vec![("set", set_ref.as_str()), ("role", role), ("value", level), ("bands", bands)];
        if role != "background" {
            fields.push(("position", position.as_str()));
        }
        builder.put("reading", &format!("{set}-{role}-{place}"), &fields);
    }

    /// Two sets whose walls differ by `more_db` in every band.
    fn two_sets(more_db: f64, quiet_db: f64) -> Builder {
        let mut builder = Builder::default();
        builder.put("test", "Q1", &[("question", "does it help?"), ("measures", "level-difference")]);
        for (place, side) in [("S1", "source"), ("R1", "receive"), ("R2", "receive")] {
            builder.put("position", place, &[("test", "test:Q1"), ("side", side)]);
        }
        builder.put("assembly", "A1", &[]);
        for (label, stage, more_db) in [("T1", "before", 0.0), ("T2", "after", more_db)] {
            set(&mut builder, label, stage);
            reading(&mut builder, label, "source", "S1", "101 dBA", &source());
            for place in ["R1", "R2"] {
                reading(&mut builder, label, "receive", place, "71 dBA", &heard(more_db));
            }
            reading(&mut builder, label, "background", "-", "30 dBA", &quiet(quiet_db));
        }
        builder
    }

    #[test]
    fn the_published_example_is_rated_as_published() {
        let builder = two_sets(0.0, 20.0);
        let findings = Findings::new(&builder.book);
        let bands = findings.set(id("set", "T1")).unwrap().bands.clone().unwrap();
        for (row, (hz, d_db)) in bands.rows.iter().zip(ANNEX_C_DB) {
            assert_eq!(row.band.nominal_hz().to_string(), hz);
            assert!((row.difference.value - d_db).abs() < 1e-9 && row.difference.bound == Sense::Exact);
        }
        let weighted = bands.ratings.iter().find(|rating| rating.name == "Dw").unwrap();
        assert_eq!(weighted.stated(), "Dw (C; Ctr) = 30 (-2; -3) dB");
        // The same table prints the deviation at 3150 Hz as 8.5 dB, and the curve moved by -22 dB: 56 - 22 there.
        assert_eq!(weighted.short_db.last().map(|(_, short_db)| *short_db), Some(8.5));
        assert_eq!(weighted.curve_db.last().map(|(_, curve_db)| *curve_db), Some(34.0));
        // 4 kHz was not measured: said, and no class.
        assert!(
            bands.unrated.iter().any(|why| why.contains("no NIC") && why.contains("4 kHz")),
            "{:?}",
            bands.unrated
        );
        // No name of a laboratory, whatever the bands.
        assert!(bands.ratings.iter().all(|rating| !["STC", "Rw"].contains(&rating.name)));
    }

    #[test]
    fn every_band_higher_moves_the_rating_as_far() {
        let builder = two_sets(6.0, 20.0);
        let findings = Findings::new(&builder.book);
        let test = findings.test(id("test", "Q1")).unwrap();
        let change = test.headline().unwrap().bands.clone().unwrap();
        assert_eq!(change.compared_on, ["R1", "R2"]);
        assert!(change.rows.iter().all(|row| (row.change.value - 6.0).abs() < 1e-9));
        // ISO 12999-1: repeatability 0.6 dB from 400 Hz up, so 1.96 * sqrt(2) * 0.6 is the least that a full test of five positions
        // shows; these are two.
        let at_1_khz = change.rows.iter().find(|row| row.band.nominal_hz() == 1000.0).unwrap();
        assert!((at_1_khz.least_db.unwrap() - 1.663 * (5.0f64 / 2.0).sqrt()).abs() < 0.001);
        assert_eq!(change.ratings.len(), 1);
        assert_eq!((change.ratings[0].before.value_db, change.ratings[0].after.value_db), (30, 36));
        assert!((change.ratings[0].change.value - 6.0).abs() < 1e-9);
    }

    #[test]
    fn a_band_the_room_s_own_noise_hides_makes_bounds() {
        // From 57 to 74 dB arrive; a noise of 54 dB hides the quietest bands and leaves the others.
        let builder = two_sets(0.0, 54.0);
        let findings = Findings::new(&builder.book);
        let bands = findings.set(id("set", "T1")).unwrap().bands.clone().unwrap();
        let row = |hz: f64| *bands.rows.iter().find(|row| row.band.nominal_hz() == hz).unwrap();
        // 90 - 33.4 = 56.6, only 2.6 dB over the noise: ASTM E336 before 19a takes 2 dB off and calls it a bound.
        let hidden = row(1600.0);
        assert_eq!(hidden.difference.bound, Sense::AtLeast);
        assert!((hidden.difference.value - 35.4).abs() < 1e-9);
        assert_eq!(row(125.0).difference.bound, Sense::Exact);
        let weighted = bands.ratings.iter().find(|rating| rating.name == "Dw").unwrap();
        assert_eq!(weighted.bound, Sense::AtLeast, "a hidden band that falls short of the curve decides");
        assert!(weighted.stated().contains("at least"));
    }

    #[test]
    fn a_time_by_band_standardises_and_is_no_level() {
        let mut builder = two_sets(0.0, 20.0);
        let times: Vec<String> = ANNEX_C_DB.iter().map(|(hz, _)| format!("{hz} 1.0")).collect();
        let bands = format!("third s: {}", times.join(", "));
        let fields = [("set", "set:T1"), ("role", "receive"), ("subject", "reverberation"), ("value", "1 s")];
        builder.put("reading", "T1-time", &[&fields[..], &[("bands", bands.as_str())]].concat());
        let findings = Findings::new(&builder.book);
        let set = findings.set(id("set", "T1")).unwrap();
        assert!(!set.flags.iter().any(|raised| raised.flag == Flag::WeightingMixed));
        let bands = set.bands.clone().unwrap();
        // DnT = D + 10 lg(T/0.5): one second is 3.01 dB more.
        for row in &bands.rows {
            assert!((row.standardised.unwrap().value - row.difference.value - 3.0103).abs() < 1e-4);
        }
        assert!(bands.ratings.iter().any(|rating| rating.name == "DnT,w" && rating.value_db == 33));
    }

    #[test]
    fn sets_without_bands_on_a_side_have_none() {
        let mut builder = two_sets(0.0, 20.0);
        set(&mut builder, "T3", "after");
        reading(&mut builder, "T3", "source", "S1", "101 dBA", &source());
        builder.put(
            "reading",
            "plain",
            &[("set", "set:T3"), ("role", "receive"), ("value", "60 dBA"), ("position", "position:R1")],
        );
        let findings = Findings::new(&builder.book);
        assert!(findings.set(id("set", "T3")).unwrap().bands.is_none());
    }

    #[test]
    fn octaves_and_thirds_meet_in_octaves() {
        let mut builder = two_sets(0.0, 20.0);
        set(&mut builder, "T3", "after");
        // Three equal thirds of 90 dB make an octave of 94.77 dB (10 lg 3).
        reading(&mut builder, "T3", "source", "S1", "101 dBA", &source());
        reading(&mut builder, "T3", "receive", "R1", "60 dBA", "octave dBZ: 125 74.77, 250 64.77, 500 54.77");
        let findings = Findings::new(&builder.book);
        let bands = findings.set(id("set", "T3")).unwrap().bands.clone().unwrap();
        assert_eq!(bands.fraction, Fraction::Octave);
        let got: Vec<f64> = bands.rows.iter().map(|row| row.difference.value).collect();
        for (got_db, expected_db) in got.iter().zip([20.0, 30.0, 40.0]) {
            assert!((got_db - expected_db).abs() < 0.01, "{got:?}");
        }
        assert_eq!(got.len(), 3);
    }
}
