//! The R-value of a labelled batt in the depth it got: the label, a published table, or an honest "not in the table".
//!
//! Leaves out interpolation on purpose: the table is one maker's, its steps are rounded, and other fibres squeeze
//! otherwise. An air gap in front of a batt adds no R here.

use storypole_units::Length;

use super::{RValue, is_uncompressed, same_size};

/// Where the table comes from.
pub const TABLE_SOURCE: &str =
    "JLC, a trade journal, questions and answers on compressing batts: figures of one maker's glass fibre";
/// What to know about the table as a whole.
pub const TABLE_NOTE: &str = "the columns were put back in line from running text, so read a figure as about";
/// What to know about R-19 in 3 1/2 in.
const R19_NOTE: &str = "another writer in the same journal gives 13 for R-19 in 3 1/2 in";

/// How far a label in m²·K/W, rounded to hundredths, may lie from the whole R it stands for; labels are 1 apart.
const ROUNDED_LABEL: f64 = 0.05;

/// A batt by its label.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelledBatt {
    /// As printed.
    pub r: RValue,
    /// As printed: the thickness at which `r` holds.
    pub thickness: Length,
    /// What it is made of.
    pub fibre: Fibre,
}

/// What a batt is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fibre {
    /// The only one in the table.
    Glass,
    /// Stone or slag wool.
    Stone,
    /// Cotton, wood, wool or anything else.
    Other,
}

/// The R-value of a batt in its cavity, and how it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CavityR {
    /// Not squeezed, so the label holds.
    Label {
        /// The label's.
        r: RValue,
        /// Depth that stays empty.
        gap: Length,
    },
    /// Squeezed, and published: see [`TABLE_SOURCE`] and [`TABLE_NOTE`].
    Table {
        /// As published.
        r: RValue,
        /// What to know about this figure.
        note: Option<&'static str>,
    },
    /// Squeezed, and nobody published it.
    NotInTable(NotInTable),
}

/// Why a squeezed batt has no R-value here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, thiserror::Error)]
pub enum NotInTable {
    /// Stone wool and others.
    #[error("the table is for glass fibre, and other fibres squeeze otherwise: ask the maker")]
    OtherFibre,
    /// No such label.
    #[error("no glass-fibre batt of this R and thickness is in the table: ask the maker")]
    NoSuchBatt,
    /// The label is there, but not in this depth.
    #[error("this batt is not in the table at this depth, and nothing is interpolated: ask the maker")]
    NoSuchDepth,
}

/// Why a batt in a cavity cannot be looked up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CavityRError {
    /// A batt has a thickness.
    #[error("the batt has no thickness: read it from the label")]
    NoThickness,
    /// A cavity has a depth.
    #[error("the cavity has no depth: measure the stud from face to face")]
    NoDepth,
}

impl CavityR {
    /// Returns the R-value where there is one.
    pub fn r(self) -> Option<RValue> {
        match self {
            Self::Label { r, .. } | Self::Table { r, .. } => Some(r),
            Self::NotInTable(_) => None,
        }
    }
}

/// Looks up what a batt resists in a cavity of this depth.
///
/// Not squeezed, it is the label; squeezed glass fibre is looked up by label and depth; all else is not in the table.
/// Sizes within half a millimetre of a printed one count as that one.
///
/// # Errors
/// [`CavityRError`] without a thickness or a depth.
///
/// # Source
/// [`TABLE_SOURCE`]; that the label holds where nothing is squeezed is what a label says.
pub fn cavity_r(batt: LabelledBatt, depth: Length) -> Result<CavityR, CavityRError> {
    if batt.thickness == Length::ZERO {
        return Err(CavityRError::NoThickness);
    }
    if depth == Length::ZERO {
        return Err(CavityRError::NoDepth);
    }
    if is_uncompressed(batt.thickness, depth) {
        let gap = depth.checked_sub(batt.thickness).unwrap_or(Length::ZERO);
        return Ok(CavityR::Label { r: batt.r, gap });
    }
    Ok(match batt.fibre {
        Fibre::Glass => look_up(batt, depth),
        Fibre::Stone | Fibre::Other => CavityR::NotInTable(NotInTable::OtherFibre),
    })
}

