//go:build unix && long

package main

import "time"

// As in three_short_test.go, for whoever has the time.
const (
	troubled  = 10 * time.Minute
	calm      = 20 * time.Second
	newcomers = 120
	papers    = 10
)
