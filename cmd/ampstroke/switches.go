package main

import (
	"io"
	"math"

	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
)

// switchRow is a figure of switches side by side.
type switchRow struct {
	key, name string
	value     func(*heat.Switching) float64 // in SI units
	scale     float64                       // of the unit shown, in one SI unit
	digits    int
	unit      string
}

// switchFigures lists what compare shows of switches: of a single shot, all at ambient.
func switchFigures() []switchRow {
	none := func(v float64) float64 { // what never happened
		if v == 0 {
			return math.NaN()
		}
		return v
	}
	return []switchRow{
		{"switch_conduction_j", "conduction loss", func(s *heat.Switching) float64 { return s.Conduction }, 1e3, 3, "mJ"},
		{"switch_loss_j", "all losses", func(s *heat.Switching) float64 { return s.Loss }, 1e3, 3, "mJ"},
		{"switch_voltage_v", "voltage at the peak", func(s *heat.Switching) float64 { return s.Voltage }, 1e3, 3, "mV"},
		{"switch_hottest_degc", "spot or junction then", func(s *heat.Switching) float64 { return s.Hottest - quantity.Celsius }, 1, 3, "°C"},
		{"switch_melting_v", "melting voltage", func(s *heat.Switching) float64 { return s.Melting }, 1e3, 3, "mV"},
		{"switch_break_a", "current broken", func(s *heat.Switching) float64 { return none(s.BreakCurrent) }, 1, 3, "A"},
		{"switch_break_j", "break energy", func(s *heat.Switching) float64 { return none(s.BreakEnergy) }, 1e3, 3, "mJ"},
		{"switch_arc_j", "arc", func(s *heat.Switching) float64 { return s.Arc }, 1e3, 3, "mJ"},
		{"switch_brake_a", "brake current", func(s *heat.Switching) float64 { return none(s.Brake) }, 1, 3, "A"},
	}
}

func (m *comparison) printSwitches(w io.Writer, heads []string) {
	if m.Switches == nil {
		return
	}
	kinds := []string{"kind"}
	for i, s := range m.Switches {
		if s.Contacts {
			kinds = append(kinds, "contacts, "+m.Results[i].Build.Harness.Switch.Contacts.Material)
		} else {
			kinds = append(kinds, "MOSFET")
		}
	}
	table := [][]string{kinds}
	for _, f := range switchFigures() {
		table = append(table, m.line(f.name, f.scale, f.digits, f.unit, func(int) bool { return true }, func(i int) (float64, string) {
			v := f.value(&m.Switches[i])
			if math.IsInf(v, 1) {
				return 0, "stands" // an arc that does not go out
			}
			return v, sig(f.scale*v, f.digits, f.unit)
		}))
	}
	printTable(w, "switch, in a single shot with all at ambient", heads, table)
}

func (m *comparison) switchesJSON() (all []object) {
	if m.Switches == nil {
		return nil
	}
	for _, f := range switchFigures() {
		var values, diffs []number
		no := make([]bool, len(m.Switches))
		for i := range m.Switches {
			values = append(values, number(f.value(&m.Switches[i])))
			diffs = append(diffs, number(f.value(&m.Switches[i])-f.value(&m.Switches[0])))
		}
		all = append(all, object{{"what", f.key}, {"values", values}, {"from_first", diffs}, {"better", no}, {"missed", no}})
	}
	return all
}
