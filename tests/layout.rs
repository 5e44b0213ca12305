//! Invented layouts for tests that need many cars: a base layout, shaken.

use proptest::prelude::*;
use rodset::car::Car;
use rodset::profile;

/// How many of something a test tries: a few, or `RODSET_TIMES` times as many for a longer run.
pub(crate) fn times(few: u32) -> u32 {
    let times = std::env::var("RODSET_TIMES").ok().and_then(|times| times.parse().ok());
    few * times.unwrap_or(1)
}

/// A fixed seed, so that a failure is the same everywhere; `RODSET_SEED` tries another.
pub(crate) fn config(cases: u32) -> ProptestConfig {
    let seed = std::env::var("RODSET_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(1);
    let rng_seed = proptest::test_runner::RngSeed::Fixed(seed);
    ProptestConfig { failure_persistence: None, rng_seed, ..ProptestConfig::with_cases(times(cases)) }
}

/// Five links as `(name, role, subframe, knuckle)`.
type Links = [(&'static str, &'static str, [f64; 3], [f64; 3]); 5];

/// An invented layout: five separate rods.
const BASE: Links = [
    ("upper", "camber", [-2.0, 447.0, 449.0], [-5.0, 668.0, 464.0]),
    ("toe", "toe", [-165.0, 359.0, 218.0], [-145.0, 669.0, 202.0]),
    ("traction", "pitch", [241.0, 498.0, 414.0], [11.0, 645.0, 430.0]),
    ("lower front", "", [116.0, 344.0, 198.0], [21.0, 665.0, 200.0]),
    ("lower rear", "", [-62.0, 326.0, 212.0], [-14.0, 670.0, 192.0]),
];

/// A car to be written as a profile.
#[derive(Debug, Clone)]
pub(crate) struct Layout {
    pub(crate) centre: [f64; 3],
    pub(crate) rim: f64,
    /// Camber and toe as read, left and right, degrees.
    pub(crate) readings: [[f64; 2]; 2],
    pub(crate) links: [([f64; 3], [f64; 3]); 5],
    /// Eccentricity and setting of the cams at the upper and the toe link.
    pub(crate) cams: [[f64; 2]; 2],
    /// Least part of a turn that can be locked, at the same links.
    pub(crate) steps: [f64; 2],
    /// Tolerance of camber and toe, degrees.
    pub(crate) tolerances: [f64; 2],
}

impl Layout {
    /// Everything multiplied by a factor.
    pub(crate) fn scaled(&self, factor: f64) -> Self {
        let point = |p: [f64; 3]| p.map(|x| x * factor);
        Self {
            centre: point(self.centre),
            rim: self.rim * factor,
            links: self.links.map(|(a, b)| (point(a), point(b))),
            cams: self.cams.map(|[e, setting]| [e * factor, setting]),
            ..self.clone()
        }
    }

    /// Everything moved forward.
    pub(crate) fn moved(&self, x: f64) -> Self {
        let point = |p: [f64; 3]| [p[0] + x, p[1], p[2]];
        Self {
            centre: point(self.centre),
            links: self.links.map(|(a, b)| (point(a), point(b))),
            ..self.clone()
        }
    }

    /// The profile.
    pub(crate) fn toml(&self) -> String {
        let [[left_camber, left_toe], [right_camber, right_toe]] = self.readings;
        let mut text = format!(
            "format = 1\n[car]\nname = \"invented\"\nwheelbase = 2600.0\n[wheel]\ncentre = {:?}\ncamber = {left_camber:?}\n\
             toe = {left_toe:?}\nrim_diameter = {:?}\n[spec]\ncamber = -1.0\ncamber_tolerance = {:?}\ntoe = 0.1\n\
             toe_tolerance = {:?}\n[right.wheel]\ncamber = {right_camber:?}\ntoe = {right_toe:?}\n",
            self.centre, self.rim, self.tolerances[0], self.tolerances[1]
        );
        for (i, ((name, role, ..), (subframe, knuckle))) in BASE.iter().zip(&self.links).enumerate() {
            text += &format!("[[link]]\nname = \"{name}\"\nsubframe = {subframe:?}\nknuckle = {knuckle:?}\n");
            if !role.is_empty() {
                text += &format!("sets = \"{role}\"\n");
            }
            if let Some([e, setting]) = self.cams.get(i).map(|[e, setting]| [e.min(45.0), *setting]) {
                text += &format!(
                    "cam = {{ eccentricity = {e:?}, along = [0.0, 1.0, 0.0], setting = {setting:?} }}\n"
                );
                let length = distance(*subframe, *knuckle);
                text += &format!(
                    "arm = {{ shortest = {:?}, longest = {:?}, threads = [\"M16x1.5 RH\", \"M16x1.5 LH\"], step = {:?} }}\n",
                    length * 0.8,
                    length * 1.2,
                    self.steps[i]
                );
            }
        }
        text
    }

    /// The car.
    pub(crate) fn car(&self) -> Car {
        profile::read(&self.toml()).expect("every layout is sound").car
    }
}

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt()
}

/// Layouts whose every point is up to 25 mm from the base.
pub(crate) fn layouts() -> impl Strategy<Value = Layout> {
    let point = |at: [f64; 3]| at.map(|x| x - 25.0..x + 25.0);
    let link = move |i: usize| (point(BASE[i].2), point(BASE[i].3));
    let reading = || [-2.5..0.5, -0.4..0.4];
    let cam = || [2.0..8.0, -60.0..60.0];
    (
        point([0.0, 752.0, 312.0]),
        [reading(), reading()],
        [link(0), link(1), link(2), link(3), link(4)],
        [cam(), cam()],
    )
        .prop_map(|(centre, readings, links, cams)| Layout {
            centre,
            rim: 400.0,
            readings,
            links,
            cams,
            steps: [1.0 / 12.0; 2],
            tolerances: [0.5, 0.05],
        })
}

/// Two equal, parallel wishbones and a toe link like them, all level: the knuckle is carried without a turn, every one of its
/// points goes round a circle of 300 mm, `rise = 300 sin(phi)`. With more keys for the toe link, and more tables.
pub(crate) fn parallel(toe: &str, tables: &str) -> Car {
    let mut text = "format = 1
[car]
name = \"parallel\"
[wheel]
centre = [0.0, 700.0, 300.0]
camber = 0.0
toe = 0.0
[ride]
bump = 70.0
droop = 60.0
arch_gap = 370.0
"
    .to_owned();
    for (name, inner, outer) in [
        ("lower rear", [-150.0, 380.0, 180.0], [0.0, 680.0, 180.0]),
        ("lower front", [150.0, 380.0, 180.0], [0.0, 680.0, 180.0]),
        ("upper rear", [-120.0, 360.0, 440.0], [0.0, 660.0, 440.0]),
        ("upper front", [120.0, 360.0, 440.0], [0.0, 660.0, 440.0]),
        ("toe", [-140.0, 370.0, 280.0], [-140.0, 670.0, 280.0]),
    ] {
        let extra = if name == "toe" { toe } else { "" };
        text += &format!("[[link]]\nname = \"{name}\"\nsubframe = {inner:?}\nknuckle = {outer:?}\n{extra}\n");
    }
    text += tables;
    match profile::read(&text) {
        Ok(checked) => checked.car,
        Err(findings) => {
            panic!("{}", findings.iter().map(|f| f.render("car.toml", &text, false)).collect::<String>())
        }
    }
}
