//! The yearly step of every stand: all processes in their order.
//!
//! **The survey is the anchor.** At the start the model computes what it would predict under the present stock and carries along how the
//! survey differs: sward height and its spread by their odds against the prediction, tree heights and canopy by their ratio, covers by
//! how far the use of a year departs from that under the present stock. With
//! unchanged stock a sward so stays as surveyed, apart from ageing, growth and succession; what changes is driven by management.
//! Ground over-used for years is therefore not predicted to go on losing heather: the model does not know for how long it has.
//!
//! A year runs: trees and heather grow on (heather by last year's use), works are done, stock graze from April to March, then
//! covers and heights follow. What a work of a year leaves (age nought) is what that year's stand shows.

use super::ask::Ask;
use super::covers::{set, settle, shift};
use super::grazing::Grazed;
use super::ground_layer::{Dim, Figures as Ground, Light};
use super::growth::{BERRIES, BOG, GRASS, KINDS};
use super::heather::Heath;
use super::sward::{Sward, Tall, Tie, mixed};
use super::trees::Stem;
use super::water::Wetted;
use super::work::Doing;
use super::{fields, grazing, growth, heather, plantation, shrubs, sward, trees, water};
use crate::class::Class;
use crate::state::{Feature, Stand};
use super::stock::Head;
use guidance::{Country, Guidance, Unknown};
use holding::Plant;

/// Where a stand lies, as far as its growth needs it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Place {
    /// Altitude, metres; `None`: the middle of hill ground.
    pub altitude_m: Option<f32>,
    /// Index into `holding.parcels`; `None`: no stock of the holding comes here.
    pub parcel: Option<usize>,
    /// Area, hectares.
    pub area_ha: f32,
}

/// A stand on its way: its state and what the years carry along.
#[derive(Clone, Debug)]
pub struct Moving {
    /// The state now.
    pub stand: Stand,
    /// Where it lies.
    pub place: Place,
    /// What the last growing year's grazing took.
    pub grazed: Grazed,
    /// Pattern and rankness of the field layer.
    pub sward: Sward,
    /// Heather: age, cover, years since a cut or burn.
    pub heath: Heath,
    /// Years for which stock are still kept out.
    pub stock_out_yr: u32,
    /// Years since trees were planted, felled, thinned or cleared by the plan.
    pub since_trees_yr: Option<u32>,
    pub(crate) shade: f32,
    pub(crate) forage: [f32; KINDS],
    pub(crate) grown: [f32; KINDS],
    pub(crate) eaten: [f32; KINDS],
    pub(crate) standing: [f32; KINDS],
    /// Share of the year's growth of the field layer eaten.
    pub(crate) field_eaten: f32,
    stems: Vec<Stem>,
    judged: f32,
    dim: Dim,
    /// Light at the start, and last year's.
    lit: Light,
    lit_before: Light,
    /// Covers in the light of the start: blaeberry, other berries, herbs.
    berries: [f32; 2],
    herbs: f32,
    /// At the survey: use of heather and blaeberry, share of ground grazed, herbs left by rankness.
    used: [f32; 2],
    grazed_before: f32,
    herbs_left: f32,
    tie_height: Tie,
    tie_spread: Tie,
    /// Class surveyed, and what the covers alone would then have said.
    class: (Class, Class),
    wetted: Option<Wetted>,
    felled: Option<plantation::Felled>,
    ploughed: Option<fields::Ploughed>,
    rush: Option<f32>,
    kept_cm: Option<f32>,
    cropped: bool,
    /// Greatest sum of covers: one, or the survey's.
    most: f32,
}

/// Figures of every process, at the middle of their spreads.
pub struct Processes {
    growth: growth::Figures,
    grazing: grazing::Figures,
    heather: heather::Figures,
    shrubs: shrubs::Figures,
    sward: sward::Figures,
    trees: trees::Figures,
    ground: Ground,
    water: water::Figures,
    plantation: plantation::Figures,
    fields: fields::Figures,
    young_heather_yr: f32,
    crop_from: f32,
    bracken_from: f32,
    closes_yr: f32,
    closed_canopy: f32,
}

