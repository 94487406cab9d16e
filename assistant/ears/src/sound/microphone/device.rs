//! Devices, and the callback that copies.

use super::MicrophoneError;
use crate::sound::SAMPLE_RATE;
use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{ErrorKind, FromSample, Sample, SampleFormat, SizedSample, SupportedStreamConfig};
use crossbeam_channel::{Receiver, Sender, bounded};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Buffers between the callback and the thread. The usual callback brings 24 to 128 ms, so they hold
/// more than a second and a half.
const BUFFERS: usize = 64;

/// Samples that a buffer has room for without asking for memory in the callback.
const ROOM: usize = 32_768;

/// A sound device that can be listened to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeviceListing {
    /// What to call it when opening it.
    pub name: String,
    /// What it is, in the system's words.
    pub description: String,
    /// Whether it is the one that is opened when none is named.
    pub usual: bool,
    /// Whether there is a microphone behind it: a device of a sound card, or something that can be listened to now.
    /// The others are names that the sound system knows whatever is plugged in.
    pub real: bool,
}

/// The devices that can be listened to, those with a microphone behind them first.
pub fn devices() -> Result<Vec<DeviceListing>, MicrophoneError> {
    hush();
    let host = cpal::default_host();
    let usual = host.default_input_device().and_then(|device| name(&device));
    let mut all: Vec<DeviceListing> = inputs(&host)?
        .into_iter()
        .map(|found| DeviceListing {
            description: describe(&found.device),
            usual: usual.as_ref() == Some(&found.name),
            real: is_real(&found),
            name: found.name,
        })
        .collect();
    all.sort_by_key(|it| !it.real);
    Ok(all)
}

/// Whether there is a microphone behind it. One that another program holds can't be listened to now, but its card
/// is in its name. ALSA's `null` can be listened to, and is always silent; `jack` writes to standard error by itself
/// when it is asked and no server runs.
fn is_real(found: &Found) -> bool {
    let by_itself = matches!(found.name.as_str(), "null" | "jack");
    found.name.contains("CARD=") || !by_itself && found.device.default_input_config().is_ok()
}

/// From here on what the sound library writes to standard error on this thread is kept from it: it tells of each
/// plug-in that it tries. What goes wrong is told by the errors.
fn hush() {
    #[cfg(target_os = "linux")]
    // Where that fails, the messages are only a nuisance.
    let _ = alsa::Output::local_error_handler();
}

pub(super) struct Found {
    pub(super) name: String,
    device: cpal::Device,
}

fn inputs(host: &cpal::Host) -> Result<Vec<Found>, MicrophoneError> {
    let all = host
        .input_devices()
        .map_err(|e| MicrophoneError::Devices(e.to_string()))?;
    Ok(all
        .filter_map(|device| {
            Some(Found {
                name: name(&device)?,
                device,
            })
        })
        .collect())
}

fn name(device: &cpal::Device) -> Option<String> {
    device.id().ok().map(|id| id.id().to_owned())
}

fn describe(device: &cpal::Device) -> String {
    device
        .description()
        .map(|d| d.to_string())
        .unwrap_or_default()
}

pub(super) fn find(wanted: Option<&str>) -> Result<Found, MicrophoneError> {
    hush();
    let host = cpal::default_host();
    let Some(wanted) = wanted else {
        let device = host
            .default_input_device()
            .ok_or(MicrophoneError::NoDevice)?;
        return Ok(Found {
            name: name(&device).unwrap_or_else(|| "default".to_owned()),
            device,
        });
    };
    let all = inputs(&host)?;
    let known = all
        .iter()
        .map(|f| f.name.as_str())
        .collect::<Vec<_>>()
        .join(", ");
    all.into_iter()
        .find(|found| found.name == wanted || describe(&found.device) == wanted)
        .ok_or_else(|| MicrophoneError::NoSuchDevice {
            name: wanted.to_owned(),
            known,
        })
}

/// What the device says besides sound.
pub(super) enum Notice {
    /// It lost sound by itself.
    Xrun,
    /// It can't go on.
    Failed(String),
}

/// A running device.
pub(super) struct Capture {
    /// Buffers of interleaved samples, −1 to 1.
    pub(super) sound: Receiver<Vec<f32>>,
    /// Takes buffers back when they were used.
    pub(super) used: Sender<Vec<f32>>,
    pub(super) notices: Receiver<Notice>,
    /// Frames that found no free buffer, since it was last read.
    pub(super) lost_frames: Arc<AtomicU64>,
    pub(super) rate: u32,
    pub(super) channels: usize,
    /// Kept for its drop, which closes the device.
    _stream: cpal::Stream,
}

impl Capture {
    pub(super) fn start(found: Found) -> Result<Self, MicrophoneError> {
        let unusable = |reason: String| MicrophoneError::Unusable {
            name: found.name.clone(),
            reason,
        };
        let config = choose(&found.device).map_err(unusable)?;
        let (sound_in, sound) = bounded(BUFFERS);
        let (used, free) = bounded(BUFFERS);
        for _ in 0..BUFFERS {
            // The channel was made for exactly this many.
            let _ = used.try_send(Vec::with_capacity(ROOM));
        }
        let lost_frames = Arc::new(AtomicU64::new(0));
        let copier = Copier {
            free,
            sound: sound_in,
            lost_frames: Arc::clone(&lost_frames),
            channels: usize::from(config.channels()).max(1),
        };
        let (notices_in, notices) = bounded(16);
        let stream = build(&found.device, config, copier, notices_in)
            .and_then(|stream| stream.play().map(|()| stream))
            .map_err(|error| unusable(error.to_string()))?;
        Ok(Self {
            sound,
            used,
            notices,
            lost_frames,
            rate: config.sample_rate(),
            channels: usize::from(config.channels()),
            _stream: stream,
        })
    }
}

