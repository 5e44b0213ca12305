//! A page in parts, the same for a terminal and for paper: text is written here, the printable file in `html`.

use std::fmt;

use super::table::Table;
use super::words::{item, note, paragraph};

/// To be ticked by hand.
pub(super) const BOX: &str = "[ ]";
/// To be filled in by hand.
pub(super) const BLANK: &str = "________";

/// A part of a page.
#[derive(Debug)]
pub(super) enum Block {
    /// What the whole page is.
    Title(String),
    /// What the parts after it are about.
    Heading(String),
    /// Running text.
    Paragraph(String),
    /// A line as it stands.
    Line(String),
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
    /// A drawing, which only paper shows.
    Picture(String),
    /// Parts that no end of a page may part.
    Together(Page),
}

/// Parts one below the other.
#[derive(Debug, Default)]
pub(super) struct Page {
    pub(super) blocks: Vec<Block>,
}

impl Page {
    pub(super) fn title(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Title(text.into()));
    }

    pub(super) fn heading(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Heading(text.into()));
    }

    pub(super) fn paragraph(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Paragraph(text.into()));
    }

    pub(super) fn line(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Line(text.into()));
    }

    pub(super) fn item(&mut self, mark: impl Into<String>, text: impl Into<String>) {
        self.blocks.push(Block::Item(mark.into(), text.into()));
    }

    pub(super) fn detail(&mut self, text: impl Into<String>, blank: impl Into<String>) {
        self.blocks.push(Block::Detail(text.into(), blank.into()));
    }

    pub(super) fn table(&mut self, table: Table) {
        self.blocks.push(Block::Table(table));
    }

    pub(super) fn note(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Note(text.into()));
    }

    pub(super) fn gap(&mut self) {
        self.blocks.push(Block::Gap);
    }

    pub(super) fn picture(&mut self, svg: String) {
        self.blocks.push(Block::Picture(svg));
    }

    pub(super) fn together(&mut self, parts: Self) {
        self.blocks.push(Block::Together(parts));
    }

    /// These parts, then those.
    pub(super) fn then(mut self, page: Self) -> Self {
        self.blocks.extend(page.blocks);
        self
    }
}

impl fmt::Display for Page {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.blocks.iter().try_for_each(|block| block.fmt(f))
    }
}

impl fmt::Display for Block {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Title(text) | Self::Heading(text) | Self::Line(text) => writeln!(f, "{text}"),
            Self::Paragraph(text) => paragraph(f, text),
            Self::Item(mark, text) => item(f, mark, text),
            Self::Detail(text, blank) => writeln!(f, "{}", format!("        {text:<50}{blank}").trim_end()),
            Self::Table(table) => table.write(f),
            Self::Note(text) => note(f, text),
            Self::Gap => writeln!(f),
            Self::Picture(_) => Ok(()),
            Self::Together(parts) => parts.fmt(f),
        }
    }
}
