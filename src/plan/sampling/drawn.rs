//! Drawn wheels: what they read when they are set up like the measured one, and how much longer their arms would have to be.
//!
//! Four at a time are solved at once, from where the measured wheel is; those that do not go together are solved one by one.

use crate::car::{Hardpoints, PerLink, Setup, Side, Spec, Stance};
use crate::geometry::{Figure, Four, Ground, Pose, Row, solve_four, solve_near};
use crate::measure::Draw;
use crate::plan::adjusting::Fitting;
use crate::plan::planning::PlanSide;
use crate::plan::wheel::{NoPosition, Reading, forward};

/// What a drawn wheel comes to.
#[derive(Debug, Clone, Copy)]
pub(super) struct DrawnAnswer {
    /// What it reads when it is set up as the measured one was planned.
    pub(super) reading: Reading,
    /// By how much the arm of each link would then have to be longer, mm; 0 without one.
    pub(super) corrections: PerLink<f64>,
}

/// The wheels of one side that may be the measured one, set up alike.
pub(super) struct Wheels<'a> {
    side: &'a Side,
    /// The measured side as it was found, as it is set up, and where its wheel then is.
    found: Setup,
    setup: Setup,
    pose: Pose,
    /// The links whose arms are matched to the stock length first.
    matched: PerLink<bool>,
    /// The arms that meet a figure: of each link, which and the value, rad.
    aims: PerLink<Option<(Figure, f64)>>,
}

/// A drawn wheel on its ground.
struct DrawnWheel {
    points: Hardpoints,
    setup: Setup,
    drop: f64,
    ground: Ground,
}

impl<'a> Wheels<'a> {
    /// Wheels that are only lowered.
    pub(super) fn lowered(side: &'a Side, stance: &Stance) -> Result<Self, NoPosition> {
        let found = Setup::as_found(side);
        let pose = forward(side, &found, stance.drop(side.hand))?.pose;
        Ok(Self { side, found, setup: found, pose, matched: PerLink::default(), aims: PerLink::default() })
    }

    /// Wheels whose arms and cams are set by a plan.
    pub(super) fn planned(
        side: &'a Side,
        stance: &Stance,
        spec: &Spec,
        fitting: &Fitting,
        plan: &PlanSide,
    ) -> Result<Self, NoPosition> {
        let setup = plan.setup(side, fitting);
        let pose = forward(side, &setup, stance.drop(side.hand))?.pose;
        let arm = |link: usize| plan.arms.iter().find(|arm| arm.link == side.links[link].name);
        // A pitch that is off is not corrected by what a gauge reads.
        let aim = |link: usize| {
            let figure = arm(link)?.corrects.filter(|figure| *figure != Figure::Pitch)?;
            Some((figure, spec.target(figure)))
        };
        let aims = PerLink::of(aim);
        let matched = PerLink::of(|link| arm(link).is_some());
        Ok(Self { side, found: Setup::as_found(side), setup, pose, matched, aims })
    }

    /// What drawn wheels come to; `None` for those that have no position, or were not drawn.
    pub(super) fn of(&self, draws: [Option<&Draw>; 4]) -> [Option<DrawnAnswer>; 4] {
        let wheels = draws.map(|draw| draw.map(|draw| self.wheel(draw)));
        let lowered = poses(|k| {
            let wheel = wheels[k].as_ref()?;
            Some(wheel.asked(&wheel.rows(), self.start(wheel)))
        });
        let met = if self.aims.iter().all(Option::is_none) {
            lowered
        } else {
            poses(|k| {
                let wheel = wheels[k].as_ref()?;
                Some(wheel.asked(&self.aimed(wheel), lowered[k]?))
            })
        };
        std::array::from_fn(|k| {
            let (wheel, pose, met) = (wheels[k].as_ref()?, lowered[k]?, met[k]?);
            let reading = Reading::of_wheel(&wheel.points.wheel, &pose, &wheel.ground);
            let correction = |link: usize| self.aims[link].map_or(0.0, |_| wheel.too_long(link, &met));
            Some(DrawnAnswer { reading, corrections: PerLink::of(correction) })
        })
    }

    fn wheel(&self, draw: &Draw) -> DrawnWheel {
        let hand = self.side.hand;
        let points = Hardpoints::measured(&draw.numbers[hand], self.side.links.each(|link| link.hold));
        let mut setup = self.setup.carried(&self.found, &points.as_found());
        for (link, preset) in draw.presets[hand].into_iter().enumerate() {
            if self.matched[link] {
                setup.lengths[link] += preset;
            }
        }
        DrawnWheel { points, setup, drop: draw.stance.drop(hand), ground: draw.stance.ground(hand) }
    }

    /// Where a drawn wheel would be if it moved as the measured one.
    fn start(&self, wheel: &DrawnWheel) -> Pose {
        self.pose.carried(&self.side.wheel.centre, &wheel.points.wheel.centre)
    }

    /// The rows of a wheel whose arms meet their figures.
    fn aimed(&self, wheel: &DrawnWheel) -> [Row; 6] {
        let mut rows = wheel.rows();
        for (row, aim) in rows.iter_mut().zip(self.aims) {
            if let Some((figure, target)) = aim {
                *row = Row::reads(figure, &wheel.points.wheel, &wheel.ground, target);
            }
        }
        rows
    }
}

