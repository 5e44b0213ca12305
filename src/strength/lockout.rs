//! Locking the cams out: the arm lengths with which nothing moves when they go.
//!
//! A cam holds its pivot off the middle of the slot. A lock-out plate holds it in the middle, or at an offset of its own. Where
//! the wheel is not to move, the distance from the knuckle's pivot, as it stands today, to the plate's hole is the length of
//! the new arm; all of them together leave the knuckle where it is, because it satisfies every row again.
//!
//! Arms lock at whole steps only. The steps of a side are chosen together, as in a plan, for what it reads today.
//!
//! `lockout` counts turns from the stock length; steps of a side are chosen together, nearest to what it reads today in the
//! tolerances of its spec (0.5 and 0.05 deg without one). A cam whose link has no `[link.arm]` stays as it is in `result`.

use serde::Serialize;
use std::f64::consts::SQRT_2;

use crate::car::{Arm, Car, Hand, Limit, Link, PerLink, PerSide, Setup, Side, Stance};
use crate::geometry::{CHARACTERISTIC_LENGTH, Position};
use crate::plan::adjusting::Keep;
use crate::plan::over_travel::Sweep;
use crate::plan::{Asked, NoPosition, Reading, forward};

/// How the cams are set today, and where the plates will hold the pivots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Locking {
    /// Turn of each cam from the middle of its slot, rad, by side and link; of a link without a cam it says nothing.
    pub settings: PerSide<PerLink<f64>>,
    /// Where the hole of each plate is, mm from the middle of the slot, positive the way of the slot's direction.
    pub offsets: PerSide<PerLink<f64>>,
}

/// The arms that take the place of the cams.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Lockout {
    /// Left, then right.
    pub sides: PerSide<LockoutSide>,
    /// The most that the camber of either wheel differs from today's anywhere on its travel, with the exact lengths, degrees.
    pub travel_camber_deg: f64,
    /// The same of toe, degrees.
    pub travel_toe_deg: f64,
}

/// One side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct LockoutSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// What it reads today, stock arms on, cams as they are set.
    pub today: Reading,
    /// What it would read with the cams locked out and the arms still at their stock lengths.
    pub stock_lengths: Reading,
    /// What it reads with the new arms at whole steps.
    pub result: Reading,
    /// How far the knuckle moves with the exact lengths, mm (a radian counts 100): the check of the answer, nearly 0.
    pub moves_mm: f64,
    /// The most that camber and toe differ from today's anywhere on the travel, with the exact lengths, degrees.
    pub travel_camber_deg: f64,
    /// The same of toe: the most that it differs from today's anywhere on the travel, degrees.
    pub travel_toe_deg: f64,
    /// The links that have a cam.
    pub arms: Vec<LockedArm>,
}

/// One link with a cam.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct LockedArm {
    /// Its name.
    pub link: String,
    /// Turn of its cam today, degrees from the middle.
    pub setting_deg: f64,
    /// Where that holds the pivot, mm from the middle of the slot; a plate with its hole there needs no other arm.
    pub shift_mm: f64,
    /// Where the plate will hold it, mm from the middle.
    pub offset_mm: f64,
    /// Length of the stock arm, mm.
    pub stock_mm: f64,
    /// Length that keeps today's alignment exactly, mm.
    pub exact_mm: f64,
    /// The adjustable arm at whole steps; `None` where the profile has none, and the cam has to stay.
    pub arm: Option<LockedSetting>,
}

/// How an adjustable arm is set.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct LockedSetting {
    /// Length at whole steps, those of a side chosen together, mm.
    pub set_mm: f64,
    /// Turns from the stock length to the exact one; positive: longer.
    pub turns_exact: f64,
    /// Turns to the set length.
    pub turns: f64,
    /// Length per turn, mm.
    pub lead_mm: f64,
    /// What stops the arm.
    pub limit: Limit,
}

impl Locking {
    /// Cams as they were found, plates with their holes in the middle.
    pub fn as_found(car: &Car) -> Self {
        let found = |link: &Link| link.cam.map_or(0.0, |cam| cam.setting);
        Self { settings: car.sides.each(|side| side.links.each(found)), offsets: PerSide::default() }
    }
}

impl Lockout {
    /// Whether every cam can go: each has an arm that reaches the length it needs.
    pub fn succeeds(&self) -> bool {
        let fits = |arm: &LockedArm| arm.arm.as_ref().is_some_and(|set| set.limit == Limit::Ok);
        self.sides.iter().all(|side| side.arms.iter().all(fits))
    }
}

/// Asks for the arms with which the cams can go; no more is worked out than is `asked` for.
///
/// # Errors
///
/// [`NoPosition`] where a side has no position.
pub fn lockout(
    car: &Car,
    stance: &Stance,
    locking: &Locking,
    asked: Asked<'_>,
) -> Result<Lockout, NoPosition> {
    let side = |hand| {
        lockout_side(&car.sides[hand], stance, (&locking.settings[hand], &locking.offsets[hand]), asked)
    };
    let sides = PerSide::try_of(side)?;
    let most = |of: fn(&LockoutSide) -> f64| sides.iter().map(of).fold(0.0, f64::max);
    Ok(Lockout {
        travel_camber_deg: most(|side| side.travel_camber_deg),
        travel_toe_deg: most(|side| side.travel_toe_deg),
        sides,
    })
}

