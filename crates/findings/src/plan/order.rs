//! The order in which positions are taken, drawn from a seed: drift of the day then hits no position more than another.
//!
//! The seed is stored with the test by the caller, so every device draws the same. Leaves out repeats: they are taken at once.

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_statistics::draws::SplitMix64;

use crate::Findings;
use crate::set_finding::{Direction, SetFinding};

/// Source positions a test has at least. Common practice, no source.
const FEWEST_SOURCE: usize = 3;

/// One round of readings in drawn order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Round {
    /// The stage its set is written under: `before`, `repeat` of it, or `after`.
    pub stage: &'static str,
    /// Which way the sound goes; empty where no room was noted yet.
    pub direction: String,
    /// Positions in the source room, by label.
    pub source: Vec<String>,
    /// Positions in the receiving room, by label.
    pub receive: Vec<String>,
}

/// One receive position read in both states before the meter moves on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Block {
    /// Which way the sound goes.
    pub direction: String,
    /// The position, by label.
    pub position: String,
    /// The states in drawn order.
    pub states: [&'static str; 2],
}

/// In which order a test is taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Order {
    /// One state after the other, as a rebuild needs it: the same positions each time, each time in an order of their own.
    ByState(Vec<Round>),
    /// Both states at each position, as a door or a damper allows it; the first state is taken once more at the end.
    ByPosition {
        /// Positions in the source room, by label; read in both states.
        source: Vec<String>,
        /// Receive positions in drawn order.
        blocks: Vec<Block>,
    },
}

/// Positions of one way through the wall.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Places {
    pub(super) direction: String,
    pub(super) source: Vec<String>,
    pub(super) receive: Vec<String>,
    /// Receive positions that were read already, so that others could not be compared with them.
    pub(super) fixed: Option<usize>,
}

impl Findings<'_> {
    /// Positions of a test by way, each in the order of its labels; one way without names where there is none yet.
    pub(super) fn plan_places(&self, test: RecordId, is_sound: bool) -> Vec<Places> {
        let mut ways: BTreeMap<Direction, Vec<&SetFinding>> = BTreeMap::new();
        for set in self.sets_in_order(test) {
            ways.entry(set.direction.clone()).or_default().push(set);
        }
        let unknown = Direction { from: None, to: None, words: String::new() };
        if ways.is_empty() {
            ways.insert(unknown, Vec::new());
        }
        ways.into_iter()
            .map(|(direction, sets)| {
                let mut receive = self.plan_labels(test, "receive", direction.to);
                let read = sets.iter().find_map(|set| set.receive.as_ref());
                if let Some(read) = read {
                    let labels: Vec<String> =
                        read.positions.iter().map(|place| place.label.clone()).collect();
                    receive.retain(|label| labels.contains(label));
                }
                Places {
                    source: if is_sound {
                        self.plan_labels(test, "source", direction.from)
                    } else {
                        Vec::new()
                    },
                    fixed: read.map(|side| side.positions.len()),
                    receive,
                    direction: direction.words,
                }
            })
            .collect()
    }

    fn plan_labels(&self, test: RecordId, side: &str, room: Option<RecordId>) -> Vec<String> {
        let of_room = |its: Option<RecordId>| its.is_none_or(|its| room.is_none_or(|room| its == room));
        let mut labels: Vec<String> = self
            .positions_of(test)
            .iter()
            .filter(|place| place.side.as_deref().unwrap_or("receive") == side && of_room(place.room))
            .filter_map(|place| place.label.clone())
            .collect();
        labels.sort();
        labels.dedup();
        labels
    }
}

impl Places {
    /// Fills up with suggested labels: to the planned number where nothing was read yet, else to those that were read.
    pub(super) fn filled(mut self, planned: usize, is_sound: bool) -> Self {
        fill(&mut self.receive, "R", self.fixed.unwrap_or(planned));
        if is_sound && self.source.is_empty() {
            fill(&mut self.source, "S", FEWEST_SOURCE);
        }
        self
    }
}

/// Adds labels not in use until there are so many.
fn fill(labels: &mut Vec<String>, letter: &str, count: usize) {
    let mut number = 1;
    while labels.len() < count {
        let label = format!("{letter}{number}");
        if !labels.contains(&label) {
            labels.push(label);
        }
        number += 1;
    }
}

