//! `--length-unit in`: every page says the same as in mm, in inches.

use crate::command::{SURVEY_STARTER, TempFile, rodset};

/// An inch, mm: exactly so much since the international yard of 1959.
const INCH: f64 = 25.4;

/// Every command that shows a length, on both examples.
const PAGES: &[&str] = &[
    "check FIRST",
    "check SECOND --toe-unit in",
    "lower FIRST --drop 40 --samples 100",
    "lower SECOND --drop-left 45 --drop-right 38 --front-drop 30",
    "lower SECOND --drop=-25",
    "cams FIRST --drop 40",
    "cams SECOND --drop 20 --samples 100",
    "arms FIRST --drop 40",
    "arms SECOND --drop 45 --toe-unit in",
    "plan FIRST --drop 40 --samples 100",
    "plan FIRST --drop 40 --fit upper,toe,traction --cams keep",
    "plan FIRST --drop 40 --camber 4",
    "plan SECOND --drop 45 --fit toe",
    "sheet FIRST --drop 40",
    "sheet FIRST --drop 30 --fit none",
    "sheet SECOND --drop-left 45 --drop-right 40 --fit toe",
    "shop FIRST --drop 40",
    "shop SECOND --drop-left 45 --drop-right 40 --fit toe",
    "correct FIRST --drop 40 --left=-1.35,0.25 --right=-0.7,0.02",
    "correct FIRST --drop 40 --left=-0.3,0.1 --right=-1.7,0.1",
    "correct FIRST --record tests/records/wrong-way.toml",
    "correct SECOND --drop 20 --fit none --left=-1.3,0.05 --right=-0.9",
    "readings FIRST examples/records/tansy-wharf.toml",
    "readings tests/findings/base.toml tests/records/base.toml",
    "fit FIRST examples/records/tansy-wharf-heights.toml --drop 40",
    "survey examples/surveys/tansy-wharf.toml",
    "survey examples/surveys/tansy-wharf.toml --sheet",
    "survey STARTER --sheet",
    "clearance FIRST --drop 40",
    "clearance SECOND --drop-left 40 --drop-right 35 --fit toe",
    "joints FIRST --drop 40",
    "joints SECOND --drop 40 --fit toe",
    "springs FIRST --drop 40",
    "springs FIRST --drop 92",
    "springs SECOND --drop 40 --fit toe",
    "spec toe 2mm+/-1mm --total --diameter 445",
    "travel FIRST --drop 40 --also traction+2 --detail",
    "travel FIRST --drop 40 --bump 300 --every 50 --also traction+60",
    "travel SECOND --drop-left 45 --drop-right 40 --front-drop 30 --toe-unit in --every 40 --detail",
    "loads FIRST --drop 40",
    "loads SECOND --drop-left 45 --drop-right 40 --case kerb=1,4,0",
    "bolts FIRST --drop 40",
    "bolts FIRST",
    "lockout FIRST",
    "lockout FIRST --drop 40 --cam upper=30 --offset upper=-2 --toe-unit in",
    "lockout SECOND --cam toe=-40",
    "plan FIRST --drop 40 --explain upper.set",
    "travel SECOND --drop 40 --bump 10 --droop 10 --explain toe.gradient.planned.+0",
    "tune FIRST --drop 40",
    "tune FIRST --drop 40 --least span --fit upper",
];

/// Where a page in inches may say mm, and why.
const MM_ALL_THE_SAME: &[(&str, &str)] = &[
    ("mm)", "the length to set in both units"),
    ("mm  turns from its shortest", "the stock length in both units"),
    ("mm across", "toe as a machine shows it that is set to mm"),
    ("N/mm", "rates are in N/mm whatever lengths are in"),
    ("mm, so write the unit there", "the survey file is in mm"),
    ("/sides/", "a place in the JSON, which is in mm"),
    ("As printed:", "what was given, word for word"),
];

fn page(line: &str, unit: &str) -> String {
    let starter = TempFile::new(SURVEY_STARTER.as_str());
    let line = line.replace("STARTER", starter.path());
    let line =
        line.replace("FIRST", "examples/tansy-wharf.toml").replace("SECOND", "examples/sedge-mill.toml");
    let mut arguments: Vec<&str> = line.split_whitespace().collect();
    arguments.extend(["--length-unit", unit]);
    let run = rodset(&arguments);
    assert!(!run.stdout.is_empty(), "{line}: {}", run.all());
    run.stdout
}

