package pickup_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/pickup"
)

const (
	inch  = 25.4e-3
	pound = 4.4482216152605 // force [N]
	psi   = pound / (inch * inch)
)

func analyse(t testing.TB, overrides ...string) *pickup.Result {
	t.Helper()
	d, err := buildfile.Read(plainDemo, overrides...)
	require.NoError(t, err)
	r, err := pickup.Analyse(context.Background(), d.Build, pickup.Settings{Cycle: cycle.Settings{Tolerance: 1e-8, Flight: 1e-4}})
	require.NoError(t, err)
	return r
}

func TestSprings(t *testing.T) {
	rate := func(wire, coil, coils, modulus float64) float64 {
		s := drivetrain.Spring{Wire: wire, CoilDiameter: coil, Coils: coils, Modulus: modulus}
		return s.ForcePerTravel()
	}
	// Shigley 10e Ex 10-1, music wire with squared ends: the strength, the lengths and
	// its factor of curvature are from memory. H6's solid length is that of ends that are
	// ground, one wire less.
	const wire, coil = 0.037 * inch, 0.400 * inch
	squared := drivetrain.Spring{Wire: wire, CoilDiameter: coil, Coils: 10.5, Modulus: 11.85e6 * psi}
	solid := squared.SolidLength() + wire
	const index = coil / wire
	const bergstrasser = (4*index + 2) / (4*index - 3)
	yield := math.Pi * wire * wire * wire * 0.45 * pickup.WireStrength(wire) / (8 * bergstrasser * coil)

	for _, c := range []struct {
		name      string
		got, want float64
		tol       float64
		reason    string
	}{
		{"index", index, 10.81, 5e-3, "Shigley 10e Ex 10-1"},
		{"rate", squared.ForcePerTravel(), 723.47, 5e-3, "Shigley 10e Ex 10-1"},
		{"strength", pickup.WireStrength(wire), 324.2e3 * psi, 5e-3, "Shigley 10e Ex 10-1, from memory"},
		{"solid length", solid, 0.4995 * inch, 5e-3, "Shigley 10e Ex 10-1, from memory"},
		{"longest free length that can be pressed solid", solid + yield/squared.ForcePerTravel(), 2.0616 * inch, 5e-3, "Shigley 10e Ex 10-1, from memory"},

		{"Wahl", pickup.Wahl(1.69 / 0.250), 1.2212, 1e-3, "spring-design handbook §7.13.1"},
		{"rate", rate(0.250*inch, 1.69*inch, 13, 11.5e6*psi), 89.488 * pound / inch, 1e-3, "spring-design handbook §7.13.1"},
		{"shear", pickup.SpringShear(356*pound, 0.250*inch, 1.69*inch), 119740 * psi, 1e-3, "spring-design handbook §7.13.1"},

		{"Wahl", pickup.Wahl(6), 1.2525, 5e-4, "Sadhu Singh Ex 8.3"},
		{"shear", pickup.SpringShear(40, 3e-3, 18e-3), 85.05e6, 5e-4, "Sadhu Singh Ex 8.3"},
		{"rate", rate(3e-3, 18e-3, 15, 84e9), 9722, 5e-4, "Sadhu Singh Ex 8.3"},

		{"wire of 0.5 mm", pickup.WireStrength(0.5e-3), 2444.8e6, 2e-3, "Shigley Table 10-4 (ASTM A228)"},
		{"wire of 1.0 mm", pickup.WireStrength(1.0e-3), 2211.0e6, 2e-3, "Shigley Table 10-4 (ASTM A228)"},
		{"wire of 1.6 mm", pickup.WireStrength(1.6e-3), 2065.3e6, 2e-3, "Shigley Table 10-4 (ASTM A228)"},
		{"wire of 2.0 mm", pickup.WireStrength(2.0e-3), 1999.6e6, 2e-3, "Shigley Table 10-4 (ASTM A228)"},
	} {
		t.Run(c.name, func(t *testing.T) { assert.InEpsilon(t, c.want, c.got, c.tol, c.reason) })
	}
}

