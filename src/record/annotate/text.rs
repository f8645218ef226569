//! Text: glyphs are rasterised once a size and kept; lines are measured, wrapped and cut short with "…".

use ab_glyph::{Font, FontRef, GlyphId, PxScale, ScaleFont};

use super::canvas::{Canvas, PAPER};

/// DejaVu Sans, cut down to Latin, Greek and Cyrillic; see `face.LICENCE.txt`.
static FACE: &[u8] = include_bytes!("../face.ttf");
/// Characters whose glyph is looked up once and for all: Latin, Greek and Cyrillic.
const KNOWN_CHARACTERS: u32 = 0x500;
/// Sizes kept before all are dropped: a bound on memory that no ordinary survey reaches.
const MOST_STYLES: usize = 48;
/// Characters of one text that are looked at: more fits no sheet.
const MOST_CHARACTERS: usize = 4000;

/// How heavy the strokes of the text are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Weight {
    Regular,
    Bold,
}

/// Size in pixels of the sheet, and weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Style {
    pub(super) px: i32,
    pub(super) weight: Weight,
}

impl Style {
    pub(super) const fn regular(px: i32) -> Self {
        Self {
            px,
            weight: Weight::Regular,
        }
    }

    pub(super) const fn bold(px: i32) -> Self {
        Self {
            px,
            weight: Weight::Bold,
        }
    }

    /// From one line to the next.
    pub(super) const fn line_px(self) -> i32 {
        self.px * 4 / 3
    }

    /// Height of capitals, about 0.73 of the size in this face.
    pub(super) const fn capital_px(self) -> i32 {
        (self.px * 73 + 50) / 100
    }
}

/// A rasterised character: coverage 0..=15 row by row, placed from the pen on the baseline.
struct Glyph {
    left: i32,
    top: i32,
    columns: usize,
    coverage: Vec<u8>,
    advance_px: f32,
}

/// The face with the glyphs rasterised so far.
pub(super) struct Face {
    font: FontRef<'static>,
    /// Glyph of each of the known characters.
    ids: Vec<GlyphId>,
    sizes: Vec<Size>,
}

/// The glyphs of one style by their number in the face.
struct Size {
    style: Style,
    glyphs: Vec<Option<Glyph>>,
}

impl Face {
    /// Reads the embedded face.
    pub(super) fn read() -> Result<Self, ab_glyph::InvalidFont> {
        let font = FontRef::try_from_slice(FACE)?;
        let known = (0..KNOWN_CHARACTERS).map(|code| char::from_u32(code).unwrap_or(' '));
        let ids = known.map(|character| font.glyph_id(character)).collect();
        Ok(Self {
            font,
            ids,
            sizes: Vec::new(),
        })
    }

    /// A character that the face lacks comes out as the face's own empty box, glyph 0.
    fn glyph(&mut self, character: char, style: Style) -> &Glyph {
        let known = self.ids.get(character as usize).copied();
        let id = known.unwrap_or_else(|| self.font.glyph_id(character));
        let place = self
            .sizes
            .iter()
            .position(|size| size.style == style)
            .unwrap_or_else(|| self.add_size(style));
        let glyphs = &mut self.sizes[place].glyphs;
        let number = usize::from(id.0);
        if number >= glyphs.len() {
            glyphs.resize_with(number + 1, || None);
        }
        glyphs[number].get_or_insert_with(|| rasterise(&self.font, id, style))
    }

    fn add_size(&mut self, style: Style) -> usize {
        if self.sizes.len() >= MOST_STYLES {
            self.sizes.clear();
        }
        self.sizes.push(Size {
            style,
            glyphs: Vec::new(),
        });
        self.sizes.len() - 1
    }

    fn advance_px(&mut self, text: &str, style: Style) -> f32 {
        text.chars().map(|c| self.glyph(c, style).advance_px).sum()
    }

    /// Width of a text in pixels.
    pub(super) fn width_px(&mut self, text: &str, style: Style) -> i32 {
        let advance: f32 = legible(text).map(|c| self.glyph(c, style).advance_px).sum();
        advance.ceil() as i32
    }

