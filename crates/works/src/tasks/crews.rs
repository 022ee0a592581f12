//! Who does the works: the usual crews of the guidance, and how many people of a kind can be had.

use super::job::HANDS;
use crate::programme::Crew;
use guidance::Unknown;
use measures::rules::Context;
use std::collections::BTreeSet;

/// Crews at hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hands {
    /// The crews.
    pub crews: Vec<Crew>,
    /// Whether they are the usual ones, assumed, or were given.
    pub assumed: bool,
    /// People of a usual team, for kinds nobody given can do.
    usual: u32,
}

impl Hands {
    /// The crews given, or the usual ones: a team that plants, fences, saws, burns and digs, one machine of a kind with its driver, an
    /// adviser, and the farm's own people.
    ///
    /// # Errors
    /// A figure the tables lack.
    pub fn of(c: &Context, given: Option<Vec<Crew>>) -> Result<Hands, Unknown> {
        let people = |key: &str| Ok::<u32, Unknown>(c.number(key)?.round().max(1.0) as u32);
        let usual = people("works.team.people")?;
        let crew = |id: &str, kinds: &[&str], capacity| Crew {
            id: id.into(),
            kinds: kinds.iter().map(|k| (*k).to_string()).collect::<BTreeSet<_>>(),
            capacity,
            there: vec![],
            away: vec![],
        };
        let assumed = given.is_none();
        let crews = match given {
            Some(crews) => crews,
            None => vec![
                crew("team", &["planting", "fencing", "saws", "burning", "digging"], usual),
                crew("machine", &["excavator", "tractor", "tracked"], people("works.machines")?),
                crew("adviser", &["adviser"], people("works.advisers")?),
                crew("farm", &["stock", "farm"], 1),
            ],
        };
        Ok(Hands { crews, assumed, usual })
    }

    /// People of the largest crew that can do a kind of work; of a usual team where nobody can.
    pub fn largest(&self, kind: &str) -> u32 {
        debug_assert!(HANDS.contains(&kind), "{kind}");
        self.crews.iter().filter(|crew| crew.kinds.contains(kind)).map(|crew| crew.capacity).max().unwrap_or(self.usual)
    }
}
