package pickup_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/pickup"
)

const references = "../../testdata/reference/"

// The demo before and after the work, against what an independent program computed
// from the same equations: geometry to 1e-9, forces and stresses to 1e-6,
// velocities to 1e-5, each relative. These are the tolerances asked for.
func TestReference(t *testing.T) {
	for name, b := range map[string]*drivetrain.Build{"pickup-demo.json": plain(t), "full/pickup-demo.json": read(t, "full/demo.yaml")} {
		t.Run(name, func(t *testing.T) { holdAgainst(t, name, b) })
	}
}

func read(t *testing.T, name string) *drivetrain.Build {
	t.Helper()
	d, err := buildfile.Read(references + name)
	require.NoError(t, err)
	return d.Build
}

func holdAgainst(t *testing.T, name string, b *drivetrain.Build) {
	const geometry, force, velocity = 1e-9, 1e-6, 1e-5
	data, err := os.ReadFile(references + name)
	require.NoError(t, err)
	var want map[string]any
	require.NoError(t, json.Unmarshal(data, &want))
	r, err := pickup.Analyse(context.Background(), b, pickup.Settings{})
	require.NoError(t, err)

	asked := map[string]bool{"build": true}
	compare := func(name string, want any, got, tol float64) {
		t.Helper()
		switch w := want.(type) {
		case nil:
			assert.True(t, math.IsNaN(got), "%s does not exist for this build, got %g", name, got)
		case float64:
			if w == 0 {
				assert.Zero(t, got, name)
				return
			}
			assert.InEpsilon(t, w, got, tol, name)
		default:
			t.Errorf("%s: %v is no number", name, want)
		}
	}
	state := func(in string, want map[string]any, s *pickup.State) {
		use := func(key string, got, tol float64) {
			t.Helper()
			value, ok := want[key]
			require.True(t, ok, "the reference lacks %s%s", in, key)
			asked[in+key] = true
			compare(in+key, value, got, tol)
		}
		use("contact_angle_rad", s.Contact.Angle, geometry)
		use("sector_angle_rad", s.Contact.SectorAngle, geometry)
		use("offset_m", s.Offset, geometry)
		use("depth_of_contact", s.Depth, geometry)
		use("overlap", s.Overlap, geometry)
		use("geometric_stroke_m", s.Stroke, geometry)
		use("engaged_angle_rad", s.EngagedAngle, geometry)
		use("drive_slip_m", s.HandOver.Slip, geometry)
		use("stiffness_n_m", s.Stiffness, force)
		use("pickup_energy_j", s.PickupEnergy, force)
		use("steady_force_n", s.SteadyForce, force)
		use("pickup_force_n", s.PickupForce, force)
		use("pickup_form_factor", s.PickupForm, geometry)
		use("pickup_stress_pa", s.PickupStress, force)
		use("pickup_tooth_safety", s.PickupSafety, force)
		use("release_force_n", s.ReleaseForce, force)
		use("release_form_factor", s.ReleaseForm, geometry)
		use("release_stress_pa", s.ReleaseStress, force)
		use("release_tooth_safety", s.ReleaseSafety, force)
		use("spring_shear_stress_pa", s.SpringShear, force)
		use("spring_safety", s.SpringSafety, force)
		use("pickup_speed_m_s", s.PickupSpeed, velocity)
		use("muzzle_velocity_m_s", s.Cycle.Summary.MuzzleVelocity, velocity)
		use("rate_of_fire_hz", s.Cycle.Summary.RateOfFire, force)
		for key, got := range map[string]any{"contact": string(s.Contact.Kind), "first_tooth": float64(s.FirstTooth), "drive_lost": s.HandOver.Lost} {
			asked[in+key] = true
			assert.Equal(t, want[key], got, in+key)
		}
		asked[in+"blocked_by"] = true
		assert.Len(t, s.Blocking, len(want["blocked_by"].([]any)))
		asked[in+"contact_point_m"] = true
		point := want["contact_point_m"].([]any)
		compare(in+"contact_point_m.0", point[0], s.Contact.X, geometry)
		compare(in+"contact_point_m.1", point[1], s.Contact.Y, geometry)
	}
	state("", want, &r.Before)
	state("after.", want["after"].(map[string]any), &r.After)
	compare("spacer_m", want["spacer_m"], r.Spacer, geometry)
	compare("spacer_limit_m", want["spacer_limit_m"], r.Before.SpacerLimit, geometry)
	compare("pickup_motor_speed_rad_s", want["pickup_motor_speed_rad_s"], r.Before.MotorSpeed, force)
	stack := want["stack_m"].([]any)
	require.Len(t, r.Pads, len(stack))
	for i := range stack {
		compare("stack_m", stack[i], r.Pads[i], geometry)
	}
	teeth := want["teeth_to_take_down"].([]any)
	require.Len(t, r.TakeDown, len(teeth))
	for i := range teeth {
		tooth := teeth[i].(map[string]any)
		assert.Equal(t, tooth["tooth"], float64(r.TakeDown[i].Tooth))
		compare("depth_m", tooth["depth_m"], r.TakeDown[i].Depth, geometry)
	}
	for _, key := range []string{"spacer_m", "spacer_limit_m", "pickup_motor_speed_rad_s", "stack_m", "teeth_to_take_down", "after"} {
		asked[key] = true
	}
	for key := range want {
		assert.True(t, asked[key], "%s of the reference is not compared", key)
	}
	for key := range want["after"].(map[string]any) {
		assert.True(t, asked["after."+key], "after.%s of the reference is not compared", key)
	}
}
