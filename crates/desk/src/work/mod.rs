//! What is worked out for the page: the year sheet, the ground and its pictures, measures with what they come to, strokes of the pen.
//!
//! Everything here is asked of a [`Start`](crate::answers::Start) and knows no request. What takes long is kept: the years ahead of an option
//! ([`courses`]), the ground on which strokes are tried ([`stroke`]).

pub mod courses;
pub mod draft;
pub mod ground;
pub mod looks;
pub mod measures;
pub mod mend;
pub mod picture;
pub mod relief;
pub mod season;
pub mod shapes;
pub mod sheet;
pub mod stroke;

use courses::Courses;
use stroke::Strokes;

/// What is kept between requests.
#[derive(Default)]
pub struct Work {
    /// Years ahead by option.
    pub courses: Courses,
    /// Strokes of the pen.
    pub strokes: Strokes,
}
