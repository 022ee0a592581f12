//! Small files of every format, made in code, and a holding to read them for.
#![allow(dead_code, clippy::type_complexity)]

use geo_types::{Coord, MultiPolygon, Point, polygon};
use guidance::Guidance;
use holding::grid_ref::lonlat_from_grid;
use holding::{Holding, Lek, Parcel};
use std::io::{Cursor, Write};
use std::sync::OnceLock;

pub fn guidance() -> &'static Guidance {
    static GUIDANCE: OnceLock<Guidance> = OnceLock::new();
    GUIDANCE.get_or_init(|| Guidance::load().expect("the tables built in are sound"))
}

/// A holding with a boundary of 4 km by 4 km, a lek and a parcel.
pub fn holding() -> Holding {
    let mut holding = Holding::default();
    holding.about.name = "Nether Whinmoss".into();
    holding.boundary = Some(MultiPolygon(vec![
        polygon![(x: 390_000.0, y: 530_000.0), (x: 394_000.0, y: 530_000.0), (x: 394_000.0, y: 534_000.0), (x: 390_000.0, y: 534_000.0)],
    ]));
    holding.leks.push(Lek::new("L1", "Whin Rigg", Point::new(391_000.0, 531_000.0)));
    holding.parcels.push(Parcel::new("P1", square(390_500.0, 530_500.0, 500.0)));
    holding
}

pub fn square(east: f64, north: f64, side: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![polygon![
        (x: east, y: north), (x: east + side, y: north), (x: east + side, y: north + side), (x: east, y: north + side),
    ]])
}

pub fn lonlat(east: f64, north: f64) -> [f64; 2] {
    let (lon, lat) = lonlat_from_grid(east, north).unwrap();
    [lon, lat]
}

/// A closed ring of a square, in longitude and latitude.
pub fn ring(east: f64, north: f64, side: f64) -> serde_json::Value {
    let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side), (0.0, 0.0)];
    corners.iter().map(|(x, y)| serde_json::json!(lonlat(east + x, north + y))).collect()
}

pub fn geojson(features: &[(serde_json::Value, serde_json::Value)]) -> Vec<u8> {
    let features: Vec<_> =
        features.iter().map(|(g, p)| serde_json::json!({"type": "Feature", "geometry": g, "properties": p})).collect();
    serde_json::json!({"type": "FeatureCollection", "features": features}).to_string().into_bytes()
}

