package drivetrain

import (
	"example.org/ampstroke/battery"
	"example.org/ampstroke/battery/harness"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/motor"
)

// Build is a whole gun as it lies on the bench. Fill it in Go or read it from a
// file; once Validate has passed it is only read, so that many goroutines may
// share it.
type Build struct {
	Name    string
	Motor   motor.Motor
	Battery battery.Pack
	Harness harness.Harness
	Gears   Gears
	Sector  Sector
	// Rack is nil where its teeth aren't described; only the contact geometry
	// needs them.
	Rack *Rack
	// Pads are the thicknesses of the spacer pads in stock, each one piece [m].
	Pads     []float64
	Piston   Piston
	Spring   Spring
	Cylinder Cylinder
	Barrel   Barrel
	Pellet   Pellet
	Trigger  Trigger
	// Tappet is nil where the nozzle's return takes no work.
	Tappet  *Tappet
	Ambient Ambient
}

// Geometry is what the moving parts of a build come to: equations D2, D3, D5
// and D6.
type Geometry struct {
	// Ratio is motor turns per sector turn [1].
	Ratio float64
	// PitchRadius is the sector's, rp [m].
	PitchRadius float64
	// Pickup is the sector angle where the rack is picked up, θp [rad].
	Pickup float64
	// Release is the sector angle where the rack is let go, θr [rad].
	Release float64
	// Lobe is the angle after which all repeats, θn [rad].
	Lobe float64
	// Stroke is the piston's travel from home to release, s [m].
	Stroke float64
	// SpringRate is k [N/m].
	SpringRate float64
	// Preload is the spring's compression with the piston home, spacer included,
	// x0 [m].
	Preload float64
	// MovingMass is that of the piston with a third of the spring, me [kg].
	MovingMass float64
	// FreeInertia is that at the motor shaft with the rack loose, Jfree [kg m2].
	FreeInertia float64
	// PullInertia is that at the motor shaft with the rack engaged, Jpull [kg m2].
	PullInertia float64
}

// Geometry returns what the build's parts come to. The build must be valid.
func (b *Build) Geometry() Geometry {
	g := Geometry{
		Ratio:       b.Gears.MotorTurns(),
		PitchRadius: b.Sector.PitchRadius(),
		Release:     b.ReleaseAngle(),
		Lobe:        b.Sector.LobeAngle(),
		SpringRate:  b.Spring.ForcePerTravel(),
		Preload:     b.Spring.Compression() + b.Piston.Spacer,
		MovingMass:  b.Piston.Mass + b.Spring.Mass/3,
	}
	g.Pickup = b.Piston.Spacer / g.PitchRadius
	g.Stroke = g.PitchRadius*g.Release - b.Piston.Spacer
	g.FreeInertia = b.Motor.Inertia() + b.Gears.Inertia/(g.Ratio*g.Ratio)
	arm := g.PitchRadius / g.Ratio
	g.PullInertia = g.FreeInertia + g.MovingMass*arm*arm
	return g
}

// SpringForce returns the spring's force [N] with the piston at a travel from
// home [m].
func (g *Geometry) SpringForce(travel float64) float64 { return g.SpringRate * (g.Preload + travel) }

// SpringEnergy returns what the spring holds [J] with the piston at a travel
// from home [m].
func (g *Geometry) SpringEnergy(travel float64) float64 {
	x := g.Preload + travel
	return g.SpringRate * x * x / 2
}

// Travel returns the piston's travel from home [m] with the rack engaged at a
// sector angle [rad] (equation D5).
func (g *Geometry) Travel(angle float64) float64 { return g.PitchRadius * (angle - g.Pickup) }

// SweptVolume returns the air that is pushed once the port has shut [m3].
func (b *Build) SweptVolume() float64 {
	length := b.stroke()
	if b.Cylinder.Port != 0 {
		length = min(b.Cylinder.Port-b.Piston.Spacer, length)
	}
	return b.Cylinder.Area() * length
}

// SpringWaves tells whether the spring flies as a line of mass (equation D12): one that
// is too light for it doesn't.
func (b *Build) SpringWaves() bool {
	return b.Spring.Waves && b.Spring.Mass >= LeastWaves*b.Piston.Mass
}

func (b *Build) stroke() float64 {
	return b.Sector.PitchRadius()*b.ReleaseAngle() - b.Piston.Spacer
}

// ReleaseAngle returns θr [rad], where the sector lets the rack go: that of a
// measured stroke, or else that of the teeth (equation D2).
func (b *Build) ReleaseAngle() float64 {
	if b.Sector.EngagedAngle != 0 {
		return b.Sector.EngagedAngle
	}
	return b.ReleaseAngleByTeeth()
}

