//! Maps of the holding as pictures: each sheet is drawn for one question, with frame, grid figures, scale bar, north and
//! a legend of what is on it, at a scale of the ladder in [`view`].

pub mod field;
pub mod findings;
pub mod furniture;
pub mod labels;
pub mod layers;
pub mod legend;
pub mod look;
pub mod sheet;
pub mod sites;
pub mod view;
pub mod works;

use crate::raster;
use crate::secrecy::{Mark, Secrecy};
use crate::svg::hatch::Hatch;
use crate::svg::palette::{COTTON, INK, MOSS, PEAT, value_step};
use crate::svg::{Svg, Type};
use geo::{Area, BoundingRect, InteriorPoint};
use geo_types::{MultiPolygon, Point};
use ground::Grid;
use ground::quick::intersection;
use holding::Holding;
use layers::Line;
use legend::{Entry, Layout};
use measures::Finding;
use sheet::{Canvas, Form, Sizes};
use view::{Box4, View, extent};

pub use sheet::Sheet;

/// What every map is drawn from.
pub struct Scene<'a> {
    holding: &'a Holding,
    secrecy: &'a Secrecy,
    extent: Box4,
}

impl<'a> Scene<'a> {
    /// The scene of a holding; `None` where nothing gives it an extent.
    pub fn new(holding: &'a Holding, secrecy: &'a Secrecy) -> Option<Self> {
        extent(holding).map(|extent| Self { holding, secrecy, extent })
    }

    /// A sheet of the whole holding.
    fn form(&self, width_mm: f64, height_mm: f64) -> Form {
        let leks = !self.holding.leks.is_empty();
        let said = if self.secrecy.withheld() { "Lek places are withheld: a lek is somewhere in its kilometre square." } else { "This sheet shows lek places: keep it close." };
        Form { width_mm, height_mm, ground: self.extent, also: None, sizes: Sizes::USUAL, epsg: self.holding.about.epsg, beside: false, notes: leks.then(|| said.to_owned()).into_iter().collect() }
    }

    /// Leks as they may be drawn; gives their spots for names. Their symbols are kept free.
    fn draw_leks(&self, c: &mut Canvas) -> Vec<(f64, f64, f64, String)> {
        let spots = layers::leks(&mut c.svg, &c.view, self.holding, self.secrecy, 2.4);
        c.show_if(!spots.is_empty(), if self.secrecy.withheld() { Entry::Square } else { Entry::Lek });
        for (x, y, radius, _) in spots.iter().filter(|s| s.2 > 0.0) {
            c.labels.keep_free([x - radius, y - radius, x + radius, y + radius]);
        }
        spots
    }

    fn name_leks(&self, c: &mut Canvas, spots: &[(f64, f64, f64, String)]) {
        let look = Type::plain(c.sizes.lek).bold().rim();
        for (x, y, radius, name) in spots {
            if *radius > 0.0 {
                c.labels.beside(&mut c.svg, *x, *y, *radius, look, name);
            } else {
                c.labels.over(&mut c.svg, *x, *y, look, name);
            }
        }
    }

