//! Sheets of paper: what of a page stands on which.
//!
//! Browsers do not agree on running heads and page numbers, so every sheet has its own written on it, and none of them is left to part
//! what does not fit. How high a part is can only be reckoned before it is set: with a broad typeface, and for a sheet that is as narrow
//! as A4 and as low as Letter. `sheet.css` has the same sizes.

use super::page::{BLANK, BOX, Block};
use super::svg::{Picture, count_in};
use super::table::Table;

/// What a sheet has between its head and its foot, and across, mm.
const ROOM: f64 = 243.0;
const WIDE: f64 = 186.0;
/// Each of two columns, and what is lost where they end unevenly, mm.
const COLUMN: f64 = 90.5;
const UNEVEN: f64 = 2.0;
/// Lines in a narrow column hold more than they are reckoned to, over a whole column.
const FILLED: f64 = 0.97;
/// What the broader of two parts beside each other has of the width.
const BESIDE: f64 = 0.72;
/// How far the text of an item and of a detail stands in, mm.
const IN: f64 = 7.0;
/// A place to write on the bench, mm: broad and high enough for a glove and a carpenter's pencil.
const TO_WRITE: [f64; 2] = [30.0, 8.0];

/// How much broader bold letters are.
const BOLD: f64 = 1.12;

/// How large text is set: points, and mm from line to line.
#[derive(Clone, Copy)]
struct Type {
    points: f64,
    line: f64,
}

const USUAL: Type = Type { points: 9.5, line: 4.2 };
const SMALL: Type = Type { points: 8.0, line: 3.3 };
const TIGHT: Type = Type { points: 8.5, line: 3.6 };

impl Type {
    /// As wide as a text is at the most where it stands in one line, mm.
    fn width(self, text: &str) -> f64 {
        /// The mean breadth of a letter over the size of its type.
        const LETTER: f64 = 0.53;
        const POINT: f64 = 0.3528;
        number(textwrap::core::display_width(text)) * LETTER * self.points * POINT
    }

    fn height(self, text: &str, wide: f64) -> f64 {
        number(textwrap::wrap(text, count_in(wide, self.width("m"))).len().max(1)) * self.line
    }
}

