//! A bay's key: whoever has it signs records as that bay.
//!
//! Ed25519 (RFC 8032), in the forms that other programs read: the private key as PKCS#8 (RFC 8410) and the public one
//! as SubjectPublicKeyInfo, both PEM (RFC 7468). Where a key is replaced, the old one signs the new one, so that whoever
//! knows the old one can believe the new one.
//!
//! # What does a signature prove?
//!
//! That whoever signed had the bay's key, and that nothing up to there was changed since. It doesn't prove when: the time
//! in it is the bay's own clock. Nor does it prove that the key is the bay's: compare it with what the bay prints.

use crate::{JobId, RecordError};
use ed25519_dalek::pkcs8::spki::EncodePublicKey;
use ed25519_dalek::pkcs8::spki::der::pem::LineEnding;
use ed25519_dalek::pkcs8::{DecodePrivateKey, DecodePublicKey, EncodePrivateKey};
use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use steps::Moment;

/// The private key's file.
const PRIVATE: &str = "bay.key";

/// The public key's file.
const PUBLIC: &str = "bay.pub";

/// The file of the keys that were replaced.
const SUCCESSIONS: &str = "successions.json";

/// A bay's key, with the name that it signs for.
pub struct BayKey {
    bay: String,
    key: SigningKey,
    folder: PathBuf,
}

// The key itself must not get into a log.
impl std::fmt::Debug for BayKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "BayKey({}, {})", self.bay, self.public())
    }
}

/// How the folder of a key was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// The key was there.
    Known,
    /// It was made now: the bay's first.
    New,
    /// Its private part was gone; another one was made, and nothing ties it to the one before.
    Lost,
}

/// That a bay's key was replaced by another one, said by the old key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Succession {
    /// The bay.
    pub bay: String,
    /// The former public key, in hexadecimal.
    pub old: String,
    /// The one from then on, in hexadecimal.
    pub new: String,
    /// When, by the bay's clock.
    pub at: Moment,
    /// The former key's signature over [`Succession::message`], in hexadecimal.
    pub signature: String,
}

impl Succession {
    /// What is signed: lines of UTF-8, each with a line feed at its end.
    pub fn message(&self) -> String {
        let Self {
            bay, old, new, at, ..
        } = self;
        format!(
            "sayback key succession 1\nbay {bay}\nold {old}\nnew {new}\nat {}\n",
            at.0
        )
    }

    /// Whether the old key signed it.
    pub fn holds(&self) -> bool {
        fits(&self.old, self.message().as_bytes(), &self.signature)
    }
}

