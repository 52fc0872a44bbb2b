//! The whole interface as one OpenAPI 3.1 document, made from the routes themselves.

use serde_json::Value;
use utoipa::ToSchema;
use utoipa::openapi::example::ExampleBuilder;
use utoipa::openapi::path::Operation;
use utoipa::openapi::security::{
    ApiKey, ApiKeyValue, HttpAuthScheme, HttpBuilder, SecurityRequirement, SecurityScheme,
};
use utoipa::openapi::tag::TagBuilder;
use utoipa::openapi::{
    ComponentsBuilder, InfoBuilder, LicenseBuilder, OpenApi, OpenApiBuilder, PathItem, RefOr, Schema,
    ServerBuilder,
};

use super::{example, problem};
use crate::answer::POSITION;
use crate::{routes, views};

/// The names of the ways in: a browser's, and a device's.
const SESSION: &str = "session";
const DEVICE: &str = "device";

/// The document.
pub fn openapi() -> OpenApi {
    let mut document = base();
    document.merge(routes::core().merge(views::routes()).into_openapi());
    let components = document.components.get_or_insert_default();
    let mut schemas = Vec::new();
    <problem::Problem as ToSchema>::schemas(&mut schemas);
    schemas
        .push((problem::Problem::name().into_owned(), <problem::Problem as utoipa::PartialSchema>::schema()));
    components.schemas.extend(schemas);
    components.responses.extend(problem::shared());
    for schema in components.schemas.values_mut() {
        if let RefOr::T(Schema::Object(object)) = schema {
            object.properties.values_mut().for_each(say_first);
        }
    }
    for path in document.paths.paths.values_mut() {
        operations(path).for_each(finish);
    }
    document
}

fn base() -> OpenApi {
    let info = InfoBuilder::new()
        .title("Storypole")
        .version(env!("CARGO_PKG_VERSION"))
        .description(Some(ABOUT))
        .license(Some(
            LicenseBuilder::new().name("MIT OR Apache-2.0").identifier(Some("MIT OR Apache-2.0")).build(),
        ));
    let cookie = ApiKey::Cookie(ApiKeyValue::with_description("storypole-<notebook>", COOKIE));
    let bearer = HttpBuilder::new().scheme(HttpAuthScheme::Bearer).description(Some(BEARER)).build();
    let tag = |(name, about): &(&str, &str)| TagBuilder::new().name(*name).description(Some(*about)).build();
    OpenApiBuilder::new()
        .info(info)
        .servers(Some([ServerBuilder::new()
            .url("/")
            .description(Some("The server that sent this."))
            .build()]))
        .tags(Some(TAGS.iter().map(tag).collect::<Vec<_>>()))
        .components(Some(
            ComponentsBuilder::new()
                .security_scheme(SESSION, SecurityScheme::ApiKey(cookie))
                .security_scheme(DEVICE, SecurityScheme::Http(bearer))
                .build(),
        ))
        .security(Some([SecurityRequirement::new(SESSION, NO_SCOPES)]))
        .build()
}

const NO_SCOPES: [&str; 0] = [];

const ABOUT: &str = "One notebook of a crew that remodels houses: day log, purchases, before and after tests, what \
    they show and what it cost. Everything is written with `PUT /api/drafts/{id}`; all else is read. A member of an \
    answer is always there, and null where nothing is known. Computed numbers come unrounded with the text people \
    see beside them. Text in `value` is text as a person types it. What is refused comes as problem details (RFC 9457) \
    with a stable code and a next step.";

const COOKIE: &str = "Given by `POST /api/session` for a key that works once. Its name ends in the last eight hex \
    digits of the notebook's id, so that two notebooks served from one computer do not mix. HttpOnly, SameSite=Strict.";

const BEARER: &str = "The key of a device, given by `POST /api/sync/key` for 12 hours. It opens `/api/sync/exchange`, \
    `/api/attachments` and `/api/events`, and nothing else.";

const TAGS: &[(&str, &str)] = &[
    ("access", "Letting a browser in, and how the server is."),
    ("writing", "Drafts and files: the one way to write."),
    ("days", "One day, the day log, tasks, what to look at."),
    ("records", "Records of any kind, field by field, with their history."),
    ("jobs", "Jobs, receipts and materials, with their money."),
    ("tests", "Tests as planned and carried out."),
    ("findings", "What tests, jobs and walls show; comparisons; past work by words."),
    ("sync", "Devices: letting one in, and handing changes to and fro."),
    ("about", "This document, and what codes mean."),
];

/// The operations of one address.
fn operations(path: &mut PathItem) -> impl Iterator<Item = &mut Operation> {
    [&mut path.get, &mut path.put, &mut path.post, &mut path.delete, &mut path.head].into_iter().flatten()
}

/// What every operation has in common, and what it looks like filled in.
fn finish(operation: &mut Operation) {
    let is_conditional = operation.responses.responses.contains_key("304");
    let id = operation.operation_id.clone().unwrap_or_default();
    for (status, response) in &mut operation.responses.responses {
        let RefOr::T(response) = response else { continue };
        if is_conditional && status == "200" {
            response.headers.insert("ETag".to_owned(), problem::etag().into());
            if response.content.contains_key("application/json") {
                response.headers.insert(POSITION.to_owned(), problem::position().into());
            }
        }
        for content in response.content.values_mut() {
            if let (RefOr::T(content), Some(example)) = (content, example::of(&id, status)) {
                content.examples.insert("demo".to_owned(), filled_in(example));
            }
        }
    }
    if let Some(RefOr::T(body)) = &mut operation.request_body {
        for content in body.content.values_mut() {
            if let (RefOr::T(content), Some(example)) = (content, example::of(&id, "body")) {
                content.examples.insert("demo".to_owned(), filled_in(example));
            }
        }
    }
}

/// Puts the words about a member that may be null beside both of its shapes, where programs look for them.
fn say_first(member: &mut RefOr<Schema>) {
    let RefOr::T(Schema::OneOf(shapes)) = member else { return };
    for shape in &mut shapes.items {
        if let RefOr::Ref(named) = shape
            && !named.description.is_empty()
        {
            shapes.description = Some(std::mem::take(&mut named.description));
        }
    }
}

fn filled_in(example: Value) -> RefOr<utoipa::openapi::example::Example> {
    ExampleBuilder::new().value(Some(example)).build().into()
}
