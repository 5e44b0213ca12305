//! The keys of a file: what each means, what it takes, and how to measure it.

use super::page::{Page, Printable};

/// All that is to be said of a key.
#[derive(Debug)]
pub(crate) struct KeyEntry<'a> {
    /// Where it stands, with dots.
    pub(crate) path: String,
    /// What it is.
    pub(crate) meaning: &'a str,
    /// How it is measured; empty where there is nothing to measure.
    pub(crate) how: &'a str,
    /// From - to of what it takes; empty where that is anything.
    pub(crate) range: String,
    /// How it stands in a file.
    pub(crate) examples: Vec<String>,
    /// Whether its table cannot do without it.
    pub(crate) needed: bool,
}

/// Keys, one after another.
#[derive(Debug)]
pub(crate) struct KeysPage<'a> {
    /// The keys, in the order of the file.
    pub(crate) keys: Vec<KeyEntry<'a>>,
}

impl Printable for KeysPage<'_> {
    fn put(&self, page: &mut Page) {
        for (i, KeyEntry { path, meaning, how, range, examples, needed }) in self.keys.iter().enumerate() {
            if i > 0 {
                page.line("");
            }
            page.line(format!("{path}{}", if *needed { "  (needed)" } else { "" }));
            page.item(" ", *meaning);
            for (head, text) in
                [("Takes", range.as_str()), ("Such as", &examples.join("   or   ")), ("Measure", how)]
            {
                if !text.is_empty() {
                    page.item(" ", format!("{head}: {text}"));
                }
            }
        }
    }
}
