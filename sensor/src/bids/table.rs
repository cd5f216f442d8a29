//! Small tables with a header: channels, events, scans, sessions, participants.

use super::file::without_bom;

/// Rows of text under named columns.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Table {
    pub(crate) columns: Vec<String>,
    pub(crate) rows: Vec<Row>,
}

/// One row; a cell that the line doesn't have is empty.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Row {
    /// Where it stood, from 1; 0 for a row that wasn't read.
    pub(crate) line: u64,
    pub(crate) cells: Vec<String>,
}

impl Table {
    /// Reads a table; bytes that are no UTF-8 become replacement signs. `None` without a header.
    pub(crate) fn parse(bytes: &[u8]) -> Option<Self> {
        let text = String::from_utf8_lossy(without_bom(bytes));
        let mut lines = (1u64..).zip(text.split('\n')).filter_map(|(number, line)| {
            let line = line.strip_suffix('\r').unwrap_or(line);
            (!line.trim().is_empty()).then_some((number, line))
        });
        let (_, header) = lines.next()?;
        let columns = header.split('\t').map(|c| c.trim().to_owned()).collect();
        let rows = lines
            .map(|(line, text)| Row {
                line,
                cells: text.split('\t').map(str::to_owned).collect(),
            })
            .collect();
        Some(Self { columns, rows })
    }

    pub(crate) fn new(columns: &[&str]) -> Self {
        Self {
            columns: columns.iter().map(|&c| c.to_owned()).collect(),
            rows: Vec::new(),
        }
    }

    pub(crate) fn column(&self, name: &str) -> Option<usize> {
        self.columns
            .iter()
            .position(|c| c.eq_ignore_ascii_case(name))
    }

    /// A cell by its column's name, trimmed; empty where there is no such column or it says `n/a`.
    pub(crate) fn get<'a>(&self, row: &'a Row, column: &str) -> &'a str {
        let cell = self
            .column(column)
            .and_then(|i| row.cells.get(i))
            .map_or("", |c| c.trim());
        if cell.eq_ignore_ascii_case("n/a") {
            ""
        } else {
            cell
        }
    }

    /// Sets a row, found by its first cell or added, in the named columns (added where missing).
    /// Whatever else the table holds stays.
    pub(crate) fn set(&mut self, key: &str, values: &[(&str, &str)]) {
        let indices: Vec<usize> = values
            .iter()
            .map(|(column, _)| {
                self.column(column).unwrap_or_else(|| {
                    self.columns.push((*column).to_owned());
                    self.columns.len() - 1
                })
            })
            .collect();
        let at = self
            .rows
            .iter()
            .position(|r| r.cells.first().is_some_and(|c| c == key))
            .unwrap_or_else(|| {
                self.rows.push(Row {
                    line: 0,
                    cells: vec![key.to_owned()],
                });
                self.rows.len() - 1
            });
        if let Some(row) = self.rows.get_mut(at) {
            row.cells.resize(self.columns.len(), "n/a".to_owned());
            for (index, (_, value)) in indices.into_iter().zip(values) {
                cell(value).clone_into(&mut row.cells[index]);
            }
        }
    }

    /// As text: LF, no blank cell.
    pub(crate) fn to_bytes(&self) -> Vec<u8> {
        let width = self.columns.len();
        let mut text = self.columns.join("\t");
        text.push('\n');
        for row in &self.rows {
            for i in 0..width {
                if i > 0 {
                    text.push('\t');
                }
                text.push_str(&cell(row.cells.get(i).map_or("", String::as_str)));
            }
            text.push('\n');
        }
        text.into_bytes()
    }
}

/// A text as a cell: never blank, and without the characters that would break the table.
pub(crate) fn cell(text: &str) -> String {
    let flat: String = text
        .chars()
        .map(|c| {
            if matches!(c, '\t' | '\n' | '\r') {
                ' '
            } else {
                c
            }
        })
        .collect();
    if flat.trim().is_empty() {
        "n/a".to_owned()
    } else {
        flat
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_editors_make_of_a_table() {
        let table = Table::parse(b"\xEF\xBB\xBFname\tunits\r\n\r\nacc\tm/s^2\t\r\nshort\r\n");
        let table = table.expect("has a header");
        assert_eq!(table.columns, ["name", "units"]);
        assert_eq!(
            table.rows.iter().map(|r| r.line).collect::<Vec<_>>(),
            [3, 4]
        );
        assert_eq!(table.get(&table.rows[0], "UNITS"), "m/s^2");
        assert_eq!(table.get(&table.rows[1], "units"), "");
        assert_eq!(Table::parse(b"\n \n"), None);
    }

    #[test]
    fn a_set_row_keeps_the_rest() {
        let mut table = Table::parse(b"id\tage\na\t30\nb\t40\n").expect("has a header");
        table.set("a", &[("hand", "left")]);
        table.set("c", &[("age", "5\t0")]);
        let text = String::from_utf8(table.to_bytes()).expect("text");
        assert_eq!(
            text,
            "id\tage\thand\na\t30\tleft\nb\t40\tn/a\nc\t5 0\tn/a\n"
        );
    }
}
