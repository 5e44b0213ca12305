//! What keeps a cam from turning under its arm: an estimate of our own, no source.
//!
//! An eccentric bolt has a plate at either end whose rim runs between two guides of the bracket. Once the arm has pulled the sleeve
//! out from between the ears, it pushes the bolt along its slot, and the guides hold the plates' middles back. So the bolt can only
//! move by turning: by `ds = e cos t dt` along the slot for a turn `dt`, with `e` the eccentricity and `t` where the cam stands
//! from its middle. Against it rub the clamped faces, by `ds`, and both plates on the ears, by `r dt` at the least, with `r` the
//! radius at which they are pressed on. By work,
//!
//! ```text
//! P e cos t = mu F (n e cos t + 2 r)        n clamped faces, F the preload, mu their friction
//! ```
//!
//! A lock-out plate cannot turn its bolt away: past what the clamped faces hold, its edges come to rest on the guides.
//!
//! `r` is taken as under a hexagon, the least that it can be; a plate that bears further out holds more. Not known, and left out: the
//! guides' own friction, which helps, and wear, dirt and loads that go to and fro, which walk a cam round at less.

use serde::Serialize;

use super::capacity::BEARING;
use crate::car::{Bolt, Cam};

/// Plates of a cam: one under the head, one under the nut.
const PLATES: f64 = 2.0;
/// At full throw the arm has no lever on the cam; less than this is none, mm.
const NO_LEVER: f64 = 1e-6;

/// How a cam holds against its arm: an estimate of our own, no source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct CamGrip {
    /// How far it stands from its middle, degrees.
    pub setting_deg: f64,
    /// The lever at which the arm turns it there, mm.
    pub lever_mm: f64,
    /// Whether it is at full throw, where the arm has no lever on it.
    pub is_at_full_throw: bool,
    /// The radius at which its plates are taken to rub, mm.
    pub rubs_at_mm: f64,
    /// What turns it in the hardest case of ordinary driving, if nothing but its plates held it, N m.
    pub turned_with_nm: Option<f64>,
    /// The load along its slot at which it turns, from the least to the most, N; `None` without a torque, and at full throw, where no
    /// load along the slot turns it.
    pub holds_n: Option<[f64; 2]>,
    /// That over the load of the hardest case of ordinary driving.
    pub margin: Option<[f64; 2]>,
}

impl CamGrip {
    /// Of a cam that holds its pivot `shift` mm from the middle of its slot, under the hardest load in ordinary driving, N.
    pub(super) fn of(
        cam: &Cam,
        shift: f64,
        bolt: &Bolt,
        hardest: Option<f64>,
        held: Option<&HeldBy>,
    ) -> Self {
        let setting = cam.setting_for(shift);
        let lever = cam.eccentricity * setting.cos();
        let rubs_at = BEARING * bolt.thread.diameter / 2.0;
        let holds_n = held.filter(|_| lever > NO_LEVER).map(|held| {
            // Beside the clamped faces: friction of the plates, at the radius where they rub over the lever.
            held.faces_n.map(|faces| faces * (1.0 + PLATES / f64::from(bolt.faces) * rubs_at / lever))
        });
        let against = hardest.filter(|_| held.is_some_and(|held| held.load_known));
        Self {
            setting_deg: setting.to_degrees(),
            lever_mm: lever,
            is_at_full_throw: lever <= NO_LEVER,
            rubs_at_mm: rubs_at,
            turned_with_nm: hardest.map(|load| load * lever / 1000.0),
            holds_n,
            margin: holds_n.zip(against).map(|(holds, load)| holds.map(|holds| holds / load)),
        }
    }
}

/// What holds a joint as it is torqued.
pub(super) struct HeldBy {
    /// What the clamped faces hold, least and most, N.
    pub(super) faces_n: [f64; 2],
    /// Whether the loads are those of the car rather than of a round figure.
    pub(super) load_known: bool,
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use nalgebra::Vector3;
    use std::f64::consts::PI;

    fn bolt() -> Bolt {
        Bolt {
            thread: "M12x1.25".parse().expect("a thread"),
            class: crate::car::PropertyClass::named("8.8").expect("a class"),
            torque: None,
            surface: crate::car::Surface::Dry,
            nut_factor: None,
            friction: [0.1, 0.2],
            faces: 2,
        }
    }

    fn grip(shift: f64) -> CamGrip {
        let cam = Cam { eccentricity: 5.0, along: Vector3::y(), setting: 0.0, marks: None };
        let bolt = bolt();
        let held = HeldBy { faces_n: bolt.holds([30_000.0, 40_000.0]), load_known: true };
        CamGrip::of(&cam, shift, &bolt, Some(2000.0), Some(&held))
    }

    /// Friction over a thin ring, every piece of it against its own way: turned about the bolt's axis while that moves along the slot.
    #[test]
    fn a_ring_that_is_cut_to_pieces_holds_no_less() {
        for shift in [0.0_f64, 3.0, 4.9] {
            let grip = grip(shift);
            let (lever, radius) = (grip.lever_mm, grip.rubs_at_mm);
            let pieces = 20_000_u32;
            let way = |i: u32| {
                let angle = 2.0 * PI * f64::from(i) / f64::from(pieces);
                (lever - radius * angle.sin()).hypot(radius * angle.cos())
            };
            let mean = (0..pieces).map(way).sum::<f64>() / f64::from(pieces);
            let work = 0.1 * 30_000.0 * (2.0 * lever + 2.0 * mean);
            let holds = grip.holds_n.expect("torqued")[0];
            assert!(holds <= work / lever, "{holds} {}", work / lever);
            // The plain radius leaves out what the bolt's own way adds: no more than an eighth at a lever of half the radius.
            assert!(holds > 0.85 * work / lever, "{holds} {}", work / lever);
        }
    }

    #[test]
    fn a_cam_holds_more_the_further_it_is_turned_and_at_full_throw_it_is_not_turned_at_all() {
        let (middle, near) = (grip(0.0), grip(4.9));
        assert_relative_eq!(
            middle.holds_n.expect("torqued")[0],
            6000.0 * (1.0 + 7.5 / 5.0),
            max_relative = 1e-12
        );
        assert_relative_eq!(middle.turned_with_nm.expect("a load"), 10.0, max_relative = 1e-12);
        assert!(near.holds_n.expect("torqued")[0] > middle.holds_n.expect("torqued")[0]);
        assert_eq!((grip(5.0).holds_n, grip(5.0).margin), (None, None));
    }
}
