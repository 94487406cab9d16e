//! The thread that makes events of what the device brings.

use super::device::{Capture, Notice};
use super::{Listening, MicrophoneEvent, Wishes};
use crate::sound::echo::{Cancelling, Playback};
use crate::sound::endpoint::{EndPointer, Patience};
use crate::sound::noise::decibel;
use crate::sound::resample::ToSixteenKilohertz;
use crate::sound::{SAMPLE_RATE, mix_to_mono};
use crossbeam_channel::{Receiver, Sender, bounded, select, tick};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// Samples of one level reading: a tenth of a second.
const LEVEL: usize = SAMPLE_RATE as usize / 10;

/// A device that works brings sound at least ten times a second, silent or not. After this long without
/// any it is gone, whether or not it said so.
const SILENT_DEVICE: Duration = Duration::from_secs(3);

/// How long a device may take to close.
const CLOSING: Duration = Duration::from_secs(1);

/// How often it is looked at what was lost and whether sound still comes.
const LOOK: Duration = Duration::from_millis(200);

/// Runs until the microphone is dropped, nobody takes events any more, or the device is gone.
pub(super) fn run(
    capture: Capture,
    listening: Listening,
    wishes: &Wishes,
    events: &Sender<MicrophoneEvent>,
    stopped: &Receiver<()>,
) {
    let Some(converter) = ToSixteenKilohertz::from_rate(capture.rate) else {
        let reason = format!("it records at {} Hz, which can't be used", capture.rate);
        let _ = events.send(MicrophoneEvent::Lost { reason });
        return;
    };
    let mut ear = Ear {
        end_pointer: EndPointer::new(listening.end_pointing),
        cancelling: listening.reference.and_then(Cancelling::new),
        wishes,
        converter,
        level: Meter::default(),
        channels: capture.channels,
        came: Instant::now(),
        outbox: Outbox { events, stopped },
    };
    // What is over is over: closed by `Err`, whatever the reason.
    let Err(End { lost }) = ear.listen(&capture);
    close(capture);
    if let Some(reason) = lost {
        let _ = ear.outbox.send(MicrophoneEvent::Lost { reason });
    }
}

/// Closes the device before anyone is told of its end, so that it can be opened again at once. A sound
/// server that died can make the closing hang for ever; then it is left to a thread of its own.
fn close(capture: Capture) {
    let (done, closed) = bounded::<()>(0);
    let closing = std::thread::Builder::new()
        .name("microphone-close".to_owned())
        .spawn(move || {
            drop(capture);
            drop(done);
        });
    if closing.is_ok() {
        // Both ways out are the same to us: it closed, or we have waited long enough.
        let _ = closed.recv_timeout(CLOSING);
    }
}

/// Why listening ended; `lost` when the device is to blame.
struct End {
    lost: Option<String>,
}

impl End {
    const UNHEARD: Self = Self { lost: None };

    fn lost(reason: String) -> Self {
        Self { lost: Some(reason) }
    }
}

struct Ear<'a> {
    end_pointer: EndPointer,
    cancelling: Option<Cancelling>,
    wishes: &'a Wishes,
    converter: ToSixteenKilohertz,
    level: Meter,
    channels: usize,
    /// When the newest sound came from the device.
    came: Instant,
    outbox: Outbox<'a>,
}

