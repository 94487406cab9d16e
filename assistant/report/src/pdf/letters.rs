//! Words into glyphs, and how wide they are.

use rustybuzz::{Direction, Face, UnicodeBuffer};

/// The two fonts, as files. Licensed under Apache-2.0; see `fonts/README.md`.
pub(super) const FILES: [&[u8]; 2] = [
    include_bytes!("../../fonts/OpenSans-Regular.ttf"),
    include_bytes!("../../fonts/OpenSans-Bold.ttf"),
];

/// Which of the two.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    Regular,
    Bold,
}

impl Weight {
    pub fn place(self) -> usize {
        match self {
            Self::Regular => 0,
            Self::Bold => 1,
        }
    }
}

/// A glyph: its number in the font, the bytes of the text it stands for, and how far it leads on, in parts
/// of the font's size.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shaped {
    pub glyph: u32,
    pub from: usize,
    pub to: usize,
    pub advance: f32,
    pub offset: [f32; 2],
}

/// The fonts, ready to measure.
pub(super) struct Letters {
    faces: [Face<'static>; 2],
}

impl Letters {
    /// The fonts of this program; `None` if they can't be read, which a test rules out.
    pub fn new() -> Option<Self> {
        let [regular, bold] = FILES;
        Some(Self {
            faces: [Face::from_slice(regular, 0)?, Face::from_slice(bold, 0)?],
        })
    }

    /// A text in one line, left to right.
    pub fn shape(&self, text: &str, weight: Weight) -> Vec<Shaped> {
        let face = &self.faces[weight.place()];
        let em = face.units_per_em() as f32;
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.guess_segment_properties();
        // One direction: the words are English, and what isn't must not run over its line.
        buffer.set_direction(Direction::LeftToRight);
        let shaped = rustybuzz::shape(face, &[], buffer);
        let infos = shaped.glyph_infos();
        let mut glyphs: Vec<Shaped> = infos
            .iter()
            .zip(shaped.glyph_positions())
            .map(|(info, position)| Shaped {
                glyph: info.glyph_id,
                from: info.cluster as usize,
                to: text.len(),
                advance: position.x_advance as f32 / em,
                offset: [position.x_offset as f32 / em, position.y_offset as f32 / em],
            })
            .collect();
        // A glyph stands for the text up to where the next cluster begins.
        let mut next = text.len();
        let mut end = text.len();
        for glyph in glyphs.iter_mut().rev() {
            if glyph.from != next {
                end = next;
                next = glyph.from;
            }
            glyph.to = end.max(glyph.from);
        }
        glyphs
    }

    /// How wide a text is at this size.
    pub fn width(&self, text: &str, weight: Weight, size: f32) -> f32 {
        self.shape(text, weight)
            .iter()
            .map(|it| it.advance)
            .sum::<f32>()
            * size
    }

    /// A text in lines that are at most so wide, broken at blanks; a word that is wider is broken anywhere.
    pub fn lines(&self, text: &str, weight: Weight, size: f32, width: f32) -> Vec<String> {
        let mut lines = Vec::new();
        let mut line = String::new();
        let mut used = 0.0;
        let blank = self.width(" ", weight, size);
        for word in text.split(' ').filter(|word| !word.is_empty()) {
            let wide = self.width(word, weight, size);
            if !line.is_empty() && used + blank + wide > width {
                // Whoever hears it has no line ends: words stay apart.
                line.push(' ');
                lines.push(std::mem::take(&mut line));
                used = 0.0;
            }
            if wide > width {
                for letter in word.chars() {
                    let wide = self.width(letter.encode_utf8(&mut [0; 4]), weight, size);
                    if used + wide > width && !line.is_empty() {
                        lines.push(std::mem::take(&mut line));
                        used = 0.0;
                    }
                    line.push(letter);
                    used += wide;
                }
                continue;
            }
            if !line.is_empty() {
                line.push(' ');
                used += blank;
            }
            line.push_str(word);
            used += wide;
        }
        if !line.is_empty() {
            lines.push(line);
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fonts_can_be_read_and_hold_what_a_report_writes() {
        let letters = Letters::new().unwrap();
        for weight in [Weight::Regular, Weight::Bold] {
            for letter in "AZaz09 “”’·°×%−–½µΩ±²³éüßø:;,.()/&<>\"'".chars() {
                let shaped = letters.shape(&letter.to_string(), weight);
                assert!(shaped.iter().all(|it| it.glyph != 0), "{letter}");
            }
        }
    }

    #[test]
    fn no_line_is_wider_than_asked_for_and_no_letter_is_lost() {
        let letters = Letters::new().unwrap();
        let text =
            "The shaft is a long word: 0123456789abcdef0123456789abcdef0123456789abcdef done.";
        for width in [30.0, 90.0, 200.0] {
            let lines = letters.lines(text, Weight::Regular, 9.0, width);
            for line in &lines {
                assert!(
                    letters.width(line.trim_end(), Weight::Regular, 9.0) <= width + 0.5,
                    "{line}"
                );
            }
            assert_eq!(lines.concat().replace(' ', ""), text.replace(' ', ""));
        }
    }
}
