//! The report as one HTML file: no script, no outside address.

mod svg;

use crate::model::JobReport;
use crate::sheet::{Cell, Part, Sheet, StepLine, Table};
use crate::{Paper, Picture, Shop, compose};
use jiff::tz::TimeZone;
use std::fmt::Write;

/// How it looks on a screen, on a phone and on paper.
const STYLE: &str = include_str!("html/style.css");

impl JobReport {
    /// The report as HTML, set for this paper when it is printed. `photos` are those that are shown; times are those
    /// of `zone`, but for the proof's.
    pub fn html(&self, shop: &Shop, photos: &[Picture], paper: Paper, zone: &TimeZone) -> String {
        page(&compose::compose(self, shop, photos, paper, zone))
    }

    /// The page for the customer as HTML: what was done, what was measured, what to watch.
    pub fn customer_html(
        &self,
        shop: &Shop,
        photos: &[Picture],
        paper: Paper,
        zone: &TimeZone,
    ) -> String {
        page(&compose::for_the_customer(self, shop, photos, paper, zone))
    }
}

/// What people said or wrote, as HTML takes it for text, also within a quoted attribute.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // XML has no way to write most of these, and an SVG with one isn't drawn.
            '\u{fffe}' | '\u{ffff}' => out.push(char::REPLACEMENT_CHARACTER),
            letter if steps::is_hidden_control(letter) => out.push(char::REPLACEMENT_CHARACTER),
            letter => out.push(letter),
        }
    }
    out
}

/// Writes into a text, which never fails.
macro_rules! put {
    ($out:expr, $($words:tt)*) => {{ let _ = writeln!($out, $($words)*); }};
}

pub(crate) fn page(sheet: &Sheet) -> String {
    let mut out = String::new();
    let size = match sheet.paper {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    };
    let title = escaped(&sheet.title);
    put!(
        out,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">"
    );
    put!(
        out,
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">"
    );
    // Nothing is fetched, whatever stands in the text.
    put!(
        out,
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">"
    );
    let mark = sheet
        .mark
        .map(|mark| format!("{mark} - "))
        .unwrap_or_default();
    put!(
        out,
        "<title>{mark}{title} - {}</title>",
        escaped(&sheet.foot)
    );
    put!(out, "<style>\n{STYLE}");
    put!(
        out,
        "@page {{ size: {size}; @bottom-left {{ content: \"{}\"; }} }}",
        quoted(&sheet.foot)
    );
    if !sheet.on_each_page.is_empty() {
        put!(
            out,
            "@page {{ margin-bottom: 26mm; @bottom-center {{ content: \"{}\"; width: 75%; font: 7.5pt \"Open Sans\", Arial, sans-serif; }} }}",
            quoted(&sheet.on_each_page)
        );
    }
    if let Some(mark) = sheet.mark {
        // On each page, in its margin; a printer's browser that knows no margins still has it above the title
        // and beside each heading.
        put!(
            out,
            "@page {{ @top-center {{ content: \"{}\"; font: bold 10pt \"Open Sans\", Arial, sans-serif; vertical-align: middle; }} }}",
            quoted(mark)
        );
    }
    put!(out, "</style>\n</head>\n<body>");
    if let Some(mark) = sheet.mark {
        put!(out, "<p class=\"mark\" role=\"note\">{mark}</p>");
    }
    put!(out, "<main>\n<header>");
    if let Some(logo) = &sheet.logo {
        put!(
            out,
            "<img class=\"logo\" src=\"data:{};base64,{}\" alt=\"{}\">",
            logo.media_type(),
            base64(logo.bytes()),
            escaped(&logo.tells)
        );
    }
    put!(
        out,
        "<p class=\"kind\">{}</p>\n<h1>{title}</h1>",
        escaped(sheet.kind)
    );
    if !sheet.subtitle.is_empty() {
        put!(
            out,
            "<p class=\"subtitle\">{}</p>",
            escaped(&sheet.subtitle)
        );
    }
    if !sheet.on_each_page.is_empty() {
        put!(
            out,
            "<p class=\"each\"><strong>{}</strong></p>",
            escaped(&sheet.on_each_page)
        );
    }
    put!(out, "</header>");
    let mut section = false;
    for it in &sheet.parts {
        if let Part::Heading(text) = it {
            if section {
                put!(out, "</section>");
            }
            section = true;
            put!(out, "<section>\n<h2>{}</h2>", escaped(text));
        } else {
            part(&mut out, it);
        }
    }
    if section {
        put!(out, "</section>");
    }
    put!(out, "</main>\n</body>\n</html>");
    out
}

/// A text as a CSS string holds it.
fn quoted(text: &str) -> String {
    let plain = |it: &char| it.is_ascii_alphanumeric() || " -_.:,;'".contains(*it);
    text.chars().filter(plain).collect()
}

