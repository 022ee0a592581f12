//! Grid references in letters: `NY 90025 32025`, `ny9032`.
//!
//! A reference names the square of its resolution by the square's **south-west corner**: figures are cut off, never
//! rounded (OS National Grid reference system). So reading gives the corner and the size of the square, and the
//! place meant may lie anywhere in that square; a caller who wants a fair point adds half of `size_m` to both.

/// A place read from a grid reference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GridRef {
    /// Easting of the south-west corner, metres.
    pub east_m: f64,
    /// Northing of the south-west corner, metres.
    pub north_m: f64,
    /// Side of the square the reference names, metres: 10,000 for two figures, 1 for ten.
    pub size_m: f64,
}

impl GridRef {
    /// The middle of the square.
    pub fn middle(&self) -> (f64, f64) {
        (self.east_m + self.size_m / 2.0, self.north_m + self.size_m / 2.0)
    }

    /// Whether a point lies in the square.
    pub fn holds(&self, east_m: f64, north_m: f64) -> bool {
        (self.east_m..self.east_m + self.size_m).contains(&east_m)
            && (self.north_m..self.north_m + self.size_m).contains(&north_m)
    }
}

/// Why a text is no grid reference.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadGridRef {
    /// No two letters at the start.
    #[error("`{0}` does not begin with the two letters of a 100 km square")]
    NoLetters(String),
    /// Letters that name no square of the national grid.
    #[error("`{0}` names no 100 km square of the national grid")]
    NoSuchSquare(String),
    /// Something other than figures after the letters.
    #[error("`{0}` holds something other than figures after its letters")]
    NotFigures(String),
    /// An odd number of figures, none, or more than ten.
    #[error("`{0}` has {1} figures; an even number from 2 to 10 is needed")]
    FigureCount(String, usize),
    /// Two groups of unequal length.
    #[error("`{0}` has {1} figures of easting but {2} of northing")]
    Unequal(String, usize, usize),
}

/// Read a grid reference of two letters and 2 to 10 figures, with or without spaces, in either case.
///
/// ```
/// let r = holding::grid_ref::parse_grid_ref("ny9032").unwrap();
/// assert_eq!((r.east_m, r.north_m, r.size_m), (390_000.0, 532_000.0, 1000.0));
/// ```
pub fn parse_grid_ref(text: &str) -> Result<GridRef, BadGridRef> {
    let shown: String = text.trim().chars().take(40).collect();
    let mut letters = text.chars().filter(|c| !c.is_whitespace());
    let (first, second) = match (letters.next(), letters.next()) {
        (Some(a), Some(b)) if a.is_ascii_alphabetic() && b.is_ascii_alphabetic() => (a, b),
        _ => return Err(BadGridRef::NoLetters(shown)),
    };
    let (sw_east, sw_north) = square(first, second).ok_or(BadGridRef::NoSuchSquare(shown.clone()))?;
    let figures = figures_after_letters(text);
    if !figures.chars().all(|c| c.is_ascii_digit() || c.is_whitespace()) {
        return Err(BadGridRef::NotFigures(shown));
    }
    let groups: Vec<&str> = figures.split_whitespace().collect();
    if let [east, north] = groups[..]
        && east.len() != north.len()
    {
        return Err(BadGridRef::Unequal(shown, east.len(), north.len()));
    }
    let all: String = groups.concat();
    if all.is_empty() || all.len() > 10 || !all.len().is_multiple_of(2) {
        return Err(BadGridRef::FigureCount(shown, all.len()));
    }
    let half = all.len() / 2;
    let size_m = 10_f64.powi(5 - half as i32);
    let number = |part: &str| part.bytes().fold(0.0, |sum, b| sum * 10.0 + f64::from(b - b'0'));
    Ok(GridRef {
        east_m: sw_east + number(&all[..half]) * size_m,
        north_m: sw_north + number(&all[half..]) * size_m,
        size_m,
    })
}

/// The text after the first two letters (spaces between them allowed).
fn figures_after_letters(text: &str) -> &str {
    let mut seen = 0;
    for (at, c) in text.char_indices() {
        if !c.is_whitespace() {
            seen += 1;
            if seen == 2 {
                return &text[at + c.len_utf8()..];
            }
        }
    }
    ""
}

