//! What sets, tests, jobs and assemblies show.

use axum::extract::State;
use axum::response::Response;
use serde_json::Value;
use storypole_desk::view;
use storypole_findings::Findings;
use storypole_journal::RecordId;
use storypole_notebook::Book;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::look::{self, no_finding};
use crate::answer::{self, Asked};
use crate::extract::Path;
use crate::wire;
use crate::wire::problem::{Unchanged, WithName};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(set))
        .routes(routes!(test))
        .routes(routes!(job))
        .routes(routes!(assembly))
}

/// What one round of readings shows, number by number.
#[utoipa::path(get, path = "/api/findings/sets/{name}", operation_id = "get_set_finding", tag = "findings",
    params(("name" = String, Path, description = "Its label or id.", example = "T06")),
    responses((status = 200, description = "The finding.",
        body = wire::set::SetFinding), Unchanged, WithName))]
pub async fn set(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
) -> Result<Response, ApiError> {
    finding(app, asked, "set", name, |book, findings, id| {
        findings.set(id).map(|found| view::set::json(book, found))
    })
    .await
}

/// What a test shows: the change between its sets, how sure that is, and why.
#[utoipa::path(get, path = "/api/findings/tests/{name}", operation_id = "get_test_finding", tag = "findings",
    params(("name" = String, Path, description = "Its label or id.", example = "Q1")),
    responses((status = 200, description = "The finding.",
        body = wire::test::TestFinding), Unchanged, WithName))]
pub async fn test(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
) -> Result<Response, ApiError> {
    finding(app, asked, "test", name, |book, findings, id| {
        findings.test(id).map(|found| view::test::json(book, findings, &found))
    })
    .await
}

/// What a job shows, and what that cost.
#[utoipa::path(get, path = "/api/findings/jobs/{name}", operation_id = "get_job_finding", tag = "findings",
    params(("name" = String, Path, description = "Its label or id.", example = "J1")),
    responses((status = 200, description = "The finding.",
        body = wire::job::JobFinding), Unchanged, WithName))]
pub async fn job(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
) -> Result<Response, ApiError> {
    finding(app, asked, "job", name, |book, findings, id| {
        findings.job(id).map(|found| view::job::json(book, findings, &found))
    })
    .await
}

/// What was achieved with an assembly, and how the sound divides between wall and openings.
#[utoipa::path(get, path = "/api/findings/assemblies/{name}", operation_id = "get_assembly_finding", tag = "findings",
    params(("name" = String, Path, description = "Its label or id.", example = "A03")),
    responses((status = 200, description = "The finding.",
        body = wire::assembly::AssemblyFinding), Unchanged, WithName))]
pub async fn assembly(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
) -> Result<Response, ApiError> {
    finding(app, asked, "assembly", name, |book, findings, id| {
        findings.assembly(id).map(|found| view::assembly::json(book, &found))
    })
    .await
}

/// Shows what can be computed of the record of a kind that a name means.
async fn finding(
    app: App,
    asked: Asked,
    kind: &'static str,
    name: String,
    show: impl FnOnce(&Book, &Findings<'_>, RecordId) -> Option<Value> + Send + 'static,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let id = look::named(desk, kind, &name)?;
        look::findings(desk, |book, findings| show(book, findings, id).ok_or_else(|| no_finding(&name)))
    })
    .await
}
