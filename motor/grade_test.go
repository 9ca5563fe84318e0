package motor_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/motor"
)

// Suppliers' tables: bands of remanence (from a secondary source), least coercivity
// by the suffix and coercivity of ferrite (from memory).
func TestGrades(t *testing.T) {
	for _, c := range []struct {
		name, want    string // as it is asked for, and the name it has
		from, to      float64
		coercivity    [2]float64 // [kA/m]
		drift, drift2 float64    // of remanence and of coercivity [%/K]
		limit         float64    // that MagnetLimit makes of it [degC]
		reason        string
		least         bool // of coercivity the least is promised, no band
	}{
		{"N35", "N35", 1.17, 1.22, [2]float64{955, 955}, -0.12, -0.6, 80, "", true},
		{"N40", "N40", 1.25, 1.28, [2]float64{955, 955}, -0.12, -0.6, 80, "", true},
		{"N42", "N42", 1.28, 1.32, [2]float64{955, 955}, -0.12, -0.6, 80, "", true},
		{"N45", "N45", 1.32, 1.38, [2]float64{955, 955}, -0.12, -0.6, 80, "", true},
		{"N48", "N48", 1.37, 1.42, [2]float64{955, 955}, -0.12, -0.6, 80, "", true},
		{"N52", "N52", 1.42, 1.48, [2]float64{876, 876}, -0.12, -0.6, 80, "876 without a suffix", true},
		{"N52M", "N52M", 1.42, 1.48, [2]float64{1114, 1114}, -0.12, -0.6, 100, "the suffix promises as much of every grade", true},
		{"N42M", "N42M", 1.28, 1.32, [2]float64{1114, 1114}, -0.12, -0.6, 100, "", true},
		{"N42H", "N42H", 1.28, 1.32, [2]float64{1353, 1353}, -0.12, -0.6, 120, "", true},
		{"n42sh", "N42SH", 1.28, 1.32, [2]float64{1592, 1592}, -0.12, -0.6, 150, "any case", true},
		{"N35 UH", "N35UH", 1.17, 1.22, [2]float64{1989, 1989}, -0.12, -0.6, 180, "a blank", true},
		{"N40-EH", "N40EH", 1.25, 1.28, [2]float64{2387, 2387}, -0.12, -0.6, 200, "a hyphen", true},
		{"Y30", "Y30", 0.37, 0.40, [2]float64{180, 210}, -0.20, 0.3, 250, "ferrite", false},
		{"c8", "C8", 0.385, 0.390, [2]float64{235, 260}, -0.20, 0.3, 250, "ferrite", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			g, ok := motor.FindGrade(c.name)
			require.True(t, ok)
			assert.Equal(t, c.want, g.Name, c.reason)
			assert.InDelta(t, c.from, g.Remanence-g.RemanenceTolerance, 1e-12)
			assert.InDelta(t, c.to, g.Remanence+g.RemanenceTolerance, 1e-12)
			assert.InDelta(t, 1e3*c.coercivity[0], g.Coercivity-g.CoercivityTolerance, 1e-6, c.reason)
			assert.InDelta(t, 1e3*c.coercivity[1], g.Coercivity+g.CoercivityTolerance, 1e-6)
			assert.Equal(t, c.least, g.CoercivityTolerance == 0)
			assert.InDelta(t, c.drift/100, g.Drift, 1e-15)
			assert.InDelta(t, c.drift2/100, g.CoercivityDrift, 1e-15)
			assert.InDelta(t, c.limit+273.15, motor.MagnetLimit(g.Remanence, g.Coercivity), 1e-9)
			assert.Equal(t, motor.RemanenceDrift(g.Remanence), g.Drift, "as for a magnet of which only the remanence is known")
			assert.Equal(t, motor.CoercivityDrift(g.Remanence), g.CoercivityDrift)
		})
	}
	for _, name := range []string{"", "N", "N41", "N42X", "N42SHH", "42", "Y30H", "Y30SH", "C8M", "N 4 2 Q", "ferrite"} {
		_, ok := motor.FindGrade(name)
		assert.False(t, ok, name)
	}
}

func TestGradesAreListed(t *testing.T) {
	names := motor.Grades()
	assert.Len(t, names, 6*6+2)
	for _, name := range names {
		g, ok := motor.FindGrade(name)
		assert.True(t, ok, name)
		assert.Equal(t, name, g.Name)
		assert.Contains(t, motor.GradesInShort(), strings.TrimRight(name, "MHSUE"))
	}
	assert.Equal(t, "N35, N40, N42, N45, N48, N52, Y30, C8; behind an N grade may stand M, H, SH, UH or EH", motor.GradesInShort())
}
