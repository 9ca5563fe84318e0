package cycle_test

import (
	"context"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
)

// wildBuild draws the demo with some of its fields anywhere in what Validate accepts,
// log-uniform where the range spans decades: from a single key that was mistyped to a
// gun that has nothing in common with any. It is the same for the same number, and nil
// where the parts don't fit each other.
func wildBuild(seed, number uint64) *drivetrain.Build {
	source := rand.New(rand.NewPCG(seed, number))
	// Of a few keys, or of nearly all.
	share := 0.01 * math.Pow(60, source.Float64())
	often := func(share float64) bool { return source.Float64() < share }
	set := func(v *float64, lo, hi float64) {
		x := source.Float64()
		if !often(share) {
			return
		}
		switch {
		case lo < 0 || lo > hi/4:
			*v = lo + (hi-lo)*x
		case lo > 0:
			*v = lo * math.Pow(hi/lo, x)
		case x < 0.1:
			*v = 0
		default: // from nothing on: eight decades
			*v = hi * math.Pow(1e-8, (x-0.1)/0.9)
		}
	}
	whole := func(v *int, lo, hi int) {
		x := float64(*v)
		set(&x, float64(lo), float64(hi))
		*v = int(math.Round(x))
	}
	const degree = math.Pi / 180
	celsius := quantity.Celsius

	b := *buildfile.Demo()
	b.Name = fmt.Sprintf("wild %d", number)
	b.Harness.Fuse, b.Rack, b.Pads = nil, nil, nil
	b.Ambient.Temperature, b.Ambient.Pressure = celsius+20, 101325
	set(&b.Ambient.Temperature, celsius-60, celsius+80)
	set(&b.Ambient.Pressure, 20e3, 200e3)

	m := &b.Motor
	s, a, g := &m.Stator, &m.Armature, &m.Stator.Magnet
	set(&g.Remanence, 0.05, 2)
	set(&g.Drift, -0.01, 0.01)
	set(&g.Permeability, 1, 10)
	set(&g.Coercivity, 0, 5e6)
	set(&g.Thickness, 0.1e-3, 0.1)
	set(&g.Arc, 0.1, 3.14)
	set(&s.AirGap, 0.02e-3, 10e-3)
	set(&s.Carter, 1, 3)
	set(&s.Leakage, 0, 0.9)
	set(&s.Brush.Drop, 0, 5)
	set(&s.Brush.Arc, 0, math.Pi)
	if often(share) {
		a.Slots = 3 + 2*source.IntN(49)
	}
	whole(&a.Turns, 1, 1000)
	set(&a.Wire, 0.01e-3, 10e-3)
	whole(&a.Strands, 1, 1000)
	set(&a.RotorDiameter, 1e-3, 1)
	set(&a.StackLength, 1e-3, 1)
	set(&a.SlotOpening, 0, 0.5)
	set(&a.ToothWidth, 0.1e-3, 0.5)
	set(&a.Saturation, 0.1, 3)
	set(&a.Stacking, 0.1, 1)
	set(&a.MeanTurn, 1e-3, 5)
	set(&a.Inertia, 1e-9, 1e-2)
	set(&a.Inductance, 1e-8, 1)
	set(&m.Drag.Constant, 0, 10)
	set(&m.Drag.Viscous, 0, 1)
	set(&m.Commutation, 0, 1)
	if often(share) {
		m.Commutation = motor.DerivedCommutation
	}
	if often(share) {
		bench := motor.NewBench(12, 1500, 2, 100, 1.2e-6)
		set(&bench.Voltage, 0.1, 1000)
		set(&bench.NoLoadSpeed, 10.5, 1e5)
		set(&bench.NoLoadCurrent, 0, 1000)
		set(&bench.StallCurrent, 1e-3, 1e5)
		set(&bench.Inertia, 1e-9, 1e-2)
		set(&bench.Inductance, 1e-8, 1)
		set(&bench.BrushDrop, 0, 5)
		set(&bench.Drift, -0.01, 0.01)
		m.Bench, m.Commutation, m.Drag = &bench, 0, motor.Drag{}
		set(&m.Drag.Viscous, 0, 1)
	}

	p := &b.Battery
	if often(share) {
		p.Chemistry = battery.Chemistries()[source.IntN(4)]
	}
	if p.Chemistry == battery.Custom {
		at, volts := 0., 0.01
		p.OCVTable = []battery.OCVPoint{{Charge: 0, Voltage: volts}}
		for range source.IntN(4) {
			at += (1 - at) * source.Float64()
			volts = min(10, volts+10*math.Pow(1e-4, source.Float64()))
			p.OCVTable = append(p.OCVTable, battery.OCVPoint{Charge: at, Voltage: volts})
		}
		p.OCVTable = append(p.OCVTable, battery.OCVPoint{Charge: 1, Voltage: volts + (10-volts)*source.Float64()})
	}
	whole(&p.Series, 1, 100)
	whole(&p.Parallel, 1, 100)
	set(&p.Capacity, 72, 3.6e6)
	set(&p.Resistance, 1e-6, 10)
	set(&p.StateOfCharge, 0, 1)
	set(&p.ActivationEnergy, 0, 200e3)

	h := &b.Harness
	set(&h.Lead.Area, 1e-9, 1e-3)
	set(&h.Lead.Length, 0, 100)
	h.Connectors = []harness.Connector{harness.NewConnector(1e-3)}
	set(&h.Connectors[0].Resistance, 0, 10)
	if often(0.4) {
		contacts := harness.NewContacts("silver", 1.5)
		set(&contacts.Force, 1e-3, 1000)
		set(&contacts.Hardness, 1e7, 1e10)
		h.Switch = harness.Switch{Contacts: &contacts}
	} else {
		fet := harness.NewMOSFET(2e-3)
		fet.ActiveBraking = often(0.5)
		set(&fet.Resistance, 1e-6, 10)
		set(&fet.FlybackDrop, 0, 10)
		set(&fet.BrakeDelay, 0, 1)
		if often(share) {
			brake := 0.1
			set(&brake, 0, 100)
			fet.BrakeResistance = &brake
		}
		h.Switch = harness.Switch{MOSFET: &fet}
	}

	set(&b.Gears.Ratio, 0.1, 1000)
	set(&b.Gears.Efficiency, 0.01, 1)
	set(&b.Gears.Inertia, 0, 0.1)
	set(&b.Gears.Churning, 0, 10)
	c := &b.Sector
	set(&c.Module, 0.05e-3, 20e-3)
	whole(&c.FullTeeth, 4, 1000)
	whole(&c.Teeth, 1, 1000)
	whole(&c.Removed, 0, 1000)
	whole(&c.Lobes, 1, 20)
	if often(share) {
		c.Teeth = min(c.Teeth, max(1, c.FullTeeth/c.Lobes-1))
	}
	set(&b.Piston.Mass, 0.1e-3, 10)
	set(&b.Piston.Drag, 0, 1000)
	set(&b.Piston.DragPull, 0, 1000)
	set(&b.Piston.SealArea, 0, 0.01)
	set(&b.Piston.Clear, 1e-6, 0.2)
	set(&b.Piston.Spacer, 0, 0.1)
	set(&b.Spring.Rate, 1e-6, 1e7)
	set(&b.Spring.Preload, 0, 2)
	set(&b.Spring.Mass, 0, 10)
	y := &b.Cylinder
	set(&y.Bore, 1e-3, 0.5)
	set(&y.DeadVolume, 1e-9, 1e-2)
	set(&y.Port, 0.1e-3, 1)
	set(&y.PortArea, 1e-9, 0.01)
	set(&y.Nozzle, 0.1e-3, 0.1)
	set(&y.Discharge, 0.01, 1)
	set(&y.SealLeak, 0, 1e-3)
	set(&y.WallHeat, 0, drivetrain.MostCylinderHeat)
	set(&b.Barrel.WallHeat, 0, drivetrain.MostBarrelHeat)
	if often(share) {
		b.Barrel.Air = drivetrain.StillAir
	}
	if often(share) {
		b.Spring.Waves = !b.Spring.Waves
	}
	set(&b.Barrel.Bore, 1e-3, 0.1)
	set(&b.Barrel.Length, 1e-3, 3)
	set(&b.Barrel.BreechVolume, 1e-10, 1e-3)
	set(&b.Barrel.ClearanceDischarge, 0, 1)
	set(&b.Pellet.Mass, 0.01e-3, 0.1)
	set(&b.Pellet.Diameter, 1e-3, 0.1)
	set(&b.Pellet.HopForce, 0, 1000)
	set(&b.Pellet.HopLength, 0, 1)
	set(&b.Pellet.BarrelDrag, 0, 1000)
	t := &b.Trigger
	t.Mode = drivetrain.Automatic
	if often(0.4) {
		t.Mode = drivetrain.Single
	}
	set(&t.Cutoff, 0, 360*degree)
	set(&t.Start, 0, 360*degree)
	if often(0.1) {
		t.Rounds = 1 + source.IntN(5)
	}
	if often(share) {
		t.Rounds = int(math.Pow(100, source.Float64())) // more take as much longer
	}
	if often(share) {
		b.Tappet = &drivetrain.Tappet{From: 0.5, To: 1.5, Work: 0.03}
		set(&b.Tappet.From, 0, 360*degree)
		set(&b.Tappet.To, 0, 360*degree)
		set(&b.Tappet.Work, 0, 100)
	}
	if b.Validate() != nil {
		return nil
	}
	return &b
}

