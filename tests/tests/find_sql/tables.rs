//! What records show, in plain tables: filled from records, ledger and findings, one number after another, and settled by SQL.
//!
//! Which number stands for which record is said here a second time, in SQL, so that it does not rest on how the search puts it.
//! Leaves out words: fills, frames and states are no comparisons.

use jiff::civil::Date;
use rusqlite::{Connection, params};
use storypole_findings::across::{Measure, Row, Span};
use storypole_findings::{Change, Estimate, Findings, Sense};
use storypole_journal::{RecordId, WrittenAt};
use storypole_ledger::all_jobs;
use storypole_notebook::assembly::{Cavity, Frame, Milli};
use storypole_notebook::kinds::Assembly;
use storypole_notebook::matching::Parts;
use storypole_notebook::{Book, Meta, Unit};
use storypole_units::Money;

const TABLES: &str = "
    CREATE TABLE record (id TEXT PRIMARY KEY, kind TEXT, struck INT, own_day TEXT, at_ms INT, offset_min INT,
        own_site TEXT, job TEXT, room_a TEXT, room_b TEXT, about TEXT, day TEXT, site TEXT);
    CREATE TABLE wall (id TEXT PRIMARY KEY, job TEXT, replaces TEXT, panel INT, depth_mm INT, spacing_mm INT, density REAL);
    CREATE TABLE wall_of (owner TEXT, wall TEXT);
    CREATE TABLE money (job TEXT PRIMARY KEY, net REAL, per_ft2 REAL);
    CREATE TABLE row_of_wall (no INTEGER PRIMARY KEY, measure TEXT, wall TEXT, job TEXT, a_weighted INT, before TEXT,
        same_state INT, whole INT, db REAL, sense TEXT, grade TEXT);
    CREATE TABLE headline (owner TEXT PRIMARY KEY, db REAL, sense TEXT, grade TEXT, to_set TEXT, of_one_job INT);
    CREATE TABLE of_set (id TEXT PRIMARY KEY, db REAL, sense TEXT, grade TEXT);
    CREATE TABLE own (id TEXT PRIMARY KEY, cost REAL, label_r REAL);
    CREATE TABLE fact (id TEXT PRIMARY KEY, reduction REAL, reduction_sense TEXT, difference REAL, difference_sense TEXT,
        grade TEXT, cost REAL, per_ft2 REAL, label_r REAL);
    CREATE INDEX wall_of_owner ON wall_of (owner);
    CREATE INDEX wall_by_replaced ON wall (replaces);
    CREATE INDEX row_by_wall ON row_of_wall (wall);
";

/// Site and day of each record; rooms, sites and materials have none, as they were only written down some day. A photo is where and when the record it is pinned to is, if it says nothing itself.
const PLACES: &str = "
    UPDATE record SET job = id WHERE kind = 'job';
    UPDATE record SET job = (SELECT about.job FROM record about WHERE about.id = record.about) WHERE about IS NOT NULL;
    UPDATE record SET
        day = CASE WHEN kind IN ('room', 'site', 'material') THEN NULL
            ELSE coalesce(own_day, date(at_ms / 1000 + 60 * offset_min, 'unixepoch')) END,
        site = coalesce(own_site,
            (SELECT job.own_site FROM record job WHERE job.id = record.job),
            (SELECT room.own_site FROM record room WHERE room.id = record.room_a),
            (SELECT room.own_site FROM record room WHERE room.id = record.room_b));
    UPDATE record SET site = coalesce(site, (SELECT about.site FROM record about WHERE about.id = record.about));
";

