//! Broken files of every format: each gives a clear fault with its place, or a note of what was mended, and on a
//! fault the holding is as it was before.

mod broken;
mod making;

use broken::Then::*;
use broken::{Case, case, run};
use holding::Word;
use holding::import::{Kind, Options, Source, read};
use making::*;
use serde_json::{Value, json};

fn patch(geometry: Value, properties: Value) -> Vec<u8> {
    geojson(&[(geometry, properties)])
}

fn good() -> Value {
    json!({"type": "Polygon", "coordinates": [ring(391_000.0, 531_000.0, 300.0)]})
}

fn polygon(ring: Value) -> Value {
    json!({"type": "Polygon", "coordinates": [ring]})
}

fn cut(bytes: Vec<u8>, share: f64) -> Vec<u8> {
    let keep = (bytes.len() as f64 * share) as usize;
    bytes[..keep].to_vec()
}

fn with_bytes(mut bytes: Vec<u8>, at: usize, new: &[u8]) -> Vec<u8> {
    bytes[at..at + new.len()].copy_from_slice(new);
    bytes
}

fn one_layer(srs: i64, blob: Option<Vec<u8>>, heather: Option<f64>) -> Vec<u8> {
    geopackage(srs, &[("patches", vec![(blob, "Sike Moss", heather)])])
}

fn bow_tie() -> Vec<(f64, f64)> {
    vec![(391_000.0, 531_000.0), (391_300.0, 531_300.0), (391_300.0, 531_000.0), (391_000.0, 531_300.0), (391_000.0, 531_000.0)]
}

/// A zip whose one file unfolds to a thousand times its size.
fn zip_bomb(name: &str) -> Vec<u8> {
    making::zip(&[(name, &vec![0_u8; 70 << 20])])
}

/// A zip with its directory claiming another size for its file.
fn zip_claiming(bytes: Vec<u8>, size: u32) -> Vec<u8> {
    let at = bytes.windows(4).rposition(|w| w == b"PK\x01\x02").unwrap();
    with_bytes(bytes, at + 24, &size.to_le_bytes())
}

