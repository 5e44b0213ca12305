//! Files to fill in, written from the declarations.
//!
//! What waits for a figure stands behind `#=`, what is only offered behind `#`. What stands at the head of a file is for the
//! caller to say.

use super::key::{Answer, Declared, Key, KeyTable, Kind, Need};
use super::readable::Readable as _;
use super::record::Record;
use super::{EXAMPLES, Link, LinkExample, Member, Profile, Seen, Survey};
use toml::Spanned;

/// Where comments begin.
const COLUMN: usize = 32;
/// No line of a starter is longer.
const WIDTH: usize = 128;
/// A name that is asked for where the car already has one.
const NAMED: &str = "name = \"my car\"";
/// What stands before the lists of a survey.
const LISTS: &str = "---- what was measured ---------------------------------------------------------------------------------------\n\
    The points: \"wheel centre\", and for each link \"NAME subframe\" and \"NAME knuckle\", the middles of its bolts on the left side. \
    The counterpart on the other side is \"right NAME subframe\". Measure everything once, some of it twice in another way: only what is \
    measured in two ways can be checked.";
const WAITS: &str = "#= ";
const OFFERED: &str = "# ";

/// A profile to fill in by hand, with all that may stand in it; of a car whose wheels hang on other than five rods with its `members` as
/// a file has them to fill in.
pub fn profile_starter(head: &str, members: Option<&str>) -> String {
    let mut page = StarterText::of(head);
    for key in shown(&Profile::TABLE) {
        match key.kind {
            Kind::Table(table) if key.name == Profile::right.key.name => page.right(key, table),
            Kind::Table(table) => page.table(key, table),
            Kind::Tables(table, _) if key.name == Profile::link.key.name => {
                if let Some(members) = members {
                    page.members(members);
                } else {
                    page.heading(key);
                    EXAMPLES.iter().enumerate().for_each(|(i, link)| page.link(table, link, i == 0));
                }
            }
            Kind::Tables(table, _) => page.shapes(key, table),
            _ => {}
        }
    }
    page.text
}

/// A profile to be filled in by questions: nothing in it that none asks for.
pub fn interview_starter(head: &str, members: Option<&str>) -> String {
    let mut page = StarterText::of(head);
    page.asked(true, members);
    page.text
}

/// A survey to fill in: what is asked for, with lists of what to measure in the place of the points.
pub fn survey_starter(head: &str, name_waits: bool, members: Option<&str>) -> String {
    let mut page = StarterText::of(head);
    page.asked(false, members);
    let links = links(members);
    if !name_waits {
        page.text = page.text.replacen(&format!("{WAITS}{NAMED}"), &format!("{NAMED}   "), 1);
    }
    page.comment(LISTS);
    page.text += "\n[survey]\n";
    let mut number = 0;
    for key in shown(&Survey::TABLE) {
        let entries = Seen::starts(key, &links);
        if entries.is_empty() {
            let value = if key.question.is_some() || matches!(key.kind, Kind::List(_)) {
                format!("[{}]", key.example)
            } else {
                key.example.to_owned()
            };
            match key.kind {
                Kind::Table(table) => {
                    page.text += "\n";
                    page.line(OFFERED, &format!("[survey.{}]", key.name), key.meaning);
                    page.keys(table, OFFERED);
                    page.text += "\n";
                }
                _ => page.line(OFFERED, &format!("{} = {value}", key.name), key.meaning),
            }
            continue;
        }
        number += 1;
        page.comment(&format!("{number}. {}: {}", key.name, key.meaning.trim()));
        page.text += &format!("{} = [\n  {}\n]\n", key.name, entries.join("\n  "));
    }
    page.text
}

/// The links of a file by their names, and what they are.
fn links(members: Option<&str>) -> Vec<(String, Member)> {
    let Some(members) = members else {
        return EXAMPLES.iter().map(|link| (link.name.to_owned(), Member::Rod)).collect();
    };
    let profile = Profile::of_text(members).unwrap_or_default().spread();
    let named = |link: &Spanned<Link>| {
        Some((Link::name.of(link.get_ref())?.get_ref().clone(), link.get_ref().member()))
    };
    Profile::link.all(&profile).iter().filter_map(named).collect()
}

/// A record to fill in.
pub fn record_starter(head: &str) -> String {
    let mut page = StarterText::of(head);
    for key in shown(&Record::TABLE) {
        match key.kind {
            Kind::Table(table) => page.table(key, table),
            Kind::Tables(table, _) => {
                page.text += &format!("\n[[{}]]\n", key.name);
                page.nested(table, key.name, false);
            }
            _ => {}
        }
    }
    page.text
}

