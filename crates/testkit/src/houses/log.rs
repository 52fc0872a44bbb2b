//! Lines of the day log, tasks and captions, as a crew might write them: every trade word by more than one of its names.

use super::names::capital;
use super::wall::Wall;
use crate::Chance;

/// Sentences of one kind of entry; `{fill}`, `{board}`, `{a}`, `{b}`, `{n}`, `{tool}`, `{part}`, `{role}` and `{inspector}` are filled in.
const LINES: &[(&str, &[&str])] = &[
    (
        "work",
        &[
            "filled {n} bays with {fill}, cut two pieces round the boxes",
            "{fill} up to the header, {n} bays done, two left for tomorrow",
            "opened the {a} side, {n} sheets of old {board} out",
            "second layer of {board} up on the {b} side, joints staggered",
            "hung {n} sheets of {board}, the last one ripped to fit under the stairs",
            "sealed the perimeter, two beads of {part}, checked with a lamp",
            "boxes moved a bay apart and wrapped with {part}",
            "taped and coated the {a} side, {n} joints",
            "studs straightened with the {tool}, one crowned stud turned round",
            "{part} fitted at the door, light no longer shows below it",
            "screws at twelve inches, {n} popped ones driven again",
            "primed the {b} side, colour matched by eye",
            "skirting back on, nailed to the studs only",
            "readings taken on both sides before the wall was closed",
            "cut the channel with the {tool}, laps over the studs, open side up",
            "old plaster stripped to the lath behind the {b} shelf",
        ],
    ),
    (
        "delivery",
        &[
            "{n} sheets of {board} delivered, one corner crushed",
            "{fill} delivered, {n} packs, dry and whole",
            "studs and {part} delivered to the {a}",
            "supplier brought the wrong {part}, keeps the slip",
        ],
    ),
    (
        "delay",
        &[
            "waiting for {part}, not in stock anywhere",
            "the {tool} broke down, borrowed one after lunch",
            "rain in the open bay, dried out with a fan overnight",
            "no power in the {a} until three",
            "road closed, truck came two hours late",
        ],
    ),
    (
        "inspection",
        &[
            "{inspector} looked at the boxes before cover",
            "{inspector} wants a fire stop where the pipe goes through the plate",
            "{inspector} passed the wiring in the {a} wall",
            "{inspector} asked for a photo of every bay",
        ],
    ),
    (
        "decision",
        &[
            "{role} wants {board} on both sides, cost agreed",
            "{fill} instead of leaving it empty, {role} agreed by phone",
            "door stays as it is for now, {role} told what that means",
            "resilient channel on the {b} side only",
            "stop after one layer and measure first",
        ],
    ),
    (
        "safety",
        &[
            "masks and long sleeves while the {fill} went in",
            "old paint in the {a}: wet scraping only, sheet on the floor",
            "ladder tied off at the {b} door",
            "breaker off and tagged before the boxes were moved",
        ],
    ),
    (
        "snag",
        &[
            "wire stapled across the bay, no room for {fill}",
            "cold pipe sweats in bay {n}, wrapped it",
            "gap of {n} mm below the plate, packed and sealed",
            "stud out of plumb by {n} mm at the {a} end",
            "back of the {b} cabinet screwed into the channel, screws shortened",
            "mouse nest in bay {n}, cleaned out and vacuumed",
            "doorbell cable cut with the {tool}, spliced in a box",
        ],
    ),
    ("visitor", &["{role} came by, liked the {b}", "{role} heard the noise test from the {a}, not amused"]),
    (
        "note",
        &[
            "meter on the tripod in the {b}, fridge off, windows shut",
            "{n} offcuts of {board} kept behind the furnace",
            "dehumidifier hums in the {b}, off for the readings",
            "old wall sounded like a drum near the {a} corner",
            "neighbour's dog barked through one reading, taken again",
            "left over: half a tube of {part}",
        ],
    ),
];

