//! Comparison phrases made at random, each with the condition in SQL that says the same. The condition is written from the numbers
//! that went into the phrase, never from how the program reads it.

use std::fmt::Write as _;

use rusqlite::Connection;
use storypole_testkit::Chance;

/// A piece of a question, and the SQL over `record r JOIN fact f` that it means.
#[derive(Debug, Clone)]
pub struct Phrase {
    /// As typed.
    pub typed: String,
    /// As SQL.
    pub sql: String,
    /// What it compares.
    pub subject: Subject,
}

/// What can be compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    Reduction,
    Difference,
    Depth,
    Spacing,
    CostPerArea,
    Cost,
    Density,
    LabelR,
    Grade,
    Days,
    Site,
}

/// Some come more often, as they have more ways to be said.
const SUBJECTS: &[Subject] = &[
    Subject::Reduction,
    Subject::Reduction,
    Subject::Reduction,
    Subject::Difference,
    Subject::Difference,
    Subject::Depth,
    Subject::Depth,
    Subject::Spacing,
    Subject::CostPerArea,
    Subject::CostPerArea,
    Subject::Cost,
    Subject::Cost,
    Subject::Density,
    Subject::LabelR,
    Subject::Grade,
    Subject::Days,
    Subject::Days,
    Subject::Site,
];

/// Subjects that alone hold for very many records; most questions of them alone get another phrase.
const SELDOM_ALONE: &[Subject] = &[Subject::Days, Subject::Site];

/// What stands in a notebook, so that questions are near it.
pub struct Pools {
    reductions: Vec<f64>,
    differences: Vec<f64>,
    depths: Vec<f64>,
    spacings: Vec<f64>,
    per_ft2: Vec<f64>,
    costs: Vec<f64>,
    densities: Vec<f64>,
    labels_r: Vec<f64>,
    /// Name and id of sites.
    sites: Vec<(String, String)>,
}

impl Pools {
    /// The values of some tables.
    pub fn of(sql: &Connection, sites: Vec<(String, String)>) -> Self {
        let column = |column: &str, table: &str| -> Vec<f64> {
            let query =
                format!("SELECT DISTINCT {column} FROM {table} WHERE {column} IS NOT NULL ORDER BY 1");
            let mut query = sql.prepare(&query).unwrap();
            query.query_map([], |row| row.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
        };
        Self {
            reductions: column("reduction", "fact"),
            differences: column("difference", "fact"),
            depths: column("depth_mm", "wall"),
            spacings: column("spacing_mm", "wall"),
            per_ft2: column("per_ft2", "fact"),
            costs: column("cost", "fact"),
            densities: column("density", "wall"),
            labels_r: column("label_r", "fact"),
            sites,
        }
    }
}

/// How a number bounds what is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Bound {
    Over,
    AtLeast,
    Under,
    AtMost,
    Between,
}

/// Words in front of an amount.
const IN_FRONT: &[(&str, Bound)] = &[
    ("over", Bound::Over),
    ("more than", Bound::Over),
    ("above", Bound::Over),
    (">", Bound::Over),
    ("at least", Bound::AtLeast),
    ("no less than", Bound::AtLeast),
    ("≥", Bound::AtLeast),
    (">=", Bound::AtLeast),
    ("under", Bound::Under),
    ("less than", Bound::Under),
    ("below", Bound::Under),
    ("<", Bound::Under),
    ("at most", Bound::AtMost),
    ("up to", Bound::AtMost),
    ("no more than", Bound::AtMost),
    ("<=", Bound::AtMost),
    ("between", Bound::Between),
    ("between", Bound::Between),
    ("between", Bound::Between),
];

/// Words behind an amount.
const BEHIND: &[(&str, Bound)] = &[
    ("or more", Bound::AtLeast),
    ("and up", Bound::AtLeast),
    ("or less", Bound::AtMost),
    ("at least", Bound::AtLeast),
    ("at most", Bound::AtMost),
];

