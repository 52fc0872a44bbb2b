//! What an answer can be narrowed by: filters as they are chosen, and their values with counts. Leaves out who counts.

use std::collections::BTreeMap;

use storypole_journal::RecordId;
use storypole_notebook::kinds::Site;
use storypole_notebook::{Book, KindSpec};

use crate::columns::KindSet;
use crate::facts::NameSet;
use crate::facts::names::name_at;
use crate::vocabulary::ConceptClass;

/// Filters as a person chose them, by the values that answers list. Of one filter any value counts.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Chosen {
    /// Kinds of records.
    pub kinds: Vec<String>,
    /// Sites, by label or id.
    pub sites: Vec<String>,
    /// Fills; `empty` for none.
    pub fills: Vec<String>,
    /// How the leaves are tied.
    pub frames: Vec<String>,
    /// States of the work.
    pub states: Vec<String>,
    /// Grades, `A` to `D`.
    pub grades: Vec<String>,
    /// Years.
    pub years: Vec<String>,
}

/// What an answer can be narrowed by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FilterName {
    /// Kind of record.
    Kind,
    /// Site.
    Site,
    /// Fill of the cavity.
    Fill,
    /// How the leaves are tied.
    Frame,
    /// State of the work.
    State,
    /// Grade of the result.
    Grade,
    /// Year.
    Year,
}

impl FilterName {
    /// The name as it is asked for.
    pub fn word(self) -> &'static str {
        match self {
            Self::Kind => "kind",
            Self::Site => "site",
            Self::Fill => "fill",
            Self::Frame => "frame",
            Self::State => "state",
            Self::Grade => "grade",
            Self::Year => "year",
        }
    }

    /// The name as a heading.
    pub fn title(self) -> &'static str {
        match self {
            Self::Kind => "Kind of record",
            Self::Site => "Site",
            Self::Fill => "Fill",
            Self::Frame => "Frame",
            Self::State => "State of the work",
            Self::Grade => "Grade",
            Self::Year => "Year",
        }
    }
}

/// One thing an answer can be narrowed by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Filter {
    /// Which.
    pub name: FilterName,
    /// Its values, most records first.
    pub values: Vec<FilterValue>,
}

/// One value an answer can be narrowed to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FilterValue {
    /// As it is asked for.
    pub value: String,
    /// In words.
    pub words: String,
    /// How many records it leaves, the other filters counted.
    pub count: usize,
    /// Whether it was chosen.
    pub is_chosen: bool,
}

/// Filters that mean something in this notebook. An empty one lets everything pass.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Resolved {
    pub(super) kinds: KindSet,
    pub(super) sites: Vec<RecordId>,
    pub(super) fills: NameSet,
    pub(super) frames: NameSet,
    pub(super) states: NameSet,
    pub(super) grades: Vec<char>,
    pub(super) years: Vec<i16>,
}

impl Resolved {
    /// Whether nothing is chosen.
    pub(super) fn is_nothing(&self) -> bool {
        *self == Self::default()
    }
}

/// A filter that means nothing in this notebook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownFilter {
    /// Which filter.
    pub name: FilterName,
    /// What was chosen.
    pub value: String,
    /// What may be chosen.
    pub known: Vec<String>,
}

impl UnknownFilter {
    /// That it was left out, in a sentence.
    pub fn words(&self) -> String {
        format!("No {} is called \"{}\" here; that filter was left out.", self.name.word(), self.value)
    }
}

/// What a filter may be narrowed to, whether any record has it or not.
fn known(name: FilterName, book: &Book) -> Vec<String> {
    let class = |class| {
        let names = (0..16).filter_map(move |place| name_at(class, place));
        names.map(str::to_owned).collect()
    };
    match name {
        FilterName::Kind => KindSet::ALL.names().map(str::to_owned).collect(),
        FilterName::Site => book.sites.live().filter_map(|site| site.label.clone()).collect(),
        FilterName::Fill => class(ConceptClass::Fill),
        FilterName::Frame => class(ConceptClass::Frame),
        FilterName::State => class(ConceptClass::State),
        FilterName::Grade => ["A", "B", "C", "D"].map(str::to_owned).to_vec(),
        FilterName::Year => vec!["a year such as 2025".to_owned()],
    }
}

