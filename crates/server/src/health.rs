//! `/api/health` and `/api/problems/{code}`: that the server is well, and what its refusals mean.

use axum::extract::State;
use serde::{Deserialize, Serialize};
use storypole_desk::edge;
use storypole_store::Reader;
use utoipa::ToSchema;

use crate::extract::Path;
use crate::problem::{Code, Problem};
use crate::wire::problem::{Anywhere, ProblemCode, ProblemKind};
use crate::{ApiError, App, clock, events};

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
    /// What a person should look at on the server's computer; mostly nothing.
    pub look: Vec<HealthMark>,
}

/// What a person should look at on the server's computer.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HealthMark {
    /// What it is, for programs.
    #[schema(examples("clock-before-2020"))]
    pub code: String,
    /// What it is, in words.
    pub words: String,
    /// What to do next.
    pub next: String,
}

/// What to look at when the computer's clock stands so.
pub fn look_at_clock(now_ms: u64) -> Option<HealthMark> {
    clock::is_before_2020(now_ms).then(|| HealthMark {
        code: "clock-before-2020".to_owned(),
        words: format!("the clock of this computer stands at {}, before 2020", clock::moment(now_ms).0),
        next: "set date and time; what is written meanwhile is kept, and carries the wrong time".to_owned(),
    })
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
    Ok(axum::Json(Health {
        state: "ready".to_owned(),
        changes: position.last,
        instance,
        look: look_at_clock(edge::now_ms()).into_iter().collect(),
    }))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_that_was_never_set_is_to_be_looked_at() {
        assert_eq!(look_at_clock(clock::YEAR_2020_MS), None);
        let mark = look_at_clock(0).unwrap();
        assert_eq!(mark.code, "clock-before-2020");
        assert!(mark.words.contains("19") && mark.next.starts_with("set date"), "{mark:?}");
    }
}
