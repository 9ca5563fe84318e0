package spread

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
)

// aim is a figure that must lie within a band for a gun to be sound. Durations are taken
// as their inverse, which keys move more evenly: a gun that hardly turns takes ever longer.
type aim struct {
	figure  figure.Info
	at      int // among the outputs
	inverse bool
	low     float64 // of the band, inverted too
	high    float64
	sd      float64 // of the draws
	factors []float64
}

// aimsOf lists the figures that the target asks for, and the margin, which must not be
// negative.
func (g *guns) aimsOf() (all []aim) {
	wants := slices.Clone(g.target)
	if i := g.at(marginName); i >= 0 {
		k := slices.IndexFunc(wants, func(w figure.Want) bool { return w.Figure == marginName })
		if k < 0 {
			k = len(wants)
			wants = append(wants, figure.Want{Figure: marginName})
		}
		wants[k].Min = figure.At(max(wants[k].Min.Or(0), 0))
	}
	for _, w := range wants {
		at := g.at(w.Figure)
		a := aim{figure: g.figures[at], at: at, low: w.Min.Or(math.Inf(-1)), high: w.Max.Or(math.Inf(1))}
		if a.inverse = a.figure.Kind == quantity.Time && w.Figure != marginName; a.inverse {
			a.low, a.high = inverted(a.high, 0), inverted(a.low, math.Inf(1))
		}
		all = append(all, a)
	}
	return all
}

// marginName is the figure that tells whether the piston is home in time.
const marginName = "pme_margin"

// inverted is the inverse of a bound of a duration, and what stands for one that isn't
// positive.
func inverted(bound, beyond float64) float64 {
	switch {
	case math.IsInf(bound, 1):
		return 0
	case bound > 0:
		return 1 / bound
	case beyond == 0: // less than nothing is wanted
		return math.Inf(1)
	}
	return beyond
}

// of is the aim's figure among a draw's outputs.
func (a *aim) of(y []float64) float64 {
	if a.inverse {
		return 1 / y[a.at]
	}
	return y[a.at]
}

// beyond returns how far a value lies outside of the band, in standard deviations.
func (a *aim) beyond(v float64) float64 {
	switch {
	case v < a.low:
		return (a.low - v) / a.sd
	case v > a.high:
		return (v - a.high) / a.sd
	}
	return 0
}

// surrogate stands for guns where firing them would take too long: each aim's figure as
// a polynomial of the keys in their standard deviations, with powers of each and
// products of each pair.
type surrogate struct {
	aims   []aim
	powers []int // of each key
	pairs  bool
	terms  int
}

// mostPower of a key there is in a surrogate.
const mostPower = 4

// row fills dst with the terms of a draw.
func (s *surrogate) row(dst, z []float64) {
	dst[0] = 1
	n := 1
	for i, p := range s.powers {
		v := 1.
		for range p {
			v *= z[i]
			dst[n] = v
			n++
		}
	}
	if !s.pairs {
		return
	}
	for i := range z {
		for j := range i {
			dst[n] = z[i] * z[j]
			n++
		}
	}
}

// count settles how many terms there are.
func (s *surrogate) count() {
	s.terms = 1
	for _, p := range s.powers {
		s.terms += p
	}
	if d := len(s.powers); s.pairs {
		s.terms += d * (d - 1) / 2
	}
}

// own is where the powers of a key begin among the terms, product where the product of two
// keys stands.
func (s *surrogate) own(key int) int {
	n := 1
	for _, p := range s.powers[:key] {
		n += p
	}
	return n
}

func (s *surrogate) product(i, j int) int {
	if i < j {
		i, j = j, i
	}
	return s.own(len(s.powers)) + i*(i-1)/2 + j
}

