//! The coordinate systems named in a plan.
//!
//! The national grid and the metric zone systems of WGS 84 and ETRS89 are written with their full definition. Any
//! other metric projected system is named by its EPSG number with a minimal definition, until one is given.
//!
//! Sources: OGC 12-128r18, clause 1.1.2; parameters of the systems: EPSG dataset (27700; 326zz and 327zz; 258zz).

use rusqlite::{Connection, params};

const WGS84: &str = r#"GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]]"#;

const ETRS89: &str = r#"GEOGCS["ETRS89",DATUM["European_Terrestrial_Reference_System_1989",SPHEROID["GRS 1980",6378137,298.257222101,AUTHORITY["EPSG","7019"]],AUTHORITY["EPSG","6258"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4258"]]"#;

const NATIONAL_GRID: &str = r#"PROJCS["OSGB36 / British National Grid",GEOGCS["OSGB36",DATUM["Ordnance_Survey_of_Great_Britain_1936",SPHEROID["Airy 1830",6377563.396,299.3249646,AUTHORITY["EPSG","7001"]],AUTHORITY["EPSG","6277"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4277"]],PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",49],PARAMETER["central_meridian",-2],PARAMETER["scale_factor",0.9996012717],PARAMETER["false_easting",400000],PARAMETER["false_northing",-100000],UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","27700"]]"#;

/// Name and definition of a projected system by its EPSG number.
fn projected(epsg: u32) -> (String, String) {
    let zone = epsg % 100;
    match epsg {
        27700 => ("OSGB36 / British National Grid".into(), NATIONAL_GRID.into()),
        32601..=32660 => zoned(epsg, &format!("WGS 84 / UTM zone {zone}N"), WGS84, zone, 0),
        32701..=32760 => zoned(epsg, &format!("WGS 84 / UTM zone {zone}S"), WGS84, zone, 10_000_000),
        25828..=25838 => zoned(epsg, &format!("ETRS89 / UTM zone {zone}N"), ETRS89, zone, 0),
        _ => {
            let name = format!("EPSG:{epsg}");
            let wkt = format!(
                r#"LOCAL_CS["{name}",UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","{epsg}"]]"#
            );
            (name, wkt)
        }
    }
}

fn zoned(epsg: u32, name: &str, geographic: &str, zone: u32, false_northing: u32) -> (String, String) {
    let meridian = 6 * i64::from(zone) - 183;
    let wkt = format!(
        r#"PROJCS["{name}",{geographic},PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",{meridian}],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",{false_northing}],UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","{epsg}"]]"#
    );
    (name.into(), wkt)
}

/// Enter the systems every GeoPackage names, the one a gridded coverage must name (4979), and the plan's own.
pub(crate) fn enter_all(conn: &Connection, epsg: u32) -> rusqlite::Result<()> {
    let sql = "INSERT INTO gpkg_spatial_ref_sys (srs_name, srs_id, organization, organization_coordsys_id, definition, description) VALUES (?1, ?2, ?3, ?2, ?4, ?5)";
    let mut insert = conn.prepare(sql)?;
    insert.execute(params!["Undefined Cartesian", -1, "NONE", "undefined", "undefined Cartesian coordinate reference system"])?;
    insert.execute(params!["Undefined geographic", 0, "NONE", "undefined", "undefined geographic coordinate reference system"])?;
    insert.execute(params!["WGS 84", 4326, "EPSG", WGS84, "longitude and latitude in decimal degrees on the WGS 84 spheroid"])?;
    insert.execute(params!["WGS 84 (3D)", 4979, "EPSG", "undefined", "latitude, longitude and ellipsoidal height; named because gridded coverages must name it"])?;
    drop(insert);
    enter(conn, epsg)
}

/// Enter a projected system, unless it is there.
pub(crate) fn enter(conn: &Connection, epsg: u32) -> rusqlite::Result<()> {
    let (name, wkt) = projected(epsg);
    let sql = "INSERT INTO gpkg_spatial_ref_sys (srs_name, srs_id, organization, organization_coordsys_id, definition, description) VALUES (?1, ?2, 'EPSG', ?2, ?3, 'eastings and northings in metres') ON CONFLICT DO NOTHING";
    conn.execute(sql, params![name, epsg, wkt]).map(|_| ())
}

/// Why a definition cannot stand for a plan's system; `None` where it can.
pub(crate) fn refuses(wkt: &str) -> Option<&'static str> {
    let flat = wkt.trim_start();
    let units = ["UNIT[\"metre\",1", "UNIT[\"Meter\",1", "UNIT[\"meter\",1", "UNIT[\"Metre\",1"];
    if !flat.starts_with("PROJCS[") {
        Some("a definition that does not start with PROJCS[")
    } else if !units.iter().any(|unit| flat.contains(unit)) {
        Some("a definition whose unit is not the metre")
    } else {
        None
    }
}
