//! What a request says, read once at the edge; what cannot be read is a problem with its own code.

use std::error::Error;
use std::fmt;
use std::marker::PhantomData;

use axum::extract::rejection::JsonRejection;
use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserialize, DeserializeOwned, Deserializer, MapAccess, Visitor};

use crate::limits::Limits;
use crate::problem::Code;
use crate::{ApiError, body};

/// The words of a path.
pub struct Path<T>(pub T);

/// The words behind the question mark.
pub struct Query<T>(pub T);

/// A body of JSON.
pub struct JsonBody<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Path<T> {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, ApiError> {
        let read = axum::extract::Path::<T>::from_request_parts(parts, state).await;
        read.map(|path| Self(path.0)).map_err(|refused| ApiError::new(Code::BadPath, plain(&refused)))
    }
}

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Query<T> {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, ApiError> {
        let read = axum::extract::Query::<T>::from_request_parts(parts, state).await;
        read.map(|query| Self(query.0)).map_err(|refused| ApiError::new(Code::BadQuery, plain(&refused)))
    }
}

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for JsonBody<T> {
    type Rejection = ApiError;

    async fn from_request(request: Request, _: &S) -> Result<Self, ApiError> {
        if !is_json(request.headers()) {
            return Err(ApiError::new(Code::WrongMediaType, "its Content-Type is not application/json"));
        }
        // Put there by the server's outermost layer; a handler called without it keeps the usual limits.
        let limits = request.extensions().get::<Limits>().copied().unwrap_or_default();
        let bytes = body::whole(request.into_body(), limits.json_bytes).await?;
        match axum::Json::<Object<T>>::from_bytes(&bytes) {
            Ok(read) => Ok(Self(read.0.0)),
            Err(refused @ JsonRejection::JsonDataError(_)) => {
                Err(ApiError::new(Code::BadBody, plain(&refused)))
            }
            Err(refused) => Err(ApiError::new(Code::NotJson, plain(&refused))),
        }
    }
}

/// An object and nothing else. The derived reader of a struct takes an array too, member by place, which nobody
/// means and no document promises.
pub(crate) struct Object<T>(pub T);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Object<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_map(Members(PhantomData)).map(Self)
    }
}

struct Members<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for Members<T> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object")
    }

    fn visit_map<A: MapAccess<'de>>(self, members: A) -> Result<T, A::Error> {
        T::deserialize(MapAccessDeserializer::new(members))
    }
}

/// Reads a list of objects.
///
/// # Errors
/// An item is no object, or not of the shape asked for.
pub(crate) fn objects<'de, D: Deserializer<'de>, T: Deserialize<'de>>(from: D) -> Result<Vec<T>, D::Error> {
    let items = Vec::<Object<T>>::deserialize(from)?;
    Ok(items.into_iter().map(|item| item.0).collect())
}

/// Whether a body is said to be JSON (RFC 8259 section 11); parameters behind the type are of no meaning to it.
fn is_json(headers: &HeaderMap) -> bool {
    let Some(Ok(said)) = headers.get(header::CONTENT_TYPE).map(|value| value.to_str()) else { return false };
    let kind = said.split(';').next().unwrap_or_default().trim();
    kind.eq_ignore_ascii_case("application/json")
}

/// The innermost reason: what lies around it names parts of the program.
fn plain(error: &dyn Error) -> String {
    let mut innermost = error;
    while let Some(source) = innermost.source() {
        innermost = source;
    }
    innermost.to_string().replace(['\n', '\r'], " ")
}