    /// A small picture for the cover: relief, wood, water, the edge of the holding, and no leks.
    pub fn locator(&self, width_mm: f64, height_mm: f64) -> String {
        let view = View::filling(self.extent, 0.3, 0.3, width_mm - 0.6, height_mm - 0.6);
        let mut svg = Svg::new(width_mm, height_mm);
        svg.clip(view.x_mm, view.y_mm, view.width_mm, view.height_mm);
        svg.rect(view.x_mm, view.y_mm, view.width_mm, view.height_mm, r##"fill="#ece8da""##);
        let woods: String = self.holding.woods.iter().map(|w| view.area(&w.shape)).collect();
        svg.path(&woods, &format!(r#"fill="{MOSS}" fill-opacity=".55" fill-rule="evenodd""#));
        layers::relief(&mut svg, &view, self.holding.heights.as_ref());
        layers::line(&mut svg, &view, Line::Water, self.holding.watercourses.iter().map(|w| &w.shape));
        layers::boundary(&mut svg, &view, self.holding, true);
        svg.end();
        furniture::frame(&mut svg, &view, None);
        svg.finish()
    }

    /// The ground as surveyed: vegetation and woods over relief, with every line, named.
    pub fn ground(&self, width_mm: f64, height_mm: f64) -> Sheet {
        self.form(width_mm, height_mm).draw(|c| {
            layers::paper(&mut c.svg, &c.view);
            let looks = layers::ground(&mut c.svg, &c.view, self.holding);
            c.show_looks(&looks);
            self.draw_relief_and_grid(c);
            let guarded = layers::guarded(&mut c.svg, &c.view, self.holding);
            self.draw_lines(c, &Line::ALL);
            let buildings = layers::buildings(&mut c.svg, &c.view, self.holding);
            self.draw_lines(c, &[Line::Boundary]);
            c.show_if(buildings, Entry::Building);
            c.show_if(guarded, Entry::Guarded);
            let leks = self.draw_leks(c);
            self.name_leks(c, &leks);
            self.name_ground(c, true);
        })
    }

    fn draw_relief_and_grid(&self, c: &mut Canvas) {
        layers::relief(&mut c.svg, &c.view, self.holding.heights.as_ref());
        furniture::grid_lines(&mut c.svg, &c.view);
    }

    fn draw_lines(&self, c: &mut Canvas, kinds: &[Line]) {
        let drawn = layers::lines(&mut c.svg, &c.view, self.holding, kinds);
        c.show_lines(drawn);
    }

    /// Paper, woods, relief and grid: what lies under work on the ground.
    fn draw_under_work(&self, c: &mut Canvas) {
        layers::paper(&mut c.svg, &c.view);
        let looks = layers::woods(&mut c.svg, &c.view, self.holding);
        self.draw_relief_and_grid(c);
        c.show_looks(&looks);
    }

    /// Names of woods, units and (where asked) patches, the largest first, each where there is room on its own ground.
    fn name_ground(&self, c: &mut Canvas, patches: bool) {
        let (h, view, sizes) = (self.holding, c.view, c.sizes);
        let mut names: Vec<(f64, Point<f64>, Type, String)> = vec![];
        let mut add = |shape: &MultiPolygon<f64>, name: &str, look: Type, head_start: f64| {
            let at = spot_in_view(shape, &view).filter(|_| !name.trim().is_empty());
            names.extend(at.map(|p| (shape.unsigned_area() * head_start, p, look, self.secrecy.words(name))));
        };
        for wood in &h.woods {
            add(&wood.shape, &wood.name, Type::plain(sizes.wood).italic().colour(INK).rim(), 4.0);
        }
        for parcel in &h.parcels {
            add(&parcel.shape, &parcel.name, Type::plain(sizes.unit).colour(PEAT).rim(), 2.0);
        }
        for patch in h.patches.iter().filter(|p| patches && !p.coarse && fits(&p.shape, &view)) {
            add(&patch.shape, &patch.name, Type::plain(sizes.patch).rim(), 1.0);
        }
        names.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.3.cmp(&b.3)));
        let mut written: Vec<(String, f64, f64)> = vec![];
        for (_, at, look, name) in names {
            let (x, y) = (view.x(at.x()), view.y(at.y()));
            let said = written.iter().any(|(n, wx, wy)| *n == name && (wx - x).hypot(wy - y) < 40.0);
            if !said && c.labels.over(&mut c.svg, x, y, look, &name) {
                written.push((name, x, y));
            }
        }
    }

    /// What one season finds: the value of the ground in five steps.
    pub fn season(&self, value: &Grid<f32>, width_mm: f64, height_mm: f64) -> Sheet {
        self.form(width_mm, height_mm).draw(|c| {
            // No relief: in grey its shade would pass for a step of value.
            self.draw_value(&mut c.svg, &c.view, value);
            furniture::grid_lines(&mut c.svg, &c.view);
            show_values(c, value);
            let woods: String = self.holding.woods.iter().map(|w| c.view.outline(&w.shape)).collect();
            c.svg.path(&woods, WOOD_EDGE);
            c.show_if(!woods.is_empty(), Entry::WoodEdge);
            let water = layers::of_kind(self.holding, Line::Water);
            let under: String = water.iter().map(|w| c.view.lines(w)).collect();
            c.svg.path(&under, &format!(r#"fill="none" stroke="{COTTON}" stroke-width="1" stroke-opacity=".7""#));
            self.draw_lines(c, &[Line::Water, Line::Boundary]);
            let leks = self.draw_leks(c);
            self.name_leks(c, &leks);
            self.name_ground(c, false);
        })
    }

    /// The same as a small picture without legend or figures.
    pub fn season_small(&self, value: &Grid<f32>, side_mm: f64) -> String {
        let view = View::filling(self.extent, 0.3, 0.3, side_mm - 0.6, side_mm - 0.6);
        let mut svg = Svg::new(side_mm, side_mm);
        svg.clip(view.x_mm, view.y_mm, view.width_mm, view.height_mm);
        self.draw_value(&mut svg, &view, value);
        if let Some(boundary) = &self.holding.boundary {
            svg.path(&view.area(boundary), &format!(r#"fill="none" stroke="{COTTON}" stroke-width=".8""#));
            svg.path(&view.area(boundary), &format!(r#"fill="none" stroke="{INK}" stroke-width=".4""#));
        }
        for lek in self.holding.leks.iter().filter(|_| !self.secrecy.withheld()) {
            if view.holds(lek.at.x(), lek.at.y()) {
                layers::lek_symbol(&mut svg, view.x(lek.at.x()), view.y(lek.at.y()), 1.3);
            }
        }
        svg.end();
        furniture::frame(&mut svg, &view, None);
        svg.finish()
    }

    /// The steps of the value ramp as a small legend of one column.
    pub fn value_key(&self, width_mm: f64) -> String {
        let mut entries: Vec<Entry> = (0..5).map(Entry::Value).collect();
        entries.extend([Entry::Unmapped, Entry::Line(Line::Boundary)]);
        entries.extend((!self.secrecy.withheld() && !self.holding.leks.is_empty()).then_some(Entry::Lek));
        let layout = Layout::of(&entries, width_mm - 0.5, Sizes::USUAL.legend);
        let mut svg = Svg::new(width_mm, layout.height_mm() + 0.5);
        layout.draw(&mut svg, &entries, 0.3, 0.3);
        svg.finish()
    }

    fn draw_value(&self, svg: &mut Svg, view: &View, value: &Grid<f32>) {
        layers::paper(svg, view);
        let fill = svg.hatch(Hatch::Unmapped);
        svg.rect(view.x_mm, view.y_mm, view.width_mm, view.height_mm, &format!(r#"fill="{fill}""#));
        if let Some(raster) = raster::cut(value, view.ground()).and_then(|grid| raster::values(&grid)) {
            layers::lay(svg, view, &raster);
        }
    }

    /// What is in sight from a lek: hidden ground is veiled. `None` where the place is withheld.
    pub fn sight(&self, lek: usize, seen: &Grid<f32>, side_mm: f64) -> Option<Sheet> {
        let lek = self.holding.leks.get(lek)?;
        let Mark::Exact { east_m, north_m } = self.secrecy.mark(lek.at) else { return None };
        let f = seen.frame;
        let reach = (east_m - f.west_m).max(f.east_m() - east_m).max(north_m - f.south_m()).max(f.north_m - north_m);
        let ground = [east_m - reach, north_m - reach, east_m + reach, north_m + reach];
        let form = Form { ground, notes: vec![], ..self.form(side_mm, side_mm + SIGHT_UNDER_MM) };
        Some(form.draw(|c| {
            layers::paper(&mut c.svg, &c.view);
            let looks = layers::woods(&mut c.svg, &c.view, self.holding);
            layers::relief(&mut c.svg, &c.view, self.holding.heights.as_ref());
            if let Some(raster) = raster::cut(seen, c.view.ground()).and_then(|grid| raster::hidden(&grid)) {
                layers::lay(&mut c.svg, &c.view, &raster);
            }
            furniture::grid_lines(&mut c.svg, &c.view);
            c.show(Entry::Lek);
            c.show(Entry::Hidden);
            c.show_looks(&looks);
            self.draw_lines(c, &Line::WAYMARKS);
            self.draw_lines(c, &[Line::Wall, Line::Wire, Line::Stock, Line::Deer, Line::Boundary]);
            layers::lek_symbol(&mut c.svg, c.view.x(east_m), c.view.y(north_m), 2.2);
        }))
    }

    /// Where findings sit, by their numbers (1 for the first).
    pub fn findings(&self, found: &[Finding], width_mm: f64, height_mm: f64) -> Sheet {
        let shapes: Vec<_> = found.iter().map(|f| self.secrecy.shape(f)).collect();
        self.form(width_mm, height_mm).draw(|c| {
            self.draw_under_work(c);
            self.draw_lines(c, &Line::WAYMARKS);
            self.draw_lines(c, &[Line::Boundary]);
            let leks = self.draw_leks(c);
            for (shape, blurred) in &shapes {
                if !blurred && !sprawls(shape, &c.view) {
                    outline(&mut c.svg, &c.view, shape);
                }
            }
            self.name_leks(c, &leks);
            let mut spots = vec![];
            for (i, (shape, blurred)) in shapes.iter().enumerate() {
                if let Some(at) = Secrecy::spot(shape).filter(|p| c.view.holds(p.x(), p.y())) {
                    let from = (c.view.x(at.x()), c.view.y(at.y()));
                    let Some((to, _)) = c.room(i + 1, from, None, findings::WIDE_MM, findings::WIDE_MM) else { continue };
                    spots.push((i, from, to, *blurred));
                }
            }
            for (_, from, to, blurred) in &spots {
                leader(&mut c.svg, *from, *to, *blurred);
            }
            let mut weights: Vec<usize> = spots.iter().map(|(i, ..)| findings::weight(found[*i].severity)).collect();
            for ((i, _, to, _), weight) in spots.iter().zip(&weights) {
                findings::symbol(&mut c.svg, to.0, to.1, *weight, &(i + 1).to_string());
            }
            weights.sort_unstable();
            weights.into_iter().for_each(|w| c.show(Entry::Finding(w, findings::WEIGHTS[w])));
        })
    }
}

/// The edge of a wood on a map of values.
pub const WOOD_EDGE: &str = r##"fill="none" stroke="#43352b" stroke-width=".3" stroke-dasharray="1.2 .3 .3 .3""##;
/// Height of what stands under a map of sight lines, millimetres.
const SIGHT_UNDER_MM: f64 = 24.0;

/// The steps of value in view, and whether any ground in view has none.
fn show_values(c: &mut Canvas, value: &Grid<f32>) {
    let Some(seen) = raster::cut(value, c.view.ground()) else { return c.show(Entry::Unmapped) };
    let (f, [w, s, e, n]) = (seen.frame, c.view.ground());
    (0..5).for_each(|step| c.show_if(seen.cells.iter().any(|v| !v.is_nan() && value_step(*v) == step), Entry::Value(step)));
    let beyond = w < f.west_m || e > f.east_m() || s < f.south_m() || n > f.north_m;
    c.show_if(beyond || seen.cells.iter().any(|v| v.is_nan()), Entry::Unmapped);
}

/// A line from a spot to its number, where that stands off and a line may be drawn.
fn leader(svg: &mut Svg, from: (f64, f64), to: (f64, f64), none: bool) {
    if (from.0 - to.0).hypot(from.1 - to.1) > 2.5 && !none {
        svg.line(from.0, from.1, to.0, to.1, &format!(r#"stroke="{COTTON}" stroke-width=".7" stroke-opacity=".8""#));
        svg.line(from.0, from.1, to.0, to.1, &format!(r#"stroke="{INK}" stroke-width=".22""#));
    }
}

/// A point of a shape that lies in view, for its name: of the whole shape where that is in view, else of the part that is.
fn spot_in_view(shape: &MultiPolygon<f64>, view: &View) -> Option<Point<f64>> {
    let inside = |p: &Point<f64>| view.holds(p.x(), p.y());
    shape.interior_point().filter(inside).or_else(|| {
        let seen = view.shows(shape).then(|| intersection(shape, &MultiPolygon(vec![view.rect().to_polygon()])))?;
        seen.interior_point().filter(inside)
    })
}

/// Whether a shape is wide enough on paper to carry a name.
fn fits(shape: &MultiPolygon<f64>, view: &View) -> bool {
    shape.bounding_rect().is_some_and(|r| r.width() / view.metres_a_mm() > 9.0 && r.height() / view.metres_a_mm() > 5.0)
}

/// Whether a shape covers so much of the sheet that its outline would say nothing.
fn sprawls(shape: &geo_types::Geometry<f64>, view: &View) -> bool {
    let half = 0.5 * view.width_mm * view.metres_a_mm();
    shape.bounding_rect().is_some_and(|r| r.width().max(r.height()) > half)
}

/// The shape of a finding, outlined.
fn outline(svg: &mut Svg, view: &View, shape: &geo_types::Geometry<f64>) {
    use geo_types::{Geometry, MultiLineString};
    let style = format!(r#"fill="none" stroke="{}" stroke-width=".4""#, crate::svg::palette::RUSSET);
    match shape {
        Geometry::Polygon(p) => svg.path(&view.area(&MultiPolygon(vec![p.clone()])), &style),
        Geometry::MultiPolygon(p) => svg.path(&view.area(p), &style),
        Geometry::LineString(l) => svg.path(&view.lines(&MultiLineString(vec![l.clone()])), &style),
        Geometry::MultiLineString(l) => svg.path(&view.lines(l), &style),
        Geometry::Rect(r) => svg.path(&view.area(&MultiPolygon(vec![r.to_polygon()])), &style),
        Geometry::GeometryCollection(all) => all.iter().for_each(|g| outline(svg, view, g)),
        _ => {}
    }
}
