#!/usr/bin/env python3
"""The ledger of a plan, cell by cell in NumPy and SciPy: a reference for speed and for the answer.

Written from docs/ledger.md, sharing no code with the product: it reads the plan with sqlite3 and shapely, the figures
from the guidance tables, draws its own luck, and values every cell instead of facets. Used by benches/run.sh.

    ledger_numpy.py PLAN.gpkg GUIDANCE_DIR [DRAWS]

Prints one JSON object: median margin by lek and season, and the seconds spent. Stick readings, stock, stubbles and
measured flushes are left out: the bench plans have none that count.
"""
import csv, glob, json, math, os, sqlite3, sys, time

import numpy as np
import rasterio.features
import rasterio.transform
import shapely
from scipy import ndimage
from scipy.stats import norm
from scipy.special import erf

PLANTS = "heather blaeberry other_berries cotton_grass rush sedge_grass herbs bracken moss bare crop".split()
SEASONS = "display pre_laying nest brood autumn winter snowbound".split()
FOODS = "heather berries cotton_sedge herbs_seeds tree".split()
REACH = dict(display="display", pre_laying="nesting", nest="nesting", brood="brood", autumn="winter", winter="winter", snowbound="winter")


class Tables:
    def __init__(self, folder, draws, rng):
        self.rows, self.curves, self.drawn, self.n, self.rng = {}, {}, {}, draws, rng
        for path in sorted(glob.glob(os.path.join(folder, "*.csv"))):
            if path.endswith("bibliography.csv"):
                continue
            for row in csv.DictReader(open(path, encoding="utf-8")):
                if row["country"] not in ("GB", ""):
                    continue
                if row["x"]:
                    self.curves.setdefault(row["key"], []).append((float(row["x"]), float(row["value"])))
                else:
                    self.rows[row["key"]] = row

    def mid(self, key, default=None):
        row = self.rows.get(key)
        return default if row is None else float(row["value"])

    def of(self, key):
        if key not in self.drawn:
            row = self.rows[key]
            v = float(row["value"])
            u = (self.rng.permutation(self.n) + self.rng.random(self.n)) / self.n
            if row["spread"] == "range":
                lo, hi = float(row["low"]), float(row["high"])
                below = (v - lo) / (hi - lo)
                d = np.where(u < below, lo + np.sqrt(u * (hi - lo) * max(v - lo, 0)), hi - np.sqrt((1 - u) * (hi - lo) * max(hi - v, 0)))
            elif row["spread"] == "uniform":
                d = float(row["low"]) + (float(row["high"]) - float(row["low"])) * u
            else:
                d = np.full(self.n, v)
            self.drawn[key] = d
        return self.drawn[key]


def geometry(blob):
    envelope = {0: 0, 1: 32, 2: 48, 3: 48, 4: 64}[(blob[3] >> 1) & 7]
    return shapely.from_wkb(blob[8 + envelope:])


def stands(db, t, year):
    out = []
    for row in db.execute("select * from patches order by coarse desc, fid"):
        code, coarse = row["phase1"], bool(row["coarse"])
        measured = [row[f"{p}_pct"] for p in PLANTS]
        recorded = sum(m is not None for m in measured)
        c = np.array([0.0 if m is None else m / 100 for m in measured])
        fill = np.array([t.mid(f"phase1.{code}.cover.{p}", 0.0) / 100 if m is None else 0.0 for p, m in zip(PLANTS, measured)])
        room = max(0.0, 1 - c.sum())
        c += fill * (room / fill.sum() if fill.sum() > room and fill.sum() > 0 else 1.0)
        origin = "coarse" if coarse else ("measured" if recorded >= 3 else "class")
        h = row["height_cm"]
        hfrom = "coarse" if coarse else ("measured" if h is not None else "class")
        if h is None:
            h = t.mid(f"phase1.{code}.height_cm")
        sd = row["height_sd_cm"]
        sfrom = "coarse" if coarse else ("measured" if sd is not None else "class")
        if sd is None:
            sd = h * t.mid(f"phase1.{code}.height_sd_cm") / max(1.0, t.mid(f"phase1.{code}.height_cm"))
        wet = row["wetness"] if row["wetness"] is not None else t.mid(f"phase1.{code}.wetness", 0.0)
        flush = bool(row["flush"]) or (code or "").startswith("E2")
        out.append(dict(shape=geometry(row["geom"]), covers=c, h=h, sd=sd, wet=max(wet, 0.9) if flush else wet, flush=flush, wood=False, canopy=0.0, open=1.0, age=0.0, trees=[], cv=(origin, hfrom, sfrom)))
    stems = {}
    for row in db.execute("select * from wood_stems"):
        stems.setdefault(row["wood_id"], []).append(row)
    for row in db.execute("select * from woods order by fid"):
        age = max(0, year - row["planted_year"])
        trees, gap = [], 1.0
        for s in stems.get(row["id"], []):
            key = s["tree"]
            a, k, p = 0.5 * (t.mid(f"tree.height.{key}.sheltered") + t.mid(f"tree.height.{key}.exposed")), t.mid(f"tree.height.{key}.rate"), t.mid("tree.height.power")
            h = a * (1 - math.exp(-k * age)) ** p
            crown = h * t.mid(f"tree.crown.{key}")
            cover = 1 - math.exp(-s["stems_per_ha"] * math.pi * crown ** 2 / 4 / 1e4)
            trees.append((key, cover, age >= t.mid(f"tree.first_fruit.{key}")))
            gap *= 1 - cover
        under = "A1.2.2" if any(k in ("spruce", "planted_pine") for k, _, _ in trees) else "A1.1.2"
        c = np.array([t.mid(f"phase1.{under}.cover.{p}", 0.0) / 100 for p in PLANTS])
        out.append(dict(shape=geometry(row["geom"]), covers=c, h=t.mid(f"phase1.{under}.height_cm"), sd=t.mid(f"phase1.{under}.height_sd_cm"), wet=t.mid(f"phase1.{under}.wetness"), flush=False, wood=True, canopy=1 - gap, open=0.0, age=age, trees=trees, cv=("class", "class", "class")))
    return out


