package heat_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/motor/wire"
)

// Langsdorf Ex 1.15: R2/R1 = (234.5+T2)/(234.5+T1).
func TestCopperWarms(t *testing.T) {
	for to, ratio := range map[float64]float64{75: 1.21611, 80: 1.23576} {
		assert.InEpsilon(t, ratio, wire.Copper().At(zero+to)/wire.Copper().At(zero+20), 1e-4)
	}
}

// one is a network of a node with a capacity [J/K] and a resistance to the
// surroundings [K/W].
func one(capacity, resistance float64) *heat.Network {
	var n heat.Network
	n.Connect(n.Add("node", capacity), heat.Surroundings, resistance)
	return &n
}

// Dubey Ex 4.1: a motor of one node, τ 60 s, 10 s on and 20 s off for good; at least
// 40 °C above, and towards 15 while off: at most 49.89; if it were on for good, 104.42.
func TestDutyCycle(t *testing.T) {
	n := one(60, 1)
	rise, on, off := []float64{40}, []float64{104.42}, []float64{15}
	_, err := n.Advance(rise, on, 10)
	require.NoError(t, err)
	assert.InEpsilon(t, 49.89, rise[0], 1e-3)
	_, err = n.Advance(rise, off, 20)
	require.NoError(t, err)
	assert.InEpsilon(t, 40, rise[0], 1e-3)
	_, err = n.Advance(rise, on, 3600)
	require.NoError(t, err)
	assert.InEpsilon(t, 104.42, rise[0], 1e-3)
}

// Sedra & Smith Ex 14.5, Boylestad Ex 12.18: what heats a junction to 150 °C through
// 3.12, 0.5 and 4 K/W at 50 °C, and to 200 °C through 0.5, 0.6 and 1.5 at 40 °C.
func TestTransistor(t *testing.T) {
	for _, c := range []struct {
		r     [3]float64
		watts float64
		rise  float64
	}{{[3]float64{3.12, 0.5, 4}, 13.12, 100}, {[3]float64{0.5, 0.6, 1.5}, 61.54, 160}} {
		var n heat.Network
		junction, casing, sink := n.Add("junction", 0.01), n.Add("case", 1), n.Add("sink", 50)
		n.Connect(junction, casing, c.r[0])
		n.Connect(casing, sink, c.r[1])
		n.Connect(sink, heat.Surroundings, c.r[2])
		rise := make([]float64, 3)
		_, err := n.Advance(rise, []float64{c.watts, 0, 0}, 1e4)
		require.NoError(t, err)
		assert.InEpsilon(t, c.rise, rise[junction], 1e-3)
	}
}

// A Foster chain, closed form: R {0.5, 1.2, 3.3} K/W, τ {0.01, 0.5, 20} s.
func TestFoster(t *testing.T) {
	var n heat.Network
	for i, r := range []float64{0.5, 1.2, 3.3} {
		n.Connect(n.Add("rung", []float64{0.01, 0.5, 20}[i]/r), heat.Surroundings, r)
	}
	for time, z := range map[float64]float64{1e-3: .0501439, 10e-3: .3414715, .1: .7339592, 1: 1.6985406, 10: 2.9984488} {
		rise := make([]float64, 3)
		_, err := n.Advance(rise, []float64{1, 1, 1}, time)
		require.NoError(t, err)
		assert.InEpsilon(t, z, rise[0]+rise[1]+rise[2], 1e-6)
	}
}

// Constant losses in winding and can (equation A12): the closed form by the two
// eigenvalues, at any time, and what was given off is what is not stored.
func TestTwoNodes(t *testing.T) {
	const cw, cc, rwc, rca, pw, pc = 12., 55., 3.5, 15., 9., 4.
	var n heat.Network
	winding, can := n.Add("winding", cw), n.Add("can", cc)
	n.Connect(winding, can, rwc)
	n.Connect(can, heat.Surroundings, rca)
	// x' = A x + b around its end, where both are steady.
	end := [2]float64{(pw+pc)*rca + pw*rwc, (pw + pc) * rca}
	a := [2][2]float64{{-1 / (rwc * cw), 1 / (rwc * cw)}, {1 / (rwc * cc), -1/(rwc*cc) - 1/(rca*cc)}}
	trace, det := a[0][0]+a[1][1], a[0][0]*a[1][1]-a[0][1]*a[1][0]
	root := math.Sqrt(trace*trace/4 - det)
	l1, l2 := trace/2+root, trace/2-root
	exact := func(time float64) [2]float64 {
		// exp(A t) = e^{l1 t}(A − l2)/(l1−l2) − e^{l2 t}(A − l1)/(l1−l2)
		e1, e2 := math.Exp(l1*time)/(l1-l2), math.Exp(l2*time)/(l1-l2)
		var x [2]float64
		for i := range 2 {
			x[i] = end[i]
			for j := range 2 {
				m := (e1 - e2) * a[i][j]
				if i == j {
					m += e2*l1 - e1*l2
				}
				x[i] -= m * end[j]
			}
		}
		return x
	}
	for _, time := range []float64{0.05, 1, 30, 300, 3000, 1e5} {
		rise := make([]float64, 2)
		off, err := n.Advance(rise, []float64{pw, pc}, time)
		require.NoError(t, err)
		want := exact(time)
		for i := range 2 {
			assert.InDelta(t, want[i], rise[i], 2e-6*want[i]+1e-7, "node %d after %g s", i, time)
		}
		assert.InEpsilon(t, (pw+pc)*time, off+n.Stored(rise), 1e-9)
	}
}

func TestNetworkRefuses(t *testing.T) {
	var n heat.Network
	a := n.Add("a", 0)
	n.Connect(a, 7, 1)
	n.Connect(a, heat.Surroundings, math.Inf(1))
	b := n.Add("b", math.NaN())
	cable := &heat.Cable{}
	n.Paths = append(n.Paths, heat.Path{From: a, To: b, Surface: cable})
	err := n.Validate()
	require.Error(t, err)
	for _, text := range []string{"node 0 (a): a capacity of 0 J/K", "node 1 (b)", "path 0: leads from node 0 to node 7", "path 1: a conductance of 0 W/K", "path 2: a surface leads to the surroundings"} {
		assert.ErrorContains(t, err, text)
	}
	assert.NoError(t, one(1, 1).Validate())
	rise := []float64{5}
	off, err := one(1, 1).Advance(rise, []float64{0}, 0)
	assert.NoError(t, err)
	assert.Zero(t, off)
	assert.Equal(t, 5., rise[0], "no time, no change")
}
