//! Felling that may need a licence or permission.
//!
//! Sources: Forestry Act 1967 as set out in a report (England and Wales); a page of the Scottish authority.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie};
use crate::finding::Severity;
use crate::kind::cut::on_woods;
use crate::rules::{Said, places};
use geo_types::MultiPolygon;
use habitat::ahead::Doing;

/// The rule.
pub const RULE: Rule = Rule {
    key: "consent_felling",
    title: "Felling that may need a licence",
    severity: Severity::Must,
    explain: "Looks for woods of the plan that a measure fells, thins, restocks or clears. In England and Wales a licence is needed but for small trees and a small \
        volume a quarter, in Scotland permission: the table gives the stem widths and volumes. The plan knows neither widths nor volumes, so every such work on a \
        wood is told, and the limits with it. Check the code in force.\n\n\
        Why it matters: felling without it is an offence, and replanting can be ordered where the lek should be.\n\n\
        What to do: measure the stems at breast height, and ask the forestry authority before any saw is started. Felling is for trained people.",
    keys: &["law.felling.dbh_exempt", "law.felling.thinning_exempt", "law.felling.volume_quarter", "law.felling.weeks"],
};

/// Find felling.
pub fn check(o: &OnMeasures) -> Checked {
    let mut limits = Vec::new();
    for country in o.countries() {
        let (dbh, volume) = (o.limit("law.felling.dbh_exempt", country), o.limit("law.felling.volume_quarter", country));
        let (Some(dbh), Some(volume)) = (dbh, volume) else { continue };
        limits.push(format!("stems up to {} and {} a quarter free in {}", dbh.words, volume.words, dbh.from));
    }
    let mut found = Vec::new();
    for (i, work) in &o.works {
        let what = match work.doing {
            Doing::Fell => "fells",
            Doing::Thin { .. } => "thins",
            Doing::Restock { .. } => "fells and restocks",
            Doing::ClearTrees => "clears",
            _ => continue,
        };
        let woods = on_woods(o.holding(), &work.area);
        if woods.is_empty() {
            continue;
        }
        let (measure, ha) = (o.measures[*i], woods.iter().map(|(_, p)| places::hectares(p)).sum::<f64>());
        let names: Vec<&str> = woods.iter().map(|(w, _)| lie::called(&w.name, &w.id)).collect();
        let (name, list) = (o.name(measure), crate::rules::words::list(&names));
        found.push(o.finding(
            &RULE,
            measure,
            Said {
                what: format!("{name} {what} trees: a licence may be needed"),
                place: format!("{name}, on {list}"),
                geometry: MultiPolygon(woods.iter().flat_map(|(_, p)| p.0.clone()).collect()).into(),
                value: format!("{} of wood; stem widths not known", lie::ha(ha)),
                needed: format!("leave of the forestry authority first ({}); check the code in force", limits.join("; ")),
                why: "Felling without leave is an offence, and replanting can be ordered where the lek should be.".into(),
                hint: "Measure the stems and ask the forestry authority first; felling is for trained people.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, measure};
    use super::*;
    use crate::rules::fixture::{moor, rect, wood};
    use guidance::Country;
    use holding::Tree;
    use serde_json::json;

    #[test]
    fn a_wood_worked_is_told_and_open_ground_is_not() {
        let mut h = moor();
        h.about.country = Country::Scotland;
        h.woods = vec![wood("W", rect(1400.0, 1400.0, 1500.0, 1500.0), Tree::Spruce, 8.0, 80.0, 2000)];
        let at = |x: f64, work: &str| found(&h, vec![measure("conifer_edge", rect(x, 1400.0, x + 50.0, 1500.0), &[("work", json!(work))])], check);
        let f = at(1450.0, "thin");
        assert!(f[0].value.contains("0.50 ha") && f[0].needed.contains("10 cm") && f[0].needed.contains("Scotland"), "{}", f[0].needed);
        assert!(at(1501.0, "thin").is_empty());
        assert_eq!(at(1450.0, "restock").len(), 1);
    }
}
