//! What the other end's events tell: that something moved there. Which records is not asked; a sync finds out.

use std::time::Duration;

use http_body_util::BodyExt;
use hyper::body::Incoming;
use tokio::time::{Instant, sleep_until, timeout};

use super::pace::pause;

/// How long a stream may say nothing: four times as long as a server waits before it shows that it is alive.
const SILENCE: Duration = Duration::from_secs(60);

/// The longest line that is kept; only the names of events are of interest.
const LINE_BYTES: usize = 4096;

/// The other end's events, while they are heard.
#[derive(Default)]
pub struct Heard {
    stream: Option<Incoming>,
    line: Vec<u8>,
    /// Streams in a row that brought nothing.
    failures: u32,
    again: Option<Instant>,
}

impl Heard {
    /// Whether a stream may be opened now.
    pub fn may_open(&self) -> bool {
        self.stream.is_none() && self.again.is_none_or(|again| again <= Instant::now())
    }

    /// Hears this stream from now on.
    pub fn open(&mut self, stream: Incoming) {
        self.stream = Some(stream);
        self.line.clear();
        self.again = None;
    }

    /// No stream could be opened, or it ended.
    pub fn failed(&mut self) {
        self.stream = None;
        self.failures = self.failures.saturating_add(1);
        self.again = Some(Instant::now() + pause(self.failures, u32::MAX / 2));
    }

    /// Waits until something moved there, or until it is time to sync and open the stream again. May be given up at
    /// any time.
    pub async fn news(&mut self) {
        loop {
            let Some(stream) = &mut self.stream else {
                match self.again {
                    Some(again) => sleep_until(again).await,
                    None => std::future::pending().await,
                }
                return;
            };
            match timeout(SILENCE, stream.frame()).await {
                Ok(Some(Ok(frame))) => {
                    let Ok(piece) = frame.into_data() else { continue };
                    self.failures = 0;
                    match told(&mut self.line, &piece) {
                        Told::Nothing => (),
                        Told::Moved => return,
                        Told::Closing => self.failed(),
                    }
                }
                // Ended, broken, or half dead.
                _ => self.failed(),
            }
        }
    }
}

#[derive(Debug, PartialEq)]
enum Told {
    Nothing,
    Moved,
    Closing,
}

/// Reads the names of events out of a piece of the stream; what is not whole yet waits in `line`.
fn told(line: &mut Vec<u8>, piece: &[u8]) -> Told {
    let mut told = Told::Nothing;
    for byte in piece {
        if *byte != b'\n' {
            if line.len() < LINE_BYTES {
                line.push(*byte);
            }
            continue;
        }
        match line.as_slice() {
            b"event: closing" => told = Told::Closing,
            b"event: here" | b"event: changed" | b"event: reset" if told == Told::Nothing => {
                told = Told::Moved
            }
            _ => (),
        }
        line.clear();
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn events_are_told_wherever_the_stream_is_cut() {
        let stream = b":\n\nevent: changed\nid: 5f0c9a1e-43-0\ndata: {\"event: closing\":1}\n\n";
        for cut in 0..stream.len() {
            let mut line = Vec::new();
            let both = [told(&mut line, &stream[..cut]), told(&mut line, &stream[cut..])];
            assert_eq!(both.iter().filter(|told| **told == Told::Moved).count(), 1, "{cut}");
            assert!(!both.contains(&Told::Closing));
        }
        let mut line = Vec::new();
        assert_eq!(told(&mut line, b"event: changed\n\nevent: closing\n"), Told::Closing);
        assert_eq!(told(&mut line, b"event: unheard of\n"), Told::Nothing);
        assert_eq!(told(&mut line, &[b'x'; 10_000]), Told::Nothing);
        assert_eq!(line.len(), LINE_BYTES);
    }
}
