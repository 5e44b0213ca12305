//! What was read on a car, state by state.

use toml::Spanned;

use super::by_serde;
use super::key::{Declared, Key, Kind, angle, camber, deviation, flag, key, keys, length, table, text, toe};
use crate::measure::{MOST_DEG, ReadWith};
use crate::profile::Quantity;
use crate::profile::record::schema::{Date, Settings};

by_serde!(ReadWith, Date, Settings);

const TWICE: &str =
    "Turn the wheel by half a turn and read the same again: the mean of both is free of the rim's run-out.";

/// A height of the car, mm lower than at the reference.
const fn drop(example: &'static str) -> Key {
    length("a drop", example).also("1 1/2 in").within(-400.0, 400.0).refused("no car is lowered by {}")
}

/// An arch gap, mm.
const fn gap(example: &'static str) -> Key {
    length("an arch gap", example).within(80.0, 900.0).also("13 1/4 in").on_car()
}

/// A track, or a distance between the wheels, mm.
const fn between(noun: &'static str, example: &'static str) -> Key {
    length(noun, example).within(800.0, 2600.0).on_car()
}

/// The diameter of a rim between the two places, mm.
const fn across() -> Key {
    length("a rim", "455.0")
        .within(200.0, 700.0)
        .ordinary("the diameter across which toe is measured")
        .on_car()
}

/// From a line to an edge of the rim, mm.
const fn edge(example: &'static str) -> Key {
    length("a distance to the rim", example)
}

/// What the level says off upright, degrees.
const fn level(example: &'static str) -> Key {
    camber(example)
}

/// A standard deviation of an angle, degrees.
const fn loose(kind: Kind, example: &'static str) -> Key {
    key(kind)
        .called("a standard deviation")
        .like(example)
        .within(1e-5, 45.0)
        .ordinary("a standard deviation of an angle")
        .refused("this cannot be a standard deviation")
        .odd("with so large a standard deviation a reading says little")
        .hint("a bare number is degrees; minutes are written \"3'\"")
}

/// A standard deviation of an instrument, mm.
const fn instrument(example: &'static str) -> Key {
    deviation(example).within(0.001, 20.0).refused("this cannot be a standard deviation")
}

impl Key {
    const fn on_car(self) -> Self {
        self.refused("{noun} of {} is on no car")
            .hint("bare numbers are mm; inches need their unit: \"13 1/4 in\"")
    }
}

