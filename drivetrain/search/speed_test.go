package search_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/search"
)

// crowd has 50 air sets of so many electric ones, the air first or last.
func crowd(b *testing.B, electric int, airLast bool) *buildfile.Shelf {
	var turns, wires, ratios, dead, lengths []string
	for i := range electric / 100 {
		turns = append(turns, fmt.Sprint(20+i))
	}
	for i := range 10 {
		wires = append(wires, fmt.Sprintf("%.3f mm", 0.5+0.015*float64(i)))
		ratios = append(ratios, fmt.Sprintf("%.1f", 9+0.4*float64(i)))
		dead = append(dead, fmt.Sprintf("%.2f cm3", 0.8+0.05*float64(i)))
	}
	for i := range 5 {
		lengths = append(lengths, fmt.Sprintf("%d mm", 300+30*i))
	}
	drive := []buildfile.Slot{slot("motor.armature.turns", turns...), slot("motor.armature.wire", wires...), slot("gears.ratio", ratios...)}
	air := []buildfile.Slot{slot("cylinder.dead_volume", dead...), slot("barrel.length", lengths...)}
	slots := append(air, drive...)
	if airLast {
		slots = append(drive, air...)
	}
	return shelf(b, "{rate_of_fire: {min: 20 /s}, muzzle_velocity: {min: 125 m/s, max: 133 m/s}, pme_margin: {min: 0 ms}}", slots...)
}

// Builds a second, winners computed in full included, as "builds/s".
func BenchmarkSearch(b *testing.B) {
	for _, c := range []struct {
		name  string
		whole bool // physics
		last  bool
		apart bool
		many  int
	}{
		{"plain, air last", false, true, false, 2000},
		{"plain, air first", false, false, false, 2000},
		{"whole physics", true, true, false, 2000},
		{"flown each", false, true, true, 100},
	} {
		b.Run(c.name, func(b *testing.B) {
			s := crowd(b, c.many, c.last)
			if c.whole {
				d, err := buildfile.DemoDocument()
				require.NoError(b, err)
				s.Base = d
			}
			n := int64(0)
			for b.Loop() {
				r, err := search.NewReport(s, search.Asked{Top: 10, Near: 5, Settings: search.Settings{Apart: c.apart}})
				require.NoError(b, err)
				require.NoError(b, r.Run(context.Background(), nil))
				require.NoError(b, r.Finish(context.Background()))
				n += r.Combinations
			}
			b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "builds/s")
		})
	}
}

// The same builds as a batch of cycle evaluates them, to compare with.
func BenchmarkBatch(b *testing.B) {
	s := crowd(b, 100, true)
	c, err := s.Compose()
	require.NoError(b, err)
	n := 0
	for b.Loop() {
		builds := func(yield func(*drivetrain.Build) bool) {
			for i := range int(s.Combinations()) {
				parts := make([]int, len(s.Slots))
				for k, rest := len(parts)-1, i; k >= 0; k-- {
					parts[k] = rest % len(s.Slots[k].Parts)
					rest /= len(s.Slots[k].Parts)
				}
				v, fault := c.Build(parts)
				if fault != nil {
					b.Fatal(fault)
				}
				if !yield(v.Clone()) {
					return
				}
			}
		}
		for _, err := range cycle.Batch(context.Background(), builds, cycle.Settings{}) {
			require.NoError(b, err)
			n++
		}
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "builds/s")
}
