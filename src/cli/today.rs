//! The date on a sheet.

use jiff::{Timestamp, ZonedDateTime, tz::TimeZone};

/// Today where this computer stands, as 2026-11-25. `SOURCE_DATE_EPOCH`, seconds since 1970, stands in for the clock where a
/// file has to come out the same again (reproducible-builds.org).
pub(super) fn today() -> String {
    let fixed = std::env::var("SOURCE_DATE_EPOCH").ok().and_then(|seconds| seconds.parse().ok());
    let fixed = fixed.and_then(|seconds| Timestamp::from_second(seconds).ok());
    let now = fixed.map_or_else(ZonedDateTime::now, |time| time.to_zoned_datetime(TimeZone::UTC));
    now.date().to_string()
}
