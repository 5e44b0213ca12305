//! The questions of a profile, in the order of the bench: the car, the wheel, the links, arms and their threads, cams, spec.

use super::question::{Kind, Question};
use rodset::profile::{EditError, link_names};

/// How a point is measured.
const POINT: &str = "Hang a plumb line from the middle of the bolt and mark the spot on the floor under it. AHEAD: along the car from the \
    spot under the wheel centre to this spot; behind it is minus. LEFT: from the string on the centreline straight across to \
    this spot. UP: from the floor straight up to the middle of the bolt. Picture it from above: the wheel centre is the zero of \
    the first figure, the centreline of the second, the floor of the third. The LEFT wheel is described, so the second figure is \
    never minus. Where a tape does not get through, stop here: `rodset interview --survey FILE` asks for what you can measure \
    and works out the points.";

/// All questions that a profile may raise.
pub(super) fn questions(text: &str) -> Result<Vec<Question>, EditError> {
    let links = link_names(text)?;
    let mut all = [of_car(), of_wheel(), of_ride()].concat();
    for link in &links {
        all.extend(of_link(link));
    }
    all.extend(links.iter().flat_map(|link| of_arm(link)));
    all.extend(links.iter().flat_map(|link| of_cam(link)));
    all.extend(of_spec());
    Ok(all)
}

/// A question that must be answered where it arises.
pub(super) fn needed(key: &str, title: &str, ask: &str, example: &'static str) -> Question {
    Question {
        key: key.to_owned(),
        kind: Kind::One,
        within: None,
        optional: false,
        as_left: false,
        title: title.to_owned(),
        ask: ask.to_owned(),
        more: "",
        example,
    }
}

/// A question that may be left out.
fn optional(key: &str, title: &str, ask: &str, example: &'static str) -> Question {
    Question { optional: true, ..needed(key, title, ask, example) }
}

/// A question about the right side, asked where the left one has something under a key; Enter alone is as left.
fn right_too(left: &str, key: &str, title: &str, ask: &str, example: &'static str) -> Question {
    let within = Some(left.to_owned());
    Question { as_left: true, within, ..optional(key, title, ask, example) }
}

/// Whether there is something at all.
fn whether(key: &str, title: &str, ask: &str) -> Question {
    Question { kind: Kind::Table, ..optional(key, title, ask, "yes, or no") }
}

/// Questions that arise only where a table is there.
fn within(table: &str, questions: impl IntoIterator<Item = Question>) -> impl Iterator<Item = Question> {
    let table = Some(table.to_owned());
    questions.into_iter().map(move |question| Question { within: table.clone(), ..question })
}

fn of_car() -> Vec<Question> {
    vec![
        needed(
            "car.name",
            "The car: its name",
            "What do you call the car? It stands at the head of every page.",
            "my car",
        ),
        Question {
            more: "Straight along the car from the middle of the front wheel to the middle of the rear one. If the front comes down by \
                   another amount, the whole body tilts a little, and it takes the wheelbase to say by how much.",
            ..optional(
                "car.wheelbase",
                "The car: wheelbase",
                "Will the front come down by another amount than the rear? Then give the distance between the middles of front and \
                 rear wheel. If both come down alike, or you do not know yet, leave it out.",
                "2520, or 99 1/4 in",
            )
        },
    ]
}

fn of_wheel() -> Vec<Question> {
    const HOW: &str = "Bare figures are degrees. Minutes need their sign: 0°45' is 0.75 degree, 45' the same. A gauge or a level goes on \
        the rim, never on the tyre.";
    vec![
        Question {
            kind: Kind::Centre,
            more: "Car on its wheels on a level floor, loaded as you will load it for every reading. From the string on the centreline \
                   straight across to the middle of the tyre's tread is half of the track. Then from the floor straight up to the \
                   middle of the hub. Picture the wheel from behind: one figure goes sideways, one goes up, both end in its middle.",
            ..needed(
                "wheel.centre",
                "The left rear wheel: where it stands",
                "Where is the wheel centre? Two figures with a comma: how far from the centreline, and how high above the floor.",
                "750, 310   or   29 1/2 in, 12 1/4 in",
            )
        },
        Question {
            more: "A distance says nothing without the diameter across which it was measured: 2 mm across a rim of 17 inches is another \
                   angle than 2 mm across the tyre. Give the diameter between the two places where you put the rule.",
            ..optional(
                "wheel.rim_diameter",
                "The wheel: how toe is read",
                "Do you have toe as a distance, in mm or inches between front and rear edge of the rim? Then give the diameter there. \
                 If you have it in degrees or minutes, leave it out.",
                "17 in, or 432",
            )
        },
        Question {
            more: HOW,
            ..needed(
                "wheel.camber",
                "The left wheel: camber",
                "What camber does the left rear wheel have now, as read?",
                "-0.8   or   -0°48'",
            )
        },
        Question {
            more: HOW,
            ..right_too(
                "wheel.camber",
                "right.wheel.camber",
                "The right wheel: camber",
                "And the right rear wheel? Minus is top in on this side too.",
                "-0.7",
            )
        },
        Question {
            more: HOW,
            ..needed(
                "wheel.toe",
                "The left wheel: toe",
                "What toe does the left rear wheel have now, this wheel alone? A total of both wheels is about twice that.",
                "0.10   or   6'   or   0.8 mm",
            )
        },
        Question {
            more: HOW,
            ..right_too(
                "wheel.toe",
                "right.wheel.toe",
                "The right wheel: toe",
                "And the right rear wheel, this wheel alone? Plus is front inwards on this side too.",
                "0.05",
            )
        },
    ]
}

