//! The window: a client is measured step by step, and earlier recordings are looked at.
//!
//! ```text
//! sensors' thread ─► news ─► Window::drain ─► Model ─► views ─► acts ─► Model ─► effects ─► Jobs
//! ```
//! The [`Model`](model::Model) knows nothing of drawing, the views nothing of the world outside. The window is drawn
//! when something has come or somebody did something, at most 60 times a second, and otherwise sleeps.

mod desk;
mod jobs;
mod keys;
mod model;
#[cfg(feature = "pictures")]
mod pictures;
mod scratch;
mod settings;
mod shell;
mod sound;
#[cfg(feature = "pictures")]
mod speed;
#[cfg(any(test, feature = "pictures"))]
mod staged;
mod theme;
mod views;
mod words;

pub(crate) use shell::open;

#[cfg(test)]
mod tests;
