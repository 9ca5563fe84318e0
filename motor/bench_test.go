package motor_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
)

// Fitzgerald, Electric Machinery, Ex 7.9: bench readings to constants.
func TestBenchReadings(t *testing.T) {
	const ra = 1.03 // [ohm]
	ke, loss := motor.KeFromNoLoad(50, rpm(2100), 1.25, ra, 0)
	assert.InEpsilon(t, 0.22151, ke, 5e-3)
	rotational := loss * rpm(2100)
	assert.InEpsilon(t, 60.89, rotational, 5e-3)

	speed := rpm(1700)
	current := (48 - ke*speed) / ra
	assert.InEpsilon(t, 267.06, ke*speed*current-rotational, 5e-3, "the book, which rounds Km, has 275 W")
}

func rpm(n float64) float64 { return n * 2 * math.Pi / 60 }

func fitzgerald() motor.Motor {
	return motor.Motor{Bench: &motor.Bench{
		Voltage: 50, NoLoadSpeed: rpm(2100), NoLoadCurrent: 1.25, Resistance: 1.03,
		Inertia: 1e-3, Inductance: 1e-3, Temperature: ambient,
	}}
}

// That motor with a constant loss torque: formula from memory.
func TestPeakEfficiency(t *testing.T) {
	stall := 50 / 1.03
	assert.InEpsilon(t, 48.544, stall, 1e-5)
	// (1 − √(I0/Is))² at √(I0·Is), from memory, a textbook formula.
	best, at := math.Pow(1-math.Sqrt(1.25/stall), 2), math.Sqrt(1.25*stall)
	assert.InEpsilon(t, 0.70481, best, 1e-5)
	assert.InDelta(t, 7.790, at, 5e-4, "four digits are quoted; the formula gives 7.78971")

	m := fitzgerald()
	require.NoError(t, m.Validate())
	c := m.At(ambient, ambient)
	assert.InEpsilon(t, 0.22151, c.Ke, 5e-3, "Fitzgerald Ex 7.9")
	h := c.Characteristic(50)
	assert.InEpsilon(t, best, h.Best.Efficiency, 1e-12, "the same by search over the characteristic")
	assert.InEpsilon(t, 0.70481, h.Best.Efficiency, 1e-5)
	assert.InDelta(t, 7.790, h.Best.Current, 5e-4)
	assert.InEpsilon(t, at, h.Best.Current, 1e-7, "a place is found to the root of rounding")
	assert.InEpsilon(t, 48.544, h.Stall.Current, 1e-5)
	assert.InEpsilon(t, rpm(2100), h.NoLoad.Speed, 1e-12)
	assert.InEpsilon(t, 1.25, h.NoLoad.Current, 1e-12)
	at48 := c.Characteristic(48)
	p := at48.At(rpm(1700))
	assert.InEpsilon(t, 267.06, p.Output+p.Speed*c.LossTorque(p.Speed)-rpm(2100)*c.LossTorque(rpm(2100)), 5e-3,
		"Fitzgerald Ex 7.9, who takes the loss as a power; here it is a torque")
}

// Readings made from a known motor give back its constants.
func TestReadingsAndBack(t *testing.T) {
	m := assemble(t, stator(), armature())
	for _, drag := range []motor.Drag{{Constant: 3.5e-3}, {Constant: 3.5e-3, Viscous: 2e-6}, {}} {
		m.Drag = drag
		known := m.At(ambient+30, ambient+30)
		readings, err := known.Readings(7.4, ambient+30)
		require.NoError(t, err)
		byOhm := readings
		byOhm.StallCurrent, byOhm.Resistance = 0, readings.TerminalResistance()
		for name, r := range map[string]motor.Bench{"stall current": readings, "resistance": byOhm} {
			bench := motor.Motor{Bench: &r, Drag: motor.Drag{Viscous: drag.Viscous}}
			require.NoError(t, bench.Validate(), name)
			got := bench.At(ambient+30, ambient+30)
			const tol = 1e-12 // rounding of a few operations; 1e-9 is asked
			assert.InEpsilon(t, known.Ke, got.Ke, tol, name)
			assert.InEpsilon(t, known.Resistance, got.Resistance, tol, name)
			assert.InDelta(t, known.DragConstant, got.DragConstant, 1e-12*known.Ke*readings.StallCurrent, name)
			assert.Equal(t, known.DragViscous, got.DragViscous, name)
			assert.Equal(t, known.Inductance, got.Inductance, name)
			assert.Equal(t, known.Inertia, got.Inertia, name)
			assert.True(t, math.IsNaN(got.CoilFlux) && math.IsNaN(got.SlotFill), "nobody looked inside")
		}
	}
	known := m.At(ambient, ambient)
	_, err := known.Readings(0.2, ambient)
	assert.ErrorContains(t, err, "doesn't turn")
}

