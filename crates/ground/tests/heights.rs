//! Reading heights: every form read right, and broken files refused with their place.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use std::io::{Cursor, Write};
use std::time::{Duration, Instant};

use crate::support::read_files;
use ground::heights::{HeightModel, HeightsError, read_bytes, write_geotiff};
use ground::{Frame, Grid};
use proptest::prelude::*;
use tiff::encoder::{TiffEncoder, colortype, colortype::ColorType};
use tiff::tags::Tag;

const ASC: &str = "ncols 3\nnrows 2\nxllcorner 1000\nyllcorner 2000\ncellsize 10\nNODATA_value -9999\n1 2 3\n4 -9999 6.5\n";

fn frame() -> Frame {
    Frame::square(1000.0, 2020.0, 10.0, 3, 2)
}

fn assert_model(model: &HeightModel, frame: Frame, cells: &[f32]) {
    assert_eq!(model.grid.frame, frame);
    assert_eq!(model.grid.cells.len(), cells.len());
    for (a, b) in model.grid.cells.iter().zip(cells) {
        assert!(a == b || (a.is_nan() && b.is_nan()), "{:?} and {cells:?}", model.grid.cells);
    }
}

const CELLS: [f32; 6] = [1.0, 2.0, 3.0, 4.0, f32::NAN, 6.5];

#[test]
fn ascii_grids_of_many_hands() {
    let spellings = [
        ASC.to_owned(),
        ASC.replace('\n', "\r\n"),
        ASC.to_uppercase(),
        format!("\u{feff}{ASC}"),
        ASC.replace("xllcorner 1000\nyllcorner 2000", "xllcenter 1005\nyllcenter 2005"),
        ASC.replace("xllcorner 1000\nyllcorner 2000", "YLLCENTRE 2005\nXLLCENTRE 1005"),
        ASC.replace("cellsize 10", "dx 10\ndy 10.0"),
        ASC.replace("NODATA_value -9999\n", "").replace("-9999", "nan"),
        ASC.replace("1 2 3", "  1\t2   3  "),
        ASC.replace("1 2 3\n4", "1 2 3 4"),
        ASC.replace("1 2 3\n4 ", "1 2\n3\n4\n"),
        ASC.replace("-9999\n1", "-9999.00\n1"),
        format!("{ASC}\n\n"),
    ];
    for text in spellings {
        assert_model(&read_bytes("hill.asc", text.as_bytes()).unwrap(), frame(), &CELLS);
    }
    // Without a missing value every number is a height.
    let all = read_bytes("hill.asc", ASC.replace("NODATA_value -9999\n", "").as_bytes()).unwrap();
    assert_eq!(all.grid.cells[4], -9999.0);
}

#[test]
fn points_in_any_order() {
    let points = ["1005 2015 1", "1015 2015 2", "1025 2015 3", "1005 2005 4", "1025 2005 6.5"];
    let mut turned = points;
    turned.reverse();
    for lines in [points, turned] {
        for text in [lines.join("\n"), lines.join("\r\n"), format!("X,Y,Z\n{}", lines.join("\n").replace(' ', ",")), lines.join(" 7 8\n").replace(' ', ";")] {
            assert_model(&read_bytes("hill.xyz", text.as_bytes()).unwrap(), frame(), &CELLS);
        }
    }
    // A column without any point is still part of the lattice.
    let gaps = read_bytes("hill.xyz", b"0 0 1\n20 0 2\n50 0 3\n0 10 4").unwrap();
    assert_eq!((gaps.grid.frame.cols, gaps.grid.frame.rows, gaps.grid.frame.dx_m), (6, 2, 10.0));
    let twice = read_bytes("hill.xyz", b"0 0 1\n10 0 2\n10 0 2\n").unwrap();
    assert!(twice.notes.iter().any(|n| n.contains("1 points stand twice")));
}

