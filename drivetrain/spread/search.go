package spread

import (
	"context"
	"math"
	"runtime"
	"sync"
	"sync/atomic"
)

// change is what is done to a key: its middle moved by so many of its standard deviations,
// its tolerance multiplied.
type change struct{ shift, tighten float64 }

// asItIs changes nothing.
var asItIs = change{0, 1}

// trial is how the surrogate judges a design over the draws.
type trial struct {
	met   int     // draws within all bands that are no misfits
	worst float64 // mean of the worst distance outside of a band
	safe  bool    // no draw can be a misfit, or all were asked
}

// better tells whether a trial gains over another.
func (t trial) better(o trial) bool {
	return t.met > o.met || t.met == o.met && t.worst < o.worst
}

// board is a design, on which the surrogate is asked draw by draw for what a change would
// do.
type board struct {
	r      *Result
	s      *surrogate
	n, d   int
	share  []float64   // u of each draw and key
	normal []float64   // where it lies in a normal distribution cut on both sides
	z      []float64   // of each draw and key, as designed
	value  [][]float64 // of each aim and draw, as designed
	design []change
	misfit bool // some of the draws as they are were misfits
}

// mostSearched bounds the draws that a surrogate is fitted to and asked at.
const mostSearched = 1 << 14

// newBoard puts the draws on a board, as they are.
func (r *Result) newBoard(s *surrogate) *board {
	a := r.analysis
	each := min(a.points, mostSearched/a.Settings.Replicates)
	b := &board{r: r, s: s, n: each * a.Settings.Replicates, d: len(r.Keys)}
	b.share = make([]float64, b.n*b.d)
	b.normal = make([]float64, b.n*b.d)
	b.z = make([]float64, b.n*b.d)
	for i := range b.n {
		draw := i/each*a.points + i%each
		u := b.share[i*b.d : (i+1)*b.d]
		a.shares(u, draw)
		for k, v := range u {
			b.normal[i*b.d+k] = Cut(0, 1).standard(v)
		}
		b.misfit = b.misfit || r.guns.outcome(a.Values(draw)) >= misfit
	}
	b.design = make([]change, b.d)
	for k := range b.design {
		b.design[k] = asItIs
	}
	b.lay()
	return b
}

// lay fills in z and values of the design.
func (b *board) lay() {
	column := make([]float64, b.n)
	for k := range b.d {
		b.column(column, k, b.design[k])
		for i, v := range column {
			b.z[i*b.d+k] = v
		}
	}
	b.value = make([][]float64, len(b.s.aims))
	row := make([]float64, b.s.terms)
	for a := range b.value {
		b.value[a] = make([]float64, b.n)
	}
	for i := range b.n {
		b.s.row(row, b.z[i*b.d:(i+1)*b.d])
		for a := range b.value {
			b.value[a][i] = b.s.predict(a, row)
		}
	}
}

// column fills dst with a key's z in all draws, under a change.
func (b *board) column(dst []float64, k int, c change) {
	key := &b.r.Keys[k]
	middle, sd := key.Value+c.shift*key.SD, key.SD*c.tighten
	if middle-cutAt*sd >= key.floor && middle+cutAt*sd <= key.ceiling {
		for i := range dst {
			x := middle + sd*b.normal[i*b.d+k]
			if key.Whole {
				x = math.Round(x)
			}
			dst[i] = (x - key.Value) / key.SD
		}
		return
	}
	in := key.input(c.shift, c.tighten)
	for i := range dst {
		dst[i] = (in.Quantile(b.share[i*b.d+k]) - key.Value) / key.SD
	}
}

// slopes fills dst, aim by aim, with what a key's z is multiplied by in each draw, together
// with the others.
func (b *board) slopes(dst [][]float64, k int) {
	for a := range dst {
		for i := range dst[a] {
			dst[a][i] = 0
		}
		if !b.s.pairs {
			continue
		}
		f := b.s.aims[a].factors
		for j := range b.d {
			if j == k {
				continue
			}
			p := f[b.s.product(k, j)]
			for i := range dst[a] {
				dst[a][i] += p * b.z[i*b.d+j]
			}
		}
	}
}

