//! From blocks to sheets: wrapped, placed from top to bottom, a new sheet where the old one is full.

use super::super::page::{Block, Dash, Figure, Ink, Line, Page, Shape, Tone};
use super::fonts::Letters;
use super::sheet::{
    Branch, FOOT, Item, Kind, Laid, MARGIN, Mark, SHEET_HEIGHT, SHEET_WIDTH, Sheet,
};
use super::table;

/// Width of the text, points.
pub(super) const WIDTH: f64 = SHEET_WIDTH - 2.0 * MARGIN;
const BODY_SIZE: f64 = 10.0;
const LEADING: f64 = 1.36;
const FOOT_SIZE: f64 = 7.5;

/// Where the pen is.
pub(super) struct Layout<'a> {
    pub(super) letters: &'a Letters,
    /// Of all letters and gaps.
    pub(super) scale: f64,
    pub(super) y: f64,
    pub(super) laid: Laid,
}

/// Lays a report out.
pub(super) fn lay_out(page: &Page, letters: &Letters, scale: f64) -> Laid {
    let mut layout = Layout {
        letters,
        scale,
        y: 0.0,
        laid: Laid::default(),
    };
    layout.turn();
    layout.title(page);
    for (at, block) in page.blocks.iter().enumerate() {
        if matches!(block, Block::Heading { .. }) {
            // Not alone at the foot.
            let height = layout.ahead(&page.blocks[at..]);
            layout.want(height);
        }
        layout.block(block);
    }
    layout.feet(page);
    layout.laid
}

