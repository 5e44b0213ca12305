//! The words of the trade, in plain words.

use serde::Deserialize;
use std::fmt;

use super::words::{item, paragraph};

/// The glossary, embedded at build time.
const TEXT: &str = include_str!("../../data/glossary.toml");

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Glossary {
    #[serde(rename = "word")]
    words: Vec<Word>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Word {
    #[serde(rename = "word")]
    name: String,
    meaning: String,
    source: String,
}

/// What words mean: one of them, or all.
#[derive(Debug)]
pub struct GlossaryPage {
    words: Vec<Word>,
}

impl GlossaryPage {
    /// The words that have `word` in them, or all; `Err` with what there is where none has.
    ///
    /// # Errors
    ///
    /// The words that there are.
    pub fn of(word: Option<&str>) -> Result<Self, Vec<String>> {
        let mut words = toml::from_str::<Glossary>(TEXT).map_or(Vec::new(), |glossary| glossary.words);
        let wanted = word.unwrap_or_default().to_lowercase();
        let all = words.iter().map(|word| word.name.clone()).collect();
        words.retain(|word| word.name.contains(&wanted));
        words.sort_by(|a, b| a.name.cmp(&b.name));
        if words.is_empty() { Err(all) } else { Ok(Self { words }) }
    }
}

impl fmt::Display for GlossaryPage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for Word { name, meaning, source } in &self.words {
            writeln!(f, "{}", name.to_uppercase())?;
            item(f, " ", meaning)?;
            paragraph(f, &format!("    ({source})"))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::GlossaryPage;

    #[test]
    fn the_glossary_is_sound() {
        assert!(GlossaryPage::of(None).expect("the words").words.len() >= 12);
        assert_eq!(GlossaryPage::of(Some("Camber")).expect("a word").words.len(), 1);
        assert!(GlossaryPage::of(Some("torsion")).expect_err("not there").contains(&"toe".to_owned()));
    }
}
