//! Under which names the server answers, and which pages may ask it.
//!
//! A page of another address can make a browser send requests here; it cannot choose their Host and Origin.

use axum::http::{HeaderMap, Uri, header};

use crate::ApiError;
use crate::problem::Code;

/// The names of this computer for itself, with the port the server listens at.
#[derive(Debug, Clone)]
pub struct Hosts {
    names: Vec<String>,
}

impl Hosts {
    /// The names with this port.
    pub fn at(port: u16) -> Self {
        let own = ["localhost", "127.0.0.1", "[::1]"];
        let mut names: Vec<String> = own.iter().map(|name| format!("{name}:{port}")).collect();
        // Clients leave out the port that plain HTTP has without one.
        if port == 80 {
            names.extend(own.map(str::to_owned));
        }
        Self { names }
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
            if !origin.strip_prefix("http://").is_some_and(|host| self.is_own(host)) {
                return Err(ApiError::new(Code::WrongOrigin, format!("a page of \"{origin}\" asked")));
            }
        }
        Ok(())
    }

    fn is_own(&self, host: &str) -> bool {
        self.names.iter().any(|name| name.eq_ignore_ascii_case(host))
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
