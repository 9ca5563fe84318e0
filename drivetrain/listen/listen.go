package listen

import (
	"context"
	"errors"
	"io"
	"math"
	"runtime"
	"slices"

	"example.org/ampstroke/drivetrain/listen/wav"
)

// Settings say how a recording is listened to.
type Settings struct {
	// Progress is called every few seconds of sound, with how much has been read and how
	// much the file says there is, in seconds, the latter NaN if it says nothing. The
	// default is nobody.
	Progress func(done, claimed float64)
}

// Listen hears the shots in a recording, a RIFF/WAVE file, which it reads once, from one
// end to the other. What is wrong with the file is a *[wav.Fault]; silence, or too
// short a sound, is no error, but an outcome.
func Listen(ctx context.Context, file io.Reader, settings Settings) (*Result, error) {
	sound, err := wav.NewReader(file)
	if err != nil {
		return nil, err
	}
	r, err := hear(ctx, sound, settings)
	if err != nil {
		return nil, err
	}
	return r, nil
}

// slab is how many frames are taken at a time.
const slab = 4096

func hear(ctx context.Context, sound *wav.Reader, settings Settings) (*Result, error) {
	f := sound.Format()
	g := newGrid(f.Rate, f.Channels)
	r := &Result{SampleRate: f.Rate, Channels: f.Channels, RateOfFire: math.NaN(), RateSD: math.NaN()}
	all := newRises(len(g.bands), g.lag())
	bank := newBank(g)
	outline := newEnvelope(f.Channels)
	var clips clipping

	samples := make([]float64, 0, ((slab-1)*g.hop+g.window)*f.Channels)
	var amplitudes []float32
	count := 0 // samples of each channel
	for over := false; !over; {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		had := len(samples)
		for len(samples) < cap(samples) {
			n, err := sound.Read(samples[len(samples):cap(samples)])
			samples = samples[:len(samples)+n]
			if over = errors.Is(err, io.EOF); over {
				break
			}
			if err != nil {
				return nil, err
			}
		}
		fresh := samples[had:]
		count += len(fresh) / f.Channels
		frames := 0
		if n := len(samples) / f.Channels; n >= g.window {
			frames = (n-g.window)/g.hop + 1
		}
		amplitudes = slices.Grow(amplitudes[:0], frames*all.bands)[:frames*all.bands]
		bank.amplitudes(amplitudes, samples, frames, func() {
			outline.add(fresh)
			clips.add(fresh, f.Channels)
		})
		all.add(amplitudes)
		samples = samples[:copy(samples, samples[frames*g.hop*f.Channels:])]
		if settings.Progress != nil {
			claimed := math.NaN()
			if n := sound.Claimed(); n >= 0 {
				claimed = float64(n) / float64(f.Rate)
			}
			settings.Progress(float64(count)/float64(f.Rate), claimed)
		}
	}
	r.Duration = float64(count) / float64(f.Rate)
	if sound.Truncated() {
		r.warn(Truncated)
	}
	if clips.found() {
		r.warn(Clipped)
	}
	r.Course = outline.course(f.Rate)
	r.Course.Step, r.Course.Start = g.step, g.time(0)
	const shortest = 0.05 // s
	if r.Duration < shortest {
		return r, nil
	}
	strength := all.strength()
	if all = nil; len(strength) > 1<<20 {
		runtime.GC() // or an hour's rises would still be there while what is next takes its room
	}
	scratch := make([]float64, len(strength))
	s := newOnsets(g, strength, scratch)
	r.Course.Strength, r.Threshold, r.Loudest = s.o, s.high, s.loudest
	if err := r.find(ctx, s, scratch); err != nil {
		return nil, err
	}
	r.weigh()
	return r, nil
}

