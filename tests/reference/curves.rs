//! Curves and lines by least squares.

use nalgebra::{DMatrix, DVector};
use rodset::measure::{Least, Linearised, least_squares};
use serde::Deserialize;

use super::{Check, Printed};

/// A curve, its data, and what a fit of it is certified to give.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Set {
    name: String,
    model: String,
    starts: Vec<Vec<f64>>,
    x: Vec<f64>,
    y: Vec<f64>,
    parameters: Vec<f64>,
    deviations: Vec<f64>,
    sum_of_squares: f64,
    residual_deviation: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Sets {
    set: Vec<Set>,
}

/// Value and derivatives of a curve.
type Curve = fn(&[f64], f64) -> (f64, Vec<f64>);

/// The curves by the text of their formula.
const CURVES: [(&str, Curve); 5] = [
    ("b1 (1 - exp(-b2 x))", |b, x| {
        let fall = (-b[1] * x).exp();
        (b[0] * (1.0 - fall), vec![1.0 - fall, b[0] * x * fall])
    }),
    ("b1 (x^2 + b2 x)/(x^2 + b3 x + b4)", |b, x| {
        let (over, under) = (x * x + b[1] * x, x * x + b[2] * x + b[3]);
        let value = b[0] * over / under;
        (value, vec![over / under, b[0] * x / under, -value * x / under, -value / under])
    }),
    ("(b1 + b2 x + b3 x^2 + b4 x^3)/(1 + b5 x + b6 x^2 + b7 x^3)", |b, x| {
        let powers = [1.0, x, x * x, x * x * x];
        let over: f64 = (0..4).map(|i| b[i] * powers[i]).sum();
        let under: f64 = 1.0 + (1..4).map(|i| b[3 + i] * powers[i]).sum::<f64>();
        let value = over / under;
        let slopes = (0..4).map(|i| powers[i] / under).chain((1..4).map(|i| -value * powers[i] / under));
        (value, slopes.collect())
    }),
    ("(b1/b2) exp(-((x - b3)/b2)^2/2)", |b, x| {
        let away = (x - b[2]) / b[1];
        let bell = (-0.5 * away * away).exp() / b[1];
        let value = b[0] * bell;
        (value, vec![bell, value * (away * away - 1.0) / b[1], value * away / b[1]])
    }),
    ("b1/(1 + exp(b2 - b3 x))^(1/b4)", |b, x| {
        let growth = (b[1] - b[2] * x).exp();
        let base = 1.0 + growth;
        let part = base.powf(-1.0 / b[3]);
        let slope = -b[0] * part * growth / (base * b[3]);
        (b[0] * part, vec![part, slope, -slope * x, b[0] * part * base.ln() / (b[3] * b[3])])
    }),
];

pub(super) fn fit(check: &mut Check, file: &Sets) {
    for set in &file.set {
        let (_, curve) = (CURVES.iter().find(|(model, _)| *model == set.model))
            .unwrap_or_else(|| panic!("{}: no curve `{}`", check.file, set.model));
        for start in &set.starts {
            check.row();
            let row = format!("{} from {start:?}", set.name);
            let Ok(least) = least(*curve, &set.x, &set.y, start) else {
                check.fail(&row, "nothing was found");
                continue;
            };
            let residual = residual_deviation(&least);
            let relative = |got: f64, certified: f64| (got - certified) / certified;
            for (i, certified) in set.parameters.iter().enumerate() {
                let row = format!("{row}, b{}", i + 1);
                check.near("parameter", &row, relative(least.unknowns[i], *certified), 0.0);
                let deviation = residual * least.covariance()[(i, i)].sqrt();
                check.near("deviation", &row, relative(deviation, set.deviations[i]), 0.0);
            }
            check.near("sum of squares", &row, relative(least.sum_of_squares(), set.sum_of_squares), 0.0);
            check.near("residual", &row, relative(residual, set.residual_deviation), 0.0);
        }
    }
}

fn least(
    curve: impl Fn(&[f64], f64) -> (f64, Vec<f64>),
    x: &[f64],
    y: &[f64],
    start: &[f64],
) -> Result<Least, rodset::measure::Unsettled> {
    least_squares(DVector::from_column_slice(start), |b| {
        let rows: Vec<(f64, Vec<f64>)> = x.iter().map(|x| curve(b.as_slice(), *x)).collect();
        Some(Linearised {
            residuals: DVector::from_fn(x.len(), |i, _| rows[i].0 - y[i]),
            jacobian: DMatrix::from_fn(x.len(), b.len(), |i, j| rows[i].1[j]),
        })
    })
}

#[expect(clippy::cast_precision_loss, reason = "a count of observations")]
fn residual_deviation(least: &Least) -> f64 {
    (least.sum_of_squares() / least.freedom() as f64).sqrt()
}

/// A number with its standard uncertainty.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Uncertain {
    value: Printed,
    u: Printed,
}

/// A thermometer: the corrections `b` at the readings `t`, as a line about `t0`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Line {
    t: Vec<f64>,
    b: Vec<f64>,
    t0: f64,
    intercept: Uncertain,
    slope: Uncertain,
    correlation: Printed,
    sum_of_squares: Printed,
    at_30: Uncertain,
}

pub(super) fn line(check: &mut Check, file: &Line) {
    check.row();
    let Line { t0, .. } = *file;
    let line = |y: &[f64], t: f64| (y[0] + y[1] * (t - t0), vec![1.0, t - t0]);
    let least = least(line, &file.t, &file.b, &[0.0, 0.0]).expect("a line has its least squares");
    let covariance = least.covariance() * residual_deviation(&least).powi(2);
    let u = |i: usize| covariance[(i, i)].sqrt();
    for (what, expected, got, got_u) in [
        ("intercept", &file.intercept, least.unknowns[0], u(0)),
        ("slope", &file.slope, least.unknowns[1], u(1)),
        ("at 30", &file.at_30, line(least.unknowns.as_slice(), 30.0).0, {
            let there = DVector::from_vec(vec![1.0, 30.0 - t0]);
            (there.transpose() * &covariance * &there)[(0, 0)].sqrt()
        }),
    ] {
        check.printed("value", what, got, expected.value);
        check.printed("uncertainty", what, got_u, expected.u);
    }
    check.printed("correlation", "intercept and slope", covariance[(0, 1)] / (u(0) * u(1)), file.correlation);
    check.printed("sum of squares", "line", least.sum_of_squares(), file.sum_of_squares);
}
