//! Published tables, embedded once, each with its source.
