//! A page in parts, the same for a terminal and for paper: text is written here, the printable file in `html`.

use super::hint::{Hint, Say};
use super::svg::Picture;
use super::table::Table;

/// Columns of a page: what a terminal shows and a printer takes.
pub const WIDTH: usize = 80;
/// Columns of the widest table that a terminal is given.
pub(crate) const WIDEST: usize = 120;
/// To be ticked by hand.
pub(super) const BOX: &str = "[ ]";
/// What stands in its place where the work must not be done.
pub(super) const NO_BOX: &str = " - ";
/// To be filled in by hand.
pub(super) const BLANK: &str = "________";

/// What makes a page.
pub trait Printable {
    /// Puts its parts on a page, behind those that are there.
    fn put(&self, page: &mut Page);
}

impl<F: Fn(&mut Page)> Printable for F {
    fn put(&self, page: &mut Page) {
        self(page);
    }
}

/// How a page is written as text.
#[derive(Debug, Clone, Copy)]
pub struct TextStyle {
    /// No line is longer; running text is no wider than [`WIDTH`] all the same.
    pub(crate) columns: usize,
    /// The verdict stands out.
    pub(crate) bold: bool,
    /// The title stands first, as on paper, and the verdict below it.
    pub(crate) title_first: bool,
}

impl TextStyle {
    /// Plain letters, for so many columns.
    pub fn plain(columns: usize) -> Self {
        Self { columns, bold: false, title_first: false }
    }
}

/// A part of a page.
#[derive(Debug, Clone)]
pub(super) enum Block {
    /// What the answer comes to and what to do about it.
    Verdict(String),
    /// What the whole page is; every sheet of paper has it at its head.
    Title(String),
    /// What every sheet of paper has beside that.
    Head(String),
    /// What the parts after it are about.
    Heading(String),
    /// Running text.
    Paragraph(String),
    /// A line as it stands.
    Line(String),
    /// Lines as they stand, with all their blanks.
    Verbatim(String),
    /// A point of a list: its mark and its text.
    Item(String, String),
    /// A line that belongs to the item above it, and a blank behind it.
    Detail(String, String),
    /// Aligned columns.
    Table(Table),
    /// What the words of a table mean.
    Note(String),
    /// An empty line.
    Gap,
    /// Something to be done and ticked: what with, how much, and what; the largest thing on its sheet.
    Task { name: String, figure: String, work: String },
    /// Drawings, which only paper shows: as many beside each other as find room.
    Pictures(Vec<Picture>),
    /// What stands in the place of drawings on a terminal.
    Screen(String),
    /// Parts that no end of a sheet may part.
    Together(Vec<Self>),
    /// Parts that stand beside each other on paper.
    Beside(Vec<Self>),
    /// Parts that stand in two columns on paper, in small type.
    Columns(Vec<Self>),
    /// What follows begins on a sheet of paper of its own.
    NewSheet,
    /// Where all of it comes from; every sheet of paper has it at its foot, in other words.
    Foot(String, String),
}

/// Parts one below the other.
#[derive(Debug)]
pub struct Page {
    pub(super) blocks: Vec<Block>,
    say: Say,
    /// Whether only the answer is wanted.
    is_brief: bool,
    /// Whether something was left out for that.
    is_cut: bool,
}

/// The heading of what forbids the work that a page tells of.
pub(super) const STOP: &str = "STOP";

impl Page {
    /// The whole page of something, in a program that calls its commands and options as `say` has them.
    pub fn of(content: &impl Printable, say: Say) -> Self {
        Self::begun(false, content, say)
    }

    /// The same with the answer alone, for a terminal that has few lines.
    pub(crate) fn brief(content: &impl Printable, say: Say) -> Self {
        Self::begun(true, content, say)
    }

    fn begun(is_brief: bool, content: &impl Printable, say: Say) -> Self {
        let mut page = Self { blocks: Vec::new(), say, is_brief, is_cut: false };
        content.put(&mut page);
        page
    }

    /// What the program around the page calls something.
    pub(crate) fn hint(&self, hint: Hint<'_>) -> String {
        (self.say)(hint)
    }

