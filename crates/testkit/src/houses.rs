//! A generated notebook of many houses: whole jobs with walls, tests, day log, receipts and photos, and the truth about each.
//!
//! Reading order: [`truth`] (what a job really is), [`wall`] (what stands before and after), [`sound`] (readings and what they
//! come to), `log`, `shop` and `names` (words and prices), [`notes`] (a cheap stream of notes for benchmarks).
//!
//! Places, people, suppliers, prices and readings are invented. Seeded: the same seed gives the same drafts, ids included, and
//! the first jobs of a larger notebook are those of a smaller one. Left out: corrections, conflicts and strikes (see
//! [`crate::world`]), and the notebook's own settings, which whoever founds it writes.

use jiff::civil::{Date, date};
use storypole_journal::{Draft, RecordId};
use storypole_notebook::Value;
use storypole_units::Decimal;

use crate::Chance;

mod log;
mod measuring;
mod names;
pub mod notes;
mod pen;
mod shop;
pub mod sound;
pub mod truth;
pub mod wall;

pub use notes::Notes;
pub use truth::Truth;

use pen::{Pen, later, text};
use shop::Shop;
use truth::{Built, Named, Noted};
use wall::Wall;

/// The seed of the notebook that the judged questions are about.
pub const JUDGED_SEED: u64 = 8;
/// How many jobs that notebook has.
pub const JUDGED_JOBS: usize = 5_000;

/// Rates of an hour, cents: site lead, helper.
const RATES_CENTS: [i64; 2] = [4_800, 3_100];
/// Every draft but the first is of one job; this is the first job's day at the earliest.
const FIRST_DAY: Date = date(2016, 1, 11);
/// Days from there on which a site may be begun: to summer 2025, as some jobs follow later.
const DAYS: u64 = 3_450;
/// No job ends later.
const LAST_DAY: Date = date(2026, 10, 30);

/// A notebook by its seed.
#[derive(Debug, Clone, Copy)]
pub struct Houses {
    seed: u64,
}

/// One generated job.
#[derive(Debug, Clone, PartialEq)]
pub struct House {
    /// Its records; with the first job also people, meter, signal, suppliers and materials, with a site's first job the site.
    pub drafts: Vec<Draft>,
    /// What they say, for judging.
    pub truth: Truth,
}

impl Houses {
    /// The same seed gives the same drafts.
    pub fn new(seed: u64) -> Self {
        Self { seed }
    }

    /// So many jobs, made one by one as they are asked for: about 35 records each.
    pub fn jobs(&self, count: usize) -> Jobs {
        let mut chance = Chance::new(self.seed);
        let author = RecordId::from_parts(pen::evening_ms(FIRST_DAY), chance.id());
        let turn = usize::try_from(chance.below(1_600)).unwrap_or(0);
        Jobs { chance, author, turn, left: count, crew: None, site: None, counted: Counted::default() }
    }

    /// So many notes with words as often as people use them.
    pub fn notes(&self, count: usize) -> Notes {
        Notes::new(self.seed, count)
    }
}

/// Jobs, one after another.
#[derive(Debug, Clone)]
pub struct Jobs {
    chance: Chance,
    author: RecordId,
    turn: usize,
    left: usize,
    crew: Option<Crew>,
    site: Option<Site>,
    counted: Counted,
}

/// How many labels of each letter were given.
#[derive(Debug, Clone, Default)]
struct Counted {
    sites: usize,
    rooms: usize,
    jobs: usize,
    assemblies: usize,
    tests: usize,
    sets: usize,
    receipts: usize,
    tasks: usize,
}

/// The next label: `J17`.
fn label(letter: &str, count: &mut usize) -> String {
    *count += 1;
    format!("{letter}{count}")
}

/// What all jobs share.
#[derive(Debug, Clone)]
struct Crew {
    people: [RecordId; 2],
    meter: RecordId,
    signal: RecordId,
    shop: Shop,
}

/// The site being worked on.
#[derive(Debug, Clone)]
struct Site {
    named: Named,
    name: String,
    rooms: Vec<(Named, &'static str)>,
    free_from: Date,
    jobs_left: u64,
}

impl Iterator for Jobs {
    type Item = House;

