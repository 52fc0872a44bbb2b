//! `/api/devices`: which devices belong to the notebook, and what a keeper decides about them.
//!
//! What a decision means is the log's to say; here it is only asked for. Left out: inviting, which needs the new device
//! to be there, see [`crate::access::invitations`] and [`crate::join`].

use std::collections::HashMap;

use axum::extract::State;
use serde::{Deserialize, Serialize};
use storypole_desk::{Desk, Membership};
use storypole_journal::DeviceId;
use storypole_notebook::field::check_label;
use storypole_notebook::value::print_moment;
use storypole_store::aside::AsideSpan;
use storypole_store::read::WhyAside;
use utoipa::ToSchema;

use crate::access::browsers::person;
use crate::extract::{JsonBody, Path};
use crate::problem::Code;
use crate::views::look;
use crate::wire::device::{BranchTaken, Device, Devices, SetAside, WhyName};
use crate::wire::problem::Anywhere;
use crate::wire::word::{Id, Moment};
use crate::{ApiError, App, clock};

/// When devices asked this server last, ms since 1970.
pub type Seen = HashMap<DeviceId, u64>;

/// Why something is decided.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DecideBody {
    /// Why, for those who read it later.
    #[schema(min_length = 1, max_length = 2_000, examples("lost on the way to the site"))]
    pub reason: String,
}

/// What a device is called.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NameBody {
    /// Its short name.
    #[schema(min_length = 1, max_length = 32, examples("tablet"))]
    pub label: String,
    /// Who carries it, by label or id; without it, that stays as it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, max_length = 120, examples("helper"))]
    pub person: Option<String>,
}

refusals! {
    /// How a decision may be refused.
    Deciding: 400 401 403 404 408 409 413 415 421 422 429 500 503 507;
}

/// The devices of the notebook, what they may do, how much of them is here, and what is set aside.
#[utoipa::path(
    get, path = "/api/devices", operation_id = "get_devices", tag = "access",
    responses((status = 200, description = "The devices.", body = Devices), Anywhere)
)]
pub async fn list(State(app): State<App>) -> Result<axum::Json<Devices>, ApiError> {
    let seen = app.access().devices_seen();
    app.read(move |desk| devices(desk, &seen)).await.map(axum::Json)
}

/// Revokes a device: what it has written up to now, as it is held here, still counts; nothing after it does.
#[utoipa::path(
    post, path = "/api/devices/{device}/revoke", operation_id = "revoke_device", tag = "access",
    params(("device" = Id, Path, description = "The device.")),
    request_body(content = DecideBody, description = "Why."),
    responses((status = 200, description = "It is revoked.", body = Device), Deciding)
)]
pub async fn revoke(
    State(app): State<App>,
    Path(device): Path<String>,
    JsonBody(body): JsonBody<DecideBody>,
) -> Result<axum::Json<Device>, ApiError> {
    decide(app, device, move |desk, device| {
        desk.revoke(device, &body.reason, clock::written_now())?;
        Ok(())
    })
    .await
}

/// Lets all of a revoked device in again.
#[utoipa::path(
    post, path = "/api/devices/{device}/let-in", operation_id = "let_in_device", tag = "access",
    params(("device" = Id, Path, description = "The device.")),
    request_body(content = DecideBody, description = "Why."),
    responses((status = 200, description = "It is let in.", body = Device), Deciding)
)]
pub async fn let_in(
    State(app): State<App>,
    Path(device): Path<String>,
    JsonBody(body): JsonBody<DecideBody>,
) -> Result<axum::Json<Device>, ApiError> {
    decide(app, device, move |desk, device| {
        desk.let_in(device, &body.reason, clock::written_now())?;
        Ok(())
    })
    .await
}

/// Takes over what a device wrote on a branch that was set aside: under the device that answers, drafts unchanged.
#[utoipa::path(
    post, path = "/api/devices/{device}/let-in-branch", operation_id = "let_in_branch", tag = "access",
    params(("device" = Id, Path, description = "The device.")),
    request_body(content = DecideBody, description = "Why."),
    responses((status = 200, description = "What became of it.", body = BranchTaken), Deciding)
)]
pub async fn let_in_branch(
    State(app): State<App>,
    Path(device): Path<String>,
    JsonBody(body): JsonBody<DecideBody>,
) -> Result<axum::Json<BranchTaken>, ApiError> {
    let device = read(&device)?;
    let done =
        app.write(move |desk| Ok(desk.let_in_branch(device, &body.reason, clock::written_now())?)).await?;
    Ok(axum::Json(BranchTaken {
        taken: done.taken as u64,
        held_elsewhere: done.held_elsewhere as u64,
        left_out: done.left_out as u64,
    }))
}

