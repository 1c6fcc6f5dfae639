//! A sheet as Markdown that every viewer shows alike.
//!
//! Text that is ours or an instruction is escaped, so that the asterisks of a
//! stitch repeat are asterisks and its brackets brackets. The author's prose
//! is written as it is.

use super::sheet::{Block, Fact, Part, Sheet, StepLine, Table, Words};

/// The page as Markdown, ending in a line feed.
pub(super) fn write(sheet: &Sheet) -> String {
    let mut out = format!("# {}\n", escape(&one_paragraph(&sheet.title)));
    blocks(&sheet.blocks, "", &mut out);
    out
}

fn blocks(all: &[Block], indent: &str, out: &mut String) {
    for block in all {
        let text = match block {
            Block::Heading { level, words } => {
                format!("{} {}", "#".repeat(usize::from(*level)), line(words))
            }
            Block::Prose(words) => prose(words),
            Block::Line(words) => at_line_start(line(words)),
            Block::Facts(facts) | Block::Terms(facts) => {
                facts.iter().map(fact).collect::<Vec<_>>().join("\n")
            }
            Block::Steps(steps) => {
                let mut text = String::new();
                for step in steps {
                    step_line(step, &mut text);
                }
                text.trim_end().to_owned()
            }
            Block::Table(table) => self::table(table),
            Block::Folded(_) | Block::Piece(_) | Block::Fabric(_) => continue,
        };
        out.push('\n');
        indented(&text, indent, out);
    }
}

/// Every line of a text behind `indent`.
fn indented(text: &str, indent: &str, out: &mut String) {
    for line in text.lines() {
        if !line.is_empty() {
            out.push_str(indent);
        }
        out.push_str(line);
        out.push('\n');
    }
}

fn prose(words: &Words) -> String {
    let mut text = String::new();
    for part in words {
        match part {
            Part::Plain(part) => text.push_str(&escape(part)),
            Part::Markdown(part) => text.push_str(part),
            Part::Number(number) => text.push_str(&escape(&number.text)),
            // All sizes are shown.
            Part::For(_) | Part::ForAll | Part::Alone(..) => {}
        }
    }
    text
}

fn line(words: &Words) -> String {
    one_paragraph(&prose(words)).trim().to_owned()
}

fn one_paragraph(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn fact(fact: &Fact) -> String {
    let words = line(&fact.words);
    if fact.label.is_empty() {
        format!("- {}", at_line_start(words))
    } else {
        format!("- **{}:** {words}", escape(&one_paragraph(&fact.label)))
    }
}

fn step_line(step: &StepLine, out: &mut String) {
    let words = line(&step.words);
    let text = match &step.label {
        Some(label) => {
            let label = escape(label.trim().trim_end_matches(':'));
            format!("- **{label}:** {words}\n")
        }
        None => format!("- {}\n", at_line_start(words)),
    };
    out.push_str(&text);
    let (lists, others): (Vec<&Block>, Vec<&Block>) = step
        .below
        .iter()
        .filter(|block| !matches!(block, Block::Folded(_)))
        .partition(|block| matches!(block, Block::Steps(_)));
    for block in lists {
        if let Block::Steps(steps) = block {
            let mut text = String::new();
            steps.iter().for_each(|step| step_line(step, &mut text));
            indented(&text, "  ", out);
        }
    }
    for block in others {
        blocks(std::slice::from_ref(block), "  ", out);
        out.push('\n');
    }
}

fn table(table: &Table) -> String {
    let row = |cells: &[String]| {
        let cells: Vec<String> = cells.iter().map(|cell| cell_text(cell)).collect();
        format!("| {} |\n", cells.join(" | "))
    };
    let rule: Vec<String> = table.head.iter().map(|_| "---".to_owned()).collect();
    let mut text = format!("{}:\n\n", escape(&table.caption));
    text.push_str(&row(&table.head));
    text.push_str(&format!("| {} |\n", rule.join(" | ")));
    table.rows.iter().for_each(|cells| text.push_str(&row(cells)));
    text
}

fn cell_text(text: &str) -> String {
    escape(&one_paragraph(text)).replace('|', "\\|")
}

// ---- Escaping --------------------------------------------------------------------

/// Text so that Markdown shows it as it is, within a line.
pub(super) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut before = ' ';
    for (at, c) in text.char_indices() {
        let rest = text.get(at + c.len_utf8()..).unwrap_or("");
        let special = match c {
            '\\' | '*' | '`' | '[' | ']' | '<' | '>' | '~' | '#' => true,
            // `snake_case` is no emphasis.
            '_' => !(before.is_alphanumeric() && rest.starts_with(char::is_alphanumeric)),
            '&' => begins_entity(rest),
            _ => false,
        };
        if special {
            out.push('\\');
        }
        out.push(c);
        before = c;
    }
    out
}

fn begins_entity(rest: &str) -> bool {
    let name = rest.split(';').next().unwrap_or("");
    let name = name.strip_prefix('#').unwrap_or(name);
    rest.contains(';') && !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric())
}

/// A paragraph that may not begin as a heading, a list or a rule does.
fn at_line_start(text: String) -> String {
    let digits = text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let after = text.get(digits..).unwrap_or("");
    if digits > 0 && after.starts_with(['.', ')']) {
        return format!("{}\\{after}", text.get(..digits).unwrap_or(""));
    }
    if text.starts_with(['#', '+', '-', '=', '|', ':']) { format!("\\{text}") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_markdown_would_read_is_escaped() {
        for (plain, escaped) in [
            ("*k2, p2; rep from * to end", "\\*k2, p2; rep from \\* to end"),
            ("[k1, p1] 4 times", "\\[k1, p1\\] 4 times"),
            ("w&t", "w&t"),
            ("&amp; &#38; & co", "\\&amp; \\&\\#38; & co"),
            ("a_b _c_", "a_b \\_c\\_"),
            ("<b>", "\\<b\\>"),
            // A heading may end in as many as it likes, and they are not shown.
            ("US #6 #", "US \\#6 \\#"),
        ] {
            assert_eq!(escape(plain), escaped);
        }
    }

    #[test]
    fn a_line_does_not_turn_into_a_list() {
        assert_eq!(at_line_start("12. and".to_owned()), "12\\. and");
        assert_eq!(at_line_start("- (-, 2)".to_owned()), "\\- (-, 2)");
        assert_eq!(at_line_start("12 sts".to_owned()), "12 sts");
    }
}
