//! Tree to meaning: what the names stand for, and what each count measures.
//!
//! A [`Model`] borrows the tree and adds what has to be looked up: sizes,
//! gauges, measurements, fabrics and pieces by name. It works no row and
//! changes no number.

mod build;
mod measures;

pub use build::build;
pub(crate) use build::densities;
pub use measures::{ExprError, Measures};

use crate::diag::Finding;
use crate::measure::{Density, Gauge, SizeId, Unit};
use crate::source::{Span, Spanned};
use crate::syntax::front::{Color, GaugeEntry};
use crate::syntax::tree::{Document, FabricKind, Item, RowLabel, Setting, Step};

/// The place of a gauge in [`Model::gauges`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct GaugeId(pub usize);

/// The place of a color in [`Model::colors`]; the first is on the needles where none is named.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct ColorId(pub usize);

/// A pattern whose names are resolved.
#[derive(Clone, Debug)]
pub struct Model<'d> {
    /// The tree it was made from.
    pub document: &'d Document,
    /// The names of the sizes; one empty name where the pattern has one size only.
    pub sizes: Vec<String>,
    /// The unit lengths are written in where they do not say.
    pub units: Unit,
    /// The gauges, in the author's order.
    pub gauges: Vec<GaugeDef<'d>>,
    /// The colors of the yarn; none where all is knitted in one.
    pub colors: &'d [Color],
    /// Body measurements and ease.
    pub measures: Measures,
    /// The author's own fabrics.
    pub fabrics: Vec<FabricDef<'d>>,
    /// The pieces, in order.
    pub pieces: Vec<PieceDef<'d>>,
}

/// A gauge with its exact densities.
#[derive(Clone, Debug)]
pub struct GaugeDef<'d> {
    /// Its name.
    pub name: &'d str,
    /// The densities; `None` where the author has not given the stitches.
    pub gauge: Option<Gauge>,
    /// So many stitches more or fewer, where the author says how sure it is.
    pub doubt: Option<Density>,
    /// The fabric it was swatched in.
    pub fabric: Option<FabricKind>,
    /// Whether it was estimated, not swatched.
    pub estimated: bool,
    /// As written.
    pub entry: &'d GaugeEntry,
}

/// A fabric the author defines by its rows.
#[derive(Clone, Debug)]
pub struct FabricDef<'d> {
    /// Its name, as used in instructions.
    pub name: &'d Spanned<String>,
    /// Its rows in the order of their numbers.
    pub rows: Vec<FabricRow<'d>>,
}

/// One row of a fabric.
#[derive(Clone, Copy, Debug)]
pub struct FabricRow<'d> {
    /// Where it is written.
    pub span: Span,
    /// Its label, where it has one.
    pub label: Option<&'d RowLabel>,
    /// Its stitches.
    pub items: &'d [Item],
    /// The color it names.
    pub color: Option<&'d Spanned<String>>,
}

/// A piece.
#[derive(Clone, Debug)]
pub struct PieceDef<'d> {
    /// Its name.
    pub name: &'d Spanned<String>,
    /// Flat or in the round, to begin with.
    pub setting: Setting,
    /// How many are made.
    pub copies: u32,
    /// The steps, over all lists of the section, in order.
    pub steps: Vec<&'d Step>,
    /// The heading.
    pub span: Span,
}

impl<'d> Model<'d> {
    /// The sizes by their places.
    pub fn size_ids(&self) -> impl Iterator<Item = SizeId> + use<> {
        (0..self.sizes.len()).map(SizeId)
    }

    /// The gauge of a name.
    #[must_use]
    pub fn gauge_named(&self, name: &str) -> Option<GaugeId> {
        self.gauges.iter().position(|g| g.name.eq_ignore_ascii_case(name)).map(GaugeId)
    }

    /// The color of a name.
    #[must_use]
    pub fn color_named(&self, name: &str) -> Option<ColorId> {
        self.colors.iter().position(|color| color.is_called(name)).map(ColorId)
    }

    /// The gauge a piece begins in when it does not say: `body`, or else the first.
    #[must_use]
    pub fn default_gauge(&self) -> Option<GaugeId> {
        self.gauge_named("body").or((!self.gauges.is_empty()).then_some(GaugeId(0)))
    }

    /// The author's fabric of a name.
    #[must_use]
    pub fn fabric_named(&self, name: &str) -> Option<&FabricDef<'_>> {
        self.fabrics.iter().find(|f| f.name.value.eq_ignore_ascii_case(name))
    }

    /// What a stitch takes and makes, the author's own first.
    #[must_use]
    pub fn stitch(&self, name: &str) -> Option<(i64, i64)> {
        let own = self.document.front.abbreviations.iter().find(|a| a.name.value == name);
        match own {
            Some(own) => Some((i64::from(own.takes), i64::from(own.makes))),
            None => crate::stitch::find(name).map(|s| (i64::from(s.takes), i64::from(s.makes))),
        }
    }

    /// Calls `f` on every step of every piece, those in parts too, in order, with
    /// the place of its piece.
    pub fn each_step(&self, f: &mut impl FnMut(usize, &'d Step)) {
        fn down<'s>(piece: usize, step: &'s Step, f: &mut impl FnMut(usize, &'s Step)) {
            f(piece, step);
            step.steps.iter().for_each(|inner| down(piece, inner, f));
        }
        for (index, piece) in self.pieces.iter().enumerate() {
            piece.steps.iter().for_each(|step| down(index, step, f));
        }
    }

    /// The piece of a name.
    #[must_use]
    pub fn piece_named(&self, name: &str) -> Option<&PieceDef<'_>> {
        self.pieces.iter().find(|p| p.name.value.eq_ignore_ascii_case(name))
    }
}

/// A model, where one could be made, and what was found on the way.
#[derive(Debug)]
pub struct Built<'d> {
    /// The model; always there, but only to be worked when no finding is an error.
    pub model: Model<'d>,
    /// What was found.
    pub findings: Vec<Finding>,
}
