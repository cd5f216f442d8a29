//! Sheets into a document: marks drawn, leaves tagged, the tree and the outline set, and all of it checked.

use std::num::NonZeroU16;

use krilla::color::rgb;
use krilla::configure::{Accessibility, Archival, ConfigurationBuilder, ValidationError};
use krilla::destination::XyzDestination;
use krilla::error::KrillaError;
use krilla::geom::{Path, PathBuilder, Point};
use krilla::metadata::{DateTime, Metadata};
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, ListNumbering, Node, SpanTag, TableHeaderScope,
    Tag, TagGroup, TagKind, TagTree,
};
use krilla::text::TextDirection;
use krilla::{Document, SerializeSettings};

use super::super::page::{Anchor, Ink, Line, Page, Shape};
use super::PdfError;
use super::fonts::Letters;
use super::sheet::{Branch, Item, Kind, Laid, MARGIN, Mark, SHEET_HEIGHT, SHEET_WIDTH};

/// Writes the document.
pub(super) fn write(page: &Page, letters: &Letters, laid: &Laid) -> Result<Vec<u8>, PdfError> {
    let configuration = ConfigurationBuilder::new()
        .with_archival_validator(Archival::A2_A)
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|e| PdfError::Refused(format!("{e:?}")))?;
    let mut document = Document::new_with(SerializeSettings {
        configuration,
        enable_tagging: true,
        ..SerializeSettings::default()
    });
    let mut leaves: Vec<Option<Identifier>> = vec![None; laid.leaf_count];
    let settings = PageSettings::from_wh(f32_of(SHEET_WIDTH), f32_of(SHEET_HEIGHT));
    for sheet in &laid.sheets {
        let mut on_paper = match &settings {
            Some(settings) => document.start_page_with(settings.clone()),
            None => document.start_page(),
        };
        let mut surface = on_paper.surface();
        for item in &sheet.items {
            let found = draw_item(&mut surface, letters, item);
            if let Some(place) = item.leaf.and_then(|leaf| leaves.get_mut(leaf)) {
                *place = Some(found);
            }
        }
        surface.finish();
        on_paper.finish();
    }
    document.set_metadata(metadata(page));
    document.set_outline(outline(laid));
    let mut tree = TagTree::new().with_lang(Some(page.language.code().to_owned()));
    for branch in &laid.tree {
        if let Some(node) = node(branch, &mut leaves) {
            tree.push(node);
        }
    }
    document.set_tag_tree(tree);
    document.finish().map_err(|e| refused(&e))
}

fn metadata(page: &Page) -> Metadata {
    let day = DateTime::new(page.day.year().unsigned_abs())
        .month(page.day.month().unsigned_abs())
        .day(page.day.day().unsigned_abs());
    // The name stands on the page; the document's own title may be shown by whoever lists files.
    Metadata::new()
        .title(page.title.clone())
        .language(page.language.code().to_owned())
        .creator(page.program.clone())
        .producer(page.program.clone())
        .creation_date(day)
}

fn outline(laid: &Laid) -> Outline {
    let mut outline = Outline::new();
    for (text, sheet, top) in &laid.outline {
        let at = Point::from_xy(f32_of(MARGIN), f32_of(*top));
        outline.push_child(OutlineNode::new(
            text.clone(),
            XyzDestination::new(*sheet, at),
        ));
    }
    outline
}

fn draw_item(surface: &mut Surface<'_>, letters: &Letters, item: &Item) -> Identifier {
    let tag = if item.leaf.is_some() {
        ContentTag::Span(SpanTag::empty())
    } else {
        ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout))
    };
    let identifier = surface.start_tagged(tag);
    for mark in &item.marks {
        match mark {
            Mark::Text {
                x,
                y,
                size,
                text,
                ink,
            } => draw_text(surface, letters, (*x, *y), *size, text, *ink),
            Mark::Shape { left, top, shape } => draw_shape(surface, letters, (*left, *top), shape),
        }
    }
    surface.end_tagged();
    identifier
}

fn draw_text(
    surface: &mut Surface<'_>,
    letters: &Letters,
    (mut x, y): (f64, f64),
    size: f64,
    text: &str,
    ink: Ink,
) {
    surface.set_stroke(None);
    surface.set_fill(Some(fill(ink)));
    for (font, run) in letters.runs(text) {
        if let Some(font) = letters.fonts.get(font) {
            surface.draw_text(
                Point::from_xy(f32_of(x), f32_of(y)),
                font.clone(),
                f32_of(size),
                run,
                false,
                TextDirection::Auto,
            );
        }
        x += letters.width(run, size);
    }
}

