//! What could be read.

use nalgebra::{DMatrix, Point3};

use super::answer::NextWay;
use crate::car::{Car, Hand, Measurand, PerSide};
use crate::geometry::DEGREE;
use crate::measure::network::{At, ObservationKind};
use crate::measure::posterior::KnownCar;
use crate::measure::{MeasuringWay, Round, USUAL_HOME, point_of};

/// How far the car is brought down or up for readings at another height, mm: what ballast or a jack under both sides does.
const OTHER: f64 = 25.0;
/// Standard deviation of such a height, mm, measured at the arch.
const OTHER_SIGMA: f64 = 1.0;
/// A cam without marks is turned by so much, rad.
const CAM: f64 = 30.0 * DEGREE;
/// The most that a cam may stand away from its middle after it, rad.
const FURTHEST_CAM: f64 = 80.0 * DEGREE;

/// One thing that could be read.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub(super) what: String,
    pub(super) way: NextWay,
    /// Its key in a survey.
    pub(super) key: Option<String>,
    /// Variances of its numbers, mm2 or rad2.
    pub(super) variances: Vec<f64>,
    of: ReadingOf,
}

#[derive(Debug, Clone)]
enum ReadingOf {
    /// Both wheels in a state, by its place.
    State(usize),
    /// Something between points of the left side.
    Points(ObservationKind),
}

impl Candidate {
    /// Its standard deviation, and the unit of that.
    pub(super) fn shown_sigma(&self) -> (f64, &'static str) {
        let sigma = self.variances.first().map_or(0.0, |variance| variance.sqrt());
        match (&self.of, self.way) {
            (ReadingOf::State(_), _) | (_, NextWay::Slope) => (sigma.to_degrees(), "deg"),
            _ => (sigma, "mm"),
        }
    }

    /// How its numbers change with all that is not known, a row each; `None` where the car cannot be in its state.
    pub(super) fn slopes(&self, known: &KnownCar<'_>) -> Option<DMatrix<f64>> {
        match &self.of {
            ReadingOf::State(place) => known.slopes(known.state(*place)),
            ReadingOf::Points(kind) => {
                let side = &known.car.sides.left;
                let points: Vec<Point3<f64>> = Measurand::points().map(|of| side.point(of)).collect();
                let gradient = kind.gradient(&points);
                Some(known.slope_of_points(Hand::Left, |number| {
                    let of = gradient.iter().filter(|(spot, _)| *spot == number / 3);
                    of.map(|(_, slope)| slope[number % 3]).sum()
                }))
            }
        }
    }
}

/// Everything that could be read; states of the car go behind the planned one, which stands first.
pub(super) fn candidates(car: &Car, rounds: &mut Vec<Round>) -> Vec<Candidate> {
    let planned = rounds.first().cloned().unwrap_or_default();
    let mut all = Vec::new();
    let wheels: Vec<f64> = (0..4).map(|i| USUAL_HOME[i % 2].powi(2)).collect();
    let mut state = |what: String, way: NextWay, round: Round| {
        all.push(Candidate {
            what,
            way,
            key: None,
            variances: wheels.clone(),
            of: ReadingOf::State(rounds.len()),
        });
        rounds.push(round);
    };
    state(
        "camber and toe of both wheels, once more as the car stood".to_owned(),
        NextWay::Again,
        Round::default(),
    );
    for (by, way) in [(OTHER, "lower"), (-OTHER, "higher")] {
        let round = Round { drops: PerSide::both(by), drop_sigma: Some(OTHER_SIGMA), ..Round::default() };
        let what = format!("camber and toe of both wheels, the car {OTHER:.0} mm {way}");
        state(what, NextWay::OtherHeight, round);
    }
    for (i, link) in car.sides.left.links.iter().enumerate() {
        let Some(cam) = link.cam.filter(|_| car.sides.right.links[i].cam.is_some()) else { continue };
        let by = cam.mark().unwrap_or(CAM);
        let turned = if cam.setting + by <= FURTHEST_CAM { cam.setting + by } else { cam.setting - by };
        let mut round = Round::default();
        for hand in Hand::BOTH {
            round.shifts[hand][i] = Some(cam.eccentricity * turned.sin());
        }
        let how =
            if cam.mark().is_some() { "one mark".to_owned() } else { format!("{:.0} degrees", by / DEGREE) };
        state(
            format!("camber and toe of both wheels, the {} cams turned by {how}", link.name),
            NextWay::TurnedCam,
            round,
        );
    }
    for (i, link) in car.sides.left.links.iter().enumerate() {
        let Some(arm) = &link.arm else { continue };
        let mut round = planned.clone();
        let fitted = Hand::BOTH.into_iter().filter(|&hand| {
            let length = &mut round.lengths[hand][i];
            *length = length.map(|length| length + arm.lead());
            length.is_some()
        });
        if fitted.count() > 0 {
            let what = format!(
                "camber and toe of both wheels, arms fitted as planned and {} one turn longer",
                link.name
            );
            state(what, NextWay::TurnedArm, round);
        }
    }
    all.extend(geometric(car));
    all
}