func TestTeeth(t *testing.T) {
	// Shigley Table 14-2: a rack of 20° full depth, borne at its tip. The clearance of
	// those racks was 0.157 modules (from memory).
	b := *plain(t)
	r := *b.Rack
	r.Backlash, r.TipClearance, r.TakenDown = 0, 0.157e-3, nil
	b.Rack = &r
	rack, err := pickup.FormFactor(&b, 4, 1)
	require.NoError(t, err)

	_, err = pickup.FormFactor(&b, 17, 1)
	assert.ErrorContains(t, err, "17 is none of the rack's 16 teeth")

	// A tooth is as strong wherever the rack lies: its form factor does not know the lift.
	lifted := r
	lifted.Lift = 0.3e-3
	b.Rack = &lifted
	same, err := pickup.FormFactor(&b, 4, 1)
	require.NoError(t, err)
	assert.InEpsilon(t, rack, same, 1e-12)

	// Shigley Ex 14-1: diametral pitch 8, face 1.5 in, 16 teeth (Y .296), 1200 rpm.
	speed := math.Pi * 16 / 8 * 1200 / 12 // [ft/min]
	load := 10e3 * psi / pickup.LewisStress(1, 1.5*inch, inch/8, 0.296) / ((1200 + speed) / 1200)

	for _, c := range []struct {
		name      string
		got, want float64
		tol       float64
		reason    string
	}{
		{"Lewis, rack", rack, 0.485, 0.001 / 0.485, "Shigley Table 14-2"},
		{"load", load, 364.3 * pound, 5e-3, "Shigley Ex 14-1"},
		{"power", load / pound * speed / 33000, 6.94, 5e-3, "Shigley Ex 14-1 (horsepower)"},
	} {
		t.Run(c.name, func(t *testing.T) { assert.InEpsilon(t, c.want, c.got, c.tol, c.reason) })
	}
}

// ISO/TR 14179-2 (recomputed): tooth-loss factors and efficiencies of 20° gears.
func TestToothLoss(t *testing.T) {
	const angle = 20 * math.Pi / 180
	for _, c := range []struct {
		pinion, wheel int
		ratio, factor float64 // NaN: not given
	}{
		{20, 40, 1.63519, 0.166065}, {17, 51, math.NaN(), 0.174926}, {10, 40, 1.54151, 0.259736},
	} {
		ratio, factor := pickup.ToothLoss(c.pinion, c.wheel, angle, 1)
		assert.InEpsilon(t, c.factor, factor, 1e-4)
		if !math.IsNaN(c.ratio) {
			assert.InEpsilon(t, c.ratio, ratio, 1e-4)
		}
	}
	_, factor := pickup.ToothLoss(20, 40, angle, 1)
	assert.InDelta(t, 0.99170, 1-0.05*factor, 1e-4)
	_, factor = pickup.ToothLoss(10, 40, angle, 1)
	assert.InDelta(t, 0.97403, 1-0.1*factor, 1e-4)

	// A handbook's bands: spur gears 94 to 98 %, straight bevels 93 to 97 %. What is
	// assumed of a train (a bevel, two spur gears, the rack) lies between their products.
	assumed := drivetrain.NewGears(1).Efficiency
	assert.Greater(t, assumed, 0.93*math.Pow(0.94, 3))
	assert.Less(t, assumed, 0.97*math.Pow(0.98, 3))
}

// A shallow contact breaks the pickup tooth first; the deeper, the better (common
// practice, no source).
func TestShallowContactBreaksThePickupTooth(t *testing.T) {
	last, depth := 0., 0.
	for i, offset := range []string{"3 mm", "2.6 mm", "2 mm", "1.5 mm", "1 mm", "0.5 mm", "0 mm"} {
		r := analyse(t, "rack.pickup_offset="+offset)
		assert.Greater(t, r.Before.PickupSafety, last, offset)
		assert.Greater(t, r.Before.Depth, depth, offset)
		last, depth = r.Before.PickupSafety, r.Before.Depth
		if i == 0 {
			assert.Less(t, r.Before.PickupSafety, 1.)
			assert.Less(t, r.Before.PickupSafety, r.Before.ReleaseSafety/2, "the pickup tooth goes first")
		}
	}
}