    /// Breaks a text into lines of at most `width_px`, at most `most` of them, the last cut short if need be.
    pub(super) fn wrap(&mut self, text: &str, style: Style, width_px: i32, most: usize) -> Vec<String> {
        let text: String = legible(text).collect();
        let room_px = width_px as f32;
        let space_px = self.advance_px(" ", style);
        let mut lines: Vec<String> = Vec::new();
        let (mut line, mut line_px) = (String::new(), 0.0);
        for word in text.split(' ').filter(|word| !word.is_empty()) {
            let word_px = self.advance_px(word, style);
            if !line.is_empty() && line_px + space_px + word_px <= room_px {
                line.push(' ');
                line.push_str(word);
                line_px += space_px + word_px;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            if lines.len() > most {
                break;
            }
            line = self.split_word(word, style, room_px, &mut lines);
            line_px = self.advance_px(&line, style);
        }
        lines.extend(Some(line).filter(|line| !line.is_empty()));
        if lines.len() > most {
            lines.truncate(most);
            if let Some(last) = lines.last_mut() {
                *last = self.elide(&format!("{last} …"), style, width_px);
            }
        }
        lines
    }

    /// Pushes full lines of a word that is wider than a line, and gives what is left of it.
    fn split_word(&mut self, word: &str, style: Style, room_px: f32, lines: &mut Vec<String>) -> String {
        let (mut part, mut part_px) = (String::new(), 0.0);
        for character in word.chars() {
            let advance_px = self.glyph(character, style).advance_px;
            if part_px + advance_px > room_px && !part.is_empty() {
                lines.push(std::mem::take(&mut part));
                part_px = 0.0;
            }
            part.push(character);
            part_px += advance_px;
        }
        part
    }

    /// The text, or as much of its beginning as fits with "…" after it.
    pub(super) fn elide(&mut self, text: &str, style: Style, width_px: i32) -> String {
        if self.width_px(text, style) <= width_px {
            return legible(text).collect();
        }
        let room = width_px as f32 - self.glyph('…', style).advance_px;
        let (mut kept, mut used) = (String::new(), 0.0);
        for character in legible(text) {
            used += self.glyph(character, style).advance_px;
            if used > room {
                break;
            }
            kept.push(character);
        }
        format!("{}…", kept.trim_end_matches([' ', '…']))
    }

    /// Writes dark text on paper, its pen starting at `left` on the baseline.
    pub(super) fn write(&mut self, canvas: &mut Canvas, text: &str, style: Style, (left, baseline): (i32, i32)) {
        let mut pen = left as f32;
        for character in legible(text) {
            let glyph = self.glyph(character, style);
            let (left, top) = (pen.round() as i32 + glyph.left, baseline + glyph.top);
            pen += glyph.advance_px;
            // Columns left of the sheet are clipped off the span; they are skipped in the glyph alike.
            let skipped = left.min(0).unsigned_abs() as usize;
            for (y, line) in (top..).zip(glyph.coverage.chunks(glyph.columns.max(1))) {
                let covered = line.get(skipped..).unwrap_or_default();
                for (index, coverage) in canvas.span(y, left, left + line.len() as i32).iter_mut().zip(covered) {
                    *index = (*index).min(PAPER - coverage);
                }
            }
        }
    }
}

/// The characters to draw: controls become spaces, marks that only steer the direction or joining of text are left out.
fn legible(text: &str) -> impl Iterator<Item = char> {
    let steering =
        |c: char| matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}');
    let shown = text.chars().filter(move |&c| !steering(c));
    shown
        .map(|c| if c.is_control() { ' ' } else { c })
        .take(MOST_CHARACTERS)
}

