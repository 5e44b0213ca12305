//! The page of `loads`.

use super::bars::{BarRow, put_rows};
use super::heading::AnswerPage;
use super::hint::Hint;
use super::number::{Units, fixed, kilonewtons, kilonewtons_signed, newton_metres, of_100};
use super::page::{Page, Printable};
use super::sides::{by_pair, by_side};
use super::table::Table;
use super::words::{before_strength, ends_early, missing, not_held_sentence, travel_words};
use crate::car::{Hand, Hold, Link, PerSide, Said};
use crate::strength::{
    CaseLoads, Chain, ChainPart, HardestLoad, HardestLoads, Holder, LinkLoad, LoadSide, Loads, PartStrength,
    Swap,
};

impl Printable for AnswerPage<'_, Loads> {
    fn put(&self, page: &mut Page) {
        self.head(page, "Loads in the links", self.verdict());
        for (mark, remark) in self.remarks().into_iter().filter(|(mark, _)| *mark == "!") {
            page.item(mark, remark);
        }
        page.gap();
        self.at_drop(page);
        page.rest(|page| {
            self.chains(page);
            self.over_travel(page);
            self.hardest(page);
            self.under_the_spring(page);
            self.cases(page);
            missing(page, &self.answer.missing);
            self.how_it_stands(page);
            before_strength(page, TO_KNOW);
        });
    }
}

/// What to know of its own before anything is done by the page.
const TO_KNOW: [&str; 2] = [
    "The loads are taken to stand still, links to be rigid and to turn freely at both ends. A real blow is shorter and \
             may be harder; rubber, anti-roll bar, the shaft's own twist and what wheel and brake weigh when they are thrown about \
             are left out; so is the tyre's own twist in a bend, whose push comes some centimetres behind the middle and loads the toe \
             link. In a kerb strike or a pothole the spring is taken to carry what it carries standing and the damper with its stop the \
             rest, in the damper's line where [damper] gives it, else in the spring's.",
    "An arm without a bend in the profile is taken as perfectly straight; a dent, rust or a weld takes from what it stands. Rod \
             ends are rated along and across by their makers: the lesser figure counts.",
];

