//! Maps of the holding as pictures: each sheet is drawn for one question, with frame, grid figures, scale bar, north and
//! a legend of what is on it.

pub mod field;
pub mod findings;
pub mod furniture;
pub mod labels;
pub mod layers;
pub mod legend;
pub mod look;
pub mod view;
pub mod works;

use crate::raster;
use crate::secrecy::{Mark, Secrecy};
use crate::svg::hatch::Hatch;
use crate::svg::palette::{BURN, COTTON, INK, MOSS, PEAT, STONE};
use crate::svg::{Svg, Type};
use geo::{Area, BoundingRect, InteriorPoint};
use geo_types::MultiPolygon;
use ground::Grid;
use holding::Holding;
use labels::Labels;
use layers::Line;
use legend::Entry;
use measures::Finding;
use view::{Box4, View, extent};

/// Room left of and above a map for grid figures, millimetres.
const LEFT_MM: f64 = 8.0;
const TOP_MM: f64 = 4.5;
/// Room below a map for scale bar and north arrow, millimetres.
const FOOT_MM: f64 = 13.0;

/// What every map is drawn from.
pub struct Scene<'a> {
    holding: &'a Holding,
    secrecy: &'a Secrecy,
    extent: Box4,
}

/// A finished map and its scale.
pub struct Sheet {
    /// The picture.
    pub svg: String,
    /// The scale, 1 to this.
    pub scale: f64,
}

impl<'a> Scene<'a> {
    /// The scene of a holding; `None` where nothing gives it an extent.
    pub fn new(holding: &'a Holding, secrecy: &'a Secrecy) -> Option<Self> {
        extent(holding).map(|extent| Self { holding, secrecy, extent })
    }

    /// The view of a full sheet whose legend has a number of entries.
    fn sheet_view(&self, width_mm: f64, height_mm: f64, entries: usize, columns: usize) -> View {
        let below = FOOT_MM + legend::height_mm(entries, columns);
        View::fitting(self.extent, LEFT_MM, TOP_MM, width_mm - LEFT_MM - 1.5, height_mm - TOP_MM - below)
    }

    fn furnish(&self, svg: &mut Svg, view: &View, entries: &[Entry], columns: usize) {
        furniture::frame(svg, view, true);
        let foot = view.y_mm + view.height_mm + 3.0;
        furniture::scale_bar(svg, view, view.x_mm + 1.0, foot, 55.0);
        svg.text(view.x_mm + 64.0, foot + 1.6, Type::plain(2.8), &format!("{} on A4", furniture::ratio(view.scale)));
        let grid = if self.holding.about.epsg == 27700 { "National grid lines, figures in km" } else { "Grid lines of the plan's plane, figures in km" };
        svg.text(view.x_mm + 64.0, foot + 5.0, Type::plain(2.5).colour(STONE), grid);
        furniture::north(svg, view.x_mm + view.width_mm - 4.0, foot + 2.0);
        legend::draw(svg, entries, view.x_mm, foot + FOOT_MM - 5.0, view.width_mm, columns);
    }

    /// The leks' legend entry, where any is drawn.
    fn lek_entry(&self) -> Option<Entry> {
        if self.holding.leks.is_empty() {
            None
        } else if self.secrecy.withheld() {
            Some(Entry::Square)
        } else {
            Some(Entry::Lek)
        }
    }

    fn name_leks(&self, svg: &mut Svg, labels: &mut Labels, spots: &[(f64, f64, f64, String)], size_mm: f64) {
        for (x, y, radius, _) in spots.iter().filter(|s| s.2 > 0.0) {
            labels.keep_free([x - radius, y - radius, x + radius, y + radius]);
        }
        for (x, y, radius, name) in spots {
            let look = Type::plain(size_mm).bold().rim();
            if *radius > 0.0 {
                labels.beside(svg, *x, *y, *radius, look, name);
            } else {
                labels.over(svg, *x, *y, look, name);
            }
        }
    }

