//! Stand state, facets, the seven seasons and the ledger.

pub mod outcome;
pub mod season;

pub use outcome::*;
pub use season::Season;