/// The device's form of sound that needs the least work and loses the least: few channels, 16 kHz
/// or else its usual rate, 16 bits or float rather than others.
fn choose(device: &cpal::Device) -> Result<SupportedStreamConfig, String> {
    let usual = device
        .default_input_config()
        .map_err(|error| error.to_string())?;
    let ranges = device
        .supported_input_configs()
        .map_err(|error| error.to_string())?;
    Ok(ranges
        .filter(|range| format_cost(range.sample_format()).is_some())
        .map(|range| {
            let wanted = if range.contains_rate(SAMPLE_RATE) {
                SAMPLE_RATE
            } else {
                usual.sample_rate()
            };
            range.with_sample_rate(wanted.clamp(range.min_sample_rate(), range.max_sample_rate()))
        })
        .min_by_key(|config| {
            (
                config.channels(),
                config.sample_rate().abs_diff(SAMPLE_RATE) != 0,
                config.sample_rate().abs_diff(usual.sample_rate()),
                format_cost(config.sample_format()),
            )
        })
        .unwrap_or(usual))
}

/// `None`: can't be read.
fn format_cost(format: SampleFormat) -> Option<u8> {
    // cpal may add formats.
    match format {
        SampleFormat::I16 => Some(0),
        SampleFormat::F32 => Some(1),
        SampleFormat::I32 => Some(2),
        SampleFormat::F64 => Some(3),
        SampleFormat::U16 => Some(4),
        SampleFormat::U32 => Some(5),
        SampleFormat::I8 => Some(6),
        SampleFormat::U8 => Some(7),
        _ => None,
    }
}

fn build(
    device: &cpal::Device,
    config: SupportedStreamConfig,
    copier: Copier,
    notices: Sender<Notice>,
) -> Result<cpal::Stream, cpal::Error> {
    match config.sample_format() {
        SampleFormat::I8 => build_as::<i8>(device, config, copier, notices),
        SampleFormat::I16 => build_as::<i16>(device, config, copier, notices),
        SampleFormat::I32 => build_as::<i32>(device, config, copier, notices),
        SampleFormat::U8 => build_as::<u8>(device, config, copier, notices),
        SampleFormat::U16 => build_as::<u16>(device, config, copier, notices),
        SampleFormat::U32 => build_as::<u32>(device, config, copier, notices),
        SampleFormat::F32 => build_as::<f32>(device, config, copier, notices),
        SampleFormat::F64 => build_as::<f64>(device, config, copier, notices),
        _ => Err(cpal::Error::new(ErrorKind::UnsupportedConfig)),
    }
}

fn build_as<T>(
    device: &cpal::Device,
    config: SupportedStreamConfig,
    copier: Copier,
    notices: Sender<Notice>,
) -> Result<cpal::Stream, cpal::Error>
where
    T: SizedSample,
    f32: FromSample<T>,
{
    device.build_input_stream::<T, _, _>(
        config.config(),
        move |samples, _| copier.copy(samples),
        move |error| {
            let notice = match error.kind() {
                ErrorKind::Xrun => Notice::Xrun,
                // Going on, if less well.
                ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied => return,
                _ => Notice::Failed(error.to_string()),
            };
            // Full: the thread has more than enough to know already.
            let _ = notices.try_send(notice);
        },
        None,
    )
}

/// Runs in the device's callback: copies, and never waits.
struct Copier {
    free: Receiver<Vec<f32>>,
    sound: Sender<Vec<f32>>,
    lost_frames: Arc<AtomicU64>,
    channels: usize,
}

impl Copier {
    fn copy<T>(&self, samples: &[T])
    where
        T: Sample,
        f32: FromSample<T>,
    {
        let passed_on = self.free.try_recv().is_ok_and(|mut buffer| {
            buffer.clear();
            buffer.extend(samples.iter().map(|sample| f32::from_sample(*sample)));
            self.sound.try_send(buffer).is_ok()
        });
        if !passed_on {
            let frames = (samples.len() / self.channels) as u64;
            self.lost_frames.fetch_add(frames, Ordering::Relaxed);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sound_that_finds_no_buffer_is_counted_and_none_is_waited_for() {
        let (sound_in, sound) = bounded(2);
        let (used, free) = bounded(2);
        used.send(Vec::new()).unwrap();
        let lost_frames = Arc::new(AtomicU64::new(0));
        let copier = Copier {
            free,
            sound: sound_in,
            lost_frames: Arc::clone(&lost_frames),
            channels: 2,
        };
        copier.copy(&[i16::MIN, 0, 16_384, 0]);
        copier.copy(&[0i16; 426]);
        assert_eq!(sound.recv().unwrap(), [-1.0, 0.0, 0.5, 0.0]);
        assert_eq!(lost_frames.load(Ordering::Relaxed), 213);
    }
}
