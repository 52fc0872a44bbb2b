//! Recordings that are kept, measured as the command line measures them.

use std::fs::File;
use std::io::BufReader;
use std::sync::Arc;

use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::{Value as Json, json};
use storypole_acoustics::calibration::Tone;
use storypole_acoustics::recording::RecordingError;
use storypole_desk::recording::account::{Account, NoAccount};
use storypole_desk::recording::cuts::{self, Reasoned};
use storypole_desk::recording::scale::{NoScale, Scale};
use storypole_desk::recording::{self, ListenError};
use storypole_desk::{Desk, Known};
use storypole_findings::hearing::Hearing;
use storypole_notebook::{Unit, Value};
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::look;
use crate::extract::{Path, Query};
use crate::files;
use crate::problem::Code;
use crate::wire;
use crate::wire::problem::Unchanged;
use crate::wire::word::Hash;
use crate::{ApiError, App, answer};

/// The routes of this file.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(measure))
}

/// How a recording is measured. What full scale is may be told in one of three ways, or not at all.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct RecordingQuery {
    /// Level of a full-scale sine in the recording, dB re 20 µPa.
    #[param(required = false, minimum = 20.0, maximum = 200.0, example = 117.0)]
    full_scale: Option<f64>,
    /// The meter, by label or id, for which full scale is noted.
    #[param(required = false)]
    meter: Option<String>,
    /// Hash of a recording of a calibrator with the same gain.
    #[param(required = false, pattern = "^[0-9a-f]{64}$")]
    calibration: Option<String>,
    /// Level of that calibrator, dB.
    #[param(required = false, minimum = 40.0, maximum = 160.0)]
    calibrator: Option<f64>,
    /// Frequency of that calibrator, Hz: 1000 or 250.
    #[param(required = false, default = 1000)]
    tone: Option<u32>,
    /// Which channel of the recording, counted from 1.
    #[param(required = false, default = 1, minimum = 1)]
    channel: Option<u16>,
    /// Weighting of the reading: `dBA`, `dBC` or `dBZ`.
    #[param(required = false, default = "dBA")]
    unit: Option<String>,
    /// What to cut out, a line each: `12-15 a truck passed`, in seconds or minutes:seconds.
    #[param(required = false)]
    cut: Option<String>,
}

refusals! {
    /// How measuring may be refused.
    NotMeasured: 400 401 403 404 409 421 422 429 500 503;
}

/// What is asked, checked before anything is listened to.
struct Ask {
    hash: [u8; 32],
    channel: u16,
    unit: Unit,
    cuts: Vec<Reasoned>,
    scale: AskedScale,
}

enum AskedScale {
    Known(Scale),
    Calibrator { hash: [u8; 32], level_db: f64, tone: Tone },
}

/// Measures a recording that is kept: levels, bands, a history, what is odd about it, and the reading it gives.
///
/// Nothing is written. Recordings are measured one at a time, up to two hours long; a second question waits for its turn.
#[utoipa::path(get, path = "/api/recordings/{hash}", operation_id = "get_recording", tag = "tests",
    params(("hash" = Hash, Path, description = "The recording."), RecordingQuery),
    responses((status = 200, description = "What it gave.", body = wire::recording::RecordingMeasured), Unchanged, NotMeasured))]
pub async fn measure(
    State(app): State<App>,
    Path(hash): Path<String>,
    Query(query): Query<RecordingQuery>,
    uri: Uri,
    headers: HeaderMap,
) -> Result<Response, ApiError> {
    let hash = files::called(&hash)?;
    let ask = app.read(move |desk| asked(desk, hash, &query)).await?;
    let question = question(&ask, &uri);
    let tag = format!("W/\"{}\"", &blake3::hash(question.as_bytes()).to_hex()[..32]);
    if answer::is_held(&headers, &tag) {
        return Ok((StatusCode::NOT_MODIFIED, tagged(&tag)).into_response());
    }
    let body = match app.measuring().known(&question) {
        Some(body) => body,
        None => worked_out(&app, hash, ask, question).await?,
    };
    let kind = [(header::CONTENT_TYPE, HeaderValue::from_static("application/json"))];
    Ok((kind, tagged(&tag), body.to_string()).into_response())
}

