//! The page of `loads`.

use std::fmt;

use super::heading::heading;
use super::number::{fixed, signed};
use super::sides::by_side;
use super::table::Table;
use super::words::{CAUTIONS, NO_APPROVAL, item, missing, paragraph, travel_words};
use crate::car::{Car, Stance};
use crate::strength::{CaseLoads, LinkLoad, Loads};

/// What the links carry, for people.
#[derive(Debug)]
pub struct LoadsPage<'a> {
    /// The car.
    pub car: &'a Car,
    /// How it stands.
    pub stance: &'a Stance,
    /// The answer.
    pub answer: &'a Loads,
}

impl fmt::Display for LoadsPage<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        heading(f, "Loads in the links", self.car, self.stance)?;
        paragraph(f, NO_APPROVAL)?;
        writeln!(f)?;
        self.at_drop(f)?;
        self.over_travel(f)?;
        self.cases(f)?;
        missing(f, &self.answer.missing)?;
        writeln!(f, "BEFORE YOU RELY ON IT")?;
        item(
            f,
            "-",
            "The loads are taken to stand still, links to be rigid and to turn freely at both ends. A real blow is shorter and \
             may be harder; rubber, anti-roll bar, the shaft's own twist and what wheel and brake weigh when they are thrown about \
             are left out. Damper and bump stop are taken to push in the spring's line.",
        )?;
        item(f, "-", CAUTIONS[2])?;
        item(f, "-", CAUTIONS[3])
    }
}

impl LoadsPage<'_> {
    fn case(&self, side: usize, index: usize) -> &[LinkLoad] {
        self.answer.sides[side].cases.get(index).map_or(&[], |case: &CaseLoads| case.links.as_slice())
    }

    fn at_drop(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [left, right] = &self.answer.sides;
        let known = left.wheel_load_known && right.wheel_load_known;
        writeln!(f, "ALONG EACH LINK AT THE DROP, kN (plus: pulled, minus: pushed together)")?;
        let names: Vec<&str> = left.cases.iter().map(|case| case.case.name()).collect();
        let mut table = Table::new(&[["<link", "<side"].as_slice(), &names].concat());
        let rows = [0, 1].map(|side| self.rows(side));
        for shown in by_side(rows.each_ref().map(Vec::as_slice), |row| &row[0], |a, b| a == b) {
            let [link, rest @ ..] = shown.item.as_slice() else { continue };
            table.row([link.clone(), shown.side.to_owned()].into_iter().chain(rest.iter().cloned()));
        }
        write!(f, "{table}")?;
        let carries = if known {
            let [a, b] = [left, right].map(|side| fixed(side.wheel_load_n / 1000.0, 2));
            if a == b {
                format!("Each wheel carries {a} kN standing.")
            } else {
                format!("Standing, the left wheel carries {a} kN, the right one {b} kN.")
            }
        } else {
            "The profile does not say what a wheel carries: these are for 1 kN on it, so multiply.".to_owned()
        };
        paragraph(f, &carries)?;
        writeln!(f)
    }

    fn rows(&self, side: usize) -> Vec<Vec<String>> {
        let cases = &self.answer.sides[side].cases;
        let Some(first) = cases.first() else { return Vec::new() };
        let mut rows: Vec<Vec<String>> = (0..first.links.len())
            .map(|i| {
                let loads = cases.iter().map(|case| signed(case.links[i].at_drop_n / 1000.0, 2));
                [first.links[i].link.clone()].into_iter().chain(loads).collect()
            })
            .collect();
        if first.spring_n.is_some() {
            let push = |case: &CaseLoads| case.spring_n.map_or("-".to_owned(), |n| signed(-n / 1000.0, 2));
            rows.push(["(spring)".to_owned()].into_iter().chain(cases.iter().map(push)).collect());
        }
        rows
    }

    fn over_travel(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "HARDEST OVER THE TRAVEL, kN, and where the wheel is then, mm")?;
        let mut table = Table::new(&["<link", "<side", "<case", "pulled", "at", "<case", "pushed", "at"]);
        let rows = [0, 1].map(|side| self.hardest(side));
        for shown in by_side(rows.each_ref().map(Vec::as_slice), |row| &row[0], |a, b| a == b) {
            let [link, rest @ ..] = shown.item;
            table.row([link.clone(), shown.side.to_owned()].into_iter().chain(rest.iter().cloned()));
        }
        write!(f, "{table}")?;
        for side in &self.answer.sides {
            paragraph(f, &format!("Travel looked at, {}: {}.", side.side, travel_words(&side.travel)))?;
        }
        writeln!(f)
    }

    fn hardest(&self, side: usize) -> Vec<[String; 7]> {
        let cases = &self.answer.sides[side].cases;
        let row = |i: usize| {
            let pulled = (0..cases.len())
                .max_by(|&a, &b| self.case(side, a)[i].most_n.total_cmp(&self.case(side, b)[i].most_n))?;
            let pushed = (0..cases.len())
                .min_by(|&a, &b| self.case(side, a)[i].least_n.total_cmp(&self.case(side, b)[i].least_n))?;
            let (most, least) = (&self.case(side, pulled)[i], &self.case(side, pushed)[i]);
            let show = |case: usize, force: f64, at: f64, counts: bool| {
                if counts {
                    [cases[case].case.name().to_owned(), signed(force / 1000.0, 2), signed(at, 0)]
                } else {
                    ["never", "", ""].map(str::to_owned)
                }
            };
            let [a, b, c] = show(pulled, most.most_n, most.most_at_mm, most.most_n > 0.0);
            let [d, e, g] = show(pushed, least.least_n, least.least_at_mm, least.least_n < 0.0);
            Some([most.link.clone(), a, b, c, d, e, g])
        };
        (0..self.case(side, 0).len()).filter_map(row).collect()
    }

    fn cases(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "LOAD CASES, times what the wheel carries standing ([loads] in the profile)")?;
        let mut table = Table::new(&["<case", "up", "inward", "rearward"]);
        for case in &self.answer.cases {
            table.row([
                case.case.name().to_owned(),
                fixed(case.up, 2),
                fixed(case.inward, 2),
                fixed(case.rearward, 2),
            ]);
        }
        writeln!(f, "{table}")
    }
}