fn of_ride() -> Vec<Question> {
    vec![
        Question {
            more: "Fuel, spare wheel, people: whatever was in the car when it was measured has to be in it at every later reading, \
                   or the heights and angles do not compare.",
            ..optional(
                "ride.loading",
                "How it stands: load",
                "How was the car loaded when you measured? One line of your own.",
                "half tank, nobody aboard",
            )
        },
        optional(
            "ride.arch_gap",
            "How it stands: arch gap",
            "What is the arch gap at the left rear wheel now? With it the new height can be given as a gap instead of a drop.",
            "370, or 14 1/2 in",
        ),
        right_too(
            "ride.arch_gap",
            "right.ride.arch_gap",
            "How it stands: arch gap on the right",
            "And at the right rear wheel? Hardly a car stands level to the mm.",
            "368",
        ),
        optional(
            "ride.bump",
            "How it stands: travel up",
            "How much bump travel does the wheel have from here? With it the pages say when a drop takes the wheel to its stop.",
            "90",
        ),
        optional("ride.droop", "How it stands: travel down", "And how much droop travel?", "85"),
    ]
}

/// Where a link usually is, by its name.
fn whereabouts(link: &str) -> &'static str {
    match link {
        "upper" => "the link across the car above the driveshaft",
        "toe" => "the thin link across the car behind or before the driveshaft that steers the wheel",
        "traction" => "the link that runs mostly along the car, from the top of the wheel carrier forward",
        "lower front" => "the front one of the two lower links, or the front half of a wide lower arm",
        "lower rear" => "the rear one of the two lower links, or the rear half of a wide lower arm",
        _ => "as you named it in the file",
    }
}

fn of_link(link: &str) -> [Question; 2] {
    const EXAMPLE: &str = "-160, 360, 220   or   -6 1/4 in, 14 1/8 in, 8 5/8 in";
    let ask = |end: &str| {
        format!(
            "The link \"{link}\": {}. Where is the middle of the bolt at its {end}? Three figures with commas: how far ahead of the \
             wheel centre (behind it: minus), how far to the left of the centreline, how high above the floor.",
            whereabouts(link)
        )
    };
    let point = |key: &str, end: &str, ask: String| Question {
        kind: Kind::Point,
        more: POINT,
        ..needed(&format!("link.{link}.{key}"), &format!("Link {link}: {end}"), &ask, EXAMPLE)
    };
    let outer = match link {
        "lower rear" => " If both lower links end in one joint, give the same figures for both.",
        _ => "",
    };
    [
        point("subframe", "subframe end", ask("inner end, on the subframe")),
        point("knuckle", "knuckle end", ask("outer end, on the knuckle") + outer),
    ]
}

fn of_arm(link: &str) -> Vec<Question> {
    let table = format!("link.{link}.arm");
    let title = |what: &str| format!("Arm for {link}: {what}");
    let key = |key: &str| format!("{table}.{key}");
    let mut questions = vec![whether(
        &table,
        &title("is there one?"),
        &format!("Do you have, or mean to buy, an adjustable arm in place of the link \"{link}\"?"),
    )];
    questions.extend(within(
        &table,
        [
            Question {
                kind: Kind::List,
                more: "It is stamped on the part or stands in the arm's papers: nominal size, pitch, and RH or LH for a right-hand or a \
                       left-hand thread. Left-hand ends often have a groove round the nut. A pitch gauge, or ten turns measured, tells the \
                       pitch. An arm of which only one end turns has one thread.",
                ..needed(
                    &key("threads"),
                    &title("threads"),
                    "Which threads do its ends have, and which way do they turn, RH or LH? The subframe end first, with \
                     a comma between; one alone if only one end is screwed in.",
                    "M16x1.5 RH, M16x1.5 LH   or   5/8-18 UNF RH, 5/8-18 UNF LH",
                )
            },
            needed(
                &key("shortest"),
                &title("shortest"),
                "Screw both ends fully home. How long is the arm then, from the middle of one hole to the middle of the other?",
                "225, or 8 7/8 in",
            ),
            needed(
                &key("longest"),
                &title("longest"),
                "And how long may it be at most, hole centre to hole centre, by its maker or its witness holes?",
                "260",
            ),
            Question {
                kind: Kind::Engaged,
                more: "Mark each shank at its lock nut, note the length of the arm, unscrew the end and measure the thread that was inside. \
                       Too little thread in the body lets an arm pull out: with this figure the plan refuses such a length.",
                ..optional(
                    &key("engaged"),
                    &title("thread inside"),
                    "At some length of the arm, how much thread of each end is inside the body? Two figures with a comma: that length, \
                     the thread inside per end.",
                    "235, 25",
                )
            },
        ],
    ));
    questions
}

