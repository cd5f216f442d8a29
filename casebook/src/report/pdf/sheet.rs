//! What lies on a sheet, and what it is part of: drawn things as leaves, their meaning as a tree over them.

use super::super::page::{Ink, Shape};

/// A4, points.
pub(super) const SHEET_WIDTH: f64 = 595.276;
pub(super) const SHEET_HEIGHT: f64 = 841.89;
pub(super) const MARGIN: f64 = 50.0;
/// Where the foot begins.
pub(super) const FOOT: f64 = SHEET_HEIGHT - 54.0;

/// All sheets of a report.
#[derive(Debug, Default)]
pub(super) struct Laid {
    pub(super) sheets: Vec<Sheet>,
    /// How many leaves there are; each is on one sheet and in the tree once.
    pub(super) leaf_count: usize,
    pub(super) tree: Vec<Branch>,
    /// Headings of sections: text, sheet, height.
    pub(super) outline: Vec<(String, usize, f64)>,
}

/// One sheet.
#[derive(Debug, Default)]
pub(super) struct Sheet {
    pub(super) items: Vec<Item>,
}

/// Something drawn in one go.
#[derive(Debug)]
pub(super) struct Item {
    /// Its leaf in the tree; `None` for what means nothing, such as rules.
    pub(super) leaf: Option<usize>,
    pub(super) marks: Vec<Mark>,
}

/// A thing to draw, in points of the sheet.
#[derive(Debug)]
pub(super) enum Mark {
    Text {
        x: f64,
        y: f64,
        size: f64,
        text: String,
        ink: Ink,
    },
    Shape {
        left: f64,
        top: f64,
        shape: Shape,
    },
}

/// The meaning of leaves.
#[derive(Debug)]
pub(super) enum Branch {
    Leaf(usize),
    Group(Kind, Vec<Branch>),
}

/// What a group is.
#[derive(Clone, Debug)]
pub(super) enum Kind {
    /// Level and text.
    Heading(u8, String),
    Paragraph,
    List,
    ListItem,
    ListLabel,
    ListBody,
    Table,
    Caption,
    Head,
    Body,
    Row,
    /// Of a column.
    HeadCell,
    /// Of a row.
    RowCell,
    Cell,
    /// With the same in words.
    Figure(String),
}
