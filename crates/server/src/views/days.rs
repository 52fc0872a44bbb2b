//! One day, the day log, tasks, what to look at.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use storypole_desk::view;
use storypole_desk::view::entries::EntriesAsked;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::ask::{self, Day};
use super::look;
use crate::answer::{self, Asked};
use crate::extract::Query;
use crate::wire;
use crate::wire::problem::{Anywhere, Unchanged, WithName};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(today))
        .routes(routes!(entries))
        .routes(routes!(tasks))
        .routes(routes!(all_marks))
}

/// Which day.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct TodayQuery {
    /// The day; without it, the last with an entry.
    #[param(value_type = Option<wire::word::Day>)]
    day: Option<Day>,
    /// Only this site, by label or id.
    site: Option<String>,
    /// The day it is for whoever asks; without it, by the server's clock.
    #[param(value_type = Option<wire::word::Day>)]
    today: Option<Day>,
}

/// One day: what was done where, hours, purchases, the jobs that run, open tasks, what looks wrong.
#[utoipa::path(get, path = "/api/today", operation_id = "get_today", tag = "days", params(TodayQuery),
    responses((status = 200, description = "The day.", body = wire::today::Today), Unchanged, WithName))]
pub async fn today(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<TodayQuery>,
) -> Result<Response, ApiError> {
    let today = ask::today(query.today, &asked);
    answer::view(&app, asked, move |desk| {
        let site = look::maybe_named(desk, "site", query.site.as_deref())?;
        let book = desk.book()?;
        let day = view::today::Asked { day: query.day.map(|day| day.0), site, today };
        Ok(view::today::today_or_empty(&book, day).json(&book))
    })
    .await
}

/// Which lines of the day log.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct EntriesQuery {
    /// Only of this site, by label or id.
    site: Option<String>,
    /// Only of this job, by label or id.
    job: Option<String>,
    /// First day.
    #[param(value_type = Option<wire::word::Day>)]
    from: Option<Day>,
    /// Last day.
    #[param(value_type = Option<wire::word::Day>)]
    to: Option<Day>,
    /// Most lines of the page.
    #[serde(default = "ask::usual")]
    #[param(minimum = 1, maximum = 500, default = 100)]
    limit: u32,
    /// The `next` of the page before.
    after: Option<String>,
}

/// The day log, newest day first, with hours and the number of photos.
#[utoipa::path(get, path = "/api/entries", operation_id = "get_entries", tag = "days", params(EntriesQuery),
    responses((status = 200, description = "A page of it.",
        body = wire::entry::EntryPage), Unchanged, WithName))]
pub async fn entries(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<EntriesQuery>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let wanted = EntriesAsked {
            site: look::maybe_named(desk, "site", query.site.as_deref())?,
            job: look::maybe_named(desk, "job", query.job.as_deref())?,
            from: query.from.map(|day| day.0),
            to: query.to.map(|day| day.0),
            after: ask::after(query.after.as_deref())?,
            limit: ask::within(query.limit, ask::MOST)?,
        };
        Ok(view::entries::page(&*desk.book()?, &wanted))
    })
    .await
}

/// Which tasks.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct TasksQuery {
    /// Only of this job, by label or id.
    job: Option<String>,
    /// Only in this state: one of the choices of the field in `/api/kinds`.
    #[param(example = "to-do")]
    state: Option<String>,
}

/// Tasks, oldest first.
#[utoipa::path(get, path = "/api/tasks", operation_id = "get_tasks", tag = "days", params(TasksQuery),
    responses((status = 200, description = "The tasks.", body = wire::task::Tasks), Unchanged, WithName))]
pub async fn tasks(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<TasksQuery>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let job = look::maybe_named(desk, "job", query.job.as_deref())?;
        let state = query.state.as_deref().map(ask::task_state).transpose()?;
        Ok(view::task::list(&*desk.book()?, job, state))
    })
    .await
}

/// What a person should look at, in the whole notebook.
#[utoipa::path(get, path = "/api/marks", operation_id = "get_marks", tag = "days",
    responses((status = 200, description = "The marks.", body = wire::mark::Marks), Unchanged, Anywhere))]
pub async fn all_marks(State(app): State<App>, asked: Asked) -> Result<Response, ApiError> {
    answer::view(&app, asked, |desk| {
        let book = desk.book()?;
        Ok(view::marks::json(&book, &view::marks::all(&book)))
    })
    .await
}
