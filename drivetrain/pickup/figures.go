package pickup

import (
	"slices"
	"sync"

	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/quantity"
)

// Figures lists the figures of how sector and rack meet, and of what they bear. The list
// is the caller's.
func Figures() figure.List[*State] { return slices.Clone(figures()) }

var figures = sync.OnceValue(func() figure.List[*State] {
	return slices.Concat(contacts(), pulls(), spacers(), strengths()).Keyed()
})

func contacts() figure.List[*State] {
	const g = "contact"
	return figure.List[*State]{
		{Info: figure.Info{
			Name: "contact_angle", Label: "contact angle", Group: g, Kind: quantity.Angle, Unit: "°", Digits: 3, Better: figure.Lower,
			Meaning: "ahead of the line of centres; square at 0",
		}, Value: func(s *State) float64 { return s.Contact.Angle }},
		{Info: figure.Info{
			Name: "sector_angle", Label: "sector angle", Group: g, Kind: quantity.Angle, Unit: "°", Digits: 3,
			Meaning: "then, 0 with tooth 1's flank on that line",
		}, Value: func(s *State) float64 { return s.Contact.SectorAngle }},
		{Info: figure.Info{
			Name: "offset", Label: "pickup tooth ahead", Group: g, Kind: quantity.Length, Unit: "mm", Digits: 3,
			Meaning: "of flush, on the pitch line",
		}, Value: func(s *State) float64 { return s.Offset }},
		{Info: figure.Info{
			Name: "depth_of_contact", Label: "depth of contact", Group: g, Kind: quantity.Share, Unit: "%", Digits: 3, Better: figure.Higher,
			Meaning: "100 flush, 0 at the rack tooth's corner",
		}, Value: func(s *State) float64 { return s.Depth }},
		{Info: figure.Info{
			Name: "overlap", Label: "overlap", Group: g, Kind: quantity.Share, Unit: "%", Digits: 3, Better: figure.Higher, Quiet: true,
			Meaning: "how far the sector tooth's corner has entered, of what it can at most",
		}, Value: func(s *State) float64 { return s.Overlap }},
		{Info: figure.Info{
			Name: "spacer_limit", Label: "room for spacers", Group: g, Kind: quantity.Length, Unit: "mm", Digits: 3, Better: figure.Higher,
			Meaning: "until the sector's corner meets it",
		}, Value: func(s *State) float64 { return s.SpacerLimit }},
	}
}

func pulls() figure.List[*State] {
	const g = "pull"
	return figure.List[*State]{
		{Info: figure.Info{
			Name: "geometric_stroke", Label: "stroke", Group: g, Kind: quantity.Length, Unit: "mm", Digits: 4,
			Meaning: "until the last corner lets go",
		}, Value: func(s *State) float64 { return s.Stroke }},
		{Info: figure.Info{
			Name: "engaged_angle", Label: "sector turns", Group: g, Kind: quantity.Angle, Unit: "°", Digits: 4,
			Meaning: "from first contact to release",
		}, Value: func(s *State) float64 { return s.EngagedAngle }},
		{Info: figure.Info{
			Name: "sector_engaged_angle", Label: "release by the teeth", Group: g, Kind: quantity.Angle, Unit: "°", Digits: 4, Quiet: true,
			Meaning: "the sector's angle at the release by the teeth, even where another was measured",
		}, Value: func(s *State) float64 { return s.SectorEngagedAngle }},
		{Info: figure.Info{
			Name: "drive_slip", Label: "slip", Group: g, Kind: quantity.Length, Unit: "mm", Digits: 3, Better: figure.Lower,
			Meaning: "the rack falls where a tooth is missing",
		}, Value: func(s *State) float64 { return s.HandOver.Slip }},
	}
}

func spacers() figure.List[*State] {
	const g = "what the spacer does"
	return figure.List[*State]{
		{Info: figure.Info{
			Name: "preload", Label: "preload", Group: g, Kind: quantity.Length, Unit: "mm", Digits: 4,
			Meaning: "of the spring, spacer included",
		}, Value: func(s *State) float64 { g := s.Build.Geometry(); return g.Preload }},
		{Info: figure.Info{
			Name: "pull_angle", Label: "pull", Group: g, Kind: quantity.Angle, Unit: "°", Digits: 4,
			Meaning: "of the sector",
		}, Value: func(s *State) float64 { g := s.Build.Geometry(); return g.Release - g.Pickup }},
	}
}

