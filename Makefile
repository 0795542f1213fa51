# afterpart: everything runs inside .venv, made from the locked and hashed requirements.
#   make demo      photo to release on the compressor cover, into build/demo
#   make test      the whole test suite
#   make study     the whole Monte Carlo study, every published plate, drawn scene and test case: hours, by hand
#   make bench     speed, memory and start-up, as ratios taken in one run
#   make picture   docs/picture.png from the demo's files
#   make page      the page in the browser, bundled anew from its sources (needs Node; users do not)
#   make lock      write requirements.txt anew from pyproject.toml

PYTHON ?= python3
VENV   := .venv
RUN    := $(VENV)/bin/python
STAMP  := $(VENV)/.installed
DEMO   := build/demo
COVER  := examples/compressor_cover
JOBS   ?= 3

# One thread each: the test processes share the machine, and results do not depend on the number of cores.
export OMP_NUM_THREADS ?= 1

.PHONY: install demo test study bench picture page lock clean

install: $(STAMP)

$(STAMP): requirements.txt pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info[:2] != (3, 11))' || \
	  { echo "Python 3.11 is needed, found $$($(PYTHON) -V). Say which one to use: make PYTHON=python3.11 ..."; exit 1; }
	@test -x $(RUN) || $(PYTHON) -m venv $(VENV) || \
	  { rm -rf $(VENV); apt-get update && apt-get install -y python3-venv && $(PYTHON) -m venv $(VENV); }
	$(RUN) -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.txt
	$(RUN) -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $@

demo: $(STAMP)
	@rm -rf $(DEMO) && mkdir -p $(dir $(DEMO)) && cp -r $(COVER) $(DEMO)
	$(RUN) -m afterpart measure $(DEMO)
	$(RUN) -m afterpart plate $(DEMO)
# Status 4 says that a finding fails; what it says is for the maker to read, and no fault of the demo.
	$(RUN) -m afterpart check $(DEMO) || test $$? -eq 4
	$(RUN) -m afterpart release $(DEMO)
	@echo
	@echo "Look at $(DEMO)/overlay.png (the photograph with its outline) and $(DEMO)/drawing.pdf (to lay the part on),"
	@echo "$(DEMO)/plate/check_plate.png (to print first), $(DEMO)/pieces/exploded.png (what is made),"
	@echo "$(DEMO)/findings.pdf (what stands against it), and $(DEMO)/release/ (the folder for others: guide.pdf, README.md)."

# Three processes on two cores: a page waits for its program, a command for its kernel, and meanwhile another test goes on (about
# 2 GB each).  A file's tests stay in one process (--dist loadfile): what they photograph or build once is not made twice;
# tests/conftest.py puts the long files first.
# The chequer photographs of one published check come from a Debian package; without it that check is skipped and says so.
# The page is tried in a real browser, which needs letters to show.
# Freed memory is kept for the next picture: asking the kernel for it anew each time took a fifth of the photograph tests.
test: export MALLOC_TRIM_THRESHOLD_ = 4000000000
test: export MALLOC_MMAP_THRESHOLD_ = 4000000000
test: $(STAMP)
	@test -x /usr/bin/chromium || { apt-get update && apt-get install -y --no-install-recommends chromium fonts-dejavu-core; } \
	  >/dev/null 2>&1 || echo "chromium could not be installed: the journeys in the browser are skipped"
	@dpkg -s opencv-doc >/dev/null 2>&1 || { apt-get update && apt-get install -y --no-install-recommends opencv-doc; } \
	  >/dev/null 2>&1 || echo "opencv-doc could not be installed: the chequer photographs are skipped"
	$(RUN) -m pytest -n $(JOBS) --dist loadfile --no-loadscope-reorder

# Samples of these are tests; the whole of them is for a night (docs/testing.md says what is where).  A broken run goes on.
study: $(STAMP)
	@mkdir -p build/study
	$(RUN) -m tests.truth.study -n 300 --jobs 2 --readings --out build/study/study.json
	$(RUN) -m tests.truth.plates
	$(RUN) -m tests.truth.survey
	$(RUN) -m pytest --whole -n $(JOBS) --dist loadfile --no-loadscope-reorder

# Quiet, please: nothing else should run beside it.  docs/make_performance.py makes the page of what it leaves in build/bench.
bench: $(STAMP)
	@mkdir -p build/bench
	$(RUN) -m pytest benchmarks -o python_files='bench_*.py' --benchmark-timer=time.process_time \
	  --benchmark-json=build/bench/stages.json
	for name in startup measure solve build release fit page shares hostile; do \
	  echo $$name; $(RUN) benchmarks/$$name.py | tee build/bench/$$name.json || exit 1; done

picture: $(STAMP)
	$(RUN) docs/make_picture.py $(DEMO) $(COVER)/inlet_cover.jpg docs/picture.png

# The built page is kept with the project; tests/house/test_page.py says when it is older than its sources.
PAGE := src/afterpart/web/page
page:
	@test -d $(PAGE)/node_modules || npm --prefix $(PAGE) ci
	node $(PAGE)/build.mjs

# Needs uv (a development convenience only; installing takes nothing but pip).
lock:
	uv pip compile pyproject.toml --universal --python-version 3.11 --extra solid --extra build --extra test \
	  --extra cluster --generate-hashes --no-annotate --no-header --quiet -o requirements.txt

clean:
	rm -rf build $(VENV) .pytest_cache .hypothesis
