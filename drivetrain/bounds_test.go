package drivetrain_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity/quantitytest"
)

const degree = math.Pi / 180 // [rad]

// whole is a sound build with every part.
func whole() drivetrain.Build {
	b := *buildfile.Demo()
	b.Pads = []float64{1e-3, 2e-3}
	b.Tappet = &drivetrain.Tappet{From: 1, To: 2, Work: 0.05}
	return b
}

func TestGearsBounds(t *testing.T) {
	type G = drivetrain.Gears
	p := quantitytest.Part[G]{T: t, New: func() G { return drivetrain.NewGears(10) }, Validate: (*G).Validate}
	p.Bounds("ratio", func(g *G) *float64 { return &g.Ratio }, 0.1, 1000)
	p.Bounds("efficiency", func(g *G) *float64 { return &g.Efficiency }, 0.01, 1)
	p.Bounds("inertia", func(g *G) *float64 { return &g.Inertia }, 0, 0.1)
	p.Bounds("churning", func(g *G) *float64 { return &g.Churning }, 0, 10)
	p.New = func() G {
		g := drivetrain.NewGears(0)
		g.Teeth = &drivetrain.GearTeeth{Pinion: 10, Bevel: 20, BevelPinion: 12, Spur: 30, SpurPinion: 14, Sector: 30}
		return g
	}
	p.Counts("teeth.pinion", func(g *G) *int { return &g.Teeth.Pinion }, 3, 1000)
	p.Counts("teeth.bevel", func(g *G) *int { return &g.Teeth.Bevel }, 3, 1000)
	p.Counts("teeth.bevel_pinion", func(g *G) *int { return &g.Teeth.BevelPinion }, 3, 1000)
	p.Counts("teeth.spur", func(g *G) *int { return &g.Teeth.Spur }, 3, 1000)
	p.Counts("teeth.spur_pinion", func(g *G) *int { return &g.Teeth.SpurPinion }, 3, 1000)
	p.Counts("teeth.sector", func(g *G) *int { return &g.Teeth.Sector }, 3, 1000)
	p.Wrong("ratio", func(g *G) { g.Ratio = 10 })
	// A ratio of a thousand and of a tenth, and next to them.
	teeth := func(n ...int) func(*G) {
		return func(g *G) { g.Teeth = &drivetrain.GearTeeth{n[0], n[1], n[2], n[3], n[4], n[5]} }
	}
	p.Wrong("", teeth(10, 100, 10, 100, 10, 100))
	p.Wrong("teeth", teeth(10, 100, 10, 100, 10, 101))
	p.Wrong("", teeth(100, 10, 10, 10, 10, 10))
	p.Wrong("teeth", teeth(101, 10, 10, 10, 10, 10))
}

