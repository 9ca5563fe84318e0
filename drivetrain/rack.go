package drivetrain

import (
	"fmt"
	"slices"

	"example.org/ampstroke/drivetrain/quantity"
)

// Rack is the piston's row of teeth, tooth 1 being the one that is picked up.
type Rack struct {
	// Teeth is the number of teeth.
	Teeth int
	// PickupOffset is how far the driven flank of tooth 1 stands ahead of the line
	// of centres with the piston home and no spacer in; nil: not measured [m].
	PickupOffset *float64
	// Material names what the rack is made of.
	Material string
	// Modulus is the material's modulus of elasticity [Pa].
	Modulus float64
	// Strength is the material's static strength [Pa].
	Strength float64
	// FaceWidth is the width of the teeth [m].
	FaceWidth float64
	// Addendum is the height of the teeth over the reference line [m].
	Addendum float64
	// TipClearance is the room between a sector tooth's tip and the rack's root [m].
	TipClearance float64
	// Backlash is the play between the teeth [m].
	Backlash float64
	// Lift is the distance of the rack's reference line from the pitch circle [m].
	Lift float64
	// TakenDown are the teeth that have been shortened.
	TakenDown []TakenDown
	// BodyStiffness is that of the piston's body behind the tooth [N/m].
	BodyStiffness float64
}

// TakenDown is a rack tooth that has been shortened.
type TakenDown struct {
	// Tooth counts from 1, the pickup tooth.
	Tooth int
	// Depth is by how much its tip was lowered [m].
	Depth float64
}

// RackMaterial is what the strength of a rack follows from.
type RackMaterial struct {
	Name string
	// Modulus is the modulus of elasticity [Pa].
	Modulus float64
	// Strength is the static strength [Pa].
	Strength float64
}

// RackMaterials lists the materials a rack may name: polymer (acetal), polyamide
// (from memory), reinforced-polymer (PA66-GF30, from memory), sintered-steel
// (MPIF 35, from memory), steel (from memory).
func RackMaterials() []RackMaterial {
	return []RackMaterial{
		{"polymer", 2.8e9, 65e6},
		{"polyamide", 1.7e9, 55e6},
		{"reinforced-polymer", 6.5e9, 120e6},
		{"sintered-steel", 120e9, 345e6},
		{"steel", 206e9, 650e6},
	}
}

// FindRackMaterial returns the material of a name, false if there is none.
func FindRackMaterial(name string) (RackMaterial, bool) {
	all := RackMaterials()
	i := slices.IndexFunc(all, func(m RackMaterial) bool { return m.Name == name })
	if i < 0 {
		return RackMaterial{}, false
	}
	return all[i], true
}

const (
	usualClearance = 0.25   // of a tip, in modules (closure) [1]
	usualBacklash  = 0.1e-3 // between the teeth (closure) [m]
)

// NewRack returns the rack that goes with a sector: as many polymer teeth as the
// sector has left, of the sector's height, 5.5 mm wide, with a quarter of a
// module of tip clearance, 0.1 mm of backlash and a body of 2 kN/mm (closures of
// this project). Where tooth 1 stands is left open.
func NewRack(s *Sector) Rack {
	m, _ := FindRackMaterial("polymer")
	return Rack{
		Teeth: s.Teeth - s.Removed, Material: m.Name, Modulus: m.Modulus, Strength: m.Strength,
		FaceWidth: 5.5e-3, Addendum: s.Addendum * s.Module, TipClearance: usualClearance * s.Module, Backlash: usualBacklash, BodyStiffness: 2e6,
	}
}

// Validate reports every field that can't be used.
func (r *Rack) Validate() error {
	var c quantity.Check
	c.Whole("teeth", r.Teeth, 1, 1000)
	if r.PickupOffset != nil {
		c.Range("pickup_offset", *r.PickupOffset, quantity.Length, -0.1, 0.1)
	}
	if _, ok := FindRackMaterial(r.Material); !ok {
		names := []string{}
		for _, m := range RackMaterials() {
			names = append(names, m.Name)
		}
		c.Add("material", "%q is not known; wanted one of %v", r.Material, names)
	}
	c.Range("modulus", r.Modulus, quantity.Stress, 1e8, 1e12)
	c.Range("strength", r.Strength, quantity.Stress, 1e6, 1e10)
	c.Range("face_width", r.FaceWidth, quantity.Length, 0.1e-3, 0.2)
	c.Range("addendum", r.Addendum, quantity.Length, 0.01e-3, 0.05)
	c.Range("tip_clearance", r.TipClearance, quantity.Length, 0, 0.02)
	c.Range("backlash", r.Backlash, quantity.Length, 0, 5e-3)
	c.Range("lift", r.Lift, quantity.Length, -0.02, 0.02)
	for i, t := range r.TakenDown {
		if t.Tooth < 1 || t.Tooth > 1000 {
			c.Whole(fmt.Sprintf("taken_down.%d.tooth", i), t.Tooth, 1, 1000)
		}
		c.RangeOf("taken_down.", i, ".depth", t.Depth, quantity.Length, 0, 0.05)
	}
	c.Range("body_stiffness", r.BodyStiffness, quantity.SpringRate, 1, 1e12)
	return c.Err()
}
