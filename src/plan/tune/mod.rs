//! Tuning the link that sets neither camber nor toe: what its length does to bump steer when camber and toe are held.
//!
//! For every length that is tried the arms or cams of camber and toe are set again, exactly, so that only the way toe goes over
//! the travel is compared. Stock length is the default advice; the answer says what another would buy.
//!
//! The best is looked for only among lengths that make sense: the arm takes them, the knuckle does not turn far ([`MOST_PITCH`]),
//! camber and toe hold their spec. What stock length itself does not keep is asked of no other length: that may be as far off as
//! stock, no further. So the lengths that make sense, and with them the best, go along with the drop and do not jump where stock
//! length leaves the spec.

mod answer;

pub use answer::{Bound, TuneAim, TuneHolder, TuneQuestion, TunedLength, Tuning, TuningSide};

use crate::car::{Arm, Car, Limit, Setup, Side, Spec, Stance};
use crate::geometry::search::{self, Until, halve, last_to_hold};
use crate::geometry::{Angles, Figure, Ground};
use crate::plan::adjusting::{Adjuster, AdjusterPart, Means, SettingQuestion, stepped, to_steps};
use crate::plan::over_travel::Bumps;
use crate::plan::wheel::{NoPosition, Reading, Target, forward};

/// No length further from stock than this is looked for, mm.
const FURTHEST: f64 = 20.0;
/// Distance between the lengths among which the best is looked for, mm.
const SCAN: f64 = 1.0;
/// A length without a gradient, and one where the lengths that make sense end, is narrowed down to this, mm.
const NARROW: f64 = 1e-6;
/// A valley is flat: its floor is known only to the root of a rounding, mm.
const FLAT: f64 = 1e-4;
/// No advice turns the knuckle further than this from where it was measured, degrees: it winds up every bush on it and leans
/// brake and shaft towards their neighbours. Common practice, no source.
const MOST_PITCH: f64 = 1.5;
/// Toe that is saved over the travel counts from here, degrees: about what a rack repeats. Common practice, no source.
const LEAST_GAIN: f64 = 0.03;
/// A length this close to an end of those that make sense is still one, mm.
const ROUNDING: f64 = 1e-9;

/// Asks what other lengths of a link would do.
///
/// # Errors
///
/// [`NoPosition`] where a wheel cannot be at the drop with the link at stock length and camber and toe held.
pub fn tune(car: &Car, stance: &Stance, question: &TuneQuestion<'_>) -> Result<Tuning, NoPosition> {
    let sides = car.sides.each(|side| tune_side(side, stance, question)).ok()?;
    Ok(Tuning { link: question.link.to_owned(), aim: question.aim, window_mm: question.window, sides })
}

