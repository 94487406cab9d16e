//! Small line drawings that become SVG in HTML and paths in PDF. Lengths are points, y runs down.

/// How dark: a drawing must tell the same in black and white.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ink {
    Black,
    Grey,
    Pale,
    White,
}

impl Ink {
    /// As red, green and blue alike.
    pub fn level(self) -> u8 {
        match self {
            Self::Black => 0x1a,
            Self::Grey => 0x70,
            Self::Pale => 0xd6,
            Self::White => 0xff,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Shape {
    /// Rectangles (x, y, width, height), filled.
    Boxes(Vec<[f32; 4]>, Ink),
    /// A line.
    Line {
        from: [f32; 2],
        to: [f32; 2],
        width: f32,
        ink: Ink,
    },
    /// A closed outline: its filling and its edge.
    Outline {
        points: Vec<[f32; 2]>,
        fill: Ink,
        edge: Ink,
    },
    /// One line of text; `at` is on its base line.
    Text {
        at: [f32; 2],
        size: f32,
        anchor: Anchor,
        text: String,
    },
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Drawing {
    pub width: f32,
    pub height: f32,
    pub shapes: Vec<Shape>,
    /// What it shows, for those who can't see it.
    pub tells: String,
}

impl Drawing {
    pub fn new(width: f32, height: f32, tells: String) -> Self {
        Self {
            width,
            height,
            shapes: Vec::new(),
            tells,
        }
    }

    pub fn line(&mut self, from: [f32; 2], to: [f32; 2], width: f32, ink: Ink) {
        self.shapes.push(Shape::Line {
            from,
            to,
            width,
            ink,
        });
    }

    pub fn fill(&mut self, area: [f32; 4], ink: Ink) {
        self.shapes.push(Shape::Boxes(vec![area], ink));
    }

    pub fn text(&mut self, at: [f32; 2], size: f32, anchor: Anchor, text: impl Into<String>) {
        self.shapes.push(Shape::Text {
            at,
            size,
            anchor,
            text: text.into(),
        });
    }

    pub fn mark(&mut self, mark: Mark, x: f32, y: f32) {
        let r = 3.2;
        let outline = |points: &[[f32; 2]], fill| Shape::Outline {
            points: points
                .iter()
                .map(|[dx, dy]| [x + dx * r, y + dy * r])
                .collect(),
            fill,
            edge: Ink::Black,
        };
        let diamond = [[0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [-1.0, 0.0]];
        let square = [[-0.8, -0.8], [0.8, -0.8], [0.8, 0.8], [-0.8, 0.8]];
        let up = [[0.0, -1.0], [0.95, 0.75], [-0.95, 0.75]];
        let down = [[0.0, 1.0], [0.95, -0.75], [-0.95, -0.75]];
        match mark {
            Mark::Stroke => self.line([x, y - r], [x, y + r], 0.8, Ink::Black),
            Mark::Diamond => self.shapes.push(outline(&diamond, Ink::Black)),
            Mark::HollowDiamond => self.shapes.push(outline(&diamond, Ink::White)),
            Mark::Square => self.shapes.push(outline(&square, Ink::Black)),
            Mark::Triangle => self.shapes.push(outline(&up, Ink::White)),
            Mark::Pointer => self.shapes.push(outline(&down, Ink::Black)),
            Mark::Cross => {
                let d = r * 0.9;
                self.line([x - d, y - d], [x + d, y + d], 1.4, Ink::Black);
                self.line([x - d, y + d], [x + d, y - d], 1.4, Ink::Black);
            }
        }
    }
}

/// Marks that differ in form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    Stroke,
    Diamond,
    HollowDiamond,
    Square,
    Triangle,
    Pointer,
    Cross,
}