func TestPartsBounds(t *testing.T) {
	type B = drivetrain.Build
	p := quantitytest.Part[B]{T: t, New: whole, Validate: (*B).Validate}
	p.Bounds("sector.module", func(b *B) *float64 { return &b.Sector.Module }, 0.05e-3, 20e-3)
	p.Bounds("sector.pressure_angle", func(b *B) *float64 { return &b.Sector.PressureAngle }, 10*degree, 35*degree)
	p.Bounds("sector.face_width", func(b *B) *float64 { return &b.Sector.FaceWidth }, 0.1e-3, 0.2)
	p.Bounds("piston.mass", func(b *B) *float64 { return &b.Piston.Mass }, 0.1e-3, 10)
	p.Bounds("piston.drag", func(b *B) *float64 { return &b.Piston.Drag }, 0, 1000)
	p.Bounds("spring.rate", func(b *B) *float64 { return &b.Spring.Rate }, 1e-6, 1e7)
	p.Bounds("spring.preload", func(b *B) *float64 { return &b.Spring.Preload }, 0, 2)
	p.Bounds("spring.mass", func(b *B) *float64 { return &b.Spring.Mass }, 0, 10)
	p.Bounds("cylinder.dead_volume", func(b *B) *float64 { return &b.Cylinder.DeadVolume }, 1e-9, 1e-2)
	p.Bounds("cylinder.port", func(b *B) *float64 { return &b.Cylinder.Port }, 0.1e-3, 1)
	p.Bounds("cylinder.port_area", func(b *B) *float64 { return &b.Cylinder.PortArea }, 1e-9, 0.01)
	p.Bounds("cylinder.discharge", func(b *B) *float64 { return &b.Cylinder.Discharge }, 0.01, 1)
	p.Bounds("cylinder.seal_leak", func(b *B) *float64 { return &b.Cylinder.SealLeak }, 0, 1e-3)
	p.Bounds("barrel.length", func(b *B) *float64 { return &b.Barrel.Length }, 1e-3, 3)
	p.Bounds("barrel.breech_volume", func(b *B) *float64 { return &b.Barrel.BreechVolume }, 1e-10, 1e-3)
	p.Bounds("barrel.clearance_discharge", func(b *B) *float64 { return &b.Barrel.ClearanceDischarge }, 0, 1)
	p.Bounds("pellet.mass", func(b *B) *float64 { return &b.Pellet.Mass }, 0.01e-3, 0.1)
	p.Bounds("pellet.hop_force", func(b *B) *float64 { return &b.Pellet.HopForce }, 0, 1000)
	p.Bounds("pellet.hop_length", func(b *B) *float64 { return &b.Pellet.HopLength }, 0, 1)
	p.Bounds("pellet.barrel_drag", func(b *B) *float64 { return &b.Pellet.BarrelDrag }, 0, 1000)
	p.Bounds("tappet.from", func(b *B) *float64 { return &b.Tappet.From }, 0, 360*degree)
	p.Bounds("tappet.to", func(b *B) *float64 { return &b.Tappet.To }, 1+1e-12, 360*degree)
	p.Bounds("tappet.work", func(b *B) *float64 { return &b.Tappet.Work }, 0, 100)
	p.Bounds("trigger.cutoff", func(b *B) *float64 { return &b.Trigger.Cutoff }, 0, 360*degree)
	p.Counts("trigger.rounds", func(b *B) *int { return &b.Trigger.Rounds }, 0, 1000)
	p.Bounds("ambient.temperature", func(b *B) *float64 { return &b.Ambient.Temperature }, 273.15-60, 273.15+80)
	p.Bounds("ambient.pressure", func(b *B) *float64 { return &b.Ambient.Pressure }, 20e3, 200e3)
	p.Bounds("rack.pickup_offset", func(b *B) *float64 { return b.Rack.PickupOffset }, -0.1, 0.1)
	p.Bounds("rack.modulus", func(b *B) *float64 { return &b.Rack.Modulus }, 1e8, 1e12)
	p.Bounds("rack.strength", func(b *B) *float64 { return &b.Rack.Strength }, 1e6, 1e10)
	p.Bounds("rack.face_width", func(b *B) *float64 { return &b.Rack.FaceWidth }, 0.1e-3, 0.2)
	p.Bounds("rack.tip_clearance", func(b *B) *float64 { return &b.Rack.TipClearance }, 0, 0.02)
	p.Bounds("rack.backlash", func(b *B) *float64 { return &b.Rack.Backlash }, 0, 5e-3)
	p.Bounds("rack.body_stiffness", func(b *B) *float64 { return &b.Rack.BodyStiffness }, 1, 1e12)
	p.Bounds("piston.drag_pull", func(b *B) *float64 { return &b.Piston.DragPull }, 0, 1000)
	p.Bounds("piston.seal_area", func(b *B) *float64 { return &b.Piston.SealArea }, 0, 0.01)
	p.Bounds("cylinder.wall_heat", func(b *B) *float64 { return &b.Cylinder.WallHeat }, 0, drivetrain.MostCylinderHeat)
	p.Bounds("barrel.wall_heat", func(b *B) *float64 { return &b.Barrel.WallHeat }, 0, drivetrain.MostBarrelHeat)
	p.Wrong("barrel.air", func(b *B) { b.Barrel.Air = "blowing" })
	p.Bounds("pads.1", func(b *B) *float64 { return &b.Pads[1] }, 1e-6, 0.1)

	p.New = func() B {
		b := whole()
		b.Spring = drivetrain.Spring{Wire: 1.4e-3, CoilDiameter: 0.1, Coils: 34, Modulus: drivetrain.MusicWireModulus, FreeLength: 2, InstalledLength: 1e-3}
		return b
	}
	p.Bounds("spring.wire", func(b *B) *float64 { return &b.Spring.Wire }, 0.05e-3, 20e-3)
	p.Bounds("spring.coil_diameter", func(b *B) *float64 { return &b.Spring.CoilDiameter }, 1.4e-3*(1+1e-12), 0.5)
	p.Bounds("spring.coils", func(b *B) *float64 { return &b.Spring.Coils }, 0.5, 1000)
	p.Bounds("spring.modulus", func(b *B) *float64 { return &b.Spring.Modulus }, 1e9, 1e12)
	p.Bounds("spring.free_length", func(b *B) *float64 { return &b.Spring.FreeLength }, 1e-3, 2)
	p.Bounds("spring.installed_length", func(b *B) *float64 { return &b.Spring.InstalledLength }, 1e-3, 2)
}

