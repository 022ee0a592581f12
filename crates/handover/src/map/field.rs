//! Small maps to find one's way by on foot: a few outlines and numbered places on the bones of the ground.

use super::layers::Line;
use super::sheet::Form;
use super::view::View;
use super::{Scene, Sheet};
use crate::svg::palette::{COTTON, INK};
use crate::svg::{Anchor, Type};
use geo::{BoundingRect, InteriorPoint};
use geo_types::{MultiPolygon, Point};

/// Room round the outlines, as a share of their length, and at least, metres.
const ROOM: f64 = 0.05;
const ROOM_LEAST_M: f64 = 40.0;
/// Smallest and largest ring of a place, millimetres.
const RADIUS_MM: [f64; 2] = [1.3, 1.8];

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
            let radius = radius_mm(places, &c.view);
            for (i, place) in places.iter().enumerate() {
                let (x, y) = (c.view.x(place.x()), c.view.y(place.y()));
                c.svg.circle(x, y, radius, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".25""#));
                c.svg.text(x, y + radius * 0.48, Type::plain(radius * 1.32).bold().anchor(Anchor::Middle), &(i + 1).to_string());
                c.labels.keep_free([x - radius, y - radius, x + radius, y + radius]);
            }
            for (name, at) in areas.iter().filter_map(|(name, shape)| Some((name, shape.interior_point()?))) {
                c.labels.over(&mut c.svg, c.view.x(at.x()), c.view.y(at.y()), Type::plain(3.4).bold().rim(), name);
            }
            c.no_legend();
        })
    }
}

/// Radius of the ring of a numbered place: as large as leaves a gap to its nearest neighbour, millimetres.
fn radius_mm(places: &[Point<f64>], view: &View) -> f64 {
    let pairs = places.iter().enumerate().flat_map(|(i, a)| places[..i].iter().map(move |b| (a.x() - b.x()).hypot(a.y() - b.y())));
    (pairs.fold(f64::INFINITY, f64::min) / view.metres_a_mm() * 0.44).clamp(RADIUS_MM[0], RADIUS_MM[1])
}
