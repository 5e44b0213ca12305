//! Springs and dampers: closed forms on a swinging link, central differences, and the balance of forces.

use approx::assert_relative_eq;
use proptest::prelude::*;
use rodset::car::{Car, GRAVITY, PerSide, Setup, Stance};
use rodset::geometry::{Ground, Rise};
use rodset::plan::{Asked, Fitting, Reading, Springs, forward, springs};
use rodset::profile;
use rodset::report::{AnswerPage, Units};

use crate::command::page_text;
use crate::layout::{config, layouts, parallel};

fn asked(car: &Car, drop: f64) -> Springs {
    let stance = Stance::new(car, [drop, drop], None).expect("no front drop");
    springs(car, &stance, None, &Fitting::default(), Asked::ALL).expect("a position")
}

/// A link of 300 mm, level as measured, with an upright spring of 350 mm on it, 180 mm from its subframe bolt.
const ON_THE_LINK: &str = "[spring]
upper = [-140.0, 550.0, 630.0]
on = \"toe\"
along = 180.0
rate = 40.0
pitch = 1.5
corner_mass = 350.0
unsprung_mass = 40.0
";

/// `L` and `-dL/dz` of that spring at a rise `z = 300 sin(phi)`.
fn on_the_link(rise: f64) -> [f64; 2] {
    let phi = (rise / 300.0).asin();
    let (a, height) = (180.0, 350.0);
    let (across, up) = (a - a * phi.cos(), height - a * phi.sin());
    let length = across.hypot(up);
    let slope = (across * a * phi.sin() - up * a * phi.cos()) / length;
    [length, -slope / (300.0 * phi.cos())]
}

/// Level, with the spring upright, the ratio is that of the lever arms, `a / b`, and the wheel rate without load `k (a / b)^2`:
/// the swing axle of D. Barton and J. Fieldhouse, *Automotive Chassis Engineering*, Springer 2018, section 3.9.2, p. 179,
/// equation 3.33 (read in a copy), which holds exactly there.
#[test]
fn a_level_swing_arm_has_the_ratio_of_its_lever_arms() {
    let unloaded = ON_THE_LINK.replace("corner_mass = 350.0\nunsprung_mass = 40.0\n", "");
    for side in asked(&parallel("", &unloaded), 30.0).sides {
        let state = side.spring.expect("a spring").reference;
        assert_relative_eq!(state.motion_ratio, 180.0 / 300.0, epsilon = 1e-12);
        assert_relative_eq!(state.wheel_rate_n_per_mm.expect("a rate"), 40.0 * 0.36, epsilon = 1e-10);
        assert_eq!((state.force_n, state.frequency_hz), (None, None));
        // Without the mass the rate has its first part only, and says so.
        assert!(state.first_part_only);
    }
}

/// Swung so far that it leans over, the spring gets longer as the wheel rises and carries nothing: no force, no rate, no Hz.
#[test]
fn a_spring_past_its_turn_has_no_rate() {
    assert!(on_the_link(285.0)[1] < 0.0);
    let state = asked(&parallel("", ON_THE_LINK), 285.0).sides.left.spring.expect("a spring").at_drop;
    assert_relative_eq!(state.motion_ratio, on_the_link(285.0)[1], epsilon = 1e-9);
    assert_eq!((state.force_n, state.wheel_rate_n_per_mm, state.frequency_hz), (None, None, None));
    assert!(state.carries_nothing() && !state.first_part_only);
}

/// Beside its place the swing arm's spring has a closed form, and the collar follows the length, not the ratio.
#[test]
fn a_spring_on_a_link_follows_its_closed_form() {
    for drop in [-40.0, 35.0, 60.0] {
        let answer = asked(&parallel("", ON_THE_LINK), drop);
        let spring = answer.sides.right.spring.expect("a spring");
        let [before, after] = [on_the_link(0.0), on_the_link(drop)];
        assert_relative_eq!(spring.at_drop.length_mm, after[0], epsilon = 1e-9);
        assert_relative_eq!(spring.at_drop.motion_ratio, after[1], epsilon = 1e-12);
        let step = 1e-3;
        let change = (on_the_link(drop + step)[1] - on_the_link(drop - step)[1]) / (2.0 * step);
        assert_relative_eq!(spring.at_drop.motion_ratio_per_mm, change, epsilon = 1e-9);
        let weight = 310.0 * GRAVITY;
        assert_relative_eq!(spring.at_drop.force_n.expect("a force"), weight / after[1], epsilon = 1e-7);
        let force = weight * (1.0 / after[1] - 1.0 / before[1]) / 40.0;
        assert_relative_eq!(spring.collar.motion_mm, before[0] - after[0], epsilon = 1e-9);
        assert_relative_eq!(spring.collar.down_mm, before[0] - after[0] - force, epsilon = 1e-9);
        assert_relative_eq!(spring.collar.down_turns.expect("a pitch"), spring.collar.down_mm / 1.5);
    }
}

