//! The words a question may use, and what each says.
//!
//! Plain words of the trade in either spelling; no product has its name here. Leaves out how words are put together: see
//! [`mod@super::parse`].

use std::collections::HashMap;

use storypole_notebook::Unit;
use storypole_notebook::assembly::{Coupling, FILLS};

use super::part::{EMPTY, Holes, Part, SECTIONS};
use crate::across::Measure;

/// What a word or phrase says.
#[derive(Debug, Clone, Copy)]
pub(super) enum Say {
    Fill(&'static [&'static str]),
    Studs(u16),
    Tied(&'static [Coupling]),
    /// So many boards.
    Boards(u32),
    /// On both sides: of the boards named last.
    BothSides,
    State(&'static [&'static str]),
    /// Takes `finished` out of the states.
    NotFinished,
    Holes(Holes),
    /// `single`, `double`: of boards or of studs, as the words round it tell.
    Count(u32),
    /// `one`, `two`: of boards where "or" and boards follow.
    Number(u32),
    Measure(Measure),
    Unit(Unit),
    /// Between two sides.
    Against,
    /// Between two things, of whatever kind.
    Or,
    /// Read, and says nothing here.
    Nothing,
}

const MINERAL: &[&str] = &["glass fibre", "stone wool"];
const FOAMS: &[&str] = &["polystyrene foam", "polyiso foam", "open-cell foam", "closed-cell foam"];
const SINGLE: &[Coupling] =
    &[Coupling::SingleWood, Coupling::SingleSteelThin, Coupling::SingleSteelStructural];
const STEEL: &[Coupling] = &[Coupling::SingleSteelThin, Coupling::SingleSteelStructural];
/// A wall is boarded where both sides are covered, painted or not.
const BOARDED: &[&str] = &["boarded-both", "finished"];

pub(super) const SINGLE_OR_DOUBLE: [&[Coupling]; 2] = [SINGLE, &[Coupling::Double]];

