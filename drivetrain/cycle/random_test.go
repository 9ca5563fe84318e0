package cycle_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
)

// randomBuilds draws valid builds from ranges that a workbench could know, always
// the same ones.
func randomBuilds(t testing.TB, seed uint64, n int) (all []*drivetrain.Build) {
	source := rand.New(rand.NewPCG(seed, 0))
	from := func(lo, hi float64) float64 { return lo + (hi-lo)*source.Float64() }
	log := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, source.Float64()) }
	often := func(share float64) bool { return source.Float64() < share }
	effects := rand.New(rand.NewPCG(seed, 1))
	for len(all) < n {
		b := *document(t, "").Build
		b.Name = fmt.Sprintf("random %d", len(all))
		m := &b.Motor
		m.Stator.Magnet.Remanence = from(0.3, 1.35)
		m.Stator.AirGap = from(0.25e-3, 0.8e-3)
		m.Stator.Brush.Drop = from(0, 0.6)
		m.Armature.Turns = 10 + source.IntN(35)
		m.Armature.Wire = from(0.4e-3, 0.9e-3)
		m.Armature.Inertia = log(4e-7, 4e-6)
		m.Drag = motor.Drag{Constant: log(5e-4, 1e-2), Viscous: log(2e-7, 1e-5)}
		if often(0.3) {
			m.Commutation = from(0, 0.5)
		}
		if often(0.2) {
			m.Armature.Slots, m.Armature.ToothWidth = 5, 3.2e-3
		}
		if often(0.15) {
			bench := motor.NewBench(from(6, 13), from(800, 4000), from(0.8, 4), from(40, 200), log(4e-7, 4e-6))
			b.Motor = motor.Motor{Bench: &bench}
		}
		p := &b.Battery
		p.Chemistry = []battery.Chemistry{battery.LithiumPolymer, battery.LithiumPolymer, battery.LithiumIronPhosphate, battery.NickelMetalHydride}[source.IntN(4)]
		p.Series, p.Parallel = 1+source.IntN(4), 1+source.IntN(2)
		if p.Chemistry == battery.NickelMetalHydride {
			p.Series += 5
		}
		p.Capacity = log(0.6, 5) * 3600
		p.Resistance = log(2e-3, 3e-2)
		p.StateOfCharge = from(0.03, 1)
		b.Harness.Lead.Area = log(0.4e-6, 4e-6)
		if often(0.4) {
			contacts := harness.NewContacts("copper", log(0.3, 5))
			b.Harness.Switch = harness.Switch{Contacts: &contacts}
		} else {
			fet := harness.NewMOSFET(log(5e-4, 8e-3))
			fet.ActiveBraking = often(0.5)
			fet.BrakeDelay = from(0, 3e-3)
			b.Harness.Switch = harness.Switch{MOSFET: &fet}
		}
		b.Gears.Ratio, b.Gears.Efficiency, b.Gears.Inertia = log(7, 30), from(0.6, 0.98), log(1e-6, 1e-5)
		if often(0.2) {
			b.Gears.Churning = log(1e-6, 1e-4)
		}
		if often(0.2) {
			b.Sector.Teeth, b.Sector.Lobes = 10, 2
		}
		b.Sector.Removed = source.IntN(4)
		b.Piston.Mass, b.Piston.Drag, b.Piston.Clear = from(8e-3, 40e-3), from(0, 10), from(0.5e-3, 4e-3)
		b.Piston.DragPull = b.Piston.Drag
		if often(0.3) {
			b.Piston.Spacer = from(0, 4e-3)
		}
		b.Spring.Rate, b.Spring.Preload = log(200, 1500), from(20e-3, 60e-3)
		b.Cylinder.Nozzle, b.Cylinder.SealLeak = from(3e-3, 8e-3), log(1e-8, 5e-6)
		b.Cylinder.DeadVolume = log(2e-7, 3e-6)
		b.Cylinder.Port = from(8e-3, 50e-3)
		if often(0.3) {
			b.Cylinder.Port = 0
		}
		b.Barrel.Length, b.Barrel.Bore = from(0.1, 0.6), from(6.0e-3, 6.1e-3)
		b.Pellet.Mass, b.Pellet.HopForce = from(0.12e-3, 0.5e-3), from(0, 3)
		b.Trigger.Cutoff = from(0, 350) * math.Pi / 180
		b.Trigger.Mode = drivetrain.Automatic
		if often(0.5) {
			b.Trigger.Mode = drivetrain.Single
		}
		b.Tappet = nil
		if often(0.2) {
			b.Tappet = &drivetrain.Tappet{From: from(0, 1), To: from(1.1, 2.5), Work: log(5e-3, 0.1)}
		}
		b.Ambient = drivetrain.Ambient{Temperature: from(253, 318), Pressure: from(75e3, 105e3)}
		fullPhysics(effects, &b)
		if b.Validate() == nil {
			all = append(all, &b)
		} else if source.IntN(100000) == 0 {
			require.Fail(t, "the ranges give no valid builds", "%v", b.Validate())
		}
	}
	return all
}

