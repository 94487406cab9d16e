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
use std::path::{Path, PathBuf};

const FLOAT16: u8 = 4;
const FLOAT32: u8 = 0;

/// One array of numbers as it stands in the file.
struct Variable {
    dimensions: Vec<usize>,
    kind: u8,
    bytes: std::ops::Range<usize>,
}

/// All variables of the file.
pub struct Weights {
    path: PathBuf,
    file: Vec<u8>,
    variables: HashMap<String, Variable>,
}

impl Weights {
    /// Reads the file and lists its variables.
    pub fn read(path: &Path) -> Result<Self, RecogniserError> {
        let file = std::fs::read(path).map_err(|error| match error.kind() {
            std::io::ErrorKind::NotFound => RecogniserError::Missing {
                what: "the default ear's weights file".to_owned(),
                path: path.to_owned(),
                remedy: "run `cargo xtask setup`".to_owned(),
            },
            _ => RecogniserError::Unusable {
                path: path.to_owned(),
                reason: error.to_string(),
            },
        })?;
        let variables = Cursor {
            bytes: &file,
            at: 0,
        }
        .variables()
        .map_err(|reason| RecogniserError::Unusable {
            path: path.to_owned(),
            reason: reason.to_owned(),
        })?;
        Ok(Self {
            path: path.to_owned(),
            file,
            variables,
        })
    }

    /// SHA-256 of the file, in hexadecimal.
    pub fn sha256(&self) -> String {
        Sha256::digest(&self.file)
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect()
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
        let halves = |halves: Vec<f16>| {
            let mut singles = vec![0.0; halves.len()];
            halves.convert_to_f32_slice(&mut singles);
            singles
        };
        let variable = self.checked(name, dimensions)?;
        let bytes = &self.file[variable.bytes.clone()];
        match variable.kind {
            FLOAT16 => Ok(halves(self.halves(name, dimensions)?)),
            FLOAT32 => Ok(bytes
                .chunks_exact(4)
                .map(|four| f32::from_le_bytes([four[0], four[1], four[2], four[3]]))
                .collect()),
            kind => Err(self.unusable(format!("`{name}` has the unknown type {kind}"))),
        }
    }

    /// A variable that must have these dimensions and be stored in half precision, as stored.
    pub fn halves(&self, name: &str, dimensions: &[usize]) -> Result<Vec<f16>, RecogniserError> {
        let variable = self.checked(name, dimensions)?;
        if variable.kind != FLOAT16 {
            return Err(self.unusable(format!("`{name}` isn't in half precision")));
        }
        let bytes = &self.file[variable.bytes.clone()];
        Ok(bytes
            .chunks_exact(2)
            .map(|two| f16::from_le_bytes([two[0], two[1]]))
            .collect())
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
            || variable.bytes.len() != dimensions.iter().product::<usize>() * width
        {
            return Err(self.unusable(format!(
                "`{name}` measures {:?} and should measure {dimensions:?}",
                variable.dimensions
            )));
        }
        Ok(variable)
    }
}

struct Cursor<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Cursor<'_> {
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
            let bytes = self.take(length)?;
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

    fn take(&mut self, length: usize) -> Result<std::ops::Range<usize>, &'static str> {
        let end = self
            .at
            .checked_add(length)
            .filter(|end| *end <= self.bytes.len());
        let end = end.ok_or("it is cut short")?;
        let range = self.at..end;
        self.at = end;
        Ok(range)
    }

    fn number(&mut self, width: usize) -> Result<usize, &'static str> {
        let range = self.take(width)?;
        Ok(self.bytes[range]
            .iter()
            .rev()
            .fold(0, |number, byte| number << 8 | usize::from(*byte)))
    }

    /// A name: its length in two bytes, which counts the zero byte at its end.
    fn name(&mut self) -> Result<String, &'static str> {
        let length = self.number(2)?;
        let range = self.take(length)?;
        let name =
            std::str::from_utf8(&self.bytes[range]).map_err(|_| "a name in it isn't text")?;
        Ok(name.trim_end_matches('\0').to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reason(bytes: &[u8]) -> &'static str {
        Cursor { bytes, at: 0 }.variables().err().expect("refused")
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
