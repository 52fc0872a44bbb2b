//! Facts of goods: what was bought, used, moved or thrown away, of what it is made, and how heavy a sheet is.
//!
//! What a material is made of is read from its field, else from the words of its name. Goods that went back to the shop
//! do not count. Leaves out how much of it there was.

use std::collections::{BTreeMap, BTreeSet};

use storypole_notebook::Book;
use storypole_notebook::kinds::{Job, Line, Material};
use storypole_units::Length;

use super::index::Records;
use super::scope::{Scope, called};
use super::walls::fill;
use super::words::{Vocabulary, listed};

/// Words for glass fibre, then for stone wool.
pub(super) const FIBRE: &[&str] = &[
    "glass fibre",
    "glass fiber",
    "fibreglass",
    "fiberglass",
    "glass wool",
    "fibra de vidrio",
    "lana de vidrio",
    "stone wool",
    "mineral wool",
    "rock wool",
    "slag wool",
    "mineral fibre",
    "mineral fiber",
    "lana mineral",
    "lana de roca",
    "lana de piedra",
    "fibra mineral",
];
/// So many of them are for glass.
const OF_GLASS: usize = 7;
/// Words for cement, brick and tile, then for what else frees dust of stone.
pub(super) const MINERAL: &[&str] = &[
    "concrete",
    "masonry",
    "brick",
    "mortar",
    "grout",
    "tile",
    "cement",
    "stucco",
    "paver",
    "concreto",
    "hormigon",
    "ladrillo",
    "mortero",
    "azulejo",
    "loseta",
    "cemento",
    "estuco",
    "natural stone",
    "joint compound",
];
/// So many of them name what cement is counted as.
const OF_CEMENT: usize = 17;

/// Words by which a name tells what a material is made of, where no field does.
pub(super) const NAMED: &[(&str, &[&str])] = &[
    ("stone wool", FIBRE.split_at(OF_GLASS).1),
    ("glass fibre", FIBRE.split_at(OF_GLASS).0),
    ("foam", &["foam", "polystyrene", "polyiso", "espuma", "poliestireno"]),
    ("cellulose", &["cellulose", "celulosa"]),
    ("cement", MINERAL.split_at(OF_CEMENT).0),
];
/// Fills that hot things must be kept from, by what they are made of.
const INSULATION: &[&str] = &["glass fibre", "stone wool", "cellulose", "cotton", "foam"];

/// What was done with goods, in the order it is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Verb {
    Bought,
    Moved,
    Used,
    ThrownAway,
}

impl Verb {
    fn words(self) -> &'static str {
        match self {
            Self::Bought => "bought",
            Self::Moved => "moved",
            Self::Used => "used",
            Self::ThrownAway => "thrown away",
        }
    }
}

/// One handling of goods.
#[derive(Debug)]
pub(super) struct Good<'a> {
    job: Option<&'a Job>,
    verb: Verb,
    material: Option<&'a Material>,
    /// What a receipt prints.
    item: Option<&'a str>,
    made_of: Option<&'a str>,
}

impl Good<'_> {
    fn name(&self) -> String {
        let of_material = self.material.and_then(|material| material.label.clone());
        of_material.or(self.item.map(str::to_owned)).unwrap_or_else(|| "a material without a name".to_owned())
    }

    /// Everything its name says.
    fn words(&self) -> String {
        let of_material = self.material.and_then(|material| material.name.as_deref());
        [of_material, self.item].into_iter().flatten().collect::<Vec<_>>().join("; ")
    }
}

/// Every handling of goods among some records.
pub(super) fn gather<'a>(book: &'a Book, records: &Records<'a>, vocabulary: &Vocabulary) -> Vec<Good<'a>> {
    let good = |job, verb, material, item| {
        let (job, material) = (book.jobs.of(job), book.materials.of(material));
        let mut good = Good { job, verb, material, item, made_of: None };
        good.made_of = made_of(&good, vocabulary);
        good
    };
    let mut all = Vec::new();
    let is_returned = |line: &Line| line.quantity.is_some_and(|count| count.is_negative());
    for one in records.lines.values().filter(|line| !is_returned(line)) {
        let job = one.job.or_else(|| book.receipts.of(one.receipt)?.job);
        all.push(good(job, Verb::Bought, one.material, one.item.as_deref()));
    }
    for one in records.moves.values() {
        let jobs =
            [one.from_job, one.to_job].into_iter().flatten().filter(|job| records.jobs.contains_key(job));
        all.extend(jobs.map(|job| good(Some(job), Verb::Moved, one.material, None)));
    }
    all.extend(records.uses.values().map(|one| good(one.job, Verb::Used, one.material, None)));
    all.extend(records.wastes.values().map(|one| good(one.job, Verb::ThrownAway, one.material, None)));
    all
}

/// What goods are made of, by the material's field or else by its name.
fn made_of<'a>(good: &Good<'a>, vocabulary: &Vocabulary) -> Option<&'a str> {
    let field = good.material.and_then(|material| material.made_of.as_deref());
    let by_name = || {
        let found: Vec<&str> = vocabulary.find(&good.words()).into_iter().flatten().collect();
        let is_named = |(_, phrases): &&(&str, &[&str])| phrases.iter().any(|phrase| found.contains(phrase));
        NAMED.iter().find(is_named).map(|(what, _)| *what)
    };
    field.filter(|what| *what != "other").or_else(by_name)
}

