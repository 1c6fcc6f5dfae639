//! A table with a column for each size, its rows in groups.

use super::shown;

/// Rows that belong together.
#[derive(Clone, Debug)]
pub(crate) struct Group {
    /// What they are of; `None` where the rows say it themselves.
    pub(crate) name: Option<String>,
    /// The rows.
    pub(crate) rows: Vec<Row>,
}

/// One row.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Row {
    /// What it is: a unit, a side.
    pub(crate) name: String,
    /// Its cells, by the places of the sizes.
    pub(crate) cells: Vec<String>,
    /// Whether it is what readers look for first.
    pub(crate) strong: bool,
}

/// The table; `head` are the heads of the columns before the sizes. With two, the name of a group
/// stands beside its rows; with one, above them. All is plain text.
pub(crate) fn by_size(caption: &str, head: &[&str], sizes: &[&str], groups: &[Group]) -> String {
    let caption = shown(caption);
    let mut out = format!(
        "<div class=\"wide\" role=\"group\" tabindex=\"0\" aria-label=\"{caption}\">\n\
         <table class=\"by\">\n<caption class=\"unseen\">{caption}</caption>\n<thead><tr>"
    );
    for head in head {
        out.push_str(&format!("<th scope=\"col\">{}</th>", shown(head)));
    }
    for (size, name) in sizes.iter().enumerate() {
        let name = if name.is_empty() { "all sizes" } else { name };
        out.push_str(&format!("<th scope=\"col\" class=\"z z{size}\">{}</th>", shown(name)));
    }
    out.push_str("</tr></thead>\n");
    for group in groups {
        out.push_str("<tbody>\n");
        let above = head.len() == 1;
        if let (true, Some(name)) = (above, &group.name) {
            out.push_str(&format!(
                "<tr><th scope=\"rowgroup\" colspan=\"{}\">{}</th></tr>\n",
                sizes.len() + 1,
                shown(name)
            ));
        }
        for (index, row) in group.rows.iter().enumerate() {
            out.push_str(if row.strong { "<tr class=\"strong\">" } else { "<tr>" });
            if let (false, 0, Some(name)) = (above, index, &group.name) {
                let rows = group.rows.len();
                out.push_str(&format!(
                    "<th scope=\"rowgroup\" rowspan=\"{rows}\">{}</th>",
                    shown(name)
                ));
            }
            out.push_str(&format!("<th scope=\"row\">{}</th>", shown(&row.name)));
            for (size, cell) in row.cells.iter().enumerate() {
                out.push_str(&format!("<td class=\"z z{size}\">{}</td>", shown(cell)));
            }
            out.push_str("</tr>\n");
        }
        out.push_str("</tbody>\n");
    }
    out.push_str("</table>\n</div>\n");
    out
}
