//! What is set on the bench: every arm to its stock length, then turned.

use super::SheetPage;
use super::arm_drawing::arm_drawing;
use crate::car::{Hand, Limit};
use crate::plan::ArmSetting;
use crate::report::page::{BLANK, BOX, Page};
use crate::report::plan::{direction, turns_words};
use crate::report::sides::Shown;
use crate::report::table::Table;
use crate::report::words::{alike, rotation, thread_words};

impl SheetPage<'_> {
    pub(super) fn preset(&self, page: &mut Page) {
        let (arms, kept) = (self.arms(), self.kept_arms());
        if arms.is_empty() && kept.is_empty() {
            page.heading("A. NO ARM IS FITTED: nothing to set on the bench");
            page.gap();
            return;
        }
        page.heading("A. MATCH EVERY NEW ARM TO ITS STOCK LENGTH");
        page.paragraph("Measure centre to centre on tight-fitting pins, not on bolts: the slack of bolts in their sleeves alone can \
             be worth up to a degree of camber. A bent arm is measured straight, centre to centre. Turnbuckles: screw \
             both ends fully home, then back them out together by turning the body, so that both show the same thread.",
        );
        let units = self.units;
        let mut table = Table::new(&[
            "<",
            "<arm",
            "<side",
            &format!("stock {}", units.length_name()),
            units.other().length_word(),
            "<turns from its shortest",
            &format!("<measured {}", units.length_name()),
        ]);
        let mut single = false;
        let stocks = arms.iter().map(|shown| (shown.hand, shown.item.link.as_str(), shown.item.stock_mm));
        let kept_stocks =
            kept.iter().map(|shown| (shown.hand, shown.item.link.as_str(), shown.item.stock_mm));
        for (hand, link, stock) in stocks.chain(kept_stocks) {
            // The sides may be turned differently and still start from one stock length.
            let other = self.stock(if hand == Hand::Left { Hand::Right } else { Hand::Left }, link);
            let both = other.is_some_and(|other| alike(other, stock));
            if both && hand == Hand::Right {
                continue;
            }
            let Some(arm) = self.fitted(hand, link) else { continue };
            single |= arm.threads.len() == 1;
            let out = (stock - arm.shortest) / arm.lead();
            table.row([
                BOX.to_owned(),
                link.to_owned(),
                if both { "both".to_owned() } else { hand.to_string() },
                units.length(stock),
                units.other().length(stock),
                format!("about {out:.1} from {}", units.length(arm.shortest)),
                BLANK.to_owned(),
            ]);
        }
        page.table(table);
        page.gap();
        if single {
            page.item("-",
                "An arm with one thread stops only where its eye lines up, which need not be at stock length: take the \
                 nearest. In B the length counts, not the turns: turn to the nearest to it.",
            );
            page.gap();
        }
    }

    /// The stock length of a link that carries an arm in this plan.
    fn stock(&self, hand: Hand, link: &str) -> Option<f64> {
        let side = &self.answer.sides[hand.index()];
        let set = side.arms.iter().find(|arm| arm.link == link).map(|arm| arm.stock_mm);
        set.or(side.kept_arms.iter().find(|arm| arm.link == link).map(|arm| arm.stock_mm))
    }

    pub(super) fn turns(&self, page: &mut Page) {
        let (arms, kept) = (self.arms(), self.kept_arms());
        if arms.is_empty() && kept.is_empty() {
            return;
        }
        page.heading("B. THEN TURN IT FOR THE NEW HEIGHT, counted from the stock length");
        for shown in arms {
            page.together(self.turn(&shown));
        }
        for shown in kept {
            let Shown { item: arm, .. } = shown;
            let refused = if arm.limit == Limit::Thread { "; TOO LITTLE THREAD: DO NOT FIT" } else { "" };
            let text = format!(
                "{}, {}: stays at the stock length, {}{refused}. It sets neither camber nor toe.",
                arm.link,
                shown.words(),
                self.units.with_unit(arm.stock_mm)
            );
            page.item(BOX, text);
        }
        page.item(BOX,
            "Eyes of each arm square to each other as they will sit at ride height; lock nuts run up by hand.",
        );
        page.gap();
    }

    fn turn(&self, shown: &Shown<'_, ArmSetting>) -> Page {
        let mut page = Page::default();
        let arm = shown.item;
        let Some(fitted) = self.fitted(shown.hand, &arm.link) else { return page };
        if arm.turns == 0.0 {
            page.item(BOX, format!("{}, {}: leave at the stock length", arm.link, shown.words()));
        } else {
            let way = direction(arm.turns).to_uppercase();
            let by = self.units.with_unit((arm.set_mm - arm.stock_mm).abs());
            let text = format!("{}, {}: {way} {} ({by})", arm.link, shown.words(), turns_words(arm.turns));
            page.item(BOX, text);
            page.detail(rotation(&fitted.threads, fitted.clockwise(), arm.turns > 0.0), "");
        }
        page.picture(arm_drawing(arm, fitted, self.units));
        let length = format!("{} centre to centre", self.units.with_both(arm.set_mm));
        page.detail(length, format!("measured {BLANK}"));
        let thread = thread_words(&arm.thread_left_mm, &arm.thread_least_mm, self.units);
        page.detail(thread, format!("measured {BLANK}"));
        if arm.limit == Limit::Thread {
            let much = if arm.short_of_thread {
                "TOO LITTLE THREAD IN THE BODY"
            } else {
                "NO THREAD FOR THE LENGTH WANTED"
            };
            page.detail(format!("{much}: DO NOT FIT"), "");
        }
        page
    }
}
