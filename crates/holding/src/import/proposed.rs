//! Leks that the places of visits speak of and the plan does not have.

use geo_types::Point;
use std::fmt;

/// A lek put forward: birds were seen there, farther from every lek of the plan than birds of one lek are apart.
#[derive(Clone, Debug, PartialEq)]
pub struct ProposedLek {
    /// The id it was given; `None` where it was not made.
    pub id: Option<String>,
    /// Name: what the file calls it, else the grid reference of its kilometre square.
    pub name: String,
    /// The middle of the places.
    pub at: Point<f64>,
    /// Distance from the middle to the farthest place, metres.
    pub reach_m: f64,
    /// Visits.
    pub visits: usize,
    /// Most cocks of a visit.
    pub most_cocks: u32,
    /// The first few rows.
    pub rows: Vec<String>,
    /// The known lek it lies so near that it may be a satellite of it: id, and metres to it.
    pub satellite_of: Option<(String, f64)>,
}

/// A distance to a lek as far as it may be told: `within 500 m`, rounded up to whole hundreds.
pub(super) fn within_hundreds(m: f64) -> String {
    format!("within {:.0} m", (m / 100.0).ceil().max(1.0) * 100.0)
}

impl fmt::Display for ProposedLek {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (kind, near) = match &self.satellite_of {
            Some((lek, apart_m)) => ("satellite lek", format!(", {} of lek {lek}", within_hundreds(*apart_m))),
            None => ("new lek", String::new()),
        };
        let visits = if self.visits == 1 { "1 visit".to_owned() } else { format!("{} visits", self.visits) };
        write!(f, "{kind} {}{near}: {visits}, at most {} cocks ({})", self.name, self.most_cocks, self.rows.join(", "))
    }
}
