//! What is wrong with a profile, and where.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::collections::HashSet;
use std::fmt;
use std::ops::Range;

use super::outline::TextOutline;

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// The profile cannot be used.
    Error,
    /// The profile can be used, but this looks like a slip.
    Warning,
}

/// Something that would help, beside the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Remedy {
    /// To begin a survey.
    BeginSurvey,
    /// To work out the points of the survey that the file is.
    WorkOutSurvey,
}

/// One thing that is wrong or odd, and its place in the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// One sentence that names the thing.
    pub headline: String,
    /// The key it is about, as a dotted path; links go by their names.
    pub key: Option<String>,
    /// Bytes of the text it is about.
    pub(crate) span: Range<usize>,
    /// What stands there.
    pub label: String,
    /// Other places that have to do with it.
    pub(crate) others: Vec<(Range<usize>, String)>,
    /// What to do.
    pub help: Option<String>,
    /// What else would do it, to be put into words by who knows how that is asked for.
    pub(crate) remedy: Option<Remedy>,
    /// Whether something is only not there yet, rather than wrong.
    pub is_gap: bool,
}

impl Finding {
    /// An error at a place.
    pub(super) fn error(span: Range<usize>, headline: impl Into<String>) -> Self {
        Self {
            severity: Severity::Error,
            headline: headline.into(),
            key: None,
            span,
            label: String::new(),
            others: Vec::new(),
            help: None,
            remedy: None,
            is_gap: false,
        }
    }

    /// Something that must be there and is not.
    pub(super) fn gap(span: Range<usize>, headline: impl Into<String>) -> Self {
        Self { is_gap: true, ..Self::error(span, headline) }
    }

    /// A warning at a place.
    pub(super) fn warning(span: Range<usize>, headline: impl Into<String>) -> Self {
        Self { severity: Severity::Warning, ..Self::error(span, headline) }
    }

    /// The same, told only as odd.
    #[must_use]
    pub(crate) fn into_warning(self) -> Self {
        Self { severity: Severity::Warning, ..self }
    }

    pub(super) fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    pub(super) fn other(mut self, span: Range<usize>, label: impl Into<String>) -> Self {
        self.others.push((span, label.into()));
        self
    }

    pub(super) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// With what may have been meant, as a question before what else would help.
    pub(super) fn asking(self, question: Option<String>) -> Self {
        let Some(question) = question else { return self };
        let else_ = self.help.as_ref().map_or(String::new(), |help| format!(" If not: {help}"));
        Self { help: Some(question + &else_), ..self }
    }

    pub(super) fn remedy(self, remedy: Remedy) -> Self {
        Self { remedy: Some(remedy), ..self }
    }

    /// A name that nothing goes by; `what` it would be of, and the names that there are.
    pub(super) fn unknown(span: Range<usize>, what: &str, name: &str, known: &[&str]) -> Self {
        let near = nearest(name, known);
        Self::error(span, format!("there is no {what} called {name:?}"))
            .label(near.map_or(String::new(), |near| format!("did you mean \"{near}\"?")))
            .help(format!("the {what}s are: {}", known.join(", ")))
    }

    /// An error from what is wrong and, behind a semicolon, what to do.
    pub(super) fn of_words(span: Range<usize>, words: &str) -> Self {
        match words.split_once("; ") {
            Some((headline, help)) => Self::error(span, headline).help(help),
            None => Self::error(span, words),
        }
    }

