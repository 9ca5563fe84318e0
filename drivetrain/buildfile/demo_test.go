package buildfile_test

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/motor"
)

const builds = "../../testdata/builds"

// rounding is one rounding to the nearest float64, relative.
const rounding = 1.2e-16

// near takes a figure that conversion may leave one or two roundings away and,
// if it is no farther, puts the expected one in its place.
func near(t *testing.T, want float64, got *float64, roundings float64, reason string) {
	t.Helper()
	assert.InEpsilon(t, want, *got, 2*rounding*roundings, reason)
	*got = want
}

func demoBuild() *drivetrain.Build {
	offset := 2.6e-3
	return &drivetrain.Build{
		Name: "Woodland club rifle",
		Motor: motor.Motor{
			Stator: motor.Stator{
				Magnet: motor.Magnet{
					Remanence: 1.18, Drift: -0.0012, Permeability: 1.05, Thickness: 0.002, Arc: 2 * math.Pi / 3, Coercivity: 955000,
					CoercivityDrift: -0.006, // neodymium
					Limit:           353.15, // 80 °C, below 1114 kA/m
				},
				AirGap: 0.0004, Carter: 1.1, Leakage: 0.10,
				Brush: motor.Brush{Drop: 0.30, Arc: math.Pi / 12, Limit: 403.15},
			},
			Armature: motor.Armature{
				Slots: 3, Turns: 25, Wire: 0.00068, Strands: 1, RotorDiameter: 0.0152, StackLength: 0.022,
				SlotOpening: 0.002, ToothWidth: 0.0044, Saturation: 1.8, Stacking: 0.95, MeanTurn: 0.076,
				SlotArea: 45e-6, Inertia: 12e-7,
			},
			Drag:        motor.Drag{Constant: 0.0035, Viscous: 2e-6},
			Heat:        motor.Heat{Winding: 12, Can: 55, WindingToCan: 3.5, CanToAmbient: 15, Limit: 428.15},
			Commutation: motor.DerivedCommutation,
		},
		Battery: battery.Pack{
			Chemistry: battery.LithiumPolymer, Series: 2, Parallel: 1, Capacity: 4680, Resistance: 0.009,
			DischargeRating: 25, StateOfCharge: 0.9, ActivationEnergy: 20000, Reserve: 0.20, Cutoff: 3.0,
			Heat: battery.Heat{
				Cell:      32.5, // 25 J/K · 1.3 Ah
				ToAmbient: 15,   // two cells of 1.3 Ah are the 2.6 Ah of the rule
				Limit:     333.15,
			},
		},
		Harness: harness.Harness{
			Lead: harness.Lead{
				Area:   math.Pi / 4 * math.Pow(0.127e-3*math.Pow(92, 20./39), 2), // ASTM B258
				Length: 0.6, Insulation: "silicone", Wall: 0.0006, Emissivity: 0.9, Limit: 453.15,
			},
			Connectors: []harness.Connector{
				{Resistance: 0.0008, Heat: harness.ConnectorHeat{Capacity: 1, ToLead: 40, ToAmbient: 100}, Limit: 378.15},
				{Resistance: 0.0008, Heat: harness.ConnectorHeat{Capacity: 1, ToLead: 40, ToAmbient: 100}, Limit: 378.15},
			},
			Switch: harness.Switch{MOSFET: &harness.MOSFET{
				Resistance: 0.002, Drift: 0.005, FlybackDrop: 0.7, BrakeDelay: 0.001,
				JunctionToCase: 1, Heat: 1.5, ToAmbient: 40, Limit: 423.15,
			}},
			Fuse: &harness.Fuse{Rating: 25, Melting: 600},
		},
		Gears: drivetrain.Gears{Ratio: 11.3, Efficiency: 0.80, Inertia: 30e-7},
		Sector: drivetrain.Sector{
			Module: 0.001, Teeth: 16, FullTeeth: 24, Removed: 1, Lobes: 1,
			PressureAngle: math.Pi / 9, Addendum: 1, FaceWidth: 0.006,
		},
		Rack: &drivetrain.Rack{
			Teeth: 16, PickupOffset: &offset, Material: "reinforced-polymer", Modulus: 6.5e9, Strength: 120e6, FaceWidth: 0.0055,
			Addendum: 0.001, TipClearance: 0.00025, Backlash: 0.0001, BodyStiffness: 2e6,
			TakenDown: []drivetrain.TakenDown{{Tooth: 2, Depth: 0.00225}},
		},
		Pads:     []float64{0.0005, 0.001, 0.0015, 0.002, 0.003},
		Piston:   drivetrain.Piston{Mass: 0.026, Drag: 3, DragPull: 3, SealArea: 9e-6, Clear: 0.0025},
		Spring:   drivetrain.Spring{Rate: 720, Preload: 0.045, Mass: 0.018, Waves: true},
		Cylinder: drivetrain.Cylinder{Bore: 0.0238, DeadVolume: 1e-6, Port: 0.036, PortArea: 20e-6, Nozzle: 0.0048, Discharge: 0.8, SealLeak: 0.05e-6, WallHeat: 1},
		Barrel:   drivetrain.Barrel{Bore: 0.00605, Length: 0.370, BreechVolume: 0.25e-6, ClearanceDischarge: 0.8, Air: drivetrain.MovingAir, WallHeat: 1},
		Pellet:   drivetrain.Pellet{Mass: 0.0002, Diameter: 0.00595, HopForce: 1, HopLength: 0.010, BarrelDrag: 0.02},
		Trigger:  drivetrain.Trigger{Mode: drivetrain.Automatic, Cutoff: 262 * math.Pi / 180},
		Ambient:  drivetrain.Ambient{Temperature: 293.15, Pressure: 101325},
	}
}

