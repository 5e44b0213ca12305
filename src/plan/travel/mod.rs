//! Several set-ups over the same travel, side by side.
//!
//! Travel is the body moving straight up and down on both wheels, so the ground keeps the direction that the stance gives it.
//! It counts from the new ride height; every set-up is followed from there to either end, so each stays on its own way of
//! being put together.

mod answer;

pub use answer::{
    AS_FOUND, CamMoved, Curve, LinkLength, Omitted, OnlyStation, PLANNED, TravelCurves, TravelEnd,
    TravelQuestion, TravelSide, Variant,
};

use crate::car::{Car, PerSide, Setup, Side, Stance};
use crate::geometry::{Angles, Figure, Pose, Position, solve};
use crate::plan::adjusting::SettingQuestion;
use crate::plan::over_travel::{Bumps, Load, Place, Station, Track, travel_ends};
use crate::plan::planning::settings;
use crate::plan::wheel::{NoPosition, Reason, Target, forward};

/// Heights nearer to each other than this are one, mm.
const SAME: f64 = 1e-6;

/// So far before the end that the links put to the travel, a wheel is still shown, mm: at the end itself it has no gradients.
const SHORT: f64 = 0.1;

/// Why nothing can be set to a spec.
const NO_SPEC: &str = "the profile has no [spec], so there is nothing to aim for";

/// Follows set-ups over the travel of both wheels.
///
/// # Examples
///
/// ```
/// # use rodset::plan::{Fitting, TravelQuestion, travel};
/// # use rodset::car::Stance;
/// # let car = rodset::profile::read(include_str!("../../../examples/tansy-wharf.toml")).expect("a sound profile").car;
/// # let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop, so no wheelbase is needed");
/// # let specs = car.sides.each(|side| side.spec.expect("its profile has a spec"));
/// let question = TravelQuestion {
///     fitting: &Fitting::default(),
///     specs: Some(&specs),
///     variants: &[],
///     bump: Some(50.0),
///     droop: Some(40.0),
///     every: 10.0,
///     only: None,
/// };
/// let curves = travel(&car, &stance, &question)?;
/// for curve in &curves.sides.left.setups {
///     for station in &curve.stations {
///         println!("{}: {:+.0} mm toe {:+.3} deg", curve.setup, station.travel_mm, station.reading.toe_deg);
///     }
/// }
/// # Ok::<(), rodset::plan::NoPosition>(())
/// ```
///
/// # Errors
///
/// [`NoPosition`] where not even the links as found can be followed on a side.
pub fn travel(car: &Car, stance: &Stance, question: &TravelQuestion<'_>) -> Result<TravelCurves, NoPosition> {
    let mut missing = Vec::new();
    let mut setups = vec![(AS_FOUND.to_owned(), car.sides.each(Setup::as_found))];
    let is_asked = |name: &str| question.only.is_none_or(|only| only.setup == name);
    let specs = question.specs.filter(|_| question.only.is_none_or(|only| only.setup != AS_FOUND));
    let planned = specs.map(|specs| settings(car, stance, specs, question.fitting));
    match planned {
        Some(Ok(planned)) => setups.push((PLANNED.to_owned(), planned)),
        Some(Err(error)) => missing.push(Omitted { setup: PLANNED.to_owned(), why: error.to_string() }),
        None => {
            missing.push(Omitted { setup: PLANNED.to_owned(), why: NO_SPEC.to_owned() });
        }
    }
    let base = setups[setups.len() - 1].1;
    for variant in question.variants.iter().filter(|variant| is_asked(&variant.name)) {
        let setup = variant.name.clone();
        if variant.hold && question.specs.is_none() {
            missing.push(Omitted { setup, why: NO_SPEC.to_owned() });
            continue;
        }
        match varied(car, stance, question, variant, &base) {
            Ok(links) => setups.push((setup, links)),
            Err(error) => missing.push(Omitted { setup, why: error.to_string() }),
        }
    }
    setups.retain(|(name, _)| is_asked(name));
    let load = Load::new(car, stance);
    let sides = PerSide::try_of(|hand| {
        let side = &car.sides[hand];
        let window = Window::new(side, stance.drop(hand), question);
        let mut curves = Vec::new();
        let mut failures = Vec::new();
        for (name, setup) in &setups {
            match curve(side, stance, &setup[hand], name, &window, load) {
                Ok(curve) => curves.push(curve),
                Err(error) => failures.push((name.clone(), error)),
            }
        }
        let first = failures.first().map(|(_, error)| error.clone());
        if let (true, Some(error)) = (curves.is_empty(), first) {
            return Err(error);
        }
        missing.extend(failures.into_iter().map(|(setup, error)| Omitted { setup, why: error.to_string() }));
        Ok(TravelSide {
            side: hand,
            drop_mm: window.drop,
            bump_mm: window.bump,
            droop_mm: window.droop,
            to_the_stops: window.to_the_stops,
            spec: question.specs.map(|specs| Target::from(&specs[hand])),
            setups: curves,
        })
    })?;
    Ok(TravelCurves { sides, missing })
}

