//! The whole file, the car, the wheel, how it stands and what it should read.

use std::ops::{Range, RangeInclusive};
use toml::Spanned;

use super::key::{
    Answer, Declared, Key, Kind, Slot, angle, camber, deviation, deviations, flag, key, keys, length, point,
    table, text, toe, tolerance,
};
use super::{Damper, Driveshaft, Keepout, Link, Loads, Spring, Survey, Tyre};
use crate::car::Measurand;
use crate::measure::MOST_DEG;
use crate::profile::Quantity;

const READ: &str = "Bare figures are degrees. Minutes need their sign: 0°45' is 0.75 degree, 45' the same. A gauge or a level goes on \
    the rim, never on the tyre.";
const SLIPS: &str = "Manuals print degrees and minutes (0°20' is a third of a degree, not 0.20), or mm; and toe of each wheel, or the total \
    of both. `rodset spec` shows a printed figure in every unit.";

/// What the program writes, and nobody by hand.
const fn written(kind: Kind, example: &'static str) -> Key {
    key(kind).like(example).needed().unshown().read()
}

/// Bump or droop travel, mm.
const fn travel(noun: &'static str, example: &'static str) -> Key {
    length(noun, example).within(0.0, 1000.0).also("3 1/2 in").refused("{noun} is more than any car has")
}

/// What toe of a wheel may be, degrees.
const fn wheel_toe(example: &'static str) -> Key {
    toe("toe", example).signed(MOST_DEG).also("0.8 mm")
}

