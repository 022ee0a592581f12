//! Brood counts of the plan beside the young that would hold numbers steady.

use crate::command::course::Start;
use birds::found::summer;
use birds::productivity::{BreakEven, Broods, Productivity, Survival, Verdict};
use chrono::Datelike;
use guidance::Unknown;
use serde_json::{Value, json};

/// Share of cases that limits hold.
const LEVEL: f64 = 0.8;

/// What brood counts there are, all years together.
pub struct Counted {
    /// Young per hen that hold numbers steady, with the limits of the draws, snow winters aside.
    pub break_even: birds::detection::Interval,
    /// First and last year counted, what they give and how it stands to the break-even; `None` where no count has hens and young.
    pub found: Option<(i32, i32, Productivity, Verdict)>,
    /// Why counts there are say nothing, in words.
    pub wrong: Vec<String>,
}

impl Counted {
    /// Of a plan.
    pub fn of(start: &Start) -> Result<Counted, Unknown> {
        let country = start.holding.about.country;
        let draws = start.guidance.draws(start.base.settings.seed, start.base.settings.draws, country);
        let break_even = BreakEven::of(Survival::Modelled, &start.guidance, &draws)?;
        let all = summer(&start.holding, &start.guidance, &break_even, LEVEL, None)?;
        let years = || start.holding.broods.iter().filter(|c| Broods::of(c).is_some() && !all.out_of_season.contains(&c.date)).map(|c| c.date.year());
        let mut out = Counted { break_even: break_even.limits(LEVEL), found: None, wrong: Vec::new() };
        if let (Some(first), Some(last)) = (years().min(), years().max()) {
            match (all.found, all.verdict) {
                (Ok(found), Some(verdict)) => out.found = Some((first, last, found, verdict)),
                (Ok(_), None) => {}
                (Err(faults), _) => out.wrong = faults.iter().map(ToString::to_string).collect(),
            }
        }
        Ok(out)
    }

    /// For programs.
    pub fn json(&self) -> Value {
        let found = self.found.as_ref().map(|(first, last, found, verdict)| json!({"first_year": first, "last_year": last, "counted": found, "verdict": verdict}));
        json!({"break_even": self.break_even, "level": LEVEL, "found": found, "wrong": self.wrong})
    }

    /// In words.
    pub fn words(&self) -> String {
        match (&self.found, self.wrong.as_slice()) {
            (Some((first, last, _, verdict)), _) => {
                let years = if first == last { first.to_string() } else { format!("{first} to {last}") };
                format!("Broods counted in {years}: {verdict}.")
            }
            (None, []) => "No brood count of hens and young is in the plan to set beside that: one in August, by people licensed and trained for it, would tell more than any figure here.".to_string(),
            (None, wrong) => format!("The brood counts of the plan cannot be set beside that: {}.", wrong.join("; ")),
        }
    }
}
