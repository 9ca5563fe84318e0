package flight_test

import (
	"context"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/quantity"
)

// shot is a build with a release speed.
type shot struct {
	build *drivetrain.Build
	speed float64 // [m/s]
}

// shots are the ones that every invariant is tried on.
func shots(t testing.TB) map[string]shot {
	all := map[string]shot{
		"demo":            {build(t, ""), 2.75},
		"at rest":         {build(t, ""), 0},
		"fast":            {build(t, ""), 6},
		"ferrite":         {build(t, "ferrite.yaml"), 1.5},
		"two lobes":       {build(t, "two-lobe.yaml"), 1},
		"spacer":          {build(t, "", "piston.spacer=2 mm"), 1.4},
		"no port":         {build(t, "", "cylinder.port=60 mm"), 1.4},
		"late port":       {build(t, "", "cylinder.port=4 mm"), 1.4},
		"narrow nozzle":   {build(t, "", "cylinder.nozzle=2 mm"), 1.4},
		"wide nozzle":     {build(t, "", "cylinder.nozzle=10 mm"), 1.4},
		"leaky":           {build(t, "", "cylinder.seal_leak=8 mm2"), 1.4},
		"tight":           {build(t, "", "cylinder.seal_leak=0 mm2"), 1.4},
		"little dead":     {build(t, "", "cylinder.dead_volume=0.05 cm3"), 1.4},
		"large breech":    {build(t, "", "barrel.breech_volume=5 cm3"), 1.4},
		"short barrel":    {build(t, "", "barrel.length=50 mm"), 1.4},
		"long barrel":     {build(t, "", "barrel.length=800 mm"), 1.4},
		"heavy pellet":    {build(t, "", "pellet.mass=0.43 g"), 1.4},
		"light pellet":    {build(t, "", "pellet.mass=0.12 g"), 1.4},
		"no hop":          {build(t, "", "pellet.hop_force=0 N", "pellet.barrel_drag=0 N"), 1.4},
		"hop all along":   {build(t, "", "pellet.hop_length=500 mm"), 1.4},
		"hard hop":        {build(t, "", "pellet.hop_force=8 N"), 1.4},
		"stuck":           {build(t, "", "pellet.hop_force=80 N"), 1.4},
		"no piston drag":  {build(t, "", "piston.drag=0 N"), 1.4},
		"light piston":    {build(t, "", "piston.mass=8 g"), 1.4},
		"heavy piston":    {build(t, "", "piston.mass=80 g"), 1.4},
		"stiff spring":    {build(t, "", "spring.rate=1800 N/m"), 1.4},
		"thin air, cold":  {build(t, "", "ambient.pressure=60 kPa", "ambient.temperature=-20 degC"), 1.4},
		"little preload":  {build(t, "", "spring.preload=2 mm"), 1.4},
		"low":             {build(t, "", "spring.rate=250 N/m"), 1.4},
		"held and creeps": {build(t, "", "piston.drag=120 N"), 0},
	}
	demo := build(t, "")
	for i := range 6 {
		r := rand.New(rand.NewPCG(uint64(i), 7))
		all[fmt.Sprint("random ", i)] = shot{nearBuild(t, demo, r), 4 * r.Float64()}
	}
	for i, name := range slices.Sorted(maps.Keys(all)) {
		all["full "+name] = shot{full(all[name].build), all[name].speed}
		if !effort.All() && name != "demo" && name != "held and creeps" { // each other in the one physics or the other
			delete(all, []string{"", "full "}[i%2]+name)
		}
	}
	return all
}

