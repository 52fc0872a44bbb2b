//! Records of any kind, their history, what is in conflict, what is pinned to them, and the kinds themselves.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use serde_json::{Value, json};
use storypole_desk::view;
use storypole_desk::view::past::InConflict;
use storypole_journal::RecordId;
use storypole_store::StoreError;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::{ask, look};
use crate::answer::{self, Asked};
use crate::extract::{Path, Query};
use crate::wire;
use crate::wire::problem::{Anywhere, Unchanged, WithName};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(kinds))
        .routes(routes!(records))
        .routes(routes!(record))
        .routes(routes!(history))
        .routes(routes!(conflicts))
        .routes(routes!(files))
}

/// Every kind of record with its fields: enough to make a form.
#[utoipa::path(get, path = "/api/kinds", operation_id = "get_kinds", tag = "records",
    responses((status = 200, description = "The kinds.", body = wire::kinds::Kinds), Unchanged, Anywhere))]
pub async fn kinds(State(app): State<App>, asked: Asked) -> Result<Response, ApiError> {
    answer::view(&app, asked, |_| Ok(view::kinds::json())).await
}

/// Which records of a kind.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct RecordsQuery {
    /// Most records of the page.
    #[serde(default = "ask::usual")]
    #[param(minimum = 1, maximum = 500, default = 100)]
    limit: u32,
    /// The `next` of the page before.
    after: Option<String>,
    /// Whether struck records are listed too.
    #[serde(default)]
    #[param(default = false)]
    struck: bool,
}

/// Every record of a kind, oldest first.
#[utoipa::path(get, path = "/api/records/{kind}", operation_id = "get_records", tag = "records",
    params(("kind" = String, Path,
            description = "A kind, as `/api/kinds` names it.", example = "reading"), RecordsQuery),
    responses((status = 200, description = "A page of them.",
        body = wire::record::RecordPage), Unchanged, WithName))]
pub async fn records(
    State(app): State<App>,
    asked: Asked,
    Path(kind): Path<String>,
    Query(query): Query<RecordsQuery>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let spec = look::kind_of(&kind)?;
        let limit = ask::within(query.limit, ask::MOST)?;
        let after = ask::after::<RecordId>(query.after.as_deref())?;
        Ok(desk.read_with_book(|reader, book| {
            // One more than asked for tells whether another page follows.
            let mut rows = reader.page(spec, after, limit + 1, query.struck)?;
            let has_more = rows.len() > limit;
            rows.truncate(limit);
            let next = rows.last().filter(|_| has_more).map(|row| row.id.to_string());
            let whole = |row| Ok(view::record::json(book, row, &reader.heads_of(row.id, spec)?));
            let items = rows.iter().map(whole).collect::<Result<Value, StoreError>>()?;
            Ok(json!({ "items": items, "next": next, "total": reader.count(spec, query.struck)? }))
        })?)
    })
    .await
}

/// One record with what points to it; struck ones too, by id.
#[utoipa::path(get, path = "/api/records/{kind}/{name}", operation_id = "get_record", tag = "records",
    params(("kind" = String, Path, description = "A kind, as `/api/kinds` names it.", example = "receipt"),
        ("name" = String, Path,
            description = "Its label or id. A position's label stands within its test: `Q1/R2`.", example = "P02")),
    responses((status = 200, description = "The record.",
        body = wire::record::RecordSheet), Unchanged, WithName))]
pub async fn record(
    State(app): State<App>,
    asked: Asked,
    Path((kind, name)): Path<(String, String)>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let id = look::named(desk, &kind, &name)?;
        Ok(desk.read_with_book(|reader, book| {
            let mut json = look::record(reader, book, &kind, id)?;
            json["linked"] = view::record::linked_json(&view::record::linked_in(reader, &kind, id)?);
            Ok(json)
        })?)
    })
    .await
}

/// What was written on a record, by whom, when, why and over what.
#[utoipa::path(get, path = "/api/records/{kind}/{name}/history", operation_id = "get_history", tag = "records",
    params(("kind" = String, Path, description = "A kind, as `/api/kinds` names it.", example = "move"),
        ("name" = String, Path, description = "Its label or id.", example = "X2")),
    responses((status = 200, description = "Write by write.",
        body = wire::history::History), Unchanged, WithName))]
pub async fn history(
    State(app): State<App>,
    asked: Asked,
    Path((kind, name)): Path<(String, String)>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let id = look::named(desk, &kind, &name)?;
        Ok(desk.read_with_book(|reader, book| {
            Ok(view::history::of(book, &kind, id, None, |record| reader.history(record))?.json())
        })?)
    })
    .await
}

/// Fields with several values, each of which stands until a person picks.
#[utoipa::path(get, path = "/api/conflicts", operation_id = "get_conflicts", tag = "records",
    responses((status = 200, description = "The conflicts.",
        body = wire::history::Conflicts), Unchanged, Anywhere))]
pub async fn conflicts(State(app): State<App>, asked: Asked) -> Result<Response, ApiError> {
    answer::view(&app, asked, |desk| {
        Ok(desk.read_with_book(|reader, book| {
            let found = reader.conflicts()?;
            let named = view::past::conflicts(book, &found, |record| reader.history(record))?;
            Ok(json!({ "conflicts": named.iter().map(InConflict::json).collect::<Value>() }))
        })?)
    })
    .await
}

/// Of which record.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct FilesQuery {
    /// The record they are pinned to, by label, id or `kind:label`.
    #[param(example = "assembly:A03")]
    about: String,
}

/// Photos and files pinned to a record.
///
/// Computed for each request: which files this device has can change without a change of the notebook.
#[utoipa::path(get, path = "/api/files", operation_id = "get_files", tag = "records", params(FilesQuery),
    responses((status = 200, description = "The files.",
        body = wire::files::PinnedFiles), WithName))]
pub async fn files(State(app): State<App>, Query(query): Query<FilesQuery>) -> Result<Response, ApiError> {
    answer::anew(&app, move |desk| {
        let (_, about) = look::anything(desk, &query.about)?;
        Ok(view::files::json(&*desk.book()?, about, &|hash| desk.file_state(hash)))
    })
    .await
}