const BOARDS: &[&str] = &["drywall", "drywall", "plasterboard", "gypsum board", "wallboard"];
const TOOLS: &[&str] = &[
    "oscillating saw",
    "reciprocating saw",
    "laser level",
    "impact driver",
    "drywall lift",
    "plaster router",
    "tin snips",
    "staple hammer",
    "dust extractor",
    "caulking gun",
    "chop saw",
    "stud finder",
];
const PARTS: &[&str] = &[
    "acoustical sealant",
    "caulk",
    "putty pads",
    "gasket",
    "weatherstrip",
    "drop seal",
    "backer rod",
    "foam tape",
    "isolation clips",
    "furring channel",
    "door sweep",
    "joint compound",
];
const INSPECTORS: &[&str] =
    &["the inspector", "the building inspector", "the electrical inspector", "the fire marshal"];
const ROLES: &[&str] =
    &["the owner", "the tenant", "the electrician", "the plumber", "the neighbour upstairs"];

/// What people call a fill.
fn fill_names(fill: &str) -> &'static [&'static str] {
    match fill {
        "glass fibre" => &["glass fibre", "fiberglass", "fibreglass", "glass wool", "glass-fibre batts"],
        "stone wool" => &["stone wool", "mineral wool", "stone-wool batts", "mineral wool batts"],
        "cellulose" => &["cellulose", "dense-pack cellulose", "loose cellulose", "blown cellulose"],
        "cotton" => &["cotton", "cotton batts", "recycled cotton"],
        _ => &["open-cell foam", "spray foam"],
    }
}

/// A kind of entry and its words.
pub(super) fn line(chance: &mut Chance, rooms: [&str; 2], wall: &Wall) -> (&'static str, String) {
    // Half of what is written down is work.
    let (kind, lines) = if chance.below(2) == 0 { LINES[0] } else { *chance.pick(LINES) };
    loop {
        let sentence = *chance.pick(lines);
        // Nobody notes a fill on a wall that stays empty.
        if wall.fill.is_some() || !sentence.contains("{fill}") {
            return (kind, capital(&filled(chance, sentence, rooms, wall)) + ".");
        }
    }
}

fn filled(chance: &mut Chance, sentence: &str, [a, b]: [&str; 2], wall: &Wall) -> String {
    let fill = wall.fill.map_or("", |fill| *chance.pick(fill_names(fill.name)));
    let number = (2 + chance.below(14)).to_string();
    let slots = [
        ("{fill}", fill),
        ("{board}", *chance.pick(BOARDS)),
        ("{a}", a),
        ("{b}", b),
        ("{n}", &number),
        ("{tool}", *chance.pick(TOOLS)),
        ("{part}", *chance.pick(PARTS)),
        ("{role}", *chance.pick(ROLES)),
        ("{inspector}", *chance.pick(INSPECTORS)),
    ];
    slots.iter().fold(sentence.to_owned(), |words, (slot, with)| words.replace(slot, with))
}

/// What is to be done.
pub(super) fn task(chance: &mut Chance, rooms: [&str; 2], wall: &Wall) -> String {
    const TASKS: &[&str] = &[
        "order {part} before the wall is closed",
        "touch up paint on the {a} side",
        "take the old {board} to the transfer station",
        "measure again when the {b} is furnished",
        "ask {role} about the door",
        "photograph every bay before cover",
        "send the write-up to the owner",
    ];
    let sentence = *chance.pick(TASKS);
    capital(&filled(chance, sentence, rooms, wall))
}

/// What a photo shows.
pub(super) fn caption(chance: &mut Chance, rooms: [&str; 2], wall: &Wall) -> String {
    const CAPTIONS: &[&str] = &[
        "{a} wall open, {n} bays",
        "cavity before closing, {b} side",
        "meter and tripod in the {b}",
        "{part} at the door frame",
        "boxes in bay {n}, tape across the studs",
        "{board} seams on the {a} side",
        "crack above the {b} door",
    ];
    const FILLED: &[&str] = &["{fill} in bay {n}, {a} side", "{fill} behind the boxes, before cover"];
    let shows_fill = wall.fill.is_some() && chance.below(2) == 0;
    let sentence = *chance.pick(if shows_fill { FILLED } else { CAPTIONS });
    capital(&filled(chance, sentence, rooms, wall))
}
