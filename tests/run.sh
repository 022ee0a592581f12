#!/usr/bin/env bash
# Runs every test of the workspace and the examples in the docs, and says how many passed.
set -uo pipefail
cd "$(dirname "$0")/.."
log=$(mktemp)
trap 'rm -f "$log"' EXIT
fail=0
# Where nothing is built yet, what helps the second build only costs.
[ -d "${CARGO_TARGET_DIR:-target}/debug" ] || export CARGO_INCREMENTAL=0
# One process a suite: suites share what is dear to make, such as the demonstration holding.
cargo test --workspace --no-fail-fast 2>&1 | tee "$log" || fail=1
passed=$(grep -aE '^test result:' "$log" | grep -oE '[0-9]+ passed' | awk '{s+=$1} END {print s+0}')
failed=$(grep -aE '^test result:' "$log" | grep -oE '[0-9]+ failed' | awk '{s+=$1} END {print s+0}')
echo
grep -aE '^test .*FAILED$' "$log" || true
echo "tests passed: $passed, failed: $failed"
[ "$passed" -gt 0 ] || fail=1
exit $fail