/// Phrases, `|` between those that say the same.
const PHRASES: &[(&str, Say)] = &[
    // Fills. Mineral wool is the name of the product standards for glass and stone together; the trade means stone by it.
    ("cellulose|cellulose fibre|cellulose insulation|blown paper|paper fibre", Say::Fill(&["cellulose"])),
    ("glass fibre|fibreglass|fibre glass|glass wool|glasswool|glass", Say::Fill(&["glass fibre"])),
    ("stone wool|stonewool|mineral wool|rock wool|rock fibre|mineral fibre", Say::Fill(&["stone wool"])),
    ("wool", Say::Fill(MINERAL)),
    ("cotton|cotton fibre", Say::Fill(&["cotton"])),
    ("polystyrene foam|polystyrene", Say::Fill(&["polystyrene foam"])),
    ("polyiso foam|polyiso", Say::Fill(&["polyiso foam"])),
    ("open cell foam|open cell", Say::Fill(&["open-cell foam"])),
    ("closed cell foam|closed cell", Say::Fill(&["closed-cell foam"])),
    ("foam", Say::Fill(FOAMS)),
    ("sand", Say::Fill(&["sand"])),
    (
        "empty|empty cavity|empty wall|nothing|no fill|without fill|without a fill|without filling|unfilled|not filled|air|no insulation|\
         without insulation|uninsulated|not insulated|nothing in the cavity",
        Say::Fill(&[EMPTY]),
    ),
    ("filled|insulated|with fill|with a fill|with insulation|any fill|some fill", Say::Fill(FILLS)),
    // How the leaves are tied.
    (
        "wood stud|wooden stud|rigid|rigid stud|rigidly tied|single wood|single wood stud|timber stud|direct",
        Say::Tied(&[Coupling::SingleWood]),
    ),
    ("single stud|one row of stud|common stud|single frame", Say::Tied(SINGLE)),
    ("steel|steel stud|metal stud|steel frame|steel framing|metal frame", Say::Tied(STEEL)),
    ("thin steel stud|thin steel|light steel stud", Say::Tied(&[Coupling::SingleSteelThin])),
    (
        "structural steel stud|structural steel|heavy steel stud",
        Say::Tied(&[Coupling::SingleSteelStructural]),
    ),
    ("resilient channel|channel|resilient|resilient bar|resilient mount", Say::Tied(&[Coupling::Resilient])),
    (
        "clip|isolation clip|resilient clip|sound clip|clip and channel|channel on clip",
        Say::Tied(&[Coupling::Clip]),
    ),
    ("staggered|staggered stud|staggered frame|staggered wood stud", Say::Tied(&[Coupling::Staggered])),
    (
        "double stud|double frame|two frame|double wood stud|two row of stud|twin stud|twin frame",
        Say::Tied(&[Coupling::Double]),
    ),
    ("solid wall|masonry|concrete|brick|block wall", Say::Tied(&[Coupling::Solid])),
    // Boards.
    (
        "one board|one layer|single board|single layer|single drywall|1 board|1 layer|one layer of board|one board a side",
        Say::Boards(1),
    ),
    (
        "two board|two layer|double board|double layer|double drywall|2 board|2 layer|second board|second layer|extra board|extra layer|\
         two layer of board|double plasterboard|double boarding",
        Say::Boards(2),
    ),
    ("three board|three layer|triple board|triple layer|3 board|3 layer", Say::Boards(3)),
    ("both side|on both side|each side|on each side|per side|either side", Say::BothSides),
    ("single", Say::Count(1)),
    ("double", Say::Count(2)),
    ("one", Say::Number(1)),
    ("two", Say::Number(2)),
    // States.
    (
        "bare stud|open stud|bare|stud showing|studs showing|unboarded|not boarded|open wall|open frame",
        Say::State(&["bare-studs"]),
    ),
    (
        "boarded one side|boarded on one side|boarded a|board on one side|half boarded",
        Say::State(&["boarded-a"]),
    ),
    ("boarded|covered|closed|closed up|boarded up|boarded over", Say::State(BOARDED)),
    ("boarded both|boarded both side|boarded on both side|board on both side", Say::State(&["boarded-both"])),
    ("finished|painted", Say::State(&["finished"])),
    ("not finished|unfinished|not yet finished|not painted|unpainted|before finish", Say::NotFinished),
    // Openings.
    ("with a door|with door|door|doored", Say::Holes(Holes::Some(Some("door")))),
    ("without a door|without door|no door", Say::Holes(Holes::None(Some("door")))),
    ("with a window|with window|window", Say::Holes(Holes::Some(Some("window")))),
    ("without a window|without window|no window", Say::Holes(Holes::None(Some("window")))),
    ("with an opening|with opening|opening", Say::Holes(Holes::Some(None))),
    (
        "without opening|without an opening|no opening|no hole|without hole|unpierced",
        Say::Holes(Holes::None(None)),
    ),
    // What is asked.
    (
        "change|changed|reduction|improvement|improve|gain|gained|quieter|reduce|what it changed|what they changed|before and after|before after",
        Say::Measure(Measure::Change),
    ),
    (
        "level difference|give|given|let through|lets through|get through|gets through|block|stop|keep out|transmission|as it stands|\
         as they stand",
        Say::Measure(Measure::Level),
    ),
    ("dba|db a|a weighted", Say::Unit(Unit::DbA)),
    ("dbc|db c|c weighted", Say::Unit(Unit::DbC)),
    ("dbz|db z|unweighted|z weighted", Say::Unit(Unit::DbZ)),
    // Between things.
    (
        "against|versus|vs|compared with|compared to|compare with|compare to|than|rather than|instead of|as opposed to",
        Say::Against,
    ),
    ("or|and|and or", Say::Or),
    // Words that carry nothing here.
    (
        "the|a|an|in|with|on|for|of|at|to|by|from|is|are|was|be|do|does|did|has|have|what|which|how|much|many|when|where|it|they|them|their|its|\
         this|that|me|my|our|we|i|you|tell|show|please|better|best|good|worse|more|less|most|difference|differ|between|compare|compared|\
         comparing|comparison|wall|partition|cavity|insulation|fill|filling|infill|batt|stud|frame|framing|wood|wooden|timber|house|home|job|test|\
         sound|noise|loud|db|decibel|all|any|really|there|work|perform|performance|if|only|same|type|kind|full|side|drywall|\
         gypsum|plasterboard|board|layer|wall with|use|using|used|should|would|will|can|could|make|material|leaf|leave|tied|hung|mounted|\
         screwed|built|construction|average|usually",
        Say::Nothing,
    ),
];