    fn next(&mut self) -> Option<House> {
        self.left = self.left.checked_sub(1)?;
        let mut chance = self.chance.clone();
        let mut drafts = Vec::new();
        let crew = match self.crew.take() {
            Some(crew) => crew,
            None => {
                let mut pen = Pen::new(&mut chance, self.author, FIRST_DAY);
                let crew = write_crew(&mut pen, self.author);
                drafts.push(pen.finish());
                crew
            }
        };
        let mut site = match self.site.take().filter(|site| site.jobs_left > 0) {
            Some(site) => site,
            None => {
                let opened = later(FIRST_DAY, chance.below(DAYS));
                let mut pen = Pen::new(&mut chance, self.author, opened);
                let site = write_site(&mut pen, &mut self.counted, self.turn, opened);
                drafts.push(pen.finish());
                site
            }
        };
        let started = later(site.free_from, chance.below(40));
        let finished = later(started, 1 + chance.below(18)).min(LAST_DAY);
        let started = started.min(finished);
        let mut pen = Pen::new(&mut chance, self.author, finished);
        let plan = Plan { crew: &crew, site: &site, days: (started, finished) };
        let truth = write_job(&mut pen, &mut self.counted, &plan);
        drafts.push(pen.finish());
        site.jobs_left -= 1;
        site.free_from = later(finished, 5 + chance.below(160)).min(LAST_DAY);
        (self.crew, self.site, self.chance) = (Some(crew), Some(site), chance);
        Some(House { drafts, truth })
    }
}

fn write_crew(pen: &mut Pen<'_>, author: RecordId) -> Crew {
    let person = |label, role, rate| {
        vec![
            ("label", text(label)),
            ("role", text(role)),
            ("rate", shop::money(rate)),
            ("crew", Value::Flag(true)),
        ]
    };
    pen.write_as(author, "person", &person("lead", "site lead", RATES_CENTS[0]));
    let helper = pen.write("person", &person("helper", "helper", RATES_CENTS[1]));
    let meter = pen.write(
        "meter",
        &[("label", text("M1")), ("meter_kind", text("sound level meter")), ("class", text("2"))],
    );
    let signal = pen
        .write("signal", &[("label", text("pink-60s")), ("description", text("pink noise file pink-60s"))]);
    Crew { people: [author, helper], meter, signal, shop: Shop::open(pen) }
}

fn write_site(pen: &mut Pen<'_>, counted: &mut Counted, turn: usize, opened: Date) -> Site {
    let (name, shape) = names::site(counted.sites, turn);
    let site = Named { label: label("S", &mut counted.sites), record: pen.id() };
    let built = 1905 + i64::try_from(pen.chance.below(115)).unwrap_or(0);
    pen.write_as(
        site.record,
        "site",
        &[
            ("label", text(&site.label)),
            ("name", text(&name)),
            ("description", text(&names::capital(&format!("{shape}, wood frame.")))),
            ("built_year", Value::Integer(built)),
        ],
    );
    let rooms = names::rooms(pen.chance)
        .into_iter()
        .map(|name| {
            let label = label("R", &mut counted.rooms);
            let fields =
                [("label", text(&label)), ("site", Value::Record(site.record)), ("name", text(name))];
            (Named { record: pen.write("room", &fields), label }, name)
        })
        .collect();
    let jobs_left = 1 + pen.chance.below(6);
    Site { named: site, name, rooms, free_from: opened, jobs_left }
}

/// Where and when a job is done.
struct Plan<'p> {
    crew: &'p Crew,
    site: &'p Site,
    days: (Date, Date),
}

/// Face of a wall: length and height, mm.
struct Face {
    length_mm: u64,
    height_mm: u64,
}

impl Face {
    fn area_ft2(&self) -> f64 {
        // A square foot is 0.09290304 m², from the international foot of 304.8 mm.
        self.length_mm as f64 * self.height_mm as f64 / 92_903.04
    }
}

