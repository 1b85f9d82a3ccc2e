# Two commands do all the set-up: make demo, make test.
PY ?= python3
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/.ready

.PHONY: demo test check format bench docs lock clean

demo: $(READY)
	$(BIN)/headrace demo demo-campaign

test: $(READY)
	$(BIN)/pytest -n 2 --dist worksteal

check: $(READY)
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports --no-cache
	$(BIN)/python docs/generate.py --check

format: $(READY)
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

bench: $(READY)
	$(BIN)/python benchmarks/run.py

docs: $(READY)
	$(BIN)/python docs/generate.py

# The lock names no host: whoever installs from it uses the index of their own machine.
lock:
	test -x $(BIN)/pip || $(PY) -m venv $(VENV)
	$(BIN)/pip install --quiet --disable-pip-version-check uv
	$(BIN)/uv pip compile --universal --python-version 3.11 --generate-hashes --no-emit-index-url \
	    --no-header --extra dev pyproject.toml -o requirements/dev.txt

$(READY): requirements/dev.txt pyproject.toml
	$(PY) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "headrace needs Python 3.11 or newer")'
	$(PY) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/dev.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	touch $(READY)

clean:
	rm -rf $(VENV) demo-campaign