/// Glass and stone fibre that was handled, and walls that are filled with it.
pub(super) fn fibre(scope: &Scope<'_>) -> Vec<String> {
    let mut told = handled(scope, "Glass fibre was", |good| good.made_of == Some("glass fibre"));
    told.extend(handled(scope, "Stone wool was", |good| good.made_of == Some("stone wool")));
    let is_fibre = |kind: &str| matches!(kind, "glass fibre" | "stone wool");
    let filled = scope.assemblies().filter(|one| fill(one).is_some_and(|fill| is_fibre(&fill.kind)));
    let labels: Vec<String> = filled.map(|one| called(&one.label, "a wall without a label")).collect();
    told.extend(
        (!labels.is_empty()).then(|| format!("Glass fibre or stone wool is in {}.", labels.join(", "))),
    );
    told
}

/// Material that frees silica dust when it is cut.
pub(super) fn cement(scope: &Scope<'_>) -> Vec<String> {
    handled(scope, "Cement, stone or tile was", |good| good.made_of == Some("cement"))
}

/// Sheets that one person should not lift.
pub(super) fn heavy_sheets(scope: &Scope<'_>) -> Vec<String> {
    handled(scope, "Large heavy sheets were", is_heavy_sheet)
}

/// Names of insulation that was handled.
pub(super) fn insulation(scope: &Scope<'_>) -> BTreeSet<String> {
    let is_insulation = |good: &&Good<'_>| good.made_of.is_some_and(|what| INSULATION.contains(&what));
    scope.goods.iter().filter(is_insulation).map(Good::name).collect()
}

/// Says for each job what was done with goods, and with which; `what` ends with its verb.
fn handled(scope: &Scope<'_>, what: &str, is_asked: impl Fn(&Good<'_>) -> bool) -> Vec<String> {
    let mut by_job: BTreeMap<String, (BTreeSet<Verb>, BTreeSet<String>)> = BTreeMap::new();
    for good in scope.goods.iter().filter(|good| is_asked(good)) {
        let job = good.job.map_or("no job".to_owned(), |job| called(&job.label, "a job without a label"));
        let (verbs, names) = by_job.entry(job).or_default();
        verbs.insert(good.verb);
        names.insert(good.name());
    }
    let told = by_job.into_iter().map(|(job, (verbs, names))| {
        let verbs: Vec<&str> = verbs.into_iter().map(Verb::words).collect();
        let names: Vec<String> = names.into_iter().collect();
        format!("{what} {} on {job}: {}.", listed(&verbs), names.join(", "))
    });
    told.collect()
}

/// Least face of a large sheet, mm: 4 by 8 ft, and the metric sheets that come nearest.
const FACE_MM: (f64, f64) = (1_200.0, 2_400.0);
/// Least thickness of a heavy one, mm: 5/8 in, and the metric board that comes nearest.
const THICK_MM: f64 = 15.0;
/// The same of cement board, which weighs about half more: 1/2 in.
const THICK_CEMENT_MM: f64 = 12.0;

/// Whether a sheet weighs about as much as 5/8 in gypsum board of 4 by 8 ft. Foam and other light sheets do not.
fn is_heavy_sheet(good: &Good<'_>) -> bool {
    let is_other_shape =
        good.material.and_then(|material| material.form.as_deref()).is_some_and(|form| form != "sheet");
    let thinnest_mm = match good.made_of {
        None | Some("gypsum" | "wood" | "other") => THICK_MM,
        Some("cement") => THICK_CEMENT_MM,
        Some(_) => return false,
    };
    let Some([side, other, thickness]) = sizes_mm(good) else { return false };
    !is_other_shape
        && side.min(other) >= FACE_MM.0
        && side.max(other) >= FACE_MM.1
        && thickness >= thinnest_mm
}

/// Sides and thickness from the material's fields, else as a name gives them: `board 5/8 type X 4x8`.
fn sizes_mm(good: &Good<'_>) -> Option<[f64; 3]> {
    let of_field = |of: fn(&Material) -> Option<Length>| good.material.and_then(of).map(Length::to_mm_f64);
    let words = good.words();
    let pieces = || words.split([' ', ',', ';']);
    let of_name = || {
        let feet = |text: &str| {
            text.parse::<u8>().ok().filter(|feet| *feet < 20).map(|feet| f64::from(feet) * 304.8)
        };
        pieces().find_map(|piece| {
            let (one, other) = piece.split_once('x')?;
            Some((feet(one)?, feet(other)?))
        })
    };
    let inches = || {
        pieces()
            .find_map(|piece| Length::parse(&format!("{} in", piece.split_once('/').map(|_| piece)?)).ok())
    };
    let (side, other) = of_field(|one| one.width).zip(of_field(|one| one.length)).or_else(of_name)?;
    let thickness = of_field(|one| one.thickness).or_else(|| inches().map(Length::to_mm_f64))?;
    Some([side, other, thickness])
}
