//! What may have been meant by a number that is hardly right.

use super::keys::Kind;
use crate::car::{PerSide, is_ordinary, most};
use crate::geometry::Figure;
use crate::measure::transposed;

/// A slip: how many times what stands there is what was meant, and how it is asked about.
type KnownSlip = (f64, &'static str);

const SIGN: KnownSlip = (-1.0, "Is a minus sign lost, or one too many?");
const POINT: KnownSlip = (0.1, "Is a decimal point lost?");
const MINUTES: KnownSlip = (1.0 / 60.0, "Are these minutes?");
const LENGTHS: &[KnownSlip] = &[
    (25.4, "Are these inches?"),
    (10.0, "Are these cm?"),
    (
        0.5,
        "Is that the whole, where half of it is due, such as a diameter for a radius, the track, or both ends together?",
    ),
    (2.0, "Is that half of it, such as a radius, where the whole is due?"),
    POINT,
    SIGN,
];

/// The slips with each kind of number, the likeliest first.
fn slips(kind: Kind) -> &'static [KnownSlip] {
    match kind {
        Kind::Angle => &[SIGN, MINUTES, POINT],
        Kind::Toe => &[
            SIGN,
            (0.5, "Is that the total of both wheels, typed as each one's?"),
            // A mm across a rim of 17 inches is 0.133 degree.
            (0.133, "Are these mm across the rim?"),
            MINUTES,
        ],
        Kind::Mass => &[
            (0.25, "Is that the whole car's?"),
            (0.5, "Is that the whole axle's?"),
            (0.4536, "Are these pounds?"),
            POINT,
        ],
        Kind::Rate => &[(0.1751, "Are these pounds per inch?"), (9.81, "Are these kg/mm?"), POINT],
        Kind::Torque => {
            &[(10.0, "Is its decimal point at the wrong place?"), (9.81, "Are these kgf m?"), POINT]
        }
        Kind::Force => &[(1000.0, "Are these kN?"), (9.81, "Are these kg?"), POINT],
        Kind::Number(_) | Kind::Whole => &[
            (1.0 / 6.0, "Are these flats? A flat is a sixth of a turn."),
            (0.5, "Is that counted from end to end?"),
            POINT,
        ],
        _ => LENGTHS,
    }
}

/// What is asked about a number that is not ordinary: of the two likeliest slips that would explain it.
pub(super) fn meant(kind: Kind, of: &str, value: f64) -> Option<String> {
    let explains = |(factor, _): &&KnownSlip| is_ordinary(of, value * factor);
    let words: Vec<&str> = slips(kind).iter().filter(explains).map(|(_, words)| *words).take(2).collect();
    (!words.is_empty()).then(|| words.join(" "))
}

/// What a coordinate may have been before one slip.
pub(super) struct Guess {
    pub(super) value: f64,
    /// How unlikely the slip is, as minus a logarithm.
    pub(super) cost: f64,
    pub(super) words: &'static str,
}

/// What a coordinate, mm, may have been before one slip in reading or typing it.
pub(super) fn corrections(typed: f64) -> Vec<Guess> {
    /// Points that lie so near to the plane of the wheel's axis lie before it or behind it, mm.
    const NEAR: f64 = 40.0;
    let slip = |value, cost, words| Guess { value, cost, words };
    let sign = if typed.abs() < NEAR { 3.0 } else { 1.0 };
    // Whoever reads whole mm does not type tenths.
    let tenth = if (typed / 10.0).fract() == 0.0 { 2.5 } else { 6.5 };
    let mut all = vec![
        slip(-typed, sign, SIGN.1),
        slip(10.0 * typed, 2.5, "Is its decimal point at the wrong place?"),
        slip(typed / 10.0, tenth, "Is a digit too many, or a decimal point lost?"),
    ];
    let decimetres = [100.0, -100.0].map(|by| slip(typed + by, 2.5, "Is it misread by 100 mm?"));
    all.extend(decimetres);
    // What the first two lines do to nothing is nothing.
    all.retain(|correction| (correction.value - typed).abs() > 0.0);
    if typed.fract() == 0.0 && typed.abs() < 1e5 {
        all.extend(transposed(typed).map(|value| slip(value, 1.5, "Have two digits changed places?")));
    }
    all
}

/// What is odd about how far a car is to be lowered, mm; the front by itself where that is asked for.
pub(crate) fn odd_drops(drops: PerSide<f64>, front: Option<f64>) -> Vec<String> {
    let PerSide { left, right } = drops;
    let rear = if (left - right).abs() < f64::EPSILON {
        vec![("the rear", left)]
    } else {
        vec![("the left rear", left), ("the right rear", right)]
    };
    let all = rear.into_iter().chain(front.map(|front| ("the front", front)));
    let odd = |(what, drop): (&str, f64)| {
        let text = match drop {
            drop if drop < 0.0 => format!("hardly anybody raises {what}."),
            drop if drop < most("drop") => format!("hardly anybody lowers {what} by so little."),
            _ => format!("hardly anybody lowers {what} by so much."),
        };
        let told = || {
            [Some(text), meant(Kind::Length, "drop", drop)]
                .into_iter()
                .flatten()
                .collect::<Vec<_>>()
                .join(" ")
        };
        (drop != 0.0 && !is_ordinary("drop", drop)).then(told)
    };
    let mut odd: Vec<String> = all.filter_map(odd).collect();
    let pairs = [
        ("left and right", "drops apart", Some(left - right)),
        ("front and rear", "front and rear apart", front.map(|front| front - f64::midpoint(left, right))),
    ];
    for (what, of, apart) in pairs {
        odd.extend(apart.filter(|apart| !is_ordinary(of, apart.abs())).map(|_| {
            format!("{what} are to come down by amounts that are far apart: is one of them a mistake?")
        }));
    }
    odd
}

/// What is odd about a camber or the toe of a wheel, degrees, that is asked for.
pub(crate) fn odd_aim(figure: Figure, degrees: f64) -> Option<String> {
    let (kind, of) =
        if figure == Figure::Toe { (Kind::Toe, "toe that is wanted") } else { (Kind::Angle, "camber") };
    let text = format!("hardly a rear wheel is set to {figure} of {degrees:.2} degrees.");
    let told = [Some(text), meant(kind, of, degrees)].into_iter().flatten().collect::<Vec<_>>().join(" ");
    (!is_ordinary(of, degrees)).then_some(told)
}