    /// What the answer comes to and what to do about it: the first that is read.
    pub(crate) fn verdict(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Verdict(text.into()));
    }

    /// What `parts` puts on the page is not needed to act: only the whole page has it.
    pub(super) fn rest(&mut self, parts: impl FnOnce(&mut Self)) {
        if self.is_brief {
            self.is_cut = true;
        } else {
            parts(self);
        }
    }

    /// Whether it has all there is to say.
    pub(crate) fn is_whole(&self) -> bool {
        !self.is_brief
    }

    /// What the whole page is.
    pub(crate) fn title(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Title(text.into()));
    }

    /// What the parts after it are about.
    pub(crate) fn heading(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Heading(text.into()));
    }

    /// Running text.
    pub(crate) fn paragraph(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Paragraph(text.into()));
    }

    /// A line as it stands.
    pub(crate) fn line(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Line(text.into()));
    }

    /// A point of a list behind its mark; its further lines hang under its first word.
    pub(crate) fn item(&mut self, mark: impl Into<String>, text: impl Into<String>) {
        self.blocks.push(Block::Item(mark.into(), text.into()));
    }

    /// An empty line.
    pub(crate) fn gap(&mut self) {
        self.blocks.push(Block::Gap);
    }

    /// Points of a list that all have the same mark.
    pub(super) fn items<T: Into<String>>(&mut self, mark: &str, texts: impl IntoIterator<Item = T>) {
        texts.into_iter().for_each(|text| self.item(mark, text));
    }

    pub(super) fn detail(&mut self, text: impl Into<String>, blank: impl Into<String>) {
        self.blocks.push(Block::Detail(text.into(), blank.into()));
    }

    /// Lines as they stand, with all their blanks.
    pub(crate) fn verbatim(&mut self, lines: impl Into<String>) {
        self.blocks.push(Block::Verbatim(lines.into()));
    }

    pub(super) fn table(&mut self, table: Table) {
        self.blocks.push(Block::Table(table));
    }

    pub(super) fn note(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Note(text.into()));
    }

    /// A drawing; it stands beside the one before it where there is room.
    pub(super) fn picture(&mut self, picture: Picture) {
        if let Some(Block::Pictures(pictures)) = self.blocks.last_mut() {
            pictures.push(picture);
        } else {
            self.blocks.push(Block::Pictures(vec![picture]));
        }
    }

    pub(super) fn task(
        &mut self,
        name: impl Into<String>,
        figure: impl Into<String>,
        work: impl Into<String>,
    ) {
        self.blocks.push(Block::Task { name: name.into(), figure: figure.into(), work: work.into() });
    }

    /// Lines in the place of a drawing, which only a terminal shows.
    pub(super) fn screen(&mut self, lines: impl Into<String>) {
        self.blocks.push(Block::Screen(lines.into()));
    }

    /// What is said of the whole page beside its title.
    pub(super) fn head(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Head(text.into()));
    }

    pub(super) fn new_sheet(&mut self) {
        self.blocks.push(Block::NewSheet);
    }

    /// Where all of it comes from, as text and on paper.
    pub(super) fn foot(&mut self, text: impl Into<String>, paper: impl Into<String>) {
        self.blocks.push(Block::Foot(text.into(), paper.into()));
    }

    /// Whether the work that it tells of must not be done. Such a page has nothing to be ticked.
    pub(super) fn refuses(&self) -> bool {
        self.blocks.iter().any(Block::refuses)
    }

    /// What looks like a slip in that on which the page rests, at its head: behind its verdict and its title, where it has them.
    pub(crate) fn warn(&mut self, warnings: impl Iterator<Item = String>) {
        let title = self.blocks.iter().take_while(|block| block.is_of_the_head()).count();
        let rest = self.blocks.split_off(title);
        let before = self.blocks.len();
        warnings.for_each(|warning| self.item("!", warning));
        if self.blocks.len() > before {
            self.blocks.insert(
                before,
                Block::Heading(
                    "FIRST OF ALL: this looks like a mistake, and the whole answer rests on it".to_owned(),
                ),
            );
            self.gap();
        }
        self.blocks.extend(rest);
    }

    /// What `parts` puts on the page stands beside each other.
    pub(super) fn beside(&mut self, parts: impl FnOnce(&mut Self)) {
        let parts = self.apart(parts);
        self.blocks.push(Block::Beside(parts));
    }

    /// What `parts` puts on the page stays in one piece.
    pub(super) fn together(&mut self, parts: impl FnOnce(&mut Self)) {
        let parts = self.apart(parts);
        self.blocks.push(Block::Together(parts));
    }

    /// What `parts` puts on the page stands in two columns.
    pub(super) fn columns(&mut self, parts: impl FnOnce(&mut Self)) {
        let parts = self.apart(parts);
        self.blocks.push(Block::Columns(parts));
    }

    fn apart(&mut self, parts: impl FnOnce(&mut Self)) -> Vec<Block> {
        let before = self.blocks.len();
        parts(self);
        self.blocks.split_off(before)
    }

    /// The page as text, no line of it longer than asked for.
    ///
    /// Running text is wrapped and tables parted; what is still longer is folded under its own beginning.
    pub fn text(&self, style: TextStyle) -> String {
        let text: String = if style.title_first {
            title_first(&self.blocks).map(|block| block.text(style)).collect()
        } else {
            self.blocks.iter().map(|block| block.text(style)).collect()
        };
        let text = if self.refuses() { text.replace(BOX, NO_BOX) } else { text };
        let mut shown = String::new();
        for line in text.split_inclusive('\n') {
            // What is left out between two empty lines leaves one.
            if line == "\n" && (shown.is_empty() || shown.ends_with("\n\n")) {
                continue;
            }
            shown += &fold(line, style.columns);
        }
        if self.is_cut {
            shown.truncate(shown.trim_end().len());
            let closing = format!(
                "The rest, with the cautions before anybody works on a car: {}",
                self.hint(Hint::Full)
            );
            shown += &format!("\n{}", wrapped(&closing, "", style.columns));
        }
        shown
    }
}