fn write_job(pen: &mut Pen<'_>, counted: &mut Counted, plan: &Plan<'_>) -> Truth {
    let site = plan.site;
    let skipped = usize::try_from(pen.chance.below(3)).unwrap_or(0);
    let sides: Vec<&(Named, &str)> =
        site.rooms.iter().enumerate().filter(|(index, _)| *index != skipped).map(|(_, room)| room).collect();
    let [(room_a, name_a), (room_b, name_b)] = [sides[0], sides[1]];
    let rooms = [*name_a, *name_b];
    let is_bench_rig = pen.chance.below(70) == 0;
    let found = if is_bench_rig { Wall::panel(None) } else { Wall::found(pen.chance) };
    let rebuilt = if is_bench_rig {
        Wall::panel(wall::pick_fill(pen.chance, found.framing))
    } else {
        found.rebuilt(pen.chance)
    };
    let face = if is_bench_rig {
        Face { length_mm: 610, height_mm: 610 }
    } else {
        Face { length_mm: 1_800 + 25 * pen.chance.below(200), height_mm: 2_440 + 25 * pen.chance.below(12) }
    };
    let job = Named { label: label("J", &mut counted.jobs), record: pen.id() };
    let title = names::title(pen.chance, rooms, &rebuilt);
    let goal = *pen.chance.pick(names::GOALS);
    let mut truth = Truth {
        title,
        goal,
        days: plan.days,
        site: site.named.clone(),
        site_name: site.name.clone(),
        rooms: rooms.map(str::to_owned),
        room_records: [room_a.clone(), room_b.clone()],
        before: Built { assembly: assembly_named(pen, counted), since: plan.days.0, wall: found },
        after: Built { assembly: assembly_named(pen, counted), since: plan.days.1, wall: rebuilt },
        measured: None,
        entries: Vec::new(),
        receipts: Vec::new(),
        tasks: Vec::new(),
        photos: Vec::new(),
        cost_cents: 0,
        area_ft2: face.area_ft2(),
        job,
    };
    write_head(pen, &truth);
    write_assemblies(pen, &truth, &face, is_bench_rig);
    if is_bench_rig || pen.chance.below(5) > 0 {
        truth.measured = Some(measuring::write(pen, counted, plan.crew, &truth, is_bench_rig));
    }
    write_log(pen, plan.crew, &mut truth);
    write_receipts(pen, counted, &plan.crew.shop, &mut truth);
    write_beside(pen, counted, &mut truth);
    truth
}

fn assembly_named(pen: &mut Pen<'_>, counted: &mut Counted) -> Named {
    Named { label: label("A", &mut counted.assemblies), record: pen.id() }
}

fn write_head(pen: &mut Pen<'_>, truth: &Truth) {
    let estimate = 10_000 * i64::try_from(3 + pen.chance.below(25)).unwrap_or(3);
    pen.write_as(
        truth.job.record,
        "job",
        &[
            ("label", text(&truth.job.label)),
            ("site", Value::Record(truth.site.record)),
            ("title", text(&truth.title)),
            ("started", Value::Date(truth.days.0)),
            ("finished", Value::Date(truth.days.1)),
            ("estimate", shop::money(estimate)),
            ("goal", text(truth.goal)),
        ],
    );
}

fn write_assemblies(pen: &mut Pen<'_>, truth: &Truth, face: &Face, is_bench_rig: bool) {
    let element = if is_bench_rig { "panel" } else { "wall" };
    for (built, replaces) in [(&truth.before, None), (&truth.after, Some(truth.before.assembly.record))] {
        let wall = &built.wall;
        let mut fields = vec![
            ("label", text(&built.assembly.label)),
            ("element", text(element)),
            ("job", Value::Record(truth.job.record)),
            ("room_a", Value::Record(truth.room_records[0].record)),
            ("room_b", Value::Record(truth.room_records[1].record)),
            ("since", Value::Date(built.since)),
            ("length", millimetres(face.length_mm)),
            ("height", millimetres(face.height_mm)),
            ("leaf_a", Value::Text(wall.leaf_a())),
            ("frame", Value::Text(wall.frame())),
            ("cavity", Value::Text(wall.cavity())),
            ("leaf_b", Value::Text(wall.leaf_b())),
            ("openings", text(wall.opening.notation)),
            ("seals", Value::Text(wall.seals())),
            ("state", text(wall.state)),
        ];
        fields.extend(replaces.map(|before| ("replaces", Value::Record(before))));
        pen.write_as(built.assembly.record, "assembly", &fields);
    }
}

