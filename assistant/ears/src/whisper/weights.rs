//! Reads CTranslate2's `model.bin` (binary version 6): the format version, the name and revision of the
//! model's specification, then each variable's name, dimensions, type and data, all little-endian.
//!
//! The pinned file is read as it is: reading takes no longer than a converted copy would, and there is one
//! file less that could be stale.

use crate::RecogniserError;
use half::f16;
use half::slice::HalfFloatSliceExt;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::fs::File;
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

const FLOAT16: u8 = 4;
const FLOAT32: u8 = 0;

/// Bytes read at once: the file is never in memory in full.
const PIECE: usize = 1 << 18;

/// How exactly the model computes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Precision {
    /// Weights in single precision.
    Single,
    /// Weights rounded to eight bits: [`super::rounded`].
    Quantized,
}

/// One array of numbers as it stands in the file.
struct Variable {
    dimensions: Vec<usize>,
    kind: u8,
    bytes: std::ops::Range<u64>,
}

/// All variables of the file.
pub struct Weights {
    /// How they are to be kept.
    pub precision: Precision,
    path: PathBuf,
    file: Mutex<File>,
    variables: HashMap<String, Variable>,
}

impl Weights {
    /// Opens the file and lists its variables.
    pub fn open(path: &Path, precision: Precision) -> Result<Self, RecogniserError> {
        let unusable = |reason: String| RecogniserError::Unusable {
            path: path.to_owned(),
            reason,
        };
        let file = File::open(path).map_err(|error| match error.kind() {
            std::io::ErrorKind::NotFound => RecogniserError::Missing {
                what: "the default ear's weights file".to_owned(),
                path: path.to_owned(),
                remedy: "run `cargo xtask setup`".to_owned(),
            },
            _ => unusable(error.to_string()),
        })?;
        let length = file
            .metadata()
            .map_err(|error| unusable(error.to_string()))?
            .len();
        let variables = Cursor {
            bytes: BufReader::new(&file),
            at: 0,
            length,
        }
        .variables()
        .map_err(|reason| unusable(reason.to_owned()))?;
        Ok(Self {
            precision,
            path: path.to_owned(),
            file: Mutex::new(file),
            variables,
        })
    }

    /// SHA-256 of the file, in hexadecimal.
    pub fn sha256(&self) -> Result<String, RecogniserError> {
        let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        let mut hasher = Sha256::new();
        file.rewind()
            .and_then(|()| std::io::copy(&mut BufReader::with_capacity(PIECE, &*file), &mut hasher))
            .map_err(|error| self.unusable(error.to_string()))?;
        let digest = hasher.finalize();
        Ok(digest.iter().map(|byte| format!("{byte:02x}")).collect())
    }

    /// Hands the bytes of a variable over, piece after piece, each a whole number of four bytes but the last.
    fn read(
        &self,
        variable: &Variable,
        mut take: impl FnMut(&[u8]),
    ) -> Result<(), RecogniserError> {
        let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        let failed = |error: std::io::Error| self.unusable(error.to_string());
        file.seek(SeekFrom::Start(variable.bytes.start))
            .map_err(failed)?;
        let mut left = (variable.bytes.end - variable.bytes.start) as usize;
        let mut piece = vec![0; PIECE.min(left)];
        while left > 0 {
            let piece = &mut piece[..PIECE.min(left)];
            file.read_exact(piece).map_err(failed)?;
            take(piece);
            left -= piece.len();
        }
        Ok(())
    }

    /// Why the file can't be used, as an error.
    pub fn unusable(&self, reason: impl Into<String>) -> RecogniserError {
        RecogniserError::Unusable {
            path: self.path.clone(),
            reason: reason.into(),
        }
    }

    /// The dimensions of a variable.
    pub fn dimensions(&self, name: &str) -> Result<&[usize], RecogniserError> {
        Ok(&self.variable(name)?.dimensions)
    }

    /// A variable that must have these dimensions, in single precision.
    pub fn array(&self, name: &str, dimensions: &[usize]) -> Result<Vec<f32>, RecogniserError> {
        let variable = self.checked(name, dimensions)?;
        match variable.kind {
            FLOAT16 => {
                let halves = self.halves(name, dimensions)?;
                let mut singles = vec![0.0; halves.len()];
                halves.convert_to_f32_slice(&mut singles);
                Ok(singles)
            }
            FLOAT32 => {
                let mut singles = Vec::with_capacity(dimensions.iter().product());
                self.read(variable, |piece| {
                    singles.extend(
                        piece
                            .as_chunks::<4>()
                            .0
                            .iter()
                            .copied()
                            .map(f32::from_le_bytes),
                    );
                })?;
                Ok(singles)
            }
            kind => Err(self.unusable(format!("`{name}` has the unknown type {kind}"))),
        }
    }

