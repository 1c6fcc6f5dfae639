//! Small words of English: lists, plurals, ordinals.

/// `a`, `a or b`, `a, b or c`.
#[must_use]
pub fn list(items: &[String], joiner: &str) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [init @ .., last] => format!("{} {joiner} {last}", init.join(", ")),
    }
}

/// With a capital at its beginning.
#[must_use]
pub fn capitalised(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// `1 row`, `2 rows`.
#[must_use]
pub fn count(n: i64, noun: &str) -> String {
    format!("{n} {}", plural(n, noun))
}

/// `row` or `rows`.
#[must_use]
pub fn plural(n: i64, noun: &str) -> String {
    match (n, noun) {
        (1, _) => noun.to_owned(),
        (_, "stitch") => "stitches".to_owned(),
        (_, other) => format!("{other}s"),
    }
}

/// `1st`, `2nd`, `3rd`, `4th`, `11th`, `22nd`.
#[must_use]
pub fn ordinal(n: u32) -> String {
    let ending = match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{ending}")
}

/// The nearest of some known names, where one is near enough to be a slip of the pen.
#[must_use]
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // No name is that long, and the measure of likeness takes its time.
    if word.len() > 100 {
        return None;
    }
    let lower = word.to_lowercase();
    let length = lower.chars().count();
    let slips = |name: &&str| (name.chars().count().max(2) / 3).max(1);
    known
        .into_iter()
        // As many slips as they differ in length, at least.
        .filter(|name| name.chars().count().abs_diff(length) <= slips(name))
        .map(|name| (strsim::damerau_levenshtein(&lower, &name.to_lowercase()), name))
        .filter(|(distance, name)| *distance <= slips(name))
        .min()
        .map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ordinals_follow_the_teens() {
        let said: Vec<_> = [1, 2, 3, 4, 11, 12, 13, 21, 22, 112].map(ordinal).to_vec();
        assert_eq!(said.join(" "), "1st 2nd 3rd 4th 11th 12th 13th 21st 22nd 112th");
    }

    #[test]
    fn a_slip_of_the_pen_is_recognised() {
        assert_eq!(nearest("stiches", ["stitches", "rows"]), Some("stitches"));
        assert_eq!(nearest("k2tgo", ["k2tog", "p2tog"]), Some("k2tog"));
        assert_eq!(nearest("umbrella", ["stitches", "rows"]), None);
    }

    #[test]
    fn lists_read_as_english() {
        let items = ["a", "b", "c"].map(str::to_owned);
        assert_eq!(list(&items, "or"), "a, b or c");
        assert_eq!(count(1, "stitch"), "1 stitch");
        assert_eq!(count(2, "stitch"), "2 stitches");
    }
}