fn shown(table: &'static KeyTable) -> impl Iterator<Item = &'static Key> {
    table.keys.iter().copied().filter(|key| key.shown)
}

/// Whether an interview asks for something in a table.
fn waits(key: &Key) -> bool {
    key.question.is_some() || matches!(key.need, Need::Wanted | Need::Set)
}

/// What stands behind a key as an example; a table in braces where it says no more.
pub(super) fn example(key: &Key) -> String {
    match (key.example, key.table()) {
        ("{}", Some(table)) => {
            let inside: Vec<String> =
                shown(table).map(|key| format!("{} = {}", key.name, example(key))).collect();
            format!("{{ {} }}", inside.join(", "))
        }
        (example, _) => example.to_owned(),
    }
}

/// A starter as far as it is written.
struct StarterText {
    text: String,
    /// Tables that were shown with their comments.
    told: Vec<&'static str>,
}

impl StarterText {
    fn of(head: &str) -> Self {
        Self { text: format!("{}\n\nformat = 1\n", head.trim_end()), told: Vec::new() }
    }

    /// A line with its comment in the column, or wrapped below it.
    fn line(&mut self, mark: &str, content: &str, comment: &str) {
        let mut line = format!("{mark}{content}");
        let comment = comment.trim();
        let mut words = comment.split_whitespace().peekable();
        while words.peek().is_some() {
            let column = line.chars().count().max(COLUMN - 1) + 1;
            line += &" ".repeat(column - line.chars().count());
            line += "#";
            while let Some(word) = words.next_if(|word| line.chars().count() + word.chars().count() < WIDTH) {
                line += &format!(" {word}");
            }
            self.text += &format!("{line}\n");
            "#".clone_into(&mut line);
        }
        if comment.is_empty() {
            self.text += &format!("{line}\n");
        }
    }

    /// Prose of its own, after an empty line.
    fn comment(&mut self, text: &str) {
        self.text += "\n";
        for paragraph in text.trim().lines() {
            let mut line = "#".to_owned();
            for word in paragraph.split_whitespace() {
                if line.chars().count() + word.chars().count() >= WIDTH {
                    self.text += &format!("{line}\n");
                    "#".clone_into(&mut line);
                }
                line += &format!(" {word}");
            }
            self.text += &format!("{line}\n");
        }
    }

    /// What holds the wheel, as it stands in a text.
    fn members(&mut self, text: &str) {
        let title = "---- what holds the wheel: a rod once, a wishbone, a blade and a strut twice, five times in all ----------------";
        self.comment(title);
        self.text += text;
    }

    /// The heading of what a key begins.
    fn heading(&mut self, key: &Key) {
        let optional = if key.need == Need::Not && !waits(key) { "optional: " } else { "" };
        let meaning = key.meaning.trim();
        let (first, rest) = meaning.split_once(": ").unwrap_or((meaning.trim_end_matches('.'), ""));
        let [first, rest] =
            [(first, char::to_ascii_lowercase as fn(&char) -> char), (rest, char::to_ascii_uppercase)].map(
                |(text, to)| {
                    text.chars().take(1).map(|c| to(&c)).chain(text.chars().skip(1)).collect::<String>()
                },
            );
        let head = format!("# ---- {optional}{first} ");
        self.text += &format!("\n{head:-<100}\n");
        if !rest.is_empty() {
            let before = self.text.len();
            self.comment(&rest);
            self.text.remove(before);
        }
    }

    /// The keys of a table that are plain values, all behind one mark.
    fn keys(&mut self, table: &'static KeyTable, mark: &str) {
        for key in shown(table) {
            self.line(mark, &format!("{} = {}", key.name, example(key)), key.meaning);
        }
    }

    /// A table of the whole file: one that waits for figures stands, any other is offered.
    fn table(&mut self, key: &'static Key, table: &'static KeyTable) {
        if !table.keys.iter().any(|key| waits(key)) {
            let small = key.table().is_some_and(|table| table.name == super::Sigma::TABLE.name);
            if !small {
                self.heading(key);
            }
            self.text += "\n";
            self.line(OFFERED, &format!("[{}]", key.name), if small { key.meaning } else { "" });
            self.keys(table, OFFERED);
            return;
        }
        self.text += "\n";
        self.line("", &format!("[{}]", key.name), key.meaning);
        for key in shown(table) {
            self.line(mark(key), &format!("{} = {}", key.name, example(key)), key.meaning);
        }
    }

    /// A link; the first one with all that may be said of it.
    fn link(&mut self, table: &'static KeyTable, link: &LinkExample, whole: bool) {
        self.text += "\n[[link]]\n";
        let comment = |key: &Key| if whole { key.meaning } else { "" };
        let (tables, plain): (Vec<&Key>, Vec<&Key>) =
            shown(table).partition(|key| key.table().is_some() && key.example.is_empty());
        let mut ends = link.ends.iter();
        for key in plain {
            let given = match key.question.map(|question| question.answer) {
                Some(Answer::Point) => ends.next().map(|end| (WAITS, (*end).to_owned())),
                _ if key.need == Need::Always => Some(("", format!("\"{}\"", link.name))),
                _ => match key.kind {
                    Kind::Choice(_) => link.sets.map(|sets| ("", format!("\"{sets}\""))),
                    _ => whole.then(|| (OFFERED, example(key))),
                },
            };
            if let Some((mark, value)) = given {
                self.line(mark, &format!("{} = {value}", key.name), comment(key));
            }
        }
        for key in tables.into_iter().filter(|_| whole) {
            self.text += "\n";
            self.line(OFFERED, &format!("[link.{}]", key.name), key.meaning);
            self.keys(key.table().unwrap_or(table), OFFERED);
        }
    }

    /// A shape of each kind.
    fn shapes(&mut self, key: &'static Key, table: &'static KeyTable) {
        self.heading(key);
        let kinds = table.keys.iter().find_map(|key| match key.kind {
            Kind::Choice(kinds) => Some(kinds),
            _ => None,
        });
        for (i, kind) in kinds.into_iter().flatten().enumerate() {
            self.text += &format!("\n{OFFERED}[[{}]]\n", key.name);
            let comment = |key: &Key| if i == 0 || !key.of.is_empty() { key.meaning } else { "" };
            for key in shown(table) {
                let value = match key.kind {
                    Kind::Choice(_) => format!("\"{kind}\""),
                    Kind::Text if i > 0 => format!("\"a {kind}\""),
                    _ if key.of.is_empty() && i > 0 || !key.of.is_empty() && !key.of.contains(kind) => {
                        continue;
                    }
                    _ => example(key),
                };
                self.line(OFFERED, &format!("{} = {value}", key.name), comment(key));
            }
        }
    }

    /// What is different on the right.
    fn right(&mut self, key: &'static Key, table: &'static KeyTable) {
        self.heading(key);
        for key in shown(table) {
            let Some(inner) = key.table() else { continue };
            let asked: Vec<_> = inner.keys.iter().filter_map(|key| Some((key, key.right?))).collect();
            if let (false, Kind::Table(_)) = (asked.is_empty(), key.kind) {
                self.text += "\n";
                self.line(OFFERED, &format!("[right.{}]", key.name), key.meaning);
                for (key, question) in asked {
                    self.line(OFFERED, &format!("{} = {}", key.name, question.example), "");
                }
            } else if let Kind::Tables(..) = key.kind {
                self.text += "\n";
                self.line(OFFERED, &format!("[[right.{}]]", key.name), key.meaning);
                self.text += "# name = \"upper\"\n# subframe = [0.0, -441.0, 450.0]\n";
                for table in inner.keys.iter().filter(|key| matches!(key.kind, Kind::Table(_))) {
                    for (of, question) in table
                        .table()
                        .iter()
                        .flat_map(|table| table.keys)
                        .filter_map(|key| Some((key, key.right?)))
                    {
                        self.text += "\n";
                        self.line(
                            OFFERED,
                            &format!("[right.{}.{}]", key.name, table.name),
                            question.title.rsplit(": ").next().unwrap_or(""),
                        );
                        self.line(OFFERED, &format!("{} = {}", of.name, question.example), "");
                    }
                }
            }
        }
    }

    /// What an interview asks for, with or without points.
    fn asked(&mut self, points: bool, members: Option<&str>) {
        let is_point = |key: &Key| {
            key.question.is_some_and(|question| matches!(question.answer, Answer::Point | Answer::Centre))
        };
        let asked = |table: &'static KeyTable| {
            shown(table).filter(move |key| key.question.is_some() && (points || !is_point(key)))
        };
        for key in shown(&Profile::TABLE) {
            let Kind::Table(table) = key.kind else { continue };
            if asked(table).next().is_none() {
                continue;
            }
            self.text += "\n";
            let mark = if key.question.is_some() { WAITS } else { "" };
            self.line(mark, &format!("[{}]", key.name), key.meaning);
            for key in asked(table) {
                self.line(WAITS, &format!("{} = {}", key.name, key.example), key.meaning);
            }
            let right: Vec<_> = asked(table).filter_map(|key| Some((key, key.right?))).collect();
            if !right.is_empty() {
                self.text += "\n";
                self.line(WAITS, &format!("[right.{}]", key.name), "left out: as on the left");
                for (key, question) in right {
                    self.line(WAITS, &format!("{} = {}", key.name, question.example), "");
                }
            }
        }
        if let Some(members) = members {
            let is_point = |line: &&str| {
                Link::ENDS.iter().any(|end| line.starts_with(&format!("{WAITS}{} =", end.key.name)))
            };
            let lines = members.lines().filter(|line| points || !is_point(line));
            return self.members(&lines.flat_map(|line| [line, "\n"]).collect::<String>());
        }
        self.heading(Profile::link.key);
        let Some(table) = Profile::link.key.table() else { return };
        for (i, link) in EXAMPLES.iter().enumerate() {
            self.text += &format!("\n[[link]]\nname = \"{}\"\n", link.name);
            if let Some(sets) = link.sets {
                let comment = shown(table).find(|key| matches!(key.kind, Kind::Choice(_)) && i == 0);
                self.line("", &format!("sets = \"{sets}\""), comment.map_or("", |key| key.meaning));
            }
            let comment = |key: &Key| if i == 0 { key.meaning } else { "" };
            for (key, end) in asked(table).filter(|key| is_point(key)).zip(link.ends) {
                self.line(WAITS, &format!("{} = {end}", key.name), comment(key));
            }
            for inner in asked(table).filter(|key| key.table().is_some()) {
                let is_arm = inner.table().is_some_and(|table| table.name == super::Arm::TABLE.name);
                let mut lengths = link.arm.iter().flatten();
                if is_arm && link.arm.is_none() {
                    continue;
                }
                self.text += "\n";
                self.line(WAITS, &format!("[link.{}]", inner.name), comment(inner));
                for key in inner.table().into_iter().flat_map(asked) {
                    let value = match key.question.map(|question| question.answer) {
                        Some(Answer::Along) => link.along.to_owned(),
                        Some(Answer::Engaged) => key.example.replace("235.0", lengths.next().unwrap_or(&"")),
                        Some(Answer::One) if is_arm => (*lengths.next().unwrap_or(&"")).to_owned(),
                        _ if key.right.is_some() && i > 0 => "0.0".to_owned(),
                        _ => key.example.to_owned(),
                    };
                    self.line(WAITS, &format!("{} = {value}", key.name), comment(key));
                }
            }
        }
        self.comment(
            "---- the right side's cams: how each was found, where that is otherwise than on the left; asked for where the link has a cam\n\
             Other things of the right side go here too, by the same keys.",
        );
        for (i, link) in EXAMPLES.iter().enumerate() {
            self.text += &format!("\n{WAITS}[[right.link]]\n{WAITS}name = \"{}\"\n", link.name);
            for inner in asked(table) {
                for (key, question) in
                    inner.table().into_iter().flat_map(asked).filter_map(|key| Some((key, key.right?)))
                {
                    let value = if i == 0 { question.example } else { "0.0" };
                    let comment = if i == 0 { "from the middle, by the words of the left one" } else { "" };
                    self.line(WAITS, &format!("{}.{} = {value}", inner.name, key.name), comment);
                }
            }
        }
    }

    /// The keys of a table with tables in it; of one that was shown before only what waits.
    fn nested(&mut self, table: &'static KeyTable, path: &str, is_right: bool) {
        let told = self.told.contains(&table.name);
        self.told.push(table.name);
        let has_header = |key: &&Key| {
            matches!(key.kind, Kind::Settings) || key.table().is_some() && key.example.is_empty()
        };
        let (tables, plain): (Vec<&Key>, Vec<&Key>) = shown(table).partition(has_header);
        for key in plain {
            let value = match key.right {
                Some(question) if is_right => question.example.to_owned(),
                _ => example(key),
            };
            let comment = if told { "" } else { key.meaning };
            if !told || waits(key) {
                self.line(mark(key), &format!("{} = {value}", key.name), comment);
            }
        }
        for key in tables {
            self.text += "\n";
            let header = format!("[{path}.{}]", key.name);
            match key.table() {
                Some(inner) if inner.keys.iter().any(|key| waits(key)) => {
                    self.line("", &header, key.meaning);
                    self.nested(inner, path, key.name == "right");
                }
                Some(inner) => {
                    self.line(OFFERED, &header, key.meaning);
                    self.keys(inner, OFFERED);
                }
                None => {
                    self.line(OFFERED, &header, key.meaning);
                    key.example.lines().for_each(|line| self.line(OFFERED, line, ""));
                }
            }
        }
    }
}

/// How the line of a key begins where its table stands.
fn mark(key: &Key) -> &'static str {
    match key.need {
        Need::Set => "",
        _ if waits(key) => WAITS,
        _ => OFFERED,
    }
}