// wildBuilds is how many TestWildBuilds fires: more with go test -run Wild -wild 20000.
var wildBuilds = flag.Int("wild", 0, "how many wild builds are fired; 0 for 300, or as many of them as the effort says")

// Whatever Validate accepts: the simulation ends, without an error and soon, its books
// close, no figure is infinite, and an Evaluator says the same.
func TestWildBuilds(t *testing.T) {
	var lock sync.Mutex
	ended := map[string]int{}
	var slowest time.Duration
	var slow string
	todo := make(chan *drivetrain.Build)
	var wait sync.WaitGroup
	for range 2 {
		wait.Go(func() {
			var e cycle.Evaluator
			for b := range todo {
				begin := time.Now()
				kind := fireWild(t, &e, b)
				lock.Lock()
				ended[kind]++
				if took := time.Since(begin); took > slowest {
					slowest, slow = took, fmt.Sprintf("%s, %s of %d", b.Name, b.Trigger.Mode, b.Trigger.Rounds)
				}
				lock.Unlock()
			}
		})
	}
	fired, most := 0, *wildBuilds
	if most == 0 {
		most = effort.Of(300)
	}
	for number := uint64(0); fired < most; number++ {
		if b := wildBuild(1, number); b != nil {
			todo <- b
			fired++
		}
	}
	close(todo)
	wait.Wait()
	t.Logf("%v; the slowest took %v twice over: %s", ended, slowest, slow)
	assert.Zero(t, ended["failed"])
	for _, kind := range []string{"steady", "stall", "single"} {
		assert.Greater(t, ended[kind], most/10, "the ranges reach every end: %s", kind)
	}
}

