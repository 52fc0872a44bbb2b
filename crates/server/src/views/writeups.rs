//! Write-ups: text, page, cards, pictures, and everything in one file.

use std::sync::Arc;

use axum::extract::State;
use axum::http::{HeaderValue, header};
use axum::response::Response;
use serde::Deserialize;
use storypole_desk::Desk;
use storypole_desk::publish::wishes::{self, NoSuchWord};
use storypole_desk::publish::{Photos, PublishError, Published, Request};
use storypole_desk::view::writeup;
use storypole_drawing::Look;
use storypole_writeup::files::{archive, card, html};
use storypole_writeup::{Choices, FileError, Format, Wanted, WriteUpError, files, markdown};
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::ask::{self, Day};
use super::look;
use crate::answer::{self, Asked};
use crate::extract::{Path, Query};
use crate::problem::Code;
use crate::wire;
use crate::wire::problem::{Unchanged, WithName};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(write_up))
        .routes(routes!(page))
        .routes(routes!(preview))
        .routes(routes!(whole))
        .routes(routes!(one_card))
        .routes(routes!(figure))
        .routes(routes!(one_file))
}

/// A page of a write-up loads nothing and runs nothing, and has no part in this origin.
const PAGE_POLICY: &str =
    "sandbox allow-same-origin; default-src 'none'; style-src 'unsafe-inline'; img-src data:";

/// Of which day, and about which question.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct WriteUpQuery {
    /// The day it bears; without it, today by the server's clock.
    #[param(value_type = Option<wire::word::Day>)]
    today: Option<Day>,
    /// A question in plain words, where `question` stands in the place of names.
    question: Option<String>,
}

/// A job, a test or a stored write-up as Markdown: method, results, limits, cost, cautions. Roles only, no address, no serial.
#[utoipa::path(get, path = "/api/writeups/{name}", operation_id = "get_writeup", tag = "findings",
    params(("name" = String, Path,
            description = "Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. \
                `question` for a question.", example = "J1"), WriteUpQuery),
    responses((status = 200, description = "The write-up.",
        body = String, content_type = "text/markdown"), Unchanged, WithName))]
pub async fn write_up(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
    Query(query): Query<WriteUpQuery>,
) -> Result<Response, ApiError> {
    let today = ask::today(query.today, &asked);
    let subject = asked_about(name, query.question);
    answer::text(&app, asked, "text/markdown; charset=utf-8", move |desk| {
        Ok(markdown(&published(desk, &subject, today)?.document))
    })
    .await
}

/// The same as one page for a browser, with its pictures; it loads nothing and runs nothing.
#[utoipa::path(get, path = "/api/writeups/{name}/page", operation_id = "get_writeup_page", tag = "findings",
    params(("name" = String, Path,
            description = "Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. \
                `question` for a question.", example = "J1"), WriteUpQuery),
    responses((status = 200, description = "The page.",
        body = String, content_type = "text/html"), Unchanged, WithName))]
pub async fn page(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
    Query(query): Query<WriteUpQuery>,
) -> Result<Response, ApiError> {
    let today = ask::today(query.today, &asked);
    let subject = asked_about(name, query.question);
    let mut response = answer::text(&app, asked, "text/html; charset=utf-8", move |desk| {
        let published = published(desk, &subject, today)?;
        Ok(html::page(&published.document).map_err(of_file)?.bytes)
    })
    .await?;
    response.headers_mut().insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(PAGE_POLICY));
    Ok(response)
}

/// What a write-up holds: results, sections, figures, what leaves the notebook and what does not, what changed since an edition.
#[utoipa::path(get, path = "/api/writeups/{name}/preview", operation_id = "get_writeup_preview", tag = "findings",
    params(("name" = String, Path,
            description = "Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. \
                `question` for a question.", example = "J1"), WriteUpQuery),
    responses((status = 200, description = "The preview.", body = wire::writeup::WriteUpPreview), Unchanged, WithName))]
pub async fn preview(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
    Query(query): Query<WriteUpQuery>,
) -> Result<Response, ApiError> {
    let today = ask::today(query.today, &asked);
    let subject = asked_about(name, query.question);
    answer::view(&app, asked, move |desk| {
        let published = published(desk, &subject, today)?;
        let made = files(&published.document, &without_cards()).map_err(of_file)?;
        Ok(writeup::preview(&*desk.book()?, &published, &made))
    })
    .await
}

/// Which files.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct WholeQuery {
    /// The day it bears; without it, today by the server's clock.
    #[param(value_type = Option<wire::word::Day>)]
    today: Option<Day>,
    /// A question in plain words, where `question` stands in the place of names.
    question: Option<String>,
    /// Kinds of files, with commas between: markdown, page, chapters, post, data, cards; without it all.
    #[param(example = "markdown,data")]
    formats: Option<String>,
    /// Shapes of cards, with commas between: wide, tall, small; without it all.
    #[param(example = "wide")]
    shapes: Option<String>,
}

