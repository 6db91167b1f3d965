package ladder

import (
	"cmp"
	"container/heap"
	"maps"
	"slices"

	"antidotary/inventory/day"
)

// Change is what is added to the records or corrected in them. Was is what
// stood, nil where nothing did; Is what stands then, nil where it is taken
// out.
type Change struct {
	Sessions []SessionChange
	Acts     []ActChange
}

// SessionChange is the change of one session.
type SessionChange struct{ Was, Is *Session }

// ActChange is the change of one act.
type ActChange struct{ Was, Is *Authorisation }

// After judges again what a change reaches, and nothing else: the sessions and
// acts that it names, and of whoever may stand otherwise because of it
// whatever he did, taught or signed since. The answers are those of a
// judgement of everything; the standings that it begins with stay as they are.
func (s *Standings) After(c Change) *Standings {
	h := *s.h
	h.own, h.taught = slices.Clone(h.own), slices.Clone(h.taught)
	h.actsOf, h.takes, h.signs = slices.Clone(h.actsOf), slices.Clone(h.takes), maps.Clone(h.signs)
	h.held, h.acts = nil, nil // only a first pass needs them
	a := &again{h: &h, fresh: make(map[*sitting]bool), freshActs: make(map[*act]bool)}
	for _, sc := range c.Sessions {
		a.session(sc)
	}
	for _, ac := range c.Acts {
		a.actChange(ac)
	}
	after := &Standings{h: &h}
	a.worlds(after)
	return after
}

// again is a judgement of a part.
type again struct {
	h         *History
	fresh     map[*sitting]bool // of this history alone: may be written to
	freshActs map[*act]bool
	first     []mark // what the change itself reaches
	run       *run
	queue     marks
	queued    map[any]bool
}

// mark is something to judge again.
type mark struct {
	on      day.Day
	session *Session
	act     *Authorisation
	person  int32 // whose session or act it is
	sort    int   // as acts of one day are sorted; sessions come before them
}

// marks is a heap by day, sessions before acts.
type marks []mark

func (m marks) Len() int           { return len(m) }
func (m marks) Swap(i, j int)      { m[i], m[j] = m[j], m[i] }
func (m marks) Less(i, j int) bool { return m[i].before(m[j]) }
func (m *marks) Push(x any)        { *m = append(*m, x.(mark)) }
func (m *marks) Pop() any {
	last := (*m)[len(*m)-1]
	*m = (*m)[:len(*m)-1]
	return last
}

func (m mark) before(o mark) bool {
	if c := cmp.Or(cmp.Compare(m.on, o.on), cmp.Compare(m.sort, o.sort)); c != 0 || m.act == nil || o.act == nil {
		return c < 0
	}
	return actBefore(&act{Authorisation: m.act}, &act{Authorisation: o.act}) < 0
}

func (a *again) markSession(s *sitting) {
	a.first = append(a.first, mark{on: s.On, session: s.Session, person: s.trainee, sort: -1})
}

// session takes one session out and puts the other in its place.
func (a *again) session(c SessionChange) {
	for _, s := range []*Session{c.Was, c.Is} {
		if s == nil {
			continue
		}
		one, ok := a.h.sitting(s)
		if !ok {
			continue
		}
		in := s == c.Is
		a.h.own[one.trainee] = placed(a.h.own[one.trainee], &one, before, in)
		a.fresh[&one] = true
		if one.mentor >= 0 {
			a.h.taught[one.mentor] = placed(a.h.taught[one.mentor], &one, before, in)
			a.busyAgain(one.mentor, one.On)
		}
		a.busyAgain(one.trainee, one.On)
		if in {
			a.markSession(&one)
		} else {
			a.reach(one.trainee, one.On, &a.first)
		}
	}
}

// placed gives a list with a record put in or taken out.
func placed[T any](list []*T, one *T, order func(a, b *T) int, in bool) []*T {
	i, found := slices.BinarySearchFunc(list, one, order)
	switch {
	case in:
		return slices.Insert(slices.Clip(list), i, one)
	case found:
		return slices.Concat(list[:i], list[i+1:])
	}
	return list
}

// busyAgain finds again who was in two sessions at once around a day.
func (a *again) busyAgain(p int32, d day.Day) {
	all := merged(around(a.h.own[p], d, 2), around(a.h.taught[p], d, 2))
	for i, s := range all {
		if s.On < d-1 || s.On > d+1 {
			continue
		}
		if busy := a.h.busy(p, all, i); busy != *s.busyOf(p) {
			s = a.own(s)
			all[i] = s
			*s.busyOf(p) = busy
			a.markSession(s)
		}
	}
}

// around gives the part of a list within some days of one.
func around(list []*sitting, d day.Day, within int) []*sitting {
	at := func(d day.Day) int {
		i, _ := slices.BinarySearchFunc(list, d, func(s *sitting, d day.Day) int { return cmp.Compare(s.On, d) })
		return i
	}
	return list[at(d.Add(-within)):at(d.Add(within+1))]
}

// own gives a sitting that belongs to this history alone.
func (a *again) own(s *sitting) *sitting {
	if a.fresh[s] {
		return s
	}
	one := *s
	a.h.own[s.trainee] = replaced(a.h.own[s.trainee], s, &one, before)
	if s.mentor >= 0 {
		a.h.taught[s.mentor] = replaced(a.h.taught[s.mentor], s, &one, before)
	}
	a.fresh[&one] = true
	return &one
}