fn look_up(batt: LabelledBatt, depth: Length) -> CavityR {
    let is_label = |row: &&Row| {
        (f64::from(row.r) - batt.r.us()).abs() < ROUNDED_LABEL
            && same_size(row.thickness.length(), batt.thickness)
    };
    let Some(row) = TABLE.iter().find(is_label) else {
        return CavityR::NotInTable(NotInTable::NoSuchBatt);
    };
    let Some(&(_, r)) = row.squeezed.iter().find(|(at, _)| same_size(at.length(), depth)) else {
        return CavityR::NotInTable(NotInTable::NoSuchDepth);
    };
    let r = RValue::from_us(f64::from(r)).expect("the table holds numbers above zero");
    CavityR::Table {
        r,
        note: (row.r == 19 && same_size(depth, Hundredths(350).length())).then_some(R19_NOTE),
    }
}

/// Hundredths of an inch: the table's sizes are quarters.
#[derive(Debug, Clone, Copy)]
struct Hundredths(u16);

impl Hundredths {
    fn length(self) -> Length {
        Length::from_nm(i64::from(self.0) * 254_000).expect("a batt is shorter than 1000 km")
    }
}

/// A column of the table: a label, and what is left of it by depth.
struct Row {
    r: u8,
    thickness: Hundredths,
    squeezed: &'static [(Hundredths, u8)],
}

const D350: Hundredths = Hundredths(350);
const D550: Hundredths = Hundredths(550);
const D725: Hundredths = Hundredths(725);
const D925: Hundredths = Hundredths(925);
const D1125: Hundredths = Hundredths(1125);

