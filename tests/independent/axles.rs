//! Axles of other members than five rods against natural coordinates: `axles.py` in this folder, see its README.

use rodset::car::{PerSide, Setup, Stance};
use rodset::geometry::{Figure, Ground};
use rodset::plan::{Fitting, cams, forward, plan};
use rodset::profile;
use serde_json::Value;

use super::{DEGREES, MILLIMETRES};

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().expect("a list").iter().map(|number| number.as_f64().expect("a number")).collect()
}

/// The camber cam of a case, by half of its throw.
fn throw(case: &Value) -> f64 {
    let number = case["number"].as_u64().expect("a number");
    match case["kind"].as_str() {
        Some("blade") => 3.5,
        // Half of them so narrow that they run out within the travel.
        Some("strut") => (if number % 2 == 1 { 3.0 } else { 9.0 }) / (if number % 4 > 1 { 5.0 } else { 1.0 }),
        _ => 3.0,
    }
}

/// The profile of a case: with arms and a wide lean or slot for the plan, or with the camber cam alone.
fn text(case: &Value, with_arms: bool) -> String {
    let (kind, points) = (case["kind"].as_str().expect("a kind"), &case["points"]);
    let reading = numbers(&case["reading"]);
    let tolerance = if with_arms { "0.05" } else { "5.0" };
    let mut text = format!(
        "format = 1\n[car]\nname = \"random\"\n[wheel]\ncentre = {}\ncamber = {:?}\ntoe = {:?}\n[ride]\nbump = 80.0\ndroop = 80.0\n[spec]\n\
         camber = -1.1\ncamber_tolerance = 0.5\ntoe = 0.12\ntoe_tolerance = {tolerance}\n",
        case["centre"], reading[0], reading[1]
    );
    let arm = "sets = \"{}\"\n[link.arm]\nshortest = 100.0\nlongest = 600.0\nthreads = [\"M14x1.5 RH\", \"M14x1.5 LH\"]\n";
    let cam = |throw: f64| format!("eccentricity = {throw:?}\nalong = [0.0, 1.0, 0.0]\n");
    let mut rod = |name: &str, sets: &str, has_cam: bool| {
        text += &format!(
            "[[link]]\nname = \"{name}\"\nsubframe = {}\nknuckle = {}\n",
            points[format!("{name} in")],
            points[format!("{name} out")]
        );
        if with_arms && !sets.is_empty() {
            text += &arm.replace("{}", sets);
        } else if has_cam {
            text += &format!("sets = \"camber\"\n[link.cam]\n{}", cam(throw(case)));
        }
    };
    match kind {
        "blade" => {
            rod("upper", "camber", false);
            rod("lower", "", !with_arms);
            rod("toe", "toe", false);
            text += &format!("[[link]]\nname = \"blade\"\nkind = \"blade\"\nsubframe = {}\n", points["bush"]);
        }
        "strut" => {
            rod("front", "", false);
            rod("toe", "toe", false);
            rod("trailing", "", false);
            let throw = if with_arms { 50.0 } else { throw(case) };
            let ends = format!("subframe = {}\nknuckle = {}\n", points["top"], points["foot"]);
            text += &format!("[[link]]\nname = \"strut\"\nkind = \"strut\"\n{ends}");
            text += &if case["number"].as_u64().expect("a number") % 2 == 1 {
                format!("[link.lean]\neccentricity = {throw:?}\nabove = {}\n", points["above"])
            } else {
                format!(
                    "sets = \"camber\"\n[link.cam]\neccentricity = {throw:?}\nalong = {}\n",
                    points["slot"]
                )
            };
        }
        _ => {
            rod("upper", "camber", !with_arms);
            rod("toe", "toe", false);
            text += &format!(
                "[[link]]\nname = \"upright\"\non = \"lower\"\nsubframe = {}\nknuckle = {}\n[[link]]\nname = \"lower\"\nkind = \"wishbone\"\n\
                 knuckle = {}\nfront = {{ subframe = {} }}\nrear = {{ subframe = {} }}\n",
                points["foot"], points["head"], points["joint"], points["front"], points["rear"]
            );
        }
    }
    text
}