impl AnswerPage<'_, Loads> {
    /// Whether what is known stands, and the part that is used up most.
    fn verdict(&self) -> String {
        let chains =
            self.answer.sides.iter().flat_map(|side| side.chains.iter().map(move |chain| (side.side, chain)));
        let parts = chains
            .filter(|(_, chain)| chain.fitted)
            .flat_map(|(side, chain)| chain.parts.iter().map(move |part| (side, chain, part)));
        let Some((side, chain, part)) = parts.max_by(|a, b| a.2.hardest_used.total_cmp(&b.2.hardest_used))
        else {
            return "Loads only: the profile gives no part's strength, so whether they are carried is NOT KNOWN (see what is left out)."
                .to_owned();
        };
        let most = format!(
            "used up most is the {} of {}, {side} ({} arm): {} percent ({})",
            part_name(part.part),
            chain.link,
            arm_name(chain),
            of_100(part.hardest_used),
            part.hardest.name()
        );
        if self.answer.succeeds() {
            format!("What is known stands ordinary driving on paper; {most}.")
        } else {
            format!("NO. A PART IS NOT STRONG ENOUGH for ordinary driving, by what is known; {most}.")
        }
    }

    /// The hardest pull and push of every link, as bars.
    fn hardest(&self, page: &mut Page) {
        for side in &self.answer.sides {
            let load =
                |load: Option<HardestLoad>| load.map(|load| (load.force_n, kilonewtons_signed(load.force_n)));
            let rows = side
                .hardest
                .iter()
                .map(|link| BarRow { name: link.link.clone(), ways: [load(link.pulled), load(link.pushed)] });
            let title = format!("The hardest on each link, {}, kN", side.side);
            put_rows(page, &title, ["pulled", "pushed together"], &rows.collect::<Vec<_>>());
        }
    }

    fn at_drop(&self, page: &mut Page) {
        let PerSide { left, right } = &self.answer.sides;
        page.heading("ALONG EACH LINK AT THE DROP, kN (plus: pulled, minus: pushed together)");
        let names: Vec<&str> = self.answer.cases.iter().map(|case| case.case.name()).collect();
        let mut table = Table::new(&[["<link", "<side"].as_slice(), &names].concat());
        let rows = PerSide::of(|hand| self.rows(hand));
        table.sides(
            rows.each(Vec::as_slice),
            self.units,
            |(link, _)| [link.clone()],
            |(_, row), _| row.clone(),
        );
        if rows.iter().any(|rows| !rows.is_empty()) {
            page.table(table);
        }
        for side in &self.answer.sides {
            page.items("!", not_held_sentence(side.side, side.not_held_mm, self.units));
        }
        if left.wheel_load_known && right.wheel_load_known {
            let [a, b] = [left, right].map(|side| kilonewtons(side.wheel_load_n, 2));
            if a == b {
                page.paragraph(format!("Each wheel carries {a} kN standing."));
            } else {
                page.paragraph(format!("Standing, the left wheel carries {a} kN, the right one {b} kN."));
            }
        } else {
            page.paragraph(
                "The profile does not say what a wheel carries: these are for 1 kN on it, so multiply.",
            );
        }
        if [left, right].iter().any(|side| side.holder == Holder::WheelCentre) {
            page.paragraph("Nor does it say where the spring sits: the wheel is taken as held upright at its centre. A spring that sits on a link \
                 changes what all of them carry.");
        }
        for link in &self.car.sides.left.links {
            page.items("-", not_along_a_rod(link));
        }
        page.gap();
    }

    fn rows(&self, hand: Hand) -> Vec<(String, Vec<String>)> {
        let cases = &self.answer.sides[hand].cases;
        let Some(first) = cases.first() else { return Vec::new() };
        let mut rows: Vec<(String, Vec<String>)> = (0..first.links.len())
            .map(|i| {
                let loads = cases.iter().map(|case| kilonewtons_signed(case.links[i].at_drop_n));
                (first.links[i].link.clone(), loads.collect())
            })
            .collect();
        if first.spring_n.is_some() {
            let push = |case: &CaseLoads| case.spring_n.map_or("-".to_owned(), |n| kilonewtons_signed(-n));
            rows.push(("(spring)".to_owned(), cases.iter().map(push).collect()));
        }
        if cases.iter().any(|case| case.damper_n.is_some()) {
            let push = |case: &CaseLoads| case.damper_n.map_or("-".to_owned(), |n| kilonewtons_signed(-n));
            rows.push(("(damper)".to_owned(), cases.iter().map(push).collect()));
        }
        rows
    }

    /// What gives first, in a kerb strike.
    fn chains(&self, page: &mut Page) {
        let chains = self.answer.sides.each(|side| side.chains.as_slice());
        if chains.iter().all(|chains| chains.iter().all(|chain| chain.parts.is_empty())) {
            return;
        }
        page.heading("WHAT GIVES FIRST IN A KERB STRIKE, the part that is used up most first");
        let same = |a: &Chain, b: &Chain| a.link == b.link && a.adjustable == b.adjustable;
        let shown = by_pair(chains, same, |a, b| chain_rows(a) == chain_rows(b));
        let mut table =
            Table::new(&["<link", "<arm", "<side", "<part", "used %", "stands kN: pulled", "pushed"]);
        for shown in shown.iter().filter(|shown| !shown.item.parts.is_empty()) {
            for (i, row) in chain_rows(shown.item).into_iter().enumerate() {
                let name =
                    if i == 0 { [&shown.item.link, arm_name(shown.item), shown.side] } else { [""; 3] };
                table.row(name.map(str::to_owned).into_iter().chain(row));
            }
        }
        page.table(table);
        for (mark, remark) in self.remarks().into_iter().filter(|(mark, _)| *mark != "!") {
            page.item(mark, remark);
        }
        let is_bent = |side: &LoadSide| {
            let rated = |chain: &Chain| chain.parts.iter().any(|part| part.part == ChainPart::Arm);
            side.chains.iter().any(|chain| side.spring_on.as_ref() == Some(&chain.link) && rated(chain))
        };
        if let Some(link) =
            self.answer.sides.iter().find(|side| is_bent(side)).and_then(|side| side.spring_on.as_ref())
        {
            page.paragraph(format!(
                    "{link} carries the spring, which bends it as well: its arm is used up sooner than its two figures say, which are for \
                     pull and push alone."
                ));
        }
        page.paragraph("Common practice, no source: an arm is meant to give before the subframe does. A rated part is as good as its rating; bolts \
             are taken as sheared, through two planes between ears and one on a single face. Loads and lengths are of the car as \
             it is set here.");
        page.gap();
    }

    /// The stock arm against the new one.
    /// What is to be said of the arms' strength, each with its mark; `!`: read it before anything is bought.
    fn remarks(&self) -> Vec<(&'static str, String)> {
        let mut remarks = Vec::new();
        let swaps = self.answer.sides.each(|side| side.swaps.as_slice());
        for shown in by_side(swaps, |swap| &swap.link, |a, b| swap_words(a) == swap_words(b)) {
            let Some(words) = swap_words(shown.item) else { continue };
            let mark = if shown.item.outlasts_bracket == Some(true) { "!" } else { "-" };
            remarks.push((mark, format!("{}, {}: {words}", shown.item.link, shown.words())));
        }
        let chains = self.answer.sides.each(|side| side.chains.as_slice());
        let same = |a: &Chain, b: &Chain| a.link == b.link && a.adjustable == b.adjustable;
        let compared = self.units.to_compare();
        for shown in by_pair(chains, same, |a, b| chain_remarks(a, compared) == chain_remarks(b, compared)) {
            for (mark, remark) in chain_remarks(shown.item, self.units) {
                let name = format!("{}, {} arm, {}", shown.item.link, arm_name(shown.item), shown.words());
                remarks.push((mark, format!("{name}: {remark}")));
            }
        }
        remarks
    }

    fn over_travel(&self, page: &mut Page) {
        page.heading(format!(
            "HARDEST OVER THE TRAVEL, kN, and where the wheel is then, {}",
            self.units.length_word()
        ));
        let mut table = Table::new(&["<link", "<side", "<case", "pulled", "at", "<case", "pushed", "at"]);
        table.sides(
            self.answer.sides.each(|side| &side.hardest[..]),
            self.units,
            |link| [link.link.clone()],
            hardest,
        );
        page.table(table);
        let travels = self.answer.sides.each(|side: &LoadSide| travel_words(&side.travel, self.units));
        let travel = travels.alike_or(|left, right| format!("on the left {left}, on the right {right}"));
        page.paragraph(format!("Travel looked at: {travel}."));
        ends_early(page, self.answer.sides.each(|side| &side.travel));
        page.gap();
    }

    /// What a link that carries the spring puts on its bolts, across as well as along.
    fn under_the_spring(&self, page: &mut Page) {
        let rows = self.answer.sides.each(|side| {
            let on = side.spring_on.as_ref();
            let carries = |load: &&LinkLoad| on.is_some_and(|on| load.link == *on || is_leg(on, &load.link));
            let rows = |case: &CaseLoads| {
                let on = case.links.iter().filter(carries);
                on.map(|load| seat_row(case, load)).collect::<Vec<_>>()
            };
            side.cases.iter().flat_map(rows).collect::<Vec<_>>()
        });
        if rows.iter().all(Vec::is_empty) {
            return;
        }
        page.heading("THE LINK THAT CARRIES THE SPRING, the most over the travel");
        let mut table =
            Table::new(&["<link", "<case", "<side", "subframe bolt kN", "knuckle bolt kN", "bent N m"]);
        table.sides(
            rows.each(Vec::as_slice),
            self.units,
            |(name, _)| name.clone(),
            |(_, row), _| row.clone(),
        );
        page.table(table);
        let plate = |side: &LoadSide| {
            let legs = side.cases.iter().flat_map(|case| &case.links);
            side.spring_on.as_ref().is_some_and(|on| legs.into_iter().any(|load| is_leg(on, &load.link)))
        };
        page.paragraph(if self.answer.sides.iter().any(plate) {
            "The spring pushes on this wishbone between its bolts, so each of them carries more than what runs along a leg; the one at the knuckle is \
             one bolt and carries what stands there for both legs. Of what runs along the line of the two inner bolts each is taken to carry half. \
             How the wishbone itself is bent is not worked out. Never unbolt it with the spring under load."
        } else {
            "The spring pushes across this link, so each bolt and joint carries more than what runs along it, and bar and threaded shanks are bent, which \
             counts in what gives first. Never unbolt it with the spring under load."
        });
        page.gap();
    }

    fn cases(&self, page: &mut Page) {
        page.heading("LOAD CASES, times what the wheel carries standing");
        let mut table = Table::new(&["<case", "up", "inward", "rearward", "<from"]);
        for case in &self.answer.cases {
            let [up, inward, rearward] =
                [case.factors.up, case.factors.inward, case.factors.rearward].map(|factor| fixed(factor, 2));
            let said = match case.said {
                Said::Usual => "usual".to_owned(),
                Said::Profile => "[loads] in the profile".to_owned(),
                Said::Asked => page.hint(Hint::Case),
            };
            table.row([case.case.name().to_owned(), up, inward, rearward, said]);
        }
        page.table(table);
        page.paragraph(format!("\"usual\" is common practice, no source: measured loads of your car, or what rules where you compete, go into [loads] or \
             {}. The push is where the tyre stands, apart from drive and blows from ahead, which act at the wheel centre.", page.hint(Hint::Case)));
        page.gap();
    }
}

