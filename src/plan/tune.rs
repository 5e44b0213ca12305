//! Tuning the link that sets neither camber nor toe: what its length does to bump steer when camber and toe are held.
//!
//! For every length that is tried the arms or cams of camber and toe are set again, exactly, so that only the way toe goes over
//! the travel is compared. Stock length is the default advice; the answer says what another would buy.

use serde::Serialize;

use super::adjust::{Adjuster, Means, Part, Question};
use super::arms::Fitting;
use super::bump::{BumpSteer, Bumps};
use super::calibration::Calibration;
use super::position::{NoPosition, forward};
use super::reading::{Judged, Reading, Target};
use crate::car::{Car, Hand, Setup, Side, Spec, Stance};
use crate::geometry::{Figure, Ground};

/// No length further from stock than this is looked for, mm.
const FURTHEST: f64 = 20.0;
/// Distance between the lengths among which the best is looked for, mm.
const SCAN: f64 = 1.0;
/// The best length is narrowed down to this, mm.
const NARROW: f64 = 1e-6;

/// What is made as small as it gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Aim {
    /// The toe gradient at ride height: zero where that can be.
    Gradient,
    /// The span of toe over the window of travel.
    Span,
}

/// What is asked of `tune`.
#[derive(Debug, Clone, Copy)]
pub struct TuneQuestion<'a> {
    /// The link that is tuned.
    pub link: &'a str,
    /// Which arms set camber and toe.
    pub fitting: &'a Fitting,
    /// The specs of the left and the right wheel.
    pub specs: &'a [Spec; 2],
    /// What is made least.
    pub aim: Aim,
    /// Travel downward and upward from ride height over which toe is followed, mm.
    pub window: [f64; 2],
    /// How far either side of stock lengths are shown, whole mm.
    pub shown: u32,
}

/// What another length of one link would do, on both sides.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Tuning {
    /// The link.
    pub link: String,
    /// What was made least.
    pub aim: Aim,
    /// Travel downward and upward from ride height over which toe was followed, mm.
    pub window_mm: [f64; 2],
    /// Left, then right.
    pub sides: [TuningSide; 2],
}

/// What another length does for one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct TuningSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// What it should read.
    pub spec: Target,
    /// At stock length.
    pub stock: Trial,
    /// Whether toe keeps its tolerance over the whole window at stock length.
    pub stock_keeps_toe: bool,
    /// At the best length.
    pub best: Trial,
    /// The shortest and the longest length that were looked at, mm.
    pub range_mm: [f64; 2],
    /// Whether that range is that of an arm in the profile.
    pub range_known: bool,
    /// At lengths some whole mm from stock, the shortest first.
    pub trials: Vec<Trial>,
}

/// One length, with camber and toe held.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Trial {
    /// Length of the link, mm.
    pub length_mm: f64,
    /// Longer than stock, mm.
    pub longer_mm: f64,
    /// The same in turns of its arm, where the profile gives one.
    pub turns: Option<f64>,
    /// The knuckle's pitch since the reference, degrees; as `[spec] pitch` it gives this length in `plan`.
    pub pitch_deg: f64,
    /// What the wheel reads at ride height.
    pub result: Judged,
    /// How toe goes over the window.
    pub bump_steer: BumpSteer,
    /// What holds camber and toe.
    pub held_by: Vec<Holder>,
}

/// An arm or a cam that holds camber or toe.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Holder {
    /// Its link.
    pub link: String,
    /// What it holds.
    pub sets: Figure,
    /// Whether it is a stock cam.
    pub is_cam: bool,
    /// Longer than stock, mm; for a cam the shift of the pivot from the middle of its slot.
    pub by_mm: f64,
    /// Whether it goes so far.
    pub in_reach: bool,
}

/// Asks what other lengths of a link would do.
///
/// # Errors
///
/// [`NoPosition`] where a wheel cannot be at the drop with the link at stock length and camber and toe held.
pub fn tune(car: &Car, stance: &Stance, question: &TuneQuestion<'_>) -> Result<Tuning, NoPosition> {
    let [left, right] = Hand::BOTH.map(|hand| tune_side(&car.sides[hand.index()], stance, question));
    Ok(Tuning {
        link: question.link.to_owned(),
        aim: question.aim,
        window_mm: question.window,
        sides: [left?, right?],
    })
}

