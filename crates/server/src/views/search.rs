//! Past work by plain questions, how a question might go on, and walls built alike.

use axum::extract::{Path, State};
use axum::response::Response;
use serde::Deserialize;
use storypole_desk::view;
use storypole_notebook::KindSpec;
use storypole_notebook::kinds::KINDS;
use storypole_notebook::matching::MatchLevel;
use storypole_search::Patience;
use storypole_search::answer::{Chosen, Order, PageOf, Search, Typing};
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::{ask, look};
use crate::answer::{self, Asked};
use crate::extract::Query;
use crate::problem::Code;
use crate::wire;
use crate::wire::problem::{Unchanged, WithName, WithQuery};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(find)).routes(routes!(suggest)).routes(routes!(alike))
}

/// Most hits of a kind, and how many where nobody says.
const MOST: u32 = 100;
const USUAL: u32 = 5;
/// Hits of a page of one kind where nobody says.
const USUAL_OF_ONE: u32 = 20;
/// Most suggestions, and how many where nobody says.
const MOST_SUGGESTIONS: u32 = 20;
const USUAL_SUGGESTIONS: u32 = 8;

/// What to look for.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(try_from = "Vec<(String, String)>")]
#[into_params(parameter_in = Query)]
pub struct FindQuery {
    /// The question in plain words. `"a phrase"`, `-word` and comparisons such as `over 6 dB`, `at least 3.5 in`,
    /// `under $5 a square foot`, `since March`, `at the duplex` are understood.
    #[param(example = "cellulose over 3 dB")]
    words: String,
    /// `1` while the last word is still being typed.
    #[param(required = false)]
    typing: bool,
    /// Only records of this kind; may be given more than once, as every filter may.
    #[param(required = false)]
    kind: Vec<String>,
    /// Only at this site, by label or id.
    #[param(required = false)]
    site: Vec<String>,
    /// Only with this fill; `empty` for none.
    #[param(required = false)]
    fill: Vec<String>,
    /// Only with leaves tied like this.
    #[param(required = false)]
    frame: Vec<String>,
    /// Only in this state of the work.
    #[param(required = false)]
    state: Vec<String>,
    /// Only with a result of this grade.
    #[param(required = false)]
    grade: Vec<String>,
    /// Only of this year.
    #[param(required = false)]
    year: Vec<String>,
    /// `match`, `date` or `reduction`.
    #[param(required = false, default = "match")]
    sort: String,
    /// Most hits of each kind; 5 where nothing is said, 20 with `after`.
    #[param(required = false, minimum = 1, maximum = 100)]
    limit: Option<u32>,
    /// Where the page of a kind begins: `next` of the page before. Goes with exactly one `kind`.
    #[param(required = false)]
    after: Option<String>,
}

impl TryFrom<Vec<(String, String)>> for FindQuery {
    type Error = String;

    fn try_from(pairs: Vec<(String, String)>) -> Result<Self, String> {
        let mut query = Self { sort: "match".to_owned(), ..Self::default() };
        let mut once = std::collections::BTreeSet::new();
        for (name, value) in pairs {
            let list = match name.as_str() {
                "kind" => &mut query.kind,
                "site" => &mut query.site,
                "fill" => &mut query.fill,
                "frame" => &mut query.frame,
                "state" => &mut query.state,
                "grade" => &mut query.grade,
                "year" => &mut query.year,
                _ => {
                    if !once.insert(name.clone()) {
                        return Err(format!("{name} is given twice"));
                    }
                    query.single(&name, value)?;
                    continue;
                }
            };
            list.push(value);
        }
        if !once.contains("words") {
            return Err("words is missing: say what to look for".to_owned());
        }
        query.kind = query.kind.iter().map(|kind| known(kind)).collect::<Result<_, _>>()?;
        if query.after.is_some() && query.kind.len() != 1 {
            return Err("after goes with the one kind whose page it is: give exactly one kind".to_owned());
        }
        Ok(query)
    }
}

impl FindQuery {
    fn single(&mut self, name: &str, value: String) -> Result<(), String> {
        match name {
            "words" => self.words = value,
            "typing" => self.typing = value == "1",
            "sort" => self.sort = value,
            "after" => self.after = Some(value),
            "limit" => {
                let read =
                    value.parse().map_err(|_| format!("limit is \"{value}\"; it may be 1 to {MOST}"))?;
                self.limit = Some(read);
            }
            other => {
                return Err(format!(
                    "\"{other}\" means nothing here: words, typing, kind, site, fill, frame, state, grade, year, \
                     sort, limit and after do"
                ));
            }
        }
        Ok(())
    }

    fn search(&self) -> Result<Search, ApiError> {
        let order = Order::parse(&self.sort).ok_or_else(|| {
            let detail = format!("sort is \"{}\"; it may be match, date or reduction", self.sort);
            ApiError::new(Code::BadQuery, detail)
        })?;
        let usual = if self.after.is_some() { USUAL_OF_ONE } else { USUAL };
        let page = match (&self.after, self.kind.as_slice()) {
            (Some(_), [kind]) => {
                let after = ask::after(self.after.as_deref())?;
                after.map(|after| PageOf { kind: kind.clone(), after })
            }
            _ => None,
        };
        Ok(Search {
            text: self.words.clone(),
            typing: if self.typing { Typing::Open } else { Typing::Done },
            chosen: Chosen {
                kinds: self.kind.clone(),
                sites: self.site.clone(),
                fills: self.fill.clone(),
                frames: self.frame.clone(),
                states: self.state.clone(),
                grades: self.grade.clone(),
                years: self.year.clone(),
            },
            order,
            limit: ask::within(self.limit.unwrap_or(usual), MOST)?,
            page,
        })
    }
}

