//! The position of a side under given links, or why it has none.

use serde::Serialize;
use std::fmt;

use crate::car::{Hand, Setup, Side};
use crate::geometry::{Position, Stuck, solve};

/// Links that take less than this part in a jam are not named.
const NAMED_SHARE: f64 = 0.5;

/// How sure a solved position is.
///
/// The distances are those of [`Certificate`](crate::geometry::Certificate): they prove the arithmetic, not the
/// measurements that went into it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Certainty {
    /// Condition number of the position (angles scaled by 100 mm).
    pub condition: f64,
    /// The largest motion of the wheel per mm of a link's length or of drop, mm (a radian counts 100).
    pub worst_rate: f64,
    /// Whether the links are so near a dead point that small errors count many times.
    pub near_singular: bool,
    /// A true position of these links lies within this of the one found, mm; `None` near a dead point.
    pub true_within_mm: Option<f64>,
    /// No other position of these links lies within this, mm.
    pub alone_within_mm: Option<f64>,
}

impl From<&Position> for Certainty {
    fn from(position: &Position) -> Self {
        let certificate = position.certificate();
        Self {
            condition: position.condition,
            worst_rate: position.worst_rate(),
            near_singular: position.is_near_singular(),
            true_within_mm: certificate.map(|certificate| certificate.within),
            alone_within_mm: certificate.map(|certificate| certificate.alone_within),
        }
    }
}

/// A side that cannot be where it is asked to be.
#[derive(Debug, Clone, PartialEq)]
pub struct NoPosition {
    /// Which side.
    pub(crate) hand: Hand,
    /// The drop that was asked for, mm.
    pub(crate) drop: f64,
    /// The links that block each other, the worst first.
    pub links: Vec<String>,
    /// What went wrong.
    pub reason: Reason,
}

/// What went wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// The wheel can be followed to this drop, mm, and no further.
    EndOfTravel(f64),
    /// The drop can be reached, but there the links do not hold the wheel.
    NotHeld,
    /// The links do not even go together at the reference height.
    DoesNotAssemble,
    /// The figures cannot be met; followed as far as this drop, mm.
    OutOfReach(f64),
    /// The lengths found, put back into the car, do not give the figures they were found for; off by so much, deg.
    Unconfirmed(f64),
}

impl fmt::Display for NoPosition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { hand, drop, .. } = self;
        let names: Vec<String> = self.links.iter().map(|name| format!("\"{name}\"")).collect();
        let links = match names.split_last() {
            None => "the links block each other".to_owned(),
            Some((only, [])) => format!("{only} is at the end of its swing"),
            Some((last, others)) => format!("{} and {last} block each other", others.join(", ")),
        };
        match self.reason {
            Reason::EndOfTravel(reached) => write!(
                f,
                "the {hand} wheel cannot be at a drop of {drop:.1} mm: {links}; the last drop that \
                 can be reached is {:.1} mm",
                towards_zero(reached)
            ),
            Reason::NotHeld => write!(
                f,
                "at a drop of {drop:.1} mm the {hand} wheel is not held: {links}, so it could move without any link \
                 changing its length"
            ),
            Reason::DoesNotAssemble => write!(
                f,
                "the {hand} side cannot be put together with these lengths, even at the reference height: {links}"
            ),
            Reason::OutOfReach(reached) => write!(
                f,
                "no arm length gives the {hand} wheel these readings at a drop of {drop:.1} mm: {links}; they could be followed to a drop of {:.1} mm",
                towards_zero(reached)
            ),
            Reason::Unconfirmed(off) => write!(
                f,
                "the {hand} side's answer for a drop of {drop:.1} mm did not pass its own check (off by {off:.1e} \
                 degree), so it is not shown; please report this with the profile"
            ),
        }
    }
}

impl std::error::Error for NoPosition {}

/// A drop that is still reached after rounding to a tenth.
fn towards_zero(drop: f64) -> f64 {
    // Adding zero turns -0.0 into 0.0.
    (drop * 10.0).trunc() / 10.0 + 0.0
}

impl NoPosition {
    pub(crate) fn new(side: &Side, drop: f64, stuck: &Stuck, reason: Reason) -> Self {
        let mut blocked: Vec<usize> =
            (0..side.links.len()).filter(|&i| stuck.share[i] >= NAMED_SHARE).collect();
        blocked.sort_by(|&a, &b| stuck.share[b].total_cmp(&stuck.share[a]));
        if blocked.is_empty() {
            // The height itself has the largest share; then the link with the next one.
            blocked.extend((0..side.links.len()).max_by(|&a, &b| stuck.share[a].total_cmp(&stuck.share[b])));
        }
        let links = blocked.iter().map(|&i| side.links[i].name.clone()).collect();
        Self { hand: side.hand, drop, links, reason }
    }
}

/// Where the wheel is with links set a little differently than in a position that is known: quicker than [`forward`].
pub(crate) fn forward_from(
    near: &Position,
    side: &Side,
    setup: &Setup,
    drop: f64,
) -> Result<Position, NoPosition> {
    solve(&setup.rows(side, drop), &near.pose).or_else(|_| forward(side, setup, drop))
}

/// Where the wheel is with links set as given, at a drop in mm.
///
/// # Examples
///
/// ```
/// # use rodset::plan::forward;
/// # use rodset::car::Setup;
/// # use rodset::car::Stance;
/// # let car = rodset::profile::read(include_str!("../../../examples/tansy-wharf.toml")).expect("a sound profile").car;
/// let side = &car.sides.left;
/// let mut setup = Setup::as_found(side);
/// setup.lengths[0] += 3.0;
/// let position = forward(side, &setup, 40.0)?;
/// assert!(position.residual < 1e-9);
/// # Ok::<(), rodset::plan::NoPosition>(())
/// ```
///
/// # Errors
///
/// [`NoPosition`] with the links in trouble and the drop that can still be reached.
pub fn forward(side: &Side, setup: &Setup, drop: f64) -> Result<Position, NoPosition> {
    let rows = setup.rows(side, drop);
    solve(&rows, &side.reference()).or_else(|_| {
        // Changed links first, then the drop: slower, but it tells where the travel ends.
        let assembled = solve(&setup.rows(side, 0.0), &side.reference())
            .map_err(|stuck| NoPosition::new(side, drop, &stuck, Reason::DoesNotAssemble))?;
        solve(&rows, &assembled.pose).map_err(|stuck| {
            let reached = stuck.pose.centre.z - side.wheel.centre.z;
            let there = stuck.reached >= 1.0;
            let reason = if there { Reason::NotHeld } else { Reason::EndOfTravel(reached) };
            NoPosition::new(side, drop, &stuck, reason)
        })
    })
}
