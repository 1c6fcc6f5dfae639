//! The same thing found in several sizes, told once.

use super::steps::size_name;
use crate::diag::Finding;
use crate::measure::SizeId;
use crate::model::Model;

/// What is to be said of one size.
pub(super) struct InSize {
    /// The size.
    pub(super) size: SizeId,
    /// One clause.
    pub(super) message: String,
    /// What would mend it.
    pub(super) help: Option<String>,
}

/// Says what was found by size: the first size's words lead, the sizes are
/// named where it is not all of them, and the others' words follow as notes.
pub(super) fn by_size(
    model: &Model<'_>,
    found: Vec<InSize>,
    begin: impl FnOnce(String) -> Finding,
) -> Option<Finding> {
    let sizes: Vec<SizeId> = found.iter().map(|one| one.size).collect();
    let mut found = found.into_iter();
    let first = found.next()?;
    let mut finding = begin(first.message.clone());
    if model.sizes.len() > 1 && sizes.len() < model.sizes.len() {
        finding = finding.sizes(sizes.iter().map(|&size| size_name(model, size)).collect());
    }
    let mut helps = vec![(first.size, first.help.clone())];
    for other in found {
        if other.message != first.message {
            finding = finding.note(format!(
                "in size {}: {}",
                size_name(model, other.size),
                other.message
            ));
        }
        helps.push((other.size, other.help));
    }
    // One mend for all, or each size its own.
    if helps.iter().all(|(_, help)| *help == first.help) {
        helps.truncate(1);
    }
    let many = helps.len() > 1;
    for (size, help) in helps {
        let Some(help) = help else { continue };
        finding = finding.help(if many {
            format!("in size {}: {help}", size_name(model, size))
        } else {
            help
        });
    }
    Some(finding)
}
