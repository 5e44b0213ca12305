//! The page of `check`.

use super::hint::Hint;
use super::number::{ToeUnit, Units, is_nothing, signed};
use super::page::{Page, Printable};
use super::sides::{Shown, apart, by_side};
use super::table::Table;
use super::words::{alike, loading};
use crate::car::{Car, Hand, Hold, Limit, Link, PerSide};
use crate::geometry::Figure;
use crate::plan::{Description, Effect, LinkDescription, MemberDescription, MemberKind};

/// What a sound profile describes, for people.
#[derive(Debug)]
pub struct CheckPage<'a> {
    /// The car.
    pub car: &'a Car,
    /// The answer.
    pub answer: &'a Description,
    /// How many warnings its profile has drawn.
    pub warnings: usize,
    /// The units shown.
    pub units: Units,
}

impl Printable for CheckPage<'_> {
    fn put(&self, page: &mut Page) {
        let Description { name, links, .. } = self.answer;
        match self.warnings {
            0 => page.verdict(format!("{name}: the profile is sound.")),
            1 => page.verdict(format!("{name}: the profile can be used, with one warning (above).")),
            count => page.verdict(format!("{name}: the profile can be used, with {count} warnings (above).")),
        }
        page.paragraph(loading(self.car));
        page.gap();
        page.heading("THE LINKS: hold a tape to them, centre to centre");
        let small = self.units.small();
        let length = format!("length {}", self.units.length_name());
        let longer = format!("{} longer: camber", small.name);
        let toe = match self.units.toe {
            ToeUnit::Degrees => "toe".to_owned(),
            unit => format!("toe {}", unit.name()),
        };
        let mut table = Table::new(&["<link", "<side", "<sets", &length, &longer, &toe, "pitch deg"]);
        for shown in by_side(self.links(), |link| &link.name, |a, b| self.look_alike(a, b)) {
            let link = shown.item;
            let sets = link.sets.map_or("-".to_owned(), |figure| figure.to_string());
            let length = link.length_mm.map_or_else(|| "-".to_owned(), |length| self.units.length(length));
            let head = [link.name.clone(), shown.side.to_owned(), sets, length];
            table.row(head.into_iter().chain(effect(shown.hand, link, self.units)));
        }
        page.table(table);
        page.gap();
        page.paragraph("camber: plus leans out at the top; toe: plus is toe-in; pitch: plus turns the top of the knuckle forward, \
             which changes how toe moves over bumps.");
        self.members(page);
        self.taped(page);
        self.taken_over(page);
        if self.car.sides.iter().all(|side| side.spec.is_none()) {
            let text = "There is no [spec] yet: the figures of the maker's manual for rear camber and toe. `lower` and `travel` do without, \
                        `plan` and `cams` need it.";
            page.gap();
            page.paragraph(text);
        }
        let unset: Vec<&str> = [(Figure::Camber, "camber"), (Figure::Toe, "toe")]
            .into_iter()
            .filter(|(figure, _)| links.iter().all(|link| link.sets != Some(*figure)))
            .map(|(_, name)| name)
            .collect();
        if !unset.is_empty() {
            page.item("-", format!("nothing sets {}: no link says so with `sets`", unset.join(" or ")));
        }
        page.rest(|page| {
            self.adjusters(page);
            self.cams(page);
        });
    }
}

