//! What a reading rests on besides the car's own numbers, and nobody knows exactly.
//!
//! | unknown | what shares it |
//! | --- | --- |
//! | how far a new arm is off the stock length that it was matched to | all states in which that arm is fitted |
//! | where it, or a cam, came to rest when its nut was tightened | the states up to the next turn |
//! | how far the height is off | all states of that height; the height at which the car was measured is off by nothing |
//! | by how much the floor slopes sideways | all readings that were made on it |
//! | what a rim runs out by where its wheel was read | all readings that no half turn freed of it |
//! | what makes a wheel read otherwise than its setting explains | all states from then on |

use crate::car::{Car, Hand, Link, Sigmas};
use crate::geometry::{Angles, DEGREE, Figure};
use crate::measure::{ReadWith, Round};

use super::state::State;
use super::unknown::{Jump, Unknown, What};

/// How far a lock nut lets an arm turn while it is tightened, in steps either way: common practice, no source.
const LOCKED: f64 = 0.25;
/// How far a cam turns while its nut is tightened, rad either way: common practice, no source.
const CLAMPED: f64 = 2.0 * DEGREE;
/// Heights closer than this are the same, mm: nobody measures them better.
const SAME_HEIGHT: f64 = 0.5;
/// Nothing that holds a wheel lets camber or toe go further than this off what is expected, rad: common practice, no source.
const FURTHEST: Angles = Angles { camber: 6.0 * DEGREE, toe: 3.0 * DEGREE };
/// By how much a garage floor slopes under a car, standard deviation, rad: 2.6 mm across a track of 1.5 m. Common practice, no
/// source.
const GARAGE: f64 = 0.1 * DEGREE;

/// Makes them out.
pub(super) struct Unknowns<'a> {
    list: Vec<Unknown>,
    states: &'a mut [State],
}

impl<'a> Unknowns<'a> {
    /// Those of some states, which are told what they touch.
    pub(super) fn of(car: &Car, rounds: &[Round], states: &'a mut [State], jumps: &[Jump]) -> Vec<Unknown> {
        let mut unknowns = Self { list: Vec::new(), states };
        for side in &car.sides {
            for (link, of) in side.links.iter().enumerate() {
                unknowns.arm((side.hand, link), of, &car.sigmas);
                unknowns.cam((side.hand, link), of);
            }
        }
        unknowns.heights(rounds, &car.sigmas);
        unknowns.floors(rounds);
        unknowns.rims(rounds);
        for Jump { from, hand } in jumps {
            for (figure, sigma) in [(Figure::Camber, FURTHEST.camber), (Figure::Toe, FURTHEST.toe)] {
                unknowns.shared(What::Off(*hand, figure), sigma, |i, _| (i >= *from).then_some(1.0));
            }
        }
        unknowns.list
    }

    /// An unknown that some states share.
    fn shared(&mut self, what: What, sigma: f64, times: impl Fn(usize, &State) -> Option<f64>) {
        let place = self.list.len();
        let mut touched = false;
        for (i, state) in self.states.iter_mut().enumerate() {
            if let Some(times) = times(i, state) {
                state.touches.push((place, times));
                touched = true;
            }
        }
        if touched && sigma > 0.0 {
            self.list.push(Unknown { what, sigma });
        } else if touched {
            // What is known exactly is none.
            self.states.iter_mut().for_each(|state| state.touches.retain(|(of, _)| *of != place));
        }
    }

    /// The places of the states in each of which something is set, cut where it was set anew.
    fn runs(
        &self,
        is_set: impl Fn(&State) -> bool,
        differs: impl Fn(&State, &State) -> bool,
    ) -> Vec<Vec<usize>> {
        let set: Vec<usize> = (0..self.states.len()).filter(|&i| is_set(&self.states[i])).collect();
        set.chunk_by(|&a, &b| !differs(&self.states[a], &self.states[b])).map(<[usize]>::to_vec).collect()
    }

