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
    /// Words that no figure goes by.
    pub(super) unknown: Vec<String>,
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
        /// What they are called in full.
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
                    "" => f.write_str("which figure? It goes by its words, such as \"camber left\"")?,
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
    /// How much of what it is was left unsaid.
    unsaid: f64,
}

impl Group<'_> {
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
}

impl AnswerFigures {
    /// The figure that `words` are the best name of.
    pub(super) fn find(&self, words: &str) -> Result<FoundFigure<'_>, Unclear> {
        let asked = words.trim();
        if let Some(figure) = self.all.iter().find(|figure| figure.at == asked || figure.at[1..] == *asked) {
            let name = name(figure, true);
            return Ok(FoundFigure { figures: vec![figure], name, others: Vec::new(), unknown: Vec::new() });
        }
        let vocabulary = Vocabulary::of(self);
        if asked.starts_with('/') {
            return Err(self.none_such(&vocabulary, asked, &[], &[]));
        }
        let (told, unknown) = vocabulary.known(told(asked));
        let fitting: Vec<(&AnswerFigure, f64)> = (self.all.iter())
            .filter_map(|figure| Some((figure, vocabulary.unsaid(figure, &told)?)))
            .collect();
        if fitting.is_empty() || told.is_empty() {
            return Err(self.none_such(&vocabulary, asked, &told, &unknown));
        }
        for (with_side, most) in [(false, 2), (true, 1)] {
            let is_name =
                |(figure, _): &&(&'_ AnswerFigure, f64)| plain(&name(figure, with_side)) == plain(asked);
            let figures: Vec<&AnswerFigure> =
                fitting.iter().filter(is_name).map(|(figure, _)| *figure).collect();
            if !figures.is_empty() && figures.len() <= most {
                let name = name(figures[0], figures.len() == 1);
                return Ok(FoundFigure { figures, name, others: Vec::new(), unknown: Vec::new() });
            }
        }
        let mut groups: Vec<Group<'_>> = Vec::new();
        for (figure, unsaid) in fitting {
            let name = name(figure, false);
            match groups.iter_mut().find(|group| group.name == name) {
                Some(group) => group.figures.push(figure),
                None => groups.push(Group { figures: vec![figure], name, unsaid }),
            }
        }
        groups.sort_by(|a, b| a.unsaid.total_cmp(&b.unsaid));
        let alike = groups.iter().filter(|group| group.unsaid <= groups[0].unsaid).count();
        if alike > 1 || !groups[0].is_one() {
            let all = groups[..alike].iter().flat_map(Group::names).collect();
            return Err(Unclear::Several { words: asked.to_owned(), all });
        }
        let others = groups[1..].iter().map(|group| group.name.clone());
        let first = &groups[0];
        let name = if first.figures.len() == 1 { name(first.figures[0], true) } else { first.name.clone() };
        let others = others.take(OTHERS).collect();
        Ok(FoundFigure { figures: first.figures.clone(), name, others, unknown })
    }

    fn none_such(
        &self,
        vocabulary: &Vocabulary<'_>,
        asked: &str,
        told: &[String],
        unknown: &[String],
    ) -> Unclear {
        /// Words more unlike than this are others.
        const ALIKE: f64 = 0.7;
        let strange = told.iter().filter(|told| !vocabulary.has(told)).chain(unknown);
        let strange: Vec<&String> = strange.collect();
        let like = |told: &&String| {
            let near = vocabulary.words.iter().map(|word| (strsim::jaro_winkler(told, word), word));
            let near = near.filter(|(alike, _)| *alike > ALIKE).max_by(|a, b| a.0.total_cmp(&b.0));
            near.map(|(_, word)| (*word).clone())
        };
        // Words that go together with others than these, or words that there are.
        let most = if strange.is_empty() { self.by_most(vocabulary, told) } else { Vec::new() };
        let all = || -> BTreeSet<String> { self.all.iter().map(|figure| own_name(&figure.key)).collect() };
        let near = strange.iter().filter_map(like).collect();
        let all = if most.is_empty() { all().into_iter().collect() } else { most };
        Unclear::NoneSuch { words: asked.to_owned(), near, all }
    }

    /// What goes by the most of some words.
    fn by_most(&self, vocabulary: &Vocabulary<'_>, told: &[String]) -> Vec<String> {
        let said = |figure: &AnswerFigure| {
            told.iter().filter(|told| vocabulary.says(figure, told).is_some()).count()
        };
        let most = self.all.iter().map(said).max().unwrap_or(0);
        let mut names: Vec<String> = Vec::new();
        for figure in self.all.iter().filter(|figure| most > 0 && said(figure) == most) {
            let name = name(figure, false);
            if !names.contains(&name) && names.len() < TOLD {
                names.push(name);
            }
        }
        names
    }
}

/// The words that are in the names of figures.
struct Vocabulary<'a> {
    /// By the steps of their names; those of a figure's own key apart.
    of: HashMap<(&'a NamePart, bool), Vec<(String, Cost)>>,
    /// Each of them once, in the order of the alphabet.
    words: BTreeSet<String>,
}

impl<'a> Vocabulary<'a> {
    fn of(figures: &'a AnswerFigures) -> Self {
        let mut of: HashMap<(&NamePart, bool), Vec<(String, Cost)>> = HashMap::new();
        for figure in &figures.all {
            for step in &figure.steps {
                of.entry((step, figure.is_own(step))).or_insert_with_key(|(step, own)| step.words(*own));
            }
        }
        let words = of.values().flatten().map(|(word, _)| word.clone()).collect();
        Self { of, words }
    }

