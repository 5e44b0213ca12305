//! What a question rests on, each thing changed by itself: by what it is known to, or by a little.

use nalgebra::DVector;
use schemars::JsonSchema;
use serde::Serialize;

use super::{Given, Unit};
use crate::car::{ArmLength, Car, Hand, Measurand};
use crate::measure::{BothSides, Measured, Whose, point_of};
use crate::profile;

/// Something that was measured, and what an error in it does to a figure.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub(crate) struct MovedInput {
    /// What was measured; without a side: of both, which are mirror images.
    pub what: String,
    /// How well it is known: its standard deviation, in mm or degrees.
    pub known_to: f64,
    /// The unit of that: a length or an angle.
    pub unit: Unit,
    /// What the figure changes by if it is so much more; `None` where there is no figure then.
    pub more: Option<f64>,
    /// What the figure changes by if it is so much less.
    pub less: Option<f64>,
}

/// Something else that stands in the profile, and what a little more of it does to a figure.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub(crate) struct Setting {
    /// Its key, as `rodset set` takes it.
    pub key: String,
    /// What stands there.
    pub is: f64,
    /// How much more was tried.
    pub step: SettingStep,
    /// What the figure changes by; `None` where there is no figure then.
    pub change: Option<f64>,
}

/// How much more of something was tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub(crate) enum SettingStep {
    /// A hundredth of itself.
    Percent,
    /// A millimetre, for a coordinate.
    Millimetre,
}

/// The place of something that was measured.
#[derive(Debug, Clone, Copy)]
enum InputPlace {
    /// Among the numbers of both sides.
    Number(usize),
    /// What the stock arm of a link measures, by the side whose arm it is and the link.
    Length(Hand, usize),
    /// The drop of a rear side.
    Drop(Hand),
    /// The drop of the front.
    Front,
    /// Camber (0) or toe (1) of a wheel in a round of readings.
    Reading(usize, Hand, usize),
    /// The total toe of a round of readings.
    TotalToe(usize),
}

/// Something that was measured.
#[derive(Debug, Clone)]
struct Input {
    place: InputPlace,
    what: String,
    /// Its standard deviation, mm or rad.
    sigma: f64,
}

/// Everything that was measured.
#[derive(Debug)]
pub(super) struct Inputs {
    all: Vec<Input>,
    errors: BothSides,
}

impl Inputs {
    /// What they are, with nothing moved yet.
    pub(super) fn told(&self) -> Vec<MovedInput> {
        self.all.iter().map(Input::told).collect()
    }

    /// The same question if some of them had each been measured so many of its standard deviations more.
    pub(super) fn moved(&self, given: &Given, by: &[(usize, f64)]) -> Given {
        let mut moved = given.clone();
        let mut numbers = DVector::zeros(BothSides::NUMBERS);
        for &(place, sigmas) in by {
            let Input { place, sigma, .. } = &self.all[place];
            match *place {
                InputPlace::Number(number) => numbers[number] = sigmas * sigma,
                place => place.add(&mut moved, sigmas * sigma),
            }
        }
        if numbers.iter().any(|by| *by != 0.0) {
            moved.car = BothSides::moved(&moved.car, &numbers);
        }
        moved
    }

