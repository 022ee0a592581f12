//! What to measure next.
//!
//! Every stand's figures carry a survey error, drawn apart from everything else. Its part in the spread of the pinch
//! season's margin is the variance its errors alone make while all else stays as drawn: half the mean squared difference
//! between the margins under two independent draws of its errors, over the variance of the margin (the total-effect
//! index in Jansen's form, Computer Physics Communications 117:35-43, 1999; from memory). Simply holding a stand's
//! errors at their mean would not do: the value bends in height and cover, so that also shifts the margin.

use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use geo_types::Geometry;
use habitat::figures::reach_of;
use habitat::ledger::{self, Values};
use habitat::reach::{NODES, mix};
use habitat::state::Origin;
use habitat::{Feature, Stand};

/// The rule.
pub const RULE: Rule = Rule {
    key: "measurements_missing",
    title: "Measurements that would narrow the answer",
    severity: Severity::Consider,
    explain: "Ranks the stands (and the ground nobody mapped) by how much of the spread of the pinch season's margin hangs on their survey errors: the margin is \
        reckoned with two independent draws of the errors of one stand, all else the same, and half the mean squared difference is set against the whole variance. It tells of the first {rule.missing.told} for each lek that make at least the \
        part {rule.missing.least_share} each, and of what to take there: stick heights where there are fewer than {survey.sticks_enough}, plant covers where \
        only the habitat class is known.\n\n\
        Limits: the width of survey errors is an assumption of this program (`survey.cv...` figures). The share named is the most a perfect \
        measurement could take away; shares overlap where errors act together, so they can add up to more than the whole, and they rest on the number of \
        draws. What is left is in the figures of the birds, which no survey narrows. Stands with sticks and covers are \
        not told of.\n\n\
        Why it matters: an hour with a stick in the right place does more than a day in the wrong one.\n\n\
        What to do: take the measurements on the next visit, out of the season of display and nesting, and assess again.",
    keys: &["rule.missing.told", "rule.missing.least_share", "survey.sticks_enough"],
};

/// A stand, or the unmapped ground, whose survey narrows the answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Index of the stand; `None` for the ground nobody mapped.
    pub stand: Option<usize>,
    /// Part of the variance of the pinch season's margin that its survey errors make while all else stays as drawn, 0 to 1.
    pub share: f64,
}

/// All gaps of every lek, largest first.
pub fn ranked(c: &Context) -> Vec<Vec<Gap>> {
    let a = c.assessed;
    let n = a.figures.len();
    let values = |seed| Values::of(&a.state, &a.layout, &a.figures, &ledger::errors(&a.state, seed, n), &a.age);
    let (one, other) = (values(a.settings.seed), values(another(a.settings.seed)));
    (0..c.leks().len()).map(|lek| of_lek(c, lek, &one, &other)).collect()
}

/// The seed of a second, independent draw of the errors.
fn another(seed: u64) -> u64 {
    !seed
}

