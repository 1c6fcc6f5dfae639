//! Every kind of finding, once.
//!
//! A line of the table below gives a code its name, its usual severity and its
//! title; the file `catalogue/NAME.md` beside this one explains it. Such a page
//! is two to five sentences on what the finding means, why it matters and what
//! to do, and then, where a small pattern can show it, one pattern that has the
//! finding under `## Wrong` and one that does not under `## Right`. A second
//! block under such a heading is the targets file to rewrite the pattern to.

use super::Severity;

/// One entry of the catalogue.
struct Entry {
    code: Code,
    name: &'static str,
    severity: Severity,
    title: &'static str,
    page: &'static str,
}

/// A small pattern that has a finding, or does not.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Example {
    /// The whole pattern.
    pub pattern: &'static str,
    /// The targets it is rewritten to, where the finding comes up in a rewrite.
    pub targets: Option<&'static str>,
}

macro_rules! catalogue {
    ($($variant:ident, $name:literal, $severity:ident, $title:literal;)*) => {
        /// The kinds of finding. Their names are stable.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum Code {
            $(#[doc = $title] $variant,)*
        }

        const ENTRIES: &[Entry] = &[
            $(Entry {
                code: Code::$variant,
                name: $name,
                severity: Severity::$severity,
                title: $title,
                page: include_str!(concat!("catalogue/", $name, ".md")),
            },)*
        ];
    };
}

catalogue! {
    // Reading the file.
    Unreadable, "unreadable", Error, "the file cannot be read as text";
    TooLarge, "too-large", Error, "the file is larger than any pattern";
    TooDeep, "too-deep", Error, "something is nested deeper than any pattern needs";
    NoFrontMatter, "no-front-matter", Error, "the pattern does not open with front matter";
    YamlBroken, "yaml-broken", Error, "the YAML cannot be read";
    YamlKey, "yaml-key", Error, "a key is not known here";
    YamlValue, "yaml-value", Error, "a value is not what its key asks for";
    SizesLength, "sizes-length", Error, "a list has more or fewer values than there are sizes";
    Syntax, "syntax", Error, "an instruction cannot be understood";
    UnknownStitch, "unknown-stitch", Error, "an abbreviation is not known";
    UnknownName, "unknown-name", Error, "a name is not defined";
    Duplicate, "duplicate", Error, "a name is defined twice";
    NoPiece, "no-piece", Error, "the pattern has nothing to knit";
    NotWorked, "not-worked", Warning, "instructions stand where nothing is worked";
    BeyondAnyGarment, "beyond-any-garment", Error, "a count is beyond any garment";
    // Working the rows.
    RowShort, "row-short", Error, "a row needs more stitches than there are";
    RowLong, "row-long", Error, "a row leaves stitches unworked";
    RepeatUneven, "repeat-uneven", Error, "a repeat does not divide the stitches there are";
    CountDiffers, "count-differs", Error, "a stated count differs from the worked one";
    TotalDiffers, "total-differs", Error, "a stated total differs from the worked one";
    WrongSide, "wrong-side", Error, "a row falls on the other side of the work";
    WrongRow, "wrong-row", Error, "a run of a pattern ends with another of its rows";
    MarkerMissing, "marker-missing", Error, "a row asks for a marker that is not there";
    NothingOnNeedle, "nothing-on-needle", Error, "there are no stitches to work";
    UnknownCount, "unknown-count", Error, "a number is to be worked out and nothing says from what";
    NoGauge, "no-gauge", Error, "a gauge is needed here and none is given";
    RowsShort, "rows-short", Error, "shaping needs more rows than there are";
    LengthPassed, "length-passed", Error, "the piece is already longer than it should become";
    EvenTooMuch, "even-too-much", Error, "an even change more than doubles or halves the stitches";
    RepeatDrifts, "repeat-drifts", Error, "a repeat does not come back to the count it began with";
    HeldMissing, "held-missing", Error, "stitches are taken up that were never held";
    SeamDiffers, "seam-differs", Warning, "two pieces that are sewn together do not match";
    MirrorDiffers, "mirror-differs", Warning, "two halves that mirror each other differ";
    RowsUneven, "rows-uneven", Warning, "one short row is out of step with those around it";
    TurnsDiffer, "turns-differ", Warning, "the short rows of a shoulder do not come to its stitches";
    SizesUneven, "sizes-uneven", Warning, "one size goes the wrong way against its neighbours";
    GaugeDiffers, "gauge-differs", Warning, "a stated width and a stated count disagree";
    UnitsDiffer, "units-differ", Warning, "a measurement in two units does not agree with itself";
    LooseNumber, "loose-number", Warning, "a number in prose will not follow a rewrite";
    UnusedName, "unused-name", Warning, "a definition is never used";
    StitchesLeft, "stitches-left", Warning, "a piece ends with stitches still on the needle";
    UnsizedNumber, "unsized-number", Warning, "a number in a row varies by size but is not live";
    // Planning.
    Clash, "clash", Error, "the requirements cannot all be met";
    BandEstimated, "band-estimated", Warning, "a band's gauge was estimated, not swatched";
    ShapeLonger, "shape-longer", Warning, "shaping needs more rows than its length has";
    ShapeMoved, "shape-moved", Warning, "a shape begins elsewhere, so that its rows fit";
    SlopeDiffers, "slope-differs", Warning, "a slope bound off in steps is of another depth";
    KeptAsWritten, "kept-as-written", Note, "something was left as written";
    CapDiffers, "cap-differs", Warning, "a cap is not as long as the armhole it is sewn into";
    NotMonotone, "not-monotone", Warning, "a count does not grow with the sizes";
    WillNotGoOn, "will-not-go-on", Warning, "an opening is too small for what it must pass";
    GaugeDoubtful, "gauge-doubtful", Warning, "the doubt of a swatch is larger than the step between two sizes";
    GaugeUnlikely, "gauge-unlikely", Warning, "gauge, needle and yarn do not belong together";
    YarnDiffers, "yarn-differs", Warning, "the yarn a size used is not what its stitches take";
    AllowUnused, "allow-unused", Warning, "an allowed finding does not occur";
    Internal, "internal", Error, "a mistake in walewright itself";
}