/// How a cam's position is told.
const CAM_STANDS: &str = "Standing before the plate: how many of its marks is it turned from the middle one, and does that move the bolt \
    OUTBOARD, along the link towards the wheel, or INBOARD, away from it? Say `1 mark outboard`, `1.5 marks inboard`. Without marks: how \
    far the bolt is off the middle of its slot, `2.5 mm inboard`; or where the high point of the eccentric stands, `towards the wheel` \
    or `away from the wheel`. A bare figure is degrees, plus where the bolt had moved the way the slot runs: to the left, up, or forward; \
    on the right side to the right, up, or forward.";

fn of_cam(link: &str) -> Vec<Question> {
    let table = format!("link.{link}.cam");
    let title = |what: &str| format!("Cam of {link}: {what}");
    let key = |key: &str| format!("{table}.{key}");
    let mut questions = vec![whether(
        &table,
        &title("is there one?"),
        &format!("Is the bolt at the subframe end of the link \"{link}\" an eccentric bolt, for alignment?"),
    )];
    questions.extend(within(
        &table,
        [
            Question {
                more: "Turn it from one end to the other and measure how far the middle of the bolt moves in its slot; half of that is \
                       the eccentricity. Mark where it stood before you turn it.",
                ..needed(
                    &key("eccentricity"),
                    &title("eccentricity"),
                    "How far does the bolt move in its slot from end to end? Give HALF of that.",
                    "4",
                )
            },
            Question {
                kind: Kind::Along,
                optional: true,
                ..needed(&key("along"), &title("way of the slot"), "Which way does the slot run: across the car, up, or forward?", "across")
            },
            optional(
                &key("marks"),
                &title("marks"),
                "How many marks does its plate have between the middle and full throw, a quarter of a turn?",
                "6",
            ),
            Question {
                more: CAM_STANDS,
                ..optional(
                    &key("setting"),
                    &title("as found, left"),
                    "Where did it stand on the LEFT when you measured, counted from its middle? In the middle: leave it out.",
                    "1 mark outboard   or   15   or   1.5 mm inboard",
                )
            },
        ],
    ));
    questions.push(Question {
        more: CAM_STANDS,
        ..right_too(
            &table,
            &format!("right.{}", key("setting")),
            &title("as found, right"),
            "And on the RIGHT? Left and right cams hardly ever stand alike. In the middle there, but not on the left: 0.",
            "2 marks inboard   or   0",
        )
    });
    questions
}

fn of_spec() -> Vec<Question> {
    const SLIPS: &str = "Manuals print degrees and minutes (0°20' is a third of a degree, not 0.20), or mm; and toe of each wheel, or the total \
        of both. `rodset spec` shows a printed figure in every unit.";
    let mut questions = vec![whether(
        "spec",
        "The spec: is it at hand?",
        "Do you have the maker's figures for rear camber and toe? Without them nothing can be planned; they can be added later.",
    )];
    let inside = [
        Question {
            more: SLIPS,
            ..needed("spec.camber", "The spec: camber", "What camber is wanted?", "-1.0   or   -1°00'")
        },
        Question {
            more: SLIPS,
            ..needed(
                "spec.camber_tolerance",
                "The spec: camber, give or take",
                "By how much may it be off either way?",
                "0.5   or   30'",
            )
        },
        Question {
            kind: Kind::Toe,
            more: SLIPS,
            ..needed(
                "spec.toe",
                "The spec: toe",
                "What toe is wanted? Say behind it whether the manual means each wheel or the total of both.",
                "0.10 each   or   0°12' total   or   2 mm total",
            )
        },
        Question {
            more: SLIPS,
            ..needed(
                "spec.toe_tolerance",
                "The spec: toe, give or take",
                "By how much may the toe of EACH wheel be off either way? Of a tolerance for the total, give half.",
                "0.05   or   3'",
            )
        },
        optional(
            "spec.cross_camber",
            "The spec: left against right",
            "By how much may the cambers of left and right differ, if the manual says so?",
            "0.5",
        ),
        optional(
            "spec.thrust_angle",
            "The spec: thrust angle",
            "How large may the thrust angle be, if the manual says so?",
            "0.25",
        ),
    ];
    questions.extend(within("spec", inside));
    questions
}
