//! Hatches: small repeated drawings by which areas are told apart without colour. All are drawn for this program.

use super::palette::{BLAEBERRY, BURN, INK, MOSS, PEAT, RUSSET, STONE};

/// A hatch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hatch {
    /// Leaning strokes in russet: what is short.
    Short,
    /// Fine leaning strokes in grey: not mapped.
    Unmapped,
    /// Crossed strokes in blaeberry: somewhere in this square, place withheld.
    Withheld,
    /// Small sprigs: heather and berry heath.
    Heath,
    /// Short level dashes: bog.
    Bog,
    /// Sparse single blades: grass and sedge.
    Grass,
    /// Upright tufts: rush.
    Rush,
    /// Scattered dots: herbs and flushes.
    Flush,
    /// Fronds: bracken.
    Bracken,
    /// Furrows: crop.
    Crop,
    /// Rough crosses: bare ground and rock.
    Bare,
    /// Dense spires: closed conifers.
    Spires,
    /// Round crowns: broadleaves and open pine.
    Crowns,
    /// Wide leaning strokes: protected or kept out.
    Guarded,
    /// Ringed dots: a wood to plant.
    DoPlant,
    /// Steps: an edge to soften.
    DoEdge,
    /// Sparse arrow heads: grazing changed.
    DoGraze,
    /// Broken level bars: heather to work.
    DoHeather,
    /// Waves: ground to wet.
    DoWater,
    /// Upright bars: fields to work.
    DoField,
    /// Fine crosses in ink: lek cared for.
    DoLek,
    /// Heavy strokes leaning left: too steep for machines.
    Steep,
    /// Fine strokes leaning left in grey: band of as now.
    BandNow,
    /// Close strokes leaning right in grey: days shut to a work.
    Shut,
}