impl BayKey {
    /// The key in this folder; makes it when there is none.
    ///
    /// # Errors
    /// When the folder can't be used, when the key is no Ed25519 key, when it is readable by others than its owner, or when
    /// the bay's name has a line break or other control character, or none of its characters can be seen.
    pub fn open(folder: &Path, bay: &str) -> Result<(Self, Found), RecordError> {
        let bay = bay.trim();
        if bay.is_empty() || bay.len() > 80 || bay.chars().any(char::is_control) {
            return Err(RecordError::Key {
                path: folder.to_owned(),
                what: format!(
                    "a bay can't be called {bay:?}: give it a name of one line, up to 80 bytes"
                ),
            });
        }
        let private = folder.join(PRIVATE);
        match fs::read_to_string(&private) {
            Ok(text) => {
                only_its_owner_reads(&private)?;
                let key = SigningKey::from_pkcs8_pem(&text).map_err(|error| {
                    refused(&private, &format!("it is no Ed25519 key ({error})"))
                })?;
                Ok((Self::with(folder, bay, key), Found::Known))
            }
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                let public = folder.join(PUBLIC);
                let lost = public.exists();
                if lost {
                    fs::rename(&public, former(folder)?)
                        .map_err(|source| RecordError::of_folder(folder, source))?;
                }
                let key = Self::with(folder, bay, generated(folder)?);
                key.keep()?;
                Ok((key, if lost { Found::Lost } else { Found::New }))
            }
            Err(source) => Err(RecordError::of_folder(&private, source)),
        }
    }

    fn with(folder: &Path, bay: &str, key: SigningKey) -> Self {
        Self {
            bay: bay.to_owned(),
            key,
            folder: folder.to_owned(),
        }
    }

    fn keep(&self) -> Result<(), RecordError> {
        let pem = |error: &dyn std::fmt::Display| refused(&self.folder, &error.to_string());
        let private = self
            .key
            .to_pkcs8_pem(LineEnding::LF)
            .map_err(|it| pem(&it))?;
        let public = self.public_pem()?;
        write(&self.folder, PUBLIC, public.as_bytes())?;
        write(&self.folder, PRIVATE, private.as_bytes())
    }

    /// Replaces the key; the old one signs the new one.
    ///
    /// # Errors
    /// When the folder can't be written: the old key stays then.
    pub fn replace(self, now: Moment) -> Result<Self, RecordError> {
        let new = Self::with(&self.folder, &self.bay, generated(&self.folder)?);
        let mut succession = Succession {
            bay: self.bay.clone(),
            old: self.public(),
            new: new.public(),
            at: now,
            signature: String::new(),
        };
        succession.signature = hex(&self.key.sign(succession.message().as_bytes()).to_bytes());
        let mut all = successions(&self.folder)?;
        all.push(succession);
        let text = serde_json::to_string_pretty(&all)
            .map_err(|error| refused(&self.folder, &error.to_string()))?;
        let public = self.public_pem()?;
        let place = former(&self.folder)?;
        let name = place.file_name().unwrap_or_default().to_string_lossy();
        write(&self.folder, &name, public.as_bytes())?;
        write(&self.folder, SUCCESSIONS, text.as_bytes())?;
        new.keep()?;
        Ok(new)
    }

    /// The bay's name.
    pub fn bay(&self) -> &str {
        &self.bay
    }

    /// The public key: 32 bytes in hexadecimal.
    pub fn public(&self) -> String {
        hex(self.key.verifying_key().as_bytes())
    }

    /// The public key as PEM.
    ///
    /// # Errors
    /// Never in practice: the key is of the right size.
    pub fn public_pem(&self) -> Result<String, RecordError> {
        let key = self.key.verifying_key();
        key.to_public_key_pem(LineEnding::LF)
            .map_err(|error| refused(&self.folder, &error.to_string()))
    }

    /// Signs a message; 64 bytes in hexadecimal.
    pub fn sign(&self, message: &str) -> String {
        hex(&self.key.sign(message.as_bytes()).to_bytes())
    }
}

/// The public keys that are known, and whose they are.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Keyring(BTreeMap<String, String>);

impl Keyring {
    /// The keys of the bay whose key is in this folder, today's and former ones; none where there is no such folder.
    ///
    /// # Errors
    /// When a file is there and can't be read as a public key.
    pub fn of_bay(folder: &Path) -> Result<Self, RecordError> {
        let mut all = Self::default();
        let Ok(entries) = fs::read_dir(folder) else {
            return Ok(all);
        };
        for path in entries.flatten().map(|entry| entry.path()) {
            if path.extension().is_some_and(|it| it == "pub") {
                all.add(&path, "this bay’s")?;
            }
        }
        Ok(all)
    }

    /// Adds the public key in a PEM file.
    ///
    /// # Errors
    /// When it can't be read or is no Ed25519 key.
    pub fn add(&mut self, path: &Path, whose: &str) -> Result<(), RecordError> {
        let text =
            fs::read_to_string(path).map_err(|source| RecordError::of_folder(path, source))?;
        let key = VerifyingKey::from_public_key_pem(&text)
            .map_err(|error| refused(path, &format!("it is no public Ed25519 key ({error})")))?;
        self.0.insert(hex(key.as_bytes()), whose.to_owned());
        Ok(())
    }

    /// Believes the keys that known ones have signed as their successors, in whatever order they stand.
    pub fn follow(&mut self, successions: &[Succession]) {
        for _ in successions {
            for it in successions {
                if let Some(whose) = self.0.get(&it.old).cloned()
                    && it.holds()
                {
                    self.0.entry(it.new.clone()).or_insert(whose);
                }
            }
        }
    }

    /// Whose this key is, as far as that is known.
    pub fn whose(&self, public: &str) -> Option<&str> {
        self.0.get(public).map(String::as_str)
    }
}