/// A one-band TIFF with the tags given.
fn tiff<C: ColorType>(cols: u32, rows: u32, values: &[C::Inner], geo: &[(Tag, Vec<f64>)], keys: &[u16], missing: Option<&str>) -> Vec<u8>
where
    [C::Inner]: tiff::encoder::TiffValue,
{
    let mut out = Cursor::new(Vec::new());
    let mut encoder = TiffEncoder::new(&mut out).unwrap();
    let mut image = encoder.new_image::<C>(cols, rows).unwrap();
    for (tag, values) in geo {
        image.encoder().write_tag(*tag, &values[..]).unwrap();
    }
    if !keys.is_empty() {
        image.encoder().write_tag(Tag::GeoKeyDirectoryTag, keys).unwrap();
    }
    if let Some(text) = missing {
        image.encoder().write_tag(Tag::GdalNodata, text).unwrap();
    }
    image.write_data(values).unwrap();
    out.into_inner()
}

fn placed() -> Vec<(Tag, Vec<f64>)> {
    vec![(Tag::ModelPixelScaleTag, vec![10.0, 10.0, 0.0]), (Tag::ModelTiepointTag, vec![0.0, 0.0, 0.0, 1000.0, 2020.0, 0.0])]
}

const GRID_KEYS: [u16; 12] = [1, 1, 0, 2, 1024, 0, 1, 1, 3072, 0, 1, 27_700];

#[test]
fn geotiffs_of_every_number_kind() {
    let whole = [1.0, 2.0, 3.0, 4.0, f32::NAN, 6.0];
    let files = [
        tiff::<colortype::Gray8>(3, 2, &[1, 2, 3, 4, 255, 6], &placed(), &GRID_KEYS, Some("255")),
        tiff::<colortype::Gray16>(3, 2, &[1, 2, 3, 4, 65_535, 6], &placed(), &GRID_KEYS, Some("65535")),
        tiff::<colortype::GrayI16>(3, 2, &[1, 2, 3, 4, -32_768, 6], &placed(), &GRID_KEYS, Some("-32768")),
        tiff::<colortype::GrayI32>(3, 2, &[1, 2, 3, 4, -99_999, 6], &placed(), &GRID_KEYS, Some("-99999")),
        tiff::<colortype::Gray64Float>(3, 2, &[1., 2., 3., 4., -9999., 6.], &placed(), &GRID_KEYS, Some("-9999")),
        // A single-precision missing value printed with fewer figures than it has.
        tiff::<colortype::Gray32Float>(3, 2, &[1., 2., 3., 4., f32::MIN, 6.], &placed(), &GRID_KEYS, Some("-3.40282347e+38 ")),
    ];
    for file in files {
        let model = read_bytes("hill.tif", &file).unwrap();
        assert_model(&model, frame(), &whole);
        assert_eq!(model.epsg, Some(27_700));
    }
}

#[test]
fn geotiff_placement() {
    let values = [1.0_f32, 2.0, 3.0, 4.0, f32::NAN, 6.5];
    let read = |geo: &[(Tag, Vec<f64>)], keys: &[u16]| read_bytes("hill.tif", &tiff::<colortype::Gray32Float>(3, 2, &values, geo, keys, None));
    assert_model(&read(&placed(), &[]).unwrap(), frame(), &CELLS);
    // A grid of points: the tie point is the centre of the corner cell.
    let points = [(Tag::ModelPixelScaleTag, vec![10.0, 10.0, 0.0]), (Tag::ModelTiepointTag, vec![0.0, 0.0, 0.0, 1005.0, 2015.0, 0.0])];
    assert_model(&read(&points, &[1, 1, 0, 1, 1025, 0, 1, 2]).unwrap(), frame(), &CELLS);
    // A tie point elsewhere in the grid.
    let inside = [(Tag::ModelPixelScaleTag, vec![10.0, 10.0, 0.0]), (Tag::ModelTiepointTag, vec![2.0, 1.0, 0.0, 1020.0, 2010.0, 0.0])];
    assert_model(&read(&inside, &[]).unwrap(), frame(), &CELLS);
    let transformed = |north: f64, step: f64, shear: f64| {
        [(Tag::ModelTransformationTag, vec![10., shear, 0., 1000., 0., step, 0., north, 0., 0., 0., 0., 0., 0., 0., 1.])]
    };
    assert_model(&read(&transformed(2020.0, -10.0, 0.0), &[]).unwrap(), frame(), &CELLS);
    // South first: rows are turned over.
    assert_model(&read(&transformed(2000.0, 10.0, 0.0), &[]).unwrap(), frame(), &[4.0, f32::NAN, 6.5, 1.0, 2.0, 3.0]);
    for (geo, keys, word) in [
        (&transformed(2020.0, -10.0, 3.0)[..], &[][..], "turned"),
        (&[][..], &[][..], "does not say where it lies"),
        (&placed()[..], &[1, 1, 0, 1, 1024, 0, 1, 2][..], "degrees"),
        (&placed()[..], &[1, 1, 0, 1, 3076, 0, 1, 9002][..], "plan unit is not the metre"),
        (&placed()[..], &[1, 1, 0, 1, 4099, 0, 1, 9002][..], "height unit is not the metre"),
    ] {
        let faults = read(geo, keys).unwrap_err();
        assert!(faults.iter().any(|f| f.what.contains(word)), "{faults:?}");
    }
}

