//! Every limit of the server in one place, so that tests can tighten them.

use std::time::Duration;

/// What one client, and all together, may ask.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Largest body of JSON, bytes.
    pub json_bytes: usize,
    /// Largest attachment, bytes.
    pub file_bytes: u64,
    /// Wrong keys within a minute, over all clients.
    pub wrong_keys_a_minute: u32,
    /// How long a key that was used opens the same session once more: browsers send a request again by themselves
    /// when a connection breaks before the answer is there. Longer than they wait for an answer.
    pub key_again: Duration,
    /// How long the body with a key may take as a whole: whoever sends it is not let in yet.
    pub key_body: Duration,
    /// Bodies with a key that are read at once.
    pub keys_at_once: usize,
    /// Requests a second that one session may keep up.
    pub requests_a_second: u32,
    /// Requests at once that one session may make after a rest.
    pub burst: u32,
    /// Event streams of one session.
    pub streams: usize,
    /// Requests in flight, over all clients.
    pub in_flight: usize,
    /// Connections open at once, over all clients.
    pub connections: usize,
    /// How long the head of a request may take, and a handshake of TLS.
    pub head: Duration,
    /// How long a body may say nothing before it is given up.
    pub body_idle: Duration,
    /// How long an answer may find nobody to take it before its connection is given up.
    pub answer_idle: Duration,
    /// How often an event stream without news shows that it is alive.
    pub heartbeat: Duration,
    /// Least time between two events of one stream.
    pub calm: Duration,
    /// How often the certificate that is shown is looked after.
    pub renewal: Duration,
    /// How long requests in flight may go on after the server was asked to stop.
    pub grace: Duration,
}

/// Conventions of this project: generous for a crew's browsers, small beside what one computer can do.
impl Default for Limits {
    fn default() -> Self {
        Self {
            json_bytes: 1 << 20,
            file_bytes: 4 << 30,
            wrong_keys_a_minute: 10,
            key_again: Duration::from_secs(20),
            key_body: Duration::from_secs(5),
            keys_at_once: 16,
            requests_a_second: 200,
            burst: 400,
            streams: 8,
            in_flight: 512,
            connections: 1024,
            head: Duration::from_secs(10),
            body_idle: Duration::from_secs(15),
            answer_idle: Duration::from_secs(60),
            heartbeat: Duration::from_secs(15),
            calm: Duration::from_millis(100),
            renewal: Duration::from_secs(60),
            grace: Duration::from_secs(10),
        }
    }
}
