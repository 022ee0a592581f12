//! Writes the sheets of works of an option alone: `cargo run -p handover --features pdf --example sheets -- PLAN OPTION DIR [show-leks]`.
//! For looking at pages while they are being laid out; `greyhen handover` writes them with everything else.
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "an example may stop and print")]

use guidance::Guidance;
use habitat::Settings;
use habitat::ahead::{Course, Programme, forecast};
use handover::secrecy::Secrecy;
use handover::{Asked, Pack, Planned, Works, contractor, kitchen};
use measures::option;
use measures::rules::Context;
use std::path::Path;
use works::tasks::Hands;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [plan, number, folder] = &args[..3] else { return };
    let (number, show_leks) = (number.parse().unwrap(), args.get(3).is_some_and(|a| a == "show-leks"));
    let (holding, guidance) = (holding::plan::Plan::open_read_only(Path::new(plan)).unwrap().holding().unwrap(), Guidance::load().unwrap());
    let base = habitat::assess(&holding, &guidance, Settings { draws: 4, seed: 1, cell_m: Some(40.0) }).unwrap();
    let context = Context::new(&holding, &guidance, &base);
    let with = option::holding_with(&context, number).unwrap();
    let now = forecast(&base, &holding, &guidance, Course { holding: &holding, programme: &Programme::default() }, &[0, 1]).unwrap();
    let own = forecast(&base, &holding, &guidance, Course { holding: &with, programme: &option::programme(&context, number).unwrap() }, &[0, 1]).unwrap();
    let planned = Planned::new(&holding, &guidance, &base, number, &[(None, &now), (Some(number), &own)]).unwrap();
    let today = holding.about.as_at.unwrap();
    let settings = works::tasks::Settings::years(today, 10);
    let asked = Asked { option: number, settings, hands: Hands::of(&context, None).unwrap(), own_rates: vec![], late_days: 30, gain: None, usable_ha: None };
    let works = Works::new(context, asked, &Secrecy::new(&holding, show_leks)).unwrap();
    let pack = Pack {
        holding: &holding,
        assessment: &base.assessment,
        pictures: &base.pictures(),
        findings: &[],
        guidance: &guidance,
        counts: &[],
        option: Some(&planned),
        works: Some(&works),
        spring: None,
        show_leks,
        pages: true,
        today,
    };
    for (name, bytes) in [("kitchen-table.pdf", kitchen::set(&pack).unwrap()), ("contractor.pdf", contractor::set(&pack).unwrap())] {
        std::fs::write(Path::new(folder).join(name), bytes).unwrap();
        println!("Written: {folder}/{name}");
    }
}