/// A bound as it is typed with one amount or two, and its ends.
struct Bounded<T> {
    typed: String,
    low: Option<(T, &'static str)>,
    high: Option<(T, &'static str)>,
}

impl<T: Clone> Bounded<T> {
    /// `amount` makes an amount as typed, and what it is worth.
    fn of(
        chance: &mut Chance,
        less: impl Fn(&T, &T) -> bool,
        amount: impl Fn(&mut Chance) -> (String, T),
    ) -> Self {
        let (typed, value) = amount(chance);
        if chance.below(6) == 0 {
            let (words, bound) = *chance.pick(BEHIND);
            return Self { typed: format!("{typed} {words}"), ..Self::one(bound, value) };
        }
        let (words, bound) = *chance.pick(IN_FRONT);
        if bound != Bound::Between {
            return Self { typed: format!("{words} {typed}"), ..Self::one(bound, value) };
        }
        let (other, worth) = amount(chance);
        // One time in four the larger number comes first: it is read the other way round.
        let is_turned = less(&worth, &value) != (chance.below(4) == 0);
        let [(first, low), (second, high)] =
            if is_turned { [(other, worth), (typed, value)] } else { [(typed, value), (other, worth)] };
        let (low, high) = if less(&high, &low) { (high, low) } else { (low, high) };
        Self {
            typed: format!("between {first} and {second}"),
            low: Some((low, ">=")),
            high: Some((high, "<=")),
        }
    }

    fn one(bound: Bound, value: T) -> Self {
        let (low, high) = match bound {
            Bound::Over => (Some((value, ">")), None),
            Bound::AtLeast => (Some((value, ">=")), None),
            Bound::Under => (None, Some((value, "<"))),
            Bound::AtMost | Bound::Between => (None, Some((value, "<="))),
        };
        Self { typed: String::new(), low, high }
    }
}

impl Bounded<f64> {
    fn number(chance: &mut Chance, amount: impl Fn(&mut Chance) -> (String, f64)) -> Self {
        Self::of(chance, |one, other| one < other, amount)
    }

    /// The ends, each as a comparison of a column.
    fn sql(&self, column: &str) -> String {
        let end = |end: &Option<(f64, &str)>| end.map(|(value, sign)| format!("{column} {sign} {value:?}"));
        let ends: Vec<String> = [&self.low, &self.high].into_iter().filter_map(end).collect();
        ends.join(" AND ")
    }

    /// The ends for a column that may hold a bound: "at least 7" speaks for lower ends only, "at most" for upper ends only.
    fn sql_of_bounds(&self, column: &str) -> String {
        let mut sql = self.sql(column);
        if self.low.is_some() {
            write!(sql, " AND {column}_sense IN ('exact', 'at-least')").unwrap();
        }
        if self.high.is_some() {
            write!(sql, " AND {column}_sense IN ('exact', 'at-most')").unwrap();
        }
        sql
    }

    fn turned(self) -> Self {
        let turn = |end: Option<(f64, &'static str)>| {
            end.map(|(value, sign)| {
                let turned = match sign {
                    ">" => "<",
                    ">=" => "<=",
                    "<" => ">",
                    _ => ">=",
                };
                (-value, turned)
            })
        };
        Self { typed: self.typed, low: turn(self.high), high: turn(self.low) }
    }
}

/// One to three phrases joined, no more than one of them a site, as several sites are any of them.
pub fn question(chance: &mut Chance, pools: &Pools) -> Vec<Phrase> {
    let count = 1 + chance.below(3);
    let mut phrases: Vec<Phrase> = Vec::new();
    while phrases.len() < usize::try_from(count).unwrap() {
        let subject = *chance.pick(SUBJECTS);
        let is_site_again =
            subject == Subject::Site && phrases.iter().any(|phrase| phrase.subject == subject);
        if !is_site_again {
            phrases.push(phrase(chance, pools, subject));
        }
    }
    if phrases.iter().all(|phrase| SELDOM_ALONE.contains(&phrase.subject)) && chance.below(8) > 0 {
        phrases.push(phrase(chance, pools, Subject::Difference));
    }
    phrases
}

/// Joins phrases so that no word of one can be taken for the other's, as a person would with a comma or "and".
pub fn joined(chance: &mut Chance, phrases: &[Phrase]) -> String {
    let mut text = String::new();
    for phrase in phrases {
        if !text.is_empty() {
            text.push_str(chance.pick::<&str>(&[", ", " and ", "; "]));
        }
        text.push_str(&phrase.typed);
    }
    text
}

fn phrase(chance: &mut Chance, pools: &Pools, subject: Subject) -> Phrase {
    let (typed, sql) = match subject {
        Subject::Reduction => reduction(chance, pools),
        Subject::Difference => difference(chance, pools),
        Subject::Depth => depth(chance, pools),
        Subject::Spacing => spacing(chance, pools),
        Subject::CostPerArea => cost_per_area(chance, pools),
        Subject::Cost => cost(chance, pools),
        Subject::Density => density(chance, pools),
        Subject::LabelR => label_r(chance, pools),
        Subject::Grade => grade(chance),
        Subject::Days => days(chance),
        Subject::Site => site(chance, pools),
    };
    Phrase { typed, sql: format!("({sql})"), subject }
}

/// A number near one of the pool, in so many places, and what was typed is worth.
fn near(chance: &mut Chance, pool: &[f64], places: usize) -> (String, f64) {
    let value = *chance.pick(pool);
    let offset = [0.0, 0.0, 0.1, -0.3, 1.0][usize::try_from(chance.below(5)).unwrap()];
    let typed = format!("{:.places$}", (value + offset).abs());
    let worth = typed.parse().unwrap();
    (typed, worth)
}

fn reduction(chance: &mut Chance, pools: &Pools) -> (String, String) {
    let unit = *chance.pick(&["dB", "dB(A)", "decibels", "db"]);
    if chance.below(8) == 0 {
        let bounded = Bounded::number(chance, |chance| {
            let typed = format!("{}", 1 + chance.below(3));
            (format!("{typed} {unit}"), typed.parse().unwrap())
        });
        let typed = format!("{} louder", bounded.typed);
        return (typed, bounded.turned().sql_of_bounds("f.reduction"));
    }
    if chance.below(10) == 0 {
        let (typed, worth) = near(chance, &pools.reductions, 1);
        // "About" is within 1 dB of a level (convention of this project).
        let about =
            Bounded { typed: String::new(), low: Some((worth - 1.0, ">=")), high: Some((worth + 1.0, "<=")) };
        let words = *chance.pick(&["about", "quieter by", "around"]);
        return (format!("{words} {typed} {unit}"), about.sql_of_bounds("f.reduction"));
    }
    let bounded = Bounded::number(chance, |chance| {
        let places = usize::try_from(chance.below(2)).unwrap();
        let (typed, worth) = near(chance, &pools.reductions, places);
        (format!("{typed} {unit}"), worth)
    });
    let typed = match chance.below(4) {
        0 => format!("{} quieter", bounded.typed),
        1 => format!("reduction of {}", bounded.typed),
        _ => bounded.typed.clone(),
    };
    (typed, bounded.sql_of_bounds("f.reduction"))
}

fn difference(chance: &mut Chance, pools: &Pools) -> (String, String) {
    let bounded = Bounded::number(chance, |chance| {
        let (typed, worth) = near(chance, &pools.differences, 1);
        (format!("{typed} dB"), worth)
    });
    let typed = match chance.below(4) {
        0 => format!("{} level difference", bounded.typed),
        1 => format!("isolation {}", bounded.typed),
        2 => format!("keeps out {}", bounded.typed),
        _ => format!("level difference {}", bounded.typed),
    };
    (typed, bounded.sql_of_bounds("f.difference"))
}

/// A length near some of the pool, and its whole millimetres, half up. An inch is 25.4 mm exactly (agreement of 1959).
fn length(chance: &mut Chance, pool: &[f64]) -> (String, f64) {
    let near_mm = *chance.pick(pool) + [0.0, 0.0, 0.0, 3.0, -3.0][usize::try_from(chance.below(5)).unwrap()];
    match chance.below(4) {
        0 => (format!("{near_mm:.0} mm"), near_mm),
        1 => (format!("{:.1} cm", near_mm / 10.0), near_mm),
        kind => {
            let eighths = (near_mm / 25.4 * 8.0).round() as i64;
            // An eighth of an inch is 3.175 mm: in whole micrometres no rounding is lost.
            let worth = (eighths * 3175 + 500) / 1000;
            let typed =
                if kind == 2 { fraction(chance, eighths) } else { format!("{} in", eighths as f64 / 8.0) };
            (typed, worth as f64)
        }
    }
}

/// `3 1/2 in`, `3-1/2 in`, `3-1/2"`.
fn fraction(chance: &mut Chance, eighths: i64) -> String {
    let (whole, part) = (eighths / 8, eighths % 8);
    let unit = *chance.pick(&["\"", " in", " inches"]);
    if part == 0 {
        return format!("{whole}{unit}");
    }
    let shared = [1, 2, 4].into_iter().rev().find(|shared| part % shared == 0).unwrap();
    format!("{whole}{}{}/{}{unit}", chance.pick(&["-", " "]), part / shared, 8 / shared)
}

fn on_walls(bounded: &Bounded<f64>, column: &str) -> String {
    let column = format!("wall.{column}");
    format!(
        "EXISTS (SELECT 1 FROM wall_of JOIN wall ON wall.id = wall_of.wall WHERE wall_of.owner = r.id AND {})",
        bounded.sql(&column)
    )
}

fn depth(chance: &mut Chance, pools: &Pools) -> (String, String) {
    let bounded = Bounded::number(chance, |chance| length(chance, &pools.depths));
    let typed = match chance.below(4) {
        0 => format!("cavity {}", bounded.typed),
        1 => format!("depth of {}", bounded.typed),
        2 => bounded.typed.clone(),
        _ => format!("{} deep", bounded.typed),
    };
    (typed, on_walls(&bounded, "depth_mm"))
}

fn spacing(chance: &mut Chance, pools: &Pools) -> (String, String) {
    let words = *chance.pick(&["o.c.", "on centre", "apart", "oc"]);
    if chance.below(3) == 0 {
        let (typed, worth) = length(chance, &pools.spacings);
        let exact = Bounded { typed: String::new(), low: Some((worth, ">=")), high: Some((worth, "<=")) };
        return (format!("exactly {typed} {words}"), on_walls(&exact, "spacing_mm"));
    }
    let bounded = Bounded::number(chance, |chance| length(chance, &pools.spacings));
    let typed = if chance.below(3) == 0 {
        format!("spacing {}", bounded.typed)
    } else {
        format!("{} {words}", bounded.typed)
    };
    (typed, on_walls(&bounded, "spacing_mm"))
}

/// One square foot in square metres: 0.3048² exactly (international foot of 1959).
const FT2_M2: f64 = 0.092_903_04;

fn cost_per_area(chance: &mut Chance, pools: &Pools) -> (String, String) {
    if chance.below(3) == 0 {
        let per = *chance.pick(&["per m2", "per square metre", "a square meter", "/m2"]);
        let mut bounded = Bounded::number(chance, |chance| {
            let (_, worth) = near(chance, &pools.per_ft2, 2);
            let per_m2 = (worth / FT2_M2).round();
            (format!("${per_m2}"), per_m2 * FT2_M2)
        });
        bounded.typed.push_str(if per.starts_with('/') { "" } else { " " });
        return (format!("{}{per}", bounded.typed), bounded.sql("f.per_ft2"));
    }
    let per = *chance.pick(&["a square foot", "per sq ft", "per square foot", "/ft2", "a sq ft"]);
    let places = usize::try_from(2 * chance.below(2)).unwrap();
    let bounded = Bounded::number(chance, |chance| {
        let (typed, worth) = near(chance, &pools.per_ft2, places);
        (format!("${typed}"), worth)
    });
    let gap = if per.starts_with('/') { "" } else { " " };
    (format!("{}{gap}{per}", bounded.typed), bounded.sql("f.per_ft2"))
}

fn cost(chance: &mut Chance, pools: &Pools) -> (String, String) {
    let bounded = Bounded::number(chance, |chance| {
        let (cents, worth) = near(chance, &pools.costs, 2);
        match chance.below(4) {
            0 => (format!("${cents}"), worth),
            1 => {
                let hundreds = (worth / 100.0).round();
                (format!("${}k", hundreds / 10.0), hundreds * 100.0)
            }
            2 => (format!("{:.0} dollars", worth.round()), worth.round()),
            _ => (thousands(worth.round() as i64), worth.round()),
        }
    });
    let typed = match chance.below(4) {
        0 => format!("{} in all", bounded.typed),
        1 => format!("costing {}", bounded.typed),
        _ => bounded.typed.clone(),
    };
    (typed, bounded.sql("f.cost"))
}

/// `$1,250`.
fn thousands(dollars: i64) -> String {
    if dollars < 1000 { format!("${dollars}") } else { format!("${},{:03}", dollars / 1000, dollars % 1000) }
}

/// One pound on a cubic foot in kg/m³: 0.45359237 kg (agreement of 1959) on 0.3048³ m³.
const PCF_KG_M3: f64 = 0.453_592_37 / 0.028_316_846_592;

fn density(chance: &mut Chance, pools: &Pools) -> (String, String) {
    let bounded = Bounded::number(chance, |chance| {
        let (typed, worth) = near(chance, &pools.densities, 0);
        match chance.below(3) {
            0 => {
                let pcf = (worth / PCF_KG_M3 * 10.0).round() / 10.0;
                (format!("{pcf} {}", chance.pick(&["pcf", "lb/ft3", "lb per cubic foot"])), pcf * PCF_KG_M3)
            }
            _ => (format!("{typed} {}", chance.pick(&["kg/m3", "kg/m³"])), worth),
        }
    });
    let typed = match chance.below(3) {
        0 => format!("density {}", bounded.typed),
        _ => bounded.typed.clone(),
    };
    (typed, on_walls(&bounded, "density"))
}

fn label_r(chance: &mut Chance, pools: &Pools) -> (String, String) {
    let bounded = Bounded::number(chance, |chance| {
        let value =
            *chance.pick(&pools.labels_r) + [0.0, 0.0, 1.0][usize::try_from(chance.below(3)).unwrap()];
        (format!("{}{value}", chance.pick(&["R-", "R", "R "])), value)
    });
    (bounded.typed.clone(), bounded.sql("f.label_r"))
}

fn grade(chance: &mut Chance) -> (String, String) {
    let letter = *chance.pick(&['B', 'C', 'D']);
    let (typed, sign) = match chance.below(5) {
        0 => (format!("grade {letter} or better"), "<="),
        1 => (format!("at least grade {letter}"), "<="),
        2 => (format!("grade {letter} or worse"), ">="),
        3 => (format!("better than grade {letter}"), "<"),
        _ => (format!("grade {letter}"), "="),
    };
    (typed, format!("f.grade {sign} '{letter}'"))
}

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// A stretch of days as typed, and its first and last day as ISO 8601 writes them. A month's last day is written 31, which no
/// day of it passes.
fn stretch(chance: &mut Chance) -> (String, String, String) {
    let year = 2017 + chance.below(10);
    let (number, day) = (1 + chance.below(12), 1 + chance.below(28));
    let name = MONTHS[usize::try_from(number - 1).unwrap()];
    let month = (format!("{year}-{number:02}-01"), format!("{year}-{number:02}-31"));
    let whole_day = format!("{year}-{number:02}-{day:02}");
    match chance.below(6) {
        0 | 1 => (format!("{year}"), format!("{year}-01-01"), format!("{year}-12-31")),
        2 => (format!("{name} {year}"), month.0, month.1),
        3 => (format!("{year}-{number:02}"), month.0, month.1),
        4 => (whole_day.clone(), whole_day.clone(), whole_day),
        _ => (format!("{day} {name} {year}"), whole_day.clone(), whole_day),
    }
}

fn days(chance: &mut Chance) -> (String, String) {
    let (typed, first, last) = stretch(chance);
    match chance.below(6) {
        0 => (format!("since {typed}"), format!("r.day >= '{first}'")),
        1 => (format!("after {typed}"), format!("r.day > '{last}'")),
        2 => (format!("before {typed}"), format!("r.day < '{first}'")),
        3 => (format!("until {typed}"), format!("r.day <= '{last}'")),
        4 => (format!("in {typed}"), format!("r.day BETWEEN '{first}' AND '{last}'")),
        _ => {
            let (other, second, end) = stretch(chance);
            // From the first day of the one to the last day of the other, whichever comes first.
            let [first, last] = if first <= end { [first, end] } else { [second, last] };
            (format!("between {typed} and {other}"), format!("r.day BETWEEN '{first}' AND '{last}'"))
        }
    }
}

fn site(chance: &mut Chance, pools: &Pools) -> (String, String) {
    let (name, id) = chance.pick(&pools.sites);
    (format!("at {}{name}", chance.pick(&["", "the "])), format!("r.site = '{id}'"))
}
