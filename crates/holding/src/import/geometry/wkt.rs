//! Well-known text (OGC 06-103r4, clause 7): points, lines, polygons and several of them, with Z and M dropped.

use super::build::{Builder, Rings};
use crate::import::table::Shape;
use geo_types::{Coord, Geometry};

/// Whether a text begins as well-known text does.
pub(in crate::import) fn looks_like(text: &str) -> bool {
    let upper = text.trim_start().to_uppercase();
    ["POINT", "LINESTRING", "POLYGON", "MULTI"].iter().any(|word| upper.starts_with(word))
}

/// A geometry in text; nothing is missing, anything that cannot be read is broken.
pub(in crate::import) fn shape(text: &str) -> Shape {
    if text.trim().is_empty() {
        return Shape::Missing;
    }
    let mut builder = Builder::default();
    match geometry(text, &mut builder) {
        Ok(Some(geometry)) => Shape::Is(builder.done(geometry)),
        Ok(None) => Shape::Missing,
        Err(why) => Shape::Broken(why),
    }
}

fn geometry(text: &str, builder: &mut Builder) -> Result<Option<Geometry<f64>>, String> {
    let text = text.trim();
    // The older dialect puts `SRID=27700;` before.
    let text = text.split_once(';').map_or(text, |(_, after)| after).trim();
    let open = text.find('(').unwrap_or(text.len());
    let head = text[..open].trim().to_uppercase();
    let mut words = head.split_whitespace();
    let kind = words.next().unwrap_or("").to_owned();
    if words.next_back() == Some("EMPTY") {
        return Ok(None);
    }
    let mut reader = Reader { rest: &text[open..] };
    let geometry = match kind.trim_end_matches(['Z', 'M']) {
        "POINT" => match reader.line()?[..] {
            [at] => Geometry::Point(builder.point(at)?),
            _ => return Err("a point of several places".to_owned()),
        },
        "LINESTRING" => Geometry::LineString(builder.line(reader.line()?)?),
        "POLYGON" => Geometry::Polygon(builder.polygon(reader.rings()?)?),
        "MULTIPOINT" => Geometry::MultiPoint(builder.points(reader.points()?)?),
        "MULTILINESTRING" => Geometry::MultiLineString(builder.lines(reader.rings()?)?),
        "MULTIPOLYGON" => Geometry::MultiPolygon(builder.polygons(reader.list(Reader::rings)?)?),
        _ => return Err(format!("text that is no geometry: `{}`", text.chars().take(40).collect::<String>())),
    };
    if reader.rest.trim().is_empty() { Ok(Some(geometry)) } else { Err("more text after the end of the geometry".to_owned()) }
}

struct Reader<'a> {
    rest: &'a str,
}

impl Reader<'_> {
    fn eat(&mut self, c: char) -> bool {
        let trimmed = self.rest.trim_start();
        let eaten = trimmed.strip_prefix(c);
        self.rest = eaten.unwrap_or(trimmed);
        eaten.is_some()
    }

    fn list<T>(&mut self, one: impl Fn(&mut Self) -> Result<T, String>) -> Result<Vec<T>, String> {
        if !self.eat('(') {
            return Err("well-known text without an opening bracket".to_owned());
        }
        let mut all = vec![one(self)?];
        while self.eat(',') {
            all.push(one(self)?);
        }
        if self.eat(')') { Ok(all) } else { Err("well-known text without a closing bracket".to_owned()) }
    }

    fn coord(&mut self) -> Result<Coord<f64>, String> {
        let end = self.rest.find([',', '(', ')']).unwrap_or(self.rest.len());
        let (text, rest) = self.rest.split_at(end);
        self.rest = rest;
        let numbers: Result<Vec<f64>, _> = text.split_whitespace().map(str::parse::<f64>).collect();
        match numbers.as_deref() {
            Ok([x, y] | [x, y, _] | [x, y, _, _]) => Ok(Coord { x: *x, y: *y }),
            _ => Err(format!("a position that is not two numbers: `{}`", text.trim().chars().take(40).collect::<String>())),
        }
    }

    fn line(&mut self) -> Result<Vec<Coord<f64>>, String> {
        self.list(Self::coord)
    }

    /// Points with or without a bracket round each.
    fn points(&mut self) -> Result<Vec<Coord<f64>>, String> {
        self.list(|reader| {
            if !reader.eat('(') {
                return reader.coord();
            }
            let at = reader.coord()?;
            if reader.eat(')') { Ok(at) } else { Err("well-known text without a closing bracket".to_owned()) }
        })
    }

    fn rings(&mut self) -> Result<Rings, String> {
        self.list(Self::line)
    }
}