// find looks for bursts and single shots in the onsets (L5).
func (r *Result) find(ctx context.Context, s *onsets, scratch []float64) error {
	const (
		many    = 6
		regular = 0.5 // salience of what is regular though faint
	)
	voice := false
	for _, group := range s.groups(s.peaks(s.low)) {
		if err := ctx.Err(); err != nil {
			return err
		}
		strong := make([]int, 0, len(group))
		for _, k := range group {
			if s.o[k] > s.high {
				strong = append(strong, k)
			}
		}
		if len(group) >= many && 2*len(strong) < len(group) {
			found, kind, err := s.burst(ctx, group, regular, scratch)
			if err != nil {
				return err
			}
			if kind == aBurst {
				r.Bursts = append(r.Bursts, found...)
				continue
			}
		}
		for _, group := range s.groups(strong) {
			found, kind, err := s.burst(ctx, group, math.Inf(-1), scratch)
			switch {
			case err != nil:
				return err
			case kind == aBurst:
				r.Bursts = append(r.Bursts, found...)
			case kind == aVoice:
				voice = true
			default:
				for _, k := range group {
					r.Bursts = append(r.Bursts, s.shots([]int{k}, []bool{true}, math.NaN()))
				}
			}
		}
	}
	if voice {
		r.warn(Voice)
	}
	slices.SortStableFunc(r.Bursts, func(a, b Burst) int {
		if a.First() < b.First() {
			return -1
		}
		return 1
	})
	return nil
}

// kind is what a group of peaks turns out to be.
type kind int

const (
	noBurst kind = iota
	aBurst
	aVoice
)

// burst tries whether a group of peaks is a burst, and returns it, in pieces where two
// shots running are missing.
func (s *onsets) burst(ctx context.Context, group []int, leastSalience float64, scratch []float64) ([]Burst, kind, error) {
	const shortest = 1.5 // periods
	if len(group) < fewestShots {
		return nil, noBurst, nil
	}
	about := newStretch(s, group, scratch)
	p, err := about.period(ctx)
	if err != nil {
		return nil, noBurst, err
	}
	if math.IsNaN(p.salience) || p.salience < leastSalience || float64(group[len(group)-1]-group[0]) < shortest*p.frames {
		return nil, noBurst, nil
	}
	if about.voice(p) {
		return nil, aVoice, nil
	}
	all := s.pieces(p)
	for i := range all {
		all[i].repeats = about.smooth
	}
	return all, aBurst, nil
}

// pieces returns the bursts of a period's places: what was heard of them, cut where two
// running were not (L8).
func (s *onsets) pieces(p period) (all []Burst) {
	const (
		ofMedian    = 0.2
		ofThreshold = 0.5
	)
	strengths := make([]float64, len(p.places))
	for i, k := range p.places {
		strengths[i] = s.o[k]
	}
	middle := median(strengths)
	least := max(ofMedian*middle, ofThreshold*min(s.high, middle))
	heard := make([]bool, len(p.places))
	for i, v := range strengths {
		heard[i] = v > least
	}
	for from := 0; from < len(heard); {
		if !heard[from] {
			from++
			continue
		}
		to := from + 1 // behind the last that was heard
		for to < len(heard) && (heard[to] || to+1 < len(heard) && heard[to+1]) {
			to++
		}
		all = append(all, s.shots(p.places[from:to], heard[from:to], p.salience))
		from = to
	}
	return all
}

// shots returns the burst of some places.
func (s *onsets) shots(places []int, heard []bool, salience float64) Burst {
	b := Burst{Salience: salience}
	if len(places) == 1 {
		b.Salience = math.NaN()
	}
	var strengths []float64
	for i, k := range places {
		at := s.summit(k)
		b.Places = append(b.Places, Place{Number: i + 1, Time: s.g.time(at), Strength: s.o[int(math.Round(at))], Heard: heard[i]})
		if heard[i] {
			b.Shots++
			strengths = append(strengths, s.o[k])
		}
	}
	b.Missed = len(places) - b.Shots
	b.Strength = median(strengths)
	b.rate(s.g.step)
	return b
}

// warn says what makes the recording less worth than it might be.
func (r *Result) warn(c Code) {
	r.Warnings = append(r.Warnings, Warning{c, map[Code]string{
		Truncated: "the file is truncated: it ends before it says it would, so shots may be missing; copy it from the recorder again",
		Clipped:   "the sound is clipped: it was louder than the recorder takes, which blurs the shots; record from further away, or with the gain down",
		Voice:     "a voice was left out: somebody talks, or something else beats like one; record again in silence",
	}[c]})
}
