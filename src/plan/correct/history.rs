//! Going through the readings: each is held against what was expected of it, and then learnt from.

use nalgebra::{Matrix2, Vector2};

use super::flag::Flag;
use super::ground::Visit;
use super::learn::Learnt;
use super::state::State;
use super::suspect::{Trial, causes_of_both};
use super::worth;
use crate::car::{Car, Setup, Stance};
use crate::measure::spread;
use crate::plan::adjust::Adjuster;

/// What the readings at one height tell.
#[derive(Debug)]
pub(super) struct History {
    pub(super) learnt: [Learnt; 2],
    /// Covariance of what the profile says of each wheel in its first state, rad2.
    pub(super) spreads: [Matrix2<f64>; 2],
    /// What was expected of both wheels in each visit, rad.
    pub(super) expected: Vec<[Vector2<f64>; 2]>,
    pub(super) flags: Vec<Flag>,
}

impl History {
    pub(super) fn of(car: &Car, stance: &Stance, visits: &[Visit<'_>], adjusters: [&[Adjuster]; 2]) -> Self {
        let mut history = Self {
            learnt: [Learnt::nothing(); 2],
            spreads: [Matrix2::zeros(); 2],
            expected: Vec::new(),
            flags: Vec::new(),
        };
        let Some(first) = visits.first() else { return history };
        for (i, state) in first.states.iter().enumerate() {
            let State { side, setup, position, .. } = state;
            let matched: Vec<usize> = adjusters[i]
                .iter()
                .filter(|adjuster| !adjuster.is_cam())
                .map(|adjuster| adjuster.link)
                .collect();
            history.spreads[i] = spread(side, stance, setup, position, &matched, &car.sigmas).covariance;
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
            let noise = if number == 0 {
                history.spreads
            } else {
                let noise = [0, 1].map(|i| {
                    let turned = visit.states[i].turned_since(&before[i]);
                    visit.states[i].setting_noise(&turned, &car.sigmas)
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
        let known = self.learnt;
        self.expected.push([0, 1].map(|i| {
            let expected = known[i].expected(visit.states[i].model);
            Vector2::new(expected[0].value, expected[1].value)
        }));
        let trial =
            |i: usize| Trial::new(&before[i], &visit.states[i], &known[i], noise[i][(0, 1)], &visit.seen[i]);
        let trials = [trial(0), trial(1)];
        let far = trials.each_ref().map(Trial::is_far);
        if far.contains(&true) {
            let causes = causes_of_both(trials.each_ref(), adjusters);
            for ((trial, causes), far) in trials.iter().zip(causes).zip(far) {
                if far {
                    self.flags.push(trial.flag(visit.index + 1, causes));
                }
            }
        }
        for (i, learnt) in self.learnt.iter_mut().enumerate() {
            let (model, seen) = (visit.states[i].model, &visit.seen[i]);
            if far[i] {
                learnt.begin_anew(model, seen);
            } else {
                learnt.learn(model, seen);
            }
        }
    }

    /// Variance of half the difference of the two toes, as the profile knows it, rad2.
    pub(super) fn apart(&self) -> f64 {
        (self.spreads[0][(1, 1)] + self.spreads[1][(1, 1)]) / 4.0
    }
}
