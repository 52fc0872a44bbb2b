//! Jobs with their money, and what is left of materials.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use storypole_desk::view;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::look;
use crate::answer::{self, Asked};
use crate::extract::{Path, Query};
use crate::wire;
use crate::wire::problem::{Anywhere, Unchanged, WithName};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(jobs)).routes(routes!(job)).routes(routes!(stock))
}

/// Every job's money with the sum, and what results cost.
#[utoipa::path(get, path = "/api/jobs", operation_id = "get_jobs", tag = "jobs",
    responses((status = 200, description = "The jobs.", body = wire::money::JobsTable), Unchanged, Anywhere))]
pub async fn jobs(State(app): State<App>, asked: Asked) -> Result<Response, ApiError> {
    answer::view(&app, asked, |desk| {
        look::findings(desk, |book, findings| Ok(view::jobs::table(book, findings)))
    })
    .await
}

/// One job: dates, tasks, money, what is left over, sets, what needs a look.
#[utoipa::path(get, path = "/api/jobs/{name}", operation_id = "get_job", tag = "jobs",
    params(("name" = String, Path, description = "Its label or id.", example = "J1")),
    responses((status = 200, description = "The job.", body = wire::job::JobSheet), Unchanged, WithName))]
pub async fn job(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let id = look::named(desk, "job", &name)?;
        look::findings(desk, |book, findings| {
            view::jobs::sheet(book, findings, id).ok_or_else(|| ApiError::no_such_record("job", &name))
        })
    })
    .await
}

/// Where.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct StockQuery {
    /// Only at this site, by label or id.
    site: Option<String>,
    /// Only of this job, by label or id.
    job: Option<String>,
}

/// What is left of materials, by place and job.
#[utoipa::path(get, path = "/api/stock", operation_id = "get_stock", tag = "jobs", params(StockQuery),
    responses((status = 200, description = "Row by row.", body = wire::stock::Stock), Unchanged, WithName))]
pub async fn stock(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<StockQuery>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let site = look::maybe_named(desk, "site", query.site.as_deref())?;
        let job = look::maybe_named(desk, "job", query.job.as_deref())?;
        Ok(view::stock::rows(&*desk.book()?, site, job))
    })
    .await
}
