package ladder

import (
	"slices"
	"time"

	"antidotary/inventory"
)

// markBusy finds what a person's sittings overlap: whoever is in two at once,
// in whatever part, was in neither. Both are counted out.
func (h *History) markBusy(p int32) {
	if len(h.own[p])+len(h.taught[p]) < 2 {
		return
	}
	all := merged(h.own[p], h.taught[p])
	for i, s := range all {
		*s.busyOf(p) = h.busy(p, all, i)
	}
}

// busyOf gives where it is written whether a person of the sitting was busy.
func (s *sitting) busyOf(p int32) *inventory.Tri {
	if s.trainee == p {
		return &s.busyTrainee
	}
	return &s.busyMentor
}

// busy says whether a person was busy with something else in one of all his
// sittings. One mentor may watch several trainees with harmless animals.
func (h *History) busy(p int32, all []*sitting, i int) inventory.Tri {
	s, busy := all[i], inventory.No
	var sure, perhaps []*sitting // with harmless animals at the same time
	meets := func(other *sitting) {
		over, together := h.overlap(s, other), h.together(p, s, other)
		switch {
		case over == inventory.No:
			return
		case together == inventory.No:
			busy = busy.Or(over)
			return
		case over == inventory.Yes:
			sure = append(sure, other)
		default:
			perhaps = append(perhaps, other)
		}
		if together == inventory.Unknown {
			busy = busy.Or(inventory.Unknown)
		}
	}
	for j := i - 1; j >= 0 && s.On-all[j].On <= 1; j-- {
		meets(all[j])
	}
	for j := i + 1; j < len(all) && all[j].On-s.On <= 1; j++ {
		meets(all[j])
	}
	if len(sure)+len(perhaps) == 0 {
		return busy
	}
	switch most := max(h.Ladder.HarmlessAtOnce, 1); {
	case s.trainees(sure) > most:
		return inventory.Yes
	case s.trainees(append(sure, perhaps...)) > most:
		return busy.Or(inventory.Unknown)
	}
	return busy
}

// together says whether a mentor may watch two sittings at once, as long as he
// does not watch too many.
func (h *History) together(p int32, a, b *sitting) inventory.Tri {
	if a.mentor != p || b.mentor != p || a.trainee == b.trainee {
		return inventory.No
	}
	return h.Species[a.species].Harmless.And(h.Species[b.species].Harmless)
}

// trainees gives how many trainees there were at one moment of a sitting at
// most, with those of others at that time. The most are there as one begins.
func (s *sitting) trainees(others []*sitting) (most int) {
	for _, at := range append([]*sitting{s}, others...) {
		if s.timed() && !s.during(at.Begun) {
			continue
		}
		who := []int32{s.trainee}
		for _, o := range others {
			if (!o.timed() || o.during(at.Begun)) && !slices.Contains(who, o.trainee) {
				who = append(who, o.trainee)
			}
		}
		most = max(most, len(who))
	}
	return most
}

// during says whether a sitting, whose times are known, was on at an instant.
func (s *sitting) during(at time.Time) bool { return !at.Before(s.Begun) && at.Before(s.Ended) }

// overlap says whether two sittings were at the same time.
func (h *History) overlap(a, b *sitting) inventory.Tri {
	if a.timed() && b.timed() {
		return inventory.Bool(a.Begun.Before(b.Ended) && b.Begun.Before(a.Ended))
	}
	if a.On != b.On || h.Ladder.Untimed {
		return inventory.No
	}
	return inventory.Unknown
}

func (s *sitting) timed() bool { return !s.Begun.IsZero() && !s.Ended.IsZero() }

// merged joins two lists that are in order.
func merged(a, b []*sitting) []*sitting {
	out := make([]*sitting, 0, len(a)+len(b))
	for len(a) > 0 && len(b) > 0 {
		if before(a[0], b[0]) < 0 {
			out, a = append(out, a[0]), a[1:]
		} else {
			out, b = append(out, b[0]), b[1:]
		}
	}
	return append(append(out, a...), b...)
}
