//! The adviser's own certificate authority: what lets a phone trust this machine, and nothing else.
//!
//! A phone gives a page storage and position only over HTTPS with a certificate it trusts. The authority is made here, once; its key
//! never leaves its folder, which nobody else may read. It can vouch for machines of a private network alone (name constraints,
//! RFC 5280, section 4.2.1.10): a phone that trusts it trusts it for no page of the internet.

use super::shut::{keep, read_kept};
use chrono::{Datelike, Days, NaiveDate};
use rcgen::{BasicConstraints, CertificateParams, CidrSubnet, DnType, ExtendedKeyUsagePurpose, GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose, NameConstraints, SanType};
use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use sha2::{Digest, Sha256};
use std::net::IpAddr;
use std::path::Path;
use std::sync::Arc;

/// Days an authority lasts; a phone trusts it until then.
const AUTHORITY_DAYS: u64 = 5 * 365;
/// An authority that ends sooner than this is made anew.
const AUTHORITY_LEFT_DAYS: u64 = 60;
/// Days a machine's certificate lasts. Phones refuse long ones (825 days for an own authority, from memory); a new one is made at every start.
const LEAF_DAYS: u64 = 365;

/// Networks it may vouch for (RFC 1918, 3927, 4193, 4291, 6598; loopback).
const NETWORKS: [(&str, u8); 9] = [
    ("10.0.0.0", 8),
    ("172.16.0.0", 12),
    ("192.168.0.0", 16),
    ("169.254.0.0", 16),
    ("100.64.0.0", 10),
    ("127.0.0.0", 8),
    ("fc00::", 7),
    ("fe80::", 10),
    ("::1", 128),
];

/// The authority.
pub(crate) struct Authority {
    der: CertificateDer<'static>,
    issuer: Issuer<'static, KeyPair>,
}

impl Authority {
    /// The authority of a folder; made where there is none, or the one there soon ends.
    pub(crate) fn of(folder: &Path, host: &str, today: NaiveDate) -> Result<Authority, String> {
        let lasts = |until: &str| until.trim().parse::<NaiveDate>().is_ok_and(|until| until > today + Days::new(AUTHORITY_LEFT_DAYS));
        match (read_kept(folder, "authority.pem")?, read_kept(folder, "authority.key")?, read_kept(folder, "authority.until")?) {
            (Some(pem), Some(key), Some(until)) if lasts(&until) => Authority::read(&pem, &key),
            _ => Authority::make(folder, host, today),
        }
    }

    fn read(pem: &str, key: &str) -> Result<Authority, String> {
        let broken = |error: &dyn std::fmt::Display| format!("the certificate authority cannot be read: {error}. Hint: delete its folder; phones then have to trust the new one");
        let der = CertificateDer::from_pem_slice(pem.as_bytes()).map_err(|error| broken(&error))?;
        let key = KeyPair::from_pem(key).map_err(|error| broken(&error))?;
        let issuer = Issuer::from_ca_cert_der(&der, key).map_err(|error| broken(&error))?;
        Ok(Authority { der, issuer })
    }

    fn make(folder: &Path, host: &str, today: NaiveDate) -> Result<Authority, String> {
        let failed = |error: rcgen::Error| format!("no certificate authority could be made: {error}");
        let key = KeyPair::generate().map_err(failed)?;
        let until = today + Days::new(AUTHORITY_DAYS);
        let mut params = lasting(today, until);
        params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
        params.distinguished_name.push(DnType::CommonName, format!("greyhen field page of {host}"));
        params.key_usages = vec![KeyUsagePurpose::KeyCertSign];
        let networks = NETWORKS.iter().filter_map(|(address, bits)| address.parse().ok().map(|at: IpAddr| GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(at, *bits))));
        let names = names_of(host).into_iter().map(GeneralSubtree::DnsName);
        params.name_constraints = Some(NameConstraints { permitted_subtrees: networks.chain(names).collect(), excluded_subtrees: vec![] });
        let own = params.self_signed(&key).map_err(failed)?;
        // The certificate last: without it the rest counts for nothing.
        keep(folder, "authority.key", &key.serialize_pem())?;
        keep(folder, "authority.until", &until.to_string())?;
        keep(folder, "authority.pem", &own.pem())?;
        Authority::read(&own.pem(), &key.serialize_pem())
    }

    /// The certificate, as phones fetch it (DER).
    pub(crate) fn certificate(&self) -> Vec<u8> {
        self.der.to_vec()
    }

    /// SHA-256 of the certificate, in pairs, as phones show it.
    pub(crate) fn fingerprint(&self) -> String {
        Sha256::digest(&self.der).iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(":")
    }

    /// What a listener needs to be this machine by these names and addresses.
    pub(crate) fn vouch(&self, host: &str, addresses: &[IpAddr], today: NaiveDate) -> Result<Arc<ServerConfig>, String> {
        let failed = |error: rcgen::Error| format!("no certificate could be made for this machine: {error}");
        let key = KeyPair::generate().map_err(failed)?;
        let mut params = lasting(today, today + Days::new(LEAF_DAYS));
        params.distinguished_name.push(DnType::CommonName, host);
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        for name in names_of(host) {
            params.subject_alt_names.push(SanType::DnsName(name.try_into().map_err(failed)?));
        }
        params.subject_alt_names.extend(addresses.iter().filter(|at| is_private(**at)).map(|at| SanType::IpAddress(*at)));
        let leaf = params.signed_by(&key, &self.issuer).map_err(failed)?;
        let chain = vec![leaf.der().clone(), self.der.clone()];
        let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
        let config = ServerConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
            .with_safe_default_protocol_versions()
            .and_then(|config| config.with_no_client_auth().with_single_cert(chain, key));
        let mut config = config.map_err(|error| format!("no certificate could be made for this machine: {error}"))?;
        config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
        Ok(Arc::new(config))
    }
}