fn tune_side(side: &Side, stance: &Stance, question: &TuneQuestion<'_>) -> Result<TuningSide, NoPosition> {
    // Every side has the links of the other, by name.
    let link = side.links.iter().position(|link| link.name == question.link).unwrap_or(0);
    let setup = question.fitting.found(side);
    let holders: Vec<Adjuster> = question
        .fitting
        .adjusters(side)
        .into_iter()
        .filter(|adjuster| !adjuster.is_for(Figure::Pitch) && adjuster.link != link)
        .collect();
    let drop = stance.drop(side.hand);
    let bench = TuneBench {
        side,
        ground: stance.ground(side.hand),
        drop,
        spec: &question.specs[side.hand],
        setup,
        holders,
        link,
        window: question.window,
    };
    let stock_length = side.links[link].stock_length();
    let stock = bench.trial(stock_length)?;
    let arm = side.links[link].arm.as_ref().map(Arm::range);
    let mut range = [stock_length - FURTHEST, stock_length + FURTHEST];
    let mut ends = [Bound::Looked; 2];
    if let Some(arm) = arm {
        let limits = arm.limits.map(Bound::of);
        if arm.ends[0] > range[0] {
            (range[0], ends[0]) = (arm.ends[0], limits[0]);
        }
        if arm.ends[1] < range[1] {
            (range[1], ends[1]) = (arm.ends[1], limits[1]);
        }
    }
    let measure =
        Measure { pitch_deg: stock.pitch_deg.abs().max(MOST_PITCH), miss: bench.miss(&stock).max(1.0) };
    let asked = question.asked;
    let searched = ["best", "locked", "saves_toe_deg", "sensible_mm"].into_iter().any(|key| asked.wants(key));
    let stretches = if searched { bench.stretches(range, ends, &measure) } else { Vec::new() };
    let best = bench.best(question.aim, &stretches, &stock);
    let locked = if searched { bench.locked(question.aim, &best, &stock) } else { stock.clone() };
    let saves_toe_deg = stock.bump_steer.toe_span_deg - locked.bump_steer.toe_span_deg;
    let shown = f64::from(question.shown);
    let trials = std::iter::successors(Some(-shown), |by| Some(by + 1.0))
        .take_while(|by| *by <= shown)
        .map(|by| stock_length + by)
        .filter(|length| (range[0]..=range[1]).contains(length))
        .enumerate()
        .filter(|(place, _)| asked.wants("trials") && asked.takes("trials", *place))
        .filter_map(|(_, length)| bench.trial(length).ok())
        .collect();
    let steer = &stock.bump_steer;
    let keeps = |toe_deg: f64| bench.spec.miss(Figure::Toe, toe_deg.to_radians()).abs() <= 1.0;
    Ok(TuningSide {
        side: side.hand,
        drop_mm: drop,
        spec: Target::from(bench.spec),
        stock_keeps_toe: keeps(steer.toe_least_deg) && keeps(steer.toe_most_deg),
        stock,
        best: best.trial.clone(),
        best_stopped_by: best.stopped_by,
        locked,
        saves_toe_deg,
        worth_it: saves_toe_deg >= LEAST_GAIN,
        range_mm: range,
        range_known: arm.is_some(),
        sensible_mm: best.among.map(LengthRange::lengths),
        sensible_ends: best.among.map(|stretch| stretch.ends),
        pitch_limit_deg: measure.pitch_deg,
        trials,
    })
}

impl Bound {
    fn of(limit: Limit) -> Self {
        match limit {
            Limit::Shortest => Self::Shortest,
            Limit::Longest => Self::Longest,
            Limit::Thread => Self::Thread,
            Limit::Ok => Self::Looked,
        }
    }
}

/// What a length has to keep.
struct Measure {
    /// The most that the knuckle may turn from where it was measured, degrees.
    pitch_deg: f64,
    /// The most that a figure may be off, in tolerances.
    miss: f64,
}

/// Lengths next to each other that all make sense.
struct LengthRange {
    /// At both ends, and as far apart between them as lengths are scanned; never empty.
    trials: Vec<TunedLength>,
    ends: [Bound; 2],
}

/// The best length.
struct Best<'a> {
    trial: TunedLength,
    /// The lengths that make sense around it.
    among: Option<&'a LengthRange>,
    stopped_by: Option<Bound>,
}

/// A side on which lengths are tried.
struct TuneBench<'a> {
    side: &'a Side,
    ground: Ground,
    drop: f64,
    spec: &'a Spec,
    setup: Setup,
    holders: Vec<Adjuster>,
    link: usize,
    window: [f64; 2],
}

