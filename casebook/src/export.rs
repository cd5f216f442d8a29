//! What other programs read: a line to paste, a table for spreadsheets, a bundle for health records. Bytes and text
//! only; where they are kept is the caller's.

pub mod csv;
pub mod fhir;
pub mod note;
pub mod share;

/// Degrees or seconds to so many decimals, never a negative nought.
fn rounded(value: f64, decimals: i32) -> f64 {
    let unit = 10_f64.powi(decimals);
    (value * unit).round() / unit + 0.0
}
