//! Parts onto pages: what is drawn where. Lengths are points, y runs down.

mod steps;

use super::letters::{Letters, Weight};
use super::structure::{Element, Role, Structure};
use crate::drawing::{Anchor, Drawing, Ink, Shape};
use crate::sheet::{Cell, Part, Sheet, Table};

/// The space around what is written: left and right, top, bottom.
pub(super) const SIDE: f32 = 48.0;
pub(super) const TOP: f32 = 62.0;
pub(super) const BOTTOM: f32 = 54.0;
/// From line to line of the cautions on each page.
pub(super) const EACH_LEAD: f32 = 10.5;

const BODY: f32 = 9.5;
const LEAD: f32 = 13.0;
const SMALL: f32 = 8.0;
const SMALL_LEAD: f32 = 11.0;
/// The area that a shop's logo may have.
const LOGO_WIDTH: f32 = 150.0;
const LOGO_HEIGHT: f32 = 42.0;
/// Between two columns, and above and below a row's words.
const GAP: f32 = 8.0;
const PAD: f32 = 2.5;

/// Something drawn.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Mark {
    Words {
        x: f32,
        y: f32,
        size: f32,
        weight: Weight,
        text: String,
    },
    /// A drawing, its upper left corner and how much it is scaled.
    Drawing {
        x: f32,
        y: f32,
        scale: f32,
        drawing: Drawing,
    },
    /// A photo by its place among the sheet's, and its area.
    Photo {
        place: usize,
        x: f32,
        y: f32,
        width: f32,
        height: f32,
    },
    /// The shop's logo, in its area.
    Logo {
        x: f32,
        y: f32,
        width: f32,
        height: f32,
    },
    Rule {
        x: f32,
        y: f32,
        width: f32,
        thick: f32,
        ink: Ink,
    },
}

#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Page {
    /// Each with what it belongs to; a mark that belongs to nothing is only for the eye.
    pub marks: Vec<(Mark, Option<Element>)>,
}

/// A sheet on its pages.
#[derive(Debug, Default)]
pub(super) struct Pages {
    pub pages: Vec<Page>,
    pub structure: Structure,
    /// The headings, each with its page, from 0, and how far down it stands.
    pub headings: Vec<(String, usize, f32)>,
}

/// From line to line of a table's row.
const ROW_LEAD: f32 = LEAD - 0.6;

/// A table's row: its words in lines, the height of its drawings, and the most lines of a cell.
struct Row {
    cells: Vec<(Weight, Vec<String>)>,
    drawn: f32,
    count: usize,
}

impl Row {
    fn height(&self) -> f32 {
        (self.count as f32 * ROW_LEAD).max(self.drawn) + 2.0 * PAD
    }
}

/// Between what is written and the cautions of each page.
const EACH_GAP: f32 = 4.0;

/// Sets a sheet on pages.
pub(super) fn pages(sheet: &Sheet, letters: &Letters) -> Pages {
    let (width, height) = sheet.paper.points();
    let mut flow = Flow {
        letters,
        width: width - 2.0 * SIDE,
        bottom: height - BOTTOM - EACH_LEAD * on_each_page(sheet, letters).len() as f32 - EACH_GAP,
        y: TOP,
        pages: vec![Page::default()],
        photo: 0,
        structure: Structure::default(),
        headings: Vec::new(),
    };
    flow.title(sheet);
    for (place, part) in sheet.parts.iter().enumerate() {
        flow.part(part, sheet.parts.get(place + 1));
    }
    Pages {
        pages: flow.pages,
        structure: flow.structure,
        headings: flow.headings,
    }
}

/// The cautions of each page, in lines.
pub(super) fn on_each_page(sheet: &Sheet, letters: &Letters) -> Vec<String> {
    let (width, _) = sheet.paper.points();
    letters.lines(&sheet.on_each_page, Weight::Bold, SMALL, width - 2.0 * SIDE)
}

struct Flow<'a> {
    letters: &'a Letters,
    width: f32,
    bottom: f32,
    y: f32,
    pages: Vec<Page>,
    photo: usize,
    structure: Structure,
    headings: Vec<(String, usize, f32)>,
}

