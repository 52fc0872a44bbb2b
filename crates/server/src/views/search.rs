//! Past work by words.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use storypole_desk::view;
use storypole_desk::view::achieved::{Achieved, achieved};
use storypole_ledger::all_jobs;
use storypole_notebook::KindSpec;
use storypole_notebook::kinds::KINDS;
use storypole_search::{Hit, Query as Words};
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::{ask, look};
use crate::answer::{self, Asked};
use crate::extract::Query;
use crate::wire;
use crate::wire::problem::{Unchanged, WithQuery};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(find))
}

/// Most hits, and how many where nobody says.
const MOST: u32 = 100;
const USUAL: u32 = 20;

/// What to look for.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(try_from = "Vec<(String, String)>")]
#[into_params(parameter_in = Query)]
pub struct FindQuery {
    /// The words: all must stand there. `"a phrase"` and `-word` are understood.
    #[param(example = "cellulose")]
    words: String,
    /// Only records of this kind; may be given more than once.
    #[param(required = false)]
    kind: Vec<String>,
    /// Most hits.
    #[param(required = false, minimum = 1, maximum = 100, default = 20)]
    limit: u32,
}

impl TryFrom<Vec<(String, String)>> for FindQuery {
    type Error = String;

    fn try_from(pairs: Vec<(String, String)>) -> Result<Self, String> {
        let (mut words, mut limit, mut kinds) = (None, None, Vec::new());
        for (name, value) in pairs {
            match name.as_str() {
                "words" if words.is_none() => words = Some(value),
                "limit" if limit.is_none() => {
                    let read = value.parse::<u32>();
                    limit = Some(read.map_err(|_| format!("limit is \"{value}\"; it may be 1 to {MOST}"))?);
                }
                "kind" => kinds.push(known(&value)?),
                "words" | "limit" => return Err(format!("{name} is given twice")),
                other => return Err(format!("\"{other}\" means nothing here: words, kind and limit do")),
            }
        }
        let words = words.ok_or("words is missing: say what to look for")?;
        Ok(Self { words, kind: kinds, limit: limit.unwrap_or(USUAL) })
    }
}

fn known(kind: &str) -> Result<String, String> {
    let spec = KindSpec::find(kind).ok_or_else(|| {
        let all: Vec<&str> = KINDS.iter().map(|kind| kind.name).collect();
        format!("there is no kind of record called \"{kind}\"; it may be one of: {}", all.join(", "))
    })?;
    Ok(spec.name.to_owned())
}

/// Past work by words, with what it achieved and cost, best first.
#[utoipa::path(get, path = "/api/find", operation_id = "get_find", tag = "findings", params(FindQuery),
    responses((status = 200, description = "What is found.",
        body = wire::find::Found), Unchanged, WithQuery))]
pub async fn find(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<FindQuery>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let limit = ask::within(query.limit, MOST)?;
        let kinds = (!query.kind.is_empty()).then(|| query.kind.clone());
        let hits = desk.find(&Words { words: query.words.clone(), kinds, limit })?;
        look::findings(desk, |book, findings| {
            let jobs = all_jobs(book);
            let beside = |hit: Hit| {
                let beside = achieved(book, findings, &jobs, &hit.kind, hit.record);
                (hit, beside)
            };
            let found: Vec<(Hit, Achieved)> = hits.into_iter().map(beside).collect();
            Ok(view::found::json(book, &query.words, &found))
        })
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_may_be_named_many_times_words_once() {
        let pairs = |text: &[(&str, &str)]| -> Vec<(String, String)> {
            text.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
        };
        let read = FindQuery::try_from(pairs(&[("words", "foam"), ("kind", "job"), ("kind", "receipt")]));
        let read = read.unwrap();
        assert_eq!((read.kind.as_slice(), read.limit), (&["job".to_owned(), "receipt".to_owned()][..], 20));
        for (asked, said) in [
            (pairs(&[]), "words is missing"),
            (pairs(&[("words", "a"), ("words", "b")]), "given twice"),
            (pairs(&[("words", "a"), ("kind", "wall")]), "one of: notebook"),
            (pairs(&[("words", "a"), ("limit", "many")]), "1 to 100"),
            (pairs(&[("words", "a"), ("page", "2")]), "means nothing here"),
        ] {
            let refused = FindQuery::try_from(asked).unwrap_err();
            assert!(refused.contains(said), "{refused}");
        }
    }
}