keys! {
    pub(in crate::profile) fields;

    /// What was read on a car, reading by reading.
    Record {
        /// The version of the format: 1.
        format: i64 = key(Kind::Whole).like("1").within(1.0, 1.0).needed();
        /// Arch gaps at the reference, hub centre straight up to the lip, mm: only for [reading.heights], and the rear ones only
        /// where the profile has no `arch_gap`.
        heights: Heights = table(&Heights::TABLE);
        /// How well you measure, as standard deviations; left out, as here.
        sigma: Sigma = table(&Sigma::TABLE);
        /// One state of the car and what was read in it.
        reading: Vec<Spanned<Reading>> = key(Kind::Tables(&Reading::TABLE, 500));
    }

    /// One state of the car and what was read in it.
    Reading {
        /// What you call the reading.
        title: String = Key { need: super::key::Need::Set, ..text("\"before the work\"") };
        /// The day on which it was read.
        date: Date = key(Kind::Date).like("\"2026-11-21\"").wanted();
        /// "rack", "strings" or "gauge" says how good camber and toe are that you give as angles.
        source: ReadWith = key(Kind::Choice(&["rack", "strings", "gauge"])).like("\"gauge\"");
        /// mm lower than at the reference, both sides; minus: raised. Or `drop_left` and `drop_right`.
        drop: Quantity = drop("0").wanted();
        /// mm lower on the left, where the sides stand differently.
        drop_left: Quantity = drop("41.0").unshown();
        /// mm lower on the right.
        drop_right: Quantity = drop("39.0").unshown();
        /// Or the arch gap now, mm: hub centre straight up to the lip; or `arch_gap_left` and
        /// `arch_gap_right`.
        arch_gap: Quantity = gap("334.0");
        /// The arch gap on the left now, mm.
        arch_gap_left: Quantity = gap("334.0").unshown();
        /// The arch gap on the right now, mm.
        arch_gap_right: Quantity = gap("335.0").unshown();
        /// How far the front came down, mm, if not with the rear; needs `wheelbase` in the profile.
        front_drop: Quantity = drop("30.0");
        /// The standard deviation of the drop, mm.
        drop_sigma: Quantity = deviation("1.0").within(0.001, 100.0).refused("this cannot be a standard deviation").unshown();
        /// Whether the car stood the other way round on the same spots.
        turned_round: bool = flag("true").unshown();
        /// Or the gaps at the four corners now, mm.
        heights: Heights = table(&Heights::TABLE);
        /// How the arms were set: turns from the stock length, plus: longer; a length has its unit. The cam under an arm that stands
        /// here is taken to be locked at its middle, unless it stands among the cams.
        arms: Settings = key(Kind::Settings).like("upper = \"1 11/12 longer\"\ntoe = { left = \"1/4 shorter\", right = \"331.2 mm\" }");
        /// How the cams were set, from the middle: "2 marks outboard", "-1 mark", "1.5 mm inboard"; a bare number is degrees, plus:
        /// the way of the profile's `along`; both sides alike, or each by itself.
        cams: Settings = key(Kind::Settings).like("upper = \"2 marks inboard\"\ntoe = { left = \"1 mark outboard\", right = -15.0 }");
        /// What was read on the left wheel: the angles themselves, or what you measured instead.
        left: Wheel = table(&Wheel::TABLE);
        /// What was read on the right wheel.
        right: Wheel = table(&Wheel::TABLE);
        /// Toe of both wheels together, degrees, or mm over both rims; plus: toe-in.
        total_toe: Quantity = toe("toe", "0.16").signed(40.0).ordinary("total toe").unshown();
        /// The standard deviation of that, degrees.
        total_toe_sigma: Quantity = loose(Kind::Toe, "0.06").unshown();
        /// In place of toe: flat plates against both wheels, the distance between their ends, mm.
        plates: Plates = table(&Plates::TABLE);
        /// The same after half a turn of both wheels.
        plates_half_turn: FrontRear = table(&FrontRear::TABLE).like("{ front = 1702.4, rear = 1705.1 }").how(TWICE).unshown();
        /// Where the strings run, only where they do not run along the car by themselves.
        string: Strings = table(&Strings::TABLE);
        /// How the floor slopes, if it is not level across the rear wheels: taken out of gauge, level and plumb line.
        floor: Floor = table(&Floor::TABLE);
        /// Or the cambers read again with the car turned round on the same spots.
        other_way_round: OtherWay = table(&OtherWay::TABLE);
    }

    /// Standard deviations of the instruments.
    Sigma {
        /// A rule from string or plumb line to the rim, mm.
        ruler: Quantity = instrument("0.3");
        /// A tape across the car or the rim, mm.
        tape: Quantity = instrument("0.7");
        /// A level, degrees.
        level: Quantity = loose(Kind::Angle, "0.08");
        /// An arch gap, mm.
        gap: Quantity = instrument("1.0");
    }

    /// Hub centre straight up to the arch lip at the four corners, mm.
    Heights {
        /// At the left rear wheel, mm.
        rear_left: Quantity = gap("334.0");
        /// At the right rear wheel, mm.
        rear_right: Quantity = gap("335.0");
        /// At the left front wheel, mm.
        front_left: Quantity = gap("340.0");
        /// At the right front wheel, mm.
        front_right: Quantity = gap("341.0");
    }

    /// What was read on one wheel.
    Wheel {
        /// Camber as read, degrees; minus: the top leans in.
        camber: Quantity = camber("-1.1").wanted().right("-1.3", "", "", "");
        /// How good that is: its standard deviation, degrees.
        camber_sigma: Quantity = loose(Kind::Angle, "0.08");
        /// Toe of this wheel alone, degrees, or mm across the rim; plus: toe-in.
        toe: Quantity = toe("toe", "0.10").signed(MOST_DEG).wanted().right("0.06", "", "", "");
        /// How good that is: its standard deviation, degrees.
        toe_sigma: Quantity = loose(Kind::Toe, "0.04");
        /// Toe by a string outside the wheel, along the car, at hub height: from the string to the rim's front edge and to its rear
        /// edge, mm. The larger gap in front is toe-in.
        rim: Rim = table(&Rim::TABLE).like("{}");
        /// The same after half a turn of the wheel: that takes out the rim's run-out.
        rim_half_turn: FrontRear = table(&FrontRear::TABLE).like("{}").how(TWICE);
        /// Camber by a level held to two points of the rim: what it is off upright, degrees, minus where the top leans in.
        level: Quantity = level("-1.2").how("Set its zero first by turning it end for end.");
        /// The same after half a turn of the wheel.
        level_half_turn: Quantity = level("-1.0").how(TWICE);
        /// Camber by a plumb line outside the wheel: from the line to the rim's top edge and to its bottom edge, mm.
        plumb: Plumb = table(&Plumb::TABLE).like("{}");
        /// The same after half a turn of the wheel.
        plumb_half_turn: TopBottom = table(&TopBottom::TABLE).like("{}").how(TWICE);
    }

    /// From the string to the rim's edges at hub height.
    Rim {
        /// To the front edge, mm.
        front: Quantity = edge("152.4");
        /// To the rear edge, mm.
        rear: Quantity = edge("151.6");
        /// From edge to edge, mm; left out, the profile's `rim_diameter`.
        across: Quantity = across();
    }

    /// From the plumb line to the rim's edges.
    Plumb {
        /// To the top edge, mm.
        top: Quantity = edge("41.5");
        /// To the bottom edge, mm.
        bottom: Quantity = edge("33.0");
        /// From edge to edge, mm; left out, the profile's `rim_diameter`.
        across: Quantity = across();
    }

    /// In front and at the rear.
    FrontRear {
        /// In front, mm.
        front: Quantity = length("a distance", "152.2");
        /// At the rear, mm.
        rear: Quantity = length("a distance", "151.8");
    }

    /// At the top and at the bottom.
    TopBottom {
        /// At the top, mm.
        top: Quantity = edge("41.1");
        /// At the bottom, mm.
        bottom: Quantity = edge("33.4");
    }

    /// Between the ends of two flat plates held against the wheels.
    Plates {
        /// Between the front ends, mm.
        front: Quantity = between("a distance between the plates", "1702.0");
        /// Between the rear ends, mm.
        rear: Quantity = between("a distance between the plates", "1705.5");
        /// Of a plate, between the two places where the tape passes, mm.
        length: Quantity = length("a length of the plates", "610.0").within(200.0, 1500.0).on_car();
    }

    /// Where the strings run: from each to the centreline, or to the hubs, front and rear.
    Strings {
        /// From the left string, at two places, mm: to the centreline; or to the middle of the front and of the rear hub, with
        /// tracks = { front = 1480.0, rear = 1504.0 } from hub to hub.
        left: FrontRear = table(&FrontRear::TABLE).like("{ front = 905.0, rear = 903.5 }");
        /// From the right string, mm.
        right: FrontRear = table(&FrontRear::TABLE).like("{ front = 905.0, rear = 905.0 }");
        /// From hub to hub, front and rear, mm, measured between the same points: where the strings were measured to the hubs.
        tracks: FrontRear = table(&FrontRear::TABLE).like("{ front = 1480.0, rear = 1504.0 }").unshown();
        /// How far apart along the car the two places are, mm; left out: the wheelbase.
        apart: Quantity = length("a distance along the car", "2520.0").within(1000.0, 8000.0).on_car();
    }

    /// How the floor slopes under the two rear wheels.
    Floor {
        /// How much higher the floor is under the left tyre than under the right, mm; or slope = 0.11, degrees, plus: up to the left.
        left_higher: Quantity = length("a step of the floor", "3.0").within(-100.0, 100.0).refused("no garage floor slopes like that");
        /// Over this distance, mm; left out, the track.
        across: Quantity = between("a track", "1504.0");
        /// Or the slope itself, degrees; plus: up to the left.
        slope: Quantity = angle("a slope of the floor", "0.11").unshown().within(-3.0, 3.0).refused("no garage floor slopes like that").hint("a bare number is degrees; minutes are written \"15'\"");
    }

    /// What was read with the car turned round on the same spots.
    OtherWay {
        /// The left wheel's camber, read again.
        left: Wheel = table(&Wheel::TABLE).like("{ level = -1.3 }");
        /// The right wheel's camber, read again.
        right: Wheel = table(&Wheel::TABLE).like("{ level = -1.1 }");
    }
}

impl Strings {
    /// From hub to hub, mm.
    pub(in crate::profile) const TRACK: Key = between("a track", "1480.0");
    /// From a string to the middle of a hub, mm.
    pub(in crate::profile) const TO_HUB: Key =
        length("a distance from the string to the hub", "164.5").within(10.0, 800.0).on_car();
    /// From a string to the centreline, mm.
    pub(in crate::profile) const TO_CENTRELINE: Key =
        length("a distance from the string to the centreline", "905.0").within(400.0, 2000.0).on_car();
}
