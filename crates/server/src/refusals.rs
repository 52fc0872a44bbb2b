//! How routes may be refused, for the document of the API: sets of the shared answers, one for each status.

/// Makes types that stand for the statuses with which a route may refuse.
macro_rules! refusals {
    ($($(#[$meta:meta])* $name:ident: $($status:literal)+;)+) => {$(
        $(#[$meta])*
        struct $name;

        impl utoipa::IntoResponses for $name {
            fn responses() -> std::collections::BTreeMap<
                String,
                utoipa::openapi::RefOr<utoipa::openapi::Response>,
            > {
                let named = |status: u16| {
                    let name = crate::wire::problem::name(status);
                    (status.to_string(), utoipa::openapi::Ref::from_response_name(name).into())
                };
                [$(named($status)),+].into()
            }
        }
    )+};
}
