//! Going through the readings: each is held against what was expected of it, and then learnt from.

use nalgebra::{Matrix2, Vector2};

use super::flag::Flag;
use super::ground::Visit;
use super::learn::{DOUBT, Learnt};
use super::state::{Seen, State};
use super::suspect::{Trial, causes_of_both};
use super::worth;
use crate::car::{Car, Hand, PerSide, Setup};
use crate::geometry::{Angles, Figure};
use crate::measure::{Measured, spread};
use crate::plan::adjusting::Adjuster;

/// What the readings near one height tell.
#[derive(Debug)]
pub(super) struct History {
    pub(super) learnt: PerSide<Learnt>,
    /// Covariance of what the profile says of each wheel in its first state, rad2.
    pub(super) spreads: PerSide<Matrix2<f64>>,
    /// What was expected of both wheels in each visit, rad.
    pub(super) expected: Vec<PerSide<Vector2<f64>>>,
    pub(super) flags: Vec<Flag>,
    /// What was known of a wheel before its last reading, where that cannot be right.
    pub(super) before_impossible: PerSide<Option<Learnt>>,
    /// Variance of half the difference of the two toes, where only their total was ever read, rad2: as the profile knows it.
    pub(super) apart: f64,
}

impl History {
    pub(super) fn of(car: &Car, visits: &[Visit<'_>], adjusters: PerSide<&[Adjuster]>) -> Self {
        let mut history = Self {
            learnt: PerSide::both(Learnt::nothing()),
            spreads: PerSide::both(Matrix2::zeros()),
            expected: Vec::new(),
            flags: Vec::new(),
            before_impossible: PerSide::default(),
            apart: 0.0,
        };
        let Some(first) = visits.first() else { return history };
        for state in &first.states {
            let State { side, setup, position, .. } = state;
            let hand = side.hand;
            let matched: Vec<usize> = adjusters[hand]
                .iter()
                .filter(|adjuster| !adjuster.is_cam())
                .map(|adjuster| adjuster.link)
                .collect();
            history.spreads[hand] =
                spread(side, &first.stance, setup, position, &matched, &car.sigmas).covariance;
            let slopes = worth::slopes(state, adjusters[hand]);
            history.learnt[hand] = Learnt::from_model(state.model, &history.spreads[hand], &slopes);
        }
        // Before the first reading the links were stock; where the wheel cannot be there with them, nothing is said of turns.
        let stock = first
            .states
            .each(|state| state.set(Setup::as_found(state.side)).unwrap_or_else(|_| state.clone()));
        let mut before = &stock;
        for (number, visit) in visits.iter().enumerate() {
            for (learnt, before) in history.learnt.iter_mut().zip(&mut history.before_impossible) {
                *learnt = before.take().unwrap_or(*learnt);
            }
            let noise = if number == 0 {
                history.spreads.map(|spread| spread * (DOUBT * DOUBT))
            } else {
                let last = &visits[number - 1];
                let noise = PerSide::of(|hand| {
                    let turned = visit.states[hand].turned_since(&before[hand]);
                    visit.states[hand].setting_noise(&turned, &car.sigmas) + visit.height_noise(last, hand)
                });
                for (learnt, noise) in history.learnt.iter_mut().zip(&noise) {
                    learnt.turned(noise);
                }
                noise
            };
            history.take(visit, before, &noise, adjusters);
            before = &visit.states;
        }
        history
    }

    /// Takes one visit in. What it does not fit is told, and not learnt.
    fn take(
        &mut self,
        visit: &Visit<'_>,
        before: &PerSide<State<'_>>,
        noise: &PerSide<Matrix2<f64>>,
        adjusters: PerSide<&[Adjuster]>,
    ) {
        if self.apart > 0.0 && visit.seen.iter().all(|wheel| wheel.toe.is_some()) {
            // Now the wheels are read each by itself; so far only their sum was known.
            let apart = Matrix2::new(0.0, 0.0, 0.0, std::mem::take(&mut self.apart));
            self.learnt.iter_mut().for_each(|learnt| learnt.turned(&apart));
        }
        let known = self.learnt.map(Learnt::doubtful);
        let expected = PerSide::of(|hand| known[hand].expected(visit.states[hand].model));
        self.expected.push(expected.map(|wheel| Vector2::new(wheel.camber.value, wheel.toe.value)));
        let seen = self.seen(visit, expected);
        let trials = PerSide::of(|hand| {
            let together = noise[hand][(0, 1)];
            Trial::new(&before[hand], &visit.states[hand], &known[hand], together, &seen[hand])
        });
        let far = trials.each(Trial::is_far);
        let impossible = PerSide::of(|hand| far[hand] && trials[hand].is_impossible());
        if far.left || far.right {
            let causes = causes_of_both(trials.as_ref(), adjusters);
            for ((trial, causes), far) in trials.iter().zip(causes).zip(far) {
                if far {
                    self.flags.push(trial.flag(visit.index + 1, causes));
                }
            }
        }
        for hand in Hand::BOTH {
            let (learnt, model) = (&mut self.learnt[hand], visit.states[hand].model);
            if impossible[hand] {
                self.before_impossible[hand] = Some(*learnt);
            }
            if far[hand] {
                learnt.begin_anew(model, &seen[hand]);
            } else {
                learnt.learn(model, &seen[hand]);
            }
        }
    }

    /// What was read of both wheels. A total alone says nothing of which wheel is off: what it is off the toes that were
    /// expected is split evenly.
    fn seen(&mut self, visit: &Visit<'_>, expected: PerSide<Angles<Measured>>) -> PerSide<Seen> {
        let mut seen = visit.seen;
        if let Some(total) = visit.total_toe {
            let half = (total.value - expected.left.toe.value - expected.right.toe.value) / 2.0;
            for (seen, expected) in seen.iter_mut().zip(expected) {
                seen.toe = Some(Measured { value: expected.toe.value + half, sigma: total.sigma / 2.0 });
            }
            if !self.learnt.iter().all(|learnt| learnt.was_read(Figure::Toe)) {
                self.apart = (self.spreads.left[(1, 1)] + self.spreads.right[(1, 1)]) / 4.0;
            }
        }
        seen
    }
}
