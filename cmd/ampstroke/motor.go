package main

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
	"example.org/ampstroke/motor"
)

func motorCommand() *cobra.Command {
	var s shared
	c := &cobra.Command{
		Use:   "motor [BUILD...]",
		Short: "constants from winding or bench; speed, current, power, efficiency",
		Long: `motor gives the constants of a build's motor, where each comes from, and what
the motor does on a constant voltage, that of the rested pack, without the
resistance of pack and leads. Of several builds, the motors stand side by side.
All parts have the build's ambient temperature, which --set can change.`,
		Example: `  ampstroke motor --plot motor.png
  ampstroke motor ferrite.yaml neodymium.yaml --plot both.svg
  ampstroke motor rifle.yaml --set "ambient.temperature=80 degC"`,
		ValidArgsFunction: anyYAMLFiles,
		RunE: func(c *cobra.Command, args []string) error {
			if err := s.check(); err != nil {
				return err
			}
			documents, err := s.documents(c.Context(), args)
			if err != nil {
				return err
			}
			var all []motorOf
			for _, d := range documents {
				if err := c.Context().Err(); err != nil {
					return err
				}
				all = append(all, newMotorOf(d))
			}
			return s.deliver(c, &report{
				picture: func() (*chart.Picture, error) {
					var named []chart.Named
					for _, m := range all {
						named = append(named, chart.Named{Name: m.build.Name, Characteristic: m.Characteristic})
					}
					return chart.Motor(named...)
				},
				trace: func(w io.Writer) error { return motorCSV(w, all) },
				json:  func() object { return motorsJSON(all) },
				print: func(w io.Writer) {
					if len(all) == 1 {
						all[0].print(w)
						return
					}
					printMotors(w, all)
				},
				failed: heldMotors(all),
			})
		},
	}
	s.add(c)
	return c
}

// motorsJSON is the document of one motor, or of several.
func motorsJSON(all []motorOf) object {
	document := append(object{{"format", 1}}, all[0].json()...)
	if len(all) > 1 {
		var list []object
		for _, m := range all {
			list = append(list, m.json())
		}
		document = object{{"format", 1}, {"motors", list}}
	}
	return append(document, member{"cautions", cautions()})
}

// heldMotors finds magnets that a held motor's current weakens.
func heldMotors(all []motorOf) error {
	for i := range all {
		if all[i].Held.Margin() < 0 {
			return errHeld
		}
	}
	return nil
}

// motorOf is the motor of a build at its ambient temperature, on its rested pack.
type motorOf struct {
	motor.Supplied
	build   *drivetrain.Build
	assumed map[string]bool // keys that the file leaves out
}

// said tells whether the file gives a key, or it is assumed.
func (m *motorOf) said(key string) string {
	if m.assumed[key] {
		return "assumed"
	}
	return "given"
}

func newMotorOf(d *buildfile.Document) motorOf {
	m := motorOf{Supplied: study.Supplied(d.Build), build: d.Build, assumed: map[string]bool{}}
	for _, a := range d.Assumed() {
		m.assumed[a.Path] = true
	}
	return m
}

// source says where a figure of the motor comes from, "" where nothing is to be said.
func (m *motorOf) source(name string) string {
	b := &m.build.Motor
	k, bench := &m.Constants, b.Bench != nil
	// of parts, or of a bench
	says := func(parts, readings string) string {
		if bench {
			return readings
		}
		return parts
	}
	switch name {
	case "ke":
		if bench {
			return "bench: (V - Vb - R I0)/speed without load (A13)"
		}
		return fmt.Sprintf("%d slots, %d turns, coil flux (A5); voltage per rad/s, mN m per A", b.Armature.Slots, b.Armature.Turns)
	case "resistance":
		switch {
		case !bench:
			return "copper of the coils between the brushes (A6, A7)"
		case b.Bench.StallCurrent != 0:
			return "bench: (V - Vb)/stall current, copper at this temperature (A13)"
		}
		return "bench: given, copper at this temperature (A13)"
	case "inductance":
		switch {
		case bench && m.assumed["motor.bench.inductance"]:
			return "assumed: 0.7 ms times the resistance (closure)"
		case bench || b.Armature.Inductance != 0:
			return "given"
		}
		return "turns, gap and magnets (A8, closure)"
	case "motor_inertia":
		return "given, of the armature"
	case "brush_drop":
		return says(m.said("motor.stator.brush.drop"), m.said("motor.bench.brush_drop")) + ", of the pair (A10)"
	case "drag":
		return says(m.said("motor.drag.constant")+" (A9)", "bench: Ke I0, viscous part taken off (A13)")
	case "viscous_drag":
		return m.said("motor.drag.viscous") + " (A9)"
	case "commutation_resistance":
		how := "given (A16)"
		if b.Commutation == motor.DerivedCommutation {
			how = "by slots and saturation (A16, A17)"
		}
		return fmt.Sprintf("what reversing the coils adds to the resistance at the no-load speed; a share of %.3f, %s", k.Reversal, how)
	case "gap_flux_density":
		return says("magnet against gap (A1, A2)", "")
	case "coil_flux":
		left, tooth := k.CoilFlux/k.UnsaturatedFlux, "the tooth saturates"
		if left > 0.98 {
			tooth = "the tooth hardly saturates"
		}
		return fmt.Sprintf("through one coil; %.1f %% of what the magnets offer, %s (A3, A4)", 100*left, tooth)
	case "slot_fill":
		return "enamelled wire in the slot (A11): " + b.Armature.Room().String()
	case "voltage":
		return fmt.Sprintf("the rested pack at %.0f %% charge", 100*m.build.Battery.StateOfCharge)
	case "no_load_speed", "no_load_current", "best_current", "best_speed", "strongest_current", "strongest_speed":
		return ""
	case "held_demagnetisation_margin":
		return says("of the coercivity left, at that current (A15)", "")
	}
	f, _ := motor.Figures().Find(name)
	return f.Meaning
}

