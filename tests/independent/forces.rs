//! What links carry against numpy, body by body: `forces.py` in this folder, see its README.

use serde_json::Value;

use crate::command::{TempFile, rodset};

/// At one position both are good to the last digits of a balance of some 10 kN whose matrix has a condition of up to a hundred.
const NEWTONS: f64 = 1e-7;
/// The most over the travel is that of one position but for a millionth of a mm, at some N to a mm.
const OVER_HARDLY_ANY_TRAVEL: f64 = 1e-3;

/// How many forces were compared, and the largest differences, N.
#[derive(Default)]
struct Account {
    at_drop: usize,
    on_bolts: usize,
    apart_at_drop: f64,
    apart_on_bolts: f64,
}

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().unwrap_or_else(|| panic!("no list {key}"))
}

fn newtons(value: &Value) -> f64 {
    value.as_f64().expect("a force")
}

fn compare(account: &mut Account, place: &str, expect: &Value, answer: &Value) {
    let keys = expect.as_object().expect("a link or a case");
    for (key, expect) in keys.iter().filter(|(key, _)| key.ends_with("_n")) {
        let off = (newtons(expect) - newtons(&answer[key])).abs();
        let bolts = key.ends_with("bolt_n");
        let (count, largest, allowed) = if bolts {
            (&mut account.on_bolts, &mut account.apart_on_bolts, OVER_HARDLY_ANY_TRAVEL)
        } else {
            (&mut account.at_drop, &mut account.apart_at_drop, NEWTONS)
        };
        *count += 1;
        *largest = largest.max(off);
        assert!(off <= allowed, "{place}: {key} is {}, expected {expect}, off by {off:.1e}", answer[key]);
    }
}

#[test]
fn loads_agree() {
    let mut account = Account::default();
    let (mut cases, mut seated) = (0, 0);
    for line in include_str!("forces.jsonl").lines() {
        let case: Value = serde_json::from_str(line).expect("a line of JSON");
        let text = case["profile"].as_str().expect("a profile");
        cases += 1;
        seated += usize::from(text.contains("\non = "));
        let profile = TempFile::new(text);
        let args = list(&case, "args").iter().map(|arg| arg.as_str().expect("text"));
        let args: Vec<&str> =
            ["loads", profile.path()].into_iter().chain(args).chain(["--format", "json"]).collect();
        let answer = rodset(&args).json();
        for (expect, answer) in list(&case["expect"], "sides").iter().zip(list(&answer, "sides")) {
            for (expect, answer) in list(expect, "cases").iter().zip(list(answer, "cases")) {
                let place = format!("{}: {} {}", case["id"], expect["case"], args.join(" "));
                assert_eq!(expect["case"], answer["case"]);
                compare(&mut account, &place, expect, answer);
                for expect in list(expect, "links") {
                    let found = list(answer, "links").iter().find(|link| link["link"] == expect["link"]);
                    compare(&mut account, &place, expect, found.expect("the link"));
                }
            }
        }
    }
    let Account { at_drop, on_bolts, apart_at_drop, apart_on_bolts } = account;
    println!(
        "loads: {cases} cases, {seated} with the spring on a link, {at_drop} forces at most {apart_at_drop:.1e} N apart, {on_bolts} on \
         bolts {apart_on_bolts:.1e} N"
    );
    assert!(seated > 20 && cases - seated > 20, "{seated} of {cases}");
    assert!(at_drop > 4000 && on_bolts > 3000, "hardly anything was compared");
}
