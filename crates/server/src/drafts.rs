//! `PUT /api/drafts/{id}`: the one way to write. Whoever wrote a draft chose its id, so repeats are harmless.

use axum::extract::{FromRequestParts, State};
use axum::http::request::Parts;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use storypole_desk::Desk;
use storypole_journal::{Draft, DraftId, NotebookId, RecordId};
use storypole_notebook::KindSpec;
use storypole_store::Taken;
use storypole_store::error::TakeError;

use crate::access::Who;
use crate::extract::{JsonBody, Path};
use crate::problem::Code;
use crate::wire::word::Id;
use crate::{ApiError, App};

pub mod body;

use body::{DraftBody, DraftTaken, Touched};

/// The header that names the notebook a draft is meant for.
const NOTEBOOK: &str = "storypole-notebook";

refusals! {
    /// How a draft may be refused.
    Refusals: 400 401 403 408 409 413 415 421 422 429 500 503 507;
}

/// Takes a draft: everything in it is on disk when the answer comes, or nothing is.
///
/// Sending the same draft again is harmless and answers 200. Another content under the same id is refused, and so is
/// a draft that says to be meant for another notebook.
#[utoipa::path(
    put, path = "/api/drafts/{id}", operation_id = "put_draft", tag = "writing",
    params(("id" = Id, Path, description = "Names the draft; made by whoever wrote it, a UUIDv7.",
        example = "01957a20-3c00-7b11-8a6e-5d2f4c1b9e70"),
        ("storypole-notebook" = Option<Id>, Header, description = "The notebook that the draft is meant for, by its \
            id; one that is kept for later may meet another notebook at the same address.")),
    request_body(content = DraftBody, description = "What was written."),
    responses(
        (status = 201, description = "The draft is taken.", body = DraftTaken),
        (status = 200, description = "The same draft was taken before.", body = DraftTaken),
        Refusals,
    )
)]
pub async fn put(
    State(app): State<App>,
    Who(seat): Who,
    _: Meant,
    Path(id): Path<String>,
    JsonBody(body): JsonBody<DraftBody>,
) -> Result<Response, ApiError> {
    let id: DraftId = id.parse().map_err(|error| ApiError::because(Code::BadPath, &error))?;
    let person = seat.person;
    let taken = app.write(move |desk| take(desk, id, person, &body)).await?;
    let status = if taken.new { StatusCode::CREATED } else { StatusCode::OK };
    Ok((status, axum::Json(taken)).into_response())
}

/// What a draft says to be meant for is this notebook, or it does not say.
pub struct Meant;

impl FromRequestParts<App> for Meant {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, ApiError> {
        let own = app.notebook();
        let is_own = |said: &HeaderValue| {
            said.to_str().is_ok_and(|said| said.parse::<NotebookId>().is_ok_and(|said| said == own))
        };
        if parts.headers.get_all(NOTEBOOK).iter().all(is_own) {
            return Ok(Self);
        }
        let detail = format!("the draft's {NOTEBOOK} is not {own}, which is served here");
        Err(ApiError::new(Code::OtherNotebook, detail))
    }
}

fn take(desk: &Desk, id: DraftId, person: RecordId, body: &DraftBody) -> Result<DraftTaken, ApiError> {
    let currency = desk.book()?.currency();
    let draft = body.to_draft(id, person, currency)?;
    if body.author.is_some() {
        check_author(desk, draft.author)?;
    }
    let records = touched(&draft);
    let outcome = desk.take(draft).map_err(|error| refused(error, body))?;
    let seq = match outcome {
        Taken::New { seq } => Some(seq),
        Taken::AlreadyHeld => None,
    };
    let (draft, device) = (Id(id.to_string()), Id(desk.device().to_string()));
    Ok(DraftTaken { draft, new: seq.is_some(), device, seq, records })
}

fn check_author(desk: &Desk, author: RecordId) -> Result<(), ApiError> {
    let person = KindSpec::find("person").expect("people are of a kind known here");
    match desk.read(|reader| reader.row(person, author))? {
        Some(_) => Ok(()),
        None => Err(ApiError::new(Code::UnknownAuthor, format!("there is no person {author}"))),
    }
}

/// The records of a draft, each once, in the order in which it names them.
fn touched(draft: &Draft) -> Vec<Touched> {
    let mut records: Vec<Touched> = Vec::new();
    let mut seen = std::collections::BTreeSet::new();
    for write in &draft.writes {
        if seen.insert(write.record) {
            records.push(Touched { kind: write.kind.as_str().to_owned(), id: Id(write.record.to_string()) });
        }
    }
    records
}

/// A refusal of the desk, pointing at the write where one is at fault.
fn refused(error: storypole_desk::DeskError, body: &DraftBody) -> ApiError {
    use storypole_journal::DraftError;
    let at = match &error {
        storypole_desk::DeskError::Take(TakeError::Draft(fault)) => match fault {
            DraftError::SameRegister { second, .. } => Some(*second),
            DraftError::SeenCount { index, .. }
            | DraftError::SeenOrder { index }
            | DraftError::SeenItself { index }
            | DraftError::EmptyReason { index }
            | DraftError::LongReason { index } => Some(*index),
            DraftError::WriteCount { .. } | DraftError::TooLarge { .. } => None,
        },
        _ => None,
    };
    let refused = ApiError::from(error);
    match at.and_then(|index| Some((index, body.writes.get(index)?))) {
        Some((index, write)) => refused.field(Some(index), &write.kind, &write.field),
        None => refused,
    }
}
