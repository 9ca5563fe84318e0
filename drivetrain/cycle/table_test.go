package cycle_test

import (
	"bytes"
	"encoding/csv"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/quantity"
)

// Each column of the table is what its name says, in every row.
func TestColumnsAreWhatTheyAreCalled(t *testing.T) {
	r := simulate(t, document(t, "", "battery.series=3", "trigger.rounds=2").Build)
	var b bytes.Buffer
	require.NoError(t, r.WriteCSV(&b))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	named := map[string]func(cycle.Point) float64{
		"time_s": func(p cycle.Point) float64 { return p.Time }, "sector_angle_rad": func(p cycle.Point) float64 { return p.Angle },
		"current_a": func(p cycle.Point) float64 { return p.Current }, "battery_current_a": func(p cycle.Point) float64 { return p.Battery },
		"pack_voltage_v": func(p cycle.Point) float64 { return p.PackVoltage }, "motor_speed_rad_s": func(p cycle.Point) float64 { return p.Speed },
		"piston_travel_m": func(p cycle.Point) float64 { return p.Travel }, "spring_force_n": func(p cycle.Point) float64 { return p.SpringForce },
		"cylinder_pressure_pa": func(p cycle.Point) float64 { return p.Pressure }, "barrel_pressure_pa": func(p cycle.Point) float64 { return p.BarrelPressure },
		"pellet_travel_m": func(p cycle.Point) float64 { return p.PelletTravel }, "pellet_speed_m_s": func(p cycle.Point) float64 { return p.PelletSpeed },
	}
	head, rows := rows[0], rows[1:]
	require.Len(t, head, 1+len(named))
	var points []cycle.Point
	var courses []string
	for _, c := range []struct {
		name  string
		trace *cycle.Trace
	}{{"first shot", r.First}, {"steady cycle", r.Steady}, {"burst", r.Pull.Trace}} {
		for _, p := range c.trace.Sample(1001) {
			points, courses = append(points, p), append(courses, c.name)
		}
	}
	require.Len(t, rows, len(points))
	for k, name := range head[1:] {
		require.Contains(t, named, name)
		for i, p := range points {
			require.Equal(t, quantity.TableText(named[name](p)), rows[i][1+k], "%s in row %d", name, i)
		}
	}
	for i, row := range rows {
		require.Equal(t, courses[i], row[0])
	}
}