// Sector and rack by themselves: together their teeth have narrower bounds.
func TestToothBounds(t *testing.T) {
	type S = drivetrain.Sector
	s := quantitytest.Part[S]{T: t, New: func() S { return drivetrain.NewSector(1e-3, 16, 24) }, Validate: (*S).Validate}
	s.Bounds("addendum", func(s *S) *float64 { return &s.Addendum }, 0.2, 2)
	type R = drivetrain.Rack
	r := quantitytest.Part[R]{T: t, New: func() R {
		sector := drivetrain.NewSector(1e-3, 16, 24)
		r := drivetrain.NewRack(&sector)
		r.TakenDown = []drivetrain.TakenDown{{Tooth: 2, Depth: 1e-3}}
		return r
	}, Validate: (*R).Validate}
	r.Bounds("addendum", func(r *R) *float64 { return &r.Addendum }, 0.01e-3, 0.05)
	r.Bounds("lift", func(r *R) *float64 { return &r.Lift }, -0.02, 0.02)
	r.Bounds("taken_down.0.depth", func(r *R) *float64 { return &r.TakenDown[0].Depth }, 0, 0.05)
	r.Counts("taken_down.0.tooth", func(r *R) *int { return &r.TakenDown[0].Tooth }, 1, 1000)
	r.Counts("teeth", func(r *R) *int { return &r.Teeth }, 1, 1000)
}

