//! Views of the notebook with their entity tags: what has not changed is not computed again.
//!
//! A tag names everything a view depends on: where the log stands, the address, the day, the version of the program.
//! The position is read before the view, so a tag is never newer than what it stands for.
//!
//! The position goes along in a header of its own, so that a client can tell whether the views it holds are of the state
//! at which its event stream begins.
//!
//! Tags are weak (RFC 9110 section 8.8.1): whether the bytes are sent packed is decided later, and both forms say the
//! same.

use axum::body::Body;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use jiff::civil::Date;
use serde_json::Value;
use storypole_desk::Desk;
use storypole_store::Reader;
use storypole_store::read::Position;

use crate::events::position_id;
use crate::{ApiError, App};

/// Names where the log stood when a view was read, as events name it.
pub const POSITION: &str = "storypole-position";

/// What a conditional request says: which view, and which state of it the client holds.
#[derive(Debug, Clone)]
pub struct Asked {
    url: String,
    headers: HeaderMap,
    day: Date,
}

impl Asked {
    /// Today by this computer's clock, for views that look at it. It stays the same for the whole request.
    pub fn day(&self) -> Date {
        self.day
    }

    fn tag(&self, position: &Position) -> String {
        let mut hasher = blake3::Hasher::new();
        let numbers = [position.last, position.generation].map(i64::to_le_bytes);
        let day = self.day.to_string();
        let version = env!("CARGO_PKG_VERSION");
        for part in [&position.instance[..], &numbers[0], &numbers[1], day.as_bytes()]
            .into_iter()
            .chain([version, self.url.as_str()].map(str::as_bytes))
        {
            hasher.update(&(part.len() as u64).to_le_bytes()).update(part);
        }
        format!("W/\"{}\"", &hasher.finalize().to_hex()[..32])
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Asked {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Self::Rejection> {
        let url = parts.uri.path_and_query().map_or("/", |url| url.as_str()).to_owned();
        let mut headers = HeaderMap::new();
        for value in parts.headers.get_all(header::IF_NONE_MATCH) {
            headers.append(header::IF_NONE_MATCH, value.clone());
        }
        Ok(Self { url, headers, day: jiff::ZonedDateTime::now().date() })
    }
}

/// Answers with a view, or with 304 where the client holds it already.
///
/// # Errors
/// What `view` says.
pub async fn view(
    app: &App,
    asked: Asked,
    view: impl FnOnce(&Desk) -> Result<Value, ApiError> + Send + 'static,
) -> Result<Response, ApiError> {
    text(app, asked, "application/json", move |desk| Ok(view(desk)?.to_string())).await
}

/// Answers with a view that depends on more than the log, so that nobody may keep it.
///
/// # Errors
/// What `view` says.
pub async fn anew(
    app: &App,
    view: impl FnOnce(&Desk) -> Result<Value, ApiError> + Send + 'static,
) -> Result<Response, ApiError> {
    let (position, body) = app.read(|desk| Ok((desk.read(Reader::position)?, view(desk)?))).await?;
    let mut response = ([(header::CACHE_CONTROL, "no-store")], axum::Json(body)).into_response();
    response.headers_mut().insert(POSITION, named(&position));
    Ok(response)
}

/// Answers with a text or bytes of some media type, or with 304 where the client holds it already.
///
/// # Errors
/// What `text` says.
pub async fn text<T: Into<Body> + Send + 'static>(
    app: &App,
    asked: Asked,
    media_type: &'static str,
    text: impl FnOnce(&Desk) -> Result<T, ApiError> + Send + 'static,
) -> Result<Response, ApiError> {
    let (position, tag, body) = app
        .read(move |desk| {
            let position = desk.read(Reader::position)?;
            let tag = asked.tag(&position);
            let body = if is_held(&asked.headers, &tag) { None } else { Some(text(desk)?) };
            Ok((position, tag, body))
        })
        .await?;
    let mut response = match body {
        Some(body) => {
            let kind = [(header::CONTENT_TYPE, HeaderValue::from_static(media_type))];
            (kind, body.into()).into_response()
        }
        None => StatusCode::NOT_MODIFIED.into_response(),
    };
    let headers = response.headers_mut();
    headers.insert(header::ETAG, HeaderValue::try_from(tag).expect("digits and quotes"));
    headers.insert(POSITION, named(&position));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("private, no-cache"));
    headers.insert(header::VARY, HeaderValue::from_static("accept-encoding"));
    Ok(response)
}

