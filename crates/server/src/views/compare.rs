//! Results side by side.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use storypole_desk::view;
use storypole_desk::view::compare::NotCompared;
use storypole_findings::Axis;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::look;
use crate::answer::{self, Asked};
use crate::extract::Query;
use crate::problem::Code;
use crate::wire;
use crate::wire::problem::{Anywhere, Unchanged, WithName};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(fills))
        .routes(routes!(couplings))
        .routes(routes!(jobs))
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