    /// What the TOML parser or serde did not accept.
    pub(super) fn of_toml(error: &toml::de::Error, text: &str) -> Self {
        let span = error.span().unwrap_or(0..0);
        let message = error.message();
        // serde writes: unknown field `x`, expected one of `a`, `b`
        let quoted: Vec<&str> = message.split('`').skip(1).step_by(2).collect();
        match (message.split_once(" `").map(|(head, _)| head), quoted.split_first()) {
            (Some(head @ ("unknown field" | "unknown variant")), Some((wrong, known))) => {
                let what = if head == "unknown field" { "key" } else { "value" };
                Self::error(span, format!("there is no {what} `{wrong}` here"))
                    .label(
                        nearest(wrong, known)
                            .map_or(format!("unknown {what}"), |near| format!("did you mean `{near}`?")),
                    )
                    .help(format!("possible here: {}", known.join(", ")))
            }
            _ if message.starts_with("duplicate") => {
                let key = text.get(span.clone()).unwrap_or_default().trim();
                Self::error(span, format!("`{key}` stands twice"))
                    .label("the second time")
                    .help("keep one of the two")
            }
            _ => {
                let message = message.lines().next().unwrap_or("this is not TOML");
                // serde's words for what a garage calls otherwise.
                let message = message
                    .replace("invalid type: ", "this is of the wrong kind: ")
                    .replace("expected i64", "expected a whole number")
                    .replace(": map,", ": a table,")
                    .replace("expected a map", "expected a table")
                    .replace(": sequence,", ": a list,")
                    .replace("expected a sequence", "expected a list such as [0.0, 445.0, 450.0]");
                if message.contains("; ") {
                    Self::of_words(span, &message)
                } else if let Some((headline, expected)) = message.split_once(", expected ") {
                    let value = text.get(span.clone()).unwrap_or_default();
                    let bare =
                        expected == "a string" && !value.is_empty() && !value.contains(['\n', '[', '{']);
                    let finding = Self::error(span, headline).label(format!("expected {expected}"));
                    if bare { finding.help(format!("put it in quotes: \"{value}\"")) } else { finding }
                } else {
                    Self::error(span, message)
                }
            }
        }
    }

    /// The finding as text, with the lines it points at; `path` is the name of the file. Coloured on request.
    pub fn render(&self, path: &str, text: &str, colour: bool) -> String {
        // A span at the very end of a file has no line of its own to show.
        let clip = |span: &Range<usize>| span.start.min(text.len())..span.end.min(text.len());
        let plain =
            |text: &str| text.chars().map(|c| if is_hidden(c) { '\u{fffd}' } else { c }).collect::<String>();
        // As many bytes as before, so that the places stay where they are.
        let blank = |c: char| match c {
            '\n' => "\n".to_owned(),
            // Only part of how the line ends.
            '\r' => " ".to_owned(),
            c if is_hidden(c) => "?".repeat(c.len_utf8()),
            c => c.to_string(),
        };
        let text: String = text.chars().map(blank).collect();
        let others: Vec<_> = self.others.iter().map(|(span, label)| (clip(span), plain(label))).collect();
        let [title, label] = [&self.title(), &self.label].map(|text| plain(text));
        let help = self.help.as_deref().map(plain);
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
        };
        let mut snippet = Snippet::source(&text)
            .path(plain(path))
            .annotation(AnnotationKind::Primary.span(clip(&self.span)).label(label.as_str()));
        for (span, label) in &others {
            snippet = snippet.annotation(AnnotationKind::Context.span(span.clone()).label(label.as_str()));
        }
        let mut group = level.primary_title(title).element(snippet);
        if let Some(help) = &help {
            group = group.element(Level::HELP.message(help.as_str()));
        }
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        renderer.render(&[group])
    }

    /// The headline behind its key.
    pub fn title(&self) -> String {
        match &self.key {
            Some(key) => format!("{key}: {}", self.headline),
            None => self.headline.clone(),
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.title())?;
        self.help.iter().try_for_each(|help| write!(f, "; {help}"))
    }
}

impl std::error::Error for Finding {}

/// Whether a character would do something to a terminal rather than be seen: control characters, line separators, and
/// those that turn the direction of writing.
pub(crate) fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

/// The candidate most like a word, if any is alike at all.
pub(crate) fn nearest<'a>(word: &str, candidates: &[&'a str]) -> Option<&'a str> {
    const ALIKE: f64 = 0.7;
    candidates
        .iter()
        .map(|candidate| (strsim::jaro_winkler(&word.to_lowercase(), &candidate.to_lowercase()), *candidate))
        .filter(|(alike, _)| *alike >= ALIKE)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate)
}

/// Gives every finding the path of its key, and puts them in the order of the text without repeats.
pub(super) fn locate(findings: &mut Vec<Finding>, text: &str) {
    if findings.is_empty() {
        return;
    }
    let outline = TextOutline::recovered(text);
    for finding in findings.iter_mut().filter(|finding| !finding.span.is_empty()) {
        finding.key = outline.around(&finding.span).map(str::to_owned);
    }
    findings.sort_by_key(|finding| (finding.severity as u8, finding.span.start));
    // The right side inherits most values, and their faults with them.
    let mut seen = HashSet::new();
    findings.retain(|finding| seen.insert((finding.span.start, finding.span.end, finding.headline.clone())));
}
