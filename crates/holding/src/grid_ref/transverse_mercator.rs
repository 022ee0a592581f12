//! The Transverse Mercator projection of the national grid, forward and inverse, on any ellipsoid.
//!
//! Method: the series of Ordnance Survey, *A guide to coordinate systems in Great Britain*, annex C (forward C1
//! with terms I to VI, inverse C2 with terms VII to XIIA). The series hold to a fraction of a millimetre over the
//! grid's area and fail far from its central meridian; callers keep to the area of the shift table.

/// An ellipsoid by its semi-axes, metres.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ellipsoid {
    pub a_m: f64,
    pub b_m: f64,
}

/// GRS80, on which ETRS89 stands (guide, annex A.1).
pub(super) const GRS80: Ellipsoid = Ellipsoid { a_m: 6_378_137.000, b_m: 6_356_752.314_1 };

/// Airy 1830, on which OSGB36 stands (guide, annex A.1). Only the published worked example needs it: the shift
/// table works from coordinates projected on GRS80.
#[cfg(test)]
pub(super) const AIRY_1830: Ellipsoid = Ellipsoid { a_m: 6_377_563.396, b_m: 6_356_256.909 };

// The national grid projection (guide, annex A.2).
const SCALE: f64 = 0.999_601_271_7;
const ORIGIN_LAT_DEG: f64 = 49.0;
const ORIGIN_LON_DEG: f64 = -2.0;
const FALSE_EAST_M: f64 = 400_000.0;
const FALSE_NORTH_M: f64 = -100_000.0;

/// The radii and the meridional arc at a latitude.
#[derive(Clone, Copy, Debug)]
struct At {
    nu: f64,
    rho: f64,
    eta2: f64,
    arc: f64,
}

impl Ellipsoid {
    fn e2(self) -> f64 {
        (self.a_m * self.a_m - self.b_m * self.b_m) / (self.a_m * self.a_m)
    }

    /// The developed arc of the meridian from the origin's latitude (guide, C3).
    fn arc_m(self, lat: f64) -> f64 {
        let n = (self.a_m - self.b_m) / (self.a_m + self.b_m);
        let (n2, n3) = (n * n, n * n * n);
        let origin = ORIGIN_LAT_DEG.to_radians();
        let (minus, plus) = (lat - origin, lat + origin);
        self.b_m
            * SCALE
            * ((1.0 + n + 1.25 * n2 + 1.25 * n3) * minus
                - (3.0 * n + 3.0 * n2 + 21.0 / 8.0 * n3) * minus.sin() * plus.cos()
                + (15.0 / 8.0 * n2 + 15.0 / 8.0 * n3) * (2.0 * minus).sin() * (2.0 * plus).cos()
                - 35.0 / 24.0 * n3 * (3.0 * minus).sin() * (3.0 * plus).cos())
    }

    fn at(self, lat: f64) -> At {
        let e2 = self.e2();
        let root = 1.0 - e2 * lat.sin().powi(2);
        let nu = self.a_m * SCALE / root.sqrt();
        let rho = self.a_m * SCALE * (1.0 - e2) / root.powf(1.5);
        At { nu, rho, eta2: nu / rho - 1.0, arc: self.arc_m(lat) }
    }
}

/// Terms I to VI of the forward series, in the guide's order: I, II, III, IIIA, IV, V, VI.
fn forward_terms(at: &At, lat: f64) -> [f64; 7] {
    let (sin, cos, tan2) = (lat.sin(), lat.cos(), lat.tan().powi(2));
    let At { nu, rho, eta2, arc } = *at;
    [
        arc + FALSE_NORTH_M,
        nu / 2.0 * sin * cos,
        nu / 24.0 * sin * cos.powi(3) * (5.0 - tan2 + 9.0 * eta2),
        nu / 720.0 * sin * cos.powi(5) * (61.0 - 58.0 * tan2 + tan2 * tan2),
        nu * cos,
        nu / 6.0 * cos.powi(3) * (nu / rho - tan2),
        nu / 120.0 * cos.powi(5) * (5.0 - 18.0 * tan2 + tan2 * tan2 + 14.0 * eta2 - 58.0 * tan2 * eta2),
    ]
}

/// Easting and northing, metres, of a longitude and latitude in degrees.
pub(super) fn project(ellipsoid: Ellipsoid, lon_deg: f64, lat_deg: f64) -> (f64, f64) {
    let lat = lat_deg.to_radians();
    let l = (lon_deg - ORIGIN_LON_DEG).to_radians();
    let [t1, t2, t3, t3a, t4, t5, t6] = forward_terms(&ellipsoid.at(lat), lat);
    let north = t1 + t2 * l.powi(2) + t3 * l.powi(4) + t3a * l.powi(6);
    let east = FALSE_EAST_M + t4 * l + t5 * l.powi(3) + t6 * l.powi(5);
    (east, north)
}

