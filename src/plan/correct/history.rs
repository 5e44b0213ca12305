//! Going through the readings: each is held against what was expected of it by those before, and then learnt from.

use super::answer::NoCorrection;
use super::flag::Flag;
use super::standing::{Standing, seen};
use super::suspect::{DOUBT, SuspectTrial, causes_of_both};
use crate::car::{Hand, PerSide, Setup};
use crate::geometry::Angles;
use crate::measure::Round;
use crate::measure::posterior::{CarReading, Jump, Model, Prior};
use crate::plan::adjusting::Adjuster;
use crate::plan::wheel::Reading;

/// What the readings tell.
#[derive(Debug, Default)]
pub(super) struct History {
    /// Where a wheel began to read otherwise than its setting explains.
    pub(super) jumps: Vec<Jump>,
    /// What was read and may be right.
    pub(super) read: Vec<CarReading>,
    /// What was expected of both wheels in each round.
    pub(super) expected: Vec<Option<PerSide<Reading>>>,
    pub(super) flags: Vec<Flag>,
    /// The wheels of which the last reading cannot be right.
    pub(super) impossible: PerSide<bool>,
    /// Links whose turns were answered with the other sign by the last reading, on a car whose points are only assumed.
    pub(super) other_way: PerSide<Option<String>>,
}

impl History {
    pub(super) fn of(
        prior: &Prior<'_>,
        rounds: &[Round],
        adjusters: PerSide<&[Adjuster]>,
    ) -> Result<Self, NoCorrection> {
        let mut history = Self::default();
        for place in 0..rounds.len() {
            history.impossible = PerSide::default();
            history.other_way = PerSide::default();
            history.take(prior, rounds, place, adjusters)?;
        }
        Ok(history)
    }

    /// Takes one round in. What does not fit is told, and what is learnt from it is only where the wheel now is.
    fn take(
        &mut self,
        prior: &Prior<'_>,
        rounds: &[Round],
        place: usize,
        adjusters: PerSide<&[Adjuster]>,
    ) -> Result<(), NoCorrection> {
        let model = Model::new(prior, rounds, &self.jumps, DOUBT).map_err(|_| NoCorrection::NoWheelbase)?;
        let round = &rounds[place];
        // Where nothing fits so far, what the profile alone says is better than nothing.
        let known = model.learn(self.read.clone()).or_else(|| model.learn(Vec::new()));
        let read = CarReading::of(prior.car(), place, round);
        let Some(known) = known else {
            self.unexpected(read);
            return Ok(());
        };
        let state = known.state(place);
        let standing = PerSide::try_of(|hand| Standing::of(&known, state, &known.car.sides[hand]));
        let standing = match standing {
            Ok(standing) => standing,
            // Only where the profile's own car cannot be there either is there something wrong with the reading.
            Err(_)
                if !self.read.is_empty() && model.learn(Vec::new()).is_some_and(|car| car.stands(place)) =>
            {
                self.unexpected(read);
                return Ok(());
            }
            Err(error) => return Err(NoCorrection::Impossible(place + 1, error)),
        };
        let before = PerSide::of(|hand| match place.checked_sub(1) {
            Some(last) => known.setup(known.state(last), hand),
            // Before the first reading the links were stock.
            None => Setup::as_found(&known.car.sides[hand]),
        });
        let expected = standing.each(|standing| standing.expected.figures);
        self.expected.push(Some(expected.map(|Angles { camber, toe }| Reading::from_radians(camber, toe))));
        let seen = seen(round, &expected);
        let trials = PerSide::of(|hand| {
            SuspectTrial::new(before[hand], &standing[hand], &seen[hand], round.keeps_run_out(hand))
        });
        let far = trials.each(SuspectTrial::is_far);
        if far.left || far.right {
            let causes = causes_of_both(trials.as_ref(), adjusters);
            for ((trial, causes), far) in trials.iter().zip(causes).zip(far) {
                if far {
                    self.flags.push(trial.flag(place + 1, causes));
                }
            }
        }
        let is_assumed = !prior.car().assumed.is_empty();
        let other_way =
            |hand: Hand| trials[hand].answers_the_other_way(adjusters[hand]).filter(|_| is_assumed);
        self.other_way = PerSide::of(other_way);
        self.impossible = PerSide::of(|hand| far[hand] && trials[hand].is_impossible());
        let last = place + 1 == rounds.len();
        // What cannot be right is not learnt; only of the last reading is it shown what it would be.
        let kept = PerSide::of(|hand| !self.impossible[hand] || last);
        for hand in Hand::BOTH.into_iter().filter(|&hand| far[hand] && kept[hand]) {
            self.jumps.push(Jump { from: place, hand });
        }
        self.read.extend(read.into_iter().filter(|read| match read {
            CarReading::Figure { weights, .. } => {
                let of = |hand: Hand, at: usize| kept[hand] || (weights[at] == 0.0 && weights[at + 1] == 0.0);
                of(Hand::Left, 0) && of(Hand::Right, 2)
            }
            CarReading::Length { .. } => true,
        }));
        Ok(())
    }

    /// Takes in what nothing was expected of.
    fn unexpected(&mut self, read: Vec<CarReading>) {
        self.expected.push(None);
        self.read.extend(read);
    }
}