// fullPhysics has some of the effects beyond plain physics in a build, each on its own.
func fullPhysics(r *rand.Rand, b *drivetrain.Build) {
	often := func() bool { return r.IntN(2) == 0 }
	b.Piston.DragPull = b.Piston.Drag
	if often() {
		b.Piston.DragPull *= 2 * r.Float64()
	}
	if often() {
		b.Piston.SealArea = 20e-6 * r.Float64()
	}
	if often() {
		b.Spring.Waves, b.Spring.Mass = true, 1e-3*math.Pow(60, r.Float64())
	}
	if often() {
		b.Barrel.Air = drivetrain.MovingAir
	}
	if often() {
		b.Barrel.WallHeat = drivetrain.MostBarrelHeat * r.Float64()
	}
	if often() {
		b.Cylinder.WallHeat = drivetrain.MostCylinderHeat * r.Float64()
	}
	if often() && b.Motor.Bench == nil {
		b.Motor.Commutation = motor.DerivedCommutation
	}
}

// quick is as exact as the invariants need.
func quick() cycle.Settings { return cycle.Settings{Tolerance: 1e-7, Flight: 4e-5} }

// each runs a check over builds on all cores.
func each(builds []*drivetrain.Build, check func(*drivetrain.Build)) {
	work := make(chan *drivetrain.Build)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for b := range work {
				check(b)
			}
		})
	}
	for _, b := range builds {
		work <- b
	}
	close(work)
	wait.Wait()
}

