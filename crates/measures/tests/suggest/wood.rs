//! Woods designed on the invented demonstration: the form asked for, the limits kept, harm shown and kept out of.

use geo::{Area, Distance, Euclidean};
use guidance::Guidance;
use habitat::ahead::trial::{Place, Trials};
use habitat::ahead::variant::cells;
use habitat::{Assessed, Season, Settings, assess};
use holding::Holding;
use measures::finding::Severity;
use measures::kind;
use measures::rules::{Context, check_option, places};
use measures::suggest::design::Horizon;
use measures::suggest::wood::{Ask, suggest};
use std::sync::OnceLock;

fn ground() -> &'static (Holding, Guidance, Assessed) {
    static GROUND: OnceLock<(Holding, Guidance, Assessed)> = OnceLock::new();
    GROUND.get_or_init(|| {
        let h = crate::demonstration();
        let g = Guidance::load().unwrap_or_else(|f| panic!("{f:?}"));
        let a = assess(&h, &g, Settings { draws: 4, ..Settings::default() }).unwrap();
        (h, g, a)
    })
}

#[test]
fn woods_have_the_form_asked_for_and_keep_every_limit() {
    let (h, g, a) = ground();
    let c = Context::new(h, g, a);
    let ask = Ask { tried: 120, area_ha: 14.0, budget_gbp: Some(45_000.0), ..Ask::usual(&c).unwrap() };
    let d = suggest(&c, &ask, &|| false).unwrap();
    assert!(d.suggested.len() >= 3, "{}", d.suggested.len());
    assert!(d.chosen.gap <= 0.03 && d.chosen.gap_of_gain <= 0.03, "{:?}", d.chosen);
    assert!(d.chosen.objective > d.chosen.before && d.chosen.objective <= d.chosen.upper_bound + 1e-9);
    let ha: f64 = d.suggested.iter().map(|s| s.measure.shape.unsigned_area() / 1e4).sum();
    let gbp: f64 = d.suggested.iter().map(|s| s.gbp[1]).sum();
    assert!(ha <= 14.0 + 1e-6 && gbp <= 45_000.0 + 1e-6, "{ha} {gbp}");
    for (i, s) in d.suggested.iter().enumerate() {
        let size = s.measure.shape.unsigned_area() / 1e4;
        assert!((1.0..=5.0).contains(&size), "{size}");
        let form = s.figures[1].amount;
        assert!((1.3..=2.2).contains(&form), "{form}");
        for other in &d.suggested[i + 1..] {
            assert!(Euclidean.distance(&s.measure.shape, &other.measure.shape) >= ask.spacing_m);
        }
    }
    // Laid in an option, no rule that a design can answer for is broken; consents are for the authorities.
    let mut with = h.clone();
    with.options.push(holding::PlanOption { number: 1, name: "designed".into(), note: String::new() });
    with.measures.extend(d.suggested.iter().map(|s| holding::Measure { option: 1, ..s.measure.clone() }));
    let found = check_option(&Context::new(&with, g, a), 1, None).unwrap();
    let broken: Vec<_> = found.iter().filter(|f| !f.rule.starts_with("consent_") && f.severity != Severity::Consider).map(|f| (f.rule, &f.value)).collect();
    assert!(broken.is_empty(), "{broken:?}");
}

#[test]
fn the_same_question_has_the_same_answer() {
    let (h, g, a) = ground();
    let c = Context::new(h, g, a);
    let ask = Ask { tried: 16, ..Ask::usual(&c).unwrap() };
    let one = |seed: u64| suggest(&c, &Ask { seed, ..ask.clone() }, &|| false).unwrap().suggested;
    assert_eq!(one(1), one(1));
    assert_ne!(one(1), one(2));
}

/// Harm is visible: a wood on brood ground helps in snow and takes brood ground; the designer lays its woods elsewhere.
#[test]
fn a_wood_on_brood_ground_shows_both_and_the_design_goes_elsewhere() {
    let (h, g, a) = ground();
    let c = Context::new(h, g, a);
    let horizon = Horizon::read(&c).unwrap();
    let ask = Ask { tried: 120, ..Ask::usual(&c).unwrap() };
    let d = suggest(&c, &ask, &|| false).unwrap();
    // The best brood ground within reach of the second lek, about two hectares of it.
    let brood = a.middle().values(Season::Brood);
    let lek = c.lek_at(1);
    let mut near: Vec<(f32, usize)> = Vec::new();
    c.each_cell_within(lek, 900.0, |i| {
        if let Some(v) = brood.get(a.layout.facet_of[i] as usize).filter(|v| v.is_finite()) {
            near.push((*v, i));
        }
    });
    near.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.1.cmp(&y.1)));
    let on = places::of_cells(&a.layout.frame, near.iter().take(200).map(|n| n.1).collect());
    let mut bad = d.suggested[0].measure.clone();
    bad.shape = on.clone();
    let mut trials = Trials::new(a, h, g, Vec::new(), &horizon.years).unwrap();
    let entry = kind::find("wood").unwrap();
    let mut of = |m: &holding::Measure| {
        let mut programme = habitat::ahead::Programme::default();
        (entry.works)(&c, m, &mut programme).unwrap();
        let recipe = trials.add(programme.works);
        trials.effects(&[Place { cells: cells(&a.layout.frame, &m.shape), recipe }]).unwrap().remove(0)
    };
    let effect = of(&bad);
    let least = |e: &habitat::ahead::trial::BySeason, s: Season| e.iter().flatten().map(|lek| lek[s as usize]).fold(f64::INFINITY, f64::min);
    let most = |e: &habitat::ahead::trial::BySeason, s: Season| e.iter().flatten().map(|lek| lek[s as usize]).fold(f64::NEG_INFINITY, f64::max);
    assert!(most(&effect, Season::Snowbound) > 0.2, "{}", most(&effect, Season::Snowbound));
    assert!(least(&effect, Season::Brood) < -0.2, "{}", least(&effect, Season::Brood));
    for s in &d.suggested {
        let e = of(&s.measure);
        assert!(least(&e, Season::Brood) > 0.5 * least(&effect, Season::Brood), "{} {}", s.measure.id, least(&e, Season::Brood));
        let shared: f64 = geo::BooleanOps::intersection(&s.measure.shape, &on).unsigned_area();
        assert!(shared < 0.05 * on.unsigned_area(), "{shared}");
    }
}