// Warm copper and warm magnets do to a bench motor what they do to one of parts.
func TestBenchFollowsTemperature(t *testing.T) {
	s := stator()
	s.Magnet.Remanence, s.Magnet.Drift = 0.1, -0.002 // far from saturation, where Ke follows the magnets
	m := assemble(t, s, armature())
	cold := m.At(ambient, ambient)
	r, err := cold.Readings(7.4, ambient)
	require.NoError(t, err)
	r.Drift = -0.002
	bench := motor.Motor{Bench: &r}
	hot, want := bench.At(ambient+90, ambient+60), m.At(ambient+90, ambient+60)
	assert.InEpsilon(t, want.Resistance, hot.Resistance, 1e-12)
	assert.InEpsilon(t, want.Ke, hot.Ke, 1e-6, "saturation bends it by (Φ0/Φsat)⁸/8, 1e-8 here")
}

// A reading taken from a warm motor, with a drift of its own, is brought back.
func TestBenchReadWarm(t *testing.T) {
	s := stator()
	s.Magnet.Remanence, s.Magnet.Drift = 0.1, -0.002
	m := assemble(t, s, armature())
	warm := m.At(ambient+40, ambient+40)
	r, err := warm.Readings(7.4, ambient+40)
	require.NoError(t, err)
	r.Drift = -0.002
	bench := motor.Motor{Bench: &r}
	cold, want := bench.At(ambient, ambient), m.At(ambient, ambient)
	assert.InEpsilon(t, want.Ke, cold.Ke, 1e-6, "the saturation bends it by 1e-8")
	assert.InEpsilon(t, want.Resistance, cold.Resistance, 1e-12)
}

// From a reading on the bench to the can: A13 and A14 in turn.
func TestReadingToRemanence(t *testing.T) {
	m := assemble(t, stator(), armature())
	m.Drag = motor.DefaultDrag()
	c := m.At(ambient, ambient)
	r, err := c.Readings(7.4, ambient)
	require.NoError(t, err)
	ke, _ := motor.KeFromNoLoad(r.Voltage, r.NoLoadSpeed, r.NoLoadCurrent, r.TerminalResistance(), r.BrushDrop)
	got, err := motor.Effective(stator(), armature(), ke, ambient)
	require.NoError(t, err)
	assert.InEpsilon(t, 1.18, got.Remanence, 1e-13*got.Sensitivity)
	_, err = motor.Effective(stator(), armature(), ke, math.NaN())
	assert.ErrorContains(t, err, "nothing left")
	_, err = motor.Effective(stator(), armature(), ke, 2000)
	assert.ErrorContains(t, err, "nothing left")
}

