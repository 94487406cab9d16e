//! The report as PDF.
//!
//! # Why laid out by hand?
//!
//! `krilla` writes the PDF and its fonts. A whole typesetting system as a library has 300 dependencies: half of them
//! took 9 minutes to build on two busy cores, against 4½ minutes of processor time for everything the report needs,
//! including its tests' parsers. The fonts in `assistant/report/fonts` are embedded; HTML uses the reader's own.

mod flow;
mod letters;
mod structure;

use crate::drawing::{Drawing, Ink, Shape};
use crate::logo::Logo;
use crate::model::JobReport;
use crate::sheet::{Part, Sheet};
use crate::{Paper, Picture, ReportError, Shop, compose};
use flow::{Mark, Page};
use jiff::tz::TimeZone;
use krilla::SerializeSettings;
use krilla::color::rgb;
use krilla::configure::ConfigurationBuilder;
use krilla::configure::validate::Accessibility;
use krilla::destination::XyzDestination;
use krilla::geom::{Path, PathBuilder, Point, Rect, Size, Transform};
use krilla::image::Image;
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Identifier, SpanTag};
use krilla::text::{Font, GlyphId, KrillaGlyph};
use letters::{FILES, Letters, Weight};

/// Size of what stands at the edge of each page.
const EDGE: f32 = 8.0;

impl JobReport {
    /// The report as PDF on this paper, tagged for those who have it read out (ISO 14289-1). `photos` are those that are
    /// shown.
    ///
    /// # Errors
    /// When the library can't write it, which is a bug in Sayback.
    pub fn pdf(
        &self,
        shop: &Shop,
        photos: &[Picture],
        paper: Paper,
        zone: &TimeZone,
    ) -> Result<Vec<u8>, ReportError> {
        written(&compose::compose(self, shop, photos, paper, zone))
    }

    /// The page for the customer as PDF: what was done, what was measured, what to watch.
    ///
    /// # Errors
    /// When the library can't write it, which is a bug in Sayback.
    pub fn customer_pdf(
        &self,
        shop: &Shop,
        photos: &[Picture],
        paper: Paper,
        zone: &TimeZone,
    ) -> Result<Vec<u8>, ReportError> {
        written(&compose::for_the_customer(self, shop, photos, paper, zone))
    }
}

pub(crate) fn written(sheet: &Sheet) -> Result<Vec<u8>, ReportError> {
    // A text may hold what the standard doesn't allow: then the document is tagged all the same, and claims nothing.
    document(sheet, Some(Accessibility::UA1)).or_else(|_| document(sheet, None))
}

fn document(sheet: &Sheet, standard: Option<Accessibility>) -> Result<Vec<u8>, ReportError> {
    let failed = |what: &str| ReportError::Pdf {
        what: what.to_owned(),
    };
    let letters = Letters::new().ok_or_else(|| failed("the fonts can't be read"))?;
    let [regular, bold] = FILES.map(|file| Font::new(file.to_vec().into(), 0));
    let fonts = match (regular, bold) {
        (Some(regular), Some(bold)) => [regular, bold],
        (None, _) | (_, None) => return Err(failed("the fonts can't be embedded")),
    };
    let photos = sheet.parts.iter().filter_map(|part| match part {
        Part::Photos(photos) => Some(photos),
        Part::Heading(_)
        | Part::Words { .. }
        | Part::List(_)
        | Part::Facts { .. }
        | Part::Table(_)
        | Part::Steps(_)
        | Part::Figure { .. }
        | Part::ToSign(_) => None,
    });
    let images: Vec<Option<Image>> = photos
        .flatten()
        .map(|(picture, _)| Image::from_jpeg(picture.jpeg.clone().into(), true).ok())
        .collect();
    let set = flow::pages(sheet, &letters);
    let mut configuration = ConfigurationBuilder::new();
    if let Some(standard) = standard {
        configuration = configuration.with_accessibility_validator(standard);
    }
    let configuration = configuration
        .finish()
        .map_err(|error| failed(&format!("{error:?}")))?;
    let mut document = krilla::Document::new_with(SerializeSettings {
        configuration,
        enable_tagging: true,
        ..SerializeSettings::default()
    });
    document.set_metadata(
        Metadata::new()
            .title(match sheet.mark {
                Some(mark) => format!("{mark}: {}", sheet.title),
                None => sheet.title.clone(),
            })
            .description(sheet.foot.clone())
            .creator("sayback".to_owned())
            .language("en".to_owned()),
    );
    document.set_outline(outline(&set.headings));
    let (width, height) = sheet.paper.points();
    let mut content = vec![Vec::new(); set.structure.len()];
    for (number, page) in set.pages.iter().enumerate() {
        let settings =
            PageSettings::from_wh(width, height).ok_or_else(|| failed("the paper has no size"))?;
        let mut started = document.start_page_with(settings);
        let mut pen = Pen {
            surface: started.surface(),
            letters: &letters,
            fonts: &fonts,
            images: &images,
            logo: sheet.logo.as_ref(),
        };
        pen.edges(sheet, number + 1, set.pages.len());
        pen.page(page, &mut content);
        drop(pen);
        started.finish();
    }
    document.set_tag_tree(set.structure.tree(content));
    document
        .finish()
        .map_err(|error| failed(&format!("{error:?}")))
}

