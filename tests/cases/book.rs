//! The casebook by the real program's commands alone: a whole story, and what goes wrong around it.

mod kit;
mod other_hands;
mod reports;
mod story;
mod trouble;