/// Reads the chosen values; those that mean nothing here are left out and told.
pub(super) fn resolve(chosen: &Chosen, book: &Book) -> (Resolved, Vec<UnknownFilter>) {
    let mut unknown = Vec::new();
    let mut lost = |name: FilterName, value: &str| {
        unknown.push(UnknownFilter { name, value: value.to_owned(), known: known(name, book) });
    };
    let mut resolved = Resolved::default();
    for kind in &chosen.kinds {
        let one = KindSet::of([kind.as_str()]);
        if one.is_empty() { lost(FilterName::Kind, kind) } else { resolved.kinds = resolved.kinds.with(one) }
    }
    for site in &chosen.sites {
        match site_of(book, site) {
            Some(id) => resolved.sites.push(id),
            None => lost(FilterName::Site, site),
        }
    }
    for (name, class, values, set) in [
        (FilterName::Fill, ConceptClass::Fill, &chosen.fills, &mut resolved.fills),
        (FilterName::Frame, ConceptClass::Frame, &chosen.frames, &mut resolved.frames),
        (FilterName::State, ConceptClass::State, &chosen.states, &mut resolved.states),
    ] {
        for value in values {
            let one = NameSet::of(class, value);
            if one.is_empty() { lost(name, value) } else { *set = set.with(one) }
        }
    }
    for grade in &chosen.grades {
        match grade.to_uppercase().as_str() {
            letter @ ("A" | "B" | "C" | "D") => resolved.grades.extend(letter.chars()),
            _ => lost(FilterName::Grade, grade),
        }
    }
    for year in &chosen.years {
        match year.parse() {
            Ok(year) => resolved.years.push(year),
            Err(_) => lost(FilterName::Year, year),
        }
    }
    (resolved, unknown)
}

/// A site by id, label, name, or a word that only its name has.
fn site_of(book: &Book, named: &str) -> Option<RecordId> {
    let by_id = named.parse::<RecordId>().ok().filter(|id| book.sites.of(Some(*id)).is_some());
    let named = named.to_lowercase();
    let only = |is: &dyn Fn(&Site) -> bool| {
        let mut fitting = book.sites.live().filter(|site| is(site));
        let first = fitting.next();
        first.filter(|_| fitting.next().is_none()).map(|site| site.id)
    };
    let lower = |text: &Option<String>| text.as_deref().unwrap_or_default().to_lowercase();
    by_id
        .or_else(|| only(&|site| lower(&site.label) == named))
        .or_else(|| only(&|site| lower(&site.name) == named))
        .or_else(|| only(&|site| lower(&site.name).split_whitespace().any(|word| word == named)))
}

/// A kind as a heading over several records.
pub fn kind_title(kind: &str) -> &'static str {
    match kind {
        "assembly" => "Walls and other assemblies",
        "job" => "Jobs",
        "test" => "Tests",
        "set" => "Sets of readings",
        "entry" => "Day log",
        "receipt" => "Receipts",
        "material" => "Materials",
        "task" => "Tasks",
        "photo" => "Photos",
        "room" => "Rooms",
        "site" => "Sites",
        _ => KindSpec::find(kind).map_or("Other records", |kind| kind.name),
    }
}

/// A fill, frame or state in words.
pub fn name_words(class: ConceptClass, name: &str) -> String {
    match (class, name) {
        (ConceptClass::Frame, "open") => "one leaf missing".to_owned(),
        (ConceptClass::Frame, "single-wood") => "single wood studs".to_owned(),
        (ConceptClass::Frame, "single-steel-thin") => "thin steel studs".to_owned(),
        (ConceptClass::Frame, "single-steel-structural") => "structural steel studs".to_owned(),
        (ConceptClass::Frame, "resilient") => "resilient channel".to_owned(),
        (ConceptClass::Frame, "clip") => "clips".to_owned(),
        (ConceptClass::Frame, "staggered") => "staggered studs".to_owned(),
        (ConceptClass::Frame, "double") => "double studs".to_owned(),
        (ConceptClass::Fill, "empty") => "empty cavity".to_owned(),
        (ConceptClass::State, "boarded-a") => "boarded on one side".to_owned(),
        (ConceptClass::State, "boarded-both") => "boarded on both sides".to_owned(),
        (_, name) => name.replace('-', " "),
    }
}

/// How many records have each value of each filter.
#[derive(Debug, Default)]
pub(super) struct Counts {
    pub(super) kinds: BTreeMap<&'static str, usize>,
    pub(super) sites: BTreeMap<RecordId, usize>,
    pub(super) years: BTreeMap<i16, usize>,
    pub(super) fills: BTreeMap<&'static str, usize>,
    pub(super) frames: BTreeMap<&'static str, usize>,
    pub(super) states: BTreeMap<&'static str, usize>,
    /// `None` where grades were not looked at.
    pub(super) grades: Option<BTreeMap<char, usize>>,
}