// Teeth that can't work together are faults of the build, at the bound and next to it.
func TestTeethThatCannotWork(t *testing.T) {
	type B = drivetrain.Build
	p := quantitytest.Part[B]{T: t, New: whole, Validate: (*B).Validate}
	const more, less = 1 + 1e-9, 1 - 1e-9
	p.Wrong("", func(b *B) { b.Rack.Teeth = 15 })
	p.Wrong("rack.teeth", func(b *B) { b.Rack.Teeth = 14 })
	p.Wrong("", func(b *B) { b.Rack.Lift = -b.Rack.TipClearance; b.Rack.Backlash = 0.5e-3 })
	p.Wrong("rack.lift", func(b *B) { b.Rack.Lift = -b.Rack.TipClearance * more; b.Rack.Backlash = 0.5e-3 })
	play := func(b *B) float64 { return -b.Rack.Backlash / (2 * math.Tan(b.Sector.PressureAngle)) }
	p.Wrong("", func(b *B) { b.Rack.Lift = play(b) * less })
	p.Wrong("rack.lift", func(b *B) { b.Rack.Lift = play(b) * more })
	pointed := func(b *B) float64 { return b.Teeth().Thickness / (2 * math.Tan(b.Sector.PressureAngle)) }
	down := func(b *B) { b.Rack.TakenDown = nil; b.Sector.PressureAngle, b.Sector.Addendum = 28*degree, 0.8 }
	p.Wrong("", func(b *B) { down(b); b.Rack.Addendum = pointed(b) * less })
	p.Wrong("rack.addendum", func(b *B) { down(b); b.Rack.Addendum = pointed(b) * more })
	p.Wrong("sector.addendum", func(b *B) { b.Sector.Addendum = 1.8 })
	undercut := func(b *B) float64 { s := math.Sin(b.Sector.PressureAngle); return b.Sector.PitchRadius() * s * s }
	p.Wrong("", func(b *B) { b.Rack.TakenDown, b.Rack.Addendum = nil, undercut(b)*less })
	p.Wrong("rack.addendum", func(b *B) { b.Rack.TakenDown, b.Rack.Addendum = nil, undercut(b)*more })
	p.Wrong("", func(b *B) { b.Rack.TakenDown = []drivetrain.TakenDown{{Tooth: 15, Depth: 2e-3 * less}} })
	p.Wrong("rack.taken_down.0.depth", func(b *B) { b.Rack.TakenDown = []drivetrain.TakenDown{{Tooth: 15, Depth: 2e-3 * more}} })
	p.Wrong("", func(b *B) { b.Rack.TakenDown = []drivetrain.TakenDown{{Tooth: 14, Depth: 2e-3 * more}} })
	p.Wrong("rack.taken_down.0.depth", func(b *B) { b.Rack.TakenDown = []drivetrain.TakenDown{{Tooth: 1, Depth: 2e-3 * more}} })
	p.Wrong("rack.taken_down.0.depth", func(b *B) { b.Rack.TakenDown = []drivetrain.TakenDown{{Tooth: 3, Depth: 2.26e-3}} })
	p.Wrong("rack.taken_down.0.tooth", func(b *B) { b.Rack.TakenDown = []drivetrain.TakenDown{{Tooth: 17, Depth: 1e-3}} })
	p.Wrong("rack.taken_down.1.tooth", func(b *B) {
		b.Rack.TakenDown = []drivetrain.TakenDown{{Tooth: 3, Depth: 1e-3}, {Tooth: 3, Depth: 1e-3}}
	})
	few := func(b *B) { b.Rack, b.Sector.Module, b.Sector.Teeth, b.Sector.FullTeeth = nil, 1.5e-3, 10, 16 }
	p.Wrong("rack.addendum", few) // of 16 teeth in all, a standard rack undercuts the sector
	p.Wrong("", func(b *B) { few(b); b.Sector.EngagedAngle = 4 })
	p.Wrong("sector.teeth", func(b *B) { b.Rack, b.Sector.Lobes, b.Trigger.Cutoff, b.Tappet = nil, 2, math.Pi, nil })
	p.Wrong("sector.engaged_angle", func(b *B) { b.Sector.EngagedAngle = 2 * math.Pi })
}

