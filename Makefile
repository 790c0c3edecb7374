# Short names for the commands people run; everything works with plain go as well.
export CGO_ENABLED = 0

.PHONY: build test ci vet race fuzz bench release demo clean

build:      ## one static binary in dist/
	go build -trimpath -ldflags='-s -w' -o dist/ringcraft ./cmd/ringcraft
test:       ## what a contributor runs
	go test ./...
ci:         ## what must pass before anything lands
	bash .ci/run
vet:        ## formatting, vet, staticcheck
	gofmt -l cmd internal *.go
	go vet ./...
	go tool -modfile=tools.mod staticcheck ./...
race:       ## the packages with goroutines
	CGO_ENABLED=1 RINGCRAFT_BROWSER=none go test -race $$(cat .ci/race-packages)
fuzz:       ## every parser and importer, half a minute each
	scripts/fuzz 30
bench:      ## figures of docs/PERFORMANCE.md
	go test -run '^$$' -bench . -benchmem ./...
release:    ## Linux, macOS, Windows, amd64 and arm64
	scripts/release
demo:       ## the demo yard in the browser
	go run ./cmd/ringcraft demo
clean:
	rm -rf dist