func TestDemo(t *testing.T) {
	d, err := buildfile.DemoDocument()
	require.NoError(t, err)
	got, want := d.Build, demoBuild()
	const angle = "degrees are multiplied by a rounded π/180"
	near(t, want.Motor.Stator.Magnet.Arc, &got.Motor.Stator.Magnet.Arc, 2, angle)
	near(t, want.Motor.Stator.Brush.Arc, &got.Motor.Stator.Brush.Arc, 2, angle)
	near(t, want.Sector.PressureAngle, &got.Sector.PressureAngle, 2, angle)
	near(t, want.Trigger.Cutoff, &got.Trigger.Cutoff, 2, angle)
	near(t, want.Harness.Lead.Area, &got.Harness.Lead.Area, 8, "a power, doubled by the square, in another order")
	assert.Equal(t, want, got)

	require.Len(t, d.Target, 2)
	assert.Equal(t, "rate_of_fire", d.Target[0].Figure)
	assert.Equal(t, figure.At(20), d.Target[0].Min)
	assert.False(t, d.Target[0].Max.Given, "no upper bound is given")
	near(t, 117.348, &d.Target[1].Min.At, 1, "feet are a product")
	near(t, 121.92, &d.Target[1].Max.At, 1, "feet are a product")
	assert.Equal(t, figure.Want{Figure: "muzzle_velocity", Min: figure.At(117.348), Max: figure.At(121.92)}, d.Target[1])
	assert.Empty(t, d.Tolerances)
}

func TestDemoIsNewAtEachCall(t *testing.T) {
	a, b := buildfile.Demo(), buildfile.Demo()
	require.Equal(t, a, b)
	a.Rack.TakenDown[0].Depth, a.Harness.Switch.MOSFET.Drift, a.Pads[0] = 1, 1, 1
	assert.NotEqual(t, a.Rack.TakenDown, b.Rack.TakenDown)
	assert.NotEqual(t, a.Harness.Switch.MOSFET, b.Harness.Switch.MOSFET)
	assert.NotEqual(t, a.Pads, b.Pads)
	text, err := os.ReadFile("demo.yaml")
	require.NoError(t, err)
	assert.Equal(t, string(text), buildfile.DemoText())
}

func TestFerrite(t *testing.T) {
	b, err := buildfile.Load(filepath.Join(builds, "ferrite.yaml"))
	require.NoError(t, err)
	assert.Equal(t, "Ferrite trainer", b.Name)
	assert.Equal(t, 1.8, b.Motor.Armature.Saturation, "the value runs over two lines inside braces")
	assert.InEpsilon(t, 0.4547e-3, b.Motor.Armature.Wire, 1e-4, "25 AWG, four digits in ASTM B258")
	assert.Equal(t, 0.39, b.Motor.Stator.Magnet.Remanence)
	assert.Equal(t, 0.003, b.Motor.Stator.Magnet.CoercivityDrift, "ferrite")
	assert.InDelta(t, 523.15, b.Motor.Stator.Magnet.Limit, 1e-12, "ferrite, 250 °C")
	assert.Equal(t, 0.30, b.Motor.Commutation)
	assert.Equal(t, 1e-6, b.Harness.Lead.Area)
	assert.Len(t, b.Harness.Connectors, 1)
	assert.Nil(t, b.Harness.Switch.MOSFET)
	require.NotNil(t, b.Harness.Switch.Contacts)
	assert.Equal(t, 0.85e9, b.Harness.Switch.Contacts.Hardness)
	assert.Equal(t, 2, b.Battery.Parallel)
	assert.Zero(t, b.Cylinder.Port)
	assert.Zero(t, b.Cylinder.PortArea, "no port, no area")
	assert.Zero(t, b.Spring.Rate)
	assert.Equal(t, 34., b.Spring.Coils)
	assert.Equal(t, 79.3e9, b.Spring.Modulus)
	assert.Nil(t, b.Tappet)
}

func TestTwoLobe(t *testing.T) {
	d, err := buildfile.Read(filepath.Join(builds, "two-lobe.yaml"))
	require.NoError(t, err)
	b := d.Build
	assert.Equal(t, 1.8, b.Motor.Armature.Saturation, "the value runs over two lines inside braces")
	assert.Equal(t, 5, b.Motor.Armature.Slots)
	assert.Equal(t, 2, b.Sector.Lobes)
	assert.Equal(t, 1, b.Sector.Removed)
	assert.Equal(t, 2e-5, b.Gears.Churning)
	require.NotNil(t, b.Tappet)
	assert.Equal(t, 0.045, b.Tappet.Work)
	assert.InEpsilon(t, 2*math.Pi/9, b.Trigger.Start, 1e-15)
	place, found := d.Position("motor.armature.saturation")
	assert.True(t, found)
	assert.Equal(t, 13, place.Line, "where the value begins")
	place, found = d.Position("motor.armature.inertia")
	assert.True(t, found)
	assert.Equal(t, 14, place.Line, "behind the folded value")
	assert.Equal(t, 72, place.Column, "in the file as it is")
}