func TestLedgerCloses(t *testing.T) {
	for name, c := range shots(t) {
		t.Run(name, func(t *testing.T) {
			r := fly(t, c.build, flight.Settings{ReleaseSpeed: c.speed, Tolerance: 1e-7})
			checkSound(t, r, name)
			l := &r.Ledger
			assert.Contains(t, []flight.Status{flight.Done, flight.PelletStuck}, r.Status)
			assert.Positive(t, l.Spring)
			assert.LessOrEqual(t, math.Abs(l.Residual), 1e-6*l.Spring, "what is asked for")
			assert.LessOrEqual(t, math.Abs(l.Residual), 1e-8*l.Spring, "what the integrator keeps at 1e-7")
			sum := l.Residual
			for _, row := range l.Rows() {
				sum += row.Energy
				if row.Name != "walls" && row.Name != "air" { // which warm each other
					assert.GreaterOrEqual(t, row.Energy, 0., row.Name)
				}
			}
			assert.InEpsilon(t, l.Spring+l.Kinetic, sum, 1e-12, "the residual is what the rows leave")
			g := c.build.Geometry()
			assert.InEpsilon(t, g.SpringEnergy(g.Stroke)-g.SpringEnergy(0), l.Spring, 1e-12, "a seated piston has all of it")
			assert.Zero(t, l.Stored)
		})
	}
}

// figures flattens summary and ledger. Figures that are given by the build alone
// are left out.
func figures(r *flight.Result) map[string]float64 {
	all := map[string]float64{}
	v := reflect.ValueOf(r.Summary)
	for i := range v.NumField() {
		all[v.Type().Field(i).Name] = v.Field(i).Float()
	}
	for _, row := range r.Ledger.Rows() {
		all["ledger "+row.Name] = row.Energy
	}
	return all
}

// steepness is the piston's acceleration when it first strikes its stop, by which an
// impact follows from when that is; 0 where no course was kept [m/s2].
func steepness(r *flight.Result) float64 {
	if r.Trace == nil {
		return 0
	}
	for _, e := range r.Trace.Events {
		if e.Kind == flight.PistonArrives {
			d := 1e-4 * e.Time
			return math.Abs(r.Trace.Before(e.Time).Speed-r.Trace.At(e.Time-d).Speed) / d
		}
	}
	return 0
}

func compare(t *testing.T, want, got *flight.Result, tolerance float64, what string) {
	t.Helper()
	assert.Equal(t, want.Status, got.Status, what)
	for _, miss := range misses(want, got, tolerance) {
		assert.Fail(t, "not as exact as promised", "%s %s", miss, what)
	}
}

// misses says which figures are not within a tolerance.
func misses(want, got *flight.Result, tolerance float64) (all []string) {
	given := want.Ledger.Spring + want.Ledger.Kinetic
	w := figures(want)
	for key, v := range figures(got) {
		if math.IsNaN(w[key]) && math.IsNaN(v) {
			continue
		}
		allowed := tolerance * math.Abs(w[key])
		later := tolerance * w["TimeToHome"] * steepness(want) // of an impact, for that it comes so much later
		switch {
		case key == "ledger impact" && later > 0:
			allowed += 1e-3*tolerance*given + 2*w[key]*later/w["PistonImpact"]
		case key == "ledger walls" || key == "ledger surge" || key == "ledger air" && want.Ledger.Walls != 0:
			allowed += 0.1 * tolerance * given // what goes to and fro
		case len(key) > 6 && key[:6] == "ledger":
			allowed += 1e-3 * tolerance * given // a row of next to nothing
		case key == "PistonImpact":
			allowed += later
		}
		if off := math.Abs(v - w[key]); !(off <= allowed) {
			all = append(all, fmt.Sprintf("%s of %g is off by %.3g, allowed are %.3g", key, w[key], off, allowed))
		}
	}
	return all
}

