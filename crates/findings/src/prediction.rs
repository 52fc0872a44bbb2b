//! What a wall should give: the bands of a laboratory wall like the one written down, with its openings, before or beside
//! any measurement.
//!
//! Everything taken for granted is said in words with the result. The model knows no workmanship, no leaks and, but for a cap,
//! no way round the wall: it is no rating, and a house does worse. Published ranges stand beside it, from
//! [`mod@crate::paths`]. Leaves out ratings, triple leaves and small panels.
//!
//! Reading order: [`predict`], then `structure` (leaves, ties, cavity), `materials` (masses and critical frequencies) and
//! `openings` (doors, windows, cracks).

mod materials;
mod openings;
mod structure;

use storypole_acoustics::composite::{self, BandedPart};
use storypole_acoustics::confounders;
use storypole_acoustics::prediction::{
    self as model, BAND_SPREAD_DB, HOUSE_CAP_DB, PredictionError, RATING_SPREAD_DB,
};
use storypole_acoustics::{Fraction, Spectrum, ratings};
use storypole_journal::RecordId;
use storypole_notebook::assembly::{Layer, Opening, PartError, Seal, Seals};
use storypole_notebook::kinds::Assembly;
use storypole_notebook::matching::Parts;

use crate::paths::{self, KEEP_OPEN, LossRange};
use crate::print;
use crate::rules::LIMITING_SHARE;

/// One way through the wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// What it is, in words.
    pub words: String,
    /// Its area, m²; absent for a wall without openings whose size nobody wrote down.
    pub area_m2: Option<f64>,
    /// Its loss, third octaves, dB.
    pub loss: Spectrum,
    /// Where the loss comes from.
    pub source: &'static str,
    /// Its share of the sound in each third octave.
    pub shares: Spectrum,
    /// Its share of A-weighted pink noise.
    pub pink_share: f64,
}

/// What a wall should give.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// The assembly.
    pub assembly: RecordId,
    /// Its label.
    pub label: String,
    /// The laboratory wall without openings, third octaves 50 to 5000 Hz, dB. Not capped.
    pub without_openings: Spectrum,
    /// The wall with its openings, no band above the cap, dB.
    pub spectrum: Spectrum,
    /// The wall itself, then its openings.
    pub paths: Vec<Path>,
    /// The class the laboratory wall without openings would get by ASTM E413, dB.
    pub wall_class_db: i32,
    /// What A-weighted pink noise loses through the laboratory wall without openings, dB.
    pub wall_pink_db: f64,
    /// What it loses through the wall with its openings and the cap, dB.
    pub pink_db: f64,
    /// Published laboratory range of walls of this kind, where one is known.
    pub published: Option<LossRange>,
    /// What was taken for granted, in sentences.
    pub assumptions: Vec<String>,
    /// How far a band may lie off a laboratory test, dB either way.
    pub band_spread_db: f64,
    /// How far a rating may lie off a laboratory rating, dB either way.
    pub rating_spread_db: f64,
    /// Most that a band gives before sound goes round the wall, dB.
    pub cap_db: f64,
}

