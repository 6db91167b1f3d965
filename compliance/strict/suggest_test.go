package strict

import (
	"strings"
	"testing"
)

func TestClosest(t *testing.T) {
	allowed := []string{"id", "layer", "requirement", "review-by", "citation"}
	tests := []struct{ word, want string }{
		{"laeyr", "layer"}, {"layr", "layer"}, {"ID", ""}, {"ids", "id"}, {"requirment", "requirement"},
		{"review_by", "review-by"}, {"colour", ""}, {"", ""}, {"citatoin", "citation"}, {strings.Repeat("x", 1000), ""},
	}
	for _, tt := range tests {
		if got := Closest(tt.word, allowed); got != tt.want {
			t.Errorf("Closest(%q) = %q, want %q", tt.word, got, tt.want)
		}
	}
}
