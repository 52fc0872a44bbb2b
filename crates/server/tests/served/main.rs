//! The server as its clients meet it: access, writing, files, events, headers, and the socket itself.
//!
//! Notebooks are small and made for each test; what views of the demo hold is tested elsewhere.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod access;
mod asked;
mod drafts;
mod events;
mod fetching;
mod files;
mod headers;
mod invitations;
mod join;
mod members;
mod parts;
mod recordings;
mod remote;
mod roles;
mod socket;
mod sync;
mod tls;
