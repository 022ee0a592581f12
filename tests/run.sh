#!/usr/bin/env bash
# Builds and runs every test of the workspace and the examples in the docs, and says how many passed.
set -uo pipefail
cd "$(dirname "$0")/.."
logs=$(mktemp -d)
trap 'rm -rf "$logs"' EXIT
fail=0
# Where nothing is built yet, what helps the second build only costs.
[ -d "${CARGO_TARGET_DIR:-target}/debug" ] || export CARGO_INCREMENTAL=0

# What some tests look for is fetched while they are built.
make --no-print-directory need-test &
oracles=$!
# Examples are built by the benches that run them.
cargo test --workspace --tests --no-run --message-format=json-render-diagnostics >"$logs/built.json" || exit 1
wait "$oracles"
# The folder of each suite's crate, and the suite. Long ones first; two run at once, so that none leaves a core idle for long.
sed -nE 's|.*"manifest_path":"([^"]*)/Cargo.toml".*"test":true\}.*"executable":"([^"]+)".*|\1\t\2|p' "$logs/built.json" |
    awk -F'\t' '{ n = split($1, part, "/"); print (part[n] ~ /^(greyhen|measures|birds|habitat)$/ ? 0 : 1) "\t" NR "\t" $0 }' |
    sort -t $'\t' -k1,1n -k2,2n | cut -f3- >"$logs/suites"
[ -s "$logs/suites" ] || { echo "no suite of tests was built"; exit 1; }

# Runs a suite, told as its crate's folder and its file, in that folder; prints all it said once it has ended.
run_one() {
    local logs=$1 folder=${2%%$'\t'*} suite=${2#*$'\t'}
    local name; name="$(basename "$suite") of $(basename "$folder")"
    echo "     Running $name" >&2
    { echo "     Ran $name"; cd "$folder" && CARGO_MANIFEST_DIR="$folder" "$suite"; } >"$logs/$(basename "$suite").log" 2>&1 || touch "$logs/failed"
    cat "$logs/$(basename "$suite").log"
}
export -f run_one
xargs -d '\n' -P 2 -n 1 bash -c 'run_one "$0" "$1"' "$logs" <"$logs/suites" || fail=1
[ ! -e "$logs/failed" ] || fail=1
# Examples in the docs of the code; crates without any say so in their manifest.
cargo test --workspace --doc 2>&1 | tee "$logs/doc.log" || fail=1

# The page: types, words, and journeys in a browser over the desk that was just built.
if ! command -v npm >/dev/null || [ ! -d web/node_modules ]; then
    echo "no Node, or nothing of the page is installed: the page is not tested"
else
    if (cd web && npm run --silent check); then
        echo "test result: 1 passed" >"$logs/page.log"
    else
        printf '%s\n' "test the types and components of the page ... FAILED" "test result: 1 failed" >"$logs/page.log"; fail=1
    fi
    if command -v "${CHROMIUM:-chromium}" >/dev/null; then
        greyhen=$(realpath "${CARGO_TARGET_DIR:-target}")/debug/greyhen
        (cd web && CHROMIUM=$(command -v "${CHROMIUM:-chromium}") GREYHEN=$greyhen node --test --test-concurrency=2 --test-reporter=tap journeys/*.test.mjs) 2>&1 | tee "$logs/journeys.log" || fail=1
        sed -nE 's/^not ok [0-9]+ - (.*)/test \1 ... FAILED/p; s/^# pass ([0-9]+)/test result: \1 passed/p; s/^# (fail|cancelled) ([0-9]+)/test result: \2 failed/p' "$logs/journeys.log" >"$logs/journeys-count.log"
    else
        echo "no chromium: the journeys over the page step aside"
    fi
fi

passed=$(cat "$logs"/*.log | grep -aE '^test result:' | grep -oE '[0-9]+ passed' | awk '{s+=$1} END {print s+0}')
failed=$(cat "$logs"/*.log | grep -aE '^test result:' | grep -oE '[0-9]+ failed' | awk '{s+=$1} END {print s+0}')
echo
grep -ahE '^test .*FAILED$' "$logs"/*.log || true
echo "tests passed: $passed, failed: $failed"
[ "$passed" -gt 0 ] || fail=1
exit $fail
