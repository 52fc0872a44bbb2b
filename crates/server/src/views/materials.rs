//! What walls take, drawings of them, what materials cost, and what can hurt someone on the way.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use storypole_desk::{Desk, view};
use storypole_ledger::caution::{About, cautions as found};
use storypole_ledger::takeoff::{Ask, FramingError, Sheet, takeoff as counted};
use storypole_notebook::Book;
use storypole_takeoff::Waste;
use storypole_units::Decimal;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

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
        .routes(routes!(takeoff))
        .routes(routes!(drawing))
        .routes(routes!(section))
        .routes(routes!(stock_steps))
        .routes(routes!(prices))
        .routes(routes!(job_cost))
        .routes(routes!(cautions))
}

/// What to count, and how.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct TakeoffQuery {
    /// A material to take, by label or id.
    with: Option<String>,
    /// Waste as a fraction, in place of the usual.
    #[param(value_type = Option<wire::word::Decimal>)]
    waste: Option<String>,
    /// Count all of it, not only what it adds to the version it replaces.
    #[serde(default)]
    whole: bool,
    /// Buy batts by the cut plan, offcuts used.
    #[serde(default)]
    by_plan: bool,
}

impl TakeoffQuery {
    fn ask(&self, desk: &Desk) -> Result<Ask, ApiError> {
        let material = look::maybe_named(desk, "material", self.with.as_deref())?;
        let waste = self.waste.as_deref().map(waste).transpose()?;
        Ok(Ask { materials: material.into_iter().collect(), waste, whole: self.whole, by_plan: self.by_plan })
    }
}

fn waste(typed: &str) -> Result<Waste, ApiError> {
    let refused =
        |detail: String| ApiError::new(Code::BadQuery, detail).next("write waste=0.10 for ten percent");
    let fraction = Decimal::parse(typed).map_err(|_| refused(format!("\"{typed}\" is no fraction")))?;
    Waste::from_fraction(fraction).map_err(|error| refused(error.to_string()))
}

/// What a wall, ceiling or floor takes: bays and their clear sizes, cuts, materials less what lies at the site.
#[utoipa::path(get, path = "/api/takeoff/{name}", operation_id = "get_takeoff", tag = "jobs",
    params(("name" = String, Path, description = "Label or id of an assembly.", example = "A03"), TakeoffQuery),
    responses((status = 200, description = "The take-off.", body = wire::takeoff::Takeoff), Unchanged, WithName))]
pub async fn takeoff(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
    Query(query): Query<TakeoffQuery>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let ask = query.ask(desk)?;
        sheet(desk, &name, &ask, |book, sheet| Ok(view::takeoff::json(book, sheet)))
    })
    .await
}

fn sheet<T>(
    desk: &Desk,
    name: &str,
    ask: &Ask,
    look: impl FnOnce(&Book, &Sheet) -> Result<T, ApiError>,
) -> Result<T, ApiError> {
    let id = look::named(desk, "assembly", name)?;
    let book = desk.book()?;
    let counted = counted(&book, id, ask).map_err(|error| not_counted(&error))?;
    look(&book, &counted)
}

fn not_counted(error: &FramingError) -> ApiError {
    ApiError::because(Code::NoFinding, error).next("measure what it names, then write it down")
}

/// Which wall.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct DrawingQuery {
    /// The wall of an assembly that has several, counted from 1.
    #[serde(default = "first")]
    #[param(minimum = 1, default = 1)]
    wall: usize,
}

fn first() -> usize {
    1
}

/// A drawing of the framed wall with its bays.
#[utoipa::path(get, path = "/api/takeoff/{name}/drawing", operation_id = "get_takeoff_drawing", tag = "jobs",
    params(("name" = String, Path, description = "Label or id of an assembly.", example = "A03"), DrawingQuery),
    responses((status = 200, description = "The drawing.", body = String, content_type = "image/svg+xml"), Unchanged,
        WithName))]
