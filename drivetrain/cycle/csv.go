package cycle

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
)

// csvPoints is how many evenly spaced rows each course gets, beside its events.
const csvPoints = 1001

// WriteCSV writes the courses of the first shot and of the steady cycle as a
// table with a header that names units. A value that doesn't exist is empty; each
// event stands in two rows, just before and just after it.
func (r *Result) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	_ = out.Write([]string{"course", "time_s", "sector_angle_rad", "current_a", "pack_voltage_v", "motor_speed_rad_s", "piston_travel_m", "spring_force_n"})
	for _, course := range []struct {
		name  string
		trace *Trace
	}{{"first shot", r.First}, {"steady cycle", r.Steady}} {
		if course.trace == nil {
			continue
		}
		for _, p := range course.trace.Sample(csvPoints) {
			_ = out.Write([]string{course.name, cell(p.Time), cell(p.Angle), cell(p.Current), cell(p.PackVoltage), cell(p.Speed), cell(p.Travel), cell(p.SpringForce)})
		}
	}
	out.Flush()
	return out.Error()
}

func cell(v float64) string {
	if math.IsNaN(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', 12, 64)
}
