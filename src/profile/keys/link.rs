//! A link, its arm, its cam, and the bolts and bars that they are made of.

use serde::Deserialize;
use toml::Spanned;

use super::key::{
    Answer, Declared, Key, Kind, Slot, angle, deviation, deviations, direction, flag, key, keys, length,
    point, table, text,
};
use super::{Member, by_serde};
use crate::profile::load::{Force, Stress, Torque};
use crate::profile::{CamPosition, Quantity};

by_serde!(Sets, JointName);

/// Several points, or pairs of lengths.
type PointRows = Vec<Spanned<Vec<Quantity>>>;

/// How a point is measured.
const POINT: &str = "Hang a plumb line from the middle of the bolt and mark the spot on the floor under it. AHEAD: along the car from the \
    spot under the wheel centre to this spot; behind it is minus. LEFT: from the string on the centreline straight across to \
    this spot. UP: from the floor straight up to the middle of the bolt. Picture it from above: the wheel centre is the zero of \
    the first figure, the centreline of the second, the floor of the third. The LEFT wheel is described, so the second figure is \
    never minus. Where a tape does not get through, stop here: `rodset interview --survey FILE` asks for what you can measure \
    and works out the points.";

/// How a cam's position is told.
const CAM_STANDS: &str = "Standing before the plate: how many of its marks is it turned from the middle one, and does that move the bolt \
    OUTBOARD, along the link towards the wheel, or INBOARD, away from it? Say `1 mark outboard`, `1.5 marks inboard`. Without marks: how \
    far the bolt is off the middle of its slot, `2.5 mm inboard`; or where the high point of the eccentric stands, `towards the wheel` \
    or `away from the wheel`. A bare figure is degrees, plus where the bolt had moved the way the slot runs: to the left, up, or forward; \
    on the right side to the right, up, or forward.";

