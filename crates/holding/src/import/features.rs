//! What came out of an import, and how it goes into the holding.

use super::kind::Kind;
use crate::model::*;
use crate::plan::shown::{Shown, meaning, shown};
use crate::plan::Outline;
use geo::unary_union;
use geo_types::MultiPolygon;

/// Whether an import joins what is there or takes its place.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mode {
    /// Join what is there; an id that is there already is a fault.
    #[default]
    Add,
    /// Take the place of everything of the kind.
    Replace,
}

/// Features of one kind.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub enum Features {
    /// The outline, and the holding's name where the source gave one.
    Boundary(MultiPolygon<f64>, String),
    Parcels(Vec<Parcel>),
    Patches(Vec<Patch>),
    Woods(Vec<Wood>),
    Leks(Vec<Lek>),
    Visits(Vec<Visit>),
    Broods(Vec<BroodCount>),
    Fences(Vec<Fence>),
    Ditches(Vec<Ditch>),
    Watercourses(Vec<Watercourse>),
    Tracks(Vec<Track>),
    Services(Vec<Service>),
    Buildings(Vec<Building>),
    Areas(Vec<Area>),
    Sticks(Vec<Stick>),
    Probes(Vec<Probe>),
    Stock(Vec<Stock>),
    /// Their option's number is 0 where no column says it.
    Measures(Vec<Measure>),
}

macro_rules! each_list {
    ($features:expr, $new:ident => $do:expr, $boundary:pat => $outline:expr) => {
        match $features {
            $boundary => $outline,
            Features::Parcels($new) => $do,
            Features::Patches($new) => $do,
            Features::Woods($new) => $do,
            Features::Leks($new) => $do,
            Features::Visits($new) => $do,
            Features::Broods($new) => $do,
            Features::Fences($new) => $do,
            Features::Ditches($new) => $do,
            Features::Watercourses($new) => $do,
            Features::Tracks($new) => $do,
            Features::Services($new) => $do,
            Features::Buildings($new) => $do,
            Features::Areas($new) => $do,
            Features::Sticks($new) => $do,
            Features::Probes($new) => $do,
            Features::Stock($new) => $do,
            Features::Measures($new) => $do,
        }
    };
}

impl Features {
    /// The first of them as their rows would stand in the plan.
    pub fn shown(&self, most: usize) -> Vec<Shown> {
        each_list!(self, new => new.iter().take(most).map(shown).collect(), Features::Boundary(shape, _) => vec![shown(&Outline(shape.clone()))])
    }

    /// Their ids.
    pub fn ids(&self) -> Vec<String> {
        each_list!(self, new => new.iter().map(|f| f.id.clone()).collect(), Features::Boundary(..) => vec![])
    }

    /// Put the features into a holding.
    pub(super) fn apply(self, holding: &mut Holding, mode: Mode) {
        fn put<T>(into: &mut Vec<T>, new: Vec<T>, mode: Mode) {
            if mode == Mode::Replace {
                into.clear();
            }
            into.extend(new);
        }
        match self {
            Features::Boundary(shape, name) => {
                holding.boundary = Some(match (mode, holding.boundary.take()) {
                    (Mode::Add, Some(old)) => unary_union(old.0.iter().chain(&shape.0)),
                    _ => shape,
                });
                if holding.about.name.is_empty() {
                    holding.about.name = name;
                }
            }
            Features::Parcels(new) => put(&mut holding.parcels, new, mode),
            Features::Patches(new) => put(&mut holding.patches, new, mode),
            Features::Woods(new) => put(&mut holding.woods, new, mode),
            Features::Leks(new) => put(&mut holding.leks, new, mode),
            Features::Visits(new) => put(&mut holding.visits, new, mode),
            Features::Broods(new) => put(&mut holding.broods, new, mode),
            Features::Fences(new) => put(&mut holding.fences, new, mode),
            Features::Ditches(new) => put(&mut holding.ditches, new, mode),
            Features::Watercourses(new) => put(&mut holding.watercourses, new, mode),
            Features::Tracks(new) => put(&mut holding.tracks, new, mode),
            Features::Services(new) => put(&mut holding.services, new, mode),
            Features::Buildings(new) => put(&mut holding.buildings, new, mode),
            Features::Areas(new) => put(&mut holding.areas, new, mode),
            Features::Sticks(new) => put(&mut holding.sticks, new, mode),
            Features::Probes(new) => put(&mut holding.probes, new, mode),
            Features::Stock(new) => put(&mut holding.stock, new, mode),
            Features::Measures(new) => put(&mut holding.measures, new, mode),
        }
    }
}

impl Kind {
    /// What a field of this kind says, with its unit, where the plan file has a column for it.
    pub fn meaning(self, field: &str) -> Option<String> {
        match self {
            Kind::Boundary => meaning::<Outline>(field),
            Kind::Parcels => meaning::<Parcel>(field),
            Kind::Patches => meaning::<Patch>(field),
            Kind::Woods => meaning::<Wood>(field),
            Kind::Leks => meaning::<Lek>(field),
            Kind::Visits => meaning::<Visit>(field),
            Kind::Broods => meaning::<BroodCount>(field),
            Kind::Fences => meaning::<Fence>(field),
            Kind::Ditches => meaning::<Ditch>(field),
            Kind::Watercourses => meaning::<Watercourse>(field),
            Kind::Tracks => meaning::<Track>(field),
            Kind::Services => meaning::<Service>(field),
            Kind::Buildings => meaning::<Building>(field),
            Kind::Areas => meaning::<Area>(field),
            Kind::Sticks => meaning::<Stick>(field),
            Kind::Probes => meaning::<Probe>(field),
            Kind::Stock => meaning::<Stock>(field),
            Kind::Measures => meaning::<Measure>(field),
        }
    }
}

/// The ids a holding has of a kind.
pub(super) fn ids(holding: &Holding, kind: Kind) -> Vec<&str> {
    macro_rules! of {
        ($list:ident) => {
            holding.$list.iter().map(|f| f.id.as_str()).collect()
        };
    }
    match kind {
        Kind::Boundary => vec![],
        Kind::Parcels => of!(parcels),
        Kind::Patches => of!(patches),
        Kind::Woods => of!(woods),
        Kind::Leks => of!(leks),
        Kind::Visits => of!(visits),
        Kind::Broods => of!(broods),
        Kind::Fences => of!(fences),
        Kind::Ditches => of!(ditches),
        Kind::Watercourses => of!(watercourses),
        Kind::Tracks => of!(tracks),
        Kind::Services => of!(services),
        Kind::Buildings => of!(buildings),
        Kind::Areas => of!(areas),
        Kind::Sticks => of!(sticks),
        Kind::Probes => of!(probes),
        Kind::Stock => of!(stock),
        Kind::Measures => of!(measures),
    }
}
