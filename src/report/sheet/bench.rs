//! What is set on the bench: every arm matched to its stock arm, then turned. Each side has its own lines, however alike they
//! are: the match is made arm by arm.

use super::SheetPage;
use super::arm_drawing::{DrawnArms, arm_drawings};
use crate::car::{Arm, Hand, Limit};
use crate::plan::{ArmSetting, Bench, KeptArm, Matched};
use crate::report::number::{Units, fixed, turns};
use crate::report::page::{BLANK, BOX, Page};
use crate::report::plan::{direction, turns_words};
use crate::report::sides::Shown;
use crate::report::table::Table;
use crate::report::words::{rotation, thread_words};

impl SheetPage<'_> {
    pub(super) fn preset(&self, page: &mut Page) {
        let (arms, kept) = (self.each_arm(), self.each_kept_arm());
        if arms.is_empty() && kept.is_empty() {
            page.heading("A. NO ARM IS FITTED: nothing to set on the bench");
            page.gap();
            return;
        }
        page.heading("A. MATCH EVERY NEW ARM TO ITS OWN STOCK ARM");
        let kinds = self.drawn();
        let single = kinds.iter().any(|kind| kind.arm.threads.len() == 1);
        page.columns(|page| {
            page.paragraph(
                "Put the old and the new arm on the same two pins, one after the other, and turn the new one until it drops on as the \
                 old one did. That is the match, and the turns in B count from it. Tight-fitting pins, not bolts: the slack of \
                 bolts in their sleeves alone can be worth up to a degree of camber. A bent arm counts straight, centre to centre. \
                 Turnbuckles: screw both ends fully home, then back them out together by turning the body, so that both show the \
                 same thread.",
            );
            page.paragraph(
                "Do not set an arm to the length between the pivots: it is only as good as the points. It is here to find the wrong \
                 arm by.",
            );
            if single {
                page.paragraph(
                    "An arm with one thread stops only where its eye lines up, which need not be at its stock arm's length: take the \
                     nearest. In B its target counts, not the turns: turn to the nearest to it.",
                );
            }
            if kinds.len() == 1 {
                arm_drawings(page, &kinds);
            }
        });
        if kinds.len() > 1 {
            arm_drawings(page, &kinds);
        }
        let units = self.units;
        let name = units.length_name();
        let stocks = arms
            .iter()
            .map(|Shown { hand, item, .. }| (*hand, &item.link, item.stock_mm, item.bench, item.matched));
        let kept = kept
            .iter()
            .map(|Shown { hand, item, .. }| (*hand, &item.link, item.stock_mm, item.bench, item.matched));
        let all: Vec<(Hand, &String, f64, Bench, Matched)> = stocks.chain(kept).collect();
        let taped = all.iter().any(|(.., bench, _)| bench.measured_mm.is_some());
        let (pivots, measures) = (format!("pivots {name}"), format!("<your arm, {name}"));
        let mut head = vec!["<", "<arm", "<side", &pivots, "<turns from its shortest", &measures];
        if taped {
            head.insert(4, "taped");
        }
        let mut table = Table::new(&head);
        for (hand, name, stock, bench, Matched { shortest_mm, out_turns }) in all {
            let mut row = vec![BOX.to_owned(), name.clone(), hand.to_string(), units.length(stock)];
            row.extend(taped.then(|| bench.measured_mm.map_or("-".to_owned(), |taped| units.length(taped))));
            row.push(format!("about {} from {}", fixed(out_turns, 1), units.length(shortest_mm)));
            row.push(BLANK.to_owned());
            table.row(row);
        }
        page.table(table.of_the_bench());
        page.gap();
    }

    pub(super) fn turns(&self, page: &mut Page) {
        let (arms, kept) = (self.each_arm(), self.each_kept_arm());
        if arms.is_empty() && kept.is_empty() {
            return;
        }
        page.heading("B. THEN TURN IT FOR THE NEW HEIGHT: the turns are what counts");
        for shown in arms {
            page.together(|page| self.turn(page, &shown));
        }
        for shown in kept {
            page.together(|page| self.kept(page, &shown));
        }
        page.item(
            BOX,
            format!(
                "Eyes square to each other as at ride height; lock nuts by hand. Done on {BLANK} by {BLANK}"
            ),
        );
        page.gap();
    }

    /// The arms that are drawn: those with threads of the same hand, turned the same way, make one drawing.
    fn drawn(&self) -> Vec<DrawnArms<'_>> {
        let (arms, kept) = (self.each_arm(), self.each_kept_arm());
        let named = arms.iter().map(|shown| (shown.hand, shown.item.link.as_str()));
        let named = named.chain(kept.iter().map(|shown| (shown.hand, shown.item.link.as_str())));
        let mut drawn: Vec<DrawnArms<'_>> = Vec::new();
        for (hand, link) in named {
            let Some(arm) = self.car.sides[hand].arm(link) else { continue };
            let twists = |arm: &Arm| arm.threads.iter().map(|thread| thread.twist).collect::<Vec<_>>();
            let alike = |known: &&mut DrawnArms<'_>| {
                twists(known.arm) == twists(arm) && known.arm.clockwise() == arm.clockwise()
            };
            match drawn.iter_mut().find(alike) {
                Some(known) => known.of.push((link, hand)),
                None => drawn.push(DrawnArms { arm, of: vec![(link, hand)] }),
            }
        }
        drawn
    }

    fn kept(&self, page: &mut Page, shown: &Shown<'_, KeptArm>) {
        let arm = shown.item;
        page.task(format!("{}, {}:", arm.link, shown.side), "0", STAYS);
        page.detail("it sets neither camber nor toe", "");
        target(page, arm.bench, arm.stock_mm, 0.0, self.units);
        if arm.limit == Limit::Thread {
            page.detail("TOO LITTLE THREAD IN THE BODY: DO NOT FIT", "");
        }
    }

    fn turn(&self, page: &mut Page, shown: &Shown<'_, ArmSetting>) {
        let arm = shown.item;
        let Some(fitted) = self.car.sides[shown.hand].arm(&arm.link) else { return };
        let name = format!("{}, {}:", arm.link, shown.side);
        if arm.turns == 0.0 {
            page.task(name, "0", STAYS);
        } else {
            let figure = turns(arm.turns);
            let words = turns_words(arm.turns);
            let unit = words.strip_prefix(&figure).unwrap_or(&words).trim();
            page.task(name, figure, format!("{unit} {}", direction(arm.turns)).to_uppercase());
            page.detail(rotation(&fitted.threads, fitted.clockwise(), arm.turns > 0.0), "");
        }
        target(page, arm.bench, arm.set_mm, arm.longer_mm, self.units);
        let thread = thread_words(&arm.thread, self.units);
        page.detail(thread, format!("measured {BLANK}"));
        if arm.limit == Limit::Thread {
            let much = if arm.thread.short {
                "TOO LITTLE THREAD IN THE BODY"
            } else {
                "NO THREAD FOR THE LENGTH WANTED"
            };
            page.detail(format!("{much}: DO NOT FIT"), "");
        }
    }
}

const STAYS: &str = "TURNS, leave it as matched";

/// The length that the turns should come to, counted from the stock arm itself: to look at, not to set by.
fn target(page: &mut Page, bench: Bench, between: f64, change: f64, units: Units) {
    let by = units.added(change);
    let words = if let Bench { measured_mm: Some(measured), bench_mm: Some(length) } = bench {
        let (other, target) = (units.other(), units.caliper(length));
        let both =
            format!("{target} {} ({} {})", units.length_name(), other.caliper(length), other.length_name());
        if by.is_empty() {
            format!("target {both}")
        } else {
            format!("target {}{by} = {both}", units.caliper(measured))
        }
    } else if by.is_empty() {
        "target your arm".to_owned()
    } else {
        format!("target your arm{by} (pivots about {})", units.with_unit(between))
    };
    page.detail(words, format!("measured {BLANK}"));
}
