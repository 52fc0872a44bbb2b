//! Tests as planned and carried out.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use storypole_desk::view::{self, plan};
use storypole_findings::plan::{Ask, Probability};
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::look;
use crate::answer::{self, Asked};
use crate::extract::{Path, Query};
use crate::problem::Code;
use crate::wire;
use crate::wire::problem::{Anywhere, Unchanged, WithName};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(tests))
        .routes(routes!(test))
        .routes(routes!(test_plan))
        .routes(routes!(next))
}

/// Every test with its sets and what it shows, newest first.
#[utoipa::path(get, path = "/api/tests", operation_id = "get_tests", tag = "tests",
    responses((status = 200, description = "The tests.", body = wire::plan::Tests), Unchanged, Anywhere))]
pub async fn tests(State(app): State<App>, asked: Asked) -> Result<Response, ApiError> {
    answer::view(&app, asked, |desk| look::findings(desk, |book, findings| Ok(plan::list(book, findings))))
        .await
}

/// One test in full: conditions as found in each set, positions, sets with their readings, what it shows.
#[utoipa::path(get, path = "/api/tests/{name}", operation_id = "get_test", tag = "tests",
    params(("name" = String, Path, description = "Its label or id.", example = "Q1")),
    responses((status = 200, description = "The test.", body = wire::plan::TestSheet), Unchanged, WithName))]
pub async fn test(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let id = look::named(desk, "test", &name)?;
        look::findings_with(desk, |reader, book, findings| {
            let sheet =
                plan::sheet(book, findings, id, &mut |kind, id| look::record(reader, book, kind, id))?;
            sheet.ok_or_else(|| ApiError::no_such_record("test", &name))
        })
    })
    .await
}

/// What is asked of a plan.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct PlanQuery {
    /// The change worth finding, above zero: dB, or the unit of the test's readings.
    #[param(required = false, default = 3.0, exclusive_minimum = 0.0, maximum = 1_000_000.0)]
    show: Option<f64>,
    /// The chance of finding it, were it true.
    #[param(required = false, default = 0.8, exclusive_minimum = 0.0, exclusive_maximum = 1.0)]
    chance: Option<f64>,
    /// How close the change has to be known, either way.
    #[param(required = false, exclusive_minimum = 0.0, maximum = 1_000_000.0)]
    within: Option<f64>,
    /// Whether the states can be changed to and fro, so that both are read at each position.
    #[param(required = false)]
    to_and_fro: Option<bool>,
    /// Seed of the drawn order; the one kept with the test, or else one of the test's own, where none is given.
    #[param(required = false, maximum = 9_007_199_254_740_991_i64)]
    seed: Option<u64>,
}

/// How many positions and repeats would show a wanted change of a test, in which order to take them, and a sheet to print.
#[utoipa::path(get, path = "/api/tests/{name}/plan", operation_id = "get_test_plan", tag = "tests",
    params(("name" = String, Path, description = "Its label or id.", example = "Q1"), PlanQuery),
    responses((status = 200, description = "The plan.", body = wire::design::TestPlan), Unchanged, WithName))]
pub async fn test_plan(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
    Query(query): Query<PlanQuery>,
) -> Result<Response, ApiError> {
    let refused = |words: String| {
        ApiError::new(Code::BadQuery, words).next("see /api/openapi.json for what can be asked")
    };
    let chance = query.chance.unwrap_or(0.8);
    let chance = Probability::new(chance).map_err(|_| refused(format!("a chance of {chance} is none")))?;
    answer::view(&app, asked, move |desk| {
        let id = look::named(desk, "test", &name)?;
        look::findings(desk, |book, findings| {
            let seed = query.seed.unwrap_or_else(|| view::design::seed(book, id));
            let ask = Ask {
                chance,
                half_width: query.within,
                reversible: query.to_and_fro.unwrap_or(false),
                ..Ask::new(query.show.unwrap_or(3.0), seed)
            };
            let plan = findings.plan(id, &ask).map_err(|error| refused(error.to_string()))?;
            Ok(view::design::json(book, &plan))
        })
    })
    .await
}

/// The test that would tell most for its cost, with the reason, and what could follow.
#[utoipa::path(get, path = "/api/next", operation_id = "get_next", tag = "tests",
    responses((status = 200, description = "Best first.", body = wire::next::Next), Unchanged, Anywhere))]
pub async fn next(State(app): State<App>, asked: Asked) -> Result<Response, ApiError> {
    answer::view(&app, asked, |desk| {
        look::findings(desk, |book, findings| Ok(view::next::json(book, &findings.next())))
    })
    .await
}
