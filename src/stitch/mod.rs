//! What each stitch takes from the left needle and leaves on the right.
//!
//! The stitches are a table of data; only cables and decreases of many
//! stitches are worked out from their names. Nothing here knows of patterns
//! or of the author's own abbreviations: those come with the pattern.

mod table;

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

/// One stitch: what it does to the needles, and what it is called.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Stitch {
    /// How walewright writes it: `k2tog`, `2/2 RC`.
    pub name: Cow<'static, str>,
    /// How many stitches it takes from the left needle.
    pub takes: u32,
    /// By how many it changes those on the right needle. Less than nothing
    /// for `psso`, which takes a stitch off again that was made just before.
    pub makes: i32,
    /// Whether a number right after it says how many (`k4`); otherwise it is
    /// written `ssk 4 times`.
    pub counted: bool,
    /// The stitch that leans the other way; its own name where it does not lean.
    pub mirror: Cow<'static, str>,
    /// What is worked on the wrong side so as to look like this on the right side.
    pub wrong_side: Cow<'static, str>,
    /// The name of its chart symbol.
    pub symbol: &'static str,
    /// What to do, in a few words.
    pub means: Cow<'static, str>,
}

static BY_NAME: LazyLock<BTreeMap<&'static str, &'static table::Row>> = LazyLock::new(|| {
    let mut names = BTreeMap::new();
    for row in table::ROWS {
        for other in row.also.split('|').filter(|name| !name.is_empty()) {
            names.insert(other, row);
        }
    }
    // A name of its own goes before another's second name.
    for row in table::ROWS {
        names.insert(row.name, row);
    }
    names
});

/// The stitch of a name, in any case: `K2tog`, `narrow`, `2/2 RC`, `c4f`.
#[must_use]
pub fn find(name: &str) -> Option<Stitch> {
    // Most names are in the table, and in lower case already.
    if let Some(row) = BY_NAME.get(name) {
        return Some(from_row(row));
    }
    let lower = name.to_lowercase();
    if let Some(row) = BY_NAME.get(lower.as_str()) {
        return Some(from_row(row));
    }
    slipped(&lower).or_else(|| together(&lower)).or_else(|| cable(&lower))
}

/// Whether a name of more than one word begins with `word`: `slip and bind`, `2/2 RC`.
#[must_use]
pub fn begins_longer_name(word: &str) -> bool {
    static FIRST_WORDS: LazyLock<BTreeSet<&'static str>> = LazyLock::new(|| {
        BY_NAME.keys().filter_map(|name| name.split_once(' ')).map(|(first, _)| first).collect()
    });
    let lower = word.to_lowercase();
    FIRST_WORDS.contains(lower.as_str())
        || lower.starts_with(|c: char| c.is_ascii_digit())
        || lower.contains("tog")
}

/// Every name in the table (not those worked out from a pattern of names), in order.
pub fn names() -> impl Iterator<Item = &'static str> {
    BY_NAME.keys().copied()
}

fn from_row(row: &'static table::Row) -> Stitch {
    let or_own = |name: &'static str| Cow::Borrowed(if name.is_empty() { row.name } else { name });
    Stitch {
        name: Cow::Borrowed(row.name),
        takes: row.takes,
        makes: row.makes,
        counted: row.counted,
        mirror: or_own(row.mirror),
        wrong_side: or_own(row.wrong_side),
        symbol: row.symbol,
        means: Cow::Borrowed(row.means),
    }
}

/// `sl kwise wyib`, `sl pwise wyif`: a slipped stitch with more than one word about how.
fn slipped(name: &str) -> Option<Stitch> {
    let mut words = name.split(' ');
    let first = words.next()?;
    let ways: Vec<&str> = words.collect();
    let known = |way: &&str| matches!(*way, "kwise" | "pwise" | "wyif" | "wyib");
    if !matches!(first, "sl" | "slip") || ways.len() != 2 || !ways.iter().all(known) {
        return None;
    }
    let base = from_row(BY_NAME.get("sl")?);
    let floats = ways.contains(&"wyif");
    let turned: Vec<&str> = ways
        .iter()
        .map(|way| match *way {
            "wyif" => "wyib",
            "wyib" => "wyif",
            _ => "pwise",
        })
        .collect();
    let name = format!("sl {}", ways.join(" "));
    Some(Stitch {
        mirror: Cow::Owned(name.clone()),
        wrong_side: Cow::Owned(format!("sl {}", turned.join(" "))),
        symbol: if floats { "slip-float" } else { "slip" },
        means: Cow::Owned(format!(
            "slip, {}",
            ways.iter().map(|w| way(w)).collect::<Vec<_>>().join(", ")
        )),
        name: Cow::Owned(name),
        ..base
    })
}

