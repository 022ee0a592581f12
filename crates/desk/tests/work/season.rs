//! The picture of a season adds up to the ledger, and what could mend it is on the ground.

use crate::support::start;
use desk::api::ground::CouldMend;
use desk::work::courses::Courses;
use desk::work::mend;
use desk::work::season::{Question, lek, season};
use geo::{Contains, InteriorPoint};
use habitat::ahead::trial::Trials;
use habitat::figures::reach_of;
use habitat::reach::{CUT, sigma_m};
use habitat::{Cause, Season};
use measures::kind;
use std::collections::BTreeSet;

/// Cells of a picture: opacity by column and row.
fn opacity(png: &[u8]) -> (usize, usize, Vec<u8>) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(png)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    (info.width as usize, info.height as usize, pixels.chunks(4).map(|p| p[3]).collect())
}

#[test]
fn a_picture_adds_up_to_the_supply_of_the_ledger() {
    let start = start();
    let trials = Trials::new(&start.base, &start.holding, &start.guidance, vec![], &[0]).unwrap();
    let base = &start.base;
    let cocks: Vec<f64> = base.assessment.leks.iter().map(|l| f64::from(l.cocks.unwrap_or(1).max(1))).collect();
    let at: Vec<[f64; 2]> = base.assessment.leks.iter().map(|l| l.ground.at).collect();
    for season in Season::ALL {
        for lek in 0..cocks.len() {
            let question = Question { start: &start, year: base, lek, season };
            let png = question.png().unwrap();
            let (cols, rows, alpha) = opacity(&png.bytes);
            assert_eq!([cols, rows], png.place.size);
            let [west, _, _, north] = png.place.extent;
            let sigma = sigma_m(question.reach_m());
            let kernel = |l: usize, x: f64, y: f64| {
                let d = (x - at[l][0]).hypot(y - at[l][1]);
                if d <= CUT * sigma { (-0.5 * (d / sigma).powi(2)).exp() } else { 0.0 }
            };
            let cell = base.layout.frame.dx_m;
            let mut sum = 0.0;
            let values_of_cells = question.values().unwrap().1;
            for (i, value) in values_of_cells.iter().enumerate() {
                // 255 steps of strength; nothing is drawn where nothing is mapped.
                assert_eq!(alpha[i], if value.is_nan() { 0 } else { (value * 255.0).round() as u8 });
                if value.is_nan() {
                    continue;
                }
                let (x, y) = (west + ((i % cols) as f64 + 0.5) * cell, north - ((i / cols) as f64 + 0.5) * cell);
                let k = kernel(lek, x, y);
                let claims: f64 = (0..cocks.len()).map(|l| cocks[l] * kernel(l, x, y)).sum();
                sum += f64::from(*value) * k * (cocks[lek] * k / claims.max(1e-12)) * base.layout.frame.cell_ha();
            }
            // What nobody mapped is no cell of the picture: its credit is worked out as the ledger does.
            let reach = &base.reaches[lek];
            let node = reach_of(season) * 3 + 1;
            let values = base.middle().values(season);
            let (mut open, mut open_ha) = (0.0, 0.0);
            for (facet, w) in reach.facets.iter().zip(&reach.weights) {
                if !base.layout.is_wood[base.layout.facets[*facet as usize].stand as usize] {
                    open += f64::from(w[node] * values[*facet as usize]);
                    open_ha += f64::from(w[node]);
                }
            }
            sum += open / open_ha * f64::from(base.middle.unmapped) * reach.unmapped[node];
            let ledger = trials.now[0][lek][season as usize];
            // 255 steps of strength: a value is off by a five-hundredth at most, by chance to either side.
            assert!((sum - ledger).abs() < 0.01 * ledger + 0.02, "{season:?} of lek {lek}: {sum} in the picture, {ledger} in the ledger");
        }
    }
}

