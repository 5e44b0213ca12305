//! Printable pages: well formed, alone in one file, whole; and, where a browser is, on paper.

use std::process::Command;

use crate::command::{TempFile, rodset};
use crate::drawings::{Place, elements_of};

const FIRST: &str = "examples/tansy-wharf.toml";
const SECOND: &str = "examples/sedge-mill.toml";

fn html(line: &str) -> String {
    // A blank in a name is written as `~`.
    let words: Vec<String> = line.split_whitespace().map(|word| word.replace('~', " ")).collect();
    let run = rodset(&words.iter().map(String::as_str).chain(["--format", "html"]).collect::<Vec<_>>());
    assert!([0, 3].contains(&run.status), "{line}: {}", run.stderr);
    run.stdout
}

/// The elements of a page as `(name, attributes, text)`.
fn elements(page: &str) -> Vec<(String, String, String)> {
    elements_of(page.strip_prefix("<!DOCTYPE html>\n").expect("a document type"))
}

/// All text of a page, the tags taken out.
fn words(page: &str) -> String {
    let pieces = page.split('<').filter_map(|piece| piece.split_once('>'));
    let text = pieces.map(|(_, text)| text.trim()).collect::<Vec<_>>().join(" ");
    let text = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&apos;", "'"), ("&amp;", "&")]
        .into_iter()
        .fold(text, |text, (entity, plain)| text.replace(entity, plain));
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn lines() -> Vec<String> {
    vec![
        format!("sheet {FIRST} --drop 40"),
        format!("sheet {SECOND} --drop-left 45 --drop-right 40 --toe-unit mm"),
        format!("sheet {FIRST} --drop 40 --fit upper,toe,traction"),
        format!("sheet {FIRST} --drop 30 --fit none"),
        format!("sheet {FIRST} --drop 95"),
        format!("sheet {FIRST} --drop 40 --with shop,drawings,curves"),
        format!("sheet {FIRST} --drop 40 --camber 4"),
        format!("shop {FIRST} --drop 40"),
        format!("shop {SECOND} --drop 30 --fit toe --toe-unit min"),
        format!("check {FIRST}"),
        format!("lower {FIRST} --drop 40 --samples 100"),
        format!("cams {FIRST} --drop 40"),
        format!("arms {FIRST} --drop 40"),
        format!("plan {FIRST} --drop 40"),
        format!("plan {FIRST} --drop 40 --explain upper.exact.length"),
        format!("readings {FIRST} examples/records/tansy-wharf.toml"),
        format!("correct {FIRST} --record tests/records/wrong-way.toml"),
        format!("fit {FIRST} examples/records/tansy-wharf-heights.toml --drop 40"),
        format!("clearance {FIRST} --drop 40"),
        format!("joints {FIRST} --drop 40"),
        format!("springs {FIRST} --drop 40"),
        format!("loads {FIRST} --drop 40"),
        format!("bolts {FIRST} --drop 40"),
        format!("lockout {FIRST} --drop 40"),
        format!("tune {FIRST} --drop 40"),
        format!("travel {SECOND} --drop 40 --detail"),
        "spec toe 2mm+/-1mm --total --diameter 445".to_owned(),
        "survey examples/surveys/tansy-wharf.toml".to_owned(),
        "survey examples/surveys/tansy-wharf.toml --sheet".to_owned(),
    ]
}

/// Every page can be printed: a name that ends in .html is enough.
#[test]
fn every_page_goes_to_a_file_to_be_printed() {
    let begun = TempFile::new("format = 1\n");
    let others = ["glossary toe".to_owned(), format!("interview {}", begun.path())];
    for line in lines().into_iter().chain(others) {
        let place = Place::new("page.html");
        let arguments: Vec<&str> = line.split_whitespace().chain(["--output", place.path()]).collect();
        let run = rodset(&arguments);
        assert!([0, 3].contains(&run.status) && run.stdout.is_empty(), "{line}: {}", run.all());
        assert!(elements(&place.text()).iter().any(|(name, ..)| name == "main"), "{line}");
    }
}

#[test]
fn pages_are_well_formed_and_stand_alone() {
    for line in lines() {
        let page = html(&line);
        let elements = elements(&page);
        assert!(!page.contains("NaN") && !page.contains("inf\""), "{line}");
        for word in ["http", "url(", "@import", "javascript:", "src=", "href="] {
            assert!(!page.contains(word), "{line}: {word}");
        }
        for (name, attributes, _) in &elements {
            let known = [
                "html", "head", "meta", "title", "style", "body", "main", "section", "header", "h1", "h2",
                "h3", "p", "span", "strong", "div", "figure", "table", "tr", "th", "td", "footer", "svg",
                "desc", "polyline", "polygon", "circle", "rect", "path", "text", "pre",
            ];
            assert!(known.contains(&name.as_str()), "{line}: <{name}>");
            assert!(!attributes.contains(" on"), "{line}: <{name} {attributes}>");
        }
    }
}

/// The printed page has every word of the text, so that neither can say what the other does not.
#[test]
fn the_printed_page_says_what_the_text_says() {
    for line in lines() {
        let printed = words(&html(&line));
        let mut text = rodset(&line.split_whitespace().collect::<Vec<_>>()).stdout;
        // What stands on a terminal in the place of a drawing.
        if let Some((before, sketch)) = text.split_once("  from below, as you lie") {
            text = before.to_owned() + sketch.split_once("carrier.\n").expect("its end").1;
        }
        // On a terminal the verdict stands above the title, on paper below it.
        let page = html(&line);
        let title = page.split_once("<h1>").and_then(|(_, rest)| rest.split_once("</h1>"));
        let title = title.map(|(title, _)| words(&format!("<h1>{title}")));
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let text =
            title.map_or_else(|| text.clone(), |title| format!("{title} {}", text.replacen(&title, "", 1)));
        let mut from = 0;
        for word in text.replace("[ ]", " ").split_whitespace().filter(|word| !word.contains("__")) {
            let found = printed[from..].find(word);
            assert!(found.is_some(), "{line}: \"{word}\" is missing behind \"{}\"", &printed[..from]);
            from += found.unwrap_or(0) + word.len();
        }
    }
}

/// What is between a start tag and the end of its element, markup and all.
fn inside<'a>(page: &'a str, start: &str, end: &str) -> Vec<&'a str> {
    page.split(start).skip(1).filter_map(|rest| rest.split(end).next()).collect()
}