/// Why nothing is predicted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum NoPrediction {
    /// Correct the part.
    #[error("a part of the assembly cannot be read")]
    Unreadable {
        #[from]
        source: PartError,
    },
    /// A small panel is not a wall.
    #[error("a small panel is not predicted: the model is for walls")]
    Panel,
    /// The model is for what stands between two rooms.
    #[error("the model is for walls, ceilings and floors, not for a {element}")]
    NotAPartition { element: String },
    /// Write the part down.
    #[error("the {part} of the assembly is not written down")]
    Unknown { part: &'static str },
    /// The state and the leaves say different things: correct one.
    #[error("the state {state} does not go with the leaves that are written down")]
    StateDiffers { state: String },
    /// Nothing but studs.
    #[error("there is no board on either side")]
    NoBoards,
    /// Masonry without a mass, or with boards before it.
    #[error("what a solid wall weighs is not written down as one leaf")]
    NoMasses,
    /// Neither mass nor stiffness of the material is known here.
    #[error("nothing is known here of a leaf of {material}")]
    UnknownMaterial { material: String },
    /// A soft or open layer between boards makes a third leaf.
    #[error("{material} between boards makes a triple leaf, which the model would flatter")]
    TripleLeaf { material: String },
    /// Two frames with board between them.
    #[error(
        "the cavity is shallower than its two frames: board on their inner faces makes a triple leaf, which the model would flatter"
    )]
    InnerBoards,
    /// The model knows air and fibre.
    #[error("a cavity filled with {kind} is not predicted")]
    Fill { kind: String },
    /// Two leaves need a space between them.
    #[error("two leaves without a cavity are not predicted")]
    NoCavity,
    /// Length or height is missing.
    #[error("length and height of the wall are not written down")]
    NoArea,
    /// An opening's area is missing.
    #[error("the area of an opening is not written down")]
    NoOpeningArea,
    /// No loss for such an opening is known here.
    #[error("no loss is known for the {words}")]
    NoOpeningLoss { words: String },
    /// Openings are larger than the wall.
    #[error("the openings are larger than the wall")]
    OpeningsTooLarge,
    /// A measure that no wall has.
    #[error("a measure of the wall is beyond the model")]
    Measure {
        #[from]
        source: PredictionError,
    },
}

/// Predicts the bands of an assembly as it is written down.
///
/// # Errors
/// [`NoPrediction`] says what is missing.
///
/// # Source
/// Sharp's model, see [`storypole_acoustics::prediction`]; masses and doors of handbooks, see the assumptions of the result.
pub fn predict(assembly: &Assembly) -> Result<Prediction, NoPrediction> {
    match assembly.element.as_deref() {
        Some("panel") => return Err(NoPrediction::Panel),
        Some(element @ ("door" | "rim")) => {
            return Err(NoPrediction::NotAPartition { element: element.to_owned() });
        }
        _ => (),
    }
    let parts = Parts::of(assembly)?;
    let mut assumptions = Vec::new();
    if let Some(element @ ("ceiling" | "floor")) = assembly.element.as_deref() {
        assumptions.push(format!("The {element} is taken as a wall on studs."));
    }
    let wall = structure::wall(&parts, &mut assumptions)?;
    let without_openings = model::predict(&wall);
    let holes = openings::holes(&parts, &mut assumptions)?;
    note_leaks(assembly, &parts, &mut assumptions)?;
    let joined = join(assembly, &without_openings, &holes)?;
    let cap_db = HOUSE_CAP_DB;
    let spectrum = model::capped(&joined.loss, cap_db).expect("the cap is a finite constant");
    let pink = pink_a_weighted();
    let loss_of_pink = |spectrum: &Spectrum| {
        confounders::whole_difference_db(&pink, spectrum)
            .expect("both have the third octaves from 50 to 5000 Hz")
    };
    Ok(Prediction {
        assembly: assembly.id,
        label: assembly.label.clone().unwrap_or_default(),
        wall_class_db: ratings::stc(&without_openings, ratings::Rounding::WholeDb)
            .expect("the model gives every third octave from 50 to 5000 Hz, none beyond a few hundred dB")
            .rating_db,
        wall_pink_db: loss_of_pink(&without_openings),
        pink_db: loss_of_pink(&spectrum),
        without_openings,
        spectrum,
        paths: joined.paths,
        published: paths::wall_range(&parts),
        assumptions,
        band_spread_db: BAND_SPREAD_DB,
        rating_spread_db: RATING_SPREAD_DB,
        cap_db,
    })
}

/// What one board of a layer weighs by the tables, kg/m²; `None` of a material that is in none of them.
///
/// # Source
/// Tables of the trade, see `materials`; two boards of one thickness may differ by a third, so a mass that is written down wins.
pub fn board_kg_m2(layer: &Layer) -> Option<f64> {
    materials::board_kg_m2(layer)
}

