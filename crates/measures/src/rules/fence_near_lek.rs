//! Unmarked fences near a lek.
//!
//! Grouse fly low and fast into wire. Sources: strikes on deer fences and the effect of marking from Baines & Andrew 2003;
//! the distance for deer fences from the Scottish grant for marking; nothing was measured on stock fences.

use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use crate::secrecy::{BAND_ENDS_M, Secret, distance_band, one_figure};
use geo_types::MultiPolygon;
use guidance::Unknown;
use holding::{FenceKind, Marking};

/// The rule.
pub const RULE: Rule = Rule {
    key: "fence_near_lek",
    title: "Unmarked fence near a lek",
    severity: Severity::Must,
    explain: "Deer fences: every part within {fence.near_lek} of a lek that is not marked. The distance is that of the Scottish grant for \
        marking fences near active leks, taken for all of Great Britain. Strikes to be expected are length times {fence.strikes.deer.black_grouse}; \
        low and high are length times {fence.strikes.native_pinewood.black_grouse_year} (native pinewoods) and \
        {fence.strikes.deer.black_grouse_high} (a recount that does not agree with the published mean). Of strikes about \
        {fence.fatal_share.black_grouse} kill. Marking with orange netting cut strikes by {fence.marking_cut.black_grouse}; canes and pales were not \
        measured for black grouse.\n\n\
        Stock and wire fences: every unmarked part within {rule.fence.stock_within}. No strikes on stock fences were measured: the rate used \
        ({fence.strikes.stock.black_grouse}, with anything from none to that of a deer fence held possible) is an assumption, and the finding only \
        asks to think about it.\n\n\
        Fences whose marking nobody recorded are told of as something to look at. Walls are left out.\n\n\
        Why it matters: a lek of a few cocks cannot lose a bird a year to wire.\n\n\
        What to do: take down fences that have done their work; else mark them, the parts nearest the lek, on brows and along wood edges first. \
        A march fence, a fence on common land or one put up with grant money may need others' consent before it is altered.",
    keys: &[
        "fence.near_lek",
        "fence.strikes.deer.black_grouse",
        "fence.strikes.deer.black_grouse_high",
        "fence.strikes.native_pinewood.black_grouse_year",
        "fence.fatal_share.black_grouse",
        "fence.marking_cut.black_grouse",
        "rule.fence.stock_within",
        "fence.strikes.stock.black_grouse",
    ],
};

/// Strikes a kilometre a year: middle, low, high.
struct Rate {
    middle: f64,
    low: f64,
    high: f64,
    /// Whether anybody measured it.
    measured: bool,
}

/// Distance within which a kind of fence is told of, metres, and its rate.
fn limits(c: &Context, kind: FenceKind) -> Result<Option<(f64, Rate)>, Unknown> {
    Ok(match kind {
        FenceKind::Deer => Some((
            1000.0 * c.number("fence.near_lek")?,
            Rate {
                middle: c.number("fence.strikes.deer.black_grouse")?,
                low: c.number("fence.strikes.native_pinewood.black_grouse_year")?,
                high: c.number("fence.strikes.deer.black_grouse_high")?,
                measured: true,
            },
        )),
        FenceKind::Stock | FenceKind::Wire | FenceKind::Other => {
            let key = "fence.strikes.stock.black_grouse";
            let middle = c.number(key)?;
            let row = c.guidance.row(key, c.holding.about.country)?;
            let (low, high) = (row.low.unwrap_or(middle), row.high.unwrap_or(middle));
            Some((c.number("rule.fence.stock_within")?, Rate { middle, low, high, measured: false }))
        }
        FenceKind::Wall => None,
    })
}

