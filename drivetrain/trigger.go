package drivetrain

import "example.org/ampstroke/drivetrain/quantity"

// Mode is how the trigger fires.
type Mode string

// The modes of fire.
const (
	Automatic Mode = "automatic"
	Single    Mode = "single"
)

// Trigger is what closes and opens the switch.
type Trigger struct {
	Mode Mode
	// Cutoff is the sector angle at which a single shot's switch opens [rad].
	Cutoff float64
	// Start is how far past the pickup the sector stands before the first shot
	// [rad].
	Start float64
	// Rounds is the length of a burst; 0: as long as the trigger is held.
	Rounds int
}

// NewTrigger returns the trigger of automatic fire that is held, with the sector at the
// pickup; in single shots its cut-off is that of [DefaultCutoff]. The build needs its
// sector, rack and piston by then.
func NewTrigger(b *Build) Trigger {
	return Trigger{Mode: Automatic, Cutoff: DefaultCutoff(b)}
}

// DefaultCutoff returns a cut-off angle [rad] a little behind a build's release and
// not behind its lobe's end (a closure of this project).
func DefaultCutoff(b *Build) float64 {
	release, lobe := b.ReleaseAngle(), b.Sector.LobeAngle()
	if !quantity.Finite(release) { // of teeth that can't work, which Validate reports
		return lobe
	}
	return min(release+10*degree, lobe)
}

// Validate reports every field that can't be used.
func (t *Trigger) Validate() error {
	var c quantity.Check
	if t.Mode != Automatic && t.Mode != Single {
		c.Add("mode", "%q is not known; wanted automatic or single", string(t.Mode))
	}
	c.Range("cutoff", t.Cutoff, quantity.Angle, 0, 360*degree)
	c.Range("start", t.Start, quantity.Angle, 0, 360*degree)
	c.Whole("rounds", t.Rounds, 0, 1000)
	return c.Err()
}