/// Everything a write-up can be, in one zip file with the hashes of all.
#[utoipa::path(get, path = "/api/writeups/{name}/archive", operation_id = "get_writeup_archive", tag = "findings",
    params(("name" = String, Path,
            description = "Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. \
                `question` for a question.", example = "J1"), WholeQuery),
    responses((status = 200, description = "The files.",
        body = Vec<u8>, content_type = "application/zip"), Unchanged, WithName))]
pub async fn whole(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
    Query(query): Query<WholeQuery>,
) -> Result<Response, ApiError> {
    let today = ask::today(query.today, &asked);
    let subject = asked_about(name, query.question);
    let (formats, shapes) = (query.formats.unwrap_or_default(), query.shapes.unwrap_or_default());
    let wanted = wishes::wanted(&[formats], &[shapes], &[]).map_err(no_such_word)?;
    let mut response = answer::text(&app, asked, "application/zip", move |desk| {
        let published = published(desk, &subject, today)?;
        let made = files(&published.document, &wanted).map_err(of_file)?;
        Ok(archive::archive(&made, &published.document.slug))
    })
    .await?;
    let kept_as = HeaderValue::from_static("attachment; filename=\"write-up.zip\"");
    response.headers_mut().insert(header::CONTENT_DISPOSITION, kept_as);
    Ok(response)
}

/// Which card.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct CardQuery {
    /// The day it bears; without it, today by the server's clock.
    #[param(value_type = Option<wire::word::Day>)]
    today: Option<Day>,
    /// A question in plain words, where `question` stands in the place of names.
    question: Option<String>,
    /// Which result, counted from 1.
    #[serde(default = "first")]
    #[param(minimum = 1, default = 1)]
    result: usize,
    /// On a dark ground or a light one.
    #[serde(default)]
    #[param(inline)]
    ground: wire::writeup::GroundWord,
    /// Without a ground, to be laid over a film.
    #[serde(default)]
    clear: bool,
}

fn first() -> usize {
    1
}

/// A card with one result, to show in a film, as PNG.
#[utoipa::path(get, path = "/api/writeups/{name}/cards/{shape}", operation_id = "get_writeup_card", tag = "findings",
    params(("name" = String, Path,
            description = "Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. \
                `question` for a question.", example = "J1"),
        ("shape" = inline(wire::writeup::CardShapeWord), Path, description = "Its shape.", example = "wide"), CardQuery),
    responses((status = 200, description = "The card.",
        body = Vec<u8>, content_type = "image/png"), Unchanged, WithName))]
pub async fn one_card(
    State(app): State<App>,
    asked: Asked,
    Path((name, shape)): Path<(String, wire::writeup::CardShapeWord)>,
    Query(query): Query<CardQuery>,
) -> Result<Response, ApiError> {
    let today = ask::today(query.today, &asked);
    let subject = asked_about(name, query.question);
    let look = Look { ground: query.ground.into(), clear: query.clear };
    answer::text(&app, asked, "image/png", move |desk| {
        let published = published(desk, &subject, today)?;
        let count = published.document.headlines.len();
        let index = query.result.checked_sub(1).filter(|index| *index < count).ok_or_else(|| {
            ApiError::new(
                Code::BadQuery,
                format!("there is no result {}: the write-up has {count}", query.result),
            )
            .next("count from 1")
        })?;
        Ok(card::one(&published.document, index, shape.into(), look).map_err(of_file)?.bytes)
    })
    .await
}

/// How a picture is painted.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct FigureQuery {
    /// The day the write-up bears; without it, today by the server's clock.
    #[param(value_type = Option<wire::word::Day>)]
    today: Option<Day>,
    /// A question in plain words, where `question` stands in the place of names.
    question: Option<String>,
    /// On a dark ground or a light one.
    #[serde(default)]
    #[param(inline)]
    ground: wire::writeup::GroundWord,
    /// How wide, in units of which small text is 12 high: 400 suits a phone, 800 a sheet.
    #[serde(default = "sheet")]
    #[param(minimum = 320, maximum = 1600, default = 800)]
    width: u16,
}

fn sheet() -> u16 {
    800
}

/// Which file.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct FileQuery {
    /// The day the write-up bears; without it, today by the server's clock.
    #[param(value_type = Option<wire::word::Day>)]
    today: Option<Day>,
    /// A question in plain words, where `question` stands in the place of names.
    question: Option<String>,
    /// Where it lies in the write-up's folder, as the preview lists it.
    #[param(example = "post.txt")]
    path: String,
}

/// A figure of a write-up as SVG.
#[utoipa::path(get, path = "/api/writeups/{name}/figures/{figure}", operation_id = "get_writeup_figure", tag = "findings",
    params(("name" = String, Path,
            description = "Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. \
                `question` for a question.", example = "J1"),
        ("figure" = String, Path, description = "Its name, as the preview lists it.", example = "section-a03"), FigureQuery),
    responses((status = 200, description = "The figure.",
        body = String, content_type = "image/svg+xml"), Unchanged, WithName))]
