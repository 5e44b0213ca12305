//! Which arms to buy: every sensible set of them, what it reaches, and the least set that meets the spec.
//!
//! Priorities are those of the trade (common practice, no source): first the arm that sets camber, because camber is what
//! lowering takes away; then the toe arm, whose cam often has some reach left; the traction arm last, because it sets neither.

mod answer;

pub use answer::{ArmChoice, ArmSet, ArmSetSide, LoweredWheel, NeededArm};

use crate::car::{Car, Hand, Link, PerSide, Setup, Spec, Stance};
use crate::geometry::{Angles, Figure};
use crate::plan::Asked;
use crate::plan::adjusting::{
    AdjustedSide, Means, Reach, Task, adjusters_with, cams_left, cams_turned, exact_pair,
};
use crate::plan::over_travel::{Bumps, travel_ends};
use crate::plan::wheel::{AxleResult, Certainty, NoPosition, Reading, Reason, Target, forward};

/// Travel either way over which bump steer is compared, mm.
const WINDOW: f64 = 30.0;
/// Where a profile gives no arm, any length within this part of the stock one counts as possible.
const UNKNOWN_RANGE: f64 = 0.3;

/// The sets in the order of the trade: fewer arms first, then camber before toe before pitch.
const SETS: [&[Figure]; 5] = [
    &[],
    &[Figure::Camber],
    &[Figure::Toe],
    &[Figure::Camber, Figure::Toe],
    &[Figure::Camber, Figure::Toe, Figure::Pitch],
];

/// Asks which arms a car needs.
///
/// `specs` are the specs of the left and the right wheel; `keep_cams` leaves cams under fitted arms as they are set.
///
/// # Examples
///
/// ```
/// # use rodset::plan::choose_arms;
/// # use rodset::car::Stance;
/// # let car = rodset::profile::read(include_str!("../../../examples/tansy-wharf.toml")).expect("a sound profile").car;
/// # let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop, so no wheelbase is needed");
/// # let specs = car.sides.each(|side| side.spec.expect("its profile has a spec"));
/// let choice = choose_arms(&car, &stance, &specs, false)?;
/// assert!(choice.succeeds(), "there is a set of arms that reaches the spec");
/// # Ok::<(), rodset::plan::NoPosition>(())
/// ```
///
/// # Errors
///
/// [`NoPosition`] where the links do not let a wheel come so far.
pub fn choose_arms(
    car: &Car,
    stance: &Stance,
    specs: &PerSide<Spec>,
    keep_cams: bool,
) -> Result<ArmChoice, NoPosition> {
    choose_arms_asked(car, stance, specs, keep_cams, Asked::ALL)
}

/// The same, with no more worked out than is asked for.
pub(crate) fn choose_arms_asked(
    car: &Car,
    stance: &Stance,
    specs: &PerSide<Spec>,
    keep_cams: bool,
    asked: Asked<'_>,
) -> Result<ArmChoice, NoPosition> {
    let lowered = |hand: Hand| {
        let side = &car.sides[hand];
        let position = forward(side, &Setup::as_found(side), stance.drop(hand))?;
        Ok(LoweredWheel {
            side: hand,
            drop_mm: stance.drop(hand),
            spec: Target::from(&specs[hand]),
            lowered: Reading::of(side, &position.pose, &stance.ground(hand)),
        })
    };
    let sides = PerSide::try_of(lowered)?;
    let named =
        |figures: &'static [Figure]| links_for(car, figures).into_iter().map(move |links| (figures, links));
    let mut sets: Vec<(&[Figure], Vec<&str>)> = SETS.into_iter().flat_map(named).collect();
    sets.sort_by_key(|(_, links)| links.len());
    let sets = sets
        .into_iter()
        .enumerate()
        .filter(|(place, _)| asked.takes("sets", *place))
        .map(|(_, (figures, links))| arm_set(car, stance, specs, (figures, &links), keep_cams, asked))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(ArmChoice { sides, least: sets.iter().position(ArmSet::succeeds), sets, window_mm: WINDOW })
}

/// The sets of links whose arms would set some figures: for each figure every link that is used for it, and where there are several
/// all of them together. There are none where no link is used for one of the figures.
fn links_for<'a>(car: &'a Car, figures: &[Figure]) -> Vec<Vec<&'a str>> {
    let mut sets: Vec<Vec<&str>> = vec![Vec::new()];
    for figure in figures {
        let mut links: Vec<&str> = Vec::new();
        let is_for = |link: &&Link| link.sets == Some(*figure) && link.hold.takes_an_arm();
        for link in car.sides.iter().flat_map(|side| &side.links).filter(is_for) {
            if !links.contains(&link.name.as_str()) {
                links.push(&link.name);
            }
        }
        let mut ways: Vec<Vec<&str>> = links.iter().map(|link| vec![*link]).collect();
        if links.len() > 1 {
            ways.push(links);
        }
        sets = sets.iter().flat_map(|set| ways.iter().map(|way| [set.as_slice(), way].concat())).collect();
    }
    sets
}

