//! Writes the invented plans the benches run on: `bench_plan usual|large FILE`.
//!
//! Usual: 2,000 ha and 2 km round it at 10 m, about 300 patches, 5 leks. Large: 10,000 ha at 5 m, about 3,000 patches,
//! 25 leks. Ground is invented from a fixed seed; patches are the cells of a crooked net.

use geo::{BoundingRect, LineString, MultiPolygon, Point, Polygon};
use ground::{Frame, Grid};
use holding::plan::Plan;
use holding::{Covers, Holding, Lek, Patch, Plant, Stems, Stick, Track, Tree, Visit, Wood, one_line};

/// A small generator of repeatable numbers, 0 to 1.
struct Luck(u64);

impl Luck {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// A net of crooked cells: `n` by `n` polygons over a square.
fn net(west: f64, south: f64, side: f64, n: usize, luck: &mut Luck) -> Vec<MultiPolygon<f64>> {
    let step = side / n as f64;
    let mut at = vec![];
    for r in 0..=n {
        for c in 0..=n {
            let rim = r == 0 || c == 0 || r == n || c == n;
            let mut shift = || if rim { 0.0 } else { (luck.next() - 0.5) * 0.6 * step };
            at.push((west + c as f64 * step + shift(), south + r as f64 * step + shift()));
        }
    }
    let mut out = vec![];
    for r in 0..n {
        for c in 0..n {
            let i = r * (n + 1) + c;
            let ring = vec![at[i], at[i + 1], at[i + n + 2], at[i + n + 1], at[i]];
            out.push(MultiPolygon(vec![Polygon::new(LineString::from(ring), vec![])]));
        }
    }
    out
}

fn kind(p: &mut Patch, luck: &mut Luck) {
    type Cover<'a> = (&'a [(Plant, f32)], f32, &'a str);
    let kinds: [Cover; 5] = [
        (&[(Plant::Heather, 60.0), (Plant::Blaeberry, 10.0), (Plant::SedgeGrass, 12.0), (Plant::Moss, 8.0)], 28.0, "D1.1"),
        (&[(Plant::Heather, 30.0), (Plant::CottonGrass, 30.0), (Plant::Moss, 25.0), (Plant::OtherBerries, 4.0)], 22.0, "E1.6.1"),
        (&[(Plant::SedgeGrass, 60.0), (Plant::Rush, 12.0), (Plant::Herbs, 8.0)], 14.0, "B1.1"),
        (&[(Plant::Rush, 40.0), (Plant::SedgeGrass, 30.0), (Plant::Moss, 15.0), (Plant::Herbs, 6.0)], 32.0, "E2.1"),
        (&[(Plant::Bracken, 70.0), (Plant::SedgeGrass, 20.0)], 70.0, "C1.1"),
    ];
    let (covers, height, code) = kinds[(luck.next().powf(1.4) * 5.0) as usize];
    p.phase1 = Some(code.into());
    p.covers = Covers([Some(0.0); 11]);
    for (plant, percent) in covers {
        p.covers.set(*plant, percent * (0.8 + 0.3 * luck.next() as f32));
    }
    let h = height * (0.6 + 0.8 * luck.next() as f32);
    (p.height_cm, p.height_sd_cm) = (Some(h), Some(h * (0.25 + 0.4 * luck.next() as f32)));
}

fn plan(side: f64, cell: f64, patches: usize, woods: usize, leks: usize) -> Holding {
    let mut luck = Luck(7);
    let (w, s) = (310_000.0, 520_000.0);
    let margin = 2000.0;
    let mut h = Holding::default();
    h.about.name = "Bench ground, invented".into();
    h.about.cell_m = cell;
    h.about.as_at = chrono::NaiveDate::from_ymd_opt(2026, 6, 15);
    for (i, shape) in net(w - margin, s - margin, side + 2.0 * margin, 12, &mut luck).into_iter().enumerate() {
        let mut p = Patch::new(format!("c{i}"), shape);
        p.coarse = true;
        p.phase1 = Some(if i % 3 == 0 { "B1.1" } else { "D1.1" }.into());
        h.patches.push(p);
    }
    for (i, shape) in net(w, s, side, patches, &mut luck).into_iter().enumerate() {
        let mut p = Patch::new(format!("p{i}"), shape);
        kind(&mut p, &mut luck);
        h.patches.push(p);
    }
    let mut place = |inset: f64| (w + inset + luck.next() * (side - 2.0 * inset), s + inset + luck.next() * (side - 2.0 * inset));
    for i in 0..woods {
        let (x, y) = place(300.0);
        let r = 60.0 + 40.0 * (i % 5) as f64;
        let ring: Vec<(f64, f64)> = (0..=24).map(|k| (k as f64 * std::f64::consts::TAU / 24.0).sin_cos()).map(|(a, b)| (x + r * a, y + r * b)).collect();
        let mut wood = Wood::new(format!("w{i}"), MultiPolygon(vec![Polygon::new(LineString::from(ring), vec![])]));
        wood.planted = Some(1980 + (i as i32 * 7) % 45);
        let species: &[(Tree, f32)] = if i % 4 == 0 { &[(Tree::Spruce, 2200.0)] } else { &[(Tree::Birch, 600.0), (Tree::Rowan, 200.0), (Tree::Willow, 200.0)] };
        wood.stems = species.iter().map(|(tree, n)| Stems { tree: *tree, stems_per_ha: *n, height_m: None, age_yr: None }).collect();
        h.woods.push(wood);
    }
    for i in 0..leks {
        let (x, y) = place(200.0);
        h.leks.push(Lek::new(format!("{i}"), format!("Lek {i}"), Point::new(x, y)));
        for year in 2020..2026 {
            h.visits.push(Visit {
                id: format!("{i}-{year}"),
                lek: format!("{i}"),
                date: chrono::NaiveDate::from_ymd_opt(year, 4, 20).unwrap_or_default(),
                start: None,
                cocks: Some(2 + (i as u32 * 5 + year as u32) % 9),
                hens: None,
                weather: String::new(),
                note: String::new(),
                ..Visit::default()
            });
        }
    }
    for i in 0..4 {
        let y = s + side * (i as f64 + 0.5) / 4.0;
        h.tracks.push(Track::new(format!("t{i}"), one_line(LineString::from(vec![(w, y), (w + side, y + 90.0)]))));
    }
    for i in 0..400 {
        let (x, y) = place(10.0);
        h.sticks.push(Stick { id: format!("s{i}"), at: Point::new(x, y), height_cm: 8.0 + (i % 37) as f32, date: None, note: String::new() });
    }
    h.boundary = Some(MultiPolygon(vec![Polygon::new(LineString::from(vec![(w, s), (w + side, s), (w + side, s + side), (w, s + side), (w, s)]), vec![])]));
    let b = h.patches[0].shape.bounding_rect().map_or((w, s), |r| (r.min().x, r.min().y));
    let full = side + 2.0 * margin;
    let frame = Frame::covering(b.0, b.1, b.0 + full, b.1 + full, cell);
    let cells = (0..frame.len())
        .map(|i| {
            let (x, y) = frame.centre(i % frame.cols, i / frame.cols);
            let (u, v) = ((x - w) / 1300.0, (y - s) / 1700.0);
            (340.0 + 90.0 * (u.sin() + (0.7 * v + u).cos()) + 12.0 * (5.0 * u + 3.0 * v).sin()) as f32
        })
        .collect();
    h.heights = Grid::from_cells(frame, cells);
    h
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [size, file] = arguments.as_slice() else { return Err("bench_plan usual|large FILE".into()) };
    let holding = match size.as_str() {
        "usual" => plan(4472.0, 10.0, 14, 20, 5),
        "large" => plan(10_000.0, 5.0, 54, 80, 25),
        _ => return Err("the size is usual or large".into()),
    };
    Plan::create(file.as_ref(), &holding, true)?;
    println!("{file}: {} patches, {} woods, {} leks", holding.patches.len(), holding.woods.len(), holding.leks.len());
    Ok(())
}
