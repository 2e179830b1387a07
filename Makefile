# Two targets do everything on a fresh machine: `make edition` and `make test`.
# Set-up is a virtual environment in .venv/ and runs again only when pyproject.toml changes.

PYTHON ?= $(shell for p in python3 python3.13 python3.12 python3.11; do \
	$$p -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $$p && break; done)
VENV := .venv
BIN := $(VENV)/bin
EDITION ?= example_edition

.PHONY: edition test lint bench guide clean

edition: $(VENV)/.ready
	$(BIN)/apparatus build $(EDITION)

test: $(VENV)/.ready-for-tests
	$(BIN)/pytest --numprocesses auto --dist loadfile

lint: $(VENV)/.ready-for-tests
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy

bench: $(VENV)/.ready-for-tests
	$(BIN)/python -m tests.benchmarks

guide: $(VENV)/.ready
	$(BIN)/python -m pipeline.checks

$(VENV)/.ready: pyproject.toml .ci/system-libraries
	@test -n "$(PYTHON)" || { echo "Python 3.11 or newer is needed and was not found."; exit 1; }
	sh .ci/system-libraries
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable .
	@touch $@

$(VENV)/.ready-for-tests: $(VENV)/.ready .ci/browser
	sh .ci/browser
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[dev]'
	@touch $@

clean:
	rm -rf $(VENV) $(EDITION)/build
