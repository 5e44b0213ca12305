//! Gaps between solids: closed forms, and a second method on random pairs.

use approx::assert_relative_eq;
use nalgebra::{Point3, Rotation3, Vector3};
use proptest::prelude::*;
use rodset::geometry::solids::{Core, Obstacle, Solid, gap};

use crate::layout::config;

fn p(x: f64, y: f64, z: f64) -> Point3<f64> {
    Point3::new(x, y, z)
}

fn bar(points: &[Point3<f64>], round: f64) -> Solid {
    Solid { core: Core::Line(points.to_vec()), round }
}

fn drum(centre: Point3<f64>, axis: Vector3<f64>, half_width: f64, radius: f64) -> Solid {
    Solid { core: Core::Drum { centre, axis, half_width, radius }, round: 0.0 }
}

fn upright(centre: Point3<f64>, half: Vector3<f64>) -> Obstacle {
    Obstacle::Box { centre, edges: Rotation3::identity(), half }
}

/// Elementary geometry: the answers follow from Pythagoras.
#[test]
fn bars_have_their_closed_forms() {
    let cube = upright(p(0.0, 0.0, 0.0), Vector3::new(10.0, 20.0, 30.0));
    // Beside a face, past an edge (3, 4, 5), past a corner (2, 3, 6, 7).
    assert_relative_eq!(
        gap(&bar(&[p(25.0, -5.0, 0.0), p(25.0, 5.0, 9.0)], 4.0), &cube),
        11.0,
        epsilon = 1e-9
    );
    assert_relative_eq!(
        gap(&bar(&[p(13.0, 24.0, -50.0), p(13.0, 24.0, 50.0)], 1.0), &cube),
        4.0,
        epsilon = 1e-9
    );
    assert_relative_eq!(
        gap(&bar(&[p(12.0, 23.0, 36.0), p(112.0, 123.0, 136.0)], 2.0), &cube),
        5.0,
        epsilon = 1e-9
    );
    // Through it: the core is inside.
    assert_relative_eq!(
        gap(&bar(&[p(-50.0, 0.0, 0.0), p(50.0, 0.0, 0.0)], 7.0), &cube),
        -7.0,
        epsilon = 1e-9
    );
    let ball = Obstacle::Ball { centre: p(0.0, 30.0, 40.0), radius: 10.0 };
    assert_relative_eq!(gap(&bar(&[p(-9.0, 0.0, 0.0), p(9.0, 0.0, 0.0)], 5.0), &ball), 35.0, epsilon = 1e-9);
    assert_relative_eq!(gap(&bar(&[p(0.0, 0.0, 0.0), p(0.0, 0.0, 1.0)], 0.0), &ball), {
        (30.0_f64 * 30.0 + 39.0 * 39.0).sqrt() - 10.0
    });
    // Two crossing lines 50 apart; then past the flat end of the cylinder: (3, 4) beyond its rim.
    let pipe = Obstacle::Cylinder { ends: [p(-100.0, 0.0, 0.0), p(100.0, 0.0, 0.0)], radius: 12.0 };
    assert_relative_eq!(
        gap(&bar(&[p(0.0, -80.0, 50.0), p(0.0, 80.0, 50.0)], 8.0), &pipe),
        30.0,
        epsilon = 1e-6
    );
    assert_relative_eq!(
        gap(&bar(&[p(103.0, 16.0, 0.0), p(203.0, 116.0, 0.0)], 1.0), &pipe),
        4.0,
        epsilon = 1e-6
    );
    let floor = Obstacle::HalfSpace { point: p(7.0, 8.0, 600.0), free: -Vector3::z() };
    assert_relative_eq!(
        gap(&bar(&[p(0.0, 0.0, 100.0), p(0.0, 300.0, 580.0)], 15.0), &floor),
        5.0,
        epsilon = 1e-9
    );
    // The middle of an arched bar comes nearest, not its ends.
    let arch = [p(0.0, 0.0, 500.0), p(0.0, 100.0, 560.0), p(0.0, 200.0, 500.0)];
    assert_relative_eq!(gap(&bar(&arch, 15.0), &floor), 25.0, epsilon = 1e-9);
}

