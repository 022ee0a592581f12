//! A programme of works as one JSON document.

use super::Told;
use ::works::programme::Lag;
use ::works::tasks::{Done, Job, Later, Slipped};
use guidance::Row;
use guidance::explain::value_in_words;
use measures::rules::on_measures::season::Season;
use serde_json::{Value, json};

impl Told<'_> {
    pub(super) fn json(&self, file: &str, written: &[String]) -> Value {
        let s = &self.works.made.schedule;
        let later = |l: &Later| json!({"measure": self.telling.measure(&l.measure), "what": self.words(&l.what), "years": [l.years.0, l.years.1], "keys": l.keys});
        let crews: Vec<Value> = (self.works.asked.hands.crews.iter())
            .map(|c| {
                let away: Vec<Value> = c.away.iter().map(|d| json!({"first": d.first, "last": d.last})).collect();
                let there: Vec<Value> = c.there.iter().map(|w| json!({"first": w.first.to_string(), "last": w.last.to_string()})).collect();
                json!({"name": c.id, "kinds": c.kinds, "people": c.capacity, "there": there, "away": away})
            })
            .collect();
        json!({
            "schema": "greyhen.works/1", "file": file, "guidance_edition": self.guidance.edition(), "plan": self.plan,
            "option": {"number": self.option.number, "name": self.option.name}, "country": self.country.to_string(),
            "first": self.works.asked.settings.first, "last": self.works.asked.settings.last, "withheld": self.secrecy.withheld(),
            "crews": crews, "crews_assumed": self.works.asked.hands.assumed,
            "jobs": self.works.made.jobs.jobs.iter().map(|job| self.job(job)).collect::<Vec<_>>(),
            "cannot": self.works.made.refused.iter().map(|r| json!({"job": self.telling.task(&r.job), "why": self.words(&r.why)})).collect::<Vec<_>>(),
            "beyond": self.works.made.beyond.iter().map(|id| self.telling.task(id)).collect::<Vec<_>>(),
            "slips": self.works.slips.iter().map(|s| self.slip(s)).collect::<Vec<_>>(), "late_days": self.works.asked.late_days,
            "later": self.works.made.jobs.later.iter().map(later).collect::<Vec<_>>(),
            "done": self.works.made.jobs.done.iter().map(|(m, year)| json!({"measure": self.telling.measure(m), "year": year})).collect::<Vec<_>>(),
            "nothing": self.works.made.jobs.nothing.iter().map(|m| self.words(m)).collect::<Vec<_>>(), "finish": s.finish, "proven": s.proven, "gap_days": s.gap_days(),
            "cautions": self.works.cautions.iter().map(|(kind, words)| json!({"kind": kind, "words": words})).collect::<Vec<_>>(),
            "figures": self.works.figures(self.guidance, self.country).into_iter().map(figure).collect::<Vec<_>>(), "written": written,
            "account": self.money_json(), "no_account": self.works.account.as_ref().err(),
        })
    }

    fn job(&self, job: &Job) -> Value {
        let planned = self.works.made.schedule.planned(&job.id).map(|planned| Done { job, planned });
        let after: Vec<Value> = (job.after.iter())
            .map(|w| {
                let (days, months) = match w.lag {
                    Lag::Days(d) => (d, 0),
                    Lag::Months(m) => (0, m),
                };
                json!({"job": self.telling.task(&w.job), "days": days, "months": months, "words": w.words})
            })
            .collect();
        json!({
            "id": self.telling.task(&job.id), "measures": job.measures.iter().map(|m| self.telling.measure(m)).collect::<Vec<_>>(), "kind": job.kind, "stage": job.stage, "what": self.words(&job.what), "year": job.year,
            "amounts": job.amounts, "hands": job.hands, "people": job.people, "days": job.days, "after": after, "season": self.season(&job.season),
            "by": job.by, "hard": job.hard,
            "planned": planned.map(|d| json!({
                "first": d.planned.first, "last": d.planned.last, "worked": d.planned.worked, "crews": d.planned.crews,
                "late_days": d.planned.late_days, "slack_days": d.planned.slack_days, "latest_first": d.planned.latest_first,
            })),
            "nests_from": planned.and_then(|d| self.telling.nests(&d)),
            "notes": job.notes.iter().map(|n| self.words(n)).collect::<Vec<_>>(), "keys": job.keys,
        })
    }

    fn season(&self, season: &Season) -> Value {
        let day = |(month, day): (u32, u32)| format!("{month:02}-{day:02}");
        let windows: Vec<Value> =
            season.left.iter().filter(|_| !season.all_year()).map(|w| json!({"first": day(w.first), "last": day(w.last)})).collect();
        json!({"all_year": season.all_year(), "windows": windows, "why": self.telling.why(season)})
    }

    fn slip(&self, slip: &Slipped) -> Value {
        let moved: Vec<Value> = (slip.moved.iter())
            .map(|m| {
                json!({
                    "job": self.telling.task(&m.task), "first": m.now.0, "last": m.now.1, "planned_first": m.planned.0, "planned_last": m.planned.1, "begins_later_days": m.begins_later_days,
                    "ends_later_days": m.ends_later_days, "other_season": m.other_season, "other_crews": m.other_crews,
                })
            })
            .collect();
        json!({"job": self.telling.task(&slip.job), "late_days": slip.days, "moved": moved, "lost": slip.lost.iter().map(|(job, why)| json!({"job": self.telling.task(job), "why": self.words(why)})).collect::<Vec<_>>()})
    }
}

/// A figure with what it is worth.
fn figure(row: &Row) -> Value {
    json!({"key": row.key, "value": value_in_words(row), "source": row.source, "grade": row.grade.word(), "country": row.country.to_string(), "edition": row.edition})
}