#[test]
fn a_season_says_why_and_names_ground_that_work_could_mend() {
    let start = start();
    let (mut some, mut sides) = (0, BTreeSet::new());
    for season in Season::ALL {
        let told = Question { start: &start, year: &start.base, lek: 0, season }.told().unwrap();
        assert!(told.words.ends_with('.') && told.words.len() > 20 && told.reach_m > 100.0, "{}", told.words);
        assert!(told.keys.iter().any(|k| k.starts_with(&format!("season.{}.", season.key()))) && told.keys.iter().any(|k| k.starts_with("reach.")));
        assert!(told.keys.iter().any(|k| k.starts_with("need.")), "{:?}", told.keys);
        let losses = &start.base.assessment.leks[0].seasons[season as usize].losses;
        assert_eq!(told.losses.len(), losses.len());
        assert!(told.losses.iter().zip(losses).all(|(a, b)| a.ha == b.ha && !a.what.is_empty()));
        // The holding's own first; within it, and beyond the march, by what it comes to.
        let march = start.holding.boundary.as_ref().unwrap();
        let shape = |m: &CouldMend| match m.layer.as_str() {
            "woods" => &start.holding.woods.iter().find(|w| w.id == m.id).unwrap().shape,
            _ => &start.holding.patches.iter().find(|p| p.id == m.id).unwrap().shape,
        };
        let own: Vec<bool> = told.could_mend.iter().map(|m| march.contains(&shape(m).interior_point().unwrap())).collect();
        assert!(own.is_sorted_by(|a, b| a >= b), "{own:?}");
        sides.extend(own.iter().copied());
        for side in [true, false] {
            let of_side: Vec<f64> = told.could_mend.iter().zip(&own).filter(|(_, own)| **own == side).map(|(m, _)| m.ha).collect();
            assert!(of_side.is_sorted_by(|a, b| a >= b));
        }
        for place in &told.could_mend {
            some += 1;
            assert!(place.ha > 0.0 && !place.why.is_empty() && !place.kinds.is_empty());
            assert!(place.kinds.iter().all(|k| kind::find(k).is_some()));
            let there = match place.layer.as_str() {
                "woods" => start.holding.woods.iter().any(|w| w.id == place.id),
                _ => start.holding.patches.iter().any(|p| p.id == place.id),
            };
            assert!(there, "{place:?}");
        }
    }
    assert!(some > 10, "{some} places in all seasons");
    assert_eq!(sides.len(), 2, "ground on both sides of the march");
    assert!(lek(&start, "nowhere").is_err() && season("monsoon").is_err_and(|p| p.faults[0].needed.contains("snowbound")));
}

#[test]
fn every_loss_that_work_mends_names_measures_there_are() {
    let guidance = guidance::Guidance::load().unwrap();
    let rows: Vec<_> = guidance.under("mend.").collect();
    assert!(rows.len() > 15, "{}", rows.len());
    for row in rows {
        let kinds: Vec<&str> = mend::kinds(row).collect();
        assert!(!kinds.is_empty() && kinds.iter().all(|k| kind::find(k).is_some()), "{}: {kinds:?}", row.key);
    }
}

#[test]
fn what_is_told_of_a_stand_is_what_the_ledger_loses_on_it() {
    let start = start();
    let mid = start.base.middle();
    let told = Question { start: &start, year: &start.base, lek: 0, season: Season::Snowbound }.told().unwrap();
    let food = mid.by_stand(&start.base.reaches[0], Season::Snowbound).into_iter().find(|(c, _)| *c == Cause::Food).unwrap().1;
    let first = told.could_mend.iter().find(|m| m.kinds == ["wood"] && m.why.contains("catkins")).unwrap();
    let at = start.base.state.stands.iter().position(|s| s.id == first.id).unwrap();
    assert_eq!(first.ha, food[at]);
}

#[test]
fn a_year_ahead_has_its_own_picture() {
    let start = start();
    let (_, _, course) = Courses::default().under(|| Ok((1, start.clone())), Some(1), 20).unwrap();
    let close = course.close(20).unwrap();
    let picture = |year| Question { start: &start, year, lek: 0, season: Season::Snowbound }.png().unwrap();
    let (now, then) = (picture(&start.base), picture(&close.assessed));
    assert_eq!(now.place, then.place);
    let sum = |png: &[u8]| opacity(png).2.iter().map(|a| u64::from(*a)).sum::<u64>();
    assert!(sum(&then.bytes) > sum(&now.bytes), "a wood that has grown feeds more birds in snow");
    // The ledger of the year looked at closely is the ruler's.
    let (a, b) = (&close.assessed.assessment.leks[0].seasons[6], &course.year(20).unwrap().ledger.leks[0].seasons[6]);
    assert!((a.supply_ha.p50 - b.supply_ha.p50).abs() < 1e-3 * b.supply_ha.p50);
}
