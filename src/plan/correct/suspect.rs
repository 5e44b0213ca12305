//! Whether a wheel changed as its turns say, and if not, what would explain it.
//!
//! A reading is held against what was expected by `x = d' S^-1 d`, with `d` the difference and `S` its covariance: the reading's
//! own noise, that of the readings before, how exactly things were set, and how far what a turn is worth may be off. Without
//! a slip `x` follows the chi-squared law. What would explain a large one is a list of other settings, each of which is held
//! against the reading in the same way.

use nalgebra::{Matrix2, Vector2};

use super::flag::{Cause, Flag, Mistyping};
use super::standing::{Seen, Standing};
use crate::car::{Hand, PerSide, Setup};
use crate::geometry::{Angles, DEGREE, Figure};
use crate::measure::{MOST_RUN_OUT, Measured, SIGMAS_OF_95};
use crate::plan::Reading;
use crate::plan::adjusting::Adjuster;

/// A profile may be off by this many times what it says before a reading is held against the car: people think well of their
/// tapes.
pub(super) const DOUBT: f64 = 1.5;
/// What `x` may be by chance, for one and for two figures: by the law it is more in 1 of 330 and in 1 of 400 readings. With
/// profiles that are worse than they say it is one sound reading of a hundred, see `tests/correct.rs`.
const CHANCE: [f64; 2] = [8.8, 12.0];
/// An explanation fits where `x` is no more than this: 99 of 100 by the law for two figures.
const FITS: f64 = 9.21;
/// An explanation with a free size has to fit better by this than one without.
const PRICE: f64 = 3.0;
/// Nothing that holds a wheel lets camber or toe go further than this off what is expected, rad: common practice, no source. It
/// is 20 mm of toe across a rim, or an arm that is 10 mm off.
const IMPOSSIBLE: Angles = Angles { camber: 6.0 * DEGREE, toe: 3.0 * DEGREE };
/// No joint slips further, mm.
const FURTHEST: f64 = 15.0;
const MOST_CAUSES: usize = 3;
/// A change that turns are meant to make is plain where it is more than this, rad,
const PLAIN: f64 = 0.1 * DEGREE;
/// and one that is read is sure where it is so many of its deviations.
const SURE: f64 = 4.0;

/// A reading held against what was expected.
#[derive(Debug, Clone)]
pub(super) struct SuspectTrial<'a> {
    before: Setup,
    now: &'a Standing<'a>,
    seen: &'a Seen,
    /// Of which figures no half turn took out what the rim runs out by.
    rim: Angles<bool>,
    /// Covariance of the difference.
    covariance: Matrix2<f64>,
}

impl<'a> SuspectTrial<'a> {
    /// `before` are the links as they were before the reading.
    pub(super) fn new(before: Setup, now: &'a Standing<'a>, seen: &'a Seen, rim: Angles<bool>) -> Self {
        let mut covariance = now.expected.covariance;
        for (i, read) in [seen.camber, seen.toe].into_iter().enumerate() {
            covariance[(i, i)] += read.map_or(0.0, |reading| reading.sigma.powi(2));
        }
        Self { before, now, seen, rim, covariance }
    }

    /// What was read less what is expected of a state, rad.
    fn off(&self, expected: Angles) -> Angles<Option<f64>> {
        Self::between(self.seen, expected)
    }

    fn between(seen: &Seen, expected: Angles) -> Angles<Option<f64>> {
        let off = |seen: Option<Measured>, expected: f64| Some(seen?.value - expected);
        Angles { camber: off(seen.camber, expected.camber), toe: off(seen.toe, expected.toe) }
    }

    /// What was read less what is expected of the state as it is noted, rad.
    fn off_now(&self) -> Angles<Option<f64>> {
        self.off(self.now.expected.figures)
    }

    /// `d' S^-1 e` over the figures that were read.
    fn product(&self, d: Angles<Option<f64>>, e: Angles<Option<f64>>) -> f64 {
        let s = &self.covariance;
        let (d, e): ([Option<f64>; 2], [Option<f64>; 2]) = (d.into(), e.into());
        match (d, e) {
            ([Some(a), Some(b)], [Some(c), Some(d)]) => {
                // Where nothing is uncertain any difference is too much.
                s.try_inverse()
                    .map_or(f64::INFINITY, |inverse| Vector2::new(a, b).dot(&(inverse * Vector2::new(c, d))))
            }
            ([Some(a), None], [Some(c), None]) => a * c / s[(0, 0)],
            ([None, Some(b)], [None, Some(d)]) => b * d / s[(1, 1)],
            _ => f64::INFINITY,
        }
    }

    fn misfit(&self, expected: Angles) -> f64 {
        let off = self.off(expected);
        self.product(off, off)
    }

    /// How badly the reading fits this side with one link's length changed by `by` mm on top.
    pub(super) fn misfit_with(&self, link: usize, by: f64) -> Option<f64> {
        let mut setup = self.now.setup;
        setup.lengths[link] += by;
        Some(self.misfit(self.now.set(&setup).ok()?))
    }

