package pickup

import (
	"math"

	"example.org/ampstroke/drivetrain"
)

// steelModulus is that of the sector [Pa].
const steelModulus = 206e9

// ToothStiffness returns the stiffness [N/m] of a steel tooth on a rack tooth of a
// modulus [Pa] over a common face width [m]: ISO 6336-1's 14 N/(mm·µm) for steel
// on steel, scaled by the moduli in series (equation H4).
func ToothStiffness(width, modulus float64) float64 {
	const perWidth = 14e9 // [N/m2]
	return perWidth * width * 2 * modulus / (modulus + steelModulus)
}

// LewisStress returns the bending stress at a tooth's root [Pa]: force [N], face
// width and module [m], form factor (equation H5).
func LewisStress(force, width, module, form float64) float64 { return force / (width * module * form) }

// Wahl returns the curvature factor of a helical spring, whose index is mean
// diameter over wire (equation H6).
func Wahl(index float64) float64 { return (4*index-1)/(4*index-4) + 0.615/index }

// SpringShear returns the greatest shear stress [Pa] of a helical spring: force
// [N], wire and mean coil diameter [m] (equation H6).
func SpringShear(force, wire, coilDiameter float64) float64 {
	return Wahl(coilDiameter/wire) * 8 * force * coilDiameter / (math.Pi * wire * wire * wire)
}

// WireStrength returns the tensile strength [Pa] of music wire of a diameter [m],
// 2211 MPa over the diameter in millimetres to the power of 0.145: ASTM A228
// (Shigley, Table 10-4).
func WireStrength(wire float64) float64 { return 2211e6 / math.Pow(wire/1e-3, 0.145) }

// allowedShear is the share of the tensile strength that a spring's shear stress is
// held against: Shigley, Table 10-6 (from memory).
const allowedShear = 0.45

// Strength is what rack and spring bear. What doesn't exist is NaN. A safety is a
// strength over a stress: it compares builds and promises nothing.
type Strength struct {
	// MotorSpeed is ω⁻, the motor's just before the pickup in steady automatic fire
	// [rad/s].
	MotorSpeed float64
	// PickupSpeed is that with which the tooth begins to move the rack [m/s].
	PickupSpeed float64
	// PickupEnergy is what the blow takes up [J].
	PickupEnergy float64
	// Stiffness is that of tooth and piston body in series [N/m].
	Stiffness float64
	// SteadyForce is spring and drag at home [N].
	SteadyForce float64
	// PickupForce is the greatest in the blow [N].
	PickupForce float64
	// PickupForm is Lewis's form factor of the pickup tooth at the contact [1].
	PickupForm float64
	// PickupStress is the bending stress of the pickup tooth [Pa].
	PickupStress float64
	// PickupSafety is the rack's strength over it [1].
	PickupSafety float64
	// ReleaseForce is spring and drag at the release [N].
	ReleaseForce float64
	// ReleaseForm is Lewis's form factor of the release tooth, borne at its tip [1].
	ReleaseForm float64
	// ReleaseStress is the bending stress of the release tooth [Pa].
	ReleaseStress float64
	// ReleaseSafety is the rack's strength over it [1].
	ReleaseSafety float64
	// SpringShear is the spring's shear stress at the release; NaN without a wire [Pa].
	SpringShear float64
	// SpringSafety is the wire's allowed shear stress over it; NaN without a wire [1].
	SpringSafety float64
	// SolidLength is the spring's with its coils touching; NaN without a wire [m].
	SolidLength float64
	// ShortestLength is the spring's at the release; NaN where its lengths are not
	// given [m].
	ShortestLength float64
}

// SpringBinds tells that the coils touch before the release.
func (s *Strength) SpringBinds() bool { return s.ShortestLength < s.SolidLength }

// form returns Lewis's form factor of a rack tooth at its root section, the force
// applied at a height; NaN where the line of the force passes the root (equation
// H5) [1].
func (g *gear) form(module, y float64) float64 {
	root := g.thick + 2*g.dedendum*g.tan
	arm := g.root() - y - g.across(y)/2*g.tan
	if !(arm > 0) || y >= g.root() {
		return math.NaN()
	}
	return root * root / (6 * module * arm)
}

// strength returns what rack and spring bear in a state of a build, its motor
// turning at a speed before the pickup [rad/s] (equations H4 to H6).
func (g *gear) strength(b *drivetrain.Build, at *Contact, motor float64) Strength {
	geometry := b.Geometry()
	width := min(b.Rack.FaceWidth, b.Sector.FaceWidth)
	tooth := ToothStiffness(width, b.Rack.Modulus)
	s := Strength{
		MotorSpeed:   motor,
		Stiffness:    1 / (1/tooth + 1/b.Rack.BodyStiffness),
		SteadyForce:  geometry.SpringForce(0) + b.Piston.DragPull,
		ReleaseForce: geometry.SpringForce(geometry.Stroke) + b.Piston.DragPull,
		SolidLength:  b.Spring.SolidLength(),
	}
	u := at.SpeedRatio
	s.PickupSpeed = u * motor / geometry.Ratio
	mass := geometry.FreeInertia * geometry.Ratio * geometry.Ratio / (u * u)
	struck, wave := geometry.MovingMass, 0.
	if b.SpringWaves() {
		// The blow is over before the coils follow; what they put up is a wave.
		z, _ := b.Spring.Line()
		struck, wave = b.Piston.Mass, z*s.PickupSpeed
	}
	s.PickupEnergy = s.PickupSpeed * s.PickupSpeed / 2 * mass * struck / (mass + struck)
	s.PickupForce = s.SteadyForce + math.Sqrt(2*s.Stiffness*s.PickupEnergy) + wave
	s.PickupForm = g.form(b.Sector.Module, at.Y)
	s.PickupStress = LewisStress(s.PickupForce, width, b.Sector.Module, s.PickupForm)
	s.PickupSafety = b.Rack.Strength / s.PickupStress
	s.ReleaseForm = g.form(b.Sector.Module, g.tip(g.pulls))
	s.ReleaseStress = LewisStress(s.ReleaseForce, width, b.Sector.Module, s.ReleaseForm)
	s.ReleaseSafety = b.Rack.Strength / s.ReleaseStress

	s.SpringShear, s.SpringSafety, s.ShortestLength = math.NaN(), math.NaN(), math.NaN()
	if w := b.Spring.Wire; w != 0 {
		s.SpringShear = SpringShear(geometry.SpringForce(geometry.Stroke), w, b.Spring.CoilDiameter)
		s.SpringSafety = allowedShear * WireStrength(w) / s.SpringShear
	}
	if free := b.Spring.FreeLength; free != 0 {
		s.ShortestLength = free - geometry.Preload - geometry.Stroke
	}
	return s
}
