//! What single values look like: ids, days, moments, names of writes, hashes, cursors.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The id of a record, made where it was first written down.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(format = "uuid", examples("01955e73-c400-7201-a36d-396cbc6abe48"))]
pub struct Id(pub String);

/// A calendar day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(format = Date, examples("2025-03-04"))]
pub struct Day(pub String);

/// A moment by the writer's own clock, with the writer's offset.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(format = DateTime, examples("2025-03-04T17:10:00-05:00"))]
pub struct Moment(pub String);

/// One write, by the id of its draft and its place in it, counted from 0. A form names in `seen` the writes it showed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(
    pattern = "^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}/[0-9]+$",
    examples("01968e4a-f800-7fd3-98ef-7741359027e6/1")
)]
pub struct Head(pub String);

/// Where the next page of a list begins: hand it back as `after`. What stands in it may change.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(examples("01955e73-c400-7201-a36d-396cbc6abe48"))]
pub struct Cursor(pub String);

/// A number with a decimal point, as text, so that no program rounds it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(pattern = "^-?[0-9]+(\\.[0-9]+)?$", examples("6.5"))]
pub struct Decimal(pub String);

/// A BLAKE3 hash, which names the content of a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(
    pattern = "^[0-9a-f]{64}$",
    examples("af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262")
)]
pub struct Hash(pub String);
