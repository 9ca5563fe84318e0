package heat_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor/wire"
)

const zero = quantity.Celsius // 0 °C [K]

// adiabatic is the current [A] that heats a copper conductor of a cross-section [m2] from
// one temperature to another [°C] within a time [s] so short that nothing is given off:
// I²t = K²S²·ln((θf+β)/(θi+β)) with K = 226 A√s/mm² and β = 234.5 K (IEC 60949).
func adiabatic(area, from, to, time float64) float64 {
	return 226e6 * area * math.Sqrt(math.Log((to+234.5)/(from+234.5))/time)
}

// Onderdonk's formula, recomputed: AWG 16, 5 s, 25 °C: 169.0 A; 1 s, 40 °C:
// 0.14374 A per circular mil; the same law as K = 226.40.
func TestOnderdonk(t *testing.T) {
	assert.InEpsilon(t, 169.0, heat.Onderdonk(wire.Area(wire.Diameter(16)), zero+25, 5), 1e-3)
	assert.InEpsilon(t, 0.14374, heat.Onderdonk(heat.CircularMil, zero+40, 1), 1e-3)
	k := heat.Onderdonk(1e-6, zero+25, 1) / math.Sqrt(math.Log((1083+234.)/(25+234)))
	assert.InEpsilon(t, 226.40, k, 1e-4)
}

// Preece's rule, 80.02·d^1.5 by an engineering table, says what melts a bare copper wire
// in free air for good. The surface of a copper wire near melting is oxidised, of an
// emissivity of 0.6 to 0.9 (from memory); with 0.8 a cable comes to the table within the
// fifth that a rule of one power for all sizes leaves.
func TestPreece(t *testing.T) {
	for d, amps := range map[float64]float64{0.25: 10.00, 0.5: 28.29, 1: 80.02, 2: 226.3} {
		assert.InEpsilon(t, amps, 80.02*math.Pow(d, 1.5), 1e-2, "the table is the rule")
		bare := heat.Cable{Diameter: d * 1e-3, Outer: d * 1e-3, Length: 1, Emissivity: 0.8, Ambient: zero + 20, Pressure: 101325}
		melts := bare.SteadyCurrent(heat.CopperMelts - bare.Ambient)
		assert.InEpsilon(t, amps, melts, 0.2, "%g mm", d)
		below, _ := bare.SteadyRise(0.999 * melts)
		above, _ := bare.SteadyRise(1.001 * melts)
		assert.False(t, math.IsInf(below, 1))
		assert.True(t, math.IsInf(above, 1))
	}
}

// Incropera Ex 9.4: a pipe of 0.1 m at 165 °C in a room of 23 °C, with the book's air;
// 322.5 W/m by convection and 441.0 W/m by radiation. The library's own air is the
// same to one per cent.
func TestIncropera(t *testing.T) {
	book := heat.Film{Temperature: zero + 94, Conductivity: 0.0313, Viscosity: 22.8e-6, Prandtl: 0.697}
	h := heat.FreeConvection(142, 0.1, book)
	assert.InEpsilon(t, 7.23, h, 5e-3)
	assert.InEpsilon(t, 23.09, h*0.1/book.Conductivity, 5e-3)
	assert.InEpsilon(t, 322.5, h*math.Pi*0.1*142, 5e-3)
	assert.InEpsilon(t, 23.09, heat.Nusselt(5.076e6, 0.697), 5e-3)
	pipe := heat.Cable{Diameter: 0.1, Outer: 0.1, Length: 1, Emissivity: 0.85, Ambient: zero + 23, Pressure: 101325}
	convection, radiation := pipe.Shed(142)
	assert.InEpsilon(t, 441.0, radiation, 5e-3)
	assert.InEpsilon(t, 322.5, convection, 1e-2)
	assert.InDelta(t, convection+radiation, pipe.Flow(142), 1e-9)
}

// The same correlation at the numbers of thin wires, Pr 0.71, recomputed.
func TestNusseltOfThinWires(t *testing.T) {
	for rayleigh, nusselt := range map[float64]float64{1e-3: .49224, .1: .67057, 1: .84875, 10: 1.14826, 100: 1.66971} {
		assert.InEpsilon(t, nusselt, heat.Nusselt(rayleigh, 0.71), 1e-5)
	}
}

