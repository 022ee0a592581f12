"""The trend of a region's counts, ours beside statsmodels' conditional Poisson (leks conditioned out), in one run.

Usage: trend.py BENCH_TREND VISITS, where BENCH_TREND is the built example `bench_trend` of the birds crate. Prints the slope and
its standard error by both and the ratio of the times of fitting the line; ours also tells the time of the whole trend (every
kind of limits, index, curve, bends, leks and cocks apart), which statsmodels has no one call for.
"""
import io
import re
import statistics
import subprocess
import sys
import time

import numpy as np
import pandas as pd
from statsmodels.discrete.conditional_models import ConditionalPoisson

bench, visits = sys.argv[1:3]
table = pd.read_csv(io.StringIO(subprocess.run([bench, visits, "table"], check=True, capture_output=True, text=True).stdout))
table = table[table.groupby("lek").cocks.transform("sum") > 0]
started = table.year.min()
times, fit = [], None
for _ in range(int(sys.argv[3]) if len(sys.argv) > 3 else 1):
    begun = time.perf_counter()
    model = ConditionalPoisson(table.cocks.to_numpy(), (table.year - started).to_numpy(dtype=float)[:, None], groups=table.lek.to_numpy())
    fit = model.fit(disp=False)
    times.append(time.perf_counter() - begun)
ours = subprocess.run([bench, visits], check=True, capture_output=True, text=True).stdout
slope, error = map(float, re.search(r"slope Some\(\(([-0-9.e]+), ([-0-9.e]+)\)\)", ours).groups())
line_ms, whole_ms = map(float, re.search(r"line median ([0-9.]+) ms, whole trend (\d+) ms", ours).groups())
theirs = statistics.median(times)
print(f"trend of {len(table)} counts at {table.lek.nunique()} leks: line ours {line_ms:.1f} ms, statsmodels {1000 * theirs:.0f} ms, {1000 * theirs / line_ms:.1f}x; our whole trend {whole_ms:.0f} ms")
print(f"slope {slope:.10f} {fit.params[0]:.10f} differ by {abs(slope - fit.params[0]):.1e}; standard error {error:.10f} {np.asarray(fit.bse)[0]:.10f} differ by {abs(error - np.asarray(fit.bse)[0]):.1e}")
