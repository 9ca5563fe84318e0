package spread

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/internal/effort"
)

// boardOf is a board of the demo with its surrogate.
func boardOf(t *testing.T) *board {
	d, err := buildfile.DemoDocument("spring.rate=720 N/m ± 5 %", "piston.drag=3 N ± 30 %", "battery.state_of_charge=97 % ± 6 %", "motor.armature.turns=25 ± 2", "target.trigger_delay={min: 51 ms, max: 54 ms}")
	require.NoError(t, err)
	draws := 256
	if effort.All() {
		draws = 512
	}
	r, err := Run(context.Background(), Question{Document: d}, Settings{Draws: draws, Seed: 1})
	require.NoError(t, err)
	h := &reaching{r: r, reach: &Reach{Goal: .95}}
	ok, err := h.fit(context.Background())
	require.NoError(t, err)
	require.True(t, ok)
	for _, f := range h.reach.Surrogate {
		assert.Greater(t, f.R2, .98, f.Name)
	}
	return h.board
}

// What a change of one key does by a few operations a draw is what the design comes to when
// all is reckoned anew, change upon change; also of whole numbers and where a cut binds.
func TestBoardIsTheDesign(t *testing.T) {
	b := boardOf(t)
	for i, c := range []struct {
		key int
		to  change
	}{{0, change{1, .5}}, {2, change{-.5, 1}}, {1, change{0, .25}}, {3, change{-.5, 1}}, {3, change{1, .3}}, {0, asItIs}, {2, change{2, .7}}} {
		key := &b.r.Keys[c.key]
		if key.Whole {
			c.to = change{1 / key.SD, 1}
		}
		column, slopes := make([]float64, b.n), b.each()
		b.slopes(slopes, c.key)
		said := b.tried(column, slopes, c.key, c.to, nil)
		b.keep(c.key, c.to)
		quick := b.value
		b.lay()
		now := b.judge()
		assert.Equal(t, now.met, said.met, "change %d", i)
		assert.InDelta(t, now.worst, said.worst, 1e-9)
		for a := range quick {
			for k := range quick[a] {
				require.InDelta(t, b.value[a][k], quick[a][k], 1e-8*math.Max(1, math.Abs(b.value[a][k])), "change %d, %s", i, b.s.aims[a].figure.Name)
			}
		}
		in := key.input(c.to.shift, c.to.tighten)
		for k := range b.n {
			require.InDelta(t, in.Quantile(b.share[k*b.d+c.key]), key.Value+b.z[k*b.d+c.key]*key.SD, 1e-9*math.Abs(key.Value), "the key's own distribution")
		}
	}
}

// Where the surrogate stands in the band, so does the figure: of draws as they are, nearly all
// are judged as they were when they were fired. A duration's band is turned over.
func TestSurrogateJudgesAsGuns(t *testing.T) {
	b := boardOf(t)
	for _, a := range b.s.aims {
		if a.figure.Name == "trigger_delay" {
			assert.InDelta(t, 1/.054, a.low, 1e-12)
			assert.InDelta(t, 1/.051, a.high, 1e-12)
			assert.Zero(t, a.beyond(1/.052))
			assert.InDelta(t, (1/.050-1/.051)/a.sd, a.beyond(1/.050), 1e-9)
		}
	}
	wrong, met := 0, 0
	for i := range b.n {
		is := b.r.analysis.Values(i)[len(b.r.Figures)+atMeets] == 1 && !(b.r.analysis.Values(i)[b.r.guns.at(marginName)] < 0)
		if is {
			met++
		}
		if is != (b.worst(i) == 0) {
			wrong++
		}
	}
	assert.Less(t, wrong, b.n/50)
	assert.Greater(t, met, b.n/20)
	assert.Less(t, met, b.n-b.n/20)
}

// Bounds of durations that aren't positive, and none.
func TestInverted(t *testing.T) {
	assert.Equal(t, .5, inverted(2, 0))
	assert.Zero(t, inverted(math.Inf(1), 0), "no upper bound: any speed will do")
	assert.Equal(t, math.Inf(1), inverted(-1, 0), "less than nothing is never reached")
	assert.Equal(t, math.Inf(1), inverted(0, math.Inf(1)), "no less than nothing: as fast as can be")
	assert.Equal(t, math.Inf(1), inverted(math.Inf(-1), math.Inf(1)))
}

// A polynomial is found as it is, by blocks and where some draws lack it.
func TestFitIsExact(t *testing.T) {
	s := &surrogate{aims: make([]aim, 2)}
	s.aims[1].at = 1
	require.True(t, s.suit(3000, []int{9, 3, 9}))
	assert.Equal(t, []int{4, 2, 4}, s.powers)
	n := newNet(3, 1, 0)
	draws := func(yield func(z, y []float64) bool) {
		u, z := make([]float64, 3), make([]float64, 3)
		for i := range 3000 {
			n.point(u, i, 0)
			for k := range z {
				z[k] = 6*u[k] - 3
			}
			z[1] = math.Round(z[1] / 3)
			y := []float64{1 + 2*z[0] - z[2]*z[2] + .5*math.Pow(z[0], 4) + 3*z[0]*z[1] - z[1]*z[2], z[1]}
			if i%7 == 0 {
				y[1] = math.NaN()
			}
			if !yield(z, y) {
				return
			}
		}
	}
	s.fit(draws)
	f := s.aims[0].factors
	for _, c := range []struct {
		at   int
		want float64
	}{{0, 1}, {s.own(0), 2}, {s.own(0) + 3, .5}, {s.own(2) + 1, -1}, {s.product(0, 1), 3}, {s.product(2, 1), -1}, {s.product(0, 2), 0}, {s.own(0) + 1, 0}} {
		assert.InDelta(t, c.want, f[c.at], 1e-9, "term %d", c.at)
	}
	assert.InDelta(t, 1, s.explains(0, draws), 1e-12)
	assert.InDelta(t, 1, s.explains(1, draws), 1e-12)
	assert.False(t, s.suit(4, []int{9, 9, 9}), "too few draws for a straight line")
	require.True(t, s.suit(12, []int{9, 9, 9}))
	assert.Equal(t, 7, s.terms, "squares without products")
}

// Of errors the first draw's is told, although others come later.
func TestFirstErrorIsTold(t *testing.T) {
	for range 5 {
		begun := make(chan bool, 100)
		l := &labour{ctx: context.Background(), outputs: 1, f: func(x, y []float64) error {
			if x[0] > 0 {
				begun <- true
				time.Sleep(2 * time.Millisecond)
			} else {
				select { // until another is under way, where there are cores for it
				case <-begun:
				case <-time.After(100 * time.Millisecond):
				}
			}
			return fmt.Errorf("draw %g", x[0])
		}}
		assert.EqualError(t, l.do(make([]float64, 100), 1, 100, func(x []float64, i int) { x[0] = float64(i) }), "draw 0")
	}
}
