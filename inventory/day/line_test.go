package day

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// anyDay draws a day that records may hold.
func anyDay() *rapid.Generator[Day] {
	return rapid.Map(rapid.Int32Range(int32(First), int32(Last)), func(n int32) Day { return Day(n) })
}

// nearDay draws from few days, so that changes meet.
func nearDay() *rapid.Generator[Day] {
	origin := MustParse("2026-01-01")
	return rapid.Map(rapid.IntRange(0, 40), origin.Add)
}

func changes() *rapid.Generator[[]Change[int]] {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Change[int] {
		return Change[int]{nearDay().Draw(t, "on"), rapid.IntRange(0, 3).Draw(t, "to")}
	}), 0, 20)
}

func anyLine() *rapid.Generator[Line[int]] {
	return rapid.Custom(func(t *rapid.T) Line[int] {
		return Steps(rapid.IntRange(0, 3).Draw(t, "first"), changes().Draw(t, "changes")...)
	})
}

// span40 yields every day on which a drawn line may change, and one each side.
func span40(yield func(Day) bool) {
	for d, last := MustParse("2025-12-31"), MustParse("2026-02-11"); d <= last && yield(d); d++ {
	}
}

// checkNormal holds the normal form: ascending, and neighbours differ.
func checkNormal[T comparable](t *rapid.T, l Line[T]) {
	on, value := Day(0), l.First()
	for d, to := range l.Changes() {
		if d <= on {
			t.Fatalf("the change on %s comes after that on %s", d, on)
		}
		if to == value {
			t.Fatalf("nothing changes on %s", d)
		}
		on, value = d, to
	}
}

// naive is the definition: the latest change on or before d counts, and of
// several on one day the later in the list.
func naive(first int, list []Change[int], d Day) int {
	value, on := first, Day(0)
	for _, c := range list {
		if c.On <= d && c.On >= on {
			value, on = c.To, c.On
		}
	}
	return value
}

func TestLineIsItsDefinition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		first, list := rapid.IntRange(0, 3).Draw(t, "first"), changes().Draw(t, "changes")
		kept := slices.Clone(list)
		l := Steps(first, list...)
		checkNormal(t, l)
		if diff := cmp.Diff(kept, list); diff != "" {
			t.Fatalf("Steps altered its arguments: %s", diff)
		}
		for d := range span40 {
			if got, want := l.At(d), naive(first, list, d); got != want {
				t.Fatalf("on %s: got %d, want %d", d, got, want)
			}
		}
	})
}

func TestStepsInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOfDistinct(rapid.Custom(func(t *rapid.T) Change[int] {
			return Change[int]{nearDay().Draw(t, "on"), rapid.IntRange(0, 3).Draw(t, "to")}
		}), func(c Change[int]) Day { return c.On }).Draw(t, "changes")
		other := rapid.Permutation(list).Draw(t, "other order")
		if a, b := Steps(0, list...), Steps(0, other...); !a.Equal(b) {
			t.Fatalf("%v and %v differ", a, b)
		}
	})
}

func TestCombineAndMapArePointwise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyLine().Draw(t, "a"), anyLine().Draw(t, "b")
		worst := func(x, y int) int { return max(x, y) }
		both, odd := Combine(a, b, worst), Map(a, func(x int) bool { return x%2 == 1 })
		checkNormal(t, both)
		checkNormal(t, odd)
		for d := range span40 {
			if got, want := both.At(d), max(a.At(d), b.At(d)); got != want {
				t.Fatalf("Combine on %s: got %d, want %d", d, got, want)
			}
			if got, want := odd.At(d), a.At(d)%2 == 1; got != want {
				t.Fatalf("Map on %s: got %t, want %t", d, got, want)
			}
		}
		if !Combine(b, a, worst).Equal(both) {
			t.Fatal("the order of the lines matters")
		}
	})
}

