//! Cover letters and habitat classes, by the guidance tables.

use guidance::{Country, Guidance};

/// Reads cover scales and habitat classes for one country.
pub(super) struct Scales<'a> {
    guidance: &'a Guidance,
    country: Country,
    classes: Vec<String>,
}

/// Cover scales: the table's first word, and its name.
const SCALES: [(&str, &str); 2] = [("dafor", "DAFOR"), ("domin", "Domin")];

impl<'a> Scales<'a> {
    pub fn new(guidance: &'a Guidance, country: Country) -> Self {
        let mut classes: Vec<String> = guidance.under("phase1.").filter_map(|row| class_of(&row.key)).collect();
        classes.dedup();
        Self { guidance, country, classes }
    }

    /// Percent cover of a letter such as `A`, or of a figure said to be of a scale (`Domin 5`), with the scale's name.
    pub fn percent(&self, text: &str) -> Option<(f32, &'static str)> {
        let text = text.trim().to_lowercase();
        for (scale, name) in SCALES {
            let step = text.strip_prefix(scale).unwrap_or(&text).trim();
            let step = if step == "+" { "plus" } else { step };
            if step.is_empty() || step.len() > 12 {
                continue;
            }
            if let Some(percent) = self.step(scale, step) {
                return Some((percent, name));
            }
        }
        None
    }

    /// Percent cover of a Domin figure.
    pub fn domin(&self, step: &str) -> Option<f32> {
        self.step("domin", step)
    }

    /// Percent cover of a step by its letter or figure, or by its name in full (`abundant`).
    fn step(&self, scale: &str, step: &str) -> Option<f32> {
        let prefix = format!("{scale}.");
        let middle = |key: &str, end: &str| key.strip_prefix(&prefix)?.strip_suffix(end).map(str::to_owned);
        let is_named = |row: &guidance::Row| matches!(&row.value, guidance::Value::Text(name) if name.eq_ignore_ascii_case(step));
        let found = self.guidance.under(&prefix).find_map(|row| {
            middle(&row.key, ".cover")
                .filter(|m| m.eq_ignore_ascii_case(step))
                .or_else(|| middle(&row.key, ".name").filter(|_| is_named(row)))
        })?;
        self.guidance.number(&format!("{prefix}{found}.cover"), self.country).ok().map(|percent| percent as f32)
    }

    /// The steps known, for messages.
    pub fn words(&self) -> String {
        let of = |(scale, name): (&str, &str)| {
            let prefix = format!("{scale}.");
            let steps = self.guidance.under(&prefix).filter_map(|row| row.key.strip_prefix(&prefix)?.strip_suffix(".cover"));
            format!("{name} {}", steps.collect::<Vec<_>>().join(" "))
        };
        SCALES.map(of).join("; ")
    }

    /// A class as the tables write it, by its code or its name; else the classes near it.
    pub fn phase1(&self, text: &str) -> Result<String, Vec<String>> {
        let flat = |t: &str| t.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_uppercase();
        // `D1.1 Dry dwarf shrub heath` and `D1.1` are the same class.
        let head = text.split_whitespace().next().unwrap_or("").trim_end_matches(['.', ':', ',', '-']);
        if let Some(class) = self.classes.iter().find(|c| flat(c) == flat(head) || flat(c) == flat(text)) {
            return Ok(class.clone());
        }
        let named = |class: &String| self.guidance.text(&format!("phase1.{class}.name"), self.country).unwrap_or_default();
        if let Some(class) = self.classes.iter().find(|c| flat(named(c)) == flat(text)) {
            return Ok(class.clone());
        }
        let words: Vec<String> = text.split_whitespace().map(flat).filter(|w| w.len() > 2).collect();
        let holds = |class: &&String| {
            let name: Vec<String> = named(class).split_whitespace().map(flat).collect();
            !words.is_empty() && words.iter().all(|w| name.contains(w))
        };
        let mut by_name: Vec<&String> = self.classes.iter().filter(holds).collect();
        by_name.sort_by_key(|c| (c.len(), *c));
        if !by_name.is_empty() {
            return Err(by_name.into_iter().take(4).map(|c| format!("{c} {}", named(c))).collect());
        }
        let wanted = flat(head);
        let shared = |class: &String| flat(class).chars().zip(wanted.chars()).take_while(|(a, b)| a == b).count();
        let mut near: Vec<&String> = self.classes.iter().filter(|c| shared(c) > 0).collect();
        near.sort_by_key(|c| (std::cmp::Reverse(shared(c)), c.len().abs_diff(head.len())));
        Err(near.into_iter().take(4).cloned().collect())
    }
}

/// The class in a key such as `phase1.D1.1.cover.heather`: a letter with figures, and the figures after it.
fn class_of(key: &str) -> Option<String> {
    let mut parts = key.split('.').skip(1);
    let first = parts.next()?;
    let figures = |p: &str| !p.is_empty() && p.bytes().all(|b| b.is_ascii_digit());
    if !first.starts_with(|c: char| c.is_ascii_uppercase()) || !figures(&first[1..]) && first.len() > 1 {
        return None;
    }
    let rest: Vec<&str> = parts.take_while(|p| figures(p)).collect();
    Some(std::iter::once(first).chain(rest).collect::<Vec<_>>().join("."))
}

#[cfg(test)]
mod tests {
    use super::class_of;

    #[test]
    fn the_class_is_found_in_a_key() {
        assert_eq!(class_of("phase1.D1.1.cover.heather").as_deref(), Some("D1.1"));
        assert_eq!(class_of("phase1.B5.height_cm").as_deref(), Some("B5"));
        assert_eq!(class_of("phase1.E1.6.1.name").as_deref(), Some("E1.6.1"));
        assert_eq!(class_of("phase1.default.cover"), None);
    }
}