// ReleaseAngleByTeeth returns θr [rad] of the last tooth that pulls, whatever stroke
// was measured (equation D2). A rack whose pickup tooth wasn't measured is taken to
// be met flush. It is NaN where that tooth is out of the sector's reach.
func (b *Build) ReleaseAngleByTeeth() float64 {
	offset := b.Piston.Spacer
	if b.Rack != nil && b.Rack.PickupOffset != nil {
		offset = *b.Rack.PickupOffset
	}
	t := b.Teeth()
	return t.releaseAngle(offset)
}

// Validate reports every field that can't be used, in the names of the build
// file; what only several parts can have wrong once each of them is sound.
func (b *Build) Validate() error {
	if err := b.ValidateParts(); err != nil {
		return err
	}
	var c quantity.Check
	b.validateTogether(&c)
	return c.Err()
}

// ValidateParts reports every field that can't be used, whatever the other parts
// are, in the names of the build file.
func (b *Build) ValidateParts() error {
	var c quantity.Check
	c.Part("motor", b.Motor.Validate())
	c.Part("battery", b.Battery.Validate())
	c.Part("harness", b.Harness.Validate())
	c.Part("gears", b.Gears.Validate())
	c.Part("sector", b.Sector.Validate())
	if b.Rack != nil {
		c.Part("rack", b.Rack.Validate())
	}
	for i, pad := range b.Pads {
		c.RangeOf("pads.", i, "", pad, quantity.Length, 1e-6, 0.1)
	}
	c.Part("piston", b.Piston.Validate())
	c.Part("spring", b.Spring.Validate())
	c.Part("cylinder", b.Cylinder.Validate())
	c.Part("barrel", b.Barrel.Validate())
	c.Part("pellet", b.Pellet.Validate())
	c.Part("trigger", b.Trigger.Validate())
	if b.Tappet != nil {
		c.Part("tappet", b.Tappet.Validate())
	}
	c.Part("ambient", b.Ambient.Validate())
	return c.Err()
}

// validateTogether looks at what only several sound parts can have wrong.
func (b *Build) validateTogether(c *quantity.Check) {
	length, angle := quantity.Length.Format, quantity.Angle.Format
	c.Part("motor", b.Motor.Warm(b.Ambient.Temperature))
	if b.Rack != nil || b.Sector.EngagedAngle == 0 {
		if t := b.Teeth(); !t.validate(c, b) {
			return
		}
	}
	rp, release, lobe := b.Sector.PitchRadius(), b.ReleaseAngle(), b.Sector.LobeAngle()
	stroke := b.stroke()
	if !(release < lobe-1e-9) { // with their roundings the two may be equal
		field := "sector.teeth"
		if b.Sector.EngagedAngle != 0 {
			field = "sector.engaged_angle"
		}
		c.Add(field, "the rack would stay engaged over %s, but a lobe has only %s: there is no room for the piston to go home",
			angle(release), angle(lobe))
		return
	}
	if stroke <= 0 {
		c.Add("piston.spacer", "%s takes up the whole stroke of %s", length(b.Piston.Spacer), length(rp*release))
		return
	}
	if b.Piston.Clear >= stroke {
		c.Add("piston.clear", "%s is not below the stroke of %s: the piston would be clear before it is released", length(b.Piston.Clear), length(stroke))
	}
	if port := b.Cylinder.Port; port != 0 && b.Piston.Spacer >= port {
		c.Add("piston.spacer", "%s moves the piston's rest to the port, which stands at %s: no air would be pushed", length(b.Piston.Spacer), length(port))
	}
	if b.Pellet.Diameter >= b.Barrel.Bore {
		c.Add("pellet.diameter", "%s does not pass a barrel bored %s", length(b.Pellet.Diameter), length(b.Barrel.Bore))
	}
	if b.Barrel.Bore > b.Cylinder.Bore {
		c.Add("barrel.bore", "%s is wider than the cylinder's bore of %s", length(b.Barrel.Bore), length(b.Cylinder.Bore))
	}
	if pull := release - b.Piston.Spacer/rp; b.Trigger.Start >= pull {
		c.Add("trigger.start", "%s is behind the release; wanted a start in the pull, below %s", angle(b.Trigger.Start), angle(pull))
	}
	if b.Tappet != nil && b.Tappet.To > lobe+1e-9 {
		c.Add("tappet.to", "%s is behind the end of the lobe at %s", angle(b.Tappet.To), angle(lobe))
	}
	if (b.Trigger.Mode == Single || b.Trigger.Rounds > 0) && b.Trigger.Cutoff > lobe+1e-9 {
		c.Add("trigger.cutoff", "%s is behind the end of the lobe at %s", angle(b.Trigger.Cutoff), angle(lobe))
	}
}