    /// A small picture for the cover: relief, wood, water, the edge of the holding, and no leks.
    pub fn locator(&self, width_mm: f64, height_mm: f64) -> Sheet {
        let view = View::fitting(self.extent, 0.3, 0.3, width_mm - 0.6, height_mm - 0.6);
        let mut svg = Svg::new(width_mm, height_mm);
        svg.clip(view.x_mm, view.y_mm, view.width_mm, view.height_mm);
        svg.rect(view.x_mm, view.y_mm, view.width_mm, view.height_mm, r##"fill="#ece8da""##);
        let woods: String = self.holding.woods.iter().map(|w| view.area(&w.shape)).collect();
        svg.path(&woods, &format!(r#"fill="{MOSS}" fill-opacity=".55" fill-rule="evenodd""#));
        layers::relief(&mut svg, &view, self.holding.heights.as_ref());
        layers::line(&mut svg, &view, Line::Water, self.holding.watercourses.iter().map(|w| &w.shape));
        layers::boundary(&mut svg, &view, self.holding, true);
        svg.end();
        furniture::frame(&mut svg, &view, false);
        Sheet { svg: svg.finish(), scale: view.scale }
    }

    /// The ground as surveyed: vegetation and woods over relief, with every line, named.
    pub fn ground(&self, width_mm: f64, height_mm: f64) -> Sheet {
        const COLUMNS: usize = 4;
        // What is in view decides the legend, and the legend the view: draw once to learn, once for good.
        let trial = self.sheet_view(width_mm, height_mm, 0, COLUMNS);
        let (_, entries) = self.draw_ground(&trial, width_mm, height_mm);
        let view = self.sheet_view(width_mm, height_mm, entries.len() + COLUMNS, COLUMNS);
        let (mut svg, entries) = self.draw_ground(&view, width_mm, height_mm);
        self.furnish(&mut svg, &view, &entries, COLUMNS);
        Sheet { svg: svg.finish(), scale: view.scale }
    }

    fn draw_ground(&self, view: &View, width_mm: f64, height_mm: f64) -> (Svg, Vec<Entry>) {
        let mut svg = Svg::new(width_mm, height_mm);
        svg.clip(view.x_mm, view.y_mm, view.width_mm, view.height_mm);
        layers::paper(&mut svg, view);
        let looks = layers::ground(&mut svg, view, self.holding);
        layers::relief(&mut svg, view, self.holding.heights.as_ref());
        furniture::grid_lines(&mut svg, view);
        let guarded = layers::guarded(&mut svg, view, self.holding);
        let mut lines = layers::lines(&mut svg, view, self.holding);
        let buildings = layers::buildings(&mut svg, view, self.holding);
        if layers::boundary(&mut svg, view, self.holding, false) {
            lines.insert(Line::Boundary);
        }
        let leks = layers::leks(&mut svg, view, self.holding, self.secrecy, 2.4);
        let mut labels = Labels::new(view);
        self.name_leks(&mut svg, &mut labels, &leks, 3.0);
        self.name_ground(&mut svg, view, &mut labels, true);
        svg.end();
        let mut entries: Vec<Entry> = look::Look::ALL.into_iter().filter(|l| looks.contains(l)).map(Entry::Ground).collect();
        entries.extend(lines.into_iter().map(Entry::Line));
        entries.extend(buildings.then_some(Entry::Building));
        entries.extend(guarded.then_some(Entry::Guarded));
        entries.extend(self.lek_entry());
        (svg, entries)
    }

    /// Names of woods, units and (where asked) patches, the largest first, each where there is room on its own ground.
    fn name_ground(&self, svg: &mut Svg, view: &View, labels: &mut Labels, patches: bool) {
        let h = self.holding;
        let mut names: Vec<(f64, f64, f64, Type, &str)> = vec![];
        let mut add = |shape: &MultiPolygon<f64>, name: &'a str, look: Type, head_start: f64| {
            let at = shape.interior_point().filter(|p| !name.trim().is_empty() && view.holds(p.x(), p.y()));
            names.extend(at.map(|p| (shape.unsigned_area() * head_start, view.x(p.x()), view.y(p.y()), look, name)));
        };
        for wood in &h.woods {
            add(&wood.shape, &wood.name, Type::plain(2.5).italic().colour(INK).rim(), 4.0);
        }
        for parcel in &h.parcels {
            add(&parcel.shape, &parcel.name, Type::plain(2.9).colour(PEAT).rim(), 2.0);
        }
        for patch in h.patches.iter().filter(|p| patches && !p.coarse && fits(&p.shape, view)) {
            add(&patch.shape, &patch.name, Type::plain(2.2).rim(), 1.0);
        }
        names.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.4.cmp(b.4)));
        let mut written: Vec<(&str, f64, f64)> = vec![];
        for (_, x, y, look, name) in names {
            let said = written.iter().any(|(n, wx, wy)| *n == name && (wx - x).hypot(wy - y) < 40.0);
            if !said && labels.over(svg, x, y, look, name) {
                written.push((name, x, y));
            }
        }
    }

