//! Which figure somebody means.

use std::collections::{BTreeSet, HashMap};
use std::fmt;

use super::figures::NamePart;
use super::how::WORDS;
use super::{AnswerFigure, AnswerFigures, Unit};

/// What goes by some words.
pub(super) struct FoundFigure<'a> {
    /// One figure, or that of the left and that of the right side.
    pub(super) figures: Vec<&'a AnswerFigure>,
    pub(super) name: String,
    /// Others that the words fit.
    pub(super) others: Vec<String>,
}

/// Why it is not clear which figure is meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Unclear {
    /// None goes by these words.
    NoneSuch {
        /// The words.
        words: String,
        /// Words that look like the one that nothing goes by.
        near: Vec<String>,
        /// What there is.
        all: Vec<String>,
    },
    /// Several do.
    Several {
        /// The words.
        words: String,
        /// What they are called in full, the likeliest first.
        all: Vec<String>,
    },
}

/// So many names are told.
const TOLD: usize = 12;
/// So many others that words fit are told beside the one that is meant.
const OTHERS: usize = 3;

impl fmt::Display for Unclear {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let list = |f: &mut fmt::Formatter<'_>, names: &[String]| {
            names.iter().try_for_each(|name| write!(f, "\n    {name}"))
        };
        match self {
            Self::NoneSuch { words, near, all } => {
                match words.trim() {
                    "" => f.write_str("which figure? It goes by its words, such as \"lowered camber\"")?,
                    words => write!(f, "no figure of this answer goes by all of \"{words}\"")?,
                }
                if !near.is_empty() {
                    write!(f, "; did you mean {}?", near.join(" or "))?;
                }
                f.write_str("\n\n  There are, each told apart from others like it by one more word:")?;
                list(f, all)
            }
            Self::Several { words, all } => {
                write!(f, "\"{words}\" may be more than one figure; say which:")?;
                list(f, &all[..all.len().min(TOLD)])?;
                if all.len() > TOLD { write!(f, "\n    and {} more", all.len() - TOLD) } else { Ok(()) }
            }
        }
    }
}

impl std::error::Error for Unclear {}

/// Figures that are the same but for their side.
struct Group<'a> {
    figures: Vec<&'a AnswerFigure>,
    name: String,
    /// Whether the words asked are its name in full.
    named: bool,
    /// How many of them are no more than beginnings of its own.
    begun: usize,
}

impl<'a> Group<'a> {
    fn new(figure: &'a AnswerFigure, name: String, begun: usize, told: &[String]) -> Self {
        let side = figure.side.map(|hand| hand.to_string());
        let told = told.iter().filter(|word| Some(*word) != side.as_ref());
        Self { named: told.cloned().eq(words_of(&name)), figures: vec![figure], name, begun }
    }

    /// Whether it is one figure, or that of the left and that of the right side.
    fn is_one(&self) -> bool {
        match self.figures[..] {
            [_] => true,
            [a, b] => a.side.is_some() && b.side.is_some() && a.side != b.side,
            _ => false,
        }
    }

    /// Its name; where that says not enough, its figures by their places.
    fn names(&self) -> Vec<String> {
        let places = || self.figures.iter().map(|figure| figure.at.clone()).collect();
        if self.is_one() { vec![self.name.clone()] } else { places() }
    }

    /// The less the better.
    fn rank(&self) -> (bool, usize, usize) {
        (!self.named, self.begun, words_of(&self.name).count())
    }
}

impl AnswerFigures {
    /// The figure whose name has all of some `words`; of several the one that has them whole, and of those the one with the
    /// shortest name, so that a name in full is always enough. A JSON pointer is a name too.
    pub(super) fn find(&self, words: &str) -> Result<FoundFigure<'_>, Unclear> {
        let asked = words.trim();
        if let Some(figure) = self.all.iter().find(|figure| figure.at == asked || figure.at[1..] == *asked) {
            return Ok(FoundFigure { figures: vec![figure], name: name(figure, true), others: Vec::new() });
        }
        let vocabulary = Vocabulary::of(self);
        let told: Vec<String> = if asked.starts_with('/') { Vec::new() } else { words_of(asked).collect() };
        let mut groups: Vec<Group<'_>> = Vec::new();
        for figure in self.all.iter().filter(|_| !told.is_empty()) {
            let Some(begun) = vocabulary.begun(figure, &told) else { continue };
            let name = name(figure, false);
            match groups.iter_mut().find(|group| group.name == name) {
                Some(group) => group.figures.push(figure),
                None => groups.push(Group::new(figure, name, begun, &told)),
            }
        }
        groups.sort_by_cached_key(Group::rank);
        let Some(first) = groups.first() else { return Err(self.none_such(&vocabulary, asked, &told)) };
        let alike = groups.iter().take_while(|group| group.rank() == first.rank()).count();
        if alike > 1 || !first.is_one() {
            let all = groups.iter().flat_map(Group::names).collect();
            return Err(Unclear::Several { words: asked.to_owned(), all });
        }
        let name = if first.figures.len() == 1 { name(first.figures[0], true) } else { first.name.clone() };
        let others = groups[1..].iter().take(OTHERS).map(|group| group.name.clone()).collect();
        Ok(FoundFigure { figures: first.figures.clone(), name, others })
    }

    fn none_such(&self, vocabulary: &Vocabulary<'_>, asked: &str, told: &[String]) -> Unclear {
        /// Words more unlike than this are others.
        const ALIKE: f64 = 0.7;
        let strange: Vec<&String> = told.iter().filter(|told| !vocabulary.has(told)).collect();
        let like = |told: &&String| {
            let near = vocabulary.words().map(|word| (strsim::jaro_winkler(told, word), word));
            let near = near
                .filter(|(alike, _)| *alike > ALIKE)
                .max_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(b.1)));
            near.map(|(_, word)| word.clone())
        };
        let all: BTreeSet<String> = self.all.iter().map(|figure| own_name(&figure.key)).collect();
        Unclear::NoneSuch {
            words: asked.to_owned(),
            near: strange.iter().filter_map(like).collect(),
            all: all.into_iter().collect(),
        }
    }
}

