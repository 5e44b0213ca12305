//! Travel for a spreadsheet: one line a side, set-up and height.

use csv::{Error, Writer};

use crate::plan::{Curve, Station, TravelCurves, TravelSide};

/// The columns before those of the links.
const HEAD: [&str; 21] = [
    "side",
    "setup",
    "travel_mm",
    "drop_mm",
    "camber_deg",
    "toe_deg",
    "pitch_deg",
    "camber_gradient_deg_per_100_mm",
    "toe_gradient_deg_per_100_mm",
    "toe_gradient_rim_mm_per_100_mm",
    "track_change_mm",
    "wheelbase_change_mm",
    "roll_centre_mm",
    "front_swing_arm_mm",
    "side_swing_arm_mm",
    "drive_support_deg",
    "anti_squat_percent",
    "brake_support_deg",
    "anti_lift_percent",
    "spring_ratio",
    "damper_ratio",
];

/// Writes travel as comma separated values, full precision; a field without a figure is empty.
///
/// # Errors
///
/// What the writer says; a text in memory gives it no reason to.
pub(crate) fn travel_csv(travel: &TravelCurves) -> Result<String, Error> {
    let mut writer = Writer::from_writer(Vec::new());
    let links = |side: &TravelSide| -> Vec<String> {
        let curve = side.setups.first();
        curve.map_or(Vec::new(), |curve| curve.links.iter().map(|link| link.link.clone()).collect())
    };
    let columns = links(&travel.sides.left).into_iter().flat_map(|link| {
        [format!("{link} length_mm"), format!("{link} slope_deg"), format!("{link} swing_deg")]
    });
    writer.write_record(HEAD.map(str::to_owned).into_iter().chain(columns))?;
    for side in &travel.sides {
        for curve in &side.setups {
            for at in &curve.stations {
                // A nought has no sign.
                let plain = |field: String| if field == "-0" { "0".to_owned() } else { field };
                writer.write_record(record(side, curve, at).into_iter().map(plain))?;
            }
        }
    }
    let bytes = writer.into_inner().map_err(|error| Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn record(side: &TravelSide, curve: &Curve, at: &Station) -> Vec<String> {
    let maybe = |value: Option<f64>| value.map_or(String::new(), |value| value.to_string());
    let motion = &at.motion;
    let mut record = vec![side.side.to_string(), curve.setup.clone()];
    record.extend([
        at.travel_mm.to_string(),
        at.drop_mm.to_string(),
        at.reading.camber_deg.to_string(),
        at.reading.toe_deg.to_string(),
        at.pitch_deg.to_string(),
        at.camber_gradient_deg_per_100_mm.to_string(),
        at.toe_gradient_deg_per_100_mm.to_string(),
        maybe(at.toe_gradient_rim_mm_per_100_mm),
        at.track_change_mm.to_string(),
        at.wheelbase_change_mm.to_string(),
        maybe(motion.roll_centre_mm),
        maybe(motion.front_swing_arm_mm),
        maybe(motion.side_swing_arm_mm),
        motion.drive_support_deg.to_string(),
        maybe(motion.anti_squat_percent),
        motion.brake_support_deg.to_string(),
        maybe(motion.anti_lift_percent),
        maybe(motion.spring_ratio),
        maybe(motion.damper_ratio),
    ]);
    for (link, angle) in curve.links.iter().zip(&at.links) {
        record.extend([link.length_mm.to_string(), angle.slope_deg.to_string(), angle.swing_deg.to_string()]);
    }
    record
}