/// The sheets of a page.
fn sheets(page: &str) -> Vec<&str> {
    inside(page, "<main>", "</main>")
}

/// Each kind of arm is drawn once, with its ends, its threads and the way that makes it longer.
#[test]
fn arms_are_drawn_once() {
    let drawn = |line: &str| -> Vec<String> {
        elements(&html(line)).into_iter().filter(|(name, ..)| name == "text").map(|(.., text)| text).collect()
    };
    let texts = drawn(&format!("sheet {FIRST} --drop 40"));
    for text in [
        "measured centre to centre",
        "subframe end",
        "knuckle end",
        "right-hand thread",
        "left-hand thread",
        "longer: clockwise",
        "seen from the subframe end",
        "every arm (not to scale)",
    ] {
        assert_eq!(texts.iter().filter(|drawn| *drawn == text).count(), 1, "{text}: {texts:?}");
    }
    // Of two kinds each says which arms are of it.
    let texts = drawn(&format!("sheet {SECOND} --drop 45"));
    for text in ["lower rear (not to scale)", "toe (not to scale)", "no thread", "longer: anticlockwise"] {
        assert!(texts.iter().any(|drawn| drawn == text), "{text}: {texts:?}");
    }
}

/// Whoever looks up from the bench sees the turns first: nothing on a sheet is set in larger type.
#[test]
fn the_turns_are_the_largest_thing_on_the_sheet() {
    let page = html(&format!("sheet {FIRST} --drop 40"));
    for figure in ["1 11/12", "2 1/2"] {
        assert_eq!(page.matches(&format!("<span class=\"figure\">{figure}</span>")).count(), 1, "{figure}");
    }
    let style = inside(&page, "<style>", "</style>")[0];
    let sizes: Vec<(f64, &str)> = (style.lines())
        .filter_map(|rule| Some((rule.split("font-size: ").nth(1)?.split("pt").next()?.parse().ok()?, rule)))
        .collect();
    let (largest, rule) = sizes.iter().copied().max_by(|a, b| a.0.total_cmp(&b.0)).expect("sizes");
    assert!(rule.starts_with("h3 .figure") && largest >= 18.0, "{rule}");
}

