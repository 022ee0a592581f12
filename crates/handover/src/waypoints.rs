//! The measures for a handheld: GPX 1.1, a waypoint a measure, lines and outlines as tracks.
//!
//! Schema: http://www.topografix.com/GPX/1/1/gpx.xsd. Places are ETRS89 longitude and latitude by OSTN15, which handhelds take as WGS84: the two
//! differ by under a metre or so. Where places are withheld, a measure that would give a lek away is its lek's kilometre square.

use crate::content::Content;
use crate::content::works::TaskText;
use crate::pack::{Fault, Pack};
use crate::placed::lines;
use crate::shown::{self, Shown};
use crate::svg::escape;
use geo::CoordsIter;
use geo_types::{Coord, LineString};
use holding::grid_ref::{OutsideGrid, lonlat_from_grid};
use std::fmt::Write;

/// Letters of a name that old handhelds keep.
const NAME: usize = 20;
/// Tasks told of one measure.
const TASKS: usize = 3;

/// Why no longitude and latitude can be given for the measures of a pack; `None` where they can.
pub(crate) fn without(pack: &Pack) -> Option<String> {
    let epsg = pack.holding.about.epsg;
    if epsg != 27700 {
        return Some(format!("longitude and latitude are known for the British national grid alone (EPSG:27700), and the plan lies on EPSG:{epsg}"));
    }
    let shown = crate::content::option::placed(pack, &pack.secrecy());
    let outside = shown.iter().flat_map(|p| p.shape.coords_iter()).find_map(|c| lonlat_from_grid(c.x, c.y).err());
    outside.map(|why| why.to_string())
}

/// The file.
///
/// # Errors
/// A place without longitude and latitude.
pub(crate) fn of(pack: &Pack, content: &Content) -> Result<Vec<u8>, Fault> {
    let shown = shown::of(pack, content);
    let mut out = Gpx { text: "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"greyhen\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n".into() };
    let option = content.option.as_ref().map_or("", |o| o.name.as_str());
    let leks = if content.withheld { "Lek places are withheld." } else { "Lek places are shown: keep this close." };
    out.text.push_str("<metadata>");
    out.element("name", &format!("{}: {option}", content.name));
    out.element("desc", &format!("Measures as numbered on paper. {leks} This advises; it does not license: check the code in force. Guidance {}.", content.edition));
    out.element("time", &format!("{}T00:00:00Z", pack.today));
    out.text.push_str("</metadata>\n");
    for s in &shown {
        let Some(spot) = s.spot() else { continue };
        out.point("wpt", spot.into(), &[("name", &name(s)), ("cmt", &place(s)), ("desc", &told(s, content)), ("type", s.said.title)])?;
    }
    for s in &shown {
        let drawn: Vec<LineString<f64>> = lines(&s.place.shape).into_iter().filter(|line| !line.0.is_empty()).collect();
        if drawn.is_empty() {
            continue;
        }
        out.text.push_str("<trk>");
        [("name", name(s)), ("cmt", place(s)), ("desc", format!("{}: {}", s.said.title, s.shape_words())), ("type", s.said.title.to_owned())].iter().for_each(|(tag, said)| out.element(tag, said));
        for line in drawn {
            out.text.push_str("\n<trkseg>");
            for at in line.0 {
                out.point("trkpt", at, &[])?;
            }
            out.text.push_str("</trkseg>");
        }
        out.text.push_str("</trk>\n");
    }
    out.text.push_str("</gpx>\n");
    Ok(out.text.into_bytes())
}

/// A file while it is written.
struct Gpx {
    text: String,
}

impl Gpx {
    /// An element of text.
    fn element(&mut self, tag: &str, said: &str) {
        let _ = write!(self.text, "<{tag}>{}</{tag}>", escape(said));
    }

    /// A point with what is said of it.
    fn point(&mut self, tag: &str, at: Coord<f64>, said: &[(&str, &str)]) -> Result<(), OutsideGrid> {
        let (lon, lat) = lonlat_from_grid(at.x, at.y)?;
        let _ = write!(self.text, "\n<{tag} lat=\"{lat:.8}\" lon=\"{lon:.8}\">");
        said.iter().filter(|(_, said)| !said.is_empty()).for_each(|(tag, said)| self.element(tag, said));
        let _ = write!(self.text, "</{tag}>");
        Ok(())
    }
}

/// Number and kind of a measure, ASCII; `square` where only its lek's square is shown.
fn name(s: &Shown) -> String {
    let kind = s.job.entry.key.replace('_', " ");
    let square = if s.place.drawn { "" } else { " square" };
    format!("{:02} {kind}{square}", s.said.number).chars().take(NAME).collect()
}

/// Where, and what is done to the place.
fn place(s: &Shown) -> String {
    let call = if s.place.tied { format!("{} (place withheld)", s.said.id) } else { s.said.id.clone() };
    [call.as_str(), &s.said.place].into_iter().filter(|w| !w.is_empty()).collect::<Vec<_>>().join(": ")
}

/// What is done, how much and when.
fn told(s: &Shown, content: &Content) -> String {
    let mut out: Vec<String> = [&s.said.what, &s.said.quantities.join(", "), &s.said.year].into_iter().filter(|w| !w.is_empty()).cloned().collect();
    let on_site = |task: &&TaskText| ["fence", "ground", "work"].contains(&task.stage);
    let tasks: Vec<&TaskText> = s.tasks(content).filter(on_site).collect();
    out.extend(tasks.iter().take(TASKS).map(|task| format!("{}: {}", task.when, task.what)));
    out.extend((tasks.len() > TASKS).then(|| format!("and {} tasks more", tasks.len() - TASKS)));
    format!("{}. {}", s.said.title, out.join("; "))
}
