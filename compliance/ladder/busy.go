package ladder

import (
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
	s := all[i]
	busy, at := inventory.No, 1
	for j := i - 1; j >= 0 && s.On-all[j].On <= 1; j-- {
		busy, at = h.meets(p, s, all[j], busy, at)
	}
	for j := i + 1; j < len(all) && all[j].On-s.On <= 1; j++ {
		busy, at = h.meets(p, s, all[j], busy, at)
	}
	if at > 1 && at > h.Ladder.HarmlessAtOnce {
		return inventory.Yes
	}
	return busy
}

// meets adds one other sitting to what is known of a sitting: whether the
// person was busy, and how many trainees with harmless animals at once.
func (h *History) meets(p int32, s, other *sitting, busy inventory.Tri, at int) (inventory.Tri, int) {
	over := h.overlap(s, other)
	if over == inventory.No {
		return busy, at
	}
	together := s.mentor == p && other.mentor == p && s.trainee != other.trainee &&
		h.Species[s.species].Harmless == inventory.Yes && h.Species[other.species].Harmless == inventory.Yes
	if together && over == inventory.Yes {
		return busy, at + 1
	}
	return busy.Or(over), at
}

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