/// Two or four arms take two sheets: one for the bench, one for the car; more arms go on, as many as find room.
#[test]
fn arms_are_dealt_out_to_sheets() {
    let (long, fit) = (long_names(), NAMES.map(|(_, name)| name.replace(' ', "~")).join(","));
    for (line, count, tasks) in [
        (format!("sheet {FIRST} --drop 40 --fit upper"), 2, 2),
        (format!("sheet {FIRST} --drop 40 --fit upper,toe"), 2, 4),
        (format!("sheet {SECOND} --drop 45"), 2, 4),
        (format!("sheet {} --drop 40 --fit {fit}", long.path()), 4, 10),
    ] {
        let page = html(&line);
        let sheets = sheets(&page);
        assert_eq!(sheets.len(), count, "{line}");
        assert_eq!(page.matches("<h3>").count(), tasks, "{line}");
        assert!(sheets[count - 1].contains("F. READINGS") && !sheets[0].contains("C. ON THE CAR"), "{line}");
        for (number, sheet) in (1..).zip(&sheets) {
            let (head, foot) =
                (inside(sheet, "<header>", "</header>")[0], inside(sheet, "<footer>", "</footer>")[0]);
            assert!(
                head.contains("(invented)") && head.contains("lowered by") && !head.contains("STOP"),
                "{head}"
            );
            assert!(
                foot.contains("2026-11-25") && foot.contains(&format!("page {number} of {count}")),
                "{foot}"
            );
        }
    }
}

/// Every arm has a box and a blank of its own to be matched, and a box, a blank and a heading to be turned.
#[test]
fn every_arm_has_a_box_and_a_blank() {
    let page = html(&format!("sheet {FIRST} --drop 40 --fit upper,toe"));
    let match_table = inside(&page, "<table class=\"bench\">", "</table>")[0];
    let rows: Vec<&str> = inside(match_table, "<tr>", "</tr>").into_iter().skip(1).collect();
    assert_eq!(rows.len(), 4);
    let tasks = inside(&page, "<div class=\"together\">", "</div>");
    assert_eq!(tasks.len(), 4);
    for part in rows.iter().chain(&tasks) {
        assert_eq!(part.matches("class=\"box\"").count(), 1, "{part}");
        assert!(part.contains("class=\"blank\""), "{part}");
    }
    // What an arm measures and what is added to it are not told a second time.
    for figure in ["5.75 mm", "7.50 mm", "+5.8", "1 11/12"] {
        assert!(page.matches(figure).count() <= 1, "{figure}");
    }
}

/// A plan that is refused says so on every sheet and has nothing to be ticked.
#[test]
fn a_refused_plan_has_no_boxes() {
    for line in [
        format!("sheet {FIRST} --drop 95"),
        format!("sheet {FIRST} --drop 40 --camber 4 --with shop,drawings,curves"),
        format!("shop {FIRST} --drop 40 --camber 4"),
    ] {
        let page = html(&line);
        assert!(!page.contains("class=\"box\""), "{line}");
        assert!(
            sheets(&page).iter().all(|sheet| inside(sheet, "<header>", "</header>")[0].contains("STOP")),
            "{line}"
        );
        let text = rodset(&line.split_whitespace().collect::<Vec<_>>()).stdout;
        assert!(!text.contains("[ ]") && text.contains("STOP"), "{text}");
    }
    assert!(html(&format!("sheet {FIRST} --drop 40")).contains("class=\"box\""));
}

