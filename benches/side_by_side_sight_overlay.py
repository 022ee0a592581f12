"""Sight lines and overlay beside other tools: same machine, same run, medians.

    python benches/side_by_side_sight_overlay.py [sight] [overlay]

Needs numpy and shapely; numba and gdal_viewshed are used when present. Builds the two examples of the ground
crate in release mode first. Every method is checked to give the same answer before its time counts.
"""
import os, shutil, statistics, subprocess, sys, tempfile, time
from pathlib import Path
import numpy as np

ROOT = Path(__file__).resolve().parent.parent
EARTH_M = 2 * 6377563.396


def build(example):
    subprocess.run(["cargo", "build", "--release", "-q", "-p", "ground", "--example", example], cwd=ROOT, check=True)
    target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    return target / "release" / "examples" / example


def moor(n, cell, seed):
    """Rolling ground with small roughness: spectral noise, heights in metres."""
    rng = np.random.default_rng(seed)
    k = np.hypot(*np.meshgrid(np.fft.fftfreq(n, cell), np.fft.rfftfreq(n, cell), indexing="ij"))
    k[0, 0] = 1.0
    wave = k ** -2.0 * np.exp(2j * np.pi * rng.random(k.shape))
    wave[k < 1 / 3000] = 0
    z = np.fft.irfft2(wave, s=(n, n))
    z = 350 + 40 * z / z.std() + rng.normal(0, 0.05, (n, n))
    return z.astype(np.float32)


def numpy_view(z, r0, c0, cell, eye, target, radius, cc):
    """Exact R3 lines, vectorised over all targets, line after line outward; hidden targets are dropped on the way."""
    n = int(radius / cell)
    nr, nc = z.shape
    rows, cols = np.mgrid[max(r0 - n, 0):min(r0 + n + 1, nr), max(c0 - n, 0):min(c0 + n + 1, nc)]
    dr, dc = (rows - r0).ravel(), (cols - c0).ravel()
    d2 = (dr * dr + dc * dc) * cell * cell
    keep = (d2 <= radius * radius) & (d2 > 0)
    dr, dc, d2 = dr[keep], dc[keep], d2[keep]
    level = float(z[r0, c0]) + eye
    rel = (z.astype(np.float64) - level).astype(np.float32)
    drop = (cc * d2 / EARTH_M).astype(np.float32)
    rise = rel[r0 + dr, c0 + dc] + np.float32(target) - drop
    seen = np.full(z.shape, 255, np.uint8)
    seen[r0, c0] = 1
    visible = np.ones(len(dr), bool)
    flat = rel.ravel()
    for along, across, step, stride, base in ((dc, dr, 1, nc, (r0, c0)), (dr, dc, nc, 1, (c0, r0))):
        # `along` counts grid lines crossed; step/stride move in the flat grid along and across.
        order = np.nonzero(visible & (np.abs(along) > 1))[0]
        order = order[np.argsort(-np.abs(along[order]), kind="stable")]
        reach = np.abs(along[order])
        a = along[order]; sign = np.sign(a); slope = (across[order] / reach).astype(np.float32)
        inverse = (1.0 / reach).astype(np.float32); up = rise[order]; down = drop[order]
        origin = r0 * nc + c0
        k = 1
        while len(order):
            live = len(reach) - np.searchsorted(reach[::-1], k, side="right")
            if live < len(reach):
                order, reach, sign, slope, inverse, up, down = (x[:live] for x in (order, reach, sign, slope, inverse, up, down))
            if not live:
                break
            t = inverse * np.float32(k)
            pos = slope * np.float32(k)
            near = np.floor(pos)
            share = pos - near
            at = origin + sign * (k * step) + near.astype(np.int64) * stride
            low = flat[at]
            high = flat[np.minimum(at + stride, flat.size - 1)]
            ground = low + share * (high - low)
            hidden = ground > t * (up + down * t)
            if hidden.any():
                visible[order[hidden]] = False
                if k % 4 == 0 or hidden.mean() > 0.1:
                    left = visible[order]
                    order, reach, sign, slope, inverse, up, down = (x[left] for x in (order, reach, sign, slope, inverse, up, down))
            k += 1
    seen[r0 + dr, c0 + dc] = visible
    return seen