fn millimetres(mm: u64) -> Value {
    Value::Length(storypole_units::Length::parse(&format!("{mm} mm")).expect("a few metres are a length"))
}

/// Three to eight lines on days of the job, in order, and the hours of two people on the first and the last.
fn write_log(pen: &mut Pen<'_>, crew: &Crew, truth: &mut Truth) {
    let count = 3 + pen.chance.below(4) + pen.chance.below(3);
    let length =
        u64::try_from(truth.days.0.until(truth.days.1).map_or(0, |span| span.get_days())).unwrap_or(0);
    for index in 0..count {
        let (kind, words) = log::line(pen.chance, [&truth.rooms[0], &truth.rooms[1]], &truth.after.wall);
        let date = later(truth.days.0, length * index / count);
        let mut fields = vec![
            ("site", Value::Record(truth.site.record)),
            ("job", Value::Record(truth.job.record)),
            ("date", Value::Date(date)),
            ("entry_kind", text(kind)),
            ("text", text(&words)),
        ];
        if kind == "inspection" {
            fields.push(("outcome", text(if pen.chance.below(5) == 0 { "failed" } else { "passed" })));
        }
        let record = pen.write("entry", &fields);
        truth.entries.push(Noted { record, date, kind, text: words });
    }
    for (index, person) in crew.people.iter().enumerate() {
        for date in [truth.days.0, truth.days.1] {
            let halves = write_hours(pen, *person, truth.job.record, date);
            truth.cost_cents += halves * RATES_CENTS[index] / 2;
        }
    }
}

/// Writes hours of one person on one day; returns how many half hours.
fn write_hours(pen: &mut Pen<'_>, person: RecordId, job: RecordId, date: Date) -> i64 {
    let halves = i64::try_from(2 + pen.chance.below(16)).unwrap_or(2);
    let hours = Decimal::from_parts(i128::from(halves * 5), 1).expect("half hours");
    pen.write(
        "hours",
        &[
            ("person", Value::Record(person)),
            ("job", Value::Record(job)),
            ("date", Value::Date(date)),
            ("hours", Value::Decimal(hours)),
        ],
    );
    halves
}

fn write_receipts(pen: &mut Pen<'_>, counted: &mut Counted, shop: &Shop, truth: &mut Truth) {
    let is_new_door = if truth.before.wall.opening == truth.after.wall.opening {
        shop::IsNew::No
    } else {
        shop::IsNew::Yes
    };
    for basket in shop::baskets(&truth.after.wall, truth.area_ft2, is_new_door) {
        let label = label("P", &mut counted.receipts);
        let bought = shop.receipt(pen, truth.job.record, label, truth.days.0, &basket);
        truth.cost_cents += bought.total_cents;
        truth.receipts.push(bought);
    }
}

/// A task and a photo, each on every other job or so.
fn write_beside(pen: &mut Pen<'_>, counted: &mut Counted, truth: &mut Truth) {
    let rooms = truth.rooms.clone();
    let rooms = [rooms[0].as_str(), rooms[1].as_str()];
    if pen.chance.below(2) == 0 {
        let title = log::task(pen.chance, rooms, &truth.after.wall);
        let state = *pen.chance.pick(&["to-do", "doing", "done", "checked"]);
        let task = pen.write(
            "task",
            &[
                ("label", text(&label("K", &mut counted.tasks))),
                ("job", Value::Record(truth.job.record)),
                ("title", text(&title)),
                ("state", text(state)),
            ],
        );
        truth.tasks.push((task, title));
    }
    if pen.chance.below(2) == 0 {
        let caption = log::caption(pen.chance, rooms, &truth.after.wall);
        let mut hash = [0; 32];
        hash.chunks_mut(8).for_each(|part| part.copy_from_slice(&pen.chance.bits().to_le_bytes()));
        let bytes = i64::try_from(40_000 + pen.chance.below(4_000_000)).unwrap_or(0);
        let photo = pen.write(
            "photo",
            &[
                ("about", Value::Record(truth.after.assembly.record)),
                ("hash", Value::Hash(hash)),
                ("bytes", Value::Integer(bytes)),
                ("media_type", text("image/jpeg")),
                ("caption", text(&caption)),
            ],
        );
        truth.photos.push((photo, caption));
    }
}

#[cfg(test)]
mod tests;