fn way(word: &str) -> &'static str {
    match word {
        "kwise" => "as if to knit",
        "pwise" => "as if to purl",
        "wyif" => "with the yarn held in front",
        _ => "with the yarn held in back",
    }
}

/// `k4tog`, `p5tog tbl`: decreases of more stitches than the table lists.
fn together(name: &str) -> Option<Stitch> {
    let (body, tbl) = match name.strip_suffix(" tbl") {
        Some(body) => (body, " tbl"),
        None => (name, ""),
    };
    let knit = body.starts_with('k');
    let digits = body.strip_prefix(['k', 'p'])?.strip_suffix("tog")?;
    let n = small(digits).filter(|n| *n >= 2)?;
    let (own, other) = if knit { ('k', 'p') } else { ('p', 'k') };
    let (lean, back) = if tbl.is_empty() { ("right", " tbl") } else { ("left", "") };
    let verb = if knit { "knit" } else { "purl" };
    Some(Stitch {
        name: Cow::Owned(format!("{own}{n}tog{tbl}")),
        takes: n,
        makes: 1,
        counted: false,
        mirror: Cow::Owned(format!("{own}{n}tog{back}")),
        wrong_side: Cow::Owned(format!("{other}{n}tog{tbl}")),
        symbol: if lean == "right" { "many-decrease-right" } else { "many-decrease-left" },
        means: Cow::Owned(format!(
            "{verb} {n} together{}",
            if tbl.is_empty() { "" } else { " through the back loops" }
        )),
    })
}

/// A number of stitches that a needle tip can hold.
fn small(digits: &str) -> Option<u32> {
    let sound = !digits.is_empty() && digits.len() <= 2 && !digits.starts_with('0');
    sound.then(|| digits.parse().ok()).flatten()
}

/// `2/2 RC`, `2/1LPC`, `C4F`, `T3B`: crossings, which neither add nor take away.
fn cable(name: &str) -> Option<Stitch> {
    crossing(name).or_else(|| old_crossing(name))
}

/// The standard form: so many stitches cross over so many, to the right or the left.
fn crossing(name: &str) -> Option<Stitch> {
    let (over, rest) = name.split_once('/')?;
    let end = rest.find(|c: char| !c.is_ascii_digit())?;
    let (under, kind) = (rest.get(..end)?, rest.get(end..)?.trim_start());
    let (over, under) = (small(over)?, small(under)?);
    let (right, purl, letters) = match kind {
        "rc" => (true, false, "C"),
        "lc" => (false, false, "C"),
        "rpc" => (true, true, "PC"),
        "lpc" => (false, true, "PC"),
        "rt" => (true, false, "T"),
        "lt" => (false, false, "T"),
        "rpt" => (true, true, "PT"),
        "lpt" => (false, true, "PT"),
        _ => return None,
    };
    let written =
        |right: bool| format!("{over}/{under} {}{letters}", if right { "R" } else { "L" });
    let (to, hold) = if right { ("right", "back") } else { ("left", "front") };
    let then = if purl { "purl" } else { "knit" };
    // The crossing stitches are always knit; those that pass behind may be purled.
    let means = if right {
        format!(
            "slip {under} to a cable needle and hold in {hold}, knit {over}, {then} {under} from the cable needle: crosses to the {to}"
        )
    } else {
        format!(
            "slip {over} to a cable needle and hold in {hold}, {then} {under}, knit {over} from the cable needle: crosses to the {to}"
        )
    };
    Some(Stitch {
        name: Cow::Owned(written(right)),
        takes: over + under,
        makes: i32::try_from(over + under).ok()?,
        counted: false,
        mirror: Cow::Owned(written(!right)),
        wrong_side: Cow::Owned(written(right)),
        symbol: match (right, purl) {
            (true, false) => "cable-right",
            (false, false) => "cable-left",
            (true, true) => "cable-right-purl",
            (false, true) => "cable-left-purl",
        },
        means: Cow::Owned(means),
    })
}

