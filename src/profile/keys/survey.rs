//! What was measured under the car.

use toml::Spanned;

use super::key::{Declared, Key, Kind, Slot, angle, deviation, flag, key, keys, point, table, text};
use super::{Link, Member};
use crate::profile::Quantity;

const PLUMB: &str = "Hang a plumb line from the middle of the bolt and mark the spot on the floor; do all bolts first, then measure \
    between the spots with the tape flat on the floor.";

/// A list of what was measured in one way; a question has `{point}`, or `{of}` for a link, and for a tape `{from}` and `{to}`.
const fn seen(example: &'static str) -> Key {
    key(Kind::List(&Seen::TABLE)).like(example)
}

/// The standard deviation of a way to measure, mm.
const fn way(example: &'static str) -> Key {
    deviation(example)
        .within(0.01, 200.0)
        .hint("sigma says how far a careful reading is usually off: about 1.5 mm for a tape under a car")
}

keys! {
    fields;

    /// What was measured under the car, in place of the points.
    Survey {
        /// How far a careful reading is usually off; these are taken where you say nothing.
        sigma: SurveySigma = table(&SurveySigma::TABLE);
        /// Marks that are measured to: on the floor, or known.
        mark: Vec<Spanned<Mark>> = key(Kind::List(&Mark::TABLE)).like("{ name = \"A\", on_floor = true }");
        /// Points that are one bolt.
        same: Vec<Spanned<Vec<Spanned<String>>>> = key(Kind::Groups).like("[[\"lower front knuckle\", \"lower rear knuckle\"]]");
        /// Heights: from the floor straight up to the middle of the bolt, mm.
        height: Vec<Spanned<Seen>> = seen("{ of = \"upper subframe\", reads = 449 }")
            .how("Car on its wheels on a level floor. Set the rule or tape upright on the floor beside the bolt and read at its middle.")
            .asked("Height: {of}", "From the floor straight up to {point}.", "312, or 12 1/4 in");
        /// Plumb lines: mark the spot under each bolt on the floor; how far ahead of the spot under the wheel centre, backward is
        /// negative, mm.
        forward: Vec<Spanned<Seen>> = seen("{ of = \"upper subframe\", reads = -2 }").how(PLUMB).asked(
            "Ahead of the wheel: {of}",
            "On the floor, along the car: from the spot under the wheel centre to the spot under {point}. Behind the wheel centre is minus.",
            "-160",
        );
        /// From a string along the car's centreline to the same spots, mm.
        across: Vec<Spanned<Seen>> = seen("{ of = \"upper subframe\", reads = 447 }").how(PLUMB).asked(
            "From the centreline: {of}",
            "On the floor, straight across: from the string on the centreline to the spot under {point}.",
            "360",
        );
        /// From a bolt straight across to its counterpart on the right, where the tape gets through, mm.
        pair: Vec<Spanned<Seen>> = seen("{ of = \"upper subframe\", reads = 894 }")
            .how("Where the tape gets through. It tells whether the centreline was in the middle.")
            .asked("Straight across: {of}", "From {point} on the left straight across to the same place on the right.", "720");
        /// Each link centre to centre, off the car on tight-fitting pins, or in place where both bolts can be reached, mm.
        arm: Vec<Spanned<Seen>> = seen("{ link = \"upper\", reads = 241.5 }")
            .how("Off the car on tight-fitting pins is best; bolts sit loosely in their sleeves. In place if both bolts can be reached.")
            .asked("Length of a link: {of}", "The link \"{of}\" from the middle of one bolt to the middle of the other.", "241.5");
        /// Straight from point to point, as many as you can reach, mm; they check the rest. Marks on the floor help where a plumb line
        /// does not reach: name them, tape them, and tape from them to the bolts.
        tape: Vec<Spanned<Seen>> = seen("{ from = \"A\", to = \"upper subframe\", reads = 512 }")
            .how("From the middle of one bolt to the middle of the other, through the air. These check the rest: the more, the better.")
            .asked("Tape: {of}", "A tape straight from {from} to {to}.", "256");
        /// A level on the link, degrees: plus where the knuckle end is the higher one.
        slope: Vec<Spanned<Seen>> = seen("{ link = \"upper\", reads = \"3.5 deg\" }")
            .how(
                "A level, or a phone with an inclinometer, laid along the link; on a bent one a straightedge from bolt to bolt. Zero it on the \
                 floor between the wheels first, turn it end for end and take the mean: it is then good to 0.3 degree.",
            )
            .asked(
            "Slope of a link: {of}",
            "A level on the link \"{of}\": by how many degrees is its outer end the higher one? Lower is minus.",
            "3.6",
        );
        /// Level distance from the line from one mark to another, mm; plus: left of it.
        offset: Vec<Spanned<Seen>> = seen("{ of = \"upper subframe\", line = [\"A\", \"B\"], reads = 120 }")
            .asked("offset: {of}", "What does it read: {of}?", "120");
    }

    /// Standard deviations of the ways to measure.
    SurveySigma {
        /// Of a height, mm.
        height: Quantity = way("1.5");
        /// Of a distance along the car, mm.
        forward: Quantity = way("2.0");
        /// Of a distance from the centreline, mm.
        across: Quantity = way("2.0");
        /// Of a distance to the counterpart on the right, mm.
        pair: Quantity = way("2.0");
        /// Of a level distance from a line, mm.
        offset: Quantity = way("2.0");
        /// Of a tape from point to point, mm.
        tape: Quantity = way("1.5");
        /// Of a link off the car, mm.
        arm: Quantity = way("0.7");
        /// Of a level on a link, degrees.
        slope: Quantity = angle("a standard deviation", "0.3").within(0.006, 28.0).hint("sigma says how far a careful reading is usually off: about 0.3 degree for a level");
    }

    /// A mark that is measured to.
    Mark {
        /// What it is called.
        name: String = text("\"A\"").needed();
        /// Where it is, known exactly: x, y, z, mm.
        at: Vec<Quantity> = point("[500.0, 0.0, 0.0]");
        /// Roughly where it is, for a start: x, y, z, mm.
        about: Vec<Quantity> = point("[500.0, 300.0, 0.0]");
        /// Whether it lies on the floor.
        on_floor: bool = flag("true");
    }

    /// One thing that was measured; which of the places it needs depends on the list it stands in.
    Seen {
        /// The point that was measured: "wheel centre", "upper subframe", "right upper knuckle", or a mark.
        of: String = text("\"upper subframe\"").of(&["height", "forward", "across", "pair", "offset"]);
        /// From this point; left out, from where the list counts.
        from: String = text("\"A\"").of(&["height", "forward", "across", "tape"]);
        /// To this point.
        to: String = text("\"upper subframe\"").of(&["tape"]);
        /// The two marks that the line goes through.
        line: Vec<Spanned<String>> = key(Kind::Texts(2, 2)).like("[\"A\", \"B\"]").of(&["offset"]);
        /// The link, by its name.
        link: String = text("\"upper\"").of(&["arm", "slope"]);
        /// What was read, mm, or of a slope degrees.
        reads: Quantity = key(Kind::Length).like("449.0").also("17 3/4 in").within(-1e4, 1e4);
        /// The standard deviation of this one, mm, or of a slope degrees.
        sigma: Quantity = way("1.5");
        /// Keep it, but do not use it.
        leave_out: bool = flag("true");
    }
}