// Figures keep the accuracy that the settings promise, against a tight run.
func TestFiguresKeepTheTolerance(t *testing.T) {
	for name, c := range shots(t) {
		t.Run(name, func(t *testing.T) {
			s := flight.Settings{ReleaseSpeed: c.speed, Tolerance: 1e-7, Trace: true}
			tolerances := []float64{1e-3, 1e-5}
			switch strings.TrimPrefix(name, "full ") { // the default, on some
			case "demo", "ferrite", "two lobes", "narrow nozzle", "light pellet":
				s.Tolerance = 1e-11
				tolerances = []float64{1e-3, 1e-4, 1e-6, 0}
			}
			truth := fly(t, c.build, s)
			for _, s.Tolerance = range tolerances {
				promised := s.Tolerance
				if promised == 0 {
					promised = 1e-9
				}
				compare(t, truth, fly(t, c.build, s), promised, fmt.Sprintf("at %g", promised))
			}
		})
	}
}

// Of a piston that creeps home for seconds, over hundreds of echoes, what the spring's waves
// keep is next to nothing in the end, and yet as exact as the echoes are: to the fourth power
// of the time in each step. Cubics would have half of it.
func TestSurgeOfACreep(t *testing.T) {
	c := shots(t)["full held and creeps"]
	truth := fly(t, c.build, flight.Settings{ReleaseSpeed: c.speed}.Steps(1e-11))
	got := fly(t, c.build, flight.Settings{ReleaseSpeed: c.speed}.Steps(1e-7))
	assert.Greater(t, truth.Ledger.Surge, 7e-7)
	assert.InDelta(t, truth.Ledger.Surge, got.Ledger.Surge, 5e-8)
}

// Two methods of different nature, one with the Jacobian, one without.
func TestExplicitMethodAgrees(t *testing.T) {
	givenUp := 0
	for name, c := range shots(t) {
		t.Run(name, func(t *testing.T) {
			const tolerance = 1e-6
			s := flight.Settings{ReleaseSpeed: c.speed, Tolerance: tolerance, Trace: true}.Within(25_000)
			implicit := fly(t, c.build, s)
			r, err := flight.General(context.Background(), c.build, s, true)
			require.NoError(t, err)
			if r.Status == flight.GivenUp {
				givenUp++ // it needs some million steps a second
				return
			}
			compare(t, implicit, r, 2*tolerance, "")
		})
	}
	assert.LessOrEqual(t, givenUp, 10, "long flights or small volumes")
}

func TestStatuses(t *testing.T) {
	for _, c := range []struct {
		name      string
		overrides []string
		want      flight.Status
		reason    string
	}{
		{"demo", nil, flight.Done, "a shot"},
		{"hop too strong", []string{"pellet.hop_force=80 N"}, flight.PelletStuck, "the spring presses with 65 N on an area 15 times the barrel's: 4 N"},
		{"barrel too tight", []string{"pellet.barrel_drag=80 N"}, flight.PelletStuck, "the same, along the barrel"},
		{"stuck behind the hop", []string{"pellet.hop_force=0 N", "pellet.barrel_drag=2 N", "barrel.length=2 m", "spring.rate=900 N/m"}, flight.PelletStuck, "friction stops it on the way"},
		{"stuck and sealed", []string{"pellet.hop_force=80 N", "cylinder.seal_leak=0 mm2", "barrel.clearance_discharge=0", "cylinder.port=80 mm"}, flight.PistonHeld, "no way out for the air"},
		{"held by drag", []string{"piston.drag=1000 N"}, flight.PistonHeld, "equation E1's drag lets it creep at 3 mm/s and less"},
		{"leak larger than the nozzle", []string{"cylinder.seal_leak=200 mm2"}, flight.PelletStuck, "no pressure comes about"},
		{"no preload", []string{"spring.preload=0 mm"}, flight.Done, "it settles without ever striking the stop"},
		{"a shell that coasts", []string{"pellet.hop_force=0 N", "pellet.barrel_drag=0 N", "barrel.length=3 m", "pellet.mass=100 g", "piston.drag=0 N", "spring.rate=2 N/m"}, flight.Unsettled, "3 cm/s along 3 m"},
		{"bounces on and on", []string{"pellet.hop_force=80 N", "cylinder.seal_leak=0 mm2", "barrel.clearance_discharge=0", "cylinder.port=80 mm", "piston.drag=0 N", "cylinder.nozzle=0.1 mm", "spring.rate=20000 N/m", "piston.mass=0.1 g", "spring.mass=0 g"}, flight.GivenUp, "nothing brakes it"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := fly(t, build(t, "", c.overrides...), flight.Settings{Tolerance: 1e-6, Trace: true}.Within(10_000))
			assert.Equal(t, c.want.String(), r.Status.String(), c.reason)
			checkSound(t, r, c.name)
			assert.LessOrEqual(t, math.Abs(r.Ledger.Residual), 1e-6*(r.Ledger.Spring+r.Ledger.Kinetic))
			end := r.Trace.At(r.Summary.Duration)
			assert.Equal(t, end.Time, r.Trace.Duration())
			if r.Status == flight.PistonHeld {
				assert.True(t, math.IsNaN(r.Summary.TimeToHome) || end.Travel < r.Build.Piston.Clear)
			}
			if r.Status == flight.PelletStuck {
				assert.Less(t, end.PelletTravel, r.Build.Barrel.Length)
			}
		})
	}
}

