//! Sketches: what an assembly would be that is not written yet, and its section.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use storypole_desk::view::sketch::Sketch;
use storypole_drawing::{Look, Room};
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::ask;
use crate::answer::{self, Asked};
use crate::extract::Query;
use crate::problem::Code;
use crate::wire;
use crate::wire::problem::{Unchanged, WithName, WithQuery};
use crate::{ApiError, App};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(sketch)).routes(routes!(section))
}

/// An assembly as it is typed, each field as a draft takes it; what is left out counts as not written.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
#[into_params(parameter_in = Query)]
pub struct SketchQuery {
    /// What it is: one of the choices of the field in `/api/kinds`.
    #[param(example = "wall")]
    element: Option<String>,
    /// Leaf A, from its room inward.
    #[param(example = "gypsum 12.7 x1, direct")]
    leaf_a: Option<String>,
    /// Frame.
    #[param(example = "single wood 38x89@406")]
    frame: Option<String>,
    /// Cavity and fill.
    #[param(example = "89 clear, cellulose 89")]
    cavity: Option<String>,
    /// Leaf B, from its room inward.
    #[param(example = "gypsum 15.9 x2, direct")]
    leaf_b: Option<String>,
    /// Doors, windows, boxes.
    #[param(example = "none")]
    openings: Option<String>,
    /// Perimeter seals.
    #[param(example = "A 1, B 1")]
    seals: Option<String>,
    /// State of the work.
    #[param(example = "finished")]
    state: Option<String>,
    /// Its length.
    #[param(example = "150 in")]
    length: Option<String>,
    /// Its height.
    #[param(example = "97 1/8 in")]
    height: Option<String>,
    /// What it stands between.
    #[param(example = "rooms")]
    between: Option<String>,
    /// Face of its studs, as measured.
    stud_face: Option<String>,
    /// Its short name, for the drawing.
    label: Option<String>,
    /// The room on the side of leaf A, for the drawing.
    side_a: Option<String>,
    /// The room on the side of leaf B, for the drawing.
    side_b: Option<String>,
    /// The drawing's ground, dark or light.
    #[param(inline)]
    ground: wire::writeup::GroundWord,
    /// How wide the drawing is, in units of which small text is 12 high: 400 suits a phone, 800 a sheet.
    #[param(value_type = u16, minimum = 320, maximum = 1600, default = 800)]
    width: Option<u16>,
}

impl SketchQuery {
    fn room(&self) -> Result<Room, ApiError> {
        ask::room("a drawing", self.width.unwrap_or(800))
    }

    fn read(&self) -> Sketch {
        let fields = [
            ("label", &self.label),
            ("element", &self.element),
            ("between", &self.between),
            ("leaf_a", &self.leaf_a),
            ("frame", &self.frame),
            ("cavity", &self.cavity),
            ("leaf_b", &self.leaf_b),
            ("openings", &self.openings),
            ("seals", &self.seals),
            ("state", &self.state),
            ("length", &self.length),
            ("height", &self.height),
            ("stud_face", &self.stud_face),
        ];
        let typed: Vec<(&str, &str)> =
            fields.iter().filter_map(|(name, text)| Some((*name, text.as_deref()?))).collect();
        Sketch::read(&typed, [self.side_a.as_deref(), self.side_b.as_deref()])
    }
}

/// What an assembly would be that is not written yet: its layers and what they weigh, what a model says of it, and which field cannot
/// be read. Nothing is written.
#[utoipa::path(get, path = "/api/sketch", operation_id = "get_sketch", tag = "jobs", params(SketchQuery),
    responses((status = 200, description = "What it would be.", body = wire::sketch::Sketch), Unchanged, WithQuery))]
pub async fn sketch(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<SketchQuery>,
) -> Result<Response, ApiError> {
    let room = query.room()?;
    answer::view(&app, asked, move |_| Ok(query.read().json(room))).await
}

/// The section of an assembly that is not written yet, painted as its query says.
#[utoipa::path(get, path = "/api/sketch/section", operation_id = "get_sketch_section", tag = "jobs", params(SketchQuery),
    responses((status = 200, description = "The drawing.", body = String, content_type = "image/svg+xml"), Unchanged,
        WithName))]
pub async fn section(
    State(app): State<App>,
    asked: Asked,
    Query(query): Query<SketchQuery>,
) -> Result<Response, ApiError> {
    let room = query.room()?;
    answer::text(&app, asked, "image/svg+xml", move |_| {
        let look = Look { ground: query.ground.into(), clear: false };
        query.read().section(room, look).map_err(|error| ApiError::because(Code::NoFinding, &error))
    })
    .await
}
