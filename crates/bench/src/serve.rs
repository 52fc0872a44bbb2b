//! How the server bears a crowd: 50 writers and 200 readers over loopback, beside the same work straight on the desk.
//!
//! Both sides start from the same notebook and run for the same time with as many threads, all asking again as soon
//! as they are answered. The HTTP side is the released binary in a process of its own, with its own limits, and
//! every client is a browser with a session of its own. Clients and server share the machine's cores. Afterwards
//! every acknowledged draft is looked for in the notebook.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, AtomicI64, Ordering};
use std::sync::{Arc, Barrier};
use std::thread;
use std::time::{Duration, Instant};

use jiff::civil::{Date, date};
use storypole_desk::view::{entries, record, task, today};
use storypole_desk::{Desk, edge};
use storypole_journal::{DraftId, RecordId, Role, WrittenAt};
use storypole_notebook::compose::Composer;
use storypole_notebook::value::print_moment;
use storypole_notebook::{KindSpec, Value};

const WRITERS: usize = 50;
const READERS: usize = 200;
/// Entries held before the crowd comes.
const HELD: usize = 1_000;
const DAY: Date = date(2025, 3, 4);
const AT: WrittenAt = WrittenAt { unix_ms: 1_741_089_600_000, offset_min: 0 };

/// What one thread saw.
#[derive(Default)]
struct Seen {
    times: Vec<Duration>,
    acknowledged: Vec<DraftId>,
    refused: usize,
}

/// What a crowd saw.
struct Crowd {
    writes: Seen,
    reads: Seen,
    took: Duration,
}

/// Runs both sides for some seconds each and prints their ratios.
pub fn run(seconds: u64) {
    println!("serve: {WRITERS} writers and {READERS} readers for {seconds} s, {HELD} entries held before");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let time = Duration::from_secs(seconds);

    let path = folder.path().join("desk");
    let (desk, site) = notebook(&path);
    let desk = Arc::new(desk);
    let direct = crowd(time, |_| {
        let (writing, reading) = (Arc::clone(&desk), Arc::clone(&desk));
        (
            move |seen: &mut Seen| straight_write(&writing, site, seen),
            move |turn: usize, seen: &mut Seen| straight_read(&reading, site, turn, seen),
        )
    });
    report("desk", &direct);
    check_held(&desk, &direct);
    drop(desk);

    let path = folder.path().join("served");
    let (desk, site) = notebook(&path);
    let cookies = sessions(&desk);
    drop(desk);
    let server = Served::start(&path);
    let idle_mb = server.resident_mb("VmRSS");
    let address = server.address.clone();
    let served = crowd(time, |index| {
        let (mut writing, mut reading) =
            (Client::new(&address, &cookies[index]), Client::new(&address, &cookies[index]));
        (
            move |seen: &mut Seen| http_write(&mut writing, site, seen),
            move |turn: usize, seen: &mut Seen| {
                http_read(&mut reading, turn, seen);
            },
        )
    });
    report("http", &served);
    println!(
        "memory of the server: {idle_mb:.0} MB at the start, {:.0} MB at the end, {:.0} MB at most",
        server.resident_mb("VmRSS"),
        server.resident_mb("VmHWM")
    );
    server.stop();
    let desk = Desk::open(&path).expect("the notebook the server closed");
    check_held(&desk, &served);
    assert!(desk.verify().expect("a check").faults.is_empty(), "chain, signatures and tables hold");

    let per_second = |crowd: &Crowd, seen: &Seen| seen.times.len() as f64 / crowd.took.as_secs_f64();
    println!(
        "ratio (http / desk): writes {:.2}, reads {:.2} as many a second",
        per_second(&served, &served.writes) / per_second(&direct, &direct.writes),
        per_second(&served, &served.reads) / per_second(&direct, &direct.reads)
    );
}

/// A notebook with a site and some entries.
fn notebook(path: &Path) -> (Desk, RecordId) {
    let desk = crate::ingest::desk(path);
    let site = edge::record_id();
    let mut compose = desk.compose(AT);
    let text = |text: &str| Value::Text(text.to_owned());
    compose.set(site, "site", "label", &text("S1")).expect("a legal label");
    compose.set(site, "site", "name", &text("Workshop")).expect("a legal name");
    desk.take(compose.finish()).expect("a legal draft");
    let drafts = (0..HELD).map(|_| entry(&desk, site).finish()).collect();
    assert!(desk.take_all(drafts).expect("the database takes them").iter().all(Result::is_ok));
    (desk, site)
}

/// The day of a new entry: one after the other over some years, so that no day holds more than a crew would write.
fn next_day() -> Date {
    static WRITTEN: AtomicI64 = AtomicI64::new(0);
    let days = 1 + WRITTEN.fetch_add(1, Ordering::Relaxed) % 9_000;
    DAY.checked_add(jiff::Span::new().days(days)).expect("a day before the year 2050")
}

const WORDS: &str = "Opened the wall, moved two boxes, filled four bays and closed it again.";