    /// Whether the difference is more than chance.
    pub(super) fn is_far(&self) -> bool {
        let read = self.seen.iter().flatten().count();
        read > 0 && self.misfit(self.now.expected.figures) > CHANCE[read - 1]
    }

    /// Whether a wheel cannot have changed by so much, whatever happened to it: a slip of the pen, such as minutes for degrees.
    pub(super) fn is_impossible(&self) -> bool {
        let off = self.off_now();
        off.iter().zip(&IMPOSSIBLE).any(|(off, most)| off.is_some_and(|off| off.abs() > *most))
    }

    /// What there is to say of it; `round` is counted from 1.
    pub(super) fn flag(&self, round: usize, causes: Vec<Cause>) -> Flag {
        let Angles { camber, toe } = self.now.expected.figures;
        Flag::Change {
            side: self.now.side.hand,
            round,
            turned: !self.turned().is_empty(),
            expected: Reading::from_radians(camber, toe),
            off_deg: self.off_now().map(|off| off.map(f64::to_degrees)),
            usual_deg: Angles::from([0, 1])
                .map(|i| (self.covariance[(i, i)].sqrt() * SIGMAS_OF_95).to_degrees()),
            causes,
        }
    }

    /// What would explain it, the likeliest first.
    pub(super) fn causes(&self, adjusters: &[Adjuster]) -> Vec<Cause> {
        let mut causes = self.wrong_settings();
        causes.extend(self.slips(adjusters));
        causes.extend(self.run_out());
        causes.extend(self.mistyped());
        causes.sort_by(|(a, _), (b, _)| a.total_cmp(b));
        causes.truncate(MOST_CAUSES);
        causes.into_iter().map(|(_, cause)| cause).collect()
    }

    /// How much a turn of a link changed its length, mm; 0 where it was not turned.
    pub(super) fn turn(&self, link: usize) -> f64 {
        self.now.setup.lengths[link] - self.before.lengths[link]
    }

    /// The link whose turns were answered with the other sign by the figure that it sets, where that is more than chance.
    pub(super) fn answers_the_other_way(&self, adjusters: &[Adjuster]) -> Option<String> {
        let unturned = self.now.set(&self.before).ok()?;
        let other = |adjuster: &&Adjuster| {
            let Some(figure) = adjuster.sets.filter(|_| self.turn(adjuster.link) != 0.0) else {
                return false;
            };
            let [before, meant] =
                [unturned, self.now.expected.figures].map(|figures| figures.get(figure).copied());
            let seen = self.seen.get(figure).copied().flatten();
            let (Some(before), Some(meant), Some(seen)) = (before, meant, seen) else { return false };
            let (meant, is) = (meant - before, seen.value - before);
            meant.abs() > PLAIN && is * meant < 0.0 && is.abs() > SURE * seen.sigma
        };
        let adjuster = adjusters.iter().find(other).filter(|_| self.is_far())?;
        Some(self.now.side.links[adjuster.link].name.clone())
    }

    /// The links that were turned.
    fn turned(&self) -> Vec<usize> {
        self.before.differing(&self.now.setup)
    }

    /// Things set otherwise than noted that fit the reading, with how badly.
    fn wrong_settings(&self) -> Vec<(f64, Cause)> {
        let (before, now) = (&self.before, &self.now.setup);
        let turned = self.turned();
        let mut settings = Vec::new();
        for &i in &turned {
            let link = self.now.side.links[i].name.clone();
            let (mut not, mut wrong) = (*now, *now);
            // An arm that was put in stays in, with its cam as it is locked; it is its turns that may be wrong.
            if self.turn(i) == 0.0 {
                not.pivots[i] = before.pivots[i];
                wrong.pivots[i] = before.pivots[i] - (now.pivots[i] - before.pivots[i]);
            } else {
                not.lengths[i] = before.lengths[i];
                wrong.lengths[i] = before.lengths[i] - self.turn(i);
            }
            settings.push((not, Cause::NotTurned { link: link.clone() }));
            settings.push((wrong, Cause::WrongWay { link }));
        }
        if turned.len() > 1 {
            let mut none = *now;
            for &i in &turned {
                if self.turn(i) == 0.0 {
                    none.pivots[i] = before.pivots[i];
                } else {
                    none.lengths[i] = before.lengths[i];
                }
            }
            settings.push((none, Cause::NothingTurned));
        }
        let fits = |(setup, cause)| {
            let misfit = self.misfit(self.now.set(&setup).ok()?);
            (misfit <= FITS).then_some((misfit, cause))
        };
        settings.into_iter().filter_map(fits).collect()
    }

    /// How badly other readings would fit than those that were written down; `None` where too badly.
    fn fits_as(&self, seen: &Seen) -> Option<f64> {
        let off = Self::between(seen, self.now.expected.figures);
        Some(self.product(off, off)).filter(|misfit| *misfit <= FITS)
    }