/// All that the answer follows from: a file never changes under its hash.
fn question(ask: &Ask, uri: &Uri) -> String {
    let scale = match &ask.scale {
        AskedScale::Known(scale) => scale.words.as_deref().unwrap_or_default(),
        AskedScale::Calibrator { .. } => "",
    };
    let path = uri.path_and_query().map_or("", |path| path.as_str());
    [env!("CARGO_PKG_VERSION"), path, scale].join("\n")
}

fn tagged(tag: &str) -> HeaderMap {
    let tag = HeaderValue::try_from(tag).expect("digits and quotes");
    let cache = HeaderValue::from_static("private, no-cache");
    [(header::ETAG, tag), (header::CACHE_CONTROL, cache)].into_iter().collect()
}

async fn worked_out(app: &App, hash: [u8; 32], ask: Ask, question: String) -> Result<Arc<str>, ApiError> {
    let turn = app.measuring().turn().await?;
    // Whoever went before may have asked the same.
    if let Some(body) = app.measuring().known(&question) {
        return Ok(body);
    }
    let here = app.clone();
    let measured = app.read(move |desk| {
        let body: Arc<str> = measured(desk, &ask)?.to_string().into();
        here.measuring().keep(question, Arc::clone(&body));
        // The turn ends with the work, also where nobody waits for it any more.
        drop(turn);
        Ok(body)
    });
    files::opened_or_asked(app, hash, measured.await)
}

fn asked(desk: &Desk, hash: [u8; 32], query: &RecordingQuery) -> Result<Ask, ApiError> {
    let refused = |words: String, next: &str| ApiError::new(Code::BadQuery, words).next(next);
    let channel = query.channel.unwrap_or(1);
    if channel == 0 {
        return Err(refused("there is no channel 0".to_owned(), "channels are counted from 1"));
    }
    let unit: Unit = query.unit.as_deref().unwrap_or("dBA").parse().map_err(
        |error: storypole_notebook::quantity::UnknownUnit| refused(error.to_string(), "say dBA, dBC or dBZ"),
    )?;
    if !unit.is_level() {
        return Err(refused(format!("a recording gives no {unit}"), "say dBA, dBC or dBZ"));
    }
    let typed = query.cut.as_deref().unwrap_or_default().lines().filter(|line| !line.trim().is_empty());
    let cuts = typed.map(cuts::read).collect::<Result<Vec<_>, _>>().map_err(|error| {
        refused(error.to_string(), "write it like 12-15 a truck passed, in seconds or minutes:seconds")
    })?;
    Ok(Ask { hash, channel, unit, cuts, scale: scale(desk, query)? })
}

fn scale(desk: &Desk, query: &RecordingQuery) -> Result<AskedScale, ApiError> {
    let refused = |words: String, next: &str| ApiError::new(Code::BadQuery, words).next(next);
    let no_scale = |error: NoScale| refused(error.to_string(), NoScale::NEXT);
    match (query.full_scale, query.meter.as_deref(), query.calibration.as_deref()) {
        (None, None, None) => Ok(AskedScale::Known(Scale::unknown())),
        (Some(level_db), None, None) => Scale::told(level_db).map(AskedScale::Known).map_err(no_scale),
        (None, Some(meter), None) => {
            let id = look::named(desk, "meter", meter)?;
            let noted = desk.value(id, "meter", "full_scale").map(|value| value.to_string());
            let level_db = noted.and_then(|noted| noted.parse().ok()).ok_or_else(|| {
                ApiError::new(Code::NoRecording, format!("what full scale is with {meter} is not noted"))
                    .next("send the recording of a calibrator, or tell the level of a full-scale sine")
            })?;
            let label =
                desk.value(id, "meter", "label").map_or_else(|| meter.to_owned(), |label| label.to_string());
            Scale::noted(level_db, &label).map(AskedScale::Known).map_err(no_scale)
        }
        (None, None, Some(hash)) => {
            let level_db = query.calibrator.ok_or_else(|| {
                refused(
                    "the level of the calibrator is not told".to_owned(),
                    "add it: it stands on its label or certificate, mostly 94 or 114 dB",
                )
            })?;
            let tone = match query.tone.unwrap_or(1000) {
                1000 => Tone::Hz1000,
                250 => Tone::Hz250,
                other => {
                    return Err(refused(format!("no calibrator has {other} Hz"), "it is 1000 or 250"));
                }
            };
            Ok(AskedScale::Calibrator { hash: files::called(hash)?, level_db, tone })
        }
        _ => Err(refused(
            "full scale is told in more than one way".to_owned(),
            "tell one of full_scale, meter and calibration",
        )),
    }
}

