//! Aligned columns.

use super::number::Units;
use super::sides::by_pair;
use crate::car::PerSide;
use std::ops::Range;
use textwrap::core::display_width;

/// The blanks before every column.
const GAP: usize = 2;

/// A table of text cells; a column whose head begins with `<` is aligned to the left, every other to the right.
///
/// Where it is wider than its page it is parted: the columns at its left end that say what a row is are shown again beside
/// each part, and a head that leans on one before it ("toe deg: left", "right") takes its words along. Where even those are too wide
/// the first of them stands on a line of its own above its rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Table {
    rows: Vec<Vec<String>>,
    left: Vec<bool>,
    of_the_bench: bool,
}

impl Table {
    /// A table with a head of one line.
    pub(super) fn new(head: &[&str]) -> Self {
        let left = head.iter().map(|cell| cell.starts_with('<')).collect();
        let mut table = Self { rows: Vec::new(), left, of_the_bench: false };
        table.row(head.iter().map(|cell| cell.trim_start_matches('<').to_owned()));
        table
    }

    /// Its rows, the head first, and whether each column is aligned to the left.
    pub(super) fn parts(&self) -> (&[Vec<String>], &[bool]) {
        (&self.rows, &self.left)
    }

    /// On paper it has boxes and blanks that are large enough for the bench.
    pub(super) fn of_the_bench(self) -> Self {
        Self { of_the_bench: true, ..self }
    }

    pub(super) fn is_of_the_bench(&self) -> bool {
        self.of_the_bench
    }

    /// Its rows below its head.
    pub(super) fn rows(&self) -> &[Vec<String>] {
        self.rows.get(1..).unwrap_or_default()
    }

    /// Its head with other rows below.
    pub(super) fn of_rows(&self, rows: &[Vec<String>]) -> Self {
        let rows = self.rows.iter().take(1).chain(rows).cloned().collect();
        Self { rows, left: self.left.clone(), ..*self }
    }

    /// Adds a row; missing cells at its end are empty.
    pub(super) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// Adds a row for each thing of both sides: what it is called, its side, its cells; one row where both sides show the same.
    pub(super) fn sides<T, N, C>(
        &mut self,
        things: PerSide<&[T]>,
        units: Units,
        name: impl Fn(&T) -> N,
        cells: impl Fn(&T, Units) -> C,
    ) where
        N: IntoIterator<Item = String> + PartialEq,
        C: IntoIterator<Item = String> + PartialEq,
    {
        let same = units.to_compare();
        for shown in by_pair(things, |a, b| name(a) == name(b), |a, b| cells(a, same) == cells(b, same)) {
            let head = name(shown.item).into_iter().chain([shown.side.to_owned()]);
            self.row(head.chain(cells(shown.item, units)));
        }
    }

    /// The table as text for a page of so many columns.
    pub(super) fn text(&self, page: usize) -> String {
        let mut widths: Vec<usize> = (0..self.left.len()).map(|column| self.width(column)).collect();
        // Remarks of which there are none take no room.
        while widths.last() == Some(&0) {
            widths.pop();
        }
        let across = |columns: Range<usize>| widths[columns].iter().map(|width| GAP + width).sum::<usize>();
        let mut keys = self.keys();
        if across(0..widths.len()) <= page || keys == widths.len() {
            return self.part(page, 0..0, 0..widths.len(), &widths);
        }
        // Words that say what a row is stay beside every part for as long as the widest of the other columns fits beside them; before
        // any of them goes the first stands above.
        let widest = widths[keys..].iter().max().map_or(0, |width| GAP + width);
        let first_key = usize::from(across(0..keys) + widest > page);
        while keys > first_key && across(first_key..keys) + widest > page {
            keys -= 1;
        }
        let mut text = String::new();
        let mut from = keys;
        while from < widths.len() {
            let first = GAP + widths[from].max(display_width(&self.full_head(from)));
            let fits = |to: &usize| across(first_key..keys) + first + across(from + 1..*to) <= page;
            let whole = |to: &usize| *to == widths.len() || !self.head(*to).is_empty();
            let ends = || (from + 1..=widths.len()).filter(whole);
            let to = ends().rev().find(fits).or(ends().next()).unwrap_or(widths.len());
            text += &self.part(page, first_key..keys, from..to, &widths);
            from = to;
        }
        text
    }

