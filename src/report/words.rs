//! The sentences that several pages share.

use super::number::{Units, fixed, mm, signed};
use super::page::Page;
use crate::car::{Car, Clockwise, Hand, LengthMisfit, PerSide, Sigmas, Stance, Thread, Twist};
use crate::plan::{
    AxleResult, Band, CamVerdict, CamVerdictSide, Certainty, Doubt, Missing, ThreadIn, Travel,
};

/// Whether two lengths are alike to the tenth of a mm, in whatever unit a page shows them.
pub(super) fn alike(a: f64, b: f64) -> bool {
    mm(a) == mm(b)
}

/// Words or numbers as a list: "1, 2 and 4".
pub(super) fn listed(all: &[impl ToString]) -> String {
    let words: Vec<String> = all.iter().map(ToString::to_string).collect();
    match words.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
        None => String::new(),
    }
}

/// Some arms by their links: "toe arm", "upper and toe arms".
pub(super) fn arms_words(links: &[String]) -> String {
    format!("{} arm{}", listed(links), if links.len() == 1 { "" } else { "s" })
}

/// How to turn an arm to make it longer or shorter, seen from a named end.
pub(super) fn rotation(threads: &[Thread], clockwise: Clockwise, longer: bool) -> String {
    let way = turn_way(threads, clockwise, longer);
    match threads {
        [single] => format!("joint off its bracket; turn it {way}, {} ({single})", seen_from(threads)),
        _ => format!("turn the body {way}, {} ({})", seen_from(threads), threads[0]),
    }
}

pub(super) fn turn_way(threads: &[Thread], clockwise: Clockwise, longer: bool) -> &'static str {
    let turns_clockwise = match threads {
        // With one thread the joint is turned, not the body, and it is seen from its own eye.
        [single] => (single.twist == Twist::Left) == longer,
        _ => (clockwise == Clockwise::Lengthens) == longer,
    };
    if turns_clockwise { "clockwise" } else { "anticlockwise" }
}

/// From where that way is seen.
pub(super) fn seen_from(threads: &[Thread]) -> &'static str {
    if threads.len() == 1 { "eye to you" } else { "seen from the subframe end" }
}

/// The thread left in the body of an arm, and the least that must be.
pub(super) fn thread_words(thread: &ThreadIn, units: Units) -> String {
    let name = units.length_name();
    let least = units.length(thread.wanted_mm());
    match thread.remaining_mm.as_slice() {
        [] => format!("thread engagement: at least {least} {name} in each end"),
        [one] => format!("thread engagement {}, at least {least}", units.with_unit(*one)),
        [a, b] if alike(*a, *b) => {
            format!("thread engagement in each end {}, at least {least}", units.with_unit(*a))
        }
        ends => {
            let ends: Vec<String> = ends.iter().map(|left| units.length(*left)).collect();
            format!("thread engagement in the ends {} {name}, at least {least}", ends.join(" and "))
        }
    }
}

/// Stock arms that are not as long as their pivots are apart.
pub(super) fn misfit_sentences(car: &Car, units: Units) -> Vec<String> {
    let sentence = |misfit: &LengthMisfit| {
        let name = &car.sides[misfit.hand].links[misfit.link].name;
        let longer = misfit.longer();
        format!(
            "{name}, {}: the stock arm measures {}, {} {} than its pivots are apart by the points; the errors of both explain {}. One of \
             them is a misreading: measure the arm again, then its two points.",
            misfit.hand,
            units.with_unit(misfit.measured),
            units.with_unit(longer.abs()),
            if longer > 0.0 { "longer" } else { "shorter" },
            units.with_unit(misfit.explained)
        )
    };
    car.length_misfits().iter().map(sentence).collect()
}

/// Over which drops something reaches the spec; rounded so that it still does.
pub(super) fn reach_words(from_mm: Option<f64>, to_mm: Option<f64>, looked_mm: f64, units: Units) -> String {
    let full = format!("{}, as far as was looked", units.with_unit(looked_mm));
    let to = to_mm.map_or(full, |drop| format!("{} {}", units.length_below(drop), units.length_name()));
    match from_mm {
        None => "at no drop".to_owned(),
        Some(from) if from > 0.0 => {
            format!("from a drop of {} to {to}", units.length_above(from))
        }
        Some(_) => format!("up to a drop of {to}"),
    }
}

/// Whether the stock cams alone would do.
pub(super) fn stock_cams_sentence(verdict: &CamVerdict, units: Units) -> String {
    if verdict.sides.iter().all(|side| side.cams.is_empty() && side.other_cams.is_empty()) {
        return "No cam bolt in this profile sets camber or toe.".to_owned();
    }
    let stretch = |side: &CamVerdictSide| {
        reach_words(side.reach_from_drop_mm, side.run_out_drop_mm, side.bump_mm, units)
    };
    let PerSide { left, right } = verdict.sides.each(stretch);
    let reach = if left == right {
        format!("They reach it {left}.")
    } else {
        format!("They reach it {left} on the left, {right} on the right.")
    };
    let can = if verdict.succeeds() {
        "The stock cams alone can bring both wheels within spec."
    } else if verdict.reach_each_spec() {
        "The stock cams alone can bring each wheel within its own spec, but NOT both of them within the limits between the \
         two wheels."
    } else {
        "The stock cams alone do not reach the spec at this drop."
    };
    format!("{can} {reach}")
}