#[test]
fn drums_have_their_closed_forms() {
    let floor = Obstacle::HalfSpace { point: p(0.0, 0.0, 0.0), free: Vector3::z() };
    // Lying on its side: r; leaning by an angle c about x: r cos c + w sin c under its centre.
    let (r, w, lean) = (300.0_f64, 100.0_f64, 0.2_f64);
    let axis = Vector3::new(0.0, lean.cos(), lean.sin());
    let low = r * lean.cos() + w * lean.sin();
    assert_relative_eq!(gap(&drum(p(5.0, 700.0, 400.0), axis, w, r), &floor), 400.0 - low, epsilon = 1e-9);
    let wheel = drum(p(0.0, 0.0, 0.0), Vector3::y(), w, r);
    // Beside its tread, beside its side, past its shoulder (30, 40, 50).
    let ball = |centre| Obstacle::Ball { centre, radius: 10.0 };
    assert_relative_eq!(gap(&wheel, &ball(p(240.0, 50.0, 320.0))), 90.0, epsilon = 1e-6);
    assert_relative_eq!(gap(&wheel, &ball(p(100.0, 180.0, 0.0))), 70.0, epsilon = 1e-6);
    assert_relative_eq!(gap(&wheel, &ball(p(0.0, 130.0, 340.0))), 40.0, epsilon = 1e-6);
    // A rounded shoulder gives back the corner: the core ends 40 sooner each way, (70, 80) away.
    let rounded = Solid {
        core: Core::Drum {
            centre: p(0.0, 0.0, 0.0),
            axis: Vector3::y(),
            half_width: w - 40.0,
            radius: r - 40.0,
        },
        round: 40.0,
    };
    let away = (70.0_f64.powi(2) + 80.0_f64.powi(2)).sqrt();
    assert_relative_eq!(gap(&rounded, &ball(p(0.0, 130.0, 340.0))), away - 50.0, epsilon = 1e-6);
    let liner = upright(p(0.0, 0.0, 400.0), Vector3::new(500.0, 500.0, 60.0));
    assert_relative_eq!(gap(&wheel, &liner), 40.0, epsilon = 1e-6);
    let pipe = Obstacle::Cylinder { ends: [p(-200.0, -150.0, 0.0), p(200.0, -150.0, 0.0)], radius: 20.0 };
    assert_relative_eq!(gap(&wheel, &pipe), 30.0, epsilon = 1e-6);
    assert_relative_eq!(gap(&wheel, &ball(p(1.0, 2.0, 3.0))), 0.0);
}

/// The point of an obstacle nearest to a point, by its own closed form.
fn nearest(obstacle: &Obstacle, point: Point3<f64>) -> Point3<f64> {
    match obstacle {
        Obstacle::Box { centre, edges, half } => {
            let inside = edges.inverse() * (point - centre);
            let clamped = Vector3::from_fn(|i, _| inside[i].clamp(-half[i], half[i]));
            centre + edges * clamped
        }
        Obstacle::Cylinder { ends: [a, b], radius } => {
            let along = (b - a).normalize();
            in_drum(&nalgebra::center(a, b), &along, (b - a).norm() / 2.0, *radius, point)
        }
        Obstacle::Ball { centre, radius } => {
            let off = point - centre;
            centre + off * (radius / off.norm()).min(1.0)
        }
        Obstacle::HalfSpace { point: at, free } => point - free * free.dot(&(point - at)).max(0.0),
    }
}

fn in_drum(
    centre: &Point3<f64>,
    axis: &Vector3<f64>,
    half_width: f64,
    radius: f64,
    point: Point3<f64>,
) -> Point3<f64> {
    let off = point - centre;
    let along = off.dot(axis);
    let out = off - axis * along;
    centre + axis * along.clamp(-half_width, half_width) + out * (radius / out.norm()).min(1.0)
}

