//! A report as a tree of blocks, before anybody decides how it looks: made once, drawn by every renderer.

use jiff::civil::Date;

use super::language::Language;

/// A report.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Of all its text.
    pub language: Language,
    /// What it is called; the first heading.
    pub title: String,
    /// Whom it is about, and the day.
    pub subtitle: String,
    /// In reading order.
    pub blocks: Vec<Block>,
    /// Stands at the foot of every sheet.
    pub footer: String,
    /// The day it is made.
    pub day: Date,
    /// Name and version of the program that makes it.
    pub program: String,
    /// Whether it is to fit on one sheet, with smaller letters if need be.
    pub is_one_sheet: bool,
}

/// A part of a report.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// Begins a section.
    Heading {
        /// 1 for a section, 2 for a part of one.
        level: u8,
        /// What it says.
        text: String,
    },
    /// Running text.
    Paragraph {
        /// How it stands out.
        tone: Tone,
        /// What it says.
        text: String,
    },
    /// Short sentences, one a line.
    List(Vec<String>),
    /// Numbers.
    Table(Table),
    /// A drawing.
    Figure(Figure),
}

/// How a paragraph stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// Not at all.
    Plain,
    /// Larger: what the report is about.
    Lead,
    /// Smaller: what must be said, but isn't news.
    Small,
}

/// A table with one row of headings.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// What it shows, and which recording it comes from.
    pub caption: String,
    /// One a column.
    pub columns: Vec<Column>,
    /// As many cells as columns.
    pub rows: Vec<Vec<String>>,
}

/// A column of a table.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// What stands above it.
    pub title: String,
    /// Its share of the width, beside the others'.
    pub share: f64,
    /// Whether it holds numbers, which stand to the right.
    pub is_number: bool,
}

impl Column {
    /// Of words.
    pub(super) fn words(title: impl Into<String>, share: f64) -> Self {
        Self {
            title: title.into(),
            share,
            is_number: false,
        }
    }

    /// Of numbers.
    pub(super) fn numbers(title: impl Into<String>, share: f64) -> Self {
        Self {
            is_number: true,
            ..Self::words(title, share)
        }
    }
}

/// A drawing: shapes in one coordinate system, x to the right and y down, in points of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Stands below.
    pub caption: String,
    /// The same for who can't see it.
    pub alternative: String,
    /// Points.
    pub width: f64,
    /// Points.
    pub height: f64,
    /// The lower ones first.
    pub shapes: Vec<Shape>,
}

/// A part of a drawing.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A line through points, or an area within them.
    Path {
        /// x and y.
        points: Vec<(f64, f64)>,
        /// Whether the last is joined to the first.
        is_closed: bool,
        /// What fills it.
        fill: Option<Ink>,
        /// What draws its line.
        line: Option<Line>,
    },
    /// A few words.
    Label {
        /// x and y of the base line.
        at: (f64, f64),
        /// What it says.
        text: String,
        /// Which end of it lies there.
        anchor: Anchor,
        /// Height of the letters, points.
        size: f64,
        /// Its colour.
        ink: Ink,
    },
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Its colour.
    pub ink: Ink,
    /// Points.
    pub width: f64,
    /// Whether it is broken, and how.
    pub dash: Dash,
}

/// How a line is broken: lines are told apart without their colour, too.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dash {
    /// Not at all.
    Whole,
    /// Dashes.
    Broken,
    /// Dots.
    Dotted,
}

impl Dash {
    /// Lengths drawn and left out in turn, points; none for a whole line.
    pub const fn lengths(self) -> &'static [f32] {
        match self {
            Self::Whole => &[],
            Self::Broken => &[4.0, 2.5],
            Self::Dotted => &[1.2, 1.6],
        }
    }
}

/// What a colour is for; what it looks like is the renderer's choice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Text and axes.
    Text,
    /// What stands back.
    Faint,
    /// The band of measurement error.
    Band,
    /// End points.
    Point,
    /// What is fitted to them.
    Fit,
    /// Paper, to hollow out a mark.
    Paper,
}

/// Which end of a label lies at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

impl Page {
    /// Every text of it, in reading order.
    pub fn texts(&self) -> Vec<&str> {
        let mut texts = vec![self.title.as_str(), self.subtitle.as_str()];
        for block in &self.blocks {
            block.texts(&mut texts);
        }
        texts.push(&self.footer);
        texts
    }
}

impl Block {
    fn texts<'a>(&'a self, texts: &mut Vec<&'a str>) {
        match self {
            Self::Heading { text, .. } | Self::Paragraph { text, .. } => texts.push(text),
            Self::List(items) => texts.extend(items.iter().map(String::as_str)),
            Self::Table(table) => {
                texts.push(&table.caption);
                texts.extend(table.columns.iter().map(|column| column.title.as_str()));
                texts.extend(table.rows.iter().flatten().map(String::as_str));
            }
            Self::Figure(figure) => {
                texts.extend([figure.caption.as_str(), figure.alternative.as_str()]);
                texts.extend(figure.shapes.iter().filter_map(|shape| match shape {
                    Shape::Label { text, .. } => Some(text.as_str()),
                    Shape::Path { .. } => None,
                }));
            }
        }
    }
}
