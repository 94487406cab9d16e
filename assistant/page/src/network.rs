//! What the shop's network is served with: a token for who may look, a certificate for TLS.
//!
//! Both are made on the first start and kept in a folder that only its owner can read. Whoever deletes the folder
//! locks everybody out who was let in.
//!
//! # Why our own certificate, and a token?
//!
//! A workshop's network has no authority that would sign for one of its machines, and no accounts. The token is in
//! the QR code once, and in a cookie after that. Token and key are kept in the records' folder, readable only by
//! their owner. Names are refused (only the address itself is accepted as a Host), which stops DNS rebinding. A
//! request that asks for something must come from the page's own origin.

use rcgen::{CertificateParams, DnType, ExtendedKeyUsagePurpose, KeyPair, SanType};
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs::OpenOptions;
use std::io::Write;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Bytes of chance in a token.
const TOKEN_BYTES: usize = 32;

/// Why the shop's network can't be served.
#[derive(Debug, thiserror::Error)]
pub enum CredentialsError {
    /// The folder or a file in it can't be used.
    #[error("{} can't be used for the page's certificate and token: {why}. Make the folder writable, or delete what is in it to make them anew", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        why: String,
    },
    /// Others can read it.
    #[error("{} can be read by others on this machine, so it is no secret. Delete it to make it anew", path.display())]
    NoSecret {
        /// Which.
        path: PathBuf,
    },
    /// No certificate can be made.
    #[error("no certificate can be made for the page: {why}. This is a bug in Sayback")]
    Certificate {
        /// Why.
        why: String,
    },
    /// The system gives no chance.
    #[error("the system gives no random bytes: {why}")]
    NoEntropy {
        /// Why.
        why: String,
    },
}

/// What strangers lack, and what shows who the server is.
#[derive(Clone)]
pub struct Credentials {
    token: String,
    certificate: CertificateDer<'static>,
    pub(crate) tls: Arc<rustls::ServerConfig>,
}

impl std::fmt::Debug for Credentials {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // The token is a secret.
        f.debug_struct("Credentials")
            .field("fingerprint", &self.fingerprint())
            .finish_non_exhaustive()
    }
}

impl Credentials {
    /// Those that are kept in a folder, for a server at this address; made where there are none. A certificate for
    /// another address is made anew.
    ///
    /// # Errors
    /// When they can't be read, made or kept, or when others can read them.
    pub fn kept_in(folder: &Path, address: IpAddr) -> Result<Self, CredentialsError> {
        make_folder(folder)?;
        let token = match read_secret(&folder.join("token"))? {
            Some(token) if is_token(token.trim()) => token.trim().to_owned(),
            Some(_) | None => {
                let token = new_token()?;
                write_secret(&folder.join("token"), &token)?;
                token
            }
        };
        let place = folder.join(format!(
            "certificate-{}.pem",
            address.to_string().replace(':', "-")
        ));
        let pem = match read_secret(&place)? {
            Some(pem) => pem,
            None => {
                let pem = new_certificate(address)?;
                write_secret(&place, &pem)?;
                pem
            }
        };
        let unusable = |why: String| CredentialsError::File {
            path: place.clone(),
            why,
        };
        let certificate = CertificateDer::from_pem_slice(pem.as_bytes())
            .map_err(|error| unusable(error.to_string()))?;
        let key = PrivateKeyDer::from_pem_slice(pem.as_bytes())
            .map_err(|error| unusable(error.to_string()))?;
        let mut tls = rustls::ServerConfig::builder_with_provider(Arc::new(
            rustls::crypto::ring::default_provider(),
        ))
        .with_safe_default_protocol_versions()
        .map_err(|error| unusable(error.to_string()))?
        .with_no_client_auth()
        .with_single_cert(vec![certificate.clone()], key)
        .map_err(|error| unusable(error.to_string()))?;
        tls.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Self {
            token,
            certificate,
            tls: Arc::new(tls),
        })
    }

    /// SHA-256 of the certificate, as browsers show it: pairs of hexadecimal digits with colons.
    pub fn fingerprint(&self) -> String {
        let pairs = Sha256::digest(&self.certificate);
        let pairs: Vec<String> = pairs.iter().map(|byte| format!("{byte:02X}")).collect();
        pairs.join(":")
    }

    /// The certificate in DER.
    pub fn certificate(&self) -> &[u8] {
        &self.certificate
    }

    /// What has to be shown to be let in.
    pub fn token(&self) -> &str {
        &self.token
    }
}

/// Whether this is the token. The hashes are compared, so the time it takes tells nothing of use.
pub(crate) fn lets_in(shown: &str, token: &str) -> bool {
    Sha256::digest(shown) == Sha256::digest(token)
}

