//! Correcting after the rack or the home readings: readings in, turns out, from where the arms stand now.
//!
//! The first reading takes the whole difference between it and the model as an offset, and asks the exact inverse for the
//! lengths at which the model misses by that much less: what is not linear stays exact. Each further reading teaches what a
//! turn is worth on this car (`learn`), weighed against how far the profile may be off (`worth`). What does not fit is told, with
//! what would explain it (`suspect`, `ground`), and nothing is learnt from it.

mod answer;
mod flag;
mod ground;
mod history;
mod learn;
mod state;
mod suspect;
mod wheel;
mod worth;

pub use answer::{ArmTurn, CamTurn, CorrectedSide, Correction, Leave, Origin, RoundSeen};
pub use flag::{Cause, Flag};

use std::fmt;

use self::ground::{Floor, Visit};
use self::history::History;
use self::state::State;
use self::wheel::{Wheel, settle};
use crate::car::{Car, Hand, PerSide, Spec, Stance};
use crate::geometry::{Angles, Figure};
use crate::measure::{Measured, Round};
use crate::plan::adjusting::{Fitting, in_play};
use crate::plan::wheel::{AxleResult, NoPosition, Reading};

/// Heights within so many of their standard deviations are near: what was learnt at one is carried to the other by the model.
const NEAR: f64 = 3.0;

/// Why there is no correction.
#[derive(Debug, Clone, PartialEq)]
pub enum NoCorrection {
    /// No reading was given.
    NoReading,
    /// A front drop was given for a car without a wheelbase.
    NoWheelbase,
    /// The wheel cannot be where a reading says it was; readings are counted from 1.
    Impossible(usize, NoPosition),
    /// No setting gives what is wanted.
    OutOfReach(NoPosition),
}

impl fmt::Display for NoCorrection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoReading => f.write_str("there is no reading to correct from"),
            Self::NoWheelbase => {
                f.write_str("a front drop needs the wheelbase: add `wheelbase = ...` to [car] in the profile")
            }
            Self::Impossible(round, error) => write!(f, "reading {round}: {error}"),
            Self::OutOfReach(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for NoCorrection {}

/// What to turn after readings, the last of which is of the car as it is now.
///
/// `specs` are the specs of the left and the right wheel. Readings at quite another height than the last one are not
/// used.
///
/// # Examples
///
/// ```
/// # use rodset::plan::{Fitting, correct};
/// # use rodset::car::Stance;
/// # let car = rodset::profile::read(include_str!("../../../examples/tansy-wharf.toml")).expect("a sound profile").car;
/// # let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop, so no wheelbase is needed");
/// # let specs = car.sides.each(|side| side.spec.expect("its profile has a spec"));
/// let text = include_str!("../../../examples/records/tansy-wharf.toml");
/// let record = rodset::profile::read_record(text, &car).expect("a sound record");
/// let correction = correct(&car, &specs, &Fitting::default(), &record.rounds)?;
/// println!("{:?}", correction.sides.left.arms);
/// # Ok::<(), rodset::plan::NoCorrection>(())
/// ```
///
/// # Errors
///
/// [`NoCorrection`] where there is no reading, or a wheel cannot be where one says that it was.
pub fn correct(
    car: &Car,
    specs: &PerSide<Spec>,
    fitting: &Fitting,
    rounds: &[Round],
) -> Result<Correction, NoCorrection> {
    let last = rounds.last().ok_or(NoCorrection::NoReading)?;
    let mut visits = visits(car, rounds, last)?;
    let mut flags: Vec<Flag> = ground::level(car, &mut visits);
    flags.extend(ground::repeat(&mut visits));
    let adjusters = car.sides.each(|side| {
        let mut adjusters = fitting.adjusters(side);
        // Nobody reads pitch on a rack, so nobody corrects it.
        adjusters.retain(|adjuster| !adjuster.is_for(Figure::Pitch));
        adjusters
    });
    let adjusters = adjusters.each(Vec::as_slice);
    let turned = adjusters.map(in_play);
    let mut history = History::of(car, &visits, turned.each(Vec::as_slice));
    let now = visits.last().ok_or(NoCorrection::NoReading)?;
    if flags.is_empty() {
        // What the floor explains of the first reading needs no other cause.
        let by_floor = |flag: &Flag| flag.is_of_camber_alone(visits[0].index + 1);
        let suspected = suspect_ground(car, now, &history).filter(|_| history.flags.iter().all(by_floor));
        history.flags.retain(|flag| suspected.is_none() || !by_floor(flag));
        flags.extend(suspected);
    }
    flags.append(&mut history.flags);
    let wheels = PerSide::of(|hand| Wheel {
        state: &now.states[hand],
        learnt: &history.learnt[hand],
        spec: &specs[hand],
        adjusters: adjusters[hand],
        sigmas: &car.sigmas,
        apart: history.apart,
        impossible: history.before_impossible[hand].is_some(),
    });
    let worked = settle(car, &wheels).map_err(NoCorrection::OutOfReach)?;
    let sides = PerSide::of(|hand| {
        let origins = Angles::of(|figure| origin(figure, hand, now, &history));
        wheels[hand].answer(&worked[hand], origins)
    });
    let axle = |of: &dyn Fn(&CorrectedSide) -> Reading| AxleResult::of(car, sides.each(of));
    Ok(Correction {
        axle_now: axle(&|side| side.now.reading),
        axle: axle(&|side| side.result.reading),
        thrust_known: history.apart == 0.0
            && history.learnt.iter().all(|learnt| learnt.was_read(Figure::Toe)),
        flags,
        rounds: rounds_seen(rounds, &visits, &history),
        sides,
    })
}

/// The readings near the height of the last one, with the model of each at its own.
fn visits<'a>(car: &'a Car, rounds: &[Round], last: &Round) -> Result<Vec<Visit<'a>>, NoCorrection> {
    let mut visits = Vec::new();
    for (index, round) in rounds.iter().enumerate().filter(|(_, round)| near(car, round, last)) {
        let stance = Stance::new(car, round.drops, round.front).ok_or(NoCorrection::NoWheelbase)?;
        let states = PerSide::try_of(|hand| {
            let side = &car.sides[hand];
            State::new(side, stance.ground(side.hand), stance.drop(side.hand), round.setup(side))
                .map_err(|error| NoCorrection::Impossible(index + 1, error))
        })?;
        let seen = state::seen(round);
        let total_toe = round.total_toe.filter(|_| seen.iter().all(|wheel| wheel.toe.is_none()));
        visits.push(Visit {
            index,
            stance,
            drop_sigma: drop_sigma(car, round),
            states,
            seen,
            total_toe,
            turned_round: round.turned_round,
            floor: floor(round),
        });
    }
    Ok(visits)
}