/// The numbers of a text in their order, with their decimals; what belongs to a name is none of them.
fn numbers(text: &str) -> Vec<(f64, i32)> {
    let part = |c: char| c.is_ascii_digit() || ".+-".contains(c);
    text.split(|c: char| !part(c))
        .flat_map(|piece| piece.split(".."))
        .map(|piece| piece.trim_end_matches(['.', '-']))
        .filter_map(|piece| {
            let decimals = piece.split_once('.').map_or(0, |(_, digits)| digits.len());
            Some((piece.parse().ok()?, i32::try_from(decimals).ok()?))
        })
        .collect()
}

/// Whether two shown numbers are one figure in both units, times `ratio` in mm, as far as rounding lets them.
fn agree((mm, mm_decimals): (f64, i32), (inches, decimals): (f64, i32), ratio: f64) -> bool {
    let half = |decimals: i32| 0.5 * 10.0_f64.powi(-decimals);
    (mm - inches * ratio).abs() <= half(mm_decimals) + half(decimals) * ratio + 1e-9
}

/// A page without what is told otherwise in inches: there a point that a fit moved has a line for each coordinate, and a
/// survey is read to other parts.
fn comparable(page: &str) -> String {
    let mut told_otherwise = false;
    let keep = |line: &&str| {
        let begins = ["WHAT MOVED", "Read to the"].iter().any(|words| line.starts_with(words));
        told_otherwise = (told_otherwise || begins) && !line.is_empty();
        !told_otherwise
    };
    page.lines().filter(keep).collect::<Vec<_>>().join("\n")
}

/// The words of a page that its unit changes, and those that follow from it.
fn words(page: &str) -> Vec<&str> {
    page.split_whitespace().filter(|word| !word.contains(|c: char| c.is_ascii_digit())).collect()
}

#[test]
fn no_page_in_inches_says_mm() {
    for line in PAGES {
        let [before, text] = ["mm", "in"].map(|unit| page(line, unit));
        for shown in text.lines() {
            // A sketch is as wide as it is in mm.
            assert!(shown.chars().count() <= 100 || before.contains(shown), "{line}: {shown}");
            let justified = MM_ALL_THE_SAME.iter().any(|(words, _)| shown.contains(words));
            let mm = shown.split(|c: char| !c.is_alphanumeric()).any(|word| word.eq_ignore_ascii_case("mm"));
            assert!(justified || !mm, "{line}: {shown}");
        }
    }
}

/// Every number of a page in inches is the one that stands there in mm: the same, or over 25.4, or a gradient per inch.
#[test]
fn inches_are_the_mm_of_the_same_page() {
    // What is told over other stretches: 1 mm and 0.1 inch, 100 mm and 1 in, 10 mm and 1 in, and lengths of these.
    const OTHERWISE: [f64; 4] = [1.0 / 2.54, 100.0 / INCH, 10.0 / INCH, 100.0];
    let mut turned = 0;
    for line in PAGES {
        let [mm, inches] = ["mm", "in"].map(|unit| comparable(&page(line, unit)));
        let [mm_numbers, inch_numbers] = [&mm, &inches].map(|page| numbers(page));
        assert_eq!(mm_numbers.len(), inch_numbers.len(), "{line}:\n{inches}");
        for (i, (a, b)) in mm_numbers.iter().zip(&inch_numbers).enumerate() {
            let same = agree(*a, *b, 1.0) && a.1 == b.1;
            let over = agree(*a, *b, INCH) && b.1 >= a.1;
            let otherwise = OTHERWISE.iter().any(|ratio| agree(*a, *b, *ratio));
            turned += usize::from(over && !same);
            let named = [(1.0, 0.1), (100.0, 1.0), (10.0, 1.0)].contains(&(a.0, b.0));
            // A part is made to both: the other unit stands behind the one asked for.
            let both = agree(*b, *a, INCH);
            assert!(
                same || over || otherwise || named || both,
                "{line}: number {i}, {a:?} and {b:?}\n{inches}"
            );
        }
    }
    assert!(turned > 1000, "{turned}");
}

