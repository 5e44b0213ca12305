//! Correcting after the rack or the home readings: readings in, turns out, from where the arms stand now.
//!
//! What is known of the car before and all its readings together give the car as it most likely is, with what each new arm is off
//! the stock arm it was matched to ([posterior](crate::measure::posterior)); of that car the exact inverse is asked. A reading is
//! first held against what those before let expect; what does not fit is told, with what would explain it (`suspect`, `ground`),
//! and from it no more is learnt than where the wheel now is.
//!
//! `correct` learns from the last 24 readings of a record (`left_out` counts the others): each is held against all before it, so that
//! its work grows with their square (24 take 0.1 s, 100 take 1.5 s, 500 would take 30 s). `--samples` past 65,536 counts values in bins in place of holding them.

mod answer;
mod flag;
mod ground;
mod history;
mod standing;
mod suspect;
mod wheel;

pub use answer::{
    ArmTurn, CamTurn, CorrectedSide, Correction, Fewer, FigureOrigin, Leave, NoCorrection, RoundSeen,
    Settles, WheelSeen,
};
pub use flag::{Cause, Flag, Mistyping};

use self::history::History;
use self::standing::{Standing, as_noted};
use self::suspect::DOUBT;
use self::wheel::{WheelNow, settle};
use crate::car::{Car, Hand, PerSide, Spec};
use crate::geometry::{Angles, Figure};
use crate::measure::posterior::{CarReading, Jump, KnownCar, Model, Prior};
use crate::measure::{Measured, Round};
use crate::plan::adjusting::{Fitting, in_play};
use crate::plan::wheel::{AxleResult, Reading};

/// Heights within so many of their standard deviations are near: what is turned for a figure was read near the height of now.
const NEAR: f64 = 3.0;

/// A correction learns from the last readings of a record, no more than these: the work grows with the square of how many there
/// are, and what a car reads now is told by what was read last.
const MOST_READINGS: usize = 24;

/// What to turn after readings, the last of which is of the car as it is now.
///
/// `specs` are the specs of the left and the right wheel. Readings at other heights teach as well, but nothing is turned for a
/// figure that was never read near the height of the last one.
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
    let left_out = rounds.len().saturating_sub(MOST_READINGS);
    let (before, last) = rounds.split_at(left_out);
    let mut correction =
        correct_by_all(car, specs, fitting, last).map_err(|error| error.counted_from(left_out))?;
    correction.flags.iter_mut().for_each(|flag| flag.count_from(left_out));
    correction.rounds.splice(0..0, before.iter().map(|round| round_seen(round, None)));
    Ok(Correction { left_out, ..correction })
}

/// The same from all of some readings.
fn correct_by_all(
    car: &Car,
    specs: &PerSide<Spec>,
    fitting: &Fitting,
    rounds: &[Round],
) -> Result<Correction, NoCorrection> {
    let place = rounds.len().checked_sub(1).ok_or(NoCorrection::NoReading)?;
    let mut rounds = rounds.to_vec();
    let mut flags: Vec<Flag> = ground::level(car, &mut rounds);
    flags.extend(ground::repeat(&mut rounds));
    let rounds = &rounds[..];
    // Nobody reads pitch on a rack, so nobody corrects it.
    let adjusters_of = |side: &_| {
        let mut adjusters = fitting.adjusters(side);
        adjusters.retain(|adjuster| !adjuster.is_for(Figure::Pitch));
        adjusters
    };
    let prior = Prior::of(car);
    let turned = car.sides.each(|side| in_play(&adjusters_of(side)));
    let mut history = History::of(&prior, rounds, turned.each(Vec::as_slice))?;
    let models = models(&prior, rounds, &history)?;
    let known = models.iter().find_map(|(model, read)| model.learn(read.clone()));
    let known = known.ok_or(NoCorrection::Unsettled)?;
    let state = &known.levelled(known.state(place));
    if flags.is_empty() {
        // What the floor explains of the first reading needs no other cause.
        let by_floor = |flag: &Flag| flag.is_of_camber_alone(1);
        let suspected =
            suspect_ground(car, &prior, rounds, &known, place).filter(|_| history.flags.iter().all(by_floor));
        history.flags.retain(|flag| suspected.is_none() || !by_floor(flag));
        flags.extend(suspected);
    }
    flags.append(&mut history.flags);
    let noted = PerSide::of(|hand| {
        let profile = &car.sides[hand];
        as_noted(profile, &known, state, &rounds[place].setup(profile), hand)
    });
    let standing = PerSide::try_of(|hand| Standing::of(&known, state, &noted[hand].0))
        .map_err(|error| NoCorrection::Impossible(place + 1, error))?;
    let adjusters = noted.each(|(side, _)| adjusters_of(side));
    let wheels = PerSide::of(|hand| WheelNow {
        profile: &car.sides[hand],
        known: &known,
        state,
        standing: &standing[hand],
        more: &noted[hand].1,
        spec: &specs[hand],
        adjusters: &adjusters[hand],
        sigmas: &car.sigmas,
        read: Angles::of(|figure| was_read(car, rounds, figure, hand)),
        impossible: history.impossible[hand],
        other_way: history.other_way[hand].as_deref(),
    });
    let worked = settle(car, &wheels).map_err(NoCorrection::OutOfReach)?;
    let sides = PerSide::of(|hand| {
        let origins = Angles::of(|figure| origin(car, rounds, figure, hand));
        wheels[hand].answer(worked[hand].clone(), origins)
    });
    let axle = |of: &dyn Fn(&CorrectedSide) -> Reading| AxleResult::of(car, sides.each(of));
    let alone = |hand: Hand| rounds.iter().any(|round| toe_alone(round, hand));
    Ok(Correction {
        axle_now: axle(&|side| side.now.reading),
        axle: axle(&|side| side.result.reading),
        thrust_known: Hand::BOTH.into_iter().all(alone),
        flags,
        left_out: 0,
        rounds: rounds.iter().zip(&history.expected).map(|(round, of)| round_seen(round, *of)).collect(),
        sides,
    })
}