struct Joined {
    loss: Spectrum,
    paths: Vec<Path>,
}

const WALL_SOURCE: &str = "Sharp's model of a laboratory wall";

/// Wall and openings band by band, with the share of each.
fn join(assembly: &Assembly, wall: &Spectrum, holes: &[openings::Hole]) -> Result<Joined, NoPrediction> {
    let face_m2 = paths::face_m2(assembly);
    let net_m2 = match face_m2 {
        // A wall alone needs no area: every share is the wall's.
        None if holes.is_empty() => 1.0,
        None => return Err(NoPrediction::NoArea),
        Some(face_m2) => face_m2 - holes.iter().map(|hole| hole.area_m2).sum::<f64>(),
    };
    if net_m2 <= 0.0 {
        return Err(NoPrediction::OpeningsTooLarge);
    }
    let mut parts = vec![BandedPart { area_m2: net_m2, loss: wall.clone() }];
    parts.extend(holes.iter().map(|hole| BandedPart { area_m2: hole.area_m2, loss: hole.loss.clone() }));
    let whole = composite::composite_by_band(&parts)
        .expect("areas are above zero and all losses have the same third octaves");
    let pink_shares = whole.shares_of(&pink_a_weighted()).expect("the bands are the same");
    let wall_path = ("wall".to_owned(), WALL_SOURCE);
    let named = std::iter::once(wall_path).chain(holes.iter().map(|hole| (hole.words.clone(), hole.source)));
    let shares = whole.shares.into_iter().zip(pink_shares);
    let paths = named.zip(parts).zip(shares).map(|(((words, source), part), (shares, pink_share))| Path {
        words,
        area_m2: face_m2.map(|_| part.area_m2),
        loss: part.loss,
        source,
        shares,
        pink_share,
    });
    Ok(Joined { loss: whole.loss, paths: paths.collect() })
}

/// What leaks are not in the model.
fn note_leaks(assembly: &Assembly, parts: &Parts, assumptions: &mut Vec<String>) -> Result<(), NoPrediction> {
    let seals = Seals::parse(assembly.seals.as_deref().unwrap_or("unknown"))?;
    let sealed = matches!(&seals, Seals::Sides(sides) if sides.iter().any(|(_, seal)| *seal != Seal::None));
    if !sealed {
        assumptions.push(
            "The edges are taken as tight, and no seal is written down: open edges can cost 20 dB and more."
                .to_owned(),
        );
    }
    if let storypole_notebook::assembly::Openings::List(list) = &parts.openings {
        let leaky =
            |opening: &&Opening| matches!(opening, Opening::Boxes { tight, .. } if *tight != Some(true));
        if list.iter().any(|opening| leaky(&opening)) {
            assumptions.push(
                "Boxes that are not tight are left out: back to back they leak, most in an empty bay."
                    .to_owned(),
            );
        }
    }
    Ok(())
}

/// Pink noise at the ear: spectrum no. 1 of ISO 717-1 in its extended range, dB, summing to 0.
fn pink_a_weighted() -> Spectrum {
    let bands = storypole_acoustics::Band::range(Fraction::Third, 50.0, 5000.0)
        .expect("both are labels of third octaves");
    Spectrum::of(bands.into_iter().zip(PINK_A_WEIGHTED_DB).collect())
        .expect("the bands ascend, the values are finite")
}

/// ISO 717-1 Annex B, spectrum no. 1 for 50 to 5000 Hz.
const PINK_A_WEIGHTED_DB: [f64; 21] = [
    -41.0, -37.0, -34.0, -30.0, -27.0, -24.0, -22.0, -20.0, -18.0, -16.0, -14.0, -13.0, -12.0, -11.0, -10.0,
    -10.0, -10.0, -10.0, -10.0, -10.0, -10.0,
];

impl Prediction {
    /// The opening that lets over half of A-weighted pink noise through.
    pub fn limiting(&self) -> Option<&Path> {
        self.paths.iter().skip(1).find(|path| path.pink_share > LIMITING_SHARE)
    }

