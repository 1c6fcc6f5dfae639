//! A sheet as one HTML file that needs nothing else.
//!
//! No script, nothing fetched: the policy in its head forbids both, and
//! allows the one style sheet by its hash. All text is escaped. Sizes are
//! chosen by radio buttons and a rule of the style sheet each; where the
//! browser does not know such rules, all sizes are shown.

mod frame;
mod prose;
mod table;

pub(crate) use frame::{Style, document, escape, picker, shown};
pub(crate) use table::{Group, Row, by_size};

use super::sheet::{Block, Fact, Folded, Measure, Number, Part, Sheet, StepLine, Table, Words};
use crate::source::Span;
use crate::why;

/// The style sheet of a pattern's page, beside the one that every page has.
const PATTERN: Style = Style {
    text: include_str!("pattern.css"),
    hash: "BLQA/zj9bwYR/5AvMpsPCJE8TPuDoA/7Uo3tzak9eVg=",
};

/// What a page of HTML may have beside its words.
#[derive(Debug, Default)]
pub(super) struct Extras {
    /// Drawings of the pieces, by their places, as SVG.
    pub(super) pieces: Vec<Option<String>>,
    /// Charts of the fabrics, by their places, as SVG.
    pub(super) fabrics: Vec<Option<String>>,
    /// Where numbers come from, by their places in the source of the page.
    pub(super) why: Vec<(Span, why::Number)>,
}

/// The page as HTML.
pub(super) fn write(sheet: &Sheet, extras: &Extras) -> String {
    let mut writer =
        Writer { sheet, extras, out: String::new(), boxes: 0, definitions: definitions(sheet) };
    writer.page();
    document(&sheet.title, PATTERN, &writer.out)
}

/// The author's definitions of links, which hold for all of the prose.
fn definitions(sheet: &Sheet) -> String {
    let mut all = String::new();
    for block in &sheet.blocks {
        if let Block::Prose(words) = block
            && prose::only_defines(words)
        {
            for part in words {
                if let Part::Markdown(text) = part {
                    all.push_str(text);
                    all.push('\n');
                }
            }
        }
    }
    all
}

struct Writer<'s> {
    sheet: &'s Sheet,
    extras: &'s Extras,
    out: String,
    /// How many boxes to tick there are so far.
    boxes: usize,
    definitions: String,
}

impl<'s> Writer<'s> {
    fn put(&mut self, html: &str) {
        self.out.push_str(html);
    }

    fn page(&mut self) {
        let title = shown(&self.sheet.title);
        self.put(&format!("<h1>{title}</h1>\n"));
        let mut sections = self.sheet.blocks.chunk_by(|_, next| !opens_section(next));
        for (index, section) in sections.by_ref().enumerate() {
            let opening = !section.first().is_some_and(opens_section);
            if index == 0 && opening {
                self.blocks(section);
                self.put(&picker(&self.sheet.sizes));
                continue;
            }
            if index == 0 {
                self.put(&picker(&self.sheet.sizes));
            }
            self.put("<section>\n");
            self.blocks(section);
            self.put("</section>\n");
        }
    }

    fn blocks(&mut self, blocks: &'s [Block]) {
        for block in blocks {
            match block {
                Block::Heading { level, words } => {
                    let level = (*level).clamp(2, 6);
                    let words = prose::line(words);
                    self.put(&format!("<h{level}>{words}</h{level}>\n"));
                }
                Block::Prose(words) => {
                    if !prose::only_defines(words) {
                        let html = prose::blocks(words, &self.definitions);
                        self.put(&html);
                    }
                }
                Block::Line(words) => {
                    let words = prose::line(words);
                    self.put(&format!("<p class=\"worked\">{words}</p>\n"));
                }
                Block::Facts(facts) => self.facts(facts),
                Block::Terms(facts) => self.list(facts, " short"),
                Block::Steps(steps) => self.steps(steps),
                Block::Table(table) => self.table(table),
                Block::Folded(folded) => self.folded(folded),
                Block::Piece(piece) => self.drawing(self.extras.pieces.get(*piece)),
                Block::Fabric(fabric) => self.drawing(self.extras.fabrics.get(*fabric)),
            }
        }
    }

