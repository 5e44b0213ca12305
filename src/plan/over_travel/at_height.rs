//! One wheel at one height of its travel: what it reads, where it stands, and how it moves there.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use crate::car::{Car, Setup, Side, Stance, Strut};
use crate::geometry::{Figure, Ground, Position, Rise};
use crate::plan::wheel::Reading;

/// Gradients are given for this much travel, mm.
const PER: f64 = 100.0;

/// A wheel at one height of its travel.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Station {
    /// Travel from the new ride height, mm; positive: bump.
    pub travel_mm: f64,
    /// Drop from the reference height, mm.
    pub drop_mm: f64,
    /// What this height is called, if anything.
    pub place: Option<Place>,
    /// What it reads.
    #[serde(flatten)]
    pub reading: Reading,
    /// Turn of the knuckle about the car's y axis since the reference, degrees; positive: top forward.
    pub pitch_deg: f64,
    /// How camber changes with travel.
    pub camber_gradient_deg_per_100_mm: f64,
    /// How toe changes with travel: bump steer; positive: toe-in in bump.
    pub toe_gradient_deg_per_100_mm: f64,
    /// The same at the rim of this wheel, where its diameter is known.
    pub toe_gradient_rim_mm_per_100_mm: Option<f64>,
    /// Where the tyre stands, car axes, mm.
    pub contact_mm: [f64; 3],
    /// This side's part in the change of track since ride height, mm; positive: wider.
    pub track_change_mm: f64,
    /// Change of wheelbase on this side since ride height, mm; positive: longer.
    pub wheelbase_change_mm: f64,
    /// What is read from the motion.
    pub motion: MotionFigures,
    /// The five links.
    pub links: Vec<LinkAngle>,
    /// Whether the links are near a dead point here.
    pub near_singular: bool,
}

/// A height that has a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// The new ride height.
    Ride,
    /// The height at which the car was measured.
    Stock,
    /// The bump stop, crushed, as the profile gives it.
    BumpStop,
    /// Full droop, as the profile gives it.
    FullDroop,
    /// Just before the links let the wheel go no further.
    LinksEnd,
}

/// What is read from the motion of a wheel; [`Instant`](crate::geometry::Instant) has the definitions.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct MotionFigures {
    /// Height of the roll centre above the ground, mm.
    pub roll_centre_mm: Option<f64>,
    /// Front view swing arm, mm; positive: inboard.
    pub front_swing_arm_mm: Option<f64>,
    /// Side view swing arm, mm; positive: ahead.
    pub side_swing_arm_mm: Option<f64>,
    /// Support angle under drive, degrees; positive: drive lifts the body.
    pub drive_support_deg: f64,
    /// Support angle under braking, degrees; positive: braking pulls the body down.
    pub brake_support_deg: f64,
    /// Anti-squat of a driven rear axle; needs the wheelbase and the height of the centre of gravity.
    pub anti_squat_percent: Option<f64>,
    /// Anti-lift under braking with brakes at the wheel; needs the rear axle's share of the braking as well.
    pub anti_lift_percent: Option<f64>,
    /// A point of the axis about which the knuckle screws, the nearest to the wheel centre, car axes, mm.
    pub screw_through_mm: Option<[f64; 3]>,
    /// Unit vector along that axis, car axes.
    pub screw_along: Option<[f64; 3]>,
    /// Shift along it per turn about it, mm/rad.
    pub screw_pitch_mm_per_rad: Option<f64>,
    /// Motion ratio of the spring, mm that it shortens per mm of travel, where the profile has one.
    pub spring_ratio: Option<f64>,
    /// Motion ratio of the damper.
    pub damper_ratio: Option<f64>,
}

/// How a link lies.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct LinkAngle {
    /// Its name.
    pub link: String,
    /// Angle to the ground, degrees; positive: the knuckle end is higher.
    pub slope_deg: f64,
    /// Angle between its directions at the reference and now, car axes, degrees.
    pub swing_deg: f64,
}

/// A side under given links in a given stance: what every station of its travel shares.
pub(crate) struct Track<'a> {
    pub(crate) side: &'a Side,
    pub(crate) ground: Ground,
    pub(crate) setup: &'a Setup,
    /// Drop at ride height, mm.
    pub(crate) ride: f64,
    /// Where the tyre stands at ride height.
    pub(crate) home: Point3<f64>,
    pub(crate) load: Load,
}

/// What turns support angles into percentages.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Load {
    wheelbase: Option<f64>,
    /// Height of the centre of gravity at ride height, mm.
    height: Option<f64>,
    rear_brake_share: Option<f64>,
}