/// Parts with their title above their verdict.
fn title_first(blocks: &[Block]) -> impl Iterator<Item = &Block> {
    let heads =
        blocks.iter().take_while(|block| matches!(block, Block::Verdict(_) | Block::Title(_))).count();
    let (heads, others) = blocks.split_at(heads);
    let is_title = |block: &&Block| matches!(block, Block::Title(_));
    let verdicts = heads.iter().filter(move |block| !is_title(block));
    heads.iter().filter(is_title).chain(verdicts).chain(others)
}

impl Block {
    /// Whether it belongs to what stands above everything else.
    fn is_of_the_head(&self) -> bool {
        matches!(self, Self::Verdict(_) | Self::Title(_) | Self::Head(_) | Self::Foot(..))
    }

    /// Whether it forbids the work that its page tells of.
    pub(super) fn refuses(&self) -> bool {
        matches!(self, Self::Heading(heading) if heading == STOP)
    }

    /// Whether it is a caution that stands in from the step above it; on paper it goes on behind that one's last word.
    pub(super) fn stands_in(&self) -> bool {
        matches!(self, Self::Item(mark, _) if mark.starts_with(' '))
    }

    fn text(&self, style: TextStyle) -> String {
        let TextStyle { columns, bold, .. } = style;
        let all = |parts: &[Self]| parts.iter().map(|part| part.text(style)).collect();
        match self {
            Self::Verdict(text) if bold => {
                format!("{BOLD}{}{PLAIN}\n", wrapped(text, "", columns).trim_end())
            }
            Self::Head(text)
            | Self::Heading(text)
            | Self::Line(text)
            | Self::Verbatim(text)
            | Self::Screen(text)
            | Self::Foot(text, _) => format!("{text}\n"),
            Self::Verdict(text) | Self::Title(text) | Self::Paragraph(text) => wrapped(text, "", columns),
            Self::Item(mark, text) => wrapped(text, &format!("  {mark} "), columns),
            Self::Detail(text, blank) => format!("{}\n", format!("        {text:<49} {blank}").trim_end()),
            Self::Table(table) => table.text(columns),
            Self::Note(text) => wrapped(text, "  ", columns),
            Self::Gap => "\n".to_owned(),
            Self::Task { name, figure, work } => {
                wrapped(&format!("{name} {figure} {work}"), &format!("  {BOX} "), columns)
            }
            Self::Pictures(_) | Self::NewSheet => String::new(),
            Self::Together(parts) | Self::Beside(parts) | Self::Columns(parts) => all(parts),
        }
    }
}

/// How a terminal is told to write bold and plain letters (ECMA-48, 8.3.117 SGR).
const BOLD: &str = "\x1b[1m";
const PLAIN: &str = "\x1b[0m";

/// Running text behind its first letters; its further lines begin under their end.
fn wrapped(text: &str, first: &str, columns: usize) -> String {
    let hang = " ".repeat(textwrap::core::display_width(first));
    let options = textwrap::Options::new(columns.min(WIDTH)).initial_indent(first).subsequent_indent(&hang);
    textwrap::fill(text, options) + "\n"
}

/// Folds a line that is too long; its other lines stand a little further in.
fn fold(line: &str, columns: usize) -> String {
    if columns >= WIDTH || textwrap::core::display_width(line.trim_end()) <= columns {
        return line.to_owned();
    }
    let text = line.trim_start();
    let first = &line[..(line.len() - text.len()).min(columns / 2)];
    let hang = format!("{first}  ");
    let options = textwrap::Options::new(columns).initial_indent(first).subsequent_indent(&hang);
    textwrap::fill(text.trim_end(), options) + "\n"
}
