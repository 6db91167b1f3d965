//go:build !long

package sweep_test

// everything: tests that go through many operations or days leave some out;
// go test -tags long does not.
const everything = false