/// Depths where a batt is not squeezed are in the published table too, and kept to check it.
const TABLE: &[Row] = &[
    Row { r: 15, thickness: Hundredths(350), squeezed: &[(D350, 15)] },
    Row { r: 19, thickness: Hundredths(625), squeezed: &[(D350, 14), (D550, 18), (D725, 19)] },
    Row { r: 21, thickness: Hundredths(550), squeezed: &[(D350, 15), (D550, 21)] },
    Row { r: 22, thickness: Hundredths(650), squeezed: &[(D350, 15), (D550, 20), (D725, 22)] },
    Row { r: 25, thickness: Hundredths(800), squeezed: &[(D550, 20), (D725, 24), (D925, 25)] },
    Row { r: 30, thickness: Hundredths(825), squeezed: &[(D550, 22), (D725, 27), (D925, 30)] },
    Row { r: 30, thickness: Hundredths(1000), squeezed: &[(D550, 21), (D725, 26), (D925, 29), (D1125, 30)] },
    Row { r: 38, thickness: Hundredths(1000), squeezed: &[(D725, 30), (D925, 36), (D1125, 38)] },
    Row { r: 38, thickness: Hundredths(1200), squeezed: &[(D725, 28), (D925, 33), (D1125, 37)] },
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{inches, mm};

    fn glass(r: f64, thickness_in: &str) -> LabelledBatt {
        batt(r, inches(thickness_in), Fibre::Glass)
    }

    fn batt(r: f64, thickness: Length, fibre: Fibre) -> LabelledBatt {
        LabelledBatt { r: RValue::from_us(r).unwrap(), thickness, fibre }
    }

    /// Source: [`TABLE_SOURCE`], read again figure by figure, apart from the table above.
    #[test]
    fn squeezed_batts_match_the_published_table() {
        let cases = [
            ("6.25", 19.0, "3.5", 14.0),
            ("6.25", 19.0, "5.5", 18.0),
            ("5.5", 21.0, "3.5", 15.0),
            ("6.5", 22.0, "3.5", 15.0),
            ("6.5", 22.0, "5.5", 20.0),
            ("8", 25.0, "5.5", 20.0),
            ("8", 25.0, "7.25", 24.0),
            ("8.25", 30.0, "5.5", 22.0),
            ("8.25", 30.0, "7.25", 27.0),
            ("10", 30.0, "5.5", 21.0),
            ("10", 30.0, "7.25", 26.0),
            ("10", 30.0, "9.25", 29.0),
            ("10", 38.0, "7.25", 30.0),
            ("10", 38.0, "9.25", 36.0),
            ("12", 38.0, "7.25", 28.0),
            ("12", 38.0, "9.25", 33.0),
            ("12", 38.0, "11.25", 37.0),
        ];
        let mut looked_up = 0;
        for (thickness, label, depth, expected) in cases {
            let got = cavity_r(glass(label, thickness), inches(depth)).unwrap();
            assert!(matches!(got, CavityR::Table { .. }), "{label} in {depth}: {got:?}");
            assert_eq!(got.r().unwrap().us(), expected, "{label} ({thickness}) in {depth}");
            looked_up += 1;
        }
        let squeezed = TABLE.iter().flat_map(|row| row.squeezed.iter().map(move |&(depth, _)| (row, depth)));
        let all = squeezed.filter(|(row, depth)| row.thickness.0 > depth.0).count();
        assert_eq!(looked_up, all, "every squeezed figure is checked");
    }

    /// Goal: columns out of line would show. Where a batt is not squeezed the published figure is its label; squeezing
    /// further never raises R; it loses less than in proportion, because denser fibre resists more per inch.
    #[test]
    fn the_table_is_in_line() {
        for row in TABLE {
            for &(depth, r) in row.squeezed {
                let share = f64::from(depth.0) / f64::from(row.thickness.0);
                if share >= 1.0 {
                    assert_eq!(r, row.r, "R-{} at {depth:?}", row.r);
                } else {
                    assert!(
                        r <= row.r && f64::from(r) > f64::from(row.r) * share,
                        "R-{} at {depth:?}",
                        row.r
                    );
                }
            }
            assert!(row.squeezed.windows(2).all(|pair| pair[0].1 <= pair[1].1), "R-{}", row.r);
        }
    }

    #[test]
    fn an_unsqueezed_batt_keeps_its_label() {
        let got = cavity_r(glass(13.0, "3.5"), inches("5.5")).unwrap();
        assert_eq!(got, CavityR::Label { r: RValue::from_us(13.0).unwrap(), gap: inches("2") });
        let stone = batt(23.0, mm("140"), Fibre::Stone);
        let got = cavity_r(stone, inches("5.5")).unwrap();
        assert_eq!(got, CavityR::Label { r: RValue::from_us(23.0).unwrap(), gap: Length::ZERO });
    }

    #[test]
    fn metric_sizes_find_the_same_figure() {
        let got = cavity_r(batt(19.0, mm("159"), Fibre::Glass), mm("140")).unwrap();
        assert_eq!(got.r().unwrap().us(), 18.0);
        // R-19 is printed as RSI 3.35: 19 x 0.17611 = 3.346, by hand.
        let rsi = LabelledBatt { r: RValue::from_si(3.35).unwrap(), ..glass(19.0, "6.25") };
        assert_eq!(cavity_r(rsi, mm("140")).unwrap(), got);
        let doubted = cavity_r(batt(19.0, mm("159"), Fibre::Glass), mm("89")).unwrap();
        let note = "another writer in the same journal gives 13 for R-19 in 3 1/2 in";
        assert_eq!(doubted, CavityR::Table { r: RValue::from_us(14.0).unwrap(), note: Some(note) });
        let plain = cavity_r(glass(21.0, "5.5"), inches("3.5")).unwrap();
        assert_eq!(plain, CavityR::Table { r: RValue::from_us(15.0).unwrap(), note: None });
    }

    #[test]
    fn what_is_not_published_is_not_guessed() {
        let cases = [
            (batt(23.0, inches("5.5"), Fibre::Stone), "3.5", NotInTable::OtherFibre),
            // The same label and thickness as a glass-fibre batt of the table.
            (batt(21.0, inches("5.5"), Fibre::Other), "3.5", NotInTable::OtherFibre),
            (glass(13.0, "3.5"), "2.5", NotInTable::NoSuchBatt),
            // R-30 is in the table at 8 1/4 and at 10 in, not at 9 in.
            (glass(30.0, "9"), "5.5", NotInTable::NoSuchBatt),
            (glass(19.0, "6.25"), "4.5", NotInTable::NoSuchDepth),
            (glass(19.0, "6.25"), "5.45", NotInTable::NoSuchDepth),
        ];
        for (batt, depth, reason) in cases {
            let got = cavity_r(batt, inches(depth)).unwrap();
            assert_eq!(got, CavityR::NotInTable(reason), "{batt:?} in {depth}");
            assert_eq!(got.r(), None);
        }
        assert_eq!(
            NotInTable::OtherFibre.to_string(),
            "the table is for glass fibre, and other fibres squeeze otherwise: ask the maker"
        );
    }

    #[test]
    fn refuses_with_the_reason() {
        let refusal = |batt, depth| cavity_r(batt, depth).unwrap_err().to_string();
        assert_eq!(
            refusal(glass(13.0, "0"), inches("3.5")),
            "the batt has no thickness: read it from the label"
        );
        assert_eq!(
            refusal(glass(13.0, "3.5"), Length::ZERO),
            "the cavity has no depth: measure the stud from face to face"
        );
    }
}