func strengths() figure.List[*State] {
	const g = "strength: safeties compare builds, they promise nothing"
	return figure.List[*State]{
		{Info: figure.Info{
			Name: "pickup_motor_speed", Label: "motor speed at the pickup", Group: g, Kind: quantity.AngularSpeed, Unit: "rpm", Digits: 4, Quiet: true,
			Meaning: "the motor's just before the pickup in steady automatic fire",
		}, Value: func(s *State) float64 { return s.MotorSpeed }},
		{Info: figure.Info{
			Name: "pickup_speed", Label: "pickup speed", Group: g, Kind: quantity.Velocity, Unit: "m/s", Digits: 4, Better: figure.Lower,
			Meaning: "of the tooth that strikes the rack",
		}, Value: func(s *State) float64 { return s.PickupSpeed }},
		{Info: figure.Info{
			Name: "pickup_energy", Label: "pickup energy", Group: g, Kind: quantity.Energy, Unit: "mJ", Digits: 3, Better: figure.Lower,
			Meaning: "of the blow",
		}, Value: func(s *State) float64 { return s.PickupEnergy }},
		{Info: figure.Info{
			Name: "stiffness", Label: "stiffness", Group: g, Kind: quantity.SpringRate, Unit: "N/m", Digits: 4, Quiet: true,
			Meaning: "of tooth and piston body in series",
		}, Value: func(s *State) float64 { return s.Stiffness }},
		{Info: figure.Info{
			Name: "steady_force", Label: "force at home", Group: g, Kind: quantity.Force, Unit: "N", Digits: 4, Quiet: true,
			Meaning: "spring and drag at home",
		}, Value: func(s *State) float64 { return s.SteadyForce }},
		{Info: figure.Info{
			Name: "pickup_force", Label: "pickup force", Group: g, Kind: quantity.Force, Unit: "N", Digits: 4, Better: figure.Lower,
			Meaning: "spring, drag and blow",
		}, Value: func(s *State) float64 { return s.PickupForce }},
		{Info: figure.Info{
			Name: "pickup_form_factor", Label: "pickup tooth, form factor", Group: g, Kind: quantity.Number, Digits: 3, Quiet: true,
			Meaning: "Lewis's, of the pickup tooth at the contact",
		}, Value: func(s *State) float64 { return s.PickupForm }},
		{Info: figure.Info{
			Name: "pickup_stress", Label: "pickup tooth, stress", Group: g, Kind: quantity.Stress, Unit: "MPa", Digits: 4, Better: figure.Lower,
			Meaning: "bending at the root",
		}, Value: func(s *State) float64 { return s.PickupStress }},
		{Info: figure.Info{
			Name: "pickup_tooth_safety", Label: "pickup tooth, safety", Group: g, Kind: quantity.Number, Digits: 3, Better: figure.Higher,
			Meaning: "static strength over stress",
		}, Value: func(s *State) float64 { return s.PickupSafety }},
		{Info: figure.Info{
			Name: "release_force", Label: "release force", Group: g, Kind: quantity.Force, Unit: "N", Digits: 4, Better: figure.Lower,
			Meaning: "on the tip of the last tooth",
		}, Value: func(s *State) float64 { return s.ReleaseForce }},
		{Info: figure.Info{
			Name: "release_form_factor", Label: "release tooth, form factor", Group: g, Kind: quantity.Number, Digits: 3, Quiet: true,
			Meaning: "Lewis's, of the release tooth borne at its tip",
		}, Value: func(s *State) float64 { return s.ReleaseForm }},
		{Info: figure.Info{
			Name: "release_stress", Label: "release tooth, stress", Group: g, Kind: quantity.Stress, Unit: "MPa", Digits: 4, Better: figure.Lower,
			Meaning: "bending at the root of the release tooth",
		}, Value: func(s *State) float64 { return s.ReleaseStress }, Note: func(*State) string { return "" }},
		{Info: figure.Info{
			Name: "release_tooth_safety", Label: "release tooth, safety", Group: g, Kind: quantity.Number, Digits: 3, Better: figure.Higher,
			Meaning: "static strength over stress of the release tooth",
		}, Value: func(s *State) float64 { return s.ReleaseSafety }, Note: func(*State) string { return "" }},
		{Info: figure.Info{
			Name: "spring_shear_stress", Label: "spring, shear stress", Group: g, Kind: quantity.Stress, Unit: "MPa", Digits: 4, Better: figure.Lower,
			Meaning: "at release",
		}, Value: func(s *State) float64 { return s.SpringShear }},
		{Info: figure.Info{
			Name: "spring_safety", Label: "spring, safety", Group: g, Kind: quantity.Number, Digits: 3, Better: figure.Higher,
			Meaning: "45 % of the wire's strength over it",
		}, Value: func(s *State) float64 { return s.SpringSafety }},
		{Info: figure.Info{
			Name: "spring_solid_length", Label: "spring, solid", Group: g, Kind: quantity.Length, Unit: "mm", Digits: 4, Better: figure.Lower,
			Meaning: "with its coils touching",
		}, Value: func(s *State) float64 { return s.SolidLength }},
		{Info: figure.Info{
			Name: "spring_shortest_length", Label: "spring, shortest", Group: g, Kind: quantity.Length, Unit: "mm", Digits: 4,
			Meaning: "at release",
		}, Value: func(s *State) float64 { return s.ShortestLength }},
	}
}