keys! {
    pub(super) fields;

    /// One rear wheel and its five links, as measured; the right side is the mirror image unless `right` says otherwise.
    Profile {
        /// The version of the format: 1.
        format: i64 = key(Kind::Whole).like("1").within(1.0, 1.0).needed();
        /// The car as a whole.
        car: Car = table(&Car::TABLE).needed();
        /// A typical layout to begin from: each link says how it `lies`, and points that are given are taken as they are.
        typical: Typical = table(&Typical::TABLE).unshown();
        /// The left rear wheel as it was measured.
        wheel: Wheel = table(&Wheel::TABLE).measured();
        /// How the car stands, and how far the wheel can move.
        ride: Ride = table(&Ride::TABLE);
        /// From the maker's manual; mind whether it says each wheel or total, degrees or minutes.
        spec: Spec = table(&Spec::TABLE)
            .asked(
                "The spec: is it at hand?",
                "Do you have the maker's figures for rear camber and toe? Without them nothing can be planned; they can be added later.",
                "yes, or no",
            )
            .answered(Answer::Whether);
        /// How well you measured, as standard deviations; left out, by hand as here.
        sigma: Sigma = table(&Sigma::TABLE);
        /// The five links: middle of the bolt on the subframe, middle of the bolt on the knuckle (the wheel carrier).
        link: Vec<Spanned<Link>> = key(Kind::Tables(&Link::TABLE, 5)).needed();
        /// The driveshaft, for the angles of its joints.
        driveshaft: Driveshaft = table(&Driveshaft::TABLE);
        /// The spring and what it carries, for rates, collars and the loads of links.
        spring: Spring = table(&Spring::TABLE);
        /// The damper and its bump stop, for what travel it leaves.
        damper: Damper = table(&Damper::TABLE);
        /// How hard the road pushes: up, inward, rearward, times what the wheel carries standing; each left out is as here (common
        /// practice, no source).
        loads: Loads = table(&Loads::TABLE);
        /// The tyre off the ground, and its rim, for clearances.
        tyre: Tyre = table(&Tyre::TABLE);
        /// What must not touch, for clearances: points in the same axes as the links. What stands on one side has its mirror image
        /// on the other.
        keepout: Vec<Spanned<Keepout>> = key(Kind::Tables(&Keepout::TABLE, 50));
        /// What is different on the right: any of the values above, by the same keys; points of the right side have a negative y.
        right: Right = table(&Right::TABLE);
        /// What was measured under the car, in place of the points.
        survey: Survey = table(&Survey::TABLE).unshown();
        /// How the errors of the points go together; the program writes it.
        correlation: Correlation = table(&Correlation::TABLE).unshown();
    }

    /// What is different on the right, by the same keys; points are points of the right side (y is negative).
    Right {
        /// What the right wheel reads; left out: as the left one.
        wheel: Wheel = table(&Wheel::TABLE);
        /// How the right side stands; left out: as the left one.
        ride: Ride = table(&Ride::TABLE);
        /// What the right wheel should read, where that is otherwise than on the left.
        spec: Spec = table(&Spec::TABLE);
        /// The right tyre.
        tyre: Tyre = table(&Tyre::TABLE);
        /// The right driveshaft.
        driveshaft: Driveshaft = table(&Driveshaft::TABLE);
        /// The right spring.
        spring: Spring = table(&Spring::TABLE);
        /// The right damper.
        damper: Damper = table(&Damper::TABLE);
        /// The link on the right, by its name, with what is otherwise there; points of the right side: y is negative.
        link: Vec<Spanned<Link>> = key(Kind::Tables(&Link::TABLE, 5));
    }

    /// The car as a whole.
    Car {
        /// By how much it is still to be lowered, mm; 0 where it stands at its final height. Taken where no `--drop` is given.
        drop: Quantity = length("the drop", "40.0")
            .within(-300.0, 300.0)
            .also("1 1/2 in")
            .refused("no car comes down by {}")
            .how(
                "Hub centre to arch lip now, less what it is to be. A car that is down already is read as it stands, which is the shortest \
                 way: camber and toe where they matter.",
            )
            .unshown()
            .asked(
                "Is the car at its final height?",
                "If it is down already: 0. If it is still to be lowered: by how much, at the rear, in mm.",
                "0, or 40",
            );
        /// What you call the car; it stands at the head of every page.
        name: String = text("\"my car\"").needed().asked(
            "The car: its name",
            "What do you call the car? It stands at the head of every page.",
            "my car",
        );
        /// Wheelbase, mm; only needed if the front is lowered by another amount than the rear.
        wheelbase: Quantity = length("the wheelbase", "2520.0")
            .within(1000.0, 8000.0)
            .also("104 in")
            .refused("no car has a wheelbase of {}")
            .how(
                "Straight along the car from the middle of the front wheel to the middle of the rear one. If the front comes down by \
                 another amount, the whole body tilts a little, and it takes the wheelbase to say by how much.",
            )
            .asked(
                "The car: wheelbase",
                "Will the front come down by another amount than the rear? Then give the distance between the middles of front and \
                 rear wheel. If both come down alike, or you do not know yet, leave it out.",
                "2520, or 99 1/4 in",
            );
        /// Centre of gravity above the floor, mm; only needed for anti-squat and anti-lift in percent.
        gravity_height: Quantity = length("the height of the centre of gravity", "520.0")
            .within(150.0, 1500.0)
            .also("20 in")
            .refused("no car has its centre of gravity {} above the floor")
            .how(
                "From papers, or by weighing: the rear wheels on scales, once level and once with the front raised by a known height; what \
                 the rear then carries more tells how high the centre is. A guess of 500 to 550 mm fits most lowered cars.",
            );
        /// The rear axle's part of the braking force, 0 to 1; only needed for anti-lift in percent.
        rear_brake_share: Quantity = key(Kind::Number("")).called("the rear's part of the braking")
            .like("0.3")
            .within(0.0, 1.0)
            .refused("a share is a number from 0 to 1")
            .hint("for 35 percent write 0.35");
        /// Readings that have gone into the points, by their fingerprints; they are not learnt twice. The program writes it.
        learnt: Vec<String> = key(Kind::Texts(0, 10_000)).like("[\"5f2a90c1d3e4\"]").unshown();
        /// Whether the rear wheels are steered: for the number of lock-out kits.
        rear_steering: bool = flag("false");
        /// Whether an engine drives the rear wheels; false: no drive case is looked at.
        driven: bool = flag("true");
    }

    /// A rear wheel as it was measured.
    Wheel {
        /// Middle of the wheel, at hub height: x forward, y to the left of the centreline, z above the floor, mm.
        centre: Vec<Quantity> = point("[0.0, 750.0, 310.0]")
            .measured()
            .also("[\"0 in\", \"29 5/8 in\", \"12 1/4 in\"]")
            .how(
                "Car on its wheels on a level floor, loaded as you will load it for every reading. From the string on the centreline \
                 straight across to the middle of the tyre's tread is half of the track. Then from the floor straight up to the \
                 middle of the hub. Picture the wheel from behind: one figure goes sideways, one goes up, both end in its middle.",
            )
            .asked(
                "The left rear wheel: where it stands",
                "Where is the wheel centre? Two figures with a comma: how far from the centreline, and how high above the floor.",
                "750, 310   or   29 1/2 in, 12 1/4 in",
            )
            .answered(Answer::Centre);
        /// Standard deviations of the wheel centre's three coordinates, mm.
        centre_sigma: Vec<Quantity> = deviations();
        /// Standard deviation of the camber, degrees, where it is another one than `[sigma]` says.
        camber_sigma: Quantity = angle("a standard deviation", "0.08").within(0.0, 5.0).unshown();
        /// Standard deviation of the toe, degrees, where it is another one than `[sigma]` says.
        toe_sigma: Quantity = angle("a standard deviation", "0.04").within(0.0, 5.0).unshown();
        /// Only needed for toe in mm or inches: the diameter at which it is measured, mm.
        rim_diameter: Quantity = length("the rim's diameter", "\"17 in\"")
            .within(200.0, 1000.0)
            .also("17 in")
            .refused("no rim is {} across")
            .how(
                "A distance says nothing without the diameter across which it was measured: 2 mm across a rim of 17 inches is another \
                 angle than 2 mm across the tyre. Give the diameter between the two places where you put the rule.",
            )
            .asked(
                "The wheel: how toe is read",
                "Do you have toe as a distance, in mm or inches between front and rear edge of the rim? Then give the diameter there. \
                 If you have it in degrees or minutes, leave it out.",
                "17 in, or 432",
            );
        /// Camber as read, degrees; minus: the top leans in.
        camber: Quantity = camber("-0.8")
            .measured()
            .also("-0°48'")
            .how(READ)
            .asked("The left wheel: camber", "What camber does the left rear wheel have now, as read?", "-0.8   or   -0°48'")
            .right("-0.7", "The right wheel: camber", "And the right rear wheel? Minus is top in on this side too.", "-0.7");
        /// Toe of this wheel alone, degrees, or mm across the rim; plus: toe-in.
        toe: Quantity = wheel_toe("0.10")
            .measured()
            .how(READ)
            .asked(
                "The left wheel: toe",
                "What toe does the left rear wheel have now, this wheel alone? A total of both wheels is about twice that.",
                "0.10   or   6'   or   0.8 mm",
            )
            .right(
                "0.05",
                "The right wheel: toe",
                "And the right rear wheel, this wheel alone? Plus is front inwards on this side too.",
                "0.05",
            );
        /// Hub centre to floor, car on its wheels, mm: where the tyre stands. Left out: the height of the centre.
        loaded_radius: Quantity = length("the loaded radius", "310.0")
            .also("12 1/4 in")
            .how("With a tape from the floor straight up to the middle of the hub; forces, roll centre and track are counted from there.");
    }

    /// How the car stands, and how far the wheel can move.
    Ride {
        /// How the car is loaded for every reading, one line of your own.
        loading: String = text("\"half tank, nobody aboard\"")
            .how(
                "Fuel, spare wheel, people: whatever was in the car when it was measured has to be in it at every later reading, \
                 or the heights and angles do not compare.",
            )
            .asked(
                "How it stands: load",
                "How was the car loaded when you measured? One line of your own.",
                "half tank, nobody aboard",
            );
        /// Hub centre straight up to the arch lip, now, mm.
        arch_gap: Quantity = travel("the arch gap", "370.0")
            .also("14 1/2 in")
            .asked(
                "How it stands: arch gap",
                "What is the arch gap at the left rear wheel now? With it the new height can be given as a gap instead of a drop.",
                "370, or 14 1/2 in",
            )
            .right(
                "368.0",
                "How it stands: arch gap on the right",
                "And at the right rear wheel? Hardly a car stands level to the mm.",
                "368",
            );
        /// How far the wheel can still go up from here, the bump stop fully compressed, mm.
        bump: Quantity = travel("bump travel", "90.0").asked(
            "How it stands: travel up",
            "How much bump travel does the wheel have from here? With it the pages say when a drop takes the wheel to its stop.",
            "90",
        );
        /// How far the wheel can go down from here, until it hangs, mm.
        droop: Quantity =
            travel("droop travel", "85.0").asked("How it stands: travel down", "And how much droop travel?", "85");
    }

    /// What each wheel should read at the new height, from the maker's manual.
    Spec {
        /// Camber that is wanted, degrees; minus: the top leans in.
        camber: Quantity = camber("-1.0")
            .needed()
            .read()
            .also("-1°00'")
            .how(SLIPS)
            .asked("The spec: camber", "What camber is wanted?", "-1.0   or   -1°00'");
        /// By how much camber may be off either way, degrees: its tolerance.
        camber_tolerance: Quantity = tolerance(Kind::Angle, "0.5")
            .ordinary("a tolerance of camber")
            .needed()
            .also("30'")
            .how(SLIPS)
            .asked("The spec: camber, tolerance", "By how much may it be off either way?", "0.5   or   30'");
        /// Toe that is wanted of each wheel, degrees, or mm across the rim; plus: toe-in. Or `total_toe` for the axle.
        toe: Quantity = wheel_toe("0.10")
            .ordinary("toe that is wanted")
            .read()
            .how(SLIPS)
            .asked(
                "The spec: toe",
                "What toe is wanted? Say behind it whether the manual means each wheel or the total of both.",
                "0.10 each   or   0°12' total   or   2 mm total",
            )
            .answered(Answer::Toe);
        /// Toe of both wheels together, in place of `toe`.
        total_toe: Quantity = Key { instead: "toe", ..toe("toe", "0.20").signed(40.0).ordinary("total toe that is wanted").also("1.6 mm").unshown() };
        /// By how much the toe of each wheel may be off either way, degrees, or mm across the rim.
        toe_tolerance: Quantity = tolerance(Kind::Toe, "0.05").ordinary("a tolerance of toe").needed().also("3'").how(SLIPS).asked(
            "The spec: toe, tolerance",
            "By how much may the toe of EACH wheel be off either way? Of a tolerance for the total, give half.",
            "0.05   or   3'",
        );
        /// Pitch of the knuckle that a fitted traction arm restores, degrees; 0 as measured; plus: top forward.
        pitch: Quantity = angle("pitch", "0.0").signed(20.0);
        /// The most that left and right camber may differ, degrees.
        cross_camber: Quantity = tolerance(Kind::Angle, "0.5").ordinary("a tolerance of camber").asked(
            "The spec: left against right",
            "By how much may the cambers of left and right differ, if the manual says so?",
            "0.5",
        );
        /// The largest angle of the axle to the car's centreline, degrees.
        thrust_angle: Quantity = tolerance(Kind::Angle, "0.25").ordinary("the thrust angle").asked(
            "The spec: thrust angle",
            "How large may the thrust angle be, if the manual says so?",
            "0.25",
        );
    }

    /// How well you measured, as standard deviations.
    Sigma {
        /// Each coordinate of a bolt or of the wheel centre, mm.
        point: Quantity = deviation("2.0").how("About 2 mm with plumb lines and a tape; half of that with care on a flat floor.");
        /// How far a point of the right side may be off the mirror image of the left one, each way, mm.
        mirror: Quantity = deviation("1.0").within(0.0, 50.0).how("No car is quite the same on both sides: 1 mm is usual, more after a knock.");
        /// Camber as read, degrees.
        camber: Quantity = tolerance(Kind::Angle, "0.08").ordinary("a standard deviation of an angle").how("Read it three times, rolling the car between: about half of how far the readings lie apart.");
        /// Toe of one wheel as read, degrees, or mm across the rim.
        toe: Quantity = tolerance(Kind::Toe, "0.04").ordinary("a standard deviation of an angle").how("Read it three times, rolling the car between: about half of how far the readings lie apart.");
        /// How closely the new height will be set, mm.
        drop: Quantity = deviation("2.0");
        /// Matching a new arm to its stock length on the bench, mm.
        preset: Quantity = deviation("0.4");
        /// The play of the bolts on which arms are measured, mm.
        slack: Quantity = deviation("0.3");
    }

    /// The car whose pivots would lie where they typically do; what is measured takes the place of it bit by bit.
    Typical {
        /// From the middle of one rear tyre straight across to the middle of the other, mm.
        track: Quantity = length("the track", "1500.0")
            .within(400.0, 5000.0)
            .needed()
            .also("59 in")
            .refused("no car has a track of {}")
            .how("With a tape on the floor, from the inner edge of one tyre to the outer edge of the other.")
            .asked(
                "The track",
                "From the middle of one rear tyre straight across to the middle of the other: a tape on the floor, from the inner edge of \
                 one tyre to the outer edge of the other.",
                "1500, or 59 in",
            );
        /// Hub centre to floor, mm.
        wheel_radius: Quantity = length("the wheel's radius", "310.0")
            .within(80.0, 1500.0)
            .needed()
            .also("12 1/4 in")
            .refused("no wheel stands {} high")
            .how("With a tape from the floor straight up to the middle of the hub.")
            .asked(
                "The wheel: how high its middle stands",
                "A tape from the floor straight up to the middle of the rear hub.",
                "310, or 12 1/4 in",
            );
        /// How far a pivot may be off its typical place, the standard deviation of each coordinate, mm; left out: 30.
        pivot: Quantity = deviation("30.0").within(1.0, 100.0).unshown();
        /// How well track and radius place the wheel centre, standard deviation, mm; left out: 2.
        wheel: Quantity = deviation("2.0").within(0.1, 50.0).unshown();
        /// Points that still rest on the typical layout; the program writes it.
        assumed: Vec<String> = key(Kind::Texts(0, 10)).like("[\"upper subframe\"]").unshown();
    }

    /// How the errors of the points go together; the program writes it.
    Correlation {
        /// The links, in the order of its numbers.
        links: Vec<String> =
            written(Kind::Texts(5, 5), "[\"upper\", \"toe\", \"traction\", \"lower front\", \"lower rear\"]");
        /// The lower triangle of the correlation matrix, row by row.
        rows: Vec<Spanned<Vec<f64>>> = written(Kind::Matrix, "[[0.1], [0.0, 0.2]]");
    }
}

