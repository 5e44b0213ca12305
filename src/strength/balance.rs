//! The knuckle in balance: what five links and a spring must push and pull.
//!
//! The transpose of the Jacobian that solves the position also carries the forces. Let a rod grow by a little: the knuckle moves
//! by the rod's column of the inverse, and the work of the load along that motion is the work of the rod's pull,
//!
//! ```text
//! T_k = W . r_k        W the load on the knuckle, force and moment, r_k the column of row k
//! ```
//!
//! The sixth row, the height, is nobody's rod. Where the profile has a spring, its force is what leaves that row without any
//! ([`Spring::holding`]): with `s` the wrench of the spring per newton and `m` the column of the height, its ratio is `-s . m`.
//!
//! In a blow the spring still carries what it carried standing; the rest of the load is the damper's and its bump stop's, in the
//! damper's own line where its points are known, else in the spring's.
//!
//! A spring or damper that sits on a link makes it a beam on two pins. By the moments about its bolts the knuckle feels the part
//! `t = along / length` of what stands across the link, the subframe the rest, and the link is bent. One that sits on a wishbone's plate
//! loads its joint by what does work there, and its two bolts by the rest; how the plate bends is not worked out.

use nalgebra::{Vector3, Vector6};

use crate::car::{Hold, PerLink, Seat, Setup, Side, Spring, Strut};
use crate::geometry::{InArm, Position, Wrench};

/// What may be left over of a balance, in parts of its largest force; rounding leaves some 1e-15.
const LEFT_OVER: f64 = 1e-9;

/// What holds the knuckle under a load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// Force along each link at its knuckle end, N; positive: it pulls.
    pub knuckle_n: PerLink<f64>,
    /// The same at its subframe end; it differs only where spring or damper sits on the link.
    pub(crate) subframe_n: PerLink<f64>,
    /// What each link puts on its subframe bolt, N.
    pub on_bolt: PerLink<Vector3<f64>>,
    /// What each link puts on its knuckle bolt, N.
    pub on_knuckle: PerLink<Vector3<f64>>,
    /// How much each link is bent by a spring or damper on it, N mm; by both, no more than this.
    pub bent: PerLink<f64>,
    /// The force in the spring's line, N, positive: it pushes; `None` where the wheel is held at its centre instead.
    pub spring_n: Option<f64>,
    /// The force in the damper's line, N, positive: it pushes; `None` where it counts in the spring's.
    pub damper_n: Option<f64>,
    /// The upright force with which the wheel is held at its centre, N, positive: down; 0 where the spring holds it.
    pub held_n: f64,
    /// What is left over when all forces and moments are added up, N (moments by 100 mm): the check, nearly 0.
    pub residual_n: f64,
}

/// A spring's push of one newton: where it goes on, and what the knuckle feels of it.
struct Push {
    /// Unit vector from its upper to its lower end.
    line: Vector3<f64>,
    on_knuckle: Wrench,
}

impl Push {
    /// With the force in its line that holds a load up, where any would.
    fn holding(
        strut: &Strut,
        (side, setup, position): (&Side, &Setup, &Position),
        load: &Wrench,
    ) -> Option<(Seat, Self, f64)> {
        let push = Self::of(strut, side, setup, position);
        let ratio = -push.on_knuckle.work(position, Setup::HEIGHT_ROW);
        let force = Spring::holding(load, position, ratio)?;
        Some((strut.lower, push, force))
    }

    fn of(strut: &Strut, side: &Side, setup: &Setup, position: &Position) -> Self {
        let pose = &position.pose;
        let lower = strut.lower(side, setup, pose);
        let line = (lower - strut.upper).normalize();
        match strut.lower {
            Seat::Knuckle(_) => Self { line, on_knuckle: Wrench::at(line, &lower, &pose.centre) },
            Seat::Arm { link, along } => {
                let [pivot, knuckle] = side.ends(link, setup, pose);
                let (u, part) = ((knuckle - pivot).normalize(), along / setup.lengths[link]);
                let across = line - u * line.dot(&u);
                Self { line, on_knuckle: Wrench::at(across * part, &knuckle, &pose.centre) }
            }
            Seat::Plate { legs, inner } => {
                let joint = pose.point(&side.knuckle_arm(legs[0]));
                let felt = inner.on_joint(legs.map(|leg| setup.pivots[leg]), &line);
                Self { line, on_knuckle: Wrench::at(felt, &joint, &pose.centre) }
            }
        }
    }
}

