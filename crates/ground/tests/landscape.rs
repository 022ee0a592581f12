//! Cover-map measures against counts and geometry done by other means.
//!
//! Fixture `data/07_landscape`, made once with numpy counts, rasterio 1.4.4 polygons with shapely, scipy.stats.entropy
//! and scipy.ndimage; 1e-9. The 40-cell evenness 0.1687 is printed on the MODIS land-product page of ORNL on Shannon's
//! index (modis.ornl.gov).
#![allow(clippy::unwrap_used, reason = "a test may stop")]

use geo_types::{MultiPolygon, Rect};
use ground::buffer::{Cap, Join, Style, around_area};
use ground::landscape::{Contagion, CoreRule, Diversity, Edges, Interspersion, Neighbours, Patches, core_ha, counts};
use ground::overlay::dissolve;
use ground::polygon::area_m2;
use ground::rasterise::NONE;
use ground::{Frame, Grid};
use proptest::prelude::*;
use serde_json::Value;
use crate::support::asc64;

fn cover() -> Grid<u32> {
    let grid = asc64("07_landscape/cover.asc");
    Grid { frame: grid.frame, cells: grid.cells.iter().map(|v| if v.is_nan() { NONE } else { *v as u32 }).collect() }
}

fn expected() -> Value {
    serde_json::from_str(&std::fs::read_to_string("tests/data/07_landscape/landscape.json").unwrap()).unwrap()
}

fn close(ours: f64, theirs: &Value) {
    let theirs = theirs.as_f64().unwrap();
    assert!((ours - theirs).abs() < 1e-9, "{ours} and {theirs}");
}

#[test]
fn edges_equal_the_counts() {
    let (edges, facts) = (Edges::of(&cover()), &expected()["edge"]);
    for (pair, metres) in facts["pair_lengths_m"].as_object().unwrap() {
        let mut classes = pair.split('-').map(|c| c.parse::<u32>().unwrap());
        let pair = (classes.next().unwrap(), classes.next().unwrap());
        close(edges.by_pair_m[&pair], metres);
    }
    assert_eq!(edges.by_pair_m.len(), 5);
    close(edges.inner_m, &facts["inner_total_m"]);
    close(edges.rim_m, &facts["rim_m"]);
    close(edges.density_m_per_ha(), &facts["density_inner_m_per_ha"]);
    close(edges.density_with_rim_m_per_ha(), &facts["density_with_rim_m_per_ha"]);
    close(edges.evenness(4), &expected()["edge_evenness"]["over_ln_of_m(m-1)/2"]);
}

#[test]
fn patches_equal_the_polygons() {
    for (neighbours, name) in [(Neighbours::Four, "4"), (Neighbours::Eight, "8")] {
        let patches = Patches::of(&cover(), neighbours);
        let facts = &expected()["patches_by_connectivity"][name];
        assert_eq!(patches.table.len() as u64, facts["patches"].as_u64().unwrap());
        let mut table = patches.table.clone();
        table.sort_by(|a, b| {
            a.class.cmp(&b.class).then(b.area_m2.total_cmp(&a.area_m2)).then(b.perimeter_m.total_cmp(&a.perimeter_m))
        });
        for (ours, theirs) in table.iter().zip(facts["table"].as_array().unwrap()) {
            assert_eq!(u64::from(ours.class), theirs["class"].as_u64().unwrap());
            close(ours.area_m2, &theirs["area_m2"]);
            close(ours.perimeter_m, &theirs["perimeter_m"]);
            close(ours.shape(), &theirs["shape_circle"]);
            close(ours.shape_square(), &theirs["shape_square"]);
        }
        close(table.iter().map(|p| p.perimeter_m).sum(), &facts["sum_perimeters_m"]);
        close(patches.mean_shape(), &facts["mean_shape_circle"]);
        close(patches.area_weighted_shape(), &facts["area_weighted_shape_circle"]);
        let mean_square = table.iter().map(|p| p.shape_square()).sum::<f64>() / table.len() as f64;
        close(mean_square, &facts["mean_shape_square"]);
    }
}

#[test]
fn diversity_equals_scipy_and_the_printed_value() {
    let (ours, facts) = (Diversity::of_cover(&cover()), &expected()["diversity"]);
    close(ours.shannon, &facts["shannon_ln"]);
    close(ours.shannon / 2.0_f64.ln(), &facts["shannon_log2"]);
    close(ours.evenness, &facts["evenness"]);
    close(ours.dominance, &facts["dominance_ln_m_minus_H"]);
    close(ours.simpson, &facts["simpson_1_minus_sum_p2"]);
    let printed = Diversity::of(&[1.0, 39.0]).evenness;
    close(printed, &facts["check_published_40px_two_classes_evenness"]);
    assert!((printed - 0.1687).abs() < 5e-5);
}

