//! One direction of a simulated connection, and what befalls messages on it.
//!
//! In reality the stream under a conversation is ordered and reliable until it breaks. Here messages are also
//! repeated, overtaken and garbled, since whoever takes them in must bear anything.

use std::collections::VecDeque;

use crate::Chance;

/// How bad the network is: in a thousand messages, how many meet with what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Weather {
    /// The longest way of a message, milliseconds.
    pub latency_ms: u64,
    /// The message is lost, and the connection with it.
    pub lost: u64,
    /// The connection breaks in the middle of the message.
    pub cut: u64,
    /// It comes twice.
    pub repeated: u64,
    /// It overtakes the one before it.
    pub reordered: u64,
    /// One of its bits is turned.
    pub garbled: u64,
    /// It stands still for minutes, and all behind it.
    pub stalled: u64,
}

impl Weather {
    /// All arrives, soon.
    pub const FAIR: Self =
        Self { latency_ms: 40, lost: 0, cut: 0, repeated: 0, reordered: 0, garbled: 0, stalled: 0 };
    /// A building site.
    pub const ROUGH: Self =
        Self { latency_ms: 3_000, lost: 40, cut: 30, repeated: 15, reordered: 15, garbled: 15, stalled: 20 };
}

/// What befell messages so far, by kind.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[allow(missing_docs, reason = "as in `Weather`")]
pub struct NetworkTally {
    pub sent: u64,
    pub lost: u64,
    pub cut: u64,
    pub repeated: u64,
    pub reordered: u64,
    pub garbled: u64,
    pub stalled: u64,
}

/// What comes out at the other end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Arrival {
    /// A message, or what became of it.
    Message(Vec<u8>),
    /// Nothing more: the connection broke. Some receivers have the beginning of a message by then.
    Broken {
        /// What had come of the last message.
        beginning: Option<Vec<u8>>,
    },
}

/// One direction of a connection.
#[derive(Debug, Clone, Default)]
pub struct Line {
    on_the_way: VecDeque<(u64, Arrival)>,
    is_broken: bool,
}

impl Line {
    /// Sends a message; after a break, into the void.
    pub fn send(
        &mut self,
        mut bytes: Vec<u8>,
        now_ms: u64,
        weather: &Weather,
        chance: &mut Chance,
        tally: &mut NetworkTally,
    ) {
        if self.is_broken {
            return;
        }
        tally.sent += 1;
        let mut due_ms = now_ms + 1 + chance.below(weather.latency_ms.max(1));
        due_ms = due_ms.max(self.on_the_way.back().map_or(0, |(due_ms, _)| *due_ms));
        let mut meets = |per_mille: u64| chance.below(1_000) < per_mille;
        if meets(weather.lost) {
            tally.lost += 1;
            return self.breaks(due_ms, None);
        }
        if meets(weather.cut) {
            tally.cut += 1;
            bytes.truncate(chance.below(bytes.len() as u64 + 1) as usize);
            let beginning = (chance.below(2) == 0).then_some(bytes);
            return self.breaks(due_ms, beginning);
        }
        if meets(weather.stalled) {
            tally.stalled += 1;
            due_ms += 60_000 + chance.below(600_000);
        }
        let mut meets = |per_mille: u64| chance.below(1_000) < per_mille;
        if meets(weather.garbled) && !bytes.is_empty() {
            tally.garbled += 1;
            let bit = chance.below(bytes.len() as u64 * 8) as usize;
            bytes[bit / 8] ^= 1 << (bit % 8);
        }
        let mut meets = |per_mille: u64| chance.below(1_000) < per_mille;
        if meets(weather.repeated) {
            tally.repeated += 1;
            self.on_the_way.push_back((due_ms, Arrival::Message(bytes.clone())));
        }
        self.on_the_way.push_back((due_ms, Arrival::Message(bytes)));
        if meets(weather.reordered) && self.on_the_way.len() > 1 {
            tally.reordered += 1;
            self.overtake();
        }
    }

    fn breaks(&mut self, due_ms: u64, beginning: Option<Vec<u8>>) {
        self.is_broken = true;
        self.on_the_way.push_back((due_ms, Arrival::Broken { beginning }));
    }

    /// The last message takes the place of the one before it, and its time.
    fn overtake(&mut self) {
        let last = self.on_the_way.len() - 1;
        let (earlier_ms, later_ms) = (self.on_the_way[last - 1].0, self.on_the_way[last].0);
        self.on_the_way.swap(last - 1, last);
        self.on_the_way[last - 1].0 = earlier_ms;
        self.on_the_way[last].0 = later_ms;
    }

    /// When something arrives next.
    pub fn next_ms(&self) -> Option<u64> {
        self.on_the_way.front().map(|(due_ms, _)| *due_ms)
    }

    /// Takes what has arrived by now, one at a time.
    pub fn take(&mut self, now_ms: u64) -> Option<Arrival> {
        let is_due = self.next_ms().is_some_and(|due_ms| due_ms <= now_ms);
        if is_due { self.on_the_way.pop_front().map(|(_, arrival)| arrival) } else { None }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sent(seed: u64, weather: &Weather) -> (Vec<Arrival>, NetworkTally) {
        let (mut line, mut chance, mut tally) = (Line::default(), Chance::new(seed), NetworkTally::default());
        for number in 0..20 {
            line.send(vec![number; 4], u64::from(number), weather, &mut chance, &mut tally);
        }
        let mut arrived = Vec::new();
        while let Some(due_ms) = line.next_ms() {
            arrived.extend(line.take(due_ms));
        }
        (arrived, tally)
    }

    #[test]
    fn in_fair_weather_all_arrives_in_order() {
        let (arrived, tally) = sent(1, &Weather::FAIR);
        let expected: Vec<Arrival> = (0..20).map(|number| Arrival::Message(vec![number; 4])).collect();
        assert_eq!(arrived, expected);
        assert_eq!(tally, NetworkTally { sent: 20, ..NetworkTally::default() });
    }

    #[test]
    fn every_fault_is_met_alone() {
        let one = |set: fn(&mut Weather)| {
            let mut weather = Weather::FAIR;
            set(&mut weather);
            sent(3, &weather)
        };
        let (arrived, tally) = one(|weather| weather.lost = 1_000);
        assert_eq!((arrived, tally.lost, tally.sent), (vec![Arrival::Broken { beginning: None }], 1, 1));
        let (arrived, tally) = one(|weather| weather.cut = 1_000);
        assert!(matches!(&arrived[..], [Arrival::Broken { .. }]) && tally.cut == 1);
        let (arrived, tally) = one(|weather| weather.repeated = 1_000);
        assert_eq!((arrived.len(), tally.repeated), (40, 20));
        assert_eq!(arrived[0], arrived[1]);
        let (arrived, tally) = one(|weather| weather.reordered = 1_000);
        assert_eq!((arrived.len(), tally.reordered), (20, 19));
        // Each overtakes the one before it, so the first comes last.
        assert_eq!(arrived[19], Arrival::Message(vec![0; 4]));
        let (arrived, tally) = one(|weather| weather.garbled = 1_000);
        assert_eq!(tally.garbled, 20);
        let turned = |(number, arrival): (usize, &Arrival)| match arrival {
            Arrival::Message(bytes) => bytes.iter().map(|byte| (byte ^ number as u8).count_ones()).sum(),
            Arrival::Broken { .. } => 0,
        };
        assert_eq!(arrived.iter().enumerate().map(turned).collect::<Vec<u32>>(), [1; 20]);
        let (_, tally) = one(|weather| weather.stalled = 1_000);
        assert_eq!(tally.stalled, 20);
    }
}
