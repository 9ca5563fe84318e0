package drivetrain

import "slices"

// Clone returns a copy that shares nothing with the build, so that either may be
// changed; nothing but a cell of one's own ([battery.Pack.Model]), which nobody changes.
func (b *Build) Clone() *Build {
	c := *b
	c.Motor.Bench = copied(b.Motor.Bench)
	c.Battery.OCVTable = slices.Clone(b.Battery.OCVTable)
	c.Harness.Connectors = slices.Clone(b.Harness.Connectors)
	if m := copied(b.Harness.Switch.MOSFET); m != nil {
		m.BrakeResistance = copied(m.BrakeResistance)
		c.Harness.Switch.MOSFET = m
	}
	c.Harness.Switch.Contacts = copied(b.Harness.Switch.Contacts)
	c.Harness.Fuse = copied(b.Harness.Fuse)
	c.Gears.Teeth = copied(b.Gears.Teeth)
	if r := copied(b.Rack); r != nil {
		r.PickupOffset = copied(r.PickupOffset)
		r.TakenDown = slices.Clone(r.TakenDown)
		c.Rack = r
	}
	c.Pads = slices.Clone(b.Pads)
	c.Tappet = copied(b.Tappet)
	return &c
}

func copied[T any](p *T) *T {
	if p == nil {
		return nil
	}
	c := *p
	return &c
}
