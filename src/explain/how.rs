//! How figures are worked out, in words, with the numbers of this answer put in.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::{AnswerFigure, AnswerFigures};

/// Names and words of figures, embedded at build time.
const TEXT: &str = include_str!("../../data/figures.toml");

/// What the file says.
pub(super) static WORDS: LazyLock<Words> = LazyLock::new(|| toml::from_str(TEXT).unwrap_or_default());

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Words {
    /// What keys without their units are called.
    pub(super) names: BTreeMap<String, String>,
    /// Other words by which keys without their units go, those of the pages among them.
    pub(super) also: BTreeMap<String, String>,
    /// What the entries of lists are called, by the key of the list; `{}` is the entry.
    pub(super) lists: BTreeMap<String, String>,
    how: Vec<HowWords>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct HowWords {
    /// The ends of the ways to the figures: the type of the answer and its keys, joined by `/`.
    at: Vec<String>,
    text: String,
}

/// How a figure is worked out.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub(crate) struct How {
    /// The words; keys in braces are other numbers of the same answer.
    pub text: String,
    /// Those numbers; `None` where the answer has none.
    pub numbers: Vec<OtherFigure>,
}

/// Another number of the same answer.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub(crate) struct OtherFigure {
    /// Its key, as it stands in braces.
    pub key: String,
    /// The number.
    pub value: Option<f64>,
}

/// The words for the figure whose way they match furthest back.
pub(super) fn of(figure: &AnswerFigure, figures: &AnswerFigures) -> Option<How> {
    let way = format!("/{}/{}", figures.of, figure.keys.join("/"));
    let matched = |worked: &'static HowWords| {
        let fits = worked.at.iter().filter(|end| way.ends_with(&format!("/{end}")));
        Some((fits.map(String::len).max()?, worked))
    };
    let (_, worked) = WORDS.how.iter().filter_map(matched).max_by_key(|(length, _)| *length)?;
    let numbers = placeholders(&worked.text).into_iter().map(|key| {
        let value = figures.near(figure, key).and_then(|figure| figure.value);
        OtherFigure { key: key.to_owned(), value }
    });
    Some(How { numbers: numbers.collect(), text: worked.text.clone() })
}

/// The keys in braces.
fn placeholders(text: &str) -> Vec<&str> {
    let parts = text.split('{').skip(1);
    parts.filter_map(|part| part.split_once('}')).map(|(key, _)| key).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_words_can_be_read() {
        let words: Words = toml::from_str(TEXT).expect("the file of figures");
        assert!(words.how.len() > 50);
        assert_eq!(placeholders("a {b_mm} c {d.e}"), ["b_mm", "d.e"]);
    }
}
