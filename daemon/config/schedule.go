package config

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/robfig/cron/v3"
)

// ParseSchedule reads a cron expression with five fields, in a zone. The
// library's parser panics on some input, accepts dates that never come and
// intervals of a second; all of that is refused here.
func ParseSchedule(expr, zone string) (schedule cron.Schedule, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("%q is not a schedule: %v", expr, r)
		}
	}()
	if strings.Contains(expr, "TZ=") {
		return nil, fmt.Errorf("%q is not allowed: the zone is set by the key zone", expr)
	}
	if strings.HasPrefix(strings.TrimSpace(expr), "@") {
		return nil, fmt.Errorf("%q is not allowed: write five fields, such as \"30 5 * * *\" for half past five each day", expr)
	}
	loc, err := time.LoadLocation(zone)
	if err != nil {
		return nil, fmt.Errorf("read zone of the schedule: %w", err)
	}
	parsed, err := cron.ParseStandard(expr)
	if err != nil {
		return nil, fmt.Errorf("%q is not a schedule of five fields, such as \"30 5 * * *\": %w", expr, err)
	}
	spec, ok := parsed.(*cron.SpecSchedule)
	if !ok {
		return nil, errors.New("a schedule of five fields is needed")
	}
	spec.Location = loc
	if spec.Next(time.Date(2026, 1, 1, 0, 0, 0, 0, loc)).IsZero() {
		return nil, fmt.Errorf("%q never comes", expr)
	}
	return spec, nil
}
