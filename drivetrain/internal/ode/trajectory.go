package ode

import (
	"fmt"
	"sort"
)

// Trajectory keeps the steps of a run, so that states are sampled from it later.
// The zero value is empty. Once filled, many goroutines may read it.
//
// Segments follow each other in time. At a time that two share, and at which the
// state may jump, At gives the later one's state and Before the earlier one's.
type Trajectory struct {
	n     int // components
	segs  []span
	slabs [][]float64 // the vectors of so many segments each
}

// perSlab is how many segments' vectors lie together: a long run never copies them.
const perSlab = 64

// span is a segment's time and mode.
type span struct {
	t0, t1 float64
	mode   int
}

// Append copies the last step of a solver, with a mode of the caller's. It panics
// if there is none since New or Reset, if it begins before the last segment ends,
// or if the number of components changes.
func (tr *Trajectory) Append(s *Solver, mode int) {
	tr.append(&s.last, mode)
}

// AppendStep is Append for a step that no Solver has made, from t0 to t1, on the
// polynomial that the package's doc describes.
func (tr *Trajectory) AppendStep(t0, t1 float64, y0, y1, r2, r3, r4 []float64, mode int) {
	for _, v := range [...][]float64{y1, r2, r3, r4} {
		if len(v) != len(y0) {
			panic(fmt.Sprintf("ode: step of %d and %d components", len(y0), len(v)))
		}
	}
	g := segment{t0: t0, t1: t1, y0: y0, y1: y1, r2: r2, r3: r3, r4: r4}
	tr.append(&g, mode)
}

func (tr *Trajectory) append(g *segment, mode int) {
	switch {
	case g.t1 == g.t0:
		panic("ode: no step to append")
	case tr.n == 0:
		tr.n = len(g.y0)
	case tr.n != len(g.y0):
		panic(fmt.Sprintf("ode: step of %d components after steps of %d", len(g.y0), tr.n))
	}
	if k := len(tr.segs); k > 0 && g.t0 < tr.segs[k-1].t1 {
		panic(fmt.Sprintf("ode: step from time %v after a segment to %v", g.t0, tr.segs[k-1].t1))
	}
	switch k := len(tr.segs); {
	case k == 0:
		tr.slabs = append(tr.slabs[:0], nil) // which grows: many runs are short
	case k%perSlab == 0:
		tr.slabs = append(tr.slabs, make([]float64, 0, perSlab*vectors*tr.n))
	}
	tr.segs = append(tr.segs, span{g.t0, g.t1, mode})
	slab := &tr.slabs[len(tr.slabs)-1]
	for _, v := range [...][]float64{g.y0, g.y1, g.r2, g.r3, g.r4} {
		*slab = append(*slab, v...)
	}
}

// Len returns the number of segments.
func (tr *Trajectory) Len() int { return len(tr.segs) }

// Segment returns start, end [caller's unit of time] and mode of segment i.
func (tr *Trajectory) Segment(i int) (t0, t1 float64, mode int) {
	g := tr.segs[i]
	return g.t0, g.t1, g.mode
}

// Find returns the segment that holds t; of two that share it, the later one. It
// returns −1 if none does: before the start, after the end, or in a gap that a
// Reset to a later time leaves.
func (tr *Trajectory) Find(t float64) int {
	i := sort.Search(len(tr.segs), func(i int) bool { return tr.segs[i].t0 > t }) - 1
	if i >= 0 && t <= tr.segs[i].t1 {
		return i
	}
	return -1
}

// At writes the state at t to dst, and returns it; of two segments that share t,
// the later one's. A nil dst is made; one of a wrong length, and a time that no
// segment holds, panic.
func (tr *Trajectory) At(dst []float64, t float64) []float64 {
	return tr.AtSegment(dst, tr.find(t), t)
}

// Before is At, but of two segments that share t it takes the earlier one.
func (tr *Trajectory) Before(dst []float64, t float64) []float64 {
	i := tr.find(t)
	if i > 0 && tr.segs[i-1].t1 == t {
		i--
	}
	return tr.AtSegment(dst, i, t)
}

// AtSegment is At inside segment i.
func (tr *Trajectory) AtSegment(dst []float64, i int, t float64) []float64 {
	seg := segment{t0: tr.segs[i].t0, t1: tr.segs[i].t1}
	if !(t >= seg.t0 && t <= seg.t1) {
		panic(fmt.Sprintf("ode: time %v is outside segment %d, %v to %v", t, i, seg.t0, seg.t1))
	}
	seg.lay(tr.slabs[i/perSlab][i%perSlab*vectors*tr.n:], tr.n)
	dst = sized(dst, tr.n)
	seg.at(dst, t)
	return dst
}

// find is Find, but panics if no segment holds t.
func (tr *Trajectory) find(t float64) int {
	i := tr.Find(t)
	if i < 0 {
		panic(fmt.Sprintf("ode: no segment of the trajectory holds time %v", t))
	}
	return i
}