/// By what the floor under a reading is known.
fn floor(round: &Round) -> Floor {
    match round.source {
        _ if round.levelled => Floor::Level,
        Some(source) => Floor::Of(source),
        None => Floor::Unknown,
    }
}

/// Standard deviation of the drops of a reading, mm.
fn drop_sigma(car: &Car, round: &Round) -> f64 {
    round.drop_sigma.unwrap_or(car.sigmas.drop)
}

/// Whether two readings are so near in height that they may be of the same.
fn near(car: &Car, a: &Round, b: &Round) -> bool {
    let within = NEAR * drop_sigma(car, a).max(drop_sigma(car, b));
    let near = |a: f64, b: f64| (a - b).abs() <= within;
    let front = match (a.front, b.front) {
        (Some(a), Some(b)) => near(a, b),
        (a, b) => a.is_none() && b.is_none(),
    };
    front && Hand::BOTH.into_iter().all(|hand| near(a.drops[hand], b.drops[hand]))
}

fn suspect_ground(car: &Car, now: &Visit<'_>, history: &History) -> Option<Flag> {
    let off = |hand| {
        let (learnt, model) = (&history.learnt[hand], now.states[hand].model);
        let camber = learnt.expected(model).camber;
        learnt.was_read(Figure::Camber).then_some(Measured { value: camber.value - model.x, ..camber })
    };
    ground::suspect(car, PerSide::of(off).all()?, &history.spreads, now.index + 1)
}

/// Where a figure of a wheel now comes from.
fn origin(figure: Figure, hand: Hand, now: &Visit<'_>, history: &History) -> Origin {
    match now.seen[hand].get(figure).copied().flatten() {
        Some(_) => Origin::Read,
        None if figure == Figure::Toe && now.total_toe.is_some() => Origin::Total,
        None if history.learnt[hand].was_read(figure) => Origin::Before,
        None => Origin::Profile,
    }
}

fn rounds_seen(rounds: &[Round], visits: &[Visit<'_>], history: &History) -> Vec<RoundSeen> {
    let degrees = |reading: Option<Measured>| reading.map(|reading| reading.value.to_degrees());
    let of = |(index, round): (usize, &Round)| RoundSeen {
        title: round.title.clone(),
        date: round.date.clone(),
        camber_deg: round.wheels.map(|wheel| degrees(wheel.camber)),
        toe_deg: round.wheels.map(|wheel| degrees(wheel.toe)),
        total_toe_deg: degrees(round.total_toe),
        expected: (visits.iter().zip(&history.expected))
            .find(|(visit, _)| visit.index == index)
            .map(|(_, expected)| expected.map(|expected| Reading::from_radians(expected.x, expected.y))),
    };
    rounds.iter().enumerate().map(of).collect()
}