// Bores and the like, each of which a neighbour bounds as well, in a build that leaves
// them room.
func TestWidthsBounds(t *testing.T) {
	type C = drivetrain.Cylinder
	p := quantitytest.Part[C]{T: t, New: func() C {
		c := drivetrain.NewCylinder(0.5)
		c.Nozzle = 0.1e-3
		return c
	}, Validate: (*C).Validate}
	p.Bounds("bore", func(c *C) *float64 { return &c.Bore }, 1e-3, 0.5)
	p.Bounds("nozzle", func(c *C) *float64 { return &c.Nozzle }, 0.1e-3, 0.1)
	p.Wrong("", func(c *C) { c.Bore, c.Nozzle = 5e-3, 5e-3 })
	p.Wrong("nozzle", func(c *C) { c.Bore, c.Nozzle = 5e-3, 5e-3*(1+1e-12) })

	type A = drivetrain.Barrel
	a := quantitytest.Part[A]{T: t, New: func() A { return drivetrain.NewBarrel(6e-3, 0.4) }, Validate: (*A).Validate}
	a.Bounds("bore", func(b *A) *float64 { return &b.Bore }, 1e-3, 0.1)
	type L = drivetrain.Pellet
	l := quantitytest.Part[L]{T: t, New: func() L { return drivetrain.NewPellet(0.2e-3) }, Validate: (*L).Validate}
	l.Bounds("diameter", func(p *L) *float64 { return &p.Diameter }, 1e-3, 0.1)
	type P = drivetrain.Piston
	q := quantitytest.Part[P]{T: t, New: func() P { return drivetrain.NewPiston(26e-3) }, Validate: (*P).Validate}
	q.Bounds("clear", func(p *P) *float64 { return &p.Clear }, 1e-6, 0.2)
	q.Bounds("spacer", func(p *P) *float64 { return &p.Spacer }, 0, 0.1)
	type R = drivetrain.Trigger
	r := quantitytest.Part[R]{T: t, New: func() R { return drivetrain.Trigger{Mode: drivetrain.Single} }, Validate: (*R).Validate}
	r.Bounds("start", func(r *R) *float64 { return &r.Start }, 0, 360*degree)
	r.Wrong("mode", func(r *R) { r.Mode = "both" })
	type S = drivetrain.Sector
	s := quantitytest.Part[S]{T: t, New: func() S { return drivetrain.NewSector(1e-3, 1, 1000) }, Validate: (*S).Validate}
	s.Counts("teeth", func(s *S) *int { return &s.Teeth }, 1, 1000)
	s.Counts("full_teeth", func(s *S) *int { return &s.FullTeeth }, 4, 1000)
	s.Counts("lobes", func(s *S) *int { return &s.Lobes }, 1, 20)
	s.Wrong("removed", func(s *S) { s.Removed = -1 })
	s.Wrong("removed", func(s *S) { s.Teeth, s.Removed = 16, 16 })
	s.Wrong("", func(s *S) { s.Teeth, s.Removed = 16, 15 })
	s.Bounds("engaged_angle", func(s *S) *float64 { return &s.EngagedAngle }, 1*degree, 360*degree*(1-1e-12))
}

// What only several sound parts can have wrong, at the bound and next to it.
func TestBuildBounds(t *testing.T) {
	type B = drivetrain.Build
	p := quantitytest.Part[B]{T: t, New: whole, Validate: (*B).Validate}
	const more, less = 1 + 1e-9, 1 - 1e-9
	p.Wrong("", func(*B) {})
	p.Wrong("", func(b *B) { b.Cylinder.Bore, b.Cylinder.Nozzle = b.Barrel.Bore, 4e-3 })
	p.Wrong("barrel.bore", func(b *B) { b.Cylinder.Bore, b.Cylinder.Nozzle = b.Barrel.Bore*less, 4e-3 })
	p.Wrong("", func(b *B) { b.Pellet.Diameter = b.Barrel.Bore * less })
	p.Wrong("pellet.diameter", func(b *B) { b.Pellet.Diameter = b.Barrel.Bore })
	stroke := func(b *B) float64 { return b.Geometry().Stroke }
	p.Wrong("", func(b *B) { b.Piston.Clear = stroke(b) * less })
	p.Wrong("piston.clear", func(b *B) { b.Piston.Clear = stroke(b) })
	p.Wrong("", func(b *B) { b.Piston.Spacer = b.Cylinder.Port * less })
	p.Wrong("piston.spacer", func(b *B) { b.Piston.Spacer = b.Cylinder.Port })
	p.Wrong("", func(b *B) { b.Cylinder.Port, b.Piston.Spacer, b.Piston.Clear = 0, stroke(b)-1e-4, 1e-5 })
	p.Wrong("piston.spacer", func(b *B) { b.Cylinder.Port, b.Piston.Spacer = 0, stroke(b)*more })
	pull := func(b *B) float64 { return b.ReleaseAngle() - b.Piston.Spacer/b.Sector.PitchRadius() }
	p.Wrong("", func(b *B) { b.Piston.Spacer = 2e-3; b.Trigger.Start = pull(b) * less })
	p.Wrong("trigger.start", func(b *B) { b.Piston.Spacer = 2e-3; b.Trigger.Start = pull(b) })
	lobes := func(b *B) { b.Sector.Lobes, b.Sector.Teeth, b.Rack, b.Trigger.Cutoff = 2, 10, nil, math.Pi }
	p.Wrong("", func(b *B) { lobes(b); b.Tappet.To = math.Pi })
	p.Wrong("tappet.to", func(b *B) { lobes(b); b.Tappet.To = math.Pi * more })
	p.Wrong("", func(b *B) { lobes(b); b.Trigger.Mode = drivetrain.Single })
	p.Wrong("trigger.cutoff", func(b *B) { lobes(b); b.Trigger.Mode, b.Trigger.Cutoff = drivetrain.Single, math.Pi*more })
	p.Wrong("", func(b *B) { lobes(b); b.Trigger.Cutoff = math.Pi * more })
	warm := func(kelvin float64) func(*B) {
		return func(b *B) { b.Motor.Stator.Magnet.CoercivityDrift, b.Ambient.Temperature = -0.02, kelvin }
	}
	p.Wrong("", warm(293.15+47.49))
	p.Wrong("motor.stator.magnet.coercivity_drift", warm(293.15+47.51))
}

