//! The field page: what is counted and measured on the hill, written down on a phone, sent when there is a network.
//!
//! It has a listener of its own, over HTTPS, only when the desk is started with `--field`. A phone is let in by a code read off the
//! desk's screen, once. What leaves by it is a list of leks by name and kilometre square, exact places only where that was said; nothing
//! else of the plan. What comes in is kept in the plan as it came, each entry once, and goes into the visits and readings as a step that
//! can be taken back, or waits for a person.

mod answer;
mod authority;
mod judge;
mod listen;
mod pairing;
mod shut;
mod store;

pub use listen::{BoundField, FieldOptions, bind};

use crate::api::edit::Problem;
use crate::api::field::{Device, FieldState, Pairing};
use crate::state::{Desk, held};
use authority::{Authority, is_private, names_of};
use chrono::{DateTime, NaiveDate, Utc};
use pairing::Pairings;
use rustls::ServerConfig;
use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

/// The field page of a run.
pub struct Field {
    authority: Authority,
    pairings: Mutex<Pairings>,
    vouched: Mutex<Vouched>,
    host: String,
    at: SocketAddr,
    exact_leks: bool,
}

/// The certificate in use.
struct Vouched {
    addresses: Vec<IpAddr>,
    on: NaiveDate,
    config: Arc<ServerConfig>,
}

/// Days after which a machine's certificate is made anew while it runs.
const RENEWED_DAYS: i64 = 30;

impl Field {
    fn new(options: &FieldOptions, at: SocketAddr) -> Result<Field, String> {
        let host = host();
        let today = today();
        let authority = Authority::of(&options.folder, &host, today)?;
        let addresses = own_addresses(at.ip());
        let config = authority.vouch(&host, &addresses, today)?;
        let pairings = Mutex::new(Pairings::of(&options.folder)?);
        let vouched = Mutex::new(Vouched { addresses, on: today, config });
        Ok(Field { authority, pairings, vouched, host, at, exact_leks: options.exact_leks })
    }

    /// The certificate for a connection that came in at one of the machine's addresses. A machine that moved to another network, or ran
    /// for a month, gets a new one.
    fn config(&self, reached: IpAddr) -> Result<Arc<ServerConfig>, String> {
        let mut vouched = held(&self.vouched);
        let today = today();
        if !vouched.addresses.contains(&reached) || (today - vouched.on).num_days() >= RENEWED_DAYS {
            let mut addresses = own_addresses(self.at.ip());
            if !addresses.contains(&reached) {
                addresses.push(reached);
            }
            let config = self.authority.vouch(&self.host, &addresses, today)?;
            *vouched = Vouched { addresses, on: today, config };
        }
        Ok(vouched.config.clone())
    }

    /// Whether it may be asked by this name: one that its certificate tells.
    fn is_called(&self, host: &str) -> bool {
        let addresses = held(&self.vouched).addresses.clone();
        let port = self.at.port();
        let named = names_of(&self.host).into_iter().map(|name| format!("{name}:{port}"));
        let numbered = addresses.into_iter().map(|at| SocketAddr::new(at, port).to_string());
        named.chain(numbered).any(|own| own.eq_ignore_ascii_case(host))
    }

    /// Addresses a phone opens.
    pub fn addresses(&self) -> Vec<String> {
        let mut addresses = held(&self.vouched).addresses.clone();
        addresses.retain(|at| at.is_ipv4());
        addresses.sort_by_key(|at| at.is_loopback());
        let reached = addresses.iter().any(|at| !at.is_loopback());
        let numbered = addresses.into_iter().map(|at| format!("https://{}/field/", SocketAddr::new(at, self.at.port())));
        numbered.chain(names_of(&self.host).get(1).filter(|name| reached && name.ends_with(".local")).map(|name| format!("https://{name}:{}/field/", self.at.port()))).collect()
    }

    /// The fingerprint of the authority, to be compared by eye.
    pub fn fingerprint(&self) -> String {
        self.authority.fingerprint()
    }

    /// Where a phone fetches the authority's certificate, by plain HTTP.
    pub fn authority_address(&self) -> String {
        let first = self.addresses().into_iter().next().unwrap_or_default();
        first.replacen("https://", "http://", 1).replace("/field/", "/authority.crt")
    }
}

impl Desk {
    /// The field page, where the desk was started with it.
    pub(crate) fn field_page(&self) -> Result<&Arc<Field>, Problem> {
        let off = || Problem::refused("The field page is off", ["stop the desk and start it again with the field page".to_owned()]);
        self.field.get().ok_or_else(off)
    }

    /// How the field page stands.
    pub(crate) fn field_state(&self) -> Result<FieldState, Problem> {
        let entries = self.entries()?;
        let plan = self.plan_path();
        let off = FieldState { on: false, addresses: vec![], authority: String::new(), fingerprint: String::new(), pairing: None, devices: vec![], entries: vec![] };
        let Some(field) = self.field.get() else { return Ok(FieldState { entries, ..off }) };
        let mut pairings = held(&field.pairings);
        let (pairing, devices) = (pairings.now(), pairings.devices(&plan));
        Ok(FieldState { on: true, addresses: field.addresses(), authority: field.authority_address(), fingerprint: field.fingerprint(), pairing, devices, entries })
    }

    /// Begin to pair a phone.
    ///
    /// # Errors
    /// Where the field page is off, or no plan is open.
    pub fn begin_pairing(&self, exact_leks: Option<bool>) -> Result<Pairing, Problem> {
        let field = self.field_page()?;
        held(&self.writer).plan()?;
        let plan = self.plan_path();
        Ok(held(&field.pairings).begin(exact_leks.unwrap_or(field.exact_leks), &plan))
    }

    /// End the pairing under way.
    pub(crate) fn end_pairing(&self) -> Result<(), Problem> {
        held(&self.field_page()?.pairings).end();
        Ok(())
    }

    /// Let a device in no more.
    pub(crate) fn forget_device(&self, id: u64) -> Result<Vec<Device>, Problem> {
        let mut pairings = held(&self.field_page()?.pairings);
        if !pairings.forget(id)? {
            return Err(Problem::not_found("There is no such device"));
        }
        Ok(pairings.devices(&self.plan_path()))
    }

    fn plan_path(&self) -> PathBuf {
        let path = self.file().path;
        path.canonicalize().unwrap_or(path)
    }
}

/// The machine's own addresses that a phone may reach, given what is listened at.
fn own_addresses(at: IpAddr) -> Vec<IpAddr> {
    if !at.is_unspecified() {
        return vec![at];
    }
    let mut found: Vec<IpAddr> = if_addrs::get_if_addrs().unwrap_or_default().into_iter().map(|interface| interface.ip()).collect();
    found.retain(|at| is_private(*at) && at.is_ipv4());
    found.sort();
    found.dedup();
    found
}

fn today() -> NaiveDate {
    DateTime::<Utc>::from(std::time::SystemTime::now()).date_naive()
}

/// The machine's name.
fn host() -> String {
    let told = std::env::var("HOSTNAME").or_else(|_| std::env::var("COMPUTERNAME")).ok();
    let told = told.or_else(|| std::fs::read_to_string("/etc/hostname").ok()).unwrap_or_default();
    let told = told.trim();
    if told.is_empty() { "localhost".into() } else { told.chars().take(60).collect() }
}