#[derive(Default)]
struct Worst {
    degrees: f64,
    millimetres: f64,
    run_out: f64,
}

#[test]
fn other_axles_agree() {
    let (mut worst, mut cases, mut run_outs, mut of_struts) = (Worst::default(), 0, 0, 0);
    for line in include_str!("axles.jsonl").lines() {
        let case: Value = serde_json::from_str(line).expect("a line of JSON");
        let name = format!("{} {}", case["kind"], case["number"]);
        let read = |with_arms: bool| {
            let text = text(&case, with_arms);
            let read = profile::read(&text);
            read.unwrap_or_else(|findings| panic!("{name}: {}", findings[0].render("car.toml", &text, false)))
                .car
        };
        let car = read(true);
        let side = &car.sides.left;
        let mut last = None;
        for drop in case["drops"].as_array().expect("drops").iter().map(numbers) {
            let position = forward(side, &Setup::as_found(side), drop[0]).expect(&name);
            let [camber, toe] = [Figure::Camber, Figure::Toe]
                .map(|figure| figure.value(&position.pose, &side.wheel, &Ground::level()).to_degrees());
            worst.degrees = worst.degrees.max((camber - drop[1]).abs()).max((toe - drop[2]).abs());
            let centre = position.pose.centre;
            worst.millimetres =
                worst.millimetres.max((centre.x - drop[3]).abs()).max((centre.y - drop[4]).abs());
            assert!(position.certificate().is_some(), "{name}: not certified");
            last = Some((position, drop[0]));
        }
        let (position, drop) = last.expect("a drop");
        let rates = numbers(&case["rates"]);
        for (figure, rate) in [Figure::Camber, Figure::Toe].into_iter().zip(rates) {
            let got = position.rate(figure, &side.wheel, &Ground::level(), Setup::HEIGHT_ROW).to_degrees();
            worst.degrees = worst.degrees.max((got - rate).abs());
        }

        let stance = Stance::new(&car, [drop; 2], None).expect("no front drop");
        let specs = car.sides.each(|side| side.spec.expect("a spec"));
        let answer = plan(&car, &stance, &specs, &Fitting::default())
            .unwrap_or_else(|error| panic!("{name}: {error}"));
        let set = numbers(&case["set"]);
        let PerSide { left, .. } = &answer.sides;
        let arm = |link: &str| left.arms.iter().find(|arm| arm.link == link).map(|arm| arm.exact_mm);
        let camber =
            if case["kind"] == "strut" { left.cams.first().map(|cam| cam.shift_mm) } else { arm("upper") };
        for (got, expect) in [camber, arm("toe")].into_iter().zip(set) {
            let off = (got.expect(&name) - expect).abs();
            assert!(off <= MILLIMETRES, "{name}: {got:?}, expected {expect}");
            worst.millimetres = worst.millimetres.max(off);
        }

        // A run-out takes as long as all the rest.
        if let Some(expect) = case["run_out"].as_f64().filter(|_| cases % 6 < 2 || case["kind"] == "strut") {
            let car = read(false);
            let stance = Stance::new(&car, [0.0; 2], None).expect("no front drop");
            let specs = car.sides.each(|side| side.spec.expect("a spec"));
            let answer = cams(&car, &stance, &specs).unwrap_or_else(|error| panic!("{name}: {error}"));
            let got = answer.sides.left.run_out_drop_mm.unwrap_or_else(|| panic!("{name}: no run-out"));
            worst.run_out = worst.run_out.max((got - expect).abs());
            run_outs += 1;
            of_struts += usize::from(case["kind"] == "strut");
        }
        cases += 1;
    }
    let Worst { degrees, millimetres, run_out } = worst;
    println!(
        "{cases} axles: at most {degrees:.1e} degree and {millimetres:.1e} mm apart, {run_outs} run-outs {run_out:.1e} mm"
    );
    assert!(degrees <= DEGREES && millimetres <= MILLIMETRES && run_out <= MILLIMETRES);
    assert!(cases == 180 && run_outs >= 40 && of_struts >= 15, "{run_outs}, {of_struts}");
}
