//! Correcting simulated cars after simulated readings.

use rodset::plan::{Cause, Correction, Fitting, Flag, Reading};

use crate::workshop::{Described, Standing, Workshop, cars};

const RACK: [f64; 2] = [0.03, 0.02];
const TRUE: Described = Described { off: 0.0, rack: RACK, preset: 0.4, height: 2.0 };
const ROUGH: Described = Described { off: 5.0, ..TRUE };

#[test]
fn explore() {
    for (how, described) in [("true", TRUE), ("rough", ROUGH)] {
        for fault in 0..9 {
            let mut counts = std::collections::BTreeMap::<String, usize>::new();
            let mut runs = 0;
            for (layout, random) in cars(200) {
                let mut shop = Workshop::new(&layout, described, Fitting::default(), random);
                if fault == 7 {
                    shop.slope = 0.5_f64.to_radians();
                }
                if fault == 8 {
                    shop.fitting = Fitting { arms: Some(vec![]), keep_cams: false };
                }
                let Some(plan) = shop.plan() else { continue };
                if plan.sides.iter().any(|s| s.certainty.condition > 60.0) {
                    continue;
                }
                let planned = shop.as_planned(&plan);
                let Some(kinds) = (|| {
                    let first = shop.read(&planned, &planned)?;
                    let correction = shop.correct(&[first.clone()])?;
                    let noted = shop.as_corrected(planned, &correction);
                    let mut real = noted;
                    let turn = |l: usize| noted[0].turned[l] - planned[0].turned[l];
                    match fault {
                        1 => {
                            if turn(0).abs() < 0.7 {
                                return None;
                            }
                            real[0].turned[0] = planned[0].turned[0];
                        }
                        2 => {
                            if turn(0).abs() < 0.7 {
                                return None;
                            }
                            real[0].turned[0] = planned[0].turned[0] - turn(0);
                        }
                        3 => real[0].turned[0] -= 2.0,
                        4 => real[0].turned[1] += 1.5,
                        5 => {
                            if turn(0).abs() < 0.7 {
                                return None;
                            }
                            real[0].turned[0] -= turn(0);
                            real[1].turned[0] += turn(0);
                        }
                        6 => {
                            if turn(0).abs() < 0.7 && turn(1).abs() < 0.4 {
                                return None;
                            }
                            real[0] = planned[0];
                        }
                        8 => {
                            let s = real[0].shifts[0]?;
                            real[0].shifts[0] = Some(s - 1.5);
                        }
                        _ => {}
                    }
                    let second = shop.read(&real, &noted)?;
                    let mut rounds = vec![first, second];
                    let mut correction = shop.correct(&rounds)?;
                    if fault == 0 {
                        let next = shop.as_corrected(noted, &correction);
                        rounds.push(shop.read(&next, &next)?);
                        correction = shop.correct(&rounds)?;
                    }
                    Some(correction.flags)
                })() else {
                    continue;
                };
                runs += 1;
                if kinds.is_empty() {
                    *counts.entry("none".into()).or_default() += 1;
                }
                for flag in kinds {
                    let text = match flag {
                        Flag::Change { side, round, causes, .. } => format!(
                            "change {side} {round} {}",
                            causes
                                .iter()
                                .map(|c| match c {
                                    Cause::Moved { link, .. } => format!("moved {link}"),
                                    other => format!("{other:?}"),
                                })
                                .collect::<Vec<_>>()
                                .first()
                                .cloned()
                                .unwrap_or_default()
                        ),
                        Flag::UnevenGround { known, .. } => format!("uneven {known}"),
                        Flag::Noise { figure, .. } => format!("noise {figure}"),
                    };
                    *counts.entry(text).or_default() += 1;
                }
            }
            println!("{how} fault {fault}: {runs} runs {counts:#?}");
        }
    }
}
