//! How good a prediction is, in numbers to print.
//!
//! Bands are 1.96 standard deviations by linear propagation through the same 6x6 matrix, `C = G S G'`. `S` is the side's own
//! covariance of 35 numbers (`car/errors.rs`: `[sigma]`, a point's own `_sigma`, and `[correlation]` where a survey or a fit
//! wrote one), the drops and the preset of each arm. A wrong drop of either side or of the front also tilts the ground under
//! both wheels. An arm's band is what it takes to correct the reading's error with the arms that are fitted.
//! `probability_within_spec` is before any correction. `measure_again` ranks by what a source known exactly would take off;
//! `repeated_` is the band if it were measured once more as well and averaged. `--samples` draws cars from the same errors:
//! points alike on both sides, each wheel its reading.

use nalgebra::{Matrix2, Vector2};
use serde::Serialize;

use super::reading::Reading;
use crate::car::{Measurand, PerSide, Setup, Side, Sigmas, Spec, Stance};
use crate::geometry::{Angles, Figure, Position};
use crate::measure::{SIGMAS_OF_95, Source, Spread, spread};
use crate::plan::Asked;
use crate::plan::wheel::Effect;

/// Sources with less than this part of a spread are not worth naming.
const WORTH_NAMING: f64 = 0.05;
const MOST_NAMED: usize = 4;

/// Half-widths that hold 95 of 100 errors, from the standard deviations of what was measured.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Band {
    /// Camber may be off by this much, degrees.
    pub camber_deg: f64,
    /// Toe of this wheel may be off by this much, degrees.
    pub toe_deg: f64,
    /// What makes the band wide, the worst first: measure that again.
    pub measure_again: Vec<Doubt>,
    /// How many times as wide it is as the points' errors would make it by themselves, because camber or toe bends with errors as
    /// large as these: found by solving wheels drawn from them. None where it does not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bent_times: Option<f64>,
}

/// One thing that was measured, and what it adds to a band.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Doubt {
    /// What was measured.
    pub what: String,
    /// Its part in the variance of camber or of toe, whichever is larger, 0 to 1.
    pub share: f64,
    /// The figure in which it has that part.
    pub figure: Figure,
    /// The band of camber if it were measured once more as well and the two averaged, degrees.
    pub repeated_camber_deg: f64,
    /// The band of toe then, degrees.
    pub repeated_toe_deg: f64,
}

/// Half-widths that hold 95 of 100 errors of what an arm will have to be set to in the end.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ArmBand {
    /// Its length, mm.
    pub length_mm: f64,
    /// Its turns.
    pub turns: f64,
    /// The same up to whole steps that can be locked, turns.
    pub stepped_turns: f64,
}

impl ArmBand {
    /// The bands of the arms that set camber and toe: how far each may have to be turned from where it is set, for an error of the
    /// reading with this covariance, rad2.
    ///
    /// With `S` what a mm of each does to camber and toe, the corrections are `S^-1` times the error of the reading. An arm
    /// alone corrects its own figure.
    pub(crate) fn of(covariance: &Matrix2<f64>, arms: &[Corrector]) -> Vec<Self> {
        let figures = |effect: &Effect| Vector2::new(effect.camber_deg, effect.toe_deg).map(f64::to_radians);
        let per_mm: Vec<Vector2<f64>> = arms.iter().map(|arm| figures(&arm.per_turn) / arm.lead_mm).collect();
        let both = match arms {
            [a, b] if a.figure != Figure::Pitch && b.figure != Figure::Pitch => {
                Matrix2::from_columns(&[per_mm[0], per_mm[1]]).try_inverse()
            }
            _ => None,
        };
        let sigma = |i: usize, figure: Figure| match both {
            Some(inverse) => (inverse * covariance * inverse.transpose())[(i, i)].max(0.0).sqrt(),
            None => match figure {
                Figure::Camber => covariance[(0, 0)].max(0.0).sqrt() / per_mm[i].x.abs(),
                Figure::Toe => covariance[(1, 1)].max(0.0).sqrt() / per_mm[i].y.abs(),
                // Nobody reads pitch on a rack, so nobody corrects it.
                Figure::Pitch => 0.0,
            },
        };
        (arms.iter().enumerate())
            .map(|(i, arm)| {
                let length_mm = sigma(i, arm.figure) * SIGMAS_OF_95;
                let turns = length_mm / arm.lead_mm;
                Self { length_mm, turns, stepped_turns: (turns / arm.step_turns).ceil() * arm.step_turns }
            })
            .collect()
    }
}