fn draw_shape(
    surface: &mut Surface<'_>,
    letters: &Letters,
    (left, top): (f64, f64),
    shape: &Shape,
) {
    match shape {
        Shape::Path {
            points,
            is_closed,
            fill: inside,
            line,
        } => {
            let Some(path) = path(points, *is_closed, (left, top)) else {
                return;
            };
            // The surface keeps what was set last.
            surface.set_fill(inside.map(fill));
            surface.set_stroke(line.map(stroke));
            surface.draw_path(&path);
        }
        Shape::Label {
            at: (x, y),
            text,
            anchor,
            size,
            ink,
        } => {
            let shift = match anchor {
                Anchor::Start => 0.0,
                Anchor::Middle => letters.width(text, *size) / 2.0,
                Anchor::End => letters.width(text, *size),
            };
            let at = (left + x - shift, top + y);
            draw_text(surface, letters, at, *size, text, *ink);
        }
    }
}

fn path(points: &[(f64, f64)], is_closed: bool, (left, top): (f64, f64)) -> Option<Path> {
    let mut builder = PathBuilder::new();
    let mut points = points
        .iter()
        .map(|(x, y)| (f32_of(left + x), f32_of(top + y)));
    let (x, y) = points.next()?;
    builder.move_to(x, y);
    for (x, y) in points {
        builder.line_to(x, y);
    }
    if is_closed {
        builder.close();
    }
    builder.finish()
}

fn fill(ink: Ink) -> Fill {
    Fill {
        paint: colour(ink).into(),
        ..Fill::default()
    }
}

fn stroke(line: Line) -> Stroke {
    Stroke {
        paint: colour(line.ink).into(),
        width: f32_of(line.width),
        opacity: NormalizedF32::ONE,
        dash: (!line.dash.lengths().is_empty()).then(|| StrokeDash {
            array: line.dash.lengths().to_vec(),
            offset: 0.0,
        }),
        ..Stroke::default()
    }
}

/// The colours of the page on paper: as in a browser.
fn colour(ink: Ink) -> rgb::Color {
    let [r, g, b] = match ink {
        Ink::Text => [0x1c, 0x1c, 0x1c],
        Ink::Faint => [0xc9, 0xc9, 0xc9],
        Ink::Band => [0xe4, 0xe6, 0xea],
        Ink::Point => [0x0b, 0x53, 0x94],
        Ink::Fit => [0xa8, 0x48, 0x0a],
        Ink::Paper => [0xff, 0xff, 0xff],
    };
    rgb::Color::new(r, g, b)
}

/// The tree over the leaves that were drawn; each is used once.
fn node(branch: &Branch, leaves: &mut [Option<Identifier>]) -> Option<Node> {
    match branch {
        Branch::Leaf(leaf) => leaves.get_mut(*leaf)?.take().map(Node::from),
        Branch::Group(kind, children) => {
            let children: Vec<Node> = children
                .iter()
                .filter_map(|child| node(child, leaves))
                .collect();
            let group = TagGroup::with_children(tag(kind), children);
            Some(Node::from(group))
        }
    }
}

fn tag(kind: &Kind) -> TagKind {
    match kind {
        Kind::Heading(level, text) => {
            let level = NonZeroU16::new(u16::from(*level)).unwrap_or(NonZeroU16::MIN);
            Tag::Hn(level, Some(text.clone())).into()
        }
        Kind::Paragraph => Tag::P.into(),
        Kind::List => Tag::L(ListNumbering::Disc).into(),
        Kind::ListItem => Tag::LI.into(),
        Kind::ListLabel => Tag::Lbl.into(),
        Kind::ListBody => Tag::LBody.into(),
        Kind::Table => Tag::Table.into(),
        Kind::Caption => Tag::Caption.into(),
        Kind::Head => Tag::THead.into(),
        Kind::Body => Tag::TBody.into(),
        Kind::Row => Tag::TR.into(),
        Kind::HeadCell => Tag::TH(TableHeaderScope::Column).into(),
        Kind::RowCell => Tag::TH(TableHeaderScope::Row).into(),
        Kind::Cell => Tag::TD.into(),
        Kind::Figure(alternative) => Tag::Figure(Some(alternative.clone())).into(),
    }
}

/// What the writer found against its standards. A character that a font can't draw is the one that texts can cause.
fn refused(error: &KrillaError) -> PdfError {
    if let KrillaError::Validation(found) = error {
        let undrawn: Vec<char> = found
            .iter()
            .filter_map(|(error, _)| match error {
                ValidationError::ContainsNotDefGlyph(_, _, text) => Some(text.chars()),
                _ => None,
            })
            .flatten()
            .collect();
        if !undrawn.is_empty() {
            return PdfError::NoGlyph(undrawn);
        }
        let kinds: Vec<String> = found
            .iter()
            .map(|(error, _)| format!("{error:?}"))
            .collect();
        let text = kinds.join(", ");
        return PdfError::Refused(super::super::blocks::tidy(&text, 300));
    }
    PdfError::Refused(error.to_string())
}

/// Places on a sheet need no more digits.
#[expect(
    clippy::cast_possible_truncation,
    reason = "points of a sheet are small"
)]
fn f32_of(value: f64) -> f32 {
    value as f32
}