/// Which number stands for which record.
///
/// Of the rows that show a wall: readings in dBA before others, those of the job that built it before other jobs'. Of changes
/// the one from the version it replaced, where the work stood the same; then the whole of a job; then a step from the replaced
/// version. Then the better grade, then the later. A job has its own change, else that of the jobs it belongs to; a test the
/// change that answers it; both have the level difference of that change's last set; a set its own. The grade is that of the
/// reduction, else of the level difference. A test of several jobs has no cost for its area, as no one of them paid for it; nor has
/// a wall as its job found it, which a later version of that job replaces.
const FACTS: &str = "
    WITH way AS (
        SELECT row_of_wall.*, row_number() OVER (
            PARTITION BY row_of_wall.wall, measure
            ORDER BY a_weighted DESC, coalesce(row_of_wall.job = wall.job, 0) DESC,
                CASE WHEN measure = 'level' THEN 0
                     WHEN before = wall.replaces AND same_state THEN 3
                     WHEN whole THEN 2
                     WHEN before = wall.replaces THEN 1
                     ELSE 0 END DESC,
                row_of_wall.grade, no DESC) AS place
        FROM row_of_wall JOIN wall ON wall.id = row_of_wall.wall)
    INSERT INTO fact (id, reduction, reduction_sense, difference, difference_sense, grade)
    SELECT wall.id, change.db, change.sense, level.db, level.sense, coalesce(change.grade, level.grade)
        FROM wall
        LEFT JOIN way change ON change.wall = wall.id AND change.measure = 'change' AND change.place = 1
        LEFT JOIN way level ON level.wall = wall.id AND level.measure = 'level' AND level.place = 1
    UNION ALL
    SELECT owner, headline.db, headline.sense, of_set.db, of_set.sense,
            CASE WHEN headline.db IS NULL THEN of_set.grade ELSE headline.grade END
        FROM headline LEFT JOIN of_set ON of_set.id = headline.to_set
    UNION ALL
    SELECT id, NULL, NULL, db, sense, grade FROM of_set;
    INSERT OR IGNORE INTO fact (id) SELECT id FROM record;
    UPDATE fact SET
        cost = (SELECT own.cost FROM own WHERE own.id = fact.id),
        label_r = (SELECT own.label_r FROM own WHERE own.id = fact.id),
        per_ft2 = (SELECT money.per_ft2 FROM record JOIN money ON money.job = record.job
            WHERE record.id = fact.id AND record.kind IN ('assembly', 'job', 'test', 'set')
                AND EXISTS (SELECT 1 FROM wall WHERE wall.job = money.job AND NOT wall.panel)
                AND NOT (record.kind IN ('assembly', 'set') AND EXISTS (SELECT 1 FROM wall found
                    WHERE found.id IN (SELECT record.id UNION SELECT wall FROM wall_of WHERE owner = record.id)
                    AND EXISTS (SELECT 1 FROM wall later WHERE later.replaces = found.id AND later.job = found.job)
                    AND NOT EXISTS (SELECT 1 FROM wall earlier WHERE earlier.id = found.replaces AND earlier.job = found.job)))
                AND NOT (record.kind = 'test' AND record.id IN (SELECT owner FROM headline WHERE NOT of_one_job)));
    UPDATE fact SET cost = (SELECT money.net FROM money WHERE money.job = fact.id)
        WHERE id IN (SELECT id FROM record WHERE kind = 'job');
    INSERT INTO wall_of SELECT id, id FROM wall;
    INSERT INTO wall_of SELECT job, id FROM wall WHERE job IS NOT NULL;
";

/// Tables of a notebook.
pub fn tables(book: &Book, findings: &Findings<'_>) -> Connection {
    let sql = Connection::open_in_memory().unwrap();
    sql.execute_batch(TABLES).unwrap();
    let writing = sql.unchecked_transaction().unwrap();
    let writer = Writer { sql: &writing, book, findings };
    writer.records();
    writer.walls();
    writer.results();
    writer.money();
    writing.execute_batch(PLACES).unwrap();
    writing.execute_batch(FACTS).unwrap();
    writing.commit().unwrap();
    sql
}

struct Writer<'w> {
    sql: &'w Connection,
    book: &'w Book,
    findings: &'w Findings<'w>,
}

/// What a record says of its day and place.
#[derive(Default)]
struct Said {
    day: Option<Date>,
    at: Option<WrittenAt>,
    site: Option<RecordId>,
    job: Option<RecordId>,
    rooms: [Option<RecordId>; 2],
    about: Option<RecordId>,
}