fn arm_set(
    car: &Car,
    stance: &Stance,
    specs: &PerSide<Spec>,
    (figures, names): (&[Figure], &[&str]),
    keep_cams: bool,
    asked: Asked<'_>,
) -> Result<ArmSet, NoPosition> {
    let grounds = PerSide::of(|hand| stance.ground(hand));
    let fitted = |link: &Link| names.contains(&link.name.as_str()) && link.sets.is_some();
    let locked = |link: &Link| fitted(link) && !keep_cams;
    let tasks = PerSide::of(|hand| Task {
        side: &car.sides[hand],
        ground: &grounds[hand],
        drop: stance.drops[hand],
        spec: specs[hand],
        setup: Setup::locked_out(&car.sides[hand], locked),
        adjusters: adjusters_with(&car.sides[hand], |link| fitted(link).then(|| ends(link))),
        offset: Angles::default(),
        only: None,
        stays: false,
    });
    let exact = exact_pair(&car.axle, tasks.as_ref())?;
    let sides = PerSide::try_of(|hand| arm_set_side(&tasks[hand], &exact[hand].0, locked, asked))?;
    let within_spec = sides.iter().all(|side| side.best.within_spec);
    let mut links: Vec<String> = Vec::new();
    for arm in sides.iter().flat_map(|side| &side.arms) {
        if !links.contains(&arm.link) {
            links.push(arm.link.clone());
        }
    }
    let axle = AxleResult::of(car, sides.each(|side| side.best.reading));
    Ok(ArmSet {
        figures: figures.to_vec(),
        links,
        within_spec,
        within_limits: axle.within_limits,
        axle,
        sides,
    })
}

fn arm_set_side(
    task: &Task<'_>,
    best: &AdjustedSide,
    locked: impl Fn(&Link) -> bool,
    asked: Asked<'_>,
) -> Result<ArmSetSide, NoPosition> {
    let Task { side, ground, drop, spec, setup: found, adjusters, .. } = task;
    let reach = Reach { side, ground, found, spec, adjusters };
    let held = task.question().linkage(best);
    let linkage = held.map_err(|stuck| NoPosition::new(side, *drop, &stuck, Reason::NotHeld))?;
    let reading = Reading::of(side, &linkage.pose, ground);
    let bump = travel_ends(side)[1];
    let stretch = reach.stretch(bump, asked);
    let window = if asked.wants("bump_steer") { WINDOW } else { 0.0 };
    let outside = |figure: Figure, value: f64| {
        let off = value.to_radians() - spec.target(figure);
        let over = off.abs() - spec.tolerance(figure);
        (!reading.judged(spec).within_spec && over > 0.0).then(|| over.copysign(off).to_degrees())
    };
    Ok(ArmSetSide {
        side: side.hand,
        best: reading.judged(spec),
        camber_outside_deg: outside(Figure::Camber, reading.camber_deg),
        toe_outside_deg: outside(Figure::Toe, reading.toe_deg),
        arms: (0..adjusters.len()).filter_map(|i| needed_arm(task, i, best)).collect(),
        cams: cams_turned(&task.question(), best, &best.values),
        other_cams: cams_left(side, adjusters, best, locked),
        bump_steer: Bumps { side, ground, setup: &best.setup }.steer(&linkage, window, window),
        reach_from_drop_mm: stretch.from,
        run_out_drop_mm: stretch.to,
        bump_mm: bump,
        certainty: Certainty::from(&linkage),
    })
}

/// The lengths that the arm of a link may take; wide ones where the profile gives no arm.
fn ends(link: &Link) -> [f64; 2] {
    let stock = link.stock_length();
    let unknown = [stock * (1.0 - UNKNOWN_RANGE), stock * (1.0 + UNKNOWN_RANGE)];
    link.arm.as_ref().map_or(unknown, |arm| arm.range().ends)
}

fn needed_arm(task: &Task<'_>, index: usize, best: &AdjustedSide) -> Option<NeededArm> {
    let adjuster = &task.adjusters[index];
    let Means::Arm(_) = adjuster.means else { return None };
    let link = &task.side.links[adjuster.link];
    Some(NeededArm {
        link: link.name.clone(),
        sets: best.parts[index].meets().or(adjuster.sets)?,
        stock_mm: link.stock_length(),
        length_mm: best.values[index],
        longer_mm: best.values[index] - link.stock_length(),
        in_reach: link.arm.as_ref().map(|_| best.parts[index].stop().is_none()),
    })
}
