//! Tests as planned and carried out.

use axum::extract::State;
use axum::response::Response;
use storypole_desk::view::plan;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::look;
use crate::answer::{self, Asked};
use crate::extract::Path;
use crate::wire;
use crate::wire::problem::{Anywhere, Unchanged, WithName};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(tests)).routes(routes!(test))
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