impl Load {
    /// The centre of gravity is taken to come down as the middle of the wheelbase does.
    pub(crate) fn new(car: &Car, stance: &Stance) -> Self {
        let rear = f64::midpoint(stance.drops.left, stance.drops.right);
        let down = f64::midpoint(rear, stance.front.unwrap_or(rear));
        Self {
            wheelbase: car.wheelbase,
            height: car.gravity_height.map(|height| height - down),
            rear_brake_share: car.rear_brake_share,
        }
    }

    /// Height over wheelbase: the part of a force along the car that it moves from one axle to the other.
    fn transfer(&self, travel: f64) -> Option<f64> {
        let transfer = (self.height? - travel) / self.wheelbase?;
        (transfer > 0.0).then_some(transfer)
    }
}

impl MotionFigures {
    fn of(track: &Track<'_>, position: &Position, contact: &Point3<f64>, travel: f64) -> Self {
        let Track { side, ground, setup, load, .. } = track;
        let motion = position.motion(Setup::HEIGHT_ROW);
        let instant = motion.instant(ground, contact);
        let rise = Rise::of(position);
        let ratio = |line: &Strut| -line.moving(side, setup, position, &rise).distance(&line.upper)[1];
        let screw = motion.screw();
        let transfer = load.transfer(travel);
        let percent =
            |support: f64, share: f64| transfer.map(|transfer| 100.0 * share * support.tan() / transfer);
        Self {
            roll_centre_mm: instant.roll_centre,
            front_swing_arm_mm: instant.front_arm,
            side_swing_arm_mm: instant.side_arm,
            drive_support_deg: instant.drive_support.to_degrees(),
            brake_support_deg: instant.brake_support.to_degrees(),
            anti_squat_percent: percent(instant.drive_support, 1.0),
            anti_lift_percent: load.rear_brake_share.and_then(|share| percent(instant.brake_support, share)),
            screw_through_mm: screw.map(|screw| side.car_point(&screw.through)),
            screw_along: screw.map(|screw| side.car_axis(&screw.along)),
            screw_pitch_mm_per_rad: screw.map(|screw| side.car_screw(screw.pitch)),
            spring_ratio: side.spring.map(|spring| ratio(&spring.line)),
            damper_ratio: side.damper.map(|damper| ratio(&damper.line)),
        }
    }
}

impl Track<'_> {
    /// Everything that is shown of a position on this side's travel.
    pub(crate) fn station(&self, position: &Position, travel: f64, place: Option<Place>) -> Station {
        let Self { side, ground, ride, home, .. } = self;
        let reading = Reading::of(side, &position.pose, ground);
        let gradient =
            |figure| position.rate(figure, &side.wheel, ground, Setup::HEIGHT_ROW).to_degrees() * PER;
        let toe_gradient = gradient(Figure::Toe);
        let contact = side.contact(&position.pose, ground);
        let moved = contact - home;
        Station {
            travel_mm: travel,
            drop_mm: ride + travel,
            place,
            reading,
            pitch_deg: Figure::Pitch.value(&position.pose, &side.wheel, ground).to_degrees(),
            camber_gradient_deg_per_100_mm: gradient(Figure::Camber),
            toe_gradient_deg_per_100_mm: toe_gradient,
            // d(D sin toe) = D cos toe dtoe
            toe_gradient_rim_mm_per_100_mm: side
                .rim_diameter
                .map(|rim| rim * reading.toe_deg.to_radians().cos() * toe_gradient.to_radians()),
            contact_mm: side.car_point(&contact),
            track_change_mm: moved.dot(&ground.left()),
            wheelbase_change_mm: -moved.dot(&ground.forward()),
            motion: MotionFigures::of(self, position, &contact, travel),
            links: self.side.rods().map(|link| self.link(position, link)).collect(),
            near_singular: position.is_near_singular(),
        }
    }

    fn link(&self, position: &Position, index: usize) -> LinkAngle {
        let link = &self.side.links[index];
        let [inner, outer] = self.side.ends(index, self.setup, &position.pose);
        let now = outer - inner;
        LinkAngle {
            link: link.name.clone(),
            slope_deg: now.normalize().dot(&self.ground.up()).clamp(-1.0, 1.0).asin().to_degrees(),
            swing_deg: angle(&(link.knuckle - link.subframe), &now).to_degrees(),
        }
    }
}

/// The angle between two vectors, rad.
pub(crate) fn angle(a: &Vector3<f64>, b: &Vector3<f64>) -> f64 {
    // atan2 keeps its digits near zero, where acos has none.
    a.cross(b).norm().atan2(a.dot(b))
}