/// The spring of the example, compressed by its collar, holds the car at both heights; it is loose where its force ends. What it has
/// to hold is by work: the road's push times the rise of the tyre's lowest point, less the unsprung weight times that of the hub.
#[test]
fn the_collar_brings_the_car_into_balance_at_the_drop() {
    let car = profile::read(include_str!("../examples/tansy-wharf.toml")).expect("sound").car;
    let (side, drop) = (&car.sides.left, 40.0);
    let answer = asked(&car, drop).sides.left.spring.expect("a spring");
    let own = side.spring.expect("a spring");
    let rate = own.rate.expect("a rate");
    let setup = Setup::as_found(side);
    let length = |height: f64| {
        own.line.length(side, &setup, &forward(side, &setup, height).expect("within the travel").pose)
    };
    let ratio = |height: f64| (length(height - 0.01) - length(height + 0.01)) / 0.02;
    let [push, unsprung] = [own.corner_mass, own.unsprung_mass].map(|mass| mass.expect("a mass") * GRAVITY);
    // A thin disc that leans by the camber stands so far under its hub.
    let camber = |height: f64| {
        let pose = forward(side, &setup, height).expect("within the travel").pose;
        Reading::of(side, &pose, &Ground::level()).camber_deg.to_radians()
    };
    let radius = side.wheel.centre.z / camber(0.0).cos();
    let contact = |height: f64| height - radius * camber(height).cos();
    let weight = |height: f64| push * (contact(height + 0.01) - contact(height - 0.01)) / 0.02 - unsprung;
    assert!((weight(0.0) - (push - unsprung)).abs() > 1.0, "it is not the sprung weight at the hub");
    // At the reference, collar where it is, the spring is shorter than free by its load.
    let free = length(0.0) + weight(0.0) / ratio(0.0) / rate;
    let force = |height: f64, down: f64| rate * (free - (length(height) + down));
    assert_relative_eq!(force(0.0, 0.0) * ratio(0.0), weight(0.0), max_relative = 1e-12);
    assert_relative_eq!(answer.reference.force_n.expect("a force"), force(0.0, 0.0), max_relative = 1e-6);
    assert_relative_eq!(force(drop, answer.collar.down_mm) * ratio(drop), weight(drop), max_relative = 1e-6);
    let loose = answer.loose_below_mm.expect("a hard spring");
    assert!(force(loose, answer.collar.down_mm).abs() < 1e-2 && loose < drop);
    // The wheel rate is the slope of the force at the wheel.
    let at_wheel = |height: f64| force(height, answer.collar.down_mm) * ratio(height);
    let slope = (at_wheel(drop + 0.5) - at_wheel(drop - 0.5)) / 1.0;
    assert_relative_eq!(answer.at_drop.wheel_rate_n_per_mm.expect("a rate"), slope, max_relative = 1e-4);
}

#[test]
fn the_bump_stop_is_met_where_the_damper_is_shorter_by_the_gap() {
    let table = ON_THE_LINK.replace("[spring]", "[damper]").replace(
        "rate = 40.0\npitch = 1.5\ncorner_mass = 350.0\nunsprung_mass = 40.0\n",
        "stop_gap = 24.0\nclosed = 300.0\nopen = 380.0\n",
    );
    let damper = asked(&parallel("", &table), 15.0).sides.left.damper.expect("a damper");
    let met = damper.to_stop_mm.expect("it is met") + 15.0;
    assert_relative_eq!(on_the_link(met)[0], 350.0 - 24.0, epsilon = 1e-6);
    assert_relative_eq!(
        damper.remaining_closing_mm.expect("known"),
        on_the_link(70.0)[0] - 300.0,
        epsilon = 1e-9
    );
    assert_relative_eq!(
        damper.remaining_opening_mm.expect("known"),
        380.0 - on_the_link(-60.0)[0],
        epsilon = 1e-9
    );
    assert_relative_eq!(damper.motion_ratio, on_the_link(15.0)[1], epsilon = 1e-12);
    // One that is closed before full bump knocks: no success, as little as a rod end that binds.
    assert!(asked(&parallel("", &table), 15.0).succeeds());
    let knocking = table.replace("closed = 300.0", "closed = 320.0");
    assert!(on_the_link(70.0)[0] < 320.0 && !asked(&parallel("", &knocking), 15.0).succeeds());
    let standing = table.replace("stop_gap = 24.0", "stop_gap = 6.0");
    let damper = asked(&parallel("", &standing), 15.0).sides.left.damper.expect("a damper");
    assert!(damper.to_stop_mm.expect("it is met") < 0.0, "{damper:?}");
    let never = table.replace("stop_gap = 24.0", "stop_gap = 90.0");
    assert_eq!(asked(&parallel("", &never), 15.0).sides.left.damper.expect("a damper").to_stop_mm, None);
}

