"""A hand-over written, whole process: the demonstration and a large plan, each with an option of several kinds of measure.

Medians of runs on this machine, the number of pages, and what was asked: 5 s and 25 pages for the demonstration, 30 s for the large plan.
"""
import pathlib
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import zlib

GREYHEN = sys.argv[1]
LARGE = sys.argv[2]
RUNS = int(sys.argv[3]) if len(sys.argv) > 3 else 3


def run(*arguments):
    return subprocess.run([GREYHEN, *map(str, arguments)], check=True, capture_output=True, text=True).stdout


def pages(pdf):
    """Pages of a PDF: the leaves of its page tree, in plain objects and in object streams."""
    data = pathlib.Path(pdf).read_bytes()
    parts = [data]
    for found in re.finditer(rb"stream\r?\n(.*?)\r?\nendstream", data, re.S):
        try:
            parts.append(zlib.decompress(found.group(1)))
        except zlib.error:
            pass
    return sum(len(re.findall(rb"/Type\s*/Page\b", part)) for part in parts)


def told(name, plan, wanted_s, wanted_pages, *more):
    times = []
    with tempfile.TemporaryDirectory() as folder:
        for n in range(RUNS):
            to = pathlib.Path(folder) / str(n)
            begun = time.perf_counter()
            run("handover", plan, "--to", to, "--option", 1, "--date", "2026-11-27", *more)
            times.append(time.perf_counter() - begun)
        written = sorted(p for p in to.rglob("*") if p.is_file())
        sheets = {p.name: pages(p) for p in written if p.suffix == ".pdf"}
        size = sum(p.stat().st_size for p in written)
    median = statistics.median(times)
    all_pages = sum(sheets.values())
    print(f"{name}: {median:.2f} s (median of {RUNS}; asked: {wanted_s} s), {len(written)} files, {size / 1e6:.1f} MB, {all_pages} pages {sheets} (asked: {wanted_pages})")
    return median <= wanted_s and all_pages >= wanted_pages


def option(plan, *suggested):
    run("option", plan, "add", "Bench")
    for kind, *more in suggested:
        run("suggest", plan, kind, "--option", 1, "--draws", 20, *more)


with tempfile.TemporaryDirectory() as folder:
    demo = pathlib.Path(folder) / "demo"
    run("demo", demo)
    option(demo / "demo.gpkg", ("wood", "--ha", 14), ("water", "--most", 3), ("fence", "--most", 2), ("heather", "--years", 5))
    large = pathlib.Path(folder) / "large.gpkg"
    shutil.copy(LARGE, large)
    option(large, ("wood", "--ha", 20, "--seconds", 5), ("heather", "--years", 5))
    kept = [told("demonstration", demo / "demo.gpkg", 5, 25), told("large plan", large, 30, 25)]
    sys.exit(0 if all(kept) else 1)
