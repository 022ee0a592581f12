//! Small maps to find one's way by on foot: a few outlines and numbered places on the bones of the ground.

use super::layers::Line;
use super::sheet::Form;
use super::{Scene, Sheet};
use crate::svg::palette::{COTTON, INK};
use crate::svg::{Anchor, Type};
use geo::{BoundingRect, InteriorPoint};
use geo_types::{MultiPolygon, Point};

/// Room round the outlines, as a share of their length, and at least, metres.
const ROOM: f64 = 0.05;
const ROOM_LEAST_M: f64 = 40.0;
/// Radius of a numbered place, millimetres.
const PLACE_MM: f64 = 1.75;

impl Scene<'_> {
    /// Outlines with their names, and places with their numbers from 1, over tracks, water, woods, walls and fences. Without a legend, for
    /// which so small a sheet has no room: what shows it tells what its lines are, once for all its maps.
    pub fn field(&self, areas: &[(String, MultiPolygon<f64>)], places: &[Point<f64>], width_mm: f64, height_mm: f64) -> Sheet {
        let all = MultiPolygon(areas.iter().flat_map(|(_, shape)| shape.0.clone()).collect());
        let ground = all.bounding_rect().map_or(self.extent, |r| {
            let room_m = ROOM_LEAST_M.max(ROOM * r.width().max(r.height()));
            [r.min().x - room_m, r.min().y - room_m, r.max().x + room_m, r.max().y + room_m]
        });
        let form = Form { ground, notes: vec![], ..self.form(width_mm, height_mm) };
        form.draw(|c| {
            self.draw_under_work(c);
            self.draw_lines(c, &[Line::Water, Line::Path, Line::Track, Line::Road, Line::Wall, Line::Wire, Line::Stock, Line::Deer, Line::Boundary]);
            for (_, shape) in areas {
                let outline = c.view.area(shape);
                c.svg.path(&outline, &format!(r#"fill="none" stroke="{COTTON}" stroke-width="1.5""#));
                c.svg.path(&outline, &format!(r#"fill="none" stroke="{INK}" stroke-width=".75""#));
            }
            for (i, place) in places.iter().enumerate() {
                let (x, y) = (c.view.x(place.x()), c.view.y(place.y()));
                c.svg.circle(x, y, PLACE_MM, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".3""#));
                c.svg.text(x, y + 0.85, Type::plain(2.3).bold().anchor(Anchor::Middle), &(i + 1).to_string());
                c.labels.keep_free([x - PLACE_MM, y - PLACE_MM, x + PLACE_MM, y + PLACE_MM]);
            }
            for (name, at) in areas.iter().filter_map(|(name, shape)| Some((name, shape.interior_point()?))) {
                c.labels.over(&mut c.svg, c.view.x(at.x()), c.view.y(at.y()), Type::plain(3.4).bold().rim(), name);
            }
            c.no_legend();
        })
    }
}
