//! No nest cover within reach of a lek.
//!
//! Sources: nests lie in tall rush (northern England: Warren et al. 2012) or tall dense heather (Parr & Watson 1988); the height from
//! a guidance page; the least area is an assumption.

use super::brood_ground::share_above;
use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use habitat::state::Origin;
use holding::Plant;

/// The rule.
pub const RULE: Rule = Rule {
    key: "nest_cover_none",
    title: "No nest cover within reach",
    severity: Severity::Should,
    explain: "Adds up, within {reach.nesting_m} of a lek, the ground where heather or rush stands {structure.nest.height} or taller: the area of every \
        patch or wood with at least the part {site.tall_cover.share} of heather and rush, times the part of its sward that tall, from the mean and \
        spread of its height. It tells where that comes to less than {rule.nest.cover_ha}. Where less than the part {rule.nest.mapped_share} of that reach is mapped, nothing is said.\n\n\
        The height is from a guidance page. Studies found nests in tall rush in northern England, where success rose with concealment, and in tall dense \
        heather in Scotland. How much a lek needs is an assumption of this program; the ledger's nesting season says more.\n\n\
        Why it matters: hens nest within a walk of the lek, and nests that are seen are lost.\n\n\
        What to do: let heather or rush grow on in several places; leave them out of burning, cutting and topping.",
    keys: &["structure.nest.height", "site.tall_cover.share", "rule.nest.cover_ha", "rule.nest.mapped_share", "reach.nesting_m"],
};

/// Find every lek without nest cover.
pub fn check(c: &Context) -> Checked {
    let tall_cm = c.number("structure.nest.height")?;
    let plants = c.number("site.tall_cover.share")? as f32;
    let least_ha = c.number("rule.nest.cover_ha")?;
    let reach_m = c.number("reach.nesting_m")?;
    let cover: Vec<f64> = c
        .stands()
        .iter()
        .map(|s| {
            let plant = s.covers[Plant::Heather as usize] + s.covers[Plant::Rush as usize];
            if plant >= plants && s.covers_from != Origin::Missing { share_above(s, tall_cm) } else { 0.0 }
        })
        .collect();
    let mut found = Vec::new();
    for lek in 0..c.leks().len() {
        let at = c.lek_at(lek);
        let area = c.ha_within(at, reach_m);
        let mut parts: Vec<(usize, f64)> = area.iter().zip(&cover).map(|(a, s)| a * s).enumerate().filter(|(_, ha)| *ha > 0.0).collect();
        let ha: f64 = parts.iter().map(|(_, ha)| ha).sum();
        let mapped: f64 = area.iter().sum();
        // Ground nobody mapped may hold cover: where most is unmapped nothing can be said.
        let whole = std::f64::consts::PI * reach_m * reach_m / 1e4;
        if ha >= least_ha || mapped < c.number("rule.nest.mapped_share")? * whole {
            continue;
        }
        parts.sort_by(|a, b| b.1.total_cmp(&a.1));
        let best = match parts.first().filter(|(_, ha)| *ha >= 0.05) {
            Some((s, _)) => format!("; most of it on {}", c.stand_name(&c.stands()[*s])),
            None => String::new(),
        };
        let secret = c.names_kept_back(parts.iter().take(1).map(|(s, _)| &c.stands()[*s]));
        let lek_name = c.lek_name(lek);
        found.push(c.finding(
            &RULE,
            Said {
                lek: Some(lek),
                severity: None,
                what: format!("hardly any nest cover near {lek_name}"),
                place: format!("within {} of {lek_name}", words::metres(reach_m)),
                geometry: places::disc(at, reach_m).into(),
                value: format!("{ha:.1} ha of heather or rush over {tall_cm:.0} cm on {mapped:.0} ha mapped{best}"),
                needed: format!("at least {} within {}", words::hectares(least_ha), words::metres(reach_m)),
                why: "Hens nest in tall heather or rush within a walk of the lek; nests in the open are found by foxes and crows.".into(),
                hint: "Pick several places where heather or rush may grow on, and leave them out of burning, cutting, topping and winter feeding.".into(),
                secret,
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, moor, run, wide};
    use super::*;

    #[test]
    fn short_moor_all_round_is_found() {
        let mut h = wide();
        h.patches.iter_mut().for_each(|p| (p.height_cm, p.height_sd_cm) = (Some(15.0), Some(5.0)));
        let f = run(&h, check);
        assert_eq!(f.len(), 1);
        assert!(f[0].value.starts_with("0.0 ha"), "{}", f[0].value);
    }

    #[test]
    fn a_little_more_than_the_least_is_left_alone() {
        let mut h = wide();
        h.patches.iter_mut().for_each(|p| (p.height_cm, p.height_sd_cm) = (Some(15.0), Some(5.0)));
        let bed = super::super::fixture::rect(1100.0, 1100.0, 1250.0, 1250.0);
        // 2.25 ha of heather at 60 cm, nearly all of it above 40.
        let mut tall = super::super::fixture::patch("Bed", bed, 60.0);
        tall.height_sd_cm = Some(8.0);
        h.patches.push(tall);
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn where_most_is_unmapped_nothing_is_said() {
        let mut h = moor();
        h.patches.truncate(1);
        assert!(run(&h, check).is_empty());
        assert!(run(&bare(), check).is_empty());
    }
}
