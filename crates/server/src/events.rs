//! `/api/events`: one stream a browser, that tells which records moved. Bursts are told as one.
//!
//! What moved is asked of the notebook when a stream gets to tell it, never queued: a stream that was held up tells
//! everything at once, or that all should be fetched again.

use std::sync::Arc;

use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};
use storypole_desk::Desk;
use storypole_store::Reader;
use storypole_store::read::{Position, Touched};
use tokio::sync::{mpsc, watch};
use tokio::time::{Instant, MissedTickBehavior, interval_at, sleep_until};

use crate::access::{StreamSlot, Who};
use crate::problem::Code;
use crate::stream::Pieces;
use crate::{ApiError, App};

/// Records named in one event at most.
const TOUCHED: usize = 200;

/// Events of one stream that wait to be sent at most.
const WAITING: usize = 4;

/// What wakes the streams.
pub struct Hub {
    moved: watch::Sender<()>,
    closing: watch::Sender<bool>,
}

impl Hub {
    /// Hears of every change of the notebook from now on.
    pub fn new(desk: &Desk) -> Arc<Self> {
        let hub = Arc::new(Self { moved: watch::Sender::new(()), closing: watch::Sender::new(false) });
        let told = Arc::clone(&hub);
        desk.on_change(Box::new(move |_| {
            told.moved.send_replace(());
        }));
        hub
    }

    /// Ends every stream, and lets none begin.
    pub fn close(&self) {
        self.closing.send_replace(true);
    }

    /// Wakes at every change of the notebook.
    pub fn moved(&self) -> watch::Receiver<()> {
        self.moved.subscribe()
    }

    /// Waits until the server is closing.
    pub async fn closed(&self) {
        closed(&mut self.closing.subscribe()).await;
    }

    /// Whether the server is closing.
    pub fn is_closing(&self) -> bool {
        *self.closing.borrow()
    }
}

/// The first digits of the database's name, which tell one from another.
pub fn instance(position: &Position) -> String {
    position.instance[..4].iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The name of a position, as events carry it.
pub fn position_id(position: &Position) -> String {
    format!("{}-{}-{}", instance(position), position.last, position.generation)
}

/// Where a client stands that names this position; none when everything has to be fetched again.
fn resumed(said: &str, now: &Position) -> Option<i64> {
    let mut parts = said.split('-');
    let (instance_said, last, generation) = (parts.next()?, parts.next()?, parts.next()?);
    let last: i64 = last.parse().ok()?;
    let is_same = instance_said == instance(now)
        && generation.parse() == Ok(now.generation)
        && parts.next().is_none()
        && (0..=now.last).contains(&last);
    is_same.then_some(last)
}

refusals! {
    /// How a stream may be refused.
    Refusals: 401 403 421 429 500 503;
}

/// Tells which records moved, as it happens.
///
/// Events: `here` (where the notebook stands now; sent when no Last-Event-ID came), `changed` (records that were
/// written to), `reset` (too much has changed to name it: fetch again what is shown), `closing` (the server stops).
/// The id of each event is a position; sent back as Last-Event-ID, the stream goes on from there.
#[utoipa::path(
    get, path = "/api/events", operation_id = "get_events", tag = "about",
    params(("Last-Event-ID" = Option<String>, Header, description = "The id of the last event that came.",
        example = "5f0c9a1e-42-0")),
    responses(
        (status = 200, description = "The stream. It ends when the session or the server does.",
            body = String, content_type = "text/event-stream",
            example = "event: changed\nid: 5f0c9a1e-43-0\ndata: {\"position\":\"5f0c9a1e-43-0\",\"touched\":[{\"kind\":\"entry\",\"id\":\"01955e73-c400-7201-a36d-396cbc6abe48\"}]}\n\n"),
        Refusals,
    )
)]
pub async fn follow(
    State(app): State<App>,
    Who(seat): Who,
    headers: HeaderMap,
) -> Result<Response, ApiError> {
    // Subscribed before the notebook is asked, so that nothing falls between.
    let moved = app.hub().moved.subscribe();
    let closing = app.hub().closing.subscribe();
    if *closing.borrow() {
        return Err(ApiError::closing());
    }
    let slot = seat.stream().ok_or_else(|| {
        let detail = format!("this browser has {} event streams already", app.limits().streams);
        ApiError::new(Code::SlowDown, detail).next("close another page of the notebook first").retry_after(10)
    })?;
    let position = app.read(|desk| Ok(desk.read(Reader::position)?)).await?;
    let (events, waiting) = mpsc::channel(WAITING);
    let mut stream = Stream { app, events, told: position, moved, closing, slot };
    let said = headers.get("last-event-id").map(|said| said.to_str().unwrap_or_default().to_owned());
    tokio::spawn(async move {
        stream.greet(said.as_deref(), position).await;
        stream.run().await;
    });
    let kind = HeaderValue::from_static("text/event-stream");
    let fresh = HeaderValue::from_static("no-store");
    let head = [(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, fresh)];
    Ok((head, Body::new(Pieces(waiting))).into_response())
}

