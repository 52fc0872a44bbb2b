//! The address of another server, as a person writes it.

use hyper::header::{HOST, HeaderValue};
use hyper::{Request, Uri};
use rustls::pki_types::ServerName;

use super::RemoteError;

/// Where to ask.
#[derive(Debug)]
pub struct Address {
    /// As given, without a path.
    pub url: String,
    /// Name or address of the computer, without brackets.
    pub host: String,
    pub port: u16,
    /// HTTPS.
    pub is_secure: bool,
    /// What its certificate must be for.
    pub name: ServerName<'static>,
    /// The Host header.
    authority: HeaderValue,
}

impl Address {
    /// Reads `https://host[:port]`, or `http://` with a name of this computer for itself.
    pub fn parse(url: &str) -> Result<Self, RemoteError> {
        let bad = || RemoteError::BadUrl(url.to_owned());
        let uri: Uri = url.trim().parse().map_err(|_| bad())?;
        let is_secure = match uri.scheme_str() {
            Some("https") => true,
            Some("http") => false,
            _ => return Err(bad()),
        };
        let authority =
            uri.authority().filter(|authority| !authority.as_str().contains('@')).ok_or_else(bad)?;
        if !matches!(uri.path(), "" | "/") || uri.query().is_some() {
            return Err(bad());
        }
        let host = authority.host().trim_start_matches('[').trim_end_matches(']').to_owned();
        let name = ServerName::try_from(host.clone()).map_err(|_| bad())?;
        if !is_secure && !is_this_computer(&name) {
            return Err(RemoteError::PlainHttp(host));
        }
        let usual_port = if is_secure { 443 } else { 80 };
        let port = match authority.port() {
            Some(port) => port.as_str().parse().map_err(|_| bad())?,
            // A colon with nothing after it, or with something that is no port, is none either.
            None if authority.as_str().len() != authority.host().len() => return Err(bad()),
            None => usual_port,
        };
        let scheme = if is_secure { "https" } else { "http" };
        let url = format!("{scheme}://{authority}");
        let authority = HeaderValue::from_str(authority.as_str()).map_err(|_| bad())?;
        Ok(Self { url, host, port, is_secure, name, authority })
    }

    /// Directs a request here: only path and query of its own address are kept (RFC 9112 section 3.2.1).
    pub fn direct<B>(&self, mut request: Request<B>) -> Result<Request<B>, RemoteError> {
        let path = request.uri().path_and_query().cloned().ok_or(RemoteError::BadPath)?;
        if !path.as_str().starts_with('/') {
            return Err(RemoteError::BadPath);
        }
        *request.uri_mut() = Uri::from(path);
        request.headers_mut().insert(HOST, self.authority.clone());
        Ok(request)
    }
}

fn is_this_computer(name: &ServerName<'_>) -> bool {
    match name {
        ServerName::DnsName(name) => name.as_ref().eq_ignore_ascii_case("localhost"),
        ServerName::IpAddress(address) => std::net::IpAddr::from(*address).is_loopback(),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand, after RFC 3986 section 3 and RFC 9110 section 4.2.
    #[test]
    fn addresses_are_read() {
        for (url, host, port, is_secure) in [
            ("https://box.example", "box.example", 443, true),
            ("https://box.example/", "box.example", 443, true),
            (" https://box.example:8417 ", "box.example", 8417, true),
            ("https://192.0.2.7:8417", "192.0.2.7", 8417, true),
            ("https://[2001:db8::1]:8417", "2001:db8::1", 8417, true),
            ("http://localhost:8417", "localhost", 8417, false),
            ("http://127.0.0.1", "127.0.0.1", 80, false),
            ("http://[::1]:9", "::1", 9, false),
        ] {
            let address = Address::parse(url).unwrap();
            assert_eq!((address.host.as_str(), address.port, address.is_secure), (host, port, is_secure));
        }
    }

    #[test]
    fn what_is_no_address_is_refused() {
        for url in [
            "",
            "box.example",
            "box.example:8417",
            "/api",
            "ftp://box.example",
            "https://",
            "https://box.example/api",
            "https://box.example/?a=b",
            "https://lead@box.example",
            "https://box.example:",
            "https://box.example:port",
            "https://box.example:70000",
            "https://box..example",
            "https://box example",
        ] {
            let refused = Address::parse(url).unwrap_err();
            assert!(matches!(refused, RemoteError::BadUrl(_)), "{url}: {refused}");
        }
        for url in ["http://box.example", "http://192.0.2.7:8417", "http://localhost.box.example"] {
            assert!(matches!(Address::parse(url), Err(RemoteError::PlainHttp(_))), "{url}");
        }
    }

    #[test]
    fn a_request_keeps_its_path_and_gets_the_host() {
        let address = Address::parse("https://box.example:8417").unwrap();
        let request = Request::get("https://elsewhere.example/api/health?a=b").header(HOST, "x").body(());
        let request = address.direct(request.unwrap()).unwrap();
        assert_eq!(request.uri(), "/api/health?a=b");
        assert_eq!(request.headers()[HOST], "box.example:8417");
        let request = Request::options("*").body(()).unwrap();
        assert!(matches!(address.direct(request), Err(RemoteError::BadPath)));
    }
}