fn hardest(HardestLoads { pulled, pushed, .. }: &HardestLoads, units: Units) -> Vec<String> {
    let cells = |load: Option<HardestLoad>| match load {
        Some(HardestLoad { case, force_n, at_mm }) => {
            [case.name().to_owned(), kilonewtons_signed(force_n), units.counted(at_mm, true)]
        }
        None => ["never", "", ""].map(str::to_owned),
    };
    [*pulled, *pushed].into_iter().flat_map(cells).collect()
}

/// What stands for a figure that is not worked out.
const NOT_WORKED_OUT: &str = "-";

/// Whether a link is a leg of the wishbone of a name.
fn is_leg(wishbone: &str, link: &str) -> bool {
    link != wishbone && Hold::Leg(0).member(link) == wishbone
}

fn seat_row(case: &CaseLoads, load: &LinkLoad) -> ([String; 2], [String; 3]) {
    let bent = if load.bent_n_mm > 0.0 { newton_metres(load.bent_n_mm) } else { NOT_WORKED_OUT.to_owned() };
    let row = [kilonewtons(load.bolt_n, 2), kilonewtons(load.knuckle_bolt_n, 2), bent];
    ([load.link.clone(), case.case.name().to_owned()], row)
}

fn arm_name(chain: &Chain) -> &'static str {
    if chain.adjustable { "new" } else { "stock" }
}