fn rasterise(font: &FontRef<'static>, id: GlyphId, style: Style) -> Glyph {
    // The face's size is stated as its em square; ab_glyph's as ascent to descent.
    let em = font.units_per_em().unwrap_or(2048.0);
    let scale = PxScale::from(style.px as f32 * font.height_unscaled() / em);
    let advance_px = font.as_scaled(scale).h_advance(id);
    let thickening = match style.weight {
        Weight::Regular => 0,
        Weight::Bold => (style.px as usize / 14).max(1),
    };
    let blank = Glyph {
        left: 0,
        top: 0,
        columns: 0,
        coverage: Vec::new(),
        advance_px,
    };
    let Some(outlined) = font.outline_glyph(id.with_scale(scale)) else {
        return blank;
    };
    let bounds = outlined.px_bounds();
    let (columns, rows) = (bounds.width() as usize + thickening, bounds.height() as usize);
    let mut coverage = vec![0_u8; columns * rows];
    outlined.draw(|x, y, covered| {
        let level = (covered.clamp(0.0, 1.0) * f32::from(PAPER)).round() as u8;
        let at = y as usize * columns + x as usize;
        for place in coverage.get_mut(at..=at + thickening).unwrap_or_default() {
            *place = (*place).max(level);
        }
    });
    let advance_px = advance_px + thickening as f32 * 0.7;
    Glyph {
        left: bounds.min.x as i32,
        top: bounds.min.y as i32,
        columns,
        coverage,
        advance_px,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BODY: Style = Style::regular(20);

    fn face() -> Face {
        Face::read().unwrap()
    }

    #[test]
    fn wrapped_lines_fit_and_lose_no_word() {
        let text =
            "Sound jacket 17.2 °C, expected 17.0 ± 0.6 °C; dew point 9.4 °C; air 21.0 °C, 47 % relative humidity";
        let lines = face().wrap(text, BODY, 300, 20);
        assert!(lines.len() > 3);
        assert_eq!(lines.join(" "), text);
        assert!(lines.iter().all(|line| face().width_px(line, BODY) <= 300));
    }

    #[test]
    fn a_text_too_long_ends_in_an_ellipsis() {
        let lines = face().wrap(&"word ".repeat(500), BODY, 200, 3);
        assert_eq!(lines.len(), 3);
        assert!(
            lines[2].ends_with('…') && face().width_px(&lines[2], BODY) <= 200,
            "{lines:?}"
        );
        let one = face().elide("a tag far too long for its column", BODY, 120);
        assert!(
            one.starts_with("a tag") && one.ends_with('…') && face().width_px(&one, BODY) <= 120,
            "{one}"
        );
        assert_eq!(face().elide("short", BODY, 120), "short");
    }

    #[test]
    fn a_word_wider_than_the_line_is_broken() {
        let word = "x".repeat(100);
        let lines = face().wrap(&word, BODY, 150, 50);
        assert!(lines.len() > 5);
        assert_eq!(lines.concat(), word);
    }

    #[test]
    fn the_signs_of_the_trade_are_in_the_face_and_others_become_a_box() {
        let face = face();
        for sign in "°±²³µ×–—…→≤≥ÅéłøßΔλε≈Жя".chars() {
            assert_ne!(face.font.glyph_id(sign).0, 0, "{sign}");
        }
        assert_eq!(face.font.glyph_id('漢').0, 0);
        let mut canvas = Canvas::blank(40, 40, 40);
        Face::read().unwrap().write(&mut canvas, "漢", BODY, (5, 30));
        assert!(
            canvas.indices().contains(&0),
            "the box for a missing character has no outline"
        );
    }

    #[test]
    fn controls_and_steering_marks_do_not_reach_the_sheet() {
        assert_eq!(legible("a\u{202e}b\nc\u{7}d\u{200b}").collect::<String>(), "ab c d");
        assert_eq!(legible(&"x".repeat(9000)).count(), MOST_CHARACTERS);
    }

    #[test]
    fn writing_off_the_sheet_is_harmless() {
        let mut canvas = Canvas::blank(10, 10, 10);
        face().write(&mut canvas, "VA-102", BODY, (-30, 4));
        face().write(&mut canvas, "VA-102", BODY, (5, 400));
        assert_eq!(canvas.indices().len(), 100);
        // What is left in view of a text that begins off the sheet is what a wider sheet shows there.
        let (mut whole, mut part) = (Canvas::blank(60, 20, 20), Canvas::blank(60, 20, 20));
        face().write(&mut whole, "VA-102", BODY, (20, 18));
        face().write(&mut part, "VA-102", BODY, (-5, 18));
        let shifted = |n: usize| part.indices()[n * 60..n * 60 + 30] == whole.indices()[n * 60 + 25..n * 60 + 55];
        assert!((0..20).all(shifted));
    }
}
