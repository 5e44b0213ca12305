//! What an interview says between two answers: the question, a note on an answer, what is still missing.

use std::fmt;

use super::words::{item, paragraph};

/// A question as it is put.
#[derive(Debug)]
pub struct QuestionPage<'a> {
    /// Which question of how many.
    pub place: [usize; 2],
    /// What it is about, in a few words.
    pub title: &'a str,
    /// What to measure, and where.
    pub ask: &'a str,
    /// Words that stand in it for the first time, with what they mean.
    pub words: &'a [(&'a str, &'a str)],
    /// How an answer looks.
    pub example: &'a str,
    /// What Enter alone does.
    pub enter: Option<&'a str>,
}

impl fmt::Display for QuestionPage<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [here, all] = self.place;
        writeln!(f, "\n[{here} of {all}] {}", self.title.to_uppercase())?;
        paragraph(f, self.ask)?;
        for (word, meaning) in self.words {
            item(f, "-", &format!("{word}: {meaning}"))?;
        }
        let enter = self.enter.map_or(String::new(), |enter| format!("  Enter alone: {enter}."));
        paragraph(f, &format!("For example: {}{enter}", self.example))
    }
}

/// A remark with a mark before it.
#[derive(Debug)]
pub struct NotePage<'a> {
    /// One word or sign.
    pub mark: &'a str,
    /// The remark.
    pub text: &'a str,
}

impl fmt::Display for NotePage<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        item(f, self.mark, self.text)
    }
}
