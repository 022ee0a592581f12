fn main() {
    let t = std::time::Instant::now();
    let h = demo::holding(1);
    eprintln!("demo {:?}: {} patches", t.elapsed(), h.patches.len());
    let g = guidance::Guidance::load().unwrap();
    for _ in 0..3 {
        let t = std::time::Instant::now();
        let done = habitat::assess(&h, &g, habitat::Settings::default()).unwrap();
        eprintln!("assess {:?}, {} facets, {} cells", t.elapsed(), done.layout.facets.len(), done.layout.frame.len());
        for l in &done.assessment.leks {
            eprintln!("{} {:?} pinch {:?} in {} draws: {}", l.name, l.cocks, l.pinch, l.pinch_draws, l.words);
            for s in &l.seasons { eprintln!("   {:12} {:7.1} need {:6.1} margin {:.2} [{:.2} {:.2}] short {}", s.season.key(), s.supply_ha.p50, s.need_ha.p50, s.margin.p50, s.margin.p10, s.margin.p90, s.short_draws); }
            eprintln!("  {:?}", l.ground);
            for r in &l.composition { eprintln!("  {} {:?} {} / {:?} / {:?} {:?}", r.what, r.value, r.unit, r.occupied, r.lost, r.standing); }
        }
        eprintln!("{:?}", done.assessment.notes);
    }
}
