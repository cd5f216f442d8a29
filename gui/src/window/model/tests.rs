//! The model without a screen.
