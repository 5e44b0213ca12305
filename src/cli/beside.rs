//! Questions beside a plan, all asked alike: of the car with the planned arms, or with the stock ones where there is no spec to plan for.

use schemars::JsonSchema;
use serde::Serialize;
use std::fmt::Debug;

use super::Failure;
use super::cases::Cases;
use super::command::{Ask, Occasion};
use super::explain::Explain;
use super::of_car::{OfCar, fitting, stance};
use super::options::Format;
use super::plan::PlanQuestion;
use crate::car::{Car, Stance};
use crate::explain::Given;
use crate::plan::{self, Asked, Fitting, Plan};
use crate::report::{Page, Printable};
use crate::strength;

/// Such a question.
pub(super) trait Beside: Debug + Sync {
    /// Its answer.
    type Answer: Serialize + JsonSchema + Sync + 'static;
    /// Options of its own.
    type Options: clap::Args + Debug + Sync;
    /// What the help shows.
    const EXAMPLES: &'static str;
    /// Whether the car as it was measured is meant where no height is asked for.
    const AS_MEASURED: bool;

    fn ask(beside: &OfPlan<'_>, options: &Self::Options) -> Result<Self::Answer, Failure>;
    fn put<T>(page: &mut Page, subject: &OfCar<T>, answer: &Self::Answer);
    fn succeeds(answer: &Self::Answer) -> bool;
}

/// What these questions ask of a plan: how its links are set.
const SETTINGS: Asked<'static> = Asked::only("/sides/0/arms");

/// What such a question is asked of.
pub(super) struct OfPlan<'a> {
    car: &'a Car,
    stance: &'a Stance,
    plan: Option<&'a Plan>,
    fitting: &'a Fitting,
    asked: Asked<'a>,
}

/// No options but those of all such questions.
#[derive(Debug, clap::Args)]
pub(super) struct NoOptions {}

/// The options of such a question.
#[derive(Debug, clap::Args)]
#[command(after_help = Q::EXAMPLES)]
pub(super) struct Args<Q: Beside> {
    #[command(flatten)]
    question: PlanQuestion,
    #[command(flatten)]
    options: Q::Options,
    #[command(flatten)]
    explain: Explain,
}

/// The questions: each by the function that answers it, with how that is called.
macro_rules! questions {
    ($(
        $name:ident($options:ty, as measured: $as_measured:literal): $answer:ty, $ask:expr,
        $examples:literal;
    )*) => {$(
        #[derive(Debug)]
        pub(super) enum $name {}

        impl Beside for $name {
            type Answer = $answer;
            type Options = $options;
            const EXAMPLES: &'static str = concat!("Examples:\n", $examples);
            const AS_MEASURED: bool = $as_measured;

            fn ask(beside: &OfPlan<'_>, options: &$options) -> Result<$answer, Failure> {
                let ask: fn(&OfPlan<'_>, &$options) -> Result<$answer, Failure> = $ask;
                ask(beside, options)
            }

            fn put<T>(page: &mut Page, subject: &OfCar<T>, answer: &$answer) {
                subject.page(answer).put(page);
            }

            fn succeeds(answer: &$answer) -> bool {
                answer.succeeds()
            }
        }
    )*};
}

/// What to read next for a plan.
fn next(of: &OfPlan<'_>) -> Result<plan::Next, Failure> {
    let planned = of.plan.ok_or_else(|| {
        Failure::unsound(
            "without a [spec] there is no plan that a reading could narrow: add it to the profile",
        )
    })?;
    plan::next(of.car, of.stance, planned, of.fitting).ok_or_else(|| {
        Failure::unsound("the wheels cannot be where the plan puts them, so nothing is said of readings")
    })
}

questions! {
    Next(NoOptions, as measured: false): plan::Next,
        |of, _| next(of),
        "  rodset next examples/tansy-wharf.toml --drop 40\n      what to read next, what it is worth, and when it is enough";
    Clearance(NoOptions, as measured: false): plan::Clearance,
        |of, _| Ok(plan::clearance(of.car, of.stance, of.plan, of.fitting, of.asked)?),
        "  rodset clearance examples/tansy-wharf.toml --drop 40\n      the least gaps over the whole travel";
    Joints(NoOptions, as measured: false): plan::JointAngles,
        |of, _| Ok(plan::joint_angles(of.car, of.stance, of.plan, of.fitting, of.asked)?),
        "  rodset joints examples/tansy-wharf.toml --drop 40\n      tilt of rod ends, wind-up of bushes";
    Springs(NoOptions, as measured: false): plan::Springs,
        |of, _| Ok(plan::springs(of.car, of.stance, of.plan, of.fitting, of.asked)?),
        "  rodset springs examples/tansy-wharf.toml --drop 40\n      collar turns, wheel rate, travel left";
    Loads(Cases, as measured: true): strength::Loads,
        |of, cases| Ok(strength::loads(of.car, of.stance, of.plan, of.fitting, &cases.of(of.car)?)?),
        "  rodset loads examples/tansy-wharf.toml --drop 40\n      what each link carries in every load case, and what gives first";
    Bolts(Cases, as measured: true): strength::Bolts,
        |of, cases| Ok(strength::bolts(of.car, of.stance, of.plan, of.fitting, &cases.of(of.car)?)?),
        "  rodset bolts examples/tansy-wharf.toml --drop 40\n      whether each bolted pivot holds its arm";
}

impl<Q: Beside> Ask for Args<Q> {
    type Subject = OfCar<Option<Plan>>;
    type Answer = Q::Answer;

    fn form(&self) -> (Format, Option<&str>) {
        (self.question.input.format(), self.explain.words())
    }

    fn read(&self) -> Result<Self::Subject, Failure> {
        let of = self.question.consider(Q::AS_MEASURED)?;
        let planned = |specs| plan::plan_asked(of.car(), &of.stance, specs, &of.fitting(), SETTINGS);
        let planned = of.specs.as_ref().map(planned).transpose()?;
        Ok(of.with(planned))
    }

    fn ask(
        &self,
        subject: &Self::Subject,
        given: &Given,
        occasion: Occasion<'_, Q::Answer>,
    ) -> Result<Q::Answer, Failure> {
        let (planned, fitted) = (subject.more.as_ref(), subject.fitting());
        let Occasion { first: Some(_), asked } = occasion else {
            let (car, stance) = (subject.car(), &subject.stance);
            let of = OfPlan { car, stance, plan: planned, fitting: &fitted, asked: Asked::ALL };
            return Q::ask(&of, &self.options);
        };
        let stance = stance(given)?;
        let fitting = fitting(&planned.map_or(fitted.clone(), |plan| fitted.turning_as(plan)), given);
        let planned = |specs| plan::plan_asked(&given.car, &stance, specs, &fitting, SETTINGS);
        let planned = given.specs.as_ref().map(planned).transpose()?;
        let (car, stance, plan) = (&given.car, &stance, planned.as_ref());
        Q::ask(&OfPlan { car, stance, plan, fitting: &fitting, asked }, &self.options)
    }

    fn put(&self, page: &mut Page, subject: &Self::Subject, answer: &Q::Answer, _: Option<&str>) {
        Q::put(page, subject, answer);
    }

    fn succeeds(&self, _: &Self::Subject, answer: &Q::Answer) -> bool {
        Q::succeeds(answer)
    }
}