fn part_name(part: ChainPart) -> &'static str {
    match part {
        ChainPart::Arm => "arm",
        ChainPart::Thread => "thread",
        ChainPart::Joint => "joint",
        ChainPart::KnuckleBolt => "bolt at the knuckle",
        ChainPart::Bolt => "bolt",
        ChainPart::Bracket => "bracket",
    }
}

fn chain_rows(chain: &Chain) -> Vec<[String; 4]> {
    let known = |strength: &PartStrength| {
        let [pull, push] = [strength.pull_n, strength.push_n].map(|force| kilonewtons(force, 1));
        [part_name(strength.part).to_owned(), of_100(strength.kerb_used), pull, push]
    };
    chain.parts.iter().map(known).collect()
}

/// What is to be said of a chain, each with its mark.
fn chain_remarks(chain: &Chain, units: Units) -> Vec<(&'static str, String)> {
    let mut remarks = Vec::new();
    if !chain.parts.is_empty() && !chain.unknown.is_empty() {
        let parts: Vec<&str> = chain.unknown.iter().map(|part| part_name(*part)).collect();
        remarks.push(("?", format!("not rated, so not ranked: {}.", parts.join(", "))));
    }
    if !chain.adjustable && chain.outlasts_bracket == Some(true) {
        remarks.push(("!", "it OUTLASTS ITS SUBFRAME BRACKET too, by these ratings.".to_owned()));
    }
    if chain.rolls_freely {
        let text = "it carries the spring or damper on a rod end at either side, so it ROLLS FREELY about its own line under that load: such an arm \
                    needs a bush or a bolted eye at one end.";
        remarks.push(("!", text.to_owned()));
    }
    if chain.bent_as_stock && !chain.unknown.contains(&ChainPart::Arm) {
        let text = format!(
            "the profile does not say how it is shaped, so it is taken to stand {} off its line like the stock one; a straight one \
             stands more. Give it a radius, and a bend if it has one.",
            units.with_unit(chain.off_mm)
        );
        remarks.push(("-", text));
    }
    for part in &chain.parts {
        let name = part_name(part.part);
        if part.ordinary_used > 1.0 {
            let text = format!(
                "the {name} does NOT STAND ordinary driving by these figures, {} percent used.",
                of_100(part.ordinary_used)
            );
            remarks.push(("!", text));
        } else if part.hardest_used > part.kerb_used.max(1.0) {
            let text = format!(
                "the {name} gives in the case \"{}\" too, {} percent used.",
                part.hardest.name(),
                of_100(part.hardest_used)
            );
            remarks.push(("-", text));
        }
    }
    remarks
}