// A spring rated higher costs safety at the release tooth (common practice, no
// source).
func TestStrongerSpringCostsSafety(t *testing.T) {
	last := math.Inf(1)
	for _, rate := range []string{"400 N/m", "600 N/m", "680 N/m", "900 N/m", "1200 N/m"} {
		r := analyse(t, "spring.rate="+rate)
		assert.Less(t, r.Before.ReleaseSafety, last, rate)
		last = r.Before.ReleaseSafety
	}
}

// The blow of a flank contact takes up what the cycle books as lost at the pickup.
func TestPickupEnergyIsThatOfTheLedger(t *testing.T) {
	for _, overrides := range [][]string{nil, {"piston.mass=14 g", "gears.ratio=14"}, {"trigger.mode=single"}} {
		r := analyse(t, overrides...)
		for _, s := range []*pickup.State{&r.Before, &r.After} {
			require.Equal(t, pickup.Flank, s.Contact.Kind)
			assert.InEpsilon(t, s.Cycle.Ledger.Pickup, s.PickupEnergy, 1e-9)
		}
	}
}

// What a contact beside the flank costs, and what does not exist.
func TestStrengthOfOtherContacts(t *testing.T) {
	corner := analyse(t, "rack.pickup_offset=5.5 mm", "rack.taken_down=")
	assert.Equal(t, pickup.RackCorner, corner.Before.Contact.Kind)
	assert.Zero(t, corner.Before.Depth)
	assert.Greater(t, corner.Before.Contact.SpeedRatio, 0.)

	late := analyse(t, "rack.pickup_offset=-2.7 mm", "rack.taken_down=")
	assert.Equal(t, pickup.SectorCorner, late.Before.Contact.Kind)
	assert.Greater(t, late.Before.Depth, 1.)
	assert.Less(t, late.Before.Contact.Angle, 0.)
	assert.Empty(t, late.Pads)

	land := analyse(t, "rack.pickup_offset=7.6 mm", "rack.taken_down=")
	assert.Equal(t, pickup.Land, land.Before.Contact.Kind)
	for _, v := range []float64{land.Before.PickupSpeed, land.Before.PickupForce, land.Before.PickupStress, land.Before.PickupSafety} {
		assert.True(t, math.IsNaN(v))
	}
	assert.Positive(t, land.Before.ReleaseForce)
	assert.Positive(t, land.After.PickupForce, "the spacer cures it")

	stall := analyse(t, "spring.rate=2400 N/m")
	assert.True(t, math.IsNaN(stall.Before.PickupForce) && math.IsNaN(stall.Before.PickupSafety))
	assert.InEpsilon(t, 2400*(0.045+stall.Before.Cycle.Summary.Stroke)+5, stall.Before.ReleaseForce, 1e-12)

	down := analyse(t, "rack.taken_down=[{tooth: 1, depth: 1.2 mm}, {tooth: 2, depth: 2.25 mm}]", "rack.pickup_offset=0 mm")
	assert.True(t, math.IsNaN(down.Before.Depth), "a tooth that ends above the pitch line has no flush contact")
}

func TestSpringOfWire(t *testing.T) {
	wire := []string{"spring.wire=1.4 mm", "spring.coil_diameter=12 mm", "spring.coils=34", "spring.free_length=150 mm", "spring.installed_length=105 mm"}
	r := analyse(t, wire...)
	s := &r.Before
	// Wahl's factor by hand: C = 8.5714, (4C−1)/(4C−4) + 0.615/C = 1.17081.
	force := s.ReleaseForce - 5
	assert.InEpsilon(t, 1.170805, s.SpringShear*math.Pi*1.4e-3*1.4e-3*1.4e-3/(8*force*12e-3), 1e-5)
	assert.InEpsilon(t, 0.45*2211e6*math.Pow(1.4, -0.145)/s.SpringShear, s.SpringSafety, 1e-12)
	assert.InDelta(t, 36*1.4e-3, s.SolidLength, 1e-12)
	assert.InDelta(t, 0.105-s.Cycle.Summary.Stroke, s.ShortestLength, 1e-12)
	assert.InEpsilon(t, s.SpringShear, r.After.SpringShear, 1e-12, "D9: a spacer leaves the greatest force as it is")
	assert.InDelta(t, s.ShortestLength, r.After.ShortestLength, 1e-12)
	assert.False(t, s.SpringBinds())
	longer := analyse(t, append(wire, "spring.coils=40")...)
	assert.True(t, longer.Before.SpringBinds())
	codes := map[string]bool{}
	for _, w := range longer.Before.Warnings() {
		codes[w.Code] = true
	}
	assert.True(t, codes["spring-binds"], "%v", codes)
	assert.True(t, math.IsNaN(analyse(t).Before.ShortestLength))
}