// Readings with noise: of a single one, the errors are what its parts carry into
// equation A13; of many, they shrink with the root of their number.
func TestNoisyReadings(t *testing.T) {
	m := assemble(t, stator(), armature())
	m.Drag = motor.DefaultDrag()
	known := m.At(ambient, ambient)
	const noise = 0.01 // relative, standard deviation of speed and current
	source := rand.New(rand.NewPCG(1, 2))
	shake := func(v float64) float64 { return v * (1 + noise*source.NormFloat64()) }

	exact, err := known.Readings(7.4, ambient)
	require.NoError(t, err)
	const trials = 2000
	var square float64
	for range trials {
		r := exact
		r.NoLoadSpeed, r.NoLoadCurrent, r.StallCurrent = shake(r.NoLoadSpeed), shake(r.NoLoadCurrent), shake(r.StallCurrent)
		bench := motor.Motor{Bench: &r}
		c := bench.At(ambient, ambient)
		square += math.Pow(c.Ke/known.Ke-1, 2)
	}
	drop := exact.TerminalResistance() * exact.NoLoadCurrent / (known.Ke * exact.NoLoadSpeed) // R·I0 over the EMF
	allowed := noise * math.Sqrt(1+2*drop*drop)                                               // speed, and current and resistance through their drop
	assert.InEpsilon(t, allowed, math.Sqrt(square/trials), 4/math.Sqrt(2*trials), "scatter of Ke, four standard deviations of a scatter from so many trials")

	scatter := func(n int) (ke, constant, viscous float64) {
		for range 200 {
			var runs []motor.Run
			for i := range n {
				v := 4 + 8*float64(i)/float64(n-1)
				w := known.SteadySpeed(0, v, 0)
				runs = append(runs, motor.Run{Voltage: v, Speed: shake(w), Current: shake(known.SteadyCurrent(0, w))})
			}
			k, drag, err := motor.FromRuns(runs, known.Resistance, known.BrushDrop)
			require.NoError(t, err)
			ke += math.Pow(k/known.Ke-1, 2) / 200
			constant += math.Pow(drag.Constant/known.DragConstant-1, 2) / 200
			viscous += math.Pow(drag.Viscous/known.DragViscous-1, 2) / 200
		}
		return math.Sqrt(ke), math.Sqrt(constant), math.Sqrt(viscous)
	}
	ke9, constant9, viscous9 := scatter(9)
	ke900, constant900, viscous900 := scatter(900)
	const fair = 0.25 // five standard deviations of the ratio of two scatters from 200 trials
	assert.InEpsilon(t, 10, ke9/ke900, fair)
	assert.InEpsilon(t, 10, constant9/constant900, fair+0.1, "nine runs spread a little wider than many over the same range")
	assert.InEpsilon(t, 10, viscous9/viscous900, fair+0.1)
}

func TestFromRuns(t *testing.T) {
	m := assemble(t, stator(), armature())
	m.Drag = motor.DefaultDrag()
	known := m.At(ambient, ambient)
	var runs []motor.Run
	for _, v := range []float64{4, 7.4, 11.1} {
		w := known.SteadySpeed(0, v, 0)
		runs = append(runs, motor.Run{Voltage: v, Speed: w, Current: known.SteadyCurrent(0, w)})
	}
	ke, drag, err := motor.FromRuns(runs, known.Resistance, known.BrushDrop)
	require.NoError(t, err)
	assert.InEpsilon(t, known.Ke, ke, 1e-12)
	assert.InEpsilon(t, known.DragConstant, drag.Constant, 1e-9)
	assert.InEpsilon(t, known.DragViscous, drag.Viscous, 1e-9)

	_, _, err = motor.FromRuns(runs[:1], known.Resistance, 0)
	assert.ErrorIs(t, err, motor.ErrFewRuns)
	_, _, err = motor.FromRuns([]motor.Run{runs[0], runs[0]}, known.Resistance, 0)
	assert.ErrorIs(t, err, motor.ErrFewRuns)
	_, _, err = motor.FromRuns([]motor.Run{runs[0], {Voltage: 3}}, known.Resistance, 0)
	assert.ErrorContains(t, err, "above zero")
}

