#!/usr/bin/env bash
# Speed beside reference libraries: everything in one run on this machine, medians, ratios. Needs Python 3 and, for some
# of the references, gdal-bin; what cannot be had is left out and said.
set -uo pipefail
cd "$(dirname "$0")/.."
# Set where something took longer than is asked.
missed=0
cargo build --release --bin greyhen || exit 1
cargo build --release -p greyhen --example bench_plan || exit 1
cargo build --release -p ground --examples || exit 1
cargo build --release -p habitat --example bench_ahead || exit 1
cargo build --release -p birds --example bench_trend || exit 1

python=out/bench-python/bin/python
if [ ! -x "$python" ]; then
  python3 -m venv out/bench-python && "$python" -m pip install -q 'numpy>=2,<3' scipy shapely rasterio pysheds numba statsmodels pandas || exit 1
fi
mkdir -p out/bench
for size in usual large; do
  [ -f "out/bench/$size.gpkg" ] || ./target/release/examples/bench_plan $size out/bench/$size.gpkg
done

echo "== the ledger: whole process, plan file to JSON =="
"$python" benches/side_by_side_ledger.py
echo "== slope, distance, flow =="
"$python" benches/side_by_side_terrain.py
echo "== sight lines, overlay =="
"$python" benches/side_by_side_sight_overlay.py
echo "== an edit followed, thirty years ahead =="
for size in usual large; do
  echo "$size plan:"; ./target/release/examples/bench_ahead out/bench/$size.gpkg
done
echo "== woods designed =="
"$python" benches/designs.py
echo "== a hand-over written =="
"$python" benches/handover.py ./target/release/greyhen out/bench/large.gpkg || missed=1
echo "== the trend of a region =="
visits=../shared/data/lek_counts_wyoming/lek.csv.gz
if [ -f "$visits" ]; then "$python" benches/trend.py ./target/release/examples/bench_trend "$visits" 3; else echo "the region's visits are not at $visits"; fi
echo "== the page =="
if command -v node >/dev/null && [ -d web/node_modules ]; then
  (cd web && GREYHEN=${CARGO_TARGET_DIR:-$PWD/../target}/release/greyhen node journeys/measure.mjs) || missed=1
else echo "the page is not measured: no Node, or nothing of it is installed"; fi
exit $missed
