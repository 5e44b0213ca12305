//! The questions whose speed is measured, by name. All are asked of the shipped example, lowered by 40 mm.

use std::hint::black_box;

use rodset::car::{Car, PerSide, Setup, Side, Spec, Stance};
use rodset::geometry::{Figure, Four, Pose, Row, solve, solve_four};
use rodset::plan::{
    Fitting, Plan, Sampling, TravelCurves, TravelQuestion, cams, lower, plan, sample_plan, travel,
};
use rodset::{nalgebra, profile};

const TEXT: &str = include_str!("../../examples/tansy-wharf.toml");
const DROP: f64 = 40.0;
/// Settings of each of the two cams in the map of their reach; a multiple of four.
const MAP: u32 = 200;

/// A question, ready to be asked.
pub(crate) struct Case {
    /// What it is called on the command line.
    pub(crate) name: &'static str,
    /// What it is.
    pub(crate) said: &'static str,
    /// How many answers it gives.
    pub(crate) answers: u32,
    /// Asks it once.
    pub(crate) ask: Box<dyn FnMut()>,
}

/// The wheel that is solved again and again.
pub(crate) struct Wheel {
    car: Car,
    /// The forward question.
    pub(crate) rows: [Row; 6],
    /// The wheel 1 mm higher up.
    pub(crate) near: Pose,
}

impl Wheel {
    /// That of the example.
    pub(crate) fn new() -> Self {
        let car = profile::read(TEXT).expect("the example is sound").car;
        let side = &car.sides.left;
        let setup = Setup::as_found(side);
        let rows = setup.rows(side, DROP);
        let near = solve(&setup.rows(side, DROP - 1.0), &side.reference()).expect("within travel").pose;
        Self { car, rows, near }
    }

    fn side(&self) -> &Side {
        &self.car.sides.left
    }

    /// The inverse question: the rods of camber and toe are what the spec wants.
    fn aimed(&self) -> [Row; 6] {
        let (side, mut rows) = (self.side(), self.rows);
        let stance = Stance::new(&self.car, [DROP, DROP], None).expect("no front drop");
        let spec = side.spec.expect("the example has a spec");
        for figure in [Figure::Camber, Figure::Toe] {
            let link = setter(side, figure);
            rows[link] = Row::reads(figure, &side.wheel, &stance.ground(side.hand), spec.target(figure));
        }
        rows
    }

    /// One step of Newton's method by itself: rows, Jacobian, factors, motion, new pose.
    fn newton_step(&self) -> Pose {
        let missed = nalgebra::Vector6::from_fn(|i, _| -self.rows[i].residual(&self.near));
        let slopes = self.rows.each_ref().map(|row| row.gradient(&self.near).transpose());
        let jacobian = nalgebra::Matrix6::from_rows(&slopes);
        self.near.nudged(&jacobian.lu().solve(&missed).expect("regular"))
    }
}

/// All questions.
pub(crate) fn cases() -> Vec<Case> {
    let one = |name, said, ask: Box<dyn FnMut()>| Case { name, said, answers: 1, ask };
    let mut cases = vec![
        one("step", "one Newton step, with a general 6x6 factorisation", {
            let wheel = Wheel::new();
            Box::new(move || _ = black_box(black_box(&wheel).newton_step()))
        }),
        one("cold", "position from the reference, 40 mm away", {
            let wheel = Wheel::new();
            let start = wheel.side().reference();
            Box::new(move || drop(black_box(solve(black_box(&wheel.rows), &start))))
        }),
        one("warm", "position from a neighbour 1 mm away", {
            let wheel = Wheel::new();
            Box::new(move || drop(black_box(solve(black_box(&wheel.rows), &wheel.near))))
        }),
        one("inverse", "lengths for a camber and a toe, from the lowered wheel", {
            let wheel = Wheel::new();
            let (rows, start) = (wheel.aimed(), wheel.near);
            Box::new(move || drop(black_box(solve(black_box(&rows), &start))))
        }),
        Case {
            answers: 4,
            ..one("four", "the same warm position, four wheels at once", {
                let wheel = Wheel::new();
                let rows = wheel.rows.each_ref().map(|row| Row::together([row; 4]).expect("of one kind"));
                let near = Pose::together([&wheel.near; 4]);
                Box::new(move || _ = black_box(solve_four(black_box(&rows), &near)))
            })
        },
    ];
    cases.extend(questions());
    cases
}