impl Hatch {
    /// The name by which a picture refers to it.
    pub fn id(self) -> &'static str {
        match self {
            Hatch::Short => "h-short",
            Hatch::Unmapped => "h-unmapped",
            Hatch::Withheld => "h-withheld",
            Hatch::Heath => "h-heath",
            Hatch::Bog => "h-bog",
            Hatch::Grass => "h-grass",
            Hatch::Rush => "h-rush",
            Hatch::Flush => "h-flush",
            Hatch::Bracken => "h-bracken",
            Hatch::Crop => "h-crop",
            Hatch::Bare => "h-bare",
            Hatch::Spires => "h-spires",
            Hatch::Crowns => "h-crowns",
            Hatch::Guarded => "h-guarded",
            Hatch::DoPlant => "h-do-plant",
            Hatch::DoEdge => "h-do-edge",
            Hatch::DoGraze => "h-do-graze",
            Hatch::DoHeather => "h-do-heather",
            Hatch::DoWater => "h-do-water",
            Hatch::DoField => "h-do-field",
            Hatch::DoLek => "h-do-lek",
            Hatch::Steep => "h-steep",
            Hatch::BandNow => "h-band-now",
            Hatch::Shut => "h-shut",
        }
    }

    /// Its drawing.
    pub fn definition(self) -> String {
        let (width, height, drawing) = match self {
            Hatch::Short => (1.2, 1.2, stroke("M-.3 .3L.3 -.3M0 1.2L1.2 0M.9 1.5L1.5 .9", RUSSET, 0.3)),
            Hatch::Unmapped => (1.8, 1.8, stroke("M-.4 .4L.4 -.4M0 1.8L1.8 0M1.4 2.2L2.2 1.4", STONE, 0.12)),
            Hatch::Withheld => (2.4, 2.4, stroke("M0 0L2.4 2.4M0 2.4L2.4 0", BLAEBERRY, 0.16)),
            Hatch::Heath => (2.6, 2.6, stroke("M.7 1.2V.6M.7 1.2L.3 .8M.7 1.2L1.1 .8M2 2.5V1.9M2 2.5L1.6 2.1M2 2.5L2.4 2.1", BLAEBERRY, 0.13)),
            Hatch::Bog => (3.0, 1.8, stroke("M.3 .5H1.5M1.8 1.4H3", BURN, 0.15)),
            Hatch::Grass => (4.4, 3.6, stroke("M.8 1.4Q.9 .9 1.3 .6M3 3.2Q3.1 2.7 3.5 2.4", PEAT, 0.12)),
            Hatch::Rush => (2.4, 2.4, stroke("M.5 1.1V.3M.8 1.1V.1M1.1 1.1V.4M1.7 2.3V1.5M2 2.3V1.3M2.3 2.3V1.6", MOSS, 0.12)),
            Hatch::Flush => (2.0, 2.0, dots(&[(0.5, 0.5), (1.5, 1.5)], 0.2, BURN)),
            Hatch::Bracken => (2.6, 2.6, stroke("M.3 .9L.8 .4L1.3 .9M1.6 2.2L2.1 1.7L2.6 2.2", RUSSET, 0.16)),
            Hatch::Crop => (1.4, 1.4, stroke("M0 .7H1.4", PEAT, 0.13)),
            Hatch::Bare => (2.6, 2.6, stroke("M.4 .4L1 1M1 .4L.4 1M1.7 1.7L2.3 2.3M2.3 1.7L1.7 2.3", STONE, 0.13)),
            Hatch::Spires => (2.2, 2.2, filled("M.1 1L.55 0L1 1ZM1.2 2.1L1.65 1.1L2.1 2.1Z", MOSS)),
            Hatch::Crowns => (2.6, 2.6, rings(&[(0.7, 0.7), (2.0, 2.0)], 0.42, MOSS)),
            Hatch::Guarded => (4.0, 4.0, stroke("M-1 1L1 -1M0 4L4 0M3 5L5 3", INK, 0.14)),
            Hatch::DoPlant => (2.4, 2.4, format!("{}{}", rings(&[(0.7, 0.7), (1.9, 1.9)], 0.45, INK), dots(&[(0.7, 0.7), (1.9, 1.9)], 0.14, INK))),
            Hatch::DoEdge => (2.0, 2.0, stroke("M0 .5H1V1.5H2", INK, 0.2)),
            Hatch::DoGraze => (5.0, 5.0, stroke("M.9 .6L1.6 1.5L2.3 .6M3.4 3.1L4.1 4L4.8 3.1", INK, 0.22)),
            Hatch::DoHeather => (2.6, 1.6, stroke("M.2 .4H1.4M1.5 1.2H2.6", INK, 0.3)),
            Hatch::DoWater => (2.8, 1.8, stroke("M0 .9Q.7 .1 1.4 .9T2.8 .9", INK, 0.2)),
            Hatch::DoField => (1.3, 1.3, stroke("M.65 0V1.3", INK, 0.22)),
            Hatch::DoLek => (1.6, 1.6, stroke("M.8 .3V1.3M.3 .8H1.3", INK, 0.16)),
            Hatch::Steep => (2.0, 2.0, stroke("M-.5 1.5L.5 2.5M0 0L2 2M1.5 -.5L2.5 .5", RUSSET, 0.3)),
            Hatch::BandNow => (1.5, 1.5, stroke("M-.3 1.2L.3 1.8M0 0L1.5 1.5M1.2 -.3L1.8 .3", STONE, 0.16)),
            Hatch::Shut => (1.1, 1.1, stroke("M-.3 .3L.3 -.3M0 1.1L1.1 0M.8 1.4L1.4 .8", STONE, 0.14)),
        };
        format!(
            r#"<pattern id="{}" width="{width}" height="{height}" patternUnits="userSpaceOnUse">{drawing}</pattern>"#,
            self.id()
        )
    }
}

fn stroke(data: &str, colour: &str, width: f64) -> String {
    format!(r#"<path d="{data}" fill="none" stroke="{colour}" stroke-width="{width}"/>"#)
}

fn filled(data: &str, colour: &str) -> String {
    format!(r#"<path d="{data}" fill="{colour}"/>"#)
}

fn dots(at: &[(f64, f64)], radius: f64, colour: &str) -> String {
    at.iter().map(|(x, y)| format!(r#"<circle cx="{x}" cy="{y}" r="{radius}" fill="{colour}"/>"#)).collect()
}

fn rings(at: &[(f64, f64)], radius: f64, colour: &str) -> String {
    at.iter()
        .map(|(x, y)| format!(r#"<circle cx="{x}" cy="{y}" r="{radius}" fill="none" stroke="{colour}" stroke-width=".2"/>"#))
        .collect()
}