/// Says what people call a device, and who carries it.
#[utoipa::path(
    put, path = "/api/devices/{device}/name", operation_id = "name_device", tag = "access",
    params(("device" = Id, Path, description = "The device.")),
    request_body(content = NameBody, description = "What it is called."),
    responses((status = 200, description = "It is called so.", body = Device), Deciding)
)]
pub async fn name(
    State(app): State<App>,
    Path(device): Path<String>,
    JsonBody(body): JsonBody<NameBody>,
) -> Result<axum::Json<Device>, ApiError> {
    decide(app, device, move |desk, device| rename(desk, device, &body.label, body.person.as_deref())).await
}

/// Names a member, and who carries it.
///
/// # Errors
/// It is no member, or label or person are refused.
pub fn rename(desk: &Desk, device: DeviceId, label: &str, person: Option<&str>) -> Result<(), ApiError> {
    let label = label.trim();
    check_label(label).map_err(|error| ApiError::because(Code::ValueRefused, &error))?;
    let person = look::maybe_named(desk, "person", person)?;
    one(&devices(desk, &Seen::new())?, device)?;
    desk.name_device(device, label, person, clock::written_now())?;
    Ok(())
}

async fn decide(
    app: App,
    device: String,
    decision: impl FnOnce(&Desk, DeviceId) -> Result<(), ApiError> + Send + 'static,
) -> Result<axum::Json<Device>, ApiError> {
    let device = read(&device)?;
    let seen = app.access().devices_seen();
    let decided = app.write(move |desk| {
        decision(desk, device)?;
        one(&devices(desk, &seen)?, device)
    });
    decided.await.map(axum::Json)
}

fn read(device: &str) -> Result<DeviceId, ApiError> {
    device.parse().map_err(|error| ApiError::because(Code::BadPath, &error))
}

fn one(devices: &Devices, device: DeviceId) -> Result<Device, ApiError> {
    let id = device.to_string();
    let found = devices.devices.iter().find(|one| one.id.0 == id).cloned();
    found.ok_or_else(|| {
        ApiError::new(Code::NoSuchDevice, format!("device {id} is no member of this notebook"))
    })
}

/// The devices of the notebook, as they travel.
///
/// # Errors
/// The notebook cannot be asked.
pub fn devices(desk: &Desk, seen: &Seen) -> Result<Devices, ApiError> {
    let book = desk.book()?;
    let standing = desk.read(storypole_store::Reader::standing)?;
    let members = desk.members()?;
    let label = |device: DeviceId| members.iter().find(|one| one.device == device)?.label.clone();
    let set_aside = desk.set_aside()?.into_iter().map(|span| aside(&span, label(span.device))).collect();
    let sheet = |member: Membership| Device {
        id: Id(member.device.to_string()),
        person: member.person.map(|id| person(&book, id)),
        role: member.role.into(),
        invited_by: Id(member.invited_by.to_string()),
        depth: standing.depth(member.device).unwrap_or_default().into(),
        is_this: member.is_this,
        is_pass: member.is_pass,
        held: member.held,
        counted: member.counted,
        revoked_at: member.revoked.map(|revocation| revocation.count),
        last_written: member.last_written.map(|at| Moment(print_moment(at))),
        last_seen: seen.get(&member.device).map(|seen_ms| clock::moment(*seen_ms)),
        label: member.label,
    };
    let devices = members.iter().cloned().map(sheet).collect();
    Ok(Devices { devices, set_aside, may_invite: desk.may_invite() })
}

fn aside(span: &AsideSpan, label: Option<String>) -> SetAside {
    SetAside {
        device: Id(span.device.to_string()),
        label,
        from: span.from,
        to: span.to,
        why: match span.why {
            WhyAside::Unsigned => WhyName::Unsigned,
            WhyAside::Membership => WhyName::Membership,
            WhyAside::Forked => WhyName::Forked,
        },
        first_written: Moment(print_moment(span.first_written)),
        last_written: Moment(print_moment(span.last_written)),
    }
}
