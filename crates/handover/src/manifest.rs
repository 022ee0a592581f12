//! The list of the files of a hand-over: what each is for, how long it is, and its hash, by which a file is known to be whole.

use crate::pack::{FILES, Output, Pack};
use serde::Serialize;
use sha2::{Digest, Sha256};

/// The list.
#[derive(Serialize)]
struct Manifest<'a> {
    schema: &'static str,
    plan: &'a str,
    option: Option<OptionOf>,
    printed: String,
    guidance_edition: &'a str,
    lek_places: &'static str,
    files: Vec<Entry<'a>>,
    left_out: Vec<String>,
}

#[derive(Serialize)]
struct OptionOf {
    number: u32,
    name: String,
}

#[derive(Serialize)]
struct Entry<'a> {
    name: &'a str,
    bytes: usize,
    sha256: String,
    what: &'static str,
    whom: &'static str,
    lek_places_withheld: bool,
}

/// The list of some files, as JSON.
///
/// # Errors
/// What the writer says.
pub(crate) fn of(pack: &Pack, outputs: &[Output]) -> serde_json::Result<Vec<u8>> {
    let withheld = pack.secrecy().withheld();
    let entry = |output: &'_ Output| {
        let file = FILES.iter().find(|file| file.name == output.name);
        (file.map_or("", |f| f.what), file.map_or("", |f| f.whom))
    };
    let files = outputs.iter().map(|output| {
        let (what, whom) = entry(output);
        Entry { name: &output.name, bytes: output.bytes.len(), sha256: hash(&output.bytes), what, whom, lek_places_withheld: withheld }
    });
    let name = |number: u32| pack.holding.options.iter().find(|o| o.number == number).map(|o| pack.secrecy().words(&o.name)).unwrap_or_default();
    let manifest = Manifest {
        schema: "greyhen.manifest/1",
        plan: &pack.holding.about.name,
        option: pack.option.map(|planned| OptionOf { number: planned.number, name: name(planned.number) }),
        printed: pack.today.to_string(),
        guidance_edition: &pack.assessment.guidance_edition,
        lek_places: if withheld { "withheld" } else { "shown" },
        files: files.collect(),
        left_out: pack.left_out(),
    };
    let mut bytes = serde_json::to_vec_pretty(&manifest)?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// SHA-256 (FIPS 180-4) in hexadecimal digits.
fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    /// FIPS 180-2, appendix B.1.
    #[test]
    fn the_hash_is_the_published_one() {
        assert_eq!(super::hash(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
