//! Facts of walls: their openings, boxes, boards, fill, what they stand between, and what texts say of them.
//!
//! Versions are compared with the one they replace, and only where both are known. Leaves out walls nobody wrote down.

use std::collections::{BTreeMap, BTreeSet};

use storypole_notebook::assembly::{Cavity, Fill, Leaf, Milli, Opening, Openings};
use storypole_notebook::kinds::Assembly;

use super::goods;
use super::scope::{Scope, called};
use super::words::listed;

/// Words for what carries.
pub(super) const FRAMING: &[&str] = &[
    "stud",
    "plate",
    "joist",
    "header",
    "beam",
    "rafter",
    "truss",
    "lintel",
    "bearing wall",
    "montante",
    "pie derecho",
    "solera",
    "viga",
    "vigueta",
    "dintel",
    "muro de carga",
    "pared de carga",
];
/// Words for cutting.
pub(super) const CUT: &[&str] = &[
    "cut",
    "cutting",
    "sawn",
    "sawed",
    "sawing",
    "notch",
    "notched",
    "notching",
    "drill",
    "drilled",
    "drilling",
    "bored",
    "removed",
    "grind",
    "grinding",
    "sanded",
    "sanding",
    "chipped",
    "chased",
    "stripped",
    "corte",
    "cortar",
    "cortado",
    "cortada",
    "perfore",
    "perforar",
    "perforado",
    "perforada",
    "taladre",
    "taladrar",
    "lije",
    "lijar",
    "lijado",
    "quite",
    "quitar",
    "ranura",
    "muesca",
];
/// Words for what runs through walls.
pub(super) const LINES: &[&str] =
    &["pipe", "wire", "cable", "duct", "conduit", "vent", "tubo", "tuberia", "alambre", "ducto"];
/// Words for going through.
pub(super) const THROUGH: &[&str] = &[
    "through plate",
    "through the plate",
    "through top plate",
    "through the top plate",
    "por la solera",
    "a traves de la solera",
];
/// Words for a wall that has to hold back fire.
pub(super) const HOLDS_BACK_FIRE: &[&str] = &[
    "rated wall",
    "hour wall",
    "fire rated",
    "fire resistance",
    "resistente al fuego",
    "resistencia al fuego",
];
/// Words for electrical boxes, in the plural of the last word too.
pub(super) const BOXES: &[&str] = &[
    "boxes",
    "outlet",
    "receptacle",
    "switch",
    "electrical box",
    "caja",
    "contacto",
    "enchufe",
    "tomacorriente",
    "interruptor",
    "apagador",
];
/// Words for work on them.
pub(super) const MOVED: &[&str] = &[
    "move", "moved", "moving", "opened", "extended", "extend", "wrapped", "added", "replaced", "rewired",
    "movi", "mover", "movido", "movida", "abri", "abierto", "abierta", "cambie", "cambiado", "cambiada",
    "agregue",
];
/// Words for what is hot.
pub(super) const HOT: &[&str] = &[
    "recessed light",
    "can light",
    "downlight",
    "flue",
    "chimney",
    "stovepipe",
    "luz empotrada",
    "luces empotradas",
    "foco empotrado",
    "chimenea",
    "tubo de chimenea",
];
/// Words for an outside wall.
pub(super) const OUTSIDE: &[&str] =
    &["outside wall", "exterior wall", "external wall", "pared exterior", "muro exterior"];
/// Words for its being open.
pub(super) const OPENED: &[&str] =
    &["open", "opened", "stripped", "gutted", "bare", "abierto", "abierta", "abri", "abrir", "desnuda"];

/// Mass of added boards from which it is told, kg/m²: about a layer of 1/2 in board. Convention of this project.
const HEAVIER_BY: Milli = Milli(8_000);

/// Louvres and grilles in walls, and rooms in which something burns fuel.
pub(super) fn air_ways(scope: &Scope<'_>) -> Vec<String> {
    let is_louvred = |opening: &Opening| match opening {
        Opening::Hole { kind, slab, .. } => kind == "grille" || slab.contains("louv"),
        Opening::Boxes { .. } => false,
    };
    let louvred: Vec<String> = scope
        .assemblies()
        .filter(|one| known_openings(one).is_some_and(|list| list.iter().any(is_louvred)))
        .map(name)
        .collect();
    let louvres = (!louvred.is_empty()).then(|| format!("Louvres or a grille in {}.", louvred.join(", ")));
    let burning = scope.rooms().into_iter().filter_map(|room| {
        let what = room.fuel_appliance.as_deref().map(str::trim).filter(|what| !what.is_empty())?;
        Some(format!("What burns fuel in {}: {what}.", called(&room.label, "a room")))
    });
    louvres.into_iter().chain(burning).collect()
}