    pub(super) fn of(given: &Given) -> Self {
        let errors = BothSides::of(&given.car);
        let mut all: Vec<Input> = (0..BothSides::NUMBERS)
            .map(|number| Input {
                place: InputPlace::Number(number),
                what: number_name(given, number),
                sigma: errors.covariance[(number, number)].max(0.0).sqrt(),
            })
            .collect();
        for side in &given.car.sides {
            for (i, link) in side.links.iter().enumerate() {
                let Some(measured) = link.measured.filter(|measured| measured.hand == side.hand) else {
                    continue;
                };
                let what = format!("{} arm as it measures, {}", link.name, side.hand);
                all.push(Input { place: InputPlace::Length(side.hand, i), what, sigma: measured.sigma });
            }
        }
        let drop = given.car.sigmas.drop;
        // The heights of readings belong to the record; see there.
        if given.rounds.is_empty() {
            for hand in Hand::BOTH {
                let what = format!("drop as it is set, {hand}");
                all.push(Input { place: InputPlace::Drop(hand), what, sigma: drop });
            }
            if given.front.is_some() {
                let what = "front drop as it is set".to_owned();
                all.push(Input { place: InputPlace::Front, what, sigma: drop });
            }
        }
        for (number, round) in given.rounds.iter().enumerate() {
            for hand in Hand::BOTH {
                let wheel = &round.wheels[hand];
                for (figure, name, read) in [(0, "camber", wheel.camber), (1, "toe", wheel.toe)] {
                    let what = format!("reading {}: {name}, {hand}", number + 1);
                    let place = InputPlace::Reading(number, hand, figure);
                    all.extend(read.map(|read| Input { place, what, sigma: read.sigma }));
                }
            }
            let what = format!("reading {}: total toe", number + 1);
            let place = InputPlace::TotalToe(number);
            all.extend(round.total_toe.map(|read| Input { place, what, sigma: read.sigma }));
        }
        all.retain(|input| input.sigma > 0.0);
        Self { all, errors }
    }

    /// The standard deviation of a figure that changes so with what was measured: half of what a standard deviation more and
    /// one less differ by is the slope, and errors go together as the car's own do. 0 where nothing moves it, or where it is
    /// lost somewhere.
    pub(super) fn sigma(&self, moved: &[MovedInput]) -> f64 {
        let mut numbers = DVector::zeros(BothSides::NUMBERS);
        let mut alone = 0.0;
        for (input, moved) in self.all.iter().zip(moved) {
            let Some(half) = moved.half() else { return 0.0 };
            match input.place {
                InputPlace::Number(number) => numbers[number] = half / input.sigma,
                _ => alone += half * half,
            }
        }
        (numbers.dot(&(&self.errors.covariance * &numbers)).max(0.0) + alone).sqrt()
    }
}

impl InputPlace {
    /// Adds to what is no number of the car, mm or rad.
    fn add(self, given: &mut Given, by: f64) {
        let add = |read: &mut Option<Measured>| {
            if let Some(read) = read {
                read.value += by;
            }
        };
        match self {
            Self::Number(_) => {}
            Self::Length(hand, link) => {
                for side in &mut given.car.sides {
                    let link = &mut side.links[link];
                    if let Some(measured) = link.measured.filter(|measured| measured.hand == hand) {
                        link.measure(ArmLength { length: measured.length + by, ..measured });
                    }
                }
            }
            Self::Drop(hand) => given.drops[hand] += by,
            Self::Front => given.front = given.front.map(|front| front + by),
            Self::Reading(round, hand, 0) => add(&mut given.rounds[round].wheels[hand].camber),
            Self::Reading(round, hand, _) => add(&mut given.rounds[round].wheels[hand].toe),
            Self::TotalToe(round) => add(&mut given.rounds[round].total_toe),
        }
    }
}

impl Input {
    /// What it is, with nothing moved yet.
    fn told(&self) -> MovedInput {
        let angle = match self.place {
            InputPlace::Number(number) => BothSides::measurand(number).1.is_none(),
            InputPlace::Length(..) | InputPlace::Drop(_) | InputPlace::Front => false,
            InputPlace::Reading(..) | InputPlace::TotalToe(_) => true,
        };
        MovedInput::new(self.what.clone(), self.sigma, angle)
    }
}

impl MovedInput {
    /// Something that was measured with a standard deviation, mm or rad.
    pub(super) fn new(what: String, sigma: f64, is_angle: bool) -> Self {
        let (known_to, unit) =
            if is_angle { (sigma.to_degrees(), Unit::Angle) } else { (sigma, Unit::Length) };
        Self { what, known_to, unit, more: None, less: None }
    }

    /// Half of what a standard deviation more and one less differ by.
    pub(super) fn half(&self) -> Option<f64> {
        Some((self.more? - self.less?) / 2.0)
    }
}

/// The standard deviation of a figure where each thing is wrong by itself; 0 where it is lost somewhere.
pub(super) fn alone(moved: &[MovedInput]) -> f64 {
    let squares: Option<f64> = moved.iter().map(|moved| moved.half().map(|half| half * half)).sum();
    squares.map_or(0.0, f64::sqrt)
}