/// The keys that were replaced in this folder, the oldest first.
///
/// # Errors
/// When the file is there and can't be read.
pub fn successions(folder: &Path) -> Result<Vec<Succession>, RecordError> {
    let path = folder.join(SUCCESSIONS);
    match fs::read_to_string(&path) {
        Ok(text) => serde_json::from_str(&text).map_err(|error| refused(&path, &error.to_string())),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(Vec::new()),
        Err(source) => Err(RecordError::of_folder(&path, source)),
    }
}

/// What a signature of a record is over: lines of UTF-8, each with a line feed at its end.
pub(crate) fn message(
    job: &JobId,
    entries: u64,
    head: &str,
    at: Moment,
    bay: &str,
    program: &str,
) -> String {
    format!(
        "sayback record signature 1\njob {job}\nentries {entries}\nhead {head}\nat {}\nbay {bay}\nprogram {program}\n",
        at.0
    )
}

/// Whether a signature is this public key's over a message, key and signature in hexadecimal.
pub fn signed(public: &str, message: &str, signature: &str) -> bool {
    fits(public, message.as_bytes(), signature)
}

/// Whether a signature is this key's over these bytes.
pub(crate) fn fits(public: &str, message: &[u8], signature: &str) -> bool {
    let key = unhex(public).and_then(|bytes| VerifyingKey::from_bytes(&bytes).ok());
    let signature = unhex(signature).map(|bytes| Signature::from_bytes(&bytes));
    match (key, signature) {
        (Some(key), Some(signature)) => key.verify_strict(message, &signature).is_ok(),
        _ => false,
    }
}

fn refused(path: &Path, what: &str) -> RecordError {
    RecordError::Key {
        path: path.to_owned(),
        what: what.to_owned(),
    }
}

fn generated(folder: &Path) -> Result<SigningKey, RecordError> {
    let mut seed = [0; 32];
    getrandom::fill(&mut seed).map_err(|error| {
        refused(
            folder,
            &format!("the system gives no random numbers ({error})"),
        )
    })?;
    Ok(SigningKey::from_bytes(&seed))
}

/// A name in the folder for a former public key that nothing has yet.
fn former(folder: &Path) -> Result<PathBuf, RecordError> {
    let mut names = (1..10_000).map(|number| folder.join(format!("former-{number}.pub")));
    names
        .find(|path| !path.exists())
        .ok_or_else(|| refused(folder, "ten thousand former keys are in it"))
}

/// Writes a file whole or not at all, for its owner only.
fn write(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), RecordError> {
    let failed = |source| RecordError::of_folder(folder, source);
    crate::owner_only::make_folder(folder).map_err(failed)?;
    let beside = folder.join(format!("{name}.part"));
    let _ = fs::remove_file(&beside);
    let mut file = crate::owner_only::file(&beside).map_err(failed)?;
    file.write_all(bytes).map_err(failed)?;
    file.sync_all().map_err(failed)?;
    fs::rename(&beside, folder.join(name)).map_err(failed)?;
    crate::sqlite::sync_folder(folder)
}

#[cfg(unix)]
fn only_its_owner_reads(path: &Path) -> Result<(), RecordError> {
    use std::os::unix::fs::PermissionsExt;
    let mode = fs::metadata(path)
        .map_err(|source| RecordError::of_folder(path, source))?
        .permissions()
        .mode();
    match mode & 0o077 {
        0 => Ok(()),
        _ => Err(refused(
            path,
            &format!(
                "others than its owner can read it: run `chmod 600 {}`, or replace it if somebody may have copied it",
                path.display()
            ),
        )),
    }
}

#[cfg(not(unix))]
fn only_its_owner_reads(_path: &Path) -> Result<(), RecordError> {
    Ok(())
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn unhex<const N: usize>(text: &str) -> Option<[u8; N]> {
    let text = text.as_bytes();
    let is_digit = |it: &u8| matches!(it, b'0'..=b'9' | b'a'..=b'f');
    if text.len() != 2 * N || !text.iter().all(is_digit) {
        return None;
    }
    let mut bytes = [0; N];
    for (byte, pair) in bytes.iter_mut().zip(text.chunks_exact(2)) {
        let pair = std::str::from_utf8(pair).ok()?;
        *byte = u8::from_str_radix(pair, 16).ok()?;
    }
    Some(bytes)
}
