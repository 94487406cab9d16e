//! A shop's logo: a PNG or an SVG, looked at before anything is drawn with it.

use krilla::geom::Size;
use krilla::image::Image;
use krilla::surface::Surface;
use krilla_svg::{SurfaceExt, SvgSettings};
use std::io::Cursor;
use std::sync::Arc;

/// The largest file of a logo, in bytes.
pub const MAX_LOGO_BYTES: u64 = 1_000_000;

/// The most pixels across and down.
const MAX_SIDE: u32 = 4_000;

/// How many times longer than the other one side may be.
const MAX_RATIO: f32 = 20.0;

/// How much memory decoding may take, in bytes.
const MAX_DECODED: u64 = 200_000_000;

/// A shop's logo.
#[derive(Debug, Clone)]
pub struct Logo {
    bytes: Vec<u8>,
    picture: Picture,
    /// Across and down, in pixels or what an SVG has for them.
    size: (f32, f32),
    /// What is read out in its place.
    pub(crate) tells: String,
}

#[derive(Debug, Clone)]
enum Picture {
    Png(Image),
    Svg(Arc<usvg::Tree>),
}

impl PartialEq for Logo {
    fn eq(&self, other: &Self) -> bool {
        self.bytes == other.bytes && self.tells == other.tells
    }
}

/// Why a file is no logo.
#[derive(Debug, thiserror::Error)]
pub enum LogoError {
    #[error("it has {0} bytes, and a logo at most {MAX_LOGO_BYTES}: make it smaller")]
    TooLarge(u64),
    #[error("it is neither a PNG nor an SVG: save it as one of them")]
    Neither,
    #[error("the PNG can't be read: {0}. Save it anew")]
    Png(String),
    #[error("the SVG can't be read: {0}. Save it anew, as a plain SVG")]
    Svg(String),
    #[error(
        "it is {0} by {1} pixels: a logo has at most {MAX_SIDE} on a side, and one side at most {MAX_RATIO} times the other"
    )]
    Size(f32, f32),
}

impl Logo {
    /// Looks at a file. `tells` is read out in its place: the shop's name.
    ///
    /// # Errors
    /// When it is no picture of these kinds, or too large.
    pub fn read(bytes: Vec<u8>, tells: &str) -> Result<Self, LogoError> {
        let length = bytes.len() as u64;
        if length > MAX_LOGO_BYTES {
            return Err(LogoError::TooLarge(length));
        }
        let (picture, size) = match bytes.starts_with(b"\x89PNG") {
            true => png(&bytes)?,
            false => svg(&bytes)?,
        };
        let (width, height) = size;
        let side = MAX_SIDE as f32;
        let fits = (1.0..=side).contains(&width) && (1.0..=side).contains(&height);
        if !fits || width > MAX_RATIO * height || height > MAX_RATIO * width {
            return Err(LogoError::Size(width, height));
        }
        let tells = match tells.is_empty() {
            true => "The shop's logo".to_owned(),
            false => format!("Logo of {tells}"),
        };
        Ok(Self {
            bytes,
            picture,
            size,
            tells,
        })
    }

    /// Its file.
    pub(crate) fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    pub(crate) fn media_type(&self) -> &'static str {
        match self.picture {
            Picture::Png(_) => "image/png",
            Picture::Svg(_) => "image/svg+xml",
        }
    }

    /// As large as it fits into this area.
    pub(crate) fn fitted(&self, width: f32, height: f32) -> (f32, f32) {
        let (wide, high) = self.size;
        let scale = (width / wide).min(height / high);
        (wide * scale, high * scale)
    }

    pub(crate) fn draw(&self, surface: &mut Surface<'_>, size: Size) {
        match &self.picture {
            Picture::Png(image) => surface.draw_image(image.clone(), size),
            Picture::Svg(tree) => {
                // A size that a page has room for is one that it can be drawn in.
                let _ = surface.draw_svg(tree, size, SvgSettings::default());
            }
        }
    }
}

/// A PNG is decoded once, so that none can fail when a report is written.
fn png(bytes: &[u8]) -> Result<(Picture, (f32, f32)), LogoError> {
    let failed = |what: String| LogoError::Png(what);
    let mut limits = image::Limits::default();
    limits.max_image_width = Some(MAX_SIDE);
    limits.max_image_height = Some(MAX_SIDE);
    limits.max_alloc = Some(MAX_DECODED);
    let mut reader = image::ImageReader::with_format(Cursor::new(bytes), image::ImageFormat::Png);
    reader.limits(limits);
    let decoded = reader.decode().map_err(|error| failed(error.to_string()))?;
    let size = (decoded.width() as f32, decoded.height() as f32);
    let image = Image::from_png(bytes.to_vec().into(), true).map_err(failed)?;
    Ok((Picture::Png(image), size))
}

/// What an SVG links to is left out, and so is text: a report has no fonts but its own.
fn svg(bytes: &[u8]) -> Result<(Picture, (f32, f32)), LogoError> {
    let text = std::str::from_utf8(bytes).map_err(|_| LogoError::Neither)?;
    if !text.contains("<svg") {
        return Err(LogoError::Neither);
    }
    let options = usvg::Options {
        image_href_resolver: usvg::ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(text, &options);
    let tree = tree.map_err(|error| LogoError::Svg(error.to_string()))?;
    let size = (tree.size().width(), tree.size().height());
    Ok((Picture::Svg(Arc::new(tree)), size))
}