/// The models to learn from, the best first: should one settle nowhere, a coarser one does.
fn models<'a>(
    prior: &Prior<'a>,
    rounds: &[Round],
    history: &History,
) -> Result<Vec<(Model<'a>, Vec<CarReading>)>, NoCorrection> {
    let model = |jumps: &[Jump], doubt: f64| {
        Model::new(prior, rounds, jumps, doubt).map_err(|_| NoCorrection::NoWheelbase)
    };
    let stated = model(&history.jumps, 1.0)?;
    let widened = stated.learn(history.read.clone()).map_or(DOUBT, |known| known.widened());
    // What the last reading alone says of where the wheels are, whatever the links make of it.
    let last = rounds.len() - 1;
    let anew = Hand::BOTH.map(|hand| Jump { from: last, hand });
    let of_last =
        history.read.iter().filter(|read| matches!(read, CarReading::Figure { state, .. } if *state == last));
    Ok(vec![
        (model(&history.jumps, widened)?, history.read.clone()),
        (stated, history.read.clone()),
        (model(&anew, 1.0)?, of_last.copied().collect()),
    ])
}

/// Whether two readings are so near in height that they may be of the same.
fn near(car: &Car, a: &Round, b: &Round) -> bool {
    let sigma = |round: &Round| round.drop_sigma.unwrap_or(car.sigmas.drop);
    let within = NEAR * sigma(a).max(sigma(b));
    let near = |a: f64, b: f64| (a - b).abs() <= within;
    let front = match (a.front, b.front) {
        (Some(a), Some(b)) => near(a, b),
        (a, b) => a.is_none() && b.is_none(),
    };
    front && Hand::BOTH.into_iter().all(|hand| near(a.drops[hand], b.drops[hand]))
}

/// Whether the toe of a wheel can be told from a round by itself.
fn toe_alone(round: &Round, hand: Hand) -> bool {
    round.wheels[hand].toe.is_some()
        || (round.wheels[hand.other()].toe.is_some() && round.total_toe.is_some())
}

/// Whether a round says something of a figure of a wheel.
fn says(round: &Round, figure: Figure, hand: Hand) -> bool {
    match figure {
        Figure::Camber => round.wheels[hand].camber.is_some(),
        _ => toe_alone(round, hand) || round.total_toe.is_some(),
    }
}

/// Whether a figure of a wheel was ever read near the height of now.
fn was_read(car: &Car, rounds: &[Round], figure: Figure, hand: Hand) -> bool {
    let Some(last) = rounds.last() else { return false };
    rounds.iter().any(|round| near(car, round, last) && says(round, figure, hand))
}

fn suspect_ground(
    car: &Car,
    prior: &Prior<'_>,
    rounds: &[Round],
    known: &KnownCar<'_>,
    place: usize,
) -> Option<Flag> {
    let model = Model::new(prior, rounds, &[], 1.0).ok()?;
    let profile = model.learn(Vec::new())?;
    let before = profile.expected(profile.state(place))?;
    let now = known.expected(known.state(place))?;
    let off = |hand: Hand| {
        let camber = now[hand].each().camber;
        was_read(car, rounds, Figure::Camber, hand)
            .then_some(Measured { value: camber.value - before[hand].figures.camber, ..camber })
    };
    ground::suspect(
        car,
        PerSide::of(off).all()?,
        &before.map(|wheel| wheel.covariance),
        (place, &rounds[place]),
    )
}

/// Where a figure of a wheel now comes from.
fn origin(car: &Car, rounds: &[Round], figure: Figure, hand: Hand) -> FigureOrigin {
    let Some(last) = rounds.last() else { return FigureOrigin::Profile };
    let alone = match figure {
        Figure::Camber => last.wheels[hand].camber.is_some(),
        _ => toe_alone(last, hand),
    };
    match () {
        () if alone => FigureOrigin::Read,
        () if says(last, figure, hand) => FigureOrigin::Total,
        () if was_read(car, rounds, figure, hand) => FigureOrigin::Before,
        () => FigureOrigin::Profile,
    }
}

fn round_seen(round: &Round, expected: Option<PerSide<Reading>>) -> RoundSeen {
    let degrees = |reading: Option<Measured>| reading.map(|reading| reading.value.to_degrees());
    RoundSeen {
        title: round.title.clone(),
        date: round.date.clone(),
        sides: PerSide::of(|hand| WheelSeen {
            side: hand,
            drop_mm: round.drops[hand],
            camber_deg: degrees(round.wheels[hand].camber),
            toe_deg: degrees(round.wheels[hand].toe),
            expected: expected.map(|wheels| wheels[hand]),
        }),
        total_toe_deg: degrees(round.total_toe),
    }
}
