//! How many links there are, what they are called, and what overrides which.

use std::ops::Range;
use toml::Spanned;

use super::checker::Checker;
use super::member::freedoms;
use crate::profile::finding::{Finding, is_hidden};
use crate::profile::keys::{Link, Member, Profile, Right};

impl Checker {
    /// Number and names of the links and of their overrides; `None` where there are so many that looking at each would
    /// only repeat it.
    pub(super) fn names(&mut self, profile: &Profile) -> Option<()> {
        let links = Profile::link.all(profile);
        let count = links.len();
        let overrides = Profile::right.of(profile).map_or(&[][..], |right| Right::link.all(right.get_ref()));
        if count != 5 {
            let place = links.get(5).or(links.last());
            let tell = if count < 5 { Finding::gap } else { Finding::error };
            let place = place.map_or(0..0, Spanned::span);
            let members: Vec<Member> = links.iter().map(|link| link.get_ref().member()).collect();
            let finding = if members.iter().all(|member| *member == Member::Rod) {
                tell(place, format!("a wheel hangs on five links, this profile has {count}"))
                    .label(["", "the last one", "the sixth"][usize::from(count > 0) + usize::from(count > 5)])
                    .help("a wide arm with one outer joint is two links that share their knuckle point")
            } else {
                let (headline, help) = freedoms(&members);
                tell(place, headline).help(help)
            };
            self.tell(finding);
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
        for link in Profile::link.all(profile) {
            let Some(spanned) = Link::name.of(link.get_ref()) else {
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

    fn overrides(&mut self, overrides: &[Spanned<Link>], names: &[String]) {
        let known: Vec<&str> = names.iter().map(String::as_str).collect();
        let mut seen: Vec<&str> = Vec::new();
        for link in overrides {
            let Some(name) = Link::name.of(link.get_ref()) else {
                self.tell(
                    Finding::error(link.span(), "this override does not say which link it changes")
                        .help(format!("add `name = \"...\"` with one of: {}", known.join(", "))),
                );
                continue;
            };
            let (text, span) = (name.get_ref().trim(), name.span());
            if !known.contains(&text) {
                self.tell(Finding::unknown(span, "link", text, &known));
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
