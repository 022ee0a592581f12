#!/usr/bin/env bash
# Runs every test of the workspace and the examples in the docs, and says how many passed.
set -uo pipefail
cd "$(dirname "$0")/.."
log=$(mktemp)
trap 'rm -f "$log"' EXIT
fail=0
if cargo nextest --version >/dev/null 2>&1; then
  cargo nextest run --workspace --no-fail-fast --hide-progress-bar 2>&1 | tee "$log" || fail=1
  passed=$(grep -aoE '[0-9]+ passed' "$log" | tail -1 | grep -oE '[0-9]+')
else
  cargo test --workspace --no-fail-fast --lib --bins --tests 2>&1 | tee "$log" || fail=1
  passed=$(grep -aE '^test result:' "$log" | grep -oE '[0-9]+ passed' | awk '{s+=$1} END {print s+0}')
fi
cargo test --workspace --doc --no-fail-fast 2>&1 | tee "$log" || fail=1
docs=$(grep -aE '^test result:' "$log" | grep -oE '[0-9]+ passed' | awk '{s+=$1} END {print s+0}')
echo
echo "tests passed: $(( ${passed:-0} + ${docs:-0} ))"
[ "${passed:-0}" -gt 0 ] || fail=1
exit $fail
