//! The questions of a survey: one for each entry of its lists, in the place of a profile's points.

use super::car;
use super::question::InterviewQuestion;
use crate::profile::{self, Answer, EditError, entries};

/// All questions that a survey raises: those of a profile, with what is measured in the place of the points.
pub(super) fn questions(text: &str) -> Result<Vec<InterviewQuestion>, EditError> {
    let mut all = car::questions(text)?;
    let is_point = |question: &InterviewQuestion| matches!(question.answer, Answer::Centre | Answer::Point);
    let links = all.iter().rposition(is_point).map_or(all.len(), |at| at + 1);
    let measured = entries(text)?.into_iter().filter_map(|entry| of_entry(&entry.key));
    all.splice(links..links, measured.collect::<Vec<_>>());
    all.retain(|question| !is_point(question));
    Ok(all)
}

/// Whether a key is that of something that was measured between points.
pub(super) fn is_entry(key: &str) -> bool {
    key.starts_with("survey.")
}

/// What to measure for an entry of a list.
pub(super) fn of_entry(path: &str) -> Option<InterviewQuestion> {
    let (survey, rest) = path.split_once('.')?;
    let (list, of) = rest.split_once('.')?;
    let named =
        |keys: &[&'static profile::Key], name: &str| keys.iter().copied().find(|key| key.name == name);
    let key = named(named(profile::root(false).keys, survey)?.table()?.keys, list)?;
    let asked = key.question?;
    let (from, to) = of.split_once(" - ").unwrap_or((of, ""));
    let told = |text: &str| {
        let text = text.replace("{of}", of).replace("{point}", &point(of));
        text.replace("{from}", &point(from)).replace("{to}", &point(to))
    };
    Some(InterviewQuestion {
        key: path.to_owned(),
        answer: asked.answer,
        instead: None,
        within: None,
        optional: true,
        as_left: false,
        title: told(asked.title),
        ask: told(asked.ask),
        more: key.how,
        example: asked.typed,
    })
}

/// A point in words.
fn point(name: &str) -> String {
    let (side, plain) = name.strip_prefix("right ").map_or(("", name), |plain| (" on the right", plain));
    if plain == "wheel centre" {
        return format!("the wheel centre{side}");
    }
    let end = |end: &str| plain.strip_suffix(end).map(str::trim_end);
    match (end("subframe"), end("knuckle")) {
        (Some(link), _) if !link.is_empty() => {
            format!("the bolt of the link \"{link}\" on the subframe{side}")
        }
        (_, Some(link)) if !link.is_empty() => {
            format!("the bolt of the link \"{link}\" on the knuckle{side}")
        }
        _ => format!("the mark {plain}{side}"),
    }
}
