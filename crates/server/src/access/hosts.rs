//! Under which names the server answers, and which pages may ask it.
//!
//! A page of another address can make a browser send requests here; it cannot choose their Host and Origin.

use std::sync::Arc;

use axum::http::{HeaderMap, Uri, header};

use crate::ApiError;
use crate::problem::Code;
use crate::tls::Secured;

/// The names of this computer for itself, and those its certificate is for, with the port the server listens at.
#[derive(Debug, Clone)]
pub struct Hosts {
    scheme: &'static str,
    port: u16,
    /// The port that this scheme has without one: clients leave it out.
    usual_port: u16,
    secured: Option<Arc<Secured>>,
}

/// What every computer calls itself.
pub const LOOPBACK: [&str; 3] = ["localhost", "127.0.0.1", "[::1]"];

impl Hosts {
    /// Those of a server that speaks plain HTTP to its own computer.
    pub fn at(port: u16) -> Self {
        Self { scheme: "http://", port, usual_port: 80, secured: None }
    }

    /// Those of a server that speaks TLS. Its certificate may be renewed for other names at any time.
    pub fn over_tls(port: u16, secured: Arc<Secured>) -> Self {
        Self { scheme: "https://", port, usual_port: 443, secured: Some(secured) }
    }

    /// The same names, asked over plain HTTP.
    pub(crate) fn plainly(port: u16, secured: Arc<Secured>) -> Self {
        Self { scheme: "http://", port, usual_port: 80, secured: Some(secured) }
    }

    /// Checks Host, the host of a whole address in the request line, and Origin where there is one.
    ///
    /// # Errors
    /// [`Code::WrongHost`], [`Code::WrongOrigin`].
    pub fn check(&self, uri: &Uri, headers: &HeaderMap) -> Result<(), ApiError> {
        let mut hosts = headers.get_all(header::HOST).iter();
        let host = hosts.next().and_then(|host| host.to_str().ok()).unwrap_or_default();
        if hosts.next().is_some() || !self.is_own(host) {
            return Err(ApiError::new(Code::WrongHost, format!("\"{host}\" is not a name of this server")));
        }
        if let Some(authority) = uri.authority()
            && !self.is_own(authority.as_str())
        {
            return Err(ApiError::new(
                Code::WrongHost,
                format!("\"{authority}\" is not a name of this server"),
            ));
        }
        for origin in headers.get_all(header::ORIGIN) {
            let origin = origin.to_str().unwrap_or_default();
            if !origin.strip_prefix(self.scheme).is_some_and(|host| self.is_own(host)) {
                return Err(ApiError::new(Code::WrongOrigin, format!("a page of \"{origin}\" asked")));
            }
        }
        Ok(())
    }

    fn is_own(&self, host: &str) -> bool {
        let bare = match host.strip_suffix(&format!(":{}", self.port)) {
            Some(bare) => bare,
            None if self.port == self.usual_port => host,
            None => return false,
        };
        let is_loopback = LOOPBACK.iter().any(|name| name.eq_ignore_ascii_case(bare));
        is_loopback || self.secured.as_ref().is_some_and(|secured| secured.shown().covers(bare))
    }
}

#[cfg(test)]
mod tests {
    use axum::http::{HeaderName, HeaderValue};

    use super::*;

    fn said(uri: &str, given: &[(HeaderName, &str)]) -> Option<Code> {
        let mut headers = HeaderMap::new();
        for (name, value) in given {
            headers.append(name, HeaderValue::from_str(value).unwrap());
        }
        Hosts::at(8417).check(&uri.parse().unwrap(), &headers).err().map(|error| error.code())
    }

    #[test]
    fn only_own_names_and_own_pages() {
        let (host, origin) = (header::HOST, header::ORIGIN);
        for (uri, given, expected) in [
            ("/", vec![(host.clone(), "localhost:8417")], None),
            ("/", vec![(host.clone(), "LOCALHOST:8417")], None),
            ("/", vec![(host.clone(), "127.0.0.1:8417")], None),
            ("/", vec![(host.clone(), "[::1]:8417")], None),
            ("http://localhost:8417/", vec![(host.clone(), "localhost:8417")], None),
            ("/", vec![(host.clone(), "localhost:8417"), (origin.clone(), "http://localhost:8417")], None),
            ("/", vec![], Some(Code::WrongHost)),
            ("/", vec![(host.clone(), "localhost")], Some(Code::WrongHost)),
            ("/", vec![(host.clone(), "localhost:80")], Some(Code::WrongHost)),
            ("/", vec![(host.clone(), "box.example:8417")], Some(Code::WrongHost)),
            ("/", vec![(host.clone(), "localhost:8417.box.example")], Some(Code::WrongHost)),
            ("/", vec![(host.clone(), "localhost:8417"); 2], Some(Code::WrongHost)),
            ("http://box.example/", vec![(host.clone(), "localhost:8417")], Some(Code::WrongHost)),
            (
                "/",
                vec![(host.clone(), "localhost:8417"), (origin.clone(), "http://box.example")],
                Some(Code::WrongOrigin),
            ),
            ("/", vec![(host.clone(), "localhost:8417"), (origin.clone(), "null")], Some(Code::WrongOrigin)),
            (
                "/",
                vec![(host.clone(), "localhost:8417"), (origin.clone(), "http://localhost:8418")],
                Some(Code::WrongOrigin),
            ),
            (
                "/",
                vec![(host.clone(), "localhost:8417"), (origin.clone(), "https://localhost:8417")],
                Some(Code::WrongOrigin),
            ),
        ] {
            assert_eq!(said(uri, &given), expected, "{uri} {given:?}");
        }
    }

    #[test]
    fn the_port_of_plain_http_may_be_left_out() {
        let mut headers = HeaderMap::new();
        headers.insert(header::HOST, HeaderValue::from_static("localhost"));
        assert!(Hosts::at(80).check(&Uri::from_static("/"), &headers).is_ok());
    }
}