/// The words that figures go by: those of their names and of their keys, and others by which the pages call them.
struct Vocabulary<'a>(HashMap<&'a NamePart, Vec<String>>);

impl<'a> Vocabulary<'a> {
    fn of(figures: &'a AnswerFigures) -> Self {
        let mut of = HashMap::new();
        for step in figures.all.iter().flat_map(|figure| &figure.steps) {
            of.entry(step).or_insert_with(|| step.words());
        }
        Self(of)
    }

    fn words(&self) -> impl Iterator<Item = &String> {
        self.0.values().flatten()
    }

    /// Whether any name has a word.
    fn has(&self, told: &str) -> bool {
        self.words().any(|word| says(told, word))
    }

    /// How many of some words are no more than beginnings of a figure's own; `None` where it does not go by all of them.
    fn begun(&self, figure: &AnswerFigure, told: &[String]) -> Option<usize> {
        let says = |told: &String| {
            let steps = figure.steps.iter().filter_map(|step| self.0.get(step));
            let mut found = steps.flatten().filter(|word| says(told, word)).peekable();
            found.peek()?;
            Some(usize::from(!found.any(|word| word == told)))
        };
        told.iter().map(says).sum()
    }
}

/// The words of a name, without its commas and capitals; a point is a part of a number, and parts words.
fn words_of(name: &str) -> impl Iterator<Item = String> {
    let parts = |word: &str| -> Vec<String> {
        let number = word.parse::<f64>().is_ok();
        word.split(|c| c == '.' && !number).map(str::to_lowercase).collect()
    };
    let words = name.split(|c: char| !(c.is_alphanumeric() || "+-.'".contains(c)));
    words.flat_map(parts).filter(|word| !word.is_empty())
}

/// Whether a word of a question says a word of a name: itself, its plural, or its beginning.
fn says(told: &str, word: &str) -> bool {
    const SHORTEST: usize = 3;
    let number = |text: &str| text.trim_start_matches('+').parse::<f64>().ok();
    told == word
        || told.strip_suffix('s') == Some(word)
        || told.len() >= SHORTEST && word.starts_with(told)
        || number(told).is_some_and(|told| number(word) == Some(told))
}

impl NamePart {
    /// Its words in the name of a figure.
    fn words(&self) -> Vec<String> {
        match self {
            Self::Key(key) => {
                let (_, plain) = Unit::of(key);
                let also = WORDS.also.get(plain).map_or("", String::as_str);
                let list = WORDS.lists.get(key).map_or("", String::as_str);
                let all = [plain.replace('_', " "), own_name(key), also.to_owned(), list.replace("{}", "")];
                all.iter().flat_map(|name| words_of(name)).collect()
            }
            Self::Side(hand) => vec![hand.to_string()],
            Self::Entry(name) => words_of(name).collect(),
        }
    }
}

/// What a key is called.
fn own_name(key: &str) -> String {
    let (_, own) = Unit::of(key);
    let called = WORDS.names.get(key).or_else(|| WORDS.names.get(own));
    called.cloned().unwrap_or_else(|| own.replace('_', " "))
}

/// What a figure is called: itself first, then what it is a figure of.
fn name(figure: &AnswerFigure, with_side: bool) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut list = "";
    for step in &figure.steps {
        match step {
            NamePart::Key(key) if *key == "sides" => {}
            NamePart::Key(key) => {
                list = key;
                parts.push(own_name(key));
            }
            NamePart::Entry(entry) => match WORDS.lists.get(std::mem::take(&mut list)) {
                Some(called) => {
                    parts.pop();
                    parts.push(called.replace("{}", entry));
                }
                None => parts.push(entry.clone()),
            },
            NamePart::Side(hand) if with_side => parts.insert(0, hand.to_string()),
            NamePart::Side(_) => {}
        }
    }
    parts.reverse();
    parts.join(", ")
}
