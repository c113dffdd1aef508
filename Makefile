# Everything a newcomer types. `make run` and `make test` do all the set-up themselves, in .venv, once.

PYTHON ?= python3
BIN := .venv/bin
READY := .venv/.ready

.DEFAULT_GOAL := help
.PHONY: help run test check heavy speed sample-jobs keys pictures lock clean
.NOTPARALLEL: # the targets share .venv and sample_jobs/; pytest uses the cores

help: ## say what can be made
	@sed -n 's/^\([a-z-]*\):.*## /\1: /p' Makefile

run: $(READY) ## walk the snare re-tie as a practice job in a scratch shop
	@BENCHWALK_AGAIN='make run' $(BIN)/python -m benchwalk demo

test: $(READY) ## the everyday tests
	$(BIN)/python -m pytest -n 3 --dist worksteal

check: $(READY) ## style, types, imports, and the procedure library
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python -m benchwalk check procedures/*.yaml

heavy: $(READY) ## the tests that take minutes
	$(BIN)/python -m pytest -n 2 --dist worksteal -m heavy

speed: $(READY) ## how fast, as ratios against a floor measured in the same run
	@missed=0; for file in $$(grep -l "^if __name__" benchmarks/*.py); do echo "== $$file"; $(BIN)/python "$$file" || missed=1; done; exit $$missed

sample-jobs: $(READY) ## rebuild sample_jobs/, byte for byte
	$(BIN)/python sample_jobs/build.py

keys: $(READY) ## write docs/keys.md anew from the list of actions
	$(BIN)/python -m benchwalk.screens.keys_page > docs/keys.md

pictures: $(READY) ## picture the screens into docs/pictures/; needs Chromium
	PYTHONPATH=tests $(BIN)/python docs/pictures.py

lock: ## write constraints.txt anew from a fresh environment
	rm -rf build/lock
	$(PYTHON) -m venv build/lock
	build/lock/bin/python -m pip install --quiet -e '.[dev]'
	{ echo '# Exact versions of all that is installed for use and for development; made by `make lock`.'; \
	  build/lock/bin/python -m pip freeze --exclude-editable; } > build/constraints.txt
	mv build/constraints.txt constraints.txt
	rm -rf build/lock

clean: ## remove .venv and everything that was built
	rm -rf .venv build dist .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis

$(READY): pyproject.toml constraints.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Benchwalk needs Python 3.11 or newer; this is " + sys.version.split()[0] + ". Name another: make PYTHON=python3.12 ...")'
	@echo 'Setting up .venv; this happens once and takes about a minute.'
	@$(PYTHON) -m venv .venv
	@$(BIN)/python -m pip install -qq -c constraints.txt -e '.[dev]'
	@touch $@