// suit picks the powers by how many draws there are and how many values each key takes.
func (s *surrogate) suit(draws int, values []int) bool {
	for _, form := range []struct {
		power int
		pairs bool
		each  float64 // draws a coefficient
	}{{mostPower, true, 4}, {2, true, 1.5}, {2, false, 1.5}, {1, false, 1.5}} {
		s.pairs = form.pairs
		s.powers = s.powers[:0]
		for _, n := range values {
			s.powers = append(s.powers, min(form.power, n-1))
		}
		if s.count(); float64(draws) >= form.each*float64(s.terms) {
			return true
		}
	}
	return false
}

// sample is a draw that a surrogate is fitted to, or held against.
type sample func(yield func(z, y []float64) bool)

// fit finds the factors of all aims by least squares. The draws are taken block by block,
// each reduced by QR to a triangle before the next one comes, so that they needn't be kept.
func (s *surrogate) fit(draws sample) {
	done := make([]bool, len(s.aims))
	for first := range s.aims {
		if done[first] {
			continue
		}
		// Aims that exist in the same draws are fitted together.
		var group []int
		for i := first; i < len(s.aims); i++ {
			same := !done[i]
			for _, y := range draws {
				if !same {
					break
				}
				same = math.IsNaN(s.aims[first].of(y)) == math.IsNaN(s.aims[i].of(y))
			}
			if same {
				group, done[i] = append(group, i), true
			}
		}
		s.fitGroup(draws, group)
	}
}

func (s *surrogate) fitGroup(draws sample, group []int) {
	p, width := s.terms, s.terms+len(group)
	const least = 256
	block := mat.NewDense(p+max(4*p, least), width, nil) // the triangle above, draws below
	used := 0                                            // rows of the triangle
	filled := 0
	var qr mat.QR
	reduce := func() {
		rows := used + filled
		if rows <= used {
			return
		}
		if rows < width { // as many rows as columns are wanted: zeros tell nothing
			for i := rows; i < width; i++ {
				for j := range width {
					block.Set(i, j, 0)
				}
			}
			rows = width
		}
		qr.Factorize(block.Slice(0, rows, 0, width))
		var r mat.Dense
		qr.RTo(&r)
		used = min(width, p)
		for i := range used {
			for j := range width {
				block.Set(i, j, r.At(i, j))
			}
		}
		filled = 0
	}
	rows, _ := block.Dims()
	for z, y := range draws {
		if math.IsNaN(s.aims[group[0]].of(y)) {
			continue
		}
		row := block.RawRowView(used + filled)
		s.row(row[:p], z)
		for k, i := range group {
			row[p+k] = s.aims[i].of(y)
		}
		if filled++; used+filled == rows {
			reduce()
		}
	}
	reduce()
	largest := 0.
	for j := range used {
		largest = max(largest, math.Abs(block.At(j, j)))
	}
	const nothing = 1e-10 // of the largest: a term that the others make up
	for k, i := range group {
		beta := make([]float64, p)
		for j := used - 1; j >= 0; j-- {
			v := block.At(j, p+k)
			for l := j + 1; l < p; l++ {
				v -= block.At(j, l) * beta[l]
			}
			if d := block.At(j, j); math.Abs(d) > nothing*largest {
				beta[j] = v / d
			}
		}
		s.aims[i].factors = beta
	}
}

// predict returns an aim's figure by its terms.
func (s *surrogate) predict(a int, row []float64) float64 {
	v := 0.
	for j, b := range s.aims[a].factors {
		v += b * row[j]
	}
	return v
}

// explains returns the share of an aim's variance that the surrogate explains in draws
// that it wasn't fitted to; NaN where nothing varies.
func (s *surrogate) explains(a int, draws sample) float64 {
	row := make([]float64, s.terms)
	var all moments
	left := 0.
	for z, y := range draws {
		v := s.aims[a].of(y)
		if math.IsNaN(v) {
			continue
		}
		s.row(row, z)
		e := v - s.predict(a, row)
		left += e * e
		all.add(v)
	}
	if !varies(&all) {
		return math.NaN()
	}
	return 1 - left/all.sum
}
