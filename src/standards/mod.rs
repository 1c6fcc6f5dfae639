//! Published tables, embedded once, each with its source.
//!
//! The figures live in `data/`, one file a table. Every file opens with
//! comment lines that name where its figures come from and how they were had;
//! [`sources`] hands those lines out, so that whatever prints a figure can
//! also print its source. Where sources disagree the table holds both and the
//! code here says which it takes. Nothing here knows of patterns or pages.
//!
//! A table is read once, at its first use. That none can fail to be read is
//! shown by a test beside each; a table that did would be empty, not a panic.

mod body;
mod ease;
mod fabric;
mod needles;
mod people;
mod table;
mod yarn;

pub use body::{BodySize, BodyTable, Landmark, Span, body_table, body_tables};
pub use ease::{AccessoryEase, EaseEdition, EaseWord, accessory_ease, ease_word, ease_words};
pub use fabric::{
    LoopConstants, Relaxed, YarnAmount, grams_per_square_metre, loop_constants, loop_constants_of,
    rib_width_of_plain, tex_of, usual_yarn, yarn_amounts,
};
pub use needles::{Needle, NeedleError, NeedleNumber, NeedleSize, needles};
pub use people::{
    Basis, ChestFit, ChildHead, Measured, OlderHead, Part, PassRange, People, Wearer, chest_fit,
    chest_fits, child_heads, measured_adults, older_heads, passes,
};
pub use table::{Between, How};
pub use yarn::{
    Fits, Implausible, YarnWeight, implausible, rows_to_stitches, yarn_weight, yarn_weight_of,
    yarn_weights,
};

/// The name of a table and the lines that say where its figures come from.
#[derive(Clone, Copy, Debug)]
pub struct Source {
    /// The table's file name.
    pub table: &'static str,
    text: &'static str,
}

impl Source {
    /// What the table says of its source, line by line.
    pub fn lines(self) -> impl Iterator<Item = &'static str> {
        table::opening(self.text)
    }
}

/// Where the figures of every table come from.
pub fn sources() -> impl Iterator<Item = Source> {
    FILES.iter().map(|&(table, text)| Source { table, text })
}

const FILES: &[(&str, &str)] = &[
    ("body-baby.csv", body::BABY),
    ("body-child.csv", body::CHILD),
    ("body-man.csv", body::MAN),
    ("body-woman.csv", body::WOMAN),
    ("ease-accessories.csv", ease::ACCESSORIES),
    ("ease.csv", ease::WORDS),
    ("fabric.csv", fabric::CONSTANTS),
    ("fits.csv", people::FITS),
    ("heads-child.csv", people::CHILD_HEADS),
    ("heads-older.csv", people::OLDER_HEADS),
    ("letters-man.csv", body::LETTERS_MAN),
    ("letters-woman.csv", body::LETTERS_WOMAN),
    ("needles.csv", needles::DATA),
    ("people-adult.csv", people::ADULTS),
    ("yarn-amounts.csv", fabric::AMOUNTS),
    ("yarn-weights.csv", yarn::WEIGHTS),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_names_its_source_and_how_it_was_had() {
        for source in sources() {
            let mut lines = source.lines();
            let (first, second) = (lines.next(), lines.next());
            assert!(first.is_some_and(|l| l.starts_with("Source: ")), "{}", source.table);
            assert!(second.is_some_and(|l| l.starts_with("How: ")), "{}", source.table);
        }
    }

    #[test]
    fn every_file_of_tables_is_listed() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/standards/data");
        let mut there: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|file| file.unwrap().file_name().into_string().unwrap())
            .collect();
        let mut listed: Vec<_> = sources().map(|source| source.table).collect();
        there.sort();
        listed.sort_unstable();
        assert_eq!(listed, there);
    }
}
