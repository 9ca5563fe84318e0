package listen

import "fmt"

// Outcome is what was heard in a recording.
type Outcome int

// The outcomes.
const (
	Nothing     Outcome = iota // no shot
	SingleShots                // shots, but no burst of three
	Bursts                     // a burst of three shots or more
)

// String returns the outcome's word.
func (o Outcome) String() string {
	return [...]string{"nothing", "single-shots", "burst"}[o]
}

// Result is what was heard in a recording.
type Result struct {
	SampleRate int     // samples a second of each channel
	Channels   int     // 1 or 2
	Duration   float64 // of the sound [s]
	Outcome    Outcome

	// RateOfFire is that of the bursts which count, each weighing by its periods; NaN
	// without a burst of three [1/s].
	RateOfFire float64
	RateSD     float64 // standard deviation of the rate of fire; NaN without one [1/s]
	Shots      int     // heard, in all that counts
	Singles    int     // shots among them that are no burst
	Bursts     []Burst // in order of time; a single shot is a burst of one

	Threshold float64 // strength above which an onset may be a shot by itself [1]
	Loudest   float64 // greatest strength of an onset [1]
	Warnings  []Warning

	Course Course // what a picture shows
}

// Counted lists the bursts that count: neither faint nor odd.
func (r *Result) Counted() (all []*Burst) {
	for i := range r.Bursts {
		if b := &r.Bursts[i]; !b.Faint && !b.Odd {
			all = append(all, b)
		}
	}
	return all
}

// Sum says what counts: "22 shots, 1 burst", "14 shots, 2 bursts and 2 single shots".
func (r *Result) Sum() string {
	count := func(n int, what string) string {
		if n != 1 {
			what += "s"
		}
		return fmt.Sprintf("%d %s", n, what)
	}
	bursts := 0
	for _, b := range r.Counted() {
		if b.Shots > 1 {
			bursts++
		}
	}
	text := count(r.Shots, "shot")
	if bursts > 0 {
		text += ", " + count(bursts, "burst")
	}
	if bursts > 0 && r.Singles > 0 {
		text += " and " + count(r.Singles, "single shot")
	}
	return text
}

// Burst is a row of shots, or a single one.
type Burst struct {
	Places   []Place // of its shots, those that were missed among them
	Shots    int     // heard
	Missed   int     // places where a shot ought to be, and none was heard
	Rate     float64 // at the burst's middle; NaN of fewer than three shots [1/s]
	RateSD   float64 // standard deviation of the rate [1/s]
	RateEnds float64 // from first to last shot; a slow first shot lowers it; NaN of a single shot [1/s]
	Drift    float64 // by how much the rate grows from shot to shot; NaN of fewer than eight shots [1/s]
	Jitter   float64 // standard deviation of a shot's time about the course of the others [s]
	Salience float64 // how well the sound repeats, 1 at best; NaN of a single shot [1]
	Strength float64 // median of its shots [1]
	Faint    bool    // another gun, far off: weaker than a quarter of the leading burst
	Odd      bool    // another gun: over 20 % faster or slower than the leading burst

	repeats []float64 // autocorrelation of the strength about it
}

// First returns when the first shot was heard [s].
func (b *Burst) First() float64 { return b.Places[0].Time }

// Last returns when the last shot was heard [s].
func (b *Burst) Last() float64 { return b.Places[len(b.Places)-1].Time }

// Times lists when its shots were heard [s].
func (b *Burst) Times() (all []float64) {
	for _, p := range b.Places {
		if p.Heard {
			all = append(all, p.Time)
		}
	}
	return all
}

// Place is where a shot is, or ought to be.
type Place struct {
	Number   int     // within its burst, from 1
	Time     float64 // from the beginning of the recording [s]
	Strength float64 // of the onset [1]
	Heard    bool    // else the shot was missed
}

// Code is what a warning is about.
type Code string

// The codes of warnings.
const (
	Truncated Code = "truncated" // the file ends before it says it would
	Clipped   Code = "clipped"   // the sound is louder than the recorder took
	Voice     Code = "voice"     // somebody talks
)

// Warning is what makes a recording less worth than it might be, with cause and cure.
type Warning struct {
	Code Code
	Text string
}

// Course is what pictures are drawn from.
type Course struct {
	Step     float64   // from a frame to the next [s]
	Start    float64   // what the first frame stands for [s]
	Strength []float64 // of onsets, of each frame [1]

	Column float64   // duration that each pair of envelope values stands for [s]
	Least  []float64 // sample of each column, over all channels [1]
	Most   []float64 // sample of each column, over all channels [1]

	// Repeats is the autocorrelation of the strength about the leading burst, by lag in
	// frames; empty without one [1].
	Repeats []float64
}