/// Greatest coefficient of variation of height the anchor allows for; it only bounds the odds.
const CEILING_SPREAD: f32 = 1.5;
/// Years of grazing run before the start, so that what stands in April is what stands every April.
const WARM_YEARS: usize = 3;

impl Processes {
    /// Read every figure, and tell the keys used.
    ///
    /// # Errors
    /// The first key that is not held for the country.
    pub fn read(guidance: &Guidance, country: Country) -> Result<(Self, Vec<String>), Unknown> {
        let mut r = Ask { guidance, country, keys: Vec::new() };
        let out = Processes {
            growth: growth::Figures::read(&mut r)?,
            grazing: grazing::Figures::read(&mut r)?,
            heather: heather::Figures::read(&mut r)?,
            shrubs: shrubs::Figures::read(&mut r)?,
            sward: sward::Figures::read(&mut r)?,
            trees: trees::Figures::read(&mut r)?,
            ground: Ground::read(&mut r)?,
            water: water::Figures::read(&mut r)?,
            plantation: plantation::Figures::read(&mut r)?,
            fields: fields::Figures::read(&mut r)?,
            young_heather_yr: r.number("utilisation.heather.young_age")?,
            crop_from: r.number("class.crop_from")?,
            bracken_from: r.number("class.bracken_from")?,
            closes_yr: r.number("composition.young_forest_age_max")?,
            closed_canopy: r.number("wood.canopy.closed_from")?,
        };
        r.keys.sort();
        r.keys.dedup();
        Ok((out, r.keys))
    }

    /// Growth of forage: for those who plan grazing.
    pub fn growth(&self) -> &growth::Figures {
        &self.growth
    }

    /// Grazing: for those who plan it.
    pub fn grazing(&self) -> &grazing::Figures {
        &self.grazing
    }

    /// Heather: height by age and altitude, phases.
    pub fn heather(&self) -> &heather::Figures {
        &self.heather
    }

    /// Trees: height by species, age and altitude.
    pub fn trees(&self) -> &trees::Figures {
        &self.trees
    }

    /// Start from the surveyed state under the present stock. `places` go with `stands`; a stand without one lies nowhere in particular.
    pub fn start(&self, stands: Vec<Stand>, places: &[Place], stock: &Head) -> Vec<Moving> {
        let mut all: Vec<Moving> =
            stands.into_iter().enumerate().map(|(i, s)| self.moving(s, places.get(i).copied().unwrap_or_default())).collect();
        let ewes: Vec<[f32; 2]> = all.iter().map(|m| m.stand.ewes_per_ha).collect();
        for _ in 0..WARM_YEARS {
            self.graze(&mut all, stock);
        }
        for (m, ewes) in all.iter_mut().zip(ewes) {
            m.stand.ewes_per_ha = ewes;
            m.sward = self.sward.settled(m.field_eaten);
            self.root(m);
        }
        all
    }

    fn moving(&self, stand: Stand, place: Place) -> Moving {
        let heath = self.heather.start(&stand, place.altitude_m);
        let stems = self.trees.start(&stand, place.altitude_m);
        let judged = self.trees.judged(&stand);
        let shade = self.trees.shade(&stand);
        let dim = Dim { shade, canopy: stand.canopy };
        let lit = self.ground.light(&dim, stand.open);
        let class = (stand.class, self.by_covers(&stand));
        let tie = self.sward.tie_height(1.0, 1.0);
        let most = stand.covers.iter().sum::<f32>().max(1.0);
        Moving {
            most,
            shade: shade * (1.0 - stand.open),
            stand,
            place,
            heath,
            stems,
            judged,
            dim,
            lit,
            lit_before: lit,
            class,
            tie_height: tie,
            tie_spread: tie,
            grazed: Grazed::default(),
            sward: Sward::default(),
            stock_out_yr: 0,
            since_trees_yr: None,
            forage: [0.0; KINDS],
            grown: [0.0; KINDS],
            eaten: [0.0; KINDS],
            standing: [0.0; KINDS],
            field_eaten: 0.0,
            berries: [0.0; 2],
            herbs: 0.0,
            used: [0.0; 2],
            grazed_before: 0.0,
            herbs_left: 1.0,
            wetted: None,
            felled: None,
            ploughed: None,
            rush: None,
            kept_cm: None,
            cropped: false,
        }
    }