/// The distance between a line and an obstacle: convex along the line, so its least value is found by thirds.
fn along_line(a: Point3<f64>, b: Point3<f64>, obstacle: &Obstacle) -> f64 {
    let at = |t: f64| {
        let point = a + (b - a) * t;
        (point - nearest(obstacle, point)).norm()
    };
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..200 {
        let (first, second) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if at(first) < at(second) { high = second } else { low = first }
    }
    at(f64::midpoint(low, high))
}

/// The library stops where its bounds are this close, as part of the distance; near touching, to a millionth of a mm.
fn good_to(distance: f64) -> f64 {
    1e-7 * distance + 1e-6
}

fn points() -> impl Strategy<Value = Point3<f64>> {
    prop::array::uniform3(-300.0..300.0_f64).prop_map(Point3::from)
}

fn obstacles() -> impl Strategy<Value = Obstacle> {
    let sizes = || prop::array::uniform3(2.0..150.0_f64);
    prop_oneof![
        (points(), sizes(), prop::array::uniform3(-3.0..3.0_f64)).prop_map(|(centre, half, turn)| {
            Obstacle::Box {
                centre,
                edges: Rotation3::from_scaled_axis(Vector3::from(turn)),
                half: Vector3::from(half),
            }
        }),
        (points(), points(), 2.0..150.0_f64).prop_filter_map("an axis", |(a, b, radius)| {
            ((b - a).norm() > 5.0).then_some(Obstacle::Cylinder { ends: [a, b], radius })
        }),
        (points(), 2.0..150.0_f64).prop_map(|(centre, radius)| Obstacle::Ball { centre, radius }),
        (points(), prop::array::uniform3(-1.0..1.0_f64)).prop_filter_map("a normal", |(point, n)| {
            let free = Vector3::from(n).try_normalize(0.1)?;
            Some(Obstacle::HalfSpace { point, free })
        }),
    ]
}

proptest! {
    #![proptest_config(config(2000))]

    #[test]
    fn bars_agree_with_a_search_along_them(a in points(), b in points(), obstacle in obstacles(), round in 0.0..30.0_f64) {
        prop_assume!((b - a).norm() > 5.0);
        let found = gap(&bar(&[a, b], round), &obstacle);
        let expected = along_line(a, b, &obstacle) - round;
        prop_assert!((found - expected).abs() < good_to(expected + round), "{found} {expected} {obstacle:?}");
    }

    /// Projections to and fro between two convex bodies close in on their nearest points, from above.
    #[test]
    fn drums_agree_with_projections_to_and_fro(
        centre in points(), turn in prop::array::uniform3(-1.0..1.0_f64), half_width in 20.0..120.0_f64, radius in 50.0..350.0_f64,
        obstacle in obstacles(),
    ) {
        let Some(axis) = Vector3::from(turn).try_normalize(0.1) else {
            return Err(TestCaseError::reject("an axis"));
        };
        let found = gap(&drum(centre, axis, half_width, radius), &obstacle);
        let mut point = centre;
        let mut distance = f64::INFINITY;
        for _ in 0..20_000 {
            let there = nearest(&obstacle, point);
            point = in_drum(&centre, &axis, half_width, radius, there);
            distance = (point - there).norm();
        }
        // They close in slowly where two faces are nearly parallel, never below the true distance.
        prop_assert!(found <= distance + good_to(distance), "{found} {distance} {obstacle:?}");
        prop_assert!(found >= distance - 0.05, "{found} {distance} {obstacle:?}");
    }

    #[test]
    fn a_mirror_keeps_every_gap(a in points(), b in points(), obstacle in obstacles()) {
        prop_assume!((b - a).norm() > 5.0);
        let flip = |p: Point3<f64>| Point3::new(p.x, -p.y, p.z);
        let here = gap(&bar(&[a, b], 0.0), &obstacle);
        let there = gap(&bar(&[flip(a), flip(b)], 0.0), &obstacle.mirrored());
        prop_assert!((here - there).abs() < good_to(here), "{here} {there}");
    }
}
