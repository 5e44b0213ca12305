//! The questions of a profile, from the declarations of its keys, in the order of the bench: the car, the wheel, the links, arms and
//! their threads, cams, spec.

use super::question::InterviewQuestion;
use crate::profile::{
    self, Answer, EXAMPLES, EditError, Key, KeyTable, Kind, Need, belongs, has_table, link_names, value_at,
};

/// Where the links of the axles lie that are no five rods, by the names that files to fill in give them.
const MEMBERS: [(&str, &str); 7] = [
    ("trailing arm", "the arm bolted to the wheel carrier, whose one point is the middle of its front bush"),
    (
        "strut",
        "spring and damper in one; its inner point is the middle of its top mount, on the body, its outer one the bolt that stays of the two that \
      clamp it to the wheel carrier",
    ),
    (
        "lower",
        "the broad one across the car below the driveshaft; a wide arm ends in one joint on the wheel carrier",
    ),
    ("upright", "the short link that stands on the wide arm, where its inner end is"),
    ("lateral front", "the front one of the two across the car"),
    ("lateral rear", "the rear one of the two across the car"),
    ("trailing", "the one along the car, to a bracket ahead of the wheel"),
];

/// All questions that a profile may raise.
pub(super) fn questions(text: &str) -> Result<Vec<InterviewQuestion>, EditError> {
    let links = link_names(text)?;
    let whole = profile::root(false).keys;
    let mut all = Vec::new();
    let mut last = Vec::new();
    // What no file to fill in by hand shows is asked for where it waits.
    let typical = has_table(text, "typical")?;
    let waits = |key: &Key| typical && key.name == "typical";
    for key in whole.iter().filter(|key| key.shown || waits(key)) {
        match key.kind {
            Kind::Table(table) if key.question.is_some() => last.extend(of_table(key, key.name, table, "")),
            Kind::Table(table) => all.extend(of_table(key, key.name, table, "")),
            _ => {}
        }
    }
    for (key, table) in whole.iter().filter_map(|key| Some((key, key.table()?))) {
        if !matches!(key.kind, Kind::Tables(..)) {
            continue;
        }
        let (tables, plain): (Vec<&Key>, Vec<&Key>) =
            table.keys.iter().filter(|key| asks(key)).partition(|key| key.table().is_some());
        // What belongs to another sort of member is not asked of this one.
        let kinds = links.iter().map(|link| value_at(text, &format!("{}.{link}.kind", key.name)));
        let kinds: Vec<Option<String>> = kinds.collect::<Result<_, _>>()?;
        let belongs = |link: &str, of: &Key| {
            let place = links.iter().position(|other| other == link);
            belongs(place.and_then(|place| kinds[place].as_deref()), of)
        };
        for link in &links {
            all.extend(
                plain
                    .iter()
                    .filter(|of| belongs(link, of))
                    .filter_map(|of| asked(of, &format!("{}.{link}.{}", key.name, of.name), None, link)),
            );
        }
        for (of, inner) in tables.into_iter().filter_map(|of| Some((of, of.table()?))) {
            for link in links.iter().filter(|link| belongs(link, of)) {
                // A pivot of a wishbone is there without being asked for, and goes by a name of its own.
                let called = if of.question.is_some() { link.clone() } else { format!("{link} {}", of.name) };
                all.extend(of_table(of, &format!("{}.{link}.{}", key.name, of.name), inner, &called));
            }
        }
    }
    all.extend(last);
    Ok(all)
}

/// Whether anything of a key is asked.
fn asks(key: &Key) -> bool {
    key.question.is_some() || key.table().is_some_and(asks_in)
}

fn asks_in(table: &KeyTable) -> bool {
    table.keys.iter().any(|key| key.question.is_some())
}

/// The questions of a table: whether there is one, where that is asked, and what is in it; behind each the right side's.
fn of_table(key: &Key, path: &str, table: &'static KeyTable, link: &str) -> Vec<InterviewQuestion> {
    let whether = asked(key, path, None, link);
    let within = whether.as_ref().map(|_| path.to_owned());
    let inside = table.keys.iter().flat_map(|key| {
        let own = format!("{path}.{}", key.name);
        if let Some(inner) = key.table().filter(|inner| !link.is_empty() && asks_in(inner)) {
            return of_table(key, &own, inner, link);
        }
        // As left where the left one has it; of a table that may be missing, where that is there.
        let instead = table.keys.iter().find(|other| other.instead == key.name);
        let instead = instead.map(|other| format!("{path}.{}", other.name));
        let right = key.right.filter(|_| key.question.is_some()).map(|question| InterviewQuestion {
            as_left: true,
            optional: true,
            ..put(key, &question, format!("right.{own}"), Some(within.clone().unwrap_or(own.clone())), link)
        });
        let left =
            asked(key, &own, within.clone(), link).map(|question| InterviewQuestion { instead, ..question });
        [left, right].into_iter().flatten().collect()
    });
    whether.clone().into_iter().chain(inside).collect()
}

fn asked(key: &Key, path: &str, within: Option<String>, link: &str) -> Option<InterviewQuestion> {
    key.question.map(|question| put(key, &question, path.to_owned(), within, link))
}

/// A question with the names in it.
fn put(
    key: &Key,
    question: &profile::KeyQuestion,
    path: String,
    within: Option<String>,
    link: &str,
) -> InterviewQuestion {
    let usual = EXAMPLES.iter().find(|usual| usual.name == link);
    let whereabouts =
        MEMBERS.iter().find(|(kind, _)| *kind == link).map_or("as you named it in the file", |(_, at)| at);
    let whereabouts = usual.map_or(whereabouts, |usual| usual.whereabouts);
    let outer = usual.map_or("", |usual| usual.outer);
    let named =
        |text: &str| text.replace("{link}", link).replace("{where}", whereabouts).replace("{outer}", outer);
    let may_be_missing = key.need == Need::Not && question.answer != Answer::Toe;
    InterviewQuestion {
        key: path,
        answer: question.answer,
        instead: None,
        within,
        // Across the car, if nothing is said.
        optional: may_be_missing || question.answer == Answer::Along,
        as_left: false,
        title: named(question.title),
        ask: named(question.ask),
        more: key.how,
        example: question.typed,
    }
}