def numba_views():
    try:
        import numba
    except ImportError:
        return None

    @numba.njit(parallel=True, cache=False)
    def run(z, observers, cell, eye, target, radius, cc, earth):
        nr, nc = z.shape
        out = np.full((len(observers), nr, nc), 255, np.uint8)
        n = int(radius / cell)
        for o in numba.prange(len(observers)):
            c0, r0 = observers[o]
            level = np.float64(z[r0, c0]) + eye
            for r in range(max(0, r0 - n), min(nr, r0 + n + 1)):
                for c in range(max(0, c0 - n), min(nc, c0 + n + 1)):
                    dr, dc = r - r0, c - c0
                    d2 = (dr * dr + dc * dc) * cell * cell
                    if d2 > radius * radius:
                        continue
                    drop = cc * d2 / earth
                    rise = z[r, c] - level + target - drop
                    seen = 1
                    m = abs(dc)
                    if m > 1:
                        s = 1 if dc > 0 else -1
                        for k in range(1, m):
                            t = k / m
                            p = r0 + dr * t
                            i = int(p)
                            b = p - i
                            j = min(i + 1, nr - 1)
                            h = z[i, c0 + s * k] * (1 - b) + z[j, c0 + s * k] * b - level
                            if h > t * (rise + drop * t):
                                seen = 0
                                break
                    m = abs(dr)
                    if seen == 1 and m > 1:
                        s = 1 if dr > 0 else -1
                        for k in range(1, m):
                            t = k / m
                            p = c0 + dc * t
                            i = int(p)
                            b = p - i
                            j = min(i + 1, nc - 1)
                            h = z[r0 + s * k, i] * (1 - b) + z[r0 + s * k, j] * b - level
                            if h > t * (rise + drop * t):
                                seen = 0
                                break
                    out[o, r, c] = seen
        return out
    return run


def gdal_ms(z, observers, cell, eye, target, radius, cc, folder):
    """gdal_viewshed, one process an observer, its start included (for information; another rule)."""
    if not shutil.which("gdal_viewshed"):
        return None
    nr, nc = z.shape
    asc, tif = folder / "z.asc", folder / "z.tif"
    np.savetxt(asc, z, fmt="%.3f", comments="", header=f"ncols {nc}\nnrows {nr}\nxllcorner 0\nyllcorner 0\ncellsize {cell}")
    subprocess.run(["gdal_translate", "-q", "-a_srs", "EPSG:27700", str(asc), str(tif)], check=True)
    start = time.perf_counter()
    for c, r in observers:
        subprocess.run(["gdal_viewshed", "-q", "-ox", str((c + .5) * cell), "-oy", str((nr - r - .5) * cell), "-oz", str(eye), "-tz", str(target),
                        "-cc", str(cc), "-md", str(radius), str(tif), str(folder / "v.tif")], check=True, stdout=subprocess.DEVNULL)
    return (time.perf_counter() - start) * 1000