impl Flow<'_> {
    /// A mark of what is being filled.
    fn mark(&mut self, mark: Mark) {
        let element = self.structure.current();
        self.mark_of(element, mark);
    }

    fn mark_of(&mut self, element: Option<Element>, mark: Mark) {
        if let Some(page) = self.pages.last_mut() {
            page.marks.push((mark, element));
        }
    }

    /// What is drawn meanwhile belongs to an element of its own.
    fn within(&mut self, role: Role, draw: impl FnOnce(&mut Self)) {
        self.structure.begin(role);
        draw(self);
        self.structure.end();
    }

    fn room(&self) -> f32 {
        self.bottom - self.y
    }

    fn turn(&mut self) {
        self.pages.push(Page::default());
        self.y = TOP;
    }

    /// A new page unless so much fits on this one; never an empty page.
    fn need(&mut self, height: f32) {
        if height > self.room() && self.y > TOP {
            self.turn();
        }
    }

    fn rule(&mut self, thick: f32, ink: Ink) {
        let rule = Mark::Rule {
            x: SIDE,
            y: self.y,
            width: self.width,
            thick,
            ink,
        };
        self.mark_of(None, rule);
    }

    /// A line of words, its upper edge at `y`.
    fn line(&mut self, x: f32, y: f32, size: f32, weight: Weight, text: String) {
        let element = self.structure.current();
        self.line_of(element, [x, y], size, weight, text);
    }

    fn line_of(
        &mut self,
        element: Option<Element>,
        [x, y]: [f32; 2],
        size: f32,
        weight: Weight,
        text: String,
    ) {
        if text.is_empty() {
            return;
        }
        // The base line lies about a font's size below the upper edge of its line.
        let words = Mark::Words {
            x,
            y: y + size * 1.07,
            size,
            weight,
            text,
        };
        self.mark_of(element, words);
    }

    fn paragraph(&mut self, text: &str, size: f32, lead: f32, weight: Weight, indent: f32) {
        for line in self.letters.lines(text, weight, size, self.width - indent) {
            self.need(lead);
            self.line(SIDE + indent, self.y, size, weight, line);
            self.y += lead;
        }
    }

    fn title(&mut self, sheet: &Sheet) {
        if let Some(logo) = &sheet.logo {
            let (width, height) = logo.fitted(LOGO_WIDTH, LOGO_HEIGHT);
            let mark = Mark::Logo {
                x: SIDE + self.width - width,
                y: self.y,
                width,
                height,
            };
            self.within(Role::Figure(logo.tells.clone()), |flow| flow.mark(mark));
            self.y += height + 6.0;
        }
        self.within(Role::Paragraph, |flow| {
            flow.paragraph(sheet.kind, BODY, LEAD, Weight::Regular, 0.0);
        });
        self.headings.push((sheet.title.clone(), 0, self.y));
        self.within(Role::Title(sheet.title.clone()), |flow| {
            flow.paragraph(&sheet.title, 19.0, 24.0, Weight::Bold, 0.0);
        });
        if !sheet.subtitle.is_empty() {
            self.y += 1.0;
            self.within(Role::Paragraph, |flow| {
                flow.paragraph(&sheet.subtitle, 10.5, 14.0, Weight::Regular, 0.0);
            });
        }
        self.y += 5.0;
        self.rule(1.4, Ink::Black);
        self.y += 9.0;
    }

    fn part(&mut self, part: &Part, next: Option<&Part>) {
        match part {
            Part::Heading(text) => {
                self.y += 13.0;
                // A heading stays with what it heads.
                let follows = match next {
                    Some(Part::Photos(_)) => 190.0,
                    // The proof stays together.
                    Some(Part::Facts {
                        facts,
                        beside: Some(drawing),
                    }) => self.facts_height(facts, Some(drawing)) + 4.0 * LEAD,
                    Some(Part::Table(table)) => self.beginning(table),
                    Some(_) | None => 44.0,
                };
                self.need(22.0 + follows);
                let page = self.pages.len() - 1;
                self.headings.push((text.clone(), page, self.y));
                self.within(Role::Heading(text.clone()), |flow| {
                    flow.paragraph(text, 12.5, 17.0, Weight::Bold, 0.0);
                });
                self.rule(0.6, Ink::Grey);
                self.y += 5.0;
            }
            Part::Words { text, strong } => {
                let weight = if *strong {
                    Weight::Bold
                } else {
                    Weight::Regular
                };
                self.y += 2.0;
                self.within(Role::Paragraph, |flow| {
                    flow.paragraph(text, BODY, LEAD, weight, 0.0);
                });
                self.y += 2.0;
            }
            Part::List(items) => self.within(Role::List, |flow| flow.list(items)),
            Part::Facts { facts, beside } => self.facts(facts, beside.as_ref()),
            Part::Table(table) => {
                let tells = Role::Table(table.tells.clone());
                self.within(tells, |flow| flow.table(table));
            }
            Part::Steps(lines) => self.within(Role::List, |flow| flow.steps(lines)),
            Part::Figure { drawing, caption } => self.figure(drawing, caption),
            Part::Photos(photos) => self.photos(photos),
            Part::ToSign(lines) => self.signing(lines),
        }
    }

    fn list(&mut self, items: &[String]) {
        for item in items {
            self.need(LEAD);
            self.structure.begin(Role::Item);
            self.within(Role::Label, |flow| {
                flow.line(SIDE, flow.y, BODY, Weight::Regular, "–".to_owned());
            });
            self.within(Role::Body, |flow| {
                flow.paragraph(item, BODY, LEAD, Weight::Regular, 11.0);
            });
            self.structure.end();
            self.y += 1.5;
        }
    }

    /// Widths of the facts' names and of the facts.
    fn facts_columns(&self, beside: Option<&Drawing>) -> (f32, f32) {
        let names = 128.0;
        let beside = beside.map_or(0.0, |drawing| drawing.width + GAP);
        (names, self.width - names - beside)
    }

    fn facts_height(&self, facts: &[(String, String)], beside: Option<&Drawing>) -> f32 {
        let (names, width) = self.facts_columns(beside);
        let lines =
            |text: &str, width| self.letters.lines(text, Weight::Regular, BODY, width).len();
        let heights = facts.iter().map(|(name, fact)| {
            lines(name, names - GAP).max(lines(fact, width)) as f32 * LEAD + 1.0
        });
        let drawn = beside.map_or(0.0, |drawing| drawing.height);
        heights.sum::<f32>().max(drawn)
    }

    fn facts(&mut self, facts: &[(String, String)], beside: Option<&Drawing>) {
        let (names, width) = self.facts_columns(beside);
        let mut until = f32::MIN;
        if let Some(drawing) = beside {
            self.need(drawing.height);
            let mark = Mark::Drawing {
                x: SIDE + self.width - drawing.width,
                y: self.y,
                scale: 1.0,
                drawing: drawing.clone(),
            };
            self.within(Role::Figure(drawing.tells.clone()), |flow| flow.mark(mark));
            until = self.y + drawing.height;
        }
        self.structure.begin(Role::List);
        for (name, fact) in facts {
            let item = self.structure.add(Role::Item);
            let label = self.structure.add_to(Some(item), Role::Label);
            let body = self.structure.add_to(Some(item), Role::Body);
            let page = self.pages.len();
            let name = self.letters.lines(name, Weight::Regular, BODY, names - GAP);
            let fact = self.letters.lines(fact, Weight::Regular, BODY, width);
            for place in 0..name.len().max(fact.len()) {
                self.need(LEAD);
                for (element, x, lines) in [(label, SIDE, &name), (body, SIDE + names, &fact)] {
                    if let Some(line) = lines.get(place) {
                        let at = [x, self.y];
                        self.line_of(Some(element), at, BODY, Weight::Regular, line.clone());
                    }
                }
                self.y += LEAD;
            }
            self.y += 1.0;
            if self.pages.len() != page {
                until = f32::MIN;
            }
        }
        self.structure.end();
        self.y = self.y.max(until) + 2.0;
    }

    fn signing(&mut self, lines: &[String]) {
        self.need(34.0);
        self.y += 18.0;
        let width = (self.width - 16.0 * (lines.len().saturating_sub(1)) as f32)
            / lines.len().max(1) as f32;
        let mut x = SIDE;
        for name in lines {
            let named = self.letters.width(name, Weight::Regular, BODY) + 6.0;
            self.within(Role::Paragraph, |flow| {
                flow.line(x, flow.y, BODY, Weight::Regular, name.clone());
            });
            let rule = Mark::Rule {
                x: x + named,
                y: self.y + BODY * 1.2,
                width: width - named,
                thick: 0.6,
                ink: Ink::Black,
            };
            self.mark_of(None, rule);
            x += width + 16.0;
        }
        self.y += LEAD + 6.0;
    }

    fn figure(&mut self, drawing: &Drawing, caption: &str) {
        let scale = (self.width / drawing.width).min(1.06);
        let height = drawing.height * scale;
        self.need(height + 3.0 * SMALL_LEAD);
        self.y += 6.0;
        let mark = Mark::Drawing {
            x: SIDE,
            y: self.y,
            scale,
            drawing: drawing.clone(),
        };
        self.within(Role::Figure(drawing.tells.clone()), |flow| flow.mark(mark));
        self.y += height + 3.0;
        self.within(Role::Paragraph, |flow| {
            flow.paragraph(caption, SMALL, SMALL_LEAD, Weight::Regular, 0.0);
        });
        self.y += 3.0;
    }

    fn photos(&mut self, photos: &[(crate::Picture, String)]) {
        let cell = (self.width - 2.0 * GAP) / 2.0;
        for pair in photos.chunks(2) {
            let mut row = Vec::new();
            let mut height = 0.0_f32;
            for (picture, caption) in pair {
                let lines = self.letters.lines(caption, Weight::Regular, SMALL, cell);
                let (wide, high) = (picture.width.max(1) as f32, picture.height.max(1) as f32);
                let scale = (cell / wide).min(230.0 / high);
                let size = (wide * scale, high * scale);
                height = height.max(size.1 + lines.len() as f32 * SMALL_LEAD + 12.0);
                let tells = match caption.is_empty() {
                    true => "A photo, which is not described".to_owned(),
                    false => format!("{caption}. The photo is not described"),
                };
                row.push((size, tells, lines));
            }
            self.need(height);
            for (column, ((wide, high), tells, lines)) in row.into_iter().enumerate() {
                let x = SIDE + column as f32 * (cell + 2.0 * GAP);
                let place = self.photo;
                self.photo += 1;
                let mark = Mark::Photo {
                    place,
                    x,
                    y: self.y,
                    width: wide,
                    height: high,
                };
                self.within(Role::Figure(tells), |flow| flow.mark(mark));
                if lines.is_empty() {
                    continue;
                }
                self.within(Role::Paragraph, |flow| {
                    for (number, line) in lines.into_iter().enumerate() {
                        let y = flow.y + high + 3.0 + number as f32 * SMALL_LEAD;
                        flow.line(x, y, SMALL, Weight::Regular, line);
                    }
                });
            }
            self.y += height;
        }
    }

    /// Where each column begins, and how wide its words may be.
    fn columns(&self, table: &Table) -> Vec<(f32, f32)> {
        let mut x = SIDE;
        let columns = table.columns.iter().map(|column| {
            let width = self.width * column.share;
            let left = x;
            x += width;
            (left, width - GAP)
        });
        columns.collect()
    }

    /// The height of a table's head and its first two rows, which stay together where a page holds them.
    fn beginning(&self, table: &Table) -> f32 {
        let columns = self.columns(table);
        let head = table.columns.iter().zip(&columns);
        let head = head.map(|(it, (_, width))| {
            let lines = self.letters.lines(&it.name, Weight::Bold, SMALL, *width);
            lines.len() as f32 * SMALL_LEAD
        });
        let head = head.fold(0.0, f32::max) + 2.0 * PAD;
        let rows = table.rows.iter().take(2);
        let rows = rows.map(|row| self.set(row, &columns).height());
        (head + rows.sum::<f32>()).min(self.bottom - TOP - 40.0)
    }

    fn table(&mut self, table: &Table) {
        self.need(self.beginning(table));
        let columns = self.columns(table);
        let row = Some(self.structure.add(Role::Row));
        let heads = table.columns.iter();
        let heads = heads.map(|_| self.structure.add_to(row, Role::ColumnHead));
        let heads: Vec<Element> = heads.collect();
        self.table_head(table, &columns, &heads);
        for row in &table.rows {
            self.row(row, &columns, table);
        }
        self.y += 4.0;
    }

    /// The heads of the columns. Those that are repeated on another page have no elements: they were read already.
    fn table_head(&mut self, table: &Table, columns: &[(f32, f32)], heads: &[Element]) {
        let mut height = 0.0_f32;
        for (place, (column, (x, width))) in table.columns.iter().zip(columns).enumerate() {
            let head = heads.get(place).copied();
            let lines = self
                .letters
                .lines(&column.name, Weight::Bold, SMALL, *width);
            height = height.max(lines.len() as f32 * SMALL_LEAD);
            for (number, line) in lines.into_iter().enumerate() {
                let y = self.y + PAD + number as f32 * SMALL_LEAD;
                self.line_of(head, [*x, y], SMALL, Weight::Bold, line);
            }
        }
        self.y += height + 2.0 * PAD;
        self.rule(0.8, Ink::Black);
    }

    /// A row's words, broken into lines.
    fn set(&self, row: &[Cell], columns: &[(f32, f32)]) -> Row {
        let set = |cell: &Cell, width: f32| {
            let weight = if cell.strong {
                Weight::Bold
            } else {
                Weight::Regular
            };
            (
                weight,
                self.letters.lines(&cell.text, weight, BODY - 0.5, width),
            )
        };
        let cells: Vec<_> = row
            .iter()
            .zip(columns)
            .map(|(cell, (_, width))| set(cell, *width))
            .collect();
        let drawn = row.iter().filter_map(|cell| cell.drawing.as_ref());
        let drawn = drawn.map(|drawing| drawing.height).fold(0.0, f32::max);
        let counts = cells.iter().map(|(_, lines)| lines.len());
        Row {
            count: counts.max().unwrap_or(0),
            cells,
            drawn,
        }
    }

    fn row(&mut self, row: &[Cell], columns: &[(f32, f32)], table: &Table) {
        let set = self.set(row, columns);
        let whole = set.height();
        let Row {
            cells,
            drawn,
            count,
        } = set;
        let lead = ROW_LEAD;
        let page = self.bottom - TOP - 40.0;
        // A row stays whole where it can; one longer than a page goes on over the next.
        if whole > self.room() && (whole <= page || self.room() < 4.0 * lead) {
            self.turn();
            self.table_head(table, columns, &[]);
        }
        let of = Some(self.structure.add(Role::Row));
        let elements = row.iter().map(|_| self.structure.add_to(of, Role::Cell));
        let elements: Vec<Element> = elements.collect();
        for ((cell, element), (x, _)) in row.iter().zip(&elements).zip(columns) {
            if let Some(drawing) = &cell.drawing {
                let tells = Role::Figure(drawing.tells.clone());
                let figure = self.structure.add_to(Some(*element), tells);
                let mark = Mark::Drawing {
                    x: *x,
                    y: self.y + PAD,
                    scale: 1.0,
                    drawing: drawing.clone(),
                };
                self.mark_of(Some(figure), mark);
            }
        }
        let top = self.y;
        self.y += PAD;
        for number in 0..count {
            if self.room() < lead {
                self.turn();
                self.table_head(table, columns, &[]);
                self.y += PAD;
            }
            for (((weight, lines), element), (x, _)) in cells.iter().zip(&elements).zip(columns) {
                if let Some(line) = lines.get(number) {
                    let at = [*x, self.y];
                    self.line_of(Some(*element), at, BODY - 0.5, *weight, line.clone());
                }
            }
            self.y += lead;
        }
        self.y += PAD;
        if self.y > top {
            self.y = self.y.max(top + drawn + 2.0 * PAD);
        }
        self.rule(0.4, Ink::Pale);
    }
}

/// Where a drawing's text begins, which is anchored somewhere.
pub(super) fn anchored(letters: &Letters, shape: &Shape) -> Option<(f32, f32, f32, String)> {
    let Shape::Text {
        at: [x, y],
        size,
        anchor,
        text,
    } = shape
    else {
        return None;
    };
    let width = letters.width(text, Weight::Regular, *size);
    let x = match anchor {
        Anchor::Start => *x,
        Anchor::Middle => x - width / 2.0,
        Anchor::End => x - width,
    };
    Some((x, *y, *size, text.clone()))
}