// lead is one of a gauge, 1 m, in a jacket with a wall [m].
func lead(gauge float64, insulation string, wall float64) *harness.Lead {
	l := harness.NewLead(wire.Area(wire.Diameter(gauge)), 1)
	l.Insulation, l.Wall = insulation, wall
	return &l
}

// flow sends a current [A] through a cable for a time [s], in small steps with the
// resistance at the conductor's temperature, and returns the rises [K].
func flow(t *testing.T, c *heat.Cable, current, time float64, steps int, rise []float64) []float64 {
	t.Helper()
	var n heat.Network
	conductor, _ := c.AddTo(&n)
	require.NoError(t, n.Validate())
	if rise == nil {
		rise = make([]float64, len(n.Nodes))
	}
	power := make([]float64, len(n.Nodes))
	area := wire.Area(c.Diameter)
	warm := func() {
		power[conductor] = current * current * wire.Resistance(c.Length, area, c.Ambient+rise[conductor])
	}
	for range steps {
		// The midpoint's resistance makes each step of second order.
		half := append([]float64(nil), rise...)
		warm()
		_, err := n.Advance(half, power, time/float64(steps)/2)
		require.NoError(t, err)
		power[conductor] = current * current * wire.Resistance(c.Length, area, c.Ambient+half[conductor])
		_, err = n.Advance(rise, power, time/float64(steps))
		require.NoError(t, err)
	}
	return rise
}

// A pulse of 0.2 ms heats the copper as if nothing were given off: K of IEC 60949
// comes out, which with the resistivity of IEC 60028 and 3.45e6 J/(m³·K) is 225.6. A
// pulse of a second warms the jacket as well, and the copper less.
func TestPulseIsAdiabatic(t *testing.T) {
	for _, c := range []struct {
		from, to, want float64 // [°C], and A√s/mm²
		reason         string
	}{
		{90, 250, 143.08, "IEC 60364-5-54 / 60949, 143"},
		{70, 160, 115.00, "IEC 60364-5-54 / 60949, 115"},
		{30, 250, 175.83, "IEC 60949, K 226, β 234.5"},
		{20, 1083, 289.8, "IEC 60949, K 226, β 234.5"},
	} {
		assert.InEpsilon(t, c.want, adiabatic(1e-6, c.from, c.to, 1), 3e-3, c.reason)
		for _, jacket := range []struct {
			insulation string
			wall       float64
		}{{"PVC", 0.6e-3}, {"PTFE", 0.2e-3}, {"silicone", 0}} {
			l := lead(20, jacket.insulation, jacket.wall)
			cable := heat.NewCable(l, drivetrain.Ambient{Temperature: zero + c.from, Pressure: 101325})
			// What A√s/mm² the warming asks for that a current brings about in a time.
			k := func(time float64) float64 {
				amps := adiabatic(l.Area, c.from, c.to, time)
				end := c.from + flow(t, &cable, amps, time, 200, nil)[0]
				return amps * math.Sqrt(time) / (l.Area * 1e6) * math.Sqrt(math.Log((c.to+234.5)/(c.from+234.5))/math.Log((end+234.5)/(c.from+234.5)))
			}
			assert.InEpsilon(t, c.want, k(0.2e-3), 3e-3, "%s, %s", c.reason, jacket.insulation)
			if jacket.wall > 0 {
				assert.Greater(t, k(1), c.want*1.02)
			}
		}
	}
}

