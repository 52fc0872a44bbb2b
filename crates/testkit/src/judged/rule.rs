//! A rule over the truth: which records of a generated job a judge would want.

use jiff::civil::Date;
use serde_json::{Map, Value};
use storypole_journal::RecordId;

use super::facts::{Facts, of_kind};
use super::nothing_left;
use crate::houses::Truth;

/// A range; an end that is missing is open.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Within {
    /// Above this, itself left out.
    pub over: Option<f64>,
    /// Not below this.
    pub at_least: Option<f64>,
    /// Below this, itself left out.
    pub under: Option<f64>,
    /// Not above this.
    pub at_most: Option<f64>,
}

/// What must hold of a record. A field that is absent asks nothing; a number or name a record lacks fails what asks for it.
///
/// In JSON a range is an object, `"reduction_db": {"over": 6}`; words are a list of lists, `"words": [["drywall",
/// "plasterboard"], ["delivered"]]`: of each inner list one must begin a word of what the record says. All else is one text, or
/// a list of texts of which one must hold.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Rule {
    /// Kind of record: assembly, job, test, set, entry, receipt, task, photo, site or room.
    pub kind: String,
    /// Of assemblies and sets: `before` or `after`; both where not said.
    pub version: Option<String>,
    /// Fill as stored; `empty` for none, `any` for whatever fill.
    pub fill: Vec<String>,
    /// Fill it must not have.
    pub not_fill: Vec<String>,
    /// Coupling class as stored.
    pub frame: Vec<String>,
    /// Coupling class its studs would have with both leaves on; unlike `frame` it holds with a leaf off too.
    pub built_on: Vec<String>,
    /// Class of opening: none, boxes, door, window.
    pub opening: Vec<String>,
    /// Class of opening it must not have.
    pub not_opening: Vec<String>,
    /// State of the work as stored.
    pub state: Vec<String>,
    /// How much quieter the job made the wall, dB. A bound counts where the whole of what it leaves open lies in the range.
    pub reduction_db: Option<Within>,
    /// Grade of the comparison, this or better; of the wall before only where `version` asks for that.
    pub grade: Option<char>,
    /// Clear depth of the cavity, mm.
    pub clear_mm: Option<Within>,
    /// Thickness of the fill, mm.
    pub fill_mm: Option<Within>,
    /// Density of the fill, kg/m³.
    pub density_kg_m3: Option<Within>,
    /// Studs, centre to centre, mm.
    pub spacing_mm: Option<Within>,
    /// Depth of the studs, mm.
    pub stud_mm: Option<Within>,
    /// Boards on both sides together.
    pub boards: Option<Within>,
    /// Cost of the job by the face of its wall, $/ft².
    pub cost_per_ft2: Option<Within>,
    /// Of a job what it cost, of a receipt its total, $.
    pub cost: Option<Within>,
    /// Its day, this or later.
    pub since: Option<Date>,
    /// Its day, this or earlier.
    pub until: Option<Date>,
    /// Name of its site.
    pub site: Vec<String>,
    /// A room on either side of the wall.
    pub room: Vec<String>,
    /// Kind of entry of the day log.
    pub entry_kind: Vec<String>,
    /// What it says itself.
    pub words: Vec<Vec<String>>,
    /// What it must not say.
    pub not_words: Vec<Vec<String>>,
}