/// Boards that weigh more than those of the version replaced, or are more where no mass is known.
pub(super) fn heavier(scope: &Scope<'_>) -> Vec<String> {
    scope.assemblies().filter_map(|one| more_board(one, boarded_before(scope, one)?)).collect()
}

fn more_board(one: &Assembly, before: &Assembly) -> Option<String> {
    let ((layers, mass), (layers_before, mass_before)) = (boards(one)?, boards(before)?);
    let (label, label_before) = (name(one), name(before));
    if let (Some(mass), Some(mass_before)) = (mass, mass_before) {
        let added = Milli(mass.0 - mass_before.0);
        let words = format!("The boards of {label} weigh {added} kg/m2 more than those of {label_before}.");
        return (added >= HEAVIER_BY).then_some(words);
    }
    let added = layers.checked_sub(layers_before).filter(|added| *added > 0)?;
    let noun = if added == 1 { "layer" } else { "layers" };
    Some(format!("{label} has {added} {noun} of board more than {label_before}."))
}

/// The version whose boards one is compared with: studs that were bare for a while are passed over.
fn boarded_before<'a>(scope: &Scope<'a>, one: &Assembly) -> Option<&'a Assembly> {
    let first = scope.replaced_by(one)?;
    let (mut before, mut seen) = (first, BTreeSet::from([one.id, first.id]));
    while before.state.as_deref() == Some("bare-studs") {
        match scope.replaced_by(before) {
            Some(older) if seen.insert(older.id) => before = older,
            _ => return Some(first),
        }
    }
    Some(before)
}

/// Layers and mass of both leaves; no mass where one of them is not written; `None` where a leaf is not known.
fn boards(one: &Assembly) -> Option<(u32, Option<Milli>)> {
    let of_leaf = |text: &Option<String>| match Leaf::parse(text.as_deref()?).ok()? {
        Leaf::Unknown => None,
        Leaf::None => Some((0, Some(0))),
        Leaf::Boards { layers, mass_kg_m2, .. } => {
            Some((layers.iter().map(|layer| u32::from(layer.count)).sum(), mass_kg_m2.map(|mass| mass.0)))
        }
    };
    let ((layers_a, mass_a), (layers_b, mass_b)) = (of_leaf(&one.leaf_a)?, of_leaf(&one.leaf_b)?);
    let mass = mass_a.zip(mass_b).map(|(one, other)| Milli(one + other));
    Some((layers_a + layers_b, mass))
}

/// Walls between rooms of two units, and walls of which that is written.
pub(super) fn dwellings(scope: &Scope<'_>) -> Vec<String> {
    let mut between: BTreeMap<(String, String), Vec<String>> = BTreeMap::new();
    for one in scope.assemblies() {
        if let Some(units) = units_beside(scope, one) {
            between.entry(units).or_default().push(name(one));
        }
    }
    let stand = |labels: &[String]| if labels.len() == 1 { "stands" } else { "stand" };
    let mut told: Vec<String> = between
        .iter()
        .map(|((first, second), labels)| {
            format!("{} {} between unit {first} and unit {second}.", listed(labels), stand(labels))
        })
        .collect();
    let written = standing_between(scope, "dwellings");
    told.extend(
        (!written.is_empty()).then(|| format!("{} {} between dwellings.", listed(&written), stand(&written))),
    );
    told
}

/// The units on the two sides of a wall, where they differ.
fn units_beside(scope: &Scope<'_>, one: &Assembly) -> Option<(String, String)> {
    let unit = |room| scope.room(room).and_then(|room| unit_of(room.name.as_deref()?));
    let (first, second) = (unit(one.room_a)?, unit(one.room_b)?);
    (first != second).then_some((first, second))
}

/// The dwelling a room's name puts it in: `a` for `unit A living room`.
fn unit_of(room: &str) -> Option<String> {
    let mut words = room.split_whitespace().map(str::to_lowercase);
    words.find(|word| matches!(word.as_str(), "unit" | "apartment" | "flat"))?;
    words.next()
}

fn standing_between(scope: &Scope<'_>, what: &str) -> Vec<String> {
    let stands = |one: &&Assembly| one.between.as_deref() == Some(what);
    scope.assemblies().filter(stands).map(name).collect()
}

