//! How wide letters of the face are, so that texts in pictures keep clear of one another and are cut only where they must be.
//!
//! Advance widths of Libertinus Serif in thousandths of the size, read from the font files (7.051) the page engine carries. Kerning is
//! left out: it only draws letters nearer.

/// From the space to the tilde, upright and italic, the wider of the two.
const PLAIN: [u16; 95] = [
    250, 288, 336, 465, 465, 637, 705, 190, 306, 313, 433, 550, 220, 338, 220, 323, 465, 465, 465,
    465, 465, 465, 465, 465, 465, 465, 236, 236, 550, 550, 550, 435, 895, 695, 588, 646, 701, 557,
    485, 685, 730, 297, 414, 637, 528, 839, 699, 702, 541, 702, 587, 485, 597, 661, 652, 951, 660,
    575, 604, 356, 321, 356, 518, 486, 392, 486, 493, 428, 506, 447, 314, 500, 538, 276, 272, 512,
    266, 790, 542, 504, 519, 503, 372, 390, 316, 531, 497, 747, 490, 515, 436, 277, 205, 277, 449,
];
/// The same, bold.
const BOLD: [u16; 95] = [
    250, 266, 376, 514, 514, 637, 729, 215, 315, 315, 433, 537, 244, 358, 244, 316, 514, 514, 514,
    514, 514, 514, 514, 514, 514, 514, 256, 256, 512, 551, 512, 430, 988, 740, 654, 706, 734, 609,
    545, 732, 817, 367, 373, 736, 577, 899, 740, 730, 614, 730, 716, 504, 652, 732, 700, 1028, 718,
    624, 624, 397, 307, 397, 518, 486, 392, 506, 542, 456, 561, 489, 391, 521, 619, 322, 312, 613,
    325, 905, 616, 551, 581, 573, 428, 427, 358, 598, 529, 777, 561, 558, 452, 307, 220, 307, 473,
];
/// Any other letter: wider than nearly all of those with accents.
const OTHER: u16 = 760;

/// Width of a letter, as a share of the size.
pub fn share(letter: char, bold: bool) -> f64 {
    let table = if bold { &BOLD } else { &PLAIN };
    let place = (letter as usize).checked_sub(' ' as usize);
    f64::from(place.and_then(|i| table.get(i)).copied().unwrap_or(OTHER)) / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_as_wide_as_the_face_has_them() {
        // Widths of the font files: space, figure and `W` upright, `i` italic (upright 0.271); `m` bold.
        assert_eq!([share(' ', false), share('7', false), share('W', false), share('i', false), share('m', true)], [0.25, 0.465, 0.951, 0.276, 0.905]);
        assert_eq!(share('Ŵ', false), 0.76);
    }
}
