//! An endless stream of drafts as a crew might write them: readings, log lines, receipts, changes of tasks.

use jiff::civil::date;
use storypole_journal::{Draft, DraftId, RecordId, WriteId, WrittenAt};
use storypole_notebook::compose::Composer;
use storypole_notebook::{Quantity, Unit, Value};
use storypole_units::{Currency, Decimal, Money};

use crate::Chance;

/// First moment of the stream: 2025-03-04 12:00 UTC.
const START_MS: i64 = 1_741_089_600_000;

/// The stream.
#[derive(Debug, Clone)]
pub struct Drafts {
    chance: Chance,
    start_ms: i64,
    author: RecordId,
    count: u64,
    task: Option<(RecordId, WriteId)>,
}

impl Drafts {
    /// The same seed gives the same drafts, ids included; they are written in March 2025.
    pub fn new(seed: u64) -> Self {
        Self::starting(seed, START_MS)
    }

    /// The same, written from this moment on, a second apart.
    pub fn starting(seed: u64, start_ms: i64) -> Self {
        let mut chance = Chance::new(seed);
        let author = RecordId::from_parts(u64::try_from(start_ms).unwrap_or(0), chance.id());
        Self { chance, start_ms, author, count: 0, task: None }
    }

    fn at(&self) -> WrittenAt {
        WrittenAt { unix_ms: self.start_ms + i64::try_from(self.count).unwrap_or(0) * 1000, offset_min: -300 }
    }

    fn record(&mut self) -> RecordId {
        let ms = u64::try_from(self.at().unix_ms).unwrap_or(0);
        RecordId::from_parts(ms, self.chance.id())
    }

    fn reading(&mut self, compose: &mut Composer) {
        let id = self.record();
        let (set, position) = (self.record(), self.record());
        let tenths = 300 + self.chance.below(700);
        let number = Decimal::from_parts(i128::from(tenths), 1).expect("a level with one decimal");
        let value = Quantity::new(number, Unit::DbA).expect("between 30 and 100 dBA");
        let text = |text: &str| Value::Text(text.to_owned());
        write(
            compose,
            id,
            "reading",
            &[
                ("set", Value::Record(set)),
                ("position", Value::Record(position)),
                ("role", text("receive")),
                ("subject", text("level")),
                ("value", Value::Quantity(value)),
                ("response", text("leq")),
                ("duration_s", Value::Decimal(Decimal::from_int(30))),
                ("replicate", Value::Integer(1)),
            ],
        );
    }

    fn entry(&mut self, compose: &mut Composer) {
        const WORK: &[&str] = &[
            "opened the wall between hall and music room, old paint left alone",
            "filled nine bays, cut two pieces round the boxes",
            "second board up on the office side, joints staggered",
            "sealed the perimeter, two beads, and checked with a lamp",
        ];
        let id = self.record();
        let (site, job) = (self.record(), self.record());
        let day = date(2025, 3, 1)
            .checked_add(jiff::Span::new().days(i64::try_from(self.chance.below(200)).unwrap_or(0)));
        let text = (*self.chance.pick(WORK)).to_owned();
        write(
            compose,
            id,
            "entry",
            &[
                ("site", Value::Record(site)),
                ("job", Value::Record(job)),
                ("date", Value::Date(day.expect("a day of this year"))),
                ("entry_kind", Value::Text("work".to_owned())),
                ("text", Value::Text(text)),
            ],
        );
    }

    fn receipt(&mut self, compose: &mut Composer) {
        let usd = Currency::parse("USD").expect("a code of ISO 4217");
        let receipt = self.record();
        write(
            compose,
            receipt,
            "receipt",
            &[
                ("label", Value::Text(format!("P{}", self.count))),
                ("date", Value::Date(date(2025, 3, 4))),
                ("tax_rate", Value::Decimal(Decimal::parse("6.50").expect("a number"))),
            ],
        );
        for _ in 0..3 {
            let line = self.record();
            let cents = i128::from(self.chance.below(20_000));
            let price = Money::new(Decimal::from_parts(cents, 2).expect("cents"), usd);
            let quantity = Decimal::from_int(1 + i64::try_from(self.chance.below(12)).unwrap_or(0));
            write(
                compose,
                line,
                "line",
                &[
                    ("receipt", Value::Record(receipt)),
                    ("item", Value::Text("board 5/8 4x8".to_owned())),
                    ("quantity", Value::Decimal(quantity)),
                    ("unit", Value::Text("sheet".to_owned())),
                    ("unit_price", Value::Money(price)),
                ],
            );
        }
    }

    /// Changes the state of the running task, or begins a new one.
    fn task(&mut self, compose: &mut Composer, draft: DraftId) {
        const STATES: &[&str] = &["to-do", "doing", "blocked", "done", "checked"];
        let state = Value::Text((*self.chance.pick(STATES)).to_owned());
        match self.task.filter(|_| self.chance.below(4) > 0) {
            Some((task, seen)) => {
                compose.change(task, "task", "state", Some(&state), vec![seen], None).expect("a legal state");
                self.task = Some((task, WriteId { draft, index: 0 }));
            }
            None => {
                let task = self.record();
                let job = self.record();
                compose.set(task, "task", "state", &state).expect("a legal state");
                write(
                    compose,
                    task,
                    "task",
                    &[("job", Value::Record(job)), ("title", Value::Text("close the wall".into()))],
                );
                self.task = Some((task, WriteId { draft, index: 0 }));
            }
        }
    }
}

fn write(compose: &mut Composer, id: RecordId, kind: &str, fields: &[(&str, Value)]) {
    for (field, value) in fields {
        compose.set(id, kind, field, value).expect("generated values are legal");
    }
}

impl Iterator for Drafts {
    type Item = Draft;

    /// Six readings, two log lines, a receipt and a change of a task in ten, at random.
    fn next(&mut self) -> Option<Draft> {
        self.count += 1;
        let ms = u64::try_from(self.at().unix_ms).unwrap_or(0);
        let id = DraftId::from_parts(ms, self.chance.id());
        let mut compose = Composer::new(id, self.author, self.at());
        match self.chance.below(10) {
            0..6 => self.reading(&mut compose),
            6 | 7 => self.entry(&mut compose),
            8 => self.receipt(&mut compose),
            _ => self.task(&mut compose, id),
        }
        Some(compose.finish())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_gives_the_same_drafts_and_all_are_legal() {
        let drafts: Vec<Draft> = Drafts::new(7).take(300).collect();
        assert_eq!(drafts, Drafts::new(7).take(300).collect::<Vec<_>>());
        for draft in &drafts {
            draft.check().unwrap();
            storypole_notebook::door::check(draft).unwrap();
        }
        let kinds: std::collections::BTreeSet<&str> =
            drafts.iter().flat_map(|draft| &draft.writes).map(|write| write.kind.as_str()).collect();
        assert_eq!(kinds.into_iter().collect::<Vec<_>>(), ["entry", "line", "reading", "receipt", "task"]);
    }
}