impl Right {
    /// Its links, to be changed.
    pub(super) fn links_mut(&mut self) -> Option<&mut Vec<Spanned<Link>>> {
        self.link.as_mut().map(Spanned::get_mut)
    }

    /// Whether a point of the right side, by its place, stands by itself; a reading of the wheel always does.
    pub(in crate::profile) fn gives(&self, profile: &Profile, of: Measurand) -> bool {
        let end = |link: usize, end: usize| {
            let name = |link: &Spanned<Link>| {
                Link::name.of(link.get_ref()).map(|name| name.get_ref().trim().to_owned())
            };
            let named = Profile::link.all(profile).get(link).and_then(name);
            let alike = Self::link.all(self).iter().find(|link| named.is_some() && name(link) == named);
            alike.is_some_and(|link| Link::ENDS[end].of(link.get_ref()).is_some())
        };
        match of {
            Measurand::Subframe(link) => end(link, 0),
            Measurand::Knuckle(link) => end(link, 1),
            Measurand::Centre => {
                Self::wheel.of(self).is_some_and(|wheel| Wheel::centre.of(wheel.get_ref()).is_some())
            }
            Measurand::Camber | Measurand::Toe => true,
        }
    }
}

impl Profile {
    /// Whether its points are still to be worked out, and the place that says so.
    pub(in crate::profile) fn survey_span(&self) -> Option<Range<usize>> {
        let typical = || {
            Self::typical.span(self).filter(|_| Measurand::points().any(|point| self.point(point).is_none()))
        };
        Self::survey.span(self).or_else(typical)
    }

