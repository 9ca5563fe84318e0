package drivetrain_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain"
)

// Wentzell Ex 11.1: a train 20→60→20→60 from 3600 rpm and 200 lb·in gives
// 400 rpm and 1800 lb·in, power conserved.
func TestGearTrain(t *testing.T) {
	teeth := drivetrain.GearTeeth{Pinion: 20, Bevel: 60, BevelPinion: 20, Spur: 60, SpurPinion: 20, Sector: 20}
	ratio := teeth.Ratio()
	assert.InEpsilon(t, 400, 3600/ratio, 1e-9)
	assert.InEpsilon(t, 1800, 200*ratio, 1e-9)
	g := drivetrain.Gears{Teeth: &teeth, Efficiency: 1}
	assert.Equal(t, ratio, g.MotorTurns())
	assert.NoError(t, g.Validate())
	g.Ratio = 9
	assert.ErrorContains(t, g.Validate(), "ratio:")
}

func TestHelicalRate(t *testing.T) {
	const (
		inch       = 25.4e-3
		psi        = 6894.757
		lbfPerInch = 175.1268
	)
	for _, c := range []struct {
		name      string
		got, want float64
		tol       float64
		reason    string
	}{
		{"music wire", drivetrain.HelicalRate(0.037*inch, 0.400*inch, 10.5, 11.85e6*psi), 723.47, 5e-3, "Shigley 10e Ex 10-1"},
		{"quarter inch", drivetrain.HelicalRate(0.250*inch, 1.69*inch, 13, 11.5e6*psi) / lbfPerInch, 89.488, 1e-3, "spring-design handbook §7.13.1"},
		{"3 mm", drivetrain.HelicalRate(3e-3, 18e-3, 15, 84e9) / 1e3, 9.722, 5e-4, "Sadhu Singh Ex 8.3"},
	} {
		t.Run(c.name, func(t *testing.T) { assert.InEpsilon(t, c.want, c.got, c.tol, c.reason) })
	}
}

func TestSpringEitherWay(t *testing.T) {
	s := drivetrain.Spring{Wire: 1.3e-3, CoilDiameter: 11.8e-3, Coils: 34, Modulus: drivetrain.MusicWireModulus, FreeLength: 0.150, InstalledLength: 0.108, Mass: 0.015}
	assert.NoError(t, s.Validate())
	assert.InDelta(t, 0.042, s.Compression(), 1e-12)
	assert.InDelta(t, 36*1.3e-3, s.SolidLength(), 1e-12)
	given := drivetrain.Spring{Rate: s.ForcePerTravel(), Preload: s.Compression(), Mass: 0.015}
	assert.NoError(t, given.Validate())
	assert.Equal(t, s.ForcePerTravel(), given.ForcePerTravel())
	assert.True(t, math.IsNaN(given.SolidLength()))

	s.Rate = 600
	assert.ErrorContains(t, s.Validate(), "rate:")
	s.Rate, s.InstalledLength = 0, 0.2
	assert.ErrorContains(t, s.Validate(), "exceeds the free length 150 mm")
}

func build() drivetrain.Build {
	b := drivetrain.Build{
		Gears:  drivetrain.Gears{Ratio: 10, Efficiency: 0.8, Inertia: 30e-7},
		Sector: drivetrain.NewSector(1e-3, 16, 24),
		Piston: drivetrain.Piston{Mass: 26e-3, Drag: 5, Clear: 2.5e-3},
		Spring: drivetrain.Spring{Rate: 680, Preload: 45e-3, Mass: 18e-3},
	}
	b.Motor.Armature.Inertia = 12e-7
	return b
}

func TestGeometry(t *testing.T) {
	b := build()
	g := b.Geometry()
	assert.InDelta(t, 12e-3, g.PitchRadius, 1e-15)
	// D2 with 16 of 24 teeth of 1 mm met flush: the tips of 13 mm and the tip line at
	// 11 mm meet √48 mm behind the line of centres.
	const release = (15*math.Pi + 6.928203230275509 - 0.36397023426620234) / 12
	assert.InDelta(t, release, g.Release, 1e-14)
	assert.InDelta(t, 2*math.Pi, g.Lobe, 1e-15)
	assert.InDelta(t, 12e-3*g.Release, g.Stroke, 1e-15)
	assert.InDelta(t, 32e-3, g.MovingMass, 1e-15)
	assert.InDelta(t, 12e-7+30e-9, g.FreeInertia, 1e-15)
	assert.InDelta(t, g.FreeInertia+32e-3*1.44e-6, g.PullInertia, 1e-15)
	assert.InDelta(t, 680*0.045, g.SpringForce(0), 1e-12)

	spaced := build()
	spaced.Piston.Spacer = 2e-3
	s := spaced.Geometry()
	assert.InDelta(t, g.Stroke, s.Stroke, 1e-15, "a rack that wasn't measured is met flush, whatever the spacer")
	assert.InDelta(t, 2e-3/12e-3, s.Pickup, 1e-15)
	assert.InDelta(t, 0, s.Travel(s.Pickup), 1e-15)
	assert.InDelta(t, s.Stroke, s.Travel(s.Release), 1e-15)

	early := 2.6e-3
	ahead := build()
	rack := drivetrain.NewRack(&ahead.Sector)
	rack.PickupOffset = &early
	ahead.Rack = &rack
	a := ahead.Geometry()
	assert.InDelta(t, g.Stroke+2.6e-3, a.Stroke, 1e-15, "met earlier, it is pulled farther")
	ahead.Piston.Spacer = 2e-3
	s = ahead.Geometry()
	assert.InDelta(t, a.SpringForce(a.Stroke), s.SpringForce(s.Stroke), 1e-12, "D9: a spacer leaves the greatest force as it is")
	assert.InDelta(t, a.Stroke-2e-3, s.Stroke, 1e-15)

	removed := build()
	removed.Sector.Removed = 2
	assert.InDelta(t, release-2*math.Pi/12, removed.ReleaseAngle(), 1e-14)
	measured := build()
	measured.Sector.EngagedAngle = 4
	assert.Equal(t, 4., measured.ReleaseAngle())
	assert.InDelta(t, release, measured.ReleaseAngleByTeeth(), 1e-14)
	assert.InDelta(t, 48e-3, measured.Geometry().Stroke, 1e-15)
}

