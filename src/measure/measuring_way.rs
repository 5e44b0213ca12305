//! The ways to measure under a car.

use super::network::ObservationKind;

/// One thing that a survey file lists to be measured.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Listed {
    /// How it is measured.
    pub(crate) way: MeasuringWay,
    /// Between what, in words.
    pub(crate) what: String,
    /// What was read, mm or rad; none where that is still to be done.
    pub(crate) reads: Option<f64>,
    /// Whether the file says to leave it out.
    pub(crate) left_out: bool,
}

/// A way to measure, as the lists of a survey file are called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum MeasuringWay {
    /// Height above the floor or above another point.
    Height,
    /// How far forward of the wheel centre or of another point, by plumb line.
    Forward,
    /// How far to the left of the centreline or of another point, by plumb line.
    Across,
    /// From a point straight across to its counterpart on the right.
    Pair,
    /// Level distance from the line through two marks.
    Offset,
    /// Straight from point to point.
    Tape,
    /// An arm off the car, centre to centre.
    Arm,
    /// The slope of a link by a level.
    Slope,
}

impl MeasuringWay {
    /// How something new is measured.
    pub(crate) fn of(kind: &ObservationKind) -> Self {
        match kind {
            ObservationKind::Difference { axis: 0, .. } => Self::Forward,
            ObservationKind::Difference { axis: 1, .. } => Self::Across,
            ObservationKind::Difference { .. } => Self::Height,
            ObservationKind::Distance { .. } => Self::Tape,
            ObservationKind::Offset { .. } => Self::Offset,
            ObservationKind::Slope { .. } => Self::Slope,
        }
    }

    /// All of them, in the order in which they are best measured.
    pub(crate) const ALL: [Self; 8] = [
        Self::Height,
        Self::Forward,
        Self::Across,
        Self::Pair,
        Self::Arm,
        Self::Tape,
        Self::Slope,
        Self::Offset,
    ];

    /// The name of its list.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Height => "height",
            Self::Forward => "forward",
            Self::Across => "across",
            Self::Pair => "pair",
            Self::Offset => "offset",
            Self::Tape => "tape",
            Self::Arm => "arm",
            Self::Slope => "slope",
        }
    }

    /// The standard deviation of a careful reading by hand, mm or rad. Common practice, no source; a tape of class II may be
    /// off by 0.7 mm at 2 m (MID, annex MI-008), reaching round things under a car costs more than that.
    pub(crate) fn usual_sigma(self) -> f64 {
        match self {
            Self::Height | Self::Tape => 1.5,
            Self::Forward | Self::Across | Self::Pair | Self::Offset => 2.0,
            Self::Arm => 0.7,
            Self::Slope => 0.3_f64.to_radians(),
        }
    }
}
