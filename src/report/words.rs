//! Running text: wrapped paragraphs, lists, and the sentences that several pages share.

use std::fmt;

use crate::car::{Car, Clockwise, Hand, Limit, Thread, Twist};
use crate::plan::{CamVerdict, CamVerdictSide, Certainty};

use super::number::mm;

/// Columns of a page: what a terminal shows and a printer takes.
pub(super) const WIDTH: usize = 80;

/// Writes a paragraph.
pub(super) fn paragraph(f: &mut fmt::Formatter<'_>, text: &str) -> fmt::Result {
    writeln!(f, "{}", textwrap::fill(text, WIDTH))
}

/// Writes an item whose further lines hang under its first word.
pub(super) fn item(f: &mut fmt::Formatter<'_>, mark: &str, text: &str) -> fmt::Result {
    let first = format!("  {mark} ");
    let hang = " ".repeat(textwrap::core::display_width(&first));
    let options = textwrap::Options::new(WIDTH).initial_indent(&first).subsequent_indent(&hang);
    writeln!(f, "{}", textwrap::fill(text, options))
}

/// "both" where two things are alike, else the hand of one.
pub(super) fn side_names(alike: bool) -> Vec<(&'static str, usize)> {
    if alike { vec![("both", 0)] } else { vec![("left", 0), ("right", 1)] }
}

/// What stops an arm, as a sentence.
pub(super) fn limit_sentence(hand: Hand, link: &str, limit: Limit) -> Option<String> {
    Some(match limit {
        Limit::Ok => return None,
        Limit::Shortest => {
            format!(
                "{link} arm, {hand}: it is as short as it goes and would have to be shorter. A shorter arm is needed."
            )
        }
        Limit::Longest => {
            format!(
                "{link} arm, {hand}: it is as long as it goes and would have to be longer. A longer arm is needed."
            )
        }
        Limit::Thread => format!(
            "{link} arm, {hand}: REFUSED any longer, too little thread would be left in the body. Do not fit it at the \
             length wanted; get an arm that reaches it with enough thread in. The arm maker's figure rules."
        ),
    })
}

/// How to turn an arm to make it longer or shorter, seen from a named end.
pub(super) fn rotation(threads: &[Thread], clockwise: Clockwise, longer: bool) -> String {
    let turn = if (clockwise == Clockwise::Lengthens) == longer { "clockwise" } else { "anticlockwise" };
    match threads {
        [single] => {
            // With one thread the joint is turned, not the body, and it is seen from its own eye.
            let turn = if (single.twist == Twist::Left) == longer { "clockwise" } else { "anticlockwise" };
            format!("joint off its bracket, then turn it {turn}, looking at its eye")
        }
        _ => format!("turn the body {turn}, seen from the subframe end ({})", threads[0]),
    }
}

/// Whether the stock cams alone would do.
pub(super) fn stock_cams_sentence(verdict: &CamVerdict) -> String {
    if verdict.sides.iter().all(|side| side.cams.is_empty()) {
        return "This car has no cam bolts for camber or toe.".to_owned();
    }
    let end = |side: &CamVerdictSide| match side.run_out_drop_mm {
        None => "to full bump".to_owned(),
        Some(0.0) => "at no drop".to_owned(),
        Some(drop) => format!("up to a drop of {} mm", mm((drop * 10.0).floor() / 10.0)),
    };
    let [left, right] = verdict.sides.each_ref().map(end);
    let reach = if left == right {
        format!("They reach it {left}.")
    } else {
        format!("They reach it {left} on the left, {right} on the right.")
    };
    if verdict.succeeds() {
        format!("The stock cams alone can still bring both wheels within spec. {reach}")
    } else {
        format!("The stock cams alone do not reach the spec at this drop. {reach}")
    }
}

/// Warns where a side is near a dead point.
pub(super) fn touchy_sentence(hand: Hand, certainty: &Certainty) -> Option<String> {
    certainty.is_touchy().then(|| {
        format!(
            "CAREFUL, {hand}: at this drop the links are close to a dead point. An error of 1 mm in a measured point can \
             count some {:.0} times as much at the wheel, so these figures say little; such a drop is no place to drive a \
             car either.",
            certainty.condition
        )
    })
}

/// How the car is loaded, for every reading and target.
pub(super) fn loading(car: &Car) -> String {
    match &car.sides[0].ride.loading {
        Some(loading) => format!("Loaded for every reading: {loading}."),
        None => "Load the car for every reading as it was when it was measured.".to_owned(),
    }
}

/// The usual cautions, shown wherever work on the car follows from a page.
pub(super) const CAUTIONS: [&str; 5] = [
    "These figures follow from the points you measured and from straight, undamaged links and sound bushes. The rack or \
     a proper string set-up decides.",
    "Stands on firm level ground, wheels chocked; a jack only lifts. Where a spring sits on an arm, support the arm \
     before parting any joint, and use a proper compressor.",
    "Torque figures, one-time nuts and bolts: the car maker's manual. Thread engagement and joint ratings: the arm \
     maker's figures, they rule over the ones here.",
    "Check local approval before fitting; have the work inspected where the law or your skill asks for it.",
    "Stop driving if a lock nut has turned, bare thread has grown, or anything knocks.",
];