fn named(position: &Position) -> HeaderValue {
    HeaderValue::try_from(position_id(position)).expect("digits and hyphens")
}

/// Whether a client says that it holds what a tag names (RFC 9110 section 13.1.2, the weak comparison).
pub fn is_held(headers: &HeaderMap, tag: &str) -> bool {
    let lines = headers.get_all(header::IF_NONE_MATCH).iter().filter_map(|line| line.to_str().ok());
    let mut held = lines.flat_map(|line| line.split(',')).map(str::trim);
    let opaque = |tag| str::strip_prefix(tag, "W/").unwrap_or(tag);
    held.any(|held| held == "*" || opaque(held) == opaque(tag))
}

/// Whether a client takes gzip (RFC 9110 section 12.5.3): named, or by the star, and not with the weight 0.
pub fn takes_gzip(headers: &HeaderMap) -> bool {
    let lines = headers.get_all(header::ACCEPT_ENCODING).iter().filter_map(|line| line.to_str().ok());
    let mut by_star = false;
    for coding in lines.flat_map(|line| line.split(',')) {
        let mut parts = coding.split(';').map(str::trim);
        let name = parts.next().unwrap_or_default();
        let weight = parts.find_map(|part| part.strip_prefix("q=")).map_or(Ok(1.0), str::parse::<f32>);
        let taken = weight.is_ok_and(|weight| weight > 0.0);
        if name.eq_ignore_ascii_case("gzip") {
            return taken;
        }
        by_star |= name == "*" && taken;
    }
    by_star
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(name: header::HeaderName, lines: &[&str]) -> HeaderMap {
        let lines = lines.iter().map(|line| (name.clone(), HeaderValue::from_str(line).unwrap()));
        let mut headers = HeaderMap::new();
        for (name, line) in lines {
            headers.append(name, line);
        }
        headers
    }

    /// The forms of RFC 9110 section 13.1.2.
    #[test]
    fn tags_are_compared_as_published() {
        for (lines, expected) in [
            (&["\"xyzzy\""][..], true),
            (&["W/\"xyzzy\""], true),
            (&["\"xyzzy\", \"r2d2xxxx\", \"c3piozzzz\""], true),
            (&["\"r2d2xxxx\"", "\"xyzzy\""], true),
            (&["*"], true),
            (&["\"r2d2xxxx\""], false),
            (&["xyzzy"], false),
            (&[], false),
        ] {
            for tag in ["\"xyzzy\"", "W/\"xyzzy\""] {
                assert_eq!(is_held(&headers(header::IF_NONE_MATCH, lines), tag), expected, "{lines:?}");
            }
        }
    }

    /// The examples of RFC 9110 section 12.5.3.
    #[test]
    fn codings_are_read_as_published() {
        for (lines, expected) in [
            (&["compress, gzip"][..], true),
            (&[""], false),
            (&["*"], true),
            (&["compress;q=0.5, gzip;q=1.0"], true),
            (&["gzip;q=1.0, identity; q=0.5, *;q=0"], true),
            (&["gzip;q=0"], false),
            (&["gzip;q=0, *"], false),
            (&["br"], false),
            (&[], false),
        ] {
            assert_eq!(takes_gzip(&headers(header::ACCEPT_ENCODING, lines)), expected, "{lines:?}");
        }
    }
}