/// Words in a phrase at most.
pub(super) const LONGEST: usize = 4;

/// One word as the lexicon knows it: singular, one spelling.
pub(super) fn plain(word: &str) -> String {
    let singular = word.strip_suffix('s').filter(|stem| stem.chars().count() > 2 && !stem.ends_with('s'));
    singular.unwrap_or(word).replace("fibre", "fiber")
}

fn plain_phrase(phrase: &str) -> String {
    phrase.split(' ').map(plain).collect::<Vec<_>>().join(" ")
}

/// Every phrase by its plain form.
pub(super) fn lexicon() -> HashMap<String, Say> {
    let phrases = PHRASES.iter().flat_map(|(phrases, say)| {
        phrases
            .split('|')
            .map(|phrase| (plain_phrase(&phrase.split_whitespace().collect::<Vec<_>>().join(" ")), *say))
    });
    let sections = SECTIONS.iter().flat_map(|(name, depth_mm)| {
        let by = name.replace('x', " by ");
        let apart = name.replace('x', " x ");
        let spelled = by
            .replace('2', "two")
            .replace('3', "three")
            .replace('4', "four")
            .replace('6', "six")
            .replace('8', "eight");
        let metric = [
            format!("38x{depth_mm}"),
            format!("38 x {depth_mm}"),
            format!("{depth_mm} mm"),
            format!("{depth_mm}mm"),
        ];
        let names = [(*name).to_owned(), by, apart, name.replace('x', "by"), spelled];
        names.into_iter().chain(metric).map(|name| (name, Say::Studs(*depth_mm)))
    });
    phrases.chain(sections).collect()
}

impl Say {
    /// The part of a wall it names.
    pub(super) fn part(self) -> Option<Part> {
        Some(match self {
            Self::Fill(kinds) => Part::Fill(kinds.to_vec()),
            Self::Studs(depth_mm) => Part::Studs(depth_mm),
            Self::Tied(ties) => Part::Coupling(ties.to_vec()),
            Self::Boards(count) => Part::Boards { count, both: count == 1 },
            Self::State(states) => Part::State(states.to_vec()),
            Self::Holes(holes) => Part::Openings(holes),
            _ => return None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_phrase_says_two_things_or_is_too_long_to_be_found() {
        let mut seen: HashMap<String, &str> = HashMap::new();
        for (phrases, _) in PHRASES {
            for phrase in phrases.split('|') {
                let words: Vec<&str> = phrase.split_whitespace().collect();
                assert!(words.len() <= LONGEST, "{phrase}");
                let plain = plain_phrase(&words.join(" "));
                if let Some(other) = seen.insert(plain, phrases) {
                    assert!(std::ptr::eq(other, *phrases), "\"{phrase}\" says two things");
                }
            }
        }
        assert!(seen.len() > 200);
    }

    #[test]
    fn words_are_made_plain() {
        for (word, expected) in [
            ("studs", "stud"),
            ("glass", "glass"),
            ("vs", "vs"),
            ("fibres", "fiber"),
            ("2x4s", "2x4"),
            ("fibreglass", "fiberglass"),
        ] {
            assert_eq!(plain(word), expected);
        }
    }
}
