//! What a profile does not say, and how to add it.

use serde::Serialize;

use crate::car::Side;

/// Something that a question needs and the profile does not give. The rest of the question is answered all the same.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, schemars::JsonSchema)]
pub struct Missing {
    /// What to write, and where.
    pub key: String,
    /// What it is and how to measure it.
    pub measure: String,
}

impl Missing {
    pub(crate) fn new(key: impl Into<String>, measure: impl Into<String>) -> Self {
        Self { key: key.into(), measure: measure.into() }
    }
}

/// Without a spec nothing is planned, and the stock links are all that can be looked at.
pub(crate) fn spec(side: &Side) -> Option<Missing> {
    side.spec.is_none().then(|| {
        Missing::new(
            "[spec]",
            "what each wheel should read, from the maker's manual; until it is there, only the stock arms are looked at",
        )
    })
}

/// What both sides miss, each once.
pub(crate) fn once(sides: [Vec<Missing>; 2]) -> Vec<Missing> {
    let mut all: Vec<Missing> = Vec::new();
    for missing in sides.into_iter().flatten() {
        if !all.contains(&missing) {
            all.push(missing);
        }
    }
    all
}
