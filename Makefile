# Two commands do everything: make demo, make test. See README.md for the same without make.
# The tests start some twenty processes; one that may not keep what it compiled compiles all of the program each time.
# make bench CASES="700 20000" says how long a load and a report take.
PYTHON ?= python3
VENV ?= .venv
BIN = $(VENV)/bin

.PHONY: demo test lint bench clean

demo: $(VENV)/installed
	$(BIN)/feeding-audit demo

test: $(VENV)/installed-test
	@chromium=$$(sh tests/find_chromium.sh) && \
	CHROMIUM="$$chromium" PYTHONDONTWRITEBYTECODE= $(BIN)/python -m pytest -n auto --dist worksteal

bench: $(VENV)/installed-test
	$(BIN)/python tests/bench.py $(CASES)

lint: $(VENV)/installed-test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

$(VENV)/bin/python:
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or later is needed, this is " + sys.version.split()[0])'
	$(PYTHON) -m venv $(VENV)

$(VENV)/installed: $(VENV)/bin/python pyproject.toml
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .
	@touch $@

$(VENV)/installed-test: $(VENV)/bin/python pyproject.toml
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[test]'
	@touch $@ $(VENV)/installed

clean:
	rm -rf $(VENV) build dist feeding-audit-demo