impl Code {
    /// All of them, in the catalogue's order.
    pub fn all() -> impl Iterator<Item = Self> {
        ENTRIES.iter().map(|entry| entry.code)
    }

    fn entry(self) -> &'static Entry {
        // The table lists the variants in order, so the place is the number.
        &ENTRIES[self as usize]
    }

    /// The stable name, as `wale explain` takes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.entry().name
    }

    /// The code of a name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        ENTRIES.iter().find(|entry| entry.name == name).map(|entry| entry.code)
    }

    /// How much it usually matters.
    #[must_use]
    pub fn severity(self) -> Severity {
        self.entry().severity
    }

    /// One clause that says what it is.
    #[must_use]
    pub fn title(self) -> &'static str {
        self.entry().title
    }

    /// The page that explains it, in Markdown, without a heading.
    #[must_use]
    pub fn page(self) -> &'static str {
        self.entry().page
    }

    /// The page's sentences, without its examples.
    #[must_use]
    pub fn explanation(self) -> &'static str {
        self.parts().0.trim_end()
    }

    /// A pattern that has this finding, where a small one can.
    #[must_use]
    pub fn wrong(self) -> Option<Example> {
        Example::of(self.parts().1)
    }

    /// The same pattern, mended.
    #[must_use]
    pub fn right(self) -> Option<Example> {
        Example::of(self.parts().2)
    }

    /// The page's sentences, and what stands under its two headings.
    fn parts(self) -> (&'static str, &'static str, &'static str) {
        let (explanation, rest) =
            self.page().split_once("\n## Wrong\n").unwrap_or((self.page(), ""));
        let (wrong, right) = rest.split_once("\n## Right\n").unwrap_or((rest, ""));
        (explanation, wrong, right)
    }
}

impl Example {
    fn of(section: &'static str) -> Option<Self> {
        Some(Self { pattern: fenced(section, "wale")?, targets: fenced(section, "yaml") })
    }
}

/// What stands in the fence that opens with a word.
fn fenced(section: &'static str, word: &str) -> Option<&'static str> {
    let (_, after) = section.split_once(&format!("```{word}\n"))?;
    let end = after.find("\n```")?;
    after.get(..=end)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_unique_and_lead_back() {
        for code in Code::all() {
            assert_eq!(Code::from_name(code.name()), Some(code));
        }
    }

    #[test]
    fn every_page_explains_in_two_to_five_sentences() {
        for code in Code::all() {
            let words = code.explanation().split_whitespace();
            let sentences = words.filter(|word| word.ends_with('.')).count();
            let name = code.name();
            assert!((2..=5).contains(&sentences), "{name}: {sentences} sentences");
            assert!(
                code.page().lines().all(|line| line.chars().count() <= 80),
                "{name}: long line"
            );
            assert!(code.page().ends_with('\n') && !code.page().contains("\n\n\n"), "{name}");
        }
    }

    #[test]
    fn every_page_shows_what_is_wrong_and_what_is_right() {
        // What no small pattern can show: bytes, sizes and our own mistakes.
        let without = [Code::Unreadable, Code::TooLarge, Code::TooDeep, Code::Internal];
        for code in Code::all() {
            let shown = (code.wrong().is_some(), code.right().is_some());
            let expected = !without.contains(&code);
            assert_eq!(shown, (expected, expected), "{}", code.name());
            if expected {
                assert_ne!(code.wrong(), code.right(), "{}", code.name());
            }
        }
    }
}