    fn width(&self, column: usize) -> usize {
        self.rows.iter().filter_map(|row| row.get(column)).map(|cell| display_width(cell)).max().unwrap_or(0)
    }

    /// How many columns at the left end say what a row is: the first, and words beside it; a table of words alone has one.
    fn keys(&self) -> usize {
        let keys = self.left.len().min(1) + self.left.iter().skip(1).take_while(|left| **left).count();
        if keys == self.left.len() { keys.min(1) } else { keys }
    }

    /// The head of a column; one without belongs to the column before it.
    fn head(&self, column: usize) -> &str {
        self.rows[0].get(column).map_or("", String::as_str)
    }

    /// The head of a column with the words of the one that it leans on.
    pub(super) fn full_head(&self, column: usize) -> String {
        let own = self.head(column);
        let group = (0..column)
            .rev()
            .take_while(|before| self.left[*before] == self.left[column])
            .find_map(|before| self.head(before).split_once(": "));
        match group {
            Some((group, _)) if !own.is_empty() && !own.contains(": ") => format!("{group}: {own}"),
            _ => own.to_owned(),
        }
    }

    /// The columns `keys`, with those before them above, and some of the others.
    fn part(&self, page: usize, keys: Range<usize>, columns: Range<usize>, widths: &[usize]) -> String {
        let mut text = String::new();
        let parted = keys.end > 0;
        let mut head = if parted { self.full_head(columns.start) } else { String::new() };
        let across: usize = widths[keys.clone()].iter().map(|width| GAP + width).sum();
        if let Some((group, own)) = head.split_once(": ")
            && across + GAP + display_width(&head) > page
        {
            // The words that it leans on stand above it.
            let end = across + GAP + widths[columns.start].max(display_width(own));
            text += &format!("{}{group}:\n", " ".repeat(end.saturating_sub(display_width(group) + 1)));
            head = own.to_owned();
        }
        let mut above = "";
        for (number, row) in self.rows.iter().enumerate() {
            let mut line = String::new();
            let name = row.first().filter(|_| keys.start > 0).map_or("", String::as_str);
            if name != above && !name.is_empty() {
                text.extend(["  ", name, "\n"]);
                above = name;
            }
            for column in keys.clone().chain(columns.clone()) {
                let first = parted && column == columns.start;
                let Some(cell) = row.get(column) else { continue };
                let cell = if first && number == 0 { &head } else { cell };
                let width = if first { widths[column].max(display_width(&head)) } else { widths[column] };
                let pad = " ".repeat(width - display_width(cell));
                let (before, after) = if self.left[column] { ("", pad.as_str()) } else { (pad.as_str(), "") };
                line.extend(["  ", before, cell, after]);
            }
            text.extend([line.trim_end(), "\n"]);
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every part of a table says of each of its rows what it is, as long as a figure fits beside that.
    #[test]
    fn a_parted_table_names_its_rows_in_every_part() {
        let mut table = Table::new(&["<link", "<side", "<held by", "margin", "holds"]);
        for name in ["faces", "cam turns"] {
            let figures = ["10.7 - 32.2", "66.4 - 199.3"];
            table.row(["upper", "left", name].into_iter().chain(figures).map(str::to_owned));
        }
        let shown = table.text(40);
        assert_eq!(shown.matches("cam turns").count(), 2, "{shown}");
        assert!(shown.lines().all(|line| line.len() <= 40), "{shown}");
        // Where no figure fits beside all of it, the first of it stands above.
        let shown = table.text(34);
        assert!(
            shown.matches("\n  upper\n").count() == 2 && shown.matches("cam turns").count() == 2,
            "{shown}"
        );
        assert!(shown.lines().all(|line| line.len() <= 34), "{shown}");
    }
}
