//! The sheet to take along: conditions with blanks, readings in drawn order, views to photograph, cautions; 80 columns wide.
//!
//! It is filled in by hand and typed in later, or ticked off on a screen. Leaves out results.

use storypole_notebook::kinds::{Condition, Found, Test};

use crate::hearing::{self, Hearing};
use crate::{Findings, print};

use super::conditions::{PHOTOS, standard};
use super::order::Order;

/// Columns that fit on A4 and Letter in a plain typeface.
pub const COLUMNS: usize = 80;

/// One condition to hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetCondition {
    /// How much it weighs.
    pub class: String,
    /// What is held.
    pub variable: String,
    /// What is wanted.
    pub wanted: String,
    /// As found in the first set, where that was noted.
    pub before: Option<String>,
    /// Whether the test lacks it: worth adding.
    pub suggested: bool,
}

/// A sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Label of the test.
    pub test: String,
    /// Its question.
    pub question: String,
    /// Seed of the order.
    pub seed: u64,
    /// Conditions: those of the test by weight, then those worth adding.
    pub conditions: Vec<SheetCondition>,
    /// Readings in drawn order.
    pub order: Order,
    /// Readings at each position.
    pub repeats: u32,
    /// Whether a background reading belongs before and after each round.
    pub background: bool,
    /// Views to photograph.
    pub photos: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
}

impl Findings<'_> {
    pub(super) fn plan_sheet(
        &self,
        test: &Test,
        measures: &str,
        order: &Order,
        repeats: u32,
        seed: u64,
    ) -> Sheet {
        let first = self.sets_in_order(test.id).next().and_then(|set| self.book.sets.get(set.set));
        let own: Vec<(&Condition, Option<&Found>)> = match first {
            Some(set) => self.conditions_of(set),
            None => self
                .book
                .conditions
                .live()
                .filter(|row| row.test == Some(test.id))
                .map(|row| (row, None))
                .collect(),
        };
        let variables: Vec<&str> = own.iter().filter_map(|(row, _)| row.variable.as_deref()).collect();
        let rank = |class: &str| ["critical", "important", "minor"].iter().position(|known| *known == class);
        let mut conditions: Vec<SheetCondition> =
            own.iter().map(|(row, found)| of_test(row, *found)).collect();
        conditions.sort_by_key(|row| rank(&row.class));
        let lacking =
            standard(measures).iter().filter(|row| !variables.iter().any(|variable| row.is(variable)));
        conditions.extend(lacking.map(|row| SheetCondition {
            class: row.class.to_owned(),
            variable: row.variable.to_owned(),
            wanted: row.wanted.to_owned(),
            before: None,
            suggested: true,
        }));
        let is_sound = measures == "level-difference";
        Sheet {
            test: test.label.clone().unwrap_or_default(),
            question: test.question.clone().unwrap_or_default(),
            seed,
            conditions,
            order: order.clone(),
            repeats,
            background: is_sound && test.bench_rig != Some(true),
            photos: PHOTOS.iter().map(|view| (*view).to_owned()).collect(),
            cautions: if is_sound { vec![self.loudest_hearing(test)] } else { Vec::new() },
        }
    }

    /// What the loudest set of the test says of ears; a general word where none was taken.
    fn loudest_hearing(&self, test: &Test) -> String {
        let loudest = self
            .sets_of_test(test.id)
            .filter_map(|set| set.hearing)
            .reduce(|one, other| if other.level_dba > one.level_dba { other } else { one });
        loudest.map_or_else(
            || {
                format!(
                    "Hearing: from {} dBA on, time beside the source is limited. Start low, wear protectors, and let nobody stay in there \
                     who need not.",
                    print::decimals(hearing::FROM_DBA, 0)
                )
            },
            |loudest: Hearing| loudest.sentence(),
        )
    }
}

fn of_test(row: &Condition, found: Option<&Found>) -> SheetCondition {
    SheetCondition {
        class: row.class.clone().unwrap_or_else(|| "critical".to_owned()),
        variable: row.variable.clone().unwrap_or_default(),
        wanted: row.wanted.clone().unwrap_or_default(),
        before: found.and_then(|found| found.value.clone()),
        suggested: false,
    }
}

/// The sheet as text, at most [`COLUMNS`] wide, with blanks to fill in.
pub fn text(sheet: &Sheet) -> String {
    let mut page = Page::default();
    page.line("# ", &format!("Test sheet {}", sheet.test));
    page.line("", &sheet.question);
    page.line("", &format!("Order drawn from seed {}.", sheet.seed));
    for caution in &sheet.cautions {
        page.blank();
        page.line("", caution);
    }
    conditions(&mut page, sheet);
    readings(&mut page, sheet);
    page.heading("Photographs before, and the same views after");
    for view in &sheet.photos {
        page.line("[ ] ", view);
    }
    page.text
}

fn conditions(page: &mut Page, sheet: &Sheet) {
    let (suggested, own): (Vec<_>, Vec<_>) = sheet.conditions.iter().partition(|row| row.suggested);
    for (title, rows) in [("Conditions", own), ("Worth adding to the conditions", suggested)] {
        if rows.is_empty() {
            continue;
        }
        page.heading(title);
        page.line("", "Ring one word for each: same, corrected, changed, unknown.");
        for row in rows {
            page.blank();
            page.line("[ ] ", &format!("{} ({})", row.variable, row.class));
            if !row.wanted.is_empty() {
                page.line("    wanted: ", &row.wanted);
            }
            match &row.before {
                Some(before) => page.line("    before: ", before),
                None => page.raw(&blank_line("before")),
            }
            page.raw(&blank_line("after"));
        }
    }
}