/// A number with mm behind it, or in a column whose head says mm, does not stay what it was.
#[test]
fn no_length_stays_in_mm() {
    let mut looked = 0;
    for line in PAGES {
        let [mm, inches] = ["mm", "in"].map(|unit| comparable(&page(line, unit)));
        let inch_numbers = numbers(&inches);
        let mut index = 0;
        let mut columns: Vec<usize> = Vec::new();
        for text in mm.lines() {
            let width = |end: usize| text[..end].chars().count();
            let named = |at: usize| text[..at].ends_with(|c: char| c.is_alphabetic());
            let heads: Vec<usize> =
                text.match_indices(" mm").filter(|(at, _)| named(*at)).map(|(at, _)| at + 3).collect();
            let is_head = heads.iter().any(|end| text[*end..].is_empty() || text[*end..].starts_with("  "))
                && text.starts_with("  ")
                && numbers(text).iter().all(|(value, decimals)| *decimals == 0 && *value <= 10.0);
            if is_head {
                columns = heads.iter().map(|end| width(*end)).collect();
            } else if !text.starts_with("  ") {
                columns.clear();
            }
            let mut from = 0;
            for number in numbers(text) {
                // Where it ends, found again in the line.
                let shown = format!("{:.*}", usize::try_from(number.1).expect("decimals"), number.0.abs());
                let end =
                    text[from..].find(&shown).map(|at| from + at + shown.len()).expect("the number itself");
                from = end;
                let behind = &text[end..];
                let length = behind.starts_with(" mm") && !behind.starts_with(" mm)");
                if (length || (!is_head && columns.contains(&width(end)))) && number.0.abs() > 0.0 {
                    looked += 1;
                    let inch = inch_numbers[index];
                    let named = [(1.0, 0.1), (100.0, 1.0), (10.0, 1.0)].contains(&(number.0, inch.0));
                    let rim = agree(number, inch, 100.0);
                    assert!(
                        named || rim || agree(number, inch, INCH),
                        "{line}: {text}: {number:?} is {inch:?}"
                    );
                    assert!(inch.1 > number.1 || named, "{line}: {text}: {number:?} is {inch:?}");
                }
                index += 1;
            }
        }
    }
    assert!(looked > 500, "{looked}");
}

/// Nothing but lengths and their names changes: the words are the same.
#[test]
fn the_words_are_the_same() {
    let unit = ["mm", "in", "inch", "mm;", "in;", "inch;", "mm:", "in:", "inch:"];
    for line in PAGES.iter().filter(|line| !line.starts_with("tune") && !line.contains("--sheet")) {
        let pages = ["mm", "in"].map(|unit| comparable(&page(line, unit)));
        let words = pages.each_ref().map(|page| {
            let bare = |word: &&str| {
                let word = word.trim_matches(|c: char| !c.is_alphanumeric());
                !unit.contains(&word) && !word.is_empty()
            };
            words(page).into_iter().filter(bare).map(|word| word.trim_matches(['(', ')'])).collect::<Vec<_>>()
        });
        assert_eq!(words[0], words[1], "{line}");
    }
}

/// Scripts get mm whatever the page shows.
#[test]
fn json_knows_no_units() {
    for line in PAGES.iter().filter(|line| !line.contains("--sheet")) {
        let line = format!("{line} --format json");
        assert_eq!(page(&line, "mm"), page(&line, "in"), "{line}");
    }
    let csv = "travel FIRST --drop 40 --format csv";
    assert_eq!(page(csv, "mm"), page(csv, "in"));
}