fn tune_side(side: &Side, stance: &Stance, question: &TuneQuestion<'_>) -> Result<TuningSide, NoPosition> {
    // Every side has the links of the other, by name.
    let link = side.links.iter().position(|link| link.name == question.link).unwrap_or(0);
    let setup = question.fitting.found(side);
    let holders: Vec<Adjuster> = question.fitting.adjusters(side)
        .into_iter()
        .filter(|adjuster| !adjuster.is_for(Figure::Pitch) && adjuster.link != link)
        .collect();
    let drop = stance.drop(side.hand);
    let bench = Bench {
        side,
        ground: stance.ground(side.hand),
        drop,
        spec: &question.specs[side.hand.index()],
        setup,
        holders,
        link,
        window: question.window,
    };
    let stock_length = side.links[link].stock_length();
    let stock = bench.trial(stock_length)?;
    let arm = side.links[link].arm.as_ref().map(|arm| arm.range().ends);
    let near = [stock_length - FURTHEST, stock_length + FURTHEST];
    let range = arm.map_or(near, |[low, high]| [low.max(near[0]), high.min(near[1])]);
    let best = bench.best(question.aim, range, &stock);
    let shown = f64::from(question.shown);
    let trials = std::iter::successors(Some(-shown), |by| Some(by + 1.0))
        .take_while(|by| *by <= shown)
        .map(|by| stock_length + by)
        .filter(|length| (range[0]..=range[1]).contains(length))
        .filter_map(|length| bench.trial(length).ok())
        .collect();
    let steer = &stock.bump_steer;
    let keeps = |toe_deg: f64| bench.spec.miss(Figure::Toe, toe_deg.to_radians()).abs() <= 1.0;
    Ok(TuningSide {
        side: side.hand,
        drop_mm: drop,
        spec: Target::from(bench.spec),
        stock_keeps_toe: keeps(steer.toe_least_deg) && keeps(steer.toe_most_deg),
        stock,
        best,
        range_mm: range,
        range_known: arm.is_some(),
        trials,
    })
}

/// A side on which lengths are tried.
struct Bench<'a> {
    side: &'a Side,
    ground: Ground,
    drop: f64,
    spec: &'a Spec,
    setup: Setup,
    holders: Vec<Adjuster>,
    link: usize,
    window: [f64; 2],
}

