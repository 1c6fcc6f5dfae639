//! Findings: what is wrong, where, and what would mend it.
