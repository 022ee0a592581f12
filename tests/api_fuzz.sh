#!/usr/bin/env bash
# Everything the desk can be asked, asked wrongly and rightly in great numbers, after its own OpenAPI document: no answer may be a fault of
# the server or other than the document says. Needs Python 3. `FUZZ_EXAMPLES` sets how many cases a route gets, `FUZZ_SEED` the chance,
# `GREYHEN` the program where it is built already.
set -uo pipefail
cd "$(dirname "$0")/.."
examples=${FUZZ_EXAMPLES:-40}
seed=${FUZZ_SEED:-1}
greyhen=${GREYHEN:-target/release/greyhen}
if [ -z "${GREYHEN:-}" ]; then cargo build --release --bin greyhen || exit 1; fi

fuzz=out/fuzz-python/bin/schemathesis
if [ ! -x "$fuzz" ]; then
  python3 -m venv out/fuzz-python && out/fuzz-python/bin/python -m pip install -q 'schemathesis==4.32.5' || exit 1
fi

# What is asked for writes files, opens plans and pairs phones: in a folder of its own.
folder=$(mktemp -d)
desk=
ended() { [ -n "$desk" ] && kill "$desk" 2>/dev/null && wait "$desk" 2>/dev/null; rm -rf "$folder"; }
trap ended EXIT
"$greyhen" demo "$folder/plans" > /dev/null || exit 1
"$greyhen" option "$folder/plans/demo.gpkg" add Trees > /dev/null || exit 1
"$greyhen" desk "$folder/plans/demo.gpkg" --port 0 --field --field-at 127.0.0.1 --field-port 0 --field-keep "$folder/field" > "$folder/said" &
desk=$!
for _ in $(seq 100); do grep -q '^Ctrl-C' "$folder/said" && break; sleep 0.1; done
address=$(grep -o 'http://[^ ]*?key=.*' "$folder/said") || { echo "the desk did not start"; exit 1; }
at=${address%%/\?key=*} key=${address##*?key=}

# /api/live is a socket and has a test of its own. The key is told to every route, so `ignored_auth` has nothing to find here: safety.rs asks without.
(cd "$folder" && "$OLDPWD/$fuzz" run "$at/api/openapi.json" -H "Authorization: Bearer $key" --exclude-path /api/live \
  --checks not_a_server_error,status_code_conformance,content_type_conformance,response_headers_conformance,response_schema_conformance,unsupported_method,allow_header_conformance \
  --phases examples,coverage,fuzzing,stateful --max-examples "$examples" --seed "$seed" --generation-database none --warnings off \
  --request-timeout 120 --continue-on-failure --no-color)
result=$?
kill -0 "$desk" 2>/dev/null || { echo "the desk fell"; result=1; }
exit $result
