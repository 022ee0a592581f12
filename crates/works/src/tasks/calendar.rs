//! A programme of works as a calendar file: one event a task, whole days; what cannot be done in a journal entry.

use super::programmed::{Done, Programmed};
use chrono::NaiveDateTime;
use holding::icalendar::{Calendar, identity};

/// The calendar of a programme. `made`: when it was made, universal time; `told` says what stands under a task's name, `cannot` what cannot be done, a line
/// each, `words` how a task's own words may be told. A task keeps its identity as long as plan, option and task do, so that a later file brings a calendar up to date.
pub fn calendar(
    p: &Programmed,
    plan: &str,
    option: u32,
    made: NaiveDateTime,
    told: &dyn Fn(&Done) -> String,
    cannot: &[String],
    words: &dyn Fn(&str) -> String,
) -> String {
    let mut out = Calendar::new("works", made);
    let option = option.to_string();
    for done in p.on_days() {
        out.begin("VEVENT", &identity(&[plan, &option, &done.job.id]));
        let day = |date: chrono::NaiveDate| date.format("%Y%m%d").to_string();
        out.plain("DTSTART;VALUE=DATE", &day(done.planned.first));
        // RFC 5545 section 3.6.1: the end is the day after the last.
        out.plain("DTEND;VALUE=DATE", &day(done.planned.last.succ_opt().unwrap_or(done.planned.last)));
        out.text("SUMMARY", &words(&done.job.what));
        out.text("DESCRIPTION", &told(&done));
        // Nobody is busy all day because a job of the hill is.
        out.plain("TRANSP", "TRANSPARENT");
        out.end("VEVENT");
    }
    if p.schedule.planned.is_empty() || !p.refused.is_empty() {
        out.begin("VJOURNAL", &identity(&[plan, &option, "cannot be done"]));
        out.text("SUMMARY", &format!("Works: {} cannot be done", p.refused.len()));
        out.text("DESCRIPTION", &cannot.join("\n"));
        out.end("VJOURNAL");
    }
    out.whole()
}