// What the release tooth has lost, the sector's reach loses: the rack is let go
// earlier.
func TestReleaseFollowsTheLastTooth(t *testing.T) {
	b := build()
	rack := drivetrain.NewRack(&b.Sector)
	b.Rack = &rack
	whole := b.ReleaseAngle()
	rack.TakenDown = []drivetrain.TakenDown{{Tooth: 3, Depth: 1e-3}}
	assert.Equal(t, whole, b.ReleaseAngle(), "any other tooth is nothing to it")
	rack.TakenDown = []drivetrain.TakenDown{{Tooth: 16, Depth: 1e-3}}
	// Its tip line is the pitch line: 5 mm behind, by 13² = 12² + 5².
	assert.InDelta(t, (15*math.Pi+5)/12, b.ReleaseAngle(), 1e-14)
	rack.TakenDown[0].Depth = 2.1e-3
	assert.True(t, math.IsNaN(b.ReleaseAngle()), "out of the sector's reach")
}

func TestSweptVolume(t *testing.T) {
	b := build()
	b.Cylinder.Bore = 24e-3
	area := math.Pi / 4 * 24e-3 * 24e-3
	assert.InEpsilon(t, area*b.Geometry().Stroke, b.SweptVolume(), 1e-12, "no port")
	b.Cylinder.Port = 36e-3
	assert.InEpsilon(t, area*36e-3, b.SweptVolume(), 1e-12)
	b.Piston.Spacer = 1e-3
	assert.InEpsilon(t, area*35e-3, b.SweptVolume(), 1e-12, "the spacer moves the piston towards the port")
}

func TestSectorFaults(t *testing.T) {
	for text, change := range map[string]func(*drivetrain.Sector){
		"none is left to pull":             func(s *drivetrain.Sector) { s.Removed = 16 },
		"teeth: 0 is out of range":         func(s *drivetrain.Sector) { s.Teeth = 0 },
		"module: NaN mm is out of range":   func(s *drivetrain.Sector) { s.Module = math.NaN() },
		"full_teeth: -24 is out of range":  func(s *drivetrain.Sector) { s.FullTeeth = -24 },
		"pressure_angle: 90 deg is out of": func(s *drivetrain.Sector) { s.PressureAngle = math.Pi / 2 },
	} {
		s := drivetrain.NewSector(1e-3, 16, 24)
		assert.NoError(t, s.Validate())
		change(&s)
		assert.ErrorContains(t, s.Validate(), text)
	}
}

func TestTappetTorque(t *testing.T) {
	tappet := drivetrain.Tappet{From: 1, To: 2, Work: 0.05}
	assert.NoError(t, tappet.Validate())
	assert.InEpsilon(t, 0.05, tappet.Torque(24)*24*(tappet.To-tappet.From), 1e-12, "D4: the torque does the work over the angle")
	tappet.To = 1
	assert.ErrorContains(t, tappet.Validate(), "wanted from < to")
}

func ExampleBuild_Geometry() {
	b := build()
	g := b.Geometry()
	fmt.Printf("stroke %.1f mm, %.1f N at release\n", 1e3*g.Stroke, g.SpringForce(g.Stroke))
	// Output: stroke 53.7 mm, 67.1 N at release
}

// A spring of music wire between two fixed ends first swings at d/(2πD²n)·√(G/2ρ), which
// is half of √(k/ms). Source: Wahl, Mechanical Springs; Shigley (from memory); values
// recomputed.
func TestFirstSurge(t *testing.T) {
	const d, D, n, G, density = 1.42e-3, 12e-3, 33, 79.3e9, 7850
	s := drivetrain.Spring{Wire: d, CoilDiameter: D, Coils: n, Modulus: G}
	s.Mass = density * math.Pi / 4 * d * d * math.Pi * D * n
	assert.InEpsilon(t, 706.77129, s.ForcePerTravel(), 1e-7)
	assert.InEpsilon(t, 15.466116e-3, s.Mass, 1e-7)
	impedance, delay := s.Line()
	assert.InEpsilon(t, 106.885505, 1/delay, 1e-7, "there and back in a period")
	assert.InEpsilon(t, d/(2*math.Pi*D*D*n)*math.Sqrt(G/(2*density)), 1/delay, 1e-12)
	assert.InEpsilon(t, 2*s.Mass/impedance, delay, 1e-12)
}
