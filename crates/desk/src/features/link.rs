//! Addresses: what links to what.

use serde_json::{Value, json};

pub(super) const JSON: &str = "application/json";
pub(super) const GEOJSON: &str = "application/geo+json";
pub(super) const SCHEMA: &str = "application/schema+json";
pub(super) const OPENAPI: &str = "application/vnd.oai.openapi+json;version=3.0";

/// Where the service lies, and the key its links carry.
pub(super) struct Links {
    base: String,
    key: Option<String>,
}

impl Links {
    pub(super) fn new(base: String, key: Option<String>) -> Links {
        Links { base, key }
    }

    /// The address of the service itself.
    pub(super) fn base(&self) -> &str {
        &self.base
    }

    /// The address of a resource.
    pub(super) fn to(&self, path: &[&str], query: &[(String, String)]) -> String {
        let mut address = self.base.clone();
        for part in path {
            address.push('/');
            encode(part, &mut address);
        }
        let key = self.key.iter().map(|key| ("key", key.as_str()));
        let query = query.iter().map(|(name, value)| (name.as_str(), value.as_str()));
        for (at, (name, value)) in query.chain(key).enumerate() {
            address.push(if at == 0 { '?' } else { '&' });
            encode(name, &mut address);
            address.push('=');
            encode(value, &mut address);
        }
        address
    }

    /// A link to a resource.
    pub(super) fn link(&self, rel: &str, media: &str, title: &str, path: &[&str]) -> Value {
        json!({"rel": rel, "type": media, "title": title, "href": self.to(path, &[])})
    }
}

/// Everything but what RFC 3986 leaves unreserved is written in percents, so no name can break an address.
fn encode(text: &str, into: &mut String) {
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            into.push(char::from(byte));
        } else {
            into.push_str(&format!("%{byte:02X}"));
        }
    }
}