// Where the copper ends up with a current for good: held against a root-find that
// writes the correlation anew, and against the network left alone for hours.
func TestSteadyWire(t *testing.T) {
	for _, c := range []struct {
		gauge, amps, wall float64
		insulation        string
		ambient           float64
	}{
		{16, 20, 0.6e-3, "silicone", 20}, {16, 40, 0.6e-3, "silicone", 20}, {24, 8, 0.6e-3, "PVC", 35}, {20, 15, 0, "PVC", -10}, {12, 60, 1e-3, "PTFE", 20},
	} {
		l := lead(c.gauge, c.insulation, c.wall)
		cable := heat.NewCable(l, drivetrain.Ambient{Temperature: zero + c.ambient, Pressure: 95e3})
		jacket, ok := heat.FindInsulation(c.insulation)
		require.True(t, ok)
		d := math.Sqrt(4 * l.Area / math.Pi)
		outer := d + 2*c.wall
		ta := zero + c.ambient
		// W/m given off by the surface at ts, the correlation as it is printed.
		off := func(ts float64) float64 {
			tf := (ts + ta) / 2
			mu := 1.716e-5 * math.Pow(tf/273.15, 1.5) * (273.15 + 110.4) / (tf + 110.4)
			k := 0.0241 * math.Pow(tf/273.15, 1.5) * (273.15 + 194) / (tf + 194)
			nu := mu * 287.05 * tf / 95e3
			pr := 1007 * mu / k
			ra := 9.80665 * (ts - ta) * math.Pow(outer, 3) * pr / (tf * nu * nu)
			h := k / outer * math.Pow(0.60+0.387*math.Pow(ra/math.Pow(1+math.Pow(0.559/pr, 9./16), 16./9), 1./6), 2)
			return math.Pi * outer * (h*(ts-ta) + 0.9*5.670374419e-8*(math.Pow(ts, 4)-math.Pow(ta, 4)))
		}
		copper := func(ts float64) float64 {
			if c.wall == 0 {
				return ts
			}
			return ts + off(ts)*math.Log(outer/d)/(2*math.Pi*jacket.Conductivity)
		}
		lo, hi := ta, ta+900
		for range 100 {
			ts := (lo + hi) / 2
			if off(ts) < c.amps*c.amps/58e6*(1+0.00393*(copper(ts)-zero-20))/l.Area {
				lo = ts
			} else {
				hi = ts
			}
		}
		conductor, surface := cable.SteadyRise(c.amps)
		assert.InDelta(t, copper(hi)-ta, conductor, 1e-6)
		assert.InDelta(t, hi-ta, surface, 1e-6)
		assert.InDelta(t, conductor, flow(t, &cable, c.amps, 4*3600, 400, nil)[0], 2e-3)
		assert.InEpsilon(t, c.amps, cable.SteadyCurrent(conductor), 1e-9, "the inverse")
	}
	cable := heat.NewCable(lead(24, "PVC", 0.6e-3), drivetrain.StandardAmbient())
	rise, _ := cable.SteadyRise(200)
	assert.True(t, math.IsInf(rise, 1), "it melts")
	// Under a thick jacket the copper melts while the surface is far below.
	thick := heat.NewCable(lead(24, "PVC", 10e-3), drivetrain.StandardAmbient())
	most := thick.SteadyCurrent(heat.CopperMelts - drivetrain.StandardAmbient().Temperature)
	copper, surface := thick.SteadyRise(0.999 * most)
	assert.Less(t, surface, copper/4)
	assert.False(t, math.IsInf(copper, 1), "just below")
	copper, surface = thick.SteadyRise(1.001 * most)
	assert.True(t, math.IsInf(copper, 1) && math.IsInf(surface, 1), "just above")
}

func TestInsulations(t *testing.T) {
	for _, i := range heat.Insulations() {
		_, ok := harness.InsulationLimit(i.Name)
		assert.True(t, ok, i.Name)
	}
	assert.Len(t, heat.Insulations(), len(harness.Insulations()))
	plain, ok := heat.FindInsulation("")
	assert.True(t, ok)
	assert.Equal(t, "PVC", plain.Name, "if none is named")
	_, ok = heat.FindInsulation("wool")
	assert.False(t, ok)
	cable := heat.NewCable(lead(16, "PVC", 0.6e-3), drivetrain.StandardAmbient())
	assert.Zero(t, testing.AllocsPerRun(100, func() { cable.Flow(30) }))
	assert.Zero(t, cable.Flow(0))
	assert.Negative(t, cable.Flow(-5), "cooler than the air, it takes heat")
}
