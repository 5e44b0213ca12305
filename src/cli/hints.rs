//! What this program calls what the library hints at.

use crate::profile::{Finding, Remedy};
use crate::report::Hint;

/// A hint of a page, in words that stand in its sentence.
pub(super) fn of_page(hint: Hint<'_>) -> String {
    let plain = match hint {
        Hint::PlanOf(profile) => return format!("rodset plan {profile} --drop ..."),
        Hint::Check(file) => return format!("rodset check {file}"),
        Hint::ProfileOf(survey) => return format!("rodset survey {survey} --write my-car.toml"),
        Hint::Cams => "rodset cams",
        Hint::Plan => "rodset plan",
        Hint::Next => "rodset next",
        Hint::Sheet => "rodset sheet",
        Hint::Travel => "rodset travel",
        Hint::Tune => "rodset tune",
        Hint::LockOut => "rodset lockout",
        Hint::Set => "rodset set",
        Hint::WriteLearned => "--write my-car-2.toml",
        Hint::Full => "--full",
        Hint::All => "--format json",
        Hint::Spreadsheet => "--format csv",
        Hint::Drawing => "--svg FILE.svg",
        Hint::Detail => "--detail",
        Hint::Fit => "--fit",
        Hint::Case => "--case",
        Hint::TurnedRound => "--turned-round",
        Hint::Source => "--source",
        Hint::Arm => "--arm",
        Hint::Cam => "--cam",
        Hint::Left => "--left",
        Hint::Right => "--right",
        Hint::TotalToe => "--total-toe",
    };
    plain.to_owned()
}

/// A finding with its remedy in words.
pub(super) fn told(finding: &Finding) -> Finding {
    let help = finding.remedy.map(|remedy| match remedy {
        Remedy::BeginSurvey => "`rodset starter --survey FILE` writes one to fill in",
        Remedy::WorkOutSurvey => "`rodset survey THIS-FILE --write my-car.toml` writes the profile",
    });
    Finding { help: help.map(str::to_owned).or(finding.help.clone()), ..finding.clone() }
}