impl Rule {
    /// Reads a rule.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub fn read(mut fields: Map<String, Value>) -> Result<Self, String> {
        let kind = texts(&mut fields, "kind")?.pop().ok_or("a rule needs a kind of record")?;
        if !super::facts::KINDS.contains(&kind.as_str()) {
            return Err(format!("rules know no kind \"{kind}\""));
        }
        let rule = Self {
            kind,
            version: texts(&mut fields, "version")?.pop(),
            fill: texts(&mut fields, "fill")?,
            not_fill: texts(&mut fields, "not_fill")?,
            frame: texts(&mut fields, "frame")?,
            built_on: texts(&mut fields, "built_on")?,
            opening: texts(&mut fields, "opening")?,
            not_opening: texts(&mut fields, "not_opening")?,
            state: texts(&mut fields, "state")?,
            reduction_db: within(&mut fields, "reduction_db")?,
            grade: texts(&mut fields, "grade")?.pop().and_then(|grade| grade.chars().next()),
            clear_mm: within(&mut fields, "clear_mm")?,
            fill_mm: within(&mut fields, "fill_mm")?,
            density_kg_m3: within(&mut fields, "density_kg_m3")?,
            spacing_mm: within(&mut fields, "spacing_mm")?,
            stud_mm: within(&mut fields, "stud_mm")?,
            boards: within(&mut fields, "boards")?,
            cost_per_ft2: within(&mut fields, "cost_per_ft2")?,
            cost: within(&mut fields, "cost")?,
            since: day(&mut fields, "since")?,
            until: day(&mut fields, "until")?,
            site: texts(&mut fields, "site")?,
            room: texts(&mut fields, "room")?,
            entry_kind: texts(&mut fields, "entry_kind")?,
            words: words(&mut fields, "words")?,
            not_words: words(&mut fields, "not_words")?,
        };
        nothing_left(&fields)?;
        Ok(rule)
    }

    /// The records of a job that the rule holds for.
    pub fn records<'t>(&'t self, truth: &'t Truth) -> impl Iterator<Item = RecordId> + 't {
        of_kind(&self.kind, truth)
            .into_iter()
            .filter(|facts| self.holds(facts, truth))
            .map(|facts| facts.record)
    }

    fn holds(&self, facts: &Facts<'_>, truth: &Truth) -> bool {
        self.version.as_deref().is_none_or(|version| facts.version.is_none_or(|its| its == version))
            && self.wall_holds(facts)
            && self.job_holds(facts, truth)
            && self.words_hold(facts)
    }

    fn wall_holds(&self, facts: &Facts<'_>) -> bool {
        let asks_wall = [
            &self.fill,
            &self.not_fill,
            &self.frame,
            &self.built_on,
            &self.opening,
            &self.not_opening,
            &self.state,
        ]
        .iter()
        .any(|list| !list.is_empty());
        let ranges =
            [self.clear_mm, self.fill_mm, self.density_kg_m3, self.spacing_mm, self.stud_mm, self.boards];
        let Some(wall) = facts.wall else {
            return !asks_wall && ranges.iter().all(Option::is_none);
        };
        let fill = wall.fill.map_or("empty", |fill| fill.name);
        let has_fill = |list: &[String]| has(list, fill) || (wall.fill.is_some() && has(list, "any"));
        let fits = |range: Option<Within>, value: Option<u32>| {
            range.is_none_or(|range| value.is_some_and(|value| range.holds(f64::from(value))))
        };
        (self.fill.is_empty() || has_fill(&self.fill))
            && !has_fill(&self.not_fill)
            && (self.frame.is_empty() || has(&self.frame, wall.frame_class()))
            && (self.built_on.is_empty() || has(&self.built_on, wall.framing.class))
            && (self.opening.is_empty() || has(&self.opening, wall.opening.class))
            && !has(&self.not_opening, wall.opening.class)
            && (self.state.is_empty() || has(&self.state, wall.state))
            && fits(self.clear_mm, Some(wall.framing.clear_mm))
            && fits(self.fill_mm, wall.fill.map(|fill| fill.thickness_mm))
            && fits(self.density_kg_m3, wall.fill.map(|fill| fill.density_kg_m3))
            && fits(self.spacing_mm, Some(wall.spacing_mm))
            && fits(self.stud_mm, Some(wall.framing.depth_mm))
            && fits(self.boards, Some(u32::from(wall.boards_a + wall.boards_b)))
    }

    fn job_holds(&self, facts: &Facts<'_>, truth: &Truth) -> bool {
        let fits = |range: Option<Within>, value: Option<f64>| {
            range.is_none_or(|range| value.is_some_and(|value| range.holds(value)))
        };
        let reduction = truth.reduction().filter(|_| facts.version != Some("before"));
        let grade = truth.measured.as_ref().and_then(|measured| measured.grade);
        self.reduction_db.is_none_or(|range| reduction.is_some_and(|reached| range.holds_all(reached)))
            && self.grade.is_none_or(|worst| {
                let is_compared =
                    facts.version != Some("before") || self.version.as_deref() == Some("before");
                is_compared && grade.is_some_and(|grade| grade <= worst)
            })
            && fits(self.cost_per_ft2, truth.cost_per_ft2())
            && fits(self.cost, facts.cost)
            && self.since.is_none_or(|since| facts.date >= since)
            && self.until.is_none_or(|until| facts.date <= until)
            && (self.site.is_empty() || has(&self.site, &truth.site_name))
            && (self.room.is_empty() || truth.rooms.iter().any(|room| has(&self.room, room)))
            && (self.entry_kind.is_empty()
                || facts.entry_kind.is_some_and(|kind| has(&self.entry_kind, kind)))
    }

    fn words_hold(&self, facts: &Facts<'_>) -> bool {
        if self.words.is_empty() && self.not_words.is_empty() {
            return true;
        }
        let says = format!(" {}", facts.says.to_lowercase().replace(['-', ',', '.', ':', '?'], " "));
        let says_one = |any: &Vec<String>| any.iter().any(|word| says.contains(&format!(" {word}")));
        self.words.iter().all(says_one) && !self.not_words.iter().any(says_one)
    }
}

