//! Three real servers on real ports: they are killed at random while people write at each and they sync with one
//! another. Afterwards all hold the same, and nothing that was acknowledged is missing.
//!
//! `cargo xtask soak crew` does it 300 times; `STORYPOLE_KILLS` and `SEED` set number and seed.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::net::TcpListener;
use std::path::PathBuf;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use storypole_testkit::Chance;
use storypole_tests::{Client, Notebook, Served, json as said, run};

/// How long the three may take to agree once nobody disturbs them.
const PATIENCE: Duration = Duration::from_secs(120);

/// How long a writer rests: people write no faster, and the servers let nobody ask without end.
const PAUSE: Duration = Duration::from_millis(20);

/// One copy of the notebook, with the place where it is always served.
struct Place {
    data: PathBuf,
    port: String,
    server: Mutex<Option<Served>>,
    /// Who writes there; the session outlives the server.
    client: Client,
}

impl Place {
    fn open(data: PathBuf) -> Self {
        let port = free_port();
        let server = Served::start_with(&data, &["--port", &port]);
        let client = server.join();
        Self { data, port, server: Mutex::new(Some(server)), client }
    }

    fn url(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }

    fn kill(&self) {
        self.server.lock().unwrap().take().unwrap().kill();
    }

    fn start(&self) {
        *self.server.lock().unwrap() = Some(Served::start_with(&self.data, &["--port", &self.port]));
    }

    /// A copy in a folder of its own that joins the notebook of this server.
    fn joined_by(&self, data: PathBuf, label: &str) -> Self {
        let invitation = json!({ "role": "crew", "for": "device" });
        let answer = self.client.ask("POST", "/api/invitations", Some(&invitation));
        assert_eq!(answer.status, 201, "{answer:?}");
        let code = answer.json()["code"].as_str().unwrap().to_owned();
        let words = ["join", &self.url(), &code, "--label", label];
        let output = run(&data, &words);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        Self::open(data)
    }

    /// What the log and the tables come to, as a command beside the server reads them.
    fn digest(&self) -> Value {
        let digest = said(&self.data, &["digest"]);
        json!([digest["log"], digest["tables"]])
    }
}

/// A port that was free a moment ago.
fn free_port() -> String {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port().to_string()
}

/// A line of the day log, with ids from a seed.
fn entry(writer: usize, number: usize, chance: &mut Chance, job: &Value) -> (String, Value) {
    let mut id = |low: u8| {
        let random: String = chance.id().iter().map(|byte| format!("{byte:02x}")).collect();
        format!("01968f0{low}-0000-7{}-8{}-{}", &random[..3], &random[3..6], &random[6..18])
    };
    let (draft, record) = (id(1), id(2));
    let write = |field: &str, value: Value| json!({ "record": record, "kind": "entry", "field": field, "value": value });
    let body = json!({
        "written_at": "2025-05-21T08:00:00-05:00",
        "writes": [
            write("entry_kind", "work".into()),
            write("date", "2025-05-21".into()),
            write("text", format!("bay {number} filled by crew {writer}").into()),
            write("job", job["id"].clone()),
            write("site", job["fields"]["site"]["value"].clone()),
        ],
    });
    (draft, body)
}

/// Writes without pause until told to stop; gives what was acknowledged.
fn write(place: &Place, writer: usize, seed: u64, job: &Value, stop: &AtomicBool) -> Vec<(String, Value)> {
    let mut chance = Chance::new(seed.wrapping_mul(31).wrapping_add(writer as u64));
    let mut acknowledged = Vec::new();
    for number in 0.. {
        let (id, body) = entry(writer, number, &mut chance, job);
        // While the server is down or goes down, the same draft is sent again, as a browser does.
        loop {
            if stop.load(Ordering::Relaxed) {
                return acknowledged;
            }
            match place.client.try_ask("PUT", &format!("/api/drafts/{id}"), Some(&body)) {
                Ok(answer) if matches!(answer.status, 200 | 201) => break,
                Ok(answer) => assert!(matches!(answer.status, 429 | 503), "{answer:?}"),
                Err(_) => (),
            }
            std::thread::sleep(PAUSE);
        }
        acknowledged.push((id, body));
        std::thread::sleep(PAUSE);
    }
    acknowledged
}

/// Sends a draft again that was acknowledged somewhere; the status of the answer.
fn again(place: &Place, id: &str, body: &Value) -> u16 {
    loop {
        let answer = place.client.ask("PUT", &format!("/api/drafts/{id}"), Some(body));
        if answer.status != 429 {
            return answer.status;
        }
        std::thread::sleep(PAUSE);
    }
}

#[test]
fn killed_servers_agree_in_the_end() {
    let number = |name: &str, default: u64| {
        std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(default)
    };
    let (kills, seed) = (number("STORYPOLE_KILLS", 20), number("SEED", 1));
    let notebook = Notebook::demo();
    let box_ = Place::open(notebook.data());
    let job = box_.client.get("/api/records/job/J7").json();
    let laptop = box_.joined_by(notebook.folder.path().join("laptop"), "laptop");
    let tablet = box_.joined_by(notebook.folder.path().join("tablet"), "tablet");
    let places = [box_, laptop, tablet];

    let stop = AtomicBool::new(false);
    let acknowledged: Vec<(String, Value)> = std::thread::scope(|scope| {
        let writers: Vec<_> = places
            .iter()
            .enumerate()
            .map(|(writer, place)| {
                let (stop, job) = (&stop, &job);
                scope.spawn(move || write(place, writer, seed, job, stop))
            })
            .collect();
        let mut chance = Chance::new(seed);
        for _ in 0..kills {
            std::thread::sleep(Duration::from_millis(200 + chance.below(1_300)));
            let place = chance.pick(&places);
            place.kill();
            // Down for a while, or back at once.
            std::thread::sleep(Duration::from_millis(chance.below(400)));
            place.start();
        }
        stop.store(true, Ordering::Relaxed);
        writers.into_iter().flat_map(|writer| writer.join().unwrap()).collect()
    });

    let begun = Instant::now();
    loop {
        let digests: Vec<Value> = places.iter().map(Place::digest).collect();
        if digests.iter().all(|digest| *digest == digests[0]) {
            break;
        }
        assert!(begun.elapsed() < PATIENCE, "SEED={seed}: they do not agree: {digests:?}");
        std::thread::sleep(Duration::from_millis(200));
    }
    for place in &places {
        for (id, body) in &acknowledged {
            assert_eq!(again(place, id, body), 200, "SEED={seed}: {id} was acknowledged and is not held");
        }
        place.server.lock().unwrap().take().unwrap().stop("TERM");
        said(&place.data, &["verify"]);
    }
    println!("{kills} kills; {} drafts acknowledged at three servers, all held by all", acknowledged.len());
    assert!(acknowledged.len() as u64 > kills, "people wrote all the while");
}
