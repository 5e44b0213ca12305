//! The same questions without a clock around them, for a counter of instructions, and with one for a comparison:
//!
//! ```text
//! cargo bench --bench work -- count NAME TIMES      asks so often, says nothing
//! cargo bench --bench work -- time                  the least time of each, in ns, with its number of answers
//! cargo bench --bench work -- floor                 what a core adds and multiplies, in operations per ns
//! cargo bench --bench work -- rods                  the wheel that is solved, as plain numbers
//! ```
//!
//! `benches/compare.py` asks for all of it.

mod cases;

use std::hint::black_box;
use std::time::Instant;

use rodset::geometry::{Four, Number, Row, solve};

/// How long a question is asked again and again for its least time, s.
const PATIENCE: f64 = 1.0;
/// A round of quick questions takes at least this, s.
const ROUND: f64 = 2e-3;

fn main() {
    // Cargo adds an argument of its own.
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["count", name, times] => count(name, times.parse().expect("a number of times")),
        ["time", ref names @ ..] => time(names),
        ["floor"] => println!("{:.4} {:.4}", floor::<f64>(), floor::<Four>()),
        ["rods"] => rods(),
        _ => eprintln!("count NAME TIMES, time, floor or rods"),
    }
}

fn count(name: &str, times: u64) {
    let mut case = cases::cases().into_iter().find(|case| case.name == name).expect("a name of a question");
    for _ in 0..times {
        (case.ask)();
    }
}

fn time(names: &[&str]) {
    for mut case in cases::cases().into_iter().filter(|case| names.is_empty() || names.contains(&case.name)) {
        (case.ask)();
        let begin = Instant::now();
        (case.ask)();
        let asked = begin.elapsed().as_secs_f64().max(1e-9);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small positive count")]
        let times = (ROUND / asked).clamp(1.0, 1e6) as u32;
        let mut least = f64::INFINITY;
        let begin = Instant::now();
        while begin.elapsed().as_secs_f64() < PATIENCE {
            let round = Instant::now();
            for _ in 0..times {
                (case.ask)();
            }
            least = least.min(round.elapsed().as_secs_f64() / f64::from(times));
        }
        println!("{}\t{}\t{:.1}\t{}", case.name, case.answers, least * 1e9, case.said);
    }
}

/// Additions and multiplications per ns where nothing waits for anything else.
fn floor<T: Number>() -> f64 {
    const CHAINS: usize = 10;
    const TURNS: u32 = 20_000_000;
    let mut least = f64::INFINITY;
    for _ in 0..5 {
        let mut sums: [T; CHAINS] = [T::splat(black_box(1.0)); CHAINS];
        let (by, plus) = (T::splat(black_box(0.999_999)), T::splat(black_box(1e-6)));
        let begin = Instant::now();
        for _ in 0..TURNS {
            for sum in &mut sums {
                *sum = *sum * by + plus;
            }
        }
        black_box(sums);
        least = least.min(begin.elapsed().as_secs_f64());
    }
    #[expect(clippy::cast_precision_loss, reason = "a count")]
    let operations = 2.0 * (T::LANES * CHAINS) as f64 * f64::from(TURNS);
    operations / (least * 1e9)
}

/// A line a rod: pivot on the subframe, arm of the knuckle point, length; then the height; then the start and the answer, a
/// rotation by rows and a centre each.
fn rods() {
    let wheel = cases::Wheel::new();
    let numbers = |numbers: &[f64]| numbers.iter().map(|x| format!("{x:e}")).collect::<Vec<_>>().join(" ");
    for row in &wheel.rows {
        match row {
            Row::Rod { subframe, knuckle, length, .. } => println!(
                "{}",
                numbers(&[subframe.x, subframe.y, subframe.z, knuckle.x, knuckle.y, knuckle.z, *length])
            ),
            Row::Height { z } => println!("{z:e}"),
            _ => {}
        }
    }
    let answer = solve(&wheel.rows, &wheel.near).expect("within travel").pose;
    for pose in [wheel.near, answer] {
        println!(
            "{} {}",
            numbers(pose.rotation.matrix().transpose().as_slice()),
            numbers(pose.centre.coords.as_slice())
        );
    }
}
