//! Pages as one printable file: no script, no network, nothing but itself.
//!
//! Every text goes through `text`, so that no name in a profile is ever markup. Empty elements are closed as XML wants them,
//! which HTML takes too.

use super::page::{Block, Page, title_first};
use super::svg::escape;
use super::table::Table;

/// Underscores in a row, at least so many, are a blank to be filled in.
const BLANK: usize = 6;

impl Page {
    /// The page as a whole HTML file to be printed.
    pub fn html(&self) -> String {
        let title = self.blocks.iter().find_map(|block| match block {
            Block::Title(text) | Block::Heading(text) | Block::Line(text) => Some(text.as_str()),
            _ => None,
        });
        let sheets = (self.blocks.split(|block| matches!(block, Block::NewSheet)))
            .fold(String::new(), |sheets, sheet| sheets + "<main>\n" + &sections(sheet) + "</main>\n");
        let foot: String = self.blocks.iter().find_map(foot).unwrap_or_default();
        format!(
            "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
             <meta name=\"viewport\" content=\"width=device-width\"/>\n<title>{}</title>\n<style>\n{}</style>\n</head>\n<body>\n\
             {sheets}{foot}</body>\n</html>\n",
            escape(title.unwrap_or_default()),
            include_str!("sheet.css")
        )
    }
}

fn foot(block: &Block) -> Option<String> {
    if let Block::Foot(words) = block { Some(format!("<footer>{}</footer>\n", text(words))) } else { None }
}

/// Every heading begins a section, so that short ones stay in one piece.
fn sections(blocks: &[Block]) -> String {
    let mut html = String::from("<section>\n");
    for block in title_first(blocks).flat_map(all) {
        if let Block::Heading(heading) = block {
            let class = if heading == "STOP" { " class=\"stop\"" } else { "" };
            html += &format!("</section>\n<section{class}>\n");
        }
        html += &element(block);
    }
    (html + "</section>\n").replace("<section>\n</section>\n", "")
}

/// The parts of what a terminal may leave out; paper leaves nothing out.
fn all(block: &Block) -> Vec<&Block> {
    match block {
        Block::Rest(parts) => parts.iter().flat_map(all).collect(),
        other => vec![other],
    }
}

fn element(block: &Block) -> String {
    match block {
        Block::Verdict(words) => format!("<p class=\"verdict\">{}</p>\n", text(words)),
        Block::Title(title) => format!("<h1>{}</h1>\n", text(title)),
        Block::Heading(heading) => format!("<h2>{}</h2>\n", text(heading)),
        Block::Paragraph(words) => format!("<p>{}</p>\n", text(words)),
        Block::Line(words) => format!("<p class=\"line\">{}</p>\n", text(words)),
        Block::Verbatim(lines) => {
            let lines: Vec<String> = lines.lines().map(escape).collect();
            format!("<pre>{}</pre>\n", lines.join("\n"))
        }
        Block::Item(mark, words) => {
            // What stands in from its step is part of it.
            let class = if mark.starts_with(' ') { "item under" } else { "item" };
            format!(
                "<p class=\"{class}\"><span class=\"mark\">{}</span><span>{}</span></p>\n",
                text(mark.trim_start()),
                text(words)
            )
        }
        Block::Detail(words, blank) => {
            format!("<p class=\"detail\"><span>{}</span><span>{}</span></p>\n", text(words), text(blank))
        }
        Block::Table(cells) => table(cells),
        Block::Note(words) => format!("<p class=\"note\">{}</p>\n", text(words)),
        Block::Gap | Block::NewSheet | Block::Foot(_) => String::new(),
        Block::Picture(svg) => format!("<figure>\n{svg}</figure>\n"),
        Block::Together(parts) | Block::Rest(parts) => {
            let inner: String = parts.iter().map(element).collect();
            format!("<div class=\"together\">\n{inner}</div>\n")
        }
    }
}

fn table(table: &Table) -> String {
    let (rows, left) = table.parts();
    let mut html = String::from("<table>\n");
    for (i, row) in rows.iter().enumerate() {
        let name = if i == 0 { "th" } else { "td" };
        html += "<tr>";
        for (column, left) in left.iter().enumerate() {
            let class = if *left { " class=\"left\"" } else { "" };
            let cell = row.get(column).map_or(String::new(), |cell| text(cell));
            html += &format!("<{name}{class}>{cell}</{name}>");
        }
        html += "</tr>\n";
    }
    html + "</table>\n"
}

/// Text as markup: escaped, with boxes to tick and blanks to fill in.
fn text(words: &str) -> String {
    let mut html = String::new();
    let mut rest = escape(words).replace(super::page::BOX, "<span class=\"box\"></span>");
    while let Some(at) = rest.find(&"_".repeat(BLANK)) {
        let after = rest[at..].trim_start_matches('_').len();
        html += &rest[..at];
        html += "<span class=\"blank\"></span>";
        rest = rest[rest.len() - after..].to_owned();
    }
    html + &rest
}

#[cfg(test)]
mod tests {
    use super::text;

    #[test]
    fn words_are_escaped_and_blanks_are_drawn() {
        assert_eq!(
            text("[ ] <b> & ________ x"),
            "<span class=\"box\"></span> &lt;b&gt; &amp; <span class=\"blank\"></span> x"
        );
    }
}
