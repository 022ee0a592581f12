# greyhen: `make` lists what there is.
# `make run` and `make test` install what they need and do everything on a fresh machine.

SHELL := /bin/bash
.DELETE_ON_ERROR:
CARGO ?= cargo
DEMO := out/demo
PACK := out/handover
# What the page of the desk is made of.
PAGE := $(shell find web -path web/node_modules -prune -o -path web/dist -prune -o -type f -print 2>/dev/null)

.PHONY: help run release page test quick check bench fuzz soak journeys gen need need-test clean

help:
	@grep -E '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 12

run: release $(DEMO)/demo.gpkg ## build, write the demonstration holding with an option and its hand-over, and open the desk on it
	@echo "The hand-over of its first option is in $(PACK): plan.pdf first, then kitchen-table.pdf. \`make clean\` writes the demonstration anew."
	@echo
	@./target/release/greyhen desk $(DEMO)/demo.gpkg

# What was done to the demonstration on the screen stays.
$(DEMO)/demo.gpkg: | release
	@rm -rf $(DEMO) $(PACK)
	@./target/release/greyhen demo $(DEMO)
	@echo
	@./target/release/greyhen assess $(DEMO)/demo.gpkg
	@echo
	@./target/release/greyhen option $(DEMO)/demo.gpkg add "Trees, patches and water"
	@./target/release/greyhen suggest $(DEMO)/demo.gpkg wood --option 1 --ha 14
	@./target/release/greyhen suggest $(DEMO)/demo.gpkg water --option 1 --most 3 > /dev/null
	@./target/release/greyhen suggest $(DEMO)/demo.gpkg fence --option 1 --most 2 > /dev/null
	@./target/release/greyhen suggest $(DEMO)/demo.gpkg heather --option 1 --years 5 > /dev/null
	@echo
	@./target/release/greyhen handover $(DEMO)/demo.gpkg --to $(PACK) --option 1
	@echo

release: need page
	$(CARGO) build --release --bin greyhen

page: web/dist/index.html ## build the page of the desk; needs Node

# Without Node the program works, and its page says what is missing.
web/dist/index.html: $(PAGE)
	@if command -v npm >/dev/null; then \
		cd web && { [ node_modules/.package-lock.json -nt package-lock.json ] || npm ci --no-audit --no-fund; } && npm run --silent build; \
	else echo "Node was not found: the desk will have no page (https://nodejs.org)"; fi

test: need page ## run every test
	@./tests/run.sh

quick: need ## run the tests of the computing rooms only, without the typesetter
	$(CARGO) test --workspace --exclude greyhen --no-fail-fast

check: need ## formatting and lints
	$(CARGO) clippy --workspace -- -D warnings
	@# Tests and examples may stop and print.
	$(CARGO) clippy --workspace --all-targets -- -D warnings -A clippy::unwrap_used -A clippy::panic -A clippy::print_stdout

bench: need ## speed beside reference libraries, in one run on this machine
	@./benches/run.sh

fuzz: need ## broken files, and wrong requests to the desk, in great numbers
	FUZZ_CASES=20000 $(CARGO) test --release -p holding --test bad_files -- --nocapture
	@./tests/api_fuzz.sh

soak: need ## five hundred kills of a saving and of an importing program and of a desk, kills of a hand-over, and whether limits hold what they say
	GREYHEN_KILLS=500 $(CARGO) test --release -p holding --test kill -- --nocapture
	GREYHEN_KILLS=500 $(CARGO) test --release -p greyhen --test cli kill_import -- --nocapture
	GREYHEN_KILLS=500 $(CARGO) test --release -p desk --test desk kill -- --nocapture
	$(CARGO) test --release -p greyhen --test cli handed_over -- --ignored --nocapture
	$(CARGO) test --release -p birds --test calibration -- --ignored --nocapture

journeys: need need-test page ## of the tests, the journeys over the page in a browser alone
	$(CARGO) build --bin greyhen
	cd web && GREYHEN=$$(realpath "$${CARGO_TARGET_DIR:-../target}")/debug/greyhen node --test --test-concurrency=2 journeys/*.test.mjs

gen: need ## write the generated pages and schemas anew
	GREYHEN_BLESS=1 $(CARGO) test -p measures -p guidance
	GREYHEN_BLESS=1 $(CARGO) test -p holding --lib the_plan_file_is_described
	GREYHEN_BLESS=1 $(CARGO) test -p desk --test desk document

need:
	@command -v $(CARGO) >/dev/null || { echo "greyhen needs the Rust toolchain, 1.95 or later (https://rustup.rs)"; exit 2; }
	@command -v cc >/dev/null || { if command -v apt-get >/dev/null; then (apt-get update -qq && apt-get install -y -qq build-essential) || sudo apt-get install -y -qq build-essential; else echo "greyhen needs a C compiler"; exit 2; fi; }

# Oracles that some tests look for; the tests say so and step aside where they cannot be had.
need-test:
	@{ command -v ogrinfo && command -v pdftotext && command -v chromium && command -v openssl; } >/dev/null || { command -v apt-get >/dev/null && (apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq gdal-bin poppler-utils chromium openssl) >/dev/null 2>&1; } || echo "gdal-bin, poppler-utils, chromium and openssl could not be installed: the tests that use them will say so and step aside"

clean: ## remove what was built
	$(CARGO) clean
	rm -rf out web/node_modules
