//! How many links there are, what they are called, and what overrides which.

use std::ops::Range;
use toml::Spanned;

use super::Checker;
use crate::profile::finding::{Finding, is_hidden, nearest};
use crate::profile::schema::{self, Profile};

impl Checker {
    /// Number and names of the links and of their overrides; `None` where there are so many that looking at each would
    /// only repeat it.
    pub(super) fn names(&mut self, profile: &Profile) -> Option<()> {
        let count = profile.link.len();
        let overrides = profile.right.as_ref().map_or(&[][..], |right| &right.get_ref().link);
        if count != 5 {
            let place = profile.link.get(5).or(profile.link.last());
            let tell = if count < 5 { Finding::gap } else { Finding::error };
            self.tell(
                tell(
                    place.map_or(0..0, Spanned::span),
                    format!("a wheel hangs on five links, this profile has {count}"),
                )
                .label(["", "the last one", "the sixth"][usize::from(count > 0) + usize::from(count > 5)])
                .help("a wide arm with one outer joint is two links that share their knuckle point"),
            );
        }
        if let Some(sixth) = overrides.get(5) {
            let text = format!("five links can be overridden, [right] has {}", overrides.len());
            self.tell(Finding::error(sixth.span(), text).label("the sixth"));
        }
        if count > 5 || overrides.len() > 5 {
            return None;
        }
        let names = self.links(profile);
        self.overrides(overrides, &names);
        Some(())
    }

    fn links(&mut self, profile: &Profile) -> Vec<String> {
        let mut names: Vec<(String, Range<usize>)> = Vec::new();
        for link in &profile.link {
            let Some(spanned) = &link.get_ref().name else {
                self.tell(Finding::gap(link.span(), "this link has no name").help("add `name = \"...\"`"));
                continue;
            };
            let Some(name) = self.name(spanned) else { continue };
            if let Some((_, first)) = names.iter().find(|(other, _)| *other == name) {
                self.findings.push(
                    Finding::error(spanned.span(), format!("two links are called \"{name}\""))
                        .label("the second")
                        .other(first.clone(), "the first"),
                );
            }
            names.push((name, spanned.span()));
        }
        names.into_iter().map(|(name, _)| name).collect()
    }

    fn overrides(&mut self, overrides: &[Spanned<schema::Link>], names: &[String]) {
        let known: Vec<&str> = names.iter().map(String::as_str).collect();
        let mut seen: Vec<&str> = Vec::new();
        for link in overrides {
            let Some(name) = &link.get_ref().name else {
                self.tell(
                    Finding::error(link.span(), "this override does not say which link it changes")
                        .help(format!("add `name = \"...\"` with one of: {}", known.join(", "))),
                );
                continue;
            };
            let (text, span) = (name.get_ref().trim(), name.span());
            if !known.contains(&text) {
                let near = nearest(text, &known);
                self.tell(
                    Finding::error(span, format!("there is no link called {text:?}"))
                        .label(near.map_or(String::new(), |near| format!("did you mean \"{near}\"?")))
                        .help(format!("the links are: {}", known.join(", "))),
                );
            } else if seen.contains(&text) {
                self.tell(
                    Finding::error(span, format!("\"{text}\" is overridden twice"))
                        .help("put both changes into one [[right.link]]"),
                );
            }
            seen.push(text);
        }
    }

    /// A line of text that can stand on a page.
    pub(in crate::profile) fn line(&mut self, text: &Spanned<String>) -> Option<String> {
        const LONGEST: usize = 200;
        let line = text.get_ref().trim();
        if line.chars().count() > LONGEST || line.chars().any(is_hidden) {
            let headline = "this must be one line of at most 200 characters, without control characters";
            self.tell(Finding::error(text.span(), headline));
            return None;
        }
        Some(line.to_owned())
    }

    /// A name that can stand on a page, in a message and in a list on the command line.
    pub(super) fn name(&mut self, name: &Spanned<String>) -> Option<String> {
        const LONGEST: usize = 60;
        let text = name.get_ref().trim();
        let wrong = if text.is_empty() || text == "none" {
            "a name must not be empty or \"none\""
        } else if text.chars().count() > LONGEST {
            "a name must not be longer than 60 characters: it stands in every table"
        } else if text.contains(',') || text.chars().any(is_hidden) {
            "a name must not have commas or control characters in it"
        } else {
            return Some(text.to_owned());
        };
        self.tell(Finding::error(name.span(), wrong));
        None
    }
}