/// One stream on its way.
struct Stream {
    app: App,
    events: mpsc::Sender<Bytes>,
    /// What the client knows.
    told: Position,
    moved: watch::Receiver<()>,
    closing: watch::Receiver<bool>,
    slot: StreamSlot,
}

/// The client has gone.
struct Gone;

impl Stream {
    async fn greet(&mut self, said: Option<&str>, now: Position) {
        let greeting = match said {
            None => Some(event("here", &now, json!({ "position": position_id(&now) }))),
            Some(said) => match resumed(said, &now) {
                Some(last) => {
                    self.told = Position { last, ..now };
                    // What came between is told at once; a comment opens the stream where nothing did.
                    self.moved.mark_changed();
                    Some(Bytes::from_static(b": here\n\n"))
                }
                None => Some(reset(&now)),
            },
        };
        if let Some(greeting) = greeting {
            // That the client has gone is noticed by what follows.
            let _ = self.events.send(greeting).await;
        }
    }

    async fn run(mut self) {
        let limits = *self.app.limits();
        let mut alive = interval_at(Instant::now() + limits.heartbeat, limits.heartbeat);
        alive.set_missed_tick_behavior(MissedTickBehavior::Delay);
        let mut rested = Instant::now();
        loop {
            let went_on = tokio::select! {
                biased;
                () = closed(&mut self.closing) => {
                    let _ = self.events.send(Bytes::from_static(b"event: closing\ndata: {}\n\n")).await;
                    return;
                }
                () = self.slot.ended() => return,
                () = self.events.closed() => return,
                // Changes that come while it rests are told together.
                changed = moved(&mut self.moved, rested) => match changed {
                    Ok(()) => {
                        rested = Instant::now() + limits.calm;
                        alive.reset();
                        tell(&self.app, &mut self.told, &self.events).await
                    }
                    Err(_) => return,
                },
                _ = alive.tick() => self.events.send(Bytes::from_static(b":\n\n")).await.map_err(|_| Gone),
            };
            if went_on.is_err() {
                return;
            }
        }
    }
}

async fn closed(closing: &mut watch::Receiver<bool>) {
    // A hub that is gone closes its streams too.
    let _ = closing.wait_for(|closing| *closing).await;
}

async fn moved(moved: &mut watch::Receiver<()>, rested: Instant) -> Result<(), watch::error::RecvError> {
    moved.changed().await?;
    if Instant::now() < rested {
        // Given up half-way, the change would be forgotten.
        moved.mark_changed();
        sleep_until(rested).await;
        moved.mark_unchanged();
    }
    Ok(())
}

/// Tells what moved since the client was told last.
async fn tell(app: &App, told: &mut Position, events: &mpsc::Sender<Bytes>) -> Result<(), Gone> {
    let last = told.last;
    let touched = match app.read(move |desk| Ok(desk.touched_after(last, TOUCHED)?)).await {
        Ok(touched) => touched,
        Err(error) => {
            // The next change, or the client's next visit, asks again.
            tracing::error!(cause = error.logged(), "an event stream could not ask what moved");
            return Err(Gone);
        }
    };
    let now = touched.position;
    let is_same = now.instance == told.instance && now.generation == told.generation;
    if is_same && now.last == told.last {
        return Ok(());
    }
    let said = if is_same && !touched.more { changed(&touched) } else { reset(&now) };
    *told = now;
    events.send(said).await.map_err(|_| Gone)
}

fn changed(touched: &Touched) -> Bytes {
    let records = touched.records.iter();
    let records: Value = records.map(|(kind, id)| json!({ "kind": kind, "id": id.to_string() })).collect();
    let position = &touched.position;
    event("changed", position, json!({ "position": position_id(position), "touched": records }))
}

fn reset(now: &Position) -> Bytes {
    event("reset", now, json!({ "position": position_id(now) }))
}

fn event(name: &str, position: &Position, data: Value) -> Bytes {
    format!("event: {name}\nid: {}\ndata: {data}\n\n", position_id(position)).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stream_goes_on_only_where_it_stood() {
        let now = Position { instance: [0x5f; 16], last: 42, generation: 3 };
        assert_eq!(position_id(&now), "5f5f5f5f-42-3");
        for (said, expected) in [
            ("5f5f5f5f-42-3", Some(42)),
            ("5f5f5f5f-0-3", Some(0)),
            ("5f5f5f5f-43-3", None),
            ("5f5f5f5f--1-3", None),
            ("5f5f5f5f-42-2", None),
            ("5f5f5f5e-42-3", None),
            ("5f5f5f5f-42", None),
            ("5f5f5f5f-42-3-1", None),
            ("5f5f5f5f-x-3", None),
            ("", None),
        ] {
            assert_eq!(resumed(said, &now), expected, "{said}");
        }
    }
}