impl CheckPage<'_> {
    fn links(&self) -> PerSide<&[LinkDescription]> {
        PerSide { left: &self.answer.links, right: &self.answer.right_links }
    }

    /// What is no rod from the subframe, and how it holds the wheel.
    fn members(&self, page: &mut Page) {
        for MemberDescription { name, kind, on } in &self.answer.members {
            // Many a one is called what it is.
            let is_a = |noun: &str| {
                if name == noun { format!("{name}:") } else { format!("{name} is a {noun}:") }
            };
            let text = match (kind, on) {
                (MemberKind::Wishbone, _) => format!(
                    "{} one joint on the wheel carrier, and two rods' worth, {name} front and {name} rear, each to its own bolt. It has no thread: what can be set of it are its cams.",
                    is_a("wishbone")
                ),
                (MemberKind::UprightLink, Some(on)) => {
                    format!(
                        "{name} stands on {on}, not on the subframe: it keeps the wheel carrier from turning over on {on}'s joint."
                    )
                }
                (MemberKind::UprightLink, None) => {
                    format!("{name} stands on another arm, not on the subframe.")
                }
                (MemberKind::Blade, _) => format!(
                    "{} a trailing arm to which the wheel carrier is bolted; its front bush holds the wheel fore and aft and in height, and gives way sideways. It has neither length nor thread.",
                    is_a("blade")
                ),
                (MemberKind::Strut, _) => format!(
                    "{} the wheel carrier is bolted to it; its line runs through its top mount, which holds the wheel across and along the car. A figure above is of its cam: where that is a plain slot, how far it is moved counts, not the angle.",
                    is_a("strut")
                ),
            };
            page.item("-", text);
        }
    }

    /// What the stock arms measure, beside their pivots.
    fn taped(&self, page: &mut Page) {
        for shown in by_side(self.links(), |link| &link.name, |a, b| self.look_alike(a, b)) {
            let LinkDescription { name, measured_mm, measured_longer_mm, .. } = shown.item;
            let Some((measured, longer)) = measured_mm.zip(*measured_longer_mm) else { continue };
            let text = format!(
                "{name}, {}: the stock arm was taped at {}, {} against its pivots",
                shown.words(),
                self.units.with_unit(measured),
                self.units.length_signed(longer)
            );
            page.item("-", text);
        }
    }

    fn adjusters(&self, page: &mut Page) {
        let unit = self.units.length_name();
        let adjustable = |link: &LinkDescription| link.arm.is_some() || link.cam.is_some();
        if self.links().into_iter().flatten().any(adjustable) {
            page.gap();
            page.heading("WHAT CAN BE ADJUSTED");
        }
        let throw = |link: &LinkDescription| link.cam.map(|cam| cam.eccentricity_mm);
        let same = |a: &LinkDescription, b: &LinkDescription| a.arm == b.arm && throw(a) == throw(b);
        for shown in by_side(self.links(), |link| &link.name, same) {
            let LinkDescription { name, arm, cam, .. } = shown.item;
            if let Some(arm) = arm {
                let thread = |limit| if limit == Limit::Thread { " (end of its thread)" } else { "" };
                let text = format!(
                    "{name}, {}: an arm of {} {unit} per turn; from stock {} shorter{} to {} longer{}",
                    shown.words(),
                    self.units.length_to(arm.lead_mm, 2),
                    self.units.with_unit(arm.shorter_mm),
                    thread(arm.shorter_limit),
                    self.units.with_unit(arm.longer_mm),
                    thread(arm.longer_limit),
                );
                page.item("-", text);
            }
            if let Some(cam) = cam {
                let text = format!(
                    "{name}, {}: a cam of {} either way",
                    shown.words(),
                    self.units.with_unit(cam.eccentricity_mm),
                );
                page.item("-", text);
            }
        }
    }

    /// Each cam of each side as it was found: nobody's left and right ones stand alike by themselves.
    fn cams(&self, page: &mut Page) {
        if self.links().into_iter().flatten().all(|link| link.cam.is_none()) {
            return;
        }
        page.gap();
        page.heading("THE CAMS AS FOUND, from the middle of their slots");
        let pivot = format!("pivot {}", self.units.length_name());
        let mut table = Table::new(&["<cam", "<side", "angle deg", "marks", &pivot, "<", "<"]);
        for Shown { side, hand, item: link } in apart(self.links(), |link| &link.name) {
            let Some(cam) = link.cam else { continue };
            let copied = hand == Hand::Right && is_taken_over(&self.answer.taken_over, &link.name);
            let way = match cam.found_outboard {
                _ if is_nothing(cam.found_mm) => "middle",
                Some(true) => "outboard",
                Some(false) => "inboard",
                None => "",
            };
            table.row([
                link.name.clone(),
                side.to_owned(),
                signed(cam.found_deg, 1),
                cam.found_marks.map_or("-".to_owned(), |marks| signed(marks, 1)),
                self.units.length_signed(cam.found_mm),
                way.to_owned(),
                if copied { "as left" } else { "" }.to_owned(),
            ]);
        }
        page.table(table);
        page.paragraph(
            "angle, marks, pivot: plus the way the profile's `along` points, on the right its mirror image.",
        );
    }

    /// What nobody said of the right side.
    fn taken_over(&self, page: &mut Page) {
        let Description { links, taken_over, .. } = self.answer;
        let Some(last) = taken_over.last() else { return };
        let plain = taken_over.iter().filter(|key| !key.starts_with("link."));
        let word = |key: &String| key.rsplit('.').next().unwrap_or(key).replace('_', " ");
        let mut words: Vec<String> = plain.map(word).collect();
        let cams = links.iter().filter(|link| is_taken_over(taken_over, &link.name));
        words.extend(cams.map(|link| format!("the cam of \"{}\"", link.name)));
        page.gap();
        page.heading("TAKEN OVER FROM THE LEFT, because the profile does not say it of the right");
        page.item("-", words.join(", "));
        let text = format!(
            "A car's two sides seldom stand alike, its cams least of all. Read the right one too and say it with \
             `{}`, such as \"right.{}=...\".",
            page.hint(Hint::Set),
            self.as_written(last)
        );
        page.item("-", text);
    }

    /// A key of a link by what its file calls the member and the pivot that it belongs to.
    fn as_written(&self, key: &str) -> String {
        let of = |link: &Link| {
            let rest = key
                .strip_prefix("link.")?
                .strip_prefix(link.name.as_str())
                .filter(|rest| rest.starts_with('.'))?;
            let (member, place) = (link.member(), link.name.strip_prefix(link.member())?.trim());
            let leg = if matches!(link.hold, Hold::Leg(_)) { format!(".{place}") } else { String::new() };
            Some(format!("link.{member}{leg}{rest}"))
        };
        self.car.sides.left.links.iter().find_map(of).unwrap_or_else(|| key.to_owned())
    }

    fn look_alike(&self, a: &LinkDescription, b: &LinkDescription) -> bool {
        let units = self.units.to_compare();
        let effects = effect(Hand::Left, a, units) == effect(Hand::Right, b, units);
        let taped = match (a.measured_mm, b.measured_mm) {
            (Some(a), Some(b)) => alike(a, b),
            (a, b) => a.is_none() && b.is_none(),
        };
        let lengths = a.length_mm.zip(b.length_mm).is_none_or(|(a, b)| alike(a, b));
        lengths && taped && a.sets == b.sets && effects
    }
}

/// Whether something of a link is taken over: how its cam is set.
fn is_taken_over(keys: &[String], link: &str) -> bool {
    let rest = |key: &String| Some(key.strip_prefix("link.")?.strip_prefix(link)?.starts_with('.'));
    keys.iter().any(|key| rest(key) == Some(true))
}

/// What a link does that is a little longer: camber, toe, pitch.
fn effect(hand: Hand, link: &LinkDescription, units: Units) -> [String; 3] {
    let Effect { camber_deg, toe_deg, pitch_deg } = link.per_mm;
    let [camber, toe, pitch] = [camber_deg, toe_deg, pitch_deg].map(|per_mm| units.over_small(per_mm));
    [signed(camber, 2), units.toe.show(hand, toe), signed(pitch, 2)]
}