const characteristicRows = 11

func (m *motorOf) print(w io.Writer) {
	say(w, fmt.Sprintf("%s: %s, at %.0f degC", m.build.Name, m.build.Motor.String(), m.build.Ambient.Temperature-quantity.Celsius), "  ")
	printFindings(w, "", finding.Join(study.Motor(m.build)))
	figures := motor.Figures()
	for _, heading := range figures.Groups() {
		var rows []row
		for _, f := range figures.In(heading) {
			if !f.Quiet {
				rows = append(rows, row{f.Label, f.Shown(&m.Supplied), m.source(f.Name)})
			}
		}
		printRows(w, heading, rows)
	}
	var table [][]string
	for _, p := range m.Characteristic.Sample(nil, characteristicRows) {
		table = append(table, []string{
			sig(1e3*p.Torque, 3, "mN m"), sig(p.Speed*30/math.Pi, 5, "rpm"), sig(p.Current, 4, "A"), sig(p.Output, 3, "W"), sig(100*p.Efficiency, 3, "%"),
		})
	}
	if len(table) == 0 {
		fmt.Fprintln(w, "\nthe motor doesn't turn: the voltage is less than brushes and drag take")
		return
	}
	printTable(w, "from no load to standstill", []string{"torque", "speed", "current", "power", "efficiency"}, table)
}

func printMotors(w io.Writer, all []motorOf) {
	fmt.Fprintf(w, "%d motors side by side\n\n", len(all))
	heads := []string{""}
	for i, m := range all {
		turns := ""
		if math.IsNaN(m.Characteristic.NoLoad.Speed) {
			turns = ", does not turn on this voltage"
		}
		fmt.Fprintln(w, wrap(fmt.Sprintf("  %d  ", i+1), fmt.Sprintf("%s: %s, at %.0f degC%s", m.build.Name, m.build.Motor.String(), m.build.Ambient.Temperature-quantity.Celsius, turns), columns(w), "     "))
		heads = append(heads, strconv.Itoa(i+1))
	}
	for i, m := range all {
		printFindings(w, fmt.Sprintf("  %d  ", i+1), finding.Join(study.Motor(m.build)))
	}
	figures := motor.Figures()
	for _, heading := range figures.Groups() {
		var table [][]string
		for _, f := range figures.In(heading) {
			if f.Quiet {
				continue
			}
			line, empty := []string{f.Label}, true
			first := f.Value(&all[0].Supplied)
			for i := range all {
				v := f.Value(&all[i].Supplied)
				text := f.Shown(&all[i].Supplied)
				if text == "" {
					text = "-"
				} else {
					empty = false
				}
				if i > 0 && text != "-" {
					text += change(f.In(v), f.In(first), f.Digits, f.Unit)
				}
				line = append(line, text)
			}
			if !empty {
				table = append(table, line)
			}
		}
		printTable(w, heading, heads, table)
	}
}

func (m *motorOf) json() object {
	h := &m.Characteristic
	point := func(p motor.Point) object {
		return object{
			{"torque_n_m", number(p.Torque)}, {"speed_rad_s", number(p.Speed)}, {"current_a", number(p.Current)},
			{"input_w", number(p.Input)}, {"output_w", number(p.Output)}, {"efficiency", number(p.Efficiency)},
		}
	}
	course := []object{}
	for _, p := range h.Sample(nil, characteristicRows) {
		course = append(course, point(p))
	}
	o := object{
		{"build", m.build.Name},
		{"temperature_k", number(m.build.Ambient.Temperature)},
		{"motor", constantsJSON(&m.Constants)},
	}
	for _, f := range motor.Figures() {
		switch {
		case f.Group != "constants":
		case f.Name == "brush_drop", f.Name == "drag", f.Name == "viscous_drag", f.Name == "commutation_per_speed": // as ever, beside the motor
		default:
			continue
		}
		o = append(o, member{f.Key(), number(f.Value(&m.Supplied))})
	}
	return append(o, object{
		{"best", point(h.Best)},
		{"strongest", point(h.Strongest)},
		{"characteristic", course},
		{"findings", findingsJSON(finding.Join(study.Motor(m.build)))},
	}...)
}

// motorCSV writes the characteristics as a table.
func motorCSV(w io.Writer, all []motorOf) error {
	out := csv.NewWriter(w)
	_ = out.Write([]string{"motor", "torque_n_m", "speed_rad_s", "current_a", "input_w", "output_w", "efficiency"})
	for i, m := range all {
		for _, p := range m.Characteristic.Sample(nil, 501) {
			line := []string{strconv.Itoa(i + 1)}
			for _, v := range []float64{p.Torque, p.Speed, p.Current, p.Input, p.Output, p.Efficiency} {
				line = append(line, strconv.FormatFloat(v, 'g', 12, 64))
			}
			_ = out.Write(line)
		}
	}
	out.Flush()
	return out.Error()
}
