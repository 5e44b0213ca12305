//! Pages as one printable file: no script, no network, nothing but itself.
//!
//! Every text goes through `text`, so that no name in a profile is ever markup. Empty elements are closed as XML wants them,
//! which HTML takes too.

use super::page::{BOX, Block, NO_BOX, Page, STOP};
use super::paper::sheets;
use super::svg::escape;
use super::table::Table;

/// Underscores in a row, at least so many, are a blank to be filled in.
const BLANK: usize = 6;

impl Page {
    /// The page as a whole HTML file to be printed, made on a day.
    pub(crate) fn html(&self, made: &str) -> String {
        let title = self.blocks.iter().find_map(|block| match block {
            Block::Title(text) | Block::Heading(text) | Block::Line(text) => Some(text.as_str()),
            _ => None,
        });
        let sheets = sheets(&self.blocks);
        let mut running =
            Running { stop: self.refuses(), foot: format!("Worked out on {made}"), ..Running::default() };
        let mut written = String::new();
        for (number, sheet) in (1..).zip(&sheets) {
            let first = running.takes(sheet);
            let (head, foot) = (running.head(first), running.foot(number, sheets.len()));
            written.extend(["<main>\n", &head, &foot, &sections(sheet), "</main>\n"]);
        }
        if running.stop {
            written = written.replace(TICK, NO_BOX);
        }
        format!(
            "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
             <meta name=\"viewport\" content=\"width=device-width\"/>\n<title>{}</title>\n<style>\n{}</style>\n</head>\n<body>\n\
             {written}</body>\n</html>\n",
            escape(title.unwrap_or_default()),
            include_str!("sheet.css")
        )
    }
}

/// What every sheet has at its head and at its foot.
#[derive(Default)]
struct Running {
    title: String,
    beside: String,
    foot: String,
    stop: bool,
}

impl Running {
    /// Goes on with what a sheet says of itself; tells whether a page begins there.
    fn takes(&mut self, sheet: &[Block]) -> bool {
        let mut begins = false;
        for block in sheet {
            match block {
                Block::Title(title) => {
                    begins = true;
                    self.title.clone_from(title);
                }
                Block::Head(beside) => self.beside.clone_from(beside),
                Block::Foot(_, foot) => self.foot.clone_from(foot),
                _ => {}
            }
        }
        begins
    }

    fn head(&self, first: bool) -> String {
        let Self { title, beside, stop, .. } = self;
        if title.is_empty() {
            return String::new();
        }
        let name = if first { "h1" } else { "p" };
        let stop = if *stop { format!("<strong>{STOP}</strong>") } else { String::new() };
        format!("<header><{name}>{}</{name}><p>{}</p>{stop}</header>\n", text(title), text(beside))
    }

    /// It stands before what is above it on paper, as in the page as text.
    fn foot(&self, number: usize, of: usize) -> String {
        format!("<footer><p>{}</p><p>page {number} of {of}</p></footer>\n", text(&self.foot))
    }
}

/// Every heading begins a section.
fn sections(blocks: &[Block]) -> String {
    let mut html = String::from("<section>\n");
    for parts in blocks.chunk_by(|_, after| after.stands_in()) {
        if let Some(Block::Heading(heading)) = parts.first() {
            let class = if heading == STOP { " class=\"stop\"" } else { "" };
            html += &format!("</section>\n<section{class}>\n");
        }
        html += &step(parts);
    }
    (html + "</section>\n").replace("<section>\n</section>\n", "")
}

fn elements(blocks: &[Block]) -> String {
    blocks.chunk_by(|_, after| after.stands_in()).map(step).collect()
}

/// A part, with the cautions that belong to it behind its last word.
fn step(parts: &[Block]) -> String {
    let Some((first, cautions)) = parts.split_first() else { return String::new() };
    let mut html = element(first);
    if let Some(end) = html.rfind("</span></p>") {
        for caution in cautions {
            if let Block::Item(mark, words) = caution {
                html.insert_str(end, &format!(" <strong>{} {}</strong>", mark.trim(), text(words)));
            }
        }
    }
    html
}

