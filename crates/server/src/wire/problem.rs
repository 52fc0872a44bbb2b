//! Refusals: RFC 9457 problem details, and the answers every operation has in common.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};
use utoipa::openapi::example::{Example, ExampleBuilder};
use utoipa::openapi::header::HeaderBuilder;
use utoipa::openapi::schema::{ObjectBuilder, Type};
use utoipa::openapi::{Content, Ref, RefOr, Response, ResponseBuilder};
use utoipa::{IntoResponses, ToSchema};

use crate::problem::{self, PROBLEMS};

/// The field of a draft that is refused.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RefusedField {
    /// Which write of the draft, counted from 0; null where that is not known.
    #[schema(required = true)]
    pub write: Option<u64>,
    /// The kind of record, as it was sent.
    pub kind: String,
    /// The field, as it was sent.
    pub field: String,
}

/// Why a request is refused, and what to do next.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Problem {
    /// Where the code is explained.
    #[schema(examples("/api/problems/no-such-record"))]
    pub r#type: String,
    /// What it means, a plain sentence; the same for each refusal of this code.
    pub title: String,
    /// The status of HTTP.
    #[schema(minimum = 400, maximum = 599)]
    pub status: u16,
    /// Why this request was refused, the chain of reasons in one line.
    pub detail: String,
    /// This request, as it stands in the server's log.
    #[schema(pattern = "^urn:uuid:[0-9a-f-]{36}$")]
    pub instance: String,
    /// What was refused, for programs.
    pub code: ProblemCode,
    /// What to do next.
    pub next: String,
    /// The field of a draft that is refused; left out elsewhere.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub field: Option<RefusedField>,
}

answers! {
    /// What a code means.
    struct ProblemKind {
        /// The code.
        code: ProblemCode,
        /// The status of HTTP it comes with.
        #[schema(minimum = 400, maximum = 599)]
        status: u16,
        /// What it means, a plain sentence.
        title: String,
        /// What to do next, where the refusal itself says nothing better.
        next: String,
    }
}

/// What was refused, for programs: one of a list that grows, each explained at `/api/problems/{code}`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProblemCode(pub String);

impl utoipa::PartialSchema for ProblemCode {
    fn schema() -> RefOr<utoipa::openapi::Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .description(Some(
                "What was refused, for programs. Codes are a promise: they stay, and others may join them.",
            ))
            .enum_values(Some(PROBLEMS.iter().map(|problem| problem.code)))
            .into()
    }
}

impl ToSchema for ProblemCode {
    fn name() -> std::borrow::Cow<'static, str> {
        "ProblemCode".into()
    }
}

/// What any request with a session may be answered.
pub struct Anywhere;

/// What a request may be answered that says something behind the question mark.
pub struct WithQuery;

/// What a request may be answered that names a record.
pub struct WithName;

/// Statuses of [`Anywhere`].
const ANYWHERE: &[u16] = &[401, 403, 421, 429, 500, 503];

impl IntoResponses for Anywhere {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        refusals(ANYWHERE)
    }
}

impl IntoResponses for WithQuery {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        let mut all = refusals(ANYWHERE);
        all.append(&mut refusals(&[400]));
        all
    }
}

impl IntoResponses for WithName {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        let mut all = refusals(ANYWHERE);
        all.append(&mut refusals(&[400, 404, 409]));
        all
    }
}

/// A view that the client holds already.
pub struct Unchanged;

impl IntoResponses for Unchanged {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        BTreeMap::from([("304".to_owned(), Ref::from_response_name("Unchanged").into())])
    }
}

fn refusals(statuses: &[u16]) -> BTreeMap<String, RefOr<Response>> {
    let named = |status: &u16| (status.to_string(), Ref::from_response_name(name(*status)).into());
    statuses.iter().map(named).collect()
}

/// The name of a shared answer.
pub fn name(status: u16) -> String {
    format!("Refused{status}")
}

/// Every shared answer: one for each status, with all codes it can have.
pub fn shared() -> BTreeMap<String, RefOr<Response>> {
    let statuses: BTreeSet<u16> = PROBLEMS.iter().map(|problem| problem.status).collect();
    let mut all: BTreeMap<_, _> =
        statuses.into_iter().map(|status| (name(status), refused(status).into())).collect();
    let unchanged = "What the client holds, as If-None-Match says, is what would be sent.";
    let unchanged = ResponseBuilder::new().description(unchanged).header("ETag", etag());
    all.insert("Unchanged".to_owned(), unchanged.build().into());
    all
}

/// The header that tells which state of a view is sent.
pub fn etag() -> utoipa::openapi::header::Header {
    text_header("Which state of the view this is; send it back as If-None-Match.")
}

/// The header that tells where the log stood when a view was read.
pub fn position() -> utoipa::openapi::header::Header {
    text_header("Where the log stood when this was read, as the events of `/api/events` name it.")
}

fn text_header(description: &str) -> utoipa::openapi::header::Header {
    let text = ObjectBuilder::new().schema_type(Type::String);
    HeaderBuilder::new().schema(Some(text)).description(Some(description)).build()
}

fn refused(status: u16) -> Response {
    let of_status = || PROBLEMS.iter().filter(move |problem| problem.status == status);
    let codes: Vec<String> =
        of_status().map(|problem| format!("`{}`: {}", problem.code, problem.title)).collect();
    let mut content = Content::new(Some(Ref::from_schema_name("Problem")));
    for problem in of_status() {
        content.examples.insert(problem.code.to_owned(), example(problem).into());
    }
    let waits = of_status().any(|problem| problem.retry_after_s.is_some());
    let mut response =
        ResponseBuilder::new().description(codes.join(" ")).content("application/problem+json", content);
    if waits {
        let seconds = ObjectBuilder::new().schema_type(Type::Integer).minimum(Some(0));
        let header = HeaderBuilder::new()
            .schema(Some(seconds))
            .description(Some("When to send it again, seconds from now."));
        response = response.header("Retry-After", header.build());
    }
    response.build()
}

fn example(problem: &problem::Problem) -> Example {
    let of_field = ["value-refused", "unknown-field", "reason-missing", "other-spelling"];
    let field = of_field.contains(&problem.code).then(|| RefusedField {
        write: Some(0),
        kind: "reading".to_owned(),
        field: "value".to_owned(),
    });
    let example = Problem {
        r#type: format!("/api/problems/{}", problem.code),
        title: problem.title.to_owned(),
        status: problem.status,
        detail: detail(problem),
        instance: "urn:uuid:01955e73-c400-7b2c-bc34-d455edbac7aa".to_owned(),
        code: ProblemCode(problem.code.to_owned()),
        next: problem.next.to_owned(),
        field,
    };
    let json = serde_json::to_value(example).expect("text and numbers are JSON");
    ExampleBuilder::new().value(Some(json)).build()
}

/// Why, in an example.
fn detail(problem: &problem::Problem) -> String {
    match problem.code {
        "no-such-record" => "there is no job called \"J9\"".to_owned(),
        "bad-query" => "limit is 0; it may be 1 to 500".to_owned(),
        "value-refused" => "\"69,1\" is not a plain number, like 12 or 6.5".to_owned(),
        _ => problem.title.trim_end_matches('.').to_lowercase(),
    }
}