/// What the two wheels do together, with the limits that they have.
pub(super) fn together_sentence(car: &Car, axle: &AxleResult) -> String {
    let allowed = |limit: Option<f64>| {
        limit.map_or(String::new(), |limit| format!(", {} allowed", fixed(limit.to_degrees(), 2)))
    };
    format!(
        "Thrust angle {} deg (plus: the axle points to the left){}; left minus right camber {} deg{}.",
        signed(axle.thrust_angle_deg, 2),
        allowed(car.axle.thrust_angle),
        signed(axle.cross_camber_deg, 2),
        allowed(car.axle.cross_camber)
    )
}

/// That a limit between the two wheels is broken.
pub(super) fn axle_sentence(car: &Car, axle: &AxleResult) -> Option<String> {
    let apart = || format!("The two wheels do not go together. {}", together_sentence(car, axle));
    (!axle.within_limits).then(apart)
}

/// Warns where a side is near a dead point.
pub(super) fn near_singular_sentence(hand: Hand, certainty: &Certainty, units: Units) -> Option<String> {
    let small = units.small();
    certainty.near_singular.then(|| {
        format!(
            "CAREFUL, {hand}: at this drop the links are close to a dead point, where {} {} in a length moves the wheel by up \
             to {} {}. Measured points are not that good, so these figures say little; such a drop is no place to drive a \
             car either.",
            units.length_to(small.mm, 0),
            units.length_word(),
            units.length_to(units.over_small(certainty.worst_rate), 0),
            units.length_name()
        )
    })
}

/// What the bands rest on.
pub(super) fn measured_sentence(car: &Car, bands: PerSide<&Band>, units: Units) -> String {
    let Sigmas { camber, toe, drop, .. } = car.sigmas;
    let [least, most] = car.sides.left.errors.of_points().map(|point| units.length(point));
    let points = if least == most { least } else { format!("{least} to {most}") };
    format!(
        "\"Good to\" holds for 95 cars of 100 measured as well as this one: points to {points} {}, camber read to {} and toe to {} deg, \
         the height set to {} (standard deviations; yours go into [sigma]).{}",
        units.length_name(),
        fixed(camber.to_degrees(), 2),
        fixed(toe.to_degrees(), 2),
        units.with_unit(drop),
        bent_sentence(bands)
    )
}

/// That the points are so rough that their errors are not all that makes a band wide.
fn bent_sentence(bands: PerSide<&Band>) -> String {
    Band::bent(bands).map_or(String::new(), |times| {
        format!(
            " With points as rough as these errors do not simply add up: the bands are those of 400 wheels drawn from them, up to {} \
             times as wide.",
            fixed(times, 1)
        )
    })
}

/// What to measure again first, and what that would give.
pub(super) fn again_sentence(bands: PerSide<&Band>) -> Option<String> {
    let mut doubts: Vec<&Doubt> = Vec::new();
    for doubt in bands.left.measure_again.iter().chain(&bands.right.measure_again) {
        if doubts.iter().all(|known| known.what != doubt.what) && doubts.len() < 3 {
            doubts.push(doubt);
        }
    }
    let (first, others) = doubts.split_first()?;
    let first_gives = format!(
        "{} (once more gives camber to {}, toe to {} deg)",
        first.what,
        fixed(first.repeated_camber_deg, 2),
        fixed(first.repeated_toe_deg, 2)
    );
    let order: Vec<&str> =
        [first_gives.as_str()].into_iter().chain(others.iter().map(|doubt| doubt.what.as_str())).collect();
    Some(format!("To narrow it, measure again and average. First: {}.", order.join(", then ")))
}

/// How much travel a drop leaves, or that it leaves none.
pub(super) fn travel_sentence(car: &Car, stance: &Stance, units: Units) -> Option<String> {
    let left = car.sides.each(|side| side.ride.bump_left(stance.drop(side.hand)));
    if car.sides.iter().any(|side| side.past_travel(stance.drop(side.hand))) {
        return Some(
            "CAREFUL: this is beyond the wheel's travel as the profile gives it. The car would stand on its stops; the \
             figures are geometry only."
                .to_owned(),
        );
    }
    let PerSide { left, right } = left.all()?.map(|left| units.length(left));
    let name = units.length_name();
    let each =
        if left == right { format!("{left} {name}") } else { format!("left {left}, right {right} {name}") };
    Some(format!("Bump travel left to the fully compressed stop: {each}."))
}

