//go:build long

package sweep_test

// everything: tests that go through many operations or days leave none out.
const everything = true
