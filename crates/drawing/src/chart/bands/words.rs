//! What a chart of bands says in words, and what bands are called.
//!
//! Leaves out the finding, which is given, but for standing first.

use super::{BandCurve, Bands};
use crate::chart::gains::Print;
use crate::markup::{number, plain};

/// Up to so many bands are named one by one.
const NAMED: usize = 8;

/// Returns what a band is called by its centre, `63`, `125`, `1k`, `3.15k`.
pub(super) fn band(centre_hz: f64) -> String {
    if centre_hz >= 1000.0 { format!("{}k", number(centre_hz / 1000.0)) } else { number(centre_hz) }
}

/// Returns how the values of all curves are printed.
pub(super) fn print(bands: &Bands) -> Print {
    let curves = bands.before.iter().chain([&bands.after]);
    Print::of(curves.flat_map(|curve| curve.values.iter().copied().flatten()))
}

/// Says the whole chart in words.
pub(super) fn alt(bands: &Bands) -> String {
    let mut alt = format!("{} {} by frequency band, {}.", bands.finding, bands.quantity, bands.unit);
    for curve in bands.before.iter().chain([&bands.after]) {
        alt.push_str(&format!(" {}: {}.", curve.label, curve_words(bands, curve)));
    }
    if let Some(contour) = &bands.contour {
        alt.push_str(&format!(" The stepped line is {}.", contour.label));
        let deciding: Vec<String> =
            bands.deciding().into_iter().map(|index| band(bands.centres_hz[index])).collect();
        match deciding.as_slice() {
            [] => (),
            [one] => alt.push_str(&format!(" The band at {one} Hz decides it.")),
            many => alt.push_str(&format!(" The bands at {} Hz decide it.", many.join(", "))),
        }
    }
    plain(&alt)
}

fn curve_words(bands: &Bands, curve: &BandCurve) -> String {
    let print = print(bands);
    let measured = bands.centres_hz.iter().enumerate().filter_map(|(index, &centre)| {
        let value = Bands::value(&curve.values, index)?;
        let bound = if curve.is_least(index) { "at least " } else { "" };
        Some((centre, value, format!("{bound}{} at {}", print.plain(value), band(centre))))
    });
    let measured: Vec<(f64, f64, String)> = measured.collect();
    let missing = bands.centres_hz.len() - measured.len();
    let missing = if missing > 0 { format!(", {missing} missing") } else { String::new() };
    if measured.len() <= NAMED {
        let named: Vec<&str> = measured.iter().map(|(_, _, words)| words.as_str()).collect();
        let named =
            if named.is_empty() { "no band measured".to_owned() } else { format!("{} Hz", named.join(", ")) };
        return format!("{named}{missing}");
    }
    let by_value = |one: &&(f64, f64, String), other: &&(f64, f64, String)| one.1.total_cmp(&other.1);
    let least = measured.iter().min_by(by_value).map_or("", |it| it.2.as_str());
    let most = measured.iter().max_by(by_value).map_or("", |it| it.2.as_str());
    format!("{} bands from {least} Hz to {most} Hz{missing}", measured.len())
}