func TestBenchValidate(t *testing.T) {
	good := func() motor.Motor {
		b := motor.NewBench(7.4, rpm(15000), 3.2, 90, 12e-7)
		return motor.Motor{Bench: &b}
	}
	m := good()
	require.NoError(t, m.Validate())
	for _, c := range []struct {
		text   string
		change func(*motor.Motor)
	}{
		{"bench.voltage:", func(m *motor.Motor) { m.Bench.Voltage = math.NaN() }},
		{"bench.no_load_speed:", func(m *motor.Motor) { m.Bench.NoLoadSpeed = 0 }},
		{"bench.no_load_speed: 99 rpm is out of range; wanted 100 rpm to", func(m *motor.Motor) { m.Bench.NoLoadSpeed = rpm(99) }},
		{"bench.no_load_current:", func(m *motor.Motor) { m.Bench.NoLoadCurrent = math.Inf(1) }},
		{"bench.resistance: 50 mohm is given beside a stall current", func(m *motor.Motor) { m.Bench.Resistance = 0.05 }},
		{"bench.resistance:", func(m *motor.Motor) { m.Bench.StallCurrent = 0 }},
		{"bench.stall_current: 3 A is not above", func(m *motor.Motor) { m.Bench.StallCurrent = 3 }},
		{"bench.brush_drop: 0.3 V leaves nothing", func(m *motor.Motor) { m.Bench.Voltage = 0.25 }},
		{"nothing is left for the motor", func(m *motor.Motor) { m.Bench.StallCurrent, m.Bench.Resistance = 0, 3 }},
		{"bench.inertia:", func(m *motor.Motor) { m.Bench.Inertia = 0 }},
		{"bench.inductance:", func(m *motor.Motor) { m.Bench.Inductance = 0 }},
		{"drag.constant: 3.5 mN m is given beside bench readings", func(m *motor.Motor) { m.Drag.Constant = 3.5e-3 }},
		{"commutation: 30 % is given beside", func(m *motor.Motor) { m.Commutation = 0.3 }},
		{"drag.viscous: 0.001 N m s takes", func(m *motor.Motor) { m.Drag.Viscous = 1e-3 }},
	} {
		m := good()
		c.change(&m)
		assert.ErrorContains(t, m.Validate(), c.text)
	}
}

// An armature with next to no inertia for its torque and inductance swings for ever. The
// least inertia that the fault names is accepted, and less is not.
func TestNextToNoInertia(t *testing.T) {
	b := motor.NewBench(12, 11, 0.5, 300, 1e-9) // 11 rad/s in place of 1.1 krad/s
	b.Inductance = 1e-3
	m := motor.Motor{Bench: &b}
	k := m.At(293.15, 293.15)
	err := m.Validate()
	require.ErrorContains(t, err, "bench.inertia: 0.01 g cm2 is next to nothing for a motor of 1.06 V s and 1000 uH")
	b.Inertia = k.Ke * k.Ke * k.Inductance / (k.Resistance * k.Resistance) / 1e8
	assert.ErrorContains(t, err, fmt.Sprintf("wanted %s or more", quantity.Inertia.Format(b.Inertia)))
	b.Inertia *= 1.000001
	require.NoError(t, m.Validate())
	b.Inertia *= 0.99999
	require.Error(t, m.Validate())

	a := armature()
	a.Inertia, a.Turns, a.RotorDiameter, a.MeanTurn, a.Wire = 1e-9, 1000, 0.5, 0.1, 10e-3
	m = assemble(t, stator(), a)
	require.ErrorContains(t, m.Validate(), "armature.inertia")
}

// A reading of a known armature gives back the can's remanence (A14), the less
// sharply the deeper the tooth is saturated.
func TestEffectiveRemanence(t *testing.T) {
	for _, br := range []float64{0.1, 0.39, 0.6, 1.0, 1.18, 1.45} {
		s := stator()
		s.Magnet.Remanence = br
		m := assemble(t, s, armature())
		const warm = ambient + 15
		c := m.At(ambient, warm)
		blank := s
		blank.Magnet.Remanence = 0 // what is to be found need not be given
		got, err := motor.Effective(blank, armature(), c.Ke, warm)
		require.NoError(t, err)
		assert.InEpsilon(t, br, got.Remanence, 1e-14*got.Sensitivity, "rounding, as the saturated tooth enlarges it")

		const h = 1e-5
		more, err := motor.Effective(s, armature(), c.Ke*(1+h), warm)
		if err == nil {
			assert.InEpsilon(t, got.Sensitivity, (more.Remanence/got.Remanence-1)/h, 10*h*got.Sensitivity, "a difference over a step, at %g T", br)
		}
	}
	_, err := motor.Effective(stator(), armature(), 6e-3, ambient)
	assert.ErrorContains(t, err, "takes no more than")
	_, err = motor.Effective(stator(), armature(), math.NaN(), ambient)
	assert.ErrorContains(t, err, "wanted more than 0")
	broken := armature()
	broken.Turns = 0
	_, err = motor.Effective(stator(), broken, 4e-3, ambient)
	assert.ErrorContains(t, err, "armature.turns")
}