// A stuck pellet may have moved, and may have been freed again.
func TestPelletStopsOnItsWay(t *testing.T) {
	r := fly(t, build(t, "", "pellet.hop_force=0 N", "pellet.barrel_drag=2 N", "barrel.length=2 m", "spring.rate=900 N/m"), flight.Settings{Trace: true})
	require.Equal(t, flight.PelletStuck, r.Status)
	end := r.Trace.At(r.Summary.Duration)
	assert.Greater(t, end.PelletTravel, 0.1)
	assert.InEpsilon(t, 2*end.PelletTravel, r.Ledger.Barrel, 1e-9)
	assert.InDelta(t, 0, end.PelletSpeed, 1e-9)
	assert.True(t, math.IsNaN(r.Summary.MuzzleVelocity))
}

// All lengths by λ, with times, at the same pressures and speeds: masses go with
// λ³, forces with λ², the spring's rate and what energies there are by λ³/λ².
func TestScalingOfSize(t *testing.T) {
	const k = 1.7
	b := build(t, "", "sector.engaged_angle=240 deg") // whatever the rack's teeth come to
	big := *b
	big.Sector.Module *= k
	big.Piston.Mass *= k * k * k
	big.Piston.Drag *= k * k
	big.Piston.Clear *= k
	big.Spring.Rate *= k
	big.Spring.Preload *= k
	big.Spring.Mass *= k * k * k
	c := &big.Cylinder
	c.Bore, c.Port, c.Nozzle = c.Bore*k, c.Port*k, c.Nozzle*k
	c.DeadVolume *= k * k * k
	c.PortArea, c.SealLeak = c.PortArea*k*k, c.SealLeak*k*k
	a := &big.Barrel
	a.Bore, a.Length = a.Bore*k, a.Length*k
	a.BreechVolume *= k * k * k
	p := &big.Pellet
	p.Mass *= k * k * k
	p.Diameter, p.HopLength = p.Diameter*k, p.HopLength*k
	p.HopForce, p.BarrelDrag = p.HopForce*k*k, p.BarrelDrag*k*k
	one := fly(t, b, flight.Settings{ReleaseSpeed: 2})
	two := fly(t, &big, flight.Settings{ReleaseSpeed: 2})
	scaled(t, one, two, map[string]float64{
		"TimeToHome": k, "TimeToMuzzle": k, "Duration": k, "MostRearward": k,
		"MuzzleVelocity": 1, "PistonImpact": 1, "PeakPressure": 1, "PeakBarrelPressure": 1,
		"MuzzleEnergy": k * k * k, "ledger": k * k * k,
	})
}

