//! One mistake at a time in a sound profile: what is said, and where it points.

use rodset::car::PerSide;
use rodset::profile::{self, Severity};

use crate::command::{TempFile, rodset};

const BASE: &str = include_str!("findings/base.toml");

/// The findings for the base profile with one passage replaced.
#[track_caller]
fn findings(from: &str, to: &str) -> String {
    let text = broken(from, to);
    let findings = match profile::read(&text) {
        Ok(checked) => checked.warnings,
        Err(findings) => findings,
    };
    findings.iter().map(|finding| finding.render("car.toml", &text, false) + "\n\n").collect()
}

#[track_caller]
fn broken(from: &str, to: &str) -> String {
    assert_eq!(BASE.matches(from).count(), 1, "{from:?} must stand in the base profile once");
    BASE.replace(from, to)
}

/// Every mistake by its name, as the text of a profile.
pub(crate) fn texts() -> impl Iterator<Item = (&'static str, String)> {
    MISTAKES.iter().map(|(name, from, to)| (*name, broken(from, to)))
}

#[test]
fn the_base_profile_is_sound() {
    let checked = profile::read(BASE).expect("sound");
    assert_eq!(checked.warnings, []);
}

/// A name for the snapshot, and the passage that is replaced.
const MISTAKES: &[(&str, &str, &str)] = &[
    ("measured_length_off", "name = \"upper\"\n", "name = \"upper\"\nmeasured_length = 253.0\n"),
    ("measured_length_in_inches", "name = \"upper\"\n", "name = \"upper\"\nmeasured_length = 9.5\n"),
    ("measured_length_sigma_alone", "name = \"upper\"\n", "name = \"upper\"\nmeasured_length_sigma = 1.0\n"),
    ("pivot_on_the_floor", "subframe = [-62.0, 326.0, 212.0]", "subframe = [-62.0, 326.0, 21.2]"),
    ("wheel_higher_than_it_is_out", "centre = [0.0, 750.0, 310.0]", "centre = [0.0, 750.0, 760.0]"),
    ("section_without_yield", "name = \"upper\"\n", "name = \"upper\"\nsection = { outer = 30.0 }\n"),
    (
        "section_inside_out",
        "name = \"upper\"\n",
        "name = \"upper\"\nsection = { outer = 20.0, inner = 25.0, yield = 240.0 }\n",
    ),
    (
        "section_of_two_kinds",
        "name = \"upper\"\n",
        "name = \"upper\"\nsection = { outer = 20.0, area = 300.0, yield = 240.0 }\n",
    ),
    (
        "section_in_pascal",
        "name = \"upper\"\n",
        "name = \"upper\"\nsection = { outer = 20.0, yield = 240000000.0 }\n",
    ),
    ("bracket_in_kilonewtons", "name = \"upper\"\n", "name = \"upper\"\nbracket_rating = 24.0\n"),
    (
        "bolt_of_no_class",
        "name = \"upper\"\n",
        "name = \"upper\"\nbolt = { thread = \"M12x1.25\", class = \"7.7\" }\n",
    ),
    (
        "bolt_class_without_quotes",
        "name = \"upper\"\n",
        "name = \"upper\"\nbolt = { thread = \"M12x1.25\", class = 8.8 }\n",
    ),
    (
        "bolt_too_thick_for_its_class",
        "name = \"upper\"\n",
        "name = \"upper\"\nbolt = { thread = \"M18x1.5\", class = \"9.8\" }\n",
    ),
    (
        "bolt_thread_unknown",
        "name = \"upper\"\n",
        "name = \"upper\"\nbolt = { thread = \"M12x3\", class = \"8.8\" }\n",
    ),
    (
        "bolt_torque_of_a_wheel_loader",
        "name = \"upper\"\n",
        "name = \"upper\"\nbolt = { thread = \"M12x1.25\", class = \"8.8\", torque = 85000.0 }\n",
    ),
    (
        "bolt_threads_of_soap",
        "name = \"upper\"\n",
        "name = \"upper\"\nbolt = { thread = \"M12x1.25\", class = \"8.8\", threads = \"soap\" }\n",
    ),
    (
        "bolt_friction_reversed",
        "name = \"upper\"\n",
        "name = \"upper\"\nbolt = { thread = \"M12x1.25\", class = \"8.8\", friction = [0.2, 0.1] }\n",
    ),
    (
        "bolt_of_no_face",
        "name = \"upper\"\n",
        "name = \"upper\"\nbolt = { thread = \"M12x1.25\", class = \"8.8\", faces = 0 }\n",
    ),
    (
        "load_case_of_two",
        "[[link]]\nname = \"upper\"",
        "[loads]\nkerb = [1.0, 3.0]\n\n[[link]]\nname = \"upper\"",
    ),
    (
        "load_case_unknown",
        "[[link]]\nname = \"upper\"",
        "[loads]\ncurb = [1.0, 3.0, 0.0]\n\n[[link]]\nname = \"upper\"",
    ),
    (
        "load_case_in_newtons",
        "[[link]]\nname = \"upper\"",
        "[loads]\nkerb = [3000.0, 9000.0, 0.0]\n\n[[link]]\nname = \"upper\"",
    ),
    ("format_missing", "format = 1\n", ""),
    ("format_unknown", "format = 1\n", "format = 2\n"),
    ("not_toml", "camber = -0.8", "camber = = -0.8"),
    ("key_twice", "camber = -0.8", "camber = -0.8\ncamber = -0.9"),
    ("key_unknown", "rim_diameter = 431.8", "rim_diametre = 431.8"),
    ("key_unknown_in_link", "shortest = 228.0", "shortst = 228.0"),
    ("key_missing", "toe = 0.10\nrim_diameter", "rim_diameter"),
    (
        "table_missing",
        "[wheel]\ncentre = [0.0, 750.0, 310.0]\ncamber = -0.8\ntoe = 0.10\nrim_diameter = 431.8\n",
        "",
    ),
    ("value_unknown", "sets = \"toe\"", "sets = \"tow\""),
    ("value_of_wrong_type", "camber = -0.8", "camber = true"),
    ("value_of_wrong_kind", "camber = -0.8", "camber = \"3 mm\""),
    ("value_unreadable", "camber = -0.8", "camber = \"0 deg 72 furlongs\""),
    ("value_not_finite", "camber = -0.8", "camber = nan"),
    ("value_infinite", "centre = [0.0, 750.0, 310.0]", "centre = [0.0, inf, 310.0]"),
    ("minutes_as_decimals", "camber = -0.8", "camber = -8.0"),
    ("point_of_two", "centre = [0.0, 750.0, 310.0]", "centre = [0.0, 750.0]"),
    ("point_of_four", "centre = [0.0, 750.0, 310.0]", "centre = [0.0, 750.0, 310.0, 7.0]"),
    ("point_with_decimal_commas", "centre = [0.0, 750.0, 310.0]", "centre = [0,0, 750,0, 310,0]"),
    ("fraction_without_a_unit", "eccentricity = 3.0,", "eccentricity = \"3/16\","),
    ("centre_in_inches", "centre = [0.0, 750.0, 310.0]", "centre = [0.0, 29.5, 12.2]"),
    ("rim_in_inches", "rim_diameter = 431.8", "rim_diameter = 17"),
    ("travel_in_inches", "bump = 90.0", "bump = 3.5"),
    ("gravity_height_in_inches", "wheelbase = 2500.0", "wheelbase = 2500.0\ngravity_height = 20"),
    ("brake_share_in_percent", "wheelbase = 2500.0", "wheelbase = 2500.0\nrear_brake_share = 30"),
    ("wheelbase_in_inches", "wheelbase = 2500.0", "wheelbase = 104"),
    ("spec_in_minutes", "camber = -1.0", "camber = -60"),
    ("name_with_a_control_character", "name = \"base\"", "name = \"ba\\u001b]0;se\""),
    ("name_that_turns_the_writing", "name = \"lower rear\"", "name = \"lower\\u202erear\""),
    ("name_with_a_comma", "name = \"lower rear\"", "name = \"lower, rear\""),
    ("name_empty", "name = \"lower rear\"", "name = \"\""),
    ("more_thread_than_arm", "length = 27.0", "length = 270.0"),
    ("minimum_below_a_diameter", "length = 27.0", "length = 27.0, minimum = 1.0"),
    ("unlike_threads", "\"M16x1.5 LH\"", "\"M14x1.5 LH\""),
    (
        "no_length_with_enough_thread",
        "threads = [\"M16x1.5 RH\", \"M16x1.5 LH\"]\nengaged = { at = 243.0, length = 27.0 }",
        "threads = [\"M16x2 RH\", \"M16x1.5 RH\"]\nengaged = { at = 243.0, length = 15.0 }",
    ),
    (
        "axle_limit_on_one_side",
        "[[link]]\nname = \"upper\"",
        "[right.spec]\nthrust_angle = 0.2\n\n[[link]]\nname = \"upper\"",
    ),
    (
        "loading_on_one_side",
        "[[link]]\nname = \"upper\"",
        "[right.ride]\nloading = \"full\"\n\n[[link]]\nname = \"upper\"",
    ),
    (
        "camber_far_apart",
        "[[link]]\nname = \"upper\"",
        "[right.wheel]\ncamber = 0.8\n\n[[link]]\nname = \"upper\"",
    ),
    ("toe_in_mm_without_a_rim", "rim_diameter = 431.8\n", "# no rim\n[right.wheel]\ntoe = \"1 mm\"\n"),
    ("wheel_on_the_wrong_side", "centre = [0.0, 750.0, 310.0]", "centre = [0.0, -750.0, 310.0]"),
    ("wheel_below_the_floor", "centre = [0.0, 750.0, 310.0]", "centre = [0.0, 750.0, -310.0]"),
    ("rim_larger_than_tyre", "rim_diameter = 431.8", "rim_diameter = 650.0"),
    ("tolerance_zero", "camber_tolerance = 0.5", "camber_tolerance = 0.0"),
    ("tolerance_negative", "toe_tolerance = 0.05", "toe_tolerance = -0.05"),
    ("toe_and_total_toe", "toe = 0.10\ntoe_tolerance", "toe = 0.10\ntotal_toe = 0.2\ntoe_tolerance"),
    ("spec_incomplete", "toe = 0.10\ntoe_tolerance = 0.05", "toe = 0.10"),
    (
        "four_links",
        "[[link]]\nname = \"lower rear\"\nsubframe = [-62.0, 326.0, 212.0]\nknuckle = [-14.0, 690.0, 192.0]\n",
        "",
    ),
    (
        "six_links",
        "[[link]]\nname = \"lower rear\"",
        "[[link]]\nname = \"sixth\"\nsubframe = [0.0, 300.0, 200.0]\nknuckle = [0.0, 690.0, 300.0]\n\n[[link]]\nname = \"lower rear\"",
    ),
    ("name_twice", "name = \"lower rear\"", "name = \"lower front\""),
    ("name_missing", "name = \"lower rear\"\n", ""),
    (
        "two_on_one_line",
        "subframe = [-62.0, 326.0, 212.0]\nknuckle = [-14.0, 690.0, 192.0]",
        "subframe = [116.0, 344.0, 198.0]\nknuckle = [21.0, 685.0, 200.0]",
    ),
    (
        "pivots_swapped",
        "subframe = [-165.0, 359.0, 218.0]\nknuckle = [-145.0, 689.0, 202.0]",
        "subframe = [-145.0, 689.0, 202.0]\nknuckle = [-165.0, 359.0, 218.0]",
    ),
    ("pivot_across_the_centreline", "subframe = [-62.0, 326.0, 212.0]", "subframe = [-62.0, -326.0, 212.0]"),
    ("pivot_outside_the_wheel", "knuckle = [-14.0, 690.0, 192.0]", "knuckle = [-14.0, 890.0, 192.0]"),
    ("link_without_length", "subframe = [-62.0, 326.0, 212.0]", "subframe = [-14.0, 690.0, 192.0]"),
    ("link_in_inches", "subframe = [-62.0, 326.0, 212.0]", "subframe = [-62.0, 672.0, 212.0]"),
    ("slot_across_its_link", "along = [0.0, 1.0, 0.0]", "along = [1.0, 0.0, 0.0]"),
    ("slot_without_direction", "along = [0.0, 1.0, 0.0]", "along = [0.0, 0.0, 0.0]"),
    ("cam_past_full_throw", "eccentricity = 3.0,", "eccentricity = 3.0, setting = 100.0,"),
    ("cam_in_marks_uncounted", "eccentricity = 3.0,", "eccentricity = 3.0, setting = \"1 mark outboard\","),
    ("cam_past_its_slot", "eccentricity = 3.0,", "eccentricity = 3.0, setting = \"4 mm inboard\","),
    ("cam_unreadable", "eccentricity = 3.0,", "eccentricity = 3.0, setting = \"a bit outboard\","),
    ("cam_without_eccentricity", "eccentricity = 3.0,", "eccentricity = 0.0,"),
    ("marks_none", "eccentricity = 3.0,", "eccentricity = 3.0, marks = 0,"),
    ("arm_too_long_for_stock", "shortest = 228.0", "shortest = 250.0"),
    ("arm_ends_reversed", "longest = 262.0", "longest = 200.0"),
    ("thread_unknown", "\"M16x1.5 RH\"", "\"M16x1.25 RH\""),
    ("thread_unreadable", "\"M16x1.5 RH\"", "\"sixteen\""),
    ("threads_three", "\"M16x1.5 LH\"]", "\"M16x1.5 LH\", \"M16x1.5 LH\"]"),
    ("threads_of_one_hand", "\"M16x1.5 LH\"]", "\"M16x1.5 RH\"]"),
    ("step_of_nothing", "longest = 262.0", "longest = 262.0\nstep = 0.0"),
    ("thread_measured_elsewhere", "at = 243.0", "at = 300.0"),
    ("thread_short_at_stock", "length = 27.0", "length = 12.0"),
    ("arm_without_a_role", "sets = \"camber\"\n", ""),
    (
        // Three links that meet in one point and lie in one plane.
        "wheel_not_held",
        LAST_THREE,
        "[[link]]
name = \"traction\"
subframe = [27.0, 335.0, 205.0]
knuckle = [0.0, 690.0, 195.0]

[[link]]
name = \"lower front\"
subframe = [116.0, 344.0, 198.0]
knuckle = [0.0, 690.0, 195.0]

[[link]]
name = \"lower rear\"
subframe = [-62.0, 326.0, 212.0]
knuckle = [0.0, 690.0, 195.0]
",
    ),
    ("override_of_nothing", "[spec]", "[[right.link]]\nname = \"uper\"\n\n[spec]"),
    ("override_without_name", "[spec]", "[[right.link]]\nsets = \"toe\"\n\n[spec]"),
    (
        "override_twice",
        "[spec]",
        "[[right.link]]\nname = \"upper\"\n[[right.link]]\nname = \"upper\"\n\n[spec]",
    ),
    (
        "overrides_of_six",
        "[spec]",
        "[[right.link]]\n[[right.link]]\n[[right.link]]\n[[right.link]]\n[[right.link]]\n[[right.link]]\n\n[spec]",
    ),
    (
        "loose_links",
        "subframe = [-62.0, 326.0, 212.0]\nknuckle = [-14.0, 690.0, 192.0]",
        "subframe = [116.0, 344.0, 200.0]\nknuckle = [19.0, 685.0, 201.0]",
    ),
    ("slot_far_off_its_link", "along = [0.0, 1.0, 0.0]", "along = [1.0, 1.0, 0.0]"),
    ("eccentricity_of_a_wheel", "eccentricity = 3.0", "eccentricity = 30.0"),
    ("radius_and_height_differ", "rim_diameter = 431.8", "rim_diameter = 431.8\nloaded_radius = 302.0"),
    (
        "override_point_on_the_left",
        "[spec]",
        "[[right.link]]\nname = \"upper\"\nsubframe = [0.0, 445.0, 450.0]\n\n[spec]",
    ),
    (
        "keepout_through_an_arm",
        TOE_END,
        "knuckle = [-145.0, 689.0, 202.0]\nradius = 12.0\n[[keepout]]\nname = \"frame ear\"\nshape = \"box\"\ncorners = [[-200.0, 480.0, 200.0], [-120.0, 520.0, 240.0]]\n",
    ),
    (
        "keepout_in_inches",
        TOE_END,
        "knuckle = [-145.0, 689.0, 202.0]\nradius = 12.0\n[[keepout]]\nname = \"frame ear\"\nshape = \"sphere\"\ncentre = [-7, 20, 10]\nradius = 2\n",
    ),
    ("keepout_without_points", "[spec]", "[[keepout]]\nname = \"frame ear\"\nshape = \"plane\"\n[spec]"),
    (
        "keepout_of_another_shape",
        "[spec]",
        "[[keepout]]\nname = \"frame ear\"\nshape = \"sphere\"\ncentre = [0.0, 500.0, 600.0]\nradius = 20.0\nends = [[0, 0, 0], [1, 1, 1]]\n[spec]",
    ),
    ("keepout_shape_unknown", "[spec]", "[[keepout]]\nname = \"frame ear\"\nshape = \"ball\"\n[spec]"),
    (
        "keepout_flat",
        "[spec]",
        "[[keepout]]\nname = \"frame ear\"\nshape = \"box\"\ncorners = [[0.0, 400.0, 600.0], [50.0, 450.0, 600.0]]\n[spec]",
    ),
    (
        "keepout_out_of_square",
        "[spec]",
        "[[keepout]]\nname = \"frame ear\"\nshape = \"box\"\ncorners = [[0, 400, 600], [50, 400, 600], [20, 450, 600], [0, 400, 650]]\n[spec]",
    ),
    (
        "keepout_of_three_corners",
        "[spec]",
        "[[keepout]]\nname = \"frame ear\"\nshape = \"box\"\ncorners = [[0, 400, 600], [50, 400, 600], [20, 450, 600]]\n[spec]",
    ),
    (
        "keepout_radius_negative",
        "[spec]",
        "[[keepout]]\nname = \"frame ear\"\nshape = \"sphere\"\ncentre = [0.0, 500.0, 600.0]\nradius = -20.0\n[spec]",
    ),
    (
        "keepout_against_nothing",
        "[spec]",
        "[[keepout]]\nname = \"frame ear\"\nshape = \"sphere\"\ncentre = [0.0, 500.0, 600.0]\nradius = 20.0\nonly = [\"uper\"]\n[spec]",
    ),
    (
        "keepout_twice",
        "[spec]",
        "[[keepout]]\nname = \"ear\"\nshape = \"sphere\"\ncentre = [0.0, 500.0, 600.0]\nradius = 20.0\n[[keepout]]\nname = \"ear\"\nshape = \"sphere\"\ncentre = [0.0, 500.0, 650.0]\nradius = 20.0\n[spec]",
    ),
    ("bar_radius_negative", TOE_END, "knuckle = [-145.0, 689.0, 202.0]\nradius = -12.0\n"),
    ("bar_in_the_wrong_unit", TOE_END, "knuckle = [-145.0, 689.0, 202.0]\nradius = \"12 cm\"\n"),
    (
        "bend_without_a_radius",
        TOE_END,
        "knuckle = [-145.0, 689.0, 202.0]\nbend = [[90.0, 30.0]]\nbend_towards = [0, 0, 1]\n",
    ),
    (
        "bend_without_clocking",
        TOE_END,
        "knuckle = [-145.0, 689.0, 202.0]\nradius = 12.0\nbend = [[90.0, 30.0]]\n",
    ),
    (
        "bend_clocked_along_the_arm",
        TOE_END,
        "knuckle = [-145.0, 689.0, 202.0]\nradius = 12.0\nbend = [[90.0, 30.0]]\nbend_towards = [0.0, 1.0, 0.0]\n",
    ),
    (
        "bend_out_of_order",
        TOE_END,
        "knuckle = [-145.0, 689.0, 202.0]\nradius = 12.0\nbend = [[190.0, 30.0], [90.0, 30.0]]\nbend_towards = [0, 0, 1]\n",
    ),
    (
        "bend_corner_of_three",
        TOE_END,
        "knuckle = [-145.0, 689.0, 202.0]\nradius = 12.0\nbend = [[90.0, 30.0, 5.0]]\nbend_towards = [0, 0, 1]\n",
    ),
    ("bolt_along_its_link", TOE_END, "knuckle = [-145.0, 689.0, 202.0]\nsubframe_axis = [0.0, 1.0, 0.0]\n"),
    ("bolt_without_direction", TOE_END, "knuckle = [-145.0, 689.0, 202.0]\nknuckle_axis = [0.0, 0.0, 0.0]\n"),
    ("tyre_without_a_diameter", "[spec]", "[tyre]\nwidth = 205.0\n[spec]"),
    ("tyre_in_inches", "[spec]", "[tyre]\nwidth = 8\ndiameter = 25\n[spec]"),
    (
        "tyre_smaller_than_its_rim",
        "[spec]",
        "[tyre]\nwidth = 205\ndiameter = 620\nrim_width = 200\nrim_diameter = 630\n[spec]",
    ),
    ("tyre_rounder_than_wide", "[spec]", "[tyre]\nwidth = 205\ndiameter = 620\nshoulder = 110\n[spec]"),
    ("tyre_of_another_car", "[spec]", "[tyre]\nwidth = 205\ndiameter = 720\n[spec]"),
    (
        "joints_of_three",
        TOE_END,
        "knuckle = [-145.0, 689.0, 202.0]\njoints = [\"bush\", \"bush\", \"bush\"]\n",
    ),
    ("joint_unknown", TOE_END, "knuckle = [-145.0, 689.0, 202.0]\njoints = [\"bush\", \"rodend\"]\n"),
    ("misalignment_negative", "longest = 262.0", "longest = 262.0\nmisalignment = -15.0"),
    ("misalignment_of_a_right_angle", "longest = 262.0", "longest = 262.0\nmisalignment = 90.0"),
    ("driveshaft_without_an_outer_joint", "[spec]", "[driveshaft]\ninner = [0.0, 180.0, 310.0]\n[spec]"),
    (
        "driveshaft_swapped",
        "[spec]",
        "[driveshaft]\ninner = [0.0, 680.0, 310.0]\nouter = [0.0, 180.0, 310.0]\n[spec]",
    ),
    (
        "driveshaft_bent",
        "[spec]",
        "[driveshaft]\ninner = [0.0, 580.0, 110.0]\nouter = [0.0, 680.0, 310.0]\n[spec]",
    ),
    (
        "driveshaft_push_negative",
        "[spec]",
        "[driveshaft]\ninner = [0.0, 180.0, 310.0]\nouter = [0.0, 680.0, 310.0]\npush = -3\n[spec]",
    ),
    (
        "spring_points_coincident",
        "[spec]",
        "[spring]\nupper = [0.0, 600.0, 300.0]\nlower = [0.0, 600.0, 300.0]\n[spec]",
    ),
    ("spring_without_a_lower_end", "[spec]", "[spring]\nupper = [0.0, 560.0, 600.0]\n[spec]"),
    (
        "spring_on_knuckle_and_link",
        "[spec]",
        "[spring]\nupper = [0.0, 560.0, 600.0]\nlower = [0.0, 640.0, 260.0]\non = \"lower rear\"\nalong = 200.0\n[spec]",
    ),
    (
        "spring_on_no_link",
        "[spec]",
        "[spring]\nupper = [0.0, 560.0, 600.0]\non = \"lower raer\"\nalong = 200.0\n[spec]",
    ),
    (
        "spring_without_a_place_on_its_link",
        "[spec]",
        "[spring]\nupper = [0.0, 560.0, 600.0]\non = \"lower rear\"\n[spec]",
    ),
    (
        "spring_far_off_its_link",
        "[spec]",
        "[spring]\nupper = [0.0, 560.0, 600.0]\non = \"lower rear\"\nalong = 900.0\n[spec]",
    ),
    (
        "spring_upside_down",
        "[spec]",
        "[spring]\nupper = [0.0, 640.0, 160.0]\nlower = [0.0, 640.0, 560.0]\n[spec]",
    ),
    (
        "spring_rate_negative",
        "[spec]",
        "[spring]\nupper = [0.0, 560.0, 600.0]\nlower = [0.0, 640.0, 260.0]\nrate = -40.0\n[spec]",
    ),
    (
        "spring_rate_unreadable",
        "[spec]",
        "[spring]\nupper = [0.0, 560.0, 600.0]\nlower = [0.0, 640.0, 260.0]\nrate = \"250 pounds\"\n[spec]",
    ),
    (
        "spring_rate_of_the_wrong_kind",
        "[spec]",
        "[spring]\nupper = [0.0, 560.0, 600.0]\nlower = [0.0, 640.0, 260.0]\nrate = [40.0]\n[spec]",
    ),
    (
        "corner_mass_in_tonnes",
        "[spec]",
        "[spring]\nupper = [0.0, 560.0, 600.0]\nlower = [0.0, 640.0, 260.0]\ncorner_mass = 0.35\n[spec]",
    ),
    (
        "unsprung_mass_of_the_whole",
        "[spec]",
        "[spring]\nupper = [0.0, 560.0, 600.0]\nlower = [0.0, 640.0, 260.0]\ncorner_mass = 350.0\nunsprung_mass = 350.0\n[spec]",
    ),
    (
        "damper_longer_closed_than_open",
        "[spec]",
        "[damper]\nupper = [0.0, 560.0, 600.0]\nlower = [0.0, 640.0, 260.0]\nclosed = 400.0\nopen = 300.0\n[spec]",
    ),
    (
        "damper_stop_gap_negative",
        "[spec]",
        "[damper]\nupper = [0.0, 560.0, 600.0]\nlower = [0.0, 640.0, 260.0]\nstop_gap = -4\n[spec]",
    ),
];

