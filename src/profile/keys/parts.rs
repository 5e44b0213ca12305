//! What stands beside the links: tyre, driveshaft, spring and damper, load cases, and shapes to keep clear of.

use serde::Deserialize;
use toml::Spanned;

use super::by_serde;
use super::key::{Key, Kind, direction, flag, key, keys, length, point, text};
use super::link::limit;
use crate::profile::Quantity;
use crate::profile::load::{Mass, Rate};

by_serde!(Shape);

/// Several points.
type PointRows = Vec<Spanned<Vec<Quantity>>>;

const SHAPES: &[&str] = &["box", "cylinder", "sphere", "plane"];
const FROM_THE_HUB: &str = "Plumb lines and heights, as for the links.";

/// A rate, N/mm.
const fn rate(noun: &'static str, example: &'static str) -> Key {
    key(Kind::Rate)
        .called(noun)
        .like(example)
        .also("285 lb/in")
        .hint("a bare number is N/mm; pounds need their unit: \"250 lb/in\"")
}

/// A mass, kg.
const fn mass(noun: &'static str, example: &'static str) -> Key {
    key(Kind::Mass)
        .called(noun)
        .like(example)
        .also("750 lb")
        .hint("a bare number is kg; pounds need their unit: \"750 lb\"")
}

/// The lower end of a spring or damper.
const fn seat(example: &'static str) -> Key {
    point(example).how(FROM_THE_HUB)
}

/// The factors of a load case.
const fn factors(example: &'static str) -> Key {
    key(Kind::Factors).like(example).within(-20.0, 20.0)
}

/// A size of tyre or rim, mm.
const fn size(noun: &'static str, example: &'static str) -> Key {
    length(noun, example).also("17 in")
}