impl Counts {
    /// The filters in the order they are shown; one without a choice is left out.
    pub(super) fn filters(&self, chosen: &Resolved, book: &Book) -> Vec<Filter> {
        let site_words = |site: &RecordId| {
            let record = book.sites.get(*site);
            let named = record.map(|site| [site.label.as_deref(), site.name.as_deref()]);
            named.into_iter().flatten().flatten().collect::<Vec<_>>().join(" ")
        };
        let site_value = |site: &RecordId| {
            book.sites.get(*site).and_then(|site| site.label.clone()).unwrap_or_else(|| site.to_string())
        };
        let grades: Vec<char> = chosen.grades.clone();
        let of_class = |name, class, counts: &BTreeMap<&'static str, usize>, set: NameSet| {
            let chosen: Vec<&'static str> = set.names(class).collect();
            let words = |value: &&'static str| name_words(class, value);
            filter(name, counts, &chosen, |value| (*value).to_owned(), words)
        };
        let kinds: Vec<&'static str> = chosen.kinds.names().collect();
        let kind_words = |kind: &&'static str| kind_title(kind).to_owned();
        let letter = |grade: &char| grade.to_string();
        let year = |year: &i16| year.to_string();
        let mut filters = vec![
            filter(FilterName::Kind, &self.kinds, &kinds, |kind| (*kind).to_owned(), kind_words),
            filter(FilterName::Site, &self.sites, &chosen.sites, site_value, site_words),
            of_class(FilterName::Fill, ConceptClass::Fill, &self.fills, chosen.fills),
            of_class(FilterName::Frame, ConceptClass::Frame, &self.frames, chosen.frames),
            of_class(FilterName::State, ConceptClass::State, &self.states, chosen.states),
        ];
        filters.extend(
            self.grades
                .as_ref()
                .map(|counts| filter(FilterName::Grade, counts, &grades, letter, |at| format!("grade {at}"))),
        );
        filters.push(filter(FilterName::Year, &self.years, &chosen.years, year, year));
        filters.retain(|filter| !filter.values.is_empty());
        filters
    }
}

fn filter<V: Ord + Clone>(
    name: FilterName,
    counts: &BTreeMap<V, usize>,
    chosen: &[V],
    value: impl Fn(&V) -> String,
    words: impl Fn(&V) -> String,
) -> Filter {
    let mut counts = counts.clone();
    for missing in chosen {
        // What is chosen is listed, so that it can be taken back.
        counts.entry(missing.clone()).or_default();
    }
    let mut values: Vec<FilterValue> = counts
        .iter()
        .map(|(of, count)| FilterValue {
            value: value(of),
            words: words(of),
            count: *count,
            is_chosen: chosen.contains(of),
        })
        .collect();
    if name == FilterName::Year {
        values.sort_by(|one, other| other.value.cmp(&one.value));
    } else if name != FilterName::Grade {
        values.sort_by_key(|value| std::cmp::Reverse(value.count));
    }
    Filter { name, values }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_filter_that_means_nothing_is_left_out_and_said() {
        let chosen = Chosen {
            kinds: vec!["job".into(), "castle".into()],
            sites: vec!["S9".into()],
            fills: vec!["cellulose".into(), "feathers".into()],
            grades: vec!["b".into(), "Z".into()],
            years: vec!["2025".into(), "soon".into()],
            ..Chosen::default()
        };
        let (resolved, unknown) = resolve(&chosen, &Book::default());
        let notes: Vec<String> = unknown.iter().map(UnknownFilter::words).collect();
        assert_eq!(resolved.kinds, KindSet::of(["job"]));
        assert_eq!((resolved.grades, resolved.years), (vec!['B'], vec![2025]));
        assert_eq!(resolved.fills, NameSet::of(ConceptClass::Fill, "cellulose"));
        assert_eq!(notes.len(), 5, "{notes:?}");
        assert!(notes.contains(&"No site is called \"S9\" here; that filter was left out.".to_owned()));
        let fill = unknown.iter().find(|one| one.name == FilterName::Fill).unwrap();
        assert!(fill.known.contains(&"cellulose".to_owned()) && fill.known.contains(&"empty".to_owned()));
        assert!(resolve(&Chosen::default(), &Book::default()).0.is_nothing());
    }

    #[test]
    fn values_that_are_chosen_stay_listed() {
        let counts = Counts { years: BTreeMap::from([(2024, 3), (2025, 9)]), ..Counts::default() };
        let chosen = Resolved { years: vec![2019], ..Resolved::default() };
        let filters = counts.filters(&chosen, &Book::default());
        let [years] = filters.as_slice() else { panic!("{filters:?}") };
        let shown: Vec<(&str, usize, bool)> =
            years.values.iter().map(|it| (it.value.as_str(), it.count, it.is_chosen)).collect();
        assert_eq!(shown, [("2025", 9, false), ("2024", 3, false), ("2019", 0, true)]);
    }
}