/// A new entry of the day log, the same words each time.
pub fn entry(desk: &Desk, site: RecordId) -> Composer {
    let mut compose = desk.compose(AT);
    let record = edge::record_id();
    for (field, value) in [
        ("site", Value::Record(site)),
        ("date", Value::Date(next_day())),
        ("entry_kind", Value::Text("work".to_owned())),
        ("text", Value::Text(WORDS.to_owned())),
    ] {
        compose.set(record, "entry", field, &value).expect("a legal entry");
    }
    compose
}

/// Lets the crowd loose; `make` gives each of its members what it does. Writers come first.
fn crowd<W, R>(time: Duration, make: impl Fn(usize) -> (W, R)) -> Crowd
where
    W: FnMut(&mut Seen) + Send + 'static,
    R: FnMut(usize, &mut Seen) + Send + 'static,
{
    let start = Arc::new(Barrier::new(WRITERS + READERS + 1));
    let over = Arc::new(AtomicBool::new(false));
    let mut threads = Vec::with_capacity(WRITERS + READERS);
    for index in 0..WRITERS + READERS {
        let (mut write, mut read) = make(index);
        let (start, over) = (Arc::clone(&start), Arc::clone(&over));
        threads.push(thread::spawn(move || {
            let mut seen = Seen::default();
            start.wait();
            let mut turn = index;
            while !over.load(Ordering::Relaxed) {
                if index < WRITERS {
                    write(&mut seen)
                } else {
                    read(turn, &mut seen)
                }
                turn += 1;
            }
            seen
        }));
    }
    start.wait();
    let begun = Instant::now();
    thread::sleep(time);
    over.store(true, Ordering::Relaxed);
    let mut crowd = Crowd { writes: Seen::default(), reads: Seen::default(), took: Duration::ZERO };
    for (index, thread) in threads.into_iter().enumerate() {
        let seen = thread.join().expect("no member of the crowd panics");
        let sum = if index < WRITERS { &mut crowd.writes } else { &mut crowd.reads };
        sum.times.extend(seen.times);
        sum.acknowledged.extend(seen.acknowledged);
        sum.refused += seen.refused;
    }
    crowd.took = begun.elapsed();
    crowd.writes.times.sort_unstable();
    crowd.reads.times.sort_unstable();
    crowd
}

fn straight_write(desk: &Desk, site: RecordId, seen: &mut Seen) {
    let draft = entry(desk, site).finish();
    let id = draft.id;
    let begun = Instant::now();
    match desk.take(draft) {
        Ok(_) => {
            seen.times.push(begun.elapsed());
            seen.acknowledged.push(id);
        }
        Err(_) => seen.refused += 1,
    }
}

/// The four views that the readers ask for in turn.
const VIEWS: [&str; 4] =
    ["/api/today?day=2025-03-04", "/api/entries?limit=50", "/api/records/site/S1", "/api/tasks"];

fn straight_read(desk: &Desk, site: RecordId, turn: usize, seen: &mut Seen) {
    let begun = Instant::now();
    let book = desk.book().expect("a book");
    let json = match turn % VIEWS.len() {
        0 => {
            let asked = today::Asked { day: Some(DAY), site: None, today: DAY };
            today::today(&book, asked).expect("the day asked for").json(&book)
        }
        1 => {
            let asked = entries::EntriesAsked { limit: 50, ..entries::EntriesAsked::default() };
            entries::page(&book, &asked)
        }
        2 => {
            let kind = KindSpec::find("site").expect("a kind of this version");
            let row = desk.read(|reader| reader.row(kind, site)).expect("a row").expect("the site");
            let heads = desk.read(|reader| reader.heads_of(site, kind)).expect("its heads");
            record::json(&book, &row, &heads)
        }
        _ => task::list(&book, None, None),
    };
    assert!(!json.to_string().is_empty());
    seen.times.push(begun.elapsed());
}

/// A session for each member of the crowd; gives their cookies.
fn sessions(desk: &Desk) -> Vec<String> {
    (0..WRITERS + READERS)
        .map(|index| {
            let (cookie, hash) = storypole_server::access::cookie_for(desk.notebook());
            let label = Some(format!("crowd {index}"));
            desk.session_add(hash, desk.author(), Role::Keeper, label, edge::now_ms()).expect("a session");
            cookie
        })
        .collect()
}

fn http_write(client: &mut Client, site: RecordId, seen: &mut Seen) {
    let id = edge::draft_id();
    let body = entry_body(edge::record_id(), site, WORDS);
    let begun = Instant::now();
    match client.ask("PUT", &format!("/api/drafts/{id}"), &body) {
        201 => {
            seen.times.push(begun.elapsed());
            seen.acknowledged.push(id);
        }
        _ => seen.refused += 1,
    }
}

/// The body of a request that writes a new entry of the day log.
pub fn entry_body(record: RecordId, site: RecordId, words: &str) -> String {
    let write = |field: &str, value: &str| {
        format!("{{\"record\":\"{record}\",\"kind\":\"entry\",\"field\":\"{field}\",\"value\":\"{value}\"}}")
    };
    let writes = [
        write("site", &site.to_string()),
        write("date", &next_day().to_string()),
        write("entry_kind", "work"),
        write("text", words),
    ];
    format!("{{\"written_at\":\"{}\",\"writes\":[{}]}}", print_moment(AT), writes.join(","))
}