    /// Take the stand as it is for the anchor of its covers and height.
    fn root(&self, m: &mut Moving) {
        let c = &m.stand.covers;
        m.berries = [c[Plant::Blaeberry as usize], c[Plant::OtherBerries as usize]];
        m.herbs = c[Plant::Herbs as usize];
        m.used = [m.grazed.heather, m.grazed.blaeberry];
        m.grazed_before = m.sward.grazed;
        m.herbs_left = self.sward.herbs_left(&m.sward);
        let (mean, sd) = self.predicted(m);
        if mean > 0.0 && m.stand.height_cm > 0.0 {
            m.tie_height = self.sward.tie_height(m.stand.height_cm, mean);
            m.tie_spread = Tie::new(m.stand.height_sd_cm / m.stand.height_cm, sd / mean, CEILING_SPREAD);
        }
    }

    /// One year on. `works[i]` are the doings that fall on stand i this year; `stock` is that of this year. The last argument, the year
    /// counted from the plan's day, changes nothing in itself: years differ by their works and stock only.
    pub fn year(&self, all: &mut [Moving], works: &[Vec<&Doing>], stock: &Head, _year: u32) {
        for (i, m) in all.iter_mut().enumerate() {
            self.grow_on(m);
            for doing in works.get(i).map_or(&[][..], |w| &w[..]) {
                self.work(m, doing);
            }
            self.trees.write(&mut m.stand, m.judged);
            self.ground.year(&mut m.dim, self.trees.shade(&m.stand), m.stand.canopy);
            m.shade = m.dim.shade * (1.0 - m.stand.open);
            // Where the trees have gone the ground plants still come out of the old shade.
            if m.stand.trees.is_empty() && m.stand.canopy == 0.0 {
                m.shade = m.dim.shade;
            }
        }
        self.graze(all, stock);
        for m in all.iter_mut() {
            self.follow(m);
        }
    }

    /// Trees and heather grow to this spring.
    fn grow_on(&self, m: &mut Moving) {
        (m.kept_cm, m.cropped) = (None, false);
        let among = if m.stock_out_yr > 0 { 0.0 } else { 0.5 * (m.stand.ewes_per_ha[0] + m.stand.ewes_per_ha[1]) };
        if !m.stand.trees.is_empty() || m.stand.canopy > 0.0 {
            m.stand.wood_age_yr += 1.0;
        }
        self.trees.year(&mut m.stand, &m.stems, among, m.place.altitude_m);
        self.heather.year(&mut m.heath, m.grazed.heather);
        m.stock_out_yr = m.stock_out_yr.saturating_sub(1);
        m.since_trees_yr = m.since_trees_yr.map(|y| y + 1);
    }

    fn work(&self, m: &mut Moving, doing: &Doing) {
        match doing {
            Doing::Plant { stems, open, stock_out_yr } => {
                self.plant(m, stems, *open);
                m.stock_out_yr = m.stock_out_yr.max(*stock_out_yr);
            }
            Doing::CutHeather { height_cm } => {
                self.heather.cut(&mut m.heath, m.tie_height.back(*height_cm));
                m.sward.rank = 0.0;
            }
            Doing::BurnHeather => {
                self.heather.cut(&mut m.heath, 0.0);
                m.sward.rank = 0.0;
            }
            Doing::Thin { keep } => {
                plantation::thin(&mut m.stand, *keep);
                m.since_trees_yr = Some(0);
            }
            Doing::Fell => self.fell(m),
            Doing::Restock { stems, open } => {
                self.fell(m);
                self.plant(m, stems, *open);
            }
            Doing::Wet => {
                m.wetted.get_or_insert_with(|| self.water.wet(&m.stand));
            }
            Doing::Scrape => self.water.scrape(&mut m.stand),
            Doing::Mow { height_cm } => {
                m.sward.rank = 0.0;
                self.heather.trim(&mut m.heath, m.tie_height.back(*height_cm));
            }
            Doing::CutRush { share } => {
                m.rush.get_or_insert(m.stand.covers[Plant::Rush as usize]);
                self.fields.cut_rush(&mut m.stand.covers, *share);
            }
            Doing::Crop { left } => {
                let before = self.fields.sow(&mut m.stand.covers, &mut m.stand.stubble, *left);
                m.ploughed.get_or_insert(before);
                m.cropped = true;
            }
            Doing::KeepShort { height_cm } => {
                m.kept_cm = Some(m.kept_cm.map_or(*height_cm, |k| k.min(*height_cm)));
                m.sward.rank = 0.0;
                self.heather.trim(&mut m.heath, m.tie_height.back(*height_cm));
            }
            Doing::ClearTrees => {
                plantation::clear(&mut m.stand);
                m.stand.wooded = false;
                m.stems.clear();
                m.since_trees_yr = Some(0);
            }
            Doing::Quiet => {}
        }
    }

