package heat

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/cycle"
)

// The windows of equation G10, and our own beside them: just inside is near, just
// outside is not.
func TestNear(t *testing.T) {
	from := &solved{start: cycle.RoundStart{Current: 20, Speed: 1000, Conditions: cycle.Conditions{
		Spent: 0.1, V1: 0.05, V2: 0.02, Winding: 320, Magnets: 310, Lead: 300, Switch: 305, Pack: 298,
	}}}
	from.loop.in[inSource] = 7.9
	for name, window := range map[string]func(s *cycle.RoundStart, l *loop, share float64){
		"winding": func(s *cycle.RoundStart, _ *loop, x float64) { s.Conditions.Winding += 1 * x },
		"magnets": func(s *cycle.RoundStart, _ *loop, x float64) { s.Conditions.Magnets -= 1 * x },
		"lead":    func(s *cycle.RoundStart, _ *loop, x float64) { s.Conditions.Lead += 1 * x },
		"switch":  func(s *cycle.RoundStart, _ *loop, x float64) { s.Conditions.Switch -= 1 * x },
		"pack":    func(s *cycle.RoundStart, _ *loop, x float64) { s.Conditions.Pack += 1 * x },
		"charge":  func(s *cycle.RoundStart, _ *loop, x float64) { s.Conditions.Spent += 0.005 * x },
		"v1 + v2": func(s *cycle.RoundStart, _ *loop, x float64) {
			s.Conditions.V1 += 0.010 * x
			s.Conditions.V2 += 0.010 * x
		},
		"source":  func(_ *cycle.RoundStart, l *loop, x float64) { l.in[inSource] += 0.010 * x },
		"speed":   func(s *cycle.RoundStart, _ *loop, x float64) { s.Speed -= 30 * x },
		"current": func(s *cycle.RoundStart, _ *loop, x float64) { s.Current += 1.6 * x },
	} {
		for _, share := range []float64{0.99, 1.01} {
			s, l := from.start, from.loop
			window(&s, &l, share)
			assert.Equal(t, share < 1, near(from, &s, &l), "%s, %g of the window", name, share)
		}
	}
}

func TestKinds(t *testing.T) {
	assert.Equal(t, kindLone, kindOf(place(0, 1), 0))
	var got []int
	for i := range 7 {
		got = append(got, kindOf(place(i, 7), i))
	}
	assert.Equal(t, []int{kindFirst, kindSecond, kindThird, kindLater, kindLater, kindLater, kindLast}, got)
	assert.Equal(t, kindLast, kindOf(place(1, 2), 1))
}