func replaced[T any](list []*T, was, is *T, order func(a, b *T) int) []*T {
	list = slices.Clone(list)
	if i, found := slices.BinarySearchFunc(list, was, order); found {
		list[i] = is
	}
	return list
}

func (a *again) actChange(c ActChange) {
	for _, x := range []*Authorisation{c.Was, c.Is} {
		if x == nil {
			continue
		}
		one, ok := a.h.newAct(x)
		if !ok {
			continue
		}
		in := x == c.Is
		a.h.actsOf[one.person] = placed(a.h.actsOf[one.person], &one, actBefore, in)
		if one.What.Adverse() {
			a.h.takes[one.person] = placed(a.h.takes[one.person], &one, actBefore, in)
		}
		a.h.eachSigner(&one, func(p int32) { a.h.signs[p] = placed(a.h.signs[p], &one, actBefore, in) })
		a.freshActs[&one] = true
		a.reach(one.person, one.On, &a.first)
	}
}

// reach marks whatever rests on a person's standing from a day on.
func (a *again) reach(p int32, from day.Day, into *[]mark) {
	since := func(s *sitting, d day.Day) int { return cmp.Compare(s.On, d) }
	for _, list := range [][]*sitting{a.h.own[p], a.h.taught[p]} {
		i, _ := slices.BinarySearchFunc(list, from, since)
		for _, s := range list[i:] {
			*into = append(*into, mark{on: s.On, session: s.Session, person: s.trainee, sort: -1})
		}
	}
	for _, list := range [][]*act{a.h.actsOf[p], a.h.signs[p]} {
		i, _ := slices.BinarySearchFunc(list, from, func(x *act, d day.Day) int { return cmp.Compare(x.On, d) })
		for _, x := range list[i:] {
			*into = append(*into, mark{on: x.On, act: x.Authorisation, person: x.person, sort: rank(x.What)})
		}
	}
}

// worlds judges what is marked in both worlds. Of what was judged before, the
// newest word stands.
func (a *again) worlds(after *Standings) {
	for _, w := range []World{Worst, Best} {
		a.run = &run{h: a.h, world: &reading{World: w}, walkers: make([]*walker, len(a.h.People)), left: make([]left, len(a.h.People))}
		a.queue, a.queued = nil, make(map[any]bool)
		for _, m := range a.first {
			a.push(m)
		}
		for len(a.queue) > 0 {
			a.judge(heap.Pop(&a.queue).(mark))
		}
	}
	after.read()
}

func (a *again) push(m mark) {
	key := any(m.session)
	if m.session == nil {
		key = m.act
	}
	if !a.queued[key] {
		a.queued[key] = true
		heap.Push(&a.queue, m)
	}
}

// judge judges one thing again; where the word changes, whatever rests on the
// person from then on is judged again as well.
func (a *again) judge(m mark) {
	w := a.run.world.World
	changed := false
	if m.session != nil {
		s := a.find(m)
		if s == nil {
			return
		}
		if status := a.run.judge(s); status != s.status[w] {
			s = a.own(s)
			changed, s.status[w] = true, status
		}
	} else {
		x := a.findAct(m)
		if x == nil {
			return
		}
		walker := a.run.walker(m.person, m.on)
		a.run.leadTo(walker, x)
		if g := a.run.grantOf(walker, x); g != x.granted[w] {
			x = a.ownAct(x)
			changed, x.granted[w] = true, g
		}
	}
	if changed {
		var reached []mark
		a.reach(m.person, m.on, &reached)
		for _, r := range reached {
			if m.before(r) {
				a.push(r)
			}
		}
	}
}

func (a *again) find(m mark) *sitting {
	list := a.h.own[m.person]
	one := sitting{Session: m.session}
	if i, found := slices.BinarySearchFunc(list, &one, before); found {
		return list[i]
	}
	return nil
}

func (a *again) findAct(m mark) *act {
	list := a.h.actsOf[m.person]
	if i, found := slices.BinarySearchFunc(list, &act{Authorisation: m.act}, actBefore); found {
		return list[i]
	}
	return nil
}

func (a *again) ownAct(x *act) *act {
	if a.freshActs[x] {
		return x
	}
	one := *x
	a.h.actsOf[x.person] = replaced(a.h.actsOf[x.person], x, &one, actBefore)
	a.h.eachSigner(x, func(p int32) { a.h.signs[p] = replaced(a.h.signs[p], x, &one, actBefore) })
	a.freshActs[&one] = true
	return &one
}

// lead brings a person of a part up to the eve of a day.
func (r *run) lead(p int32, d day.Day) {
	w := r.walkers[p]
	if w == nil {
		w = newWalker(r.h, r.world, p)
		r.walkers[p] = w
	}
	w.on(&r.left[p], d-1, nil)
}

// leadTo brings a person to the hour of an act: what came before it on its day
// has happened.
func (r *run) leadTo(w *walker, x *act) {
	l := &r.left[w.id]
	w.sessionsOf(l, x.On)
	w.settle(x.On)
	for acts := r.h.actsOf[w.id]; l.acts < len(acts) && actBefore(acts[l.acts], x) < 0; l.acts++ {
		w.apply(acts[l.acts])
	}
}
