//! One finding, as data.

use super::Code;
use crate::source::Span;

/// How much a finding matters.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Severity {
    /// The pattern (or targets file) is wrong; nothing is written.
    Error,
    /// Probably not what was meant, or a compromise the author should see.
    Warning,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// `error`, `warning` or `note`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        }
    }
}

/// Which of the input files a place is in.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum File {
    /// The pattern.
    #[default]
    Pattern,
    /// The targets file.
    Targets,
}

/// A place with a few words.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Label {
    /// In which file.
    pub file: File,
    /// Where.
    pub span: Span,
    /// One to five words; empty for a bare mark.
    pub text: String,
}

/// A change that is certain to mend the finding.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Patch {
    /// What to take out.
    pub span: Span,
    /// What to put there.
    pub replacement: String,
}

/// Something found: place, what was found, what was expected, what to do.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Finding {
    /// Which kind, from the catalogue.
    pub code: Code,
    /// How much it matters here.
    pub severity: Severity,
    /// One clause, lower case, no full stop; makes sense alone.
    pub message: String,
    /// The main place first.
    pub labels: Vec<Label>,
    /// Names of the sizes it concerns; empty for all.
    pub sizes: Vec<String>,
    /// Why: the rule, the numbers.
    pub notes: Vec<String>,
    /// What to do.
    pub help: Vec<String>,
    /// The mend itself, where it is certain.
    pub patch: Option<Patch>,
}

impl Finding {
    /// A finding of its code's usual severity, at a place in the pattern.
    pub fn new(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: code.severity(),
            message: message.into(),
            labels: vec![Label { file: File::Pattern, span, text: String::new() }],
            sizes: Vec::new(),
            notes: Vec::new(),
            help: Vec::new(),
            patch: None,
        }
    }

    /// The same, with its main place in the targets file.
    #[must_use]
    pub fn in_targets(mut self) -> Self {
        for label in &mut self.labels {
            label.file = File::Targets;
        }
        self
    }

    /// Says a few words at the main place.
    #[must_use]
    pub fn label(mut self, text: impl Into<String>) -> Self {
        if let Some(first) = self.labels.first_mut() {
            first.text = text.into();
        }
        self
    }

    /// Points at a second place in the same file.
    #[must_use]
    pub fn also(mut self, span: Span, text: impl Into<String>) -> Self {
        let file = self.labels.first().map_or(File::Pattern, |label| label.file);
        self.labels.push(Label { file, span, text: text.into() });
        self
    }

    /// Points at a place in a named file.
    #[must_use]
    pub fn also_in(mut self, file: File, span: Span, text: impl Into<String>) -> Self {
        self.labels.push(Label { file, span, text: text.into() });
        self
    }

    /// Gives a reason or the arithmetic.
    #[must_use]
    pub fn note(mut self, text: impl Into<String>) -> Self {
        self.notes.push(text.into());
        self
    }

    /// Says what to do.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(text.into());
        self
    }

    /// Names the sizes it concerns.
    #[must_use]
    pub fn sizes(mut self, sizes: Vec<String>) -> Self {
        self.sizes = sizes;
        self
    }

    /// Offers the mend itself.
    #[must_use]
    pub fn patch(mut self, span: Span, replacement: impl Into<String>) -> Self {
        self.patch = Some(Patch { span, replacement: replacement.into() });
        self
    }

    /// The main place.
    #[must_use]
    pub fn place(&self) -> Span {
        self.labels.first().map_or(Span::at(0), |label| label.span)
    }

    /// The file of the main place.
    #[must_use]
    pub fn file(&self) -> File {
        self.labels.first().map_or(File::Pattern, |label| label.file)
    }

    /// Whether it stops the work.
    #[must_use]
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

/// Puts findings in reading order, errors first at the same place, and drops exact repeats.
pub fn sort(findings: &mut Vec<Finding>) {
    findings.sort_by(|a, b| {
        let key = |f: &Finding| (f.file(), f.place(), f.severity, f.code);
        key(a).cmp(&key(b)).then_with(|| a.message.cmp(&b.message))
    });
    findings.dedup();
}
