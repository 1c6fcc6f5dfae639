//! Values as an author gives them for a range of sizes.

/// The place of a size in the pattern's list of sizes, from 0.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct SizeId(pub usize);

/// One value for all sizes, one a size, or none yet.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Given<T> {
    /// `?`: to be worked out.
    Unknown,
    /// `8`: the same in every size.
    Same(T),
    /// `96 (104, -, 120)`: one a size; `None` (`-`) where the size skips it.
    Each(Vec<Option<T>>),
}

impl<T> Given<T> {
    /// The value in one size: `None` where unknown, skipped or past the list.
    pub fn get(&self, size: SizeId) -> Option<&T> {
        match self {
            Self::Unknown => None,
            Self::Same(value) => Some(value),
            Self::Each(values) => values.get(size.0).and_then(Option::as_ref),
        }
    }

    /// Whether this size skips it (`-`).
    pub fn skips(&self, size: SizeId) -> bool {
        matches!(self, Self::Each(values) if matches!(values.get(size.0), Some(None)))
    }

    /// How many sizes it lists, where it lists them.
    pub fn listed(&self) -> Option<usize> {
        match self {
            Self::Each(values) => Some(values.len()),
            _ => None,
        }
    }

    /// The same list of other values.
    pub fn map<U>(&self, mut f: impl FnMut(&T) -> U) -> Given<U> {
        match self {
            Self::Unknown => Given::Unknown,
            Self::Same(value) => Given::Same(f(value)),
            Self::Each(values) => {
                Given::Each(values.iter().map(|v| v.as_ref().map(&mut f)).collect())
            }
        }
    }

    /// Every value written, in order.
    pub fn values(&self) -> impl Iterator<Item = &T> {
        let (one, many) = match self {
            Self::Unknown => (None, [].as_slice()),
            Self::Same(value) => (Some(value), [].as_slice()),
            Self::Each(values) => (None, values.as_slice()),
        };
        one.into_iter().chain(many.iter().flatten())
    }
}

impl<T: PartialEq + Clone> Given<T> {
    /// The shortest way to give these values: one where all agree, else one a size.
    #[must_use]
    pub fn from_each(values: Vec<Option<T>>) -> Self {
        match values.first() {
            Some(Some(first)) if values.iter().all(|v| v.as_ref() == Some(first)) => {
                Self::Same(first.clone())
            }
            _ => Self::Each(values),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_value_serves_every_size() {
        assert_eq!(Given::Same(8).get(SizeId(3)), Some(&8));
        let each = Given::Each(vec![Some(1), None]);
        assert_eq!(each.get(SizeId(1)), None);
        assert!(each.skips(SizeId(1)));
        assert_eq!(Given::from_each(vec![Some(2), Some(2)]), Given::Same(2));
    }
}