const TOE_END: &str = "knuckle = [-145.0, 689.0, 202.0]\n";

const LAST_THREE: &str = "[[link]]
name = \"traction\"
sets = \"pitch\"
subframe = [241.0, 518.0, 414.0]
knuckle = [11.0, 665.0, 430.0]

[[link]]
name = \"lower front\"
subframe = [116.0, 344.0, 198.0]
knuckle = [21.0, 685.0, 200.0]

[[link]]
name = \"lower rear\"
subframe = [-62.0, 326.0, 212.0]
knuckle = [-14.0, 690.0, 192.0]
";

#[test]
fn every_mistake_is_named_where_it_stands() {
    for (name, from, to) in MISTAKES {
        let text = findings(from, to);
        assert!(!text.is_empty(), "{name} went unnoticed");
        insta::assert_snapshot!(*name, text);
    }
}

/// What is only odd is a warning; all else refuses the profile.
#[test]
fn mistakes_are_errors_and_oddities_are_warnings() {
    let odd = [
        "measured_length_off",
        "pivot_on_the_floor",
        "wheel_higher_than_it_is_out",
        "loose_links",
        "slot_far_off_its_link",
        "eccentricity_of_a_wheel",
        "radius_and_height_differ",
        "travel_in_inches",
        "minimum_below_a_diameter",
        "unlike_threads",
        "camber_far_apart",
        "minutes_as_decimals",
        "link_in_inches",
        "thread_measured_elsewhere",
        "thread_short_at_stock",
        "arm_without_a_role",
        "keepout_through_an_arm",
        "keepout_in_inches",
        "keepout_out_of_square",
        "tyre_of_another_car",
    ];
    for (name, from, to) in MISTAKES {
        let result = profile::read(&broken(from, to));
        assert_eq!(result.is_ok(), odd.contains(name), "{name}");
        if let Ok(checked) = result {
            assert!(checked.warnings.iter().all(|finding| finding.severity == Severity::Warning));
        }
    }
}