fn http_read(client: &mut Client, turn: usize, seen: &mut Seen) {
    let begun = Instant::now();
    match client.ask("GET", VIEWS[turn % VIEWS.len()], "") {
        200 => seen.times.push(begun.elapsed()),
        _ => seen.refused += 1,
    }
}

/// One browser: a connection that is kept, and a session.
pub struct Client {
    address: String,
    cookie: String,
    stream: Option<BufReader<TcpStream>>,
    body: Vec<u8>,
}

impl Client {
    pub fn new(address: &str, cookie: &str) -> Self {
        Self { address: address.to_owned(), cookie: cookie.to_owned(), stream: None, body: Vec::new() }
    }

    /// Sends a request, reads the whole answer, gives its status.
    pub fn ask(&mut self, method: &str, path: &str, body: &str) -> u16 {
        let stream = self.stream.get_or_insert_with(|| {
            let stream = TcpStream::connect(&self.address).expect("the server listens");
            stream.set_nodelay(true).expect("a socket option");
            BufReader::new(stream)
        });
        let request = format!(
            "{method} {path} HTTP/1.1\r\nhost: {}\r\ncookie: {}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
            self.address,
            self.cookie,
            body.len()
        );
        stream.get_mut().write_all(request.as_bytes()).expect("the server reads");
        let mut line = String::new();
        stream.read_line(&mut line).expect("a status line");
        let status = line.split(' ').nth(1).and_then(|status| status.parse().ok()).expect("a status");
        let mut length = 0;
        loop {
            line.clear();
            stream.read_line(&mut line).expect("a header");
            let header = line.trim().to_ascii_lowercase();
            if header.is_empty() {
                break;
            }
            if let Some(value) = header.strip_prefix("content-length:") {
                length = value.trim().parse().expect("a length");
            }
            assert!(
                !header.starts_with("transfer-encoding"),
                "answers without compression tell their length"
            );
        }
        self.body.resize(length, 0);
        stream.read_exact(&mut self.body).expect("a whole answer");
        status
    }

    /// The last answer, without its head.
    pub fn body(&self) -> &[u8] {
        &self.body
    }
}

/// The released binary, serving.
struct Served {
    child: Child,
    address: String,
}

impl Served {
    fn start(path: &Path) -> Self {
        let mut child = Command::new(binary())
            .arg("--data")
            .arg(path)
            .args(["--json", "serve", "--port", "0"])
            .stdout(Stdio::piped())
            .spawn()
            .expect("the released binary beside this one: cargo xtask build");
        let mut line = String::new();
        BufReader::new(child.stdout.as_mut().expect("piped"))
            .read_line(&mut line)
            .expect("what serve prints");
        let said: serde_json::Value = serde_json::from_str(&line).expect("one object of JSON");
        Self { child, address: said["address"].as_str().expect("an address").to_owned() }
    }

    /// A line of the process's status, MB.
    fn resident_mb(&self, name: &str) -> f64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).unwrap_or_default();
        let line = status.lines().find_map(|line| line.strip_prefix(name)?.strip_prefix(':'));
        let kib = line.and_then(|rest| rest.split_whitespace().next()?.parse::<f64>().ok());
        kib.map_or(f64::NAN, |kib| kib * 1024.0 / 1e6)
    }

    fn stop(mut self) {
        let pid = self.child.id().to_string();
        Command::new("kill").args(["-TERM", &pid]).status().expect("a signal can be sent");
        assert!(self.child.wait().expect("it ends").success(), "a clean stop");
    }
}

fn binary() -> PathBuf {
    let this = std::env::current_exe().expect("this program has a place");
    this.with_file_name(format!("storypole{}", std::env::consts::EXE_SUFFIX))
}

fn report(name: &str, crowd: &Crowd) {
    for (what, seen) in [("writes", &crowd.writes), ("reads", &crowd.reads)] {
        let at = |share: f64| {
            let index = ((seen.times.len() as f64 * share) as usize).min(seen.times.len().saturating_sub(1));
            seen.times.get(index).copied().unwrap_or_default().as_secs_f64() * 1e3
        };
        println!(
            "{name:>6} {what:<6}: {:>7} in {:.1} s, {:>6.0} a second, p50 {:>7.1} ms, p99 {:>7.1} ms, refused {}",
            seen.times.len(),
            crowd.took.as_secs_f64(),
            seen.times.len() as f64 / crowd.took.as_secs_f64(),
            at(0.50),
            at(0.99),
            seen.refused
        );
    }
}

fn check_held(desk: &Desk, crowd: &Crowd) {
    let acknowledged = &crowd.writes.acknowledged;
    let lost = desk
        .read(|reader| Ok(acknowledged.iter().filter(|id| !reader.holds(**id).unwrap_or(false)).count()))
        .expect("the database answers");
    println!("        acknowledged {}, lost {lost}", acknowledged.len());
    assert_eq!(lost, 0, "nothing acknowledged is lost");
}