    fn drawing(&mut self, drawing: Option<&'s Option<String>>) {
        if let Some(Some(figure)) = drawing {
            self.put(figure);
        }
    }

    fn facts(&mut self, facts: &[Fact]) {
        if self.sheet.sizes.is_empty() || facts.iter().all(|fact| fact.rows.is_none()) {
            return self.list(facts, "");
        }
        // What varies by size is easier to find under the name of a size.
        let (bands, garment): (Vec<&Measure>, Vec<&Measure>) = facts
            .iter()
            .filter_map(|fact| fact.rows.as_ref())
            .flatten()
            .partition(|row| row.band.is_some());
        let sizes: Vec<&str> = self.sheet.sizes.iter().map(String::as_str).collect();
        let groups: Vec<Group> = garment.chunk_by(|a, b| a.label == b.label).map(lengths).collect();
        self.put(&by_size("Measurements by size", &["Measurement", "Unit"], &sizes, &groups));
        let groups: Vec<Group> = bands.chunk_by(|a, b| a.band == b.band).map(band).collect();
        if !groups.is_empty() {
            self.put(&by_size("Bands by size", &["Bands"], &sizes, &groups));
        }
        let others: Vec<Fact> = facts.iter().filter(|fact| fact.rows.is_none()).cloned().collect();
        if !others.is_empty() {
            self.list(&others, "");
        }
    }

    fn list(&mut self, facts: &[Fact], class: &str) {
        if facts.iter().all(|fact| fact.label.is_empty()) {
            self.put("<ul>\n");
            for fact in facts {
                let words = prose::line(&fact.words);
                self.put(&format!("<li>{words}</li>\n"));
            }
            self.put("</ul>\n");
            return;
        }
        self.put(&format!("<dl class=\"facts{class}\">\n"));
        for fact in facts {
            let (label, words) = (shown(&fact.label), prose::line(&fact.words));
            self.put(&format!("<div><dt>{label}</dt><dd>{words}</dd></div>\n"));
        }
        self.put("</dl>\n");
    }

    // ---- Instructions ------------------------------------------------------------

    fn steps(&mut self, steps: &'s [StepLine]) {
        let told = steps.iter().all(|step| !step.done && step.below.is_empty());
        self.put(if told { "<ul class=\"steps note\">\n" } else { "<ul class=\"steps\">\n" });
        steps.iter().for_each(|step| self.step(step));
        self.put("</ul>\n");
    }

    fn step(&mut self, step: &'s StepLine) {
        let mut classes: Vec<String> = Vec::new();
        if !step.done {
            classes.push("told".to_owned());
            let opens = step.label.is_none() && !step.below.is_empty();
            classes.extend(opens.then(|| "part".to_owned()));
        }
        if !step.sizes.is_empty() {
            classes.push("z".to_owned());
            classes.extend(step.sizes.iter().map(|size| format!("z{size}")));
        }
        if step.below.iter().any(|block| {
            matches!(block, Block::Table(_))
                || matches!(block, Block::Steps(steps) if steps.len() > 3)
        }) {
            classes.push("long-part".to_owned());
        }
        let class = match classes.join(" ") {
            classes if classes.is_empty() => String::new(),
            classes => format!(" class=\"{classes}\""),
        };
        let label = step.label.as_ref().map_or(String::new(), |label| {
            let label = shown(label);
            format!("<strong>{}:</strong> ", label.trim_end_matches(':'))
        });
        let words = prose::line(&step.words);
        self.put(&format!("<li{class}>"));
        if step.done {
            self.boxes += 1;
            let n = self.boxes;
            self.put(&format!(
                "<input type=\"checkbox\" aria-labelledby=\"s{n}\"><div><p id=\"s{n}\">{label}{words}</p>"
            ));
        } else {
            self.put(&format!("<div><p>{label}{words}</p>"));
        }
        self.why(step);
        if !step.below.is_empty() {
            self.put("\n");
            self.blocks(&step.below);
        }
        self.put("</div></li>\n");
    }

