//! A notebook behind the server's router, and what it answers.

use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, HeaderName, Method, Request, StatusCode, header};
use http_body_util::BodyExt;
use serde_json::Value;
use storypole_desk::{Desk, Founding, edge};
use storypole_journal::{DraftId, RecordId, Role, WrittenAt};
use storypole_server::access::cookie_for;
use storypole_server::{App, Limits, Settings, router};
use storypole_units::Currency;
use tempfile::TempDir;
use tower::ServiceExt;

/// When test drafts are written.
pub const AT: WrittenAt = WrittenAt { unix_ms: 1_741_100_400_000, offset_min: -300 };

/// The port that the router believes to be behind.
pub const PORT: u16 = 8417;

/// A notebook being served.
pub struct Served {
    pub desk: Arc<Desk>,
    pub app: App,
    pub router: Router,
    /// `name=value` of a browser that is let in.
    pub cookie: String,
    pub folder: TempDir,
}

/// An answer, read to its end.
#[derive(Debug)]
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: Vec<u8>,
}

/// Starts a notebook in a folder.
pub fn found(path: &std::path::Path) -> Desk {
    let founding = Founding {
        name: "Mill house".to_owned(),
        currency: Currency::parse("USD").unwrap(),
        role: "site lead".to_owned(),
        label: "lead".to_owned(),
        device_label: "box".to_owned(),
        written_at: AT,
    };
    Desk::found(path, &founding).unwrap()
}

impl Served {
    pub fn new() -> Self {
        Self::with(Limits::default())
    }

    pub fn with(limits: Limits) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let desk = found(&folder.path().join("notebook"));
        Self::over(desk, folder, limits)
    }

    pub fn over(desk: Desk, folder: TempDir, limits: Limits) -> Self {
        let desk = Arc::new(desk);
        let app = App::with(Arc::clone(&desk), limits);
        let router = router(app.clone(), Settings { port: PORT });
        let cookie = let_in(&desk);
        Self { desk, app, router, cookie, folder }
    }

    /// A request of the browser that is let in.
    pub fn request(&self, method: Method, path: &str) -> axum::http::request::Builder {
        plain(method, path).header(header::COOKIE, &self.cookie)
    }

    pub async fn answer(&self, request: Request<Body>) -> Answer {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let body = body.collect().await.unwrap().to_bytes().to_vec();
        Answer { status: parts.status, headers: parts.headers, body }
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.answer(self.request(Method::GET, path).body(Body::empty()).unwrap()).await
    }

    pub async fn send(&self, method: Method, path: &str, json: &Value) -> Answer {
        let request = self.request(method, path).header(header::CONTENT_TYPE, "application/json");
        self.answer(request.body(Body::from(json.to_string())).unwrap()).await
    }

    pub async fn put(&self, draft: DraftId, json: &Value) -> Answer {
        self.send(Method::PUT, &format!("/api/drafts/{draft}"), json).await
    }

    /// The same server as another browser meets it.
    pub fn as_browser(&self, cookie: &str) -> Browser<'_> {
        Browser { served: self, cookie: cookie.to_owned() }
    }

    /// Adds a site; gives its id.
    pub async fn site(&self, label: &str) -> RecordId {
        let site = edge::record_id();
        let answer = self.put(edge::draft_id(), &draft(&[write(site, "site", "label", label)])).await;
        assert_eq!(answer.status, 201, "{}", answer.text());
        site
    }

    /// What no refused request may change.
    pub fn log(&self) -> String {
        self.desk.digest().unwrap().log.to_string()
    }
}

/// Another browser; without a cookie a stranger.
pub struct Browser<'s> {
    served: &'s Served,
    cookie: String,
}

impl Browser<'_> {
    pub async fn ask(&self, method: Method, path: &str, json: Option<&Value>) -> Answer {
        let mut request = plain(method, path);
        if !self.cookie.is_empty() {
            request = request.header(header::COOKIE, &self.cookie);
        }
        let body = match json {
            Some(json) => {
                request = request.header(header::CONTENT_TYPE, "application/json");
                Body::from(json.to_string())
            }
            None => Body::empty(),
        };
        self.served.answer(request.body(body).unwrap()).await
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.ask(Method::GET, path, None).await
    }

    pub async fn post(&self, path: &str, json: &Value) -> Answer {
        self.ask(Method::POST, path, Some(json)).await
    }
}

/// A session of its own for another browser.
pub fn let_in(desk: &Desk) -> String {
    let_in_as(desk, Role::Keeper)
}

/// A session of its own for another browser that may do what a role may.
pub fn let_in_as(desk: &Desk, role: Role) -> String {
    let (cookie, hash) = cookie_for(desk.notebook());
    desk.session_add(hash, desk.author(), role, None, edge::now_ms()).unwrap();
    cookie
}

/// A request to the right host, without a session.
pub fn plain(method: Method, path: &str) -> axum::http::request::Builder {
    Request::builder().method(method).uri(path).header(header::HOST, format!("localhost:{PORT}"))
}

/// A draft of these writes.
pub fn draft(writes: &[Value]) -> Value {
    serde_json::json!({ "written_at": "2025-03-04T10:00:00-05:00", "writes": writes })
}

/// A first value of a field.
pub fn write(record: RecordId, kind: &str, field: &str, value: &str) -> Value {
    serde_json::json!({ "record": record.to_string(), "kind": kind, "field": field, "value": value })
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|error| panic!("{error}: {}", self.text()))
    }

    #[track_caller]
    pub fn header(&self, name: HeaderName) -> &str {
        let value = self.headers.get(&name).unwrap_or_else(|| panic!("no {name}: {self:?}"));
        value.to_str().unwrap()
    }

    /// It is a refusal of this status and code, whole as problem details are.
    #[track_caller]
    pub fn is_refused(&self, status: u16, code: &str) -> Value {
        assert_eq!(self.status, status, "{}", self.text());
        assert_eq!(self.header(header::CONTENT_TYPE), "application/problem+json");
        let problem = self.json();
        assert_eq!(problem["code"], code, "{problem}");
        assert_eq!(problem["status"], status);
        assert_eq!(problem["type"], format!("/api/problems/{code}"));
        let id = self.header(HeaderName::from_static("x-request-id"));
        assert_eq!(problem["instance"], format!("urn:uuid:{id}"));
        for said in ["title", "detail", "next"] {
            assert!(problem[said].as_str().is_some_and(|said| !said.is_empty()), "{said}: {problem}");
        }
        problem
    }
}
