# Every target sets itself up: a virtual environment with the pinned packages of constraints.txt.
PY ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.stamp
JOBS ?= 2
SEED ?= 1
LINTED := src tests benchmarks examples docs
# The documentation tool advertises its successor on every run; nothing else is silenced.
export NO_MKDOCS_2_WARNING = 1

# Benchmarks of a minute or less that fail above a limit; the longer ones are run by bench.
GUARDED := startup explain plan members packet

.PHONY: browser serve demo test test-slow check docs validate pictures screens bench bench-guard mutate clean constraints

$(STAMP): pyproject.toml constraints.txt
	$(PY) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check uv
	$(BIN)/uv pip install --quiet --compile-bytecode --python $(BIN)/python -c constraints.txt -e ".[dev]"
	touch $(STAMP)

demo: $(STAMP)
	$(BIN)/stillwet demo --out out/demo

serve: $(STAMP)
	$(BIN)/stillwet keep src/stillwet/data/demo/job.toml out/day.gpkg
	$(BIN)/stillwet serve out/day.gpkg --now 2030-08-14T11:00-06:00 --open

# The browser that the tests of the screens drive, and what installs an authority in it; put there
# when they are not (needs apt and root).
browser:
	command -v chromium > /dev/null && command -v certutil > /dev/null || { apt-get update -qq && apt-get install -y -qq chromium libnss3-tools; }

test: $(STAMP) browser
	$(BIN)/pytest -n $(JOBS) --dist loadfile

test-slow: $(STAMP)
	$(BIN)/pytest -n $(JOBS) --dist loadfile -m slow

check: $(STAMP)
	$(BIN)/ruff format --check $(LINTED)
	$(BIN)/ruff check $(LINTED)
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/mkdocs build --quiet --strict --site-dir out/site

docs: $(STAMP)
	$(BIN)/python docs/make_cli_reference.py
	$(BIN)/python docs/make_facts.py
	$(BIN)/python docs/make_origins.py
	$(BIN)/python docs/make_notebook_page.py
	$(BIN)/mkdocs build --strict

# One page of every outside check, as a page of the documentation and as out/validation.pdf.
validate: $(STAMP)
	$(BIN)/python docs/make_validation.py

# The pictures of README and recipes that come from sheets: docs/img; needs poppler.
pictures: $(STAMP)
	$(BIN)/python docs/make_pictures.py

# Every page of the web app at desk and phone size, by day and by night: docs/img/screens.
screens: $(STAMP) browser
	$(BIN)/python docs/make_screens.py

bench: $(STAMP)
	for file in benchmarks/bench_*.py; do $(BIN)/python $$file || exit 1; done

# The quick benchmarks with a limit, one after another; every one over its limit is named at the end.
bench-guard: $(STAMP)
	@over=; for name in $(GUARDED); do \
	  echo "== $$name"; $(BIN)/python benchmarks/bench_$$name.py || over="$$over $$name"; \
	done; if [ -n "$$over" ]; then echo "over the limit:$$over"; exit 1; fi

# A seeded draw of faults planted in physics and engine: which of them no test notices (about an hour).
mutate: $(STAMP)
	$(BIN)/python benchmarks/mutate.py --jobs $(JOBS) --seed $(SEED)

constraints: $(STAMP)
	$(BIN)/uv pip compile --quiet --no-header --no-annotate --no-emit-index-url --all-extras -o constraints.txt pyproject.toml

clean:
	rm -rf $(VENV) out site