func ExampleConstants_Characteristic() {
	bench := motor.NewBench(7.4, 15000*2*math.Pi/60, 3.2, 90, 12e-7)
	m := motor.Motor{Bench: &bench}
	if err := m.Validate(); err != nil {
		fmt.Println(err)
		return
	}
	c := m.At(293.15, 293.15)
	h := c.Characteristic(11.1)
	fmt.Printf("Ke %.2f mV·s, R %.0f mΩ\n", 1e3*c.Ke, 1e3*c.Resistance)
	fmt.Printf("on three cells %.0f rpm, at best %.0f %% with %.1f A\n", h.NoLoad.Speed*30/math.Pi, 100*h.Best.Efficiency, h.Best.Current)
	// Output:
	// Ke 4.36 mV·s, R 79 mΩ
	// on three cells 23105 rpm, at best 70 % with 20.9 A
}

func ExampleEffective() {
	magnet := motor.HardFerrite()
	magnet.Thickness, magnet.Arc = 3.6e-3, 2.2
	can := motor.NewStator(magnet, 0.4e-3) // as far as callipers tell
	known := motor.Armature{
		Slots: 3, Turns: 25, Wire: 0.65e-3, Strands: 1, RotorDiameter: 15.2e-3, StackLength: 22e-3,
		SlotOpening: 2e-3, ToothWidth: 4.4e-3, Saturation: 1.8, Stacking: 0.95, MeanTurn: 76e-3, Inertia: 12e-7,
	}
	r, err := motor.Effective(can, known, 2.2e-3, 293.15)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("the can works like %.2f T; 1 %% on the reading is %.1f %% on that\n", r.Remanence, r.Sensitivity)
	// Output: the can works like 0.37 T; 1 % on the reading is 1.0 % on that
}

func ExampleFromRuns() {
	// The tachometer and the clamp meter at three voltages, without load.
	perSecond := func(rpm float64) float64 { return rpm * 2 * math.Pi / 60 }
	ke, drag, err := motor.FromRuns([]motor.Run{
		{Voltage: 4.0, Speed: perSecond(7950), Current: 1.45}, {Voltage: 7.4, Speed: perSecond(15200), Current: 1.75}, {Voltage: 11.1, Speed: perSecond(23100), Current: 2.1},
	}, 0.070, 0.30)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("Ke %.2f mV·s, drag %.1f mN·m and %.1f µN·m·s\n", 1e3*ke, 1e3*drag.Constant, 1e6*drag.Viscous)
	// Output: Ke 4.39 mV·s, drag 4.9 mN·m and 1.8 µN·m·s
}

func ExampleConstants_Readings() {
	magnet := motor.BondedNdFeB()
	magnet.Thickness, magnet.Arc = 2e-3, 2.0
	m, err := motor.Assemble(motor.NewStator(magnet, 0.4e-3), motor.Armature{
		Slots: 5, Turns: 18, Wire: 0.6e-3, Strands: 1, RotorDiameter: 15.2e-3, StackLength: 22e-3,
		SlotOpening: 1.5e-3, ToothWidth: 3e-3, Saturation: 1.8, Stacking: 0.95, MeanTurn: 76e-3, Inertia: 12e-7,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	m.Drag = motor.DefaultDrag()
	c := m.At(293.15, 293.15)
	r, err := c.Readings(7.4, 293.15)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("the bench would say %.0f rpm with %.1f A, and %.0f A held\n", r.NoLoadSpeed*30/math.Pi, r.NoLoadCurrent, r.StallCurrent)
	// Output: the bench would say 15969 rpm with 1.6 A, and 76 A held
}
