# Set-up and daily work. Every target makes .venv if it is missing; the second time is quick.
PYTHON ?= python3
BIN := .venv/bin
READY := .venv/.ready

.PHONY: demo test bench lint lock clean

demo: $(READY)
	$(BIN)/petalbar demo

test: $(READY)
	$(BIN)/python -m pytest -n auto --dist loadfile --cov \
		--cov-report=term:skip-covered tests

bench: $(READY)
	$(BIN)/python -m pytest -o addopts="" -s -q --import-mode=importlib -p no:cacheprovider \
		--timeout=1800 -o python_files='bench_*.py' tests/bench

lint: $(READY)
	$(BIN)/ruff check composer tui tests demo_tracks
	$(BIN)/ruff format --check composer tui tests demo_tracks
	$(BIN)/mypy
	$(BIN)/lint-imports

# The locked versions, for every supported Python, from pyproject.toml.
lock: $(READY)
	$(BIN)/pip install -q uv
	$(BIN)/uv pip compile --universal --no-emit-index-url --quiet --group dev -o requirements.lock pyproject.toml

$(READY): pyproject.toml requirements.lock
	test -x $(BIN)/python || $(PYTHON) -m venv .venv
	$(BIN)/python -m pip install -q --disable-pip-version-check -r requirements.lock
	$(BIN)/python -m pip install -q --disable-pip-version-check --no-deps -e .
	$(BIN)/python -m compileall -q composer tui
	touch $(READY)

clean:
	rm -rf .venv build dist demo_output
