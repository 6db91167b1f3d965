package compliance

// slab keeps many small values of one type in few blocks of memory: a network
// has hundreds of thousands of judgements and verdicts, which live and die
// with their report.
type slab[T any] struct {
	free []T
	size int // of the latest block
}

// keep copies a value to where it stays.
func (s *slab[T]) keep(v T) *T {
	if len(s.free) == 0 {
		s.size = min(max(2*s.size, 8), 1024)
		s.free = make([]T, s.size)
	}
	p := &s.free[0]
	s.free = s.free[1:]
	*p = v
	return p
}
