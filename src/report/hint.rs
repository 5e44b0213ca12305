//! What a page tells its reader to ask next. The program around the page has the words: only it knows what its commands and options
//! are called.

/// Puts a hint into the words of a program, as they stand in a sentence.
pub(crate) type Say = fn(Hint<'_>) -> String;

/// A question that the program answers, or something that it can be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hint<'a> {
    /// What the cams still reach.
    Cams,
    /// Lengths and turns of the arms.
    Plan,
    /// The same for a profile, whose name this is, at a drop to be given.
    PlanOf(&'a str),
    /// Which reading to make next.
    Next,
    /// The page for the bench.
    Sheet,
    /// Bump steer over the travel.
    Travel,
    /// Another length of the traction link.
    Tune,
    /// Arms with which nothing moves when the cams are locked out.
    LockOut,
    /// What is missing in a file.
    Check(&'a str),
    /// To change values of a file.
    Set,
    /// The profile of a survey, whose file this is, written.
    ProfileOf(&'a str),
    /// What was learned, written as another profile.
    WriteLearned,
    /// All of a page.
    Full,
    /// The whole answer, for scripts.
    All,
    /// Every figure at every height, for a spreadsheet.
    Spreadsheet,
    /// A drawing in a file.
    Drawing,
    /// More tables.
    Detail,
    /// To name the arms that are fitted.
    Fit,
    /// The factors of a load case.
    Case,
    /// That the car stands the other way round.
    TurnedRound,
    /// What a reading was taken with.
    Source,
    /// How an arm stands.
    Arm,
    /// How a cam stands.
    Cam,
    /// What the two wheels read.
    Left,
    /// What the right one reads.
    Right,
    /// What both read together.
    TotalToe,
}
