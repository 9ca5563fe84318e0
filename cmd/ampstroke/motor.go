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
			for i, d := range documents {
				if err := c.Context().Err(); err != nil {
					return err
				}
				m, err := newMotorOf(d)
				if err != nil {
					if len(args) > 0 {
						err = fmt.Errorf("%s: %w", args[i], err)
					}
					return err
				}
				all = append(all, m)
			}
			if s.plot != "" {
				var named []chart.Named
				for _, m := range all {
					named = append(named, chart.Named{Name: m.build.Name, Characteristic: m.characteristic})
				}
				if err := s.picture(c, func() *chart.Picture { return chart.Motor(named...) }); err != nil {
					return err
				}
			}
			if s.trace != "" {
				if err := write(c, s.trace, func(w io.Writer) error { return motorCSV(w, all) }); err != nil {
					return err
				}
			}
			if s.json {
				document := append(object{{"format", 1}}, all[0].json()...)
				if len(all) > 1 {
					var list []object
					for _, m := range all {
						list = append(list, m.json())
					}
					document = object{{"format", 1}, {"motors", list}}
				}
				document = append(document, member{"cautions", cautions()})
				if err := printJSON(c.OutOrStdout(), document); err != nil {
					return err
				}
				return strictOfMotors(&s, all)
			}
			if len(all) == 1 {
				all[0].print(c.OutOrStdout())
			} else {
				printMotors(c.OutOrStdout(), all)
			}
			printCautions(c.OutOrStdout())
			return strictOfMotors(&s, all)
		},
	}
	s.add(c)
	return c
}

// strictOfMotors fails on magnets that the held motor's current weakens.
func strictOfMotors(s *shared, all []motorOf) error {
	for i := range all {
		if s.strict && all[i].demag.Margin() < 0 {
			return &failure{missed, errHeld}
		}
	}
	return nil
}

// motorOf is the motor of a build at its ambient temperature, on its rested pack.
type motorOf struct {
	build          *drivetrain.Build
	constants      motor.Constants
	characteristic motor.Characteristic
	demag          motor.Demagnetisation // held, on that voltage
	assumed        map[string]bool       // keys that the file leaves out
}

// said tells whether the file gives a key, or it is assumed.
func (m *motorOf) said(key string) string {
	if m.assumed[key] {
		return "assumed"
	}
	return "given"
}

func newMotorOf(d *buildfile.Document) (motorOf, error) {
	b := d.Build
	cell, err := b.Battery.Cell()
	if err != nil {
		return motorOf{}, err
	}
	t := b.Ambient.Temperature
	m := motorOf{build: b, constants: b.Motor.At(t, t), assumed: map[string]bool{}}
	for _, a := range d.Assumed() {
		m.assumed[a.Path] = true
	}
	m.characteristic = m.constants.Characteristic(b.Battery.OCV(cell, b.Battery.StateOfCharge))
	m.demag = b.Motor.Demagnetisation(m.characteristic.Stall.Current, t)
	return m, nil
}

// stallTorque is what the held motor's current makes [N m].
func (m *motorOf) stallTorque() float64 { return m.constants.Ke * m.characteristic.Stall.Current }

// motorFigure is a figure of a motor as tables show it.
type motorFigure struct {
	heading, name string
	value         func(*motorOf) float64
	scale         float64
	digits        int
	unit          string
	source        func(*motorOf) string
}

