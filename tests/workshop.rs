//! Simulated workshops: a real car that the profile describes more or less well, and a rack that reads it with noise.

use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use rand_distr::{Distribution, Normal, Uniform};
use rand_pcg::Pcg64;
use rodset::car::{Car, Hand, PerSide, Setup, Spec, Stance};
use rodset::measure::{Measured, Round, WheelReading};
use rodset::plan::{Correction, Fitting, Plan, Reading, correct, forward, plan};

use crate::layout::{Layout, layouts};

const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// How the links of one side stand: turned from the stock lengths and shifted from the middle of their slots, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Standing {
    pub(crate) turned: [f64; 5],
    pub(crate) shifts: [Option<f64>; 5],
}

/// A workshop with a car in it.
pub(crate) struct Workshop {
    /// The car as its profile describes it.
    pub(crate) profile: Car,
    /// The car as it is.
    real: Car,
    /// What each new arm is off the stock length to which it was matched, mm.
    preset: [[f64; 5]; 2],
    /// Standard deviations of camber and toe as the rack reads them, rad.
    pub(crate) rack: [f64; 2],
    /// By how much the floor is lower under the left wheel, as an angle, rad.
    pub(crate) slope: f64,
    pub(crate) drops: [f64; 2],
    /// What the real drops are off these, mm.
    height: [f64; 2],
    pub(crate) fitting: Fitting,
    pub(crate) random: Pcg64,
}

/// How well the cars are described.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Described {
    /// Every coordinate is up to this far off, mm.
    pub(crate) off: f64,
    /// Standard deviations of the rack, degrees.
    pub(crate) rack: [f64; 2],
    /// Standard deviation of the matching of new arms, mm.
    pub(crate) preset: f64,
    /// Standard deviation of the heights, mm.
    pub(crate) height: f64,
}

/// So many different cars, the same ones every time.
pub(crate) fn cars(count: u64) -> impl Iterator<Item = (Layout, Pcg64)> {
    let mut runner = TestRunner::deterministic();
    let layouts = layouts();
    (0..count).map(move |i| {
        let layout = layouts.new_tree(&mut runner).expect("a layout").current();
        (layout, Pcg64::new(u128::from(i), 7))
    })
}

impl Workshop {
    pub(crate) fn new(layout: &Layout, described: Described, fitting: Fitting, mut random: Pcg64) -> Self {
        let rack = described.rack.map(|sigma| sigma * DEGREE);
        let mut off = |by: f64| {
            if by > 0.0 { Uniform::new(-by, by).expect("a range").sample(&mut random) } else { 0.0 }
        };
        let mut measured = layout.clone();
        for (subframe, knuckle) in &mut measured.links {
            for x in subframe.iter_mut().chain(knuckle) {
                *x += off(described.off);
            }
        }
        for x in &mut measured.centre {
            *x += off(described.off);
        }
        let drop = 25.0 + off(15.0);
        let drops = [drop, drop + off(3.0)];
        let mut normal = |sigma: f64| Normal::new(0.0, sigma).expect("a deviation").sample(&mut random);
        for reading in &mut measured.readings {
            for (x, sigma) in reading.iter_mut().zip(described.rack) {
                *x += normal(sigma);
            }
        }
        let preset = [0, 1].map(|_| [0; 5].map(|_| normal(described.preset)));
        let height = [0, 1].map(|_| normal(described.height));
        let (profile, real) = (measured.car(), layout.car());
        Self { profile, real, preset, rack, slope: 0.0, drops, height, fitting, random }
    }

    pub(crate) fn specs(&self) -> PerSide<Spec> {
        self.profile.sides.each(|side| side.spec.expect("the layouts have one"))
    }

    /// Takes the cam of a link out of the car and its profile.
    pub(crate) fn without_cam(&mut self, link: usize) {
        for side in self.profile.sides.iter_mut().chain(&mut self.real.sides) {
            side.links[link].cam = None;
        }
    }

    pub(crate) fn plan(&self) -> Option<Plan> {
        let stance = Stance::new(&self.profile, self.drops, None)?;
        plan(&self.profile, &stance, &self.specs(), &self.fitting).ok()
    }

