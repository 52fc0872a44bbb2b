//! The program serving a throw-away notebook, for chores that ask it over HTTP.
//!
//! Speaks just enough HTTP to turn the printed key into a session; no other request is made here.

use std::fs;
use std::io::{self, BufRead, BufReader, ErrorKind, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use crate::Stop;
use crate::call::Call;

/// How long one answer may take.
const PATIENCE: Duration = Duration::from_secs(20);

/// A running server. It is killed when dropped; [`end`](Self::end) asks it to stop.
pub struct Served {
    child: Child,
    data: PathBuf,
    /// `127.0.0.1:8417`
    pub address: String,
    /// `name=value`, as a client sends it.
    pub cookie: String,
}

impl Served {
    /// Makes the demo notebook afresh in `data` and serves it on a free port of this computer.
    pub fn demo(root: &Path, binary: &Path, data: &Path) -> Result<Self, Stop> {
        clear(data)?;
        call(binary, data, &["init", "--demo"]).run_or_stop(root)?;
        println!("$ {}", call(binary, data, &["serve", "--port", "0", "--json"]));
        let mut command = Command::new(binary);
        command.arg("--data").arg(data).args(["serve", "--port", "0", "--json"]);
        command.stdin(Stdio::null()).stdout(Stdio::piped());
        let mut child = command.spawn().map_err(Stop::io(format!("start `{}`", binary.display())))?;
        let out = child.stdout.take().expect("stdout was piped above");
        let mut served =
            Self { child, data: data.to_path_buf(), address: String::new(), cookie: String::new() };
        let said = first_object(out).map_err(Stop::io("read what `serve` prints"))?;
        let (Some(address), Some(key)) = (member(&said, "address"), member(&said, "key")) else {
            return Err(Stop::Refused(format!("`serve --json` printed no address and key: {said}")));
        };
        served.address = address.trim_start_matches("http://").trim_end_matches('/').to_owned();
        served.cookie = session(&served.address, key).map_err(Stop::io("open a session"))?;
        Ok(served)
    }

    /// Asks the server to stop, waits for it, and checks that the notebook it leaves is whole.
    pub fn end(mut self, root: &Path, binary: &Path) -> Result<(), Stop> {
        let asked = Call::new(&["kill", "-TERM", &self.child.id().to_string()]).works(root);
        if !asked {
            return Err(Stop::Refused("the server was gone before it was asked to stop".to_owned()));
        }
        let status = self.child.wait().map_err(Stop::io("wait for the server"))?;
        if !status.success() {
            return Err(Stop::Refused(format!("the server did not stop in order: {status}")));
        }
        call(binary, &self.data, &["verify"]).run_or_stop(root)
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        // Already gone is what is wanted.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn call(binary: &Path, data: &Path, words: &[&str]) -> Call {
    let (binary, data) = (binary.to_string_lossy(), data.to_string_lossy());
    let mut all = vec![binary.as_ref(), "--data", data.as_ref()];
    all.extend_from_slice(words);
    Call::new(&all)
}

fn clear(folder: &Path) -> Result<(), Stop> {
    match fs::remove_dir_all(folder) {
        Err(error) if error.kind() != ErrorKind::NotFound => {
            Err(Stop::io(format!("clear {}", folder.display()))(error))
        }
        _ => Ok(()),
    }
}

/// Reads up to the end of the first JSON object, which holds no other, on one line or on several.
fn first_object(from: impl Read) -> io::Result<String> {
    let mut said = Vec::new();
    BufReader::new(from).read_until(b'}', &mut said)?;
    Ok(String::from_utf8_lossy(&said).into_owned())
}

/// The text of a member whose value has no escapes, as addresses and keys have none.
fn member<'a>(object: &'a str, name: &str) -> Option<&'a str> {
    let (_, rest) = object.split_once(&format!("\"{name}\""))?;
    let value = rest.trim_start().strip_prefix(':')?.trim_start().strip_prefix('"')?;
    value.split_once('"').map(|(value, _)| value)
}

/// Hands in the one-time key. Returns the cookie of the session.
fn session(address: &str, key: &str) -> io::Result<String> {
    let mut stream = TcpStream::connect(address)?;
    stream.set_read_timeout(Some(PATIENCE))?;
    let body = format!("{{\"key\":\"{key}\"}}");
    let head = format!(
        "POST /api/session HTTP/1.1\r\nHost: {address}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\
         Connection: close\r\n\r\n",
        body.len()
    );
    stream.write_all(format!("{head}{body}").as_bytes())?;
    let mut answer = String::new();
    stream.read_to_string(&mut answer)?;
    let refused = || io::Error::other(format!("the key was refused: {answer}"));
    cookie(&answer).ok_or_else(refused)
}

/// `name=value` of the cookie that an answer sets.
fn cookie(answer: &str) -> Option<String> {
    let head = answer.split("\r\n\r\n").next()?;
    let mut fields = head.lines().filter_map(|line| line.split_once(':'));
    let (_, value) = fields.find(|(name, _)| name.eq_ignore_ascii_case("set-cookie"))?;
    value.split(';').next().map(|pair| pair.trim().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_printed_object_is_read_on_one_line_or_several() {
        let cases = [
            "{\"address\":\"127.0.0.1:9\",\"key\":\"abc\"}\nmore",
            "{\n  \"address\": \"127.0.0.1:9\",\n  \"key\": \"abc\"\n}\n",
        ];
        for text in cases {
            let said = first_object(text.as_bytes()).expect("memory does not fail");
            assert!(said.ends_with('}'), "{said}");
            assert_eq!(member(&said, "address"), Some("127.0.0.1:9"));
            assert_eq!(member(&said, "key"), Some("abc"));
            assert_eq!(member(&said, "url"), None);
        }
    }

    #[test]
    fn the_cookie_is_taken_from_the_head_only() {
        let answer = "HTTP/1.1 201 Created\r\nset-cookie: pole-1=abc; HttpOnly; Path=/\r\n\r\n{}";
        assert_eq!(cookie(answer).as_deref(), Some("pole-1=abc"));
        assert_eq!(cookie("HTTP/1.1 401 Unauthorized\r\n\r\nset-cookie: a=b"), None);
    }
}
