package cycle_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
)

// ideal is the demo with a pack so large that its voltage stands still, and no
// load but what a test puts in: equations F1 and F2 with constant coefficients.
func ideal(t testing.TB) *drivetrain.Build {
	b := document(t, "").Build
	b.Battery.Capacity, b.Battery.Resistance = 3.6e6, 1e-6
	b.Battery.DischargeRating = 0
	b.Spring.Rate, b.Spring.Preload, b.Spring.Mass = 1e-6, 0, 0
	b.Piston.Drag, b.Piston.DragPull, b.Piston.Mass = 0, 0, 0.1e-3
	b.Harness.Fuse = nil
	return b
}

func simulate(t testing.TB, b *drivetrain.Build) *cycle.Result {
	t.Helper()
	r, err := cycle.Simulate(context.Background(), b, cycle.Settings{})
	require.NoError(t, err)
	return r
}

// linear is the motor of a result on a constant voltage as a linear system in
// (current, speed, angle, 1), with a load at the shaft that is a straight line in
// the angle.
type linear struct{ matrix *mat.Dense }

func newLinear(r *cycle.Result, inertia, load, slope float64) linear {
	m, b := &r.Motor, r.Build
	cell, _ := b.Battery.Cell()
	pack := b.Battery.Circuit(cell, b.Battery.StateOfCharge, b.Ambient.Temperature)
	volts := b.Battery.OCV(cell, b.Battery.StateOfCharge) - m.BrushDrop
	ohms := m.Resistance + pack.R0 + r.Wires.Total()
	return linear{mat.NewDense(4, 4, []float64{
		-ohms / m.Inductance, -m.Ke / m.Inductance, 0, volts / m.Inductance,
		m.Ke / inertia, -m.DragViscous / inertia, -slope / inertia, -(m.DragConstant + load) / inertia,
		0, 1 / b.Gears.MotorTurns(), 0, 0,
		0, 0, 0, 0,
	})}
}

// after returns current, speed and angle some time after a state, by gonum's
// matrix exponential.
func (l linear) after(current, speed, angle, time float64) (i, w, a float64) {
	var scaled, e mat.Dense
	scaled.Scale(time, l.matrix)
	e.Exp(&scaled)
	var y mat.VecDense
	y.MulVec(&e, mat.NewVecDense(4, []float64{current, speed, angle, 1}))
	return y.AtVec(0), y.AtVec(1), y.AtVec(2)
}

// until finds when the angle is reached, by bisection.
func (l linear) until(current, speed, angle, goal, most float64) float64 {
	lo, hi := 0., most
	for range 200 {
		middle := (lo + hi) / 2
		if _, _, a := l.after(current, speed, angle, middle); a < goal {
			lo = middle
		} else {
			hi = middle
		}
	}
	return hi
}

// Closed form: run-up of the unloaded motor, a linear system from rest. The
// pack's large capacitances and the spring's last micronewtons leave 1e-8.
func TestRunUpOfTheUnloadedMotor(t *testing.T) {
	runUp(t, ideal(t))
}

// The same where the current follows the speed within a nanosecond, and the speed the
// current within microseconds: over what is slow, a run glides.
func TestRunUpOfAStiffMotor(t *testing.T) {
	b := ideal(t)
	b.Motor.Armature.Inductance = 1e-8
	runUp(t, b)
	b.Motor.Drag.Viscous = 2e-4
	runUp(t, b)
}

func runUp(t *testing.T, b *drivetrain.Build) {
	b.Motor.Drag.Constant = 0
	r := simulate(t, b)
	g := b.Geometry()
	exact := newLinear(r, g.PullInertia, 0, 0)
	compared := 0
	for _, time := range []float64{0.2e-3, 1e-3, 2e-3, 5e-3, 10e-3} {
		if time > r.Summary.ReleaseTime {
			break
		}
		p := r.First.At(time)
		i, w, a := exact.after(0, 0, 0, time)
		assert.InEpsilon(t, i, p.Current, 1e-7, "current at %g s", time)
		assert.InEpsilon(t, w, p.Speed, 1e-7, "speed at %g s", time)
		assert.InEpsilon(t, a, p.Angle, 1e-7, "angle at %g s", time)
		compared++
	}
	assert.GreaterOrEqual(t, compared, 4)
}