fn is_token(text: &str) -> bool {
    text.len() == 2 * TOKEN_BYTES && text.bytes().all(|byte| byte.is_ascii_hexdigit())
}

pub(crate) fn new_token() -> Result<String, CredentialsError> {
    let mut bytes = [0; TOKEN_BYTES];
    getrandom::fill(&mut bytes).map_err(|error| CredentialsError::NoEntropy {
        why: error.to_string(),
    })?;
    let mut token = String::new();
    for byte in bytes {
        // Writing to a String can't fail.
        let _ = write!(token, "{byte:02x}");
    }
    Ok(token)
}

/// A certificate that stands for itself and its key, as PEM.
fn new_certificate(address: IpAddr) -> Result<String, CredentialsError> {
    let cannot = |error: rcgen::Error| CredentialsError::Certificate {
        why: error.to_string(),
    };
    let key = KeyPair::generate().map_err(cannot)?;
    let mut parameters = CertificateParams::default();
    parameters
        .distinguished_name
        .push(DnType::CommonName, "Sayback glance page");
    parameters.subject_alt_names = vec![SanType::IpAddress(address)];
    parameters.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    let certificate = parameters.self_signed(&key).map_err(cannot)?;
    Ok(format!("{}{}", certificate.pem(), key.serialize_pem()))
}

fn failed(path: &Path, error: &std::io::Error) -> CredentialsError {
    CredentialsError::File {
        path: path.to_owned(),
        why: error.to_string(),
    }
}

fn make_folder(folder: &Path) -> Result<(), CredentialsError> {
    let mut make = std::fs::DirBuilder::new();
    make.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut make, 0o700);
    make.create(folder).map_err(|error| failed(folder, &error))
}

fn read_secret(path: &Path) -> Result<Option<String>, CredentialsError> {
    match std::fs::read_to_string(path) {
        Ok(text) => {
            #[cfg(unix)]
            {
                use std::os::unix::fs::PermissionsExt;
                let about = std::fs::metadata(path).map_err(|error| failed(path, &error))?;
                if about.permissions().mode() & 0o077 != 0 {
                    return Err(CredentialsError::NoSecret {
                        path: path.to_owned(),
                    });
                }
            }
            Ok(Some(text))
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(failed(path, &error)),
    }
}

/// Writes a secret whole or not at all, for its owner only.
fn write_secret(path: &Path, text: &str) -> Result<(), CredentialsError> {
    let beside = path.with_extension(format!("part-{}", std::process::id()));
    let mut open = OpenOptions::new();
    open.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut open, 0o600);
    let write = || {
        let mut file = open.open(&beside)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        std::fs::rename(&beside, path)
    };
    write().map_err(|error| {
        let _ = std::fs::remove_file(&beside);
        failed(path, &error)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn they_are_made_once_and_kept_for_their_owner_only() {
        let folder = tempfile::tempdir().unwrap();
        let folder = folder.path().join("page");
        let address = IpAddr::from([192, 0, 2, 7]);
        let first = Credentials::kept_in(&folder, address).unwrap();
        let again = Credentials::kept_in(&folder, address).unwrap();
        assert_eq!(first.token(), again.token());
        assert_eq!(first.fingerprint(), again.fingerprint());
        assert!(is_token(first.token()));
        assert!(lets_in(again.token(), first.token()));
        assert!(!lets_in("", first.token()));
        assert!(!lets_in(&first.token()[1..], first.token()));
        assert!(!format!("{first:?}").contains(first.token()));
        let other = Credentials::kept_in(&folder, [192, 0, 2, 8].into()).unwrap();
        assert_ne!(first.fingerprint(), other.fingerprint());
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
            assert_eq!(mode(&folder), 0o700);
            for entry in std::fs::read_dir(&folder).unwrap() {
                assert_eq!(mode(&entry.unwrap().path()), 0o600);
            }
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_secret_that_others_can_read_is_refused() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let address = IpAddr::from([192, 0, 2, 7]);
        Credentials::kept_in(folder.path(), address).unwrap();
        let token = folder.path().join("token");
        std::fs::set_permissions(&token, std::fs::Permissions::from_mode(0o644)).unwrap();
        assert!(matches!(
            Credentials::kept_in(folder.path(), address),
            Err(CredentialsError::NoSecret { .. })
        ));
    }

    #[test]
    fn what_is_no_certificate_is_refused_and_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("certificate-192.0.2.7.pem");
        write_secret(&place, "no certificate").unwrap();
        let refused = Credentials::kept_in(folder.path(), [192, 0, 2, 7].into()).unwrap_err();
        assert!(
            refused.to_string().contains("certificate-192.0.2.7.pem"),
            "{refused}"
        );
        assert_eq!(std::fs::read_to_string(&place).unwrap(), "no certificate");
    }
}