def ramp(mean, sd, a, b):
    sd = max(sd, 0.1)
    def excess(k):
        z = (mean - k) / sd
        return (mean - k) * 0.5 * (1 + erf(z / math.sqrt(2))) + sd * math.exp(-z * z / 2) / math.sqrt(2 * math.pi)
    return min(max((excess(a) - excess(b)) / (b - a), 0.0), 1.0), excess(a)


def stand_value(s, season, d, t, errors, age_curve):
    """Value of one stand in one season and draw, place left out."""
    z = errors[d]
    factor = lambda cv, z: math.exp(math.sqrt(math.log1p(cv * cv)) * z - 0.5 * math.log1p(cv * cv))
    cvs = (t.mid(f"survey.cv.cover.{s['cv'][0]}"), t.mid(f"survey.cv.height.{s['cv'][1]}"), t.mid(f"survey.cv.height_spread.{s['cv'][2]}"))
    covers = np.minimum(s["covers"] * factor(cvs[0], z[0]), 1.0)
    h = s["h"] * factor(cvs[1], z[1])
    sd = h * (s["sd"] / s["h"] if s["h"] > 0 else 0) * factor(cvs[2], z[2])
    tree_food = min(1.0, sum(c * t.of(f"tree_food.{k}")[d] * (1 if bears else t.of("tree_food.before_bearing")[d]) for k, c, bears in s["trees"]))
    wood = 1.0
    if s["wood"]:
        by_age = np.interp(s["age"] + t.of("wood.age_shift_yr")[d], *age_curve)
        lo, hi = t.of("wood.canopy.open_below")[d], t.of("wood.canopy.closed_from")[d]
        openness = min(max((hi - s["canopy"] * (1 - s["open"])) / (hi - lo), 0), 1)
        wood = max(by_age, t.of("wood.open_score")[d] * openness)
    food = {f: t.of(f"season.{season}.food.{f}")[d] for f in FOODS}
    bearing = covers.copy()
    share = ramp(h, sd, 0, 1)
    if season == "snowbound":
        above = min(max(ramp(h, sd, t.of("season.snowbound.depth_cm")[d], 1e9)[1] / max(h, 0.1), 0), 1)
        bearing = np.array([c * (above if p == "heather" else 1.0 if p == "crop" else 0.0) for p, c in zip(PLANTS, covers)])
    total = food["tree"] * tree_food
    for p, c in zip(PLANTS, bearing):
        for f in FOODS[:4]:
            if f"food.part.{p}.{f}" in t.rows:
                total += c * t.of(f"food.part.{p}.{f}")[d] * food[f]
    F = 1 - math.exp(-total / t.of(f"season.{season}.food_half")[d])
    if season == "brood":
        wet = 1 + (t.of("season.brood.invertebrates.wet")[d] - 1) * s["wet"]
        insects = sum(c * t.of(f"season.brood.invertebrates.{p}")[d] for p, c in zip(PLANTS, covers) if p != "bare") * wet
        part = t.of("season.brood.invertebrate_share")[d]
        F = part * (1 - math.exp(-insects / t.of("season.brood.invertebrates.half")[d])) + (1 - part) * F
    if season == "snowbound":
        o = t.of("season.snowbound.cover.open")[d]
        C = o + (1 - o) * min(s["canopy"] / t.of("season.snowbound.cover.canopy_full")[d], 1)
        wood = 1.0
    else:
        lim = [t.of(f"season.{season}.sward_cm.{n}")[d] for n in ("none_below", "full_from", "full_to", "none_above")]
        for i in range(1, 4):
            lim[i] = max(lim[i], lim[i - 1] + 0.5)
        C = max(ramp(h, sd, lim[0], lim[1])[0] - ramp(h, sd, lim[2], lim[3])[0], 0)
        if season == "brood":
            x = (sd / max(h, 0.1) - t.of("season.brood.variation.best")[d]) / t.of("season.brood.variation.width")[d]
            C *= math.exp(-0.5 * x * x)
        if season == "nest":
            plants = covers[0] + covers[4] + t.of("season.nest.plant.sedge_grass")[d] * covers[5]
            C *= 1 - math.exp(-plants / t.of("season.nest.plants_half")[d])
    a, b = t.mid(f"season.{season}.weight.food"), t.mid(f"season.{season}.weight.cover")
    return min(max(F ** (a / (a + b)) * C ** (b / (a + b)) * wood, 0), 1)