/// What stands under [right] is in car axes there, and takes the place of the other kind of lower end.
#[test]
fn the_right_side_may_have_a_spring_of_its_own() {
    let own = |right: &str| {
        let answer = asked(&parallel("", &format!("{ON_THE_LINK}[right.spring]\n{right}\n")), 20.0);
        answer.sides.map(|side| side.spring.expect("a spring"))
    };
    let PerSide { left, right } = own("upper = [-140.0, -550.0, 630.0]");
    assert_eq!(left, right);
    let PerSide { left, right } = own("upper = [0.0, -560.0, 700.0]\nlower = [0.0, -660.0, 250.0]");
    assert_relative_eq!(left.reference.length_mm, 350.0, epsilon = 1e-9);
    assert_relative_eq!(right.reference.length_mm, 100.0_f64.hypot(450.0), epsilon = 1e-9);
}

/// A wheel that stands on its squeezed stop is no answer to drive with.
#[test]
fn no_travel_left_is_no_success() {
    let car = parallel("", ON_THE_LINK);
    assert!(asked(&car, 69.0).succeeds());
    assert!(!asked(&car, 70.0).succeeds());
}

proptest! {
    #![proptest_config(config(100))]

    /// First and second derivatives of the motion against central differences of the position solve, for a point of the
    /// knuckle and one of a link.
    #[test]
    fn ratios_and_their_changes_are_the_slopes_of_the_length(
        layout in layouts(), drop in -40.0..60.0, upper in prop::array::uniform3(-40.0..40.0_f64),
        lower in prop::array::uniform3(-40.0..40.0_f64), along in 100.0..300.0_f64, on_link in any::<bool>(),
    ) {
        let upper = [-80.0 + upper[0], 560.0 + upper[1], 620.0 + upper[2]];
        let lower = [-40.0 + lower[0], 650.0 + lower[1], 250.0 + lower[2]];
        let seat = if on_link { format!("on = \"lower rear\"\nalong = {along:?}") } else { format!("lower = {lower:?}") };
        let car = profile::read(&format!("{}[spring]\nupper = {upper:?}\n{seat}\n", layout.toml())).expect("sound").car;
        let side = &car.sides.left;
        let setup = Setup::as_found(side);
        let Ok(position) = forward(side, &setup, drop) else {
            return Err(TestCaseError::reject("no position"));
        };
        prop_assume!(position.condition < 60.0);
        let line = side.spring.expect("a spring").line;
        let length = |height: f64| line.length(side, &setup, &forward(side, &setup, height).expect("near by").pose);
        let rise = Rise::of(&position);
        let [found, slope, bend] = line.moving(side, &setup, &position, &rise).distance(&line.upper);
        assert_relative_eq!(found, length(drop), epsilon = 1e-9);
        let h = 0.05;
        let [far, near] = [2.0 * h, h].map(|h| [length(drop + h), length(drop - h)]);
        let first = (8.0 * (near[0] - near[1]) - (far[0] - far[1])) / (12.0 * h);
        assert_relative_eq!(slope, first, epsilon = 1e-8);
        let h = 0.5;
        let second = (length(drop + h) - 2.0 * found + length(drop - h)) / (h * h);
        assert_relative_eq!(bend, second, epsilon = 1e-6, max_relative = 1e-3);
    }
}

/// Where the car stands on its bump stop the spring does not carry it alone: no turns are told, and that is no success.
#[test]
fn on_the_bump_stop_no_turns_follow() {
    let damper = ON_THE_LINK.replace("[spring]", "[damper]").replace(
        "rate = 40.0\npitch = 1.5\ncorner_mass = 350.0\nunsprung_mass = 40.0\n",
        "stop_gap = 24.0\n",
    );
    let car = |gap: &str| parallel("", &(ON_THE_LINK.to_owned() + &damper.replace("24.0", gap)));
    let page = |car: &Car| {
        let stance = Stance::new(car, [15.0, 15.0], None).expect("no front drop");
        let answer = asked(car, 15.0);
        let page = AnswerPage { car, stance: &stance, answer: &answer, units: Units::default() };
        (page_text(&page).split_whitespace().collect::<Vec<_>>().join(" "), answer)
    };
    let (free, answer) = page(&car("24.0"));
    assert!(answer.succeeds() && !answer.sides.left.on_stop && free.contains("both +6.00 +9.0"), "{free}");
    let (standing, answer) = page(&car("6.0"));
    assert!(!answer.succeeds() && answer.sides.left.on_stop, "{answer:?}");
    assert!(standing.contains("left: NOT KNOWN") && !standing.contains("+6.00"), "{standing}");
}
