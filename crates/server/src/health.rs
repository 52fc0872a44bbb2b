//! `/api/health` and `/api/problems/{code}`: that the server is well, and what its refusals mean.

use axum::extract::State;
use serde::{Deserialize, Serialize};
use storypole_store::Reader;
use utoipa::ToSchema;

use crate::extract::Path;
use crate::problem::{Code, Problem};
use crate::wire::problem::{Anywhere, ProblemCode, ProblemKind};
use crate::{ApiError, App, events};

/// How the server is.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Health {
    /// Always `ready`: otherwise there is no answer, or a refusal.
    #[schema(examples("ready"))]
    pub state: String,
    /// Number of the last change held.
    #[schema(minimum = 0)]
    pub changes: i64,
    /// Which database this is: another one after a restore.
    #[schema(pattern = "^[0-9a-f]{8}$", examples("5f0c9a1e"))]
    pub instance: String,
}

refusals! {
    /// How asking for a code may be refused.
    Unknown: 401 403 404 421 429 500 503;
}

/// Tells that the server is well, after a look into the notebook.
#[utoipa::path(
    get, path = "/api/health", operation_id = "get_health", tag = "access",
    responses((status = 200, description = "It is well.", body = Health), Anywhere)
)]
pub async fn show(State(app): State<App>) -> Result<axum::Json<Health>, ApiError> {
    let position = app.read(|desk| Ok(desk.read(Reader::position)?)).await?;
    let instance = events::instance(&position);
    Ok(axum::Json(Health { state: "ready".to_owned(), changes: position.last, instance }))
}

/// Tells what a code of a refusal means.
#[utoipa::path(
    get, path = "/api/problems/{code}", operation_id = "get_problem", tag = "about",
    params(("code" = String, Path, description = "The code.", example = "no-such-record")),
    responses((status = 200, description = "What it means.", body = ProblemKind), Unknown)
)]
pub async fn problem(Path(code): Path<String>) -> Result<axum::Json<ProblemKind>, ApiError> {
    let found = Problem::find(&code);
    let problem =
        found.ok_or_else(|| ApiError::new(Code::NoSuchRoute, format!("there is no code \"{code}\"")))?;
    Ok(axum::Json(ProblemKind {
        code: ProblemCode(problem.code.to_owned()),
        status: problem.status,
        title: problem.title.to_owned(),
        next: problem.next.to_owned(),
    }))
}
