//! Drawings: sound SVG whatever the names are, everything on the sheet, and files written whole or not at all.

use crate::command::{Run, TempFile, rodset};

const FIRST: &str = "examples/tansy-wharf.toml";
const SECOND: &str = "examples/sedge-mill.toml";

/// A path in the temporary folder that goes away again.
pub(crate) struct Place(std::path::PathBuf);

impl Place {
    pub(crate) fn new(name: &str) -> Self {
        Self(std::env::temp_dir().join(format!("rodset-{}-{name}", std::process::id())))
    }

    pub(crate) fn path(&self) -> &str {
        self.0.to_str().expect("a plain path")
    }

    pub(crate) fn text(&self) -> String {
        std::fs::read_to_string(&self.0).expect("it was written")
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

fn draw(line: &str, name: &str) -> (Run, String) {
    let place = Place::new(name);
    let args: Vec<&str> = line.split_whitespace().chain(["--svg", place.path()]).collect();
    let run = rodset(&args);
    assert_eq!(run.status, 0, "{}", run.stderr);
    (run, place.text())
}

/// The elements in their order as `(name, attributes, text)`; panics where the markup is not well formed.
fn elements(svg: &str) -> Vec<(String, String, String)> {
    let (_, rest) = svg.split_once("?>").expect("an XML declaration");
    elements_of(rest)
}

/// The same of markup without its first line.
pub(crate) fn elements_of(mut rest: &str) -> Vec<(String, String, String)> {
    let mut open: Vec<String> = Vec::new();
    let mut elements = Vec::new();
    while let Some((_, tail)) = rest.split_once('<') {
        let (tag, after) = tail.split_once('>').expect("every tag ends");
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop().as_deref(), Some(name), "tags are closed in their order");
        } else {
            let inner = tag.trim_end_matches('/');
            let (name, attributes) = inner.split_once(' ').unwrap_or((inner, ""));
            assert_eq!(attributes.matches('"').count() % 2, 0, "{tag}");
            let text = if tag.ends_with('/') { "" } else { after.split('<').next().unwrap_or("") };
            for part in text.split('&').skip(1) {
                let entity = part.split(';').next().unwrap_or("");
                assert!(["amp", "lt", "gt", "quot", "apos"].contains(&entity), "&{entity} in {text:?}");
            }
            elements.push((name.to_owned(), attributes.to_owned(), text.to_owned()));
            if !tag.ends_with('/') {
                open.push(name.to_owned());
            }
        }
        rest = after;
    }
    assert!(open.is_empty(), "{open:?} never end");
    elements
}

/// Every coordinate of lines and marks lies on the sheet and is a number.
fn on_the_sheet(elements: &[(String, String, String)]) -> usize {
    let mut lines = 0;
    for (name, attributes, _) in elements {
        let Some((_, points)) = attributes.split_once("points=\"") else { continue };
        let points = points.split('"').next().unwrap_or("");
        for pair in points.split(' ') {
            let (x, y) = pair.split_once(',').expect("pairs");
            let [x, y] = [x, y].map(|value| value.parse::<f64>().expect("a number"));
            assert!((0.0..=297.0).contains(&x) && (0.0..=210.0).contains(&y), "{name} at {x},{y}");
        }
        lines += 1;
    }
    lines
}

#[test]
fn charts_and_views_are_sound_and_on_the_sheet() {
    for (i, line) in [
        format!("travel {FIRST} --drop 40 --also traction+2"),
        format!("travel {SECOND} --drop-left 45 --drop-right 38 --toe-unit mm"),
        format!("travel {FIRST} --drop 40 --bump 300 --droop 300"),
        format!("travel {FIRST} --drop 40 --bump 0 --droop 0"),
        format!("travel {FIRST} --drop -20"),
        format!("draw {FIRST} --drop 40"),
        format!("cams {FIRST} --drop 20"),
        format!("cams {SECOND} --drop 20 --toe-unit mm"),
        format!("draw {SECOND} --drop 45 --wheel right"),
        format!("draw {FIRST} --drop 200"),
    ]
    .iter()
    .enumerate()
    {
        let (_, svg) = draw(line, &format!("sound-{i}.svg"));
        assert!(!svg.contains("NaN") && !svg.contains("inf\""), "{line}");
        assert!(on_the_sheet(&elements(&svg)) > 10, "{line}");
    }
}

/// Set-ups are told apart without colour: each has a dash and a mark of its own, and its name at its line.
#[test]
fn lines_are_labelled_and_nothing_is_coloured() {
    let (_, svg) = draw(&format!("travel {FIRST} --drop 40 --also traction+2"), "labels.svg");
    for name in ["A: as found", "B: planned", "C: traction+2", "A", "B", "C", "ride height", "stock height"] {
        assert!(elements(&svg).iter().any(|(_, _, text)| text == name), "no label {name}");
    }
    for colour in svg.split("=\"#").skip(1).map(|rest| rest.split('"').next().unwrap_or("")) {
        let grey = match colour.len() {
            3 => colour.chars().all(|c| colour.starts_with(c)),
            _ => colour.get(..2) == colour.get(2..4) && colour.get(2..4) == colour.get(4..6),
        };
        assert!(grey, "#{colour}");
    }
}