impl Seen {
    /// What an entry may be of: a point, a link, or two points.
    pub(in crate::profile) const PLACES: [&'static str; 4] =
        [Self::of.key.name, Self::link.key.name, Self::from.key.name, Self::to.key.name];

    /// What an entry of a list has to say where it is measured.
    pub(in crate::profile) fn first_place(list: &str) -> Option<Vec<&'static str>> {
        let known = Survey::TABLE.keys.iter().any(|key| key.name == list && key.question.is_some());
        let [of, link, from, to] = [Self::of, Self::link, Self::from, Self::to].map(|slot| slot.key);
        // A line takes more than a name to say.
        let one =
            [of, link].into_iter().find(|key| key.of.contains(&list) && !Self::line.key.of.contains(&list));
        let two = || to.of.contains(&list).then(|| vec![from.name, to.name]);
        one.map(|key| vec![key.name]).or_else(two).filter(|_| known)
    }

    /// What a starter lists under a key of `[survey]`, for links by their names and what they are: one entry a line.
    pub(super) fn starts(list: &Key, links: &[(String, Member)]) -> Vec<String> {
        const PAIRS: [&str; 2] = ["toe subframe", "lower rear subframe"];
        const TAPES: [[&str; 2]; 5] = [
            ["upper subframe", "traction subframe"],
            ["toe subframe", "lower rear subframe"],
            ["upper knuckle", "lower front knuckle"],
            ["toe knuckle", "traction knuckle"],
            ["wheel centre", "upper knuckle"],
        ];
        let of = |name: &str| format!("{{ {} = \"{name}\" }},", Self::of.key.name);
        let centre = (list.name != Survey::forward.key.name).then(|| of("wheel centre"));
        // The points of each link, subframe's first, but for those that are another one's too.
        let ends = |(name, member): &(String, Member)| {
            let own = Link::ENDS.into_iter().zip(member.owns()).enumerate().filter(|(_, (_, own))| *own);
            let named = |(i, (end, _)): (usize, (Slot<Link, _>, bool))| {
                format!("{} {}", member.hold(0).of_pivot(name, i == 1), end.key.name)
            };
            own.map(named).collect::<Vec<_>>()
        };
        let points: Vec<String> = links.iter().flat_map(ends).collect();
        let known = |point: &str| point == "wheel centre" || points.iter().any(|known| known == point);
        let same = |slot: Slot<Survey, _>| slot.key.name == list.name;
        if [Survey::height, Survey::forward, Survey::across].into_iter().any(same) {
            centre.into_iter().chain(points.iter().map(|point| of(point))).collect()
        } else if same(Survey::pair) {
            let pairs = PAIRS.into_iter().filter(|point| known(point));
            pairs.map(of).collect()
        } else if same(Survey::arm) {
            let rods = links.iter().filter(|(_, member)| *member == Member::Rod);
            rods.map(|(name, _)| format!("{{ {} = \"{name}\" }},", Self::link.key.name)).collect()
        } else if same(Survey::tape) {
            let [from_key, to_key] = [Self::from.key.name, Self::to.key.name];
            let tapes = TAPES.into_iter().filter(|ends| ends.iter().all(|end| known(end)));
            let mut tapes: Vec<[String; 2]> = tapes.map(|ends| ends.map(str::to_owned)).collect();
            if tapes.len() < TAPES.len() {
                // Of other links the knuckle's points, one after another.
                let knuckles: Vec<&String> =
                    points.iter().filter(|point| point.ends_with(Link::knuckle.key.name)).collect();
                tapes = knuckles.windows(2).map(|ends| [0, 1].map(|i| ends[i].clone())).collect();
            }
            let line =
                |[from, to]: [String; 2]| format!("{{ {from_key} = \"{from}\", {to_key} = \"{to}\" }},");
            tapes.into_iter().map(line).collect()
        } else {
            Vec::new()
        }
    }
}
