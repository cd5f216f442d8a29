//! A table on sheets: rows stay whole, the headings come again on each sheet.

use super::super::page::{Ink, Table};
use super::lay::{Layout, WIDTH};
use super::sheet::{Branch, Kind, MARGIN, Mark};

const SIZE: f64 = 8.5;
const LEADING: f64 = 1.28;
/// Kept free at the right of a cell, points.
const PAD: f64 = 8.0;

/// A table lower than this stays whole, points.
const WHOLE_MAX: f64 = 220.0;

/// One row, wrapped: for each cell its lines.
type Wrapped = Vec<Vec<String>>;

struct Grid {
    /// Left edge and width of each column, points.
    columns: Vec<(f64, f64)>,
    numbers: Vec<bool>,
    size: f64,
}

/// Lays a table out.
pub(super) fn lay(layout: &mut Layout<'_>, table: &Table) {
    let grid = Grid::of(layout, table);
    let titles: Vec<String> = table.columns.iter().map(|c| c.title.clone()).collect();
    let head = grid.wrap(layout, &titles);
    let rows: Vec<Wrapped> = table
        .rows
        .iter()
        .map(|row| grid.wrap(layout, row))
        .collect();
    layout.space(5.0);
    layout.want(grid.beginning(&head, &rows));
    let caption = layout.text(&table.caption, 8.0 * layout.scale, 0.0, Ink::Text);
    let mut parts = vec![Branch::Group(Kind::Caption, caption)];
    layout.y += 2.0;
    let cells = grid.draw(layout, &head, &|_| Kind::HeadCell);
    let row = Branch::Group(Kind::Row, cells);
    parts.push(Branch::Group(Kind::Head, vec![row]));
    layout.rule(layout.y, Ink::Text);
    let mut body = Vec::new();
    for row in &rows {
        if layout.room() < grid.height(row) {
            layout.turn();
            // The reader of the tree has had the headings.
            grid.draw_again(layout, &head);
            layout.rule(layout.y, Ink::Text);
        }
        let kind = |at| if at == 0 { Kind::RowCell } else { Kind::Cell };
        body.push(Branch::Group(Kind::Row, grid.draw(layout, row, &kind)));
        layout.rule(layout.y, Ink::Faint);
    }
    if !body.is_empty() {
        parts.push(Branch::Group(Kind::Body, body));
    }
    layout.laid.tree.push(Branch::Group(Kind::Table, parts));
    layout.y += 2.0;
}

/// How much must fit below for a table to begin.
pub(super) fn beginning(layout: &Layout<'_>, table: &Table) -> f64 {
    let grid = Grid::of(layout, table);
    let titles: Vec<String> = table.columns.iter().map(|c| c.title.clone()).collect();
    let head = grid.wrap(layout, &titles);
    let rows: Vec<Wrapped> = table
        .rows
        .iter()
        .map(|row| grid.wrap(layout, row))
        .collect();
    5.0 + grid.beginning(&head, &rows)
}

/// Widths by the shares of the columns, but none narrower than its longest word as long as others have room to give.
fn widths(layout: &Layout<'_>, table: &Table, size: f64) -> Vec<f64> {
    let whole: f64 = table.columns.iter().map(|column| column.share).sum();
    let wanted = table.columns.iter().enumerate().map(|(at, column)| {
        let cells = table.rows.iter().filter_map(|row| row.get(at));
        let words = cells
            .chain([&column.title])
            .flat_map(|text| text.split_inclusive([' ', '/']));
        let longest = words
            .map(|word| layout.letters.width(word.trim_end(), size))
            .fold(0.0, f64::max);
        (WIDTH * column.share / whole, longest + PAD + 0.5)
    });
    let wanted: Vec<(f64, f64)> = wanted.collect();
    let lack: f64 = wanted
        .iter()
        .map(|(has, needs)| (needs - has).max(0.0))
        .sum();
    let spare: f64 = wanted
        .iter()
        .map(|(has, needs)| (has - needs).max(0.0))
        .sum();
    if lack <= 0.0 || spare < lack {
        return wanted.into_iter().map(|(has, _)| has).collect();
    }
    let given = lack / spare;
    let width = |(has, needs): (f64, f64)| needs.max(has - (has - needs).max(0.0) * given);
    wanted.into_iter().map(width).collect()
}

impl Grid {
    fn of(layout: &Layout<'_>, table: &Table) -> Self {
        let size = SIZE * layout.scale;
        let mut left = 0.0;
        let columns = widths(layout, table, size).into_iter().map(|width| {
            left += width;
            (left - width, width)
        });
        Self {
            columns: columns.collect(),
            numbers: table
                .columns
                .iter()
                .map(|column| column.is_number)
                .collect(),
            size,
        }
    }

    /// Caption, headings and the first row; a short table isn't torn for a row or two.
    fn beginning(&self, head: &Wrapped, rows: &[Wrapped]) -> f64 {
        let above = 2.0 * SIZE * LEADING + self.height(head) + 6.0;
        let whole: f64 = rows.iter().map(|row| self.height(row)).sum();
        let first = rows.first().map_or(0.0, |row| self.height(row));
        above + if whole < WHOLE_MAX { whole } else { first }
    }

    fn wrap(&self, layout: &Layout<'_>, cells: &[String]) -> Wrapped {
        let cells = cells.iter().zip(&self.columns);
        cells
            .map(|(text, (_, width))| layout.letters.wrap(text, self.size, width - PAD))
            .collect()
    }

    fn height(&self, row: &Wrapped) -> f64 {
        let lines = row.iter().map(Vec::len).max().unwrap_or(1);
        lines as f64 * self.size * LEADING + 3.5
    }

    /// The marks of each cell, line by line, with the pen at the row's top.
    fn marks(&self, layout: &Layout<'_>, row: &Wrapped) -> Vec<Vec<Mark>> {
        let cells = row.iter().zip(self.columns.iter().zip(&self.numbers));
        cells
            .map(|(lines, ((left, width), is_number))| {
                let lines = lines.iter().enumerate();
                lines
                    .map(|(at, line)| {
                        let used = layout.letters.width(line.trim_end(), self.size);
                        let shift = if *is_number { width - PAD - used } else { 0.0 };
                        Mark::Text {
                            x: MARGIN + left + shift,
                            y: layout.y + (at as f64 + 0.9) * self.size * LEADING,
                            size: self.size,
                            text: line.clone(),
                            ink: Ink::Text,
                        }
                    })
                    .collect()
            })
            .collect()
    }

    fn draw(
        &self,
        layout: &mut Layout<'_>,
        row: &Wrapped,
        kind: &dyn Fn(usize) -> Kind,
    ) -> Vec<Branch> {
        let cells = self.marks(layout, row);
        let branches = cells
            .into_iter()
            .enumerate()
            .map(|(at, marks)| Branch::Group(kind(at), vec![layout.leaf(marks)]));
        let branches: Vec<Branch> = branches.collect();
        layout.y += self.height(row);
        branches
    }

    fn draw_again(&self, layout: &mut Layout<'_>, row: &Wrapped) {
        let marks = self.marks(layout, row).into_iter().flatten().collect();
        layout.draw(None, marks);
        layout.y += self.height(row);
    }
}
