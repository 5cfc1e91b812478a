# Two commands do all set-up: `make demo` and `make test`. PYTHON may name another interpreter (3.11 or newer).
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

.PHONY: demo page serve openapi test kernels lint bench lock clean

$(VENV)/runtime.done: requirements/runtime.txt pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit("Rillwright needs Python 3.11 or newer; set PYTHON=...") if sys.version_info < (3, 11) else None'
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/runtime.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/build.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation --editable .
	touch $@

$(VENV)/dev.done: requirements/dev.txt $(VENV)/runtime.done
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/dev.txt
	touch $@

demo: $(VENV)/runtime.done  ## plan the demo yard into out/demo
	$(BIN)/rillwright plan examples/demo.yard.json --out out/demo --force

PAGE := src/rillwright/page/index.html
page: $(PAGE)  ## build the browser page, with npm from the PATH or, where there is none, from the tests' packages

$(PAGE): $(if $(shell command -v npm),$(VENV)/runtime.done,$(VENV)/dev.done) $(shell find web/src web/public -type f) $(wildcard web/*.json web/*.ts web/*.js web/*.html)
	$(BIN)/python hatch_build.py
	touch $@

serve: $(PAGE)  ## the page, on this machine
	$(BIN)/rillwright serve --open

openapi: $(VENV)/runtime.done  ## describe the interface of the page again
	$(BIN)/rillwright openapi > web/openapi.json

test: $(VENV)/dev.done $(PAGE) kernels lint  ## every check
	$(BIN)/python hatch_build.py check
	$(BIN)/python -m pytest -n auto --dist loadfile

kernels: $(VENV)/dev.done  ## compile once what every process of the tests would else compile for itself
	$(BIN)/python -m compileall -q src tests
	cd tests && ../$(BIN)/python -c 'from plan_yards import planned, small_yard; planned(small_yard())'

lint: $(VENV)/dev.done
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

bench: $(VENV)/dev.done $(PAGE)  ## times and ratios of every stage
	for part in plan move network sprays head_layout zoning routing pipework certainty campus season startup cups page; do $(BIN)/python benchmarks/$$part.py || exit 1; done

lock:  ## pin all packages again; needs uv
	uv pip compile pyproject.toml --extra dev --generate-hashes --universal --python-version 3.11 --no-emit-index-url --no-header --quiet -o requirements/dev.txt
	uv pip compile pyproject.toml --generate-hashes --universal --python-version 3.11 --no-emit-index-url --no-header --quiet -c requirements/dev.txt -o requirements/runtime.txt
	printf 'hatchling>=1.25\neditables>=0.5\n' | uv pip compile - --generate-hashes --universal --python-version 3.11 --no-emit-index-url --no-header --quiet -c requirements/dev.txt -o requirements/build.txt

clean:
	rm -rf $(VENV) out dist build
