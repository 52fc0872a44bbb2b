//! `POST /api/example`: fills a notebook that holds nothing yet with the invented example.

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use storypole_desk::example::{self, ExampleError};

use crate::problem::Code;
use crate::wire::sample::ExampleTaken;
use crate::{ApiError, App, clock};

refusals! {
    /// How it may be refused.
    Refusals: 401 403 409 421 429 500 503 507;
}

impl From<ExampleError> for ApiError {
    fn from(error: ExampleError) -> Self {
        match error {
            ExampleError::NotEmpty { .. } => Self::because(Code::NotebookNotEmpty, &error),
            ExampleError::Desk(error) => error.into(),
            ExampleError::Broken(_) => Self::failed(&error),
        }
    }
}

/// Fills a notebook that holds nothing of its own with invented jobs, receipts and readings to look around in.
///
/// The notebook takes the example's name and currency. It cannot be taken out again: for work of one's own a new notebook
/// is started.
#[utoipa::path(
    post, path = "/api/example", operation_id = "post_example", tag = "writing",
    responses((status = 201, description = "The example is in.", body = ExampleTaken), Refusals)
)]
pub async fn fill(State(app): State<App>) -> Result<Response, ApiError> {
    let rows = app.write(|desk| Ok(example::fill(desk, clock::written_now())?)).await?;
    Ok((StatusCode::CREATED, Json(ExampleTaken { rows: rows as u64 })).into_response())
}
