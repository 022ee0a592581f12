//! What may be said of a lek whose place is withheld.
//!
//! A distance measured from a lek to a known feature, or a length or an area cut by a circle round it, narrows down where
//! it lies. Where leks are not shown such words give way to coarse ones; the limits a rule itself states are public and stay.

/// Words that narrow down where a lek lies, and what stands for them where leks are not shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Secret {
    /// The words, as they stand in a finding.
    pub said: String,
    /// What stands for them.
    pub instead: String,
}

impl Secret {
    /// The same phrase round exact and round coarse words.
    pub fn of(exact: &str, coarse: &str, phrase: impl Fn(&str) -> String) -> Secret {
        Secret { said: phrase(exact), instead: phrase(coarse) }
    }

    /// A text with these words replaced wherever they stand as whole words.
    pub fn hide(&self, text: &str) -> String {
        let mut out = String::new();
        let mut rest = 0;
        for (at, _) in text.match_indices(&self.said) {
            let end = at + self.said.len();
            let joined = |a: Option<char>, b: Option<char>| a.zip(b).is_some_and(|(a, b)| a.is_alphanumeric() && b.is_alphanumeric());
            let within_word = joined(text[..at].chars().next_back(), self.said.chars().next())
                || joined(self.said.chars().next_back(), text[end..].chars().next());
            if self.said.is_empty() || at < rest || within_word {
                continue;
            }
            out.push_str(&text[rest..at]);
            out.push_str(&self.instead);
            rest = end;
        }
        out.push_str(&text[rest..]);
        out
    }
}

/// Where the bands of distances end, metres. None ends nearer than the side of the square a lek is shown as: several told together (a fence,
/// a wood, a track) would cut the square down.
pub const BAND_ENDS_M: [f64; 2] = [1000.0, 3000.0];

/// The band a distance or length in metres falls in.
pub fn distance_band(metres: f64) -> &'static str {
    let words = ["under 1 km", "1 to 3 km"];
    BAND_ENDS_M.iter().zip(words).find(|(end, _)| metres < **end).map_or("over 3 km", |(_, words)| words)
}

/// The band an area in hectares falls in.
pub fn area_band(ha: f64) -> &'static str {
    let bands = [(1.0, "under 1 ha"), (10.0, "1 to 10 ha")];
    bands.iter().find(|(top, _)| ha < *top).map_or("over 10 ha", |(_, words)| words)
}

/// A number rounded to so many figures, one or more; nought and what is no number stay as they are.
pub fn to_figures(v: f64, figures: i32) -> f64 {
    if v == 0.0 || !v.is_finite() {
        return v;
    }
    let step = 10f64.powi(v.abs().log10().floor() as i32 + 1 - figures);
    (v / step).round() * step
}

/// A number rounded to one figure; nought and what is no number stay as they are.
pub fn to_one_figure(v: f64) -> f64 {
    to_figures(v, 1)
}

/// A number to one figure, as plain digits.
pub fn one_figure(v: f64) -> String {
    if !(v.is_finite() && v > 0.0) {
        return "0".to_string();
    }
    let places = -v.log10().floor() as i32;
    format!("{:.*}", places.max(0) as usize, to_one_figure(v))
}

/// A share to the nearest twentieth: shares of a few leks, told finely, fix how far they lie apart.
pub fn to_a_twentieth(share: f64) -> f64 {
    (share * 20.0).round() / 20.0
}

/// Cuts grid references to four figures, and takes out numbers of six digits and more, numbers with four decimals and more (degrees), and
/// pairs of four or five digits that stand together (eastings and northings without their letters), but for years.
pub fn coarsen(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let mut out = String::new();
    let mut i = 0;
    while i < letters.len() {
        if let Some((end, cut)) = reference_at(&letters, i) {
            out.push_str(&cut);
            i = end;
        } else if letters[i].is_ascii_digit() && (i == 0 || !letters[i - 1].is_ascii_digit()) {
            let run = digits_at(&letters, i);
            let whole = i + run;
            let decimals = if letters.get(whole) == Some(&'.') { digits_at(&letters, whole + 1) } else { 0 };
            let end = if decimals > 0 { whole + 1 + decimals } else { whole };
            if run >= 6 || decimals >= 4 {
                out.push_str("(withheld)");
                i = end;
            } else if let Some(end) = pair_at(&letters, i, run) {
                out.push_str("(withheld)");
                i = end;
            } else {
                out.extend(&letters[i..whole]);
                i = whole;
            }
        } else {
            out.push(letters[i]);
            i += 1;
        }
    }
    out
}

