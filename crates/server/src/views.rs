//! What people look at, one route each: names to ids, one call of a view, its JSON.
//!
//! Reading order: [`ask`] (what stands behind the question mark), [`look`] (records and findings by name), then a file
//! for each family of routes.
//!
//! Left out on purpose: every rule of the trade, and the shape of the answers, which is in [`crate::wire`].

use utoipa_axum::router::OpenApiRouter;

use crate::App;

pub mod ask;
pub mod compare;
pub mod days;
pub mod findings;
pub mod jobs;
pub mod look;
pub mod materials;
pub mod receipts;
pub mod recordings;
pub mod records;
pub mod search;
pub mod sketches;
pub mod tests;
pub mod writeups;

/// Every route here, all to be read with GET.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .merge(days::routes())
        .merge(records::routes())
        .merge(recordings::routes())
        .merge(jobs::routes())
        .merge(materials::routes())
        .merge(receipts::routes())
        .merge(tests::routes())
        .merge(findings::routes())
        .merge(compare::routes())
        .merge(search::routes())
        .merge(sketches::routes())
        .merge(writeups::routes())
}