    fn folded(&mut self, folded: &Folded) {
        let summary = shown(&folded.summary);
        self.put(&format!("<details class=\"why\"><summary>{summary}</summary><ul>"));
        for (size, line) in &folded.lines {
            let class = size.map_or(String::new(), |size| format!(" class=\"z z{size}\""));
            self.put(&format!("<li{class}>{}</li>", shown(line)));
        }
        self.put("</ul></details>\n");
    }

    /// Where the numbers of an instruction come from, to open.
    fn why(&mut self, step: &StepLine) {
        let Some(place) = step.place else { return };
        let extras = self.extras;
        let mut found: Vec<&why::Number> = Vec::new();
        for (_, number) in extras.why.iter().filter(|(at, _)| place.contains(*at)) {
            // Both sides of a neck have one reason.
            if !found.iter().any(|known| known.sizes == number.sizes) {
                found.push(number);
            }
        }
        match found.as_slice() {
            [] => {}
            [only] => {
                let summary = format!("Why {}?", chosen(only));
                self.put(&format!("<details class=\"why\"><summary>{summary}</summary>"));
                self.put(&reasons(only));
                self.put("</details>");
            }
            several => {
                self.put("<details class=\"why\"><summary>Why these numbers?</summary>");
                for number in several {
                    self.put(&format!("<p><strong>{}</strong></p>", chosen(number)));
                    self.put(&reasons(number));
                }
                self.put("</details>");
            }
        }
    }

    // ---- Tables ------------------------------------------------------------------

    fn table(&mut self, table: &Table) {
        let caption = shown(&table.caption);
        let class = |column: usize| match table.column_sizes.get(column) {
            Some(Some(size)) => format!(" class=\"z z{size}\""),
            _ => String::new(),
        };
        self.put(&format!(
            "<div class=\"wide\" role=\"group\" tabindex=\"0\" aria-label=\"{caption}\">\n\
             <table>\n<caption>{caption}</caption>\n<thead><tr><th scope=\"col\">Done</th>"
        ));
        for (column, head) in table.head.iter().enumerate() {
            let (class, head) = (class(column), shown(head));
            self.put(&format!("<th scope=\"col\"{class}>{head}</th>"));
        }
        self.put("</tr></thead>\n<tbody>\n");
        for row in &table.rows {
            // A size that has nothing to do on a row need not see it.
            let own = |column: usize| table.column_sizes.get(column).copied().flatten();
            let due = row.iter().enumerate().filter(|(_, cell)| !cell.is_empty());
            let due: Vec<usize> = due.filter_map(|(column, _)| own(column)).collect();
            let all = table.column_sizes.iter().flatten().count();
            let shown_for = due.iter().map(|size| format!(" z{size}")).collect::<String>();
            let only =
                if due.len() < all { format!(" class=\"z{shown_for}\"") } else { String::new() };
            let mut cells = row.iter().map(|cell| shown(cell));
            let head = cells.next().unwrap_or_default();
            let name = table.head.first().map_or(String::new(), |head| shown(head));
            self.put(&format!(
                "<tr{only}><td><input type=\"checkbox\" aria-label=\"{name} {head} done\"></td>\
                 <th scope=\"row\">{head}</th>"
            ));
            for (column, cell) in cells.enumerate() {
                let class = class(column + 1);
                self.put(&format!("<td{class}>{cell}</td>"));
            }
            self.put("</tr>\n");
        }
        self.put("</tbody>\n</table>\n</div>\n");
    }
}

/// Words within a line.
pub(super) fn words(words: &Words) -> String {
    prose::line(words)
}

fn opens_section(block: &Block) -> bool {
    matches!(block, Block::Heading { level: 2, .. })
}