// All pressures by μ, with forces and masses, at the same lengths, times and
// speeds.
func TestScalingOfPressure(t *testing.T) {
	const k = 0.4
	b := build(t, "")
	thin := *b
	thin.Ambient.Pressure *= k
	thin.Piston.Mass *= k
	thin.Piston.Drag *= k
	thin.Spring.Rate *= k
	thin.Spring.Mass *= k
	thin.Pellet.Mass *= k
	thin.Pellet.HopForce *= k
	thin.Pellet.BarrelDrag *= k
	one := fly(t, b, flight.Settings{ReleaseSpeed: 2})
	two := fly(t, &thin, flight.Settings{ReleaseSpeed: 2})
	scaled(t, one, two, map[string]float64{
		"TimeToHome": 1, "TimeToMuzzle": 1, "Duration": 1, "MostRearward": 1,
		"MuzzleVelocity": 1, "PistonImpact": 1, "PeakPressure": k, "PeakBarrelPressure": k,
		"MuzzleEnergy": k, "ledger": k,
	})
}

func scaled(t *testing.T, one, two *flight.Result, by map[string]float64) {
	t.Helper()
	want := figures(one)
	for key, got := range figures(two) {
		factor, ok := by[key]
		if !ok {
			factor = by["ledger"]
		}
		assert.InDelta(t, factor*want[key], got, 1e-9*math.Abs(factor*want[key]), key)
	}
}

// A spacer (equation D9) is a shorter stroke with more preload, nearer to the port.
func TestSpacer(t *testing.T) {
	const w = 2e-3
	b := build(t, "", "piston.spacer=2 mm")
	same := *b
	same.Piston.Spacer = 0
	same.Sector.EngagedAngle = b.ReleaseAngle() - w/b.Sector.PitchRadius()
	same.Spring.Preload += w
	same.Cylinder.Port -= w
	compare(t, fly(t, &same, flight.Settings{ReleaseSpeed: 2}), fly(t, b, flight.Settings{ReleaseSpeed: 2}), 1e-9, "")
}

// Common practice, no source.
func TestTrendsOfTheTrade(t *testing.T) {
	shoot := func(overrides ...string) *flight.Summary {
		return &fly(t, build(t, "", overrides...), flight.Settings{ReleaseSpeed: 1.4}).Summary
	}
	base := shoot()
	heavy := shoot("pellet.mass=0.28 g")
	assert.InEpsilon(t, base.MuzzleEnergy, heavy.MuzzleEnergy, 0.1, "0.28 g keeps the muzzle energy of 0.20 g within a tenth")
	assert.Less(t, heavy.MuzzleVelocity, base.MuzzleVelocity)
	for name, s := range map[string]*flight.Summary{
		"more pellet clearance": shoot("pellet.diameter=5.90 mm"),
		"a wider barrel":        shoot("barrel.bore=6.10 mm"),
		"a leaking seal":        shoot("cylinder.seal_leak=3 mm2"),
		"a softer spring":       shoot("spring.rate=600 N/m"),
		"a stronger hop":        shoot("pellet.hop_force=2.5 N"),
	} {
		assert.Less(t, s.MuzzleVelocity, base.MuzzleVelocity, "%s costs velocity", name)
	}
}

// What the full physics says of parts that plain physics hardly knows.
func TestTrendsOfTheFullPhysics(t *testing.T) {
	shoot := func(overrides ...string) *flight.Summary {
		return &fly(t, build(t, "../reference/full/demo.yaml", overrides...), flight.Settings{ReleaseSpeed: 1.9}).Summary
	}
	base := shoot()
	light, heavy := shoot("spring.mass=6 g").MuzzleVelocity, shoot("spring.mass=24 g").MuzzleVelocity
	assert.Less(t, heavy, light-5, "a heavier spring of the same rate keeps more for itself: %.1f, %.1f m/s", heavy, light)
	assert.Less(t, shoot("barrel.wall_heat=1.5").MuzzleVelocity, base.MuzzleVelocity)
	assert.Greater(t, shoot("barrel.wall_heat=0.5").MuzzleVelocity, base.MuzzleVelocity, "a barrel that takes less heat")
	assert.Greater(t, shoot("cylinder.wall_heat=0").MuzzleVelocity, base.MuzzleVelocity)
	assert.Less(t, shoot("piston.seal_area=27 mm2").MuzzleVelocity, base.MuzzleVelocity, "a seal that grips")

	gain := func(air string) float64 {
		return shoot("barrel.length=500 mm", "barrel.air="+air).MuzzleVelocity - shoot("barrel.length=300 mm", "barrel.air="+air).MuzzleVelocity
	}
	assert.Less(t, gain("moving"), gain("still")-0.5, "longer barrels gain less than still air says")
}

