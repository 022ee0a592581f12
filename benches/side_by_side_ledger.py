#!/usr/bin/env python3
"""The whole `greyhen assess` process beside the NumPy pipeline of the same ledger (ledger_numpy.py), in one run.

Medians of several runs of ours; one run of the reference, which takes minutes. Also says how far the two answers lie
apart: they draw their own luck, so margins differ by chance, a few hundredths at two hundred draws.
"""
import json, os, resource, statistics, subprocess, sys, time

here = os.path.dirname(os.path.abspath(__file__))
root = os.path.dirname(here)
program = os.path.join(root, "target", "release", "greyhen")


def ours(size, runs):
    plan = os.path.join(root, "out", "bench", f"{size}.gpkg")
    times, out = [], None
    for _ in range(runs):
        begun = time.perf_counter()
        out = subprocess.run([program, "assess", plan, "--json"], capture_output=True, check=True).stdout
        times.append(time.perf_counter() - begun)
    return statistics.median(times), json.loads(out)


def peak_mib(size):
    plan = os.path.join(root, "out", "bench", f"{size}.gpkg")
    code = f"import subprocess, resource; subprocess.run([{program!r}, 'assess', {plan!r}, '--json'], stdout=subprocess.DEVNULL, check=True); print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)"
    return float(subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True).stdout)


usual, answer = ours("usual", 9)
begun = time.perf_counter()
reference = json.loads(subprocess.run([sys.executable, os.path.join(here, "ledger_numpy.py"), os.path.join(root, "out", "bench", "usual.gpkg"), os.path.join(root, "guidance"), str(answer["draws"])], capture_output=True, check=True, text=True).stdout)
theirs = time.perf_counter() - begun
ratios = [s["margin"]["p50"] / reference["margin"][lek["id"]][s["season"]] for lek in answer["leks"] for s in lek["seasons"]]
print(f"usual size ({len(answer['leks'])} leks, {answer['draws']} draws, {answer['cell_m']:.0f} m): ours {usual:.3f} s, NumPy/SciPy {theirs:.1f} s, ratio {theirs / usual:.0f}x (goal 30x, under 1 s)")
print(f"  median margins, ours over theirs: median {statistics.median(ratios):.3f}, from {min(ratios):.3f} to {max(ratios):.3f}")
large, answer = ours("large", 3)
print(f"large size ({len(answer['leks'])} leks, {answer['cell_m']:.0f} m): ours {large:.2f} s (goal 10 s), peak {peak_mib('large'):.0f} MiB (goal 1536)")
