package buildfile_test

import (
	"fmt"
	"strings"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

const backup = `name: Backup # for rainy weekends
motor:
  stator: {magnet: {remanence: 0.39 T, thickness: 2.5 mm, arc: 130 deg}, air_gap: 0.40 mm}
  armature:
    slots: 3
    turns: 22
    wire: 22 AWG
    rotor_diameter: 15.2 mm
    stack_length: 22 mm
    slot_opening: 2.0 mm
    tooth_width: 4.4 mm
    mean_turn: 76 mm
    inertia: 12 g cm2
battery: {chemistry: lithium-polymer, series: 2, capacity: 1300 mAh, resistance: 9 mohm}
harness:
  lead: {gauge: 16 AWG, length: 600 mm}
  switch: {mosfet: {resistance: 2 mohm}}
gears: {ratio: 10.44}
sector: {module: 1.0 mm, teeth: 16, full_teeth: 24}
piston: {mass: 26 ± 1 g}
spring: {rate: 560 N/m, preload: 45 mm}
cylinder: {bore: 23.8 mm}
barrel: {bore: 6.05 mm, length: 370 mm}
pellet: {mass: 0.20 g}
`

func ExampleParse() {
	d, err := buildfile.Parse("backup.yaml", []byte(backup), "motor.armature.turns=18")
	if err != nil {
		fmt.Println(err)
		return
	}
	a := d.Build.Motor.Armature
	fmt.Printf("%s: %d turns of %.3f mm\n", d.Build.Name, a.Turns, a.Wire*1e3)
	fmt.Printf("piston: %.0f g ± %.0f g\n", d.Build.Piston.Mass*1e3, d.Tolerances["piston.mass"]*1e3)
	fmt.Printf("%d keys take defaults\n", len(d.Assumed()))
	// Output:
	// Backup: 18 turns of 0.644 mm
	// piston: 26 g ± 1 g
	// 75 keys take defaults
}

// All faults are reported at once, each with its place and what to do about it. They are
// one type, whoever finds them: [quantity.Fault].
func ExampleParse_faults() {
	text := strings.NewReplacer("turns: 22", "turn: 22", "0.20 g", "0.20", "ratio: 10.44", "ratio: 10.44, efficiency: 108 %").Replace(backup)
	_, err := buildfile.Parse("backup.yaml", []byte(text))
	fmt.Println(err)
	for _, f := range quantity.Faults(err) {
		fmt.Printf("line %d, %s\n", f.Place.Line, f.Field)
	}
	// Output:
	// backup.yaml:5:5: motor.armature.turns: missing; wanted a whole number, such as 28
	// backup.yaml:6:5: motor.armature.turn: no such key; did you mean turns?
	// backup.yaml:18:35: gears.efficiency: 108 % is out of range; wanted 1 % to 100 %
	// backup.yaml:24:16: pellet.mass: "0.20" is a bare number; wanted a mass with its unit, such as 26 g
	// line 5, motor.armature.turns
	// line 6, motor.armature.turn
	// line 18, gears.efficiency
	// line 24, pellet.mass
}

// What is set goes into its place; all else in the file stays as it is.
func ExampleDocument_Set() {
	d, err := buildfile.Parse("backup.yaml", []byte(backup))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range [][2]string{{"name", "Rain: backup"}, {"gears.efficiency", "85 %"}, {"tappet", "{from: 100 deg, to: 165 deg, work: 45 mJ}"}} {
		if err := d.Set(s[0], s[1]); err != nil {
			fmt.Println(err)
			return
		}
	}
	text, err := d.Bytes()
	for line := range strings.Lines(string(text)) {
		if !strings.Contains(backup, line) {
			fmt.Print(line)
		}
	}
	fmt.Println(err)
	// Output:
	// name: "Rain: backup" # for rainy weekends
	// gears: {ratio: 10.44, efficiency: 85 %}
	// tappet: {from: 100 deg, to: 165 deg, work: 45 mJ}
	// <nil>
}

func ExampleDocument_With() {
	d, err := buildfile.DemoDocument()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, rate := range []string{"600 N/m", "750 N/m"} {
		n, err := d.With("spring.rate=" + rate)
		fmt.Println(n.Build.Spring.Rate, err)
	}
	_, err = d.With("spring.rate=750 N")
	fmt.Println(err)
	fmt.Println(d.Build.Spring.Rate)
	// Output:
	// 600 <nil>
	// 750 <nil>
	// --set spring.rate=750 N: spring.rate: "750 N" is a force; wanted a spring rate, such as 680 N/m
	// 720
}

func ExampleDocument_Assumed() {
	d, err := buildfile.DemoDocument("motor.stator.carter=", "battery.state_of_charge=")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, a := range d.Assumed() {
		if a.Path == "motor.stator.carter" || a.Path == "battery.state_of_charge" {
			fmt.Printf("%s: %s, %s\n", a.Path, a.Text, a.Why)
		}
	}
	// Output:
	// motor.stator.carter: 1.1, typical of such builds (closure)
	// battery.state_of_charge: 100 %, a full pack
}

func ExampleDemo() {
	b := buildfile.Demo()
	fmt.Printf("%s: %d turns, %g:1\n", b.Name, b.Motor.Armature.Turns, b.Gears.MotorTurns())
	// Output: Woodland club rifle: 25 turns, 11.3:1
}
