//! How far rod ends tilt and rubber bushes wind up over the whole travel.

mod answer;
mod driveshaft;
mod worst;

pub use answer::{ArmEnd, Bush, JointAngles, JointSide, RodEnd};
pub use driveshaft::{Plunge, ShaftAngles, ShaftJoint};
pub use worst::Worst;

use crate::car::{Car, Joint, Joints, PerLink, Setup, Side, Stance};
use crate::geometry::{Pose, joint};
use crate::plan::Asked;
use crate::plan::adjusting::Fitting;
use crate::plan::over_travel::{Gaps, Missing, Sweep, once};
use crate::plan::planning::Plan;
use crate::plan::wheel::{NoPosition, forward};
use driveshaft::shaft;
use nalgebra::Vector3;

/// Asks for the angles of all joints over the whole travel.
///
/// `plan` is the plan for this stance, if there is one, and `fitting` the fitting that it was made with; no more is worked out than is
/// `asked` for.
///
/// # Errors
///
/// [`NoPosition`] where a side has no position at the drop.
pub fn joint_angles(
    car: &Car,
    stance: &Stance,
    plan: Option<&Plan>,
    fitting: &Fitting,
    asked: Asked<'_>,
) -> Result<JointAngles, NoPosition> {
    let sides = car.sides.each(|side| joint_side(side, stance, plan, fitting, asked)).ok()?;
    let missing = once(car.sides.each(|side| not_given(side, plan.is_some(), fitting)));
    Ok(JointAngles { sides, missing })
}

fn joint_side(
    side: &Side,
    stance: &Stance,
    plan: Option<&Plan>,
    fitting: &Fitting,
    asked: Asked<'_>,
) -> Result<JointSide, NoPosition> {
    let drop = stance.drop(side.hand);
    let setup = match plan {
        Some(plan) => plan.sides[side.hand].setup(side, fitting),
        None => Setup::as_found(side),
    };
    let fitted = fitted(side, plan.is_some(), fitting);
    let sweep = Sweep::new(side, setup, drop)?;
    let at_drop = forward(side, &setup, drop)?.pose;
    let mut answer = JointSide {
        side: side.hand,
        drop_mm: drop,
        arch_gap_mm: side.ride.arch_gap_at(drop),
        travel: sweep.travel,
        rod_ends: Vec::new(),
        bushes: Vec::new(),
        driveshaft: (side.driveshaft.as_ref().filter(|_| asked.wants("driveshaft")))
            .map(|driveshaft| shaft(driveshaft, &sweep, &at_drop)),
    };
    for link in side.rods() {
        let fitted = fitted[link];
        let arm = Hung { sweep: &sweep, link, joints: side.links[link].joints(fitted), fitted, at_drop };
        for end in [ArmEnd::Subframe, ArmEnd::Knuckle] {
            match arm.joints.kinds[end as usize] {
                Joint::RodEnd if !asked.wants("rod_ends") => {}
                Joint::Bush if !asked.wants("bushes") => {}
                Joint::RodEnd => answer.rod_ends.extend(arm.rod_end(end)),
                Joint::Bush => answer.bushes.extend(arm.bush(end)),
            }
        }
    }
    Ok(answer)
}

/// Which links have their adjustable arms, if anything is planned.
fn fitted(side: &Side, planned: bool, fitting: &Fitting) -> PerLink<bool> {
    if planned { fitting.fitted(side) } else { PerLink::default() }
}

/// An arm on its two bolts.
struct Hung<'a> {
    sweep: &'a Sweep<'a>,
    link: usize,
    joints: Joints,
    fitted: bool,
    at_drop: Pose,
}

