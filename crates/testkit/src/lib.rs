//! Generated worlds for tests and benchmarks: seeded, so that a number replays a run.
//!
//! [`chance`] is the source of chance, [`drafts`] an endless stream of what a crew might write, [`houses`] whole jobs with the
//! truth about each, [`judged`] questions about them and [`rank`] how well those are answered.
//! Imported by `tests` and `bench` only.

pub mod chance;
pub mod clock;
pub mod disk;
pub mod drafts;
pub mod houses;
pub mod judged;
pub mod network;
pub mod rank;
pub mod world;

pub use chance::Chance;
pub use disk::Disk;
pub use drafts::Drafts;
pub use world::World;