/// The stock arm against the new one; `None` where nothing is known that the two could be told apart by.
fn swap_words(swap: &Swap) -> Option<String> {
    let gives = match (swap.stock_first?, swap.new_first?) {
        (stock, new) if stock == new && swap.times_stock.is_none() && swap.outlasts_bracket.is_none() => {
            format!(
                "too little is rated to tell the two arms apart; of what is, the {} gives first.",
                part_name(stock)
            )
        }
        (stock, new) if stock == new => {
            format!("of what is rated the {} gives first with either arm.", part_name(stock))
        }
        (stock, new) => format!(
            "of what is rated the {} gives first with the stock arm, the {} with the new one.",
            part_name(stock),
            part_name(new)
        ),
    };
    let times = match swap.times_stock {
        Some(times) => {
            format!(
                " By what is rated of both, the new arm takes {} times the strike that the stock one takes.",
                fixed(times, 1)
            )
        }
        None => String::new(),
    };
    let bracket = match swap.outlasts_bracket {
        Some(true) if matches!(swap.new_first, Some(ChainPart::Bolt | ChainPart::KnuckleBolt)) => {
            " The new arm WOULD OUTLAST ITS SUBFRAME BRACKET too: of those two the bracket is the weaker one."
        }
        Some(true) => {
            " The new arm WOULD OUTLAST ITS SUBFRAME BRACKET: in a strike that is hard enough the bracket gives and the arm \
                       does not."
        }
        Some(false) => " The new arm gives before the bracket.",
        None => " Whether it gives before its bracket is NOT KNOWN.",
    };
    Some(format!("{gives}{times}{bracket}"))
}

/// What the figures of a place mean that is no rod from the subframe, and what of it is not worked out.
fn not_along_a_rod(link: &Link) -> Option<String> {
    let (name, member) = (&link.name, link.member());
    match link.hold {
        Hold::BushAhead => Some(format!(
            "{name}: what the blade's front bush holds along the car; plus: the blade is pulled, minus: pushed. How the blade bends, and what its bush holds sideways, is not worked out."
        )),
        Hold::BushUp(_) => {
            Some(format!("{name}: what the same bush holds in height; plus: it pulls the blade down."))
        }
        Hold::Top => Some(format!(
            "{name}: how hard the top mount pushes the strut along the car; plus: to the rear. It bends the strut's rod; how much, and what \
             friction that makes, is not worked out."
        )),
        Hold::Bolt(..) => {
            Some(format!("{name}: how hard the same mount pushes the strut across the car; plus: inward."))
        }
        Hold::OnArm(_) => Some(format!(
            "{member} stands on a wishbone and bends it: what that arm itself and its two inner bolts carry of it is not worked out, and \
             the figures of its two legs are only what they hold of its outer joint."
        )),
        Hold::Rod | Hold::Leg(_) => None,
    }
}
