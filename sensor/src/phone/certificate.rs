//! The certificate of the pages: made here, for one address, and kept, so that a phone warns only once.

use std::fs;
use std::io;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, SystemTime};

use rcgen::{CertificateParams, DistinguishedName, DnType, ExtendedKeyUsagePurpose, KeyPair};
use ring::digest::{SHA256, digest};
use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};

use super::error::PhoneError;
use super::hex;

/// A certificate is good for so long, days: browsers refuse more than 398.
const DAYS: u64 = 397;
/// One that ends sooner is made anew, so that it doesn't end during a visit.
const LEFT_MIN: Duration = Duration::from_hours(24);

/// A certificate in use.
#[derive(Clone, Debug)]
pub(super) struct Certificate {
    pub(super) config: Arc<ServerConfig>,
    /// SHA-256 of the certificate, as browsers show it.
    pub(super) fingerprint: [u8; 32],
    #[cfg(test)]
    pub(super) der: CertificateDer<'static>,
}

/// The kept certificate of an address, or a new one.
pub(super) fn certificate(folder: &Path, address: IpAddr) -> Result<Certificate, PhoneError> {
    let name = address.to_string().replace([':', '.'], "-");
    let files = Files {
        certificate: folder.join(format!("page-{name}.pem")),
        key: folder.join(format!("page-{name}-key.pem")),
    };
    match files.read() {
        Some(pair) => config(pair),
        None => config(files.make(folder, address)?),
    }
}

struct Files {
    certificate: PathBuf,
    key: PathBuf,
}

type Pair = (CertificateDer<'static>, PrivateKeyDer<'static>);

impl Files {
    /// What is kept, unless it ends soon or can't be read.
    fn read(&self) -> Option<Pair> {
        let written = fs::metadata(&self.certificate).ok()?.modified().ok()?;
        let age = SystemTime::now().duration_since(written).ok()?;
        if Duration::from_hours(24 * DAYS) < age + LEFT_MIN {
            return None;
        }
        let certificate = CertificateDer::from_pem_file(&self.certificate).ok()?;
        let key = PrivateKeyDer::from_pem_file(&self.key).ok()?;
        Some((certificate, key))
    }

    fn make(&self, folder: &Path, address: IpAddr) -> Result<Pair, PhoneError> {
        let failed = |e: rcgen::Error| PhoneError::Certificate(e.to_string());
        let mut params = CertificateParams::new([address.to_string()]).map_err(failed)?;
        params.distinguished_name = DistinguishedName::new();
        let name = format!("legraise on {address}");
        params.distinguished_name.push(DnType::CommonName, name);
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        // A clock that is a little slow must not refuse it.
        params.not_before = (SystemTime::now() - Duration::from_hours(1)).into();
        params.not_after = (SystemTime::now() + Duration::from_hours(24 * DAYS)).into();
        let key = KeyPair::generate().map_err(failed)?;
        let made = params.self_signed(&key).map_err(failed)?;
        let keep = |path: &Path, text: &str| {
            write_private(path, text).map_err(|source| PhoneError::Keep {
                path: path.to_owned(),
                source,
            })
        };
        fs::create_dir_all(folder).map_err(|source| PhoneError::Keep {
            path: folder.to_owned(),
            source,
        })?;
        // The key first: a certificate without its key would be read as one that can't be used.
        keep(&self.key, &key.serialize_pem())?;
        keep(&self.certificate, &made.pem())?;
        let key = PrivateKeyDer::try_from(key.serialize_der());
        let key = key.map_err(|e| PhoneError::Certificate(e.to_owned()))?;
        Ok((made.der().clone(), key))
    }
}

/// Writes a file that only its owner may read.
fn write_private(path: &Path, text: &str) -> io::Result<()> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path)?;
    io::Write::write_all(&mut file, text.as_bytes())?;
    file.sync_all()
}

fn config((certificate, key): Pair) -> Result<Certificate, PhoneError> {
    let failed = |e: rustls::Error| PhoneError::Certificate(e.to_string());
    let mut fingerprint = [0; 32];
    fingerprint.copy_from_slice(digest(&SHA256, &certificate).as_ref());
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .map_err(failed)?
        .with_no_client_auth()
        .with_single_cert(vec![certificate.clone()], key)
        .map_err(failed)?;
    Ok(Certificate {
        config: Arc::new(config),
        fingerprint,
        #[cfg(test)]
        der: certificate,
    })
}

/// A fingerprint in hex, eight groups of four characters from its start, or all of it.
pub(super) fn groups(fingerprint: &[u8; 32], is_whole: bool) -> String {
    let bytes = if is_whole {
        &fingerprint[..]
    } else {
        &fingerprint[..16]
    };
    let groups: Vec<String> = bytes.chunks(2).map(hex).collect();
    groups.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_certificate_is_kept_for_its_address_and_for_its_owner_alone() {
        let folder = tempfile::tempdir().unwrap();
        let here: IpAddr = "192.168.7.20".parse().unwrap();
        let first = certificate(folder.path(), here).unwrap();
        let again = certificate(folder.path(), here).unwrap();
        assert_eq!(first.fingerprint, again.fingerprint);
        let other = certificate(folder.path(), "192.168.7.21".parse().unwrap()).unwrap();
        assert_ne!(first.fingerprint, other.fingerprint);
        #[cfg(unix)]
        for entry in fs::read_dir(folder.path()).unwrap() {
            use std::os::unix::fs::PermissionsExt as _;
            let mode = entry.unwrap().metadata().unwrap().permissions().mode();
            assert_eq!(mode & 0o777, 0o600);
        }
        fs::write(folder.path().join("page-192-168-7-20.pem"), "damaged").unwrap();
        let anew = certificate(folder.path(), here).unwrap();
        assert_ne!(first.fingerprint, anew.fingerprint);
    }

    #[test]
    fn fingerprints_are_read_aloud_in_groups() {
        let short = groups(&[0xab; 32], false);
        assert_eq!(short, "abab abab abab abab abab abab abab abab");
        assert_eq!(groups(&[1; 32], true).split(' ').count(), 16);
    }
}