#[test]
fn names_are_text_whatever_they_are() {
    let text =
        std::fs::read_to_string(format!("{}/{FIRST}", env!("CARGO_MANIFEST_DIR"))).expect("the example");
    let text =
        text.replace("Tansy Wharf (invented)", "</text><script>&'").replace("\"traction\"", "\"<b>&lt;\"");
    let profile = TempFile::new(text);
    for command in ["draw", "travel"] {
        let (_, svg) =
            draw(&format!("{command} {} --drop 40", profile.path()), &format!("names-{command}.svg"));
        assert!(elements(&svg).iter().all(|(name, ..)| name != "script" && name != "b"));
        assert!(svg.contains("&lt;/text&gt;&lt;script&gt;&amp;&apos;"));
    }
}

/// The views are to scale: the planned upper link is as long on paper as its ends are apart across the car.
#[test]
fn views_are_to_scale() {
    let place = Place::new("scale.svg");
    let scale = |svg: &str| -> f64 {
        let words = svg.split("Scale 1 : ").nth(1).expect("a scale");
        words.split(' ').next().and_then(|number| number.parse().ok()).expect("a number")
    };
    let run = rodset(&["draw", FIRST, "--drop", "40", "--format", "json", "--svg", place.path()]);
    let json = run.json();
    let planned = &json["sides"][0]["outlines"][2];
    assert_eq!(planned["state"], "planned");
    let link = &planned["links"][0];
    let apart =
        |k: usize| link["subframe_mm"][k].as_f64().expect("mm") - link["knuckle_mm"][k].as_f64().expect("mm");
    let across = apart(1).hypot(apart(2));
    let drawn: Vec<f64> = elements(&place.text())
        .iter()
        .filter_map(|(_, attributes, _)| {
            let points = attributes.split_once("points=\"")?.1.split('"').next()?;
            let numbers: Vec<f64> = points.split([' ', ',']).filter_map(|n| n.parse().ok()).collect();
            (numbers.len() == 4).then(|| (numbers[0] - numbers[2]).hypot(numbers[1] - numbers[3]))
        })
        .collect();
    assert!(
        drawn.iter().any(|length| (length - across / scale(&place.text())).abs() < 0.02),
        "{across} mm in {drawn:?}"
    );
}

/// An arm that is set longer or shorter has that beside its name, the tyre and the floor have theirs, and what hardly moves on paper
/// is drawn to move further, which the drawing says.
#[test]
fn views_name_what_they_show() {
    let place = Place::new("named.svg");
    let run = rodset(&["draw", FIRST, "--drop", "40", "--format", "json", "--svg", place.path()]);
    let planned = run.json()["sides"][0]["outlines"][2]["links"].clone();
    let plan = rodset(&["plan", FIRST, "--drop", "40", "--format", "json"]).json();
    for arm in plan["sides"][0]["arms"].as_array().expect("arms") {
        let drawn = planned.as_array().expect("links").iter().find(|link| link["link"] == arm["link"]);
        let [drawn, told] =
            [&drawn.expect("the link")["longer_mm"], &arm["longer_mm"]].map(serde_json::Value::as_f64);
        assert!((drawn.expect("mm") - told.expect("mm")).abs() < 1e-6, "{}", arm["link"]);
    }
    let svg = place.text();
    let texts: Vec<String> = elements(&svg).into_iter().map(|(.., text)| text).collect();
    for text in ["upper", "+5.8 mm", "tyre", "floor, as measured", "floor, lowered"] {
        assert!(texts.iter().any(|drawn| drawn == text), "{text}: {texts:?}");
    }
    let larger = |svg: &str| svg.matches("times as far: not to scale").count();
    // From behind the wheel comes up by 8 mm of paper; from above nothing moves by a mm.
    assert_eq!(larger(&svg), 1);
    assert!(svg.contains("<desc>The left wheel") && svg.contains("changed arms: upper +5.8 mm"), "{svg}");
}