/// The headings to jump to, those of the sections below the title.
fn outline(headings: &[(String, usize, f32)]) -> Outline {
    let node = |(text, page, y): &(String, usize, f32)| {
        let to = XyzDestination::new(*page, Point::from_xy(flow::SIDE, *y));
        OutlineNode::new(text.clone(), to)
    };
    let mut outline = Outline::new();
    if let [title, sections @ ..] = headings {
        let mut title = node(title).with_open(true);
        for section in sections {
            title.push_child(node(section));
        }
        outline.push_child(title);
    }
    outline
}

/// What draws on one page.
struct Pen<'a> {
    surface: Surface<'a>,
    letters: &'a Letters,
    fonts: &'a [Font; 2],
    images: &'a [Option<Image>],
    logo: Option<&'a Logo>,
}

impl Pen<'_> {
    /// What is drawn meanwhile is no content: it stands on each page, or is only for the eye.
    fn artifact(&mut self, kind: ArtifactType, draw: impl FnOnce(&mut Self)) {
        let artifact = ContentTag::Artifact(Artifact::with_kind(kind));
        self.surface.start_tagged(artifact);
        draw(self);
        self.surface.end_tagged();
    }

    /// What stands on each page: the mark of a rehearsal, whose report it is, which page.
    fn edges(&mut self, sheet: &Sheet, number: usize, count: usize) {
        self.artifact(ArtifactType::Header, |pen| pen.head(sheet, number));
        self.artifact(ArtifactType::Footer, |pen| pen.foot(sheet, number, count));
    }

    fn head(&mut self, sheet: &Sheet, number: usize) {
        let (width, _) = sheet.paper.points();
        if let Some(mark) = sheet.mark {
            let area = [flow::SIDE, 26.0, width - 2.0 * flow::SIDE, 20.0];
            self.outline(&corners(area), Ink::White, Ink::Black, 1.6);
            let wide = self.letters.width(mark, Weight::Bold, 10.5);
            self.words((width - wide) / 2.0, 39.8, 10.5, Weight::Bold, mark);
        } else if number > 1 {
            self.words(flow::SIDE, 40.0, EDGE, Weight::Regular, &sheet.title);
        }
    }

    fn foot(&mut self, sheet: &Sheet, number: usize, count: usize) {
        let (width, height) = sheet.paper.points();
        let y = height - 34.0;
        let cautions = flow::on_each_page(sheet, self.letters);
        let mut above = y - 12.0 - flow::EACH_LEAD * cautions.len() as f32;
        for line in cautions {
            self.words(flow::SIDE, above, EDGE, Weight::Bold, &line);
            above += flow::EACH_LEAD;
        }
        self.fill(
            &[[flow::SIDE, y - 12.0, width - 2.0 * flow::SIDE, 0.5]],
            Ink::Grey,
        );
        self.words(flow::SIDE, y, EDGE, Weight::Regular, &sheet.foot);
        let page = format!("page {number} of {count}");
        let wide = self.letters.width(&page, Weight::Regular, EDGE);
        self.words(width - flow::SIDE - wide, y, EDGE, Weight::Regular, &page);
    }

    /// Draws a page's marks, and notes which content belongs to which element.
    fn page(&mut self, page: &Page, content: &mut [Vec<Identifier>]) {
        for (mark, element) in &page.marks {
            let Some(element) = element else {
                self.artifact(ArtifactType::Layout, |pen| pen.mark(mark));
                continue;
            };
            let tag = match mark {
                Mark::Words { .. } => ContentTag::Span(SpanTag::empty()),
                Mark::Drawing { .. }
                | Mark::Photo { .. }
                | Mark::Logo { .. }
                | Mark::Rule { .. } => ContentTag::Other,
            };
            let identifier = self.surface.start_tagged(tag);
            self.mark(mark);
            self.surface.end_tagged();
            if let Some(own) = content.get_mut(*element) {
                own.push(identifier);
            }
        }
    }

    fn mark(&mut self, mark: &Mark) {
        match mark {
            Mark::Words {
                x,
                y,
                size,
                weight,
                text,
            } => self.words(*x, *y, *size, *weight, text),
            Mark::Rule {
                x,
                y,
                width,
                thick,
                ink,
            } => self.fill(&[[*x, *y, *width, *thick]], *ink),
            Mark::Drawing {
                x,
                y,
                scale,
                drawing,
            } => self.drawing(*x, *y, *scale, drawing),
            Mark::Photo {
                place,
                x,
                y,
                width,
                height,
            } => {
                if let (Some(Some(image)), Some(size)) =
                    (self.images.get(*place), Size::from_wh(*width, *height))
                {
                    self.surface
                        .push_transform(&Transform::from_translate(*x, *y));
                    self.surface.draw_image(image.clone(), size);
                    self.surface.pop();
                }
            }
            Mark::Logo {
                x,
                y,
                width,
                height,
            } => {
                if let (Some(logo), Some(size)) = (self.logo, Size::from_wh(*width, *height)) {
                    self.surface
                        .push_transform(&Transform::from_translate(*x, *y));
                    logo.draw(&mut self.surface, size);
                    self.surface.pop();
                }
            }
        }
    }

    fn words(&mut self, x: f32, y: f32, size: f32, weight: Weight, text: &str) {
        let glyphs: Vec<KrillaGlyph> = self
            .letters
            .shape(text, weight)
            .into_iter()
            .map(|it| {
                let [x, y] = it.offset;
                KrillaGlyph::new(
                    GlyphId::new(it.glyph),
                    it.advance,
                    x,
                    y,
                    0.0,
                    it.from..it.to,
                    None,
                )
            })
            .collect();
        self.surface.set_fill(Some(filling(Ink::Black)));
        self.surface.set_stroke(None);
        let font = self.fonts[weight.place()].clone();
        self.surface
            .draw_glyphs(Point::from_xy(x, y), &glyphs, font, text, size, false);
    }

    fn drawing(&mut self, x: f32, y: f32, scale: f32, drawing: &Drawing) {
        self.surface
            .push_transform(&Transform::from_row(scale, 0.0, 0.0, scale, x, y));
        for shape in &drawing.shapes {
            match shape {
                Shape::Boxes(boxes, ink) => self.fill(boxes, *ink),
                Shape::Line {
                    from,
                    to,
                    width,
                    ink,
                } => {
                    let mut path = PathBuilder::new();
                    path.move_to(from[0], from[1]);
                    path.line_to(to[0], to[1]);
                    self.draw(path.finish(), None, Some((*ink, *width)));
                }
                Shape::Outline { points, fill, edge } => self.outline(points, *fill, *edge, 0.9),
                Shape::Text { .. } => {
                    if let Some((x, y, size, text)) = flow::anchored(self.letters, shape) {
                        self.words(x, y, size, Weight::Regular, &text);
                    }
                }
            }
        }
        self.surface.pop();
    }

    fn fill(&mut self, boxes: &[[f32; 4]], ink: Ink) {
        let mut path = PathBuilder::new();
        for [x, y, width, height] in boxes {
            if let Some(area) = Rect::from_xywh(*x, *y, *width, *height) {
                path.push_rect(area);
            }
        }
        self.draw(path.finish(), Some(ink), None);
    }

    fn outline(&mut self, points: &[[f32; 2]], fill: Ink, edge: Ink, width: f32) {
        let mut path = PathBuilder::new();
        for (number, [x, y]) in points.iter().enumerate() {
            if number == 0 {
                path.move_to(*x, *y);
            } else {
                path.line_to(*x, *y);
            }
        }
        path.close();
        self.draw(path.finish(), Some(fill), Some((edge, width)));
    }

    fn draw(&mut self, path: Option<Path>, fill: Option<Ink>, edge: Option<(Ink, f32)>) {
        let Some(path) = path else { return };
        self.surface.set_fill(fill.map(filling));
        self.surface.set_stroke(edge.map(|(ink, width)| Stroke {
            paint: colour(ink).into(),
            width,
            ..Stroke::default()
        }));
        self.surface.draw_path(&path);
    }
}

fn corners([x, y, width, height]: [f32; 4]) -> [[f32; 2]; 4] {
    [
        [x, y],
        [x + width, y],
        [x + width, y + height],
        [x, y + height],
    ]
}

fn colour(ink: Ink) -> rgb::Color {
    let level = ink.level();
    rgb::Color::new(level, level, level)
}

fn filling(ink: Ink) -> Fill {
    Fill {
        paint: colour(ink).into(),
        opacity: NormalizedF32::ONE,
        rule: FillRule::NonZero,
    }
}