/// A link of the starters.
#[derive(Debug)]
pub(crate) struct LinkExample {
    /// What it is called.
    pub(crate) name: &'static str,
    /// What it is used to set.
    pub(crate) sets: Option<&'static str>,
    /// Where it usually is.
    pub(crate) whereabouts: &'static str,
    /// What is to be said of its outer end.
    pub(crate) outer: &'static str,
    /// Its ends.
    pub(crate) ends: [&'static str; 2],
    /// An arm for it: shortest and longest, and the length at which its thread was measured; none where it sets nothing.
    pub(crate) arm: Option<[&'static str; 3]>,
    /// The way the slot of its cam runs.
    pub(crate) along: &'static str,
}

/// Where a link may lie; the places that go with it are a table of their own.
pub(in crate::profile) const LIES: [&str; 11] = [
    "above, across",
    "above, forward",
    "above, front",
    "above, rear",
    "below, front",
    "below, rear",
    "below, forward",
    "toe, behind",
    "toe, ahead",
    "below, wide",
    "above, wide",
];

/// The five links of an ordinary car.
pub(crate) const EXAMPLES: [LinkExample; 5] = [
    LinkExample {
        name: "upper",
        sets: Some("camber"),
        whereabouts: "the link across the car above the driveshaft",
        outer: "",
        ends: ["[0.0, 440.0, 450.0]", "[0.0, 670.0, 465.0]"],
        arm: Some(["225.0", "260.0", "235.0"]),
        along: "[0.0, 1.0, 0.0]",
    },
    LinkExample {
        name: "toe",
        sets: Some("toe"),
        whereabouts: "the thin link across the car behind or before the driveshaft that steers the wheel",
        outer: "",
        ends: ["[-160.0, 360.0, 220.0]", "[-145.0, 690.0, 205.0]"],
        arm: Some(["315.0", "350.0", "330.0"]),
        along: "[0.0, 1.0, 0.0]",
    },
    LinkExample {
        name: "traction",
        sets: Some("pitch"),
        whereabouts: "the link that runs mostly along the car, from the top of the wheel carrier forward",
        outer: "",
        ends: ["[240.0, 520.0, 415.0]", "[10.0, 665.0, 430.0]"],
        arm: Some(["260.0", "290.0", "273.0"]),
        along: "[1.0, 0.0, 0.0]",
    },
    LinkExample {
        name: "lower front",
        sets: None,
        whereabouts: "the front one of the two lower links, or the front half of a wide lower arm",
        outer: "",
        ends: ["[115.0, 345.0, 200.0]", "[20.0, 685.0, 200.0]"],
        arm: None,
        along: "[0.0, 1.0, 0.0]",
    },
    LinkExample {
        name: "lower rear",
        sets: None,
        whereabouts: "the rear one of the two lower links, or the rear half of a wide lower arm",
        outer: " If both lower links end in one joint, give the same figures for both.",
        ends: ["[-60.0, 325.0, 210.0]", "[-15.0, 690.0, 190.0]"],
        arm: None,
        along: "[0.0, 1.0, 0.0]",
    },
];

/// A pivot, as an interview asks for it.
const fn pivot(example: &'static str, title: &'static str, ask: &'static str) -> Key {
    point(example)
        .measured()
        .how(POINT)
        .asked(title, ask, "-160, 360, 220   or   -6 1/4 in, 14 1/8 in, 8 5/8 in")
        .answered(Answer::Point)
}

/// An eccentric bolt at a subframe's pivot.
const fn cam() -> Key {
    table(&Cam::TABLE)
        .asked(
            "Cam of {link}: is there one?",
            "Is the bolt at the subframe end of the link \"{link}\" an eccentric bolt, for alignment?",
            "yes, or no",
        )
        .answered(Answer::Whether)
}

/// What a joint may carry.
const fn rating(noun: &'static str, example: &'static str) -> Key {
    key(Kind::Force)
        .called(noun)
        .like(example)
        .within(500.0, 1e6)
        .also("5400 lbf")
        .hint("a bare number is N; kN need their unit: \"24 kN\"")
}

/// A bar's stress or modulus, N/mm2.
const fn stress(noun: &'static str, example: &'static str) -> Key {
    key(Kind::Stress)
        .called(noun)
        .like(example)
        .also("50 ksi")
        .hint("a bare number is N/mm2, which is MPa; others need their unit: \"205 GPa\", \"50 ksi\"")
}

/// A figure of a bar's section.
const fn of_section(unit: &'static str, example: &'static str) -> Key {
    key(Kind::Number(unit)).like(example).refused("no arm's section has that").unshown()
}

/// How far a joint may tilt or bend, degrees.
pub(super) const fn limit(example: &'static str) -> Key {
    angle("a joint's limit", example)
        .within(0.0, 89.9)
        .refused("no joint bends that far")
        .hint("how far it may tilt from square, one way, in degrees")
}

/// A thread as it is written.
const fn thread(example: &'static str) -> Key {
    text(example).also("\"5/8-18 UNF\"").how(
        "It is stamped on the part or stands in its papers: nominal size and pitch. A pitch gauge, or ten turns measured, tells the pitch.",
    )
}

/// The keys of an arm as a solid and as a chain, which the stock one and the one in its place have alike.
macro_rules! with_arm_keys {
    ($(#[doc = $about:literal])+ $table:ident { $($own:tt)+ } $misalignment:expr, $radius:literal, $joints:literal, $outer:literal, $inner:literal, $yields:literal) => { keys! {
        pub(super) fields;
        $(#[doc = $about])+
        $table {
            $($own)+
            /// Half the thickness of the arm's bar, mm, for clearances. An arm without one has the stock arm's.
            radius: Quantity = length("the bar's radius", $radius)
                .within(0.0, 100.0)
                .refused("no arm is that thick")
                .hint("`radius` is half the thickness of the bar, in mm");
            /// If it is bent: how far along a string from the subframe bolt, how far off it, mm, corner by corner.
            bend: PointRows = key(Kind::Rows(2)).like("[[80.0, 25.0], [150.0, 25.0]]").how(
                "Lay the arm down, stretch a string from bolt middle to bolt middle, and give for each corner of the bar's middle line how \
                 far along the string from the subframe bolt, and how far off it.",
            );
            /// Which way the bend stands off as fitted; here: up.
            bend_towards: Vec<Quantity> = direction("a bend", "[0.0, 0.0, 1.0]");
            /// What it turns in, subframe end first; left out: bushes of a stock arm, rod ends of one in its place.
            joints: Vec<Spanned<JointName>> = key(Kind::Choices(&["bush", "rod end"], 2)).like($joints);
            /// How far its rod ends may tilt either way, degrees, from their maker's table.
            misalignment: Quantity = $misalignment;
            /// The bar across: a round bar or tube, and its yield stress; any other shape by area (mm2), inertia (mm4) and edge (mm).
            section: Section = table(&Section::TABLE)
                .like(concat!("{ outer = ", $outer, ", inner = ", $inner, ", yield = ", $yields, " }"));
            /// What its joints may carry, N.
            joint_rating: Force = rating("a joint's rating", "\"30 kN\"");
        }
    } };
}

with_arm_keys! {
    /// A rod between the subframe and the knuckle.
    Link {
        /// What it is called; rename the links as you like.
        name: String = text("\"upper\"").needed();
        /// What it is: a rod, a wishbone with one outer joint, a blade (a trailing arm to which the knuckle is bolted) or a strut; left
        /// out: a rod.
        kind: Member = key(Kind::Choice(&Member::NAMES)).like("\"wishbone\"").unshown();
        /// The wishbone on which its inner end stands, by its name, in place of the subframe: the upright link of an integral link axle.
        on: String = text("\"lower\"").unshown();
        /// The front inner pivot of a wishbone.
        front: Pivot = table(&Pivot::TABLE).of(&["wishbone"]).unshown();
        /// The rear inner pivot of a wishbone.
        rear: Pivot = table(&Pivot::TABLE).of(&["wishbone"]).unshown();
        /// The bolt that leans the knuckle against a strut.
        lean: Lean = table(&Lean::TABLE)
            .of(&["strut"])
            .unshown()
            .asked(
                "Bolts of {link}: does one lean it?",
                "Two bolts clamp the strut \"{link}\" to the wheel carrier. Is one of them eccentric, or does its hole leave it room to move \
                 across, so that the wheel carrier leans against the strut?",
                "yes, or no",
            )
            .answered(Answer::Whether);
        /// What it is used to set: "camber", "toe" or "pitch"; leave it out if nothing.
        sets: Sets = key(Kind::Choice(&["camber", "toe", "pitch"])).like("\"camber\"");
        /// Where it lies, in a file that begins from a typical layout: above or below the driveshaft, or the one that steers.
        lies: String = key(Kind::Choice(&LIES)).like("\"above, across\"").unshown().asked(
            "Link {link}: where it lies",
            "Look under the car at the link \"{link}\", the one that steers the wheel: does it meet the knuckle behind the wheel centre or \
             ahead of it? It is never assumed: with the wrong side every turn would go the wrong way. Answer `toe, behind` or `toe, ahead`.",
            "toe, behind",
        );
        /// Middle of the bolt on the subframe: x forward, y left, z up, mm.
        subframe: Vec<Quantity> = pivot(
            "[0.0, 440.0, 450.0]",
            "Link {link}: subframe end",
            "The link \"{link}\": {where}. Where is the middle of the bolt at its inner end, on the subframe? Three figures with commas: \
             how far ahead of the wheel centre (behind it: minus), how far to the left of the centreline, how high above the floor.",
        )
        .of(&["rod", "blade", "strut"]);
        /// Standard deviations of its three coordinates, mm.
        subframe_sigma: Vec<Quantity> = deviations();
        /// Middle of the bolt on the knuckle, the wheel carrier: x forward, y left, z up, mm.
        knuckle: Vec<Quantity> = pivot(
            "[0.0, 670.0, 465.0]",
            "Link {link}: knuckle end",
            "The link \"{link}\": {where}. Where is the middle of the bolt at its outer end, on the knuckle? Three figures with commas: \
             how far ahead of the wheel centre (behind it: minus), how far to the left of the centreline, how high above the floor.{outer}",
        )
        .of(&["rod", "wishbone", "strut"]);
        /// Standard deviations of its three coordinates, mm.
        knuckle_sigma: Vec<Quantity> = deviations();
        /// What this stock arm itself measures, centre to centre, mm: the bench sheet goes by it, and it checks both points.
        measured_length: Quantity = length("the length of the stock arm", "230.0")
            .read()
            .also("9 1/2 in")
            .how("Off the car, straight from hole centre to hole centre, on tight-fitting pins: bolts sit loosely in their sleeves.");
        /// How well you know that: its standard deviation, mm.
        measured_length_sigma: Quantity = deviation("1.0").within(0.0, 200.0);
        /// Whether the points came from it already; the program writes it.
        measured_length_used: bool = flag("true").unshown();
        /// The adjustable arm that is to replace the stock one.
        arm: Arm = table(&Arm::TABLE)
            .asked(
                "Arm for {link}: is there one?",
                "Do you have, or mean to buy, an adjustable arm in place of the link \"{link}\"?",
                "yes, or no",
            )
            .answered(Answer::Whether);
        /// The stock eccentric bolt at the subframe end.
        cam: Cam = cam();
        /// The way the bolt runs at the subframe.
        subframe_axis: Vec<Quantity> = direction("a bolt", "[1.0, 0.0, 0.0]");
        /// The way the bolt runs at the knuckle.
        knuckle_axis: Vec<Quantity> = direction("a bolt", "[1.0, 0.0, 0.0]");
        /// What the subframe's bracket may carry, N, if anybody vouches for it.
        bracket_rating: Force = rating("a bracket's rating", "\"24 kN\"");
        /// The bolt at the subframe.
        bolt: Bolt = table(&Bolt::TABLE);
        /// The bolt at the knuckle, by the keys of [link.bolt]; a ball joint has none, an eye that is bolted to one face has 1 face.
        knuckle_bolt: Bolt = table(&Bolt::TABLE).like("{ thread = \"M14x1.5\", class = \"10.9\", torque = 120.0, faces = 1 }");
    }
    limit("20.0").unshown(), "15.0", "[\"bush\", \"bush\"]", "30.0", "25.0", "240.0"
}

with_arm_keys! {
    /// The adjustable arm that is to replace the stock one.
    Arm {
        /// One or two threads, subframe end first; one entry if only one end turns.
        threads: Vec<Spanned<String>> = key(Kind::Texts(1, 2))
            .like("[\"M16x1.5 RH\", \"M16x1.5 LH\"]")
            .also("[\"5/8-18 UNF RH\", \"5/8-18 UNF LH\"]")
            .needed()
            .how(
                "It is stamped on the part or stands in the arm's papers: nominal size, pitch, and RH or LH for a right-hand or a \
                 left-hand thread. Left-hand ends often have a groove round the nut. A pitch gauge, or ten turns measured, tells the \
                 pitch. An arm of which only one end turns has one thread.",
            )
            .asked(
                "Arm for {link}: threads",
                "Which threads do its ends have, and which way do they turn, RH or LH? The subframe end first, with \
                 a comma between; one alone if only one end is screwed in.",
                "M16x1.5 RH, M16x1.5 LH   or   5/8-18 UNF RH, 5/8-18 UNF LH",
            )
            .answered(Answer::List);
        /// Hole centre to hole centre, both ends fully home, mm.
        shortest: Quantity = length("the shortest length", "225.0").also("8 7/8 in").needed().asked(
            "Arm for {link}: shortest",
            "Screw both ends fully home. How long is the arm then, from the middle of one hole to the middle of the other?",
            "225, or 8 7/8 in",
        );
        /// The longest it may be, hole centre to hole centre, mm.
        longest: Quantity = length("the longest length", "260.0").also("10 1/4 in").needed().asked(
            "Arm for {link}: longest",
            "And how long may it be at most, hole centre to hole centre, by its maker or its witness holes?",
            "260",
        );
        /// Thread in the body per end, measured at an overall length; the arm maker's least, if he gives one, as `minimum = 20.0`
        /// beside it.
        engaged: Engaged = table(&Engaged::TABLE)
            .like("{ at = 235.0, length = 25.0 }")
            .how(
                "Mark each shank at its lock nut, note the length of the arm, unscrew the end and measure the thread that was inside. \
                 Too little thread in the body lets an arm pull out: with this figure the plan refuses such a length.",
            )
            .asked(
                "Arm for {link}: thread inside",
                "At some length of the arm, how much thread of each end is inside the body? Two figures with a comma: that length, \
                 the thread inside per end.",
                "235, 25",
            )
            .answered(Answer::Engaged);
        /// The least part of a turn that can be locked; left out: 1/12, or 1/2 with one thread.
        step: Quantity = key(Kind::Number("turns"))
            .called("the step")
            .like("0.25")
            .within(0.001, 10.0)
            .refused("the step is the least part of a turn that can be locked");
        /// From the middle of a joint to where its threaded shank comes out of the body or the lock nut, mm: only of an arm that carries
        /// the spring, which bends it there.
        shank_out: Quantity = length("how far the shank stands out", "35.0").within(5.0, 200.0);
        /// Property class of its threaded shanks.
        thread_class: String = text("\"8.8\"").how("It is stamped on the shank, or stands in the arm's papers.");
    }
    limit("15.0"), "12.0", "[\"rod end\", \"rod end\"]", "26.0", "15.0", "460.0"
}

keys! {
    pub(super) fields;

    /// One of the two inner pivots of a wishbone.
    Pivot {
        /// What its cam is used to set: "camber", "toe" or "pitch"; leave it out if nothing.
        sets: Sets = key(Kind::Choice(&["camber", "toe", "pitch"])).like("\"camber\"");
        /// Middle of the bolt on the subframe: x forward, y left, z up, mm.
        subframe: Vec<Quantity> = pivot(
            "[115.0, 345.0, 200.0]",
            "Link {link}: bolt on the subframe",
            "The pivot \"{link}\" of the wide arm. Where is the middle of its bolt on the subframe? Three figures with commas: how far ahead \
             of the wheel centre (behind it: minus), how far to the left of the centreline, how high above the floor.",
        );
        /// Standard deviations of its three coordinates, mm.
        subframe_sigma: Vec<Quantity> = deviations();
        /// The stock eccentric bolt here.
        cam: Cam = cam();
        /// The way the bolt runs.
        subframe_axis: Vec<Quantity> = direction("a bolt", "[1.0, 0.0, 0.0]");
        /// What the subframe's bracket may carry, N, if anybody vouches for it.
        bracket_rating: Force = rating("a bracket's rating", "\"24 kN\"");
        /// The bolt.
        bolt: Bolt = table(&Bolt::TABLE);
    }

    /// The eccentric or slotted bolt between a strut and the knuckle, which leans the knuckle against the strut.
    Lean {
        /// What it is used to set; left out: camber.
        sets: Sets = key(Kind::Choice(&["camber", "toe", "pitch"])).like("\"camber\"");
        /// Half of how far the knuckle moves at this bolt from end to end, mm.
        eccentricity: Quantity = length("the eccentricity", "3.0")
            .within(0.0, 50.0)
            .refused("no cam moves its bolt by {} either way")
            .needed()
            .hint("it is half of the whole movement in the slot")
            .asked(
                "Bolt of {link}: eccentricity",
                "How far does the wheel carrier move at this bolt from end to end? Give HALF of that.",
                "3",
            );
        /// From the strut's bolt that stays, `knuckle`, to this one, along the strut, mm; minus where this one is the lower.
        above: Quantity = length("the distance of a strut's two bolts", "60.0")
            .within(-400.0, 400.0)
            .needed()
            .refused("no strut has its two bolts {} apart")
            .asked(
                "Bolt of {link}: how far above the other",
                "How far is the middle of this bolt above the middle of the one that stays, along the strut? Below it: minus.",
                "58, or 2 1/4 in",
            );
        /// Marks between the middle and full throw.
        marks: i64 = key(Kind::Whole).called("the number of marks").like("4").within(1.0, 90.0);
        /// How it was found, from its middle: outboard moves the knuckle outward at this bolt.
        setting: CamPosition = key(Kind::CamPosition).like("\"1 mark outboard\"").also("\"1.5 mm inboard\"");
    }

    /// The eccentric bolt at the subframe.
    Cam {
        /// Half of how far the bolt moves in its slot from end to end, mm.
        eccentricity: Quantity = length("the eccentricity", "4.0")
            .within(0.0, 50.0)
            .refused("no cam moves its bolt by {} either way")
            .also("5/32 in")
            .needed()
            .hint("it is half of the pivot's whole movement in the slot")
            .how(
                "Turn it from one end to the other and measure how far the middle of the bolt moves in its slot; half of that is \
                 the eccentricity. Mark where it stood before you turn it.",
            )
            .asked(
                "Cam of {link}: eccentricity",
                "How far does the bolt move in its slot from end to end? Give HALF of that.",
                "4",
            );
        /// The way the slot runs.
        along: Vec<Quantity> = direction("the slot", "[0.0, 1.0, 0.0]")
            .needed()
            .asked("Cam of {link}: way of the slot", "Which way does the slot run: across the car, up, or forward?", "across")
            .answered(Answer::Along);
        /// Marks between the middle and full throw.
        marks: i64 = key(Kind::Whole)
            .called("the number of marks")
            .like("6")
            .within(1.0, 90.0)
            .refused("marks counts the graduations from the middle to full throw")
            .asked(
                "Cam of {link}: marks",
                "How many marks does its plate have between the middle and full throw, a quarter of a turn?",
                "6",
            );
        /// How it was found, from the middle of its slot: outboard is towards the wheel; without marks "1.5 mm inboard", or where
        /// its high point stands, "towards the wheel"; a bare number is degrees, plus: the way of `along`.
        setting: CamPosition = key(Kind::CamPosition)
            .like("\"1 mark outboard\"")
            .also("\"1.5 mm inboard\"")
            .how(CAM_STANDS)
            .asked(
                "Cam of {link}: as found, left",
                "Where did it stand on the LEFT when you measured, counted from its middle? In the middle: leave it out.",
                "1 mark outboard   or   15   or   1.5 mm inboard",
            )
            .right(
                "\"2 marks inboard\"",
                "Cam of {link}: as found, right",
                "And on the RIGHT? Left and right cams hardly ever stand alike. In the middle there, but not on the left: 0.",
                "2 marks inboard   or   0",
            );
    }

    /// Thread in the body of an arm, per end.
    Engaged {
        /// The overall length of the arm, hole centre to hole centre, at which its thread was measured, mm.
        at: Quantity = length("the length at which thread was measured", "235.0").needed();
        /// The thread inside the body at each end then, mm.
        length: Quantity = length("the thread in the body", "25.0").needed();
        /// The least thread that must stay in the body, mm, by the word of the arm's maker; left out: one nominal diameter.
        minimum: Quantity = length("the least thread", "20.0");
    }

    /// An arm's bar across: a round bar or tube by its diameters, any other shape by area, inertia and edge.
    Section {
        /// Outer diameter, mm.
        outer: Quantity = length("the outer diameter", "30.0").within(0.0, 200.0).refused("no arm is a tube like that");
        /// Inner diameter of a tube, mm; 0 or left out if solid.
        inner: Quantity = length("the inner diameter", "24.0");
        /// Of any other shape: its area, mm2.
        area: f64 = of_section("mm2", "310.0").within(0.001, 1e5);
        /// Its second moment of area, the least, mm4.
        inertia: f64 = of_section("mm4", "42000.0").within(0.001, 1e9);
        /// From its middle to its outermost edge, mm.
        edge: Quantity = length("the distance to the edge", "15.0").unshown();
        /// Yield stress, N/mm2, from the arm's maker or the table of its steel.
        yields as "yield": Stress = stress("the yield stress", "240.0").within(50.0, 2500.0).needed();
        /// Modulus of elasticity, N/mm2; left out: steel.
        modulus: Stress = stress("the modulus of elasticity", "\"205 GPa\"").within(10_000.0, 500_000.0).unshown();
    }

    /// The bolt at an end of a link.
    Bolt {
        /// Its thread.
        thread: String = thread("\"M12x1.25\"").needed();
        /// Property class, as it stands on its head; of an inch bolt its grade: "grade 5" has three lines there, "grade 8" six.
        class: String = text("\"8.8\"").needed();
        /// Torque of its nut, N m, from the manual.
        torque: Torque = key(Kind::Torque)
            .called("a torque")
            .like("85.0")
            .within(1.0, 2000.0)
            .also("80 lbf ft")
            .refused("no pivot's nut is torqued to {}")
            .hint("a bare number is N m; others need their unit: \"80 lbf ft\"");
        /// How threads and nut face are when it is torqued; left out: dry. Your own nut factor as `nut_factor`.
        lubrication: String =
            key(Kind::Choice(&["dry", "oiled", "anti-seize"])).formerly("threads").like("\"dry\"");
        /// From - to of the nut factor K in T = K F d, where it was measured.
        nut_factor: Vec<f64> = key(Kind::Stretch)
            .called("the nut factor")
            .like("[0.15, 0.20]")
            .within(0.03, 0.6)
            .hint("from - to of K in T = K F d: nut_factor = [0.15, 0.20]")
            .unshown();
        /// From - to of the friction between the clamped faces.
        friction: Vec<f64> = key(Kind::Stretch)
            .called("the friction of the clamped faces")
            .like("[0.10, 0.20]")
            .within(0.02, 1.0)
            .hint("from - to: friction = [0.10, 0.20]");
        /// Clamped faces that would have to slip; a sleeve between two ears has 2, an eye on one face has 1.
        faces: i64 = key(Kind::Whole)
            .like("2")
            .within(1.0, 4.0)
            .refused("faces counts the clamped faces that would have to slip")
            .hint("a sleeve between two ears has 2, an eye bolted to one face has 1");
    }
}

impl Link {
    /// Its pivots, at the subframe and at the knuckle.
    pub(in crate::profile) const ENDS: [Slot<Self, Vec<Quantity>>; 2] = [Self::subframe, Self::knuckle];
    /// How well each is known.
    pub(in crate::profile) const END_SIGMAS: [Slot<Self, Vec<Quantity>>; 2] =
        [Self::subframe_sigma, Self::knuckle_sigma];
}

/// What a link is used to set.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(in crate::profile) enum Sets {
    Camber,
    Toe,
    Pitch,
}

/// What an arm turns in.
#[derive(Debug, Clone, Copy, Deserialize)]
pub(in crate::profile) enum JointName {
    #[serde(rename = "bush")]
    Bush,
    #[serde(rename = "rod end")]
    RodEnd,
}