pub fn zip(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        writer.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        writer.write_all(bytes).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

pub const BNG_PRJ: &str = r#"PROJCS["OSGB 1936 / British National Grid",GEOGCS["OSGB 1936",DATUM["OSGB_1936",SPHEROID["Airy 1830",6377563.396,299.3249646]]],PROJECTION["Transverse_Mercator"],UNIT["metre",1],AUTHORITY["EPSG","27700"]]"#;

/// The .shp, .shx and .dbf of some polygons with a name and a height, by the shapefile library.
pub fn shapefile(shapes: &[(Vec<Vec<(f64, f64)>>, &str, f64)]) -> [Vec<u8>; 3] {
    use shapefile::dbase::{FieldName, FieldValue, Record, TableWriterBuilder};
    let [mut shp, mut shx, mut dbf] = [(); 3].map(|()| Cursor::new(Vec::new()));
    {
        let table = TableWriterBuilder::new()
            .add_character_field(FieldName::try_from("NAME").unwrap(), 40)
            .add_numeric_field(FieldName::try_from("HEIGHT_CM").unwrap(), 10, 2)
            .build_with_dest(&mut dbf);
        let shape_writer = shapefile::ShapeWriter::with_shx(&mut shp, &mut shx);
        let mut writer = shapefile::Writer::new(shape_writer, table);
        for (rings, name, height) in shapes {
            let rings = rings.iter().map(|ring| ring.iter().map(|(x, y)| shapefile::Point::new(*x, *y)).collect::<Vec<_>>());
            let rings: Vec<_> = rings.enumerate().map(|(at, r)| if at == 0 { shapefile::PolygonRing::Outer(r) } else { shapefile::PolygonRing::Inner(r) }).collect();
            let mut record = Record::default();
            record.insert("NAME".into(), FieldValue::Character(Some((*name).into())));
            record.insert("HEIGHT_CM".into(), FieldValue::Numeric(Some(*height)));
            writer.write_shape_and_record(&shapefile::Polygon::with_rings(rings), &record).unwrap();
        }
    }
    [shp.into_inner(), shx.into_inner(), dbf.into_inner()]
}

pub fn corners(east: f64, north: f64, side: f64) -> Vec<(f64, f64)> {
    // Clockwise, as outer rings of a Shapefile run.
    vec![(east, north), (east, north + side), (east + side, north + side), (east + side, north), (east, north)]
}

pub fn shapefile_zip(prj: Option<&str>) -> Vec<u8> {
    let hole: Vec<_> = corners(391_100.0, 531_100.0, 100.0).into_iter().rev().collect();
    let [shp, shx, dbf] = shapefile(&[
        (vec![corners(391_000.0, 531_000.0, 500.0), hole], "Sike Moss", 22.5),
        (vec![corners(392_000.0, 531_000.0, 200.0)], "Caf\u{e9} Rigg", 31.0),
    ]);
    let mut files: Vec<(&str, &[u8])> = vec![("moor/patches.shp", &shp), ("moor/patches.shx", &shx), ("moor/patches.dbf", &dbf)];
    files.extend(prj.map(|p| ("moor/patches.prj", p.as_bytes())));
    zip(&files)
}

/// Plain well-known binary of a polygon's rings.
pub fn wkb_polygon(rings: &[Vec<(f64, f64)>]) -> Vec<u8> {
    let mut out = vec![1];
    out.extend(3_u32.to_le_bytes());
    out.extend((rings.len() as u32).to_le_bytes());
    for ring in rings {
        out.extend((ring.len() as u32).to_le_bytes());
        for (x, y) in ring {
            out.extend(x.to_le_bytes());
            out.extend(y.to_le_bytes());
        }
    }
    out
}

/// The GeoPackage header, without envelope, before a body.
pub fn gpkg_blob(body: &[u8]) -> Vec<u8> {
    let mut out = b"GP\0\x01".to_vec();
    out.extend(27700_i32.to_le_bytes());
    out.extend(body);
    out
}

/// A GeoPackage with layers of one geometry column `geom`, a `name` and a `heather`.
pub fn geopackage(srs: i64, layers: &[(&str, Vec<(Option<Vec<u8>>, &str, Option<f64>)>)]) -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("made.gpkg");
    let db = rusqlite::Connection::open(&path).unwrap();
    db.execute_batch(
        "CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT, srs_id INTEGER PRIMARY KEY, organization TEXT, organization_coordsys_id INTEGER, definition TEXT, description TEXT);
         CREATE TABLE gpkg_contents (table_name TEXT PRIMARY KEY, data_type TEXT, identifier TEXT, description TEXT, last_change TEXT, min_x REAL, min_y REAL, max_x REAL, max_y REAL, srs_id INTEGER);
         CREATE TABLE gpkg_geometry_columns (table_name TEXT, column_name TEXT, geometry_type_name TEXT, srs_id INTEGER, z INTEGER, m INTEGER);
         INSERT INTO gpkg_spatial_ref_sys VALUES ('bng', 27700, 'EPSG', 27700, 'x', ''), ('wgs', 4326, 'EPSG', 4326, 'x', ''), ('web', 3857, 'EPSG', 3857, 'x', ''), ('odd', 99, 'NONE', 99, 'PROJCS[\"Mars\"]', '');",
    )
    .unwrap();
    for (name, rows) in layers {
        db.execute_batch(&format!("CREATE TABLE \"{name}\" (fid INTEGER PRIMARY KEY, geom BLOB, name TEXT, heather REAL)")).unwrap();
        db.execute("INSERT INTO gpkg_contents (table_name, data_type, srs_id) VALUES (?1, 'features', ?2)", rusqlite::params![name, srs]).unwrap();
        db.execute("INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', 'POLYGON', ?2, 0, 0)", rusqlite::params![name, srs]).unwrap();
        for (blob, text, heather) in rows {
            db.execute(&format!("INSERT INTO \"{name}\" (geom, name, heather) VALUES (?1, ?2, ?3)"), rusqlite::params![blob, text, heather]).unwrap();
        }
    }
    drop(db);
    std::fs::read(&path).unwrap()
}