impl Layout<'_> {
    /// A new sheet.
    pub(super) fn turn(&mut self) {
        self.laid.sheets.push(Sheet::default());
        self.y = MARGIN;
    }

    /// How much fits below.
    pub(super) fn room(&self) -> f64 {
        FOOT - 8.0 - self.y
    }

    /// Goes to a new sheet unless so much fits.
    pub(super) fn want(&mut self, height: f64) {
        if self.room() < height && self.y > MARGIN {
            self.turn();
        }
    }

    pub(super) fn space(&mut self, height: f64) {
        if self.y > MARGIN {
            self.y += height * self.scale;
        }
    }

    pub(super) fn draw(&mut self, leaf: Option<usize>, marks: Vec<Mark>) {
        if let Some(sheet) = self.laid.sheets.last_mut() {
            sheet.items.push(Item { leaf, marks });
        }
    }

    /// Draws what has a meaning.
    pub(super) fn leaf(&mut self, marks: Vec<Mark>) -> Branch {
        let leaf = self.laid.leaf_count;
        self.laid.leaf_count += 1;
        self.draw(Some(leaf), marks);
        Branch::Leaf(leaf)
    }

    /// A rule across, that means nothing.
    pub(super) fn rule(&mut self, y: f64, ink: Ink) {
        let line = Line {
            ink,
            width: 0.5,
            dash: Dash::Whole,
        };
        let shape = Shape::Path {
            points: vec![(0.0, 0.0), (WIDTH, 0.0)],
            is_closed: false,
            fill: None,
            line: Some(line),
        };
        let mark = Mark::Shape {
            left: MARGIN,
            top: y,
            shape,
        };
        self.draw(None, vec![mark]);
    }

    /// Lines of text from the pen down, a leaf each; sheets are turned between lines.
    pub(super) fn text(&mut self, text: &str, size: f64, indent: f64, ink: Ink) -> Vec<Branch> {
        let lines = self.letters.wrap(text, size, WIDTH - indent);
        let last = lines.len().saturating_sub(1);
        let mut leaves = Vec::new();
        for (at, line) in lines.into_iter().enumerate() {
            self.want(size * LEADING);
            self.y += size * LEADING;
            let text = if at < last && !line.ends_with(' ') {
                // Broken within a word or a name: nothing is added.
                line
            } else if at < last {
                format!("{} ", line.trim_end())
            } else {
                line
            };
            let mark = Mark::Text {
                x: MARGIN + indent,
                y: self.y - size * 0.3,
                size,
                text,
                ink,
            };
            leaves.push(self.leaf(vec![mark]));
        }
        leaves
    }

    fn title(&mut self, page: &Page) {
        let leaves = self.text(&page.title, 20.0 * self.scale, 0.0, Ink::Text);
        self.laid.outline.push((page.title.clone(), 0, MARGIN));
        let kind = Kind::Heading(1, page.title.clone());
        self.laid.tree.push(Branch::Group(kind, leaves));
        let leaves = self.text(&page.subtitle, 11.5 * self.scale, 0.0, Ink::Text);
        self.laid.tree.push(Branch::Group(Kind::Paragraph, leaves));
        self.space(3.0);
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading { level, text } => self.heading(*level, text),
            Block::Paragraph { tone, text } => {
                let size = match tone {
                    Tone::Plain => BODY_SIZE,
                    Tone::Lead => 12.5,
                    Tone::Small => 8.5,
                };
                self.space(4.0);
                let leaves = self.text(text, size * self.scale, 0.0, Ink::Text);
                self.laid.tree.push(Branch::Group(Kind::Paragraph, leaves));
            }
            Block::List(items) => self.list(items),
            Block::Table(found) => table::lay(self, found),
            Block::Figure(figure) => self.figure(figure),
        }
    }

    /// The least that must fit below for the first of these blocks: a heading wants the beginning of what follows it.
    fn ahead(&self, blocks: &[Block]) -> f64 {
        let line = BODY_SIZE * LEADING * self.scale;
        let mut height = 0.0;
        for block in blocks {
            height += match block {
                Block::Heading { .. } => {
                    height += 30.0 * self.scale;
                    continue;
                }
                Block::Paragraph { .. } | Block::List(_) => 2.5 * line,
                Block::Table(found) => table::beginning(self, found),
                Block::Figure(figure) => figure.height * (WIDTH / figure.width).min(1.0) + 46.0,
            };
            break;
        }
        height
    }

    fn heading(&mut self, level: u8, text: &str) {
        let is_section = level <= 1;
        let size = if is_section { 13.5 } else { 11.0 } * self.scale;
        self.space(if is_section { 12.0 } else { 8.0 });
        let (sheet, top) = (self.laid.sheets.len().saturating_sub(1), self.y);
        let leaves = self.text(text, size, 0.0, Ink::Text);
        let kind = Kind::Heading(level.saturating_add(1), text.to_owned());
        self.laid.tree.push(Branch::Group(kind, leaves));
        if is_section {
            self.laid.outline.push((text.to_owned(), sheet, top));
            let y = self.y + 1.5;
            self.rule(y, Ink::Faint);
            self.y += 3.0;
        }
    }

    fn list(&mut self, items: &[String]) {
        let size = BODY_SIZE * self.scale;
        self.space(3.0);
        let mut all = Vec::new();
        for item in items {
            self.want(size * LEADING);
            let bullet = Mark::Text {
                x: MARGIN + 2.0,
                y: self.y + size * (LEADING - 0.3),
                size,
                text: "• ".to_owned(),
                ink: Ink::Text,
            };
            let label = self.leaf(vec![bullet]);
            let body = self.text(item, size, 12.0, Ink::Text);
            all.push(Branch::Group(
                Kind::ListItem,
                vec![
                    Branch::Group(Kind::ListLabel, vec![label]),
                    Branch::Group(Kind::ListBody, body),
                ],
            ));
        }
        self.laid.tree.push(Branch::Group(Kind::List, all));
    }

    fn figure(&mut self, figure: &Figure) {
        let share = (WIDTH / figure.width).min(1.0);
        self.space(6.0);
        self.want(figure.height * share + 40.0);
        let top = self.y;
        let marks = figure.shapes.iter().map(|shape| Mark::Shape {
            left: MARGIN,
            top,
            shape: scaled(shape, share),
        });
        let drawn = self.leaf(marks.collect());
        self.y += figure.height * share + 2.0;
        let caption = self.text(&figure.caption, 8.0 * self.scale, 0.0, Ink::Text);
        let kind = Kind::Figure(figure.alternative.clone());
        self.laid.tree.push(Branch::Group(kind, vec![drawn]));
        self.laid.tree.push(Branch::Group(Kind::Paragraph, caption));
    }

    /// The foot of every sheet, once it is known how many there are.
    fn feet(&mut self, page: &Page) {
        let count = self.laid.sheets.len();
        let lines = self.letters.wrap(&page.footer, FOOT_SIZE, WIDTH - 40.0);
        for (at, sheet) in self.laid.sheets.iter_mut().enumerate() {
            let mut marks: Vec<Mark> = Vec::new();
            let mut y = FOOT + 12.0;
            for line in &lines {
                marks.push(Mark::Text {
                    x: MARGIN,
                    y,
                    size: FOOT_SIZE,
                    text: line.clone(),
                    ink: Ink::Text,
                });
                y += FOOT_SIZE * LEADING;
            }
            let number = format!("{}/{count}", at + 1);
            marks.push(Mark::Text {
                x: SHEET_WIDTH - MARGIN - self.letters.width(&number, FOOT_SIZE),
                y: FOOT + 12.0,
                size: FOOT_SIZE,
                text: number,
                ink: Ink::Text,
            });
            debug_assert!(y < SHEET_HEIGHT, "the foot is on the sheet");
            sheet.items.push(Item { leaf: None, marks });
        }
    }
}

/// A shape made smaller, to fit.
fn scaled(shape: &Shape, share: f64) -> Shape {
    let mut shape = shape.clone();
    match &mut shape {
        Shape::Path { points, .. } => {
            for point in points {
                *point = (point.0 * share, point.1 * share);
            }
        }
        Shape::Label { at, size, .. } => {
            *at = (at.0 * share, at.1 * share);
            *size *= share;
        }
    }
    shape
}