/// An arm that corrects a figure after a reading.
pub(crate) struct Corrector {
    pub(crate) figure: Figure,
    /// What a turn longer does.
    pub(crate) per_turn: Effect,
    pub(crate) lead_mm: f64,
    pub(crate) step_turns: f64,
}

impl Band {
    /// How many times as wide as by straight lines the wider of two bands is, where one of them is.
    pub(crate) fn bent(bands: PerSide<&Self>) -> Option<f64> {
        bands.iter().filter_map(|band| band.bent_times).max_by(f64::total_cmp)
    }

    /// The band of a covariance of camber and toe, rad2, with nothing to measure again.
    pub(crate) fn plain(covariance: &Matrix2<f64>) -> Self {
        let Angles { camber: camber_deg, toe: toe_deg } = half_widths(covariance);
        Self { camber_deg, toe_deg, measure_again: Vec::new(), bent_times: None }
    }
}

/// A spread with what is needed to print it.
pub(crate) struct Bands<'a> {
    side: &'a Side,
    spread: Spread,
}

impl<'a> Bands<'a> {
    /// The bands of a side in a position; `matched` are the links whose arms are matched to their stock lengths.
    pub(crate) fn new(
        side: &'a Side,
        stance: &Stance,
        setup: &Setup,
        position: &Position,
        matched: &[usize],
        sigmas: &Sigmas,
    ) -> Self {
        Self { side, spread: spread(side, stance, setup, position, matched, sigmas) }
    }

    pub(crate) fn band(&self, asked: Asked<'_>) -> Band {
        let Angles { camber, toe } = half_widths(&self.spread.covariance);
        let measure_again = if asked.wants("measure_again") { self.doubts() } else { Vec::new() };
        let bent = self.spread.bent;
        let bent_times = Some(bent.camber.max(bent.toe)).filter(|times| *times > 1.0);
        Band { camber_deg: camber, toe_deg: toe, measure_again, bent_times }
    }

    /// The probability that a predicted reading is within spec before anything is corrected.
    pub(crate) fn within_spec(&self, reading: Reading, spec: &Spec) -> f64 {
        let off = Angles {
            camber: reading.camber_deg.to_radians() - spec.camber,
            toe: reading.toe_deg.to_radians() - spec.toe,
        };
        self.spread.probability_within(off, Angles { camber: spec.camber_tolerance, toe: spec.toe_tolerance })
    }

    /// The bands of the arms that set camber and toe.
    pub(crate) fn arms(&self, arms: &[Corrector]) -> Vec<ArmBand> {
        ArmBand::of(&self.spread.covariance, arms)
    }

    fn doubts(&self) -> Vec<Doubt> {
        let Angles { camber, toe } = self.spread.sigmas().map(|sigma| sigma * sigma);
        let mut doubts: Vec<Doubt> = (self.spread.sources())
            .map(|source| {
                let share = self.spread.share(source);
                let [of_camber, of_toe] = [share.x / camber, share.y / toe];
                let (share, figure) =
                    if of_camber >= of_toe { (of_camber, Figure::Camber) } else { (of_toe, Figure::Toe) };
                let Angles { camber: repeated_camber_deg, toe: repeated_toe_deg } =
                    half_widths(&self.spread.repeated(source));
                Doubt { what: self.name(source), share, figure, repeated_camber_deg, repeated_toe_deg }
            })
            .filter(|doubt| doubt.share >= WORTH_NAMING)
            .collect();
        doubts.sort_by(|a, b| b.share.total_cmp(&a.share));
        doubts.truncate(MOST_NAMED);
        doubts
    }

    fn name(&self, source: Source) -> String {
        let link = |i: usize| &self.side.links[i].name;
        let of = |i: usize, at_knuckle| self.side.links[i].hold.of_pivot(link(i), at_knuckle);
        match source {
            Source::Measured(Measurand::Subframe(i)) => format!("subframe pivot of {}", of(i, false)),
            Source::Measured(Measurand::Knuckle(i)) => format!("knuckle pivot of {}", of(i, true)),
            Source::Measured(Measurand::Centre) => "wheel centre".to_owned(),
            Source::Measured(Measurand::Camber) => "camber as read".to_owned(),
            Source::Measured(Measurand::Toe) => "toe as read".to_owned(),
            Source::Drop => "the drops as set".to_owned(),
            Source::Preset(i) => format!("stock length of {}", link(i)),
        }
    }
}

/// Half-widths that hold 95 of 100 errors of camber and toe, degrees.
fn half_widths(covariance: &Matrix2<f64>) -> Angles {
    Angles::from([0, 1]).map(|i| (covariance[(i, i)].max(0.0).sqrt() * SIGMAS_OF_95).to_degrees())
}