pub fn square_blob(east: f64, north: f64, side: f64) -> Option<Vec<u8>> {
    Some(gpkg_blob(&wkb_polygon(&[corners(east, north, side)])))
}

/// A FlatGeobuf of two polygons with a name and a heather cover.
pub fn flatgeobuf(epsg: i32) -> Vec<u8> {
    use flatgeobuf::{ColumnType, FgbCrs, FgbWriter, FgbWriterOptions, GeometryType};
    use flatgeobuf::geozero::{ColumnValue, PropertyProcessor};
    let options = FgbWriterOptions { crs: FgbCrs { code: epsg, ..Default::default() }, ..Default::default() };
    let mut writer = FgbWriter::create_with_options("patches", GeometryType::Polygon, options).unwrap();
    writer.add_column("name", ColumnType::String, |_, _| {});
    writer.add_column("heather", ColumnType::Double, |_, _| {});
    for (east, name, heather) in [(391_000.0, "Sike Moss", 40.0), (392_000.0, "Far Rigg", 55.5)] {
        let polygon = geo_types::Geometry::Polygon(square(east, 531_000.0, 300.0).0.remove(0));
        writer
            .add_feature_geom(polygon, |feature| {
                feature.property(0, "name", &ColumnValue::String(name)).unwrap();
                feature.property(1, "heather", &ColumnValue::Double(heather)).unwrap();
            })
            .unwrap();
    }
    let mut out = Vec::new();
    writer.write(&mut out).unwrap();
    out
}

/// A sheet of cells: text, numbers, days and formulas.
pub enum Put {
    Text(&'static str),
    Number(f64),
    Day(i32, u8, u8),
    Formula(&'static str, &'static str),
    Nothing,
}

pub fn xlsx(sheets: &[(&str, Vec<Vec<Put>>)]) -> Vec<u8> {
    let mut book = rust_xlsxwriter::Workbook::new();
    for (name, rows) in sheets {
        let sheet = book.add_worksheet();
        sheet.set_name(*name).unwrap();
        let day = rust_xlsxwriter::Format::new().set_num_format("dd/mm/yyyy");
        for (r, row) in rows.iter().enumerate() {
            for (c, put) in row.iter().enumerate() {
                let (r, c) = (r as u32, c as u16);
                match put {
                    Put::Text(text) => drop(sheet.write(r, c, *text).unwrap()),
                    Put::Number(number) => drop(sheet.write(r, c, *number).unwrap()),
                    Put::Day(y, m, d) => {
                        let date = rust_xlsxwriter::ExcelDateTime::from_ymd(*y as u16, *m, *d).unwrap();
                        sheet.write_with_format(r, c, &date, &day).unwrap();
                    }
                    Put::Formula(formula, result) => {
                        sheet.write(r, c, rust_xlsxwriter::Formula::new(*formula).set_result(*result)).unwrap();
                    }
                    Put::Nothing => {}
                }
            }
        }
    }
    book.save_to_buffer().unwrap()
}

/// A book of one sheet with some text of the sheet's file in another's place.
pub fn sheet_with(book: Vec<u8>, from: &str, to: &str) -> Vec<u8> {
    let mut archive = ::zip::ZipArchive::new(Cursor::new(book)).unwrap();
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for at in 0..archive.len() {
        let mut entry = archive.by_index(at).unwrap();
        let name = entry.name().unwrap().into_owned();
        let mut bytes = Vec::new();
        std::io::Read::read_to_end(&mut entry, &mut bytes).unwrap();
        if name.ends_with("sheet1.xml") {
            let text = String::from_utf8(bytes).unwrap();
            assert!(text.contains(from), "{text}");
            bytes = text.replace(from, to).into_bytes();
        }
        files.push((name, bytes));
    }
    let files: Vec<(&str, &[u8])> = files.iter().map(|(n, b)| (n.as_str(), b.as_slice())).collect();
    zip(&files)
}

pub fn gpx(body: &str) -> Vec<u8> {
    format!(r#"<?xml version="1.0"?><gpx version="1.1" creator="made" xmlns="http://www.topografix.com/GPX/1/1">{body}</gpx>"#).into_bytes()
}

pub fn point_json(at: [f64; 2]) -> serde_json::Value {
    serde_json::json!({"type": "Point", "coordinates": at})
}

pub fn coord(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}
