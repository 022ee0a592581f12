//! Shapes as the page has them: GeoJSON in the plan's own coordinates, metres.

use crate::api::ground::March;
use geo::{Area, BoundingRect, Contains, Euclidean, Intersects, Length, MapCoords};
use geo_types::{Coord, Geometry, MultiLineString, MultiPolygon, Rect};
use ground::quick::{intersection, lines_inside};
use guidance::{Guidance, Unknown};
use holding::{Holding, Measure};
use serde_json::Value;

/// A shape as GeoJSON, to the centimetre.
pub fn geojson(shape: impl Into<Geometry<f64>>) -> Value {
    let round = |v: f64| (v * 100.0).round() / 100.0;
    let rounded = shape.into().map_coords(|c| Coord { x: round(c.x), y: round(c.y) });
    serde_json::to_value(::geojson::Geometry::from(&rounded)).unwrap_or(Value::Null)
}

/// Shape of a measure; nothing where none is drawn.
pub fn of(measure: &Measure) -> Option<Value> {
    if !measure.shape.0.is_empty() {
        return Some(geojson(measure.shape.clone()));
    }
    (!measure.line.0.is_empty()).then(|| geojson(measure.line.clone()))
}

/// Area of a measure, hectares; nothing where no area is drawn.
pub fn area_ha(measure: &Measure) -> Option<f64> {
    (!measure.shape.0.is_empty()).then(|| measure.shape.unsigned_area() / 1e4)
}

/// Length of a measure, metres; nothing where no line is drawn.
pub fn length_m(measure: &Measure) -> Option<f64> {
    (!measure.line.0.is_empty()).then(|| long_m(&measure.line))
}

fn long_m(line: &MultiLineString<f64>) -> f64 {
    line.0.iter().map(|l| Euclidean.length(l)).sum()
}

/// The march of a holding, to tell where a piece of ground lies.
pub struct Marches<'a> {
    /// The land and the box round it; `None` where no march is known.
    land: Option<(&'a MultiPolygon<f64>, Rect<f64>)>,
    /// Share of a piece from which it lies where that share lies.
    mostly: f64,
}

impl<'a> Marches<'a> {
    /// The march of a plan.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn of(holding: &'a Holding, guidance: &Guidance) -> Result<Marches<'a>, Unknown> {
        let land = holding.boundary.as_ref().and_then(|land| Some((land, land.bounding_rect()?)));
        Ok(Marches { land, mostly: guidance.number("rule.march.mostly", holding.about.country)? })
    }

    /// Where a piece of ground lies: by its area, its length, or the point it is.
    pub fn side(&self, piece: &Geometry<f64>) -> March {
        let Some((land, around)) = self.land else { return March::Inside };
        let (all, own) = match piece {
            _ if piece.bounding_rect().is_some_and(|piece| !around.intersects(&piece)) => (1.0, 0.0),
            Geometry::MultiPolygon(areas) => (areas.unsigned_area(), intersection(land, areas).unsigned_area()),
            Geometry::MultiLineString(lines) => (long_m(lines), long_m(&lines_inside(land, lines))),
            piece => (1.0, f64::from(u8::from(land.contains(piece)))),
        };
        match own / all {
            some if some <= 1.0 - self.mostly => March::Outside,
            part if part < self.mostly => March::Partly,
            // What has no area and no length lies nowhere in particular.
            _ => March::Inside,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Marches;
    use crate::api::ground::March;
    use guidance::Guidance;
    use holding::Holding;
    use geo_types::{Geometry, MultiLineString, MultiPolygon, Rect, coord, line_string, point};

    fn rect(west: f64, east: f64) -> MultiPolygon<f64> {
        MultiPolygon(vec![Rect::new(coord! { x: west, y: 0.0 }, coord! { x: east, y: 100.0 }).to_polygon()])
    }

    #[test]
    fn a_piece_lies_where_nine_tenths_of_it_lie() {
        let guidance = Guidance::load().unwrap();
        let mut h = Holding { boundary: Some(rect(0.0, 1000.0)), ..Holding::default() };
        let marches = Marches::of(&h, &guidance).unwrap();
        let of = |west: f64, east: f64| marches.side(&rect(west, east).into());
        assert_eq!([of(100.0, 200.0), of(0.0, 1000.0), of(905.0, 1005.0), of(911.0, 1011.0)], [March::Inside, March::Inside, March::Inside, March::Partly]);
        assert_eq!([of(950.0, 1050.0), of(989.0, 1089.0), of(991.0, 1091.0), of(1000.0, 1100.0), of(5000.0, 5100.0)], [March::Partly, March::Partly, March::Outside, March::Outside, March::Outside]);
        let fence = |from: f64, to: f64| marches.side(&Geometry::from(MultiLineString(vec![line_string![(x: from, y: 50.0), (x: to, y: 50.0)]])));
        assert_eq!([fence(0.0, 100.0), fence(950.0, 1050.0), fence(1500.0, 1600.0)], [March::Inside, March::Partly, March::Outside]);
        let stick = |x: f64| marches.side(&point! { x: x, y: 50.0 }.into());
        assert_eq!([stick(10.0), stick(1001.0)], [March::Inside, March::Outside]);
        let nothing = [MultiPolygon(vec![]).into(), Geometry::from(MultiLineString::<f64>(vec![]))];
        assert_eq!(nothing.map(|piece| marches.side(&piece)), [March::Inside; 2]);
        h.boundary = None;
        assert_eq!(Marches::of(&h, &guidance).unwrap().side(&rect(5000.0, 5100.0).into()), March::Inside);
    }
}