    fn arm(&mut self, (hand, link): (Hand, usize), of: &Link, sigmas: &Sigmas) {
        let fitted = |state: &State| state.turned[hand][link].is_some();
        self.shared(What::Length(hand, link), sigmas.matching(), |_, state| fitted(state).then_some(1.0));
        for run in self.runs(fitted, |a, b| a.differs(b, hand, link)) {
            let sigma = setting_sigma(of, true, 0.0, sigmas);
            self.shared(What::Length(hand, link), sigma, |i, _| run.contains(&i).then_some(1.0));
        }
    }

    fn cam(&mut self, (hand, link): (Hand, usize), of: &Link) {
        let Some(cam) = of.cam else { return };
        // Under a fitted arm it is locked out, and does not turn.
        let set = |state: &State| {
            let turned = state.shifts[hand][link].is_some_and(|shift| (shift - cam.found()).abs() > 1e-6);
            turned && state.turned[hand][link].is_none()
        };
        for run in self.runs(set, |a, b| a.differs(b, hand, link)) {
            let shift = run.first().and_then(|&i| self.states[i].shifts[hand][link]).unwrap_or(0.0);
            let sigma = clamped(cam.eccentricity, shift);
            self.shared(What::Shift(hand, link), sigma, |i, _| run.contains(&i).then_some(1.0));
        }
    }

    fn heights(&mut self, rounds: &[Round], sigmas: &Sigmas) {
        let same = |a: f64, b: f64| (a - b).abs() <= SAME_HEIGHT;
        let alike = |a: &Round, b: &Round| {
            let rear = Hand::BOTH.into_iter().all(|hand| same(a.drops[hand], b.drops[hand]));
            rear && match (a.front, b.front) {
                (Some(a), Some(b)) => same(a, b),
                (a, b) => a.is_none() && b.is_none(),
            }
        };
        let measured = Round::default();
        for (i, round) in rounds.iter().enumerate() {
            let told = alike(round, &measured) || rounds[..i].iter().any(|before| alike(before, round));
            if told {
                continue;
            }
            let sigma = round.drop_sigma.unwrap_or(sigmas.drop);
            let of = [What::Drop(Hand::Left), What::Drop(Hand::Right)].into_iter();
            for what in of.chain(round.front.map(|_| What::Front)) {
                self.shared(what, sigma, |j, _| alike(&rounds[j], round).then_some(1.0));
            }
        }
    }

    fn floors(&mut self, rounds: &[Round]) {
        for source in [ReadWith::Strings, ReadWith::Gauge] {
            self.shared(What::Floor, GARAGE, |i, _| {
                let round = &rounds[i];
                let way = if round.turned_round { -1.0 } else { 1.0 };
                (round.source == Some(source) && !round.levelled).then_some(way)
            });
        }
    }

    fn rims(&mut self, rounds: &[Round]) {
        let both = |hand: Hand| [(hand, Figure::Camber), (hand, Figure::Toe)];
        for (hand, figure) in Hand::BOTH.into_iter().flat_map(both) {
            let of = |round: &Round| round.run_out[hand].get(figure).copied().unwrap_or(0.0);
            let sigma = rounds.iter().map(of).fold(0.0, f64::max);
            self.shared(What::RunOut(hand, figure), sigma, |i, _| (of(&rounds[i]) > 0.0).then_some(1.0));
        }
    }
}

/// Standard deviation of where a link comes to rest when it is set, mm of its length or of the shift of its cam: anywhere within
/// what its lock nut or its cam's nut lets go, a rectangular law. `by_arm`: it was set by its arm.
pub(crate) fn setting_sigma(link: &Link, by_arm: bool, shift: f64, sigmas: &Sigmas) -> f64 {
    match (&link.arm, link.cam) {
        (Some(arm), _) if by_arm => LOCKED * arm.step * arm.lead() / 3.0_f64.sqrt(),
        (_, Some(cam)) if !by_arm => clamped(cam.eccentricity, shift),
        _ => sigmas.matching(),
    }
}

/// The same of a cam whose pivot it shifts by so much.
fn clamped(eccentricity: f64, shift: f64) -> f64 {
    CLAMPED * (eccentricity.powi(2) - shift.powi(2)).max(0.0).sqrt() / 3.0_f64.sqrt()
}
