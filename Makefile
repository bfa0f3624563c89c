# make run    set up and plan an example        make test   everything CI runs
# make bench  measure, as ratios                make format rewrite in house style
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
export PIP_DISABLE_PIP_VERSION_CHECK := 1

.PHONY: run test bench format check docs debian node clean

run: $(VENV)/run.stamp
	@$(BIN)/pinwright plan examples/bakery-proofer.toml
	@echo
	@mkdir -p out && $(BIN)/pinwright pack examples/bakery-proofer.toml -o out/bakery-proofer
	@echo
	@echo "That was examples/bakery-proofer.toml. Where to look next:"
	@echo "  out/bakery-proofer/report.html            everything it takes to build it; drawings, lists and firmware lie beside it"
	@echo "  README.md                                 the tour"
	@echo "  $(BIN)/pinwright new my-device.toml       a commented brief of your own"
	@echo "  $(BIN)/pinwright --help                   every command"

test: $(VENV)/dev.stamp debian node check
	$(BIN)/python -m pytest -n 2 --dist loadfile -q

check: $(VENV)/dev.stamp
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/pinwright facts check
	$(BIN)/python docs/generate.py --check

bench: $(VENV)/dev.stamp
	$(BIN)/python benchmarks/run.py

format: $(VENV)/dev.stamp
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

docs: $(VENV)/dev.stamp
	$(BIN)/python docs/generate.py

# Header and pin tables the facts are held against, the simulators that judge circuits and firmware, the browser that judges
# the report, and what the PDF needs; without root the tests that need them are skipped (never in CI).
DEBIAN := arduino-core-avr avr-libc binutils-avr chromium default-jre-headless fonts-dejavu-core g++ gcc gcc-avr \
          libharfbuzz-subset0 libpango-1.0-0 libpangoft2-1.0-0 libsimavr-dev ngspice poppler-utils

debian:
	@dpkg -s $(DEBIAN) >/dev/null 2>&1 || \
	  { [ "$$(id -u)" = 0 ] && apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $(DEBIAN); } || \
	  echo "Debian packages not all installed: $(DEBIAN)."

# The runtime the firmware is run in, and the judges of the report.
node:
	@command -v npm >/dev/null || { [ "$$(id -u)" = 0 ] && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends nodejs npm; } || \
	  echo "Node is not installed."
	@! command -v npm >/dev/null || for folder in tests/emulated tests/browser; do \
	  (cd $$folder && npm ci --silent --no-audit --no-fund --ignore-scripts) || exit 1; done

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/run.stamp: $(VENV)/bin/python requirements.txt pyproject.toml
	$(BIN)/python -m pip install -q -r requirements.txt
	$(BIN)/python -m pip install -q --no-deps --no-build-isolation -e .
	$(BIN)/python -m compileall -q src
	touch $@

$(VENV)/dev.stamp: $(VENV)/run.stamp requirements-dev.txt
	$(BIN)/python -m pip install -q -r requirements-dev.txt
	touch $@

clean:
	rm -rf $(VENV) out tests/emulated/node_modules tests/browser/node_modules .pytest_cache .mypy_cache .ruff_cache .hypothesis