    /// Share of A-weighted pink noise through all openings.
    pub fn opening_share(&self) -> f64 {
        self.paths.iter().skip(1).map(|path| path.pink_share).sum()
    }

    /// The finding in plain sentences.
    pub fn sentence(&self) -> String {
        let decibels = |value: f64| print::decimals(value, 0);
        let mut words = format!(
            "By the model such a wall would rate about STC {} in a laboratory, {} either way, and take {} dB off pink noise (A-weighted); a \
             house does worse.",
            self.wall_class_db,
            decibels(self.rating_spread_db),
            decibels(self.wall_pink_db),
        );
        if let Some(range) = self.published {
            words.push_str(&format!(
                " Published walls of this kind rate {} to {} in the laboratory; that number leaves the deepest bass out.",
                decibels(range.low_db),
                decibels(range.high_db),
            ));
        }
        if self.paths.len() > 1 {
            words.push_str(&format!(" With its openings it takes {} dB off.", decibels(self.pink_db)));
        }
        let limit = match self.limiting() {
            Some(path) => Some((format!("the {}", path.words), path.pink_share)),
            None if self.opening_share() > LIMITING_SHARE => {
                Some(("all of them together".to_owned(), self.opening_share()))
            }
            None => None,
        };
        if let Some((what, share)) = limit {
            words.push_str(&format!(
                " Of the pink noise that gets through, {} comes by {what}: a better wall would hardly be heard.",
                print::percent(share)
            ));
        }
        if self.limiting().is_some_and(|path| path.words.contains("louv") || path.words.contains("grille")) {
            words.push(' ');
            words.push_str(KEEP_OPEN);
        }
        words
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;
    use storypole_acoustics::Band;
    use storypole_notebook::Value;

    fn of(builder: &fixture::Builder, label: &str) -> Result<Prediction, NoPrediction> {
        predict(builder.book.assemblies.get(fixture::id("assembly", label)).unwrap())
    }

    fn demo(label: &str) -> Prediction {
        of(&fixture::builder(), label).unwrap_or_else(|why| panic!("{label}: {why:?}"))
    }

    fn amended(label: &str, fields: &[(&str, &str)]) -> Result<Prediction, NoPrediction> {
        let mut builder = fixture::builder();
        for (field, text) in fields {
            builder.amend("assembly", label, field, text);
        }
        of(&builder, label)
    }

    fn near(got: f64, expected: f64, what: &str) {
        assert!((got - expected).abs() <= 0.000_051, "{what}: {got} against {expected}");
    }

    fn at(spectrum: &Spectrum, hz: f64) -> f64 {
        spectrum.get(Band::nominal(Fraction::Third, hz).unwrap()).unwrap()
    }

    /// Demo scenario, invented. Wall at 125, 500 and 2000 Hz; pink noise through the wall, and with openings and cap: computed
    /// independently with mpmath 1.3 from the published formulas, masses and octaves.
    #[test]
    fn the_demo_walls_match() {
        let rows = [
            ("A01", [16.4071, 29.5925, 36.1942], 31.7371, 22.9528),
            ("A02", [12.3234, 24.2557, 30.8542], 26.8413, 22.0632),
            ("A03", [26.6120, 54.2868, 57.6448], 44.3283, 23.4244),
            ("A04", [26.6120, 54.2868, 57.6448], 44.3283, 36.8618),
            ("A05", [25.8706, 50.2721, 53.3200], 43.0661, 43.0624),
            ("A07", [31.6947, 54.0095, 57.0551], 46.9473, 46.9161),
            ("A08", [16.4071, 29.5925, 36.1942], 31.7371, 31.7371),
            ("A09", [16.4071, 37.8370, 44.5592], 35.6656, 35.6656),
            ("A10", [23.3114, 42.1317, 45.0020], 41.1737, 41.1737),
            ("A11", [12.3234, 24.2557, 30.8542], 26.8413, 15.0295),
            ("A12", [18.7877, 38.8860, 41.7817], 37.3205, 15.2159),
        ];
        for (label, bands, wall_pink_db, pink_db) in rows {
            let got = demo(label);
            for (hz, expected_db) in [125.0, 500.0, 2000.0].into_iter().zip(bands) {
                near(at(&got.without_openings, hz), expected_db, &format!("{label} at {hz} Hz"));
            }
            near(got.wall_pink_db, wall_pink_db, &format!("{label}, wall"));
            near(got.pink_db, pink_db, &format!("{label}, whole"));
            assert!(got.spectrum.values().iter().all(|(_, loss)| *loss <= got.cap_db), "{label}");
            assert_eq!((got.without_openings.values().len(), got.spectrum.values().len()), (21, 21));
            assert!(!got.assumptions.is_empty(), "{label}");
        }
    }

    #[test]
    fn shares_say_which_path_matters() {
        // Demo scenario, invented; shares of A-weighted pink noise computed independently with mpmath 1.3.
        let shares =
            |label: &str| -> Vec<f64> { demo(label).paths.iter().map(|path| path.pink_share).collect() };
        for (label, expected) in [
            ("A01", vec![0.108_908, 0.635_327, 0.255_766]),
            ("A03", vec![0.006_685, 0.708_209, 0.285_106]),
            ("A04", vec![0.147_745, 0.852_255]),
            ("A08", vec![1.0]),
            ("A12", vec![0.004_314, 0.995_686]),
        ] {
            let got = shares(label);
            assert_eq!(got.len(), expected.len(), "{label}");
            for (got, expected) in got.iter().zip(expected) {
                assert!((got - expected).abs() < 1e-6, "{label}: {got}");
            }
        }
        let before = demo("A01");
        assert_eq!(before.limiting().unwrap().words, "hollow-core door");
        assert_eq!(before.paths[2].words, "gap under the hollow-core door");
        for band in before.spectrum.values().iter().map(|(band, _)| *band) {
            let sum: f64 = before.paths.iter().map(|path| path.shares.get(band).unwrap()).sum();
            assert!((sum - 1.0).abs() < 1e-12, "{band}");
        }
        assert!(demo("A08").limiting().is_none());
    }

    #[test]
    fn sentences_speak_of_a_laboratory_wall_with_its_spread() {
        for label in ["A01", "A02", "A03", "A04", "A05", "A08", "A09", "A11", "A12"] {
            let words = demo(label).sentence();
            assert!(words.contains("in a laboratory") && words.contains("a house does worse"), "{words}");
            // A class is only ever that of the laboratory wall, and never without its spread.
            assert_eq!(words.matches("STC").count(), words.matches("would rate about STC").count());
            assert!(words.contains("4 either way") && !words.contains("Rw"), "{words}");
        }
        assert_eq!(
            demo("A08").sentence(),
            "By the model such a wall would rate about STC 33 in a laboratory, 4 either way, and take 32 dB off pink noise (A-weighted); a \
             house does worse. Published walls of this kind rate 33 to 34 in the laboratory; that number leaves the deepest bass out."
        );
        let louvres = demo("A12").sentence();
        assert!(
            louvres.contains("over 99 % comes by the louvred door") && louvres.contains("do not close them"),
            "{louvres}"
        );
    }

    #[test]
    fn assumptions_are_told() {
        let told = |prediction: &Prediction, words: &str| {
            prediction.assumptions.iter().any(|line| line.contains(words))
        };
        let filled = demo("A09");
        assert!(told(&filled, "1 to 5 dB better"), "{:?}", filled.assumptions);
        assert!(!told(&demo("A08"), "1 to 5 dB better"));
        assert!(told(&demo("A03"), "points 0.6 m apart"));
        let staggered = demo("A05");
        assert!(told(&staggered, "60 % of the bays are filled; the wall is counted as filled"));
        assert!(told(&staggered, "64 % of the depth"));
        assert!(told(&staggered, "140 mm deep, from the frame"));
        assert!(told(&staggered, "edges are taken as tight"));
        assert!(!told(&demo("A06"), "edges are taken as tight"));
        assert!(told(&demo("A12"), "taken to weigh 11.0 kg/m²"));
        assert!(!told(&demo("A01"), "taken to weigh"), "a mass that is written down wins");
        assert!(told(&demo("A01"), "Boxes that are not tight"));
        assert!(!told(&demo("A03"), "Boxes that are not tight"));
        assert!(told(&demo("A04"), "30 dB in every band"));
        assert!(told(&demo("A10"), "stiffest board"));
        assert!(told(&demo("A07"), "loss factor of 0.1"));
        let floor = amended("A08", &[("element", "floor")]).unwrap();
        assert!(told(&floor, "The floor is taken as a wall"));
    }

    #[test]
    fn written_masses_win_and_tables_stand_in() {
        // Published masses: 12.7 mm 7.8 to 8.3, 15.9 mm 10.7 to 11.2, lightweight 12.7 mm 6.1 to 6.8 kg/m².
        let weight = |leaf: &str| {
            let told = amended("A08", &[("leaf_a", leaf)]).unwrap();
            let line = told.assumptions.iter().find(|line| line.contains("taken to weigh")).unwrap().clone();
            line.split(' ').find_map(|word| word.parse::<f64>().ok()).unwrap()
        };
        for (leaf, low, high) in [
            ("gypsum 12.7 x1", 7.8, 8.3),
            ("gypsum type x 15.9 x1", 10.7, 11.2),
            ("gypsum lightweight 12.7 x1", 6.1, 6.8),
            ("gypsum 12.7 x2", 15.6, 16.6),
            ("plywood 18 x1", 10.0, 11.0),
            ("osb 11 x1", 6.5, 7.5),
            ("glass 6 x1", 14.5, 15.5),
            ("gypsum 12.7 x1 + mass-loaded vinyl 3 x1", 12.5, 13.4),
        ] {
            let got = weight(leaf);
            assert!((low..=high).contains(&got), "{leaf}: {got}");
        }
        let light = amended("A08", &[("leaf_a", "gypsum 12.7 x1, 6 kg/m2")]).unwrap();
        assert!(light.wall_pink_db < demo("A08").wall_pink_db);
    }

    #[test]
    fn couplings_rank_as_laboratories_rank_them() {
        // Published laboratory ranges for filled walls, rising: same wooden studs, thin steel, channel or staggered, two frames.
        let fill = ("cavity", "glass fibre 89, 10 kg/m3, 100%");
        let pink = |frame: &str, leaf_b: &str| {
            amended("A08", &[fill, ("frame", frame), ("leaf_b", leaf_b)]).unwrap().wall_pink_db
        };
        let (direct, channel) = ("gypsum 12.7 x1, 8.1 kg/m2", "gypsum 12.7 x1, 8.1 kg/m2, channel 13@566");
        let wood = pink("single wood 38x89@406", direct);
        let steel = pink("single thin steel 32x92@610", direct);
        let structural = pink("single structural steel 41x92@610", direct);
        let resilient = pink("single wood 38x89@406", channel);
        let clip = pink("single wood 38x89@406", "gypsum 12.7 x1, 8.1 kg/m2, clip");
        let frames = pink("double wood 38x89@406, gap 25", direct);
        assert!(wood < steel && wood < resilient && resilient < frames && steel < frames);
        assert!(wood < structural && structural < steel, "wider spacing helps, springiness helps more");
        assert!((clip - resilient).abs() < 2.0, "both are points; channel deepens the cavity");
    }

    #[test]
    fn states_decide_which_leaves_stand() {
        let one = amended("A08", &[("state", "boarded-a")]).unwrap();
        let bare = amended("A08", &[("state", "bare-studs"), ("leaf_b", "none")]).unwrap();
        assert_eq!(one.without_openings, bare.without_openings);
        near(one.wall_pink_db, 26.8413, "one leaf of 8.1 kg/m²");
        let turned = amended("A08", &[("state", "bare-studs"), ("leaf_a", "none")]).unwrap();
        assert_eq!(turned.without_openings, bare.without_openings);
        for (state, leaf_b) in [("bare-studs", "gypsum 12.7 x1"), ("boarded-both", "none")] {
            let got = amended("A08", &[("state", state), ("leaf_b", leaf_b)]);
            assert_eq!(got, Err(NoPrediction::StateDiffers { state: state.to_owned() }));
        }
    }

    #[test]
    fn fills_that_do_not_absorb_count_as_empty() {
        let of_fill = |cavity: &str| amended("A08", &[("cavity", cavity)]);
        let empty = demo("A08").without_openings;
        for cavity in [
            "89 clear, closed-cell foam 89",
            "89 clear, polyiso foam 50",
            "89 clear, glass fibre 89, 40%",
            "89 clear, cotton 30",
        ] {
            assert_eq!(of_fill(cavity).unwrap().without_openings, empty, "{cavity}");
        }
        for cavity in ["89 clear, cotton 89", "89 clear, stone wool 50, 40 kg/m3", "glass fibre 89"] {
            assert_eq!(of_fill(cavity).unwrap().without_openings, demo("A09").without_openings, "{cavity}");
        }
        assert_eq!(of_fill("89 clear, sand 89"), Err(NoPrediction::Fill { kind: "sand".to_owned() }));
    }

    #[test]
    fn cracks_are_slits_and_other_openings_have_their_loss() {
        // 3.175 mm by 609.6 mm through 114.4 mm of wall; computed independently with mpmath 1.3.
        let cracked = amended("A08", &[("openings", "crack 3.175x609.6")]).unwrap();
        near(cracked.pink_db, 30.2015, "crack");
        assert!((cracked.paths[1].pink_share - 0.297_985).abs() < 1e-6);
        let wide = amended("A08", &[("openings", "crack 30x600")]).unwrap();
        assert!(wide.paths[1].loss.values().iter().all(|(_, loss)| *loss == 0.0), "too wide for a slit");
        let window = amended("A08", &[("openings", "window double 1.2 m2")]).unwrap();
        assert!(window.paths[1].loss.values().iter().all(|(_, loss)| *loss == 26.0));
        let several =
            amended("A08", &[("openings", "door solid-core 1.6 m2, unsealed, undercut 5; grille 0.05 m2")])
                .unwrap();
        let words: Vec<&str> = several.paths.iter().map(|path| path.words.as_str()).collect();
        assert_eq!(words, ["wall", "solid-core door", "gap under the solid-core door", "grille"]);
        near(at(&several.paths[1].loss, 500.0), 26.0, "handbook door at 500 Hz");
    }

    #[test]
    fn what_is_not_known_is_not_predicted() {
        let unknown = |part| NoPrediction::Unknown { part };
        let material = |name: &str| NoPrediction::UnknownMaterial { material: name.to_owned() };
        let rows: &[(&[(&str, &str)], NoPrediction)] = &[
            (&[("leaf_a", "unknown")], unknown("leaf A")),
            (&[("leaf_b", "unknown")], unknown("leaf B")),
            (&[("frame", "unknown")], unknown("frame")),
            (&[("cavity", "unknown")], unknown("cavity")),
            (&[("openings", "unknown")], unknown("openings")),
            (&[("cavity", "none")], NoPrediction::NoCavity),
            (&[("leaf_a", "none"), ("leaf_b", "none")], NoPrediction::NoBoards),
            (&[("frame", "solid")], NoPrediction::NoMasses),
            (&[("frame", "solid"), ("leaf_a", "none"), ("leaf_b", "none")], NoPrediction::NoMasses),
            (&[("leaf_a", "plaster 20 x1")], material("plaster")),
            (&[("leaf_a", "mass-loaded vinyl 3 x1")], material("mass-loaded vinyl")),
            (&[("leaf_a", "gypsum 12.7 x1 + foam 50 x1")], material("foam")),
            (
                &[("leaf_a", "gypsum 12.7 x1 + glass fibre 50 x1 + gypsum 12.7 x1")],
                NoPrediction::TripleLeaf { material: "glass fibre".to_owned() },
            ),
            (
                &[("frame", "double wood 38x89@406, gap 25"), ("cavity", "25 clear, empty")],
                NoPrediction::InnerBoards,
            ),
            (&[("openings", "door hollow-core")], NoPrediction::NoOpeningArea),
            (&[("openings", "crack 1e-300x1e-300")], NoPrediction::NoOpeningArea),
            (&[("openings", "crack 1e300x1e300")], NoPrediction::OpeningsTooLarge),
            (&[("openings", "door 1.6 m2")], NoPrediction::NoOpeningLoss { words: "door".to_owned() }),
            (&[("openings", "window 30 m2")], NoPrediction::OpeningsTooLarge),
            (&[("element", "panel")], NoPrediction::Panel),
            (&[("element", "door")], NoPrediction::NotAPartition { element: "door".to_owned() }),
        ];
        for (fields, expected) in rows {
            assert_eq!(amended("A08", fields).unwrap_err(), *expected, "{fields:?}");
        }
        let mut torn = fixture::builder();
        torn.store("assembly", "A08", "frame", Value::Text("lath".to_owned()));
        assert!(matches!(of(&torn, "A08"), Err(NoPrediction::Unreadable { .. })));
        assert!(matches!(
            amended("A08", &[("leaf_a", "gypsum 12.7 x1, 0 kg/m2")]),
            Err(NoPrediction::Measure { .. })
        ));
        let builder = fixture::builder();
        assert_eq!(of(&builder, "A13"), Err(NoPrediction::Panel));
        assert_eq!(of(&builder, "A15"), Err(NoPrediction::NotAPartition { element: "rim".to_owned() }));
        let slab =
            amended("A08", &[("frame", "solid"), ("leaf_a", "concrete 150 x1"), ("leaf_b", "none")]).unwrap();
        // Handbooks: 150 mm of concrete, some 345 kg/m², gives about 47 dB at 500 Hz (from memory), within the model's 5 dB.
        assert!((at(&slab.without_openings, 500.0) - 47.0).abs() < 5.0, "{:?}", slab.without_openings);
    }

    #[test]
    fn a_wall_without_openings_needs_no_size() {
        let mut builder = fixture::Builder::default();
        let parts = [
            "gypsum 12.7 x1, 8.1 kg/m2",
            "single wood 38x89@406",
            "89 clear, empty",
            "gypsum 12.7 x1, 8.1 kg/m2",
            "none",
            "A 1, B 1",
        ];
        builder.assembly("A20", "wall", parts, "finished", None);
        let got = of(&builder, "A20").unwrap();
        assert_eq!(got.without_openings, demo("A08").without_openings);
        assert_eq!((got.paths.len(), got.paths[0].area_m2), (1, None));
        builder.amend("assembly", "A20", "openings", "grille 0.05 m2");
        assert_eq!(of(&builder, "A20"), Err(NoPrediction::NoArea));
    }

    #[test]
    fn pink_noise_at_the_ear_is_flat_noise_with_the_a_weights() {
        // IEC 61672-1 table 3 at 50 to 5000 Hz, brought to a sum of 0 dB; ISO 717-1 rounds that to whole decibels.
        let weights = [
            -30.2, -26.2, -22.5, -19.1, -16.1, -13.4, -10.9, -8.6, -6.6, -4.8, -3.2, -1.9, -0.8, 0.0, 0.6,
            1.0, 1.2, 1.3, 1.2, 1.0, 0.5,
        ];
        let sum_db = storypole_acoustics::levels::energy_sum(&weights).unwrap();
        for (weight, listed) in weights.iter().zip(PINK_A_WEIGHTED_DB) {
            assert!((weight - sum_db - listed).abs() < 0.51, "{weight}");
        }
    }
}