/// A length in its units.
fn lengths(rows: &[&Measure]) -> Group {
    let row =
        |row: &&Measure| Row { name: row.unit.clone(), cells: row.each.clone(), strong: false };
    Group { name: rows.first().map(|row| row.label.clone()), rows: rows.iter().map(row).collect() }
}

/// All there is of a band.
fn band(rows: &[&Measure]) -> Group {
    let row = |row: &&Measure| {
        let unit = if row.unit.is_empty() { String::new() } else { format!(", {}", row.unit) };
        Row { name: format!("{}{unit}", row.label), cells: row.each.clone(), strong: false }
    };
    Group {
        name: rows.first().and_then(|row| row.band.clone()),
        rows: rows.iter().map(row).collect(),
    }
}

/// A number as it was chosen for each size.
fn chosen(found: &why::Number) -> String {
    let each = found.sizes.iter().enumerate().map(|(size, s)| (size, s.chosen.to_string()));
    number(&Number::by_size(each.collect()))
}

/// Where a number comes from, size by size.
fn reasons(found: &why::Number) -> String {
    let mut out = "<ul>".to_owned();
    for (size, reason) in found.sizes.iter().enumerate() {
        let name = if found.sizes.len() > 1 { reason.size.as_str() } else { "" };
        let class = if name.is_empty() { String::new() } else { format!(" class=\"z z{size}\"") };
        out.push_str(&format!("<li{class}>{}</li>", shown(&reason_text(name, reason))));
    }
    out.push_str(&format!("</ul><p>{}</p>", shown(&format!("Gauge of the {}.", found.gauge))));
    out
}

/// `medium: 104 keeps its width of 52 cm (exactly 103.7); ...`
fn reason_text(name: &str, reason: &why::InSize) -> String {
    let name = if name.is_empty() { String::new() } else { format!("{name}: ") };
    let was = reason.was.filter(|was| *was != reason.chosen);
    let was = was.map_or(String::new(), |was| format!(", was {was}"));
    let mut text = format!(
        "{name}{}{was}: {}, which is {} exactly",
        reason.chosen, reason.because, reason.exact
    );
    for asked in &reason.asked {
        text.push_str(&format!("; {asked}"));
    }
    if reason.off != "0" {
        text.push_str(&format!("; {} sts off, {}", reason.off, reason.off_width));
    }
    text.push('.');
    text
}

/// A part that varies by size: the style sheet hides what is not for the one that is chosen.
fn part(part: &Part) -> String {
    let classes = |sizes: &[usize]| sizes.iter().map(|n| format!(" z{n}")).collect::<String>();
    match part {
        Part::Number(found) => number(found),
        Part::For(sizes) => format!("<span class=\"z{}\">", classes(sizes)),
        Part::ForAll => "</span>".to_owned(),
        Part::Alone(sizes, text) => {
            format!("<span class=\"own{}\">{}</span>", classes(sizes), escape(text))
        }
        Part::Plain(text) | Part::Markdown(text) => escape(text),
    }
}

/// A number, or a list of them by size, so that the style sheet can show one alone.
fn number(number: &Number) -> String {
    let [(first, first_text), rest @ ..] = number.each.as_slice() else {
        return unbroken(&number.text);
    };
    let one =
        |size: &usize, text: &str| format!("<span class=\"z z{size}\">{}</span>", unbroken(text));
    let mark = |text: &str| format!("<span class=\"m\">{text}</span>");
    let rest: Vec<String> = rest.iter().map(|(size, text)| one(size, text)).collect();
    format!("{}{}{}{}", one(first, first_text), mark(" ("), rest.join(&mark(", ")), mark(")"))
}

/// `18 1/4` on one line; names of sizes break where they must.
fn unbroken(text: &str) -> String {
    let text = escape(text);
    if text.starts_with(|c: char| c.is_ascii_digit()) && !text.contains('(') {
        text.replace(' ', "\u{a0}")
    } else {
        text
    }
}
