//! Going through the readings: each is held against what was expected of it, and then learnt from.

use nalgebra::{Matrix2, Vector2};

use super::flag::Flag;
use super::ground::Visit;
use super::learn::{DOUBT, Learnt};
use super::state::{Seen, State};
use super::suspect::{Trial, causes_of_both};
use super::worth;
use crate::car::{Car, Setup};
use crate::measure::{Measured, spread};
use crate::plan::adjust::Adjuster;

/// What the readings near one height tell.
#[derive(Debug)]
pub(super) struct History {
    pub(super) learnt: [Learnt; 2],
    /// Covariance of what the profile says of each wheel in its first state, rad2.
    pub(super) spreads: [Matrix2<f64>; 2],
    /// What was expected of both wheels in each visit, rad.
    pub(super) expected: Vec<[Vector2<f64>; 2]>,
    pub(super) flags: Vec<Flag>,
    /// What was known of a wheel before its last reading, where that cannot be right.
    pub(super) before_impossible: [Option<Learnt>; 2],
    /// Variance of half the difference of the two toes, where only their total was ever read, rad2: as the profile knows it.
    pub(super) apart: f64,
}

impl History {
    pub(super) fn of(car: &Car, visits: &[Visit<'_>], adjusters: [&[Adjuster]; 2]) -> Self {
        let mut history = Self {
            learnt: [Learnt::nothing(); 2],
            spreads: [Matrix2::zeros(); 2],
            expected: Vec::new(),
            flags: Vec::new(),
            before_impossible: [None; 2],
            apart: 0.0,
        };
        let Some(first) = visits.first() else { return history };
        for (i, state) in first.states.iter().enumerate() {
            let State { side, setup, position, .. } = state;
            let matched: Vec<usize> = adjusters[i]
                .iter()
                .filter(|adjuster| !adjuster.is_cam())
                .map(|adjuster| adjuster.link)
                .collect();
            history.spreads[i] =
                spread(side, &first.stance, setup, position, &matched, &car.sigmas).covariance;
            let slopes = worth::slopes(state, adjusters[i]);
            history.learnt[i] = Learnt::from_model(state.model, &history.spreads[i], &slopes);
        }
        // Before the first reading the links were stock; where the wheel cannot be there with them, nothing is said of turns.
        let stock = first
            .states
            .each_ref()
            .map(|state| state.set(Setup::as_found(state.side)).unwrap_or_else(|_| state.clone()));
        let mut before = &stock;
        for (number, visit) in visits.iter().enumerate() {
            for (learnt, before) in history.learnt.iter_mut().zip(&mut history.before_impossible) {
                *learnt = before.take().unwrap_or(*learnt);
            }
            let noise = if number == 0 {
                history.spreads.map(|spread| spread * (DOUBT * DOUBT))
            } else {
                let last = &visits[number - 1];
                let noise = [0, 1].map(|i| {
                    let turned = visit.states[i].turned_since(&before[i]);
                    visit.states[i].setting_noise(&turned, &car.sigmas) + visit.height_noise(last, i)
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
        before: &[State<'_>; 2],
        noise: &[Matrix2<f64>; 2],
        adjusters: [&[Adjuster]; 2],
    ) {
        if self.apart > 0.0 && visit.seen.iter().all(|wheel| wheel[1].is_some()) {
            // Now the wheels are read each by itself; so far only their sum was known.
            let apart = Matrix2::new(0.0, 0.0, 0.0, std::mem::take(&mut self.apart));
            self.learnt.iter_mut().for_each(|learnt| learnt.turned(&apart));
        }
        let known = self.learnt.map(Learnt::doubtful);
        let expected = [0, 1].map(|i| known[i].expected(visit.states[i].model));
        self.expected.push(expected.map(|wheel| Vector2::from(wheel.map(|figure| figure.value))));
        let seen = self.seen(visit, expected);
        let trial =
            |i: usize| Trial::new(&before[i], &visit.states[i], &known[i], noise[i][(0, 1)], &seen[i]);
        let trials = [trial(0), trial(1)];
        let far = trials.each_ref().map(Trial::is_far);
        let impossible = [0, 1].map(|i| far[i] && trials[i].is_impossible());
        if far.contains(&true) {
            let causes = causes_of_both(trials.each_ref(), adjusters);
            for ((trial, causes), far) in trials.iter().zip(causes).zip(far) {
                if far {
                    self.flags.push(trial.flag(visit.index + 1, causes));
                }
            }
        }
        for (i, learnt) in self.learnt.iter_mut().enumerate() {
            let model = visit.states[i].model;
            if impossible[i] {
                self.before_impossible[i] = Some(*learnt);
            }
            if far[i] {
                learnt.begin_anew(model, &seen[i]);
            } else {
                learnt.learn(model, &seen[i]);
            }
        }
    }

    /// What was read of both wheels. A total alone says nothing of which wheel is off: what it is off the toes that were
    /// expected is split evenly.
    fn seen(&mut self, visit: &Visit<'_>, expected: [[Measured; 2]; 2]) -> [Seen; 2] {
        let mut seen = visit.seen;
        if let Some(total) = visit.total_toe {
            let half = (total.value - expected[0][1].value - expected[1][1].value) / 2.0;
            for (seen, expected) in seen.iter_mut().zip(expected) {
                seen[1] = Some(Measured { value: expected[1].value + half, sigma: total.sigma / 2.0 });
            }
            if !self.learnt.iter().all(|learnt| learnt.was_read(1)) {
                self.apart = (self.spreads[0][(1, 1)] + self.spreads[1][(1, 1)]) / 4.0;
            }
        }
        seen
    }
}
