//! The demo notebook behind the routes of the views, without a socket and without the layers before them.

use std::path::Path;
use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode};
use http_body_util::BodyExt;
use serde_json::Value as Json;
use storypole_desk::{Desk, Founding, edge, intake, names};
use storypole_journal::WrittenAt;
use storypole_notebook::Value;
use storypole_server::{ApiError, App, Code, views};
use storypole_units::Currency;
use tokio::runtime::Runtime;
use tower::ServiceExt;

const NOW: WrittenAt = WrittenAt { unix_ms: 1_748_000_000_000, offset_min: -300 };

/// A notebook and what asks it.
pub struct Demo {
    router: Router,
    runtime: Runtime,
    desk: Arc<Desk>,
    _folder: tempfile::TempDir,
}

/// What came back.
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub text: String,
    pub refused: Option<ApiError>,
}

impl Demo {
    /// The demo files, and what they lack: a conflict, a photo, a struck record, a cleared field, two equal labels.
    pub fn read() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let desk = found(folder.path());
        let seed = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../seed-data");
        let mut files: Vec<_> = std::fs::read_dir(seed).unwrap().map(|entry| entry.unwrap().path()).collect();
        files.retain(|file| file.extension().is_some_and(|ending| ending != "md"));
        files.sort();
        for file in files {
            let name = file.file_name().unwrap().to_str().unwrap();
            let taken = intake::read(name, &std::fs::read(&file).unwrap(), &desk, desk.author(), NOW);
            assert!(taken.problems.is_empty(), "{:?}", taken.problems.first());
            assert!(desk.take_all(taken.drafts).unwrap().iter().all(Result::is_ok));
        }
        add_what_is_rare(&desk);
        Self::over(desk, folder)
    }

    /// A notebook with nothing in it yet.
    pub fn empty() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Self::over(found(folder.path()), folder)
    }

    fn over(desk: Desk, folder: tempfile::TempDir) -> Self {
        let runtime =
            tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_time().build().unwrap();
        let desk = Arc::new(desk);
        let router = Router::from(views::routes()).with_state(App::new(Arc::clone(&desk)));
        Self { router, runtime, desk, _folder: folder }
    }

    /// Keeps a file; gives its hash as an address has it.
    pub fn keep(&self, bytes: &[u8]) -> String {
        let kept = self.desk.keep_file(&mut &bytes[..]).unwrap();
        kept.hash.iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// Asks for an address.
    pub fn ask(&self, path: &str) -> Answer {
        let request = Request::get(path).body(Body::empty()).unwrap();
        self.runtime.block_on(async {
            let mut response = self.router.clone().oneshot(request).await.unwrap();
            let refused = response.extensions_mut().remove::<ApiError>();
            let (parts, body) = response.into_parts();
            let bytes = body.collect().await.unwrap().to_bytes();
            let text = String::from_utf8_lossy(&bytes).into_owned();
            Answer { status: parts.status, headers: parts.headers, text, refused }
        })
    }

    /// Asks for an address that answers JSON.
    pub fn json(&self, path: &str) -> Json {
        let answer = self.ask(path);
        assert_eq!(answer.status, StatusCode::OK, "{path}: {:?}", answer.refused);
        serde_json::from_str(&answer.text).unwrap()
    }

    /// Asks for an address that refuses; gives the code and the reason.
    pub fn refused(&self, path: &str) -> (Code, String) {
        let answer = self.ask(path);
        let refused = answer.refused.unwrap_or_else(|| panic!("{path} is answered: {}", answer.text));
        (refused.code(), refused.logged().to_owned())
    }
}

impl Answer {
    /// One header as text.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.get(name).map(|value| value.to_str().unwrap())
    }
}

fn found(folder: &Path) -> Desk {
    let founding = Founding {
        name: "Quiet rooms".into(),
        currency: Currency::parse("USD").unwrap(),
        role: "site lead".into(),
        label: "lead".into(),
        device_label: "box".into(),
        written_at: NOW,
    };
    Desk::found(&folder.join("notebook"), &founding).unwrap()
}

fn add_what_is_rare(desk: &Desk) {
    let text = |text: &str| Value::Text(text.to_owned());
    let receipt = names::find(desk, "receipt", "P12").unwrap();
    let task = names::find(desk, "task", "K07").unwrap();
    let wall = names::find(desk, "assembly", "A03").unwrap();
    let waste = edge::record_id();
    let kept = desk.keep_file(&mut &b"a picture, for all this test knows"[..]).unwrap();
    let mut compose = desk.compose(NOW);
    // Written without sight of the memo that stands.
    compose.set(receipt, "receipt", "memo", &text("7 boards counted")).unwrap();
    let owner = desk.read(|reader| reader.heads(task, kind("task"), "owner")).unwrap();
    compose.change(task, "task", "owner", None, owner, None).unwrap();
    compose.set(waste, "waste", "note", &text("typed twice")).unwrap();
    let photo = edge::record_id();
    for (field, value) in [
        ("about", Value::Record(wall)),
        ("hash", Value::Hash(kept.hash)),
        ("bytes", Value::Integer(i64::try_from(kept.bytes).unwrap())),
        ("caption", text("Two beads before the second board")),
        ("cover_up", Value::Flag(true)),
    ] {
        compose.set(photo, "photo", field, &value).unwrap();
    }
    for _ in 0..2 {
        compose.set(edge::record_id(), "site", "label", &text("twice")).unwrap();
    }
    desk.take(compose.finish()).unwrap();
    let mut compose = desk.compose(NOW);
    compose.strike(waste, "waste", Vec::new(), "the same waste is noted above".to_owned());
    desk.take(compose.finish()).unwrap();
}

fn kind(name: &str) -> &'static storypole_notebook::KindSpec {
    storypole_notebook::KindSpec::find(name).unwrap()
}