keys! {
    fields;

    /// The tyre off the ground, and its rim.
    Tyre {
        /// Over the sidewalls, mm.
        width: Quantity = size("the tyre's width", "205.0").within(80.0, 600.0).needed();
        /// Over the tread, mm.
        diameter: Quantity = size("the tyre's diameter", "630.0")
            .within(300.0, 1500.0)
            .needed()
            .how("Wheel off the ground: a straight edge on top of the tread, level, and the tape down to the lowest place of the tread.");
        /// Radius of the rounding between tread and sidewall, mm.
        shoulder: Quantity = size("the shoulder's radius", "25.0");
        /// Over the flanges, mm.
        rim_width: Quantity = size("the rim's width", "200.0").within(80.0, 600.0);
        /// Over the flanges' outer edges, mm; left out: the wheel's, at which toe is measured.
        rim_diameter: Quantity = size("the rim's diameter", "460.0").within(200.0, 1000.0);
    }

    /// The shaft between differential and wheel.
    Driveshaft {
        /// Middle of the inner joint, at the differential: x, y, z, mm.
        inner: Vec<Quantity> = point("[15.0, 190.0, 315.0]").needed().how(FROM_THE_HUB);
        /// Middle of the outer joint, in the knuckle: x, y, z, mm.
        outer: Vec<Quantity> = point("[0.0, 685.0, 310.0]").needed().how(FROM_THE_HUB);
        /// The way the differential's output points; left out: straight across.
        inner_axis: Vec<Quantity> = direction("the differential's output", "[0.0, 1.0, 0.0]");
        /// How far the inner joint may bend, degrees, from its maker.
        inner_limit: Quantity = limit("20.0");
        /// How far the outer joint may bend, degrees, from its maker.
        outer_limit: Quantity = limit("40.0");
        /// How far the shaft can still be pushed in by hand from where it is, mm.
        push: Quantity = length("how far the shaft can be pushed in", "15.0");
        /// How far it can still be pulled out from there, mm.
        pull: Quantity = length("how far the shaft can be pulled out", "20.0");
        /// Over the shaft at its thickest between the joints, mm: the arms are held against it.
        diameter: Quantity = length("the shaft's diameter", "30.0").within(10.0, 150.0);
    }

    /// The spring and the load on it.
    Spring {
        /// Its middle at the top, on the body: x, y, z, mm.
        upper: Vec<Quantity> = seat("[-100.0, 545.0, 640.0]").needed();
        /// Its middle at the bottom, on the knuckle; where it sits on a link, in place of this: `on = "lower rear"`, `from_inner = 220.0`;
        /// on a wishbone: this and `on`.
        lower: Vec<Quantity> = seat("[-62.0, 640.0, 268.0]");
        /// The link on which its lower end sits, by its name; left out where that is the knuckle.
        on: String = text("\"lower rear\"").unshown();
        /// How far along that link from its subframe bolt, mm.
        from_inner: Quantity = length("the distance along the link", "220.0").formerly("along").unshown();
        /// Its stiffness, N/mm.
        rate: Rate = rate("the spring's rate", "50.0").within(1.0, 2000.0);
        /// How far its collar goes in a turn, mm: measure ten.
        lead: Quantity = length("the collar's travel per turn", "1.5").formerly("pitch");
        /// What a scale under this wheel reads, kg.
        corner_mass: Mass = mass("the mass on a wheel", "340.0").within(50.0, 3000.0);
        /// The part of that which moves with the wheel, kg: wheel, brake, knuckle, half of the links.
        unsprung_mass: Mass = mass("the unsprung mass", "42.0").within(1.0, 500.0);
        /// Stiffness of the tyre, N/mm.
        tyre_rate: Rate = rate("the tyre's rate", "200.0").within(50.0, 2000.0);
        /// Over its coils, mm: arms and tyre are held against it.
        diameter: Quantity = length("the spring's diameter", "110.0").within(30.0, 300.0);
        /// From `upper` to the lower end of its coils, the car standing, mm; left out: down to the lower end of its line.
        length: Quantity = length("the length of the coils", "210.0").within(50.0, 600.0);
    }

    /// The damper and its bump stop.
    Damper {
        /// The middle of its upper mount, on the body: x, y, z, mm.
        upper: Vec<Quantity> = seat("[-100.0, 545.0, 640.0]").needed();
        /// The middle of its lower mount, on the knuckle; or `on` and `from_inner`, like the spring.
        lower: Vec<Quantity> = seat("[-62.0, 640.0, 268.0]");
        /// The link on which its lower end sits, by its name; left out where that is the knuckle.
        on: String = text("\"lower rear\"").unshown();
        /// How far along that link from its subframe bolt, mm.
        from_inner: Quantity = length("the distance along the link", "220.0").formerly("along").unshown();
        /// Bare rod between its body and the bump stop, the car standing, mm.
        stop_gap: Quantity = length("the gap to the bump stop", "40.0");
        /// Mount to mount, pushed together, mm.
        closed: Quantity = length("the closed length", "300.0");
        /// Mount to mount, pulled out, mm.
        open: Quantity = length("the open length", "470.0");
    }

    /// Forces on the tyre in the load cases: up, inward, rearward, in parts of what the wheel carries standing.
    Loads {
        /// The car stands.
        standing: Vec<Quantity> = factors("[1.0, 0.0, 0.0]");
        /// The outer wheel in a bend.
        cornering: Vec<Quantity> = factors("[1.5, 1.5, 0.0]");
        /// The brake holds the wheel to the knuckle.
        braking: Vec<Quantity> = factors("[0.7, 0.0, 0.7]");
        /// The shaft drives the hub.
        drive: Vec<Quantity> = factors("[1.2, 0.0, -1.2]");
        /// The wheel slides into a kerb sideways.
        kerb: Vec<Quantity> = factors("[1.0, 3.0, 0.0]");
        /// How high above the road the kerb pushes the tyre inward, mm; left out: where the tyre stands.
        kerb_height: Quantity = length("the height of the kerb's push", "100.0").within(0.0, 400.0);
        /// The wheel drops into a hole and hits its edge.
        pothole: Vec<Quantity> = factors("[3.0, 0.0, 2.0]");
    }

    /// A shape to keep clear of.
    Keepout {
        /// What it is called.
        name: String = text("\"frame ear\"").needed();
        /// What kind of shape: "box", "cylinder", "sphere" or "plane".
        shape: Shape = key(Kind::Choice(SHAPES)).like("\"box\"").needed();
        /// Two opposite corners of a box, edges along the car; or four: a corner and the ends of its edges.
        corners: PointRows = key(Kind::Rows(3)).like("[[-40.0, 450.0, 540.0], [40.0, 520.0, 600.0]]").of(&["box"]);
        /// The middles of a cylinder's two ends.
        ends: PointRows = key(Kind::Rows(3)).like("[[-110.0, 545.0, 480.0], [-100.0, 530.0, 640.0]]").of(&["cylinder"]);
        /// The middle of a sphere: x, y, z, mm.
        centre: Vec<Quantity> = point("[-380.0, -450.0, 300.0]").of(&["sphere"]);
        /// Half of the thickness of a cylinder or sphere, mm.
        radius: Quantity = length("the radius", "40.0").of(&["cylinder", "sphere"]);
        /// Three points of a plane; free where the wheel is.
        points: PointRows = key(Kind::Rows(3)).like("[[-200.0, 640.0, 760.0], [200.0, 640.0, 760.0], [0.0, 800.0, 750.0]]").of(&["plane"]);
        /// Whether it stands on the other side too; false: only where it was measured.
        mirrored: bool = flag("false");
        /// What it is held against, "tyre" and "rim" too; left out: everything.
        only: Vec<Spanned<String>> = key(Kind::Texts(0, 20)).like("[\"upper\", \"traction\"]");
    }
}

/// Kinds of shapes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(in crate::profile) enum Shape {
    Box,
    Cylinder,
    Sphere,
    Plane,
}

impl Shape {
    /// As the file has it.
    pub(in crate::profile) fn name(self) -> &'static str {
        SHAPES[self as usize]
    }
}
