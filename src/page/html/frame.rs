//! What every HTML page of ours has around its body: a head that forbids
//! whatever is not in the file, the style sheets, the choice of a size.
//!
//! Nothing here knows what a page says.

/// A style sheet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style {
    /// Its text.
    pub(crate) text: &'static str,
    /// SHA-256 of its text, in base 64: the policy allows it by that.
    pub(crate) hash: &'static str,
}

/// What every page has.
const BASE: Style =
    Style { text: include_str!("base.css"), hash: "2oCmbCOJN368idYrhyXxwOVpOrecDDmqeJqPOCoQadU=" };

/// How many sizes the style sheet can show by themselves.
pub(crate) const MOST_SIZES: usize = 24;

/// A whole file around a body; `title` is plain text.
pub(crate) fn document(title: &str, own: Style, body: &str) -> String {
    let title = shown(title);
    let mut out =
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n".to_owned();
    out.push_str(&format!(
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; \
         style-src 'sha256-{}' 'sha256-{}'; base-uri 'none'; form-action 'none'\">\n",
        BASE.hash, own.hash
    ));
    out.push_str(
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n",
    );
    out.push_str(&format!("<title>{title}</title>\n"));
    for style in [BASE, own] {
        out.push_str(&format!("<style>{}</style>\n", style.text));
    }
    out.push_str(&format!("</head>\n<body>\n<main>\n{body}</main>\n</body>\n</html>\n"));
    out
}

/// The choice of a size, without a script: a rule of the style sheet for each
/// hides what is of class `z` and not of the size chosen. Nothing where there
/// is nothing to choose, or too much.
pub(crate) fn picker(sizes: &[String]) -> String {
    if sizes.len() < 2 || sizes.len() > MOST_SIZES {
        return String::new();
    }
    let mut out = "<fieldset class=\"sizes\">\n<legend>Show</legend>\n\
         <span><input type=\"radio\" name=\"size\" id=\"size-all\" checked>\
         <label for=\"size-all\">all sizes</label></span>\n"
        .to_owned();
    for (index, name) in sizes.iter().enumerate() {
        out.push_str(&format!(
            "<span><input type=\"radio\" name=\"size\" id=\"size-{index}\">\
             <label for=\"size-{index}\">{}</label></span>\n",
            shown(name)
        ));
    }
    out.push_str("</fieldset>\n");
    out
}

/// Text of ours or of the author's, as it is, with even blanks.
pub(crate) fn shown(text: &str) -> String {
    escape(&text.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// Text that is text wherever it stands.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // No other control character may stand in HTML.
            c if c.is_control() && !matches!(c, '\n' | '\t') => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}