#[test]
fn written_geotiffs_come_back() {
    let frame = Frame { west_m: 381_234.5, north_m: 540_000.25, dx_m: 5.0, dy_m: 4.0, cols: 700, rows: 431 };
    let cells: Vec<f32> = (0..frame.len()).map(|k| if k % 997 == 0 { f32::NAN } else { (k as f32 * 0.01).sin() * 300.0 + 400.0 }).collect();
    let bytes = write_geotiff(&Grid { frame, cells: cells.clone() }, Some(27_700)).unwrap();
    let model = read_bytes("own.tif", &bytes).unwrap();
    assert_model(&model, frame, &cells);
    assert_eq!((model.epsg, model.notes.len()), (Some(27_700), 0));
    assert!(write_geotiff(&Grid { frame: Frame { cols: 0, ..frame }, cells: vec![] }, None).is_err());
}

#[test]
fn written_geotiffs_are_clean_to_gdalinfo() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.tif");
    std::fs::write(&path, write_geotiff(&Grid { frame: frame(), cells: CELLS.to_vec() }, Some(27_700)).unwrap()).unwrap();
    let Ok(run) = std::process::Command::new("gdalinfo").arg("-stats").arg(&path).output() else {
        println!("skipped: gdalinfo is not installed");
        return;
    };
    let said = String::from_utf8_lossy(&run.stdout);
    assert!(run.status.success() && run.stderr.is_empty(), "{}", String::from_utf8_lossy(&run.stderr));
    for line in ["Size is 3, 2", "ID[\"EPSG\",27700]]", "Origin = (1000.000000000000000,2020.000000000000000)", "Pixel Size = (10.000000000000000,-10.000000000000000)", "NoData Value=nan", "STATISTICS_MAXIMUM=6.5"] {
        assert!(said.contains(line), "no `{line}` in {said}");
    }
}

