//! The adjustable arm: its ends, its threads, and whether it can stand in for the stock one.

use toml::Spanned;

use super::Checker;
use crate::car::{Arm, Engagement, Hand, Joint, Link, Thread};
use crate::profile::finding::Finding;
use crate::profile::layers::Layers;
use crate::profile::schema::{self, Value};

impl Checker {
    pub(super) fn arm(&mut self, keys: &Layers<'_, schema::Arm>) -> Option<Arm> {
        let shortest = self.need(keys, "shortest", |arm| &arm.shortest);
        let shortest = shortest.and_then(|(v, _)| Some((self.positive(v, "the shortest length")?, v.span())));
        let longest = self.need(keys, "longest", |arm| &arm.longest);
        let longest = longest.and_then(|(v, _)| Some((self.positive(v, "the longest length")?, v.span())));
        let threads = self.need(keys, "threads", |arm| &arm.threads).and_then(|(list, _)| self.threads(list));
        let engaged = keys.inner("link.arm.engaged", |arm| &arm.engaged);
        let engaged = engaged.map(|keys| self.engaged(&keys));
        let step = keys.get(|arm| &arm.step).map(|(value, _)| {
            let step = value.get_ref().number().filter(|step| (0.001..=10.0).contains(step));
            if step.is_none() {
                self.tell(
                    Finding::error(value.span(), "the step is the least part of a turn that can be locked")
                        .label("expected a number of turns, such as 0.25"),
                );
            }
            step
        });
        let ((shortest, low), (longest, high), threads) = (shortest?, longest?, threads?);
        if shortest >= longest {
            self.tell(
                Finding::error(high, "the arm's longest length is not longer than its shortest")
                    .label(format!("{longest} mm"))
                    .other(low, format!("{shortest} mm")),
            );
            return None;
        }
        // One turn of a turnbuckle can stop at any flat; a single rod end must line up with its bolt.
        let usual = if threads.len() == 2 { 1.0 / 12.0 } else { 0.5 };
        let step = step.unwrap_or(Some(usual))?;
        let engaged = match engaged {
            Some(engaged) => Some(engaged?),
            None => None,
        };
        let joints =
            self.joints(keys.get(|arm| &arm.joints), keys.get(|arm| &arm.misalignment), Joint::RodEnd);
        let thickest = threads.iter().map(|thread| thread.diameter).max_by(f64::total_cmp);
        let section = keys.inner("link.arm.section", |arm| &arm.section);
        let arm = Arm {
            shortest,
            longest,
            threads,
            step,
            engaged,
            bar: None,
            joints,
            section: section.and_then(|keys| self.section(&keys)),
            joint_rating: self.force(keys.get(|arm| &arm.joint_rating), "a joint's rating"),
            thread_class: keys
                .get(|arm| &arm.thread_class)
                .and_then(|(class, _)| self.class(class, thickest)),
        };
        if let [first, second] = arm.threads.as_slice()
            && first.twist != second.twist
            && first.size != second.size
            && let Some((list, _)) = keys.get(|arm| &arm.threads)
        {
            self.tell(
                Finding::warning(list.span(), "the two ends of this turnbuckle have different threads")
                    .label(format!("{first} and {second}"))
                    .help("rare; if it is so, the ends do not come out evenly"),
            );
        }
        if arm.lead() < 1e-6 {
            let span = keys.get(|arm| &arm.threads).map_or(0..0, |(list, _)| list.span());
            self.tell(
                Finding::error(span, "turning this arm would not change its length")
                    .label("two like threads of the same hand")
                    .help("a turnbuckle has one RH and one LH end"),
            );
            return None;
        }
        Some(arm)
    }