// Definition: 1 J with 0.20 g is 100.000 m/s. 0.20 g at 350 ft/s: 1.13806 J.
func TestMuzzleEnergy(t *testing.T) {
	s := fly(t, build(t, ""), flight.Settings{}).Summary
	assert.InEpsilon(t, math.Pow(s.MuzzleVelocity/100, 2), s.MuzzleEnergy, 1e-12)
	assert.InEpsilon(t, 1.13806, s.MuzzleEnergy*math.Pow(350*quantity.Foot/s.MuzzleVelocity, 2), 5e-6)
}

func TestFaultsAreReported(t *testing.T) {
	b := *build(t, "")
	b.Barrel.Length = 0
	_, err := flight.Simulate(context.Background(), &b, flight.Settings{Tolerance: 1, ReleaseSpeed: math.NaN()})
	require.Error(t, err)
	for _, field := range []string{"barrel.length", "tolerance", "release_speed"} {
		assert.ErrorContains(t, err, field)
	}
}

func TestContextIsHonoured(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := flight.Simulate(ctx, build(t, ""), flight.Settings{})
	assert.ErrorIs(t, err, context.Canceled)
}

func TestResultsRepeat(t *testing.T) {
	b := build(t, "")
	one := fly(t, b, flight.Settings{ReleaseSpeed: 2})
	two := fly(t, b, flight.Settings{ReleaseSpeed: 2, Trace: true})
	two.Trace.Sample(50)
	first, second := figures(one), figures(two)
	for key, v := range first {
		assert.Equal(t, math.Float64bits(v), math.Float64bits(second[key]), "%s: keeping the course changes nothing", key)
	}
	assert.Nil(t, one.Trace)
	assert.Equal(t, one.Stats, two.Stats)
}