// What is commonly assumed, as the constructors' docs have it.
func TestDefaults(t *testing.T) {
	assert.Equal(t, drivetrain.Piston{Mass: 26e-3, Drag: 5, DragPull: 5, Clear: 2.5e-3}, drivetrain.NewPiston(26e-3))
	assert.Equal(t, drivetrain.Cylinder{Bore: 24e-3, DeadVolume: 1e-6, PortArea: 20e-6, Nozzle: 4.8e-3, Discharge: 0.8, SealLeak: 0.05e-6, WallHeat: 1}, drivetrain.NewCylinder(24e-3))
	assert.Equal(t, drivetrain.Barrel{Bore: 6e-3, Length: 0.4, BreechVolume: 0.25e-6, ClearanceDischarge: 0.8, Air: drivetrain.MovingAir, WallHeat: 1}, drivetrain.NewBarrel(6e-3, 0.4))
	assert.Equal(t, drivetrain.Pellet{Mass: 0.2e-3, Diameter: 5.95e-3, HopForce: 1, HopLength: 10e-3, BarrelDrag: 0.02}, drivetrain.NewPellet(0.2e-3))
	assert.Equal(t, drivetrain.Gears{Ratio: 10, Efficiency: 0.8, Inertia: 30e-7}, drivetrain.NewGears(10))
	assert.Equal(t, drivetrain.Ambient{Temperature: 293.15, Pressure: 101325}, drivetrain.StandardAmbient())
	s := drivetrain.NewSector(1e-3, 16, 24)
	assert.Equal(t, drivetrain.Sector{Module: 1e-3, Teeth: 16, FullTeeth: 24, Lobes: 1, PressureAngle: 20 * degree, Addendum: 1, FaceWidth: 5.5e-3}, s)
	b := drivetrain.Build{Sector: s}
	assert.InDelta(t, b.ReleaseAngle()+10*degree, drivetrain.DefaultCutoff(&b), 1e-12)
	b.Sector.EngagedAngle = 355 * degree
	assert.Equal(t, 2*math.Pi, drivetrain.DefaultCutoff(&b), "not behind the lobe's end")
	r := drivetrain.NewRack(&s)
	require.NoError(t, r.Validate())
	assert.Equal(t, drivetrain.Rack{Teeth: 16, Material: "polymer", Modulus: 2.8e9, Strength: 65e6, FaceWidth: 5.5e-3, Addendum: 1e-3, TipClearance: 0.25e-3, Backlash: 0.1e-3, BodyStiffness: 2e6}, r)
	assert.Equal(t, 18e-3, drivetrain.DefaultSpringMass)
}
