#!/usr/bin/env python3
"""Slope, distance and flow beside gdaldem, scipy.ndimage and pysheds: same numbers, same machine, one run.

    python benches/side_by_side_terrain.py [SIDE]

Needs cargo, gdal-bin, and Python with numpy, scipy, pysheds. All files lie in a temporary folder in memory where there is one.

What is timed:
- ours: the function alone, input in memory, result in memory, median of seven runs.
- gdaldem slope: the whole command on an uncompressed GeoTIFF, less `gdal_translate` of the same file to the same kind of file
  (start, reading and writing of the same bytes, without the slope); medians of five runs each.
- scipy.ndimage.distance_transform_edt, pysheds: the call alone, arrays in memory, compiled beforehand on a small grid;
  medians of three runs.
"""
import json
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import warnings
from pathlib import Path

import numpy as np

warnings.filterwarnings("ignore")
np.bool = getattr(np, "bool", bool)
np.in1d = getattr(np, "in1d", np.isin)

SIDE = int(sys.argv[1]) if len(sys.argv) > 1 else 4000
CELL_M = 5.0
ROOT = Path(__file__).resolve().parent.parent


def median_ms(run, runs):
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        run()
        times.append((time.perf_counter() - start) * 1000)
    return statistics.median(times)


def ours(folder):
    command = ["cargo", "run", "--quiet", "--release", "-p", "ground", "--example", "bench_terrain", "--", str(SIDE), str(folder)]
    return json.loads(subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout)


def gdal_slope_ms(folder):
    raw, tif = folder / "heights.bil", folder / "heights.tif"
    shutil.copy(folder / "heights.f32", raw)
    header = f"NROWS {SIDE}\nNCOLS {SIDE}\nNBANDS 1\nNBITS 32\nPIXELTYPE FLOAT\nBYTEORDER I\nLAYOUT BIL\nULXMAP 380002.5\nULYMAP 539997.5\nXDIM 5\nYDIM 5\n"
    raw.with_suffix(".hdr").write_text(header)
    call = lambda *a: subprocess.run(a, check=True, stdout=subprocess.DEVNULL)
    call("gdal_translate", "-q", "-a_srs", "EPSG:27700", str(raw), str(tif))
    out = folder / "out.tif"
    slope = median_ms(lambda: call("gdaldem", "slope", "-q", str(tif), str(out)), 5)
    copy = median_ms(lambda: call("gdal_translate", "-q", str(tif), str(out)), 5)
    return slope, copy


def scipy_distance_ms(folder):
    from scipy import ndimage

    away = np.fromfile(folder / "marks.u8", np.uint8).reshape(SIDE, SIDE) == 0
    return median_ms(lambda: ndimage.distance_transform_edt(away, sampling=(CELL_M, CELL_M)), 3)


def pysheds_ms(folder):
    from affine import Affine
    from pysheds.grid import Grid
    from pysheds.view import Raster, ViewFinder

    def prepare(heights):
        view = ViewFinder(affine=Affine(CELL_M, 0, 380000, 0, -CELL_M, 540000), shape=heights.shape, nodata=np.float64(-9999))
        return Grid(view), Raster(heights.astype(np.float64), view)

    heights = np.fromfile(folder / "heights.f32", "<f4").reshape(SIDE, SIDE)
    times = {}
    for part, runs in ((heights[:64, :64], 1), (heights, 3)):
        grid, raster = prepare(part)
        filled = grid.fill_depressions(raster)
        times["fill"] = median_ms(lambda: grid.fill_depressions(raster), runs)
        for routing in ("d8", "dinf"):
            directions = grid.flowdir(filled, routing=routing)
            times[f"{routing}_directions"] = median_ms(lambda: grid.flowdir(filled, routing=routing), runs)
            times[f"{routing}_accumulation"] = median_ms(lambda: grid.accumulation(directions, routing=routing), runs)
    return times


def main():
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as name:
        folder = Path(name)
        mine = ours(folder)
        slope, copy = gdal_slope_ms(folder)
        theirs = {"slope": slope - copy, "distance": scipy_distance_ms(folder), **pysheds_ms(folder)}
    mine["flow_d8"] = mine["d8_directions"] + mine["d8_accumulation"]
    theirs["flow_d8"] = theirs["d8_directions"] + theirs["d8_accumulation"]
    mine["flow_d8_with_filling"] = mine["flow_d8"] + mine["fill"]
    theirs["flow_d8_with_filling"] = theirs["flow_d8"] + theirs["fill"]
    mine["flow_dinf"] = mine["dinf_directions"] + mine["dinf_accumulation"]
    theirs["flow_dinf"] = theirs["dinf_directions"] + theirs["dinf_accumulation"]
    print(f"{SIDE} x {SIDE} cells; gdaldem {slope:.0f} ms less gdal_translate {copy:.0f} ms")
    print(f"{'':24}{'ours ms':>10}{'theirs ms':>11}{'ratio':>8}   against")
    against = {"slope": "gdaldem", "distance": "scipy.ndimage"}
    for name, ms in theirs.items():
        print(f"{name:24}{mine[name]:10.1f}{ms:11.1f}{ms / mine[name]:8.1f}   {against.get(name, 'pysheds')}")


if __name__ == "__main__":
    main()
