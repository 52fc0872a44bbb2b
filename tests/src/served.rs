//! The real server, started on a free port of this computer and stopped by a signal.

use std::io::{BufReader, Read};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};

use serde_json::{Value, json};

use crate::asked::command;
use crate::http::Client;
use crate::notebook::Said;

/// A running server; killed when dropped.
pub struct Served {
    child: Child,
    out: BufReader<ChildStdout>,
    /// What it printed for programs: address, key, url.
    pub said: Value,
}

impl Served {
    /// Serves a notebook on a free port, and waits until it says where.
    ///
    /// # Panics
    /// It does not.
    #[track_caller]
    pub fn start(data: &Path) -> Self {
        Self::start_with(data, &[])
    }

    /// Serves with further options.
    ///
    /// # Panics
    /// It does not.
    #[track_caller]
    pub fn start_with(data: &Path, options: &[&str]) -> Self {
        let mut command = command(data, &[&["serve", "--port", "0", "--json"], options].concat());
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let mut out = BufReader::new(child.stdout.take().expect("it was piped"));
        let said = serde_json::Deserializer::from_reader(&mut out).into_iter::<Value>().next();
        let Some(Ok(said)) = said else {
            let mut err = String::new();
            // What it could still say; the failure is reported either way.
            let _ = child.stderr.take().map(|mut stderr| stderr.read_to_string(&mut err));
            panic!("the server says nothing about where it is: {err}");
        };
        Self { child, out, said }
    }

    /// Host and port.
    ///
    /// # Panics
    /// It printed none.
    #[track_caller]
    pub fn address(&self) -> String {
        let address = self.said["address"].as_str().expect("the address is printed");
        address.trim_start_matches("http://").trim_end_matches('/').to_owned()
    }

    /// One without a session.
    #[track_caller]
    pub fn stranger(&self) -> Client {
        Client::new(&self.address())
    }

    /// One who handed in the printed key.
    ///
    /// # Panics
    /// The key is refused.
    #[track_caller]
    pub fn join(&self) -> Client {
        let answer = self.stranger().ask("POST", "/api/session", Some(&json!({ "key": self.said["key"] })));
        assert_eq!(answer.status, 201, "{answer:?}");
        let cookie = answer.header("set-cookie").expect("a session has a cookie");
        let pair = cookie.split(';').next().expect("a split has a first part");
        self.stranger().with("cookie", pair)
    }

    /// Sends it a signal, waits for its end, and gives all that it said after the address.
    ///
    /// # Panics
    /// There is no such signal, or it was gone before.
    #[track_caller]
    pub fn stop(mut self, signal: &str) -> Said {
        let pid = self.child.id().to_string();
        let sent = Command::new("kill").args(["-s", signal, &pid]).status().expect("signals can be sent");
        assert!(sent.success(), "the server was gone before {signal}");
        let (mut out, mut err) = (String::new(), String::new());
        self.out.read_to_string(&mut out).expect("the program writes UTF-8");
        let mut stderr = self.child.stderr.take().expect("it was piped");
        stderr.read_to_string(&mut err).expect("the program writes UTF-8");
        let status = self.child.wait().expect("it is ours to wait for");
        Said { code: status.code().expect("it ends by itself, not by the signal"), out, err }
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        // Already gone is what is wanted.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
