package pickup_test

import (
	"io"
	"math"
	"strings"
	"testing"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/pickup"
)

// Whatever valid build the overrides make of the demo, it is examined or refused;
// its figures are numbers, and its pull has an end.
func FuzzExamine(f *testing.F) {
	for _, seed := range []string{
		"", "rack.taken_down=", "rack.pickup_offset=7.6 mm\nrack.taken_down=", "rack.pickup_offset=-2.7 mm\nrack.taken_down=", "pads=",
		"piston.spacer=1 mm\npads=[0.1 mm, 0.1 mm, 0.2 mm]", "rack.lift=0.3 mm\nrack.backlash=0 mm", "sector.full_teeth=60\nsector.teeth=40\nrack.teeth=40",
		"rack.taken_down=[{tooth: 1, depth: 1.2 mm}, {tooth: 2, depth: 2.25 mm}]\nrack.pickup_offset=0 mm", "sector.pressure_angle=30 deg\nsector.addendum=0.8",
		"sector.lobes=2\nsector.teeth=10", "cylinder.port=2.5 mm", "spring={wire: 1.4 mm, coil_diameter: 12 mm, coils: 34, free_length: 150 mm, installed_length: 105 mm, mass: 18 g}",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, overrides string) {
		lines := strings.Split(overrides, "\n")
		if overrides == "" {
			lines = nil
		}
		d, err := buildfile.Read(plainDemo, lines...)
		if err != nil || d.Build.Sector.FullTeeth > 200 {
			return
		}
		p, err := pickup.Examine(d.Build)
		if err != nil {
			if strings.Contains(err.Error(), "NaN") {
				t.Fatal(err)
			}
			return
		}
		for _, l := range []*pickup.Layout{&p.Now, &p.Then} {
			for _, v := range []float64{l.Contact.SectorAngle, l.Contact.X, l.Contact.Y, l.Overlap, l.Stroke, l.EngagedAngle, l.HandOver.Slip} {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%+v", l)
				}
			}
			for _, c := range l.HandOver.Sample(30) {
				if math.IsNaN(c.Travel) || math.IsInf(c.Travel, 0) {
					t.Fatalf("%+v", c)
				}
			}
			s := l.Sketch()
			s.SectorTooth(1, l.Contact.SectorAngle)
		}
		if len(p.Then.Blocking) > 0 {
			t.Fatalf("teeth %v are in the way after the work", p.Then.Blocking)
		}
		if err := p.WriteCSV(io.Discard); err != nil {
			t.Fatal(err)
		}
	})
}

func BenchmarkExamine(b *testing.B) {
	demo := plain(b)
	for b.Loop() {
		if _, err := pickup.Examine(demo); err != nil {
			b.Fatal(err)
		}
	}
}