fn sheet_with_cell(cell: &str) -> Vec<u8> {
    let book = xlsx(&[("Sheet1", vec![
        vec![Put::Text("easting"), Put::Text("northing"), Put::Text("height_cm")],
        vec![Put::Number(391_000.0), Put::Number(531_000.0), Put::Number(12.0)],
    ])]);
    sheet_with(book, r#"<c r="C2"><v>12</v></c>"#, cell)
}

fn csv_sticks(rows: &str) -> Vec<u8> {
    format!("id,easting,northing,height_cm,date\n{rows}").into_bytes()
}

fn gpkg_cases() -> Vec<Case> {
    let square = || square_blob(391_000.0, 531_000.0, 300.0);
    let whole = || one_layer(27700, square(), Some(40.0));
    let body = |rings: &[Vec<(f64, f64)>]| Some(gpkg_blob(&wkb_polygon(rings)));
    let claim = {
        let mut blob = gpkg_blob(&wkb_polygon(&[corners(391_000.0, 531_000.0, 300.0)]));
        blob[8 + 9..8 + 13].copy_from_slice(&0x7FFF_FFFF_u32.to_le_bytes());
        Some(blob)
    };
    let nan = body(&[vec![(f64::NAN, 531_000.0), (391_300.0, 531_300.0), (391_300.0, 531_000.0), (f64::NAN, 531_000.0)]]);
    let k = Kind::Patches;
    vec![
        case("GeoPackage cut in half", k, "p.gpkg", cut(whole(), 0.5), Fault(&["p.gpkg", "GeoPackage"])),
        case("GeoPackage cut to its head", k, "p.gpkg", cut(whole(), 0.01), Fault(&["p.gpkg", "GeoPackage"])),
        case("text under a GeoPackage's name", k, "p.gpkg", "not a database at all, though it says so".repeat(30), Fault(&["no database"])),
        case("a database without contents", k, "p.gpkg", {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("x.db");
            rusqlite::Connection::open(&path).unwrap().execute_batch("CREATE TABLE t (a)").unwrap();
            std::fs::read(path).unwrap()
        }, Fault(&["without a list of contents"])),
        case("a column name that is no text", k, "p.gpkg", {
            let bytes = whole();
            let at = bytes.windows(12).position(|w| w == b"heather REAL").unwrap();
            with_bytes(bytes, at + 2, &[0x80])
        }, Fault(&["p.gpkg", "GeoPackage"])),
        case("several layers", k, "p.gpkg", geopackage(27700, &[("a", vec![(square(), "x", None)]), ("b", vec![])]), Fault(&["one layer", "`a`, `b`", "--layer"])),
        case("no rows", k, "p.gpkg", geopackage(27700, &[("a", vec![])]), Fault(&["at least one row"])),
        case("null geometry", k, "p.gpkg", one_layer(27700, None, None), Fault(&["row 1", "no geometry"])),
        case("web map coordinates", k, "p.gpkg", one_layer(3857, square(), None), Fault(&["EPSG:3857", "EPSG:27700"])),
        case("a projection nobody knows", k, "p.gpkg", one_layer(99, square(), None), Fault(&["Mars", "--epsg 27700"])),
        case("a reference system not described", k, "p.gpkg", one_layer(12345, square(), None), Fault(&["reference system 12345"])),
        case("a blob that is none", k, "p.gpkg", one_layer(27700, Some(b"hello".to_vec()), None), Fault(&["row 1", "no GeoPackage geometry"])),
        case("a blob cut short", k, "p.gpkg", one_layer(27700, square().map(|b| cut(b, 0.6)), None), Fault(&["row 1"])),
        case("a ring that claims 2 thousand million points", k, "p.gpkg", one_layer(27700, claim, None), Fault(&["row 1", "claims 2147483647"])),
        case("NaN coordinates", k, "p.gpkg", one_layer(27700, nan, None), Fault(&["row 1", "no number"])),
        case("a self-crossing outline", k, "p.gpkg", one_layer(27700, body(&[bow_tie()]), None), Note(&["mended", "0.0000 ha as drawn, 4.5000 ha now", "row 1"])),
        case("a ring left open", k, "p.gpkg", one_layer(27700, body(&[corners(391_000.0, 531_000.0, 300.0)[..4].to_vec()]), None), Note(&["not closed", "row 1"])),
        case("a ring of two corners", k, "p.gpkg", one_layer(27700, body(&[vec![(391_000.0, 531_000.0), (391_300.0, 531_000.0)]]), None), Fault(&["row 1", "2 corners"])),
        case("an outline without area", k, "p.gpkg", one_layer(27700, body(&[vec![(391_000.0, 531_000.0), (391_300.0, 531_000.0), (391_200.0, 531_000.0), (391_000.0, 531_000.0)]]), None), Fault(&["row 1", "0.000 m2"])),
        case("axes swapped on the grid", k, "p.gpkg", one_layer(27700, square_blob(531_000.0, 391_000.0, 300.0), None), Fault(&["row 1", "swapped", "km off"])),
        case("far off the holding", k, "p.gpkg", one_layer(27700, square_blob(291_000.0, 731_000.0, 300.0), None), Fault(&["row 1", "km off", "E 291150"])),
        case("a little off the holding", k, "p.gpkg", one_layer(27700, square_blob(398_000.0, 531_000.0, 300.0), None), Note(&["2 km off"])),
        case("degrees said to be metres", k, "p.gpkg", one_layer(27700, square_blob(-2.1, 54.6, 0.01), None), Fault(&["degrees", "--epsg 4326"])),
        case("metres said to be degrees", k, "p.gpkg", one_layer(4326, square(), None), Note(&["no degrees", "EPSG:27700"])),
        case("negative cover", k, "p.gpkg", one_layer(27700, square(), Some(-5.0)), Fault(&["row 1", "`heather`", "0 to 100", "-5"])),
        case("cover over 100", k, "p.gpkg", one_layer(27700, square(), Some(140.0)), Fault(&["row 1", "`heather`", "140"])),
        case("infinite cover", k, "p.gpkg", one_layer(27700, square(), Some(f64::INFINITY)), Fault(&["row 1", "finite"])),
        case("points for patches", k, "p.gpkg", one_layer(27700, Some(gpkg_blob(&{
            let mut b = vec![1, 1, 0, 0, 0];
            b.extend(391_000.0_f64.to_le_bytes());
            b.extend(531_000.0_f64.to_le_bytes());
            b
        })), None), Fault(&["polygon", "found a point", "row 1"])),
        case("collections nested without end", k, "p.gpkg", one_layer(27700, Some(gpkg_blob(&[1, 7, 0, 0, 0, 1, 0, 0, 0].repeat(500))), None), Fault(&["nested deeper"])),
        case("a curve", k, "p.gpkg", one_layer(27700, Some(gpkg_blob(&[1, 8, 0, 0, 0, 0, 0, 0, 0])), None), Fault(&["type 8"])),
    ]
}

fn json_cases() -> Vec<Case> {
    let k = Kind::Patches;
    let whole = || patch(good(), json!({"name": "A", "heather": 40}));
    let swapped: Value = ring(391_000.0, 531_000.0, 300.0).as_array().unwrap().iter().map(|p| json!([p[1], p[0]])).collect();
    let tie: Value = bow_tie().iter().map(|(x, y)| json!(lonlat(*x, *y))).collect();
    let mut open = ring(391_000.0, 531_000.0, 300.0);
    open.as_array_mut().unwrap().pop();
    let metres: Value = corners(391_000.0, 531_000.0, 300.0).iter().map(|(x, y)| json!([x, y])).collect();
    let deep = format!("{}1{}", "[".repeat(5000), "]".repeat(5000));
    vec![
        case("GeoJSON cut short", k, "p.geojson", cut(whole(), 0.7), Fault(&["p.geojson", "JSON", "line 1"])),
        case("NaN in JSON", k, "p.geojson", String::from_utf8(whole()).unwrap().replace("40", "NaN"), Fault(&["JSON", "NaN"])),
        case("JSON of another kind", k, "p.geojson", r#"{"hello": 1}"#, Fault(&["without a `type`"])),
        case("JSON nested thousands deep", k, "p.geojson", deep, Fault(&["JSON"])),
        case("null geometry in one of two", k, "p.geojson", geojson(&[(good(), json!({})), (Value::Null, json!({}))]), Fault(&["feature 2", "no geometry"])),
        case("empty coordinates", k, "p.geojson", patch(json!({"type": "Polygon", "coordinates": []}), json!({})), Fault(&["feature 1", "no geometry"])),
        case("text for a coordinate", k, "p.geojson", patch(polygon(json!([["a", 1], [2, 3], [4, 5], ["a", 1]])), json!({})), Fault(&["feature 1", "not two numbers"])),
        case("a position of one number", k, "p.geojson", patch(polygon(json!([[1], [2, 3], [4, 5], [1, 2]])), json!({})), Fault(&["feature 1", "fewer than two"])),
        case("latitude before longitude", k, "p.geojson", patch(polygon(swapped), json!({})), Note(&["swapped"])),
        case("grid metres in GeoJSON", k, "p.geojson", patch(polygon(metres), json!({})), Note(&["no degrees", "EPSG:27700"])),
        case("web map metres in GeoJSON", k, "p.geojson", patch(polygon(json!([[-237_000, 7_280_000], [-236_000, 7_280_000], [-236_000, 7_281_000], [-237_000, 7_280_000]])), json!({})), Fault(&["degrees", "--epsg"])),
        case("a place in another land", k, "p.geojson", patch(polygon(json!([[10, 50], [10.1, 50], [10.1, 50.1], [10, 50]])), json!({})), Fault(&["feature 1", "longitude 10"])),
        case("self-crossing in degrees", k, "p.geojson", patch(polygon(tie), json!({})), Note(&["mended", "feature 1"])),
        case("open ring in GeoJSON", k, "p.geojson", patch(polygon(open), json!({})), Note(&["not closed"])),
        case("a line for a patch", k, "p.geojson", patch(json!({"type": "LineString", "coordinates": [lonlat(391_000.0, 531_000.0), lonlat(392_000.0, 531_000.0)]}), json!({})), Fault(&["feature 1", "a line whose ends are"])),
        case("a polygon for a fence", Kind::Fences, "f.geojson", patch(good(), json!({})), Fault(&["a line", "found a polygon"])),
        case("many points for one lek", Kind::Leks, "l.geojson", patch(json!({"type": "MultiPoint", "coordinates": [lonlat(391_000.0, 531_000.0), lonlat(391_100.0, 531_000.0)]}), json!({})), Fault(&["2 points"])),
        case("an unknown Phase 1 class", k, "p.geojson", patch(good(), json!({"phase1": "D9.9"})), Fault(&["feature 1", "`phase1`", "D9.9", "near it: D"])),
        case("words of several Phase 1 classes", k, "p.geojson", patch(good(), json!({"phase1": "dry heath"})), Fault(&["`phase1`", "dry heath", "near it: D1 Dry dwarf shrub heath"])),
        case("covers far above what can be", k, "p.geojson", patch(good(), json!({"heather": 90, "blaeberry": 90, "moss": 90})), Fault(&["200", "270"])),
        case("covers that overlap", k, "p.geojson", patch(good(), json!({"heather": 80, "moss": 70})), Note(&["150 percent", "overlap"])),
        case("a letter of no scale", k, "p.geojson", patch(good(), json!({"heather": "Q"})), Fault(&["cover letter", "DAFOR"])),
        case("covers as shares, unsaid", k, "p.geojson", patch(good(), json!({"heather": 0.4, "moss": 0.2})), Fault(&["unit of heather", "--map heather=heather"])),
        case("duplicate ids", k, "p.geojson", geojson(&[(good(), json!({"id": "A"})), (good(), json!({"id": "A"}))]), Fault(&["feature 2", "only once", "feature 1"])),
        case("a nested value for a number", k, "p.geojson", patch(good(), json!({"height_cm": {"a": 1}})), Fault(&["`height_cm`", "a number"])),
        case("a species nobody knows", Kind::Woods, "w.geojson", patch(good(), json!({"species": "birch 100, triffid 20"})), Fault(&["species", "triffid"])),
        case("a fence of no kind", Kind::Fences, "f.geojson", patch(json!({"type": "LineString", "coordinates": [lonlat(391_000.0, 531_000.0), lonlat(392_000.0, 531_000.0)]}), json!({"kind": "hedge of thorns"})), Fault(&["one of deer, stock", "hedge"])),
        case("an old crs member we cannot read", k, "p.geojson", {
            let mut whole: Value = serde_json::from_slice(&whole()).unwrap();
            whole["crs"] = json!({"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::2157"}});
            whole.to_string()
        }, Fault(&["EPSG:2157"])),
    ]
}

fn csv_cases() -> Vec<Case> {
    let k = Kind::Sticks;
    let rows = |text: &str| csv_sticks(text);
    vec![
        case("an empty file", k, "s.csv", "", Fault(&["empty file"])),
        case("only column names", k, "s.csv", "easting,northing,height_cm\n", Fault(&["at least one row"])),
        case("binary under a text name", k, "s.csv", vec![0_u8, 1, 2, 3, 0, 0, 5], Fault(&["no text"])),
        case("no place", k, "s.csv", "height_cm\n12\n", Fault(&["easting and northing", "--map easting"])),
        case("no height", k, "s.csv", "easting,northing\n391000,531000\n", Fault(&["a column for `height_cm`", "--map height_cm"])),
        case("a unit nobody said", k, "s.csv", "easting,northing,height\n391000,531000,12\n", Fault(&["the unit of height", "column `height`", "--map height_cm=height:cm"])),
        case("a date in words", k, "s.csv", rows("a,391000,531000,12,last spring\n"), Fault(&["line 2", "column `date`", "last spring", "2026-04-17"])),
        case("the month before the day", k, "s.csv", rows("a,391000,531000,12,04/17/2026\n"), Note(&["read month first", "line 2"])),
        case("a day that is not", k, "s.csv", rows("a,391000,531000,12,31/02/2026\n"), Fault(&["day of the calendar"])),
        case("a year of two figures", k, "s.csv", rows("a,391000,531000,12,17/04/26\n"), Note(&["two figures", "1950 to 2049"])),
        case("a bare serial day", k, "s.csv", rows("a,391000,531000,12,46129\n"), Note(&["serial day number", "line 2"])),
        case("less-than figures", k, "s.csv", rows("a,391000,531000,<5,\n"), Fault(&["line 2", "single number", "<5"])),
        case("NaN in words", k, "s.csv", rows("a,391000,531000,NaN,\n"), Fault(&["finite", "NaN"])),
        case("infinity in words", k, "s.csv", rows("a,391000,531000,inf,\n"), Fault(&["finite"])),
        case("a decimal comma", k, "s.csv", rows("a,391000,531000,\"12,5\",\n"), Fault(&["line 2", "a point, not a comma"])),
        case("a range for a number", k, "s.csv", rows("a,391000,531000,5-10,\n"), Fault(&["a number", "5-10"])),
        case("a negative height", k, "s.csv", rows("a,391000,531000,-4,\n"), Fault(&["0 to 600 cm", "-4"])),
        case("a height in the wrong unit", k, "s.csv", rows("a,391000,531000,12000,\n"), Fault(&["0 to 600 cm", "E 391000, N 531000"])),
        case("a row without its height", k, "s.csv", rows("a,391000,531000,,\n"), Fault(&["line 2", "figure in every row"])),
        case("half a coordinate", k, "s.csv", rows("a,391000,,12,\n"), Fault(&["line 2", "one coordinate without the other"])),
        case("no coordinate", k, "s.csv", rows("a,,,12,\n"), Fault(&["line 2", "no geometry"])),
        case("words for a coordinate", k, "s.csv", rows("a,by the gate,531000,12,\n"), Fault(&["line 2", "by the gate"])),
        case("eastings and northings swapped", k, "s.csv", rows("a,531000,391000,12,\n"), Fault(&["line 2", "swapped"])),
        case("degrees in easting and northing", k, "s.csv", rows("a,-2.14,54.67,12,\n"), Fault(&["degrees", "--epsg 4326"])),
        case("latitude in the longitude column", k, "s.csv", format!("lon,lat,height_cm\n{},{},12\n", lonlat(391_000.0, 531_000.0)[1], lonlat(391_000.0, 531_000.0)[0]), Note(&["swapped"])),
        case("duplicate ids in a table", k, "s.csv", rows("a,391000,531000,12,\na,391100,531000,14,\n"), Fault(&["line 3", "only once", "line 2"])),
        case("more values than columns", k, "s.csv", rows("a,391000,531000,12,,7,8\n"), Fault(&["line 2", "5 values"])),
        case("a grid reference of odd figures", k, "s.csv", "grid ref,height_cm\nNY 910 3100,12\n", Fault(&["line 2", "3 figures of easting but 4"])),
        case("a grid reference of no square", k, "s.csv", "grid ref,height_cm\nAA 9131,12\n", Fault(&["line 2", "100 km square"])),
        case("a coarse grid reference", k, "s.csv", "grid ref,height_cm\nNY9131,12\n", Note(&["of 1000 m", "middle"])),
        case("grid reference and easting apart by a square", k, "s.csv", "grid ref,easting,northing,height_cm\nNY9131,391500,532500,12\n", Note(&["different places", "line 2"])),
        case("grid reference and easting far apart", k, "s.csv", "grid ref,easting,northing,height_cm\nNY9131,391500,632500,12\n", Fault(&["line 2", "101 km apart"])),
        case("two columns for one field", k, "s.csv", "easting,northing,ht_cm,sward_height_cm\n391000,531000,1,2\n", Fault(&["one column for `height_cm`", "`ht_cm`", "`sward_height_cm`", "--map"])),
        case("Windows-1252 text", k, "s.csv", [b"easting,northing,height_cm,note\n391000,531000,12,caf".as_slice(), &[0xE9, b'\n']].concat(), Note(&["Windows-1252"])),
        case("control characters in a name", Kind::Leks, "l.csv", "name,easting,northing\nWhin\u{7}\u{202e} Rigg,391000,531000\n", Note(&["cannot be printed", "line 2"])),
        case("a visit to no lek", Kind::Visits, "v.csv", "lek,date,cocks\nNowhere,2026-04-17,5\n", Fault(&["line 2", "a lek of the plan", "Nowhere", "Whin Rigg"])),
        case("a visit without a day", Kind::Visits, "v.csv", "lek,date,cocks\nL1,,5\n", Fault(&["line 2", "the day of the count"])),
        case("a visit with a year but no day", Kind::Visits, "v.csv", "lek,Year,Month,Day,cocks\nL1,2026,4,,5\n", Note(&["line 2", "only the month or the year"])),
        case("a visit on the 31st of April", Kind::Visits, "v.csv", "lek,Year,Month,Day,cocks\nL1,2026,April,31,5\n", Fault(&["line 2", "day of the calendar"])),
        case("visits without any column of days", Kind::Visits, "v.csv", "lek,cocks\nL1,5\n", Fault(&["the day of the count"])),
        case("half a cock", Kind::Visits, "v.csv", "lek,date,cocks\nL1,2026-04-17,5.5\n", Fault(&["whole number", "5.5"])),
        case("minus three cocks", Kind::Visits, "v.csv", "lek,date,cocks\nL1,2026-04-17,-3\n", Fault(&["whole number", "-3"])),
        case("stock for no parcel", Kind::Stock, "k.csv", "parcel,class,head\nP9,ewes,40\n", Fault(&["a parcel of the plan", "P9"])),
        case("stock of no class", Kind::Stock, "k.csv", "parcel,class,head\nP1,unicorns,40\n", Fault(&["one of hill_ewe", "unicorns"])),
        case("stock told twice", Kind::Stock, "k.csv", "parcel,class,head\nP1,ewes,40\nP1,ewes,50\n", Fault(&["line 3", "comes twice"])),
        case("well-known text that breaks off", Kind::Patches, "p.csv", "wkt,name\n\"POLYGON((391000 531000, 391300 531000\",A\n", Fault(&["line 2", "closing bracket"])),
        case("well-known text of nonsense", Kind::Patches, "p.csv", "wkt,name\n\"POLYGON((a b, c d, e f, a b))\",A\n", Fault(&["line 2", "not two numbers"])),
        Case { map: &["height_cm=Ht:cm"], ..case("a column that is not there", k, "s.csv", rows("a,391000,531000,12,\n"), Fault(&["`Ht`", "columns `id`"])) },
        Case { map: &["tallness=height_cm"], ..case("a field that is not there", k, "s.csv", rows("a,391000,531000,12,\n"), Fault(&["`tallness`", "the fields are"])) },
        Case { map: &["height_cm=height_cm:%"], ..case("a unit that does not fit", k, "s.csv", rows("a,391000,531000,12,\n"), Fault(&["a unit for `height_cm`"])) },
    ]
}

fn shape_and_sheet_cases() -> Vec<Case> {
    let k = Kind::Patches;
    let [shp, shx, dbf] = shapefile(&[(vec![corners(391_000.0, 531_000.0, 300.0)], "A", 20.0)]);
    let zipped = |shp: &[u8], dbf: &[u8]| making::zip(&[("p.shp", shp), ("p.dbf", dbf), ("p.shx", &shx), ("p.prj", BNG_PRJ.as_bytes())]);
    let short_dbf = shapefile(&[]);
    let fgb = flatgeobuf(27700);
    let sheet = || xlsx(&[("Sheet1", vec![
        vec![Put::Text("easting"), Put::Text("northing"), Put::Text("height_cm")],
        vec![Put::Number(391_000.0), Put::Number(531_000.0), Put::Number(12.0)],
    ])]);
    let second = |put: Put| xlsx(&[("Sheet1", vec![
        vec![Put::Text("easting"), Put::Text("northing"), Put::Text("height_cm")],
        vec![Put::Number(391_000.0), Put::Number(531_000.0), put],
    ])]);
    vec![
        case("a loose .shp without its table", k, "p.shp", shp.clone(), Fault(&[".dbf", "none beside it", "zip"])),
        case("a zip without a .shp", k, "p.zip", making::zip(&[("readme.txt", b"hello")]), Fault(&[".shp", "readme.txt"])),
        case("a zip without a .dbf", k, "p.zip", making::zip(&[("p.shp", &shp)]), Fault(&[".dbf"])),
        case("a zip with two layers", k, "p.zip", making::zip(&[("a.shp", &shp), ("b.shp", &shp)]), Fault(&["one layer", "`a`, `b`"])),
        case("a zip without .shx", k, "p.zip", making::zip(&[("p.shp", &shp), ("p.dbf", &dbf), ("p.prj", BNG_PRJ.as_bytes())]), Note(&[".shx"])),
        case("a zip without .prj", k, "p.zip", making::zip(&[("p.shp", &shp), ("p.dbf", &dbf), ("p.shx", &shx)]), Note(&["no coordinate system", "EPSG:27700"])),
        case("a .prj of another projection", k, "p.zip", making::zip(&[("p.shp", &shp), ("p.dbf", &dbf), ("p.shx", &shx), ("p.prj", br#"PROJCS["ETRS89 / UTM zone 30N",GEOGCS["ETRS89"]]"#)]), Fault(&["UTM zone 30N"])),
        case("a .prj of old longitude and latitude", k, "p.zip", making::zip(&[("p.shp", &shp), ("p.dbf", &dbf), ("p.prj", br#"GEOGCS["GCS_OSGB_1936",DATUM["D_OSGB_1936"]]"#)]), Fault(&["OSGB36"])),
        case("a zip cut short", k, "p.zip", cut(zipped(&shp, &dbf), 0.6), Fault(&["zip archive"])),
        case("a .shp cut short", k, "p.zip", zipped(&cut(shp.clone(), 0.8), &dbf), Fault(&[".shp", "header says"])),
        case("a .shp that claims 2 GB", k, "p.zip", zipped(&with_bytes(shp.clone(), 24, &0x4000_0000_u32.to_be_bytes()), &dbf), Fault(&["header says 2147483648"])),
        case("a shape that claims 2 thousand million points", k, "p.zip", zipped(&with_bytes(shp.clone(), 108 + 40, &0x7FFF_FFFF_u32.to_le_bytes()), &dbf), Fault(&["row 1", "claims 2147483647"])),
        case("a .dbf that claims 2 GB", k, "p.zip", zipped(&shp, &with_bytes(dbf.clone(), 4, &0x7FFF_FFFF_u32.to_le_bytes())), Fault(&[".dbf", "claim of 2147483647"])),
        case("a .dbf cut short", k, "p.zip", zipped(&shp, &cut(dbf.clone(), 0.3)), Fault(&[".dbf"])),
        case("a .shp and a .dbf of different files", k, "p.zip", zipped(&shp, &short_dbf[2]), Fault(&["1 shapes and 0 rows"])),
        case("a zip bomb", k, "p.zip", zip_bomb("p.shp"), Fault(&["`p.shp`, which unfolds to more"])),
        case("a zip that claims 2 GB", k, "p.zip", zip_claiming(making::zip(&[("p.shp", &shp)]), 0x8000_0000), Fault(&["512.0 MB", "2.0 GB"])),
        case("a zip of thousands of files", k, "p.zip", {
            let names: Vec<String> = (0..2100).map(|n| format!("{n}.txt")).collect();
            making::zip(&names.iter().map(|n| (n.as_str(), b"x".as_slice())).collect::<Vec<_>>())
        }, Fault(&["2100 files"])),
        case("FlatGeobuf cut short", k, "p.fgb", cut(fgb.clone(), 0.9), Fault(&["p.fgb", "FlatGeobuf"])),
        case("FlatGeobuf cut to its head", k, "p.fgb", cut(fgb.clone(), 0.05), Fault(&["FlatGeobuf"])),
        case("FlatGeobuf with a header of 2 GB", k, "p.fgb", with_bytes(fgb.clone(), 8, &0x7FFF_FFFF_u32.to_le_bytes()), Fault(&["header larger than the file"])),
        case("FlatGeobuf in web map metres", k, "p.fgb", flatgeobuf(3857), Fault(&["EPSG:3857"])),
        case("XLSX cut short", Kind::Sticks, "s.xlsx", cut(sheet(), 0.5), Fault(&["s.xlsx", "zip archive"])),
        case("text under an XLSX's name", Kind::Sticks, "s.xlsx", "easting,northing\n1,2\n", Fault(&["zip archive"])),
        case("an XLSX that is another zip", Kind::Sticks, "s.xlsx", making::zip(&[("a.txt", b"x")]), Fault(&["XLSX"])),
        case("an XLSX bomb", Kind::Sticks, "s.xlsx", zip_bomb("xl/workbook.xml"), Fault(&["unfolds to more"])),
        case("an XLSX bomb that lies about its size", Kind::Sticks, "s.xlsx", zip_claiming(zip_bomb("xl/workbook.xml"), 1000), Fault(&["s.xlsx", "xl/workbook.xml"])),
        case("an empty sheet", Kind::Sticks, "s.xlsx", xlsx(&[("A", vec![])]), Fault(&["s.xlsx"])),
        case("two sheets with something in them", Kind::Sticks, "s.xlsx", xlsx(&[("A", vec![vec![Put::Text("x")]]), ("B", vec![vec![Put::Text("y")]])]), Fault(&["one sheet", "`A`, `B`", "--layer A"])),
        case("a formula with its value", Kind::Sticks, "s.xlsx", second(Put::Formula("=6*2", "12")), Note(&["`height_cm` holds formulas"])),
        case("a formula never worked out", Kind::Sticks, "s.xlsx", sheet_with_cell(r#"<c r="C2"><f>6*2</f></c>"#), Fault(&["row 2", "`height_cm`", "=6*2", "formula"])),
        case("a formula that failed", Kind::Sticks, "s.xlsx", sheet_with_cell(r#"<c r="C2" t="e"><f>1/0</f><v>#DIV/0!</v></c>"#), Fault(&["row 2", "#DIV/0!"])),
        case("a cell in the farthest corner", Kind::Sticks, "s.xlsx", sheet_with_cell(r#"<c r="XFD2"><v>12</v></c>"#), Fault(&["row 2", "column name above"])),
        case("a date in words in a sheet", Kind::Sticks, "s.xlsx", xlsx(&[("A", vec![
            vec![Put::Text("easting"), Put::Text("northing"), Put::Text("height_cm"), Put::Text("date")],
            vec![Put::Number(391_000.0), Put::Number(531_000.0), Put::Number(3.0), Put::Text("a fine day")],
        ])]), Fault(&["row 2", "`date`", "a fine day"])),
        case("GPX cut short", Kind::Tracks, "t.gpx", cut(gpx(r#"<trk><trkseg><trkpt lat="54.6" lon="-2.1"/></trkseg></trk>"#), 0.8), Fault(&["GPX"])),
        case("GPX with a latitude of 540", Kind::Leks, "l.gpx", gpx(r#"<wpt lat="540.6" lon="-2.1"/>"#), Fault(&["l.gpx"])),
        case("GPX without waypoints for leks", Kind::Leks, "l.gpx", gpx(""), Fault(&["waypoints", "0 tracks"])),
        case("GPX track of one point", Kind::Tracks, "t.gpx", gpx(r#"<trk><trkseg><trkpt lat="54.67" lon="-2.14"></trkpt></trkseg></trk>"#), Fault(&["track 1", "no geometry"])),
        case("a picture", k, "p.png", [0x89, b'P', b'N', b'G', 1, 2, 3], Fault(&["`.png`", "GeoPackage"])),
    ]
}

/// Files that read well and hold something odd, and slips that want a better word than a list of faults.
fn odd_cases() -> Vec<Case> {
    let square = |east: f64| format!("POLYGON(({east} 531000,{} 531000,{} 531100,{east} 531100,{east} 531000))", east + 100.0, east + 100.0);
    let patches = format!("id,wkt\na,\"{}\"\nb,\"{}\"\n", square(391_000.0), square(391_050.0));
    let title = vec![vec![Put::Text("Stick survey")], vec![Put::Text("easting"), Put::Text("northing"), Put::Text("height_cm")], vec![Put::Number(1.0), Put::Number(2.0), Put::Number(3.0)]];
    let visit = |rows: &str| format!("lek,date,time,cocks\n{rows}").into_bytes();
    let stock = |class: &str| format!("parcel,class,head\nP1,{class},20\n").into_bytes();
    vec![
        case("overlapping patches", Kind::Patches, "p.csv", patches, Note(&["a and b by 0.5 ha", "the later"])),
        case("a lek off the holding", Kind::Leks, "l.csv", "id,easting,northing\nfar,399000,531000\n", Note(&["lek far lies more than 2 km outside"])),
        case("a lek beside a lek", Kind::Leks, "l.csv", "id,easting,northing\nL2,391100,531000\n", Note(&["Whin Rigg and L2 lie within 100 m of one another", "within 200 m"])),
        case("sticks twice", Kind::Sticks, "s.csv", csv_sticks("a,391000,531000,12,\nb,391000,531000,12,\n"), Note(&["the same file twice?): 1"])),
        case("a visit twice", Kind::Visits, "v.csv", visit("L1,2026-04-17,05:10,5\nL1,2026-04-17,05:10,5\n"), Note(&["alike in everything", "line 3"])),
        case("days either way", Kind::Visits, "v.csv", visit("L1,03/04/2026,05:10,5\n"), Note(&["read day first", "line 2"])),
        case("no such day", Kind::Visits, "v.csv", visit("L1,2026-02-30,05:10,5\n"), Fault(&["there is no such day"])),
        case("more cocks than there are", Kind::Visits, "v.csv", visit("L1,2026-04-17,05:10,1000000000\n"), Fault(&["0 to 200"])),
        case("a breed of sheep", Kind::Stock, "s.csv", stock("Swaledale ewes"), Note(&["`Swaledale ewes` was taken for hill_ewe"])),
        case("cows by trade", Kind::Stock, "s.csv", stock("suckler cows"), Note(&["taken for cow"])),
        case("stock of no class", Kind::Stock, "s.csv", stock("llamas"), Fault(&["one of", "llamas"])),
        case("a title above the headings", Kind::Sticks, "s.csv", "Stick survey\neasting,northing,height_cm\n391000,531000,3\n", Fault(&["`Stick survey` alone", "delete the rows above"])),
        case("a padded title", Kind::Sticks, "s.csv", "Stick survey,,\neasting,northing,height_cm\n391000,531000,3\n", Fault(&["delete the rows above"])),
        case("a title in a sheet", Kind::Sticks, "s.xlsx", xlsx(&[("A", title)]), Fault(&["delete the rows above"])),
        case("a column of two words without a unit", Kind::Sticks, "s.csv", "easting,northing,sward height\n391000,531000,12\n", Fault(&["--map 'height_cm=sward height:cm'"])),
        case("an id that is taken", Kind::Leks, "l.csv", "id,easting,northing\nL1,391900,531900\n", Fault(&["--map id=-"])),
        case("several layers", Kind::Patches, "p.gpkg", geopackage(27700, &[("fences", vec![]), ("patches 2026", vec![])]), Fault(&["--layer \"patches 2026\""])),
    ]
}

/// A fault says how the columns were understood.
#[test]
fn faults_carry_the_mapping() {
    let broken = case("", Kind::Leks, "l.csv", "Lek,Name,grid_ref\n7,Whin,nowhere\n", Fault(&[]));
    let mapping = run(&broken).unwrap_err().mapping.unwrap();
    assert_eq!(mapping.of("id").map(|m| m.column.as_str()), Some("Lek"));
    assert_eq!(mapping.of("name").map(|m| m.column.as_str()), Some("Name"));
    let habitat = case("", Kind::Patches, "p.csv", "habitat,wkt\nD1.1,\"POLYGON((391000 531000,391100 531000,391100 531100,391000 531000))\"\n", Note(&[]));
    assert_eq!(run(&habitat).unwrap().mapping.of("phase1").map(|m| m.column.as_str()), Some("habitat"));
}

#[cfg(unix)]
#[test]
fn a_pipe_is_refused_and_not_waited_for() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = folder.path().join("pipe.csv");
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let faults = read(Kind::Leks, &Source::path(&pipe), &Options::default(), &holding(), guidance()).unwrap_err();
    assert!(faults.to_string().contains("a pipe or device"), "{faults}");
}

fn all() -> Vec<Case> {
    [gpkg_cases(), json_cases(), csv_cases(), shape_and_sheet_cases(), odd_cases()].into_iter().flatten().collect()
}

#[test]
fn every_broken_file_is_told_or_mended() {
    let cases = all();
    assert!(cases.len() >= 60, "{}", cases.len());
    broken::judge(&cases);
}

/// One row right, one wrong: nothing of the file goes in. The reader has no way to touch the holding but `apply`,
/// and there is nothing to apply after a fault.
#[test]
fn nothing_is_half_imported() {
    let mut plan = holding();
    let before = plan.clone();
    let source = Source::bytes("s.csv", csv_sticks("a,391000,531000,12,\nb,391100,531000,<5,\n"));
    match read(Kind::Sticks, &source, &Options::default(), &plan, guidance()) {
        Ok(imported) => imported.apply(&mut plan),
        Err(faults) => assert_eq!(faults.total, 1),
    }
    assert_eq!(plan, before);
    let source = Source::bytes("s.csv", csv_sticks("a,391000,531000,12,\nb,391100,531000,5,\n"));
    read(Kind::Sticks, &source, &Options::default(), &plan, guidance()).unwrap().apply(&mut plan);
    assert_eq!(plan.sticks.len(), 2);
}

/// Every fault is counted, the first fifty are listed, and the message says how many more there are.
#[test]
fn all_faults_of_a_file_come_at_once() {
    let rows: String = (0..200).map(|n| format!("{n},391000,531000,x,never\n")).collect();
    let source = Source::bytes("s.csv", csv_sticks(&rows));
    let faults = read(Kind::Sticks, &source, &Options::default(), &holding(), guidance()).unwrap_err();
    assert_eq!((faults.total, faults.listed.len()), (400, 50));
    assert!(faults.to_string().ends_with("and 350 more"), "{faults}");
}

/// Each kind's word is taken, and its plural or other name.
#[test]
fn kinds_are_known_by_their_words() {
    assert_eq!(Kind::from_word("counts"), Some(Kind::Visits));
    for (kind, word, _) in Kind::WORDS {
        assert_eq!(Kind::from_word(word), Some(*kind));
    }
}

mod fuzz {
    use super::*;
    use proptest::prelude::*;

    const KINDS: [Kind; 6] = [Kind::Patches, Kind::Sticks, Kind::Broods, Kind::Boundary, Kind::Visits, Kind::Tracks];

    /// Cases of each kind; `FUZZ_CASES` asks for more.
    fn cases() -> u32 {
        std::env::var("FUZZ_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(256)
    }

    fn seeds() -> Vec<(&'static str, Vec<u8>)> {
        let [shp, shx, dbf] = shapefile(&[(vec![corners(391_000.0, 531_000.0, 300.0)], "A", 20.0)]);
        vec![
            ("p.gpkg", geopackage(27700, &[("patches", vec![(square_blob(391_000.0, 531_000.0, 300.0), "A", Some(40.0))])])),
            ("p.geojson", patch(good(), json!({"name": "A", "heather": 40, "surveyed": "2026-04-17"}))),
            ("p.fgb", flatgeobuf(27700)),
            ("p.zip", making::zip(&[("p.shp", &shp), ("p.dbf", &dbf), ("p.shx", &shx)])),
            ("s.csv", csv_sticks("a,391000,531000,12,2026-04-17\n")),
            ("s.xlsx", xlsx(&[("A", vec![vec![Put::Text("easting"), Put::Text("northing")], vec![Put::Number(391_000.0), Put::Number(531_000.0)]])])),
            ("t.gpx", gpx(r#"<wpt lat="54.67" lon="-2.14"><name>A</name></wpt><trk><trkseg><trkpt lat="54.67" lon="-2.14"/><trkpt lat="54.68" lon="-2.14"/></trkseg></trk>"#)),
        ]
    }

    fn never_panics(name: &str, bytes: Vec<u8>, kind: Kind) {
        let plan = holding();
        let source = Source::bytes(name, bytes);
        match read(kind, &source, &Options::default(), &plan, guidance()) {
            Ok(imported) => drop(imported.mapping.to_string()),
            Err(faults) => assert!(!faults.to_string().is_empty()),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: cases(), failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn random_bytes_never_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400), name in 0..7_usize, kind in 0..6_usize) {
            let names = ["a.gpkg", "a.geojson", "a.fgb", "a.zip", "a.csv", "a.xlsx", "a.gpx"];
            never_panics(names[name], bytes, KINDS[kind]);
        }

        #[test]
        fn damaged_files_never_panic(
            which in 0..7_usize,
            kind in 0..6_usize,
            hits in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..12),
            keep in 0.05..1.0_f64,
            cut_it in any::<bool>(),
        ) {
            thread_local! { static SEEDS: Vec<(&'static str, Vec<u8>)> = seeds(); }
            let (name, mut bytes) = SEEDS.with(|s| s[which].clone());
            for (at, value) in &hits {
                let at = at.index(bytes.len());
                bytes[at] = *value;
            }
            if cut_it {
                bytes = cut(bytes, keep);
            }
            never_panics(name, bytes, KINDS[kind]);
        }

        #[test]
        fn random_tables_never_panic(text in "[a-z0-9 ,;\n\"'.<>%éß/-]{0,200}") {
            never_panics("a.csv", format!("easting,northing,height_cm,date,note\n{text}").into_bytes(), Kind::Sticks);
            never_panics("a.csv", format!("lek,date,start,cocks,wind,rain\n{text}").into_bytes(), Kind::Visits);
            never_panics("a.csv", format!("date,gridref,hens,broods,dogs\n{text}").into_bytes(), Kind::Broods);
            never_panics("a.csv", text.into_bytes(), Kind::Leks);
        }

        #[test]
        fn random_shapefile_parts_never_panic(hits in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..12)) {
            let [mut shp, _, mut dbf] = shapefile(&[(vec![corners(391_000.0, 531_000.0, 300.0)], "A", 20.0)]);
            for (at, value) in &hits {
                let at = at.index(shp.len() + dbf.len());
                match at.checked_sub(shp.len()) {
                    Some(at) => dbf[at] = *value,
                    None => shp[at] = *value,
                }
            }
            never_panics("p.zip", making::zip(&[("p.shp", &shp), ("p.dbf", &dbf)]), Kind::Patches);
        }

        #[test]
        fn random_geometry_blobs_never_panic(body in proptest::collection::vec(any::<u8>(), 0..120), kind in 1..8_u8) {
            let mut wkb = vec![1, kind, 0, 0, 0];
            wkb.extend(body);
            let hex: String = wkb.iter().map(|b| format!("{b:02x}")).collect();
            never_panics("a.csv", format!("wkb,name\n{hex},A\n").into_bytes(), Kind::Patches);
        }
    }
}
