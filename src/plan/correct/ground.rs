//! A floor that slopes sideways, and readings that do not repeat: what two readings of one state tell.

use nalgebra::Matrix2;

use super::flag::Flag;
use super::suspect::DOUBT;
use crate::car::{Car, Hand, PerSide};
use crate::geometry::Figure;
use crate::measure::{Measured, ReadWith, Round, rarely, turned_round};

/// A slope is told when it is this many of its standard deviations.
const TOLD: f64 = 2.5;
/// Cambers are off by opposite amounts if their mean is no more than this part of half their difference.
const OPPOSITE: f64 = 0.3;
/// ... and that by so many of its standard deviations.
const SUSPECT: f64 = 2.5;
/// Readings of one state that differ by more than so many standard deviations differ by something that happened.
const HAPPENED: f64 = 4.5;

/// Heights closer than this are the same, mm: nobody measures them better.
const SAME_HEIGHT: f64 = 0.5;
/// Lengths and shifts closer than this are the same setting, mm.
const SAME_SETTING: f64 = 1e-6;

/// The floor under a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Floor {
    /// Its slope has been taken out already.
    Level,
    /// The one on which readings with this are made.
    Of(ReadWith),
    /// Nobody said; only the car turned round on the same spots stands on the same.
    Unknown,
}

/// By what the floor under a reading is known.
fn floor(round: &Round) -> Floor {
    match round.source {
        _ if round.levelled => Floor::Level,
        Some(source) => Floor::Of(source),
        None => Floor::Unknown,
    }
}

/// Whether the other round is of the same state on the same floor, with the car turned round.
fn is_turned_round(a: &Round, b: &Round) -> bool {
    a.turned_round != b.turned_round && floor(a) == floor(b) && floor(a) != Floor::Level && is_one_state(a, b)
}

/// Whether the car stood as high, set alike.
fn is_one_state(a: &Round, b: &Round) -> bool {
    let same = |a: f64, b: f64| (a - b).abs() <= SAME_HEIGHT;
    let set = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() <= SAME_SETTING,
        (a, b) => a.is_none() && b.is_none(),
    };
    a.front.zip(b.front).is_none_or(|(a, b)| same(a, b))
        && Hand::BOTH.into_iter().all(|hand| {
            let lengths = a.lengths[hand].iter().zip(b.lengths[hand].iter());
            let mut settings = lengths.chain(a.shifts[hand].iter().zip(b.shifts[hand].iter()));
            same(a.drops[hand], b.drops[hand]) && settings.all(|(a, b)| set(*a, *b))
        })
}

/// Takes the slope of the floor off, where the car was read both ways round in one state.
///
/// A floor that is lower under the left wheel by the angle `p` leans the car to the left: the left camber reads `p` more, the
/// right one `p` less. The other way round it is the opposite. It is taken off the readings that told it, and off the others
/// with the same source; a rack stands on a floor of its own.
pub(super) fn level(car: &Car, rounds: &mut [Round]) -> Vec<Flag> {
    let mut flags = Vec::new();
    for FloorSlope { floor: of, told_by, value, variance } in slopes(rounds) {
        if value.abs() <= TOLD * variance.sqrt() {
            continue;
        }
        let mut on_it = Vec::new();
        for (place, round) in rounds.iter_mut().enumerate() {
            if floor(round) != of || (of == Floor::Unknown && !told_by.contains(&place)) {
                continue;
            }
            let way = if round.turned_round { -1.0 } else { 1.0 };
            for (wheel, sign) in round.wheels.iter_mut().zip([1.0, -1.0]) {
                if let Some(camber) = &mut wheel.camber {
                    camber.value -= sign * way * value;
                }
            }
            on_it.push(place);
        }
        // Now its slope is out of them.
        for &place in &on_it {
            rounds[place].levelled = true;
        }
        flags.push(uneven(car, value, None, on_it.iter().map(|place| place + 1).collect()));
    }
    flags
}

/// What one floor was found to slope by.
struct FloorSlope {
    floor: Floor,
    /// The visits that told it.
    told_by: Vec<usize>,
    /// How much lower it is on the left, rad.
    value: f64,
    variance: f64,
}

/// The slopes of the floors on which the car was turned round; no reading counts twice. The pairs of one floor are averaged.
fn slopes(rounds: &[Round]) -> Vec<FloorSlope> {
    let mut slopes: Vec<FloorSlope> = Vec::new();
    let mut next = 0;
    while let Some([a, b]) = rounds.get(next..next + 2) {
        let slope = if is_turned_round(a, b) { slope_of(a, b) } else { None };
        let Some((value, variance)) = slope else {
            next += 1;
            continue;
        };
        let told_by = vec![next, next + 1];
        let known = |slope: &&mut FloorSlope| slope.floor == floor(a) && floor(a) != Floor::Unknown;
        if let Some(slope) = slopes.iter_mut().find(known) {
            let weight = slope.variance / (slope.variance + variance);
            slope.value += weight * (value - slope.value);
            slope.variance *= 1.0 - weight;
            slope.told_by.extend(told_by);
        } else {
            slopes.push(FloorSlope { floor: floor(a), told_by, value, variance });
        }
        next += 2;
    }
    slopes
}