    fn threads(&mut self, list: &Spanned<Vec<Spanned<String>>>) -> Option<Vec<Thread>> {
        if !(1..=2).contains(&list.get_ref().len()) {
            self.tell(
                Finding::error(list.span(), "an arm has one or two threads")
                    .label(format!("{} here", list.get_ref().len()))
                    .help("list them from the subframe end to the knuckle end: [\"M16x1.5 RH\", \"M16x1.5 LH\"]"),
            );
            return None;
        }
        let threads: Vec<Option<Thread>> = (list.get_ref().iter())
            .map(|text| match text.get_ref().parse() {
                Ok(thread) => Some(thread),
                Err(error) => {
                    self.tell(
                        Finding::error(text.span(), format!("\"{}\" is {error}", text.get_ref()))
                            .label("this thread"),
                    );
                    None
                }
            })
            .collect();
        threads.into_iter().collect()
    }

    fn engaged(&mut self, keys: &Layers<'_, schema::Engaged>) -> Option<Engagement> {
        let at = self.need(keys, "at", |engaged| &engaged.at);
        let at = at.and_then(|(v, _)| self.positive(v, "the length at which thread was measured"));
        let length = self.need(keys, "length", |engaged| &engaged.length);
        let length = length.and_then(|(v, _)| self.positive(v, "the thread in the body"));
        let minimum = keys.get(|engaged| &engaged.minimum);
        let minimum = minimum.map(|(v, _)| self.positive(v, "the least thread"));
        let minimum = match minimum {
            Some(minimum) => Some(minimum?),
            None => None,
        };
        Some(Engagement { at: at?, length: length?, minimum })
    }

    pub(super) fn arm_fits(&mut self, hand: Hand, link: &Link, arm: &Arm, keys: &Layers<'_, schema::Arm>) {
        let stock = link.real_length();
        let key = |pick: fn(&schema::Arm) -> &Value| keys.get(pick).map_or(0..0, |(v, _)| v.span());
        for (wrong, span, what) in [
            (stock < arm.shortest, key(|arm| &arm.shortest), "shortest"),
            (stock > arm.longest, key(|arm| &arm.longest), "longest"),
        ] {
            if wrong {
                self.tell(
                    Finding::error(span, format!("the {hand} arm cannot be set to the stock length"))
                        .label(format!("the stock length on the {hand} is {stock:.2} mm"))
                        .help(format!(
                            "check `{what}` and the two pivots, and that all are mm: a new arm is matched to the stock length \
                             before it is tuned"
                        )),
                );
            }
        }
        let Some(engaged) = arm.engaged else { return };
        let span = keys.get(|arm| &arm.engaged).map_or(0..0, |(v, _)| v.span());
        let [low, high] = arm.range().ends;
        if low > high {
            self.tell(
                Finding::error(span, "at no length has this arm enough thread in both ends")
                    .label("too little thread for the least in each end")
                    .help("measure again; with `minimum` the least can be given as the arm's maker has it"),
            );
            return;
        }
        #[expect(clippy::cast_precision_loss, reason = "one or two threads")]
        let all = engaged.length * arm.threads.len() as f64;
        if all > engaged.at {
            self.tell(
                Finding::error(span, "more thread is in the body than the arm is long")
                    .label(format!("{all:.1} mm of thread in an arm of {:.1} mm", engaged.at))
                    .help("`length` is the thread inside the body at each end"),
            );
            return;
        }
        if let Some(minimum) = engaged.minimum
            && (0..arm.threads.len()).any(|end| minimum < arm.threads[end].diameter)
        {
            self.tell(
                Finding::warning(span.clone(), "the least thread is less than one nominal diameter")
                    .label(format!("{minimum} mm"))
                    .help("that is the arm maker's word to give, not a guess"),
            );
        }
        if !(arm.shortest..=arm.longest).contains(&engaged.at) {
            self.tell(
                Finding::warning(span, "the thread was measured at a length the arm does not have").label(
                    format!("{} mm, the arm goes from {} to {}", engaged.at, arm.shortest, arm.longest),
                ),
            );
        } else if !arm.holds_at(stock) {
            self.tell(
                Finding::warning(span, "too little thread is in the body even at the stock length")
                    .label(format!("at {stock:.1} mm"))
                    .help("the least is one nominal diameter per end unless `minimum` or the arm's maker says otherwise"),
            );
        }
    }
}