impl Balance {
    /// Balances a load in a position of a side with its links set as given; of a blow `steady` is what the spring carries of it.
    /// `None` where the spring's line hardly moves with the wheel, so that no force in it would hold the load, and where what was
    /// found does not balance it.
    pub fn of(
        side: &Side,
        setup: &Setup,
        position: &Position,
        load: &Wrench,
        steady: Option<&Wrench>,
    ) -> Option<Self> {
        let mut total = load.vector();
        let here = (side, setup, position);
        let both = steady.zip(side.spring.and(side.damper));
        let damper =
            both.and_then(|(steady, damper)| Push::holding(&damper.line, here, &load.without(steady)));
        let of_spring = steady.filter(|_| damper.is_some()).unwrap_or(load);
        let spring = match side.spring {
            Some(spring) => Some(Push::holding(&spring.line, here, of_spring)?),
            None => None,
        };
        for (_, push, force) in spring.iter().chain(&damper) {
            total += push.on_knuckle.vector() * *force;
        }
        let pulls = position.response.transpose() * total;
        let rows = setup.rows(side, position.pose.centre.z - side.wheel.centre.z);
        let slopes = rows.each_ref().map(|row| row.gradient(&position.pose));
        let added: Vector6<f64> = slopes.iter().zip(pulls.iter()).map(|(slope, pull)| slope * *pull).sum();
        let residual_n = (total - added).amax();
        // Not "greater": what is no number does not balance either.
        let balances = residual_n <= LEFT_OVER * pulls.amax().max(1.0);
        if !balances {
            return None;
        }
        // The first three of a rod's slope are its direction, from the subframe to the knuckle; not where it stands on an arm.
        let lines: PerLink<Vector3<f64>> = PerLink::of(|i| match side.links[i].hold {
            Hold::OnArm(_) => {
                let [inner, outer] = side.ends(i, setup, &position.pose);
                (outer - inner).normalize()
            }
            _ => slopes[i].fixed_rows::<3>(0).into_owned(),
        });
        let mut balance = Self {
            knuckle_n: PerLink::of(|i| pulls[i]),
            subframe_n: PerLink::of(|i| pulls[i]),
            on_bolt: PerLink::of(|i| lines[i] * pulls[i]),
            on_knuckle: PerLink::of(|i| lines[i] * -pulls[i]),
            bent: PerLink::default(),
            spring_n: spring.as_ref().map(|(.., force)| *force),
            damper_n: damper.as_ref().map(|(.., force)| *force),
            held_n: pulls[Setup::HEIGHT_ROW],
            residual_n,
        };
        for (seat, push, force) in spring.iter().chain(&damper) {
            if let Seat::Plate { legs, inner } = *seat {
                balance.on_plate(side, setup, position, (legs, inner), push.line * *force);
            }
            let Seat::Arm { link, along } = *seat else { continue };
            let (length, part) = (setup.lengths[link], along / setup.lengths[link]);
            let u = lines[link];
            let across = push.line - u * push.line.dot(&u);
            balance.subframe_n[link] += force * push.line.dot(&u);
            balance.on_bolt[link] = u * balance.subframe_n[link] + across * (force * (1.0 - part));
            balance.on_knuckle[link] += across * (force * part);
            // On two pins the moment is most at the seat; past the knuckle's bolt it is most at that bolt.
            balance.bent[link] += (force * across.norm() * (1.0 - part) * part.min(1.0) * length).abs();
        }
        Some(balance)
    }

    /// Adds what a force on a wishbone's plate puts on its bolts. With `D` where it acts, `J` the joint, `A` and `B` the pivots, `a` from
    /// `A` to `B`, `F` the force and `Q` what the joint feels of it:
    ///
    /// ```text
    /// on A and on B    F - Q    with the moment about A    M = (D - A) x F - (J - A) x Q, which has none along a
    /// on B             M x a / |a|^2, and half of what is left along a: nothing tells how two bushes share a thrust
    /// ```
    fn on_plate(
        &mut self,
        side: &Side,
        setup: &Setup,
        position: &Position,
        (legs, inner): ([usize; 2], InArm),
        force: Vector3<f64>,
    ) {
        let joint = position.pose.point(&side.knuckle_arm(legs[0]));
        let pivots = legs.map(|leg| setup.pivots[leg]);
        let felt = inner.on_joint(pivots, &force);
        let (a, left) = (pivots[1] - pivots[0], force - felt);
        let at = inner.at(pivots, &joint) - pivots[0];
        let moment = at.cross(&force) - (joint - pivots[0]).cross(&felt);
        let on_second = moment.cross(&a) / a.norm_squared();
        let on_second = on_second + a * ((left / 2.0 - on_second).dot(&a) / a.norm_squared());
        for (leg, on_bolt) in legs.into_iter().zip([left - on_second, on_second]) {
            let along = (joint - setup.pivots[leg]).normalize();
            self.on_bolt[leg] += on_bolt;
            self.subframe_n[leg] += on_bolt.dot(&along);
        }
        self.on_knuckle[legs[0]] += felt;
    }

    /// What stands across a link at its subframe and at its knuckle end, N.
    pub(crate) fn across(&self, link: usize) -> [f64; 2] {
        let of = |on: &Vector3<f64>, along: f64| (on.norm_squared() - along * along).max(0.0).sqrt();
        [of(&self.on_bolt[link], self.subframe_n[link]), of(&self.on_knuckle[link], self.knuckle_n[link])]
    }

    /// The force along a link at the end that carries more, N.
    pub(crate) fn harder(&self, link: usize) -> f64 {
        let ends = [self.knuckle_n[link], self.subframe_n[link]];
        if ends[0].abs() >= ends[1].abs() { ends[0] } else { ends[1] }
    }
}