// Materials: what the stiffness and strength of the rack follow from.
func TestMaterials(t *testing.T) {
	safety := map[string]float64{}
	for _, m := range drivetrain.RackMaterials() {
		r := analyse(t, "rack.material="+m.Name)
		safety[m.Name] = r.Before.ReleaseSafety
		tooth := pickup.ToothStiffness(5.5e-3, m.Modulus)
		assert.InEpsilon(t, 1/(1/tooth+1/2e6), r.Before.Stiffness, 1e-12)
		assert.InEpsilon(t, m.Strength/r.Before.ReleaseStress, r.Before.ReleaseSafety, 1e-12)
	}
	assert.Less(t, safety["polyamide"], safety["polymer"])
	assert.Less(t, safety["polymer"], safety["reinforced-polymer"])
	assert.Less(t, safety["sintered-steel"], safety["steel"])
	// ISO 6336-1: two steel flanks, 14 N/(mm·µm).
	assert.InEpsilon(t, 14e9*5e-3, pickup.ToothStiffness(5e-3, 206e9), 1e-12)
}

// A tooth is as stiff as the narrower of rack and sector makes it, whichever that is
// (H4), and bears as much (H5).
func TestTheNarrowerFaceCounts(t *testing.T) {
	const body = 2e6 // [N/m]
	modulus := analyse(t).Before.Build.Rack.Modulus
	for _, c := range []struct{ rack, sector string }{{"4 mm", "6 mm"}, {"6 mm", "4 mm"}, {"4 mm", "4 mm"}} {
		r := analyse(t, "rack.face_width="+c.rack, "sector.face_width="+c.sector)
		for _, s := range []*pickup.State{&r.Before, &r.After} {
			tooth := 14e9 * 4e-3 * 2 * modulus / (modulus + 206e9)
			assert.InEpsilon(t, 1/(1/tooth+1/body), s.Stiffness, 1e-12, "%+v", c)
			assert.InEpsilon(t, s.PickupForce/(4e-3*1e-3*s.PickupForm), s.PickupStress, 1e-12, "%+v", c)
			assert.InEpsilon(t, s.ReleaseForce/(4e-3*1e-3*s.ReleaseForm), s.ReleaseStress, 1e-12, "%+v", c)
		}
	}
}

// The cut leaves the sector's tips their clearance (H3): by how much more a tooth comes
// down for a little more of it is what the wider sweep takes.
func TestCutsLeaveTheClearance(t *testing.T) {
	for _, clearance := range []float64{0, 0.1e-3, 0.25e-3, 0.4e-3} {
		b := *buildfile.Demo()
		rack := *b.Rack
		rack.TipClearance, rack.TakenDown = clearance, nil
		b.Rack = &rack
		p, err := pickup.Examine(&b)
		require.NoError(t, err)
		// Against the circle of the tips drawn anew: a flat cut at the depth found leaves
		// the tooth's rear corner on the circle of tip radius and clearance.
		require.NotEmpty(t, p.TakeDown)
		s := &b.Sector
		rp := s.PitchRadius()
		tan := math.Tan(s.PressureAngle)
		swing := rp + s.Module*s.Addendum + clearance
		checked := 0
		for _, cut := range p.TakeDown {
			y := rp + rack.Lift - rack.Addendum + cut.Depth
			e := p.Then.Offset + float64(cut.Tooth-1)*math.Pi*s.Module
			rear := -e - (y-rp)*tan + (math.Pi*s.Module-rack.Backlash)/2 + 2*(y-rp-rack.Lift)*tan
			if whole := rack.Addendum + s.Module*s.Addendum + clearance; cut.Depth > whole-1e-9 {
				continue // all of the tooth is taken, and that may not be enough
			}
			assert.InEpsilon(t, swing, math.Hypot(rear, y), 1e-9, "tooth %d with %g m", cut.Tooth, clearance)
			checked++
		}
		assert.Positive(t, checked)
	}
}
