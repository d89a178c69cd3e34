# make setup: the virtual environment and nothing else · make test: the whole gate
# make demo: an invented collection, served, with everything it needs
# make bench: speed and memory against the bare libraries · make soak: 200 kills while people write
SHELL := /bin/bash
PYTHON ?= $(shell for p in python3.13 python3.12 python3.11 python3; do \
	command -v $$p >/dev/null && $$p -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $$p && break; done)
INSTALL = .venv/bin/python -m pip install --quiet --disable-pip-version-check

.PHONY: setup demo test quick bench soak browser

setup: .venv/ready
demo: .venv/ready
	.venv/bin/python -m api.commands demo
test: .venv/ready-dev browser
	.venv/bin/python -m tests
quick: .venv/ready-dev
	.venv/bin/python -m pytest tests/rules tests/risk
bench: .venv/ready-dev
	.venv/bin/python -m tests.bench
soak: .venv/ready-dev
	.venv/bin/python -m tests.soak

.venv/bin/python:
	@test -n "$(PYTHON)" || { echo "Hingebook needs Python 3.11 or newer: apt-get install -y python3 python3-venv"; exit 1; }
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || { \
		if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then apt-get update -qq && apt-get install -y -qq python3-venv; \
		else echo "Python's venv is missing; as root: apt-get install -y python3-venv"; exit 1; fi; }
	$(PYTHON) -m venv .venv

.venv/ready: constraints.txt pyproject.toml Makefile | .venv/bin/python
	$(INSTALL) --require-hashes --only-binary :all: -r constraints.txt
	@# The command itself, without a build: this folder on the path, and a script that calls it.
	echo "$(CURDIR)" > "$$(.venv/bin/python -c 'import sysconfig; print(sysconfig.get_path("purelib"))')/hingebook.pth"
	printf '#!%s\nfrom api.commands import main\n\nmain()\n' "$(CURDIR)/.venv/bin/python" > .venv/bin/hingebook
	chmod +x .venv/bin/hingebook
	touch $@

.venv/ready-dev: constraints-dev.txt pyproject.toml Makefile | .venv/bin/python
	$(INSTALL) --require-hashes --only-binary :all: -r constraints-dev.txt
	$(INSTALL) --no-deps --no-build-isolation -e .
	touch $@ .venv/ready

# Browser tests drive the system's own browser. Without one they fail in CI and are left out, by name, elsewhere.
browser:
	@for b in "$$HINGEBOOK_CHROMIUM" chromium-headless-shell chromium google-chrome; do command -v "$$b" >/dev/null 2>&1 && exit 0; done; \
	if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then apt-get update -qq && \
	{ apt-get install -y -qq chromium-headless-shell || apt-get install -y -qq chromium; }; \
	else echo "No Chromium for the browser tests; as root: apt-get install -y chromium"; fi