/// The older form: `C4F` crosses four with the cable needle in front, `T3B` with purls.
fn old_crossing(name: &str) -> Option<Stitch> {
    let purl = match name.as_bytes().first()? {
        b'c' => false,
        b't' => true,
        _ => return None,
    };
    let digits_end = name.len().checked_sub(1)?;
    let n = small(name.get(1..digits_end)?).filter(|n| *n >= 2)?;
    let (front, letter, other) = match name.get(digits_end..)? {
        "f" => (true, "F", "B"),
        "b" => (false, "B", "F"),
        "l" => (true, "L", "R"),
        "r" => (false, "R", "L"),
        _ => return None,
    };
    let initial = if purl { "T" } else { "C" };
    let place = if front { "front" } else { "back" };
    let purled = if purl { ", the stitches behind purled" } else { "" };
    Some(Stitch {
        name: Cow::Owned(format!("{initial}{n}{letter}")),
        takes: n,
        makes: i32::try_from(n).ok()?,
        counted: false,
        mirror: Cow::Owned(format!("{initial}{n}{other}")),
        wrong_side: Cow::Owned(format!("{initial}{n}{letter}")),
        symbol: match (front, purl) {
            (true, false) => "cable-left",
            (false, false) => "cable-right",
            (true, true) => "cable-left-purl",
            (false, true) => "cable-right-purl",
        },
        means: Cow::Owned(format!("cross {n} stitches, the cable needle held in {place}{purled}")),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Takes and makes: the published lists named in [`table`], worked out there.
    #[test]
    fn takes_and_makes() {
        let table: &[(&str, u32, i32)] = &[
            ("k", 1, 1),
            ("p tbl", 1, 1),
            ("k1b", 1, 1),
            ("sl wyif", 1, 1),
            ("sl pwise wyib", 1, 1),
            ("k2tog", 2, 1),
            ("skpo", 2, 1),
            ("sl1-k1-psso", 2, 1),
            ("p2tog tbl", 2, 1),
            ("sssk", 3, 1),
            ("cdd", 3, 1),
            ("s2kp2", 3, 1),
            ("sk2p", 3, 1),
            ("k4tog", 4, 1),
            ("kfb", 1, 2),
            ("kfbf", 1, 3),
            ("M1L", 0, 1),
            ("yrn", 0, 1),
            ("double yo", 0, 2),
            ("RLI", 0, 1),
            ("2/2 RC", 4, 4),
            ("3/3lc", 6, 6),
            ("2/1 LPC", 3, 3),
            ("C4F", 4, 4),
            ("C6B", 6, 6),
            ("T3B", 3, 3),
            ("RT", 2, 2),
            ("narrow", 2, 1),
            ("over", 0, 1),
            ("slip and bind", 2, 1),
            ("plain", 1, 1),
        ];
        for &(name, takes, makes) in table {
            let stitch = find(name).map(|s| (s.takes, s.makes));
            assert_eq!(stitch, Some((takes, makes)), "{name}");
        }
    }

    #[test]
    fn decreases_written_out_come_to_the_same() {
        let net = |names: &[&str]| {
            names
                .iter()
                .filter_map(|n| find(n))
                .fold((0, 0), |(t, m), s| (t + s.takes, m + s.makes))
        };
        assert_eq!(net(&["sl", "k", "psso"]), (2, 1));
        assert_eq!(net(&["sl", "k2tog", "psso"]), (3, 1));
        assert_eq!(net(&["sl", "sl", "k", "p2sso"]), (3, 1));
    }

    #[test]
    fn mirrors_and_wrong_sides_are_stitches_that_lead_back() {
        for row in table::ROWS {
            let stitch = from_row(row);
            for other in [&stitch.mirror, &stitch.wrong_side] {
                let found = find(other);
                let takes = found.as_ref().map(|s| (s.takes, s.makes));
                assert_eq!(takes, Some((row.takes, row.makes)), "{} -> {other}", row.name);
            }
        }
        for (name, mirror) in [
            ("k2tog", "ssk"),
            ("ssk", "k2tog"),
            ("2/2 rc", "2/2 LC"),
            ("c4f", "C4B"),
            ("c4l", "C4R"),
        ] {
            assert_eq!(find(name).map(|s| s.mirror.into_owned()).as_deref(), Some(mirror));
        }
        // Held in front it crosses to the left, and so does one that is named for that.
        for (name, symbol) in [
            ("c4f", "cable-left"),
            ("c4l", "cable-left"),
            ("t3b", "cable-right-purl"),
            ("t3r", "cable-right-purl"),
        ] {
            assert_eq!(find(name).map(|s| s.symbol), Some(symbol), "{name}");
        }
    }

    /// Common practice: held in back it crosses to the right, in front to the left; what
    /// crosses over is knit, and the letter P says that what passes behind is purled.
    #[test]
    fn a_crossing_says_how_it_is_worked() {
        let right = "slip 1 to a cable needle and hold in back, knit 2, ";
        let left = "slip 2 to a cable needle and hold in front, ";
        for (kind, other, symbol, means) in [
            (
                "RC",
                "LC",
                "cable-right",
                format!("{right}knit 1 from the cable needle: crosses to the right"),
            ),
            (
                "LC",
                "RC",
                "cable-left",
                format!("{left}knit 1, knit 2 from the cable needle: crosses to the left"),
            ),
            (
                "RPC",
                "LPC",
                "cable-right-purl",
                format!("{right}purl 1 from the cable needle: crosses to the right"),
            ),
            (
                "LPC",
                "RPC",
                "cable-left-purl",
                format!("{left}purl 1, knit 2 from the cable needle: crosses to the left"),
            ),
            (
                "RT",
                "LT",
                "cable-right",
                format!("{right}knit 1 from the cable needle: crosses to the right"),
            ),
            (
                "LT",
                "RT",
                "cable-left",
                format!("{left}knit 1, knit 2 from the cable needle: crosses to the left"),
            ),
            (
                "RPT",
                "LPT",
                "cable-right-purl",
                format!("{right}purl 1 from the cable needle: crosses to the right"),
            ),
            (
                "LPT",
                "RPT",
                "cable-left-purl",
                format!("{left}purl 1, knit 2 from the cable needle: crosses to the left"),
            ),
        ] {
            for name in [format!("2/1 {kind}"), format!("2/1{}", kind.to_lowercase())] {
                let found = find(&name).unwrap_or_else(|| panic!("{name}"));
                assert_eq!((found.takes, found.makes, found.counted), (3, 3, false), "{name}");
                assert_eq!(found.name, format!("2/1 {kind}"));
                assert_eq!(found.mirror, format!("2/1 {other}"));
                assert_eq!(found.wrong_side, found.name, "a cable is seen from both sides");
                assert_eq!((found.symbol, found.means.as_ref()), (symbol, means.as_str()));
            }
        }
        for name in ["2/1 R", "2/1 RPP", "2/1 CR", "2 RC", "2/RC", "2/1"] {
            assert_eq!(find(name), None, "{name}");
        }
    }

    #[test]
    fn no_second_name_is_claimed_twice() {
        let mut seen = std::collections::BTreeSet::new();
        for row in table::ROWS {
            for name in row.also.split('|').filter(|n| !n.is_empty()).chain([row.name]) {
                assert!(seen.insert(name), "{name} is listed twice");
                assert_eq!(name, name.to_lowercase(), "names are kept in lower case");
            }
        }
    }

    #[test]
    fn a_slipped_stitch_says_how() {
        for (name, means, wrong_side) in [
            ("sl kwise wyif", "slip, as if to knit, with the yarn held in front", "sl pwise wyib"),
            ("slip pwise wyib", "slip, as if to purl, with the yarn held in back", "sl pwise wyif"),
        ] {
            let found = find(name).map(|s| (s.means.into_owned(), s.wrong_side.into_owned()));
            assert_eq!(found, Some((means.to_owned(), wrong_side.to_owned())), "{name}");
        }
    }

    #[test]
    fn what_is_no_stitch_is_not_found() {
        for name in [
            "",
            "k2tgo",
            "0/2 rc",
            "2/2 xx",
            "c1f",
            "k1tog",
            "c999f",
            "sl kwise wyib wyif",
            "/",
            "t",
            "c4é",
        ] {
            assert_eq!(find(name), None, "{name}");
        }
    }
}