    /// Slips in writing the reading down that explain it, with how badly.
    fn mistyped(&self) -> Vec<(f64, Cause)> {
        let as_if = |figure: Figure, times: f64, how: Mistyping| {
            let mut seen = *self.seen;
            let read = seen.get_mut(figure)?.as_mut()?;
            read.value *= times;
            Some((self.fits_as(&seen)?, Cause::Mistyped { how }))
        };
        let slips = [
            as_if(Figure::Camber, -1.0, Mistyping::CamberSign),
            as_if(Figure::Toe, -1.0, Mistyping::ToeSign),
            as_if(Figure::Toe, 0.5, Mistyping::TotalToe),
        ];
        slips.into_iter().flatten().collect()
    }

    /// The rim, where no half turn took out what it runs out by and no more than rims do explains the reading.
    fn run_out(&self) -> Option<(f64, Cause)> {
        let off = self.off_now();
        let by = |figure: Figure| if *self.rim.get(figure)? { *off.get(figure)? } else { None };
        let by = Angles::of(by);
        let rest = Angles::of(|figure| off.get(figure).copied()?.xor(*by.get(figure)?));
        let free = by.iter().flatten().count();
        let size = by.iter().flatten().fold(0.0, |size: f64, by| size.hypot(*by));
        let misfit = if rest.iter().flatten().count() == 0 { 0.0 } else { self.product(rest, rest) };
        let run_out_mm = self.now.side.rim_diameter.map(|rim| rim * size.sin());
        let price = if free > 1 { 2.0 * PRICE } else { PRICE };
        (free > 0 && size <= MOST_RUN_OUT && misfit <= FITS)
            .then_some((misfit + price, Cause::RunOut { run_out_mm }))
    }

    /// Links that slipped by the length that fits best, with how badly that fits.
    fn slips(&self, adjusters: &[Adjuster]) -> Vec<(f64, Cause)> {
        let off = self.off_now();
        let all = self.product(off, off);
        let slip = |i: usize| {
            let link = &self.now.side.links[i];
            let own = adjusters.iter().find(|adjuster| adjuster.link == i);
            let only = match off {
                // One figure alone is explained by anything; the link that sets it is the first to look at.
                Angles { camber: Some(_), toe: Some(_) } => {
                    own.is_some() || link.cam.is_some() || link.arm.is_some()
                }
                _ => own.is_some_and(|own| {
                    own.sets.is_none_or(|figure| off.get(figure).is_some_and(Option::is_some))
                }),
            };
            let cam = Adjuster::of_cam(i, link);
            // Of what is no rod nothing but its cam is set.
            let of_cam = cam.filter(|_| !link.hold.is_rod());
            let rate = of_cam.map_or_else(|| self.now.rate(i), |cam| self.now.slope(&cam));
            let rate = Angles { camber: off.camber.and(Some(rate.x)), toe: off.toe.and(Some(rate.y)) };
            let by = self.product(rate, off) / self.product(rate, rate);
            let misfit = all - by * self.product(rate, off);
            let free = |by: f64| match cam {
                Some(cam) if link.arm.is_none() || own.is_some_and(Adjuster::is_cam) => {
                    let push = if of_cam.is_some() { 1.0 } else { self.now.push(&cam) };
                    (self.now.value(&cam) + by / push).abs() <= cam.ends()[1]
                }
                _ => by.abs() <= FURTHEST,
            };
            let cause = Cause::Moved { link: link.name.clone(), by_mm: by, cam: link.cam.is_some() };
            (only && by.is_finite() && misfit <= FITS && free(by)).then_some((misfit + PRICE, cause))
        };
        (0..self.now.side.links.len()).filter_map(slip).collect()
    }
}

/// The causes of both sides, with those that show on both: a turn that was made on the wrong side of the car, and readings of
/// the wrong side.
pub(super) fn causes_of_both(
    trials: PerSide<&SuspectTrial<'_>>,
    adjusters: PerSide<&[Adjuster]>,
) -> PerSide<Vec<Cause>> {
    let mut causes = PerSide::of(|hand| trials[hand].causes(adjusters[hand]));
    let first = |causes: &mut PerSide<Vec<Cause>>, cause: Cause| {
        for causes in causes {
            causes.insert(0, cause.clone());
            causes.truncate(MOST_CAUSES);
        }
    };
    for hand in Hand::BOTH {
        let (here, there) = (trials[hand], trials[hand.other()]);
        for adjuster in adjusters[hand] {
            let (link, by) = (adjuster.link, here.turn(adjuster.link));
            let fits = |misfit: Option<f64>| misfit.is_some_and(|misfit| misfit <= FITS);
            if by == 0.0 || !fits(here.misfit_with(link, -by)) || !fits(there.misfit_with(link, by)) {
                continue;
            }
            let cause = Cause::OtherSide {
                link: here.now.side.links[link].name.clone(),
                meant_for: here.now.side.hand,
            };
            first(&mut causes, cause);
        }
    }
    if Hand::BOTH.into_iter().all(|hand| trials[hand].fits_as(trials[hand.other()].seen).is_some()) {
        first(&mut causes, Cause::Mistyped { how: Mistyping::Sides });
    }
    causes
}