func motorFigures() []motorFigure {
	says := func(parts, bench string) func(*motorOf) string {
		return func(m *motorOf) string {
			if m.build.Motor.Bench != nil {
				return bench
			}
			return parts
		}
	}
	const constants, on, points = "constants", "on a constant voltage", "most power and best efficiency"
	k := func(get func(*motor.Constants) float64) func(*motorOf) float64 {
		return func(m *motorOf) float64 { return get(&m.constants) }
	}
	h := func(get func(*motor.Characteristic) float64) func(*motorOf) float64 {
		return func(m *motorOf) float64 { return get(&m.characteristic) }
	}
	inductance := func(m *motorOf) string {
		switch {
		case m.build.Motor.Bench != nil && m.assumed["motor.bench.inductance"]:
			return "assumed: 0.7 ms times the resistance (closure)"
		case m.build.Motor.Bench != nil:
			return "given"
		case m.build.Motor.Armature.Inductance != 0:
			return "given"
		}
		return "turns, gap and magnets (A8, closure)"
	}
	const rpm = 30 / math.Pi
	return []motorFigure{
		{constants, "Ke = Kt", k(func(c *motor.Constants) float64 { return c.Ke }), 1e3, 4, "mV s", func(m *motorOf) string {
			if m.build.Motor.Bench != nil {
				return "bench: (V - Vb - R I0)/speed without load (A13)"
			}
			return fmt.Sprintf("%d slots, %d turns, coil flux (A5); voltage per rad/s, mN m per A", m.build.Motor.Armature.Slots, m.build.Motor.Armature.Turns)
		}},
		{constants, "resistance", k(func(c *motor.Constants) float64 { return c.Resistance }), 1e3, 4, "mohm", func(m *motorOf) string {
			switch {
			case m.build.Motor.Bench == nil:
				return "copper of the coils between the brushes (A6, A7)"
			case m.build.Motor.Bench.StallCurrent != 0:
				return "bench: (V - Vb)/stall current, copper at this temperature (A13)"
			}
			return "bench: given, copper at this temperature (A13)"
		}},
		{constants, "inductance", k(func(c *motor.Constants) float64 { return c.Inductance }), 1e6, 4, "uH", inductance},
		{constants, "inertia", k(func(c *motor.Constants) float64 { return c.Inertia }), 1e7, 4, "g cm2", says("given, of the armature", "given, of the armature")},
		{constants, "brush drop", k(func(c *motor.Constants) float64 { return c.BrushDrop }), 1, 3, "V", func(m *motorOf) string {
			if m.build.Motor.Bench != nil {
				return m.said("motor.bench.brush_drop") + ", of the pair (A10)"
			}
			return m.said("motor.stator.brush.drop") + ", of the pair (A10)"
		}},
		{constants, "drag, constant", k(func(c *motor.Constants) float64 { return c.DragConstant }), 1e3, 3, "mN m", func(m *motorOf) string {
			if m.build.Motor.Bench != nil {
				return "bench: Ke I0, viscous part taken off (A13)"
			}
			return m.said("motor.drag.constant") + " (A9)"
		}},
		{constants, "drag, per speed", k(func(c *motor.Constants) float64 { return c.DragViscous }), 1e6, 3, "uN m s", func(m *motorOf) string { return m.said("motor.drag.viscous") + " (A9)" }},
		{constants, "commutation", func(m *motorOf) float64 {
			if m.constants.Commutation == 0 {
				return math.NaN()
			}
			return m.constants.Commutation * m.characteristic.NoLoad.Speed
		}, 1e3, 3, "mohm", func(m *motorOf) string {
			how := "given (A16)"
			if m.build.Motor.Commutation == motor.DerivedCommutation {
				how = "by slots and saturation (A16, A17)"
			}
			return fmt.Sprintf("what reversing the coils adds to the resistance at the no-load speed; a share of %.3f, %s", m.constants.Reversal, how)
		}},
		{constants, "gap flux density", k(func(c *motor.Constants) float64 { return c.GapFluxDensity }), 1, 4, "T", says("magnet against gap (A1, A2)", "")},
		{constants, "coil flux", k(func(c *motor.Constants) float64 { return c.CoilFlux }), 1e6, 4, "uWb", func(m *motorOf) string {
			left, tooth := m.constants.CoilFlux/m.constants.UnsaturatedFlux, "the tooth saturates"
			if left > 0.98 {
				tooth = "the tooth hardly saturates"
			}
			return fmt.Sprintf("through one coil; %.1f %% of what the magnets offer, %s (A3, A4)", 100*left, tooth)
		}},
		{constants, "slot fill", k(func(c *motor.Constants) float64 { return c.SlotFill }), 100, 3, "%", func(m *motorOf) string {
			return "enamelled wire in the slot (A11): " + m.build.Motor.Armature.Room().String()
		}},
		{on, "voltage", h(func(h *motor.Characteristic) float64 { return h.Voltage }), 1, 4, "V", func(m *motorOf) string {
			return fmt.Sprintf("the rested pack at %.0f %% charge", 100*m.build.Battery.StateOfCharge)
		}},
		{on, "no-load speed", h(func(h *motor.Characteristic) float64 { return h.NoLoad.Speed }), rpm, 5, "rpm", says("", "")},
		{on, "no-load current", h(func(h *motor.Characteristic) float64 { return h.NoLoad.Current }), 1, 4, "A", says("", "")},
		{on, "stall current", h(func(h *motor.Characteristic) float64 { return h.Stall.Current }), 1, 4, "A", says("of the held motor", "of the held motor")},
		{on, "stall torque", (*motorOf).stallTorque, 1e3, 4, "mN m", says("Kt times that current; drag at rest can take from it", "Kt times that current; drag at rest can take from it")},
		{on, "demagnetisation margin", func(m *motorOf) float64 { return m.demag.Margin() }, 100, 3, "%", says("of the coercivity left, at that current (A15)", "")},
		{points, "best efficiency", h(func(h *motor.Characteristic) float64 { return h.Best.Efficiency }), 100, 4, "%", says("power at the shaft over power at the terminals", "power at the shaft over power at the terminals")},
		{points, "  at a current of", h(func(h *motor.Characteristic) float64 { return h.Best.Current }), 1, 4, "A", says("", "")},
		{points, "  at a speed of", h(func(h *motor.Characteristic) float64 { return h.Best.Speed }), rpm, 5, "rpm", says("", "")},
		{points, "most power", h(func(h *motor.Characteristic) float64 { return h.Strongest.Output }), 1, 4, "W", says("at the shaft", "at the shaft")},
		{points, "  at a current of", h(func(h *motor.Characteristic) float64 { return h.Strongest.Current }), 1, 4, "A", says("", "")},
		{points, "  at a speed of", h(func(h *motor.Characteristic) float64 { return h.Strongest.Speed }), rpm, 5, "rpm", says("", "")},
	}
}

