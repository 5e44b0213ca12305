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
//! `t = along / length` of what stands across the link, the subframe the rest, and the link is bent.

use nalgebra::{Vector3, Vector6};

use crate::car::{Hold, PerLink, Seat, Setup, Side, Spring, Strut};
use crate::geometry::{Position, Wrench};

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