    /// A variable that must have these dimensions and be stored in half precision, as stored.
    pub fn halves(&self, name: &str, dimensions: &[usize]) -> Result<Vec<f16>, RecogniserError> {
        let variable = self.checked(name, dimensions)?;
        if variable.kind != FLOAT16 {
            return Err(self.unusable(format!("`{name}` isn't in half precision")));
        }
        let mut halves = Vec::with_capacity(dimensions.iter().product());
        self.read(variable, |piece| {
            halves.extend(
                piece
                    .as_chunks::<2>()
                    .0
                    .iter()
                    .copied()
                    .map(f16::from_le_bytes),
            );
        })?;
        Ok(halves)
    }

    fn variable(&self, name: &str) -> Result<&Variable, RecogniserError> {
        self.variables
            .get(name)
            .ok_or_else(|| self.unusable(format!("it holds no `{name}`")))
    }

    fn checked(&self, name: &str, dimensions: &[usize]) -> Result<&Variable, RecogniserError> {
        let variable = self.variable(name)?;
        let width = if variable.kind == FLOAT16 { 2 } else { 4 };
        if variable.dimensions != dimensions
            || variable.bytes.end - variable.bytes.start
                != (dimensions.iter().product::<usize>() * width) as u64
        {
            return Err(self.unusable(format!(
                "`{name}` measures {:?} and should measure {dimensions:?}",
                variable.dimensions
            )));
        }
        Ok(variable)
    }
}

/// Where a file was read to.
struct Cursor<R> {
    bytes: R,
    at: u64,
    length: u64,
}

impl<R: Read + Seek> Cursor<R> {
    fn variables(mut self) -> Result<HashMap<String, Variable>, &'static str> {
        if self.number(4)? != 6 {
            return Err("it isn't a CTranslate2 model of binary version 6");
        }
        if self.name()? != "WhisperSpec" {
            return Err("it isn't a Whisper model");
        }
        let _revision = self.number(4)?;
        let count = self.number(4)?;
        let mut variables = HashMap::new();
        for _ in 0..count {
            let name = self.name()?;
            let rank = self.number(1)?;
            let dimensions = (0..rank)
                .map(|_| self.number(4))
                .collect::<Result<_, _>>()?;
            let kind = self.number(1)? as u8;
            let length = self.number(4)?;
            let bytes = self.skip(length)?;
            variables.insert(
                name,
                Variable {
                    dimensions,
                    kind,
                    bytes,
                },
            );
        }
        Ok(variables)
    }

    /// Where the next bytes lie.
    fn next(&mut self, length: usize) -> Result<std::ops::Range<u64>, &'static str> {
        let end = self
            .at
            .checked_add(length as u64)
            .filter(|end| *end <= self.length);
        let end = end.ok_or(CUT_SHORT)?;
        let range = self.at..end;
        self.at = end;
        Ok(range)
    }

    fn skip(&mut self, length: usize) -> Result<std::ops::Range<u64>, &'static str> {
        let range = self.next(length)?;
        self.bytes
            .seek_relative(length as i64)
            .map_err(|_| CUT_SHORT)?;
        Ok(range)
    }

    fn take(&mut self, length: usize) -> Result<Vec<u8>, &'static str> {
        self.next(length)?;
        let mut bytes = vec![0; length];
        self.bytes.read_exact(&mut bytes).map_err(|_| CUT_SHORT)?;
        Ok(bytes)
    }

    fn number(&mut self, width: usize) -> Result<usize, &'static str> {
        let bytes = self.take(width)?;
        Ok(bytes
            .iter()
            .rev()
            .fold(0, |number, byte| number << 8 | usize::from(*byte)))
    }

    /// A name: its length in two bytes, which counts the zero byte at its end.
    fn name(&mut self) -> Result<String, &'static str> {
        let length = self.number(2)?;
        let bytes = self.take(length)?;
        let name = String::from_utf8(bytes).map_err(|_| "a name in it isn't text")?;
        Ok(name.trim_end_matches('\0').to_owned())
    }
}

const CUT_SHORT: &str = "it is cut short";

#[cfg(test)]
mod tests {
    use super::*;

    fn reason(bytes: &[u8]) -> &'static str {
        let cursor = Cursor {
            bytes: std::io::Cursor::new(bytes),
            at: 0,
            length: bytes.len() as u64,
        };
        cursor.variables().err().expect("refused")
    }

    #[test]
    fn what_is_no_model_is_refused_with_its_reason() {
        assert_eq!(reason(b""), "it is cut short");
        assert_eq!(
            reason(b"RIFFxxxxWAVE"),
            "it isn't a CTranslate2 model of binary version 6"
        );
        assert_eq!(reason(b"\x06\0\0\0\x04\0abc\0"), "it isn't a Whisper model");
        let mut cut = b"\x06\0\0\0\x0c\0WhisperSpec\0\x03\0\0\0\xff\0\0\0".to_vec();
        assert_eq!(reason(&cut), "it is cut short");
        cut.extend(b"\x02\0a\0\x01\xff\xff\xff\xff\x04\xff\xff\xff\xff");
        assert_eq!(reason(&cut), "it is cut short");
    }
}
