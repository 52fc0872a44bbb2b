//! The event stream: what it tells, where it goes on, when it ends.

use std::time::Duration;

use axum::body::Body;
use axum::http::{HeaderName, Method, header};
use http_body_util::BodyExt;
use serde_json::{Value, json};
use storypole_desk::edge;
use storypole_server::Limits;
use storypole_server::answer::POSITION;
use tokio::time::timeout;
use tower::ServiceExt;

use crate::asked::{Answer, Served, draft, let_in, write};

/// Far more than any event takes; a test that waits so long has failed.
const PATIENCE: Duration = Duration::from_secs(20);

/// An open stream, read event by event.
pub struct Stream {
    body: Body,
    read: String,
}

/// One event: name, id, data. A comment has no name.
#[derive(Debug, PartialEq)]
pub struct Event {
    pub name: String,
    pub id: String,
    pub data: Value,
}

impl Stream {
    pub async fn open(served: &Served, cookie: &str, last: Option<&str>) -> Result<Self, Answer> {
        let mut request = crate::asked::plain(Method::GET, "/api/events").header(header::COOKIE, cookie);
        if let Some(last) = last {
            request = request.header("last-event-id", last);
        }
        let response = served.router.clone().oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
        let (parts, body) = response.into_parts();
        if parts.status != 200 {
            let body = body.collect().await.unwrap().to_bytes().to_vec();
            return Err(Answer { status: parts.status, headers: parts.headers, body });
        }
        assert_eq!(parts.headers[header::CONTENT_TYPE], "text/event-stream");
        assert!(!parts.headers.contains_key(header::CONTENT_ENCODING));
        Ok(Self { body, read: String::new() })
    }

    /// A stream that was opened in another way.
    pub fn over(body: Body) -> Self {
        Self { body, read: String::new() }
    }

    /// The next event or comment; none at the end.
    pub async fn next(&mut self) -> Option<Event> {
        loop {
            if let Some((event, rest)) = self.read.split_once("\n\n") {
                let event = parse(event);
                self.read = rest.to_owned();
                return Some(event);
            }
            let frame = timeout(PATIENCE, self.body.frame()).await.expect("an event comes in time")?;
            let data = frame.unwrap().into_data().unwrap();
            self.read.push_str(std::str::from_utf8(&data).unwrap());
        }
    }
}

fn parse(text: &str) -> Event {
    let member = |name: &str| {
        let line = text.lines().find_map(|line| line.strip_prefix(name)?.strip_prefix(": "));
        line.unwrap_or_default().to_owned()
    };
    let data = member("data");
    let data = if data.is_empty() { Value::Null } else { serde_json::from_str(&data).unwrap() };
    Event { name: member("event"), id: member("id"), data }
}

async fn opened(served: &Served) -> (Stream, Event) {
    let mut stream = Stream::open(served, &served.cookie, None).await.unwrap();
    let here = stream.next().await.unwrap();
    assert_eq!(here.name, "here");
    assert_eq!(here.data, json!({ "position": here.id }));
    (stream, here)
}

#[tokio::test]
async fn what_was_written_to_is_told() {
    let served = Served::new();
    let (mut stream, here) = opened(&served).await;
    let site = served.site("S1").await;
    let changed = stream.next().await.unwrap();
    assert_eq!(changed.name, "changed");
    assert_eq!(changed.data["touched"], json!([{ "kind": "site", "id": site.to_string() }]));
    assert_eq!(changed.data["position"], changed.id);
    assert_ne!(changed.id, here.id);
    // The id is instance, number and generation, as promised.
    let health = served.get("/api/health").await.json();
    let parts: Vec<&str> = changed.id.split('-').collect();
    assert_eq!(parts[0], health["instance"]);
    assert_eq!(parts[1], health["changes"].to_string());
    assert_eq!(parts.len(), 3);
}

/// So a client can tell that what it fetched before its stream began is of another state.
#[tokio::test]
async fn views_say_where_the_log_stood_as_events_do() {
    let served = Served::new();
    served.site("S1").await;
    let (mut stream, here) = opened(&served).await;
    let position = HeaderName::from_static(POSITION);
    let held_or_not = async |id: &str| {
        for path in ["/api/marks", "/api/files?about=S1", "/api/find?words=S1"] {
            let view = served.get(path).await;
            assert_eq!((view.status.as_u16(), view.header(position.clone())), (200, id), "{path}");
        }
        let request = served.request(Method::GET, "/api/marks").header(header::IF_NONE_MATCH, "*");
        let held = served.answer(request.body(Body::empty()).unwrap()).await;
        assert_eq!((held.status.as_u16(), held.header(position.clone())), (304, id));
    };
    held_or_not(&here.id).await;
    served.site("S2").await;
    let changed = stream.next().await.unwrap();
    assert_ne!(changed.id, here.id);
    held_or_not(&changed.id).await;
}

#[tokio::test]
async fn a_burst_is_told_in_few_events() {
    let served = Served::new();
    let (mut stream, _) = opened(&served).await;
    let mut sites = std::collections::BTreeSet::new();
    for number in 0..50 {
        sites.insert(served.site(&format!("S{number}")).await.to_string());
    }
    let mut events = 0;
    while !sites.is_empty() {
        let changed = stream.next().await.unwrap();
        assert_eq!(changed.name, "changed");
        for record in changed.data["touched"].as_array().unwrap() {
            assert!(sites.remove(record["id"].as_str().unwrap()), "each is told once: {record}");
        }
        events += 1;
    }
    assert!(events < 50, "{events} events for 50 drafts");
}

