//! Receipts with their lines, added up.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use serde_json::{Value, json};
use storypole_desk::view::entries::Cursor;
use storypole_desk::view::receipt;
use storypole_journal::RecordId;
use storypole_ledger::marks;
use storypole_notebook::Book;
use storypole_store::StoreError;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::{ask, look};
use crate::answer::{self, Asked};
use crate::extract::{Path, Query};
use crate::wire;
use crate::wire::problem::{Unchanged, WithName};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(receipts)).routes(routes!(one_receipt))
}

/// Which receipts.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ReceiptsQuery {
    /// Only those of this job, or with a line booked to it, by label or id.
    job: Option<String>,
    /// Most receipts of the page.
    #[serde(default = "ask::usual")]
    #[param(minimum = 1, maximum = 500, default = 100)]
    limit: u32,
    /// The `next` of the page before.
    after: Option<String>,
}

/// Receipts with their lines, newest first.
#[utoipa::path(get, path = "/api/receipts", operation_id = "get_receipts", tag = "jobs", params(ReceiptsQuery),
    responses((status = 200, description = "A page of them.",
        body = wire::receipt::ReceiptPage), Unchanged, WithName))]
pub async fn receipts(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<ReceiptsQuery>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let job = look::maybe_named(desk, "job", query.job.as_deref())?;
        let limit = ask::within(query.limit, ask::MOST)?;
        let after = ask::after::<Cursor>(query.after.as_deref())?;
        let page = desk.read_with_book(|reader, book| {
            let order = receipt::order(book, job);
            let start = after.map_or(0, |after| order.partition_point(|id| place(book, *id) >= key(after)));
            let shown = &order[start..order.len().min(start + limit)];
            let has_more = start + shown.len() < order.len();
            let next = shown.last().filter(|_| has_more);
            let next = next.map(|id| Cursor { date: place(book, *id).0, id: *id }.to_string());
            let all = marks(book);
            let record = &mut |kind: &'static str, id| look::record(reader, book, kind, id);
            let sheet = |id: &RecordId| receipt::sheet(book, &all, *id, record).transpose();
            let items = shown.iter().filter_map(sheet).collect::<Result<Value, StoreError>>()?;
            Ok(json!({ "items": items, "next": next, "total": order.len() }))
        });
        Ok(page?)
    })
    .await
}

/// What receipts are put in order by.
fn place(book: &Book, id: RecordId) -> (Option<jiff::civil::Date>, RecordId) {
    (book.receipts.get(id).and_then(|receipt| receipt.date), id)
}

fn key(cursor: Cursor) -> (Option<jiff::civil::Date>, RecordId) {
    (cursor.date, cursor.id)
}

/// One receipt with its lines, added up.
#[utoipa::path(get, path = "/api/receipts/{name}", operation_id = "get_receipt", tag = "jobs",
    params(("name" = String, Path, description = "Its label or id.", example = "P02")),
    responses((status = 200, description = "The receipt.",
        body = wire::receipt::Receipt), Unchanged, WithName))]
pub async fn one_receipt(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let id = look::named(desk, "receipt", &name)?;
        let sheet = desk.read_with_book(|reader, book| {
            receipt::sheet(book, &marks(book), id, &mut |kind, id| look::record(reader, book, kind, id))
        })?;
        sheet.ok_or_else(|| ApiError::no_such_record("receipt", &name))
    })
    .await
}
