//! The kinds of thing that can be imported.

use crate::words::Word;

/// What the rows of a source are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// The outline of the land the plan is for.
    Boundary,
    /// Fields and hill units.
    Parcels,
    /// Surveyed vegetation.
    Patches,
    /// Woods and plantations.
    Woods,
    /// Display grounds.
    Leks,
    /// Dawn visits to leks; also called counts.
    Visits,
    /// Brood counts.
    Broods,
    /// Fences and walls.
    Fences,
    /// Ditches and grips.
    Ditches,
    /// Burns, becks, rivers.
    Watercourses,
    /// Tracks, paths and roads.
    Tracks,
    /// Overhead and buried services.
    Services,
    /// Buildings.
    Buildings,
    /// Protected and no-go areas.
    Areas,
    /// Sward heights by stick.
    Sticks,
    /// Peat depths by probe.
    Probes,
    /// Stock by parcel, class and month.
    Stock,
    /// Measures of an option: pieces of work, on areas, along lines, or without a place.
    Measures,
}

impl Word for Kind {
    const WORDS: &'static [(Self, &'static str, &'static [&'static str])] = &[
        (Kind::Boundary, "boundary", &["outline", "holding"]),
        (Kind::Parcels, "parcels", &["parcel", "fields"]),
        (Kind::Patches, "patches", &["patch", "vegetation"]),
        (Kind::Woods, "woods", &["wood"]),
        (Kind::Leks, "leks", &["lek"]),
        (Kind::Visits, "visits", &["visit", "counts", "count"]),
        (Kind::Broods, "broods", &["brood", "brood counts", "brood count"]),
        (Kind::Fences, "fences", &["fence"]),
        (Kind::Ditches, "ditches", &["ditch", "grips"]),
        (Kind::Watercourses, "watercourses", &["watercourse", "burns", "becks", "streams"]),
        (Kind::Tracks, "tracks", &["track", "paths", "roads"]),
        (Kind::Services, "services", &["service"]),
        (Kind::Buildings, "buildings", &["building"]),
        (Kind::Areas, "areas", &["area"]),
        (Kind::Sticks, "sticks", &["stick", "sward heights"]),
        (Kind::Probes, "probes", &["probe", "peat depths"]),
        (Kind::Stock, "stock", &[]),
        (Kind::Measures, "measures", &["measure"]),
    ];

    fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(kind, _, _)| *kind == self).map_or("", |(_, word, _)| word)
    }
}

/// The form a kind has on the ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Polygons.
    Area,
    /// Lines.
    Line,
    /// Single points.
    Point,
    /// Polygons or lines, or no place of its own.
    Either,
    /// A single point, or no place of its own.
    PointOrNone,
    /// No place of its own.
    None,
}

impl Form {
    /// The form in words, for messages.
    pub fn words(self) -> &'static str {
        match self {
            Form::Area => "an area (polygon)",
            Form::Line => "a line",
            Form::Point => "a single point",
            Form::Either => "an area (polygon) or a line",
            Form::PointOrNone => "a single point, or no geometry",
            Form::None => "no geometry",
        }
    }
}

impl Kind {
    /// The form this kind has on the ground.
    pub fn form(self) -> Form {
        match self {
            Kind::Boundary | Kind::Parcels | Kind::Patches | Kind::Woods | Kind::Buildings | Kind::Areas => Form::Area,
            Kind::Fences | Kind::Ditches | Kind::Watercourses | Kind::Tracks | Kind::Services => Form::Line,
            Kind::Leks | Kind::Sticks | Kind::Probes => Form::Point,
            Kind::Visits | Kind::Broods => Form::PointOrNone,
            Kind::Stock => Form::None,
            Kind::Measures => Form::Either,
        }
    }

    /// The word that begins an id made for a feature that came without one.
    pub(super) fn id_stem(self) -> &'static str {
        match self {
            Kind::Boundary => "boundary",
            Kind::Parcels => "parcel",
            Kind::Patches => "patch",
            Kind::Woods => "wood",
            Kind::Leks => "lek",
            Kind::Visits => "visit",
            Kind::Broods => "brood",
            Kind::Fences => "fence",
            Kind::Ditches => "ditch",
            Kind::Watercourses => "watercourse",
            Kind::Tracks => "track",
            Kind::Services => "service",
            Kind::Buildings => "building",
            Kind::Areas => "area",
            Kind::Sticks => "stick",
            Kind::Probes => "probe",
            Kind::Stock => "stock",
            Kind::Measures => "measure",
        }
    }
}