def sight():
    ours = build("bench_sight")
    cell, n, eye, target, cc = 5.0, 800, 0.3, 0.5, 0.85714
    z = moor(n, cell, 5)
    rng = np.random.default_rng(9)
    compiled = numba_views()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        z.astype("<f4").tofile(folder / "z.raw")
        for radius, count, repeats in ((300, 100, 5), (600, 100, 5), (1500, 100, 3)):
            observers = rng.integers(60, n - 60, (count, 2))
            (folder / "o.txt").write_text("".join(f"{c} {r}\n" for c, r in observers))
            reply = subprocess.run([str(ours), str(folder / "z.raw"), str(n), str(n), str(cell), str(folder / "o.txt"), str(eye), str(target),
                                    str(radius), str(cc), str(repeats), str(folder / "seen.raw")], check=True, capture_output=True, text=True)
            our_ms = statistics.median(map(float, reply.stdout.split()))
            seen = np.fromfile(folder / "seen.raw", np.uint8).reshape(count, n, n)
            share = (seen == 1).sum() / (seen < 255).sum()
            times = []
            sample = observers if radius < 1000 else observers[:20]
            for repeat in range(1 if radius > 500 else 3):
                start = time.perf_counter()
                views = [numpy_view(z, int(r), int(c), cell, eye, target, radius, cc) for c, r in sample]
                times.append((time.perf_counter() - start) * 1000 * count / len(sample))
            numpy_ms = statistics.median(times)
            differ = sum(int((v != s).sum()) for v, s in zip(views, seen))
            line = f"sight {radius} m, {count} observers, {share:.0%} seen: ours {our_ms:.1f} ms; numpy {numpy_ms:.0f} ms ({numpy_ms / our_ms:.1f}x), {differ} cells differ"
            if compiled:
                compiled(z, observers[:1], cell, eye, target, float(radius), cc, EARTH_M)
                times = []
                for _ in range(3):
                    start = time.perf_counter()
                    out = compiled(z, observers, cell, eye, target, float(radius), cc, EARTH_M)
                    times.append((time.perf_counter() - start) * 1000)
                ms = statistics.median(times)
                line += f"; numba {ms:.0f} ms ({ms / our_ms:.1f}x), {int((out != seen).sum())} differ"
            ms = gdal_ms(z, observers[:10], cell, eye, target, radius, cc, folder)
            if ms:
                line += f"; gdal_viewshed, another rule, {ms * count / 10:.0f} ms ({ms * count / 10 / our_ms:.0f}x)"
            print(line, flush=True)


def overlay():
    """2,000 blobs laid over a coverage of 2,000 Voronoi cells, at national-grid coordinates."""
    import shapely
    ours = build("bench_overlay")
    rng = np.random.default_rng(3)
    blobs = []
    for _ in range(2000):
        n = int(rng.integers(20, 61))
        angle = np.sort(rng.uniform(0, 2 * np.pi, n))
        reach = rng.uniform(100, 300, n)
        x, y = rng.uniform(2000, 16000, 2)
        blobs.append(np.column_stack([300000 + x + reach * np.cos(angle), 700000 + y + reach * np.sin(angle)]).round(2))
    seeds = shapely.multipoints(rng.uniform(0, 18000, (2000, 2)) + [300000, 700000])
    cells = [shapely.get_coordinates(c)[:-1] for c in shapely.get_parts(shapely.voronoi_polygons(seeds))]
    left, right = np.array([shapely.Polygon(b) for b in blobs]), np.array([shapely.Polygon(c) for c in cells])
    with tempfile.TemporaryDirectory() as name:
        for shapes, file in ((blobs, "left.txt"), (cells, "right.txt")):
            (Path(name) / file).write_text("".join(" ".join(repr(float(v)) for v in s.ravel()) + "\n" for s in shapes))
        reply = subprocess.run([str(ours), f"{name}/left.txt", f"{name}/right.txt", "9"], check=True, capture_output=True, text=True).stdout.split("\n")
        one_thread = subprocess.run([str(ours), f"{name}/left.txt", f"{name}/right.txt", "9"], check=True, capture_output=True, text=True,
                                    env={**os.environ, "RAYON_NUM_THREADS": "1"}).stdout.split("\n")
    our_ms, our_one_ms = (statistics.median(map(float, r[:9])) for r in (reply, one_thread))
    pairs, pieces, area = (float(v) for v in reply[9].split())
    times = []
    for _ in range(5):
        start = time.perf_counter()
        tree = shapely.STRtree(right)
        i, j = tree.query(left)
        common = shapely.intersection(left[i], right[j])
        areas = shapely.area(common)
        times.append((time.perf_counter() - start) * 1000)
    geos_ms = statistics.median(times)
    their_pairs = int((areas > 0).sum())
    print(f"overlay 2,000 x {len(cells):,}: ours {our_ms:.0f} ms ({our_one_ms:.0f} ms on one thread); GEOS {shapely.geos_version_string} {geos_ms:.0f} ms "
          f"({geos_ms / our_ms:.1f}x, {geos_ms / our_one_ms:.1f}x on one thread); {int(pairs)} and {their_pairs} pairs, "
          f"area differs by {abs(area - areas.sum()):.1e} of {areas.sum():.3e} m2")


if __name__ == "__main__":
    wanted = sys.argv[1:] or ["sight", "overlay"]
    for name in wanted:
        {"sight": sight, "overlay": overlay}[name]()