    /// What one season finds: the value of the ground in five steps.
    pub fn season(&self, value: &Grid<f32>, width_mm: f64, height_mm: f64) -> Sheet {
        const COLUMNS: usize = 3;
        let mut entries: Vec<Entry> = (0..5).map(Entry::Value).collect();
        entries.extend([Entry::Unmapped, Entry::Line(Line::Boundary), Entry::Line(Line::Water)]);
        entries.extend(self.lek_entry());
        let view = self.sheet_view(width_mm, height_mm, entries.len(), COLUMNS);
        let mut svg = Svg::new(width_mm, height_mm);
        svg.clip(view.x_mm, view.y_mm, view.width_mm, view.height_mm);
        self.draw_value(&mut svg, &view, value);
        layers::relief(&mut svg, &view, self.holding.heights.as_ref());
        furniture::grid_lines(&mut svg, &view);
        self.draw_bones(&mut svg, &view);
        let leks = layers::leks(&mut svg, &view, self.holding, self.secrecy, 2.4);
        let mut labels = Labels::new(&view);
        self.name_leks(&mut svg, &mut labels, &leks, 3.2);
        self.name_ground(&mut svg, &view, &mut labels, false);
        svg.end();
        self.furnish(&mut svg, &view, &entries, COLUMNS);
        Sheet { svg: svg.finish(), scale: view.scale }
    }

    /// The same as a small picture without legend or figures.
    pub fn season_small(&self, value: &Grid<f32>, side_mm: f64) -> Sheet {
        let view = View::fitting(self.extent, 0.3, 0.3, side_mm - 0.6, side_mm - 0.6);
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
        furniture::frame(&mut svg, &view, false);
        Sheet { svg: svg.finish(), scale: view.scale }
    }