fn of_lek(c: &Context, lek: usize, one: &Values, other: &Values) -> Vec<Gap> {
    let a = c.assessed;
    let (n, reach) = (a.figures.len(), &a.reaches[lek]);
    let season = c.leks()[lek].pinch as usize;
    let r = reach_of(c.leks()[lek].pinch);
    // Unmapped ground leans on the mapped open ground, woods left out.
    let is_wood = |facet: u32| a.layout.is_wood[a.layout.facets[facet as usize].stand as usize];
    let mut mapped_ha = [0.0f64; NODES];
    for (_, weights) in reach.facets.iter().zip(&reach.weights).filter(|(f, _)| !is_wood(**f)) {
        for (node, sum) in mapped_ha.iter_mut().enumerate() {
            *sum += weights[r * NODES + node] as f64;
        }
    }
    let unmapped_share = |node: usize| if mapped_ha[node] > 0.0 { reach.unmapped[r * NODES + node] / mapped_ha[node] } else { 0.0 };
    // Weight of every node in every draw: its part of the drawn width, and the same with the unmapped ground's part.
    let (mut part, mut lifted) = (vec![[0.0f32; NODES]; n], vec![[0.0f32; NODES]; n]);
    for (d, f) in a.figures.iter().enumerate() {
        part[d] = mix(&a.reach_m[r], f.reach_m[r] as f64).map(|p| p as f32);
        for k in 0..NODES {
            lifted[d][k] = part[d][k] * (1.0 + f.unmapped as f64 * unmapped_share(k)) as f32;
        }
    }
    let mut effect = vec![0.0f32; a.state.stands.len() * n];
    let mut mapped = vec![[0.0f32; NODES]; n];
    let (mut v, mut v0) = (vec![0.0f32; n], vec![0.0f32; n]);
    for (facet, weights) in reach.facets.iter().zip(&reach.weights) {
        let w: [f32; NODES] = std::array::from_fn(|k| weights[r * NODES + k]);
        one.facet(&a.layout, *facet, season, &mut v);
        other.facet(&a.layout, *facet, season, &mut v0);
        let at = a.layout.facets[*facet as usize].stand as usize * n;
        let wood = is_wood(*facet);
        for (d, e) in effect[at..at + n].iter_mut().enumerate() {
            let mut reached = 0.0;
            for k in 0..NODES {
                reached += w[k] * if wood { part[d][k] } else { lifted[d][k] };
                if !wood {
                    mapped[d][k] += w[k] * v[d];
                }
            }
            *e += reached * (v[d] - v0[d]);
        }
    }
    let (supply, need) = (&a.supply[lek][season], &a.need[lek][season]);
    let margin = |ha: f64, d: usize| ha / need[d].max(1e-9);
    let total = variance((0..n).map(|d| margin(supply[d], d)));
    if total <= 0.0 {
        return Vec::new();
    }
    let half_square = |differences: &mut dyn Iterator<Item = f64>| differences.map(|d| d * d).sum::<f64>() / (2 * n) as f64;
    let of_unmapped = half_square(&mut (0..n).map(|d| {
        // The draw half a set away stands for an independent one.
        let u = (a.figures[d].unmapped - a.figures[(d + n / 2) % n].unmapped) as f64;
        margin((0..NODES).map(|k| (part[d][k] * mapped[d][k]) as f64 * u * unmapped_share(k)).sum(), d)
    }));
    let mut gaps: Vec<Gap> = effect
        .chunks(n)
        .enumerate()
        .map(|(s, e)| Gap { stand: Some(s), share: (half_square(&mut e.iter().enumerate().map(|(d, e)| margin(*e as f64, d))) / total).min(1.0) })
        .chain([Gap { stand: None, share: (of_unmapped / total).min(1.0) }])
        .filter(|g| g.share > 0.0)
        .collect();
    gaps.sort_by(|x, y| y.share.total_cmp(&x.share).then(x.stand.cmp(&y.stand)));
    gaps
}

fn variance(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let (n, sum) = values.clone().fold((0usize, 0.0), |(n, s), v| (n + 1, s + v));
    if n < 2 {
        return 0.0;
    }
    let mean = sum / n as f64;
    values.map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1) as f64
}

/// What to take on a stand; `None` where it is fully surveyed.
fn to_take(stand: &Stand, enough: f64) -> Option<String> {
    let mut take = Vec::new();
    if stand.height_from != Origin::Sticks {
        take.push(match stand.feature {
            Feature::Patch(_) => format!("{enough:.0} or more stick heights"),
            Feature::Wood(_) => "heights of the ground layer".to_string(),
        });
    }
    if stand.covers_from > Origin::Measured {
        take.push("plant covers".to_string());
    }
    (!take.is_empty()).then(|| words::list(&take))
}

