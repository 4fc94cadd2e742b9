# What one does with this repository. Go alone is enough for build, demo and bench; test and soak
# also want the programs under peers.

.PHONY: build demo test script shots soak bench fuzz peers lint

FUZZTIME ?= 4s
PEERS = zbarimg ZXingReader pdftoppm sqlite3 chromium npm
PEER_PACKAGES = zbar-tools zxing-cpp-tools poppler-utils sqlite3 chromium npm
# From npm, into a folder that git ignores: what judges the pages and their script.
NPM_PACKAGES = axe-core@4.14.1 typescript@5.9.3

# A static binary: ./tagd
build:
	CGO_ENABLED=0 go build -trimpath -ldflags='-s -w' -o tagd ./cmd/tagd

# A day of an invented shop, then a server to look round in.
demo:
	go run ./cmd/tagd demo

# Everything, as it is checked before a change is taken: under 15 minutes on two cores. The race
# detector runs where goroutines meet; the rooms that read and draw have none, and it would make
# them many times slower.
CONCURRENT = ./api/... ./cmd/... ./internal/floor/... ./internal/journal/... ./internal/store/... ./internal/view/... ./internal/web/...

test: lint peers script
	TAGD_PEERS=1 TAGD_KILLS=30 go test -timeout 14m ./...
	@if command -v $$(go env CC) >/dev/null; then \
		echo go test -race $(CONCURRENT); go test -race -timeout 14m $(CONCURRENT); \
	else \
		echo "no C compiler, so the race detector was left out"; \
	fi
	$(MAKE) --no-print-directory fuzz

# The script of the pages: its types, which stand in comments, and what of it needs no browser.
SCRIPT = internal/web/pages/static/js
TSC = .peers/node_modules/.bin/tsc --checkJs --allowJs --noEmit --strict --noUncheckedIndexedAccess \
	--target es2022 --module esnext --moduleResolution bundler

script: peers
	$(TSC) --lib es2022,dom,dom.iterable $(filter-out %/sw.js,$(wildcard $(SCRIPT)/*.js))
	$(TSC) --lib es2022,webworker $(SCRIPT)/sw.js
	node --test $(wildcard internal/web/pages/jstest/*.test.mjs)

# Every page as a phone, a tablet and a shop PC show it: look at them.
shots: peers
	TAGD_PEERS=1 TAGD_SHOTS=$(CURDIR)/shots go test -count=1 -timeout 14m -run '^TestShots$$' ./cmd/tagd

lint:
	@files=$$(gofmt -l $$(git ls-files -co --exclude-standard '*.go')); \
	if [ -n "$$files" ]; then echo "gofmt would change:"; echo "$$files"; exit 1; fi
	go vet ./...

# The programs by other people that our symbols and papers are read with.
peers:
	@missing=; for p in $(PEERS); do command -v $$p >/dev/null || missing="$$missing $$p"; done; \
	if [ -z "$$missing" ]; then exit 0; fi; \
	if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
		apt-get update -q && apt-get install -q -y --no-install-recommends $(PEER_PACKAGES); \
	else \
		echo "missing:$$missing"; echo "install $(PEER_PACKAGES) (their names in Debian), then run make test again"; exit 1; \
	fi
	@npm ls --prefix .peers $(NPM_PACKAGES) >/dev/null 2>&1 || npm install --prefix .peers --no-save --no-audit --no-fund --loglevel=error $(NPM_PACKAGES)

# Every fuzz target for a few seconds, from its committed seeds on. At the end of its time the engine may
# report its own deadline as a failure (golang/go#75804); what it really finds, it writes down and names.
fuzz:
	@set -e; log=$$(mktemp); trap 'rm -f '$$log EXIT; \
	for dir in $$(grep -rl --include='*_test.go' '^func Fuzz' . | xargs -n1 dirname | sort -u); do \
		targets=$$(go test -list '^Fuzz' $$dir); \
		for target in $$(echo "$$targets" | grep '^Fuzz'); do \
			echo "fuzz $$dir $$target"; \
			if go test -run '^$$' -fuzz "^$$target\$$" -fuzztime $(FUZZTIME) -parallel 2 $$dir >$$log 2>&1; then \
				tail -n 1 $$log; \
			elif grep -q '^ *context deadline exceeded$$' $$log && ! grep -q 'Failing input written' $$log; then \
				echo "time is up, nothing found"; \
			else \
				cat $$log; exit 1; \
			fi; \
		done; \
	done

# The long ones: what the record answers at ten million events, and how soon after a restart (some 4 GB
# on this disk, for ten minutes); what the trucks need; more histories, more kills, longer fuzzing.
# Figures stand beside what is wanted of them: a person compares.
soak: peers
	go run ./cmd/tagd bench trace --events 10000000 --dir .
	go run ./cmd/tagd bench needs --dir .
	TAGD_PEERS=1 TAGD_SOAK=1 go test -timeout 4h -count=1 ./...
	$(MAKE) --no-print-directory fuzz FUZZTIME=5m

# Figures of this machine; compare them only with figures of the same run.
bench:
	go test -run '^$$' -bench . -benchmem ./...
	for what in scans trace web needs; do go run ./cmd/tagd bench $$what --dir . || exit 1; done
