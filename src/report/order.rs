//! The order of work on the car, for every page that tells it.
//!
//! It is the order of the trade: common practice, no source. Height and the last clamping of rubber come before any reading, because
//! bushes clamped hanging hold the car up and twist; the anti-roll bar is off while each wheel is moved by itself; nothing rolls
//! on bolts that are finger-tight.

use crate::car::PerSide;

/// One step.
#[derive(Debug)]
pub(super) struct Step {
    /// What it is, in a word or two.
    pub(super) name: &'static str,
    /// What is done.
    pub(super) text: String,
    /// What can go wrong with it.
    pub(super) caution: Option<&'static str>,
}

/// What the steps of one car need to know of it.
#[derive(Debug)]
pub(super) struct Job {
    /// Whether arms are fitted, rather than cams alone turned.
    pub(super) arms: bool,
    /// Whether cams stay in use.
    pub(super) cams: bool,
    /// Hub centre to arch lip at the new height, left and right; blanks where that is not known.
    pub(super) gaps: PerSide<String>,
    /// What becomes of a bush that is forgotten, as a sentence; empty where that is not known.
    pub(super) wound: String,
    /// A blank to be filled in.
    pub(super) blank: &'static str,
}

/// Camber and toe, whoever sets them.
pub(super) const CAMBER_FIRST: &str = "Camber before toe, because camber drags toe along.";
/// Locking an adjuster.
pub(super) const READ_AGAIN: &str = "Read again after tightening, because tightening moves the setting.";
/// What stands before any height.
pub(super) const TYRES: &str = "Tyres cold, at the manual's pressure, alike left and right.";
/// Where the order comes from.
pub(super) const COMMON: &str =
    "The order is common practice, no source. Where the car maker's manual has another, that rules.";

/// The order in one sentence.
pub(super) const IN_SHORT: &str = "tyre pressures; readings before; car on stands; anti-roll bar off; springs out; arms in, \
    finger-tight; sweep of the travel; every bush loosened; heights; bushes clamped at ride height; anti-roll bar on; torque; \
    wheel bolts; settle; read, camber before toe; lock nuts; read again; sensors; short drive.";

/// The steps.
pub(super) fn steps(job: &Job) -> Vec<Step> {
    [before(), fitted(job), clamped(job), read(job)].into_iter().flatten().collect()
}

fn step(name: &'static str, text: impl Into<String>, caution: impl Into<Option<&'static str>>) -> Step {
    Step { name, text: text.into(), caution: caution.into() }
}

/// To where the car stands with its springs out.
fn before() -> Vec<Step> {
    vec![
        step("pressures", format!("{TYRES} Load the car as above."), None),
        step(
            "readings before",
            "Roll and settle the car. Write down readings, heights and where each cam stands, before anything is undone.",
            None,
        ),
        step(
            "stands",
            "Loosen the wheel bolts on the ground, raise the car, stands under the maker's points, wheels off.",
            Some("Front wheels chocked. A jack only lifts: nobody under a car on a jack."),
        ),
        step(
            "anti-roll bar off",
            "Undo its links on both sides and tie them aside, so that each wheel moves by itself.",
            Some("Both wheels hanging alike, or the bar is wound and springs out."),
        ),
        step(
            "springs",
            "Out, or let down.",
            Some(
                "A jack under the arm that a spring sits on before any joint is parted, a proper compressor, let down slowly.",
            ),
        ),
    ]
}

