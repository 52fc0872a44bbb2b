//! Invented names of houses and rooms, and titles of jobs.

use super::wall::Wall;
use crate::Chance;

const FIRST: &[&str] = &[
    "Alder", "Amber", "Anvil", "Ash", "Aspen", "Barley", "Beacon", "Beech", "Birch", "Bramble", "Bridge",
    "Brook", "Candle", "Cedar", "Chapel", "Cherry", "Clover", "Copper", "Coral", "Crane", "Cricket", "Crow",
    "Dove", "Elder", "Elm", "Falcon", "Fern", "Finch", "Flint", "Foxglove", "Garnet", "Gorse", "Granite",
    "Grouse", "Harbour", "Hawthorn", "Hazel", "Heron", "Hickory", "Holly", "Hornbeam", "Ivy", "Jasper",
    "Juniper", "Kettle", "Lantern", "Larch", "Lark", "Laurel", "Lilac", "Linden", "Lupin", "Magpie", "Maple",
    "Marigold", "Meadow", "Mill", "Mulberry", "Nettle", "Oak", "Orchard", "Osier", "Otter", "Owl", "Pebble",
    "Pine", "Plover", "Poplar", "Quince", "Raven", "Robin", "Rowan", "Saddle", "Sparrow", "Spruce",
    "Swallow", "Tansy", "Thistle", "Walnut", "Willow",
];

const SECOND: &[&str] = &[
    "cottage",
    "house",
    "lodge",
    "terrace",
    "bungalow",
    "duplex",
    "row",
    "court",
    "farm",
    "place",
    "yard",
    "villa",
    "loft",
    "studio",
    "townhouse",
    "corner",
    "gate",
    "hall",
    "barn",
    "annex",
];

/// Rooms a wall may stand between.
const ROOMS: &[&str] = &[
    "bedroom",
    "back bedroom",
    "nursery",
    "home office",
    "study",
    "living room",
    "dining room",
    "kitchen",
    "pantry",
    "hall",
    "landing",
    "bathroom",
    "laundry",
    "utility room",
    "music room",
    "practice room",
    "den",
    "library",
    "workshop",
    "garage",
    "guest room",
    "playroom",
    "sewing room",
    "attic room",
    "basement",
    "stairwell",
    "closet",
    "sunroom",
    "mudroom",
    "media room",
];

/// The name of the site with this number, from 0: the first 1,600 differ, later ones say "Upper" or "Lower" too.
pub(super) fn site(number: usize, turn: usize) -> (String, &'static str) {
    let pairs = FIRST.len() * SECOND.len();
    // A step that shares no factor with the count of pairs visits each of them once.
    let place = (number * 1_009 + turn) % pairs;
    let (first, second) = (FIRST[place / SECOND.len()], SECOND[place % SECOND.len()]);
    let round = ["", "Upper ", "Lower ", "New ", "Far "][(number / pairs) % 5];
    (format!("{round}{first} {second}"), second)
}

/// Names of three differing rooms.
pub(super) fn rooms(chance: &mut Chance) -> [&'static str; 3] {
    let count = ROOMS.len();
    let first = usize::try_from(chance.below(count as u64)).unwrap_or(0);
    let step = 1 + usize::try_from(chance.below(count as u64 / 2 - 1)).unwrap_or(0);
    [first, first + step, first + 2 * step].map(|place| ROOMS[place % count])
}

/// A title: often of the rooms, sometimes of what was built.
pub(super) fn title(chance: &mut Chance, rooms: [&str; 2], wall: &Wall) -> String {
    let [a, b] = rooms;
    let fill = wall.fill.map_or("boards", |fill| fill.name);
    let words = match chance.below(10) {
        0 => format!("{a}, wall to the {b} rebuilt"),
        1 => format!("partition between {a} and {b}"),
        2 => format!("quieter {b}"),
        3 => format!("{fill} in the {a} wall"),
        4 => format!("{a} beside {b}"),
        5 => format!("party wall, {a} side"),
        6 => format!("{b} wall opened and closed"),
        7 => format!("{a} kept out of the {b}"),
        8 => format!("second layer in the {a}"),
        _ => format!("{a} soundproofed"),
    };
    capital(&words)
}

/// What a job asks.
pub(super) const GOALS: &[&str] = &[
    "Talk on one side that is not followed on the other.",
    "Let somebody sleep while somebody else is up.",
    "Find out what the fill alone does.",
    "Keep the drum practice in its room.",
    "Less of the television through the wall.",
    "A wall for the price of its boards.",
    "Calls without an audience.",
    "Close up what the plumber opened, and better than before.",
];

/// The same with a capital letter.
pub(super) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
