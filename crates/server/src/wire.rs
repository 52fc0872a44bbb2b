//! What travels over HTTP, as types: the documented shape of every answer, and the document itself.
//!
//! Answers are sent as `storypole_desk::view` builds them; these types say what that is, and a test reads every answer
//! about the demo notebook through them without losing or gaining a field. A member of an answer is always there and
//! is null where nothing is known, so that whoever reads never has to ask whether it is missing.
//!
//! Reading order: [`word`] (what single values look like), [`called`], [`number`], then a file for each thing people
//! look at, [`problem`] (refusals), [`document`] (all of it as OpenAPI), [`example`] (what it looks like filled in).
//!
//! Left out on purpose: computing anything, and the bodies of requests, which stand beside their handlers.

/// Makes the types of answers: every member is public, always there and known by name.
macro_rules! answers {
    ($($(#[$of_type:meta])* struct $name:ident { $($(#[$of_member:meta])* $member:ident: $type:ty,)* })*) => {$(
        $(#[$of_type])*
        #[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize, utoipa::ToSchema)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $($(#[$of_member])* #[schema(required = true)] pub $member: $type,)*
        }
    )*};
}

/// Makes the types of words from a closed list, as computed by the program.
macro_rules! words {
    ($($(#[$of_type:meta])* enum $name:ident { $($(#[$of_word:meta])* $word:ident = $text:tt,)* })*) => {$(
        $(#[$of_type])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize, utoipa::ToSchema)]
        pub enum $name {
            $($(#[$of_word])* #[serde(rename = $text)] $word,)*
        }
    )*};
}

pub mod across;
pub mod assembly;
pub mod backups;
pub mod bands;
pub mod called;
pub mod caution;
pub mod change;
pub mod compare;
pub mod cost;
pub mod design;
pub mod device;
pub mod document;
pub mod entry;
pub mod example;
pub mod files;
pub mod find;
pub mod history;
pub mod job;
pub mod kinds;
pub mod mark;
pub mod money;
pub mod next;
pub mod number;
pub mod plan;
pub mod problem;
pub mod quantity;
pub mod question;
pub mod receipt;
pub mod record;
pub mod recording;
pub mod sample;
pub mod set;
pub mod sketch;
pub mod stock;
pub mod sync;
pub mod takeoff;
pub mod task;
pub mod test;
pub mod today;
pub mod word;
pub mod writeup;

pub use document::openapi;
