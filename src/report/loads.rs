//! The page of `loads`.

use std::fmt;

use super::heading::heading;
use super::number::{Units, fixed, signed};
use super::sides::{by_pair, by_side};
use super::table::Table;
use super::words::{CAUTIONS, NO_APPROVAL, item, missing, paragraph, travel_words};
use crate::car::{Car, Stance};
use crate::strength::{CaseLoads, Chain, ChainPart, LinkLoad, Loads, PartStrength};

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
        heading(f, "Loads in the links", self.car, self.stance, Units::default())?;
        paragraph(f, NO_APPROVAL)?;
        writeln!(f)?;
        self.at_drop(f)?;
        self.chains(f)?;
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
        table.write(f)?;
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

    /// What gives first, in a kerb strike.
    fn chains(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let chains = self.answer.sides.each_ref().map(|side| side.chains.as_slice());
        if chains.iter().all(|chains| chains.iter().all(|chain| chain.parts.is_empty())) {
            return Ok(());
        }
        writeln!(f, "WHAT GIVES FIRST IN A KERB STRIKE, percent of its strength used, hardest first")?;
        let same = |a: &Chain, b: &Chain| a.link == b.link && a.adjustable == b.adjustable;
        let shown = by_pair(chains, same, |a, b| chain_words(a) == chain_words(b));
        for shown in &shown {
            if !shown.item.parts.is_empty() {
                let text =
                    format!("{}, {}: {}", chain_name(shown.item), shown.words(), chain_words(shown.item));
                item(f, "-", &text)?;
            }
        }
        paragraph(
            f,
            "Common practice, no source: an arm is meant to give before the subframe does. A part that is rated is as good as its \
             rating; the bolt is taken as sheared in two planes, the knuckle's own end is not looked at.",
        )?;
        for shown in &shown {
            if shown.item.outlasts_bracket == Some(true) {
                let text = format!(
                    "{}, {}: this arm WOULD OUTLAST ITS SUBFRAME BRACKET. The bracket gives first in a kerb \
                     strike, not the arm.",
                    chain_name(shown.item),
                    shown.words()
                );
                item(f, "!", &text)?;
            }
            for part in shown.item.parts.iter().filter(|part| part.ordinary_used > 1.0) {
                let text = format!(
                    "{}, {}: the {} does NOT STAND ordinary driving by these figures, {} percent used.",
                    chain_name(shown.item),
                    shown.words(),
                    part_name(part.part),
                    percent(part.ordinary_used)
                );
                item(f, "!", &text)?;
            }
        }
        writeln!(f)
    }

    fn over_travel(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "HARDEST OVER THE TRAVEL, kN, and where the wheel is then, mm")?;
        let mut table = Table::new(&["<link", "<side", "<case", "pulled", "at", "<case", "pushed", "at"]);
        let rows = [0, 1].map(|side| self.hardest(side));
        for shown in by_side(rows.each_ref().map(Vec::as_slice), |row| &row[0], |a, b| a == b) {
            let [link, rest @ ..] = shown.item;
            table.row([link.clone(), shown.side.to_owned()].into_iter().chain(rest.iter().cloned()));
        }
        table.write(f)?;
        for side in &self.answer.sides {
            paragraph(
                f,
                &format!(
                    "Travel looked at, {}: {}.",
                    side.side,
                    travel_words(&side.travel, Units::default())
                ),
            )?;
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
        table.write(f)?;
        writeln!(f)
    }
}

fn chain_name(chain: &Chain) -> String {
    format!("{}, {} arm", chain.link, if chain.adjustable { "new" } else { "stock" })
}

fn part_name(part: ChainPart) -> &'static str {
    match part {
        ChainPart::Arm => "arm",
        ChainPart::Thread => "thread",
        ChainPart::Joint => "joint",
        ChainPart::Bolt => "bolt",
        ChainPart::Bracket => "bracket",
    }
}

fn percent(part: f64) -> String {
    fixed(part * 100.0, 0)
}

fn chain_words(chain: &Chain) -> String {
    let part = |strength: &PartStrength| {
        let [pull, push] = [strength.pull_n, strength.push_n].map(|force| fixed(force / 1000.0, 1));
        let stands =
            if pull == push { format!("{pull} kN") } else { format!("{pull} kN pulled, {push} pushed") };
        format!("{} {} ({stands})", part_name(strength.part), percent(strength.kerb_used))
    };
    let known: Vec<String> = chain.parts.iter().map(part).collect();
    let unknown: Vec<&str> = chain.unknown.iter().map(|part| part_name(*part)).collect();
    let unknown =
        if unknown.is_empty() { String::new() } else { format!("; not known: {}", unknown.join(", ")) };
    format!("{}{unknown}", known.join(", "))
}
