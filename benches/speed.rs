//! How fast the answers come: `cargo bench --bench speed`, or one of them by its name behind `--`.

mod cases;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};

fn speed(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("rodset");
    for mut case in cases::cases() {
        group.throughput(Throughput::Elements(case.answers.into()));
        group.bench_function(format!("{}: {}", case.name, case.said), |bencher| bencher.iter(&mut case.ask));
    }
}

criterion_group!(benches, speed);
criterion_main!(benches);
