//! The order of work on the car, for every page that tells it.
//!
//! It is the order of the trade: common practice, no source. Height and the last clamping of rubber come before any reading, because
//! bushes clamped hanging hold the car up and twist; the anti-roll bar is off while each wheel is moved by itself; nothing rolls
//! on bolts that are finger-tight.

use crate::car::PerSide;

/// One step.
#[derive(Debug)]
pub(super) struct WorkStep {
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
    /// Whether the springs sit on struts.
    pub(super) struts: bool,
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
pub(super) const COMMON: &str = "Order: common practice, no source; the maker's manual rules.";

/// The order in one sentence.
pub(super) const IN_SHORT: &str = "tyre pressures; readings before; car on stands; anti-roll bar off; springs out; arms in, \
    finger-tight; sweep of the travel; every bush loosened; heights; bushes clamped at ride height; anti-roll bar on; torque; \
    wheel bolts; settle; read, camber before toe; lock nuts; read again; sensors; short drive.";

pub(super) fn steps(job: &Job) -> Vec<WorkStep> {
    [before(job), fitted(job), clamped(job), read(job)].into_iter().flatten().collect()
}

fn step(name: &'static str, text: impl Into<String>, caution: impl Into<Option<&'static str>>) -> WorkStep {
    WorkStep { name, text: text.into(), caution: caution.into() }
}

/// To where the car stands with its springs out.
fn before(job: &Job) -> Vec<WorkStep> {
    let springs = if job.struts {
        "A jack under the wheel carrier; the nut in the middle of a top mount holds the spring: only in a proper compressor."
    } else {
        "A jack under the arm that a spring sits on; a proper compressor."
    };
    vec![
        step("pressures", format!("{TYRES} Load the car as above."), None),
        step(
            "readings before",
            "Roll and settle it. Before anything is undone note readings, heights, where each cam stands.",
            None,
        ),
        step(
            "stands",
            "Wheel bolts loosened; on stands under the maker's points, wheels off.",
            Some("Front wheels chocked."),
        ),
        step("anti-roll bar off", "Links off on both sides, tied aside.", Some("Both wheels hanging alike.")),
        step("springs", "Out, or let down.", Some(springs)),
    ]
}

/// What is fitted and loosened.
fn fitted(job: &Job) -> Vec<WorkStep> {
    let Job { arms, wound, .. } = job;
    vec![
        if *arms {
            step(
                "arms in",
                "Cams as under D. Bolts finger-tight; hoses, cables, sensors, brackets over.",
                Some("Not rolled until all are torqued."),
            )
        } else {
            step("cams", "Undo what has to be undone; cams as under D.", None)
        },
        step(
            "sweep",
            "Each knuckle from full droop to the fully compressed bump stop: no arm may touch, no joint bind, no driveshaft bottom.",
            Some("Fingers out of the linkage."),
        ),
        step(
            "loosen",
            format!(
                "Springs back, bar still off. EVERY bolt that clamps a rubber bush, both sides, also of untouched arms and the \
                 damper's lower eye, until its sleeve turns; nuts stay on, by hand. Else the bushes hold the car up.{wound} \
                 Spherical joints do not care."
            ),
            None,
        ),
    ]
}

/// To where the car may roll again.
fn clamped(job: &Job) -> Vec<WorkStep> {
    let Job { arms, cams, gaps: PerSide { left, right }, blank, .. } = job;
    vec![
        step(
            "heights",
            format!(
                "Wheels on and torqued, down on slip plates (two greased sheets a wheel), loaded as above. Press it down, let it \
                 come up. Hub centre to arch lip: left {left}, right {right}."
            ),
            Some("Not rolled; back on stands for every turn of a collar."),
        ),
        step(
            "clamp",
            "Now all rubber bushes, at that height. One of: four ramps of one height; a drive-on lift or pit it stood on from the start; \
             on stands, each knuckle raised by a jack to that gap.",
            Some("With the jack: stop when the car begins to lift. Nothing of you under it."),
        ),
        step(
            "anti-roll bar on",
            "Links and their bushes clamped with both wheels at that height.",
            Some("If it has to be forced, one side stands higher: look why."),
        ),
        step(
            "torque",
            format!(
                "Every bolt to the manual's figure, new self-locking nuts{}; tick each.",
                if *cams || !arms { ", nuts of cams still to be set nipped up" } else { "" }
            ),
            None,
        ),
        step("wheel bolts", format!("Crosswise, {blank} N m. Now the car may roll."), None),
    ]
}

/// What is read, and what locks it.
fn read(job: &Job) -> Vec<WorkStep> {
    let Job { arms, cams, blank, .. } = job;
    let cam_nuts = format!("Hold the cam, torque its nut {blank}, paint mark.");
    vec![
        step(
            "settle",
            format!(
                "{} nipped up. Roll it, press it down. Heights again: left {blank}, right {blank}.",
                if *arms { "Lock nuts" } else { "Cam nuts" }
            ),
            Some("Nobody in front of it."),
        ),
        step(
            "read",
            CAMBER_FIRST,
            Some("Adjusters are turned on stands, a cam never under load; then down, roll, read."),
        ),
        if *arms {
            let cam_nuts = if *cams { format!(" {cam_nuts}") } else { String::new() };
            step(
                "lock nuts",
                format!(
                    "Hold the arm, torque both {blank}, paint mark. A left-hand nut tightens the other way.{cam_nuts}"
                ),
                Some("One that works loose lets the arm unscrew itself: look at every service."),
            )
        } else {
            step("cam nuts", cam_nuts, None)
        },
        step("check reading", READ_AGAIN, None),
        step("sensors", "Reset steering angle and headlight levelling.", None),
        step(
            "short drive",
            "Then marks, wheel and subframe bolts, heights, readings; once more when the springs have settled.",
            Some("Stop if anything knocks or pulls."),
        ),
    ]
}
