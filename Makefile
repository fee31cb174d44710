# Unsling. "make run" starts everything with a demo clinic; "make test" is what a change must pass.

BIN := bin/unsling

# One set of flags for whatever is built here, so that each package is compiled once; as a release, without a C compiler.
export GOFLAGS := $(strip $(shell go env GOFLAGS) -trimpath)
export CGO_ENABLED ?= 0

.PHONY: help run build web test test-long size bench demo-check sim sim-mutants crash test-engines study pictures attack release clean

help: ## list what can be made
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed 's/:.*## /\t/' | expand -t 14

run: build ## build, start the server with the demo clinic, print its addresses
	@$(BIN) demo

build: web
	@go build -o $(BIN) ./server

# What only this machine looks at is packed lightly: it saves half a minute.
run demo-check attack pictures: PACK := -fast

web:
	@go run ./server/internal/buildweb $(PACK)

test: ## everything a change must pass, browser included; prints the time of each part
	@.ci/test

test-long: ## test, then 2,000 seeds, the mutants, 200 crashes, Firefox and WebKitGTK, and an hour of fuzzing shared by all decoders
	@.ci/test
	@.ci/test long

size: ## bytes of the phone's program against its budget
	@go run ./server/internal/buildweb -size

bench: ## budgets of engine, fold and store, each with what was measured; then every other benchmark
	@.ci/budgets
	@go test -run '^$$' -bench . -skip '^BenchmarkBudget' -benchmem ./engine/... ./sync/... ./app/... ./server/ledger/...

demo-check: build ## verify the demo's store: chains, checksums, facts equal to a fresh fold
	@$(BIN) verify .demo

SEEDS ?= 200

sim: ## the exchange under every kind of trouble, SEEDS=200 seeds from a fresh one on, which is printed
	@first=$$(od -An -N4 -tu4 /dev/urandom | tr -d ' '); echo "first seed $$first"; \
	go test -count=1 -v -timeout 80m ./sync/replica/sim -run TestSeeds -args -seeds $(SEEDS) -first $$first

sim-mutants: ## break each rule of the agreement in turn and see that the simulation notices: a table, rule by rule
	@go test -count=1 -v -timeout 60m ./sync/replica/sim -run '^TestMutants$$' -args -mutants

CRASHES ?= 200

crash: ## kill the real server CRASHES=200 times under load, and damage every kind of its files at 5 places each
	@go test -count=1 -v -timeout 60m ./server/crashtest -run '^TestCrash$$' -args -crashes $(CRASHES)
	@go test -count=1 -v -timeout 60m ./server/crashtest -run '^TestDamagedFiles$$' -args -places 5

test-engines: ## the journal and a patient's way, from the printed code to the clinic's page, in Firefox and WebKitGTK
	@.ci/test engines

study: ## how often findings fire on healthy courses and how late on stiff ones: writes engine/review/testdata/study.txt
	@go test -count=1 -v ./engine/review -run Study -study -timeout 2h

pictures: web ## every screen and page, light and dark, small and wide, both languages: pictures/index.html, contact-phone.png, contact-clinic.png
	@go test -count=1 -timeout 30m ./server/browsertest -run '^TestPictures$$' -v -pictures $(CURDIR)/pictures

attack: web ## the whole threat list against the real server: held or broken, threat by threat
	@go run ./server/internal/attack

release: ## reproducible programs, bill of materials, licences, vulnerabilities, checksums: bin/release (what is committed)
	@go run ./server/internal/release

clean: ## remove what was built
	rm -rf bin server/web/dist/*
