//! Vegetation patches and woods with the mean value of each season over the cells whose middle lies in them.

use super::store::{Feature, Store, Table};
use super::{columns, real, text};
use crate::map::look::{of_patch, of_wood};
use crate::pack::Pack;
use crate::secrecy::Secrecy;
use crate::telling;
use geo::Area;
use geo_types::{Geometry, MultiPolygon};
use ground::Grid;
use ground::rasterise::spans;
use rusqlite::types::Value;

/// Writes the table of stands. Where places are withheld, a lek's kilometre square is one row and what lies in it is not
/// written in detail.
pub fn write(store: &Store, pack: &Pack, secrecy: &Secrecy) -> Result<(), String> {
    let mut names = columns(&[("id", "TEXT"), ("name", "TEXT"), ("kind", "TEXT"), ("look", "TEXT"), ("ha", "REAL")]);
    names.extend(pack.pictures.value.iter().map(|(season, _)| (format!("value_{}", season.key()), "REAL")));
    let table = Table {
        name: "stands",
        title: "Patches and woods with season values",
        meaning: "Vegetation patches and woods; value_* is the mean over the ground of how good it is for the season, 0 to 1, empty where unmapped.".into(),
        columns: names,
    };
    let public = secrecy.public(pack.holding);
    let h = &*public;
    let patches = h.patches.iter().filter(|p| !p.coarse).map(|p| (&p.shape, &p.id, &p.name, "patch", of_patch(p).words()));
    let woods = h.woods.iter().map(|w| (&w.shape, &w.id, &w.name, "wood", of_wood(w).words()));
    let squares: Vec<_> = if secrecy.withheld() { telling::squares(&h.leks) } else { vec![] };
    let squares: Vec<_> = squares.into_iter().map(|r| (secrecy.grid_reference(r.center().into(), 4), MultiPolygon(vec![r.to_polygon()]))).collect();
    let name = "kilometre square of a lek, place withheld".to_owned();
    let squares = squares.iter().map(|(reference, shape)| (shape, reference, &name, "square", "not shown in detail"));
    let rows: Vec<Feature> = patches
        .chain(woods)
        .chain(squares)
        .map(|(shape, id, name, kind, look)| {
            let mut row = vec![text(id), text(name), text(kind), text(look), real(shape.unsigned_area() / 10_000.0)];
            row.extend(pack.pictures.value.iter().map(|(_, grid)| mean(grid, shape).map_or(Value::Null, real)));
            (Geometry::MultiPolygon(shape.clone()), row)
        })
        .collect();
    store.features(&table, "MULTIPOLYGON", &rows)
}

/// The mean of the known cells whose middle lies in a shape; `None` where there is none.
fn mean(grid: &Grid<f32>, shape: &MultiPolygon<f64>) -> Option<f64> {
    let (mut sum, mut n) = (0.0, 0usize);
    for polygon in &shape.0 {
        spans(&grid.frame, polygon, |row, from, to| {
            for value in (from..to).map(|col| grid.get(col, row)).filter(|v| !v.is_nan()) {
                sum += f64::from(value);
                n += 1;
            }
        });
    }
    (n > 0).then(|| sum / n as f64)
}
