//! The cross-crate suite.
