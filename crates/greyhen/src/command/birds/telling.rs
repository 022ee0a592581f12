//! The birds ahead in words and tables.

use super::broods::Counted;
use super::gather::{Ahead, Part};
use super::{Remarks, network_told, ratio_told, told};
use crate::command::course::Start;
use crate::talk;
use birds::network::{LekPart, Network};
use birds::project::birds::{BirdDifference, Deaths, Neighbours, YearBirds};
use habitat::Quantiles;
use measures::secrecy::distance_band;

/// Years of the tables, where they are looked at.
const SUMMED: [u32; 7] = [0, 1, 5, 10, 15, 20, 30];
/// Years of the words on differences.
const WORDED: [u32; 4] = [5, 10, 20, 30];
/// Width of a line of words.
const WIDTH: usize = 96;

/// What is told.
pub struct Telling<'a> {
    pub start: &'a Start,
    pub found: &'a Ahead,
    pub broods: &'a Counted,
    pub remarks: &'a Remarks,
    /// Whether distances and deaths are told exactly.
    pub show_leks: bool,
}

fn range(q: &Quantiles) -> String {
    format!("{:.0} ({:.0}-{:.0})", q.p50, q.p10, q.p90)
}

/// A share of draws in words: `62 of 100`.
fn of_hundred(share: f64) -> String {
    format!("{:.0} of 100", 100.0 * share)
}

fn words(text: &str) -> String {
    talk::wrapped(text, WIDTH, "")
}

fn indented(text: &str) -> String {
    text.lines().map(|l| format!("  {l}")).collect::<Vec<_>>().join("\n")
}

