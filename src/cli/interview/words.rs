//! Words of the trade, told where they are first met.

/// A word as it stands in questions, and what it means.
pub(super) const WORDS: &[(&str, &str)] = &[
    (
        "centreline",
        "the line down the middle of the car: a string on the floor, stretched under the middle of the car in front and at the back",
    ),
    ("wheel centre", "the middle of the wheel, halfway through its width, at the height of the hub"),
    ("camber", "how far the wheel leans, seen from behind; minus: its top leans in"),
    ("toe", "where the wheel points, seen from above; plus, toe-in: its front points inwards"),
    ("rim", "the metal part of the wheel, without the tyre"),
    (
        "arch gap",
        "from the hub's centre straight up to the edge of the wheel arch: it tells the car's height",
    ),
    ("bump travel", "how far the wheel can go up from where it is, until the rubber stop is squeezed"),
    ("droop travel", "how far it can go down, until the damper is at its end"),
    ("link", "one of the five arms between car and wheel; each is a rod between two bolts"),
    ("subframe", "the frame under the car that carries the inner ends of the links"),
    ("knuckle", "the wheel carrier: the part that holds hub and brake, and the outer ends of the links"),
    ("plumb line", "a string with a weight; it hangs upright"),
    ("adjustable arm", "a link whose length can be changed by turning its thread"),
    ("rod end", "an eye with a ball in it, on a threaded shank"),
    (
        "eccentric bolt",
        "a bolt whose head has a disc off its middle: turned, it shifts the end of the link in a slot",
    ),
    ("slot", "the long hole in the subframe in which that bolt moves"),
    ("thrust angle", "where the rear axle as a whole points, against the centreline"),
];

/// The words of a text that were not told yet.
pub(super) fn met(text: &str, told: &mut Vec<&'static str>) -> Vec<(&'static str, &'static str)> {
    let text = text.to_lowercase();
    let new: Vec<_> =
        WORDS.iter().copied().filter(|(word, _)| stands_in(word, &text) && !told.contains(word)).collect();
    told.extend(new.iter().map(|(word, _)| word));
    new
}

/// Whether a text has a word as a word, and not as a part of another.
fn stands_in(word: &str, text: &str) -> bool {
    let letter = |c: Option<char>| c.is_some_and(char::is_alphabetic);
    text.match_indices(word).any(|(at, _)| {
        let behind = text[at + word.len()..].trim_start_matches('s');
        !letter(text[..at].chars().next_back()) && !letter(behind.chars().next())
    })
}

#[cfg(test)]
mod tests {
    use super::{WORDS, met};

    #[test]
    fn a_word_is_told_once_and_only_where_it_stands() {
        let mut told = Vec::new();
        let words = |text, told: &mut Vec<&'static str>| {
            met(text, told).iter().map(|(word, _)| *word).collect::<Vec<_>>()
        };
        assert_eq!(words("The trimmed links of the subframe", &mut told), ["link", "subframe"]);
        assert_eq!(words("A link and its knuckle", &mut told), ["knuckle"]);
        assert_eq!(words("Toe", &mut told), ["toe"]);
        assert!(WORDS.iter().all(|(word, _)| word.chars().all(|c| !c.is_uppercase())));
    }
}
