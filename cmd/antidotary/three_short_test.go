//go:build unix && !long

package main

import "time"

// How long the three daemons are troubled; the last part of it, calm, kills
// none of them, since a daemon that starts looks again only half a minute
// later.
const (
	troubled  = 30 * time.Second
	calm      = 17 * time.Second
	newcomers = 40 // people and papers that come meanwhile
	papers    = 10
)
