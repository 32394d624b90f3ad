# Everything a contributor runs. `make` alone lists it.
.DEFAULT_GOAL := help
TOOLS := go tool -modfile=.ci/tools.mod

.PHONY: help
help: ## List the targets
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 18

.PHONY: demo
demo: ## Start the demo club on an embedded database
	go run . demo

.PHONY: test
test: ## Run every test, on SQLite and on PostgreSQL where it is installed
	go test ./...

.PHONY: lint
lint: ## Lint and check formatting
	$(TOOLS) golangci-lint run

.PHONY: format
format: ## Format the code
	$(TOOLS) golangci-lint fmt

.PHONY: generate
generate: ## Write the OpenAPI document and the demo clubs again
	go run ./openapi/gen
	go run ./testdata/demo/generate

.PHONY: client
client: ## Write the typed client of the example site again (needs npm install in .ci)
	.ci/node_modules/.bin/openapi-typescript openapi/openapi.json --output testdata/site/contract.d.ts >/dev/null
	.ci/node_modules/.bin/tsc --strict --target es2022 --module es2022 --moduleResolution bundler --lib es2024,dom,dom.iterable testdata/site/client.ts
	.ci/node_modules/.bin/tsc -p testdata/site

.PHONY: drift
drift: ## Fail when a generated file is stale
	go run ./openapi/gen -check
	go run ./testdata/demo/generate
	git diff --exit-code -- testdata/demo openapi

.PHONY: bench
bench: ## Run the benchmarks
	go test -run '^$$' -bench . -benchmem ./...

.PHONY: bench-lineage
bench-lineage: ## Measure the lineage of clubs of 20,000 and 600,000 lots (minutes)
	go test -tags bench -run LineageOfLargeClubs -v -timeout 2h ./testdata/bench

.PHONY: study-census
study-census: ## Reproduce the coverage study of the census intervals (minutes)
	CENSUS_STUDY_RUNS=20000 go test -run Holds -v ./service/census

.PHONY: ci
ci: ## Run what the build server runs
	bash .ci/run
