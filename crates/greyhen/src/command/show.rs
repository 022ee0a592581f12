//! `greyhen show`: what a plan holds and what it lacks.

use crate::fail::Fail;
use crate::{Ended, PlanFile, talk};
use geo::Area;
use holding::Holding;
use serde_json::{Value, json};

/// Arguments.
#[derive(clap::Args)]
pub struct Show {
    #[command(flatten)]
    plan: PlanFile,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

impl Show {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let holding = super::read(&self.plan.path)?;
        if self.json {
            talk::print_json(&json(&holding));
        } else {
            talk::print(&text(&holding));
        }
        Ok(Ended::Well)
    }
}

fn area_ha(h: &Holding) -> Option<f64> {
    h.boundary.as_ref().map(|b| b.unsigned_area() / 1e4)
}

/// What the answer will miss, in words.
fn lacks(h: &Holding) -> Vec<String> {
    let mut out = Vec::new();
    let mut need = |missing: bool, text: &str| {
        if missing {
            out.push(text.to_string());
        }
    };
    need(h.boundary.is_none(), "no boundary");
    need(h.heights.is_none(), "no height model: slope, altitude and views will be left out");
    need(h.leks.is_empty(), "no lek: nothing can be assessed");
    need(h.patches.is_empty(), "no vegetation: nothing can be assessed");
    need(!h.leks.is_empty() && h.visits.is_empty(), "no counts: leks weigh alike and needs are for the usual lek");
    need(h.sticks.is_empty(), "no stick heights");
    need(h.stock.is_empty(), "no stock: grazing is not judged");
    need(h.about.as_at.is_none(), "no date: ages of woods are not known");
    out
}

fn json(h: &Holding) -> Value {
    let counts: serde_json::Map<String, Value> = h.counts().into_iter().map(|(k, n)| (k.to_string(), json!(n))).collect();
    json!({
        "schema": "greyhen.show/1",
        "plan": h.about.name,
        "country": h.about.country.to_string(),
        "epsg": h.about.epsg,
        "cell_m": h.about.cell_m,
        "as_at": h.about.as_at,
        "area_ha": area_ha(h),
        "heights": h.heights.as_ref().map(|g| json!({
            "cell_m": g.frame.dx_m, "cols": g.frame.cols, "rows": g.frame.rows, "source": h.about.heights_source,
        })),
        "counts": counts,
        "leks": h.leks.iter().map(|l| json!({"id": l.id, "name": l.name})).collect::<Vec<_>>(),
        "lacks": lacks(h),
    })
}

fn text(h: &Holding) -> String {
    let mut out = Vec::new();
    let area = area_ha(h).map_or("no boundary".to_string(), |a| format!("{a:.0} ha"));
    let date = h.about.as_at.map_or("no date".to_string(), |d| format!("as at {d}"));
    out.push(format!("{}: {area}, {}, {date}, EPSG:{}, {} m cells", talk::name(&h.about.name), h.about.country, h.about.epsg, h.about.cell_m));
    if let Some(g) = &h.heights {
        out.push(format!("heights: {} x {} cells of {} m ({})", g.frame.cols, g.frame.rows, g.frame.dx_m, h.about.heights_source));
    }
    let rows: Vec<Vec<String>> = h.counts().into_iter().filter(|(_, n)| *n > 0).map(|(k, n)| vec![k.to_string(), n.to_string()]).collect();
    if !rows.is_empty() {
        out.push(String::new());
        out.push(talk::table(&["kind", "number"], &rows, &[1]));
    }
    if !h.leks.is_empty() {
        let names: Vec<String> = h.leks.iter().map(|l| talk::name(&l.name)).collect();
        out.push(talk::wrapped(&format!("leks: {}", names.join(", ")), 96, ""));
    }
    for lack in lacks(h) {
        out.push(format!("missing: {lack}"));
    }
    out.join("\n")
}