// tried judges the design with one key changed otherwise; slopes are the key's. Misfits
// aren't looked at. The values that it comes to are put into to, unless nil.
func (b *board) tried(column []float64, slopes [][]float64, k int, c change, to [][]float64) trial {
	b.column(column, k, c)
	t := trial{safe: b.safe(k, c)}
	from, powers := b.s.own(k), b.s.powers[k]
	for i, z := range column {
		old := b.z[i*b.d+k]
		worst := 0.
		for a := range b.s.aims {
			aim := &b.s.aims[a]
			v := b.value[a][i] + (z-old)*slopes[a][i]
			x, y := 1., 1.
			for _, f := range aim.factors[from : from+powers] {
				x, y = x*z, y*old
				v += f * (x - y)
			}
			if to != nil {
				to[a][i] = v
			}
			worst = max(worst, aim.beyond(v))
		}
		if worst == 0 {
			t.met++
		}
		t.worst += worst
	}
	t.worst /= float64(b.n)
	return t
}

// judge judges the design as it is.
func (b *board) judge() trial {
	t := trial{safe: true}
	for k, c := range b.design {
		t.safe = t.safe && b.safe(k, c)
	}
	for i := range b.n {
		worst := b.worst(i)
		if worst == 0 {
			t.met++
		}
		t.worst += worst
	}
	t.worst /= float64(b.n)
	return t
}

// worst is how far a draw of the design lies outside of a band at worst.
func (b *board) worst(i int) (worst float64) {
	for a := range b.s.aims {
		worst = max(worst, b.s.aims[a].beyond(b.value[a][i]))
	}
	return worst
}

// safe tells that no draw can be a misfit: none was as drawn, and what a change makes of a
// key lies within what was drawn.
func (b *board) safe(k int, c change) bool {
	if b.misfit {
		return false
	}
	for j, o := range b.design {
		if j == k {
			o = c
		}
		key := &b.r.Keys[j]
		reach := cutAt * key.SD * o.tighten
		middle := key.Value + o.shift*key.SD
		const off = 1e-9
		if max(middle-reach, key.floor) < key.Low-off*key.SD || min(middle+reach, key.ceiling) > key.High+off*key.SD {
			return false
		}
	}
	return true
}

// fits asks Validate for each draw, with one key of the design changed otherwise (−1:
// none), and counts those that meet and are no misfits.
func (b *board) fits(ctx context.Context, t trial, k int, c change) (trial, error) {
	if t.safe || t.met == 0 {
		t.safe = true
		return t, nil
	}
	var column []float64
	var slopes, values [][]float64
	if k >= 0 {
		column, slopes, values = make([]float64, b.n), b.each(), b.each()
		b.slopes(slopes, k)
		b.tried(column, slopes, k, c, values)
	}
	w := b.r.guns.take()
	defer b.r.guns.put(w)
	x := make([]float64, b.d)
	t.met, t.safe = 0, true
	for i := range b.n {
		if i%256 == 0 && ctx.Err() != nil {
			return t, ctx.Err()
		}
		worst := 0.
		for a := range b.s.aims {
			v := b.value[a][i]
			if k >= 0 {
				v = values[a][i]
			}
			worst = max(worst, b.s.aims[a].beyond(v))
		}
		if worst > 0 {
			continue
		}
		for j := range x {
			z := b.z[i*b.d+j]
			if j == k {
				z = column[i]
			}
			x[j] = b.r.Keys[j].Value + z*b.r.Keys[j].SD
			if b.r.Keys[j].Whole {
				x[j] = math.Round(x[j])
			}
		}
		if _, err := w.variant.Put(x); err == nil {
			t.met++
		}
	}
	return t, nil
}

// each is a number for each aim and draw.
func (b *board) each() [][]float64 {
	all := make([][]float64, len(b.s.aims))
	for a := range all {
		all[a] = make([]float64, b.n)
	}
	return all
}

// keep makes a change to the design.
func (b *board) keep(k int, c change) {
	column, slopes, values := make([]float64, b.n), b.each(), b.each()
	b.slopes(slopes, k)
	b.tried(column, slopes, k, c, values)
	for i, z := range column {
		b.z[i*b.d+k] = z
	}
	b.value = values
	b.design[k] = c
}

// over does something for each key, on all cores.
func over(ctx context.Context, n int, do func(k int) error) error {
	var next atomic.Int64
	var ended atomic.Bool
	errs := make([]error, n)
	var group sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		group.Go(func() {
			for {
				k := int(next.Add(1)) - 1
				if k >= n || ended.Load() {
					return
				}
				if errs[k] = ctx.Err(); errs[k] == nil {
					errs[k] = do(k)
				}
				if errs[k] != nil { // nobody needs to look again
					ended.Store(true)
				}
			}
		})
	}
	group.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
