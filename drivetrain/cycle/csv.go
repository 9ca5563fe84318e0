package cycle

import (
	"encoding/csv"
	"io"
	"strconv"

	"example.org/ampstroke/drivetrain/quantity"
)

// csvPoints is how many evenly spaced rows each course gets, beside its events.
const csvPoints = 1001

// WriteCSV writes the courses of the first shot and of the steady cycle as a
// table with a header that names units. A value that doesn't exist is empty; each
// event stands in two rows, just before and just after it.
func (r *Result) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	_ = out.Write(columns())
	r.writeCSV(out)
	out.Flush()
	return out.Error()
}

// WriteCSV writes the courses of several results as one table, like that of a
// single one with a first column that counts the results from 1.
func WriteCSV(w io.Writer, results []*Result) error {
	out := csv.NewWriter(w)
	_ = out.Write(append([]string{"build"}, columns()...))
	for i, r := range results {
		r.writeCSV(out, strconv.Itoa(i+1))
	}
	out.Flush()
	return out.Error()
}

// burst is the course of a burst in automatic fire, nil without one.
func (r *Result) burst() *Trace {
	if r.Pull == nil || r.Status != Steady {
		return nil
	}
	return r.Pull.Trace
}

func columns() []string {
	return []string{"course", "time_s", "sector_angle_rad", "current_a", "battery_current_a", "pack_voltage_v", "motor_speed_rad_s", "piston_travel_m", "spring_force_n", "cylinder_pressure_pa", "barrel_pressure_pa", "pellet_travel_m", "pellet_speed_m_s"}
}

func (r *Result) writeCSV(out *csv.Writer, before ...string) {
	for _, course := range []struct {
		name  string
		trace *Trace
	}{{"first shot", r.First}, {"steady cycle", r.Steady}, {"burst", r.burst()}} {
		if course.trace == nil {
			continue
		}
		for _, p := range course.trace.Sample(csvPoints) {
			row := append(before[:len(before):len(before)], course.name)
			for _, v := range []float64{p.Time, p.Angle, p.Current, p.Battery, p.PackVoltage, p.Speed, p.Travel, p.SpringForce, p.Pressure, p.BarrelPressure, p.PelletTravel, p.PelletSpeed} {
				row = append(row, quantity.TableText(v))
			}
			_ = out.Write(row)
		}
	}
}