impl Telling<'_> {
    /// For a terminal.
    pub fn text(&self) -> String {
        let a = &self.start.base.assessment;
        let p = &self.found.projection;
        let mut out = vec![format!("Birds ahead, {}: {}, {} m cells, guidance {}", p.words, talk::number(a.draws, "draw"), a.cell_m, a.guidance_edition)];
        out.push(format!("{}\n", talk::name(&a.plan)));
        out.push(self.starting());
        out.push(self.numbers());
        out.extend(self.differences());
        out.push(self.hangs_on());
        out.extend(self.fences());
        out.push(self.network());
        out.push(list("Limits of this answer", &self.found.limits));
        out.push(list("Taken for granted", &p.assumptions));
        out.extend(self.remarks.faults.iter().map(|f| words(&format!("wrong in {f}"))));
        out.extend(self.remarks.notes.iter().map(|n| words(&format!("note: {n}"))));
        out.push(words(&format!(
            "Every option meets the same summers, winters and luck in every draw: {}. Leks, nests and broods are left alone while they are looked for: lone work at dawn, disturbance and \
            dogs need the usual care, and the law and the code in force.",
            p.words
        )));
        out.join("\n")
    }

    /// Where the birds start.
    fn starting(&self) -> String {
        let rows: Vec<Vec<String>> = self
            .found
            .leks
            .iter()
            .map(|l| {
                let part = match l.part {
                    Part::Counted => "looked ahead for",
                    Part::Empty => "empty: stays so here",
                    Part::NotCounted => "never counted: left out of the numbers",
                };
                vec![talk::name(&l.name), l.cocks.map_or("-".into(), |c| c.to_string()), l.counted.map_or("-".into(), |y| y.to_string()), part.to_string()]
            })
            .collect();
        talk::table(&["lek", "cocks", "counted in", ""], &rows, &[1, 2])
    }

    fn years(&self, wanted: &[u32]) -> Vec<usize> {
        let last = self.found.projection.courses[0].total.len() - 1;
        (0..=last).filter(|y| wanted.contains(&(*y as u32)) || *y == last).collect()
    }

    /// Cocks by year and course.
    fn numbers(&self) -> String {
        let p = &self.found.projection;
        let mut out = vec![String::new(), words(&format!(
            "Cocks in spring by years from now: median, range of eight draws in ten, and in how many of a hundred draws there were fewer than {:.0} in that year or any before.",
            p.few_cocks
        ))];
        out.extend(p.courses.iter().filter_map(|c| c.option.map(|n| format!("option {n}: {}", c.title.split_once(", ").map_or("", |t| t.1)))));
        if self.found.projection.courses[0].leks.len() > 1 {
            out.push(format!("\nAll leks counted\n{}", self.table(None, &SUMMED)));
        }
        for (l, lek) in p.courses[0].leks.iter().enumerate() {
            out.push(format!("\n{}\n{}", talk::name(&lek.name), self.table(Some(l), &WORDED)));
        }
        out.push(String::new());
        out.push(words(&self.found.held.words()));
        out.join("\n")
    }

    /// Cocks of a lek, or of all, by year and course.
    fn table(&self, lek: Option<usize>, wanted: &[u32]) -> String {
        let p = &self.found.projection;
        let of: Vec<&[YearBirds]> = p.courses.iter().map(|c| lek.map_or(c.total.as_slice(), |l| c.leks[l].years.as_slice())).collect();
        let short = |option: Option<u32>| option.map_or("as now".to_string(), |n| format!("option {n}"));
        let mut head = vec!["year".to_string()];
        head.extend(p.courses.iter().map(|c| short(c.option)));
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        let row = |y: usize| {
            let mut row = vec![y.to_string()];
            row.extend(of.iter().map(|years| format!("{} {:>3.0} %", range(&years[y].cocks), 100.0 * years[y].few_by_fraction)));
            row
        };
        let right: Vec<usize> = (0..head.len()).collect();
        indented(&talk::table(&head, &self.years(wanted).into_iter().map(row).collect::<Vec<_>>(), &right))
    }

    /// Every option against as now, in words.
    fn differences(&self) -> Vec<String> {
        let p = &self.found.projection;
        let mut out = Vec::new();
        for course in p.courses.iter().filter(|c| c.option.is_some()) {
            let of = |lek: Option<&str>| -> Vec<&BirdDifference> {
                p.differences.iter().filter(|d| d.first.is_none() && d.second == course.option && d.lek.as_deref() == lek).collect()
            };
            let all = of(None);
            out.push(format!("\n{} against as now, draw by draw", course.title));
            if all.iter().all(|d| d.more_fraction == 0.0 && d.fewer_fraction == 0.0) {
                out.push("  The same number of cocks in every draw and year.".to_string());
                continue;
            }
            for y in self.years(&WORDED).into_iter().filter(|y| *y > 0) {
                out.push(talk::wrapped(&format!("year {y}: {}", all[y].in_words()), WIDTH - 2, "  "));
            }
            let last = all.len() - 1;
            if course.leks.len() > 1 {
                let by_lek = course.leks.iter().map(|l| format!("{} {}", talk::name(&l.name), of(Some(&l.id))[last].mean_in_words()));
                out.push(talk::wrapped(&format!("lek by lek in year {last}, cocks on average: {}", by_lek.collect::<Vec<_>>().join(", ")), WIDTH - 2, "  "));
            }
            let (few, few_now) = (course.total[last].few_by_fraction, p.courses[0].total[last].few_by_fraction);
            out.push(talk::wrapped(
                &format!("Fewer than {:.0} cocks in some year: {} draws, against {} as now.", p.few_cocks, of_hundred(few), of_hundred(few_now)),
                WIDTH - 2,
                "  ",
            ));
        }
        if p.courses.len() > 1 {
            let other = match p.neighbours {
                Neighbours::AsNow => " --neighbours do-likewise tells it as if they did the same.",
                Neighbours::DoLikewise => "",
            };
            out.push(words(&format!("{}{other}", p.neighbours.words())));
        }
        out
    }

    /// What growth hangs on, and the break-even.
    fn hangs_on(&self) -> String {
        let g = &self.found.projection.growth;
        let rows: Vec<Vec<String>> = g
            .rates
            .iter()
            .map(|r| {
                vec![r.rate.words().to_string(), r.elasticity.map_or("-".into(), |e| format!("{e:.2}")), format!("{:.0} %", 100.0 * r.variance_share)]
            })
            .collect();
        let even = self.broods.break_even;
        [
            "\nWhat growth hangs on".to_string(),
            indented(&talk::table(&["", "elasticity", "of the variance"], &rows, &[1, 2])),
            words(
                "Elasticity: growth changes by so much of a per cent where the mean changes by one. Of the variance: how much of what makes one year differ from another; what is not known of the \
                survival of young counts with it.",
            ),
            words(&format!(
                "Numbers hold at {:.1} young per hen in August ({:.1} to {:.1}), {:.1} with snow winters made good; in the field {:.1} is said. Taken as the mean here: {:.1}.",
                even.value, even.low, even.high, g.break_even_with_snow, g.steady_young_per_hen, g.mean_young_per_hen
            )),
            words(&self.broods.words()),
        ]
        .join("\n")
    }

    /// Deaths on fences by lek, now and later.
    fn fences(&self) -> Vec<String> {
        let p = &self.found.projection;
        let last = p.courses[0].total.len() - 1;
        let say = |d: Deaths| {
            let d = told(d, self.show_leks);
            if self.show_leks { format!("{:.2} ({:.2}-{:.2})", d.usual, d.low, d.high) } else { format!("{} ({}-{})", d.usual, d.low, d.high) }
        };
        let as_now = |lek: &str| self.found.fences.iter().find(|f| f.option.is_none() && f.lek == lek).map(|f| &f.years);
        let rows: Vec<Vec<String>> = self
            .found
            .fences
            .iter()
            .filter(|f| f.option.is_none() || Some(&f.years) != as_now(&f.lek))
            .map(|f| {
                let mut row = vec![self.start.lek(&f.lek), f.option.map_or("as now".into(), |n| format!("option {n}"))];
                row.extend(self.fence_years().into_iter().map(|y| say(f.years[y.min(last)])));
                row
            })
            .collect();
        if self.found.fences.iter().all(|f| f.years.iter().all(|d| d.high == 0.0)) {
            return vec!["\nNo fence of the plan stands where birds of a counted lek would strike it.".to_string()];
        }
        let mut head = vec!["lek".to_string(), "course".to_string()];
        head.extend(self.fence_years().into_iter().map(|y| format!("year {y}")));
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        vec![
            "\nBirds that die on fences in a year, were there as many as now: usual (least to most)".to_string(),
            indented(&talk::table(&head, &rows, &[])),
            words("An option that is not told changes nothing of it. Marking that an option puts up counts for as long as it lasts and no longer, as its cost is counted once."),
        ]
    }

    /// Years for which fences are told: now, then, when marking has gone, at the end.
    fn fence_years(&self) -> Vec<usize> {
        self.years(&[0, 1, 10])
    }

    fn network(&self) -> String {
        let Some(n) = &self.found.network else {
            return format!(
                "\n{}",
                words("The network of leks: only one lek is in the plan, so there is none to tell of. Import its neighbours, counted or not, to see what they are to each other.")
            );
        };
        let n = &*network_told(n, self.show_leks);
        let mut out = vec!["\nThe network of leks".to_string(), self.network_words(n)];
        let share = |part: &LekPart| {
            let [low, middle, high] = [part.share.p10, part.share.p50, part.share.p90].map(|s| format!("{:.0}", 100.0 * s));
            if low == high { format!("{middle} %") } else { format!("{middle} % ({low}-{high})") }
        };
        let rows: Vec<Vec<String>> = n
            .leks
            .iter()
            .map(|l| vec![talk::name(&l.name), format!("{:.1}", l.weight), share(&l.hens), format!("{:.0} %", 100.0 * l.hens.loss), share(&l.cocks), self.nearest(&l.nearest)])
            .collect();
        out.push(indented(&talk::table(&["lek", "weight", "share by hens", "lost without it", "share by cocks", "nearest lek"], &rows, &[1, 2, 3, 4])));
        out.extend(n.leks.iter().map(|l| talk::wrapped(&format!("{}: {}.", talk::name(&l.name), l.isolation.words()), WIDTH - 2, "  ")));
        for ground in &n.proposed {
            let gain = |q: &Option<Quantiles>| q.map(|q| format!("{:+.0} % ({:+.0} to {:+.0})", 100.0 * q.p50, 100.0 * q.p10, 100.0 * q.p90));
            let told = match gain(&ground.hens_gain) {
                Some(gain) => format!("its ground would change the whole by {gain} by hens"),
                None => "the leks that hold birds make no network of their own for it to add to".to_string(),
            };
            out.push(talk::wrapped(&format!("{}, without birds: {told} (weight {:.1}); {}.", talk::name(&ground.name), ground.weight, ground.isolation.words()), WIDTH - 2, "  "));
        }
        let later: Vec<String> = self
            .found
            .later
            .iter()
            .filter_map(|l| l.hens_ratio.map(|ratio| format!("{} {}", l.option.map_or("as now".to_string(), |n| format!("option {n}")), ratio_told((ratio * 100.0).round() / 100.0, self.show_leks))))
            .collect();
        if let Some(first) = self.found.later.first().filter(|_| !later.is_empty()) {
            out.push(talk::wrapped(
                &format!("Capacity by hens of the ground in year {}, over that as surveyed, were the same leks held: {}.", first.year, later.join(", ")),
                WIDTH - 2,
                "  ",
            ));
        }
        out.join("\n")
    }

    fn network_words(&self, n: &Network) -> String {
        let capacity = if self.show_leks {
            format!("Metapopulation capacity (Hanski & Ovaskainen 2000) {:.0} by hens, {:.0} by cocks, in cocks squared. By itself the number says little; shares", n.hens_capacity, n.cocks_capacity)
        } else {
            "Metapopulation capacity (Hanski & Ovaskainen 2000): the number itself is withheld and shares are to the nearest 5 %, as they would tell how far leks lie apart. Shares".to_string()
        };
        words(&format!("{capacity} and changes of it say what a lek is to the others. Weight: the cocks its ground could keep, mean of the seven seasons."))
    }

    fn nearest(&self, nearest: &Option<(String, f64)>) -> String {
        nearest.as_ref().map_or("none".to_string(), |(id, km)| {
            let far = if self.show_leks { format!("{km:.1} km") } else { distance_band(1000.0 * km).to_string() };
            format!("{}, {far}", self.start.lek(id))
        })
    }
}

fn list(title: &str, lines: &[String]) -> String {
    let lines: Vec<String> = lines.iter().map(|l| format!("- {}", talk::wrapped(l, WIDTH - 4, "  ").trim_start())).collect();
    format!("\n{title}\n{}", lines.join("\n"))
}
