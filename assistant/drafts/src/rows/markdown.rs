//! List items, rows of tables and paragraphs of Markdown.

use super::{List, Row, heads, plain, row, signal};
use pulldown_cmark::{Event, HeadingLevel, Options, Parser, Tag, TagEnd};
use steps::procedure::Signal;

pub fn read(text: &str) -> List {
    let mut reader = Reader::of(text);
    let options =
        Options::ENABLE_TABLES | Options::ENABLE_TASKLISTS | Options::ENABLE_STRIKETHROUGH;
    for (event, span) in Parser::new_ext(text, options).into_offset_iter() {
        let line = reader.lines.of(span.start);
        reader.event(event, line);
    }
    reader.end_of_words();
    // A warning that nothing follows is kept as a step of its own.
    if let Some((line, _, words)) = reader.warning.take() {
        reader.list.rows.push(Row {
            line,
            text: words,
            ..Row::default()
        });
    }
    reader.list
}

/// Which line a place lies in; places come in rising order, mostly.
struct Lines<'a> {
    text: &'a str,
    at: usize,
    line: usize,
}

impl Lines<'_> {
    fn of(&mut self, place: usize) -> usize {
        if place > self.at {
            let between = self.text.as_bytes().get(self.at..place).unwrap_or_default();
            self.line += between.iter().filter(|byte| **byte == b'\n').count();
            self.at = place;
        }
        self.line
    }
}

struct Reader<'a> {
    lines: Lines<'a>,
    list: List,
    /// What is being read, and where it began.
    words: String,
    began: usize,
    /// A warning that waits for its step.
    warning: Option<(usize, Signal, String)>,
    in_title: bool,
    cells: Vec<String>,
    heads: Option<Vec<super::Head>>,
    in_table: bool,
}

impl<'a> Reader<'a> {
    fn of(text: &'a str) -> Self {
        Self {
            lines: Lines {
                text,
                at: 0,
                line: 1,
            },
            list: List::default(),
            words: String::new(),
            began: 1,
            warning: None,
            in_title: false,
            cells: Vec::new(),
            heads: None,
            in_table: false,
        }
    }

    fn event(&mut self, event: Event<'_>, line: usize) {
        match event {
            Event::Text(text) | Event::Code(text) | Event::InlineHtml(text) | Event::Html(text) => {
                if self.words.is_empty() {
                    self.began = line;
                }
                self.words.push_str(&text);
            }
            Event::SoftBreak | Event::HardBreak => self.words.push(' '),
            Event::Start(tag) => self.start(&tag, line),
            Event::End(tag) => self.end(tag, line),
            Event::InlineMath(text) | Event::DisplayMath(text) | Event::FootnoteReference(text) => {
                self.words.push_str(&text);
            }
            Event::Rule | Event::TaskListMarker(_) => {}
        }
    }

    fn start(&mut self, tag: &Tag<'_>, line: usize) {
        match tag {
            Tag::Heading { level, .. } => {
                self.end_of_words();
                self.in_title = *level == HeadingLevel::H1 && self.list.title.is_none();
            }
            // An item within an item: what was read of the outer one is a row of its own.
            Tag::Item | Tag::List(_) | Tag::Paragraph | Tag::BlockQuote(_) | Tag::CodeBlock(_) => {
                self.end_of_words();
                self.began = line;
            }
            Tag::Table(_) => {
                self.end_of_words();
                self.in_table = true;
                self.heads = None;
            }
            _ => {}
        }
    }

    fn end(&mut self, tag: TagEnd, line: usize) {
        match tag {
            TagEnd::Heading(_) if self.in_title => {
                self.in_title = false;
                let title = plain(&std::mem::take(&mut self.words));
                self.list.title = (!title.is_empty()).then_some(title);
            }
            // A heading says where one is, not what to do.
            TagEnd::Heading(_) => self.words.clear(),
            TagEnd::Item
            | TagEnd::Paragraph
            | TagEnd::BlockQuote(_)
            | TagEnd::CodeBlock
            | TagEnd::HtmlBlock => self.end_of_words(),
            TagEnd::TableCell => self.cells.push(std::mem::take(&mut self.words)),
            TagEnd::TableHead => {
                let cells = std::mem::take(&mut self.cells);
                self.heads = heads(&cells);
                if self.heads.is_none() {
                    let first = row(line, None, &cells);
                    self.list.rows.extend(first);
                }
            }
            TagEnd::TableRow => {
                let cells = std::mem::take(&mut self.cells);
                let read = row(line, self.heads.as_deref(), &cells);
                if let Some(mut read) = read {
                    let waiting = self.warning.take();
                    read.warning = read
                        .warning
                        .or(waiting.map(|(_, signal, text)| (signal, text)));
                    self.list.rows.push(read);
                }
            }
            TagEnd::Table => self.in_table = false,
            _ => {}
        }
    }

    fn end_of_words(&mut self) {
        if self.in_table {
            return;
        }
        let words = plain(&std::mem::take(&mut self.words));
        if words.is_empty() {
            return;
        }
        if let Some((signal, text)) = signal(&words) {
            if let Some((line, _, words)) = self.warning.replace((self.began, signal, text)) {
                // Two in a row: the first is a step of its own, so that it isn't lost.
                self.list.rows.push(Row {
                    line,
                    text: words,
                    ..Row::default()
                });
            }
            return;
        }
        let warning = self.warning.take().map(|(_, signal, text)| (signal, text));
        self.list.rows.push(Row {
            line: self.began,
            text: words,
            warning,
            ..Row::default()
        });
    }
}
