//! The notebook over HTTP: API, access, screens. Plain within this computer, over TLS to others.
//!
//! Reading order: [`app`] (what every handler shares), [`problem`] (what is said when something is refused),
//! [`extract`] (what a request says), [`answer`] (views with their entity tags), [`routes`] (every route and the
//! layers before it), [`access`] (who may ask), [`join`] (how a device comes in), [`members`] (which there are),
//! [`drafts`], [`files`], [`fetching`] (files from and to another device), [`events`], [`health`], [`example`] (to look around in), [`backups`] (made by
//! themselves), [`devices`] (signing in), [`exchange`] (syncing, as [`conversation`]s in [`frame`]s), [`syncing`],
//! [`views`] (what may be asked), [`wire`] (what travels), [`shell`] (the screens), [`trust`] (the page about the
//! certificate), [`tls`], [`mod@serve`] (the socket), [`serving`] (where it is), [`limits`]; the other way round,
//! [`remote`] (asking another server), [`running`] (asking the one of this folder), [`partner`] (syncing with one) and
//! [`follow`] (doing so all the time).
//!
//! Left out on purpose: every rule of the trade, and SQL.

#[macro_use]
mod refusals;

pub mod access;
pub mod answer;
pub mod app;
pub mod backups;
pub mod body;
mod clock;
pub mod conversation;
pub mod devices;
pub mod drafts;
pub mod events;
pub mod example;
pub mod exchange;
pub mod extract;
pub mod fetching;
pub mod files;
pub mod follow;
pub mod frame;
pub mod health;
pub(crate) mod hex;
pub mod join;
pub mod limits;
mod measuring;
pub mod members;
pub mod partner;
mod plainly;
pub mod problem;
pub mod qr;
pub mod remote;
mod requests;
pub mod routes;
pub mod running;
pub mod serve;
pub mod serving;
pub mod shell;
mod stream;
pub mod syncing;
pub mod tls;
pub mod trust;
pub mod views;
pub mod wire;

pub use app::App;
pub use limits::Limits;
pub use problem::{ApiError, Code};
pub use remote::{AskLimits, Remote, RemoteError, Trust};
pub use routes::{Settings, router};
pub use serve::{Listening, Options, ServeError, ShownTo, serve};
pub use tls::{Ca, Secured, Tls, TlsError};