/// A set-up with links of other lengths.
fn varied(
    car: &Car,
    stance: &Stance,
    question: &TravelQuestion<'_>,
    variant: &Variant,
    base: &PerSide<Setup>,
) -> Result<PerSide<Setup>, NoPosition> {
    let mut setups = *base;
    for (side, setup) in car.sides.iter().zip(&mut setups) {
        let change = |i: usize| variant.changes.iter().find(|(name, _)| *name == side.links[i].name);
        for i in 0..side.links.len() {
            setup.lengths[i] += change(i).map_or(0.0, |(_, longer)| *longer);
        }
        let Some(specs) = question.specs.filter(|_| variant.hold) else { continue };
        let free: Vec<_> = question
            .fitting
            .adjusters(side)
            .into_iter()
            .filter(|adjuster| !adjuster.is_for(Figure::Pitch) && change(adjuster.link).is_none())
            .collect();
        let ground = stance.ground(side.hand);
        let (drop, spec) = (stance.drop(side.hand), &specs[side.hand]);
        let held = SettingQuestion {
            side,
            ground: &ground,
            drop,
            setup,
            spec,
            adjusters: &free,
            offset: Angles::default(),
            only: None,
        }
        .hold()?;
        *setup = held.setup;
    }
    Ok(setups)
}

/// The travel that is looked at on one side.
struct Window {
    drop: f64,
    bump: f64,
    droop: f64,
    to_the_stops: [bool; 2],
    every: f64,
    /// The one travel that is asked about, where not all are.
    only: Option<f64>,
}

impl Window {
    fn new(side: &Side, drop: f64, question: &TravelQuestion<'_>) -> Self {
        let stops = [side.ride.bump_left(drop), side.ride.droop.map(|droop| droop + drop)];
        let [lowest, highest] = travel_ends(side);
        let [bump, droop] =
            [question.bump.unwrap_or(highest - drop), question.droop.unwrap_or(drop - lowest)]
                .map(|travel| travel.max(0.0));
        let at = |stop: Option<f64>, end: f64| stop.is_some_and(|stop| (stop - end).abs() < SAME);
        let to_the_stops = [at(stops[0], bump), at(stops[1], droop)];
        Self {
            drop,
            bump,
            droop,
            to_the_stops,
            every: question.every,
            only: question.only.map(|only| only.travel),
        }
    }

    /// Whether a height is asked about, mm of travel.
    fn asks(&self, travel: f64) -> bool {
        self.only.is_none_or(|only| (only - travel).abs() < SAME)
    }

    /// What a height is called.
    fn place(&self, travel: f64) -> Option<Place> {
        let at = |height: f64| (travel - height).abs() < SAME;
        match self.to_the_stops {
            _ if at(0.0) => Some(Place::Ride),
            _ if at(-self.drop) => Some(Place::Stock),
            [true, _] if at(self.bump) => Some(Place::BumpStop),
            [_, true] if at(-self.droop) => Some(Place::FullDroop),
            _ => None,
        }
    }

    /// The heights that are looked at in one direction from ride height, mm of travel, ride height itself left out: whole
    /// steps, the end, and the height at which the car was measured.
    fn heights(&self, up: bool) -> Vec<f64> {
        let (end, sign) = if up { (self.bump, 1.0) } else { (self.droop, -1.0) };
        let steps = std::iter::successors(Some(1.0), |step| Some(step + 1.0)).map(|step| step * self.every);
        let mut heights: Vec<f64> = steps.take_while(|height| *height < end).collect();
        heights.extend([end, -self.drop * sign]);
        // Up to the one that is asked about.
        let last = self.only.map_or(end, |only| (only * sign).min(end));
        heights.retain(|height| *height > SAME && *height <= last + SAME);
        heights.sort_by(f64::total_cmp);
        heights.dedup_by(|a, b| (*a - *b).abs() < SAME);
        heights.into_iter().map(|height| height * sign).collect()
    }
}

