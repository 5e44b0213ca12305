//! Correcting simulated cars after simulated readings.
//!
//! A real car is a random layout; its profile has every coordinate up to so far off. Its new arms are matched to their stock
//! lengths to 0.4 mm, its height is set to 2 mm, the rack reads camber to 0.03 and toe to 0.02 degree (standard deviations). It
//! is planned, read, corrected as told, read again, and so on.

use rodset::car::{Hand, PerSide};
use rodset::geometry::Figure;
use rodset::measure::{Measured, ReadWith};
use rodset::plan::{Cause, Correction, FigureOrigin, Fitting, Flag, Leave, Mistyping, Reading};

use crate::layout::times;
use crate::workshop::{Described, Standing, Workshop, cars};

const RACK: [f64; 2] = [0.03, 0.02];
/// The profile is the car.
const TRUE: Described = Described { off: 0.0, rack: RACK, preset: 0.4, height: 2.0 };
/// The profile is up to 5 mm off in every coordinate, and says that it is good to 2 mm (the default of `[sigma]`).
const ROUGH: Described = Described { off: 5.0, ..TRUE };

/// What is fitted, and which link loses its cam, so that nothing sets its figure.
type Fitted = (&'static str, Option<&'static [&'static str]>, Option<usize>);

const FITTINGS: [Fitted; 5] = [
    ("both arms", None, None),
    ("an arm and a cam", Some(&["toe"]), None),
    ("the toe arm alone", Some(&["toe"]), Some(0)),
    ("the upper arm alone", Some(&["upper"]), Some(1)),
    ("the cams", Some(&[]), None),
];

fn fitting(arms: Option<&[&str]>) -> Fitting {
    let arms = arms.map(|names| names.iter().map(|name| (*name).to_owned()).collect());
    Fitting { arms, keep_cams: false, ..Fitting::default() }
}

/// Workshops with a car whose plan is within reach and far from a dead point, and how its links then stand.
fn workshops(
    count: u32,
    described: Described,
    (_, arms, without_cam): Fitted,
) -> impl Iterator<Item = (Workshop, [Standing; 2])> {
    cars(times(count).into()).filter_map(move |(layout, random)| {
        let mut shop = Workshop::new(&layout, described, fitting(arms), random);
        if let Some(link) = without_cam {
            shop.without_cam(link);
        }
        let plan = shop.plan()?;
        let sound = plan.sides.iter().all(|side| {
            let reached = without_cam.is_some() || side.exact.within_spec;
            reached && side.certainty.condition < 60.0
        });
        let standing = shop.as_planned(&plan);
        sound.then_some((shop, standing))
    })
}

/// One round: read, then turned as told.
struct Turned {
    correction: Correction,
    /// What the wheels truly have after the turns.
    truth: PerSide<Reading>,
}

/// So many rounds of a sound car.
fn rounds(shop: &mut Workshop, mut standing: [Standing; 2], count: usize) -> Option<Vec<Turned>> {
    let mut readings = Vec::new();
    let mut turned = Vec::new();
    for _ in 0..count {
        readings.push(shop.read(&standing, &standing)?);
        let correction = shop.correct(&readings)?;
        standing = shop.as_corrected(standing, &correction);
        let truth = shop.truth(&standing)?;
        turned.push(Turned { correction, truth });
    }
    Some(turned)
}

impl Turned {
    /// The largest difference between what the wheels have and what was said they would, in standard deviations of the rack.
    /// What whole steps leave to the target is in what was said.
    fn worst(&self, rack: [f64; 2]) -> f64 {
        let of = |i: usize| {
            let (truth, said) =
                (self.truth[Hand::BOTH[i]], self.correction.sides[Hand::BOTH[i]].result.reading);
            let camber = (truth.camber_deg - said.camber_deg).abs() / rack[0];
            camber.max((truth.toe_deg - said.toe_deg).abs() / rack[1])
        };
        of(0).max(of(1))
    }
}

#[expect(clippy::cast_precision_loss, reason = "counts")]
fn part(of: usize, all: usize) -> f64 {
    of as f64 / all as f64
}

/// How many cars were close to what was said, within three standard deviations of the rack, after each of three rounds, and
/// how many were never flagged.
struct Counts {
    cars: usize,
    close: [usize; 3],
    silent: usize,
}

fn count(described: Described, fitting: Fitted) -> Counts {
    let mut counts = Counts { cars: 0, close: [0; 3], silent: 0 };
    for (mut shop, standing) in workshops(75, described, fitting) {
        let Some(turned) = rounds(&mut shop, standing, 3) else { continue };
        counts.cars += 1;
        for (close, turned) in counts.close.iter_mut().zip(&turned) {
            *close += usize::from(turned.worst(RACK) <= 3.0);
        }
        counts.silent += usize::from(turned[2].correction.flags.is_empty());
    }
    let Counts { cars, close, silent } = counts;
    println!(
        "{}, off by {}: {cars} cars, close {close:?}, {silent} without a flag",
        fitting.0, described.off
    );
    assert!(cars >= 20, "{}: only {cars} cars", fitting.0);
    counts
}

/// With a true profile one round brings both wheels to where they should be, within what the rack can tell: four figures
/// within three standard deviations are 98.9 of 100 by the normal law. Left over is what whole steps leave. No sound car is
/// accused of anything, but for 3 of 100 at the most.
#[test]
fn with_a_true_profile_one_round_is_enough() {
    for fitting in FITTINGS {
        let Counts { cars, close, silent } = count(TRUE, fitting);
        assert!(part(close[0], cars) >= 0.96, "{}: {} of {cars}", fitting.0, close[0]);
        assert!(part(silent, cars) >= 0.97, "{}: {silent} of {cars} without a flag", fitting.0);
    }
}

/// With a profile that is 5 mm off everywhere the second round does it, and still no sound car is accused.
#[test]
fn with_a_rough_profile_two_rounds_are_enough() {
    for fitting in FITTINGS {
        let Counts { cars, close, silent } = count(ROUGH, fitting);
        assert!(part(close[1], cars) >= 0.97, "{}: {} of {cars}", fitting.0, close[1]);
        assert!(part(silent, cars) >= 0.97, "{}: {silent} of {cars} without a flag", fitting.0);
    }
}

/// With a rack without noise only the model's own error is left: a round takes nearly all of it away, each time.
#[test]
fn without_noise_the_error_falls_from_round_to_round() {
    for fitting in FITTINGS {
        let described = Described { rack: [0.0; 2], ..ROUGH };
        let mut errors: [Vec<f64>; 3] = Default::default();
        for (mut shop, standing) in workshops(60, described, fitting) {
            let Some(turned) = rounds(&mut shop, standing, 3) else { continue };
            for (errors, turned) in errors.iter_mut().zip(&turned) {
                errors.push(turned.worst([1.0; 2]));
            }
        }
        let worst_of_95 = errors.map(|mut errors| {
            assert!(errors.len() >= 15, "{}: {} cars", fitting.0, errors.len());
            errors.sort_by(f64::total_cmp);
            errors[errors.len() * 95 / 100]
        });
        println!("{}: 95 of 100 cars within {worst_of_95:.4?} deg", fitting.0);
        for (error, allowed) in worst_of_95.into_iter().zip([0.12, 0.03, 0.02]) {
            assert!(error <= allowed, "{}: {error} deg, {allowed} allowed", fitting.0);
        }
    }
}

/// The band of the figures after the turns holds the truth in 95 of 100 cases; locked arms stand exactly where they should in
/// this workshop, so that the band is a little wide.
#[test]
fn the_band_after_the_turns_holds_what_it_promises() {
    for described in [TRUE, ROUGH] {
        let (mut all, mut inside) = (0, 0);
        for (mut shop, standing) in workshops(80, described, FITTINGS[0]) {
            let Some(turned) = rounds(&mut shop, standing, 2) else { continue };
            for Turned { correction, truth } in &turned {
                for (side, truth) in correction.sides.iter().zip(truth) {
                    let said = side.result.reading;
                    all += 2;
                    inside += usize::from((truth.camber_deg - said.camber_deg).abs() <= side.band.camber_deg);
                    inside += usize::from((truth.toe_deg - said.toe_deg).abs() <= side.band.toe_deg);
                }
            }
        }
        println!("{inside} of {all} figures inside their bands");
        assert!(all >= 160 && (0.93..=0.99).contains(&part(inside, all)), "{inside} of {all}");
    }
}

/// What went wrong between the first correction and the second reading.
#[derive(Debug, Clone, Copy)]
enum Fault {
    /// The upper arm of the left side slipped by 2 mm.
    Slip,
    /// The toe arm of the left side slipped by 1 mm.
    ToeSlip,
    /// The upper arm of the left side was not turned.
    NotTurned,
    /// Nothing on the left side was turned.
    NothingTurned,
    /// The upper arm of the left side was turned the wrong way.
    WrongWay,
    /// The turn of the upper arm of the left side was made on the right.
    OtherSide,
    /// The upper cam of the left side moved by 1.5 mm, towards its middle.
    Cam,
}

/// The flags after a fault; `None` where the car had no turns that it could spoil: less than 1 mm of the upper arm.
fn spoiled(shop: &mut Workshop, planned: [Standing; 2], fault: Fault) -> Option<Vec<Flag>> {
    let first = shop.read(&planned, &planned)?;
    let noted = shop.as_corrected(planned, &shop.correct(std::slice::from_ref(&first))?);
    let turn = noted[0].turned[0] - planned[0].turned[0];
    let mut real = noted;
    match fault {
        Fault::Slip => real[0].turned[0] -= 2.0,
        Fault::ToeSlip => real[0].turned[1] += 1.0,
        Fault::Cam => {
            let (shift, cam) = (real[0].shifts[0]?, shop.profile.sides.left.links[0].cam?);
            real[0].shifts[0] = Some(shift - 1.5_f64.copysign(shift)).filter(|_| cam.eccentricity > 1.5);
        }
        _ if turn.abs() < 1.0 => return None,
        Fault::NotTurned => real[0].turned[0] = planned[0].turned[0],
        Fault::NothingTurned => real[0] = planned[0],
        Fault::WrongWay => real[0].turned[0] = planned[0].turned[0] - turn,
        Fault::OtherSide => {
            real[0].turned[0] -= turn;
            real[1].turned[0] += turn;
        }
    }
    let second = shop.read(&real, &noted)?;
    Some(shop.correct(&[first, second])?.flags)
}

impl Fault {
    /// Whether a cause names it.
    fn is_named_by(self, cause: &Cause) -> bool {
        match (self, cause) {
            (Self::Slip | Self::Cam, Cause::Moved { link, .. })
            | (Self::NotTurned, Cause::NotTurned { link })
            | (Self::WrongWay, Cause::WrongWay { link })
            | (Self::OtherSide, Cause::OtherSide { link, .. }) => link == "upper",
            (Self::ToeSlip, Cause::Moved { link, .. }) => link == "toe",
            (Self::NothingTurned, cause) => matches!(cause, Cause::NothingTurned | Cause::NotTurned { .. }),
            _ => false,
        }
    }
}

/// Each fault is flagged on its wheel, and its cause is among those that are named.
#[test]
fn what_went_wrong_is_flagged_and_named() {
    use Fault::{Cam, NotTurned, NothingTurned, OtherSide, Slip, ToeSlip, WrongWay};
    let of_arms = [Slip, ToeSlip, NotTurned, NothingTurned, WrongWay, OtherSide];
    for described in [TRUE, ROUGH] {
        for (fitting, faults) in [(FITTINGS[0], &of_arms[..]), (FITTINGS[4], &[Cam][..])] {
            // Cars, flagged, named.
            let mut counts = vec![[0; 3]; faults.len()];
            for (mut shop, standing) in workshops(60, described, fitting) {
                for (fault, count) in faults.iter().zip(&mut counts) {
                    let Some(flags) = spoiled(&mut shop, standing, *fault) else { continue };
                    let found = flags.iter().find_map(|flag| match flag {
                        Flag::Change { side: Hand::Left, round: 2, causes, .. } => Some(causes),
                        _ => None,
                    });
                    let named =
                        found.is_some_and(|causes| causes.iter().any(|cause| fault.is_named_by(cause)));
                    for (count, yes) in count.iter_mut().zip([true, found.is_some(), named]) {
                        *count += usize::from(yes);
                    }
                }
            }
            for (fault, [cars, flagged, named]) in faults.iter().zip(counts) {
                println!("{fault:?}, off by {}: {flagged} of {cars} flagged, {named} named", described.off);
                assert!(cars >= 15, "{fault:?}: {cars} cars");
                // A turn that was not made is the hardest to tell from a profile that is off.
                assert!(part(flagged, cars) >= 0.9, "{fault:?}: {flagged} of {cars} flagged");
                assert!(part(named, cars) >= 0.9, "{fault:?}: {named} of {cars} named");
            }
        }
    }
}

/// A reading that was written down otherwise than it was, between wheels that are set unlike each other: told, and how.
#[test]
fn slips_in_writing_a_reading_down_are_named() {
    use Mistyping::{CamberSign, Sides, ToeSign, TotalToe};
    let all = [CamberSign, ToeSign, TotalToe, Sides];
    let mut named = [0; 4];
    let mut count = 0;
    for (mut shop, mut standing) in workshops(20, TRUE, FITTINGS[0]) {
        // The left wheel about 1 degree of camber and 0.5 of toe unlike the right one.
        let Some(before) = shop.read(&standing, &standing) else { continue };
        standing[0].turned[0] += 4.0;
        standing[0].turned[1] += 3.0;
        let Some(read) = shop.read(&standing, &standing) else { continue };
        count += 1;
        for (how, named) in all.iter().zip(&mut named) {
            let mut typed = read.clone();
            let PerSide { left, right } = &mut typed.wheels;
            match how {
                CamberSign => left.camber.iter_mut().for_each(|read| read.value = -read.value),
                ToeSign => left.toe.iter_mut().for_each(|read| read.value = -read.value),
                TotalToe => left.toe.iter_mut().for_each(|read| read.value *= 2.0),
                Sides => std::mem::swap(left, right),
            }
            let flags = shop.correct(&[before.clone(), typed]).map_or(Vec::new(), |answer| answer.flags);
            let causes = flags.iter().filter_map(|flag| match flag {
                Flag::Change { side: Hand::Left, round: 2, causes, .. } => Some(causes),
                _ => None,
            });
            let tells = |cause: &Cause| matches!(cause, Cause::Mistyped { how: told } if told == how);
            *named += usize::from(causes.flatten().any(tells));
        }
    }
    println!("{named:?} of {count} named");
    // Where camber is next to nothing its sign hardly matters.
    let enough = named.iter().zip([0.5, 0.9, 0.9, 0.9]).all(|(named, least)| part(*named, count) >= least);
    assert!(count >= 10 && enough, "{named:?} of {count}");
}

/// A height that is measured anew takes nothing of what was learnt away, near or far: the model carries it.
#[test]
fn what_was_learnt_is_kept_at_other_heights() {
    let (mut cars, mut silent, mut teaches) = (0, 0, 0);
    for (mut shop, standing) in workshops(60, ROUGH, FITTINGS[0]) {
        let Some(first) = shop.read(&standing, &standing) else { continue };
        let Some(correction) = shop.correct(std::slice::from_ref(&first)) else { continue };
        let turned = shop.as_corrected(standing, &correction);
        let mut lower = |by: f64| {
            let kept = shop.drops;
            shop.drops = kept.map(|drop| drop + by);
            let second = shop.read(&turned, &turned);
            shop.drops = kept;
            shop.correct(&[first.clone(), second?])
        };
        let (Some(near), Some(far)) = (lower(4.0), lower(9.0)) else { continue };
        cars += 1;
        silent += usize::from(near.flags.is_empty());
        assert!(
            [&near, &far].iter().all(|seen| seen.rounds.iter().all(|round| round
                .sides
                .left
                .expected
                .is_some()))
        );
        // A reading at another height teaches as well: the band of now is no wider for it.
        let alone =
            shop.correct(std::slice::from_ref(&first)).map(|alone| alone.sides.left.now_band.camber_deg);
        teaches += usize::from(alone.is_some_and(|alone| near.sides.left.now_band.camber_deg <= alone));
    }
    println!("{teaches} of {cars} taught");
    println!("{silent} of {cars} without a flag");
    assert!(cars >= 20 && part(silent, cars) >= 0.95, "{silent} of {cars}");
    assert!(part(teaches, cars) >= 0.9, "{teaches} of {cars}");
}

/// A floor that slopes by 0.7 degree, 18 mm across the car, is suspected at the first reading, and known, and taken off, once the
/// car was read the other way round.
#[test]
fn a_sloping_floor_is_suspected_then_known() {
    let slope = 0.7_f64.to_radians();
    let (mut cars, mut suspected, mut known) = (0, 0, 0);
    for (mut shop, standing) in workshops(80, TRUE, FITTINGS[0]) {
        shop.slope = slope;
        let first = shop.read(&standing, &standing).expect("as planned");
        let correction = shop.correct(std::slice::from_ref(&first)).expect("a correction");
        cars += 1;
        suspected += usize::from(matches!(correction.flags[..], [Flag::UnevenGround { known: false, .. }]));
        shop.slope = -slope;
        let mut second = shop.read(&standing, &standing).expect("as planned");
        second.turned_round = true;
        let correction = shop.correct(&[first, second]).expect("a correction");
        let truth = shop.truth(&standing).expect("as planned");
        for flag in &correction.flags {
            let Flag::UnevenGround { slope_deg, lower_left_mm, known: true, .. } = flag else { continue };
            known += 1;
            assert!((slope_deg - 0.7).abs() < 4.0 * RACK[0] / 2.0, "{slope_deg}");
            assert!((lower_left_mm - shop.profile.track() * slope.tan()).abs() < 3.0, "{lower_left_mm}");
            for (side, truth) in correction.sides.iter().zip(truth) {
                assert!((side.now.reading.camber_deg - truth.camber_deg).abs() < 5.0 * RACK[0]);
            }
        }
    }
    println!("{suspected} of {cars} suspected, {known} known");
    assert!(part(suspected, cars) >= 0.85, "{suspected} of {cars} suspected");
    assert_eq!(known, cars);
}

/// A floor is taken off what was read on it. A rack has another one, and so may a reading of which nobody said what it was
/// made with; a gauge comes back to the same.
#[test]
fn a_floor_is_taken_off_its_own_readings() {
    let (mut shop, standing) = workshops(5, TRUE, FITTINGS[0]).next().expect("a car");
    let truth = shop.truth(&standing).expect("as planned");
    let read = |shop: &mut Workshop, slope_deg: f64, source: Option<ReadWith>| {
        shop.slope = slope_deg.to_radians();
        let mut round = shop.read(&standing, &standing).expect("as planned");
        (round.source, round.turned_round) = (source, slope_deg < 0.0);
        round
    };
    let gauge = Some(ReadWith::Gauge);
    for (pair, last, slope_deg, taken_off) in [
        (gauge, Some(ReadWith::Rack), 0.0, vec![1, 2]),
        (gauge, gauge, 0.7, vec![1, 2, 3]),
        (gauge, None, 0.0, vec![1, 2]),
        (None, None, 0.0, vec![1, 2]),
    ] {
        let rounds = [(0.7, pair), (-0.7, pair), (slope_deg, last)]
            .map(|(slope, source)| read(&mut shop, slope, source));
        let correction = shop.correct(&rounds).expect("a correction");
        let [Flag::UnevenGround { rounds, slope_deg, known: true, .. }] = &correction.flags[..] else {
            panic!("{:?}", correction.flags)
        };
        assert_eq!(*rounds, taken_off);
        assert!((slope_deg - 0.7).abs() < 4.0 * RACK[0] / 2.0, "{slope_deg}");
        for (side, truth) in correction.sides.iter().zip(truth) {
            assert!((side.now.reading.camber_deg - truth.camber_deg).abs() < 4.0 * RACK[0], "{side:?}");
        }
    }
    // Where the floor was measured it has been taken out already.
    let [plain, turned, mut level] = [0.7, -0.7, 0.0].map(|slope| read(&mut shop, slope, gauge));
    level.levelled = true;
    let correction = shop.correct(&[plain, turned, level]).expect("a correction");
    let Flag::UnevenGround { rounds, .. } = &correction.flags[0] else { panic!("{:?}", correction.flags) };
    assert_eq!(*rounds, [1, 2]);
}

/// A rack that is worse than it says is found out by reading again without turning anything.
#[test]
fn readings_that_do_not_repeat_are_told_and_believed_less() {
    let (mut cars, mut told) = (0, 0);
    for (mut shop, standing) in workshops(60, TRUE, FITTINGS[0]) {
        let stated = shop.rack;
        shop.rack = stated.map(|sigma| 4.0 * sigma);
        let mut readings: Vec<_> = (0..5).filter_map(|_| shop.read(&standing, &standing)).collect();
        for wheel in readings.iter_mut().flat_map(|round| &mut round.wheels) {
            for (figure, sigma) in [&mut wheel.camber, &mut wheel.toe].into_iter().zip(stated) {
                *figure = figure.map(|figure| Measured { sigma, ..figure });
            }
        }
        let correction = shop.correct(&readings).expect("a correction");
        cars += 1;
        let noisy = correction.flags.iter().any(
            |flag| matches!(flag, Flag::Noise { repeat_deg, stated_deg, .. } if repeat_deg > stated_deg),
        );
        told += usize::from(noisy);
        if noisy {
            // Five readings of a fourfold noise are no better than two of the stated one.
            assert!(
                correction
                    .sides
                    .iter()
                    .any(|side| side.now_band.camber_deg.max(side.now_band.toe_deg) > 0.03)
            );
        }
    }
    assert!(part(told, cars) >= 0.95, "{told} of {cars}");
}

/// What was not read is taken from the model, or from before, and said so.
#[test]
fn what_was_not_read_is_said_to_be() {
    let (mut shop, standing) = workshops(5, TRUE, FITTINGS[0]).next().expect("a car");
    let full = shop.read(&standing, &standing).expect("as planned");
    let mut camber_only = full.clone();
    camber_only.wheels.left.toe = None;
    camber_only.wheels.right.toe = None;
    let correction = shop.correct(std::slice::from_ref(&camber_only)).expect("a correction");
    for side in &correction.sides {
        assert_eq!((side.camber_from, side.toe_from), (FigureOrigin::Read, FigureOrigin::Profile));
        // A toe that was never read is no better than the profile.
        assert!(side.now_band.toe_deg > 3.0 * side.now_band.camber_deg, "{side:?}");
    }
    assert!(!correction.thrust_known);
    let correction = shop.correct(&[full.clone(), camber_only.clone()]).expect("a correction");
    assert!(
        correction.sides.iter().all(|side| side.toe_from == FigureOrigin::Before) && correction.thrust_known
    );

    let degree = 1.0_f64.to_radians();
    let mut total = camber_only;
    total.total_toe = Some(Measured { value: 0.7 * degree, sigma: 0.02 * degree });
    let correction = shop.correct(std::slice::from_ref(&total)).expect("a correction");
    // What the profile expects counts a little beside a reading that is good to 0.02.
    assert!((correction.axle_now.total_toe_deg - 0.7).abs() < 0.005, "{:?}", correction.axle_now);
    assert!(
        !correction.thrust_known && correction.sides.iter().all(|side| side.toe_from == FigureOrigin::Total)
    );
    // Split about evenly: both toes are about as far off what was expected.
    let expected = correction.rounds[0].sides.each(|side| side.expected.expect("used"));
    let PerSide { left, right } =
        PerSide::of(|hand| correction.sides[hand].now.reading.toe_deg - expected[hand].toe_deg);
    assert!((left - right).abs() < 0.05, "{left} {right}");

    // Read each by itself afterwards, wheels that differ otherwise than expected are no surprise.
    let mut apart = full;
    for (i, (wheel, by)) in apart.wheels.iter_mut().zip([0.12, -0.12]).enumerate() {
        let value = (correction.sides[Hand::BOTH[i]].now.reading.toe_deg + by) * degree;
        wheel.toe = Some(Measured { value, sigma: 0.02 * degree });
    }
    let correction = shop.correct(&[total.clone(), apart]).expect("a correction");
    assert!(correction.thrust_known && correction.flags.is_empty(), "{:?}", correction.flags);

    let mut one = total;
    one.wheels.left.toe = Some(Measured { value: 0.3 * degree, sigma: 0.02 * degree });
    let correction = shop.correct(&[one]).expect("a correction");
    assert!((correction.sides.right.now.reading.toe_deg - 0.4).abs() < 0.005);
    assert!(correction.thrust_known);
}

/// Minutes that were given as degrees: no turns follow from them, the other wheel has its own, and the next reading is held
/// against what was known before.
#[test]
fn no_turns_follow_from_an_impossible_reading() {
    let (mut shop, standing) = workshops(5, TRUE, FITTINGS[0]).next().expect("a car");
    let good = shop.read(&standing, &standing).expect("as planned");
    let mut slip = good.clone();
    slip.wheels.left.toe =
        slip.wheels.left.toe.map(|toe| Measured { value: toe.value + 15.0_f64.to_radians(), ..toe });
    let off = Measured { value: shop.specs().right.toe + 0.4_f64.to_radians(), sigma: shop.rack[1] };
    slip.wheels.right.toe = Some(off);
    let correction = shop.correct(std::slice::from_ref(&slip)).expect("a correction");
    let PerSide { left, right } = &correction.sides;
    assert_eq!((left.leave, right.leave), (Some(Leave::Impossible), None));
    assert!(left.arms.iter().all(|arm| arm.turns == 0.0) && right.arms.iter().any(|arm| arm.turns != 0.0));
    assert!(!correction.succeeds());
    let again = shop.read(&standing, &standing).expect("as planned");
    let correction = shop.correct(&[good, slip, again]).expect("a correction");
    assert!(correction.sides.left.leave != Some(Leave::Impossible));
    let flagged = |flag: &Flag| matches!(flag, Flag::Change { side: Hand::Left, round: 3, .. });
    assert!(!correction.flags.iter().any(flagged), "{:?}", correction.flags);
}

/// A wheel that reads its target is left alone, and so is one that is off by less than the rack can tell.
#[test]
fn noise_is_not_chased() {
    let (mut shop, standing) = workshops(5, TRUE, FITTINGS[0]).next().expect("a car");
    let mut round = shop.read(&standing, &standing).expect("as planned");
    let specs = shop.specs();
    for (wheel, spec) in round.wheels.iter_mut().zip(specs) {
        for (figure, target, sigma) in
            [(&mut wheel.camber, spec.camber, shop.rack[0]), (&mut wheel.toe, spec.toe, shop.rack[1])]
        {
            *figure = Some(Measured { value: target + 0.9 * sigma, sigma });
        }
    }
    let correction = shop.correct(std::slice::from_ref(&round)).expect("a correction");
    for side in &correction.sides {
        assert_eq!(side.leave, Some(Leave::Noise), "{side:?}");
        assert!(side.arms.iter().all(|arm| arm.turns == 0.0 && (arm.set_mm - arm.now_mm).abs() < 1e-9));
    }
    // A toe that is out is not left, however well the other wheel reads.
    round.wheels.left.toe =
        Some(Measured { value: specs.left.toe + 0.3_f64.to_radians(), sigma: shop.rack[1] });
    let correction = shop.correct(&[round]).expect("a correction");
    assert_eq!(correction.sides.left.leave, None);
    assert!(correction.sides.left.arms.iter().any(|arm| arm.link == "toe" && arm.turns != 0.0));
}

/// Where a cam ends, the other one is not set as if that did not matter: no wheel is left further from its spec than it was.
#[test]
fn a_correction_never_makes_a_wheel_worse() {
    let (mut wheels, mut short) = (0, 0);
    for (layout, random) in cars(100) {
        let mut shop = Workshop::new(&layout, TRUE, fitting(FITTINGS[4].1), random);
        let Some(plan) = shop.plan() else { continue };
        let standing = shop.as_planned(&plan);
        let Some(round) = shop.read(&standing, &standing) else { continue };
        let Some(correction) = shop.correct(&[round]) else { continue };
        for (side, spec) in correction.sides.iter().zip(shop.specs()) {
            let miss = |reading: Reading| {
                let [camber, toe] = [reading.camber_deg, reading.toe_deg].map(f64::to_radians);
                spec.miss(Figure::Camber, camber).hypot(spec.miss(Figure::Toe, toe))
            };
            wheels += 1;
            if !side.result.within_spec {
                short += 1;
                assert!(miss(side.result.reading) <= miss(side.now.reading) + 1e-6, "{side:?}");
            }
        }
    }
    assert!(short > 20, "only {short} of {wheels} wheels are out of reach");
}
