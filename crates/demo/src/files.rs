//! Raw files as they come in from the field, for trying the importers on.

use crate::noise::chance;
use crate::terrain::{EAST_M, NORTH_M};
use holding::grid_ref::{format_grid_ref, lonlat_from_grid};

/// Files from the field: name and bytes.
///
/// - `sticks.csv`: sward heights by ten-figure grid reference, along two walks
/// - `visits.csv`: dawn visits to the low lek from a neighbour's notebook
/// - `probes.csv`: peat depths by easting and northing
/// - `leks.geojson`: a display ground told of by a shepherd, longitude and latitude
pub fn field_files() -> Vec<(String, Vec<u8>)> {
    [("sticks.csv", sticks()), ("visits.csv", visits()), ("probes.csv", probes()), ("leks.geojson", leks())]
        .into_iter()
        .map(|(name, text)| (name.to_string(), text.into_bytes()))
        .collect()
}

/// Places along a walk, every 25 m or so.
fn walk(from: (f64, f64), to: (f64, f64), n: usize, salt: u64) -> impl Iterator<Item = (f64, f64, f64)> {
    (0..n).map(move |k| {
        let t = k as f64 / (n - 1) as f64;
        let off = |y: i64| 6.0 * (chance(k as i64, y, salt) - 0.5);
        let place = (EAST_M + from.0 + t * (to.0 - from.0) + off(1), NORTH_M + from.1 + t * (to.1 - from.1) + off(2));
        (place.0, place.1, chance(k as i64, 3, salt))
    })
}

fn sticks() -> String {
    let mut out = "id,grid reference,height cm,date,note\n".to_string();
    let rushes = walk((700.0, 1_150.0), (1_120.0, 1_020.0), 20, 0x71).map(|p| (p, 55.0, 18.0, "rushes, West Allotment"));
    let grass = walk((3_100.0, 1_300.0), (3_500.0, 1_180.0), 18, 0x72).map(|p| (p, 5.0, 4.0, "white hill, common"));
    for (k, ((east, north, draw), from_cm, by_cm, note)) in rushes.chain(grass).enumerate() {
        let place = format_grid_ref(east, north, 10).unwrap_or_default();
        out.push_str(&format!("X{:02},{place},{:.0},2026-06-09,\"{note}\"\n", k + 1, from_cm + by_cm * draw));
    }
    out
}

fn visits() -> String {
    "id,lek,date,start,cocks,hens,weather,note\n\
     X1,L3,2026-04-16,05:50,2,1,\"still, frost\",\n\
     X2,L3,2026-05-01,05:20,2,0,light wind,\n\
     X3,L3,2026-05-02,09:15,0,0,breeze,after feeding the dogs\n"
        .to_string()
}

fn probes() -> String {
    let mut out = "id,easting,northing,depth cm,date\n".to_string();
    for (k, (east, north, draw)) in walk((2_350.0, 3_500.0), (2_750.0, 3_380.0), 12, 0x73).enumerate() {
        out.push_str(&format!("X{:02},{east:.0},{north:.0},{:.0},2026-06-10\n", k + 1, 90.0 + 150.0 * draw));
    }
    out
}

fn leks() -> String {
    let (lon, lat) = lonlat_from_grid(EAST_M + 1_480.0, NORTH_M + 3_080.0).unwrap_or_default();
    format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{{\"type\":\"Feature\",\"properties\":{{\"id\":\"X1\",\"name\":\"Shepherd's green\"}},\
         \"geometry\":{{\"type\":\"Point\",\"coordinates\":[{lon:.7},{lat:.7}]}}}}]}}\n"
    )
}
