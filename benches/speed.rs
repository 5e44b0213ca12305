//! How fast the answers come: `cargo bench`.

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;

use rodset::car::{Setup, Stance};
use rodset::geometry::solve;
use rodset::plan::{Fitting, cams, lower, plan};
use rodset::profile;

fn speed(criterion: &mut Criterion) {
    let text = include_str!("../examples/tansy-wharf.toml");
    let car = profile::read(text).expect("the example is sound").car;
    let side = &car.sides[0];
    let setup = Setup::as_found(side);
    let rows = setup.rows(side, 40.0);
    let near = solve(&setup.rows(side, 39.0), &side.reference()).expect("within travel").pose;
    let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop");
    let specs = [0, 1].map(|i| car.sides[i].spec.expect("the example has one"));

    criterion.bench_function("position, from the reference 40 mm below", |b| {
        b.iter(|| solve(black_box(&rows), &side.reference()));
    });
    criterion.bench_function("position, from a neighbour 1 mm away", |b| {
        b.iter(|| solve(black_box(&rows), &near));
    });
    criterion.bench_function("lower, both sides", |b| b.iter(|| lower(black_box(&car), &stance)));
    criterion.bench_function("cams, both sides, with run-out", |b| {
        b.iter(|| cams(black_box(&car), &stance, &specs));
    });
    criterion.bench_function("plan, both sides, with rounding and cams", |b| {
        b.iter(|| plan(black_box(&car), &stance, &specs, &Fitting::default()));
    });
    criterion.bench_function("profile, read and checked", |b| b.iter(|| profile::read(black_box(text))));
}

criterion_group!(benches, speed);
criterion_main!(benches);
