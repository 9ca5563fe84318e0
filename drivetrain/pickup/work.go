package pickup

import (
	"fmt"
	"math"
	"slices"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/quantity"
)

// Layout is how sector and rack of a build stand to each other with the piston
// home, and what becomes of it in the pull.
type Layout struct {
	Build *drivetrain.Build
	// Offset is e: how far the pickup tooth's driven flank stands ahead of the line
	// of centres [m].
	Offset float64
	// Contact is the first contact with the pickup tooth.
	Contact Contact
	// Contacts are those with all rack teeth, the pickup tooth first.
	Contacts []Contact
	// FirstTooth is the rack tooth that the sector's first tooth really meets first.
	FirstTooth int
	// Blocking are the teeth other than the pickup tooth that stand in the way.
	Blocking []int
	// Depth is the depth of contact: 1 flush, 0 at the rack tooth's corner, over 1
	// late; NaN where the pickup tooth ends at or above the pitch line [1].
	Depth float64
	// Overlap is the depth to which the sector tooth's tip corner has entered, as a
	// share of what it can at most [1].
	Overlap float64
	// SpacerLimit is how much can be added before the sector meets the pickup tooth
	// by its corner [m].
	SpacerLimit float64
	// HandOver is the pull.
	HandOver HandOver
	// Stroke is the piston's, that of the cycle: by the teeth, or by the engaged
	// angle of a stroke that was measured (equation D2) [m].
	Stroke float64
	// EngagedAngle is from the first contact to that release [rad].
	EngagedAngle float64
	// SectorEngagedAngle is θr by the teeth, even where another was measured [rad].
	SectorEngagedAngle float64
}

// Work is what is to be done at the pickup of a build, with the build as it stands and as it
// is then.
type Work struct {
	Now, Then Layout
	// Spacer is what has to be added for the contact to be flush [m].
	Spacer float64
	// Pads are those of the stock to be put in, the thickest first [m].
	Pads []float64
	// TakeDown are the rack teeth to be taken down then, with the whole depth from
	// the original tip.
	TakeDown []drivetrain.TakenDown
}

// Added returns the thickness of all pads to be put in [m].
func (p *Work) Added() (sum float64) {
	for _, pad := range p.Pads {
		sum += pad
	}
	return sum
}

// Taken returns which of the pads in stock are to be put in, by their places there.
func (p *Work) Taken() (all []int) {
	for _, pad := range p.Pads {
		for i, thickness := range p.Now.Build.Pads {
			if thickness == pad && !slices.Contains(all, i) {
				all = append(all, i)
				break
			}
		}
	}
	return all
}

// Left returns the pads that stay in stock [m].
func (p *Work) Left() (left []float64) {
	taken := p.Taken()
	for i, pad := range p.Now.Build.Pads {
		if !slices.Contains(taken, i) {
			left = append(left, pad)
		}
	}
	return left
}

// Stand finds out how sector and rack of a build stand to each other as it is
// (equations H1 and H3). It reports every field that can't be used, in the names of
// the build file; where it is the pickup tooth that isn't met, the layout's Contact
// says how, and nothing else.
func Stand(b *drivetrain.Build) (Layout, error) {
	if err := b.Validate(); err != nil {
		return Layout{}, err
	}
	g, err := newGear(b)
	if err != nil {
		return Layout{}, err
	}
	return g.layout(b)
}

// Examine finds out how a build picks up, and what makes it pick up square
// (equations H1 to H3). It reports every field that can't be used, in the names of
// the build file.
func Examine(b *drivetrain.Build) (*Work, error) {
	p := new(Work)
	var err error
	if p.Now, err = Stand(b); err != nil {
		return nil, err
	}
	g := p.Now.HandOver.gear
	var c quantity.Check
	p.Spacer = max(g.offset, 0)
	if p.Pads, err = Stack(p.Spacer, b.Pads); err != nil {
		c.Add("pads", "%v", err)
		return nil, c.Err()
	}
	after := *b
	after.Piston.Spacer += p.Added()
	moved := *g
	moved.offset = *b.Rack.PickupOffset - after.Piston.Spacer
	p.TakeDown = moved.toTakeDown()
	after.Rack = cutDown(b.Rack, p.TakeDown)
	length := quantity.Length.Format
	if port := b.Cylinder.Port; port != 0 && after.Piston.Spacer >= port {
		c.Add("piston.spacer", "the contact asks for a spacer of %s in all, which moves the piston's rest to the port, which stands at %s: no air would be pushed", length(after.Piston.Spacer), length(port))
		return nil, c.Err()
	}
	if err := after.Validate(); err != nil {
		for _, f := range quantity.Faults(err) {
			c.Add(f.Field, "%s (with the %s of pads in that the contact asks for)", f.Text, length(p.Added()))
		}
		return nil, c.Err()
	}
	if g, err = newGear(&after); err != nil {
		return nil, err
	}
	p.Then, err = g.layout(&after)
	return p, err
}