    /// How well a point of the left side is known, if that stands anywhere.
    pub(in crate::profile) fn point_sigma(&self, point: Measurand) -> Option<&Spanned<Vec<Quantity>>> {
        let end =
            |link: usize, end: usize| Link::END_SIGMAS[end].of(Self::link.all(self).get(link)?.get_ref());
        match point {
            Measurand::Subframe(link) => end(link, 0),
            Measurand::Knuckle(link) => end(link, 1),
            _ => Wheel::MIDDLE[1].of(Self::wheel.of(self)?.get_ref()),
        }
    }

    /// A point of the left side, if it stands anywhere.
    pub(in crate::profile) fn point(&self, point: Measurand) -> Option<&Spanned<Vec<Quantity>>> {
        let end = |link: usize, end: usize| Link::ENDS[end].of(Self::link.all(self).get(link)?.get_ref());
        match point {
            Measurand::Subframe(link) => end(link, 0),
            Measurand::Knuckle(link) => end(link, 1),
            _ => Wheel::centre.of(Self::wheel.of(self)?.get_ref()),
        }
    }
}

impl Wheel {
    /// Its centre, and how well that is known.
    pub(in crate::profile) const MIDDLE: [Slot<Self, Vec<Quantity>>; 2] = [Self::centre, Self::centre_sigma];
    /// How far from the centreline the wheel centre of a car may be, mm.
    pub(in crate::profile) const CENTRE_OUT: RangeInclusive<f64> = 200.0..=2500.0;
    /// How high it may be, mm.
    pub(in crate::profile) const CENTRE_UP: RangeInclusive<f64> = 80.0..=1500.0;
}
