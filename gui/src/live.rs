//! A live run: sources are opened, begun together, followed and kept, on a thread of its own.
//!
//! ```text
//! sources ─► queue ─► engine ─┬─► journal thread ─► recording
//!                             ├─► follow (clocks, trial) ─► readings ┐
//!                             └─► health of each sensor ─────────────┴─► News ─► a view
//! ```
//! The engine never waits for the disk nor for a view. A view may stall, hide or close: the journal goes on.

mod engine;
mod follow;
mod health;
mod keep;
mod news;
mod open;
mod person;
mod plan;
mod wall;

pub(crate) use engine::{Handle, start};
pub(crate) use health::Health;
pub(crate) use news::{Command, News, Outcome};
pub(crate) use plan::{Plan, Task, Visit};
pub(crate) use wall::Wall;
#[cfg(feature = "window")]
pub(crate) use {engine::start_waking, news::Waker, open::NOT_MEASURED};