/// Find the unmarked parts of fences near leks.
pub fn check(c: &Context) -> Checked {
    let fatal = c.number("fence.fatal_share.black_grouse")? / 100.0;
    let cut = c.number("fence.marking_cut.black_grouse")? / 100.0;
    // Discs round all leks together, so that wire near two leks counts once.
    let near = |radius_m: f64| -> MultiPolygon<f64> {
        let discs: Vec<_> = (0..c.leks().len()).map(|l| places::disc(c.lek_at(l), radius_m)).collect();
        ground::quick::union(&discs)
    };
    let mut discs: Vec<(f64, MultiPolygon<f64>)> = Vec::new();
    let mut found = Vec::new();
    for fence in &c.holding.fences {
        if !matches!(fence.marking, Marking::None | Marking::Unknown) {
            continue;
        }
        let Some((radius_m, rate)) = limits(c, fence.kind)? else { continue };
        if !discs.iter().any(|(r, _)| *r == radius_m) {
            discs.push((radius_m, near(radius_m)));
        }
        let Some((_, area)) = discs.iter().find(|(r, _)| *r == radius_m) else { continue };
        let piece = places::line_inside(&fence.shape, area);
        let Some((lek, distance_m)) = c.nearest_lek(&piece).filter(|_| !piece.0.is_empty()) else { continue };
        let km = places::metres(&piece) / 1000.0;
        let name = if fence.name.is_empty() { format!("fence {}", fence.id) } else { fence.name.clone() };
        let lek_name = c.lek_name(lek);
        let kind = match fence.kind {
            FenceKind::Deer => "deer fence",
            FenceKind::Wire => "wire fence",
            FenceKind::Other => "fence of another kind",
            _ => "stock fence",
        };
        let (unmarked, severity) = match (fence.marking, fence.kind) {
            (Marking::Unknown, _) => ("marking not recorded", Severity::Consider),
            (_, FenceKind::Deer) => ("unmarked", Severity::Must),
            _ => ("unmarked", Severity::Consider),
        };
        // Strikes go with the length, which goes with where the lek lies: where it is withheld they are told to one figure.
        let left = |say: fn(f64) -> String| match rate.measured {
            true => format!("; marked with orange netting about {} strikes a year would be left", say(rate.middle * (1.0 - cut) * km)),
            false => String::new(),
        };
        let struck = |length: &str, say: fn(f64) -> String| {
            format!(
                "{length} of {kind}, {unmarked}: about {} black grouse strikes a year ({} to {}), {} of them deaths",
                say(rate.middle * km),
                say(rate.low * km),
                say(rate.high * km),
                say(rate.middle * fatal * km)
            )
        };
        let (value, left_over) = (struck(&words::metres(1000.0 * km), words::number), left(words::number));
        let mut secret = vec![
            Secret { said: value.clone(), instead: struck(distance_band(1000.0 * km), one_figure) },
            Secret::of(&words::metres(distance_m), distance_band(distance_m), |d| format!("{d} at the nearest")),
        ];
        if rate.measured {
            secret.push(Secret { said: left_over.clone(), instead: left(one_figure) });
        }
        // On any map a named fence and a distance shorter than the square's side are a strip.
        if radius_m < BAND_ENDS_M[0] {
            secret.extend(c.name_kept_back(&name, "a fence"));
        }
        let basis = if rate.measured { "" } else { "; never measured on such fences, the rate is assumed" };
        found.push(c.finding(
            &RULE,
            Said {
                lek: Some(lek),
                severity: Some(severity),
                what: format!("{name}: {kind} near {lek_name}, {unmarked}"),
                place: format!("{name}, {} at the nearest from {lek_name}", words::metres(distance_m)),
                geometry: piece.into(),
                value: format!("{value}{basis}"),
                needed: format!("taken down or marked within {} of a lek{left_over}", words::metres(radius_m)),
                why: "Grouse fly low and fast and do not see wire; a small lek cannot spare a bird a year.".into(),
                hint: "Take the fence down if its work is done; else mark it, starting nearest the lek, on brows and along wood edges, outside the \
                    season of display and nesting. Ask neighbours, commoners or the grant authority first where the fence is theirs too."
                    .into(),
                secret,
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, line, moor, run};
    use super::*;
    use geo_types::Geometry;
    use holding::Fence;

    fn fence(kind: FenceKind, marking: Marking, points: &[(f64, f64)]) -> Fence {
        Fence { name: "March fence".into(), kind, marking, ..Fence::new("F1", line(points)) }
    }

    #[test]
    fn a_deer_fence_gives_the_published_strikes_on_the_part_inside() {
        // Baines & Andrew 2003: 1.3 strikes per km a year. Chord at 1200 m in a disc of 2 km: 2 x 1600 m.
        let mut h = moor();
        h.fences = vec![fence(FenceKind::Deer, Marking::None, &[(-5000.0, 2200.0), (7000.0, 2200.0)])];
        let f = run(&h, check);
        assert_eq!(f.len(), 1);
        assert_eq!(f[0].severity, Severity::Must);
        let Geometry::MultiLineString(piece) = &f[0].geometry else { panic!() };
        assert!((places::metres(piece) - 3200.0).abs() < 1.0);
        assert!(f[0].value.contains("3.2 km") && f[0].value.contains("about 4.2 black grouse strikes"), "{}", f[0].value);
    }

    #[test]
    fn withheld_neither_the_distance_nor_the_length_nor_the_strikes_give_the_lek_away() {
        let mut h = moor();
        h.fences = vec![fence(FenceKind::Deer, Marking::None, &[(-5000.0, 1071.0), (7000.0, 1071.0)])];
        let f = run(&h, check).remove(0);
        assert!(f.place.contains("71 m at the nearest"), "{}", f.place);
        let told = f.withheld();
        assert_eq!(told.place, "March fence, under 1 km at the nearest from Testrigg lek");
        // 4.0 km: strikes 5.2 (1.5 to 16), deaths 1.5, left over 0.47, each to one figure.
        assert_eq!(told.value, "over 3 km of deer fence, unmarked: about 5 black grouse strikes a year (1 to 20), 2 of them deaths");
        assert!(told.needed.contains("within 2 km of a lek; marked with orange netting about 0.5 strikes"), "{}", told.needed);
    }

    #[test]
    fn marked_fences_walls_and_far_fences_are_left_alone() {
        let near = [(0.0, 1400.0), (2000.0, 1400.0)];
        let mut h = moor();
        h.fences = vec![
            fence(FenceKind::Deer, Marking::Netting, &near),
            fence(FenceKind::Wall, Marking::None, &near),
            fence(FenceKind::Stock, Marking::None, &[(0.0, 1501.0), (2000.0, 1501.0)]),
            fence(FenceKind::Deer, Marking::None, &[(-9000.0, 3001.0), (9000.0, 3001.0)]),
        ];
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn a_stock_fence_is_only_something_to_think_about_and_says_it_was_not_measured() {
        let mut h = moor();
        h.fences = vec![fence(FenceKind::Stock, Marking::None, &[(0.0, 1400.0), (2000.0, 1400.0)])];
        let f = run(&h, check);
        assert_eq!(f[0].severity, Severity::Consider);
        assert!(f[0].value.contains("never measured"));
        assert!(f[0].what.starts_with("March fence: stock fence"), "{}", f[0].what);
        let told = f[0].withheld();
        assert!(told.what.starts_with("a fence: stock fence") && told.place.starts_with("a fence, "), "{told:?}");
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert_eq!(run(&bare(), check).len(), 1);
    }
}
