//! Photos as evidence.
//!
//! A photo is decoded and encoded anew before it is kept, turned upright, and no larger than a report needs.
//! So only what can be seen in it goes into the record: where and with what it was taken, and whatever else
//! was in the file, stays outside.

use crate::{JobId, RecordError, sound};
use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::io::Cursor;
use std::path::Path;

/// The largest file that is taken, in bytes.
pub const MAX_BYTES: u64 = 30 * 1024 * 1024;

/// The most pixels on a side that is decoded.
const MAX_SIDE: u32 = 16_384;

/// The most memory for decoding, in bytes.
const MAX_MEMORY: u64 = 512 * 1024 * 1024;

/// Pixels on the longer side of what is kept.
const KEPT_SIDE: u32 = 1600;

/// Of a hundred: small blemishes stay visible.
const QUALITY: u8 = 85;

/// The folder of photos, one folder a job in it.
pub(crate) const PHOTOS: &str = "photos";

/// A photo that was attached to a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Photo {
    /// Where it is kept, from the records' folder; its SHA-256 stands in its name.
    pub path: String,
    /// The name of the file that was given.
    pub given: String,
    /// SHA-256 of the file that was given, which is not kept.
    pub given_sha256: String,
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
}

/// A photo that is kept in the records' folder, and that no record names yet; see [`JournaledJob::attach`](crate::JournaledJob::attach).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptPhoto {
    pub(crate) job: JobId,
    pub(crate) note: u64,
    pub(crate) photo: Photo,
}

impl KeptPhoto {
    /// The photo.
    pub fn photo(&self) -> &Photo {
        &self.photo
    }
}

/// Takes a photo into the records' folder.
pub(crate) fn keep(
    folder: &Path,
    job: &JobId,
    given: &str,
    bytes: &[u8],
) -> Result<Photo, RecordError> {
    let refused = |what: String| RecordError::Photo {
        given: given.to_owned(),
        what,
    };
    if bytes.len() as u64 > MAX_BYTES {
        let most = MAX_BYTES / (1024 * 1024);
        return Err(refused(format!("it is larger than {most} MiB")));
    }
    let picture = decoded(bytes).map_err(refused)?;
    let (jpeg, width, height) = smaller(picture, KEPT_SIDE).map_err(refused)?;
    Ok(Photo {
        path: sound::keep_bytes(folder, PHOTOS, job, "photo", "jpg", &jpeg)?,
        given: given.to_owned(),
        given_sha256: format!("{:x}", Sha256::digest(bytes)),
        width,
        height,
    })
}

/// A kept photo for showing, as JPEG no larger than this on its longer side, with its size. `None` when it
/// isn't there, or isn't as it was kept.
pub(crate) fn shown(folder: &Path, photo: &Photo, side: u32) -> Option<(Vec<u8>, u32, u32)> {
    if sound::look_at(folder, &photo.path) != crate::SoundState::Whole {
        return None;
    }
    let bytes = std::fs::read(folder.join(&photo.path)).ok()?;
    smaller(decoded(&bytes).ok()?, side).ok()
}

/// The picture in a file, upright. What it is, is told by its content and not by its name.
fn decoded(bytes: &[u8]) -> Result<DynamicImage, String> {
    let unreadable = |error: image::ImageError| format!("it can't be read as a picture: {error}");
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|error| error.to_string())?;
    match reader.format() {
        Some(ImageFormat::Jpeg | ImageFormat::Png) => {}
        Some(_) | None => return Err("it is neither a JPEG nor a PNG file".to_owned()),
    }
    let mut limits = Limits::default();
    limits.max_image_width = Some(MAX_SIDE);
    limits.max_image_height = Some(MAX_SIDE);
    limits.max_alloc = Some(MAX_MEMORY);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(unreadable)?;
    let upright = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let mut picture = DynamicImage::from_decoder(decoder).map_err(unreadable)?;
    picture.apply_orientation(upright);
    Ok(picture)
}

fn smaller(picture: DynamicImage, side: u32) -> Result<(Vec<u8>, u32, u32), String> {
    let picture = if picture.width().max(picture.height()) > side {
        picture.resize(side, side, image::imageops::FilterType::Triangle)
    } else {
        picture
    };
    // JPEG knows no transparency: what shows through is white, as the paper is.
    let mut paper = image::RgbaImage::from_pixel(
        picture.width(),
        picture.height(),
        image::Rgba([255, 255, 255, 255]),
    );
    image::imageops::overlay(&mut paper, &picture.to_rgba8(), 0, 0);
    let flat = DynamicImage::ImageRgba8(paper).to_rgb8();
    let mut jpeg = Vec::new();
    flat.write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, QUALITY))
        .map_err(|error| format!("it can't be made smaller: {error}"))?;
    Ok((jpeg, flat.width(), flat.height()))
}