/// Follows one set-up from the new ride height to both ends.
fn curve(
    side: &Side,
    stance: &Stance,
    setup: &Setup,
    name: &str,
    window: &Window,
    load: Load,
) -> Result<Curve, NoPosition> {
    let ground = stance.ground(side.hand);
    let start = forward(side, setup, window.drop)?;
    let home = side.contact(&start.pose, &ground);
    let track = Track { side, ground, setup, ride: window.drop, home, load };
    let mut ends = Vec::new();
    let mut follow = |up: bool| {
        let mut stations = Vec::new();
        let mut pose = start.pose;
        for height in window.heights(up) {
            match onward(side, setup, &pose, window.drop + height) {
                Ok(position) => {
                    pose = position.pose;
                    if window.asks(height) {
                        stations.push(track.station(&position, height, window.place(height)));
                    }
                }
                Err(stop) => {
                    let last = pose.centre.z - side.wheel.centre.z;
                    let short = stop.reached - SHORT.copysign(height);
                    if (short - last) * height.signum() > SAME
                        && let Ok(position) = onward(side, setup, &pose, short)
                    {
                        stations.push(track.station(&position, short - window.drop, Some(Place::LinksEnd)));
                    }
                    ends.push(TravelEnd {
                        travel_mm: stop.reached - window.drop,
                        drop_mm: stop.reached,
                        links: stop.error.links,
                    });
                    break;
                }
            }
        }
        stations
    };
    let up = follow(true);
    let mut stations = follow(false);
    stations.reverse();
    if window.asks(0.0) {
        stations.push(track.station(&start, 0.0, window.place(0.0)));
    }
    stations.extend(up);
    let end =
        |station: Option<&Station>| station.filter(|_| window.only.is_none()).map_or(0.0, |at| at.travel_mm);
    let [lowest, highest] = [stations.first(), stations.last()].map(end);
    let steer = Bumps { side, ground: &ground, setup }.steer(&start, -lowest, highest);
    Ok(Curve {
        setup: name.to_owned(),
        links: side.rods().map(|link| link_length(side, setup, link)).collect(),
        cams: (side.links.iter().enumerate())
            .filter(|(_, link)| !link.hold.is_rod())
            .filter_map(|(i, link)| {
                let moved_mm = setup.cam(i, link) - link.cam?.found();
                Some(CamMoved { link: link.name.clone(), moved_mm })
            })
            .collect(),
        toe_least_deg: steer.toe_least_deg,
        toe_most_deg: steer.toe_most_deg,
        stations,
        ends,
    })
}

/// Where a wheel could go no further, and why.
struct Stop {
    /// The last drop that was reached, mm.
    reached: f64,
    error: NoPosition,
}

/// The position at a drop, followed from a pose of the same links.
fn onward(side: &Side, setup: &Setup, from: &Pose, drop: f64) -> Result<Position, Stop> {
    solve(&setup.rows(side, drop), from).map_err(|stuck| {
        let reached = stuck.pose.centre.z - side.wheel.centre.z;
        Stop { reached, error: NoPosition::new(side, drop, &stuck, Reason::EndOfTravel(reached)) }
    })
}

fn link_length(side: &Side, setup: &Setup, index: usize) -> LinkLength {
    const ROUNDING: f64 = 1e-9;
    let link = &side.links[index];
    let (length, stock) = (setup.lengths[index], link.stock_length());
    let beyond = |[shortest, longest]: [f64; 2]| length < shortest - ROUNDING || length > longest + ROUNDING;
    // A stock arm is no adjustable one at the end of its range.
    let changed = (length - stock).abs() > ROUNDING;
    LinkLength {
        link: link.name.clone(),
        length_mm: length,
        longer_mm: length - stock,
        cam_moved_mm: link.cam.map(|cam| setup.cam(index, link) - cam.found()),
        beyond_arm: changed && link.arm.as_ref().is_some_and(|arm| beyond(arm.range().ends)),
    }
}