/// How many digits stand at a place.
fn digits_at(letters: &[char], at: usize) -> usize {
    letters.get(at..).map_or(0, |rest| rest.iter().take_while(|c| c.is_ascii_digit()).count())
}

/// Where a pair of numbers of `run` digits ends that begins at a place: four or five digits each, with marks, spaces or the letters of
/// east and north between them. Two years are no such pair.
fn pair_at(letters: &[char], start: usize, run: usize) -> Option<usize> {
    const APART_MOST: usize = 4;
    let between = letters[start + run..].iter().take_while(|c| !c.is_ascii_digit()).count();
    let marks = &letters[start + run..start + run + between];
    let second = start + run + between;
    let year = |at: usize| run == 4 && (('1', '8')..=('2', '1')).contains(&(letters[at], letters[at + 1]));
    let joins = (1..=APART_MOST).contains(&between) && marks.iter().all(|c| !c.is_alphanumeric() || "eEnN".contains(*c));
    let pair = (4..=5).contains(&run) && joins && digits_at(letters, second) == run && !(year(start) && year(second));
    pair.then_some(second + run)
}

/// A lettered grid reference that begins at a place: where it ends, and the same cut to four figures.
fn reference_at(letters: &[char], start: usize) -> Option<(usize, String)> {
    if start > 0 && letters[start - 1].is_alphanumeric() {
        return None;
    }
    let (a, b) = (letters.get(start)?, letters.get(start + 1)?);
    let apart = letters.get(start + 2) == Some(&' ');
    let squares = |first: &char| "SNHTOJ".contains(first.to_ascii_uppercase());
    if !(squares(a) && b.is_ascii_alphabetic() && a.is_uppercase() == b.is_uppercase()) || (apart && a.is_lowercase()) {
        return None;
    }
    let mut groups: Vec<String> = vec![];
    let mut i = start + 2;
    let mut end = i;
    while groups.len() < 2 {
        while letters.get(i) == Some(&' ') {
            i += 1;
        }
        let run: String = letters[i.min(letters.len())..].iter().take_while(|c| c.is_ascii_digit()).collect();
        if run.is_empty() {
            break;
        }
        i += run.len();
        end = i;
        groups.push(run);
    }
    if letters.get(end).is_some_and(|c| c.is_alphanumeric()) {
        return None;
    }
    let (east, north) = match groups.as_slice() {
        [both] if both.len() >= 6 && both.len() % 2 == 0 => both.split_at(both.len() / 2),
        [east, north] if east.len() >= 3 && east.len() == north.len() => (east.as_str(), north.as_str()),
        _ => return None,
    };
    Some((end, format!("{a}{b} {} {}", &east[..2], &north[..2])))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_whole_words_are_hidden() {
        let secret = Secret::of("71 m", "under 1 km", |d| format!("{d} away"));
        assert_eq!(secret.hide("71 m away; 171 m away, 71 m awayness"), "under 1 km away; 171 m away, 71 m awayness");
        assert_eq!(Secret { said: "Green".into(), instead: "a patch".into() }.hide("Green, Greenhow and Green"), "a patch, Greenhow and a patch");
    }

    #[test]
    fn bands_and_figures() {
        assert_eq!([0.0, 99.9, 100.0, 2999.0, 3000.0].map(distance_band), ["under 1 km", "under 1 km", "under 1 km", "1 to 3 km", "over 3 km"]);
        assert_eq!([0.99, 1.0, 10.0].map(area_band), ["under 1 ha", "1 to 10 ha", "over 10 ha"]);
        assert_eq!([0.0, 0.024, 0.026, 0.52].map(to_a_twentieth), [0.0, 0.0, 0.05, 0.5]);
        assert_eq!([0.0, 0.034, 0.46, 0.96, 1.4, 16.0, 234.0].map(one_figure), ["0", "0.03", "0.5", "1.0", "1", "20", "200"]);
    }

    #[test]
    fn references_are_cut_to_the_square() {
        assert_eq!(coarsen("fence at NY 834 123, peg 384512"), "fence at NY 83 12, peg (withheld)");
        assert_eq!(coarsen("NY834123"), "NY 83 12");
        for said in ["54.8377,-2.2448", "83614 48125", "NY/84365/49485", "84365-49485", "E 84365 N 49485", "N Y 8436 4948"] {
            let told = coarsen(said);
            assert!(told.contains("(withheld)") && !told.contains(['3', '6', '9']), "{said}: {told}");
        }
        for kept in ["2016-2024", "1998, 2004 and 2011", "12500 trees, 0.25 ha", "9 by 12, 1,200 m; 0.125"] {
            assert_eq!(coarsen(kept), kept);
        }
    }
}