fn lockout_side(
    side: &Side,
    stance: &Stance,
    (settings, offsets): (&PerLink<f64>, &PerLink<f64>),
    asked: Asked<'_>,
) -> Result<LockoutSide, NoPosition> {
    let (drop, ground) = (stance.drop(side.hand), stance.ground(side.hand));
    let mut today = Setup::as_found(side);
    for (i, link) in side.links.iter().enumerate() {
        if let Some(cam) = link.cam {
            today.put_cam(i, link, cam.shift(settings[i]));
        }
    }
    let now = forward(side, &today, drop)?;
    let reading = |position: &Position| Reading::of(side, &position.pose, &ground);
    let mut arms: Vec<(usize, LockedArm)> = (0..side.links.len())
        .filter_map(|i| Some((i, locked(side, i, settings[i], offsets[i], &now)?)))
        .collect();
    // A cam without an arm to take its place stays as it is.
    let setup_of = |arms: &[(usize, LockedArm)], length: fn(&LockedArm, &LockedSetting) -> f64| {
        let mut setup = today;
        for (i, locked) in arms {
            if let Some(set) = &locked.arm {
                setup.put_cam(*i, &side.links[*i], locked.offset_mm);
                setup.lengths[*i] = length(locked, set);
            }
        }
        setup
    };
    let exact = setup_of(&arms, |locked, _| locked.exact_mm);
    let lockable: Vec<usize> =
        arms.iter().filter(|(_, locked)| locked.arm.is_some()).map(|(i, _)| *i).collect();
    let from = side.links.each(Link::stock_length);
    let reads = reading(&now);
    let steps = Keep { side, ground: &ground, drop, exact, from, links: &lockable, reads }.steps()?;
    for (link, steps) in lockable.iter().zip(steps) {
        for (_, locked) in arms.iter_mut().filter(|(i, _)| i == link) {
            locked.set_to(steps, side.links[*link].arm.as_ref());
        }
    }
    let set_to = |length| setup_of(&arms, length);
    let again = forward(side, &exact, drop)?;
    let solved = |setup: &Setup| forward(side, setup, drop).map(|position| reading(&position));
    let over_travel = asked.wants("travel_camber_deg") || asked.wants("travel_toe_deg");
    let most = if over_travel { apart(side, [&today, &exact], drop, reading)? } else { [0.0; 2] };
    let [travel_camber_deg, travel_toe_deg] = most;
    Ok(LockoutSide {
        side: side.hand,
        drop_mm: drop,
        today: reading(&now),
        stock_lengths: solved(&set_to(|locked, _| locked.stock_mm))?,
        result: solved(&set_to(|_, set| set.set_mm))?,
        // The entries of the two rotations, which keep the digits of a small turn; its cosine has none.
        moves_mm: (now.pose.centre - again.pose.centre).norm().max(
            CHARACTERISTIC_LENGTH * (now.pose.rotation.matrix() - again.pose.rotation.matrix()).norm()
                / SQRT_2,
        ),
        travel_camber_deg,
        travel_toe_deg,
        arms: arms.into_iter().map(|(_, arm)| arm).collect(),
    })
}

fn locked(side: &Side, index: usize, setting: f64, offset: f64, now: &Position) -> Option<LockedArm> {
    // What is no rod has no arm that could take the place of its cam.
    let link = &side.links[index];
    let cam = link.cam.filter(|_| link.hold.is_rod())?;
    let stock_mm = link.stock_length();
    let mut locked = Setup::as_found(side);
    locked.put_cam(index, link, offset);
    let exact_mm = side.length_for(index, &locked, &now.pose);
    Some(LockedArm {
        link: link.name.clone(),
        setting_deg: setting.to_degrees(),
        shift_mm: cam.shift(setting),
        offset_mm: offset,
        stock_mm,
        exact_mm,
        arm: link.arm.as_ref().map(|arm| {
            let (lead_mm, turns_exact) = (arm.lead(), (exact_mm - stock_mm) / arm.lead());
            LockedSetting { set_mm: stock_mm, turns_exact, turns: 0.0, lead_mm, limit: Limit::Ok }
        }),
    })
}

impl LockedArm {
    /// The arm so many steps from its stock length.
    fn set_to(&mut self, steps: i32, arm: Option<&Arm>) {
        let (Some(set), Some(arm)) = (&mut self.arm, arm) else { return };
        let range = arm.range();
        set.turns = f64::from(steps) * arm.step;
        set.set_mm = self.stock_mm + set.turns * set.lead_mm;
        set.limit = match () {
            () if !arm.holds_at(set.set_mm) => Limit::Thread,
            () if self.exact_mm < range.ends[0] => range.limits[0],
            () if self.exact_mm > range.ends[1] => range.limits[1],
            () => Limit::Ok,
        };
    }
}

/// The most that camber and toe of two setups differ over the travel, degrees.
fn apart(
    side: &Side,
    setups: [&Setup; 2],
    drop: f64,
    reading: impl Fn(&Position) -> Reading,
) -> Result<[f64; 2], NoPosition> {
    let [before, after] = setups.map(|setup| Sweep::new(side, *setup, drop));
    let (before, after) = (before?, after?);
    let mut most = [0.0_f64; 2];
    for (height, position) in before.samples() {
        let Some(other) = after.at(*height) else { continue };
        let (a, b) = (reading(position), reading(&other));
        most[0] = most[0].max((a.camber_deg - b.camber_deg).abs());
        most[1] = most[1].max((a.toe_deg - b.toe_deg).abs());
    }
    Ok(most)
}