def main():
    begun = time.perf_counter()
    plan, folder = sys.argv[1:3]
    draws = int(sys.argv[3]) if len(sys.argv) > 3 else 200
    rng = np.random.default_rng(1)
    t = Tables(folder, draws, rng)
    db = sqlite3.connect(f"file:{plan}?mode=ro", uri=True)
    db.row_factory = sqlite3.Row
    about = {r["key"]: r["value"] for r in db.execute("select key, value from about")}
    year, cell = int(about["as_at"][:4]), float(about["cell_m"])
    all_stands = stands(db, t, year)
    leks = [(geometry(r["geom"]), r["id"]) for r in db.execute("select * from leks order by fid")]
    counts = {}
    for r in db.execute("select lek_id, visited_on, cocks from visits where cocks is not null"):
        k = r["lek_id"]
        counts[k] = max(counts.get(k, (0, 0)), (int(r["visited_on"][:4]), r["cocks"]))
    cocks = np.array([max(counts.get(k, (0, 1))[1], 1) for _, k in leks], float)
    target = np.array([max(t.mid("need.target_cocks"), counts.get(k, (0, 0))[1]) for _, k in leks])

    # Ground within reach.
    sigma = lambda r: r / math.sqrt(-2 * math.log(0.05))
    widest = max(3 * sigma(float(t.rows[f"reach.{k}_m"]["high"])) for k in ("display", "nesting", "brood", "winter"))
    bounds = np.array([s["shape"].bounds for s in all_stands])
    px, py = np.array([g.x for g, _ in leks]), np.array([g.y for g, _ in leks])
    west, south = max(bounds[:, 0].min(), px.min() - widest), max(bounds[:, 1].min(), py.min() - widest)
    east, north = min(bounds[:, 2].max(), px.max() + widest), min(bounds[:, 3].max(), py.max() + widest)
    west, north = math.floor(west / cell) * cell, math.ceil(north / cell) * cell
    cols, rows = math.ceil((east - west) / cell), math.ceil((north - south) / cell)
    transform = rasterio.transform.from_origin(west, north, cell, cell)
    stand = rasterio.features.rasterize(((s["shape"], i + 1) for i, s in enumerate(all_stands)), (rows, cols), transform=transform, dtype="int32") - 1
    x = west + (np.arange(cols) + 0.5) * cell
    y = north - (np.arange(rows) + 0.5) * cell
    mapped = stand >= 0
    open_ground = mapped & ~np.array([s["wood"] for s in all_stands] + [False])[stand]
    flag = lambda f: np.array([f(s) for s in all_stands] + [False])[stand]
    far = 5 * max(t.mid("site.tall_cover.scale_m"), t.mid("site.flush.scale_m"), t.mid("site.tree_food.scale_m"))
    near = lambda m: np.minimum(ndimage.distance_transform_edt(~m, sampling=cell), far) if m.any() else np.full(m.shape, far)
    depth = near(~flag(lambda s: s["wood"]))
    flush = near(flag(lambda s: s["flush"]))
    tall_cm, tall_share = t.mid("site.tall_cover.height_cm"), t.mid("site.tall_cover.share")
    cover = near(flag(lambda s: (s["h"] >= tall_cm and s["covers"][0] + s["covers"][4] >= tall_share) or s["canopy"] >= tall_share))
    trees = near(flag(lambda s: sum(c * t.mid(f"tree_food.{k}") for k, c, _ in s["trees"]) >= t.mid("site.tree_food.share")))
    lines = [geometry(r["geom"]) for r in db.execute("select geom from tracks")]
    ways = near(rasterio.features.rasterize(((g, 1) for g in lines), (rows, cols), transform=transform, all_touched=True, dtype="uint8") > 0 if lines else np.zeros((rows, cols), bool))
    # Heights through GDAL, put on the cells.
    with rasterio.open(f"GPKG:{os.path.abspath(plan)}:heights") as src:
        from rasterio.warp import reproject, Resampling
        heights = np.full((rows, cols), np.nan, "float32")
        reproject(rasterio.band(src, 1), heights, dst_transform=transform, dst_crs=src.crs, resampling=Resampling.bilinear, dst_nodata=np.nan)
    p = np.pad(heights, 1, constant_values=np.nan)
    a, b, c, d_, f_, g, h, i = p[:-2, :-2], p[:-2, 1:-1], p[:-2, 2:], p[1:-1, :-2], p[1:-1, 2:], p[2:, :-2], p[2:, 1:-1], p[2:, 2:]
    slope = np.degrees(np.arctan(np.hypot((c + 2 * f_ + i - a - 2 * d_ - g) / (8 * cell), (g + 2 * h + i - a - 2 * b - c) / (8 * cell))))
    slope = np.nan_to_num(slope, nan=0.0)
    alt = np.where(np.isnan(heights), 0.5 * (t.mid("site.altitude_m.full_from") + t.mid("site.altitude_m.full_to")), heights)

    errors = [rng.standard_normal((draws, 3)) for _ in all_stands]
    age_curve = list(zip(*sorted(t.curves["wood.age_score"])))
    ha = cell * cell / 1e4
    margins = np.zeros((len(leks), 7, draws))
    for d in range(draws):
        kernels = {}
        for reach in set(REACH.values()):
            s = sigma(t.of(f"reach.{reach}_m")[d])
            ks = []
            for l in range(len(leks)):
                d2 = (x[None, :] - px[l]) ** 2 + (y[:, None] - py[l]) ** 2
                ks.append(np.where(d2 <= 9 * s * s, np.exp(-d2 / (2 * s * s)), 0.0))
            claims = sum(cocks[l] * ks[l] for l in range(len(leks)))
            whole = 2 * math.pi * s * s * (1 - math.exp(-4.5)) / 1e4
            with np.errstate(invalid="ignore", divide="ignore"):
                kernels[reach] = [(np.nan_to_num(ks[l] * cocks[l] * ks[l] / claims) * ha, max(whole - ks[l].sum() * ha, 0)) for l in range(len(leks))]
        none, lo, hi, top = (t.of(f"site.altitude_m.{n}")[d] for n in ("none_below", "full_from", "full_to", "none_above"))
        site = np.clip((alt - none) / (lo - none), 0, 1) * np.clip((top - alt) / (top - hi), 0, 1)
        to, steep = t.of("site.slope_deg.full_to")[d], t.of("site.slope_deg.none_above")[d]
        site = site * np.clip((steep - slope) / (steep - to), 0, 1) * np.exp(-depth / t.of("wood.use_depth_scale_m")[d])
        site = site * (1 - t.of("site.disturbed.loss")[d] * np.clip(2 - ways / t.of("site.disturbed.flush_m")[d], 0, 1))
        for si, season in enumerate(SEASONS):
            value = np.array([stand_value(s, season, d, t, errors[k], age_curve) for k, s in enumerate(all_stands)] + [0.0])[stand] * site
            for dist, name, scale in ((cover, "tall_cover", "site.tall_cover.scale_m"), (flush, "flush", "site.flush.scale_m"), (trees, "tree_food", "site.tree_food.scale_m")):
                key = f"season.{season}.far.{name}"
                if key in t.rows:
                    w = t.of(key)[d]
                    value = value * (w + (1 - w) * np.exp(-dist / t.of(scale)[d]))
            hens = t.of("need.hens_per_cock")[d]
            per = {"display": 1, "pre_laying": hens, "nest": hens, "brood": hens, "autumn": 1 + hens * (1 + t.of("need.young_per_hen")[d])}.get(season, 1 + hens)
            for l in range(len(leks)):
                w, outside = kernels[REACH[season]][l]
                got, on, open_got = (w * value)[mapped].sum(), w[open_ground].sum(), (w * value)[open_ground].sum()
                supply = got + (open_got / on if on > 0 else 0) * t.of("survey.unmapped_worth")[d] * (w[~mapped].sum() + outside)
                margins[l, si, d] = supply / (target[l] * per * t.of(f"need.{season}.ha_per_bird")[d])
    print(json.dumps(dict(seconds=time.perf_counter() - begun, draws=draws, cells=rows * cols,
                          margin={k: dict(zip(SEASONS, np.median(margins[l], axis=1).round(4).tolist())) for l, (_, k) in enumerate(leks)})))


main()