    /// How the links stand when a plan has been followed.
    pub(crate) fn as_planned(&self, plan: &Plan) -> [Standing; 2] {
        [0, 1].map(|i| {
            let mut standing = Standing { turned: [0.0; 5], shifts: [None; 5] };
            for arm in &plan.sides[Hand::BOTH[i]].arms {
                let link = self.link(&arm.link);
                standing.turned[link] = arm.set_mm - arm.stock_mm;
                standing.shifts[link] = Some(0.0);
            }
            for cam in &plan.sides[Hand::BOTH[i]].cams {
                standing.shifts[self.link(&cam.link)] = Some(cam.shift_mm);
            }
            standing
        })
    }

    /// How they stand when a correction has been followed.
    pub(crate) fn as_corrected(&self, mut standing: [Standing; 2], correction: &Correction) -> [Standing; 2] {
        for (standing, side) in standing.iter_mut().zip(&correction.sides) {
            for arm in &side.arms {
                standing.turned[self.link(&arm.link)] += arm.set_mm - arm.now_mm;
            }
            for cam in &side.cams {
                standing.shifts[self.link(&cam.setting.link)] = Some(cam.setting.shift_mm);
            }
        }
        standing
    }

    pub(crate) fn link(&self, name: &str) -> usize {
        self.profile.sides.left.links.iter().position(|link| link.name == name).expect("a link of the car")
    }

    /// What the wheels of the real car truly have.
    pub(crate) fn truth(&self, standing: &[Standing; 2]) -> Option<PerSide<Reading>> {
        let drops = [0, 1].map(|i| self.drops[i] + self.height[i]);
        let stance = Stance::new(&self.real, drops, None)?;
        let wheel = |i: usize| {
            let (side, Standing { turned, shifts }) = (&self.real.sides[Hand::BOTH[i]], standing[i]);
            let mut setup = Setup::as_found(side);
            for link in 0..5 {
                if let Some(shift) = shifts[link] {
                    setup.pivots[link] = side.links[link].pivot(shift);
                }
                let matched = if self.fitting.fits(&side.links[link]) { self.preset[i][link] } else { 0.0 };
                setup.lengths[link] += turned[link] + matched;
            }
            let position = forward(side, &setup, drops[i]).ok()?;
            Some(Reading::of(side, &position.pose, &stance.ground(Hand::BOTH[i])))
        };
        Some([wheel(0)?, wheel(1)?].into())
    }

    /// A round: what the rack reads of links that stand in one way and are noted to stand in another.
    pub(crate) fn read(&mut self, standing: &[Standing; 2], noted: &[Standing; 2]) -> Option<Round> {
        let truth = self.truth(standing)?;
        let mut round = Round { drops: self.drops.into(), ..Round::default() };
        for i in 0..2 {
            let mut noise =
                |sigma: f64| Normal::new(0.0, sigma).expect("a deviation").sample(&mut self.random);
            let tilt = if i == 0 { self.slope } else { -self.slope };
            let figure = |value: f64, sigma: f64| Some(Measured { value, sigma: sigma.max(1e-7) });
            round.wheels[Hand::BOTH[i]] = WheelReading {
                camber: figure(
                    truth[Hand::BOTH[i]].camber_deg * DEGREE + tilt + noise(self.rack[0]),
                    self.rack[0],
                ),
                toe: figure(truth[Hand::BOTH[i]].toe_deg * DEGREE + noise(self.rack[1]), self.rack[1]),
            };
            for (link, of) in self.profile.sides[Hand::BOTH[i]].links.iter().enumerate() {
                if noted[i].turned[link] != 0.0 || self.fitting.fits(of) {
                    round.lengths[Hand::BOTH[i]][link] = Some(of.stock_length() + noted[i].turned[link]);
                }
                round.shifts[Hand::BOTH[i]][link] = noted[i].shifts[link];
            }
        }
        Some(round)
    }

    pub(crate) fn correct(&self, rounds: &[Round]) -> Option<Correction> {
        correct(&self.profile, &self.specs(), &self.fitting, rounds).ok()
    }
}
