//! `/api/attachments/{hash}/thumbnail`: a picture made small, so that a list of many costs little.

use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use storypole_desk::thumbnails::ThumbnailError;

use super::{called, hex, kept_for_ever, opened_or_asked, refused};
use crate::extract::Path;
use crate::wire::word::Hash;
use crate::{ApiError, App, answer};

refusals! {
    /// How a small copy may be refused.
    NotMade: 400 401 403 404 421 429 500 503;
}

/// Gives a small copy of a picture, upright, its longest side 320 pixels.
#[utoipa::path(
    get, path = "/api/attachments/{hash}/thumbnail", operation_id = "get_attachment_thumbnail", tag = "writing",
    params(("hash" = Hash, Path, description = "The picture.")),
    responses(
        (status = 200, description = "The small copy.", content_type = "image/jpeg", body = Vec<u8>),
        (status = 304, description = "The client has it already."),
        NotMade,
    )
)]
pub async fn give(
    State(app): State<App>,
    Path(hash): Path<String>,
    headers: HeaderMap,
) -> Result<Response, ApiError> {
    let hash = called(&hash)?;
    let made = app.read(move |desk| {
        desk.thumbnail(&hash).map_err(|error| match error {
            ThumbnailError::File(error) => refused(desk, &hash, error),
            error => error.into(),
        })
    });
    let made = opened_or_asked(&app, hash, made.await)?;
    // The way copies are made may change with the program.
    let tag = format!("\"{}-{}\"", hex(&hash), env!("CARGO_PKG_VERSION"));
    if answer::is_held(&headers, &tag) {
        return Ok((StatusCode::NOT_MODIFIED, kept_for_ever(&tag)).into_response());
    }
    let kind = [
        (header::CONTENT_TYPE, HeaderValue::from_static("image/jpeg")),
        (header::CONTENT_SECURITY_POLICY, HeaderValue::from_static("sandbox; default-src 'none'")),
    ];
    Ok((kept_for_ever(&tag), kind, made).into_response())
}