// Whatever the build: the simulation ends, the books close, no figure is infinite
// or of the wrong sign, masses and temperatures of the air stay positive.
func TestInvariantsOverRandomBuilds(t *testing.T) {
	var lock sync.Mutex
	ended := map[string]int{}
	each(randomBuilds(t, 1, effort.Of(3000)), func(b *drivetrain.Build) {
		r, err := cycle.Simulate(context.Background(), b, quick())
		if err != nil {
			assert.ErrorIs(t, err, cycle.ErrUnfinished, b.Name)
			lock.Lock()
			ended["unfinished"]++
			lock.Unlock()
			return
		}
		lock.Lock()
		ended[r.Status.String()]++
		if r.Flight != nil {
			ended[r.Flight.Status.String()]++
		}
		lock.Unlock()
		v := reflect.ValueOf(r.Summary)
		for i := range v.NumField() {
			f, name := v.Field(i).Float(), v.Type().Field(i).Name
			assert.False(t, math.IsInf(f, 0), "%s: %s", b.Name, name)
			if name != "PMEMargin" && name != "DemagnetisationMargin" && name != "PackVoltageMin" && name != "EngagementSpeed" {
				assert.False(t, f < 0, "%s: %s is %g", b.Name, name, f)
			}
		}
		ledgers := []*cycle.Ledger{&r.FirstLedger}
		if r.Status != cycle.Stall {
			ledgers = append(ledgers, &r.Ledger)
		}
		for _, l := range ledgers {
			assert.False(t, math.Abs(l.Residual) > 1e-6*math.Abs(l.Battery), "%s: residual %g of %g J", b.Name, l.Residual, l.Battery)
			for _, row := range l.Rows() {
				assert.False(t, math.IsInf(row.Energy, 0), b.Name)
				assert.False(t, l.Air+l.Walls < -1e-12, "%s: the air keeps %g J and gives %g J to the walls", b.Name, l.Air, l.Walls)
				assert.False(t, row.Name != "stored" && row.Name != "walls" && row.Name != "air" && row.Energy < -1e-12, "%s: %s is %g J", b.Name, row.Name, row.Energy)
			}
		}
		if r.Flight != nil {
			for _, p := range r.Flight.Trace.Sample(50) {
				for _, positive := range []float64{p.Mass, p.BarrelMass, p.Temperature, p.BarrelTemperature, p.Pressure, p.BarrelPressure} {
					assert.Greater(t, positive, 0., b.Name)
				}
			}
		}
	})
	t.Log(ended)
	for _, status := range []string{"steady", "stall", "single", "done"} {
		assert.Greater(t, ended[status], effort.Seen(50), "the ranges reach every end: %s", status)
	}
	assert.Less(t, ended["unfinished"], 20, "named failures are rare")
}

// More voltage never slows the steady cycle.
func TestMoreVoltageIsNeverSlower(t *testing.T) {
	compared := 0
	var lock sync.Mutex
	each(randomBuilds(t, 2, effort.Of(300)), func(b *drivetrain.Build) {
		b.Trigger.Mode = drivetrain.Automatic
		more := *b
		more.Battery.Series++
		more.Battery.Resistance *= float64(b.Battery.Series) / float64(more.Battery.Series) // the pack's stays
		one, err1 := cycle.Simulate(context.Background(), b, quick())
		two, err2 := cycle.Simulate(context.Background(), &more, quick())
		if err1 != nil || err2 != nil || one.Status != cycle.Steady {
			return
		}
		assert.Equal(t, cycle.Steady, two.Status, b.Name)
		assert.GreaterOrEqual(t, two.Summary.RateOfFire, one.Summary.RateOfFire, b.Name)
		lock.Lock()
		compared++
		lock.Unlock()
	})
	assert.Greater(t, compared, effort.Seen(100))
}