/// What a profile does not say and how to add it.
pub(super) fn missing(page: &mut Page, missing: &[Missing]) {
    if missing.is_empty() {
        return;
    }
    page.heading("LEFT OUT, because the profile does not say; to have it, add");
    page.items("-", missing.iter().map(|Missing { key, measure }| format!("{key}: {measure}")));
    page.gap();
}

/// The heights of the wheel that were looked at.
pub(super) fn travel_words(travel: &Travel, units: Units) -> String {
    let name = units.length_name();
    let [lowest, highest] = [travel.lowest_mm, travel.highest_mm].map(|height| units.length_signed(height));
    format!("from {lowest} {name} to {highest} {name}")
}

/// That a travel which was looked at ends before that of the profile does.
pub(super) fn ends_early(page: &mut Page, travels: PerSide<&Travel>) {
    if travels.iter().any(|travel| travel.ends_early) {
        page.paragraph(
            "The links themselves end the travel there, before the profile's bump or droop is reached.",
        );
    }
}

/// Over which heights of the wheel something holds: every stretch of a travel, or its ends.
pub(super) fn stretch_words(stretches: &[[f64; 2]], travel: &Travel, units: Units) -> String {
    let name = units.length_name();
    let words = |[first, last]: &[f64; 2]| {
        let [from_end, to_end] = [alike(*first, travel.lowest_mm), alike(*last, travel.highest_mm)];
        let [first, last] = [first, last].map(|height| units.length_signed(*height));
        match (from_end, to_end) {
            (true, true) => "anywhere on its travel".to_owned(),
            (true, false) => format!("below {last} {name}"),
            (false, true) => format!("above {first} {name}"),
            (false, false) => format!("from {first} to {last} {name}"),
        }
    };
    stretches.iter().map(words).collect::<Vec<_>>().join(" and ")
}

/// Over which heights of the wheel its spring would not hold it, so that no load is told.
pub(super) fn not_held_sentence(hand: Hand, not_held_mm: Option<[f64; 2]>, units: Units) -> Option<String> {
    let [from, to] = not_held_mm?.map(|height| units.counted(height, true));
    let name = units.length_name();
    Some(format!(
        "{hand}: with the wheel at {from} to {to} {name} the spring's line, as the profile has it, hardly moves with the wheel or the wrong \
         way, so it holds nothing up: no load is told there. Look at the points of the spring."
    ))
}

/// What a height of the wheel is counted from.
pub(super) fn height_note(stance: &Stance, units: Units) -> String {
    let (name, word) = (units.length_name(), units.length_word());
    let now = stance.drops.map(|drop| units.length_signed(drop));
    let now = now.alike_or(|left, right| format!("{left} on the left, {right} on the right"));
    format!(
        "wheel at: {word} up (plus) or down (minus) from where the car was measured; it will stand at {now}. Lip {name}: hub \
         centre to arch lip there, to find the place by tape."
    )
}

/// The test by hand that stands above every figure about the travel.
pub(super) const BY_HAND: &str = "The knuckle moved by hand through its whole travel decides, not this calculation: car on \
    stands, springs out, each side from full droop to the fully compressed bump stop, and a look at every near point, bolt head, hose \
    and cable.";

/// What stands at the end of every page about strength: what to know before anything is done by it.
pub(super) fn before_strength<'a>(page: &mut Page, own: impl IntoIterator<Item = &'a str>) {
    page.heading("BEFORE YOU RELY ON IT");
    page.item("-", NO_APPROVAL);
    page.items("-", own);
    page.items("-", [CAUTIONS[2], CAUTIONS[3]]);
}

/// What stands on every page about strength.
pub(super) const NO_APPROVAL: &str = "A comparison on stated assumptions, NO structural approval. Local codes and the makers' \
    ratings rule; have safety parts judged by someone licensed to.";

/// How the car is loaded, for every reading and target.
pub(super) fn loading(car: &Car) -> String {
    let loading = match &car.sides.left.ride.loading {
        Some(loading) => format!("Loaded for every reading: {loading}."),
        None => "Load the car for every reading as it was when it was measured.".to_owned(),
    };
    // Below it, so that no page forgets.
    if car.assumed.is_empty() { loading } else { format!("{loading} {ASSUMED}") }
}

/// What is said of a car whose points nobody measured.
const ASSUMED: &str = "Points assumed from a typical layout, not measured: all figures that rest on them are only as good as \
                                  their bands.";

/// The usual cautions, shown wherever work on the car follows from a page.
pub(super) const CAUTIONS: [&str; 5] = [
    "Nobody under a car on a jack: stands on firm level ground, wheels chocked. Support the arm that a spring sits on; use a \
     proper compressor.",
    "The rack or a proper string set-up decides. These figures follow from the points you measured, from straight links and \
     sound bushes.",
    "Torques, one-time nuts and bolts: the car maker's manual. Thread and joints: the arm maker's figures. Both rule over \
     this.",
    "Check local approval before fitting; have the work inspected where the law or your skill asks for it.",
    "Stop driving if a lock nut has turned, bare thread has grown, or anything knocks. Lock nuts at every service.",
];