impl Ear<'_> {
    fn listen(&mut self, capture: &Capture) -> Result<std::convert::Infallible, End> {
        let look = tick(LOOK);
        let (mut frames_lost, mut device_losses) = (0, 0);
        // Buffers still to come that may lie beside a loss: what waited in the channel when it was noticed.
        let mut beside_a_loss = 0;
        loop {
            select! {
                recv(self.outbox.stopped) -> _ => return Err(End::UNHEARD),
                recv(capture.notices) -> notice => match notice {
                    Ok(Notice::Xrun) => {
                        device_losses += 1;
                        self.end_pointer.lost_sound();
                        beside_a_loss = capture.sound.len() + 1;
                    }
                    Ok(Notice::Failed(reason)) => return Err(End::lost(reason)),
                    Err(_) => return Err(End::lost("the device closed".to_owned())),
                },
                recv(capture.sound) -> sound => {
                    let Ok(sound) = sound else {
                        return Err(End::lost("the device closed".to_owned()));
                    };
                    self.came = Instant::now();
                    let lost = capture.lost_frames.swap(0, Ordering::Relaxed);
                    if lost > 0 {
                        frames_lost += lost;
                        beside_a_loss = capture.sound.len() + 1;
                        self.end_pointer.lost_sound();
                    }
                    self.take(&sound)?;
                    if beside_a_loss > 0 {
                        beside_a_loss -= 1;
                        self.end_pointer.lost_sound();
                    }
                    // As many buffers as the channel has room for: it is never full.
                    let _ = capture.used.try_send(sound);
                }
                recv(look) -> _ => {
                    let frames = std::mem::take(&mut frames_lost);
                    let at_device = std::mem::take(&mut device_losses);
                    if frames > 0 || at_device > 0 {
                        self.outbox.send(MicrophoneEvent::Overrun { frames, at_device })?;
                    }
                    if self.came.elapsed() > SILENT_DEVICE {
                        let seconds = SILENT_DEVICE.as_secs();
                        return Err(End::lost(format!("no sound came for {seconds} seconds")));
                    }
                }
            }
        }
    }

    fn take(&mut self, sound: &[f32]) -> Result<(), End> {
        let mut samples = Vec::with_capacity(sound.len());
        self.converter
            .push(mix_to_mono(sound, self.channels), &mut samples);
        let wished = |silence: &AtomicU64| Duration::from_millis(silence.load(Ordering::Relaxed));
        self.end_pointer.set_patience(Patience {
            command: wished(&self.wishes.command),
            turn: wished(&self.wishes.turn),
        });
        if self.wishes.end_at_pause.swap(false, Ordering::Relaxed) {
            self.end_pointer.end_at_pause();
        }
        match self.cancelling.take() {
            Some(mut cancelling) => {
                let mut done = Ok(());
                cancelling.push(&samples, |cleaned| {
                    if done.is_ok() {
                        self.end_pointer.playing(cleaned.playback);
                        // While nothing plays there is nothing to be taken out.
                        done = match cleaned.playback {
                            Playback::Silent => {
                                self.listen_to(&cleaned.subtracted, &cleaned.subtracted)
                            }
                            Playback::Cancelled | Playback::Learning => {
                                self.listen_to(&cleaned.suppressed, &cleaned.subtracted)
                            }
                        };
                    }
                });
                self.cancelling = Some(cancelling);
                done
            }
            None => self.listen_to(&samples, &samples),
        }
    }

    fn listen_to(&mut self, samples: &[f32], kept: &[f32]) -> Result<(), End> {
        for event in self.end_pointer.push_beside(samples, kept) {
            self.outbox.send(MicrophoneEvent::Heard {
                event,
                at: self.came,
            })?;
        }
        for sample in samples {
            if let Some(rms_dbfs) = self.level.take(*sample) {
                let speech = self.end_pointer.hears_speech();
                let noise_dbfs = self.end_pointer.noise_dbfs();
                self.outbox.offer(MicrophoneEvent::Level {
                    rms_dbfs,
                    speech,
                    noise_dbfs,
                })?;
            }
        }
        Ok(())
    }
}

/// Sends events to whoever takes them, until the microphone is dropped.
struct Outbox<'a> {
    events: &'a Sender<MicrophoneEvent>,
    stopped: &'a Receiver<()>,
}

impl Outbox<'_> {
    /// Waits until there is room.
    fn send(&self, event: MicrophoneEvent) -> Result<(), End> {
        select! {
            send(self.events, event) -> sent => sent.map_err(|_| End::UNHEARD),
            recv(self.stopped) -> _ => Err(End::UNHEARD),
        }
    }

    /// Drops the event when there is no room: the next reading says the same better.
    fn offer(&self, event: MicrophoneEvent) -> Result<(), End> {
        match self.events.try_send(event) {
            Ok(()) | Err(crossbeam_channel::TrySendError::Full(_)) => Ok(()),
            Err(crossbeam_channel::TrySendError::Disconnected(_)) => Err(End::UNHEARD),
        }
    }
}

/// Root mean square over a tenth of a second.
#[derive(Default)]
struct Meter {
    sum: f32,
    count: usize,
}

impl Meter {
    fn take(&mut self, sample: f32) -> Option<f32> {
        self.sum += sample * sample;
        self.count += 1;
        (self.count == LEVEL).then(|| {
            let power = std::mem::take(&mut self.sum) / LEVEL as f32;
            self.count = 0;
            decibel(power)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_scale_square_wave_reads_nought_decibel_and_silence_the_least() {
        let mut meter = Meter::default();
        let read = |meter: &mut Meter, value: f32| {
            (0..LEVEL)
                .filter_map(|n| meter.take(if n % 2 == 0 { value } else { -value }))
                .last()
        };
        assert_eq!(read(&mut meter, 1.0), Some(0.0));
        assert_eq!(read(&mut meter, 0.0), Some(-120.0));
    }
}