impl Hung<'_> {
    fn side(&self) -> &Side {
        self.sweep.side
    }

    fn name(&self) -> String {
        self.side().links[self.link].name.clone()
    }

    /// The arm's direction in a pose, from subframe to knuckle, with its pivots as `setup` has them.
    fn line(&self, setup: &Setup, pose: &Pose) -> Vector3<f64> {
        let [inner, outer] = self.side().ends(self.link, setup, pose);
        outer - inner
    }

    /// The bolt at an end, in car axes: the one in the knuckle goes with it.
    fn bolt(&self, end: ArmEnd, pose: &Pose) -> Option<Vector3<f64>> {
        let bolt = self.side().links[self.link].bolts[end as usize]?;
        Some(match end {
            ArmEnd::Subframe => bolt,
            ArmEnd::Knuckle => pose.rotation * bolt,
        })
    }

    /// The angle between the two bolts, looking along the arm; `None` where one of them is not known.
    fn roll(&self, pose: &Pose) -> Option<f64> {
        let line = self.line(&self.sweep.setup, pose);
        Some(joint::roll(&line, &self.bolt(ArmEnd::Subframe, pose)?, &self.bolt(ArmEnd::Knuckle, pose)?))
    }

    fn rod_end(&self, end: ArmEnd) -> Option<RodEnd> {
        self.bolt(end, &self.at_drop)?;
        let locked = self.roll(&self.at_drop);
        let share = if self.joints.kinds == [Joint::RodEnd; 2] { 0.5 } else { 1.0 };
        let tilt = |pose: &Pose| {
            let lean = self
                .bolt(end, pose)
                .map_or(0.0, |bolt| joint::lean(&self.line(&self.sweep.setup, pose), &bolt));
            let roll =
                self.roll(pose).zip(locked).map_or(0.0, |(now, locked)| joint::of_a_bolt(now - locked));
            joint::tilt(lean, share * roll)
        };
        let worst = Worst::of(self.side(), self.sweep.most(tilt));
        let limit_deg = self.joints.limit.map(f64::to_degrees);
        let binds_mm = self.joints.limit.map_or(Vec::new(), |limit| {
            let left = |pose: &Pose| limit - tilt(pose);
            self.sweep.not_above_zero(left, self.sweep.least(left))
        });
        Some(RodEnd {
            link: self.name(),
            end,
            at_drop_deg: tilt(&self.at_drop).to_degrees(),
            worst,
            limit_deg,
            remaining_deg: limit_deg.map(|limit| limit - worst.angle_deg),
            binds_mm,
            both_bolts_known: locked.is_some(),
        })
    }

    /// The arm as the bush's clamped sleeve sees it: in car axes at the subframe, in the knuckle's own at the knuckle.
    fn seen(&self, end: ArmEnd, setup: &Setup, pose: &Pose) -> Vector3<f64> {
        let line = self.line(setup, pose);
        match end {
            ArmEnd::Subframe => line,
            ArmEnd::Knuckle => pose.rotation.inverse() * line,
        }
    }

    fn bush(&self, end: ArmEnd) -> Option<Bush> {
        let (side, sweep) = (self.side(), self.sweep);
        let bolt = side.links[self.link].bolts[end as usize]?;
        let now = |pose: &Pose| self.seen(end, &sweep.setup, pose);
        let wound = |clamped: Vector3<f64>| move |pose: &Pose| joint::turn(&bolt, &clamped, &now(pose)).abs();
        let found = self.seen(end, &Setup::as_found(side), &side.reference());
        let standing = now(&self.at_drop);
        let lean = |line: &Vector3<f64>| joint::lean(line, &bolt).copysign(line.dot(&bolt));
        let lean_worst = sweep.most(|pose| (lean(&now(pose)) - lean(&standing)).abs());
        let hanging = sweep.at(sweep.travel.lowest_mm)?.pose;
        Some(Bush {
            link: self.name(),
            end,
            not_loosened_deg: (!self.fitted).then(|| wound(found)(&self.at_drop).to_degrees()),
            not_loosened_worst: (!self.fitted).then(|| Worst::of(side, sweep.most(wound(found)))),
            clamped_hanging_deg: wound(now(&hanging))(&self.at_drop).to_degrees(),
            clamped_at_drop_worst: Worst::of(side, sweep.most(wound(standing))),
            lean_worst_deg: lean_worst.value.to_degrees(),
        })
    }
}

fn not_given(side: &Side, planned: bool, fitting: &Fitting) -> Vec<Missing> {
    let mut gaps = Gaps::over_travel(side);
    for (end, key) in [(0, "subframe_axis"), (1, "knuckle_axis")] {
        gaps.of_links(
            |_, link| link.bolts[end].is_none(),
            |names| {
                let key = format!("{key} = ... in [[link]] of {names}");
                (key, "the way the bolt runs, as a direction in the car's axes: [1.0, 0.0, 0.0] along the car; a ball joint has none")
            },
        );
    }
    let fitted = fitted(side, planned, fitting);
    gaps.of_links(
        |i, link| {
            let joints = link.joints(fitted[i]);
            joints.kinds.contains(&Joint::RodEnd) && joints.limit.is_none()
        },
        |names| {
            let key = format!("misalignment = ... in [link.arm] of {names}");
            (key, "how far a rod end may tilt one way before it binds, in degrees, from its maker's table")
        },
    );
    gaps.unless(
        side.driveshaft.is_some(),
        "[driveshaft] with inner and outer",
        "the middles of its two joints, as points; with inner_limit, outer_limit, push and pull it is held against its limits",
    );
    gaps.list()
}