pub async fn drawing(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
    Query(query): Query<DrawingQuery>,
) -> Result<Response, ApiError> {
    answer::text(&app, asked, "image/svg+xml", move |desk| {
        sheet(desk, &name, &Ask::default(), |book, sheet| {
            view::drawing::elevation(book, sheet, query.wall)
                .map_err(|error| ApiError::because(Code::NoFinding, &error))
        })
    })
    .await
}

/// A section of an assembly, layer by layer.
#[utoipa::path(get, path = "/api/takeoff/{name}/section", operation_id = "get_takeoff_section", tag = "jobs",
    params(("name" = String, Path, description = "Label or id of an assembly.", example = "A03")),
    responses((status = 200, description = "The drawing.", body = String, content_type = "image/svg+xml"), Unchanged,
        WithName))]
pub async fn section(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
) -> Result<Response, ApiError> {
    answer::text(&app, asked, "image/svg+xml", move |desk| {
        let id = look::named(desk, "assembly", &name)?;
        let book = desk.book()?;
        view::drawing::section(&book, id).map_err(|error| ApiError::because(Code::NoFinding, &error))
    })
    .await
}

/// The stock of one material, step by step and place by place.
#[utoipa::path(get, path = "/api/materials/{name}/stock", operation_id = "get_material_stock", tag = "jobs",
    params(("name" = String, Path, description = "Label or id of a material.", example = "batt-r13")),
    responses((status = 200, description = "The steps.", body = wire::stock::StockSteps), Unchanged, WithName))]
pub async fn stock_steps(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let id = look::named(desk, "material", &name)?;
        Ok(view::stock::steps(&*desk.book()?, id))
    })
    .await
}

/// What a material cost, purchase by purchase and supplier by supplier, for one of its units.
#[utoipa::path(get, path = "/api/materials/{name}/prices", operation_id = "get_material_prices", tag = "jobs",
    params(("name" = String, Path, description = "Label or id of a material.", example = "board-58x")),
    responses((status = 200, description = "The prices.", body = wire::cost::Prices), Unchanged, WithName))]
pub async fn prices(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let id = look::named(desk, "material", &name)?;
        Ok(view::cost::prices(&*desk.book()?, id))
    })
    .await
}

/// What one job cost, by group and by division, against its estimate.
#[utoipa::path(get, path = "/api/jobs/{name}/cost", operation_id = "get_job_cost", tag = "jobs",
    params(("name" = String, Path, description = "Label or id of a job.", example = "J1")),
    responses((status = 200, description = "The cost.", body = wire::cost::JobCost), Unchanged, WithName))]
pub async fn job_cost(
    State(app): State<App>,
    asked: Asked,
    Path(name): Path<String>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let id = look::named(desk, "job", &name)?;
        Ok(view::cost::of(&*desk.book()?, &[id]))
    })
    .await
}

/// Of what.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct CautionsQuery {
    /// A job, site, assembly or test, by label, id or `kind:label`; without it, every job.
    about: Option<String>,
}

/// What can hurt someone on a job, why it is shown, and who has read it. To acknowledge one, send a draft with an
/// `acknowledgement` whose `facts` are the caution's `keep`.
#[utoipa::path(get, path = "/api/cautions", operation_id = "get_cautions", tag = "jobs", params(CautionsQuery),
    responses((status = 200, description = "One by one.", body = wire::caution::Cautions), Unchanged, WithName))]
pub async fn cautions(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<CautionsQuery>,
) -> Result<Response, ApiError> {
    answer::view(&app, asked, move |desk| {
        let about = match query.about.as_deref().map(|name| look::anything(desk, name)).transpose()? {
            None => About::Notebook,
            Some((kind, id)) => About::record(kind, id).ok_or_else(|| {
                let detail =
                    format!("cautions are about jobs, sites, assemblies and tests, not about a {kind}");
                ApiError::new(Code::BadQuery, detail).next("name one of those, or none")
            })?,
        };
        let book = desk.book()?;
        Ok(view::cautions::list(&book, &found(&book, about)))
    })
    .await
}