#[test]
fn interspersion_and_contagion_equal_the_counts() {
    let (ours, facts) = (Interspersion::of(&cover()), &expected()["interspersion"]);
    close(ours.mean_unlike, &facts["mean_interior_unlike_of_8"]);
    // The stated formula: unlike sides weigh two each, corners one, of twelve. The fixture's own figure, 0.2487, adds
    // truth values, so that one or four unlike sides weigh two alike; both are worked out here from the map.
    let (mut stated, mut as_added) = (0.0, 0.0);
    for at in (0..100).filter(|at| (1..9).contains(&(at % 10)) && (1..9).contains(&(at / 10))) {
        let unlike = |step: isize| u32::from(cover().cells[(at as isize + step) as usize] != cover().cells[at as usize]);
        let (sides, corners) = ([-10, -1, 1, 10].map(unlike), [-11, -9, 9, 11].map(unlike).iter().sum::<u32>());
        stated += f64::from(2 * sides.iter().sum::<u32>() + corners) / 12.0 / 64.0;
        as_added += f64::from(2 * sides.iter().max().unwrap() + corners) / 12.0 / 64.0;
    }
    close(as_added, &facts["mean_interior_edge_weight_of_12"]);
    assert!((ours.mean_border - stated).abs() < 1e-12);
    for (row, line) in facts["grid_unlike_counts"].as_array().unwrap().iter().enumerate() {
        for (column, count) in line.as_array().unwrap().iter().enumerate() {
            let (ours, theirs) = (ours.unlike.get(column, row), count.as_f64().unwrap());
            assert!(if theirs < 0.0 { ours.is_nan() } else { f64::from(ours) == theirs });
        }
    }
    let (ours, facts) = (Contagion::of(&cover()), &expected()["contagion"]);
    close(ours.by_class_share, &facts["p_i_times_conditional"]);
    close(ours.by_pair_share, &facts["joint_frequencies"]);
}

#[test]
fn core_equals_all_five_rules() {
    let cover = cover();
    for (distance, layers) in [("20", 1), ("40", 2)] {
        let facts = &expected()["core_class1"][distance];
        let peel = |neighbours, rim_is_edge| core_ha(&cover, 1, CoreRule::Peel { layers, neighbours, rim_is_edge });
        close(peel(Neighbours::Four, false), &facts["erode_4nbr_rim_not_edge_ha"]);
        close(peel(Neighbours::Eight, false), &facts["erode_8nbr_rim_not_edge_ha"]);
        close(peel(Neighbours::Four, true), &facts["erode_4nbr_rim_is_edge_ha"]);
        let distance_m: f64 = distance.parse().unwrap();
        close(core_ha(&cover, 1, CoreRule::FartherThan { distance_m }), &facts["centre_distance_gt_d_ha"]);
        // The fifth rule: the drawn outline of the class, drawn in.
        let squares: Vec<MultiPolygon<f64>> = (0..100)
            .filter(|at| cover.cells[*at] == 1)
            .map(|at| {
                let (e, n) = cover.frame.centre(at % 10, at / 10);
                MultiPolygon(vec![Rect::new((e - 10.0, n - 10.0), (e + 10.0, n + 10.0)).to_polygon()])
            })
            .collect();
        let mitred = Style { quad_segs: 8, cap: Cap::Flat, join: Join::Mitre };
        let drawn_in = around_area(&dissolve(&squares), -distance_m, mitred);
        close(area_m2(&drawn_in) / 10_000.0, &facts["polygon_negative_buffer_rim_is_edge_ha"]);
    }
}

proptest! {
    #[test]
    fn parts_add_up(cells in prop::collection::vec(prop_oneof![4 => 0..4_u32, 1 => Just(NONE)], 8 * 9)) {
        let frame = Frame { west_m: 0.0, north_m: 0.0, dx_m: 4.0, dy_m: 5.0, cols: 9, rows: 8 };
        let cover = Grid::from_cells(frame, cells).unwrap();
        let edges = Edges::of(&cover);
        for neighbours in [Neighbours::Four, Neighbours::Eight] {
            let patches = Patches::of(&cover, neighbours);
            let border: f64 = patches.table.iter().map(|p| p.perimeter_m).sum();
            prop_assert!((border - 2.0 * edges.inner_m - edges.rim_m).abs() < 1e-9);
            let known: usize = counts(&cover).values().sum();
            prop_assert_eq!(patches.table.iter().map(|p| p.cells).sum::<usize>(), known);
            prop_assert!((edges.area_ha - known as f64 * 20.0 / 10_000.0).abs() < 1e-12);
        }
        for (class, _) in counts(&cover) {
            let peel = |layers, neighbours| core_ha(&cover, class, CoreRule::Peel { layers, neighbours, rim_is_edge: true });
            prop_assert!(peel(1, Neighbours::Eight) <= peel(1, Neighbours::Four));
            prop_assert!(peel(2, Neighbours::Four) <= peel(1, Neighbours::Four));
        }
    }

    #[test]
    fn evenness_is_largest_for_equal_shares(amounts in prop::collection::vec(0.01..9.0_f64, 2..8)) {
        let ours = Diversity::of(&amounts);
        prop_assert!(ours.evenness <= 1.0 + 1e-12 && ours.evenness >= 0.0);
        prop_assert!((Diversity::of(&vec![3.0; amounts.len()]).evenness - 1.0).abs() < 1e-12);
        prop_assert!(ours.simpson >= 0.0 && ours.simpson < 1.0);
    }
}