impl TuneBench<'_> {
    /// Tries a length: camber and toe held by their arms or cams as far as these go.
    fn trial(&self, length: f64) -> Result<TunedLength, NoPosition> {
        let Self { side, ground, drop, spec, link, .. } = self;
        let mut setup = self.setup;
        setup.lengths[*link] = length;
        let question = SettingQuestion {
            side,
            ground,
            drop: *drop,
            setup: &setup,
            spec,
            adjusters: &self.holders,
            offset: Angles::default(),
            only: None,
        };
        let held = question.hold()?;
        let position = forward(side, &held.setup, *drop)?;
        let bumps = Bumps { side, ground, setup: &held.setup };
        let tuned = &side.links[*link];
        let longer = length - tuned.stock_length();
        let holder = |(adjuster, (value, part)): (&Adjuster, (&f64, &AdjusterPart))| {
            // A cam that stays as it was found holds nothing.
            if adjuster.is_cam() && *part == AdjusterPart::Home {
                return None;
            }
            let link = &side.links[adjuster.link];
            let (is_cam, by_mm) = match adjuster.means {
                Means::Arm(_) => (false, value - link.stock_length()),
                Means::Cam(_) => (true, *value),
            };
            let sets = part.meets().or(adjuster.sets)?;
            Some(TuneHolder { link: link.name.clone(), sets, is_cam, by_mm, in_reach: part.stop().is_none() })
        };
        Ok(TunedLength {
            length_mm: length,
            longer_mm: longer,
            turns: tuned.arm.as_ref().map(|arm| longer / arm.lead()),
            pitch_deg: Figure::Pitch.value(&position.pose, &side.wheel, ground).to_degrees(),
            result: Reading::of(side, &position.pose, ground).judged(spec),
            bump_steer: bumps.steer(&position, self.window[0], self.window[1]),
            held_by: self
                .holders
                .iter()
                .zip(held.values.iter().zip(&held.parts))
                .filter_map(holder)
                .collect(),
        })
    }

    /// Tries a length that has to make sense.
    fn sensible(&self, length: f64, measure: &Measure) -> Result<TunedLength, Bound> {
        let trial = self.trial(length).map_err(|_| Bound::Position)?;
        if trial.pitch_deg.abs() > measure.pitch_deg {
            Err(Bound::Pitch)
        } else if self.miss(&trial) > measure.miss {
            Err(Bound::Spec)
        } else {
            Ok(trial)
        }
    }

    /// The larger miss of camber and toe at ride height, in tolerances.
    fn miss(&self, trial: &TunedLength) -> f64 {
        let Reading { camber_deg, toe_deg } = trial.result.reading;
        let miss = |figure, value: f64| self.spec.miss(figure, value.to_radians()).abs();
        miss(Figure::Camber, camber_deg).max(miss(Figure::Toe, toe_deg))
    }

    /// The lengths of a range that make sense, their ends narrowed down; those that end within a step of the scan can be missed.
    fn stretches(&self, [low, high]: [f64; 2], ends: [Bound; 2], measure: &Measure) -> Vec<LengthRange> {
        let stock = self.side.links[self.link].stock_length();
        // Counted from stock, so that stock itself is among them.
        let first = ((low - stock) / SCAN).ceil();
        let between = std::iter::successors(Some(first), |by| Some(by + 1.0)).map(|by| stock + by * SCAN);
        let mut lengths: Vec<f64> = between.take_while(|length| *length < high).collect();
        if low <= high {
            lengths.extend([low, high]);
        }
        lengths.sort_by(f64::total_cmp);
        lengths.dedup();
        let mut found: Vec<LengthRange> = Vec::new();
        // The last length that made no sense, where no stretch is open.
        let mut refused: Option<f64> = None;
        let mut open = false;
        for length in lengths {
            match (self.sensible(length, measure), found.last_mut().filter(|_| open)) {
                (Ok(trial), Some(stretch)) => stretch.trials.push(trial),
                (Ok(trial), None) => {
                    let (edge, end) = match refused {
                        Some(outside) => self.edge(trial.clone(), outside, measure),
                        None => (trial.clone(), ends[0]),
                    };
                    let trials = if edge.length_mm < length { vec![edge, trial] } else { vec![trial] };
                    found.push(LengthRange { trials, ends: [end, ends[1]] });
                    open = true;
                }
                (Err(_), Some(stretch)) => {
                    if let Some(last) = stretch.trials.last().cloned() {
                        let inside = last.length_mm;
                        let (edge, end) = self.edge(last, length, measure);
                        stretch.ends[1] = end;
                        if edge.length_mm > inside {
                            stretch.trials.push(edge);
                        }
                    }
                    (open, refused) = (false, Some(length));
                }
                (Err(_), None) => refused = Some(length),
            }
        }
        found
    }

    /// The last length that makes sense on the way to one that does not, and what ends them there.
    fn edge(&self, inside: TunedLength, outside: f64, measure: &Measure) -> (TunedLength, Bound) {
        let mut end = self.sensible(outside, measure).err().unwrap_or(Bound::Looked);
        let (from, mut last) = (inside.length_mm, inside);
        last_to_hold(from, outside, Until::Within(NARROW), |length| match self.sensible(length, measure) {
            Ok(trial) => {
                last = trial;
                true
            }
            Err(bound) => {
                end = bound;
                false
            }
        });
        (last, end)
    }

    /// The best length of those that make sense: of the places where the gradient is zero the one nearest to stock; else, and for
    /// the span, the least of a scan, narrowed down between its neighbours.
    fn best<'b>(&self, aim: TuneAim, stretches: &'b [LengthRange], stock: &TunedLength) -> Best<'b> {
        if aim == TuneAim::Gradient {
            let zeros = stretches.iter().flat_map(|stretch| {
                let crossed = stretch.trials.windows(2).filter_map(|pair| match pair {
                    [a, b] if gradient(a) * gradient(b) <= 0.0 => Some(self.zero(a.clone(), b.clone())),
                    _ => None,
                });
                crossed.map(move |trial| Best { trial, among: Some(stretch), stopped_by: None })
            });
            let longer = |best: &Best<'_>| best.trial.longer_mm.abs();
            if let Some(nearest) = zeros.min_by(|a, b| longer(a).total_cmp(&longer(b))) {
                return nearest;
            }
        }
        let around = stretches.iter().find(|stretch| stretch.holds(stock.length_mm));
        let stay = Best { trial: stock.clone(), among: around, stopped_by: None };
        let least = stretches.iter().map(|stretch| self.least(aim, stretch));
        least.fold(
            stay,
            |best, other| if aim.cost(&other.trial) <= aim.cost(&best.trial) { other } else { best },
        )
    }

    fn least<'b>(&self, aim: TuneAim, stretch: &'b LengthRange) -> Best<'b> {
        let trials = &stretch.trials;
        let cost = |i: &usize| aim.cost(&trials[*i]);
        let i = (0..trials.len()).min_by(|a, b| cost(a).total_cmp(&cost(b))).unwrap_or(0);
        let last = trials.len() - 1;
        let between = [trials[i.saturating_sub(1)].length_mm, trials[(i + 1).min(last)].length_mm];
        let cost_at = |length| self.trial(length).map_or(f64::INFINITY, |trial| aim.cost(&trial));
        // The middle of a valley's floor.
        let ([low, high], _) = search::least(between, FLAT, cost_at);
        let narrowed =
            self.trial(f64::midpoint(low, high)).ok().filter(|trial| aim.cost(trial) < aim.cost(&trials[i]));
        let stopped_by = match i {
            _ if narrowed.is_some() => None,
            0 => Some(stretch.ends[0]),
            _ if i == last => Some(stretch.ends[1]),
            _ => None,
        };
        Best { trial: narrowed.unwrap_or_else(|| trials[i].clone()), among: Some(stretch), stopped_by }
    }

    /// The best length that can be locked, stock among them: the whole steps of the arm on either side of the best length.
    fn locked(&self, aim: TuneAim, best: &Best<'_>, stock: &TunedLength) -> TunedLength {
        let (Some(arm), Some(stretch)) = (&self.side.links[self.link].arm, best.among) else {
            return best.trial.clone();
        };
        let steps = best.trial.longer_mm / (arm.step * arm.lead());
        let lengths =
            [steps.floor(), steps.ceil()].map(|steps| stepped(arm, stock.length_mm, to_steps(steps)));
        let trials =
            lengths.into_iter().filter(|length| stretch.holds(*length)).filter_map(|at| self.trial(at).ok());
        trials
            .fold(stock.clone(), |best, other| if aim.cost(&other) < aim.cost(&best) { other } else { best })
    }

    /// Where between two lengths the gradient is zero.
    fn zero(&self, a: TunedLength, b: TunedLength) -> TunedLength {
        let look = |a: &TunedLength, length: f64| {
            let middle = self.trial(length).ok()?;
            let alike = gradient(&middle) * gradient(a) > 0.0;
            Some((middle, alike))
        };
        let [a, b] = halve([a, b], Until::Within(NARROW), |trial| trial.length_mm, look);
        if gradient(&a).abs() < gradient(&b).abs() { a } else { b }
    }
}

impl TuneAim {
    /// What is made least.
    fn cost(self, trial: &TunedLength) -> f64 {
        match self {
            Self::Gradient => gradient(trial).abs(),
            Self::Span => trial.bump_steer.toe_span_deg,
        }
    }
}

impl LengthRange {
    fn lengths(&self) -> [f64; 2] {
        [self.trials.first(), self.trials.last()].map(|trial| trial.map_or(f64::NAN, |trial| trial.length_mm))
    }

    fn holds(&self, length: f64) -> bool {
        let [low, high] = self.lengths();
        (low - ROUNDING..=high + ROUNDING).contains(&length)
    }
}

fn gradient(trial: &TunedLength) -> f64 {
    trial.bump_steer.gradient_deg_per_100_mm
}