fn element(block: &Block) -> String {
    match block {
        Block::Verdict(words) => {
            let no = if words.starts_with("NO. ") { " no" } else { "" };
            format!("<p class=\"verdict{no}\">{}</p>\n", text(words))
        }
        Block::Heading(heading) => format!("<h2>{}</h2>\n", text(heading)),
        Block::Paragraph(words) => format!("<p>{}</p>\n", text(words)),
        Block::Line(words) => format!("<p class=\"line\">{}</p>\n", text(words)),
        Block::Verbatim(lines) => {
            let lines: Vec<String> = lines.lines().map(escape).collect();
            format!("<pre>{}</pre>\n", lines.join("\n"))
        }
        Block::Item(mark, words) => format!(
            "<p class=\"item\"><span class=\"mark\">{}</span><span>{}</span></p>\n",
            text(mark),
            text(words)
        ),
        Block::Task { name, figure, work } => format!(
            "<h3>{TICK}<span>{}</span> <span class=\"figure\">{}</span> <span>{}</span></h3>\n",
            text(name),
            text(figure),
            text(work)
        ),
        Block::Detail(words, blank) => {
            let class = if blank.is_empty() { "detail" } else { "detail blanks" };
            format!("<p class=\"{class}\"><span>{}</span><span>{}</span></p>\n", text(words), text(blank))
        }
        Block::Table(cells) => table(cells),
        Block::Note(words) => format!("<p class=\"note\">{}</p>\n", text(words)),
        Block::Title(_)
        | Block::Head(_)
        | Block::Gap
        | Block::NewSheet
        | Block::Screen(_)
        | Block::Foot(..) => String::new(),
        Block::Pictures(pictures) => {
            let svgs: String = pictures.iter().map(|picture| picture.svg.as_str()).collect();
            format!("<figure>\n{svgs}</figure>\n")
        }
        Block::Together(parts) => format!("<div class=\"together\">\n{}</div>\n", elements(parts)),
        Block::Beside(parts) => format!("<div class=\"beside\">\n{}</div>\n", elements(parts)),
        Block::Columns(parts) => format!("<div class=\"columns\">\n{}</div>\n", elements(parts)),
    }
}

/// A table. On a narrow screen its rows stand one below the other, so that every figure has the head of its column beside it.
fn table(table: &Table) -> String {
    /// More columns than these are broad.
    const MANY: usize = 8;
    let (rows, left) = table.parts();
    let class = match (table.is_of_the_bench(), left.len() > MANY) {
        (true, _) => " class=\"bench\"",
        (_, true) => " class=\"broad\"",
        _ => "",
    };
    let mut html = format!("<table{class}>\n");
    for (i, row) in rows.iter().enumerate() {
        html += "<tr>";
        // The first words of a row say what it is about.
        let about = row.iter().position(|cell| cell != BOX);
        for (column, left) in left.iter().enumerate() {
            let cell = row.get(column).map_or("", String::as_str);
            let (name, scope) = match i {
                0 => ("th", " scope=\"col\""),
                _ if about == Some(column) && *left => ("th", " scope=\"row\""),
                _ => ("td", ""),
            };
            let class = if *left { " class=\"left\"" } else { "" };
            let head = if name == "td" {
                format!(" data-head=\"{}\"", escape(&table.full_head(column)))
            } else {
                String::new()
            };
            html += &format!("<{name}{scope}{class}{head}>{}</{name}>", text(cell));
        }
        html += "</tr>\n";
    }
    html + "</table>\n"
}

const TICK: &str = "<span class=\"box\"></span>";

/// Text as markup: escaped, with boxes to tick and blanks to fill in.
fn text(words: &str) -> String {
    let mut html = String::new();
    let escaped = escape(words).replace(BOX, TICK);
    let mut rest = escaped.as_str();
    while let Some(at) = rest.find(&"_".repeat(BLANK)) {
        let after = rest[at..].trim_start_matches('_');
        let underscores = rest.len() - at - after.len();
        html += &rest[..at];
        html += &format!("<span class=\"blank\" style=\"width:calc({underscores}*2.2mm)\"></span>");
        rest = after;
    }
    html + rest
}

#[cfg(test)]
mod tests {
    use super::text;

    #[test]
    fn words_are_escaped_and_blanks_are_drawn() {
        assert_eq!(
            text("[ ] <b> & __________ x"),
            "<span class=\"box\"></span> &lt;b&gt; &amp; <span class=\"blank\" style=\"width:calc(10*2.2mm)\"></span> x"
        );
    }
}
