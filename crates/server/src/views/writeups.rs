//! Jobs and tests written up for others to read and check.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use storypole_desk::names::a;
use storypole_desk::view::writeup;
use storypole_writeup::WriteUpError;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::ask::{self, Day};
use super::look;
use crate::answer::{self, Asked};
use crate::extract::{Path, Query};
use crate::problem::Code;
use crate::wire;
use crate::wire::problem::{Unchanged, WithName};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(write_up))
}

/// Of which day.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct WriteUpQuery {
    /// The day it bears; without it, today by the server's clock.
    #[param(value_type = Option<wire::word::Day>)]
    today: Option<Day>,
}

/// A job or test written up as Markdown: method, results, limits, cost, cautions. Roles only, no address, no serial.
#[utoipa::path(get, path = "/api/writeups/{name}", operation_id = "get_writeup", tag = "findings",
    params(("name" = String, Path,
            description = "Label or id of a job or test, or `kind:label`.", example = "J1"), WriteUpQuery),
    responses((status = 200, description = "The write-up.",
        body = String, content_type = "text/markdown"), Unchanged, WithName))]
pub async fn write_up(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
    Query(query): Query<WriteUpQuery>,
) -> Result<Response, ApiError> {
    let today = ask::today(query.today, &asked);
    answer::text(&app, asked, "text/markdown; charset=utf-8", move |desk| {
        let (kind, id) = look::anything(desk, &name)?;
        let subject = writeup::subject(kind, id).ok_or_else(|| {
            let detail = format!("{name} is {}; jobs and tests are written up", a(kind));
            ApiError::new(Code::NoSuchRecord, detail).next("name a job or a test")
        })?;
        desk.read_with_book(|reader, book| {
            let history = |record| reader.history(record);
            let choices = writeup::choices(book, today, env!("CARGO_PKG_VERSION"), history)?;
            Ok(writeup::markdown(book, subject, &choices).map_err(|error| refused(&error, &name)))
        })?
    })
    .await
}

fn refused(error: &WriteUpError, name: &str) -> ApiError {
    match error {
        WriteUpError::NotHeld { .. } => ApiError::no_such_record("job or test", name),
        WriteUpError::Struck { .. } => {
            ApiError::because(Code::NoFinding, error).next("name a job or test that stands")
        }
        WriteUpError::NothingMeasured { .. } => ApiError::because(Code::NoFinding, error),
    }
}