/// Draws the order.
pub(super) fn order(places: &[Places], seed: u64, reversible: bool) -> Order {
    let mut seeds = SplitMix64::new(seed);
    if reversible {
        return by_position(places, &mut seeds);
    }
    let mut rounds = Vec::new();
    for way in places {
        for stage in ["before", "repeat", "after"] {
            // A generator for each round: one more position here does not change the order there.
            let mut numbers = SplitMix64::new(seeds.draw());
            let mut drawn = |labels: &[String]| {
                let mut labels = labels.to_vec();
                numbers.shuffle(&mut labels);
                labels
            };
            let (source, receive) = (drawn(&way.source), drawn(&way.receive));
            rounds.push(Round { stage, direction: way.direction.clone(), source, receive });
        }
    }
    Order::ByState(rounds)
}

fn by_position(places: &[Places], seeds: &mut SplitMix64) -> Order {
    let mut blocks = Vec::new();
    let mut source: Vec<String> = Vec::new();
    for way in places {
        let mut numbers = SplitMix64::new(seeds.draw());
        let mut receive = way.receive.clone();
        numbers.shuffle(&mut receive);
        for position in receive {
            let mut states = ["before", "after"];
            numbers.shuffle(&mut states);
            blocks.push(Block { direction: way.direction.clone(), position, states });
        }
        source.extend(way.source.iter().filter(|label| !source.contains(label)).cloned().collect::<Vec<_>>());
    }
    SplitMix64::new(seeds.draw()).shuffle(&mut source);
    Order::ByPosition { source, blocks }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn places(receive: usize) -> Vec<Places> {
        let empty = Places { direction: String::new(), source: Vec::new(), receive: Vec::new(), fixed: None };
        vec![empty.filled(receive, true)]
    }

    #[test]
    fn suggested_labels_go_round_those_in_use() {
        let mut labels = vec!["R2".to_owned(), "sofa".to_owned()];
        fill(&mut labels, "R", 4);
        assert_eq!(labels, ["R2", "sofa", "R1", "R3"]);
        fill(&mut labels, "R", 2);
        assert_eq!(labels.len(), 4, "none is taken away");
    }

    #[test]
    fn a_seed_gives_one_order_on_every_device() {
        // Drawn independently with Python's integers: SplitMix64 from the seed gives each round a seed, and with that Durstenfeld's
        // shuffle draws the source positions first.
        let Order::ByState(rounds) = order(&places(6), 17, false) else { panic!("rounds") };
        let drawn: Vec<String> =
            rounds.iter().map(|round| [round.source.join(" "), round.receive.join(" ")].join(" ")).collect();
        assert_eq!(
            drawn,
            ["S3 S1 S2 R5 R1 R4 R2 R3 R6", "S1 S3 S2 R1 R6 R2 R5 R3 R4", "S3 S1 S2 R1 R6 R4 R3 R2 R5"]
        );
    }

    #[test]
    fn another_seed_gives_another_order_and_rounds_differ() {
        // Of 12! orders two drawn ones are never the same by chance.
        let Order::ByState(rounds) = order(&places(12), 1, false) else { panic!("rounds") };
        let Order::ByState(others) = order(&places(12), 2, false) else { panic!("rounds") };
        assert_ne!(rounds[0].receive, rounds[2].receive);
        assert_ne!(rounds[0].receive, others[0].receive);
    }

    proptest! {
        #[test]
        fn every_position_stands_once_in_every_round_and_a_seed_repeats(seed: u64, count in 1usize..14) {
            let places = places(count);
            for reversible in [false, true] {
                prop_assert_eq!(order(&places, seed, reversible), order(&places, seed, reversible));
            }
            let sorted = |labels: &[String]| {
                let mut labels = labels.to_vec();
                labels.sort();
                labels
            };
            let (receive, source) = (sorted(&places[0].receive), sorted(&places[0].source));
            let Order::ByState(rounds) = order(&places, seed, false) else { panic!("rounds") };
            prop_assert_eq!(rounds.len(), 3);
            for round in &rounds {
                prop_assert_eq!(sorted(&round.receive), receive.clone());
                prop_assert_eq!(sorted(&round.source), source.clone());
            }
            let Order::ByPosition { source: drawn, blocks } = order(&places, seed, true) else { panic!("blocks") };
            let positions: Vec<String> = blocks.iter().map(|block| block.position.clone()).collect();
            prop_assert_eq!(sorted(&positions), receive);
            prop_assert_eq!(sorted(&drawn), source);
            for block in &blocks {
                prop_assert_ne!(block.states[0], block.states[1]);
            }
        }
    }
}
