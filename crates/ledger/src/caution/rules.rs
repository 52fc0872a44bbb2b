//! The table of cautions, in the order they are shown: what can kill at once first, then what harms slowly, then what keeps
//! a house dry and a record complete. Leaves out how facts are found.
//!
//! Texts are short and plain. None of them is a step of work on live wires, gas, what carries load, or hazardous material:
//! those are left to the people who are licensed for it.

use super::words::Vocabulary;
use super::{CautionRule, goods, house, noise, walls};

/// How every caution ends.
pub const ASK: &str = "Ask your local building department or a licensed trade.";

/// Every caution known here, in the order they are shown.
pub fn caution_rules() -> &'static [CautionRule] {
    RULES
}

/// Every word that a rule, or the naming of goods, looks for.
pub(super) fn vocabulary() -> Vocabulary {
    let of_rule = |rule: &CautionRule| [rule.says, rule.pairs.0, rule.pairs.1, rule.asks_for];
    let of_goods = goods::NAMED.iter().map(|(_, phrases)| *phrases);
    Vocabulary::of(RULES.iter().flat_map(of_rule).chain(of_goods).flatten().copied())
}

/// What every rule has until it says otherwise.
const NONE: CautionRule = CautionRule {
    name: "",
    subject: "",
    text: "",
    source: "",
    hazards: &[],
    says: &[],
    pairs: (&[], &[]),
    asks_for: &[],
    met: |_| Vec::new(),
};

