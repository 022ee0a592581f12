//! The verdict of a trend in plain words, with its certainty.

use super::limits::Limits;
use super::{Change, Split, Trend};
use guidance::{Country, Guidance, Unknown};

/// From which certainty on a word is used. From guidance: `trend.words.*`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Words {
    sure: f64,
    likely: f64,
    leaning: f64,
}

impl Words {
    /// The words' certainties.
    ///
    /// Errors: a key that guidance does not hold.
    pub fn of(guidance: &Guidance, country: Country) -> Result<Self, Unknown> {
        Ok(Self {
            sure: guidance.number("trend.words.sure", country)?,
            likely: guidance.number("trend.words.likely", country)?,
            leaning: guidance.number("trend.words.leaning", country)?,
        })
    }

    /// What a chance that something fell (or did worse) comes to: the word, and whether it fell.
    fn judge(&self, falling: f64) -> (&'static str, bool) {
        let (certainty, fell) = if falling >= 0.5 { (falling, true) } else { (1.0 - falling, false) };
        let word = if certainty >= self.sure {
            "almost certainly"
        } else if certainty >= self.likely {
            "probably"
        } else if certainty >= self.leaning {
            "perhaps"
        } else {
            ""
        };
        (word, fell)
    }

    /// The verdict on a trend: one paragraph.
    pub fn verdict(&self, trend: &Trend) -> String {
        let (first, last) = trend.span;
        let mut said = match self.judge(trend.falling) {
            ("", _) => "It cannot be told whether numbers of displaying cocks rose or fell".to_string(),
            (word, fell) => format!("Numbers of displaying cocks {word} {}", if fell { "fell" } else { "rose" }),
        };
        said.push_str(&format!(
            " from {first} to {last}: {} a year ({} limits {} to {}; the chance that they truly fell is {}), from {} at {}.",
            percent(trend.annual_change.value),
            share(trend.level),
            percent(trend.annual_change.lo),
            percent(trend.annual_change.hi),
            chance(trend.falling),
            counted(trend.counts, "count", "counts"),
            counted(trend.leks, "lek", "leks"),
        ));
        said.push_str(&match (trend.widened, trend.change_by(trend.limits)) {
            (true, Some(bare)) => format!(
                " Limits for {} would be {} to {}, narrower than chance alone has them, as happens in short series: those of chance alone stand.",
                trend.limits.means(),
                percent(bare.lo),
                percent(bare.hi)
            ),
            _ => format!(" The limits are those for {}.", trend.limits.means()),
        });
        said.extend(lek_by_lek(trend));
        if let Some(word) = self.split(&trend.split, trend) {
            said.push(' ');
            said.push_str(&word);
        }
        if matches!(trend.limits, Limits::Quasi | Limits::Poisson) && last - first < 3 {
            said.push_str(" So few years cannot tell a trend from a run of good or bad seasons.");
        }
        said
    }

    /// Whether it is leks or cocks at each that changed: told where either is clear of the other.
    fn split(&self, split: &Split, trend: &Trend) -> Option<String> {
        let (leks, size) = (split.leks?, split.cocks_a_lek?);
        let clear = |c: Change| c.lo > 0.0 || c.hi < 0.0;
        let way = |c: Change, less: &'static str, more: &'static str| if c.value < 0.0 { less } else { more };
        Some(match (clear(leks), clear(size)) {
            (true, true) => format!(
                "Both changed: {} leks in use ({} a year) and {} cocks at each ({} a year).",
                way(leks, "fewer", "more"),
                percent(leks.value),
                way(size, "fewer", "more"),
                percent(size.value)
            ),
            (true, false) => format!("It lies in the number of leks in use ({} a year) rather than in the cocks at each.", percent(leks.value)),
            (false, true) => format!("It lies in the cocks at a lek ({} a year) rather than in the number of leks in use.", percent(size.value)),
            (false, false) if trend.annual_change.lo > 0.0 || trend.annual_change.hi < 0.0 => {
                format!("Whether it lies in the number of leks in use ({} a year) or in the cocks at each ({} a year) cannot be told.", percent(leks.value), percent(size.value))
            }
            (false, false) => return None,
        })
    }

    /// The verdict of leks beside their region.
    pub fn beside(&self, beside: &super::region::Beside, level: f64) -> String {
        let head = match self.judge(beside.worse) {
            ("", _) => "Whether these leks did better or worse than their region cannot be told".to_string(),
            (word, true) => format!("These leks {word} did worse than their region"),
            (word, false) => format!("These leks {word} did better than their region"),
        };
        format!(
            "{head} in the {} years from {} to {} that both were counted: the region changed by {} a year, these leks by {} a year against it ({} limits {} to {}).",
            beside.years,
            beside.span.0,
            beside.span.1,
            percent(beside.region),
            percent(beside.against.value),
            share(level),
            percent(beside.against.lo),
            percent(beside.against.hi),
        )
    }
}

/// Where leks taken one by one gainsay what they tell together.
fn lek_by_lek(trend: &Trend) -> Option<String> {
    let told = |c: &Change| c.lo > 0.0 || c.hi < 0.0;
    let apart = trend.change_by(Limits::ByLek)?;
    (trend.limits != Limits::ByLek && told(&trend.annual_change) && !told(&apart)).then(|| {
        format!(
            " The leks ran differently from one another: by those differences it could be {} to {}. What is said here holds for these leks taken together, not for each of them, nor for leks that were not counted.",
            percent(apart.lo),
            percent(apart.hi)
        )
    })
}

/// A change as per cent with its sign: `-5.5 %`, `+3.0 %`.
pub fn percent(value: f64) -> String {
    let rounded = format!("{:+.1}", 100.0 * value);
    let rounded = if rounded == "-0.0" { "+0.0".to_string() } else { rounded };
    format!("{rounded} %")
}

/// A share as whole per cent, or with a decimal where it has one.
pub fn share(value: f64) -> String {
    let percent = 100.0 * value;
    if (percent - percent.round()).abs() < 1e-9 { format!("{percent:.0} %") } else { format!("{percent:.1} %") }
}

/// A chance in words that never say none or all.
pub fn chance(value: f64) -> String {
    match value {
        v if v < 0.01 => "under 1 %".to_string(),
        v if v > 0.99 => "over 99 %".to_string(),
        v => format!("{:.0} %", 100.0 * v),
    }
}

fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// Years as a list that a reader can take in: runs told by first and last.
pub fn list_of_years(years: &[i32]) -> String {
    let mut runs: Vec<(i32, i32)> = Vec::new();
    for &year in years {
        match runs.last_mut() {
            Some(run) if run.1 + 1 == year => run.1 = year,
            _ => runs.push((year, year)),
        }
    }
    let words: Vec<String> = runs
        .into_iter()
        .map(|(a, b)| match b - a {
            0 => a.to_string(),
            1 => format!("{a}, {b}"),
            _ => format!("{a} to {b}"),
        })
        .collect();
    words.join(", ")
}