#[test]
fn an_unsound_profile_ends_every_command_with_status_1_and_no_output() {
    let profile = TempFile::new(broken("name = \"lower rear\"", "name = \"lower front\""));
    for command in ["check", "lower", "cams", "plan", "sheet", "clearance", "joints", "springs"] {
        let drop: &[&str] = if command == "check" { &[] } else { &["--drop", "40"] };
        let run = rodset(&[&[command, profile.path()], drop].concat());
        assert_eq!((run.status, run.stdout.as_str()), (1, ""), "{command}");
        assert!(run.stderr.contains("two links are called"), "{command}: {}", run.stderr);
    }
}

#[test]
fn several_mistakes_are_told_at_once_in_the_order_of_the_file() {
    let text = broken("camber_tolerance = 0.5", "camber_tolerance = 0.0").replace("M16x1.5 LH", "M16x1.4 LH");
    let findings = profile::read(&text).expect_err("two mistakes");
    let keys: Vec<&str> = findings.iter().filter_map(|finding| finding.key.as_deref()).collect();
    assert_eq!(keys, ["spec.camber_tolerance", "link.upper.arm.threads"]);
}

/// Blanks round a name part no override from its link.
#[test]
fn blanks_round_a_name_do_not_drop_an_override() {
    let cam = |right: &str, left: &str| {
        let over = format!(
            "name = \"lower rear\"\nsubframe = [-62.0, 326.0, 212.0]\nknuckle = [-14.0, 690.0, 192.0]\n\n[[right.link]]\nname = \"{right}\"\ncam.setting = -10.0\n"
        );
        let text = broken(
            "name = \"lower rear\"\nsubframe = [-62.0, 326.0, 212.0]\nknuckle = [-14.0, 690.0, 192.0]\n",
            &over,
        );
        let text = text.replacen("name = \"upper\"", &format!("name = \"{left}\""), 1);
        let car = profile::read(&text).unwrap_or_else(|findings| panic!("{findings:?}")).car;
        car.sides.map(|side| side.links[0].cam.expect("a cam").setting.to_degrees())
    };
    for (right, left) in [
        ("upper", "upper"),
        ("upper ", "upper"),
        (" upper", "upper"),
        ("upper", "upper "),
        ("upper", "\\tupper"),
    ] {
        let PerSide { left: left_cam, right: right_cam } = cam(right, left);
        assert!(
            left_cam.abs() < 1e-12 && (right_cam + 10.0).abs() < 1e-12,
            "{right:?} over {left:?}: {right_cam}"
        );
    }
}