/// What the cams reach has its corners and every mark between them, the spec as a box, and what the wheel reads, today and lowered.
#[test]
fn the_reach_of_cams_is_drawn_with_its_marks() {
    let place = Place::new("reach.svg");
    let run = rodset(&["cams", FIRST, "--drop", "30", "--format", "json", "--svg", place.path()]);
    let sides = run.json()["sides"].clone();
    let svg = place.text();
    let count =
        |key: &str| -> usize { (0..2).map(|side| sides[side][key].as_array().expect("a list").len()).sum() };
    // Two cams of six marks either way, each along two edges.
    assert_eq!((count("reach"), count("reach_marks")), (8, 2 * 4 * 13));
    let shapes: Vec<(String, String, String)> = elements(&svg);
    let of = |name: &str, what: &str| {
        shapes.iter().filter(|(element, attributes, _)| element == name && attributes.contains(what)).count()
    };
    // A ring for each mark and one in the legend; triangles, squares and discs of both wheels, and in the legend.
    assert_eq!(of("circle", "fill=\"#fff\""), count("reach_marks") + 1);
    assert_eq!(of("circle", "fill=\"#000\""), 3);
    assert_eq!(of("polyline", "stroke-dasharray=\"2.4 1.0\""), 3);
    for text in ["upper cam turns", "toe cam turns", "today, as it was read", "left wheel", "right wheel"] {
        assert!(shapes.iter().any(|(.., drawn)| drawn == text), "{text}");
    }
    // At the ends of an edge its cam stands at its ends, so the first and the last mark are corners.
    let corner = |reading: &serde_json::Value| {
        let near = |key: &str, other: &serde_json::Value| {
            (reading[key].as_f64().expect("deg") - other[key].as_f64().expect("deg")).abs() < 1e-9
        };
        let corners = sides[0]["reach"].as_array().expect("corners");
        corners.iter().any(|corner| near("camber_deg", corner) && near("toe_deg", corner))
    };
    for mark in sides[0]["reach_marks"].as_array().expect("marks") {
        assert_eq!(mark["marks"].as_i64().expect("a count").abs() == 6, corner(mark), "{mark}");
    }
}

#[test]
fn a_drawing_is_written_whole_or_not_at_all() {
    let place = Place::new("again.svg");
    for drop in ["20", "40"] {
        let run = rodset(&["draw", FIRST, "--drop", drop, "--svg", place.path()]);
        assert_eq!(run.status, 0, "{}", run.stderr);
        assert!(place.text().contains(&format!("lowered by {drop}.0 mm")));
    }
    // No position, no drawing: the one that was there stays.
    let run = rodset(&["draw", FIRST, "--drop", "300", "--svg", place.path()]);
    assert_eq!(run.status, 1);
    assert!(place.text().contains("lowered by 40.0 mm"));
    let profile = TempFile::new("do not touch");
    for (file, status) in [(profile.path(), 2), ("/nowhere/at/all.svg", 1)] {
        for command in ["draw", "travel"] {
            let run = rodset(&[command, FIRST, "--drop", "40", "--svg", file]);
            assert_eq!((run.status, run.stdout.as_str()), (status, ""), "{}", run.stderr);
        }
    }
    assert_eq!(std::fs::read_to_string(profile.path()).expect("it is still there"), "do not touch");
    assert_eq!(rodset(&["draw", FIRST, "--drop", "40"]).status, 2);
}

/// Two long names that begin alike are told apart: each line has its letter, and the legend the whole name.
#[test]
fn long_names_are_told_apart() {
    let line = format!(
        "travel {FIRST} --drop 40 --also traction+2,upper-1 --also traction+2,upper+1 --also toe-1,upper+3"
    );
    let (_, svg) = draw(&line, "long.svg");
    let texts: Vec<String> = elements(&svg).into_iter().map(|(.., text)| text).collect();
    for name in ["C: traction+2,upper-1", "D: traction+2,upper+1", "E: toe-1,upper+3", "C", "D", "E"] {
        assert!(texts.iter().any(|text| text == name), "no {name} in {texts:?}");
    }
}

/// Left and right are held against each other, so a figure has the same ticks on both.
#[test]
fn both_sides_have_one_scale() {
    let (_, svg) = draw(&format!("travel {FIRST} --drop-left 60 --drop-right 10"), "scales.svg");
    let mut ticks: [Vec<(String, String)>; 2] = Default::default();
    for (name, attributes, text) in elements(&svg) {
        if name != "text" || !attributes.contains("text-anchor=\"end\"") || text.parse::<f64>().is_err() {
            continue;
        }
        let of = |key: &str| {
            attributes.split_once(key).expect(key).1.split('"').next().expect("a value").to_owned()
        };
        let x: f64 = of("x=\"").parse().expect("a number");
        ticks[usize::from(x > 297.0 / 2.0)].push((of(" y=\""), text));
    }
    assert!(ticks[0].len() > 6);
    assert_eq!(ticks[0], ticks[1]);
}

/// A car that is raised is called so on a drawing as on a page, and no floor's name lies on another.
#[test]
fn a_drawing_has_the_words_of_a_page() {
    for command in ["draw", "travel"] {
        let (_, svg) = draw(&format!("{command} {FIRST} --drop -20"), &format!("raised-{command}.svg"));
        assert!(svg.contains("raised by 20.0 mm") && !svg.contains("-20.0 mm"), "{command}");
    }
    let (_, svg) = draw(&format!("draw {FIRST} --drop 4"), "floors.svg");
    let heights: Vec<f64> = (elements(&svg).iter())
        .filter(|(.., text)| text.starts_with("floor, "))
        .map(|(_, attributes, _)| {
            attributes.split("y=\"").nth(1).and_then(|rest| rest.split('"').next()?.parse().ok())
        })
        .map(|height| height.expect("a height"))
        .collect();
    assert_eq!(heights.len(), 2);
    assert!((heights[0] - heights[1]).abs() >= 2.6, "{heights:?}");
}
