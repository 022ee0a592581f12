//! Stand state, facets, the seven seasons and the ledger.

pub mod ahead;
pub mod arena;
pub mod assess;
pub mod class;
pub mod composition;
pub mod drawn;
pub mod exact;
pub mod figures;
pub mod layout;
pub mod ledger;
pub mod live;
pub mod losses;
pub mod outcome;
pub mod place;
pub mod reach;
pub mod say;
pub mod season;
pub mod state;
pub mod sward;

pub use assess::{AssessError, Assessed, Settings, assess, target_cocks};
pub use class::Class;
pub use outcome::*;
pub use season::Season;
pub use state::{Feature, Stand, State};