#[tokio::test]
async fn a_stream_goes_on_where_it_stood() {
    let served = Served::new();
    let (stream, here) = opened(&served).await;
    drop(stream);
    let (one, two) = (served.site("S1").await, served.site("S2").await);
    let mut stream = Stream::open(&served, &served.cookie, Some(&here.id)).await.unwrap();
    assert_eq!(stream.next().await.unwrap().name, "", "a comment opens it");
    let changed = stream.next().await.unwrap();
    let told = |id: storypole_journal::RecordId| json!({ "kind": "site", "id": id.to_string() });
    assert_eq!(
        (changed.name.as_str(), &changed.data["touched"]),
        ("changed", &json!([told(one), told(two)]))
    );

    let mut again = Stream::open(&served, &served.cookie, Some(&changed.id)).await.unwrap();
    assert_eq!(again.next().await.unwrap().name, "");
    let three = served.site("S3").await;
    assert_eq!(again.next().await.unwrap().data["touched"], json!([told(three)]), "and only what is new");
}

#[tokio::test]
async fn a_stream_that_cannot_go_on_says_so() {
    let served = Served::new();
    let (_, here) = opened(&served).await;
    let parts: Vec<&str> = here.id.split('-').collect();
    let (instance, last, generation) = (parts[0], parts[1], parts[2]);
    for odd in [
        format!("00000000-{last}-{generation}"),
        format!("{instance}-{last}-99"),
        format!("{instance}-999999-{generation}"),
        format!("{instance}--1-{generation}"),
        "yesterday".to_owned(),
        String::new(),
    ] {
        let mut stream = Stream::open(&served, &served.cookie, Some(&odd)).await.unwrap();
        let reset = stream.next().await.unwrap();
        assert_eq!((reset.name.as_str(), &reset.data), ("reset", &json!({ "position": here.id })), "{odd}");
        assert_eq!(reset.id, here.id);
    }
}

#[tokio::test]
async fn too_much_to_name_is_a_reset() {
    let served = Served::new();
    let (mut stream, _) = opened(&served).await;
    for (count, name) in [(200, "changed"), (201, "reset")] {
        let writes: Vec<Value> = (0..count)
            .map(|number| write(edge::record_id(), "site", "label", &format!("S{count}-{number}")))
            .collect();
        assert_eq!(served.put(edge::draft_id(), &draft(&writes)).await.status, 201);
        let event = stream.next().await.unwrap();
        assert_eq!(event.name, name, "{count} records");
    }
}

#[tokio::test]
async fn a_rebuild_is_a_reset() {
    let served = Served::new();
    let (mut stream, _) = opened(&served).await;
    served.desk.rebuild(&mut |_| ()).unwrap();
    assert_eq!(stream.next().await.unwrap().name, "reset");
}

#[tokio::test]
async fn a_quiet_stream_shows_that_it_is_alive() {
    let served = Served::with(Limits { heartbeat: Duration::from_millis(20), ..Limits::default() });
    let (mut stream, _) = opened(&served).await;
    let comment = Event { name: String::new(), id: String::new(), data: Value::Null };
    assert_eq!(stream.next().await, Some(comment));
}

#[tokio::test]
async fn a_browser_has_so_many_streams_and_no_more() {
    let served = Served::new();
    let mut streams = Vec::new();
    for _ in 0..8 {
        streams.push(opened(&served).await.0);
    }
    let refused = Stream::open(&served, &served.cookie, None).await.err().unwrap();
    refused.is_refused(429, "slow-down");
    let other = let_in(&served.desk);
    assert!(Stream::open(&served, &other, None).await.is_ok(), "another browser has its own");
    // A stream that its browser has closed makes room for the next.
    streams.pop();
    let opens = async {
        while Stream::open(&served, &served.cookie, None).await.is_err() {
            tokio::task::yield_now().await;
        }
    };
    timeout(PATIENCE, opens).await.expect("there is room again");
}

#[tokio::test]
async fn streams_end_with_their_session() {
    let served = Served::new();
    let (mut stream, _) = opened(&served).await;
    let other = let_in(&served.desk);
    let mut others = Stream::open(&served, &other, None).await.unwrap();
    assert_eq!(others.next().await.unwrap().name, "here");
    let out = served.request(Method::DELETE, "/api/session").body(Body::empty()).unwrap();
    assert_eq!(served.answer(out).await.status, 204);
    assert_eq!(stream.next().await, None);
    let request = crate::asked::plain(Method::GET, "/api/session").header(header::COOKIE, &other);
    assert_eq!(served.answer(request.body(Body::empty()).unwrap()).await.status, 200);
    served.desk.rebuild(&mut |_| ()).unwrap();
    assert_eq!(others.next().await.unwrap().name, "reset", "another browser's goes on");
}

#[tokio::test]
async fn streams_are_told_that_the_server_closes() {
    let served = Served::new();
    let (mut stream, _) = opened(&served).await;
    served.app.hub().close();
    assert_eq!(stream.next().await.unwrap().name, "closing");
    assert_eq!(stream.next().await, None);
    let refused = Stream::open(&served, &served.cookie, None).await.err().unwrap();
    refused.is_refused(503, "closing");
}