impl Writer<'_> {
    fn insert(&self, sql: &str, values: impl rusqlite::Params) {
        self.sql.prepare_cached(sql).unwrap().execute(values).unwrap();
    }

    fn record(&self, kind: &str, id: RecordId, meta: &Meta, said: Said) {
        let at = said.at.or(meta.written_at);
        self.insert(
            "INSERT INTO record (id, kind, struck, own_day, at_ms, offset_min, own_site, job, room_a, room_b, about)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
            params![
                id.to_string(),
                kind,
                meta.struck.is_some(),
                said.day.map(|day| day.to_string()),
                at.map(|at| at.unix_ms),
                at.map(|at| at.offset_min),
                text(said.site),
                text(said.job),
                text(said.rooms[0]),
                text(said.rooms[1]),
                text(said.about),
            ],
        );
    }

    fn records(&self) {
        let book = self.book;
        for one in book.sites.all() {
            self.record("site", one.id, &one.meta, Said { site: Some(one.id), ..Said::default() });
        }
        for one in book.rooms.all() {
            self.record("room", one.id, &one.meta, Said { site: one.site, ..Said::default() });
        }
        for one in book.jobs.all() {
            let day = one.finished.or(one.started);
            self.record("job", one.id, &one.meta, Said { day, site: one.site, ..Said::default() });
        }
        for one in book.assemblies.all() {
            let rooms = [one.room_a, one.room_b];
            let said = Said { day: one.since, job: one.job, rooms, ..Said::default() };
            self.record("assembly", one.id, &one.meta, said);
        }
        for one in book.tests.all() {
            self.record(
                "test",
                one.id,
                &one.meta,
                Said { day: one.planned, job: one.job, ..Said::default() },
            );
        }
        for one in book.sets.all() {
            let rooms = [one.from_room, one.to_room];
            self.record(
                "set",
                one.id,
                &one.meta,
                Said { day: one.date, job: one.job, rooms, ..Said::default() },
            );
        }
        for one in book.receipts.all() {
            self.record(
                "receipt",
                one.id,
                &one.meta,
                Said { day: one.date, job: one.job, ..Said::default() },
            );
        }
        for one in book.materials.all() {
            self.record("material", one.id, &one.meta, Said::default());
        }
        self.records_without_facts();
    }

    fn records_without_facts(&self) {
        let book = self.book;
        for one in book.entries.all() {
            let rooms = [one.room, None];
            let said = Said { day: one.date, site: one.site, job: one.job, rooms, ..Said::default() };
            self.record("entry", one.id, &one.meta, said);
        }
        for one in book.tasks.all() {
            let rooms = [one.room, None];
            self.record(
                "task",
                one.id,
                &one.meta,
                Said { day: one.due, job: one.job, rooms, ..Said::default() },
            );
        }
        for one in book.photos.all() {
            let said = Said { at: one.taken_at, about: one.about, ..Said::default() };
            self.record("photo", one.id, &one.meta, said);
        }
    }

    fn walls(&self) {
        for wall in self.book.assemblies.live() {
            let [depth_mm, spacing_mm] = lengths(wall).map(|length| length.map(whole_mm));
            let panel = wall.element.as_deref() == Some("panel");
            self.insert(
                "INSERT INTO wall VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                params![
                    wall.id.to_string(),
                    text(wall.job),
                    text(wall.replaces),
                    panel,
                    depth_mm,
                    spacing_mm,
                    density(wall)
                ],
            );
        }
        // A set is of one wall, a test of those of its sets.
        for set in self.book.sets.live() {
            for owner in [Some(set.id), set.test].into_iter().flatten() {
                self.insert(
                    "INSERT INTO wall_of SELECT ?1, id FROM wall WHERE id = ?2",
                    params![owner.to_string(), text(set.assembly)],
                );
            }
        }
    }

    fn results(&self) {
        let findings = self.findings;
        for (measure, name) in [(Measure::Change, "change"), (Measure::Level, "level")] {
            findings.rows(measure).iter().for_each(|row| self.row(name, row));
        }
        for job in self.book.jobs.live() {
            let found = findings.job(job.id);
            let own = found.as_ref().and_then(|found| found.own());
            self.headline(job.id, own.or_else(|| found.as_ref()?.headline()));
        }
        for test in self.book.tests.live() {
            let found = findings.test(test.id).filter(|found| found.measures == "level-difference");
            let found = found.filter(|_| test.bench_rig != Some(true));
            self.headline(test.id, found.as_ref().and_then(|found| found.headline()));
        }
        for set in self.book.sets.live() {
            self.set(set.id);
        }
    }

    fn row(&self, measure: &str, row: &Row) {
        let before = row.before.as_ref();
        self.insert(
            "INSERT INTO row_of_wall (measure, wall, job, a_weighted, before, same_state, whole, db, sense, grade)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
            params![
                measure,
                row.after.assembly.to_string(),
                text(row.job),
                row.unit == Some(Unit::DbA),
                before.map(|before| before.assembly.to_string()),
                before.is_some_and(|before| before.state == row.after.state),
                row.span == Span::Whole,
                row.value.value,
                sense(&row.value),
                row.grade.to_string(),
            ],
        );
    }

    fn headline(&self, owner: RecordId, change: Option<&Change>) {
        let Some(change) = change else { return };
        self.insert(
            "INSERT INTO headline VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![
                owner.to_string(),
                change.value.map(|value| value.value),
                change.value.as_ref().map(sense),
                change.grade.letter.to_string(),
                change.to.set.to_string(),
                change.from.job == change.to.job,
            ],
        );
    }

    /// The level difference of a set, as long as it is in results and not of a bench rig or of another quantity.
    fn set(&self, id: RecordId) {
        let Some(found) = self.findings.set(id).filter(|found| found.is_in()) else { return };
        let Some(test) = self.book.tests.of(found.test) else { return };
        let is_level = test.measures.as_deref().is_none_or(|measures| measures == "level-difference");
        let stands = is_level && test.bench_rig != Some(true) && test.meta.struck.is_none();
        let (Some(level), Some(row)) = (found.level_difference, self.findings.row_of_set(id)) else { return };
        if stands {
            self.insert(
                "INSERT INTO of_set VALUES (?1, ?2, ?3, ?4)",
                params![id.to_string(), level.value, sense(&level), row.grade.to_string()],
            );
        }
    }

    fn money(&self) {
        for row in all_jobs(self.book).rows {
            let Some(job) = row.job else { continue };
            self.insert(
                "INSERT INTO money VALUES (?1, ?2, ?3)",
                params![job.to_string(), amount(row.net), row.per_ft2.map(amount)],
            );
        }
        for receipt in self.book.receipts.live() {
            let cost = receipt.printed_total.map(amount);
            self.insert("INSERT INTO own VALUES (?1, ?2, NULL)", params![receipt.id.to_string(), cost]);
        }
        for material in self.book.materials.live() {
            let label_r = material.label_r.map(|label_r| label_r.to_f64());
            self.insert("INSERT INTO own VALUES (?1, NULL, ?2)", params![material.id.to_string(), label_r]);
        }
    }
}