/// Drawings and printed pages too: titles, axes, the bar of the scale, the arms.
#[test]
fn drawings_are_in_inches() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str| folder.path().join(name).to_str().expect("a plain path").to_owned();
    let (outline, chart) = (file("outline.svg"), file("chart.svg"));
    page(&format!("draw FIRST --drop 40 --svg {outline}"), "in");
    page(&format!("travel FIRST --drop 40 --svg {chart}"), "in");
    let read = |path: &str| std::fs::read_to_string(path).expect("a drawing");
    let texts = |svg: &str| {
        let texts =
            svg.split("</t").filter_map(|part| part.rsplit_once('>').map(|(_, text)| text.to_owned()));
        texts.collect::<Vec<_>>()
    };
    let printed = page("sheet FIRST --drop 40 --with drawings,curves --format html", "in");
    for (svg, words) in [
        (read(&outline), &["4 in", "lowered by 1.575 in"][..]),
        (read(&chart), &["wheel travel from ride height, in (right: bump)", "lowered by 1.575 in"]),
        (printed, &["4 in", "target your arm + 0.226 in", "1 11/12", "wheel travel from ride height, in"]),
    ] {
        for word in words {
            assert!(svg.contains(word), "{word}");
        }
        for text in texts(&svg) {
            let justified = MM_ALL_THE_SAME.iter().any(|(words, _)| text.contains(words)) || text == "mm";
            assert!(justified || !text.contains(" mm"), "{text}");
        }
    }
    // The bar is as long as it says: 4 in at the scale that stands under the drawing.
    let svg = read(&outline);
    let scale =
        svg.split("Scale 1 : ").nth(1).and_then(|text| text.split_whitespace().next()).expect("a scale");
    let bar = svg.lines().rev().skip_while(|line| !line.contains(">4 in<")).nth(1).expect("the bar");
    let points = bar.split('"').nth(1).expect("its points");
    let across: Vec<f64> =
        points.split(' ').map(|point| point.split(',').next().expect("x").parse().expect("x")).collect();
    let length = (across[3] - across[0]) * scale.parse::<f64>().expect("a number");
    assert!((length - 4.0 * INCH).abs() < 0.2, "{length}");
    // The ride height and the ends of the travel lie where they lie in mm: only the ticks differ.
    let same = file("mm.svg");
    page(&format!("travel FIRST --drop 40 --svg {same}"), "mm");
    let curves = |svg: &str| -> Vec<String> {
        svg.lines().filter(|line| line.contains("stroke-width=\"0.50\"")).map(str::to_owned).collect()
    };
    assert_eq!(curves(&read(&chart)), curves(&read(&same)));
    assert!(!curves(&read(&chart)).is_empty());
}

/// A survey's slip is told in inches too.
#[test]
fn a_slip_is_told_in_inches() {
    let survey = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/surveys/tansy-wharf.toml");
    let text = std::fs::read_to_string(survey).expect("the survey");
    let slip = text.replace("reads = 449.5 }", "reads = 491.5 }");
    assert_ne!(slip, text);
    let file = TempFile::new(slip);
    let run = rodset(&["survey", file.path(), "--length-unit", "in"]);
    let line = run.stdout.lines().find(|line| line.starts_with("  height upper subframe")).expect("the slip");
    assert!(line.contains(" 19.350 ") && line.contains(" +1.6"), "{line}");
}

/// Pages take every length and its unit from `number.rs`, so that none can forget the unit asked for.
#[test]
fn no_page_writes_mm_itself() {
    /// What is no length shown.
    const MEANT: [&str; 5] = [
        // The unit of a reading in the answer, an example of what to type, and words for how fine a tape is.
        "seen.unit == \"mm\"",
        "\\\"1.2 mm\\\"",
        "a few mm",
        "the half mm",
        "a bare number is mm",
    ];
    /// They show mm whatever is asked for; the formatter itself, and paper, which is measured in mm.
    const NOT_LOOKED_AT: [&str; 2] = ["number.rs", "svg.rs"];
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/report");
    let mut folders = vec![std::path::PathBuf::from(folder)];
    let mut looked = 0;
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("a folder of sources") {
            let path = entry.expect("an entry").path();
            let name = path.file_name().and_then(|name| name.to_str()).expect("a name").to_owned();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let is_code = path.extension().is_some_and(|extension| extension == "rs");
            if NOT_LOOKED_AT.contains(&name.as_str()) || !is_code {
                continue;
            }
            looked += 1;
            for line in std::fs::read_to_string(&path).expect("a source file").lines() {
                let code = line.split("//").next().unwrap_or("");
                let code = MEANT.iter().fold(code.to_owned(), |code, meant| code.replace(meant, ""));
                let said = code.match_indices("mm").any(|(at, _)| {
                    let before = code[..at].ends_with("} ")
                        || code[..at].ends_with(['"', ' ']) && code[..at].contains('"');
                    before && !code[at + 2..].starts_with(|c: char| c.is_alphanumeric() || "_(|:".contains(c))
                });
                let rate = code.contains("N/mm");
                assert!(!said || rate, "{name}: {line}");
            }
        }
    }
    assert!(looked > 30, "{looked}");
}