// Closed form: under a constant torque the motor settles at the speed and the
// current where voltage and torque balance.
func TestSteadyCurrentUnderConstantTorque(t *testing.T) {
	b := ideal(t)
	b.Gears.Ratio = 200 // the pull lasts many time constants
	b.Piston.Drag, b.Piston.DragPull = 20, 900
	r := simulate(t, b)
	g := b.Geometry()
	load := (b.Piston.DragPull + g.SpringForce(g.Stroke)) * g.PitchRadius / (g.Ratio * b.Gears.Efficiency)
	cell, _ := b.Battery.Cell()
	series := b.Battery.Circuit(cell, b.Battery.StateOfCharge, b.Ambient.Temperature).R0 + r.Wires.Total()
	speed := r.Motor.SteadySpeed(load, b.Battery.OCV(cell, b.Battery.StateOfCharge), series)
	at := r.First.Before(r.Summary.ReleaseTime)
	const tol = 1e-6 // the pull takes some 2.5e-6 of the charge, 5e-7 of the voltage, 8e-7 of the speed
	assert.InEpsilon(t, speed, at.Speed, tol)
	assert.InEpsilon(t, r.Motor.SteadyCurrent(load, speed), at.Current, tol)
}

// Closed form: with a spring of (next to) no rate, the shot is the rack's kinetic
// energy alone and the meshes lose their share of the piston's drag.
func TestSpringOfZeroRate(t *testing.T) {
	b := document(t, "").Build
	b.Spring.Rate = 1e-6 // the least that is accepted
	r := simulate(t, b)
	g := b.Geometry()
	last := r.Steady.Events[0]
	require.Equal(t, cycle.Release, last.Kind)
	rack := g.PitchRadius * r.Steady.At(last.Time).Speed / g.Ratio
	assert.InEpsilon(t, g.MovingMass*rack*rack/2, r.Flight.Ledger.Kinetic, 1e-12, "what the rack gives the piston")
	assert.InDelta(t, 0, r.Flight.Ledger.Spring, 1e-8)
	assert.InEpsilon(t, (1/b.Gears.Efficiency-1)*b.Piston.DragPull*g.Stroke, r.Ledger.Mesh, 1e-7)
	assert.InDelta(t, 0, r.Summary.SpringPeakForce, 1e-6)
}

// The steady cycle on a held pack is linear between its events: gonum's matrix
// exponential, with the times of release and pickup by bisection, must go from
// the state just after a pickup to the same state a period later.
func TestSteadyCycleAgainstMatrixExponential(t *testing.T) {
	for _, name := range []string{"demo", "three cells", "low ratio", "no inductance"} {
		t.Run(name, func(t *testing.T) {
			overrides := map[string][]string{
				"demo": nil, "three cells": {"battery.series=3"}, "low ratio": {"gears.ratio=6.5"},
				"no inductance": {"motor.armature.inductance=1e-7 H"}, // a time constant of 1 µs
			}[name]
			r := simulate(t, document(t, "", overrides...).Build)
			b := r.Build
			g := b.Geometry()
			arm := g.PitchRadius / (g.Ratio * b.Gears.Efficiency)
			pull := newLinear(r, g.PullInertia, (g.SpringForce(0)+b.Piston.DragPull)*arm, g.SpringRate*g.PitchRadius*arm)
			free := newLinear(r, g.FreeInertia, 0, 0)

			start := r.Steady.At(0)
			t1 := pull.until(start.Current, start.Speed, 0, g.Release, 1)
			i, w, _ := pull.after(start.Current, start.Speed, 0, t1)
			t2 := free.until(i, w, g.Release, g.Lobe, 1)
			i, w, _ = free.after(i, w, g.Release, t2)

			const tol = 1e-9 // the default promise; rounding of the exponential is 1e-13
			assert.InEpsilon(t, t1+t2, r.Summary.Period, tol)
			assert.InEpsilon(t, t2, r.Summary.FreeTime, tol)
			assert.InEpsilon(t, start.Current, i, tol, "periodic in current")
			assert.InEpsilon(t, start.Speed, w*g.FreeInertia/g.PullInertia, tol, "periodic in speed")
		})
	}
}

