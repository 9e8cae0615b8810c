# make demo: nothing but Python 3.11 is needed. make test: also installs what the tests need.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
FLEET := fleets/gander-hythe

.PHONY: demo test lint bench golden clean

demo: $(BIN)/walkround
	rm -rf $(FLEET)/editions
	$(BIN)/walkround publish $(FLEET) --to output
	@echo
	@echo "Open output/index.html: the fleet's calendars and handbooks are linked there."

$(BIN)/walkround: pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or newer is needed")'
	$(PYTHON) -m venv $(VENV)
	$(BIN)/pip install --quiet --disable-pip-version-check --editable .
	touch $@

$(VENV)/.tested: pyproject.toml $(BIN)/walkround
	sh tests/system-packages
	$(BIN)/pip install --quiet --disable-pip-version-check --editable '.[test]'
	touch $@

test: $(VENV)/.tested lint
	$(BIN)/python tests/run_vectors.py tests/physics_vectors.json
	$(BIN)/pytest tests
	sh tests/built-wheel $(PYTHON)

lint: $(VENV)/.tested
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

bench: $(VENV)/.tested
	$(BIN)/python -m tests.benchmarks

golden: $(VENV)/.tested
	$(BIN)/pytest tests --update-golden

clean:
	rm -rf $(VENV) dist output/*