/// What one of the numbers of both sides is called.
fn number_name(given: &Given, number: usize) -> String {
    let (measurand, axis) = BothSides::measurand(number);
    let way = axis.map_or("", |axis| ["further forward", "further out", "higher"][axis]);
    let hand = match BothSides::whose(number) {
        Whose::Both => String::new(),
        Whose::Wheel(hand) => format!(", {hand}"),
        Whose::RightAlone => ", right alone".to_owned(),
    };
    match measurand {
        Measurand::Camber => format!("camber as read{hand}"),
        Measurand::Toe => format!("toe as read{hand}"),
        Measurand::Centre => format!("wheel centre {way}{hand}"),
        _ => format!("{} pivot {way}{hand}", point_of(&given.car.sides.left.links, measurand)),
    }
}

impl Setting {
    /// The same with what the figure changes by; `None` where that is nothing.
    pub(super) fn changing(&self, change: Option<f64>) -> Option<Self> {
        // What does nothing is not worth a line.
        (change != Some(0.0)).then(|| Self { change, ..self.clone() })
    }
}

/// The numbers of a profile that neither count as measured nor as asked.
#[derive(Debug)]
pub(super) struct Settings<'a> {
    profile: &'a str,
    /// The car as it stands there.
    written: Option<Car>,
    numbers: Vec<profile::TextNumber>,
}

impl<'a> Settings<'a> {
    pub(super) fn of(profile: &'a str) -> Self {
        let keys = profile::known_keys(false);
        let is_setting = |number: &profile::TextNumber| {
            let known = keys.iter().find(|known| known.holds(&number.key));
            known.is_some_and(profile::KnownKey::is_setting)
        };
        let numbers = profile::numbers(profile).into_iter().filter(is_setting).collect();
        Self { profile, written: profile::read(profile).map(|checked| checked.car).ok(), numbers }
    }

    /// What they are, with nothing changed yet.
    pub(super) fn told(&self) -> Vec<Setting> {
        let told = |number: &profile::TextNumber| {
            let (key, is) = (number.key.clone(), number.value);
            Setting { key, is, step: step(number).0, change: None }
        };
        self.numbers.iter().map(told).collect()
    }

    /// The same question if some of them were each so many steps more; `None` where that is no sound profile.
    pub(super) fn set(&self, given: &Given, by: &[(usize, f64)]) -> Option<Given> {
        let mut by = by.to_vec();
        // From the end on, so that what stands before keeps its place.
        by.sort_by_key(|(place, _)| std::cmp::Reverse(*place));
        let text = by.into_iter().fold(self.profile.to_owned(), |text, (place, steps)| {
            let number = &self.numbers[place];
            number.changed(&text, number.value + steps * step(number).1)
        });
        let mut car = profile::read(&text).ok()?.car;
        // What was given beside the profile stays given.
        for side in &mut car.sides {
            for (j, link) in side.links.iter_mut().enumerate() {
                let asked = given.car.sides[side.hand].links[j].measured;
                let was = self.written.as_ref().and_then(|car| car.sides[side.hand].links[j].measured);
                if let Some(asked) = asked.filter(|asked| Some(*asked) != was) {
                    link.measure(asked);
                }
            }
        }
        let mut given = Given { car, ..given.clone() };
        for (side, spec) in given.car.sides.iter().zip(given.specs.iter_mut().flatten()) {
            if let Some(own) = side.spec {
                (spec.camber_tolerance, spec.toe_tolerance) = (own.camber_tolerance, own.toe_tolerance);
            }
        }
        Some(given)
    }
}

/// How much more of a number is tried.
fn step(number: &profile::TextNumber) -> (SettingStep, f64) {
    let coordinate = [".x", ".y", ".z"].iter().any(|axis| number.key.ends_with(axis));
    if coordinate && !number.key.starts_with("loads.") {
        (SettingStep::Millimetre, 1.0)
    } else {
        (SettingStep::Percent, number.value / 100.0)
    }
}
