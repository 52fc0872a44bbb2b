//! The static shell: what the browser loads before it asks for anything of the notebook. It holds no notebook data.

use std::sync::LazyLock;

use axum::body::{Body, Bytes};
use axum::extract::Request;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};

use crate::problem::Code;
use crate::{ApiError, answer};

/// One file of the built screens.
struct Built {
    path: &'static str,
    plain: &'static [u8],
    packed: Option<&'static [u8]>,
}

include!(concat!(env!("OUT_DIR"), "/shell.rs"));

/// Shown where the screens are not built. No script, no style: the page's own rules forbid both within it.
const PLAIN_PAGE: &[u8] = b"<!doctype html>
<html lang=\"en\">
<head><meta charset=\"utf-8\"><title>Storypole</title></head>
<body>
<h1>The screens are not built</h1>
<p>This program was built without its screens. The notebook answers under <code>/api</code> all the same.</p>
<p>To build them, run <code>cargo xtask build</code> in the project's folder; to see them with an invented example, run
<code>cargo xtask demo</code>. Both need Node.</p>
</body>
</html>
";

/// A file ready to be sent.
struct File {
    path: &'static str,
    plain: &'static [u8],
    packed: Option<&'static [u8]>,
    tag: String,
}

static FILES: LazyLock<Vec<File>> = LazyLock::new(|| {
    let without = Built { path: "/index.html", plain: PLAIN_PAGE, packed: None };
    let built = if BUILT.is_empty() { std::slice::from_ref(&without) } else { BUILT };
    let ready = |file: &Built| File {
        path: file.path,
        plain: file.plain,
        packed: file.packed,
        tag: blake3::hash(file.plain).to_hex()[..32].to_owned(),
    };
    built.iter().map(ready).collect()
});

/// Which build of the screens this is; `none` without any.
pub fn build_id() -> &'static str {
    BUILD_ID
}

/// Whether an address belongs to the shell, whether or not there is a file.
pub fn is_of_shell(path: &str) -> bool {
    matches!(path, "/" | "/index.html" | "/sw.js" | "/manifest.webmanifest")
        || path.starts_with("/assets/")
        || path.starts_with("/icons/")
}

/// Gives a file of the shell.
pub async fn give(request: Request) -> Result<Response, ApiError> {
    let path = match request.uri().path() {
        "/" => "/index.html",
        path => path,
    };
    let file = FILES.iter().find(|file| file.path == path).ok_or_else(|| {
        let next = "load the page anew; an older page may ask for files of its own version";
        ApiError::new(Code::NoSuchRoute, format!("the screens have no file {path}")).next(next)
    })?;
    let packed = file.packed.filter(|_| answer::takes_gzip(request.headers()));
    // Packed and plain bytes differ, so their tags do (RFC 9110 section 8.8.3).
    let tag = if packed.is_some() { format!("\"{}-gz\"", file.tag) } else { format!("\"{}\"", file.tag) };
    let is_held = answer::is_held(request.headers(), &tag);
    let mut response = Response::new(match (is_held, packed) {
        (true, _) => Body::empty(),
        (false, packed) => Body::from(Bytes::from_static(packed.unwrap_or(file.plain))),
    });
    let headers = response.headers_mut();
    let cache = if path.starts_with("/assets/") { "public, max-age=31536000, immutable" } else { "no-cache" };
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static(cache));
    headers.insert(header::ETAG, HeaderValue::try_from(tag).expect("digits and quotes"));
    headers.insert(header::VARY, HeaderValue::from_static("accept-encoding"));
    if is_held {
        *response.status_mut() = StatusCode::NOT_MODIFIED;
        return Ok(response.into_response());
    }
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(media_type(path)));
    if packed.is_some() {
        headers.insert(header::CONTENT_ENCODING, HeaderValue::from_static("gzip"));
    }
    Ok(response)
}

/// Media type by the ending of a name, as registered with IANA.
fn media_type(path: &str) -> &'static str {
    let ending = path.rsplit_once('.').map_or("", |(_, ending)| ending);
    match ending {
        "html" => "text/html; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "json" | "map" => "application/json",
        "webmanifest" => "application/manifest+json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "ico" => "image/vnd.microsoft.icon",
        "webp" => "image/webp",
        "woff2" => "font/woff2",
        "wasm" => "application/wasm",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_is_one_the_door_lets_through() {
        for file in FILES.iter() {
            assert!(is_of_shell(file.path), "{} would be asked for a session", file.path);
            assert_ne!(media_type(file.path), "application/octet-stream", "{}", file.path);
        }
        assert!(FILES.iter().any(|file| file.path == "/index.html"));
    }
}
