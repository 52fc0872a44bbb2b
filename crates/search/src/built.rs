//! What a wall is called on site, from its parts: frame, fill, sections, boards and spacing as a person would say them.
//!
//! Leaves out how it is written in the notebook's own notation: the document carries that too.

use storypole_notebook::assembly::{Cavity, Coupling, Frame, Leaf, Milli, Studs};
use storypole_notebook::matching::Parts;

/// How large its parts are, in inches as the trade names them.
pub(crate) fn sizes(parts: &Parts) -> Vec<String> {
    let mut words = Vec::new();
    if let Frame::Studs { studs, arrangement, .. } = &parts.frame {
        if !is_steel(*arrangement) {
            words.extend(nominal(studs).map(str::to_owned));
        }
        words.extend(spacing(studs.spacing_mm));
    }
    if let Cavity::Space { clear_mm: Some(depth), .. } = &parts.cavity {
        words.extend(inches(*depth).map(|depth| format!("{depth} in cavity")));
    }
    for leaf in [&parts.leaf_a, &parts.leaf_b] {
        if let Leaf::Boards { layers, .. } = leaf {
            let layers =
                layers.iter().filter_map(|layer| Some((inches(layer.thickness_mm)?, &layer.material)));
            words.extend(layers.map(|(thickness, material)| format!("{thickness} in {material}")));
        }
    }
    words.dedup();
    words
}

/// What fills it and what ties its leaves: what most tells walls apart.
pub(crate) fn fill_and_frame(parts: &Parts) -> Vec<String> {
    let mut words = Vec::new();
    match (&parts.cavity, parts.fill()) {
        (_, Some(fill)) if fill.kind != "other" => words.push(fill.kind.clone()),
        (Cavity::Space { .. }, None) => words.push("empty cavity".to_owned()),
        _ => (),
    }
    if let Frame::Studs { arrangement, .. } = &parts.frame {
        words.extend(coupling(*arrangement).map(str::to_owned));
    }
    let tied = parts.coupling();
    // What nobody wrote down counts as single studs when walls are compared; it is not said of the wall.
    if matches!(tied, Coupling::Resilient | Coupling::Clip | Coupling::Solid) {
        words.extend(coupling(tied).map(str::to_owned));
    }
    words
}

fn coupling(coupling: Coupling) -> Option<&'static str> {
    Some(match coupling {
        Coupling::SingleWood => "single wood studs",
        Coupling::SingleSteelThin => "single steel studs",
        Coupling::SingleSteelStructural => "single structural steel studs",
        Coupling::Resilient => "resilient channel",
        Coupling::Clip => "isolation clips",
        Coupling::Staggered => "staggered studs",
        Coupling::Double => "double studs",
        Coupling::Solid => "solid",
        // The state of the work says that.
        Coupling::Open => return None,
    })
}

fn is_steel(arrangement: Coupling) -> bool {
    matches!(arrangement, Coupling::SingleSteelThin | Coupling::SingleSteelStructural)
}

/// The name of a dressed section. Sizes of the American Softwood Lumber Standard (PS 20), dry, from memory, in whole
/// millimetres.
fn nominal(studs: &Studs) -> Option<&'static str> {
    const SECTIONS: [(i64, i64, &str); 7] = [
        (38, 38, "2x2"),
        (38, 64, "2x3"),
        (38, 89, "2x4"),
        (38, 140, "2x6"),
        (38, 184, "2x8"),
        (38, 235, "2x10"),
        (38, 286, "2x12"),
    ];
    let whole = |length: Milli| (length.0 + 500) / 1_000;
    let (width, depth) = (whole(studs.width_mm), whole(studs.depth_mm));
    SECTIONS.iter().find(|(w, d, _)| (*w, *d) == (width, depth)).map(|(.., name)| *name)
}

const MM_PER_INCH: f64 = 25.4;

/// Centre to centre, when it is a whole number of inches as the trade rounds it: 406 mm for 16 in.
fn spacing(spacing_mm: Milli) -> Option<String> {
    let inches = (spacing_mm.to_f64() / MM_PER_INCH).round();
    let off_mm = (inches * MM_PER_INCH - spacing_mm.to_f64()).abs();
    (off_mm < 0.7 && inches > 0.0).then(|| format!("{inches} o.c."))
}

/// A length in inches and eighths, when it is that as the trade rounds it: 15.9 mm for 5/8 in, 89 mm for 3-1/2 in.
fn inches(length: Milli) -> Option<String> {
    let eighths = (length.to_f64() / MM_PER_INCH * 8.0).round();
    let off_mm = (eighths * MM_PER_INCH / 8.0 - length.to_f64()).abs();
    if off_mm > 0.45 || eighths < 1.0 {
        return None;
    }
    let (whole, part) = ((eighths / 8.0).floor(), eighths % 8.0);
    let fraction = match part as u8 {
        0 => return Some(format!("{whole}")),
        part if part % 4 == 0 => "1/2".to_owned(),
        part if part % 2 == 0 => format!("{}/4", part / 2),
        part => format!("{part}/8"),
    };
    Some(if whole == 0.0 { fraction } else { format!("{whole}-{fraction}") })
}

#[cfg(test)]
mod tests {
    use super::*;
    use storypole_notebook::assembly::Openings;

    fn parts(leaf_a: &str, frame: &str, cavity: &str) -> Parts {
        Parts {
            leaf_a: Leaf::parse(leaf_a).unwrap(),
            frame: Frame::parse(frame).unwrap(),
            cavity: Cavity::parse(cavity).unwrap(),
            leaf_b: Leaf::parse("gypsum 12.7 x1, 8.5 kg/m2").unwrap(),
            openings: Openings::None,
            state: "finished".to_owned(),
        }
    }

    #[test]
    fn walls_are_called_what_people_call_them() {
        for (leaf_a, frame, cavity, expected) in [
            (
                "gypsum 15.9 x2, 22 kg/m2",
                "single wood 38x89@406",
                "89 clear, cellulose 89, 55 kg/m3, 100%",
                "cellulose; single wood studs; 2x4; 16 o.c.; 3-1/2 in cavity; 5/8 in gypsum; 1/2 in gypsum",
            ),
            (
                "gypsum 12.7 x1, 8.5 kg/m2",
                "staggered wood 38x89@610 on 38x140",
                "140 clear, empty",
                "empty cavity; staggered studs; 2x4; 24 o.c.; 5-1/2 in cavity; 1/2 in gypsum",
            ),
            ("unknown", "unknown", "unknown", "1/2 in gypsum"),
        ] {
            let parts = parts(leaf_a, frame, cavity);
            assert_eq!([fill_and_frame(&parts), sizes(&parts)].concat().join("; "), expected);
        }
    }

    /// 25.4 mm to the inch, exactly; what the trade rounds differs by less than half a millimetre.
    #[test]
    fn lengths_are_eighths_of_an_inch_or_not_said() {
        for (thousandths_mm, expected) in [
            (12_700, Some("1/2")),
            (15_900, Some("5/8")),
            (19_000, Some("3/4")),
            (25_400, Some("1")),
            (89_000, Some("3-1/2")),
            (184_000, Some("7-1/4")),
            (100_000, None),
            (0, None),
        ] {
            assert_eq!(inches(Milli(thousandths_mm)).as_deref(), expected, "{thousandths_mm}");
        }
        assert_eq!(spacing(Milli(406_000)).as_deref(), Some("16 o.c."));
        assert_eq!(spacing(Milli(609_600)).as_deref(), Some("24 o.c."));
        assert_eq!(spacing(Milli(400_000)), None);
    }
}