static RULES: &[CautionRule] = &[
    CautionRule {
        name: "noise",
        subject: "Loud test sound",
        text: "Sound this loud wears hearing down. The recommended limit is 85 dBA over 8 hours in a day, and every 3 dB more halves \
               the time: 94 dBA for 1 hour, 100 dBA for 15 minutes. Wear hearing protection, keep everyone else out, and warn \
               neighbours first.",
        source: "NIOSH publication 98-126, 1998",
        hazards: &["loud-work"],
        met: noise::met,
        ..NONE
    },
    CautionRule {
        name: "combustion-air",
        subject: "Air for a burner",
        text: "A burner may take its air through louvres, a grille or the gap below a door. Never close or cover them to gain quiet: \
               carbon monoxide kills without a smell. Have the air supply checked, and keep a working carbon monoxide alarm.",
        source: "air for combustion in the national fuel gas code, NFPA 54, from memory, edition not checked",
        hazards: &["fuel-appliance"],
        says: &[
            "water heater",
            "furnace",
            "boiler",
            "fireplace",
            "gas stove",
            "wood stove",
            "gas dryer",
            "calentador de agua",
            "calentador de gas",
            "caldera",
            "chimenea",
            "estufa de gas",
            "estufa de lena",
            "cocina de gas",
            "secadora de gas",
        ],
        met: walls::air_ways,
        ..NONE
    },
    CautionRule {
        name: "structure",
        subject: "What carries the house",
        text: "Studs, plates, joists and headers may carry load, and board is load: one more layer of 5/8 in gypsum board on a face \
               adds about 2.2 lb/ft2 (11 kg/m2). Codes limit notches and holes narrowly. Have someone who may judge loads look \
               before anything is cut and before heavy board is hung.",
        source: "limits for notches and holes in sections R502.8 and R602.6 of the International Residential Code, from memory, \
                 edition not checked; mass of board from published weights",
        hazards: &["cut-framing", "heavy-board"],
        pairs: (walls::FRAMING, walls::CUT),
        met: walls::heavier,
        ..NONE
    },
    CautionRule {
        name: "dwellings",
        subject: "Wall between dwellings",
        text: "A wall between dwellings usually has to hold back fire as well as sound. Make no new holes in it, keep listed parts as \
               they were found, and have every opening through it closed with a listed system. Work on it and testing through it \
               need the neighbour's consent.",
        source: "sections R302.3 and R302.4 of the International Residential Code, from memory, edition not checked",
        says: &["party wall", "between dwellings", "medianera", "pared medianera", "entre viviendas"],
        met: walls::dwellings,
        ..NONE
    },
    CautionRule {
        name: "fire",
        subject: "Wall that may have to hold back fire",
        text: "A wall between dwellings, beside a garage or round a shaft usually has to hold back fire. A pipe or wire through it \
               needs a listed system made for that wall, not just a red tube, and hidden spaces need blocking at floor and ceiling \
               and along a wall at least every 10 ft. Leave such parts as they were found, and have every new hole looked at before \
               it is covered.",
        source: "blocking in section R302.11 of the International Residential Code, second hand, edition not checked; listed systems \
                 from memory",
        hazards: &["rated-wall", "hole-through-plates"],
        says: &[
            "fire wall",
            "firewall",
            "firestop",
            "fire stop",
            "fireblock",
            "fireblocking",
            "fire blocking",
            "cortafuego",
            "muro cortafuego",
        ],
        pairs: (walls::LINES, walls::THROUGH),
        asks_for: walls::HOLDS_BACK_FIRE,
        met: walls::hold_back_fire,
    },
    CautionRule {
        name: "boxes",
        subject: "Electrical boxes",
        text: "Boxes that are opened, moved or extended hold live parts. The circuit has to be off and proven dead, by a licensed person \
               where that is required. No box may end up buried, and its front has to come up to the new surface.",
        source: "article 314 of the National Electrical Code, NFPA 70, from memory, edition not checked",
        hazards: &["box-work"],
        says: &[
            "junction box",
            "outlet box",
            "switch box",
            "putty pad",
            "box extender",
            "extension ring",
            "rewired",
            "new outlet",
            "new circuit",
            "caja de conexiones",
            "caja electrica",
            "caja de paso",
            "circuito nuevo",
            "contacto nuevo",
            "enchufe nuevo",
            "cableado nuevo",
        ],
        pairs: (walls::BOXES, walls::MOVED),
        met: walls::boxes,
        ..NONE
    },
    CautionRule {
        name: "hot-lights",
        subject: "Hot lights, flues and chimneys",
        text: "Insulation against a hot light, a flue or a chimney can start a fire. A recessed light that is not listed for contact \
               is kept 3 in clear of insulation, and a flue or chimney needs the clearance of its own listing, closed with parts \
               that cannot burn. Read the labels first, and leave the space open while one is unknown.",
        source: "article 410 of the National Electrical Code, NFPA 70, from memory, edition not checked",
        hazards: &["hot-light-or-flue"],
        asks_for: walls::HOT,
        met: walls::hot_beside_insulation,
        ..NONE
    },
    CautionRule {
        name: "ladders",
        subject: "Ladders",
        text: "Falls from ladders injure badly and kill, even from low down. Set the foot a quarter of the working length out from the wall, \
               on firm and level ground, with the rails 3 ft above a landing. Stay off the top rungs, and off any ladder that stands \
               on sheeting.",
        source: "29 CFR 1926.1053, second hand, year not checked; sheeting is common practice, no source",
        hazards: &["ladder"],
        says: &[
            "ladder",
            "stepladder",
            "scaffold",
            "scaffolding",
            "escalera",
            "escalera de mano",
            "escalera de tijera",
            "andamio",
        ],
        ..NONE
    },
    CautionRule {
        name: "lead",
        subject: "Old paint",
        text: "Paint in houses built before 1978 may hold lead. Have it tested before it is disturbed; no open flame, no sander without \
               capture; keep children and food away. Where someone is paid to disturb it, United States rules ask for trained \
               people and a certified firm.",
        source: "United States EPA, 40 CFR 745 subpart E, 2008",
        hazards: &["old-paint"],
        says: &["old paint", "lead paint", "pintura vieja", "pintura antigua", "pintura con plomo"],
        met: house::old_paint,
        ..NONE
    },
    CautionRule {
        name: "asbestos",
        subject: "Old building material",
        text: "Texture, joint compound, tile, vermiculite and pipe wrap of older houses may hold asbestos, which nobody can tell by \
               eye. Leave what is whole alone, and have a trained person take samples before anything is cut or torn out.",
        source: "United States EPA advice to owners of older houses, second hand, year not checked",
        hazards: &["suspect-material"],
        says: &[
            "asbestos",
            "vermiculite",
            "pipe wrap",
            "ceiling texture",
            "textured ceiling",
            "asbesto",
            "amianto",
            "vermiculita",
        ],
        met: house::old_material,
        ..NONE
    },
    CautionRule {
        name: "silica",
        subject: "Dust of stone, cement and tile",
        text: "Cutting, grinding or sanding concrete, masonry, mortar, tile, cement board and some compounds frees fine silica dust, \
               which scars the lungs for good. The United States rule for construction sets a limit of 50 micrograms in a cubic \
               metre over 8 hours and asks for control from 25 on. Cut wet or with a vacuum at the blade, wear a suitable \
               respirator, and keep others out; the rule binds employers, and owners do well to follow it.",
        source: "United States OSHA, 29 CFR 1926.1153, copy of the text, year not checked",
        hazards: &["silica-dust"],
        pairs: (goods::MINERAL, walls::CUT),
        met: goods::cement,
        ..NONE
    },
    CautionRule {
        name: "mould",
        subject: "Mould, animals or old wiring found",
        text: "Mould, animals with their droppings, and very old wiring turn up where walls are opened. Stop there and leave it \
               as it is: no brushing, spraying or touching. Take a photo, write it down, and let someone who knows it look first.",
        source: "common practice, no source",
        hazards: &["mould", "animals", "old-wiring"],
        says: &[
            "mould",
            "mouldy",
            "mold",
            "moldy",
            "mildew",
            "mice",
            "rat",
            "rodent",
            "droppings",
            "bats",
            "wasp",
            "nest",
            "knob and tube",
            "aluminum wiring",
            "aluminium wiring",
            "cloth wiring",
            "old wiring",
            "moho",
            "ratones",
            "ratas",
            "murcielago",
            "avispa",
            "nido",
            "excremento",
            "cableado viejo",
            "cable viejo",
        ],
        ..NONE
    },
    CautionRule {
        name: "lifting",
        subject: "Heavy sheets",
        text: "A sheet of 5/8 in gypsum board, 4 by 8 ft, weighs about 70 to 74 lb (32 to 34 kg); thick plywood and cement board weigh \
               about as much or more. Carry and hang such sheets with two people or with a lift, and clear the way first. Stacked \
               on edge they tip: nobody belongs in front of them.",
        source: "published weights of gypsum board, several pages, dates not noted; the rest is common practice, no source",
        hazards: &["heavy-lifting"],
        met: goods::heavy_sheets,
        ..NONE
    },
    CautionRule {
        name: "fibre",
        subject: "Mineral fibre",
        text: "Glass and stone fibres make skin, eyes and airways itch and sting for a while. Wear gloves, long sleeves, eye protection \
               and a suitable respirator, and take dust up with a vacuum or a damp cloth, not a dry broom.",
        source: "United States ATSDR fact sheet on synthetic vitreous fibers, 2004, year from memory",
        hazards: &["mineral-fibre"],
        says: goods::FIBRE,
        met: goods::fibre,
        ..NONE
    },
    CautionRule {
        name: "dust",
        subject: "Dust indoors",
        text: "Cutting, sanding and tearing out fill a house with dust that is breathed for days. Hang a barrier, cover return grilles, \
               and change the filter afterwards. Drawing air out keeps dust from spreading, but it can draw the fumes of a burner \
               in: where one stands in the same space, ask before doing so.",
        source: "common practice, no source",
        hazards: &["dust-indoors"],
        says: &["dust", "dusty", "sawdust", "demolition", "polvo", "aserrin", "demolicion"],
        pairs: (house::BOARDS, walls::CUT),
        ..NONE
    },
    CautionRule {
        name: "vapour-retarder",
        subject: "Outside wall opened",
        text: "An outside wall has to be able to dry, and two vapour retarders hold water between them: never add a second one. Codes \
               ask for class I or II (up to 0.1 and up to 1 perm) on the inside in cold zones and forbid class I there, often \
               class II too, in hot ones; walls below grade go by other rules. Learn the climate zone and what the wall holds \
               before it is closed.",
        source: "section R702.7 of the International Residential Code, second hand, edition not checked",
        hazards: &["open-outside-wall"],
        says: &[
            "vapour retarder",
            "vapor retarder",
            "vapour barrier",
            "vapor barrier",
            "barrera de vapor",
            "retardador de vapor",
        ],
        pairs: (walls::OUTSIDE, walls::OPENED),
        met: walls::outside_opened,
        ..NONE
    },
    CautionRule {
        name: "permits",
        subject: "Permits and inspections",
        text: "Work on structure, wiring, plumbing, heating, ways of escape and walls that hold back fire usually needs a permit. Ask \
               before it begins, have it inspected before it is covered, and keep the card or a photo of it with the record.",
        source: "common practice, no source",
        hazards: &["permit-work", "box-work", "cut-framing", "rated-wall", "hole-through-plates"],
        says: &[
            "permit",
            "egress",
            "plumbing",
            "ductwork",
            "rough in",
            "permiso",
            "plomeria",
            "fontaneria",
            "ducto",
        ],
        met: house::permits,
        ..NONE
    },
];
