//! The adjustable arm: its ends, its threads, and whether it can stand in for the stock one.

use toml::Spanned;

use super::checker::Checker;
use crate::car::{self, Engagement, Hand, Link, Thread, is_ordinary};
use crate::profile::finding::Finding;
use crate::profile::keys::{Arm, Engaged};
use crate::profile::layers::Layers;

impl Checker {
    pub(super) fn arm(&mut self, keys: &Layers<'_, Arm>) -> Option<car::Arm> {
        let [shortest, longest] = [Arm::shortest, Arm::longest].map(|slot| self.read(keys, slot));
        let threads = self.found(keys, Arm::threads).and_then(|(list, _)| self.threads(list));
        let engaged = keys.inner(Arm::engaged).map(|keys| self.engaged(&keys));
        let step = keys.get(Arm::step).map(|_| self.read(keys, Arm::step));
        let (shortest, longest, threads) = (shortest?, longest?, threads?);
        if shortest >= longest {
            self.tell(
                Finding::error(
                    keys.span_of(Arm::longest),
                    "the arm's longest length is not longer than its shortest",
                )
                .label(format!("{longest} mm"))
                .other(keys.span_of(Arm::shortest), format!("{shortest} mm")),
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
        if !is_ordinary("an arm's travel", longest / shortest - 1.0) {
            self.tell(
                Finding::warning(
                    keys.span_of(Arm::longest),
                    "hardly an arm goes from its shortest to such a longest length",
                )
                .label(format!("{longest:.1} mm"))
                .other(keys.span_of(Arm::shortest), format!("{shortest:.1} mm"))
                .help("both are from hole centre to hole centre, in mm"),
            );
        }
        let joints = self.joints_of_arm(keys);
        let thickest = threads.iter().map(|thread| thread.diameter).max_by(f64::total_cmp);
        let arm = car::Arm {
            shortest,
            longest,
            threads,
            step,
            engaged,
            bar: None,
            joints,
            section: keys.inner(Arm::section).and_then(|keys| self.section(&keys)),
            joint_rating: self.read(keys, Arm::joint_rating),
            shank_out: self.read(keys, Arm::shank_out),
            thread_class: keys.get(Arm::thread_class).and_then(|(class, _)| self.class(class, thickest)),
        };
        if let [first, second] = arm.threads.as_slice()
            && first.twist != second.twist
            && first.size != second.size
        {
            self.tell(
                Finding::warning(
                    keys.span_of(Arm::threads),
                    "the two ends of this turnbuckle have different threads",
                )
                .label(format!("{first} and {second}"))
                .help("rare; if it is so, the ends do not come out evenly"),
            );
        }
        if arm.lead() < 1e-6 {
            self.tell(
                Finding::error(keys.span_of(Arm::threads), "turning this arm would not change its length")
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
        let threads: Vec<Option<Thread>> = list.get_ref().iter().map(|text| self.thread(text)).collect();
        threads.into_iter().collect()
    }

    fn engaged(&mut self, keys: &Layers<'_, Engaged>) -> Option<Engagement> {
        let [at, length] = [Engaged::at, Engaged::length].map(|slot| self.read(keys, slot));
        let minimum = match keys.get(Engaged::minimum) {
            Some(_) => Some(self.read(keys, Engaged::minimum)?),
            None => None,
        };
        Some(Engagement { at: at?, length: length?, minimum })
    }

    pub(super) fn arm_fits(&mut self, hand: Hand, link: &Link, arm: &car::Arm, keys: &Layers<'_, Arm>) {
        let stock = link.real_length();
        for (wrong, slot) in [(stock < arm.shortest, Arm::shortest), (stock > arm.longest, Arm::longest)] {
            if wrong {
                let what = slot.key.name;
                self.tell(
                    Finding::error(keys.span_of(slot), format!("the {hand} arm cannot be set to the stock length"))
                        .label(format!("the stock length on the {hand} is {stock:.2} mm"))
                        .help(format!(
                            "check `{what}` and the two pivots, and that all are mm: a new arm is matched to the stock length \
                             before it is tuned"
                        )),
                );
            }
        }
        let Some(engaged) = arm.engaged else { return };
        let span = keys.span_of(Arm::engaged);
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
        let inside = arm.threads.iter().map(|thread| engaged.length / thread.diameter);
        if inside.clone().any(|inside| !is_ordinary("the thread inside", inside)) {
            self.tell(
                Finding::warning(span.clone(), "hardly an arm has that much thread inside, or that little")
                    .label(format!("{:.1} mm in each end", engaged.length))
                    .help("`length` is the thread inside the body at ONE end: is it that of both together?"),
            );
        }
        let off = (engaged.at - stock).abs() / engaged.at;
        if !is_ordinary("the arm off its stock length", off) {
            self.tell(
                Finding::warning(span.clone(), "the thread was measured far from the stock length")
                    .label(format!(
                        "at {:.1} mm; the pivots on the {hand} are {stock:.1} mm apart",
                        engaged.at
                    ))
                    .help("is `at` misread, or one of the two pivots?"),
            );
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