/// The example with its questions about both sides.
struct Asked {
    car: Car,
    stance: Stance,
    specs: PerSide<Spec>,
    fitting: Fitting,
}

impl Asked {
    fn new() -> Self {
        let car = profile::read(TEXT).expect("the example is sound").car;
        let stance = Stance::new(&car, [DROP, DROP], None).expect("no front drop");
        let specs = car.sides.each(|side| side.spec.expect("the example has a spec"));
        Self { car, stance, specs, fitting: Fitting::default() }
    }

    fn plan(&self) -> Plan {
        plan(&self.car, &self.stance, &self.specs, &self.fitting).expect("within travel")
    }

    fn samples(&self, plan: &Plan, samples: u64) {
        let (sampling, told) = (Sampling { samples, seed: 1 }, &|| {});
        let Self { car, stance, specs, fitting } = self;
        black_box(sample_plan(car, stance, specs, fitting, plan, sampling, told)).expect("within travel");
    }
}

fn questions() -> Vec<Case> {
    let one = |name, said, ask: fn(&Asked)| {
        let asked = Asked::new();
        Case { name, said, answers: 1, ask: Box::new(move || ask(black_box(&asked))) }
    };
    vec![
        one("lower", "what lowering does, both sides, with bands", |asked| {
            drop(black_box(lower(&asked.car, &asked.stance)));
        }),
        one("plan", "plan, both sides, with rounding, bands and cams", |asked| drop(black_box(asked.plan()))),
        one("cams", "stock cams, both sides, with run-out", |asked| {
            drop(black_box(cams(&asked.car, &asked.stance, &asked.specs)));
        }),
        one("travel", "travel of both sides at 101 heights", |asked| drop(black_box(travel_table(asked)))),
        Case { answers: MAP * MAP, ..one("map", "reach map of two cams, 200 by 200", reach_map) },
        Case {
            answers: 200_000,
            ask: {
                let asked = Asked::new();
                let plan = asked.plan();
                Box::new(move || asked.samples(&plan, 100_000))
            },
            ..one("samples", "100,000 sampled plans of both sides", |_| ())
        },
        Case {
            answers: 2_000,
            ask: {
                let asked = Asked::new();
                let plan = asked.plan();
                Box::new(move || asked.samples(&plan, 1_000))
            },
            ..one("samples-few", "1,000 sampled plans of both sides", |_| ())
        },
        one("profile", "a profile read and checked", |_| drop(black_box(profile::read(black_box(TEXT))))),
    ]
}

/// A table of the whole travel, 1 mm apart.
fn travel_table(asked: &Asked) -> TravelCurves {
    let question = TravelQuestion {
        fitting: &asked.fitting,
        specs: None,
        variants: &[],
        bump: Some(50.0),
        droop: Some(50.0),
        every: 1.0,
        only: None,
    };
    travel(&asked.car, &asked.stance, &question).expect("within travel")
}

/// Where the wheel is for every setting of the cams of camber and toe, four settings of the one at once, each from the last of
/// the other.
fn reach_map(asked: &Asked) {
    let side = &asked.car.sides.left;
    let [camber, toe] = [Figure::Camber, Figure::Toe].map(|figure| setter(side, figure));
    let shift = |link: usize, place: u32| {
        let throw = side.links[link].cam.expect("the example has cams").eccentricity;
        throw * (2.0 * f64::from(place) / f64::from(MAP - 1) - 1.0)
    };
    let mut setup = Setup::as_found(side);
    for i in (0..MAP).step_by(4) {
        let lowered = solve(&setup.rows(side, DROP), &side.reference()).expect("within travel").pose;
        let mut pose = Pose::together([&lowered; 4]);
        for j in 0..MAP {
            setup.pivots[toe] = side.links[toe].pivot(shift(toe, j));
            let rows = [0, 1, 2, 3].map(|k| {
                setup.pivots[camber] = side.links[camber].pivot(shift(camber, i + k));
                setup.rows(side, DROP)
            });
            pose = solve_four(&together(&rows), &pose).expect("within reach");
            black_box(&pose);
        }
    }
}

fn together([a, b, c, d]: &[[Row; 6]; 4]) -> [Row<Four>; 6] {
    std::array::from_fn(|i| Row::together([&a[i], &b[i], &c[i], &d[i]]).expect("of one kind"))
}

/// The link that is used to set a figure, by its place.
fn setter(side: &Side, figure: Figure) -> usize {
    side.links.iter().position(|link| link.sets == Some(figure)).expect("the example sets both")
}