// cutDown returns a rack whose teeth are taken down further.
func cutDown(r *drivetrain.Rack, down []drivetrain.TakenDown) *drivetrain.Rack {
	n := *r
	n.TakenDown = slices.Clone(r.TakenDown)
	for _, t := range down {
		if i := slices.IndexFunc(n.TakenDown, func(o drivetrain.TakenDown) bool { return o.Tooth == t.Tooth }); i >= 0 {
			n.TakenDown[i] = t
		} else {
			n.TakenDown = append(n.TakenDown, t)
		}
	}
	slices.SortStableFunc(n.TakenDown, func(a, b drivetrain.TakenDown) int { return a.Tooth - b.Tooth })
	return &n
}

// layout describes a state of a build, or says why the pickup tooth isn't met.
func (g *gear) layout(b *drivetrain.Build) (Layout, error) {
	length := func(v float64) string { return fmt.Sprintf("%.4g mm", 1e3*v) }
	l := Layout{Build: b, Offset: g.offset, Contacts: g.contacts(), FirstTooth: 1, SpacerLimit: g.offset + g.recess()}
	l.Contact = l.Contacts[0]
	var c quantity.Check
	switch l.Contact.Kind {
	case Missed:
		reach, _ := g.reach(g.tip(1))
		back := -reach - g.flank(g.offset, g.tip(1)) - g.across(g.tip(1))
		c.Add("rack.pickup_offset", "missed: the pickup tooth stands ahead of the sector's reach by %s, so that the sector's first tooth comes down behind it; measure again, or put in a spacer of more than that", length(back))
		return l, c.Err()
	case MissedLate:
		field, cure := "rack.pickup_offset", "measure again, or look for what keeps the piston from its rest"
		if b.Piston.Spacer > 0 {
			field, cure = "piston.spacer", "take out spacer"
		}
		c.Add(field, "missed: the pickup tooth stands %s behind flush, out of the sector's reach; the sector's flank reaches %s behind: %s", length(-g.offset), length(g.recess()), cure)
		return l, c.Err()
	}
	for _, o := range l.Contacts[1:] {
		if !o.Kind.Meets() {
			continue
		}
		l.Blocking = append(l.Blocking, o.Tooth)
		if o.SectorAngle < l.Contacts[l.FirstTooth-1].SectorAngle {
			l.FirstTooth = o.Tooth
		}
	}
	tip := g.tip(1)
	l.Depth = (l.Contact.Y - tip) / (g.rp - tip)
	if tip >= g.rp {
		l.Depth = math.NaN()
	}
	l.Overlap = (g.ra*math.Cos(l.Contact.SectorAngle-g.lag) - tip) / (g.ra - tip)
	l.HandOver = g.handOver(l.Contact.SectorAngle)
	l.Stroke, l.SectorEngagedAngle = b.Geometry().Stroke, b.ReleaseAngleByTeeth()
	l.EngagedAngle = l.HandOver.End - l.HandOver.Start
	if measured := b.Sector.EngagedAngle; measured != 0 {
		// θ of D5 is that of H, turned by the offset without spacer.
		l.EngagedAngle = measured - (l.HandOver.Start + *b.Rack.PickupOffset/g.rp)
	}
	return l, nil
}

// Say puts a contact into words.
func (k ContactKind) Say() string {
	switch k {
	case Flank:
		return "flank on flank"
	case RackCorner:
		return "rack tooth's corner"
	case SectorCorner:
		return "sector tooth's corner"
	case Land:
		return "tip on tip"
	}
	return fmt.Sprintf("none (%s)", string(k))
}
