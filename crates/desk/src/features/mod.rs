//! The plan's layers for any standard client: OGC API - Features, read only.
//!
//! Standards: Part 1, Core (OGC 17-069r4) with GeoJSON and OpenAPI 3.0; Part 2, Coordinate Reference Systems by Reference
//! (OGC 18-058r1). Every layer is a collection under its name in the plan file, with the columns of `docs/plan-file.md`.
//! Money and telephone numbers (`rates`, `crews`) are no layers of the ground and stay out.
//!
//! Leks are given as they lie: whoever asks holds the key of the adviser's own desk on the adviser's own machine.

mod collection;
mod crs;
mod document;
mod filter;
mod items;
mod link;
#[cfg(test)]
mod tests;

use crate::api::edit::Problem;
use crs::System;
use holding::Holding;
use holding::plan::layer::{self, Layer};
use link::Links;
use serde_json::Value;
use std::sync::Arc;

/// Tables that are not given out.
const KEPT_BACK: [&str; 2] = ["crews", "rates"];

/// The features of one version of a plan, as one client asks for them.
pub struct Service {
    holding: Arc<Holding>,
    links: Links,
}

/// An answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Reply {
    /// Media type.
    pub media: &'static str,
    /// The coordinate system of its geometry, for the header `Content-Crs`.
    pub crs: Option<String>,
    /// The document.
    pub body: Value,
}

impl Reply {
    fn json(body: Value) -> Reply {
        Reply { media: link::JSON, crs: None, body }
    }
}

impl Service {
    /// The features of a plan, reached at `base` (such as `http://127.0.0.1:8080/features`); a key that came in the address is carried in
    /// every link, so that a client which follows links stays let in.
    pub fn new(holding: Arc<Holding>, base: impl Into<String>, key: Option<String>) -> Service {
        Service { holding, links: Links::new(base.into(), key) }
    }

    /// Answer a request for a path below the base, with its query.
    ///
    /// # Errors
    /// Nothing there, or a query that is not understood: every fault at once.
    pub fn answer(&self, path: &[&str], query: &[(String, String)]) -> Result<Reply, Problem> {
        // The key is the guard's; every resource has the one encoding.
        let query: Vec<_> = query.iter().filter(|(name, _)| name != "key").cloned().collect();
        match path {
            [] => self.plain(&query, || document::landing(self)),
            ["conformance"] => self.plain(&query, || document::conformance(self)),
            ["api"] => self.plain(&query, || document::openapi(self)).map(|reply| Reply { media: link::OPENAPI, ..reply }),
            ["collections"] => self.plain(&query, || collection::all(self)),
            ["collections", name] => self.layer(name).and_then(|layer| self.plain(&query, || collection::one(self, &layer))),
            ["collections", name, "schema"] => {
                let layer = self.layer(name)?;
                self.plain(&query, || collection::schema(self, &layer)).map(|reply| Reply { media: link::SCHEMA, ..reply })
            }
            ["collections", name, "items"] => self.layer(name).and_then(|layer| items::page(self, &layer, &query)),
            ["collections", name, "items", id] => self.layer(name).and_then(|layer| items::one(self, &layer, id, &query)),
            _ => Err(Problem::not_found("No such resource: the landing page at /features links to all there are")),
        }
    }

    fn plain(&self, query: &[(String, String)], body: impl FnOnce() -> Value) -> Result<Reply, Problem> {
        let faults = filter::unknown(query, &[]);
        if faults.is_empty() { Ok(Reply::json(body())) } else { Err(filter::refused(faults)) }
    }

    fn layers(&self) -> Vec<Layer> {
        layer::layers().into_iter().filter(|layer| !KEPT_BACK.contains(&layer.name)).collect()
    }

    fn layer(&self, name: &str) -> Result<Layer, Problem> {
        let layers = self.layers();
        let names: Vec<&str> = layers.iter().map(|layer| layer.name).collect();
        let missing = || Problem::not_found(format!("No such collection; there are {}", names.join(", ")));
        layers.iter().find(|layer| layer.name == name).cloned().ok_or_else(missing)
    }

    fn systems(&self) -> Vec<System> {
        System::of(self.holding.about.epsg)
    }
}