    fn plant(&self, m: &mut Moving, stems: &[(holding::Tree, f32)], open: f32) {
        self.trees.plant(&mut m.stand, stems, &mut m.stems);
        m.stand.wooded = true;
        (m.judged, m.stand.wood_age_yr, m.stand.open, m.since_trees_yr) = (1.0, 0.0, open.clamp(0.0, 1.0), Some(0));
    }

    fn fell(&self, m: &mut Moving) {
        let was_closed = m.stand.canopy >= self.closed_canopy;
        let felled = self.plantation.fell(&mut m.stand);
        m.stand.wooded = false;
        m.stems.clear();
        m.since_trees_yr = Some(0);
        if was_closed {
            m.felled = Some(felled);
        }
    }

    /// Every parcel's stands through the growing year.
    fn graze(&self, all: &mut [Moving], stock: &Head) {
        let mut order: Vec<usize> = (0..all.len()).collect();
        order.sort_by_key(|i| all[*i].place.parcel);
        let mut from = 0;
        while from < order.len() {
            let parcel = all[order[from]].place.parcel;
            let to = from + order[from..].iter().take_while(|i| all[**i].place.parcel == parcel).count();
            self.grazing.year(&self.growth, all, &order[from..to], parcel, stock);
            from = to;
        }
    }

    /// Covers, heights and class follow the year.
    fn follow(&self, m: &mut Moving) {
        self.sward.year(&mut m.sward, m.field_eaten);
        let light = self.ground.light(&m.dim, m.stand.open);
        if !m.cropped && let Some(p) = m.ploughed.take() {
            p.undo(&mut m.stand.covers, &mut m.stand.stubble);
        }
        if m.cropped {
            (m.stand.height_cm, m.stand.height_sd_cm) = self.fields.crop_cm();
        } else {
            self.cover(m, &light);
            let (mean, sd) = self.predicted(m);
            if mean > 0.0 {
                m.stand.height_cm = m.tie_height.of(mean);
                m.stand.height_sd_cm = m.stand.height_cm * m.tie_spread.of(sd / mean);
            }
        }
        if let Some(kept) = m.kept_cm {
            m.stand.height_cm = m.stand.height_cm.min(kept);
            m.stand.height_sd_cm = m.stand.height_sd_cm.min(m.stand.height_cm);
        }
        m.lit_before = light;
        self.heather.write(&m.heath, &mut m.stand);
        m.stand.class = self.class(m);
    }

