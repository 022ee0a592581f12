//! Units people write in column names and behind figures.

/// A unit of length or share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Millimetres.
    Millimetre,
    /// Centimetres.
    Centimetre,
    /// Metres.
    Metre,
    /// Feet.
    Foot,
    /// Inches.
    Inch,
    /// Percent.
    Percent,
    /// Shares from 0 to 1.
    Fraction,
    /// Years.
    Year,
    /// Stems per hectare.
    PerHectare,
    /// Figures of the Domin scale of cover.
    Domin,
}

use Unit::*;

const WORDS: &[(Unit, &[&str])] = &[
    (Millimetre, &["mm", "millimetre", "millimetres"]),
    (Centimetre, &["cm", "cms", "centimetre", "centimetres", "centimeter", "centimeters"]),
    (Metre, &["m", "metre", "metres", "meter", "meters", "mtr", "mtrs"]),
    (Foot, &["ft", "foot", "feet"]),
    (Inch, &["in", "inch", "inches", "ins"]),
    (Percent, &["%", "pct", "percent", "perc", "pc"]),
    (Fraction, &["fraction", "share", "prop", "proportion"]),
    (Year, &["yr", "yrs", "year", "years"]),
    (Domin, &["domin"]),
    (PerHectare, &["/ha", "per ha", "stems/ha", "stems per ha", "stems ha", "per hectare"]),
];

impl Unit {
    /// The unit a word stands for; case does not matter.
    pub fn from_word(word: &str) -> Option<Self> {
        let word = word.trim().trim_end_matches('.').to_lowercase();
        WORDS.iter().find(|(_, words)| words.contains(&word.as_str())).map(|(unit, _)| *unit)
    }

    /// The unit's sign.
    pub fn sign(self) -> &'static str {
        match self {
            Millimetre => "mm",
            Centimetre => "cm",
            Metre => "m",
            Foot => "ft",
            Inch => "in",
            Percent => "%",
            Fraction => "fraction",
            Year => "years",
            PerHectare => "per ha",
            Domin => "domin",
        }
    }

    /// Metres in one of it, for lengths.
    fn metres(self) -> Option<f64> {
        match self {
            Millimetre => Some(0.001),
            Centimetre => Some(0.01),
            Metre => Some(1.0),
            Foot => Some(0.3048),
            Inch => Some(0.0254),
            _ => None,
        }
    }

    /// Whether figures in this unit can stand for a quantity kept in another.
    pub(super) fn stands_for(self, to: Unit) -> bool {
        self.convert(1.0, to).is_some() || (self == Domin && to == Percent)
    }

    /// Change a figure into another unit; `None` where the two do not measure the same thing.
    pub(super) fn convert(self, value: f64, to: Unit) -> Option<f64> {
        match (self, to) {
            (a, b) if a == b => Some(value),
            (Fraction, Percent) => Some(value * 100.0),
            (Percent, Fraction) => Some(value / 100.0),
            // Dividing by the smaller whole number keeps 12 cm at exactly 0.12 m.
            (Centimetre, Metre) => Some(value / 100.0),
            (Millimetre, Centimetre) => Some(value / 10.0),
            (Millimetre, Metre) => Some(value / 1000.0),
            (Metre, Centimetre) => Some(value * 100.0),
            (a, b) => Some(value * a.metres()? / b.metres()?),
        }
    }
}
