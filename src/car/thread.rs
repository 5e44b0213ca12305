//! Screw threads: the sizes that exist, and the way people write them.

use serde::Deserialize;
use std::fmt;
use std::str::FromStr;
use std::sync::LazyLock;

/// Millimetres in an inch, exactly.
const INCH: f64 = 25.4;

/// Which way a thread winds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Twist {
    /// Right-hand: clockwise goes in.
    Right,
    /// Left-hand: anticlockwise goes in.
    Left,
}

impl fmt::Display for Twist {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Right => "right-hand",
            Self::Left => "left-hand",
        })
    }
}

/// A thread of a standard size.
///
/// ```
/// use rodset::car::Thread;
/// let thread: Thread = "5/8-18 UNF LH".parse()?;
/// assert_eq!(thread.pitch, 25.4 / 18.0);
/// assert_eq!(thread.to_string(), "5/8-18 UNF LH");
/// # Ok::<(), rodset::car::ThreadError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Thread {
    /// Size and pitch as its standard writes them, without the hand.
    pub(crate) size: String,
    /// Nominal (basic major) diameter, mm.
    pub diameter: f64,
    /// Travel of one turn, mm.
    pub pitch: f64,
    /// Nominal tensile stress area, mm2.
    pub stress_area: f64,
    /// Which way it winds.
    pub(crate) twist: Twist,
}

impl Thread {
    /// Whether it is one of the Unified series, in inches.
    pub(crate) fn is_of_inches(&self) -> bool {
        !self.size.starts_with('M')
    }
}

impl fmt::Display for Thread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let hand = if self.twist == Twist::Right { "RH" } else { "LH" };
        write!(f, "{} {hand}", self.size)
    }
}

/// Why a text is no thread.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ThreadError {
    /// It is not written like a thread at all.
    Unreadable,
    /// It is written well, but the tables have no such size; with the nearest ones that they have.
    NoSuchSize {
        /// Sizes to choose from instead.
        near: Vec<String>,
    },
}

impl fmt::Display for ThreadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable => {
                f.write_str("not a thread; write it like \"M16x1.5 RH\" or \"5/8-18 UNF LH\"")
            }
            Self::NoSuchSize { near } => {
                write!(
                    f,
                    "not in the tables (ISO metric M8 to M24, Unified 5/16 to 1 inch); near it are {}",
                    near.join(", ")
                )
            }
        }
    }
}

impl std::error::Error for ThreadError {}

impl FromStr for Thread {
    type Err = ThreadError;

    /// Reads `"M16x1.5 LH"`, `"M12"` (the coarse pitch), `"5/8-18 UNF RH"`, `"5/8-18"`. Without a hand it is
    /// right-hand, as the standards have it.
    fn from_str(text: &str) -> Result<Self, ThreadError> {
        let upper = text.trim().to_ascii_uppercase().replace('×', "X").replace(',', ".");
        let (body, twist) = match upper.rsplit_once(char::is_whitespace) {
            Some((body, "RH" | "R")) => (body.trim_end(), Twist::Right),
            Some((body, "LH" | "L")) => (body.trim_end(), Twist::Left),
            _ => (upper.as_str(), Twist::Right),
        };
        let wanted =
            if body.starts_with('M') { metric(body) } else { inch(body) }.ok_or(ThreadError::Unreadable)?;
        SIZES
            .iter()
            .find(|size| wanted.is(size))
            .map(|size| Self {
                size: size.name.clone(),
                diameter: size.diameter,
                pitch: size.pitch,
                stress_area: size.stress_area,
                twist,
            })
            .ok_or_else(|| ThreadError::NoSuchSize { near: wanted.neighbours() })
    }
}

/// A size as somebody wrote it.
struct WrittenSize<'a> {
    metric: bool,
    diameter: f64,
    pitch: Option<f64>,
    series: Option<&'a str>,
}

/// `M16`, `M16X1.5`, `M16 X 1.5`.
fn metric(body: &str) -> Option<WrittenSize<'_>> {
    let (diameter, pitch) = match body[1..].split_once('X') {
        Some((diameter, pitch)) => (diameter, Some(positive(pitch)?)),
        None => (&body[1..], None),
    };
    Some(WrittenSize { metric: true, diameter: positive(diameter)?, pitch, series: None })
}

/// `5/8-18`, `5/8"-18 UNF`, `5/8 UNF`, `1-8`, `1 1/8-12`, `0.625-18`.
fn inch(body: &str) -> Option<WrittenSize<'_>> {
    let (body, series) = match body.rsplit_once(char::is_whitespace) {
        Some((body, series)) if series.starts_with("UN") => (body.trim_end(), Some(series)),
        _ => (body, None),
    };
    let (diameter, pitch) = match body.split_once('-') {
        Some((diameter, per_inch)) => (diameter, Some(INCH / positive(per_inch)?)),
        None => (body, None),
    };
    if pitch.is_none() && series.is_none() {
        return None;
    }
    let fraction = |text: &str| match text.split_once('/') {
        Some((over, under)) => Some(positive(over)? / positive(under)?),
        None => positive(text),
    };
    let diameter = diameter.trim_end_matches('"');
    let diameter = match diameter.split_once(char::is_whitespace) {
        Some((whole, part)) => positive(whole)? + fraction(part)?,
        None => fraction(diameter)?,
    };
    Some(WrittenSize { metric: false, diameter: diameter * INCH, pitch, series })
}

fn positive(text: &str) -> Option<f64> {
    text.trim().parse().ok().filter(|value: &f64| value.is_finite() && *value > 0.0)
}