    /// The steps of the value ramp as a small legend of one column.
    pub fn value_key(&self, width_mm: f64) -> String {
        let mut entries: Vec<Entry> = (0..5).map(Entry::Value).collect();
        entries.extend([Entry::Unmapped, Entry::Line(Line::Boundary)]);
        entries.extend((!self.secrecy.withheld() && !self.holding.leks.is_empty()).then_some(Entry::Lek));
        let mut svg = Svg::new(width_mm, legend::height_mm(entries.len(), 1) + 0.5);
        legend::draw(&mut svg, &entries, 0.3, 0.3, width_mm - 0.5, 1);
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

    /// Water, wood edges and the boundary: enough to know where one is.
    fn draw_bones(&self, svg: &mut Svg, view: &View) {
        let woods: String = self.holding.woods.iter().map(|w| view.area(&w.shape)).collect();
        svg.path(&woods, &format!(r#"fill="none" stroke="{PEAT}" stroke-width=".25""#));
        let water: String = self.holding.watercourses.iter().map(|w| view.lines(&w.shape)).collect();
        svg.path(&water, &format!(r#"fill="none" stroke="{COTTON}" stroke-width=".9" stroke-opacity=".7""#));
        svg.path(&water, &format!(r#"fill="none" stroke="{BURN}" stroke-width=".42""#));
        layers::boundary(svg, view, self.holding, false);
    }

    /// What is in sight from a lek: hidden ground is veiled. `None` where the place is withheld.
    pub fn sight(&self, lek: usize, seen: &Grid<f32>, side_mm: f64) -> Option<Sheet> {
        let lek = self.holding.leks.get(lek)?;
        let Mark::Exact { east_m, north_m } = self.secrecy.mark(lek.at) else { return None };
        let f = seen.frame;
        let reach = (east_m - f.west_m).max(f.east_m() - east_m).max(north_m - f.south_m()).max(f.north_m - north_m);
        let ground = [east_m - reach, north_m - reach, east_m + reach, north_m + reach];
        let entries = [Entry::Lek, Entry::Hidden];
        let below = FOOT_MM + legend::height_mm(entries.len(), 2) - 2.0;
        let view = View::fitting(ground, LEFT_MM, TOP_MM, side_mm - LEFT_MM - 1.5, side_mm - LEFT_MM - 1.5);
        let mut svg = Svg::new(side_mm, TOP_MM + view.height_mm + below);
        svg.clip(view.x_mm, view.y_mm, view.width_mm, view.height_mm);
        layers::paper(&mut svg, &view);
        layers::ground(&mut svg, &view, self.holding);
        layers::relief(&mut svg, &view, self.holding.heights.as_ref());
        if let Some(raster) = raster::cut(seen, view.ground()).and_then(|grid| raster::hidden(&grid)) {
            layers::lay(&mut svg, &view, &raster);
        }
        furniture::grid_lines(&mut svg, &view);
        layers::lines(&mut svg, &view, self.holding);
        layers::boundary(&mut svg, &view, self.holding, false);
        layers::lek_symbol(&mut svg, view.x(east_m), view.y(north_m), 2.2);
        svg.end();
        furniture::frame(&mut svg, &view, true);
        let foot = view.y_mm + view.height_mm + 2.6;
        furniture::scale_bar(&mut svg, &view, view.x_mm + 1.0, foot, 30.0);
        furniture::north(&mut svg, view.x_mm + view.width_mm - 3.0, foot + 2.0);
        legend::draw(&mut svg, &entries, view.x_mm, foot + FOOT_MM - 6.0, view.width_mm, 2);
        Some(Sheet { svg: svg.finish(), scale: view.scale })
    }

    /// Where findings sit, by their numbers (1 for the first).
    pub fn findings(&self, found: &[Finding], width_mm: f64, height_mm: f64) -> Sheet {
        const COLUMNS: usize = 3;
        let mut entries = vec![Entry::Finding(0, "must"), Entry::Finding(1, "should"), Entry::Finding(2, "consider")];
        entries.extend([Entry::Line(Line::Boundary), Entry::Line(Line::Water), Entry::Line(Line::Track)]);
        entries.extend(self.lek_entry());
        let view = self.sheet_view(width_mm, height_mm, entries.len(), COLUMNS);
        let mut svg = Svg::new(width_mm, height_mm);
        svg.clip(view.x_mm, view.y_mm, view.width_mm, view.height_mm);
        svg.rect(view.x_mm, view.y_mm, view.width_mm, view.height_mm, r##"fill="#f1eee3""##);
        let woods: String = self.holding.woods.iter().map(|w| view.area(&w.shape)).collect();
        svg.path(&woods, &format!(r#"fill="{MOSS}" fill-opacity=".3" fill-rule="evenodd""#));
        layers::relief(&mut svg, &view, self.holding.heights.as_ref());
        furniture::grid_lines(&mut svg, &view);
        layers::line(&mut svg, &view, Line::Track, self.holding.tracks.iter().map(|t| &t.shape));
        self.draw_bones(&mut svg, &view);
        let leks = layers::leks(&mut svg, &view, self.holding, self.secrecy, 2.4);
        let shapes: Vec<_> = found.iter().map(|f| self.secrecy.shape(f)).collect();
        for (shape, blurred) in &shapes {
            if !blurred && !sprawls(shape, &view) {
                outline(&mut svg, &view, shape);
            }
        }
        let mut wanted = vec![];
        let mut which = vec![];
        for (i, (shape, _)) in shapes.iter().enumerate() {
            if let Some(at) = Secrecy::spot(shape).filter(|p| view.holds(p.x(), p.y())) {
                wanted.push((view.x(at.x()), view.y(at.y())));
                which.push(i);
            }
        }
        let bounds = [view.x_mm, view.y_mm, view.x_mm + view.width_mm, view.y_mm + view.height_mm];
        let spots = findings::spread(&wanted, bounds);
        let mut labels = Labels::new(&view);
        for ((from, to), i) in wanted.iter().zip(&spots).zip(&which) {
            if (from.0 - to.0).hypot(from.1 - to.1) > 2.5 && !shapes[*i].1 {
                svg.line(from.0, from.1, to.0, to.1, &format!(r#"stroke="{INK}" stroke-width=".2""#));
            }
            labels.keep_free([to.0 - 2.0, to.1 - 2.0, to.0 + 2.0, to.1 + 2.0]);
        }
        for (spot, i) in spots.iter().zip(&which) {
            findings::symbol(&mut svg, spot.0, spot.1, findings::weight(found[*i].severity), &(i + 1).to_string());
        }
        self.name_leks(&mut svg, &mut labels, &leks, 3.0);
        svg.end();
        self.furnish(&mut svg, &view, &entries, COLUMNS);
        Sheet { svg: svg.finish(), scale: view.scale }
    }
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