func TestSwitchIsPointwise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		which := anyLine().Draw(t, "which")
		lines := rapid.SliceOfN(anyLine(), 4, 4).Draw(t, "lines")
		got := Switch(which, func(k int) Line[int] { return lines[k] })
		checkNormal(t, got)
		for d := range span40 {
			if want := lines[which.At(d)].At(d); got.At(d) != want {
				t.Fatalf("on %s: got %d, want %d", d, got.At(d), want)
			}
		}
	})
}

func TestEqualIsPointwise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyLine().Draw(t, "a"), anyLine().Draw(t, "b")
		same := true
		for d := range span40 {
			same = same && a.At(d) == b.At(d)
		}
		if a.Equal(b) != same {
			t.Fatalf("Equal says %t of %v and %v", !same, a, b)
		}
	})
}

func TestNextIsAScan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, from := anyLine().Draw(t, "line"), nearDay().Draw(t, "after")
		want := rapid.IntRange(0, 3).Draw(t, "want")
		var on Day
		for d := range span40 {
			if d > from && l.At(d) == want && l.At(d-1) != want {
				on = d
				break
			}
		}
		got, value, found := l.Next(from, func(v int) bool { return v == want })
		if got != on || found != (on != 0) || found && value != want {
			t.Fatalf("got %s, %d, %t; want %s", got, value, found, on)
		}
	})
}

func TestBuilderLeavesGivenLinesAlone(t *testing.T) {
	d := MustParse("2026-01-01")
	b := NewBuilder("a")
	b.Add(d, "b")
	b.Add(d+1, "c")
	given := b.Line()
	b.Add(d+1, "x")
	b.Add(d+2, "y")
	later := b.Line()
	if !given.Equal(Steps("a", Change[string]{d, "b"}, Change[string]{d + 1, "c"})) {
		t.Errorf("the first line became %v", given)
	}
	want := Steps("a", Change[string]{d, "b"}, Change[string]{d + 1, "x"}, Change[string]{d + 2, "y"})
	if !later.Equal(want) {
		t.Errorf("the second line is %v", later)
	}
}

func TestZeroLine(t *testing.T) {
	var l Line[int]
	if !l.Equal(Constant(0)) || l.Len() != 0 || l.At(MustParse("2026-01-01")) != 0 {
		t.Errorf("the zero line is %v", l)
	}
	if _, _, found := l.Next(0, func(int) bool { return true }); found {
		t.Error("the zero line changes")
	}
}

// manySteps makes a line of n changes, one every other day.
func manySteps(n int, shift Day) Line[int] {
	b := NewBuilder(0)
	for i := range n {
		b.Add(MustParse("2026-01-01")+shift+Day(2*i), i+1)
	}
	return b.Line()
}

func BenchmarkLineAt(b *testing.B) {
	l, d := manySteps(365, 0), MustParse("2026-09-01")
	b.ReportAllocs()
	for b.Loop() {
		l.At(d)
	}
}

func BenchmarkCombine(b *testing.B) {
	for _, size := range []struct {
		name string
		n    int
	}{{"4 changes", 4}, {"365 changes", 365}} {
		x, y := manySteps(size.n, 0), manySteps(size.n, 1)
		b.Run(size.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Combine(x, y, func(v, w int) int { return max(v, w) })
			}
		})
	}
}

func TestAlwaysIsEveryDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, v := anyLine().Draw(t, "line"), rapid.IntRange(0, 3).Draw(t, "value")
		want := true
		for d := range span40 {
			want = want && l.At(d) == v
		}
		if got := l.Always(v); got != want {
			t.Fatalf("%v always %d: %v, want %v", l, v, got, want)
		}
	})
}

func TestGrowingChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := anyLine().Draw(t, "line")
		b := NewBuilder(want.First())
		for on, to := range want.Changes() {
			b.Grow(rapid.IntRange(0, 3).Draw(t, "more"))
			b.Add(on, to)
		}
		if got := b.Line(); !got.Equal(want) {
			t.Fatalf("grown %v, want %v", got, want)
		}
	})
}