/// Longitude and latitude, degrees, of an easting and northing in metres.
pub(super) fn unproject(ellipsoid: Ellipsoid, east_m: f64, north_m: f64) -> (f64, f64) {
    let mut lat = ORIGIN_LAT_DEG.to_radians();
    // The guide repeats until the remainder is under 0.01 mm; each turn gains several figures.
    for _ in 0..20 {
        let left = north_m - FALSE_NORTH_M - ellipsoid.arc_m(lat);
        lat += left / (ellipsoid.a_m * SCALE);
        if left.abs() < 1e-5 {
            break;
        }
    }
    let At { nu, rho, eta2, .. } = ellipsoid.at(lat);
    let (tan, sec) = (lat.tan(), 1.0 / lat.cos());
    let tan2 = tan * tan;
    let t7 = tan / (2.0 * rho * nu);
    let t8 = tan / (24.0 * rho * nu.powi(3)) * (5.0 + 3.0 * tan2 + eta2 - 9.0 * tan2 * eta2);
    let t9 = tan / (720.0 * rho * nu.powi(5)) * (61.0 + 90.0 * tan2 + 45.0 * tan2 * tan2);
    let t10 = sec / nu;
    let t11 = sec / (6.0 * nu.powi(3)) * (nu / rho + 2.0 * tan2);
    let t12 = sec / (120.0 * nu.powi(5)) * (5.0 + 28.0 * tan2 + 24.0 * tan2 * tan2);
    let t12a =
        sec / (5040.0 * nu.powi(7)) * (61.0 + 662.0 * tan2 + 1320.0 * tan2.powi(2) + 720.0 * tan2.powi(3));
    let d = east_m - FALSE_EAST_M;
    let lat = lat - t7 * d.powi(2) + t8 * d.powi(4) - t9 * d.powi(6);
    let lon = ORIGIN_LON_DEG.to_radians() + t10 * d - t11 * d.powi(3) + t12 * d.powi(5) - t12a * d.powi(7);
    (lon.to_degrees(), lat.to_degrees())
}

#[cfg(test)]
mod tests {
    use super::*;

    const LAT_DEG: f64 = 52.0 + 39.0 / 60.0 + 27.2531 / 3600.0;
    const LON_DEG: f64 = 1.0 + 43.0 / 60.0 + 4.5177 / 3600.0;

    /// Ordnance Survey, A guide to coordinate systems in Great Britain, annex C, worked example on Airy 1830.
    #[test]
    fn the_guides_worked_example_comes_out_with_its_intermediates() {
        let at = AIRY_1830.at(LAT_DEG.to_radians());
        let t = forward_terms(&at, LAT_DEG.to_radians());
        let published = [
            (at.nu, 6_388_502.333_9),
            (at.rho, 6_372_756.439_8),
            (at.eta2, 2.470_813_733_4e-3),
            (at.arc, 406_688.295_95),
            (t[0], 306_688.295_95),
            (t[1], 1_540_407.909_4),
            (t[2], 156_068.754_3),
            (t[3], -20_671.123_013),
            (t[4], 3_875_120.575_2),
            (t[5], -170_000.782_07),
            (t[6], -101_344.704_37),
        ];
        for (number, (ours, theirs)) in published.into_iter().enumerate() {
            assert!((ours / theirs - 1.0).abs() < 1e-9, "term {number}: {ours} against {theirs}");
        }
        let (east, north) = project(AIRY_1830, LON_DEG, LAT_DEG);
        assert!((east - 651_409.903).abs() < 5e-4 && (north - 313_177.270).abs() < 5e-4, "{east} {north}");
        let (lon, lat) = unproject(AIRY_1830, 651_409.903, 313_177.270);
        assert!((lon - LON_DEG).abs() < 1e-8 && (lat - LAT_DEG).abs() < 1e-8, "{lon} {lat}");
    }

    /// EPSG Guidance Note 7-2, Transverse Mercator example; the note prints rounded constants, hence 1 cm.
    #[test]
    fn the_epsg_example_comes_out() {
        let (east, north) = project(AIRY_1830, 0.5, 50.5);
        assert!((east - 577_274.99).abs() < 0.01 && (north - 69_740.50).abs() < 0.01, "{east} {north}");
    }
}