fn number(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

/// Deals the parts of a page out to sheets, as they come. What leads to the next part stays with it.
pub(super) fn sheets(blocks: &[Block]) -> Vec<Vec<Block>> {
    let mut dealt = Dealt { sheets: vec![Vec::new()], used: 0.0, head: 0.0 };
    let mut leading = Vec::new();
    for (block, next) in blocks.iter().zip(blocks.iter().skip(1).map(Some).chain([None])) {
        match block {
            Block::NewSheet => {
                dealt.place(std::mem::take(&mut leading));
                dealt.turn();
            }
            Block::Gap | Block::Screen(_) => {}
            Block::Title(_) | Block::Head(_) | Block::Foot(..) => {
                dealt.head = beyond_a_line(blocks);
                dealt.put(block.clone());
            }
            Block::Heading(_) | Block::Line(_) => leading.push(block.clone()),
            // It tells what is read in the table below it.
            Block::Item(..) if matches!(next, Some(Block::Table(_))) => leading.push(block.clone()),
            // Its words are meant by the note below it.
            _ if matches!(next, Some(Block::Note(_))) => leading.push(block.clone()),
            _ => {
                leading.push(block.clone());
                dealt.place(std::mem::take(&mut leading));
            }
        }
    }
    dealt.place(leading);
    dealt.sheets
}

/// What the running head takes beyond one line, in which its title may stand with what is beside it.
fn beyond_a_line(blocks: &[Block]) -> f64 {
    const TITLE: Type = Type { points: 11.5 * BOLD, line: 4.7 };
    /// What a refusal takes of the line, mm.
    const STOP: f64 = 24.0;
    let stop = if blocks.iter().any(Block::refuses) { STOP } else { 0.0 };
    let (mut across, mut high) = (stop, 0.0);
    for block in blocks {
        let (text, words) = match block {
            Block::Title(title) => (TITLE, title),
            Block::Head(beside) => (SMALL, beside),
            _ => continue,
        };
        across += text.width(words);
        high += text.height(words, WIDE - stop) + 0.8;
    }
    if across <= WIDE { 0.0 } else { high - TITLE.line - 0.8 }
}

struct Dealt {
    sheets: Vec<Vec<Block>>,
    used: f64,
    /// What the running head takes beyond its first line.
    head: f64,
}

impl Dealt {
    fn turn(&mut self) {
        self.sheets.push(Vec::new());
        self.used = 0.0;
    }

    fn put(&mut self, block: Block) {
        self.used += height(&block, USUAL, WIDE);
        if let Some(sheet) = self.sheets.last_mut() {
            sheet.push(block);
        }
    }

    /// Puts parts that belong together on the sheet, or on a new one; what is higher than any sheet is parted.
    fn place(&mut self, blocks: Vec<Block>) {
        let high: f64 = blocks.iter().map(|block| height(block, USUAL, WIDE)).sum();
        let room = ROOM - self.head;
        if self.used > 0.0 && high > 0.0 && self.used + high > room {
            self.turn();
        }
        for block in blocks {
            self.flow(block, room);
        }
    }

    /// Puts a part there, or as much of it as fits, and the rest on the next sheets.
    fn flow(&mut self, block: Block, room: f64) {
        if self.used + height(&block, USUAL, WIDE) <= room {
            return self.put(block);
        }
        let (first, rest) = part(&block, room - self.used);
        self.put(first);
        if let Some(rest) = rest {
            self.turn();
            self.flow(rest, room);
        }
    }
}

/// Parts what is too high behind a row of a table, a part of columns, or a drawing; at least one goes on the first sheet.
fn part(block: &Block, room: f64) -> (Block, Option<Block>) {
    fn parted<T: Clone>(all: &[T], room: f64, build: impl Fn(&[T]) -> Block) -> (Block, Option<Block>) {
        let fits = |count: &usize| height(&build(&all[..*count]), USUAL, WIDE) <= room;
        let count = (2..=all.len()).take_while(fits).last().unwrap_or(1).min(all.len());
        let (first, rest) = all.split_at(count);
        (build(first), (!rest.is_empty()).then(|| build(rest)))
    }
    match block {
        Block::Columns(parts) => parted(parts, room, |parts| Block::Columns(parts.to_vec())),
        Block::Pictures(pictures) => parted(pictures, room, |pictures| Block::Pictures(pictures.to_vec())),
        Block::Table(table) => parted(table.rows(), room, |rows| Block::Table(table.of_rows(rows))),
        other => (other.clone(), None),
    }
}

/// How high a part is at the most, mm.
fn height(block: &Block, text: Type, wide: f64) -> f64 {
    // Between parts; less where they are small.
    let apart = if text.points < USUAL.points { 0.6 } else { 1.2 };
    match block {
        Block::Title(_)
        | Block::Head(_)
        | Block::Foot(..)
        | Block::Gap
        | Block::NewSheet
        | Block::Screen(_) => 0.0,
        Block::Heading(heading) if apart < 1.0 => {
            Type { points: 9.5 * BOLD, line: 4.1 }.height(heading, wide) + 2.0
        }
        Block::Heading(heading) => Type { points: 11.0 * BOLD, line: 4.7 }.height(heading, wide) + 2.8,
        Block::Verdict(words) => Type { points: 11.0 * BOLD, line: 4.9 }.height(words, wide) + apart,
        Block::Paragraph(words) | Block::Line(words) => text.height(words, wide) + apart,
        Block::Note(words) if apart < 1.0 => text.height(words, wide) + apart,
        Block::Note(words) => TIGHT.height(words, wide - IN) + apart,
        Block::Verbatim(lines) => number(lines.lines().count()) * TIGHT.line + 3.0,
        Block::Item(mark, words) => {
            text.height(
                words,
                wide - if apart < 1.0 {
                    text.width(mark).max(3.0) + 1.5
                } else {
                    IN.max(text.width(mark) + 2.0)
                },
            ) + apart
        }
        Block::Task { name, figure, work } => {
            let across = Type { points: 11.0, ..USUAL }.width(name)
                + Type { points: 19.0, ..USUAL }.width(figure)
                + Type { points: 12.0, ..USUAL }.width(work);
            if across + TO_WRITE[1] + 8.0 > wide { 15.2 } else { 7.6 }
        }
        Block::Detail(words, blank) if blank.is_empty() => text.height(words, wide - IN),
        Block::Detail(words, _) => text.height(words, wide - TO_WRITE[0] - IN).max(TO_WRITE[1]),
        Block::Table(table) => {
            table_height(table, if text.points < USUAL.points { SMALL } else { TIGHT }, wide)
        }
        Block::Pictures(pictures) => rows_of(pictures, wide).iter().map(|high| high + 3.0).sum::<f64>() - 2.0,
        Block::Together(parts) => together(parts),
        Block::Beside(parts) => {
            parts.iter().map(|part| height(part, text, wide * BESIDE)).fold(0.0, f64::max)
        }
        Block::Columns(parts) => {
            let steps = parts.chunk_by(|_, after| after.stands_in());
            steps.map(|parts| height(&joined(parts), SMALL, COLUMN)).sum::<f64>() * FILLED / 2.0 + UNEVEN
        }
    }
}

/// A step with its cautions behind its last word, which are bold and so count as longer than they are.
fn joined(parts: &[Block]) -> Block {
    let Some((first, cautions)) = parts.split_first() else { return Block::Gap };
    let mut joined = first.clone();
    if let Block::Item(_, text) = &mut joined {
        for caution in cautions {
            if let Block::Item(mark, words) = caution {
                *text += &format!(" {} {words}", mark.trim());
                *text += &"x".repeat(words.len() / 8);
            }
        }
    }
    joined
}

/// How high a task is with what belongs to it: the way to turn beside two places to write, and below them what forbids it.
fn together(parts: &[Block]) -> f64 {
    const WAY: f64 = 54.0;
    const WORDS: f64 = 34.0;
    let after = parts.iter().rposition(|part| matches!(part, Block::Detail(_, blank) if !blank.is_empty()));
    let high = |(i, part): (usize, &Block)| match part {
        Block::Detail(words, blank) if blank.is_empty() && Some(i) > after => {
            [0.0, TIGHT.height(words, WIDE) * BOLD]
        }
        Block::Detail(words, blank) if blank.is_empty() => [TIGHT.height(words, WAY), 0.0],
        Block::Detail(words, _) => [TIGHT.height(words, WORDS).max(TO_WRITE[1]), 0.0],
        other => [0.0, height(other, TIGHT, WIDE)],
    };
    let [beside, below] =
        parts.iter().enumerate().map(high).fold([0.0_f64, 0.0], |[a, b], [c, d]| [a.max(c), b + d]);
    beside + below + 1.0
}

/// How high the rows are in which drawings stand beside each other.
fn rows_of(pictures: &[Picture], wide: f64) -> Vec<f64> {
    let mut rows: Vec<[f64; 2]> = Vec::new();
    for Picture { size: [across, high], .. } in pictures {
        match rows.last_mut() {
            Some([used, highest]) if *used + across <= wide => {
                *used += across;
                *highest = highest.max(*high);
            }
            _ => rows.push([*across, *high]),
        }
    }
    rows.into_iter().map(|[_, high]| high).collect()
}

fn table_height(table: &Table, text: Type, wide: f64) -> f64 {
    // Beside a cell; above and below it, and below the table, mm.
    const ROUND: f64 = 1.05;
    const BELOW: f64 = 3.0;
    let beside = if text.points > SMALL.points { 3.6 } else { 1.7 };
    let (rows, left) = table.parts();
    // As browsers do it: no column is narrower than its longest word, and what is left is dealt out by how much each would like more.
    let widest = |column: usize, of: fn(&str) -> Vec<&str>| {
        let cells = rows.iter().filter_map(|row| row.get(column)).flat_map(|cell| of(cell));
        cells.map(|part| text.width(part)).fold(0.0, f64::max) + beside
    };
    let least: Vec<f64> =
        (0..left.len()).map(|column| widest(column, |cell| cell.split(' ').collect())).collect();
    let most: Vec<f64> = (0..left.len()).map(|column| widest(column, |cell| vec![cell])).collect();
    let [narrow, broad] = [&least, &most].map(|all| all.iter().sum::<f64>());
    let part = if broad > narrow { ((wide - narrow) / (broad - narrow)).clamp(0.0, 1.0) } else { 1.0 };
    let row = |cells: &Vec<String>| {
        let filled = cells.iter().any(|cell| cell.contains(BLANK) || cell.contains(BOX));
        let least_high = match (filled, table.is_of_the_bench()) {
            (true, true) => TO_WRITE[1] + 0.4,
            (true, false) if text.points > SMALL.points => 4.7,
            _ => 0.0,
        };
        let columns = cells.iter().zip(least.iter().zip(&most));
        let lines = columns
            .map(|(cell, (least, most))| text.height(cell, least + (most - least) * part - beside + 0.1));
        lines.fold(least_high, |high, lines| high.max(lines + ROUND))
    };
    rows.iter().map(row).sum::<f64>() + BELOW
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(sheet: &[Block]) -> usize {
        sheet.iter().filter(|block| matches!(block, Block::Item(..))).count()
    }

    /// Nothing is lost, a heading is never the last of its sheet, and a table that is longer than a sheet has its head on each.
    #[test]
    fn parts_are_dealt_out_whole_and_in_their_order() {
        let mut blocks: Vec<Block> = Vec::new();
        for number in 0..60 {
            blocks.push(Block::Heading(format!("{number}")));
            blocks.push(Block::Item("-".to_owned(), "words ".repeat(number)));
        }
        let dealt = sheets(&blocks);
        assert!(dealt.len() > 2);
        assert_eq!(dealt.iter().map(|sheet| texts(sheet)).sum::<usize>(), 60);
        assert!(dealt.iter().all(|sheet| !matches!(sheet.last(), Some(Block::Heading(_)))));
        let mut table = Table::new(&["<first", "second"]);
        (0..150).for_each(|row| table.row([row.to_string(), "1.0".to_owned()]));
        let dealt = sheets(&[Block::Heading("head".to_owned()), Block::Table(table)]);
        let rows: Vec<&[Vec<String>]> = (dealt.iter().flatten())
            .filter_map(|block| if let Block::Table(table) = block { Some(table.parts().0) } else { None })
            .collect();
        assert!(rows.len() > 2 && rows.iter().all(|rows| rows[0][0] == "first"));
        assert_eq!(rows.iter().map(|rows| rows.len() - 1).sum::<usize>(), 150);
    }
}
