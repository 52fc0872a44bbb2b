//! The same questions over HTTP, and how soon a saved entry is found.
//!
//! The server runs in this process with all its layers, and one browser asks it over loopback on a connection that is kept. Every
//! answer counts. The only limit that is lifted is the one on how often a session may ask.

use std::net::{Ipv4Addr, SocketAddr};
use std::sync::{Arc, mpsc};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use storypole_desk::{Desk, edge};
use storypole_journal::{RecordId, Role};
use storypole_server::{Limits, Options, Tls, serve};
use tokio::sync::oneshot;

use super::timed::{Took, late};
use super::{Questions, Want};
use crate::serve::{Client, entry_body};

/// Entries that are saved and looked for.
const SAVED: usize = 200;
/// Requests that nobody needs an index for: what the road alone takes.
const EMPTY: usize = 300;
/// How often each question is asked.
const TIMES: usize = 3;
const AIM_WORD_MS: f64 = 5.0;
const AIM_SAVED_MS: f64 = 50.0;
/// How long an entry is looked for before the benchmark is given up.
const PATIENCE: Duration = Duration::from_secs(60);

/// Serves the notebook, asks, saves, and stops the server.
pub fn run(desk: &Arc<Desk>, questions: &Questions) {
    let server = Server::start(Arc::clone(desk));
    let (cookie, hash) = storypole_server::access::cookie_for(desk.notebook());
    desk.session_add(hash, desk.author(), Role::Keeper, Some("bench".to_owned()), edge::now_ms())
        .expect("a session");
    let mut client = Client::new(&server.address.to_string(), &cookie);
    println!("  over HTTP on loopback, one browser");
    let road = timed((0..EMPTY).map(|_| "/api/session".to_owned()), &mut client);
    println!("    {:<32} {}", "no question (/api/session)", times(&road));
    for want in Want::ALL {
        let paths: Vec<String> = questions.of(want).iter().map(|asked| path(&asked.typed)).collect();
        timed(paths.iter().take(EMPTY / 10).cloned(), &mut client);
        let took = timed((0..TIMES).flat_map(|_| paths.iter().cloned()), &mut client);
        println!("    {:<32} {}", want.words(), times(&took));
        if want == Want::Word {
            late("a word", &took, AIM_WORD_MS);
        }
    }
    saved_to_findable(desk, &mut client);
    drop(client);
    server.stop();
}

fn times(took: &Took) -> String {
    format!("p50 {:>8.3} ms, p99 {:>8.3} ms, {} requests", took.at_ms(50), took.at_ms(99), took.count())
}

/// Questions here are made of letters, digits and blanks.
fn path(typed: &str) -> String {
    format!("/api/find?words={}", typed.replace(' ', "%20"))
}

fn timed(paths: impl Iterator<Item = String>, client: &mut Client) -> Took {
    let times = paths.map(|path| {
        let begun = Instant::now();
        assert_eq!(client.ask("GET", &path, ""), 200, "{path}");
        begun.elapsed()
    });
    Took::of(times.collect())
}

/// Saves an entry with a word nobody else used and asks for the word until the answer has the entry, again and again.
fn saved_to_findable(desk: &Desk, client: &mut Client) {
    let site =
        desk.book().expect("the database answers").sites.live().next().expect("the notes have a site").id;
    let (mut saving, mut finding, mut both, mut asked) = (Vec::new(), Vec::new(), Vec::new(), 0);
    for number in 0..SAVED {
        let (record, word) = (edge::record_id(), nobodys_word(number));
        let body = entry_body(record, site, &format!("Left the {word} at the site."));
        let begun = Instant::now();
        assert_eq!(client.ask("PUT", &format!("/api/drafts/{}", edge::draft_id()), &body), 201);
        let saved = begun.elapsed();
        asked += until_found(client, &word, record);
        both.push(begun.elapsed());
        saving.push(saved);
        finding.push(begun.elapsed() - saved);
    }
    println!("    {SAVED} entries saved and looked for, {asked} questions in all");
    for (name, times) in
        [("sent until saved", &saving), ("saved until found", &finding), ("sent until found", &both)]
    {
        println!("    {name:<32} {}", self::times(&Took::of(times.clone())));
    }
    late("saved until found", &Took::of(finding), AIM_SAVED_MS);
}

/// Asks until the answer has the record, and tells how often.
fn until_found(client: &mut Client, word: &str, record: RecordId) -> usize {
    let (path, id) = (path(word), record.to_string());
    let begun = Instant::now();
    for times in 1.. {
        assert_eq!(client.ask("GET", &path, ""), 200, "{path}");
        if String::from_utf8_lossy(client.body()).contains(&id) {
            return times;
        }
        assert!(begun.elapsed() < PATIENCE, "an entry is found within a minute");
    }
    unreachable!("it asks without end")
}

/// Eight letters that begin as no word of the notes does.
fn nobodys_word(number: usize) -> String {
    let letters = (0..4)
        .map(|place| char::from(b'a' + u8::try_from(number / 5_usize.pow(place) % 5).expect("below 5")));
    "xyxq".chars().chain(letters).collect()
}

/// The server of the product on a thread of its own.
struct Server {
    address: SocketAddr,
    stop: oneshot::Sender<()>,
    thread: JoinHandle<()>,
}

impl Server {
    fn start(desk: Arc<Desk>) -> Self {
        let (stop, stopped) = oneshot::channel::<()>();
        let (tell, told) = mpsc::channel();
        let limits = Limits { requests_a_second: 1_000_000, burst: 1_000_000, ..Limits::default() };
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, 0));
        let options = Options { address, limits, tls: Tls::None, backups: None };
        let thread = thread::spawn(move || {
            let runtime =
                tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("a runtime");
            let ready = |listening: &storypole_server::Listening| {
                tell.send(listening.address).expect("someone waits for it");
            };
            let stop = async {
                // Dropping the sender stops it as well.
                let _ = stopped.await;
            };
            runtime.block_on(serve(desk, options, ready, stop)).expect("a free port");
        });
        Self { address: told.recv().expect("it listens"), stop, thread }
    }

    fn stop(self) {
        drop(self.stop);
        self.thread.join().expect("the server ends in order");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_saved_entry_has_a_word_of_its_own() {
        let words: std::collections::BTreeSet<String> = (0..SAVED).map(nobodys_word).collect();
        assert_eq!(words.len(), SAVED);
    }
}
