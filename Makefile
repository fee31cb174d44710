# Unsling. "make run" starts everything with a demo clinic; "make test" is what a change must pass.

BIN := bin/unsling

.PHONY: help run build web test size bench clean

help: ## list what can be made
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed 's/:.*## /\t/' | expand -t 14

run: build ## build, start the server with the demo clinic, print its addresses
	@$(BIN) demo

build: web
	@go build -trimpath -o $(BIN) ./server

web:
	@go run ./server/internal/buildweb

test: ## everything a change must pass, browser included; prints the time of each part
	@.ci/test

size: ## bytes of the phone's program against its budget
	@go run ./server/internal/buildweb -size

bench: ## benchmarks of the engine and the exchange
	@go test -run '^$$' -bench . -benchmem ./engine/... ./sync/...

clean: ## remove what was built
	rm -rf bin server/web/dist/*