impl WrittenSize<'_> {
    fn is(&self, size: &Size) -> bool {
        let pitch = match (self.pitch, self.series) {
            (Some(pitch), _) => (pitch - size.pitch).abs() < 1e-6,
            // "M12" means the coarse pitch, "5/8 UNF" the one of that series.
            (None, None) => size.series == "coarse",
            (None, Some(_)) => true,
        };
        pitch
            && self.metric == size.metric
            && (self.diameter - size.diameter).abs() < 1e-6
            && self.series.is_none_or(|series| series == size.series)
    }

    /// The sizes to offer instead: all of the nearest diameter, or the nearest few if those are many.
    fn neighbours(&self) -> Vec<String> {
        const OFFERED: usize = 4;
        let distance = |size: &Size| {
            let pitch = self.pitch.map_or(0.0, |pitch| (pitch - size.pitch).abs());
            // A wrong diameter is a worse neighbour than a wrong pitch.
            10.0 * (self.diameter - size.diameter).abs() + pitch
        };
        let mut sizes: Vec<&Size> = SIZES.iter().filter(|size| size.metric == self.metric).collect();
        sizes.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
        sizes.iter().take(OFFERED).map(|size| size.name.clone()).collect()
    }
}

/// A row of the tables in `data/`, in mm.
struct Size {
    name: String,
    metric: bool,
    series: String,
    diameter: f64,
    pitch: f64,
    stress_area: f64,
}

/// Both tables, read once. They are part of the program and a test reads them, so a fault cannot reach a user.
static SIZES: LazyLock<Vec<Size>> = LazyLock::new(|| {
    #[derive(Deserialize)]
    struct SizeTable<T> {
        thread: Vec<T>,
    }
    #[derive(Deserialize)]
    struct Metric {
        size: String,
        diameter: f64,
        pitch: f64,
        series: String,
        area: f64,
    }
    #[derive(Deserialize)]
    struct Inch {
        size: String,
        diameter: f64,
        tpi: f64,
        series: String,
        area: f64,
    }
    let metric: SizeTable<Metric> =
        toml::from_str(include_str!("../../data/threads-metric.toml")).expect("the metric table is sound");
    let inch: SizeTable<Inch> =
        toml::from_str(include_str!("../../data/threads-inch.toml")).expect("the inch table is sound");
    let metric = metric.thread.into_iter().map(|row| Size {
        name: format!("{}x{}", row.size, row.pitch),
        metric: true,
        series: row.series,
        diameter: row.diameter,
        pitch: row.pitch,
        stress_area: row.area,
    });
    let inch = inch.thread.into_iter().map(|row| Size {
        name: format!("{}-{} {}", row.size, row.tpi, row.series),
        metric: false,
        series: row.series,
        diameter: row.diameter * INCH,
        pitch: INCH / row.tpi,
        stress_area: row.area * INCH * INCH,
    });
    metric.chain(inch).collect()
});

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn thread(text: &str) -> Thread {
        text.parse().unwrap_or_else(|error| panic!("{text}: {error}"))
    }

    #[test]
    fn every_size_of_the_tables_is_read_back_from_its_own_name() {
        assert!(SIZES.len() > 90);
        for size in SIZES.iter() {
            for hand in ["RH", "LH"] {
                let text = format!("{} {hand}", size.name);
                assert_eq!(thread(&text).to_string(), text);
            }
        }
    }

    /// Stress areas against their formulas: ISO 898-1, `pi/4 (d - 0.9382 P)^2`; ASME B1.1,
    /// `pi/4 (D - 0.9743/n)^2`. One unit of the last printed digit is allowed.
    #[test]
    fn stress_areas_obey_the_formulas_of_their_standards() {
        for size in SIZES.iter() {
            let factor = if size.metric { 0.9382 } else { 0.9743 };
            let area = std::f64::consts::FRAC_PI_4 * (size.diameter - factor * size.pitch).powi(2);
            assert_relative_eq!(size.stress_area, area, max_relative = 5e-3);
        }
    }

    #[test]
    fn people_write_threads_in_several_ways() {
        assert_eq!(thread("m16 x 1,5 lh"), thread("M16x1.5 LH"));
        assert_eq!(thread("M12"), thread("M12x1.75 RH"));
        assert_eq!(thread("5/8-18"), thread("5/8-18 UNF RH"));
        assert_eq!(thread("5/8 UNF LH"), thread("5/8-18 UNF LH"));
        assert_eq!(thread("0.625-18 unf"), thread("5/8-18 UNF RH"));
        assert_eq!(thread("5/8\"-18 LH"), thread("5/8-18 UNF LH"));
        assert_eq!(thread("1-14 UNS"), thread("1-14"));
    }

    #[test]
    fn a_size_that_does_not_exist_names_its_neighbours() {
        let error = |text: &str| text.parse::<Thread>().expect_err("no such thread").to_string();
        assert!(
            error("M16x1.25 RH").ends_with("M16x1.5, M16x1, M16x2, M14x1.25"),
            "{}",
            error("M16x1.25 RH")
        );
        assert!(error("5/8-19 UNF").contains("5/8-18 UNF"));
        assert!(error("5/8-18 UNC").contains("5/8-18 UNF"));
        assert!(error("1 1/4-12 UNF").contains("1-12 UNF"));
        assert!(error("M27x2").contains("M24x2"));
        for text in ["", "M", "x", "M16x", "5/8", "5/0-18", "M-3", "16x1.5", "Mé", "M16x1.5 LH RH", "nan-18"]
        {
            assert!(text.parse::<Thread>().is_err(), "{text}");
        }
    }
}