impl Within {
    fn holds(&self, value: f64) -> bool {
        self.over.is_none_or(|end| value > end)
            && self.at_least.is_none_or(|end| value >= end)
            && self.under.is_none_or(|end| value < end)
            && self.at_most.is_none_or(|end| value <= end)
    }

    /// Whether everything a number leaves open lies within: "at least 7" is over 6, and is not known to be under 9.
    fn holds_all(&self, reached: crate::houses::sound::Reached) -> bool {
        use crate::houses::sound::Sense;
        let (has_low, has_high) =
            (self.over.or(self.at_least).is_some(), self.under.or(self.at_most).is_some());
        let is_known = match reached.sense {
            Sense::Exact => true,
            Sense::AtLeast => !has_high,
            Sense::AtMost => !has_low,
        };
        is_known && self.holds(reached.db)
    }
}

fn has(list: &[String], name: &str) -> bool {
    list.iter().any(|one| one.eq_ignore_ascii_case(name))
}

/// One text, or a list of them; none where the field is absent.
fn texts(fields: &mut Map<String, Value>, name: &str) -> Result<Vec<String>, String> {
    fields.remove(name).map_or(Ok(Vec::new()), |value| texts_of(name, value))
}

fn texts_of(name: &str, value: Value) -> Result<Vec<String>, String> {
    match value {
        Value::String(text) => Ok(vec![text]),
        Value::Array(list) => Ok(list
            .into_iter()
            .map(|one| texts_of(name, one))
            .collect::<Result<Vec<_>, _>>()?
            .into_iter()
            .flatten()
            .collect()),
        other => Err(format!("{name} is no text: {other}")),
    }
}

fn words(fields: &mut Map<String, Value>, name: &str) -> Result<Vec<Vec<String>>, String> {
    match fields.remove(name) {
        None => Ok(Vec::new()),
        Some(Value::Array(groups)) => groups.into_iter().map(|group| texts_of(name, group)).collect(),
        Some(other) => Err(format!("{name} is no list: {other}")),
    }
}

fn within(fields: &mut Map<String, Value>, name: &str) -> Result<Option<Within>, String> {
    let mut ends = match fields.remove(name) {
        None => return Ok(None),
        Some(Value::Object(ends)) => ends,
        Some(other) => return Err(format!("{name} is no range: {other}")),
    };
    let mut end = |end: &str| -> Result<Option<f64>, String> {
        let Some(value) = ends.remove(end) else { return Ok(None) };
        value.as_f64().map(Some).ok_or_else(|| format!("{name} {end} is no number: {value}"))
    };
    let range = Within {
        over: end("over")?,
        at_least: end("at_least")?,
        under: end("under")?,
        at_most: end("at_most")?,
    };
    nothing_left(&ends)?;
    Ok(Some(range))
}

fn day(fields: &mut Map<String, Value>, name: &str) -> Result<Option<Date>, String> {
    let Some(value) = fields.remove(name) else { return Ok(None) };
    let day = value.as_str().and_then(|day| day.parse().ok());
    day.map(Some).ok_or_else(|| format!("{name} is no day: {value}"))
}
