package flight_test

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/flight"
)

const testdata = "../../testdata"

// build reads a build in plain physics, equations E1 to E7: "" is the demo.
func build(t testing.TB, name string, overrides ...string) *drivetrain.Build {
	t.Helper()
	if name == "" {
		name = "demo.yaml"
	}
	d, err := buildfile.Read(filepath.Join(testdata, "builds", name), overrides...)
	require.NoError(t, err)
	return d.Build
}

// full is a build with all that there is beyond plain physics.
func full(b *drivetrain.Build) *drivetrain.Build {
	c := *b
	c.Spring.Waves = true
	c.Piston.SealArea = 9e-6
	c.Barrel.Air, c.Barrel.WallHeat = drivetrain.MovingAir, 1
	c.Cylinder.WallHeat = 1
	return &c
}

// releaseSpeed returns the rack's speed at release in the steady cycle [m/s].
func releaseSpeed(t testing.TB, b *drivetrain.Build) float64 {
	t.Helper()
	r, err := cycle.Simulate(context.Background(), b, cycle.Settings{})
	require.NoError(t, err)
	g := b.Geometry()
	for _, e := range r.Steady.Events {
		if e.Kind == cycle.Release {
			return g.PitchRadius * r.Steady.Before(e.Time).Speed / g.Ratio
		}
	}
	t.Fatal("no release")
	return 0
}

func fly(t testing.TB, b *drivetrain.Build, s flight.Settings) *flight.Result {
	t.Helper()
	r, err := flight.Simulate(context.Background(), b, s)
	require.NoError(t, err)
	return r
}

// An independent program computed the reference from the same equations; it is
// accurate to 1e-5. What is reached is some 1e-11.
func TestReference(t *testing.T) {
	const tol = 1e-5
	for _, c := range []struct {
		file, build string
		overrides   []string
	}{
		{"demo.json", "", nil},
		{"demo-three-cells.json", "", []string{"battery.series=3"}},
		{"ferrite.json", "ferrite.yaml", nil},
		{"two-lobe.json", "two-lobe.yaml", nil},
	} {
		t.Run(c.file, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join(testdata, "reference", c.file))
			require.NoError(t, err)
			var want struct {
				TimeToHome float64 `json:"time_to_home_s"`
				Velocity   float64 `json:"muzzle_velocity_m_s"`
				Energy     float64 `json:"muzzle_energy_j"`
				Impact     float64 `json:"piston_impact_m_s"`
				Ledger     struct {
					Drag   float64 `json:"piston_drag"`
					Impact float64 `json:"impact"`
					Air    float64 `json:"air"`
					Barrel float64 `json:"barrel"`
					Pellet float64 `json:"pellet"`
				} `json:"ledger_j"`
			}
			require.NoError(t, json.Unmarshal(data, &want))

			b := build(t, c.build, c.overrides...)
			speed := releaseSpeed(t, b)
			for _, explicit := range []bool{false, true} {
				s := flight.Settings{ReleaseSpeed: speed}
				r := fly(t, b, s)
				if explicit {
					var err error
					r, err = flight.General(context.Background(), b, s, true)
					require.NoError(t, err)
				}
				assert.Equal(t, flight.Done, r.Status)
				sum, l := &r.Summary, &r.Ledger
				pull := b.Piston.Drag * b.Geometry().Stroke // the reference's row is that of pull and flight
				for _, row := range []struct {
					name      string
					want, got float64
				}{
					{"time to home", want.TimeToHome, sum.TimeToHome},
					{"muzzle velocity", want.Velocity, sum.MuzzleVelocity},
					{"muzzle energy", want.Energy, sum.MuzzleEnergy},
					{"impact speed", want.Impact, sum.PistonImpact},
					{"piston drag", want.Ledger.Drag, l.PistonDrag + pull},
					{"impact", want.Ledger.Impact, l.Impact},
					{"air", want.Ledger.Air, l.Air},
					{"barrel", want.Ledger.Barrel, l.Barrel},
					{"pellet", want.Ledger.Pellet, l.Pellet},
				} {
					assert.InEpsilon(t, row.want, row.got, tol, row.name)
					t.Logf("%-16s %.10g, off by %.1e", row.name, row.got, row.got/row.want-1)
				}
				assert.LessOrEqual(t, l.Residual, 1e-10*l.Spring)
				assert.GreaterOrEqual(t, l.Residual, -1e-10*l.Spring)
				t.Logf("residual %.1e, duration %g, %+v", l.Residual, sum.Duration, r.Stats)
			}
		})
	}
}
