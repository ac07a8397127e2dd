# Set-up, checks, demo and measurements. Everything is installed inside .venv; Debian's ngspice is the tests' reference.
VENV := .venv
BIN := $(VENV)/bin
export PYTHONDONTWRITEBYTECODE :=
SETUP := $(VENV)/.ready
TOOLS := $(VENV)/.tools

PAGE := $(VENV)/.page
STORE := proveout-page/cases.db

.PHONY: help setup page serve demo test test-long lint types contracts bench lock clean
.DEFAULT_GOAL := help

help: ## say what can be made
	@grep -E '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed 's/:.*##/\t/' | expand -t 14

$(VENV)/bin/uv: requirements/uv.txt
	python3 -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements/uv.txt
	@touch $@

$(SETUP): $(VENV)/bin/uv requirements/run.txt pyproject.toml
	$(BIN)/uv pip install --quiet --python $(BIN)/python --require-hashes -r requirements/run.txt
	$(BIN)/uv pip install --quiet --python $(BIN)/python --no-deps --no-build-isolation -e .
	@touch $@

$(TOOLS): $(SETUP) requirements/dev.txt
	$(BIN)/uv pip install --quiet --python $(BIN)/python --require-hashes -r requirements/dev.txt
	@touch $@

$(PAGE): $(SETUP) $(shell find web/front -type f -not -path '*/node_modules/*')
	@sh web/front/build.sh $(BIN)/python
	@touch $@

setup: $(SETUP) ## install proveout into .venv

page: $(PAGE) ## build the page's style and scripts

serve: $(PAGE) ## open the workbench page, with the demo case in it; STORE=FILE for other cases
	$(BIN)/proveout serve --demo --store $(STORE)

.PHONY: ngspice chromium
chromium: ## install the tests' browser where it is missing (Debian)
	@sh tests/web/browser/install_chromium.sh

ngspice: ## install the tests' reference simulator where it is missing (Debian)
	@sh tests/reference/install_ngspice.sh

lint: $(TOOLS) ## format and lint check
	$(BIN)/ruff format --check src tests bench
	$(BIN)/ruff check src tests bench

types: $(TOOLS) ## strict types, source and tests
	$(BIN)/mypy

contracts: $(TOOLS) ## imports point down only
	$(BIN)/lint-imports

demo: $(SETUP) ## run the main job on the demo case
	$(BIN)/proveout demo

test: $(TOOLS) $(PAGE) ngspice chromium lint types contracts ## every check but the long ones
	$(BIN)/pytest -n 2 -m "not slow"

test-long: $(TOOLS) $(PAGE) ngspice chromium ## the long checks
	$(BIN)/pytest -n 2 -m slow

bench: $(TOOLS) $(PAGE) ngspice chromium ## measure; ONLY=solver, planner, diagnosis, charts, loop or intermittents runs one group
	$(BIN)/python -m bench $(ONLY)

lock: $(VENV)/bin/uv ## renew the locked requirement files
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate --extra build pyproject.toml -o requirements/run.txt
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate --extra build --extra dev pyproject.toml -o requirements/dev.txt
	echo 'uv' | $(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate - -o requirements/uv.txt

clean: ## remove what was built
	rm -rf $(VENV) build dist web/front/node_modules src/proveout/web/static