/// The names a machine is called by on its network.
pub(crate) fn names_of(host: &str) -> Vec<String> {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
    let short: String = host.split('.').next().unwrap_or_default().chars().filter(|c| plain(*c)).collect::<String>().to_ascii_lowercase();
    let named = (!short.is_empty() && short != "localhost").then(|| [short.clone(), format!("{short}.local")]);
    named.into_iter().flatten().chain(["localhost".to_owned()]).collect()
}

/// Whether an address is of a network the authority may vouch for.
pub(crate) fn is_private(at: IpAddr) -> bool {
    NETWORKS.iter().any(|(net, bits)| match (net.parse::<IpAddr>(), at) {
        (Ok(IpAddr::V4(net)), IpAddr::V4(at)) => (u32::from(net) ^ u32::from(at)).leading_zeros() >= u32::from(*bits),
        (Ok(IpAddr::V6(net)), IpAddr::V6(at)) => (u128::from(net) ^ u128::from(at)).leading_zeros() >= u32::from(*bits),
        _ => false,
    })
}

fn lasting(today: NaiveDate, until: NaiveDate) -> CertificateParams {
    let day = |day: NaiveDate| rcgen::date_time_ymd(day.year(), day.month() as u8, day.day() as u8);
    let mut params = CertificateParams::default();
    params.subject_alt_names.clear();
    // A phone's clock may be behind.
    params.not_before = day(today - Days::new(2));
    params.not_after = day(until);
    params
}

#[cfg(test)]
mod tests {
    use super::*;

    const TODAY: NaiveDate = NaiveDate::from_ymd_opt(2026, 11, 27).unwrap();

    #[test]
    fn an_authority_is_kept_shut_and_made_anew_when_it_ends() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path().join("field");
        let first = Authority::of(&at, "moss.example", TODAY).unwrap();
        assert_eq!(first.fingerprint().len(), 95);
        assert_eq!(Authority::of(&at, "moss.example", TODAY).unwrap().fingerprint(), first.fingerprint());
        first.vouch("moss", &["192.168.1.20".parse().unwrap()], TODAY).unwrap();
        #[cfg(unix)]
        for (path, wanted) in [(at.clone(), 0o700), (at.join("authority.key"), 0o600)] {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(std::fs::metadata(path).unwrap().permissions().mode() & 0o777, wanted);
        }
        let later = Authority::of(&at, "moss.example", TODAY + Days::new(AUTHORITY_DAYS - 30)).unwrap();
        assert_ne!(later.fingerprint(), first.fingerprint());
    }

    #[test]
    fn only_private_networks_are_vouched_for() {
        for at in ["192.168.0.7", "10.1.2.3", "172.31.0.1", "127.0.0.1", "fe80::1", "fd00::2", "::1", "100.100.1.1"] {
            assert!(is_private(at.parse().unwrap()), "{at}");
        }
        for at in ["8.8.8.8", "172.32.0.1", "2001:db8::1", "100.128.0.1"] {
            assert!(!is_private(at.parse().unwrap()), "{at}");
        }
        assert_eq!(names_of("Moss.lan"), ["moss", "moss.local", "localhost"]);
        assert_eq!(names_of("<b>\r\n"), ["b", "b.local", "localhost"]);
    }
}