/// The sheet is what is printed; the shop's page, drawings and curves only where they are asked for.
#[test]
fn other_parts_are_printed_when_they_are_asked_for() {
    let parts = ["For the alignment shop", "WHERE THE LINKS ARE", "OVER THE WHEEL"];
    let has = |with: &str| parts.map(|part| html(&format!("sheet {FIRST} --drop 40{with}")).contains(part));
    assert_eq!(has(""), [false; 3]);
    assert_eq!(has(" --with curves"), [false, false, true]);
    assert_eq!(has(" --with shop,drawings"), [true, true, false]);
}

/// Heads of columns and rows say what they head, and a drawing says what it shows to those who do not see it.
#[test]
fn pages_can_be_read_without_being_seen() {
    for line in lines() {
        let page = html(&line);
        let elements = elements(&page);
        for (name, attributes, text) in &elements {
            assert!(name != "th" || attributes.contains("scope="), "{line}: <th>{text}");
        }
        for drawing in inside(&page, "<svg", "</svg>") {
            for element in ["title", "desc"] {
                let words = inside(drawing, &format!("<{element}>"), "<");
                assert!(words.len() == 1 && words[0].len() > 10, "{line}: {drawing}");
            }
        }
        assert!(page.matches("<h1>").count() <= page.matches("<main>").count(), "{line}");
    }
}

/// Names as long as people give them.
const NAMES: [(&str, &str); 5] = [
    ("upper", "rear upper camber control arm"),
    ("toe", "rear lower toe control link"),
    ("traction", "rear upper traction arm"),
    ("lower front", "rear lower front control arm"),
    ("lower rear", "rear lower spring support arm"),
];

/// A car with ten arms, all with names as long as names are.
fn long_names() -> TempFile {
    let mut text =
        std::fs::read_to_string(format!("{}/{FIRST}", env!("CARGO_MANIFEST_DIR"))).expect("the example");
    for (short, long) in NAMES {
        text = text.replace(&format!("name = \"{short}\""), &format!("name = \"{long}\""));
        text = text.replace(&format!("\"{short}\"]"), &format!("\"{long}\"]"));
    }
    let arm = |ends: &str| {
        format!(
            "knuckle_axis = [1.0, 0.0, 0.0]\nsets = \"camber\"\n[link.arm]\n{ends}\nthreads = [\"M16x1.5 RH\", \"M16x1.5 LH\"]\n"
        )
    };
    let (before, lowers) = text.split_once("rear lower front control arm").expect("a lower link");
    let mut parts = lowers.splitn(3, "knuckle_axis = [1.0, 0.0, 0.0]\n");
    let lowers =
        [arm("shortest = 340.0\nlongest = 380.0"), arm("shortest = 350.0\nlongest = 390.0"), String::new()];
    let lowers: String = lowers.iter().map(|arm| parts.next().unwrap_or_default().to_owned() + arm).collect();
    TempFile::new(format!("{before}rear lower front control arm{lowers}"))
}

#[test]
fn names_are_text_whatever_they_are() {
    let text =
        std::fs::read_to_string(format!("{}/{FIRST}", env!("CARGO_MANIFEST_DIR"))).expect("the example");
    let text = text
        .replace("Tansy Wharf (invented)", "</title><script>alert('1')</script>&<img onerror=x>")
        .replace("\"upper\"", "\"<b>&lt;\\\"\"")
        .replace("half tank", "</style></p><i>half");
    let profile = TempFile::new(text);
    for command in ["sheet", "shop"] {
        let page = html(&format!("{command} {} --drop 40", profile.path()));
        let elements = elements(&page);
        assert!(elements.iter().all(|(name, ..)| !["script", "b", "i", "img"].contains(&name.as_str())));
        assert!(page.contains("&lt;/title&gt;&lt;script&gt;alert(&apos;1&apos;)&lt;/script&gt;&amp;&lt;img"));
    }
}