fn blank_line(when: &str) -> String {
    let label = format!("    {}: ", when);
    format!("{label:12}{}  same / corrected / changed / unknown", "_".repeat(29))
}

fn readings(page: &mut Page, sheet: &Sheet) {
    match &sheet.order {
        Order::ByState(rounds) => {
            for round in rounds {
                let way =
                    if round.direction.is_empty() { String::new() } else { format!(", {}", round.direction) };
                let stage =
                    if round.stage == "repeat" { "before, again (stage repeat)" } else { round.stage };
                page.heading(&format!("Readings: {stage}{way}"));
                page.line("", "Date ____________  begun ________  ended ________  by ________________");
                let mut rows = Vec::new();
                let background = || ("background", "source off".to_owned());
                rows.extend(sheet.background.then(background));
                rows.extend(round.source.iter().map(|label| ("source", label.clone())));
                rows.extend(round.receive.iter().map(|label| ("receive", label.clone())));
                rows.extend(sheet.background.then(background));
                table(page, &rows, sheet.repeats);
            }
        }
        Order::ByPosition { source, blocks } => {
            page.heading("Readings: both states at each position");
            page.line("", "Date ____________  begun ________  ended ________  by ________________");
            let mut rows = Vec::new();
            let background = || ("background", "source off".to_owned());
            rows.extend(sheet.background.then(background));
            let both = |label: &String, states: [&str; 2]| states.map(|state| format!("{label} {state}"));
            let of_source = |label| both(label, ["before", "after"]).map(|label| ("source", label));
            rows.extend(source.iter().flat_map(of_source));
            rows.extend(
                blocks
                    .iter()
                    .flat_map(|block| both(&block.position, block.states).map(|label| ("receive", label))),
            );
            rows.extend(blocks.iter().map(|block| ("receive", format!("{} before, again", block.position))));
            rows.extend(sheet.background.then(background));
            table(page, &rows, sheet.repeats);
        }
    }
}

/// A table with one blank for each reading: `| no | side | place | 1 | 2 | note |`.
fn table(page: &mut Page, rows: &[(&str, String)], repeats: u32) {
    let repeats = usize::try_from(repeats).unwrap_or(1);
    let names: String = (1..=repeats).map(|number| format!("{:8}|", format!(" value {number}"))).collect();
    let note = COLUMNS - (5 + 13 + 20 + 9 * repeats + 2);
    page.blank();
    page.raw(&format!("| no | side       | place             |{names}{:note$}|", " note"));
    page.raw(&format!(
        "|----|------------|-------------------|{}{}|",
        format!("{}|", "-".repeat(8)).repeat(repeats),
        "-".repeat(note)
    ));
    for (index, (side, place)) in rows.iter().enumerate() {
        let place: String = place.replace('|', "/").chars().take(17).collect();
        page.raw(&format!(
            "| {:>2} | {side:10} | {place:17} |{}{:note$}|",
            index + 1,
            format!("{:8}|", "").repeat(repeats),
            ""
        ));
    }
}

/// Lines that wrap at words.
#[derive(Default)]
struct Page {
    text: String,
}

impl Page {
    fn raw(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    fn blank(&mut self) {
        self.raw("");
    }

    fn heading(&mut self, title: &str) {
        self.blank();
        self.line("## ", title);
        self.blank();
    }

    /// A paragraph behind a lead; its further lines are set in below the first. Words longer than a line are cut.
    fn line(&mut self, lead: &str, words: &str) {
        let set_in = if lead.starts_with('#') { 0 } else { lead.chars().count() };
        let room = COLUMNS - lead.chars().count();
        let mut line = String::new();
        let mut lead = lead.to_owned();
        let mut put = |page: &mut Self, line: &mut String| {
            page.raw(&format!("{lead}{line}"));
            line.clear();
            lead = " ".repeat(set_in);
        };
        for word in words.split_whitespace().flat_map(|word| pieces(word, room)) {
            let length = line.chars().count();
            if length > 0 && length + 1 + word.chars().count() > room {
                put(self, &mut line);
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(&word);
        }
        put(self, &mut line);
    }
}

/// A word in pieces that fit a line.
fn pieces(word: &str, room: usize) -> Vec<String> {
    let letters: Vec<char> = word.chars().collect();
    letters.chunks(room).map(|piece| piece.iter().collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn no_line_is_wider_than_the_paper(question in "\\PC{0,300}", place in "\\PC{0,40}", repeats in 1u32..4) {
            let round = crate::plan::Round {
                stage: "before",
                direction: question.clone(),
                source: vec![place.clone()],
                receive: vec![place.clone(); 3],
            };
            let sheet = Sheet {
                test: place.clone(),
                question: question.clone(),
                seed: u64::MAX,
                conditions: vec![SheetCondition {
                    class: "critical".to_owned(),
                    variable: place,
                    wanted: question.clone(),
                    before: Some(question),
                    suggested: false,
                }],
                order: Order::ByState(vec![round]),
                repeats,
                background: true,
                photos: vec!["walls".to_owned()],
                cautions: Vec::new(),
            };
            let text = text(&sheet);
            prop_assert!(text.lines().all(|line| line.chars().count() <= COLUMNS), "{}", text);
        }
    }
}