fn part(out: &mut String, part: &Part) {
    match part {
        // The caller opens a section with it.
        Part::Heading(_) => {}
        Part::Words { text, strong: true } => {
            put!(out, "<p><strong>{}</strong></p>", escaped(text))
        }
        Part::Words {
            text,
            strong: false,
        } => put!(out, "<p>{}</p>", escaped(text)),
        Part::List(items) => {
            put!(out, "<ul>");
            for item in items {
                put!(out, "<li>{}</li>", escaped(item));
            }
            put!(out, "</ul>");
        }
        Part::Facts { facts, beside } => {
            put!(out, "<div class=\"facts\">\n<dl>");
            for (name, fact) in facts {
                put!(
                    out,
                    "<div><dt>{}</dt><dd>{}</dd></div>",
                    escaped(name),
                    escaped(fact)
                );
            }
            put!(out, "</dl>");
            if let Some(drawing) = beside {
                put!(out, "{}", svg::svg(drawing, "beside"));
            }
            put!(out, "</div>");
        }
        Part::Table(it) => table(out, it),
        Part::Steps(lines) => steps(out, lines),
        Part::Figure { drawing, caption } => put!(
            out,
            "<figure>\n{}\n<figcaption>{}</figcaption>\n</figure>",
            svg::svg(drawing, "wide"),
            escaped(caption)
        ),
        Part::Photos(photos) => {
            put!(out, "<div class=\"photos\">");
            for (picture, caption) in photos {
                put!(
                    out,
                    "<figure>\n<img src=\"data:image/jpeg;base64,{}\" width=\"{}\" height=\"{}\" alt=\"{}\">\n<figcaption>{}</figcaption>\n</figure>",
                    base64(&picture.jpeg),
                    picture.width,
                    picture.height,
                    escaped(&format!("{caption}. The photo is not described")),
                    escaped(caption)
                );
            }
            put!(out, "</div>");
        }
        Part::ToSign(lines) => {
            put!(out, "<div class=\"sign\">");
            for line in lines {
                put!(
                    out,
                    "<p>{}<span aria-label=\"to be filled in\"></span></p>",
                    escaped(line)
                );
            }
            put!(out, "</div>");
        }
    }
}

fn steps(out: &mut String, lines: &[StepLine]) {
    put!(out, "<ol class=\"steps\">");
    for line in lines {
        let hold = if line.hold { " class=\"hold\"" } else { "" };
        put!(
            out,
            "<li{hold}><p class=\"what\"><span>{}</span> <b>{}</b></p>\n<div>",
            escaped(&line.number),
            escaped(line.kind)
        );
        if let Some(only) = &line.only {
            put!(out, "<p>{}</p>", escaped(only));
        }
        if let Some((signal, text)) = &line.warning {
            put!(
                out,
                "<p class=\"warning\"><strong>{}{}: {}</strong></p>",
                // The alert symbol stands for injury only (ANSI Z535.6).
                match line.injures {
                    true => "<span aria-hidden=\"true\">\u{26a0}</span> ",
                    false => "",
                },
                escaped(signal),
                escaped(text)
            );
        }
        if !line.text.is_empty() {
            put!(out, "<p>{}</p>", escaped(&line.text));
        }
        for text in &line.strong {
            put!(out, "<p><strong>{}</strong></p>", escaped(text));
        }
        put!(out, "</div>");
        if !line.values.is_empty() {
            put!(out, "<ul class=\"values\">");
            for value in &line.values {
                put!(out, "<li>{}</li>", escaped(value));
            }
            put!(out, "</ul>");
        }
        put!(out, "</li>");
    }
    put!(out, "</ol>");
}

fn table(out: &mut String, table: &Table) {
    put!(
        out,
        "<table>\n<caption class=\"unseen\">{}</caption>\n<colgroup>",
        escaped(&table.tells)
    );
    for column in &table.columns {
        put!(out, "<col style=\"width:{:.0}%\">", column.share * 100.0);
    }
    put!(out, "</colgroup>\n<thead><tr>");
    for column in &table.columns {
        put!(out, "<th scope=\"col\">{}</th>", escaped(&column.name));
    }
    put!(out, "</tr></thead>\n<tbody>");
    for row in &table.rows {
        out.push_str("<tr>");
        for (cell, column) in row.iter().zip(&table.columns) {
            // On a phone each cell stands on a line of its own, with its column's name before it.
            let empty = if cell.text.is_empty() && cell.drawing.is_none() {
                " class=\"empty\""
            } else {
                ""
            };
            let _ = write!(
                out,
                "<td data-name=\"{}\"{empty}>{}</td>",
                escaped(&column.name),
                inside(cell)
            );
        }
        put!(out, "</tr>");
    }
    put!(out, "</tbody>\n</table>");
}

fn inside(cell: &Cell) -> String {
    if let Some(drawing) = &cell.drawing {
        return svg::svg(drawing, "small");
    }
    let text = escaped(&cell.text);
    if cell.strong {
        format!("<strong>{text}</strong>")
    } else {
        text
    }
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let at = |place: usize| u32::from(three.get(place).copied().unwrap_or(0));
        let bits = at(0) << 16 | at(1) << 8 | at(2);
        for place in 0..4 {
            if place > three.len() {
                out.push('=');
            } else {
                let letter = LETTERS[(bits >> (18 - 6 * place) & 63) as usize];
                out.push(char::from(letter));
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_is_that_of_rfc_4648() {
        // RFC 4648, section 10.
        let cases = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ];
        for (plain, coded) in cases {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }
}