impl Bench<'_> {
    /// Tries a length: camber and toe held by their arms or cams as far as these go.
    fn trial(&self, length: f64) -> Result<Trial, NoPosition> {
        let Self { side, ground, drop, spec, link, .. } = self;
        let mut setup = self.setup;
        setup.lengths[*link] = length;
        let question = Question {
            side,
            ground,
            drop: *drop,
            setup: &setup,
            spec,
            adjusters: &self.holders,
            calibration: &Calibration::NONE,
            only: None,
        };
        let held = question.adjust()?;
        let position = forward(side, &held.setup, *drop)?;
        let bumps = Bumps { side, ground, setup: &held.setup };
        let tuned = &side.links[*link];
        let longer = length - tuned.stock_length();
        let holder = |(adjuster, (value, part)): (&Adjuster, (&f64, &Part))| {
            // A cam that stays as it was found holds nothing.
            if adjuster.is_cam() && *part == Part::Home {
                return None;
            }
            let link = &side.links[adjuster.link];
            let (is_cam, by_mm) = match adjuster.means {
                Means::Arm(_) => (false, value - link.stock_length()),
                Means::Cam(_) => (true, *value),
            };
            let sets = part.meets().or(adjuster.sets)?;
            Some(Holder { link: link.name.clone(), sets, is_cam, by_mm, in_reach: part.stop().is_none() })
        };
        Ok(Trial {
            length_mm: length,
            longer_mm: longer,
            turns: tuned.arm.as_ref().map(|arm| longer / arm.lead()),
            pitch_deg: Figure::Pitch.value(&position.pose, &side.wheel, ground).to_degrees(),
            result: Reading::of(side, &position.pose, ground).judged(spec),
            bump_steer: bumps.steer(&position, self.window[0], self.window[1]),
            held_by: self.holders.iter().zip(held.values.iter().zip(&held.parts)).filter_map(holder).collect(),
        })
    }

    /// The best length within a range: of the places where the gradient is zero the one nearest to stock; else, and for the
    /// span, the least of a scan, narrowed down. Lengths that cannot be put together or do not hold the spec do not count.
    fn best(&self, aim: Aim, [low, high]: [f64; 2], stock: &Trial) -> Trial {
        let counts = |trial: &Trial| trial.result.within_spec || !stock.result.within_spec;
        let try_at = |length: f64| self.trial(length).ok().filter(counts);
        let lengths = std::iter::successors(Some(low), |length| Some(length + SCAN))
            .take_while(|length| *length < high);
        let mut scan: Vec<Trial> = lengths.chain([high]).filter_map(try_at).chain([stock.clone()]).collect();
        scan.sort_by(|a, b| a.length_mm.total_cmp(&b.length_mm));
        let gradient = |trial: &Trial| trial.bump_steer.gradient_deg_per_100_mm;
        if aim == Aim::Gradient {
            let zeros = scan.windows(2).filter_map(|pair| {
                let [a, b] = [&pair[0], &pair[1]];
                let near = b.length_mm - a.length_mm <= 1.5 * SCAN;
                (near && gradient(a) * gradient(b) <= 0.0).then(|| self.zero(a.clone(), b.clone()))
            });
            let nearest = zeros.min_by(|a, b| a.longer_mm.abs().total_cmp(&b.longer_mm.abs()));
            if let Some(zero) = nearest {
                return zero;
            }
        }
        let cost = |trial: &Trial| match aim {
            Aim::Gradient => gradient(trial).abs(),
            Aim::Span => trial.bump_steer.toe_span_deg,
        };
        let least = scan.iter().min_by(|a, b| cost(a).total_cmp(&cost(b))).unwrap_or(stock).clone();
        let [from, to] = [(least.length_mm - SCAN).max(low), (least.length_mm + SCAN).min(high)];
        let narrowed =
            golden([from, to], |length| try_at(length).map_or(f64::INFINITY, |trial| cost(&trial)));
        try_at(narrowed).filter(|trial| cost(trial) < cost(&least)).unwrap_or(least)
    }

    /// Where between two lengths the gradient is zero.
    fn zero(&self, mut a: Trial, mut b: Trial) -> Trial {
        let gradient = |trial: &Trial| trial.bump_steer.gradient_deg_per_100_mm;
        while b.length_mm - a.length_mm > NARROW {
            let Ok(middle) = self.trial(f64::midpoint(a.length_mm, b.length_mm)) else { break };
            if gradient(&middle) * gradient(&a) > 0.0 {
                a = middle;
            } else {
                b = middle;
            }
        }
        if gradient(&a).abs() < gradient(&b).abs() { a } else { b }
    }
}

/// Where a function with one valley is least, by golden sections.
fn golden([mut low, mut high]: [f64; 2], value: impl Fn(f64) -> f64) -> f64 {
    // (sqrt(5) - 1) / 2
    const PART: f64 = 0.618_033_988_749_894_9;
    // A valley is flat: its floor is known only to the root of a rounding.
    const FLAT: f64 = 1e-4;
    let (mut a, mut b) = (high - PART * (high - low), low + PART * (high - low));
    let (mut at_a, mut at_b) = (value(a), value(b));
    while high - low > FLAT {
        if at_a < at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - PART * (high - low);
            at_a = value(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + PART * (high - low);
            at_b = value(b);
        }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::golden;
    use approx::assert_relative_eq;

    #[test]
    fn golden_sections_find_the_floor_of_a_valley() {
        assert_relative_eq!(golden([0.0, 3.0], |x| (x - 1.25).powi(2)), 1.25, epsilon = 1e-4);
        assert_relative_eq!(golden([0.0, 3.0], |x| (x - 5.0).abs()), 3.0, epsilon = 1e-4);
    }
}