// A current that rings through zero: the brushes' drop changes sign, and the
// books still close.
func TestCurrentRunsBackwards(t *testing.T) {
	b := document(t, "", "motor.armature.inductance=20 mH", "spring.rate=1 N/m", "spring.preload=1 mm", "piston.drag=0 N",
		"motor.drag.constant=0 N m", "gears.ratio=40").Build
	r := simulate(t, b)
	least := math.Inf(1)
	for _, p := range r.First.Sample(4000) {
		least = min(least, p.Current)
	}
	assert.Less(t, least, -0.05, "the current must have run backwards for this test to mean something")
	assert.Less(t, math.Abs(r.FirstLedger.Residual), 1e-6*r.FirstLedger.Battery)
	assert.Less(t, math.Abs(r.Ledger.Residual), 1e-6*r.Ledger.Battery)
}

func TestStalls(t *testing.T) {
	arm := func(b *drivetrain.Build) float64 {
		g := b.Geometry()
		return g.PitchRadius / (g.Ratio * b.Gears.Efficiency)
	}
	t.Run("from rest", func(t *testing.T) {
		b := document(t, "", "spring.rate=6000 N/m").Build
		r := simulate(t, b)
		require.Equal(t, cycle.Stall, r.Status)
		assert.Zero(t, r.Summary.StallTime)
		assert.Zero(t, r.Summary.StallAngle)
		g := b.Geometry()
		torque := r.Motor.Ke * r.Summary.StallCurrent
		assert.Less(t, torque, r.Motor.DragConstant+(g.SpringForce(0)+b.Piston.DragPull)*arm(b), "D8: the current can't move it")
		cell, _ := b.Battery.Cell()
		ohms := r.Motor.Resistance + b.Battery.Circuit(cell, 0.9, 293.15).R0 + r.Wires.Total()
		assert.InEpsilon(t, (b.Battery.OCV(cell, 0.9)-0.30)/ohms, r.Summary.StallCurrent, 1e-12)
		assert.Equal(t, r.Summary.StallCurrent, r.Summary.Inrush)
		assert.True(t, math.IsNaN(r.Summary.RateOfFire))
	})
	t.Run("where the torques balance", func(t *testing.T) {
		r := simulate(t, document(t, "", "spring.rate=2400 N/m").Build)
		require.Equal(t, cycle.Stall, r.Status)
		b := r.Build
		g := b.Geometry()
		needed := r.Motor.DragConstant + (g.SpringForce(g.Travel(r.Summary.StallAngle))+b.Piston.DragPull)*arm(b)
		assert.InEpsilon(t, r.Motor.Ke*r.Summary.StallCurrent, needed, 1e-4, "the shaft creeps to where torque and load are equal, and the pack sags a little more")
		assert.Equal(t, cycle.Stop, r.First.Events[len(r.First.Events)-1].Kind)
	})
	t.Run("in the second pull", func(t *testing.T) {
		// A jammed tappet, behind which the first shot starts.
		r := simulate(t, document(t, "", "tappet={from: 10 deg, to: 40 deg, work: 8 J}", "trigger.start=100 deg").Build)
		require.Equal(t, cycle.Stall, r.Status)
		assert.False(t, math.IsNaN(r.Summary.ReleaseTime), "the first shot goes off")
		assert.Greater(t, r.Summary.StallTime, r.Summary.ReleaseTime)
		assert.Greater(t, r.Summary.StallAngle*180/math.Pi, 10.)
		assert.Less(t, r.Summary.StallAngle*180/math.Pi, 40.)
		assert.Equal(t, cycle.Stop, r.First.Events[len(r.First.Events)-1].Kind)
		assert.True(t, math.IsNaN(r.Ledger.Battery))
	})
	t.Run("an empty pack that can't turn the motor", func(t *testing.T) {
		r := simulate(t, document(t, "", "battery.series=1", "motor.stator.brush.drop=4.5 V").Build)
		require.Equal(t, cycle.Stall, r.Status)
		assert.Zero(t, r.Summary.StallCurrent)
	})
}

// D8: on a held pack a shaft that can't pull the spring only creeps; it counts as
// stopped just below the angle where torque and load are equal.
func TestHeldPackStopsCreeping(t *testing.T) {
	stall, at, time, balance, err := cycle.HoldFromRest(document(t, "", "spring.rate=2400 N/m").Build)
	require.NoError(t, err)
	require.True(t, stall)
	assert.InDelta(t, balance, at, 1e-5, "stopped at 1e-6 of the no-load speed")
	assert.Less(t, at, balance)
	assert.Less(t, time, 2., "and not only when time runs out [s]")
}
