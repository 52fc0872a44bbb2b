//! Just enough HTTP/1.1 over a socket to ask the real server: one request for each connection, whole answers.
//!
//! No library that the server uses helps here, so that a fault in one cannot hide in both.

use std::io::{self, Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use serde_json::Value;

/// How long one answer may take.
const PATIENCE: Duration = Duration::from_secs(20);

/// What the server said.
#[derive(Debug)]
pub struct Answer {
    /// `200`
    pub status: u16,
    /// Names in small letters, in the order they came.
    pub headers: Vec<(String, String)>,
    /// Whole, however it was sent.
    pub body: Vec<u8>,
}

impl Answer {
    /// The first header of a name in small letters.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(header, _)| header == name).map(|(_, value)| value.as_str())
    }

    /// The body as text.
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// The body as JSON.
    ///
    /// # Panics
    /// It is not.
    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|error| panic!("{error}: {self:?}"))
    }

    /// The code of a refusal; empty where the body is none.
    pub fn code(&self) -> String {
        let problem: Option<Value> = serde_json::from_slice(&self.body).ok();
        problem.and_then(|problem| problem["code"].as_str().map(str::to_owned)).unwrap_or_default()
    }
}

/// One who asks.
#[derive(Debug, Clone)]
pub struct Client {
    /// `127.0.0.1:8417`
    pub address: String,
    /// Sent along with every request; one of the same name in a request takes its place.
    pub headers: Vec<(String, String)>,
}

impl Client {
    /// One without a session.
    pub fn new(address: &str) -> Self {
        Self { address: address.to_owned(), headers: Vec::new() }
    }

    /// The same one with a header more, or another value of it.
    #[must_use]
    pub fn with(&self, name: &str, value: &str) -> Self {
        let mut headers = self.headers.clone();
        headers.retain(|(header, _)| !header.eq_ignore_ascii_case(name));
        headers.push((name.to_owned(), value.to_owned()));
        Self { address: self.address.clone(), headers }
    }

    /// Asks for a page.
    ///
    /// # Panics
    /// As [`Self::ask`].
    #[track_caller]
    pub fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, None)
    }

    /// Sends a request, with a JSON body if there is one, and reads the answer to its end.
    ///
    /// # Panics
    /// The server is not there, stays silent, or does not speak HTTP.
    #[track_caller]
    pub fn ask(&self, method: &str, path: &str, body: Option<&Value>) -> Answer {
        self.try_ask(method, path, body).unwrap_or_else(|error| panic!("{method} {path}: {error}"))
    }

    /// As [`Self::ask`], for a server that may be gone.
    ///
    /// # Errors
    /// What the socket says.
    pub fn try_ask(&self, method: &str, path: &str, body: Option<&Value>) -> io::Result<Answer> {
        let mut stream = TcpStream::connect(&self.address)?;
        stream.set_read_timeout(Some(PATIENCE))?;
        stream.set_write_timeout(Some(PATIENCE))?;
        stream.write_all(&self.request(method, path, body))?;
        let mut all = Vec::new();
        stream.read_to_end(&mut all)?;
        parse(&all, method == "HEAD").ok_or_else(|| {
            io::Error::new(io::ErrorKind::InvalidData, String::from_utf8_lossy(&all).into_owned())
        })
    }

    fn request(&self, method: &str, path: &str, body: Option<&Value>) -> Vec<u8> {
        let body = body.map(Value::to_string);
        let mut client = self.with("connection", "close");
        if !self.headers.iter().any(|(name, _)| name.eq_ignore_ascii_case("host")) {
            client = client.with("host", &self.address);
        }
        if let Some(body) = &body {
            client = client.with("content-type", "application/json");
            client = client.with("content-length", &body.len().to_string());
        }
        let mut request = format!("{method} {path} HTTP/1.1\r\n");
        for (name, value) in &client.headers {
            request.push_str(&format!("{name}: {value}\r\n"));
        }
        request.push_str("\r\n");
        request.push_str(&body.unwrap_or_default());
        request.into_bytes()
    }
}

/// Reads an answer that was received to its end. `is_bare`: it has no body, whatever its head says (RFC 9110, 9.3.2).
fn parse(all: &[u8], is_bare: bool) -> Option<Answer> {
    let head_end = all.windows(4).position(|window| window == b"\r\n\r\n")?;
    let head = std::str::from_utf8(&all[..head_end]).ok()?;
    let mut lines = head.split("\r\n");
    let status = lines.next()?.strip_prefix("HTTP/1.1 ")?.get(..3)?.parse().ok()?;
    let header = |line: &str| {
        let (name, value) = line.split_once(':')?;
        Some((name.to_ascii_lowercase(), value.trim().to_owned()))
    };
    let headers: Vec<(String, String)> = lines.map(header).collect::<Option<_>>()?;
    let mut answer = Answer { status, headers, body: Vec::new() };
    let rest = &all[head_end + 4..];
    if is_bare {
        return Some(answer);
    }
    answer.body = match (answer.header("transfer-encoding"), answer.header("content-length")) {
        (Some("chunked"), _) => unchunked(rest)?,
        (_, Some(length)) => rest.get(..length.parse().ok()?)?.to_vec(),
        _ => rest.to_vec(),
    };
    Some(answer)
}

/// Puts a chunked body together (RFC 9112, 7.1); none where it was cut off.
fn unchunked(mut rest: &[u8]) -> Option<Vec<u8>> {
    let mut body = Vec::new();
    loop {
        let line_end = rest.windows(2).position(|window| window == b"\r\n")?;
        let size = std::str::from_utf8(&rest[..line_end]).ok()?;
        let size = usize::from_str_radix(size.split(';').next()?.trim(), 16).ok()?;
        rest = &rest[line_end + 2..];
        if size == 0 {
            return Some(body);
        }
        body.extend_from_slice(rest.get(..size)?);
        rest = rest.get(size + 2..)?;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_are_read_whole_or_not_at_all() {
        let cases: [(&str, Option<(u16, &str)>); 6] = [
            ("HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\nhi", Some((200, "hi"))),
            ("HTTP/1.1 204 No Content\r\n\r\n", Some((204, ""))),
            (
                "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n2\r\nhi\r\nA;x=y\r\n0123456789\r\n0\r\n\r\n",
                Some((200, "hi0123456789")),
            ),
            ("HTTP/1.1 200 OK\r\nContent-Length: 3\r\n\r\nhi", None),
            ("HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n2\r\nhi\r\n", None),
            ("SSH-2.0\r\n\r\n", None),
        ];
        for (text, expected) in cases {
            let answer = parse(text.as_bytes(), false).map(|answer| (answer.status, answer.text()));
            assert_eq!(answer, expected.map(|(status, body)| (status, body.to_owned())), "{text}");
        }
        let bare = parse(b"HTTP/1.1 200 OK\r\nContent-Length: 3\r\n\r\n", true).expect("a head is enough");
        assert_eq!((bare.header("content-length"), bare.body.len()), (Some("3"), 0));
    }

    #[test]
    fn a_later_header_takes_the_place_of_an_earlier() {
        let client = Client::new("127.0.0.1:1").with("Cookie", "a=1").with("cookie", "a=2").with("Host", "x");
        let request = String::from_utf8(client.request("GET", "/", None)).expect("it is text");
        assert_eq!(request, "GET / HTTP/1.1\r\ncookie: a=2\r\nHost: x\r\nconnection: close\r\n\r\n");
    }
}