    /// The words that are in a figure's name.
    fn words(&self, figure: &'a AnswerFigure) -> impl Iterator<Item = &(String, Cost)> {
        figure.steps.iter().filter_map(|step| self.of.get(&(step, figure.is_own(step)))).flatten()
    }

    fn says(&self, figure: &'a AnswerFigure, told: &str) -> Option<&str> {
        self.words(figure).map(|(word, _)| word.as_str()).find(|word| says(told, word))
    }

    /// Whether any name has a word.
    fn has(&self, told: &str) -> bool {
        self.words.contains(told) || self.words.iter().any(|word| says(told, word))
    }

    /// The words that figures go by, and those that none does. One that looks like a word that there is may be a slip, so it
    /// stays and nothing is found.
    fn known(&self, told: Vec<String>) -> (Vec<String>, Vec<String>) {
        const A_SLIP: f64 = 0.85;
        let slip = |told: &str| self.words.iter().any(|word| strsim::jaro_winkler(told, word) > A_SLIP);
        told.into_iter().partition(|told| self.has(told) || slip(told))
    }

    /// How much of a figure's name some words leave unsaid; `None` where it does not go by them.
    fn unsaid(&self, figure: &'a AnswerFigure, told: &[String]) -> Option<f64> {
        const WORD: f64 = 100.0;
        if told.iter().any(|told| self.says(figure, told).is_none()) {
            return None;
        }
        let mut counted: Vec<&str> = Vec::new();
        let mut unsaid = 0.0;
        for (word, cost) in self.words(figure) {
            // A word that stands twice is said once.
            if counted.contains(&word.as_str()) || told.iter().any(|told| says(told, word)) {
                continue;
            }
            counted.push(word);
            unsaid += match cost {
                Cost::Nothing => 0.0,
                Cost::Slight => 0.1,
                Cost::Number(number) => 1.0 + number.abs() / WORD,
                #[expect(clippy::cast_precision_loss, reason = "a place in a short list")]
                Cost::Meant(place) => 2.0 + *place as f64,
                Cost::Word => WORD,
            };
        }
        Some(unsaid)
    }
}

/// A name without its commas and capitals.
fn plain(name: &str) -> String {
    name.replace(',', " ").to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The words of a question that say something.
fn told(words: &str) -> Vec<String> {
    let part = |c: char| !(c.is_alphanumeric() || "+-.'".contains(c));
    // A point is a part of a number, and parts words.
    let parts = |word: &str| -> Vec<String> {
        if word.parse::<f64>().is_ok() {
            vec![word.to_owned()]
        } else {
            word.split('.').map(str::to_owned).collect()
        }
    };
    let words = words.split(part).flat_map(parts).map(|word| word.to_lowercase());
    words.filter(|word| !word.is_empty() && !WORDS.idle.contains(word)).collect()
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

/// What a word of a name costs that was left unsaid.
#[derive(Clone, Copy)]
enum Cost {
    /// A word like any other.
    Word,
    /// One that says nothing by itself.
    Nothing,
    /// One of a longer name, which another figure may share but for this word.
    Slight,
    /// One that is meant where a question leaves it open, by its place among these.
    Meant(usize),
    /// The place in a list, or a number that names an entry.
    Number(f64),
}

impl AnswerFigure {
    fn is_own(&self, step: &NamePart) -> bool {
        matches!(step, NamePart::Key(key) if *key == self.key)
    }
}

impl NamePart {
    /// Its words in the name of a figure; `own`: it is the figure's own key.
    fn words(&self, own: bool) -> Vec<(String, Cost)> {
        let mut words: Vec<(String, Cost)> = Vec::new();
        match self {
            Self::Key(key) => {
                let list = WORDS.lists.contains_key(key) && !own && *key != "right_links";
                let (_, plain) = Unit::of(key);
                let meant = WORDS.meant.iter().position(|meant| meant == plain);
                let cost = match meant {
                    _ if list || *key == "sides" => Cost::Nothing,
                    Some(place) => Cost::Meant(place),
                    None => Cost::Word,
                };
                // What is said by several words is left unsaid once.
                words.extend(plain.split('_').enumerate().map(|(i, word)| {
                    let cost = if i > 0 && meant.is_some() { Cost::Nothing } else { cost };
                    (word.to_owned(), cost)
                }));
                let also = WORDS.also.get(plain).map_or("", String::as_str);
                for (called, cost) in [(own_name(key).as_str(), Cost::Slight), (also, Cost::Nothing)] {
                    let called = called.split([' ', ',']).filter(|word| !word.is_empty());
                    words.extend(called.map(|word| (word.to_owned(), cost)));
                }
            }
            Self::Side(hand) => words.push((hand.to_string(), Cost::Nothing)),
            Self::Entry(name) => {
                let meant = WORDS.meant.iter().position(|meant| meant == name);
                let named = name.to_lowercase();
                let mut numbered = false;
                for word in named.split([' ', ',']).filter(|word| !word.is_empty()) {
                    let cost = match (word.parse::<f64>(), meant) {
                        (Ok(number), _) => Cost::Number(number),
                        // What a height is called beside its figure.
                        (Err(_), _) if numbered => Cost::Nothing,
                        (Err(_), Some(place)) => Cost::Meant(place),
                        (Err(_), None) => Cost::Word,
                    };
                    numbered = matches!(cost, Cost::Number(_)) || numbered;
                    words.push((word.to_owned(), cost));
                }
            }
        }
        words
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