    fn cover(&self, m: &mut Moving, light: &Light) {
        let c = &mut m.stand.covers;
        if let Some(f) = &mut m.felled {
            if self.plantation.year(f, c) {
                m.felled = None;
                m.lit = *light;
                let heather = c[Plant::Heather as usize];
                m.heath.reset(heather);
                m.berries = [c[Plant::Blaeberry as usize], c[Plant::OtherBerries as usize]];
                (m.herbs, m.herbs_left) = (c[Plant::Herbs as usize], self.sward.herbs_left(&m.sward));
                m.used = [m.grazed.heather, m.grazed.blaeberry];
            }
            settle(c, m.most);
            return;
        }
        let grow = |cover: f32, pace: f32| (cover * (1.0 + pace * if pace > 0.0 { 1.0 - cover } else { 1.0 })).clamp(0.0, 1.0);
        // Grass and herbs thin or thicken with the light; what they leave is moss and bare ground.
        let grass = Ground::ratio(light.grass, m.lit_before.grass);
        for plant in [Plant::SedgeGrass, Plant::Rush, Plant::CottonGrass] {
            let to = c[plant as usize] * grass;
            set(c, plant, to, &[Plant::Bare, Plant::Moss]);
        }
        let herbs = m.herbs * self.sward.herbs_left(&m.sward) / m.herbs_left * Ground::ratio(light.grass, m.lit.grass);
        let step = self.sward.herbs_pace * (herbs - c[Plant::Herbs as usize]);
        shift(c, Plant::Herbs, step, &[Plant::SedgeGrass]);
        // Dwarf shrubs.
        let young = m.heath.known && m.heath.age_yr < self.young_heather_yr;
        m.heath.ground = grow(m.heath.ground, self.shrubs.heather(m.used[0], m.grazed.heather, young));
        let heather = self.heather.covered(&m.heath) * Ground::ratio(light.heather, m.lit.heather);
        let worked = m.heath.since_work_yr == Some(0);
        let partners: &[Plant] =
            if worked { &[Plant::Bare] } else { &[Plant::SedgeGrass, Plant::Bare, Plant::Herbs, Plant::Bracken] };
        set(c, Plant::Heather, heather, partners);
        let pace = self.shrubs.berries(m.used[1], m.grazed.blaeberry);
        let lit = Ground::ratio(light.berries, m.lit.berries);
        m.berries[0] = grow(m.berries[0], pace);
        for (i, plant) in [Plant::Blaeberry, Plant::OtherBerries].into_iter().enumerate() {
            set(c, plant, (m.berries[i] * lit).min(1.0), &[Plant::SedgeGrass, Plant::Bare, Plant::Heather]);
        }
        let bracken = grow(c[Plant::Bracken as usize], self.shrubs.bracken(m.grazed_before, m.sward.grazed));
        set(c, Plant::Bracken, bracken, &[Plant::SedgeGrass, Plant::Herbs]);
        if let Some(full) = m.rush {
            self.fields.regrow_rush(c, full);
        }
        if let Some(w) = &mut m.wetted {
            self.water.year(w, &mut m.stand.wetness, c);
        }
        settle(c, m.most);
    }

    /// Mean height and spread the model predicts, before the anchor.
    fn predicted(&self, m: &Moving) -> Tall {
        let c = |p: Plant| m.stand.covers[p as usize];
        let green = c(Plant::SedgeGrass) + c(Plant::Herbs) + c(Plant::CottonGrass) + c(Plant::Rush) + c(Plant::Blaeberry) + c(Plant::OtherBerries);
        let grown = m.forage[GRASS] + m.forage[BOG] + m.forage[BERRIES];
        let vigour = if green > 0.0 { grown / green / self.growth.reference() } else { 0.0 };
        let light = self.ground.light(&m.dim, m.stand.open).heather;
        let heather = m.heath.ground.max(c(Plant::Heather)) * Ground::ratio(light, m.lit.heather).min(1.0);
        mixed(&[
            (heather, self.sward.heather(self.heather.tall_cm(&m.heath) * light)),
            (green, self.sward.field(&m.sward, vigour)),
        ])
    }

    fn by_covers(&self, s: &Stand) -> Class {
        Class::of_patch(None, &s.covers, self.crop_from, self.bracken_from)
    }

    /// The class now: a wood's by its trees; open ground keeps its surveyed class until its covers alone say another than they did.
    fn class(&self, m: &Moving) -> Class {
        let s = &m.stand;
        if matches!(s.feature, Feature::Wood(_)) && (!s.trees.is_empty() || s.canopy > 0.0) {
            return Class::of_wood(&s.trees, s.canopy, s.wood_age_yr, self.closes_yr, self.closed_canopy);
        }
        let now = self.by_covers(s);
        let was_wood = matches!(m.class.0, Class::NativeWood | Class::YoungConifer | Class::ClosedConifer);
        if now == m.class.1 && !was_wood { m.class.0 } else { now }
    }
}