// All forces, masses, inertias, currents and conductances by the same factor: the
// same course in time, with currents and energies by that factor.
func TestScalingOfForcesAndCurrents(t *testing.T) {
	const by = 0.8
	compared := 0
	var lock sync.Mutex
	each(randomBuilds(t, 3, effort.Of(400)), func(b *drivetrain.Build) {
		if b.Motor.Bench == nil {
			bench := motor.NewBench(8, 1500, 2, 100, 1.2e-6)
			b.Motor = motor.Motor{Bench: &bench, Heat: b.Motor.Heat}
		}
		// What air gives to walls, and its friction, go by its viscosity.
		b.Cylinder.WallHeat, b.Barrel.WallHeat, b.Barrel.Air = 0, 0, drivetrain.StillAir
		c := *b
		m := *b.Motor.Bench
		m.NoLoadCurrent *= by
		m.StallCurrent *= by
		m.Inertia *= by
		m.Inductance /= by
		c.Motor.Bench = &m
		c.Battery.Capacity *= by
		c.Battery.Resistance /= by
		c.Harness.Lead.Area *= by
		c.Harness.Connectors = nil
		for _, k := range b.Harness.Connectors {
			k.Resistance /= by
			c.Harness.Connectors = append(c.Harness.Connectors, k)
		}
		if f := b.Harness.Switch.MOSFET; f != nil {
			g := *f
			g.Resistance /= by
			c.Harness.Switch.MOSFET = &g
		} else {
			k := *b.Harness.Switch.Contacts
			k.Force *= by * by // the resistance goes with its root
			c.Harness.Switch.Contacts = &k
		}
		c.Gears.Inertia *= by
		c.Gears.Churning *= by
		c.Piston.Mass *= by
		c.Piston.Drag *= by
		c.Piston.DragPull *= by
		c.Spring.Rate *= by
		c.Spring.Mass *= by
		c.Pellet.Mass *= by
		c.Pellet.HopForce *= by
		c.Pellet.BarrelDrag *= by
		c.Ambient.Pressure *= by
		if b.Tappet != nil {
			tappet := *b.Tappet
			tappet.Work *= by
			c.Tappet = &tappet
		}
		one, err1 := cycle.Simulate(context.Background(), b, quick())
		two, err2 := cycle.Simulate(context.Background(), &c, quick())
		if err1 != nil || err2 != nil {
			assert.Equal(t, errors.Is(err1, cycle.ErrUnfinished), errors.Is(err2, cycle.ErrUnfinished), "%s: %v, %v", b.Name, err1, err2)
			return
		}
		if one.Status != two.Status {
			return // at the edge of a stall
		}
		lock.Lock()
		compared++
		lock.Unlock()
		const tol = 2e-6 // the settings' 1e-7, and a hundredth of the flight's
		same := func(what string, a, b, factor, tol float64) {
			if math.IsNaN(a) && math.IsNaN(b) {
				return
			}
			assert.InDelta(t, a*factor, b, tol*math.Abs(a*factor)+1e-12, "%s of %s", what, one.Build.Name)
		}
		s, u := &one.Summary, &two.Summary
		same("period", s.Period, u.Period, 1, tol)
		same("first release", s.ReleaseTime, u.ReleaseTime, 1, tol)
		same("time to rest", s.TimeToRest, u.TimeToRest, 1, tol)
		same("inrush", s.Inrush, u.Inrush, by, tol)
		same("RMS", s.CurrentRMS, u.CurrentRMS, by, tol)
		same("least voltage", s.PackVoltageMin, u.PackVoltageMin, 1, tol)
		same("battery", one.Ledger.Battery, two.Ledger.Battery, by, tol)
		same("muzzle velocity", s.MuzzleVelocity, u.MuzzleVelocity, 1, 2e-4)
		same("time to home", s.TimeToHome, u.TimeToHome, 1, 2e-4)
	})
	assert.Greater(t, compared, effort.Seen(300))
}

// Results don't depend on what else runs, in which order, or how often a course is read.
func TestResultsDoNotDependOnCompany(t *testing.T) {
	builds := randomBuilds(t, 4, effort.Of(60))
	alone := map[string]string{}
	for _, b := range builds {
		alone[b.Name] = told(b)
	}
	var lock sync.Mutex
	for i, j := 0, len(builds)-1; i < j; i, j = i+1, j-1 {
		builds[i], builds[j] = builds[j], builds[i]
	}
	each(builds, func(b *drivetrain.Build) {
		got := told(b)
		lock.Lock()
		defer lock.Unlock()
		assert.Equal(t, alone[b.Name], got, b.Name)
	})
}

// told is all that a simulation says, bit by bit.
func told(b *drivetrain.Build) string {
	r, err := cycle.Simulate(context.Background(), b, quick())
	if err != nil {
		return err.Error()
	}
	r.First.Sample(17)
	text := fmt.Sprintf("%x %x %v", r.Summary, r.Ledger, r.Warnings)
	if r.Pull != nil {
		text += fmt.Sprintf("%x", r.Pull.Ledger)
	}
	return text + quantity.Angle.Format(r.First.At(0).Angle)
}
