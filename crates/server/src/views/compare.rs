//! Results side by side.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use storypole_desk::view;
use storypole_desk::view::compare::NotCompared;
use storypole_findings::Axis;
use storypole_findings::across::Measure;
use storypole_findings::question::Question;
use storypole_notebook::matching::MatchLevel;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::look;
use crate::answer::{self, Asked};
use crate::extract::Query;
use crate::problem::Code;
use crate::wire;
use crate::wire::problem::{Anywhere, Unchanged, WithName, WithQuery};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(fills))
        .routes(routes!(couplings))
        .routes(routes!(jobs))
        .routes(routes!(walls))
        .routes(routes!(question))
        .routes(routes!(side_by_side))
}

/// Walls and bench rigs by what fills them.
#[utoipa::path(get, path = "/api/compare/fills", operation_id = "get_compare_fills", tag = "findings",
    responses((status = 200, description = "The comparison.",
        body = wire::compare::Comparison), Unchanged, Anywhere))]
pub async fn fills(State(app): State<App>, asked: Asked) -> Result<Response, ApiError> {
    by(&app, asked, Axis::Fill).await
}

/// Walls by how their leaves are tied together.
#[utoipa::path(get, path = "/api/compare/couplings", operation_id = "get_compare_couplings", tag = "findings",
    responses((status = 200, description = "The comparison.",
        body = wire::compare::Comparison), Unchanged, Anywhere))]
pub async fn couplings(State(app): State<App>, asked: Asked) -> Result<Response, ApiError> {
    by(&app, asked, Axis::Coupling).await
}

async fn by(app: &App, asked: Asked, axis: Axis) -> Result<Response, ApiError> {
    answer::view(app, asked, move |desk| {
        look::findings(desk, |book, findings| Ok(view::compare::axis(book, findings, axis)))
    })
    .await
}

/// One row for each job and assembly.
#[utoipa::path(get, path = "/api/compare/jobs", operation_id = "get_compare_jobs", tag = "findings",
    responses((status = 200, description = "The rows.",
        body = wire::compare::AcrossJobs), Unchanged, Anywhere))]
pub async fn jobs(State(app): State<App>, asked: Asked) -> Result<Response, ApiError> {
    answer::view(&app, asked, |desk| look::findings(desk, |_, findings| Ok(view::compare::jobs(findings))))
        .await
}

/// Which walls count together.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct WallsQuery {
    /// Changes by rebuilds, or level differences of walls.
    #[param(inline, required = false)]
    measure: Option<wire::across::MeasureWord>,
    /// How alike walls are that count together.
    #[param(inline, required = false)]
    alike: Option<wire::across::Alike>,
}

/// What kinds of walls gave over the jobs: average, next job, cost, and what was left out.
#[utoipa::path(get, path = "/api/compare/walls", operation_id = "get_compare_walls", tag = "findings", params(WallsQuery),
    responses((status = 200, description = "Kind by kind.",
        body = wire::across::Walls), Unchanged, WithQuery))]
pub async fn walls(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<WallsQuery>,
) -> Result<Response, ApiError> {
    let measure = match query.measure {
        None | Some(wire::across::MeasureWord::Change) => Measure::Change,
        Some(wire::across::MeasureWord::LevelDifference) => Measure::Level,
    };
    let level = match query.alike {
        Some(wire::across::Alike::Same) => MatchLevel::Same,
        None | Some(wire::across::Alike::Near) => MatchLevel::Near,
        Some(wire::across::Alike::Family) => MatchLevel::Family,
    };
    answer::view(&app, asked, move |desk| {
        look::findings(desk, |book, findings| Ok(view::across::json(book, &findings.across(measure, level))))
    })
    .await
}

/// A question in plain words.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct QuestionQuery {
    /// The question.
    #[param(
        min_length = 1,
        max_length = 1000,
        example = "cellulose against glass fibre in 2x4 walls, boarded"
    )]
    words: String,
}

/// Most letters of a question.
const MOST_LETTERS: usize = 1_000;

/// Answers a question about kinds of walls: the interval of the difference and a verdict, never a bare ranking.
#[utoipa::path(get, path = "/api/compare/question", operation_id = "get_compare_question", tag = "findings",
    params(QuestionQuery),
    responses((status = 200, description = "The answer.",
        body = wire::question::Answer), Unchanged, WithQuery))]
pub async fn question(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<QuestionQuery>,
) -> Result<Response, ApiError> {
    if query.words.chars().count() > MOST_LETTERS {
        return Err(ApiError::new(Code::BadQuery, format!("a question has at most {MOST_LETTERS} letters"))
            .next("ask in one sentence"));
    }
    let question = Question::parse(&query.words).map_err(|error| {
        ApiError::because(Code::BadQuery, &error)
            .next("name two kinds of walls, with \"against\" between them")
    })?;
    answer::view(&app, asked, move |desk| {
        look::findings(desk, |book, findings| Ok(view::question::json(book, &findings.ask(&question))))
    })
    .await
}

/// What to put side by side.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(try_from = "Vec<(String, String)>")]
#[into_params(parameter_in = Query)]
pub struct SideBySideQuery {
    /// A set or an assembly, by label, id or `kind:label`; named once for each.
    #[param(min_items = 1, max_items = 50)]
    of: Vec<String>,
}

/// Most records side by side.
const MOST: usize = 50;

impl TryFrom<Vec<(String, String)>> for SideBySideQuery {
    type Error = String;

    fn try_from(pairs: Vec<(String, String)>) -> Result<Self, String> {
        let mut of = Vec::new();
        for (name, value) in pairs {
            match name.as_str() {
                "of" => of.push(value),
                other => return Err(format!("\"{other}\" means nothing here: only of does")),
            }
        }
        match of.len() {
            1..=MOST => Ok(Self { of }),
            count => Err(format!("of is given {count} times; it may be given 1 to {MOST} times")),
        }
    }
}

/// Sets and walls side by side, and the changes between them.
#[utoipa::path(get, path = "/api/compare", operation_id = "get_compare", tag = "findings", params(SideBySideQuery),
    responses((status = 200, description = "Side by side.",
        body = wire::compare::SideBySide), Unchanged, WithName))]
pub async fn side_by_side(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<SideBySideQuery>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let named = query.of.iter().map(|name| look::anything(desk, name)).collect::<Result<Vec<_>, _>>()?;
        look::findings(desk, |book, findings| {
            view::compare::of(book, findings, &named).map_err(|error| refused(&error))
        })
    })
    .await
}

fn refused(error: &NotCompared) -> ApiError {
    match error {
        NotCompared::Kind { .. } => ApiError::because(Code::BadQuery, error)
            .next("name sets or assemblies; jobs stand side by side at /api/compare/jobs"),
        NotCompared::Unread { .. } => ApiError::because(Code::NoFinding, error),
        NotCompared::NoLevel { .. } => ApiError::because(Code::NoFinding, error).next("its finding says why"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_compared_may_be_named_many_times_and_nothing_else() {
        let pair = |name: &str| (name.to_owned(), "T10".to_owned());
        for (pairs, is_read) in [
            (vec![pair("of"), pair("of")], true),
            (vec![], false),
            (vec![pair("of"), pair("off")], false),
            (vec![pair("of"); MOST + 1], false),
        ] {
            assert_eq!(SideBySideQuery::try_from(pairs.clone()).is_ok(), is_read, "{pairs:?}");
        }
    }
}