func TestTrace(t *testing.T) {
	b := build(t, "")
	r := fly(t, b, flight.Settings{ReleaseSpeed: 2.75, Trace: true})
	tr, s := r.Trace, &r.Summary
	at := map[flight.EventKind]float64{}
	last := 0.
	for _, e := range tr.Events {
		assert.GreaterOrEqual(t, e.Time, last, "in the order of time")
		last = e.Time
		if _, seen := at[e.Kind]; !seen {
			at[e.Kind] = e.Time
		}
	}
	order := []flight.EventKind{flight.Release, flight.Turn, flight.PortShuts, flight.PelletStarts, flight.HopEnds, flight.MuzzleExit, flight.Clear, flight.PistonArrives}
	for i, kind := range order {
		time, ok := at[kind]
		require.True(t, ok, "%v", kind)
		if i > 0 {
			assert.Greater(t, time, at[order[i-1]], "%v", kind)
		}
	}
	assert.Equal(t, s.TimeToMuzzle, at[flight.MuzzleExit])
	assert.Equal(t, s.Duration, tr.Duration())
	assert.Equal(t, s.Duration, at[flight.End])

	assert.InDelta(t, b.Cylinder.Port, tr.At(at[flight.PortShuts]).Travel, 1e-12)
	assert.InDelta(t, b.Pellet.HopLength, tr.At(at[flight.HopEnds]).PelletTravel, 1e-12)
	free := tr.Before(at[flight.PelletStarts])
	assert.InEpsilon(t, b.Pellet.HopForce+b.Pellet.BarrelDrag, (free.BarrelPressure-b.Ambient.Pressure)*b.Barrel.Area(), 1e-9)
	exit := tr.Before(s.TimeToMuzzle)
	assert.InEpsilon(t, s.MuzzleVelocity, exit.PelletSpeed, 1e-12)
	assert.InEpsilon(t, b.Barrel.Length, exit.PelletTravel, 1e-12)
	assert.True(t, math.IsNaN(tr.At(s.TimeToMuzzle).PelletTravel))
	assert.InEpsilon(t, -s.PistonImpact, tr.Before(at[flight.PistonArrives]).Speed, 1e-12)
	assert.InEpsilon(t, b.Piston.Clear, tr.At(s.TimeToHome).Travel, 1e-7, "the interpolant")
	assert.InEpsilon(t, s.MostRearward, tr.At(at[flight.Turn]).Travel, 1e-9)
	start := tr.At(0)
	assert.Equal(t, b.Ambient.Pressure, start.Pressure)
	assert.InEpsilon(t, b.Ambient.Temperature, start.Temperature, 1e-12)
	assert.Equal(t, 2.75, start.Speed)

	most, mostBarrel, time := 0., 0., -1.
	for _, p := range tr.Sample(20000) {
		assert.GreaterOrEqual(t, p.Time, time)
		time = p.Time
		most, mostBarrel = max(most, p.Pressure), max(mostBarrel, p.BarrelPressure)
		assert.InEpsilon(t, p.Pressure*(b.Cylinder.Area()*p.Travel+b.Cylinder.DeadVolume), p.Mass*flight.GasConstant*p.Temperature, 1e-12, "the gas law")
	}
	assert.InEpsilon(t, most, s.PeakPressure, 1e-7, "20,000 points come near")
	assert.InEpsilon(t, mostBarrel, s.PeakBarrelPressure, 1e-7)
	assert.LessOrEqual(t, most, s.PeakPressure*(1+1e-9))
	assert.LessOrEqual(t, mostBarrel, s.PeakBarrelPressure*(1+1e-9))
	assert.Equal(t, tr.At(s.Duration).Time, tr.At(1).Time, "behind the end is at the end")
}

// The port is open while travel + spacer exceeds it; a released piston that starts
// in front of it runs on behind it.
func TestPort(t *testing.T) {
	kinds := func(r *flight.Result) (all []flight.EventKind) {
		for _, e := range r.Trace.Events {
			all = append(all, e.Kind)
		}
		return all
	}
	b := build(t, "")
	stroke := b.Geometry().Stroke
	for _, c := range []struct {
		name  string
		port  float64
		speed float64
		opens bool
		shuts bool
	}{
		{"behind the port", stroke - 1e-3, 2, false, true},
		{"in front of it, runs on", stroke + 0.5e-3, 2, true, true},
		{"in front of it", stroke + 0.5e-3, 0, false, false},
		{"just at it, runs on", stroke, 2, false, true},
		{"just at it", stroke, 0, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := *b
			d.Cylinder.Port = c.port
			r := fly(t, &d, flight.Settings{ReleaseSpeed: c.speed, Trace: true})
			assert.Equal(t, flight.Done, r.Status)
			assert.Equal(t, c.opens, count(kinds(r), flight.PortOpens) == 1)
			assert.Equal(t, c.shuts, count(kinds(r), flight.PortShuts) == 1)
			shut := -1.
			for _, p := range r.Trace.Sample(500) {
				if p.Travel > c.port+1e-9 {
					shut = p.Time
				}
			}
			assert.Equal(t, c.shuts, shut > 0)
		})
	}
}

func count(all []flight.EventKind, kind flight.EventKind) (n int) {
	for _, k := range all {
		if k == kind {
			n++
		}
	}
	return n
}

// The number of allocations doesn't depend on the number of steps.
func TestNoAllocationInTheLoop(t *testing.T) {
	b := build(t, "")
	allocations := func(tolerance float64) float64 {
		return testing.AllocsPerRun(5, func() {
			_, err := flight.Simulate(context.Background(), b, flight.Settings{Tolerance: tolerance})
			require.NoError(t, err)
		})
	}
	assert.InDelta(t, allocations(1e-3), allocations(1e-7), 20, "one in each step would show as some 1,800; under the race detector a few come and go")
}

