//go:build !long

package store

// everyOperation: tests that go through many operations leave out some of
// those that are like their neighbours; go test -tags long does not.
const everyOperation = false