fn known(kind: &str) -> Result<String, String> {
    let spec = KindSpec::find(kind).ok_or_else(|| {
        let all: Vec<&str> = KINDS.iter().map(|kind| kind.name).collect();
        format!("there is no kind of record called \"{kind}\"; it may be one of: {}", all.join(", "))
    })?;
    Ok(spec.name.to_owned())
}

/// Past work by a plain question, kind by kind, with what it achieved and cost.
///
/// The answer says how the question was understood; what cannot be understood is searched as words. A filter that names
/// nothing is left out and said.
#[utoipa::path(get, path = "/api/find", operation_id = "get_find", tag = "findings", params(FindQuery),
    responses((status = 200, description = "What is found.",
        body = wire::find::Found), WithQuery))]
pub async fn find(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<FindQuery>,
) -> Result<Response, ApiError> {
    let day = asked.day();
    // It depends on how far the index is, and on the crew's own words.
    answer::anew(&app, move |desk| Ok(desk.find(&query.search()?, day, Patience::Answer)?.json())).await
}

/// What was typed so far.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct SuggestQuery {
    /// The question so far.
    #[param(example = "cell")]
    typed: String,
    /// Most suggestions.
    #[serde(default = "usual_suggestions")]
    #[param(required = false, minimum = 1, maximum = 20, default = 8)]
    limit: u32,
}

fn usual_suggestions() -> u32 {
    USUAL_SUGGESTIONS
}

/// How a question that is being typed might go on.
#[utoipa::path(get, path = "/api/find/suggest", operation_id = "get_find_suggest", tag = "findings",
    params(SuggestQuery),
    responses((status = 200, description = "How it might go on.",
        body = wire::find::Suggested), WithQuery))]
pub async fn suggest(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<SuggestQuery>,
) -> Result<Response, ApiError> {
    let day = asked.day();
    answer::anew(&app, move |desk| {
        let suggestions = desk.suggest(&query.typed, ask::within(query.limit, MOST_SUGGESTIONS)?, day)?;
        Ok(view::found::suggested(&query.typed, &suggestions))
    })
    .await
}

/// How alike.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct AlikeQuery {
    /// `same`, `near` or `family`.
    #[serde(default)]
    #[param(required = false, default = "near")]
    level: Option<String>,
    /// Most walls.
    #[serde(default)]
    #[param(required = false, minimum = 1, maximum = 100, default = 20)]
    limit: Option<u32>,
    /// Where the page begins: `next` of the page before.
    #[serde(default)]
    #[param(required = false)]
    after: Option<String>,
}

/// Walls built like one wall, either way round, with what differs.
#[utoipa::path(get, path = "/api/find/alike/{assembly}", operation_id = "get_find_alike", tag = "findings",
    params(("assembly" = String, Path, description = "Label or id of an assembly.", example = "A10"), AlikeQuery),
    responses((status = 200, description = "The walls, most alike first.",
        body = wire::find::BuiltAlike), Unchanged, WithName))]
pub async fn alike(
    State(app): State<App>,
    asked: Asked,
    Path(assembly): Path<String>,
    Query(query): Query<AlikeQuery>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let level = match query.level.as_deref() {
            None => MatchLevel::Near,
            Some(word) => view::alike::level(word).ok_or_else(|| {
                let detail = format!("level is \"{word}\"; it may be same, near or family");
                ApiError::new(Code::BadQuery, detail)
            })?,
        };
        let limit = ask::within(query.limit.unwrap_or(USUAL_OF_ONE), MOST)?;
        let after: Option<usize> = ask::after(query.after.as_deref())?;
        let wall = look::named(desk, "assembly", &assembly)?;
        Ok(desk.alike(wall, level, (after.unwrap_or(0), limit))?.json())
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pairs(text: &[(&str, &str)]) -> Vec<(String, String)> {
        text.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
    }

    #[test]
    fn filters_may_be_named_many_times_words_once() {
        let read = FindQuery::try_from(pairs(&[
            ("words", "foam"),
            ("kind", "job"),
            ("kind", "receipt"),
            ("site", "S2"),
            ("year", "2025"),
        ]));
        let search = read.unwrap().search().unwrap();
        assert_eq!(search.chosen.kinds, ["job", "receipt"]);
        assert_eq!((search.limit, search.chosen.sites.len(), search.order), (5, 1, Order::Match));
        for (asked, said) in [
            (pairs(&[]), "words is missing"),
            (pairs(&[("words", "a"), ("words", "b")]), "given twice"),
            (pairs(&[("words", "a"), ("kind", "wall")]), "one of: notebook"),
            (pairs(&[("words", "a"), ("limit", "many")]), "1 to 100"),
            (pairs(&[("words", "a"), ("page", "2")]), "means nothing here"),
            (pairs(&[("words", "a"), ("after", "1.2")]), "exactly one kind"),
        ] {
            let refused = FindQuery::try_from(asked).unwrap_err();
            assert!(refused.contains(said), "{refused}");
        }
    }
}