// fireWild fires a build in both ways and tells how it ended.
func fireWild(t *testing.T, e *cycle.Evaluator, b *drivetrain.Build) string {
	ctx, stop := context.WithTimeout(context.Background(), 2*time.Minute) // on a machine that does other things as well
	defer stop()
	r, err := cycle.Simulate(ctx, b, quick())
	if !assert.NoError(t, err) {
		return "failed"
	}
	other, err := e.Evaluate(ctx, b, quick())
	if !assert.NoError(t, err, b.Name) {
		return "failed"
	}
	for _, s := range []*cycle.Summary{&r.Summary, &other.Summary} {
		v := reflect.ValueOf(*s)
		for i := range v.NumField() {
			assert.False(t, math.IsInf(v.Field(i).Float(), 0), "%s: %s", b.Name, v.Type().Field(i).Name)
		}
	}
	assert.Equal(t, r.Status, other.Status, b.Name)
	assert.Equal(t, r.Hunt, other.Hunt, b.Name)
	assert.Equal(t, fmt.Sprintf("%x %x", r.Summary, r.Ledger), fmt.Sprintf("%x %x", other.Summary, other.Ledger), b.Name)
	assert.Equal(t, r.Warnings, e.Warnings(), b.Name)
	// The books of the flights close as well as those are exact, which is less.
	closes := func(what string, l *cycle.Ledger, shots ...*flight.Result) {
		assert.Equal(t, math.IsNaN(l.Battery), math.IsNaN(l.Residual), "%s: %s", b.Name, what)
		left, most := l.Residual, math.Abs(l.Battery)
		for _, f := range shots {
			left -= f.Ledger.Residual
		}
		for _, row := range l.Rows() {
			most = max(most, math.Abs(row.Energy))
		}
		assert.False(t, math.Abs(left) > 1e-6*most, "%s: %s: residual %g of %g J", b.Name, what, left, most)
	}
	if r.Pull != nil {
		var shots []*flight.Result
		for _, s := range r.Pull.Releases {
			shots = append(shots, s.Flight)
		}
		closes("pull", &r.Pull.Ledger, shots...)
	}
	if r.Status == cycle.Steady {
		closes("steady cycle", &r.Ledger, r.Flight)
		closes("first shot", &r.FirstLedger, r.FirstFlight)
	}
	if r.Hunt != nil {
		return "hunts"
	}
	return r.Status.String()
}