pub async fn figure(
    State(app): State<App>,
    asked: Asked,
    Path((name, figure)): Path<(String, String)>,
    Query(query): Query<FigureQuery>,
) -> Result<Response, ApiError> {
    let today = ask::today(query.today, &asked);
    let subject = asked_about(name, query.question);
    answer::text(&app, asked, "image/svg+xml", move |desk| {
        let document = &published(desk, &subject, today)?.document;
        let found = document.figures().find(|one| one.name == figure).ok_or_else(|| {
            let all: Vec<&str> = document.figures().map(|one| one.name.as_str()).collect();
            ApiError::new(Code::NoSuchRecord, format!("there is no figure called {figure} in this write-up"))
                .next(format!("use one of: {}", all.join(", ")))
        })?;
        let room = ask::room("a figure", query.width)?;
        let look = Look { ground: query.ground.into(), clear: false };
        let drawn =
            found.chart.draw(room, look).map_err(|error| ApiError::because(Code::NoFinding, &error))?;
        Ok(drawn.svg)
    })
    .await
}

/// One file of a write-up, by its path: the post, chapters of a film, a table.
#[utoipa::path(get, path = "/api/writeups/{name}/file", operation_id = "get_writeup_file", tag = "findings",
    params(("name" = String, Path,
            description = "Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. \
                `question` for a question.", example = "J1"), FileQuery),
    responses((status = 200, description = "The file.",
        body = Vec<u8>, content_type = "application/octet-stream"), Unchanged, WithName))]
pub async fn one_file(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
    Query(query): Query<FileQuery>,
) -> Result<Response, ApiError> {
    let today = ask::today(query.today, &asked);
    let subject = asked_about(name, query.question);
    let path = query.path;
    let kept_as = path.rsplit('/').next().unwrap_or_default().to_owned();
    let mut response = answer::text(&app, asked, "application/octet-stream", move |desk| {
        let made = files(&published(desk, &subject, today)?.document, &without_cards()).map_err(of_file)?;
        let all: Vec<&str> = made.iter().map(|file| file.path.as_str()).collect();
        let next = format!("use one of: {}", all.join(", "));
        made.into_iter().find(|file| file.path == path).map(|file| file.bytes).ok_or_else(|| {
            ApiError::new(Code::NoSuchRecord, format!("there is no file {path} in this write-up")).next(next)
        })
    })
    .await?;
    let headers = response.headers_mut();
    if let Ok(kept_as) = HeaderValue::try_from(format!("attachment; filename=\"{kept_as}\"")) {
        headers.insert(header::CONTENT_DISPOSITION, kept_as);
    }
    Ok(response)
}

/// Every file but cards: those take a second to paint, and have a route of their own.
fn without_cards() -> Wanted {
    let mut wanted = Wanted::everything();
    wanted.formats.remove(&Format::Cards);
    wanted
}

fn no_such_word(error: NoSuchWord) -> ApiError {
    let next = error.next_step();
    ApiError::because(Code::BadQuery, &error).next(next)
}

/// What stands in the place of names where a question is asked.
const QUESTION: &str = "question";

/// What a write-up is asked about, as the address says it.
struct Subject {
    names: String,
    question: Option<String>,
}

fn asked_about(names: String, question: Option<String>) -> Subject {
    Subject { names, question }
}

/// The write-up of a subject, kept for the figures and cards that are asked for next.
fn published(desk: &Desk, subject: &Subject, today: jiff::civil::Date) -> Result<Arc<Published>, ApiError> {
    let is_asked = subject.question.is_some() && subject.names == QUESTION;
    let names = if is_asked { Vec::new() } else { wishes::plain(&[&subject.names]) };
    let about = names.iter().map(|name| look::anything(desk, name)).collect::<Result<_, _>>()?;
    let choices = Choices::new(today, env!("CARGO_PKG_VERSION"));
    let request = Request { about, question: subject.question.clone(), photos: Photos::Stored, choices };
    desk.kept_write_up(&request).map_err(|error| refused(error, &subject.names))
}

fn refused(error: PublishError, name: &str) -> ApiError {
    match &error {
        PublishError::Both => ApiError::because(Code::BadQuery, &error)
            .next("write question in the place of the names, or leave the question out"),
        PublishError::OtherKind { .. } => {
            ApiError::because(Code::NoSuchRecord, &error).next("name a job, a test or a write-up")
        }
        PublishError::WriteUp(WriteUpError::NotHeld { .. }) => ApiError::no_such_record("job or test", name),
        PublishError::WriteUp(WriteUpError::Struck { .. }) => {
            ApiError::because(Code::NoFinding, &error).next("name a job or test that stands")
        }
        PublishError::Desk(_) => ApiError::failed(&error),
        _ => ApiError::because(Code::NoFinding, &error),
    }
}

fn of_file(error: FileError) -> ApiError {
    ApiError::because(Code::NoFinding, &error)
}