fn text(id: Option<RecordId>) -> Option<String> {
    id.map(|id| id.to_string())
}

fn sense(value: &Estimate) -> &'static str {
    match value.bound {
        Sense::Exact => "exact",
        Sense::AtLeast => "at-least",
        Sense::AtMost => "at-most",
        Sense::Undetermined => "undetermined",
    }
}

fn amount(money: Money) -> f64 {
    assert_eq!(money.currency.to_string(), "USD", "all prices of these notebooks are in one currency");
    money.amount.to_f64()
}

/// Clear depth of the cavity, else the thickness of the fill; studs, centre to centre.
fn lengths(wall: &Assembly) -> [Option<Milli>; 2] {
    let Ok(parts) = Parts::of(wall) else { return [None, None] };
    let depth = match &parts.cavity {
        Cavity::Space { clear_mm: Some(clear_mm), .. } => Some(*clear_mm),
        Cavity::Space { clear_mm: None, fill: Some(fill) } => Some(fill.thickness_mm),
        _ => None,
    };
    let spacing = match &parts.frame {
        Frame::Studs { studs, .. } => Some(studs.spacing_mm),
        _ => None,
    };
    [depth, spacing]
}

fn density(wall: &Assembly) -> Option<f64> {
    let parts = Parts::of(wall).ok()?;
    let Cavity::Space { fill: Some(fill), .. } = &parts.cavity else { return None };
    fill.density_kg_m3.map(Milli::to_f64)
}

/// Half up.
fn whole_mm(thousandths: Milli) -> i64 {
    (thousandths.0 + 500) / 1000
}