/// South-west corner of a 100 km square on land or near it: 0 to 700 km east, 0 to 1,300 km north.
fn square(first: char, second: char) -> Option<(f64, f64)> {
    // The alphabet without I, five letters a row, from the north-west corner; 500 km and then 100 km squares.
    let place = |c: char| {
        let c = c.to_ascii_uppercase();
        (c != 'I').then(|| {
            let n = u32::from(c) - u32::from('A') - u32::from(c > 'I');
            (f64::from(n % 5), f64::from(4 - n / 5))
        })
    };
    let ((x5, y5), (x1, y1)) = (place(first)?, place(second)?);
    // The grid's origin is the south-west corner of square SV: S is third in its row and second from the south.
    let east = (x5 - 2.0) * 500_000.0 + x1 * 100_000.0;
    let north = (y5 - 1.0) * 500_000.0 + y1 * 100_000.0;
    ((0.0..700_000.0).contains(&east) && (0.0..1_300_000.0).contains(&north)).then_some((east, north))
}

/// Write a place as a grid reference with `figures` figures in all (2 to 10, even; others are brought into range).
///
/// Figures are cut off, not rounded. `None` outside the lettered squares.
///
/// ```
/// assert_eq!(holding::grid_ref::format_grid_ref(390_025.9, 532_025.0, 10).unwrap(), "NY 90025 32025");
/// ```
pub fn format_grid_ref(east_m: f64, north_m: f64, figures: usize) -> Option<String> {
    if !((0.0..700_000.0).contains(&east_m) && (0.0..1_300_000.0).contains(&north_m)) {
        return None;
    }
    let half = (figures / 2).clamp(1, 5);
    let (e, n) = (east_m as u32, north_m as u32);
    let letter = |x: u32, y: u32| {
        let at = (4 - y) * 5 + x;
        char::from(b'A' + (at + u32::from(at >= 8)) as u8)
    };
    let first = letter(e / 500_000 + 2, n / 500_000 + 1);
    let second = letter(e % 500_000 / 100_000, n % 500_000 / 100_000);
    let cut = 10_u32.pow(5 - half as u32);
    Some(format!("{first}{second} {:0half$} {:0half$}", e % 100_000 / cut, n % 100_000 / cut))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spaces_and_case_do_not_matter() {
        for text in ["NY 90025 32025", "ny9002532025", " Ny 90025  32025 ", "N Y 90025 32025"] {
            let r = parse_grid_ref(text).unwrap();
            assert_eq!((r.east_m, r.north_m, r.size_m), (390_025.0, 532_025.0, 1.0), "{text}");
        }
        let r = parse_grid_ref("SK 123 456").unwrap();
        assert_eq!((r.east_m, r.north_m, r.size_m), (412_300.0, 345_600.0, 100.0));
        assert!(r.holds(412_399.0, 345_600.0) && !r.holds(412_400.0, 345_600.0));
    }

    #[test]
    fn every_way_to_be_wrong_has_its_word() {
        use BadGridRef::*;
        assert!(matches!(parse_grid_ref("390025 532025"), Err(NoLetters(_))));
        assert!(matches!(parse_grid_ref(""), Err(NoLetters(_))));
        assert!(matches!(parse_grid_ref("AA 12"), Err(NoSuchSquare(_))));
        assert!(matches!(parse_grid_ref("NI 12 34"), Err(NoSuchSquare(_))));
        assert!(matches!(parse_grid_ref("NY 12a4"), Err(NotFigures(_))));
        assert!(matches!(parse_grid_ref("NY 123"), Err(FigureCount(_, 3))));
        assert!(matches!(parse_grid_ref("NY"), Err(FigureCount(_, 0))));
        assert!(matches!(parse_grid_ref("NY 123456 123456"), Err(FigureCount(_, 12))));
        assert!(matches!(parse_grid_ref("NY 123 12345"), Err(Unequal(_, 3, 5))));
        assert!(matches!(parse_grid_ref("É9 12"), Err(NoLetters(_))));
    }
}