/// What is fitted and loosened.
fn fitted(job: &Job) -> Vec<Step> {
    let Job { arms, wound, .. } = job;
    vec![
        if *arms {
            step(
                "arms in",
                "Cams as under D. Fit the arms with the bolts finger-tight; move hoses, cables, wheel speed and height sensors \
                 and brackets over.",
                Some(
                    "Finger-tight bolts carry no driving: until all are torqued the car is not rolled, not even out of the way.",
                ),
            )
        } else {
            step("cams", "Undo what has to be undone; cams as under D.", None)
        },
        step(
            "sweep",
            "Move each knuckle from full droop to the fully compressed bump stop: no arm may touch anything, no joint may bind, no driveshaft \
             may bottom.",
            Some("Fingers out of the linkage while the jack moves it."),
        ),
        step(
            "loosen",
            format!(
                "Springs back, the bar still off. Loosen EVERY bolt that clamps a rubber bush, both sides, also of arms that were not \
                 touched and at the damper's lower eye, until its sleeve turns; nuts stay on, by hand. Bushes clamped as they \
                 were hold the car up while the heights are set.{wound} Spherical joints do not care."
            ),
            Some("The bolts stay in: with the springs back nothing is parted."),
        ),
    ]
}

/// To where the car may roll again.
fn clamped(job: &Job) -> Vec<Step> {
    let Job { arms, cams, gaps: PerSide { left, right }, blank, .. } = job;
    vec![
        step(
            "heights",
            format!(
                "Wheels on, their bolts torqued, down on the spot on slip plates (two greased sheets a wheel), loaded as above. Press it \
                 down, let it come up. Set both sides: hub centre to arch lip left {left}, right {right}."
            ),
            Some("The car is not rolled on loosened bolts. Back on stands for every turn of a collar."),
        ),
        step(
            "clamp",
            format!(
                "Only now tighten the rubber bushes, all of them, at that height (left {left}, right {right}). One of: the wheels \
                 let down on four ramps of one height; a drive-on lift or pit on which it has stood from the start; car on \
                 stands and each knuckle raised by a jack to that gap."
            ),
            Some("With the jack: stop when the car begins to lift off its stands. Nothing of you under it."),
        ),
        step(
            "anti-roll bar on",
            "Fit its links with both wheels at that height, and clamp their bushes there.",
            Some("If a link has to be forced, one side stands higher: look why."),
        ),
        step(
            "torque",
            format!(
                "Every bolt to the manual's figure, new self-locking nuts{}. Tick each: none stays finger-tight.",
                if *cams || !arms { "; the nuts of cams that are still to be set are nipped up" } else { "" }
            ),
            None,
        ),
        step(
            "wheel bolts",
            format!("Crosswise, to the manual's figure {blank}. Now the car may roll."),
            None,
        ),
    ]
}

/// What is read, and what locks it.
fn read(job: &Job) -> Vec<Step> {
    let Job { arms, cams, blank, .. } = job;
    let cam_nuts = format!("Hold the cam, torque its nut {blank}, paint mark.");
    vec![
        step(
            "settle",
            format!(
                "{} nipped up. Roll it forward and back, press it down. Heights again: left {blank}, right {blank}.",
                if *arms { "Lock nuts" } else { "Cam nuts" }
            ),
            Some("Nobody in front of a car that is pushed."),
        ),
        step(
            "read",
            CAMBER_FIRST,
            Some(
                "Adjusters are turned with the car on stands, a cam never under load; then down, roll, read.",
            ),
        ),
        if *arms {
            let cam_nuts = if *cams { format!(" {cam_nuts}") } else { String::new() };
            step(
                "lock nuts",
                format!(
                    "Both ends: hold the arm, torque {blank}, paint mark. A left-hand nut tightens the other way.{cam_nuts}"
                ),
                Some(
                    "A lock nut that works loose lets the arm unscrew itself: look at the marks at every service.",
                ),
            )
        } else {
            step("cam nuts", cam_nuts, None)
        },
        step("check reading", READ_AGAIN, None),
        step(
            "sensors",
            "Reset the steering angle and headlight levelling sensors where the car has them.",
            None,
        ),
        step(
            "short drive",
            "Then marks, wheel bolts, subframe bolts, heights and readings, and once more when the springs have settled.",
            Some("Stop if anything knocks or pulls."),
        ),
    ]
}