// The end is met whether its event lands on or behind zero.
func TestEndIsMet(t *testing.T) {
	b := build(t, "", "pellet.hop_force=1 N", "cylinder.nozzle=0.3 mm", "cylinder.dead_volume=3 cm3", "spring.preload=80 mm")
	for tolerance := 1e-4; tolerance > 1e-8; tolerance /= 1.7 {
		r := fly(t, b, flight.Settings{ReleaseSpeed: 3, Tolerance: tolerance})
		assert.Equal(t, flight.PelletStuck, r.Status)
		assert.Less(t, r.Summary.Duration, 0.1, "at %g", tolerance)
	}
}

// A piston that bounces: figures are those of the first arrival and of the last
// passing of the clearance.
func TestBounces(t *testing.T) {
	r := fly(t, build(t, "", "pellet.hop_force=0 N", "pellet.barrel_drag=2 N", "barrel.length=2 m", "spring.rate=1500 N/m"), flight.Settings{Trace: true})
	var arrivals, clear []float64
	lost := 0.
	for _, e := range r.Trace.Events {
		switch e.Kind {
		case flight.PistonArrives:
			v := r.Trace.Before(e.Time).Speed
			arrivals = append(arrivals, v)
			lost += r.Build.Geometry().MovingMass * v * v / 2
		case flight.Clear:
			clear = append(clear, e.Time)
		}
	}
	require.Greater(t, len(arrivals), 1)
	require.Greater(t, len(clear), 1)
	assert.InEpsilon(t, -arrivals[0], r.Summary.PistonImpact, 1e-12)
	assert.Equal(t, clear[len(clear)-1], r.Summary.TimeToHome)
	assert.InEpsilon(t, lost, r.Ledger.Impact, 1e-9)
}

// A piston that passes the clearance and is thrown back for good is not home.
func TestThrownBack(t *testing.T) {
	r := fly(t, build(t, "", "pellet.hop_force=300 N", "cylinder.seal_leak=0 mm2", "barrel.clearance_discharge=0", "cylinder.port=80 mm", "cylinder.dead_volume=8 cm3", "piston.mass=300 g"), flight.Settings{Trace: true, ReleaseSpeed: 3, Tolerance: 1e-5})
	assert.Equal(t, flight.PistonHeld, r.Status)
	passed := false
	for _, e := range r.Trace.Events {
		passed = passed || e.Kind == flight.Clear
	}
	assert.True(t, passed)
	assert.True(t, math.IsNaN(r.Summary.TimeToHome))
}

// Behind a narrow nozzle, air that a seated piston has pushed together still frees
// the pellet, also with little in hand.
func TestPelletFreedAfterwards(t *testing.T) {
	for _, c := range []struct {
		hop  string
		want flight.Status
	}{{"0.89 N", flight.Done}, {"0.92 N", flight.PelletStuck}} {
		r := fly(t, build(t, "", "sector.engaged_angle=240 deg", "pellet.hop_force="+c.hop, "pellet.hop_length=1 mm", "barrel.length=20 mm", "cylinder.nozzle=0.3 mm",
			"cylinder.dead_volume=3 cm3", "barrel.breech_volume=5 cm3", "barrel.clearance_discharge=0", "spring.preload=80 mm"),
			flight.Settings{Trace: true, Tolerance: 1e-6})
		home, freed := 0., 0.
		for _, e := range r.Trace.Events {
			switch e.Kind {
			case flight.PistonArrives:
				home = e.Time
			case flight.PelletStarts:
				freed = e.Time
			}
		}
		assert.Positive(t, home)
		assert.Greater(t, freed, home)
		assert.Equal(t, c.want, r.Status)
	}
}
