//! Printable pages: well formed, alone in one file, whole; and, where a browser is, on paper.

use std::process::Command;

use crate::command::{TempFile, rodset};
use crate::drawings::{Place, elements_of};

const FIRST: &str = "examples/tansy-wharf.toml";
const SECOND: &str = "examples/sedge-mill.toml";

fn html(line: &str) -> String {
    let run = rodset(&line.split_whitespace().chain(["--format", "html"]).collect::<Vec<_>>());
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
        format!("sheet {FIRST} --drop 40 --camber 4"),
        format!("shop {FIRST} --drop 40"),
        format!("shop {SECOND} --drop 30 --fit toe --toe-unit min"),
        format!("check {FIRST}"),
        format!("lower {FIRST} --drop 40 --samples 100"),
        format!("cams {FIRST} --drop 40"),
        format!("arms {FIRST} --drop 40"),
        format!("plan {FIRST} --drop 40"),
        format!("plan {FIRST} --drop 40 --explain upper.exact"),
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
                "html", "head", "meta", "title", "style", "body", "main", "section", "h1", "h2", "p", "span",
                "div", "figure", "table", "tr", "th", "td", "footer", "svg", "polyline", "polygon", "circle",
                "rect", "path", "text", "pre",
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
        let text = rodset(&line.split_whitespace().collect::<Vec<_>>()).stdout;
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

/// An arm is drawn with its length, its threads, its turns and the way they go.
#[test]
fn arms_are_drawn_with_their_figures() {
    let page = html(&format!("sheet {FIRST} --drop 40"));
    let drawn: Vec<String> =
        elements(&page).into_iter().filter(|(name, ..)| name == "text").map(|(_, _, text)| text).collect();
    for text in [
        "your stock arm + 5.75 mm",
        "centre to centre",
        "subframe end",
        "knuckle end",
        "M16x1.5 RH",
        "M16x1.5 LH",
        "1 11/12",
        "turns longer",
        "clockwise,",
        "seen from the subframe end",
        "leave it as matched",
    ] {
        assert!(drawn.iter().any(|drawn| drawn == text), "{text} is not drawn");
    }
}

/// Whoever looks up from the bench sees the turns first: no text of a sheet is larger, and every length is much smaller.
#[test]
fn the_turns_are_the_largest_thing_on_the_sheet() {
    for stock in ["", " --stock upper=240.8"] {
        let page = html(&format!("sheet {FIRST} --drop 40{stock}"));
        let size = |attributes: &str| -> Option<f64> {
            attributes.split("font-size=\"").nth(1)?.split('"').next()?.parse().ok()
        };
        let texts: Vec<(f64, String)> = (elements(&page).into_iter())
            .filter(|(name, ..)| name == "text")
            .filter_map(|(_, attributes, text)| Some((size(&attributes)?, text)))
            .collect();
        let of = |wanted: &dyn Fn(&str) -> bool| {
            texts.iter().filter(|(_, text)| wanted(text)).map(|(size, _)| *size).fold(0.0, f64::max)
        };
        let turns = of(&|text| text == if stock.is_empty() { "1 11/12" } else { "1 5/6" } || text == "2 1/2");
        let others = of(&|text| !text.contains('/') && text != "0");
        let lengths = of(&|text| text.contains(" mm"));
        assert!(turns > others && turns > 2.0 * lengths && lengths > 0.0, "{turns}, {others}, {lengths}");
    }
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
        assert!(page.contains(&format!("SHA-256 {}", digest(bytes.as_bytes()))), "{profile}");
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
fn pages_come_out_of_a_browser_whole_and_grey() {
    let needed: [(&str, &[&str]); 4] = [
        ("python3", &["--version"]),
        ("pdftotext", &["-v"]),
        ("pdfinfo", &["-v"]),
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
    assert_eq!(said.matches("nothing cut off").count(), 12, "{said}");
}
