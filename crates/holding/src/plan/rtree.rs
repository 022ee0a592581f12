//! The R-tree of a feature table, with the trigger set of GeoPackage 1.4 (and of no other version).
//!
//! Source: OGC 12-128r18, annex F.3. The triggers `update1` and `update3` of older versions are not written:
//! 1.4 puts `update6`, `update7` and `update5` in their place.

use rusqlite::{Connection, params};

/// The part of a trigger's condition that holds where a geometry is there and not empty.
fn present(of: &str) -> String {
    format!("({of}.\"geom\" NOTNULL AND NOT ST_IsEmpty({of}.\"geom\"))")
}

/// The part that holds where it is missing or empty.
fn absent(of: &str) -> String {
    format!("({of}.\"geom\" ISNULL OR ST_IsEmpty({of}.\"geom\"))")
}

const BOX: &str = "NEW.\"fid\", ST_MinX(NEW.\"geom\"), ST_MaxX(NEW.\"geom\"), ST_MinY(NEW.\"geom\"), ST_MaxY(NEW.\"geom\")";

/// The triggers of a table: suffix, event, condition, action.
fn triggers(tree: &str) -> [(&'static str, &'static str, String, String); 7] {
    let same = "OLD.\"fid\" = NEW.\"fid\"";
    let moved = "OLD.\"fid\" != NEW.\"fid\"";
    let (new_present, new_absent) = (present("NEW"), absent("NEW"));
    let (old_present, old_absent) = (present("OLD"), absent("OLD"));
    let enter = format!("INSERT OR REPLACE INTO \"{tree}\" VALUES ({BOX});");
    let leave = format!("DELETE FROM \"{tree}\" WHERE id = OLD.\"fid\";");
    [
        ("insert", "INSERT", new_present.clone(), enter.clone()),
        ("update2", "UPDATE OF \"geom\"", format!("{same} AND {new_absent}"), leave.clone()),
        (
            "update4",
            "UPDATE",
            format!("{moved} AND {new_absent}"),
            format!("DELETE FROM \"{tree}\" WHERE id IN (OLD.\"fid\", NEW.\"fid\");"),
        ),
        ("update5", "UPDATE", format!("{moved} AND {new_present}"), format!("{leave} {enter}")),
        (
            "update6",
            "UPDATE OF \"geom\"",
            format!("{same} AND {new_present} AND {old_present}"),
            format!(
                "UPDATE \"{tree}\" SET minx = ST_MinX(NEW.\"geom\"), maxx = ST_MaxX(NEW.\"geom\"), miny = ST_MinY(NEW.\"geom\"), maxy = ST_MaxY(NEW.\"geom\") WHERE id = NEW.\"fid\";"
            ),
        ),
        (
            "update7",
            "UPDATE OF \"geom\"",
            format!("{same} AND {new_present} AND {old_absent}"),
            format!("INSERT INTO \"{tree}\" VALUES ({BOX});"),
        ),
        ("delete", "DELETE", "OLD.\"geom\" NOT NULL".into(), leave),
    ]
}

/// Index a table's `geom` by `fid`: the tree, what it holds, its triggers, and its entry among the extensions.
pub(crate) fn add(conn: &Connection, table: &str) -> rusqlite::Result<()> {
    let tree = format!("rtree_{table}_geom");
    conn.execute_batch(&format!(
        "CREATE VIRTUAL TABLE \"{tree}\" USING rtree(id, minx, maxx, miny, maxy);
         INSERT OR REPLACE INTO \"{tree}\"
           SELECT fid, ST_MinX(geom), ST_MaxX(geom), ST_MinY(geom), ST_MaxY(geom) FROM \"{table}\"
           WHERE geom NOT NULL AND NOT ST_IsEmpty(geom);"
    ))?;
    for (suffix, event, condition, action) in triggers(&tree) {
        conn.execute_batch(&format!(
            "CREATE TRIGGER \"{tree}_{suffix}\" AFTER {event} ON \"{table}\" WHEN {condition} BEGIN {action} END"
        ))?;
    }
    conn.execute(
        "INSERT INTO gpkg_extensions VALUES (?1, 'geom', 'gpkg_rtree_index', 'http://www.geopackage.org/spec140/#extension_rtree', 'write-only')",
        params![table],
    )?;
    Ok(())
}
