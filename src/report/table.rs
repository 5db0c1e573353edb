//! Columns of text.

use super::Paint;

/// How a column is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table with a line of titles.
#[derive(Debug)]
pub struct Table {
    titles: Vec<(&'static str, Side)>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// Without rows yet.
    pub fn new(titles: &[(&'static str, Side)]) -> Self {
        Self { titles: titles.to_vec(), rows: Vec::new() }
    }

    /// Adds a row; cells beyond the titles are dropped.
    pub fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// As text, each column as wide as its widest cell. Columns with nothing but blanks are left out.
    pub fn render(&self, paint: Paint) -> String {
        let cell = |row: &[String], at: usize| row.get(at).cloned().unwrap_or_default();
        let used: Vec<usize> =
            (0..self.titles.len()).filter(|&at| self.rows.iter().any(|row| !cell(row, at).is_empty())).collect();
        let columns: Vec<(usize, Side, usize)> = used
            .iter()
            .filter_map(|&at| {
                let &(title, side) = self.titles.get(at)?;
                let widest = self.rows.iter().map(|row| cell(row, at).chars().count()).max().unwrap_or(0);
                Some((at, side, widest.max(title.chars().count())))
            })
            .collect();
        let line = |row: &[String]| {
            let cells: Vec<_> = columns
                .iter()
                .map(|&(at, side, width)| match side {
                    Side::Left => format!("{:width$}", cell(row, at)),
                    Side::Right => format!("{:>width$}", cell(row, at)),
                })
                .collect();
            cells.join("  ").trim_end().to_owned()
        };
        let titles: Vec<String> = self.titles.iter().map(|(title, _)| (*title).to_owned()).collect();
        let mut text = paint.faint(&line(&titles)) + "\n";
        for row in &self.rows {
            text.push_str(&line(row));
            text.push('\n');
        }
        text
    }
}
