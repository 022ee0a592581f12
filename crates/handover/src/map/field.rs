//! Small maps to find one's way by on foot: a few outlines and numbered places on the bones of the ground.

use super::labels::Labels;
use super::layers::{self, Line};
use super::view::View;
use super::{LEFT_MM, Scene, Sheet, TOP_MM, furniture};
use crate::svg::palette::{COTTON, INK, MOSS};
use crate::svg::{Anchor, Svg, Type};
use geo::{BoundingRect, InteriorPoint};
use geo_types::{MultiPolygon, Point};
use holding::model::FenceKind;

/// Room below for the scale, millimetres.
const FOOT_MM: f64 = 7.5;
/// Smallest and largest ring of a place, millimetres.
const RADIUS_MM: [f64; 2] = [1.3, 1.8];
/// Room round the outlines, as a share of their length, and at least, metres.
const ROOM: f64 = 0.05;
const ROOM_LEAST_M: f64 = 40.0;

impl Scene<'_> {
    /// Outlines with their names, and places with their numbers from 1, over tracks, water, woods, walls and fences.
    pub fn field(&self, areas: &[(String, MultiPolygon<f64>)], places: &[Point<f64>], width_mm: f64, height_mm: f64) -> Sheet {
        let all = MultiPolygon(areas.iter().flat_map(|(_, shape)| shape.0.clone()).collect());
        let ground = all.bounding_rect().map_or(self.extent, |r| {
            let room_m = ROOM_LEAST_M.max(ROOM * r.width().max(r.height()));
            [r.min().x - room_m, r.min().y - room_m, r.max().x + room_m, r.max().y + room_m]
        });
        let view = View::fitting(ground, LEFT_MM, TOP_MM, width_mm - LEFT_MM - 1.0, height_mm - TOP_MM - FOOT_MM);
        let mut svg = Svg::new(width_mm, height_mm);
        svg.clip(view.x_mm, view.y_mm, view.width_mm, view.height_mm);
        layers::paper(&mut svg, &view);
        let woods: String = self.holding.woods.iter().map(|w| view.area(&w.shape)).collect();
        svg.path(&woods, &format!(r#"fill="{MOSS}" fill-opacity=".25" fill-rule="evenodd""#));
        layers::relief(&mut svg, &view, self.holding.heights.as_ref());
        furniture::grid_lines(&mut svg, &view);
        layers::line(&mut svg, &view, Line::Water, self.holding.watercourses.iter().map(|w| &w.shape));
        layers::line(&mut svg, &view, Line::Track, self.holding.tracks.iter().map(|t| &t.shape));
        let fences = |wall: bool| self.holding.fences.iter().filter(move |f| (f.kind == FenceKind::Wall) == wall).map(|f| &f.shape);
        layers::line(&mut svg, &view, Line::Wall, fences(true));
        layers::line(&mut svg, &view, Line::Stock, fences(false));
        layers::boundary(&mut svg, &view, self.holding, false);
        let mut labels = Labels::new(&view);
        for (_, shape) in areas {
            svg.path(&view.area(shape), &format!(r#"fill="none" stroke="{COTTON}" stroke-width="1.5""#));
            svg.path(&view.area(shape), &format!(r#"fill="none" stroke="{INK}" stroke-width=".75""#));
        }
        let radius = radius_mm(places, &view);
        for (i, place) in places.iter().enumerate() {
            let (x, y) = (view.x(place.x()), view.y(place.y()));
            svg.circle(x, y, radius, &format!(r#"fill="{COTTON}" stroke="{INK}" stroke-width=".25""#));
            svg.text(x, y + radius * 0.48, Type::plain(radius * 1.32).bold().anchor(Anchor::Middle), &(i + 1).to_string());
        }
        for (name, at) in areas.iter().filter_map(|(name, shape)| Some((name, shape.interior_point()?))) {
            labels.over(&mut svg, view.x(at.x()), view.y(at.y()), Type::plain(3.4).bold().rim(), name);
        }
        svg.end();
        furniture::frame(&mut svg, &view, true);
        let foot = view.y_mm + view.height_mm + 1.6;
        furniture::scale_bar(&mut svg, &view, view.x_mm + 1.0, foot, 42.0);
        svg.text(view.x_mm + view.width_mm, foot + 3.2, Type::plain(2.5).anchor(Anchor::End), &format!("{} on A4, north up", furniture::ratio(view.scale)));
        Sheet { svg: svg.finish(), scale: view.scale }
    }
}

/// Radius of the ring of a numbered place: as large as leaves a gap to its nearest neighbour, millimetres.
fn radius_mm(places: &[Point<f64>], view: &View) -> f64 {
    let pairs = places.iter().enumerate().flat_map(|(i, a)| places[..i].iter().map(move |b| (a.x() - b.x()).hypot(a.y() - b.y())));
    (pairs.fold(f64::INFINITY, f64::min) / view.metres_a_mm() * 0.44).clamp(RADIUS_MM[0], RADIUS_MM[1])
}
