package pickup

import (
	"encoding/csv"
	"io"
	"strconv"

	"example.org/ampstroke/drivetrain/quantity"
)

// csvPoints is how many evenly spaced rows each pull gets, beside where teeth come
// and let go.
const csvPoints = 1001

// WriteCSV writes the pull before and after the work as a table with a header that
// names units: which pair carries the rack at which sector angle, and where.
func (p *Work) WriteCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	_ = out.Write([]string{"state", "sector_angle_rad", "rack_travel_m", "tooth", "contact", "contact_x_m", "contact_y_m"})
	for _, s := range []struct {
		name   string
		layout *Layout
	}{{"as it stands", &p.Now}, {"after", &p.Then}} {
		for _, c := range s.layout.HandOver.Sample(csvPoints) {
			_ = out.Write([]string{s.name, quantity.TableText(c.Angle), quantity.TableText(c.Travel), strconv.Itoa(c.Tooth), string(c.Kind), quantity.TableText(c.X), quantity.TableText(c.Y)})
		}
	}
	out.Flush()
	return out.Error()
}
