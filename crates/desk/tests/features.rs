//! The plan's layers read by an independent client (GDAL's `ogrinfo` and `ogr2ogr`) over OGC API - Features, beside the plan file itself.

#[path = "../../holding/tests/full_holding/mod.rs"]
mod full_holding;

use desk::api::ask::Ask;
use desk::{Answer, Answers, Desk, Progress, Start, Trouble};
use guidance::Guidance;
use holding::{Holding, Plan};
use serde_json::Value;
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::path::Path;
use std::process::Command;
use std::sync::Arc;

const METRES: &str = "http://www.opengis.net/def/crs/EPSG/0/27700";

struct Silent;

impl Answers for Silent {
    fn answer(&self, _: &Ask, _: &Start, _: &dyn Progress) -> Result<Answer, Trouble> {
        Err(Trouble(vec![]))
    }
}

/// The desk with a plan open, on loopback; its host and port, and its key.
fn served(plan: &Path) -> (tokio::runtime::Runtime, String, String) {
    let desk = Desk::new(plan.parent().unwrap(), Arc::new(Guidance::load().unwrap()), Arc::new(Silent));
    desk.open(plan).unwrap();
    let bound = desk::serve::bind(Some(0)).unwrap();
    let (host, key) = (bound.address().at.to_string(), bound.address().key.as_str().to_owned());
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.spawn(bound.serve(Arc::new(desk), std::future::pending()));
    (runtime, host, key)
}

/// What a program writes; `None` where it is not on this machine.
fn run(program: &str, arguments: &[&str]) -> Option<String> {
    let Ok(out) = Command::new(program).args(arguments).output() else {
        println!("stepped aside: {program} is not on this machine");
        return None;
    };
    let (told, said) = (String::from_utf8_lossy(&out.stdout).into_owned(), String::from_utf8_lossy(&out.stderr).into_owned());
    assert!(out.status.success() && !said.contains("ERROR"), "{program} {arguments:?}\n{told}\n{said}");
    Some(told)
}

/// A document by a plain request with the key in its header.
fn get(host: &str, key: &str, path: &str) -> Value {
    let mut stream = std::net::TcpStream::connect(host).unwrap();
    write!(stream, "GET {path} HTTP/1.0\r\nHost: {host}\r\nAuthorization: Bearer {key}\r\n\r\n").unwrap();
    let mut all = String::new();
    stream.read_to_string(&mut all).unwrap();
    let (head, body) = all.split_once("\r\n\r\n").unwrap();
    assert!(head.contains(" 200 "), "{path}: {all}");
    serde_json::from_str(body).unwrap()
}

type Features = BTreeMap<String, (serde_json::Map<String, Value>, f64)>;

/// Features by what they are known by: columns and area, in the units of their coordinates.
fn by_id(collection: &Value) -> Features {
    let one = |feature: &Value| {
        let shape = (!feature["geometry"].is_null()).then(|| serde_json::from_value::<geojson::Geometry>(feature["geometry"].clone()).unwrap());
        let shape = shape.map(|shape| geo_types::Geometry::<f64>::try_from(shape).unwrap());
        let columns = feature["properties"].as_object().unwrap().clone();
        let known: Vec<String> = ["id", "number", "wood_id", "tree"].into_iter().filter_map(|name| columns.get(name)).map(Value::to_string).collect();
        (known.join(" "), (columns, shape.map_or(0.0, |shape| geo::Area::unsigned_area(&shape))))
    };
    let mut all = Features::new();
    for (known, feature) in collection["features"].as_array().unwrap().iter().map(one) {
        // A wood may have a species twice, in its own order.
        let place = all.keys().filter(|key| key.split('#').next() == Some(known.as_str())).count();
        all.insert(format!("{known}#{place}"), feature);
    }
    all
}

/// Features as GDAL reads them.
fn read(source: &str, layer: &str) -> Option<Features> {
    let text = run("ogr2ogr", &["-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=9", "/vsistdout/", source, layer])?;
    Some(by_id(&serde_json::from_str(&text).unwrap()))
}

/// The same columns with the same values, and the same areas to the square metre.
fn alike(layer: &str, file: &Features, served: &Features) {
    for (id, (columns, area)) in file {
        let (theirs, their_area) = &served[id];
        assert!((area - their_area).abs() < 1.0, "{layer} {id}: {area} m2 in the file, {their_area} served");
        assert_eq!(columns.keys().collect::<Vec<_>>(), theirs.keys().collect::<Vec<_>>(), "{layer} {id}");
        for (name, value) in columns {
            let same = read_out(value) == read_out(&theirs[name]);
            assert!(same, "{layer} {id} {name}: {value} in the file, {} served", theirs[name]);
        }
    }
}

/// A value as it is meant: text that holds an object is the object, a whole number is a number.
fn read_out(value: &Value) -> Value {
    match value {
        Value::String(text) if text.starts_with('{') => serde_json::from_str(text).unwrap_or_else(|_| value.clone()),
        Value::Number(number) => number.as_f64().into(),
        _ => value.clone(),
    }
}

fn compare(holding: Holding, folder: &Path) {
    let path = folder.join("plan.gpkg");
    drop(Plan::create(&path, &holding, false).unwrap());
    let file = path.to_str().unwrap();
    let rows = |name: &str| holding::plan::layer::rows(&holding, name).unwrap().len();
    let layers: Vec<_> = holding::plan::layer::layers().into_iter().filter(|layer| !["crews", "rates"].contains(&layer.name)).collect();
    let (_runtime, host, key) = served(&path);
    let service = format!("OAPIF:http://{host}/features?key={key}");
    let Some(list) = run("ogrinfo", &["-ro", "-so", "-al", &service]) else { return };
    let mut seen = 0;
    for name in layers.iter().map(|layer| layer.name) {
        let section = list.split("Layer name: ").find(|section| section.lines().next() == Some(name));
        let section = section.unwrap_or_else(|| panic!("{name} is not in the list\n{list}"));
        assert!(section.contains(&format!("Feature Count: {}\n", rows(name))), "{name}: {} in the plan\n{section}", rows(name));
        let Some(in_file) = read(file, name) else { return };
        assert_eq!(in_file.len(), rows(name), "{name}");
        let by_client = read(&service, name).unwrap();
        assert_eq!(in_file.len(), by_client.len(), "{name}");
        // The client makes an `id` of what a feature is known by, also where its table has none.
        if layers.iter().any(|layer| layer.name == name && layer.columns.iter().any(|column| column.name == "id")) {
            assert_eq!(in_file.keys().collect::<Vec<_>>(), by_client.keys().collect::<Vec<_>>(), "{name}");
        }
        let in_metres = by_id(&get(&host, &key, &format!("/features/collections/{name}/items?crs={METRES}&limit=10000")));
        assert_eq!(in_file.keys().collect::<Vec<_>>(), in_metres.keys().collect::<Vec<_>>(), "{name}");
        alike(name, &in_file, &in_metres);
        seen += in_file.len();
    }
    println!("{} layers, {seen} features: as in the file", layers.len());
}

#[test]
fn a_client_sees_what_the_file_holds() {
    let folder = tempfile::tempdir().unwrap();
    compare(full_holding::full(), folder.path());
}

#[test]
fn a_client_sees_the_demo_as_the_file_holds_it() {
    let folder = tempfile::tempdir().unwrap();
    compare(demo::holding(1), folder.path());
}
