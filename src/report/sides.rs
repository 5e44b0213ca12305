//! What belongs to both sides, beside each other where they differ.

use crate::car::{Hand, PerSide};

/// One thing to show: for one side, or for both where they are alike.
#[derive(Debug)]
pub(super) struct Shown<'a, T> {
    /// "left", "right" or "both".
    pub(super) side: &'static str,
    /// The side it comes from.
    pub(super) hand: Hand,
    /// The thing.
    pub(super) item: &'a T,
}

/// Brings the things of both sides together by their names, in the order of the left side; what only the right has comes
/// last. Things that are alike are shown once.
pub(super) fn by_side<T>(
    sides: PerSide<&[T]>,
    name: impl Fn(&T) -> &str,
    alike: impl Fn(&T, &T) -> bool,
) -> Vec<Shown<'_, T>> {
    by_pair(sides, |a, b| name(a) == name(b), alike)
}

/// The same, with each side by itself however alike they are.
pub(super) fn apart<T>(sides: PerSide<&[T]>, name: impl Fn(&T) -> &str) -> Vec<Shown<'_, T>> {
    by_side(sides, name, |_, _| false)
}

/// The same for things that go together by more than a name.
pub(super) fn by_pair<T>(
    sides: PerSide<&[T]>,
    together: impl Fn(&T, &T) -> bool,
    alike: impl Fn(&T, &T) -> bool,
) -> Vec<Shown<'_, T>> {
    let PerSide { left, right } = sides;
    let of_left = |item| Shown { side: "left", hand: Hand::Left, item };
    let of_right = |item| Shown { side: "right", hand: Hand::Right, item };
    let mut shown = Vec::new();
    for item in left {
        match right.iter().find(|other| together(item, other)) {
            Some(other) if alike(item, other) => shown.push(Shown { side: "both", ..of_left(item) }),
            Some(other) => shown.extend([of_left(item), of_right(other)]),
            None => shown.push(of_left(item)),
        }
    }
    let only_right = |item: &&T| left.iter().all(|other| !together(other, item));
    shown.extend(right.iter().filter(only_right).map(of_right));
    shown
}

/// Hands out the rows of both sides: those that look alike once, as "both".
pub(super) fn each_side<T>(
    sides: &PerSide<T>,
    rows: impl Fn(&T) -> Vec<Vec<String>>,
    mut write: impl FnMut(&str, Vec<String>),
) {
    let PerSide { left, right } = sides.each(rows);
    for i in 0..left.len().max(right.len()) {
        let (a, b) = (left.get(i), right.get(i));
        let rows = if a == b { [("both", a), ("", None)] } else { [("left", a), ("right", b)] };
        for (side, row) in rows {
            if let Some(row) = row {
                write(side, row.clone());
            }
        }
    }
}

/// Hands out what belongs to each side, once where both are alike.
pub(super) fn both_or_each<S, T: PartialEq>(
    sides: &PerSide<S>,
    of: impl Fn(&S) -> T,
    mut write: impl FnMut(&str, T),
) {
    let PerSide { left, right } = sides.each(of);
    if left == right {
        write("both sides", left);
    } else {
        write("left", left);
        write("right", right);
    }
}

impl<T: PartialEq> PerSide<T> {
    /// What both sides have where they are alike, else what `apart` makes of the two.
    pub(super) fn alike_or(self, apart: impl FnOnce(T, T) -> T) -> T {
        let Self { left, right } = self;
        if left == right { left } else { apart(left, right) }
    }
}

impl<T> Shown<'_, T> {
    /// The side in a sentence.
    pub(super) fn words(&self) -> &'static str {
        if self.side == "both" { "both sides" } else { self.side }
    }
}

#[cfg(test)]
mod tests {
    use super::{PerSide, by_side};

    #[test]
    fn things_are_matched_by_name_and_none_is_lost() {
        let left = [("upper", 1), ("toe", 2)];
        let right = [("toe", 3), ("upper", 1), ("traction", 4)];
        let shown = by_side(PerSide { left: &left, right: &right }, |item| item.0, |a, b| a.1 == b.1);
        let shown: Vec<_> = shown.iter().map(|shown| (shown.side, shown.item.0, shown.item.1)).collect();
        assert_eq!(
            shown,
            [("both", "upper", 1), ("left", "toe", 2), ("right", "toe", 3), ("right", "traction", 4)]
        );
    }
}