fn zip(entries: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, body) in entries {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        zip.write_all(body).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

#[test]
fn archives_and_mosaics() {
    let east = ASC.replace("xllcorner 1000", "xllcorner 1030");
    let wide = Frame { cols: 6, ..frame() };
    let both = [1.0, 2.0, 3.0, 1.0, 2.0, 3.0, 4.0, f32::NAN, 6.5, 4.0, f32::NAN, 6.5];
    let tiles = zip(&[("data/a.asc", ASC.as_bytes()), ("data/a.prj", b"PROJCS"), ("../../b.ASC", east.as_bytes()), ("__MACOSX/._a.asc", b"junk")]);
    assert_model(&read_bytes("tiles.zip", &tiles).unwrap(), wide, &both);
    let one = zip(&[("a.asc", ASC.as_bytes())]);
    let nested = zip(&[("a.zip", &one), ("b.asc", east.as_bytes())]);
    assert_model(&read_bytes("nested.zip", &nested).unwrap(), wide, &both);

    // Overlap: the first file wins, later ones fill.
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, body: &[u8]| {
        let path = folder.path().join(name);
        std::fs::write(&path, body).unwrap();
        path
    };
    let (a, b) = (put("a.asc", ASC.as_bytes()), put("b.asc", ASC.replace("4 -9999", "9 5").as_bytes()));
    let model = read_files(&[a.clone(), b.clone()]).unwrap();
    assert_model(&model, frame(), &[1.0, 2.0, 3.0, 4.0, 5.0, 6.5]);
    assert!(model.notes.iter().any(|n| n.starts_with("b.asc: 1 cells already had a height") && n.contains("5.00 m")), "{:?}", model.notes);
    assert_model(&read_files(&[b, a.clone()]).unwrap(), frame(), &[1.0, 2.0, 3.0, 9.0, 5.0, 6.5]);

    // What does not fit together is refused, naming both.
    let coarse = put("coarse.asc", ASC.replace("cellsize 10", "cellsize 50").as_bytes());
    let shifted = put("shifted.asc", ASC.replace("xllcorner 1000", "xllcorner 1005").as_bytes());
    let far = put("far.asc", ASC.replace("xllcorner 1000", "xllcorner 1000000000").as_bytes());
    let there = put("there.tif", &tiff::<colortype::Gray8>(3, 2, &[1; 6], &placed(), &GRID_KEYS, None));
    let elsewhere = put("elsewhere.tif", &tiff::<colortype::Gray8>(3, 2, &[1; 6], &placed(), &[1, 1, 0, 1, 3072, 0, 1, 32_630], None));
    let faults = read_files(&[a.clone(), coarse, shifted]).unwrap_err();
    assert_eq!(faults.len(), 2);
    assert!(faults[0].what == "different cell sizes of `a.asc` and `coarse.asc`" && faults[1].what.contains("`shifted.asc`"));
    assert!(read_files(&[a.clone(), far]).unwrap_err()[0].file.contains("far.asc"));
    assert!(read_files(&[there, elsewhere]).unwrap_err()[0].what.contains("coordinate systems"));
    let missing = read_files(&[a, folder.path().join("no.asc"), folder.path().join("nor.asc")]).unwrap_err();
    assert_eq!(missing.iter().map(|f| f.file.as_str()).collect::<Vec<_>>(), ["no.asc", "nor.asc"]);
    assert!(read_files(&[]).is_err());
}

/// The first fault, which must be told at once and name its file.
fn fault(name: &str, bytes: &[u8]) -> HeightsError {
    let start = Instant::now();
    let faults = read_bytes(name, bytes).unwrap_err();
    assert!(start.elapsed() < Duration::from_secs(5), "{name} took {:?}", start.elapsed());
    for f in &faults {
        assert!(f.file.starts_with(name) && !f.what.is_empty() && !f.needed.is_empty() && !f.found.is_empty() && !f.hint.is_empty(), "{f:?}");
    }
    faults.into_iter().next().unwrap()
}

#[test]
fn broken_text_is_refused_with_its_place() {
    let cases: &[(&str, String, &str, &str)] = &[
        ("nothing", String::new(), "", "the file is empty"),
        ("blank", " \n\n".into(), "", "the file is empty"),
        ("word among heights", ASC.replace("4 -9999", "4 wall"), "line 8, value 2", "not a height"),
        ("decimal comma", ASC.replace("6.5", "6,5"), "line 8, value 3", "not a height"),
        ("endless height", ASC.replace("6.5", "inf"), "line 8, value 3", "not a height"),
        ("short row", ASC.replace("4 -9999 6.5", "4 6.5"), "line 8", "the row has another length"),
        ("long row", ASC.replace("4 -9999 6.5", "4 -9999 6 5"), "line 8", "the row has another length"),
        ("row missing", ASC.replace("4 -9999 6.5\n", ""), "line 7, the last", "rows are missing"),
        ("row too many", format!("{ASC}7 8 9\n"), "line 9, the last", "there are too many rows"),
        ("ragged and broken over lines", ASC.replace("1 2 3", "1 2"), "line 8", "rows have another length than the header says"),
        ("no columns", ASC.replace("ncols 3\n", ""), "header", "`ncols` is missing"),
        ("no cell size", ASC.replace("cellsize 10\n", ""), "header", "the cell size is missing"),
        ("no corner", ASC.replace("xllcorner 1000\n", ""), "header", "`xllcorner` is missing"),
        ("negative columns", ASC.replace("ncols 3", "ncols -3"), "line 1", "`ncols` is not a count"),
        ("half a column", ASC.replace("ncols 3", "ncols 2.5"), "line 1", "`ncols` is not a count"),
        ("cell of nothing", ASC.replace("cellsize 10", "cellsize 0"), "line 5", "`cellsize` is not a cell size"),
        ("corner in words", ASC.replace("xllcorner 1000", "xllcorner west"), "line 3", "`xllcorner` has no number"),
        ("columns twice", ASC.replace("nrows 2", "nrows 2\nncols 4"), "line 3", "`ncols` stands twice"),
        ("all of 2 GB", ASC.replace("ncols 3\nnrows 2", "ncols 25000\nnrows 20000"), "header", "the header claims more heights than the file can hold"),
        ("all of the world", ASC.replace("ncols 3\nnrows 2", "ncols 4294967295\nnrows 4294967295"), "header", "the header claims more heights than the file can hold"),
        ("header of a binary grid", ASC.replace("NODATA_value", "byteorder LSBFIRST\nNODATA_value"), "line 6", "this is the header of a binary grid"),
        ("prose", "Dear Sir,\nthe heights follow.\n".into(), "line 2", "not a point"),
        ("two columns", "1 2\n3 4\n".into(), "line 1", "not a point"),
        ("point in words", "0 0 1\n10 here 2\n".into(), "line 2", "not a point"),
        ("one point", "0 0 1\n".into(), "", "a single point makes no grid"),
        ("scattered points", "0 0 1\n10 0 2\n20 0 3\n33.7 0 1\n0 10 4\n41.3 10 1\n".into(), "line 4", "the eastings do not lie on a regular lattice"),
        ("two heights at a place", "0 0 1\n10 0 2\n10 0 3\n".into(), "line 3", "the point 10 0 has two heights"),
        ("a stray point far off", "0 0 1\n1 0 2\n0 1 3\n900000000 1 4\n".into(), "", "the points are too few for the lattice they span"),
    ];
    for (name, text, place, what) in cases {
        let found = fault(name, text.as_bytes());
        assert_eq!((found.place.as_str(), found.what.as_str()), (*place, *what), "{name}");
    }
    // All faults of a file at once, and the rest counted.
    let many = format!("ncols 1\nnrows 50\nxllcorner 0\nyllcorner 0\ncellsize 1\n{}", "x\n".repeat(50));
    let faults = read_bytes("many", many.as_bytes()).unwrap_err();
    assert_eq!((faults.len(), faults[20].found.as_str()), (21, "30"));
    let shown = faults[0].to_string();
    assert_eq!(shown, "not a height: needed a number, found `x`\n  at: many, line 6, value 1\n  hint: put a number there, or the missing value");
}

#[test]
fn broken_binaries_are_refused_with_their_place() {
    let good = tiff::<colortype::Gray32Float>(3, 2, &[1., 2., 3., 4., 5., 6.], &placed(), &GRID_KEYS, Some("-9999"));
    for length in 4..good.len() {
        if let Err(faults) = read_bytes("cut.tif", &good[..length]) {
            assert!(faults.iter().all(|f| f.file == "cut.tif"));
        }
    }
    assert!(read_bytes("cut.tif", &good[..good.len() / 2]).is_err());
    assert_eq!(fault("picture.tif", &tiff::<colortype::RGB8>(1, 1, &[1, 2, 3], &placed(), &GRID_KEYS, None)).place, "tag 277");
    assert_eq!(fault("word.tif", &tiff::<colortype::Gray8>(1, 1, &[1], &placed(), &GRID_KEYS, Some("none"))).place, "tag 42113");
    let utf16: Vec<u8> = [0xFF, 0xFE].into_iter().chain(ASC.bytes().flat_map(|b| [b, 0])).collect();
    assert!(fault("utf16.asc", &utf16).found.contains("UTF-16"));
    assert_eq!(fault("binary.asc", b"\x00\x01\x02\x03heights").what, "not a height file");
    assert_eq!(fault("empty.zip", &zip(&[])).what, "the archive holds no height file");
    assert_eq!(fault("papers.zip", &zip(&[("readme.pdf", b"%PDF")])).what, "the archive holds no height file");
    assert_eq!(fault("cut.zip", &zip(&[("a.asc", ASC.as_bytes())])[..60]).what, "the archive is broken");
    let inner = fault("bad.zip", &zip(&[("a/b.asc", ASC.replace("6.5", "six").as_bytes())]));
    assert_eq!((inner.file.as_str(), inner.place.as_str()), ("bad.zip/a/b.asc", "line 8, value 3"));
    let deep = zip(&[("2.zip", &zip(&[("3.zip", &zip(&[("a.asc", ASC.as_bytes())]))]))]);
    assert_eq!(fault("deep.zip", &deep).what, "archives lie too deep in archives");
}

#[test]
fn absurd_claims_cost_nothing() {
    // A whole small TIFF whose header is changed to claim 2 GB: 25000 x 20000 single-precision heights in one strip.
    let mut claim = tiff::<colortype::Gray32Float>(3, 2, &[1., 2., 3., 4., 5., 6.], &placed(), &GRID_KEYS, None);
    let mut set = |tag: u16, value: u32| {
        // Entries of the directory are twelve bytes: tag, kind, count, value; those of kind 4 (long) with count 1 hold it.
        let entry = [&tag.to_le_bytes()[..], &4_u16.to_le_bytes(), &1_u32.to_le_bytes()].concat();
        let at = claim.windows(8).position(|w| w == entry).unwrap();
        claim[at + 8..at + 12].copy_from_slice(&value.to_le_bytes());
    };
    set(256, 25_000);
    set(257, 20_000);
    set(278, 20_000);
    let found = fault("claim.tif", &claim);
    assert!(found.what.contains("claims more heights") || found.what.contains("cannot be read"), "{found}");

    // An archive of 66 MiB of nothing in some 70 kB.
    let bomb = zip(&[("a.asc", &vec![b'0'; 66 << 20])]);
    assert!(bomb.len() < 1 << 20);
    assert_eq!(fault("bomb.zip", &bomb).what, "the archive unpacks to too much");
    // The same with the claimed size changed to a small one, in both headers.
    let mut liar = bomb.clone();
    let size = (66_u32 << 20).to_le_bytes();
    for at in (0..liar.len() - 4).filter(|&k| bomb[k..k + 4] == size).collect::<Vec<_>>() {
        liar[at..at + 4].copy_from_slice(&1000_u32.to_le_bytes());
    }
    assert_ne!(liar, bomb);
    let found = fault("liar.zip", &liar).what;
    assert!(found == "the archive unpacks to too much" || found == "an entry cannot be unpacked", "{found}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn no_bytes_make_the_readers_panic(which in 0..4_usize, changes in proptest::collection::vec((0.0_f64..1.0, any::<u8>()), 1..6), cut in 0.3_f64..1.0) {
        let mut bytes = match which {
            0 => ASC.as_bytes().to_vec(),
            1 => tiff::<colortype::GrayI16>(3, 2, &[1, 2, 3, 4, 5, 6], &placed(), &GRID_KEYS, Some("-9999")),
            2 => write_geotiff(&Grid::filled(frame(), 5.0), Some(27_700)).unwrap(),
            _ => zip(&[("a.asc", ASC.as_bytes())]),
        };
        for (at, byte) in changes {
            let k = (at * bytes.len() as f64) as usize;
            bytes[k] = byte;
        }
        if cut < 0.6 {
            bytes.truncate((cut / 0.6 * bytes.len() as f64) as usize);
        }
        if let Err(faults) = read_bytes("any", &bytes) {
            prop_assert!(!faults.is_empty());
        }
    }
}
