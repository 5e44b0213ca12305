//! The words of the trade, in plain words.

use serde::Deserialize;

use super::page::{Page, Printable};

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
    /// Other words for it.
    #[serde(default)]
    also: Vec<String>,
    meaning: String,
    source: String,
}

/// What words mean: one of them, or all.
#[derive(Debug)]
pub(crate) struct GlossaryPage {
    words: Vec<Word>,
}

impl GlossaryPage {
    /// The word that `word` is, those that have it in them, or all; `Err` with what there is where none has.
    ///
    /// # Errors
    ///
    /// The words that there are.
    pub(crate) fn of(word: Option<&str>) -> Result<Self, Vec<String>> {
        let mut words = toml::from_str::<Glossary>(TEXT).map_or(Vec::new(), |glossary| glossary.words);
        let wanted = word.unwrap_or_default().to_lowercase();
        let all = words.iter().map(|word| word.name.clone()).collect();
        let is_it = |word: &Word| word.name == wanted || word.also.contains(&wanted);
        let has_it = |word: &Word| {
            word.name.contains(&wanted) || word.also.iter().any(|other| other.contains(&wanted))
        };
        if words.iter().any(is_it) {
            words.retain(is_it);
        } else {
            words.retain(has_it);
        }
        words.sort_by(|a, b| a.name.cmp(&b.name));
        if words.is_empty() { Err(all) } else { Ok(Self { words }) }
    }

    /// The words of a text that were not `told` yet, with what they mean.
    pub(crate) fn met(&self, text: &str, told: &mut Vec<String>) -> Vec<(&str, &str)> {
        let text = text.to_lowercase();
        let is_in = |word: &&Word| {
            stands_in(&word.name, &text) || word.also.iter().any(|other| stands_in(other, &text))
        };
        let words = self.words.iter().filter(is_in).filter(|word| !told.contains(&word.name));
        let new: Vec<&Word> = words.collect();
        told.extend(new.iter().map(|word| word.name.clone()));
        new.into_iter().map(|word| (word.name.as_str(), word.meaning.as_str())).collect()
    }
}

impl Printable for GlossaryPage {
    fn put(&self, page: &mut Page) {
        for Word { name, meaning, source, .. } in &self.words {
            page.line(name.to_uppercase());
            page.item(" ", meaning);
            page.paragraph(format!("    ({source})"));
        }
    }
}

/// Whether a text has a word as a word, and not as a part of another.
fn stands_in(word: &str, text: &str) -> bool {
    let letter = |c: Option<char>| c.is_some_and(char::is_alphabetic);
    text.match_indices(word).any(|(at, _)| {
        let behind = text[at + word.len()..].trim_start_matches('s');
        !letter(text[..at].chars().next_back()) && !letter(behind.chars().next())
    })
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

    #[test]
    fn a_word_is_met_once_and_only_where_it_stands() {
        let glossary = GlossaryPage::of(None).expect("the words");
        let mut told = Vec::new();
        let mut words =
            |text| glossary.met(text, &mut told).into_iter().map(|(word, _)| word).collect::<Vec<_>>();
        assert_eq!(words("The trimmed links of the subframe"), ["link", "subframe"]);
        assert_eq!(words("A link and its eccentric bolt"), ["cam"]);
        assert_eq!(words("Toe"), ["toe"]);
    }
}
