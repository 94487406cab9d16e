//! Jobs with sounds and photos.

use crate::harness::*;
use record::{Archive, JobId};
use steps::{Input, Mode};

/// A whole job with a sound for each thing that was said, and a photo that was attached afterwards.
pub fn work_with_evidence(archive: &Archive) -> JobId {
    let mut worked = begin(archive, Mode::Work);
    for (number, mut input) in whole_job().into_iter().enumerate() {
        if let Input::Said { heard, .. } = &mut input {
            let sound = [0.05 * number as f32; 80];
            heard.sound = Some(worked.keep_sound(&sound, "gate").unwrap());
        }
        worked.take(input, at(10 * (number as u64 + 1))).unwrap();
    }
    let id = worked.id().clone();
    drop(worked);
    archive
        .attach(&id, None, "hub.png", &photo(), at(900))
        .unwrap();
    id
}

/// A small PNG file.
pub fn photo() -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image::DynamicImage::new_rgb8(8, 8)
        .write_to(&mut bytes, image::ImageFormat::Png)
        .unwrap();
    bytes.into_inner()
}