impl DrawnWheel {
    fn asked(&self, rows: &[Row; 6], near: Pose) -> DrawnQuestion {
        DrawnQuestion { rows: *rows, near, reference: Pose::reference(self.points.wheel.centre) }
    }

    fn rows(&self) -> [Row; 6] {
        self.points.rows(&self.setup, self.drop)
    }

    /// By how much a link would have to be longer than it is set, for a pose, mm.
    fn too_long(&self, link: usize, pose: &Pose) -> f64 {
        let [inner, outer] = self.points.ends(link, &self.setup, pose);
        (outer - inner).norm() - self.setup.lengths[link]
    }
}

/// What is asked of a drawn wheel.
struct DrawnQuestion {
    rows: [Row; 6],
    /// Where it may be near to.
    near: Pose,
    /// Where it was measured, from where it can be followed if that was not near enough.
    reference: Pose,
}

impl DrawnQuestion {
    fn pose(&self) -> Option<Pose> {
        solve_near(&self.rows, &self.near, &self.reference).ok().map(|position| position.pose)
    }
}

/// The poses of up to four wheels: solved at once where that goes, else one by one.
fn poses(asked: impl Fn(usize) -> Option<DrawnQuestion>) -> [Option<Pose>; 4] {
    let asked = [0, 1, 2, 3].map(asked);
    match together(&asked) {
        Some(four) => [0, 1, 2, 3].map(|k| Some(four.one(k))),
        None => asked.map(|asked| asked?.pose()),
    }
}

fn together(asked: &[Option<DrawnQuestion>; 4]) -> Option<Pose<Four>> {
    let [Some(a), Some(b), Some(c), Some(d)] = asked else { return None };
    let row = |i: usize| Row::together([&a.rows[i], &b.rows[i], &c.rows[i], &d.rows[i]]);
    let rows = [row(0)?, row(1)?, row(2)?, row(3)?, row(4)?, row(5)?];
    solve_four(&rows, &Pose::together([&a.near, &b.near, &c.near, &d.near]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::Car;
    use crate::measure::Sampler;
    use crate::plan::plan;
    use approx::assert_relative_eq;

    /// Hundreds of drawn wheels, by four, one by one, and as whole cars that are solved from their reference.
    #[test]
    fn four_at_a_time_come_to_what_each_comes_to_by_itself() {
        for text in [
            include_str!("../../../examples/tansy-wharf.toml"),
            include_str!("../../../examples/fennel-weir.toml"),
            include_str!("../../../examples/teasel-quay.toml"),
            include_str!("../../../examples/bracken-lock.toml"),
        ] {
            four_at_a_time(&crate::profile::read(text).expect("sound").car);
        }
    }

    fn four_at_a_time(car: &Car) {
        let stance = Stance::new(car, [40.0, 43.0], None).expect("no front drop");
        let specs = car.sides.each(|side| side.spec.expect("the example has a spec"));
        let fitting = Fitting::default();
        let answer = plan(car, &stance, &specs, &fitting).expect("within travel");
        let sampler = Sampler::new(car, &stance, 11);
        for side in &car.sides {
            let hand = side.hand;
            let wheels = Wheels::planned(side, &stance, &specs[hand], &fitting, &answer.sides[hand])
                .expect("as planned");
            for first in (0..200).step_by(4) {
                let draws = [0, 1, 2, 3].map(|k| sampler.draw(first + k).expect("no front drop"));
                let four = wheels.of(draws.each_ref().map(Some));
                for (draw, together) in draws.iter().zip(four) {
                    let together = together.expect("within travel");
                    let [alone, ..] = wheels.of([Some(draw), None, None, None]);
                    let alone = alone.expect("within travel");
                    let drawn = &draw.car(car).sides[hand];
                    let mut setup = answer.sides[hand].setup(drawn, &fitting);
                    for link in (0..drawn.links.len()).filter(|&link| wheels.matched[link]) {
                        setup.lengths[link] += draw.presets[hand][link];
                    }
                    let position = forward(drawn, &setup, draw.stance.drops[hand]).expect("within travel");
                    let whole = Reading::of(drawn, &position.pose, &draw.stance.ground(side.hand));
                    for reading in [alone.reading, whole] {
                        assert_relative_eq!(together.reading.camber_deg, reading.camber_deg, epsilon = 1e-9);
                        assert_relative_eq!(together.reading.toe_deg, reading.toe_deg, epsilon = 1e-9);
                    }
                    // Its arms, so much longer, bring it to the spec.
                    for link in 0..drawn.links.len() {
                        assert_relative_eq!(
                            together.corrections[link],
                            alone.corrections[link],
                            epsilon = 1e-9
                        );
                        setup.lengths[link] += together.corrections[link];
                    }
                    let met = forward(drawn, &setup, draw.stance.drops[hand]).expect("within travel");
                    let met = Reading::of(drawn, &met.pose, &draw.stance.ground(side.hand));
                    let reads = [met.camber_deg, met.toe_deg].map(f64::to_radians);
                    for (figure, target) in wheels.aims.iter().flatten() {
                        assert_relative_eq!(reads[*figure as usize], *target, epsilon = 1e-9);
                    }
                }
            }
        }
    }
}