/// What a tape, a level and a plumb line read between points of the left side.
fn geometric(car: &Car) -> Vec<Candidate> {
    let points: Vec<Measurand> = Measurand::points().collect();
    let links = &car.sides.left.links;
    let key = |spot: usize| point_of(links, points[spot]);
    let name = |spot: usize| match points[spot] {
        Measurand::Centre => key(spot),
        _ => format!("{} pivot", key(spot)),
    };
    let is_knuckle = |spot: usize| matches!(points[spot], Measurand::Knuckle(_));
    let mut all = Vec::new();
    let mut one = |what: String, way: NextWay, of: String, sigma: f64, kind: ObservationKind| {
        let list = MeasuringWay::of(&kind).name();
        let list = if way == NextWay::Arm { "arm" } else { list };
        let key = Some(format!("survey.{list}.{of}"));
        all.push(Candidate { what, way, key, variances: vec![sigma * sigma], of: ReadingOf::Points(kind) });
    };
    let own: Vec<usize> = (1..points.len()).filter(|&spot| car.sides.left.is_own(points[spot])).collect();
    for (place, &a) in own.iter().enumerate() {
        for axis in [2, 0, 1] {
            let (way, sigma) = match axis {
                2 => (NextWay::Height, 1.5),
                0 => (NextWay::Forward, 2.0),
                _ => (NextWay::Across, 2.0),
            };
            let words = match axis {
                2 => "height above the floor",
                0 => "how far ahead of the wheel centre",
                _ => "how far from the centreline",
            };
            one(
                format!("{}: {words}", name(a)),
                way,
                key(a),
                sigma,
                ObservationKind::Difference { axis, of: At::spot(a), from: None },
            );
        }
        for &b in &own[place + 1..] {
            let kind = ObservationKind::Distance { from: At::spot(a), to: At::spot(b) };
            let (what, of) =
                (format!("tape: {} to {}", name(a), name(b)), format!("{} - {}", key(a), key(b)));
            if is_knuckle(a) && is_knuckle(b) {
                one(what, NextWay::TapeAtWheel, of, 3.0, kind);
            } else if b != a + 1 || is_knuckle(a) {
                one(what, NextWay::Tape, of, 3.0, kind);
            }
        }
    }
    for (link, of) in links.iter().enumerate().filter(|(_, of)| of.hold.is_rod()) {
        // The joint of a wishbone is one point.
        let ends = [Measurand::Subframe(link), Measurand::Knuckle(link)].map(|end| of.hold.home(end));
        let spot = |end: Measurand| points.iter().position(|point| *point == end).map(At::spot);
        let (Some(from), Some(to)) = (spot(ends[0]), spot(ends[1])) else { continue };
        one(
            format!("{}: level on the link", of.name),
            NextWay::Slope,
            of.name.clone(),
            0.3 * DEGREE,
            ObservationKind::Slope { from, to },
        );
        if !of.hold.takes_an_arm() {
            continue;
        }
        one(
            format!("{}: the stock arm, bolt to bolt", of.name),
            NextWay::Arm,
            of.name.clone(),
            1.0,
            ObservationKind::Distance { from, to },
        );
    }
    all
}