/// Walls that stand where fire has to be held back, and walls and texts that say so.
pub(super) fn hold_back_fire(scope: &Scope<'_>) -> Vec<String> {
    let is_between_dwellings =
        |one: &&Assembly| units_beside(scope, one).is_some() || one.between.as_deref() == Some("dwellings");
    let dwellings: Vec<String> = scope.assemblies().filter(is_between_dwellings).map(name).collect();
    let noted: Vec<String> =
        scope.assemblies().filter(|one| one.fire_rated == Some(true)).map(name).collect();
    let walls = [
        ("Between dwellings", dwellings),
        ("Beside a garage", standing_between(scope, "garage")),
        ("Beside a shaft", standing_between(scope, "shaft")),
        ("Noted as holding back fire", noted),
    ];
    let is_some = |(_, labels): &(&str, Vec<String>)| !labels.is_empty();
    let told =
        walls.into_iter().filter(is_some).map(|(words, labels)| format!("{words}: {}.", listed(&labels)));
    // The word people use for it is a promise that is not made here, so it is not quoted.
    let places = scope.places(HOLDS_BACK_FIRE);
    let spoken = (!places.is_empty())
        .then(|| format!("A wall that has to hold back fire is spoken of in {}.", listed(&places)));
    told.chain(spoken).collect()
}

/// Boxes that are not those of the version replaced.
pub(super) fn boxes(scope: &Scope<'_>) -> Vec<String> {
    let told = changed_boxes(scope)
        .into_iter()
        .map(|(one, before)| format!("The boxes of {} are not those of {}.", name(one), name(before)));
    told.collect()
}

/// Versions whose boxes differ from those of the version they replace.
pub(super) fn changed_boxes<'a>(scope: &Scope<'a>) -> Vec<(&'a Assembly, &'a Assembly)> {
    let of = |one: &Assembly| -> Option<Vec<Opening>> {
        let is_box = |opening: &Opening| matches!(opening, Opening::Boxes { .. });
        Some(known_openings(one)?.into_iter().filter(is_box).collect())
    };
    let with_before = scope.assemblies().filter_map(|one| Some((one, scope.replaced_by(one)?)));
    let differ = |(one, before): &(&Assembly, &Assembly)| match (of(one), of(before)) {
        (Some(boxes), Some(boxes_before)) => boxes != boxes_before,
        _ => false,
    };
    with_before.filter(differ).collect()
}

/// Hot things that texts speak of, where there is insulation too.
pub(super) fn hot_beside_insulation(scope: &Scope<'_>) -> Vec<String> {
    let filled = scope.assemblies().filter(|one| fill(one).is_some()).map(name);
    let insulation: Vec<String> = filled.chain(goods::insulation(scope)).collect();
    let hot = scope.words_written(HOT);
    if insulation.is_empty() || hot.is_empty() {
        return Vec::new();
    }
    let beside = format!("Insulation: {}.", listed(&insulation));
    hot.into_iter().chain([beside]).collect()
}

/// Outside walls that show their studs or were rebuilt, and the climate zone they stand in.
pub(super) fn outside_opened(scope: &Scope<'_>) -> Vec<String> {
    let mut told = Vec::new();
    let mut zones = BTreeSet::new();
    let is_outside_wall =
        |one: &&Assembly| one.between.as_deref() == Some("outside") && one.element.as_deref() != Some("door");
    for one in scope.assemblies().filter(is_outside_wall) {
        let how = match (one.state.as_deref(), scope.replaced_by(one)) {
            (Some("bare-studs" | "boarded-a"), _) => "stands open".to_owned(),
            (_, Some(before)) => format!("was rebuilt from {}", name(before)),
            _ => continue,
        };
        told.push(format!("{} faces the outside and {how}.", name(one)));
        zones.insert(scope.site_of(one).and_then(|site| site.climate_zone.clone()));
    }
    for zone in zones {
        told.push(match zone {
            Some(zone) => format!("The climate zone is {zone}."),
            None => "The climate zone is not written down.".to_owned(),
        });
    }
    told
}

/// What fills a wall, where that is known and something does.
pub(super) fn fill(one: &Assembly) -> Option<Fill> {
    match Cavity::parse(one.cavity.as_deref()?).ok()? {
        Cavity::Space { fill, .. } => fill,
        Cavity::None | Cavity::Unknown => None,
    }
}

/// Openings; `None` where nobody looked.
fn known_openings(one: &Assembly) -> Option<Vec<Opening>> {
    match Openings::parse(one.openings.as_deref()?).ok()? {
        Openings::List(list) => Some(list),
        Openings::None => Some(Vec::new()),
        Openings::Unknown => None,
    }
}

fn name(one: &Assembly) -> String {
    called(&one.label, "a wall without a label")
}