// headings lists what figures stand below, each once.
func headings(figures []motorFigure) (all []string) {
	for _, f := range figures {
		if len(all) == 0 || all[len(all)-1] != f.heading {
			all = append(all, f.heading)
		}
	}
	return all
}

const characteristicRows = 11

func (m *motorOf) print(w io.Writer) {
	say(w, fmt.Sprintf("%s: %s, at %.0f degC", m.build.Name, m.build.Motor.String(), m.build.Ambient.Temperature-quantity.Celsius), "  ")
	printFindings(w, "", finding.Join(study.Motor(m.build)))
	figures := motorFigures()
	for _, heading := range headings(figures) {
		var rows []row
		for _, f := range figures {
			if f.heading == heading {
				rows = append(rows, row{f.name, sig(f.scale*f.value(m), f.digits, f.unit), f.source(m)})
			}
		}
		printRows(w, heading, rows)
	}
	var table [][]string
	for _, p := range m.characteristic.Sample(nil, characteristicRows) {
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
		if math.IsNaN(m.characteristic.NoLoad.Speed) {
			turns = ", does not turn on this voltage"
		}
		fmt.Fprintln(w, wrap(fmt.Sprintf("  %d  ", i+1), fmt.Sprintf("%s: %s, at %.0f degC%s", m.build.Name, m.build.Motor.String(), m.build.Ambient.Temperature-quantity.Celsius, turns), columns(w), "     "))
		heads = append(heads, strconv.Itoa(i+1))
	}
	for i, m := range all {
		printFindings(w, fmt.Sprintf("  %d  ", i+1), finding.Join(study.Motor(m.build)))
	}
	figures := motorFigures()
	for _, heading := range headings(figures) {
		var table [][]string
		for _, f := range figures {
			if f.heading != heading {
				continue
			}
			line, empty := []string{f.name}, true
			first := f.value(&all[0])
			for i := range all {
				v := f.value(&all[i])
				text := sig(f.scale*v, f.digits, f.unit)
				if text == "" {
					text = "-"
				} else {
					empty = false
				}
				if i > 0 && text != "-" {
					text += change(f.scale*v, f.scale*first, f.digits, f.unit)
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
	h := &m.characteristic
	point := func(p motor.Point) object {
		return object{
			{"torque_n_m", figure(p.Torque)}, {"speed_rad_s", figure(p.Speed)}, {"current_a", figure(p.Current)},
			{"input_w", figure(p.Input)}, {"output_w", figure(p.Output)}, {"efficiency", figure(p.Efficiency)},
		}
	}
	course := []object{}
	for _, p := range h.Sample(nil, characteristicRows) {
		course = append(course, point(p))
	}
	return object{
		{"build", m.build.Name},
		{"voltage_v", figure(h.Voltage)},
		{"temperature_k", figure(m.build.Ambient.Temperature)},
		{"motor", constantsJSON(&m.constants)},
		{"no_load_speed_rad_s", figure(h.NoLoad.Speed)},
		{"no_load_current_a", figure(h.NoLoad.Current)},
		{"stall_current_a", figure(h.Stall.Current)},
		{"stall_torque_n_m", figure(m.stallTorque())},
		{"peak_efficiency", figure(h.Best.Efficiency)},
		{"peak_power_w", figure(h.Strongest.Output)},
		{"brush_drop_v", figure(m.constants.BrushDrop)},
		{"drag_n_m", figure(m.constants.DragConstant)},
		{"drag_n_m_s", figure(m.constants.DragViscous)},
		{"commutation_ohm_s", figure(m.constants.Commutation)},
		{"demagnetising_field_a_m", figure(m.demag.Field)},
		{"coercivity_a_m", figure(m.demag.Coercivity)},
		{"demagnetisation_margin", figure(m.demag.Margin())},
		{"best", point(h.Best)},
		{"strongest", point(h.Strongest)},
		{"characteristic", course},
		{"findings", findingsJSON(finding.Join(study.Motor(m.build)))},
	}
}

// motorCSV writes the characteristics as a table.
func motorCSV(w io.Writer, all []motorOf) error {
	out := csv.NewWriter(w)
	_ = out.Write([]string{"motor", "torque_n_m", "speed_rad_s", "current_a", "input_w", "output_w", "efficiency"})
	for i, m := range all {
		for _, p := range m.characteristic.Sample(nil, 501) {
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