/// The digest is that of the profile: `sha256sum examples/sedge-mill.toml`, and of the standard's own one-block example
/// (FIPS 180-2, appendix B.1, "abc") for the way it is written.
#[test]
fn a_sheet_can_be_matched_to_its_profile() {
    let digest = |bytes: &[u8]| {
        use sha2::{Digest, Sha256};
        Sha256::digest(bytes).iter().fold(String::new(), |hex, byte| hex + &format!("{byte:02x}"))
    };
    assert_eq!(digest(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    let text =
        std::fs::read_to_string(format!("{}/{FIRST}", env!("CARGO_MANIFEST_DIR"))).expect("the example");
    let other = TempFile::new(text.replace("# ", "#  "));
    for (profile, bytes) in [(FIRST, text.clone()), (other.path(), text.replace("# ", "#  "))] {
        let page = html(&format!("sheet {profile} --drop 40"));
        assert!(page.contains(&digest(bytes.as_bytes())), "{profile}");
        assert!(page.contains("Worked out on 2026-11-25 from"), "the date that SOURCE_DATE_EPOCH gives");
    }
}

#[test]
fn a_page_is_written_whole_or_not_at_all() {
    let place = Place::new("sheet.html");
    for drop in ["20", "40"] {
        let run = rodset(&["sheet", FIRST, "--drop", drop, "--output", place.path()]);
        assert_eq!(run.status, 0, "{}", run.stderr);
        assert_eq!((run.stdout.as_str(), run.stderr), ("", format!("wrote {}\n", place.path())));
        assert_eq!(place.text(), html(&format!("sheet {FIRST} --drop {drop}")));
    }
    let before = place.text();
    assert_eq!(rodset(&["sheet", FIRST, "--drop", "300", "--output", place.path()]).status, 1);
    assert_eq!(place.text(), before);
    // What is asked for by name goes before what the ending of the file says.
    let text = ["shop", FIRST, "--drop", "40", "--format", "text"];
    assert_eq!(rodset(&[&text[..], &["--output", place.path(), "--force"]].concat()).status, 0);
    assert_eq!(place.text(), rodset(&text).stdout);
    let profile = TempFile::new("do not touch");
    for (file, status) in [(profile.path(), 2), ("/nowhere/at/all.html", 1)] {
        let run = rodset(&["sheet", FIRST, "--drop", "40", "--output", file]);
        assert_eq!((run.status, run.stdout.as_str()), (status, ""), "{}", run.stderr);
    }
    assert_eq!(std::fs::read_to_string(profile.path()).expect("it is still there"), "do not touch");
}

/// Whether a program starts and does a trifle.
fn is_here(program: &str, trifle: &[&str]) -> bool {
    Command::new(program).args(trifle).output().is_ok_and(|output| output.status.success())
}

#[test]
fn pages_come_out_of_browsers_whole_and_grey() {
    let needed: [(&str, &[&str]); 5] = [
        ("python3", &["--version"]),
        ("pdftotext", &["-v"]),
        ("pdftoppm", &["-v"]),
        ("firefox-esr", &["--version"]),
        ("chromium", &["--headless", "--no-sandbox", "--disable-gpu", "--dump-dom", "about:blank"]),
    ];
    if let Some((missing, _)) = needed.iter().find(|(program, trifle)| !is_here(program, trifle)) {
        println!("nothing was printed: no {missing} runs on this machine");
        return;
    }
    let folder = tempfile::tempdir().expect("a folder for PDFs");
    let printed = Command::new("python3")
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/print.py"))
        .arg(folder.path())
        .env("RODSET", env!("CARGO_BIN_EXE_rodset"))
        .output()
        .expect("python3 starts");
    let said = String::from_utf8_lossy(&printed.stdout);
    assert!(printed.status.success(), "{said}{}", String::from_utf8_lossy(&printed.stderr));
    assert_eq!(said.matches("nothing cut off").count(), 52, "{said}");
}