fn measured(desk: &Desk, ask: &Ask) -> Result<Json, ApiError> {
    let scale = match &ask.scale {
        AskedScale::Known(scale) => scale.clone(),
        AskedScale::Calibrator { hash, level_db, tone } => {
            let (file, name) = opened(desk, hash)?;
            let calibration = recording::calibrate_kept(file, name.as_deref(), 0, *tone, *level_db)
                .map_err(not_listened)?;
            Scale::of_calibrator(&calibration, *level_db, name.as_deref().unwrap_or("a file without a name"))
        }
    };
    let (file, name) = opened(desk, &ask.hash)?;
    let (whole, about) = recording::measure_kept(file, name.as_deref(), ask.channel - 1, scale.full_scale)
        .map_err(not_listened)?;
    let account = Account::new(whole, about, ask.cuts.clone(), scale).map_err(|error| no_account(&error))?;
    Ok(told(&account, ask))
}

/// All that the type of the answer names.
fn told(account: &Account, ask: &Ask) -> Json {
    let mut json = account.json(ask.channel);
    json["hash"] = json!(crate::hex::print(&ask.hash));
    json["history"] = account.history();
    let is_calibrated = account.scale.words.is_some();
    let level_db = account.rest.a.leq_db.filter(|_| is_calibrated);
    json["hearing"] = json!(
        level_db.and_then(Hearing::of_level).map(|hearing| hearing.sentence_of("where it was recorded"))
    );
    let (reading, why) = match account.reading(ask.unit) {
        Ok(_) if !is_calibrated => (
            Json::Null,
            json!("what full scale is in the recording is not known, so its levels are not re 20 µPa"),
        ),
        Ok(fields) => {
            let mut reading: Json = READING.iter().map(|field| ((*field).to_owned(), Json::Null)).collect();
            fields.into_iter().for_each(|(field, typed)| reading[field] = json!(typed));
            (reading, Json::Null)
        }
        Err(error) => (Json::Null, json!(format!("{error}; {}", error.next_step()))),
    };
    json["reading"] = reading;
    json["no_reading_because"] = why;
    json
}

/// Fields of a reading that a recording may fill.
const READING: [&str; 9] =
    ["subject", "value", "response", "duration_s", "bands", "calibration", "cut_out", "clipped", "lossy"];

/// The file, and the name it was pinned by: the content of an MP3 does not always say what it is.
fn opened(desk: &Desk, hash: &[u8; 32]) -> Result<(BufReader<File>, Option<String>), ApiError> {
    let opened = desk.attachments().open_verified(hash);
    let (file, _) = opened.map_err(|error| files::refused(desk, hash, error))?;
    let pins = desk.matching("photo", &[("hash", Value::Hash(*hash))]);
    let name = pins.into_iter().find_map(|pin| desk.value(pin, "photo", "name"));
    Ok((BufReader::new(file), name.map(|name| name.to_string())))
}

fn not_listened(error: ListenError) -> ApiError {
    match &error {
        ListenError::Recording { source: RecordingError::NoSuchChannel { channel, channels }, .. } => {
            let words = format!("there is no channel {}: the recording has {channels}", channel + 1);
            ApiError::new(Code::NoRecording, words).next("channels are counted from 1")
        }
        ListenError::Calibration(_) => ApiError::because(Code::NoRecording, &error)
            .next("record the calibrator again, or tell full scale in another way"),
        _ => ApiError::because(Code::NoRecording, &error),
    }
}

fn no_account(error: &NoAccount) -> ApiError {
    ApiError::new(Code::NoRecording, error.to_string()).next(error.next_step())
}
