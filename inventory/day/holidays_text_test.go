package day

import (
	"strings"
	"testing"
)

// TestHolidaysAreReadAgain from the text that they kept, to the byte.
func TestHolidaysAreReadAgain(t *testing.T) {
	text := "\ufeff# edition: none\r\n" + holidayColumns + "\r\nXX\t2026-01-01\tnew_year\t\r\n"
	own, err := ReadHolidays("own.tsv", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if own.Text() != text {
		t.Errorf("kept %q, want %q", own.Text(), text)
	}
	for _, h := range []*Holidays{own, Embedded()} {
		again, err := ReadHolidays("again.tsv", strings.NewReader(h.Text()))
		if err != nil || again.Hash() != h.Hash() {
			t.Errorf("read again: %v", err)
		}
	}
}
