//! The page of `spec`: a printed figure in every unit.

use super::number::{ToeUnit, Units, degrees_minutes, fixed, signed};
use super::page::{Page, Printable};
use super::table::Table;
use crate::car::{Hand, PerSide};
use crate::geometry::Figure;
use crate::plan::{Allowed, SpecAnswer};

/// A printed figure in every unit, for people.
#[derive(Debug)]
pub(crate) struct SpecPage<'a> {
    /// The figure as it was given.
    pub(crate) printed: &'a str,
    pub(crate) answer: &'a SpecAnswer,
    /// The unit of the diameter.
    pub(crate) units: Units,
}

/// A unit in which racks and manuals print angles.
#[derive(Debug, Clone, Copy)]
pub(super) enum AngleUnit {
    Degrees,
    DegreesMinutes,
    /// Minutes, or a length across a diameter.
    As(ToeUnit, usize),
}

impl AngleUnit {
    /// Those that need no diameter, and toe as a length where the rims are known, mm.
    pub(super) fn all(rims: Option<PerSide<f64>>) -> Vec<Self> {
        let mut units = vec![Self::Degrees, Self::DegreesMinutes, Self::As(ToeUnit::Minutes, 1)];
        if let Some(rims) = rims {
            units.push(Self::As(ToeUnit::Millimetres { rims }, 2));
            units.push(Self::As(ToeUnit::Inches { rims }, 3));
        }
        units
    }

    pub(super) fn name(self, units: Units) -> String {
        match self {
            Self::Degrees => "degrees".to_owned(),
            Self::DegreesMinutes => "degrees and minutes".to_owned(),
            Self::As(unit @ (ToeUnit::Millimetres { rims } | ToeUnit::Inches { rims }), _) => {
                let PerSide { left, right } = rims.map(|rim| units.length(rim));
                let across = if left == right { left } else { format!("{left} and {right}") };
                format!("{} across {across} {}", unit.name(), units.length_name())
            }
            Self::As(..) => "minutes".to_owned(),
        }
    }

    /// The figure of one wheel; `side` is 0 for the left one.
    pub(super) fn show(self, hand: Hand, deg: f64) -> String {
        match self {
            Self::Degrees => signed(deg, 3),
            Self::DegreesMinutes => degrees_minutes(deg),
            Self::As(unit, decimals) => signed(unit.value(hand, deg), decimals),
        }
    }

    /// Left and right together.
    pub(super) fn show_total(self, degs: PerSide<f64>) -> String {
        let PerSide { left, right } = degs;
        match self {
            Self::As(unit, decimals) => {
                signed(unit.value(Hand::Left, left) + unit.value(Hand::Right, right), decimals)
            }
            angle => angle.show(Hand::Left, left + right),
        }
    }
}

impl Printable for SpecPage<'_> {
    fn put(&self, page: &mut Page) {
        let SpecAnswer { figure, printed_as_total, each, total, tolerance_deg, diameter_mm, slips } =
            self.answer;
        let counts = if *printed_as_total { "both wheels together" } else { "each wheel" };
        let asks =
            if slips.is_empty() { "" } else { ". Is that what the manual means? See the question below" };
        page.verdict(format!("As printed: {figure} {}, {counts}{asks}.", self.printed.trim()));
        page.gap();
        if !slips.is_empty() {
            page.heading("IS THAT WHAT THE MANUAL MEANS?");
            for slip in slips {
                page.item("!", slip);
            }
            page.gap();
        }
        let rims = diameter_mm.filter(|_| *figure == Figure::Toe).map(PerSide::both);
        page.heading("EACH WHEEL");
        self.table(page, rims, |unit, deg| unit.show(Hand::Left, deg));
        if total.is_some() {
            page.heading("BOTH WHEELS TOGETHER, as total toe is printed");
            self.table(page, rims, |unit, deg| unit.show_total(PerSide::both(deg)));
        }
        page.heading("IN THE PROFILE");
        page.line("  [spec]");
        page.line(format!("  {figure} = {}", fixed(each.target_deg, 4)));
        if let Some(tolerance) = tolerance_deg {
            page.line(format!("  {figure}_tolerance = {}", fixed(*tolerance, 4)));
        }
        page.gap();
        let signs = if *figure == Figure::Toe {
            "Plus is toe-in, as in every figure here. Some manuals print toe-out as plus: look."
        } else {
            "Minus leans in at the top."
        };
        page.item("-", signs);
        page.item(
            "-",
            "A spec holds for the heights and the load that its page states, and for that model year.",
        );
    }
}

impl SpecPage<'_> {
    /// Every unit; the least and the most only where there is a tolerance.
    fn table(&self, page: &mut Page, rims: Option<PerSide<f64>>, show: impl Fn(AngleUnit, f64) -> String) {
        let Allowed { least_deg, target_deg, most_deg } = self.answer.each;
        let head: &[&str] = if self.answer.tolerance_deg.is_some() {
            &["<", "least", "target", "most"]
        } else {
            &["<", "target"]
        };
        let mut table = Table::new(head);
        for unit in AngleUnit::all(rims) {
            let figures =
                if head.len() == 2 { vec![target_deg] } else { vec![least_deg, target_deg, most_deg] };
            table.row(
                [unit.name(self.units)].into_iter().chain(figures.into_iter().map(|deg| show(unit, deg))),
            );
        }
        page.table(table);
        page.gap();
    }
}