/// How much lower the floor is on the left, from two readings of one state, and the variance of that.
fn slope_of(a: &Round, b: &Round) -> Option<(f64, f64)> {
    let (plain, turned) = if a.turned_round { (b, a) } else { (a, b) };
    let rise = |hand| Some(turned_round(plain.wheels[hand].camber?, turned.wheels[hand].camber?, hand).1);
    let PerSide { left, right } = PerSide::of(rise).all()?;
    // They find how far the floor rises to the left.
    let slope = -f64::midpoint(left.value, right.value);
    Some((slope, (left.sigma.powi(2) + right.sigma.powi(2)) / 4.0))
}

/// Whether the cambers are off what the profile says as they would be on a floor that slopes.
///
/// `off` are the differences of the two wheels, rad, `spreads` the covariances of the profile's own readings; then comes the round in
/// which it shows, with its place.
pub(super) fn suspect(
    car: &Car,
    off: PerSide<Measured>,
    spreads: &PerSide<Matrix2<f64>>,
    (place, round): (usize, &Round),
) -> Option<Flag> {
    let half = (off.left.value - off.right.value) / 2.0;
    let mean = f64::midpoint(off.left.value, off.right.value);
    let variance: f64 = off
        .zip(*spreads)
        .into_iter()
        .map(|(off, spread)| DOUBT * DOUBT * spread[(0, 0)] + off.sigma.powi(2))
        .sum();
    let opposite = mean.abs() <= OPPOSITE * half.abs();
    (opposite && half.abs() > SUSPECT * variance.sqrt() / 2.0)
        .then(|| uneven(car, half, Some(round), vec![place + 1]))
}

/// What there is to say of a slope; `suspected` is the round in which it is only suspected.
fn uneven(car: &Car, slope: f64, suspected: Option<&Round>, rounds: Vec<usize>) -> Flag {
    let rims = |round: &Round| Hand::BOTH.into_iter().any(|hand| round.keeps_run_out(hand).camber);
    Flag::UnevenGround {
        slope_deg: slope.to_degrees(),
        lower_left_mm: car.track() * slope.tan(),
        known: suspected.is_none(),
        rims: suspected.is_some_and(rims),
        rounds,
    }
}

/// What readings of one state show of their noise; where it is more than they are said to be good for, it is used instead.
///
/// Of `n` readings of one thing the sum of squares about their mean has `n - 1` degrees of freedom; they are added up over the
/// states, the wheels and, for camber, the ways round.
pub(super) fn repeat(rounds: &mut [Round]) -> Vec<Flag> {
    let mut flags = Vec::new();
    for figure in [Figure::Camber, Figure::Toe] {
        let (mut freedom, mut stated, mut squares) = (0.0, 0.0, 0.0);
        for readings in repeats(rounds, figure) {
            #[expect(clippy::cast_precision_loss, reason = "a count")]
            let count = readings.len() as f64;
            let mean = readings.iter().map(|reading| reading.value).sum::<f64>() / count;
            squares += readings.iter().map(|reading| (reading.value - mean).powi(2)).sum::<f64>();
            stated +=
                (count - 1.0) * readings.iter().map(|reading| reading.sigma.powi(2)).sum::<f64>() / count;
            freedom += count - 1.0;
        }
        if freedom == 0.0 || squares <= stated * rarely(freedom) {
            continue;
        }
        let [stated, repeat] = [stated, squares].map(|sum| (sum / freedom).sqrt());
        for wheel in rounds.iter_mut().flat_map(|round| &mut round.wheels) {
            let reading = if figure == Figure::Camber { &mut wheel.camber } else { &mut wheel.toe };
            if let Some(reading) = reading {
                reading.sigma = reading.sigma.max(repeat);
            }
        }
        let [stated_deg, repeat_deg] = [stated, repeat].map(f64::to_degrees);
        flags.push(Flag::Noise { figure, stated_deg, repeat_deg });
    }
    flags
}

/// Readings of one figure of one wheel in one state, made alike, at least two of each.
fn repeats(rounds: &[Round], figure: Figure) -> Vec<Vec<Measured>> {
    let alike = |a: &Round, b: &Round| {
        let of_camber = figure != Figure::Camber || a.turned_round == b.turned_round;
        floor(a) == floor(b) && of_camber && is_one_state(a, b)
    };
    let mut repeats: Vec<Vec<Measured>> = Vec::new();
    for run in rounds.chunk_by(alike) {
        for hand in Hand::BOTH {
            let of = |round: &Round| {
                let wheel = &round.wheels[hand];
                if figure == Figure::Camber { wheel.camber } else { wheel.toe }
            };
            let readings: Vec<Measured> = run.iter().filter_map(of).collect();
            // Two that differ by something that happened are not readings of one thing.
            let one =
                |a: &Measured, b: &Measured| (a.value - b.value).abs() <= HAPPENED * a.sigma.hypot(b.sigma);
            repeats.extend(readings.chunk_by(one).filter(|run| run.len() > 1).map(<[Measured]>::to_vec));
        }
    }
    repeats
}
