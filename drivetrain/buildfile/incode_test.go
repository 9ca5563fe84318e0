package buildfile_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/motor"
	"example.org/ampstroke/motor/wire"
)

// short is a file that leaves out all that may be left out of the parts it has.
const short = `name: In code
motor:
  stator: {magnet: {grade: N42SH, thickness: 2 mm, arc: 2 rad}, air_gap: 0.4 mm}
  armature: {slots: 3, turns: 22, wire: 0.75 mm, rotor_diameter: 15.2 mm, stack_length: 22 mm, slot_opening: 2 mm, tooth_width: 4.4 mm, mean_turn: 76 mm, inertia: 12 g cm2}
battery: {chemistry: nickel-metal-hydride, series: 8, capacity: 1600 mAh, resistance: 9 mohm}
harness:
  lead: {gauge: 16 AWG, length: 600 mm}
  connectors: [{resistance: 0.8 mohm}]
  switch: {mosfet: {resistance: 2 mohm}}
  fuse: {rating: 30 A}
gears: {ratio: 12.5}
sector: {module: 1 mm, teeth: 16, full_teeth: 24, removed: 1}
rack: {}
piston: {mass: 26 g}
spring: {rate: 680 N/m, preload: 45 mm}
cylinder: {bore: 23.8 mm}
barrel: {bore: 6.05 mm, length: 370 mm}
pellet: {mass: 0.20 g}
`

// inCode is the same build by constructors.
func inCode() *drivetrain.Build {
	grade, _ := motor.FindGrade("N42SH")
	rotor := motor.NewArmature(3, 22, 0.75e-3)
	rotor.RotorDiameter, rotor.StackLength, rotor.SlotOpening, rotor.ToothWidth = 15.2e-3, 22e-3, 2e-3, 4.4e-3
	rotor.MeanTurn, rotor.Inertia = 76e-3, 12e-7
	mosfet, fuse, sector := harness.NewMOSFET(2e-3), harness.NewFuse(30), drivetrain.NewSector(1e-3, 16, 24)
	sector.Removed = 1
	rack := drivetrain.NewRack(&sector)
	b := &drivetrain.Build{
		Name:    "In code",
		Motor:   motor.New(motor.NewStator(grade.Magnet(2e-3, 2), 0.4e-3), rotor),
		Battery: battery.New(battery.NickelMetalHydride, 8, 1, 1.6*3600, 9e-3),
		Harness: harness.Harness{
			Lead:       harness.NewLead(wire.Area(wire.Diameter(16)), 0.6),
			Connectors: []harness.Connector{harness.NewConnector(0.8e-3)},
			Switch:     harness.Switch{MOSFET: &mosfet},
			Fuse:       &fuse,
		},
		Gears:    drivetrain.NewGears(12.5),
		Sector:   sector,
		Rack:     &rack,
		Piston:   drivetrain.NewPiston(26e-3),
		Spring:   drivetrain.NewSpring(680, 45e-3),
		Cylinder: drivetrain.NewCylinder(23.8e-3),
		Barrel:   drivetrain.NewBarrel(6.05e-3, 0.37),
		Pellet:   drivetrain.NewPellet(0.20e-3),
		Ambient:  drivetrain.StandardAmbient(),
	}
	b.Cylinder.PortArea = 0 // of a port that isn't there
	b.Trigger = drivetrain.NewTrigger(b)
	return b
}

// A part's constructor and the build file assume the same, in every field.
func TestConstructorsAssumeWhatTheFileDoes(t *testing.T) {
	read := func(text string) *drivetrain.Build {
		d, err := buildfile.Parse("short.yaml", []byte(text))
		require.NoError(t, err)
		return d.Build
	}
	assert.Equal(t, read(short), inCode())

	// A bench motor, contacts, and magnets of a material.
	from := strings.Index(short, "  stator:")
	to := strings.Index(short, "battery:")
	text := short[:from] + "  bench: {voltage: 7.4 V, no_load_speed: 21000 rpm, no_load_current: 1.5 A, stall_current: 90 A, inertia: 12 g cm2}\n" + short[to:]
	text = strings.Replace(text, "{mosfet: {resistance: 2 mohm}}", "{contacts: {material: silver, force: 1 N}}", 1)
	b := inCode()
	contacts := harness.NewContacts("silver", 1)
	b.Harness.Switch = harness.Switch{Contacts: &contacts}
	b.Motor = motor.FromBench(motor.NewBench(7.4, 21000*math.Pi/30, 1.5, 90, 12e-7))
	assert.Equal(t, read(text), b)

	for remanence, material := range map[string]motor.Magnet{"0.38 T": motor.HardFerrite(), "0.58 T": motor.BondedNdFeB(), "1.2 T": motor.SinteredNdFeB()} {
		b := inCode()
		material.Thickness, material.Arc = 2e-3, 2
		b.Motor.Stator.Magnet = material
		want := read(strings.Replace(short, "grade: N42SH", "remanence: "+remanence, 1))
		want.Motor.Stator.Magnet.Drift = material.Drift // of the material: the file knows but ferrite from neodymium
		assert.Equal(t, want, b, remanence)
	}
}