/// Tell what to measure next, one finding a lek; and of a missing height model.
pub fn check(c: &Context) -> Checked {
    let told = c.number("rule.missing.told")? as usize;
    let least = c.number("rule.missing.least_share")?;
    let enough = c.number("survey.sticks_enough")?;
    let mut found = Vec::new();
    for (lek, gaps) in ranked(c).into_iter().enumerate() {
        let useful = gaps.iter().filter(|g| g.share >= least).filter_map(|g| {
            let (name, take) = match g.stand {
                Some(s) => (c.stand_name(&c.stands()[s]), to_take(&c.stands()[s], enough)?),
                None => ("ground nobody has mapped".to_string(), "walk it, or bring in land cover".to_string()),
            };
            Some((g, name, take))
        });
        let next: Vec<_> = useful.take(told).collect();
        let Some((_, first, _)) = next.first() else { continue };
        let lek_name = c.lek_name(lek);
        let season = c.leks()[lek].pinch.name();
        let lines: Vec<String> =
            next.iter().enumerate().map(|(i, (g, name, take))| format!("{}. {name}: {} ({take})", i + 1, words::percent(g.share))).collect();
        let shapes = next.iter().filter_map(|(g, _, _)| Some(c.shape(&c.stands()[g.stand?]).clone()));
        let stands: Vec<&Stand> = next.iter().filter_map(|(g, _, _)| Some(&c.stands()[g.stand?])).collect();
        found.push(c.finding(
            &RULE,
            Said {
                // The outline of a patch a lek lies on gives the lek away.
                lek: stands.iter().any(|s| c.holds_lek(s)).then_some(lek),
                severity: None,
                what: format!("what to measure next for {lek_name}: {first} first"),
                place: words::list(&next.iter().map(|(_, name, _)| name.as_str()).collect::<Vec<_>>()),
                geometry: places::together(shapes, c.lek_at(lek)),
                value: format!("share of the spread of the {season} margin that each makes: {}", lines.join("; ")),
                needed: format!("sticks and covers where a stand makes {} of the spread or more", words::percent(least)),
                why: "These measurements would narrow the answer for this lek most.".into(),
                hint: "Take them on the next visit, out of the season of display and nesting, bring them in and assess again.".into(),
                secret: c.names_kept_back(stands.iter().copied()),
            },
        ));
    }
    if c.holding.heights.is_none() {
        let everywhere = c.holding.boundary.clone().map(Geometry::from).unwrap_or_else(|| Geometry::MultiPoint(Vec::<geo_types::Point>::new().into()));
        found.push(c.finding(
            &RULE,
            Said {
                lek: None,
                severity: None,
                what: "the plan has no height model".into(),
                place: "the whole plan".into(),
                geometry: everywhere,
                value: "slope, altitude and the view from the leks are left out".into(),
                needed: "a height model over the holding and its surroundings".into(),
                why: "Steep display grounds and lost views cannot be found without heights.".into(),
                hint: "Bring in an open height model of the area; a cell of a few metres is enough.".into(),
                secret: vec![],
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, flat, moor, patch, rect, run, wide};
    use super::*;
    use guidance::Guidance;
    use habitat::{Assessed, Settings};
    use holding::Holding;

    fn assessed(h: &Holding, draws: usize) -> (Guidance, Assessed) {
        let guidance = Guidance::load().unwrap();
        let a = habitat::assess(h, &guidance, Settings { draws, seed: 1, cell_m: Some(20.0) }).unwrap();
        (guidance, a)
    }

    #[test]
    fn the_part_of_one_stand_is_that_of_a_full_new_ledger() {
        // Outside path: the whole ledger reckoned again with a second draw of one stand's errors.
        let mut h = moor();
        h.patches.iter_mut().for_each(|p| p.coarse = true);
        let (guidance, a) = assessed(&h, 300);
        let c = Context::new(&h, &guidance, &a);
        let season = a.assessment.leks[0].pinch as usize;
        let margins = |supply: &ledger::Supply| -> Vec<f64> { (0..300).map(|d| supply[season][d] / a.need[0][season][d]).collect() };
        let plain = margins(&a.supply[0]);
        let (first, second) = (ledger::errors(&a.state, 1, 300), ledger::errors(&a.state, another(1), 300));
        for gap in ranked(&c)[0].iter() {
            let Some(stand) = gap.stand else { continue };
            let mut errors = first.clone();
            errors[stand] = second[stand].clone();
            let values = Values::of(&a.state, &a.layout, &a.figures, &errors, &a.age);
            let changed = margins(&ledger::supply_of(&a.layout, &values, &a.reaches[0], &a.figures, &a.reach_m, None));
            let part = plain.iter().zip(&changed).map(|(p, q)| (p - q) * (p - q)).sum::<f64>() / 600.0 / variance(plain.iter().copied());
            assert!((part - gap.share).abs() < 1e-3, "{}: {part} {}", a.state.stands[stand].name, gap.share);
        }
        assert!(ranked(&c)[0][0].share > 0.05);
    }

    #[test]
    fn a_guessed_stand_comes_before_a_measured_one() {
        let mut h = wide();
        h.heights = Some(flat());
        let mut guessed = patch("Guessed", rect(1000.0, 1060.0, 2000.0, 2000.0), 30.0);
        guessed.coarse = true;
        let mut measured = patch("Measured", rect(0.0, 1060.0, 1000.0, 2000.0), 30.0);
        measured.note = "same size, same distance".into();
        h.patches.retain(|p| p.id != "North");
        h.patches.extend([guessed, measured]);
        let (guidance, a) = assessed(&h, 400);
        let c = Context::new(&h, &guidance, &a);
        let share = |name: &str| ranked(&c)[0].iter().find(|g| g.stand.is_some_and(|s| a.state.stands[s].name == name)).map_or(0.0, |g| g.share);
        assert!(share("Guessed") > 1.5 * share("Measured"), "{} {}", share("Guessed"), share("Measured"));
        let f = check(&c).unwrap();
        assert_eq!(f.len(), 1);
        assert!(f[0].value.contains("1. "), "{}", f[0].value);
    }

    #[test]
    fn a_stand_with_sticks_and_covers_is_not_told_of() {
        let (guidance, a) = assessed(&moor(), 4);
        let mut stand = a.state.stands[0].clone();
        assert_eq!(to_take(&stand, 5.0).as_deref(), Some("5 or more stick heights"));
        stand.height_from = Origin::Sticks;
        assert_eq!(to_take(&stand, 5.0), None);
        drop(guidance);
    }

    #[test]
    fn without_heights_that_is_said_and_a_bare_survey_is_read() {
        assert!(run(&bare(), check).iter().any(|f| f.what.contains("no height model")));
    }
}
